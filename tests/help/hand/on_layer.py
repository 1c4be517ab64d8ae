"""What a hand does to the layer of a result: moved, duplicated, regrouped, saved, pasted."""

from __future__ import annotations

import copy
from collections.abc import Callable

from lxml import etree

from tests.help.hand.results import LABEL, OURS, SVG, Drawing

Edit = Callable[[Drawing], None]


def moved_as_a_layer(transform: str) -> Edit:
    def edit(drawing: Drawing) -> None:
        drawing.layer.set("transform", transform)

    return edit


def sublayer_moved(name: str, transform: str) -> Edit:
    def edit(drawing: Drawing) -> None:
        found = next(e for e in drawing.layer if e.get(LABEL) == name)
        found.set("transform", transform)

    return edit


def duplicated(transform: str) -> Edit:
    """Duplicate the layer, everything in it with a new id, and work on the twin."""

    def edit(drawing: Drawing) -> None:
        twin = copy.deepcopy(drawing.layer)
        _new_ids(twin)
        twin.set("transform", transform)
        drawing.root.append(twin)
        drawing.layer = twin
        (drawing.stitch,) = drawing.parts("stitch-line")

    return edit


def renamed(drawing: Drawing) -> None:
    drawing.layer.set(LABEL, "what the wardrobe calls it")


def grouped(drawing: Drawing) -> None:
    """Put the layer into a group of its own, which is turned a little."""
    group = etree.SubElement(drawing.root, f"{SVG}g", {"id": "g7", "transform": "rotate(5)"})
    group.append(drawing.layer)


def regrouped(drawing: Drawing) -> None:
    """Ungroup the layer and group what was in it."""
    layer = drawing.layer
    group = etree.SubElement(drawing.root, f"{SVG}g", {"id": "g5"})
    group.extend(list(layer))
    layer.getparent().remove(layer)
    drawing.layer = group


def ungrouped(drawing: Drawing) -> None:
    layer = drawing.layer
    drawing.root.extend(list(layer))
    drawing.root.remove(layer)


def all_in_one_group(drawing: Drawing) -> None:
    """Put every part into one plain group, without any layer."""
    group = etree.Element(f"{SVG}g", {"id": "g9"})
    for element in list(drawing.layer.iter()):
        if element.get(f"{OURS}part"):
            group.append(element)
    drawing.root.replace(drawing.layer, group)
    drawing.layer = group


def plain_svg(drawing: Drawing) -> None:
    """Save as plain SVG: everything that is the editor's own is gone."""
    for element in drawing.root.iter():
        for name in list(element.attrib):
            if name.startswith(("{http://www.inkscape", "{http://sodipodi")):
                del element.attrib[name]


def object_to_path(drawing: Drawing) -> None:
    """Make paths of texts, circles and rectangles: they lose all but their ids and labels."""
    for element in list(drawing.layer.iter()):
        kind = etree.QName(element).localname
        if kind not in ("text", "circle", "rect") or not element.get(f"{OURS}part"):
            continue
        kept = {name: element.get(name) for name in ("id", LABEL) if element.get(name)}
        data = "M 40,40 L 41,41 L 40,41 Z"
        if kind == "text":
            new = etree.Element(f"{SVG}g", kept)
            etree.SubElement(new, f"{SVG}path", {"d": data})
        else:
            new = etree.Element(f"{SVG}path", {**kept, "d": data})
        element.getparent().replace(element, new)


def pasted_into_inches(*, new_ids: bool) -> Edit:
    """Paste the layer into a document in inches: a group scales it to its size."""

    def edit(drawing: Drawing) -> None:
        scale = drawing.unit / 25.4
        for child in list(drawing.root):
            drawing.root.remove(child)
        drawing.root.set("width", "20in")
        drawing.root.set("height", "30in")
        drawing.root.set("viewBox", "0 0 20 30")
        group = etree.SubElement(drawing.root, f"{SVG}g", {"id": "g3"})
        group.set("transform", f"translate(1.5,2) scale({scale})")
        group.append(drawing.layer)
        if new_ids:
            _new_ids(drawing.layer)

    return edit


def hidden_block(drawing: Drawing) -> None:
    """Hide the block that the result was made from."""
    drawing.root.find(f"{SVG}g").set("style", "display:none")


def block_deleted(drawing: Drawing) -> None:
    drawing.root.remove(drawing.root.find(f"{SVG}g"))


def both(first: Edit, second: Edit) -> Edit:
    """Do one thing after another."""

    def edit(drawing: Drawing) -> None:
        first(drawing)
        second(drawing)

    return edit


def _new_ids(group: etree._Element) -> None:
    for number, element in enumerate(group.iter()):
        if element.get("id"):
            element.set("id", f"{etree.QName(element).localname}{7000 + number}")
