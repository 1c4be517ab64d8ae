"""Whether a result is still as Dartswing drew it, or has become the drafter's own work.

A mark on its stitch line stands for all that is no geometry: which objects there are, in which
order, how they look, what they say. Where objects lie is compared with some room for the digits
that an editor rounds. What editors write of themselves on saving counts for nothing.
"""

from __future__ import annotations

import functools
import zlib
from collections.abc import Iterator, Mapping

from lxml import etree

from drafting_core.block.reshaped import Reshaped
from drafting_core.text.errors import DraftingError
from extension.document.drawn_places import PLACED, place_now, place_then
from extension.document.layer_motion import STAYED
from extension.document.namespaces import DARTSWING, INKSCAPE, LABEL, SODIPODI, ours, svg
from extension.document.roles import our_attributes
from extension.document.shapes import mapped_subpaths, point_map, transform_of
from extension.reading.result_memory import STAYS, ResultMemory, result_memory
from extension.reading.source_block import SourceBlock

#: The attribute of a stitch line that holds the mark. A result without it is the drafter's own.
AS_DRAWN = "as-drawn"
#: By this of its style an object knows whether a hand changed its look.
LOOK = "look"
#: A line whose area is off by more than this for each mm of its length was reshaped.
_AREA_STAYS = 0.002
#: A text or a circle whose transform is off a turn by more than this was stretched or flipped.
_STRETCHED = 1e-4

#: What of a look can stand in a style or in an attribute of its own, and what holds unsaid.
_UNSAID = {
    "fill": "#000000",
    "fill-opacity": "1",
    "fill-rule": "nonzero",
    "stroke": "none",
    "stroke-width": "1",
    "stroke-opacity": "1",
    "stroke-dasharray": "none",
    "stroke-dashoffset": "0",
    "stroke-linecap": "butt",
    "stroke-linejoin": "miter",
    "stroke-miterlimit": "4",
    "opacity": "1",
    "display": "inline",
    "visibility": "visible",
    "color": "#000000",
    "font-family": "",
    "font-size": "",
    "font-style": "normal",
    "font-variant": "normal",
    "font-weight": "normal",
    "font-stretch": "normal",
    "text-anchor": "start",
    "text-decoration": "none",
    "letter-spacing": "0",
    "word-spacing": "0",
    "writing-mode": "lr-tb",
    "clip-path": "none",
    "clip-rule": "nonzero",
    "mask": "none",
    "filter": "none",
    "marker-start": "none",
    "marker-mid": "none",
    "marker-end": "none",
    "overflow": "visible",
    "paint-order": "normal",
}
#: The same, for what stands in styles alone.
_UNSAID_IN_STYLES = _UNSAID | {
    "mix-blend-mode": "normal",
    "isolation": "auto",
    "baseline-shift": "baseline",
    "marker": "none",
    "vector-effect": "none",
    "text-decoration-line": "none",
    "text-decoration-style": "solid",
    "text-indent": "0",
    "text-transform": "none",
    "direction": "ltr",
    "text-orientation": "mixed",
    "dominant-baseline": "auto",
    "white-space": "normal",
    "shape-padding": "0",
    "shape-rendering": "auto",
    "color-rendering": "auto",
    "color-interpolation": "srgb",
    "image-rendering": "auto",
    "enable-background": "accumulate",
    "solid-color": "#000000",
    "solid-opacity": "1",
}
#: Other words for the same.
_SAME_WORDS = {
    **{"black": "#000000", "white": "#ffffff", "red": "#ff0000", "lime": "#00ff00"},
    **{"blue": "#0000ff", "yellow": "#ffff00", "aqua": "#00ffff", "cyan": "#00ffff"},
    **{"fuchsia": "#ff00ff", "magenta": "#ff00ff", "gray": "#808080", "grey": "#808080"},
    **{"maroon": "#800000", "green": "#008000", "navy": "#000080", "olive": "#808000"},
    **{"purple": "#800080", "teal": "#008080", "silver": "#c0c0c0", "orange": "#ffa500"},
}
_SAME_WEIGHTS = {"400": "normal", "700": "bold"}
#: Alignments that say what the anchor says.
_ALIGNED = {"start": "start", "middle": "center", "end": "end"}
#: What editors write of themselves.
_OF_EDITORS = frozenset(
    (
        *(f"{{{SODIPODI}}}{name}" for name in ("nodetypes", "role", "linespacing")),
        *(f"{{{INKSCAPE}}}{name}" for name in ("connector-curvature", "expanded", "export-xdpi")),
        *(f"{{{INKSCAPE}}}{name}" for name in ("transform-center-x", "transform-center-y")),
        *(f"{{{INKSCAPE}}}{name}" for name in ("export-ydpi", "export-filename")),
        "{http://www.w3.org/XML/1998/namespace}space",
    )
)
#: Attributes that say how an object looks, beside its style.
LOOKS = tuple(_UNSAID)
_GEOMETRY = frozenset(("d", "x", "y", "cx", "cy", "width", "height", "points", "transform"))
_OWN, _PART = f"{{{DARTSWING}}}", ours("part")
_ROW, _TEXT, _CIRCLE, _DEFS = svg("tspan"), svg("text"), svg("circle"), svg("defs")
_APART = frozenset((LABEL, "id", "style", ours(LOOK), ours(PLACED)))
_NOT_SAID = _APART | _OF_EDITORS | _GEOMETRY | _UNSAID.keys()
#: A lock that is open, corners that are not round.
_EMPTY = {f"{{{SODIPODI}}}insensitive": ("false", "0"), "rx": ("0",), "ry": ("0",)}


def look_of(element: etree._Element) -> dict[str, str]:
    """Return how an object itself says that it looks, in the one way of saying it.

    What holds unsaid is left out, and so is what makes no difference.
    """
    return _look(dict(element.attrib.items()))


def look_mark(element: etree._Element) -> str:
    """Return a short mark of an object's look."""
    return _mark(_in_words(look_of(element)))


def drawn_mark(layer: etree._Element, stitch: etree._Element) -> str:
    """Return a mark of all that a result's layer holds, its copies of artwork and geometry aside.

    Args:
        layer: the layer of the result.
        stitch: its stitch line, whose attributes are its memory.
    """
    return _mark("\n".join(_entries(layer, stitch)))


def is_untouched(block: SourceBlock, memory: ResultMemory | None = None) -> bool:
    """Tell whether a result is as it was drawn: nothing that is seen or said of it is other.

    Args:
        block: the result.
        memory: what it remembers of itself; read where left out.
    """
    layer, attributes = block.layer, our_attributes(block.outline)
    if layer is None or AS_DRAWN not in attributes:
        return False
    parent = layer.getparent()
    if parent is None or parent.getparent() is not None:
        return False
    try:
        memory = result_memory(block) if memory is None else memory
        if memory is None or memory.motion != STAYED or memory.changed:
            return False
        unit = block.true_mm_per_unit
        now = [
            segment.mapped(lambda z: z * unit)
            for path in mapped_subpaths(block.outline)
            for segment in path.segments
        ]
        is_same = (
            drawn_mark(layer, block.outline) == attributes[AS_DRAWN]
            and Reshaped(memory.known.outline, now).is_unchanged
            and all(_lies_as_drawn(each, unit) for each in layer.iter(etree.Element))
        )
    except DraftingError:
        return False
    if is_same and "artwork-mark" in attributes:
        # Few results have any: its import is left to those.
        from extension.artwork.sector_copies import untouched_copies

        return untouched_copies(layer, block.outline) is not None
    return is_same


def _entries(layer: etree._Element, stitch: etree._Element) -> Iterator[str]:
    """Yield what is said of each object of a result, in order."""
    waiting = [(layer, "")]
    while waiting:
        element, above = waiting.pop()
        if not isinstance(element.tag, str):
            continue
        attributes = {str(name): str(value) for name, value in element.attrib.items()}
        look, said = _look(attributes), sorted(_said(attributes, is_stitch=element is stitch))
        # The editor names definitions that have no name.
        identity = "" if element.tag == _DEFS else attributes.get("id", "")
        if element.tag == _ROW:
            look = _beyond(look, element)
            if look or said:
                yield f"{said} {_in_words(look)} {''.join(element.itertext()).split()}"
        else:
            words = "".join(element.itertext()).split() if element.tag == _TEXT else ""
            label = attributes.get(LABEL, "")
            yield f"{element.tag} {identity} {above} {label} {said} {_in_words(look)} {words}"
        if attributes.get(_PART) not in ("artwork", "fill"):
            waiting += [(child, identity) for child in reversed(element)]


def _said(attributes: Mapping[str, str], *, is_stitch: bool) -> Iterator[str]:
    """Yield the attributes of an object that are neither look nor geometry."""
    for name, value in attributes.items():
        if name in _NOT_SAID or (name in _EMPTY and value.strip() in _EMPTY[name]):
            continue
        if is_stitch and name.startswith(_OWN):
            continue
        yield f"{name}={_plain('', value) if name == 'r' else value}"


def _beyond(look: Mapping[str, str], row: etree._Element) -> dict[str, str]:
    """Return what of a row's look its text does not say."""
    text = next(row.iterancestors(_TEXT), None)
    said = {} if text is None else look_of(text)
    has_stroke = look.get("stroke", said.get("stroke", "none")) != "none"
    return {
        name: value
        for name, value in look.items()
        if said.get(name) != value and (has_stroke or not name.startswith("stroke-"))
    }


def _lies_as_drawn(element: etree._Element, unit: float) -> bool:
    """Tell whether an object lies where it was drawn, as large and in the same shape."""
    then = place_then(element)
    if then is None:
        return True
    now = place_now(element)
    if now is None or len(now.points) != len(then.points):
        return False
    within = STAYS / unit
    if max(abs(a - b) for a, b in zip(then.points, now.points, strict=True)) > within:
        return False
    if element.tag in (_TEXT, _CIRCLE):
        to = point_map(transform_of(element))
        across, down = to(1 + 0j) - to(0j), to(1j) - to(0j)
        return abs(down - 1j * across) < _STRETCHED and abs(abs(across) - 1.0) < _STRETCHED
    if abs(then.length - now.length) > within:
        return False
    return abs(then.area - now.area) <= then.length * _AREA_STAYS / unit


def _look(attributes: Mapping[str, str]) -> dict[str, str]:
    """Return the look that a style and attributes beside it say."""
    style = attributes.get("style", "")
    if _UNSAID.keys().isdisjoint(attributes):
        return dict(_shown_style(style))
    said = _declared(style)
    for name, value in attributes.items():
        if name in _UNSAID and name not in said:
            said[name] = _plain(name, value)
    return _shown(said)


@functools.lru_cache(maxsize=256)
def _shown_style(style: str) -> tuple[tuple[str, str], ...]:
    """Return what of a style makes a difference: many objects have the same one."""
    return tuple(_shown(_declared(style)).items())


def _declared(style: str) -> dict[str, str]:
    """Return the declarations of a style, each said plainly."""
    found = {}
    for part in style.split(";"):
        name, colon, value = part.partition(":")
        name = name.strip().lower()
        if colon and name and not name.startswith("-inkscape"):
            found[name] = _plain(name, value)
    return found


def _plain(name: str, value: str) -> str:
    """Return a value in the one way of saying it: numbers, colours and words."""
    value = " ".join(value.replace("'", "").replace('"', "").replace(",", " , ").split())
    value = value.replace(" , ", ",")
    if name == "font-family" or "url(" in value:
        return value
    value = value.lower()
    if name in ("letter-spacing", "word-spacing") and value == "normal":
        return "0"
    if name == "font-weight":
        return _SAME_WEIGHTS.get(value, value)
    if name == "stroke-dasharray":
        value = value.replace(" ", ",")
    if value.startswith("#"):
        return "#" + "".join(2 * digit for digit in value[1:]) if len(value) == 4 else value
    if value.startswith("rgb(") and value.endswith(")"):
        parts = value[4:-1].split(",")
        if all(part.isdigit() for part in parts):
            return "#" + "".join(f"{int(part):02x}" for part in parts)
    value = _SAME_WORDS.get(value, value)
    if not any(map(str.isdigit, value)):
        return value
    return ",".join(" ".join(map(_number, part.split(" "))) for part in value.split(","))


def _number(word: str) -> str:
    """Return a word of a value with the digits that are written, where it is a number."""
    try:
        return f"{float(word.removesuffix('px')):.6g}"
    except ValueError:
        return word


def _shown(said: Mapping[str, str]) -> dict[str, str]:
    """Return what of a look makes a difference."""
    look = {k: value for k, value in said.items() if _UNSAID_IN_STYLES.get(k) != value}
    if look.get("text-align", "") in (_ALIGNED.get(said.get("text-anchor", "start")), "left"):
        look.pop("text-align", None)
    if "stroke" not in look and said.get("stroke") == "none":
        look = {k: value for k, value in look.items() if not k.startswith("stroke-")}
    if said.get("fill") == "none":
        look = {k: value for k, value in look.items() if not k.startswith("fill-")}
    return look


def _in_words(look: Mapping[str, str]) -> str:
    return ";".join(f"{name}:{look[name]}" for name in sorted(look))


def _mark(text: str) -> str:
    return f"{zlib.crc32(text.encode()):08x}"
