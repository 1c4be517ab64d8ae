"""What a hand does to the words and marks of a result."""

from __future__ import annotations

import copy
import tempfile
from collections.abc import Callable
from pathlib import Path

from lxml import etree

from tests.help.hand.outlines import longest, normal
from tests.help.hand.results import (
    LABEL,
    OURS,
    SVG,
    Drawing,
    run,
    seen_through,
    shown,
    through,
)

Edit = Callable[[Drawing], None]
#: Where own things are drawn: inside the piece, away from its marks.
INSIDE = "M 40,300 L 60,310"


def retyped(seam: str, text: str) -> Edit:
    def edit(drawing: Drawing) -> None:
        drawing.word(seam).text = text

    return edit


def swapped(one: str, other: str) -> Edit:
    """Type each of two seams' words over the other."""

    def edit(drawing: Drawing) -> None:
        words = drawing.word(one), drawing.word(other)
        words[0].text, words[1].text = other, one

    return edit


def relabelled(seam: str, label: str) -> Edit:
    def edit(drawing: Drawing) -> None:
        drawing.word(seam).set(LABEL, label)

    return edit


def attribute_set(seam: str, **attributes: str) -> Edit:
    def edit(drawing: Drawing) -> None:
        for name, value in attributes.items():
            drawing.word(seam).set(f"{OURS}{name}", value)

    return edit


def word_moved(seam: str, to: str, at: float = 0.5, inside: float = 2.0) -> Edit:
    """Move the word of a seam to a place beside a seam, inside the piece by so many mm."""

    def edit(drawing: Drawing) -> None:
        k = longest(drawing.bits, to)
        z = drawing.bits[k].at(at) - inside * normal(drawing.bits, k, at) / drawing.unit
        word = drawing.word(seam)
        word.set("x", str(z.real))
        word.set("y", str(z.imag))
        word.attrib.pop("transform", None)

    return edit


def word_copied(seam: str, to: str) -> Edit:
    """Copy the word of a seam to another one, beside that one's own word."""

    def edit(drawing: Drawing) -> None:
        twin = copy.deepcopy(drawing.word(seam))
        drawing.word(seam).addnext(twin)
        twin.set("id", "text77")
        k = longest(drawing.bits, to)
        z = drawing.bits[k].at(0.4)
        twin.set("x", str(z.real))
        twin.set("y", str(z.imag))
        twin.attrib.pop("transform", None)

    return edit


def word_deleted(seam: str) -> Edit:
    def edit(drawing: Drawing) -> None:
        word = drawing.word(seam)
        word.getparent().remove(word)

    return edit


def title(drawing: Drawing) -> etree._Element:
    return next(e for e in drawing.parts("note") if e.get(f"{OURS}shown"))


def title_row(number: int, text: str) -> Edit:
    def edit(drawing: Drawing) -> None:
        title(drawing)[number].text = text

    return edit


def title_row_added(text: str) -> Edit:
    """Add a row between the name and how often it is cut."""

    def edit(drawing: Drawing) -> None:
        row = copy.deepcopy(title(drawing)[0])
        row.text = text
        title(drawing).insert(1, row)

    return edit


def title_changed(*, moved: bool) -> Edit:
    """Move the title, or delete it."""

    def edit(drawing: Drawing) -> None:
        if moved:
            title(drawing).set("transform", "translate(-30,60)")
        else:
            title(drawing).getparent().remove(title(drawing))

    return edit


def dragged(part: str, x: float = 3.0, y: float = 1.0) -> Edit:
    def edit(drawing: Drawing) -> None:
        x_, y_ = x / drawing.unit, y / drawing.unit
        drawing.part(part).set("transform", f"translate({x_},{y_})")

    return edit


def deleted(part: str) -> Edit:
    def edit(drawing: Drawing) -> None:
        element = drawing.part(part)
        element.getparent().remove(element)

    return edit


def node_dragged(part: str) -> Edit:
    """Drag the first node of a line, and nothing else of it."""

    def edit(drawing: Drawing) -> None:
        words = drawing.part(part).get("d").split(" ")
        x, y = words[1].split(",")
        words[1] = f"{float(x) + 4 / drawing.unit},{y}"
        drawing.part(part).set("d", " ".join(words))

    return edit


def coloured(part: str) -> Edit:
    def edit(drawing: Drawing) -> None:
        style = drawing.part(part).get("style")
        drawing.part(part).set("style", style.replace("#000000", "#c026d3"))

    return edit


def copied(part: str) -> Edit:
    """Duplicate a part: the twin is the drafter's own, and stays."""

    def edit(drawing: Drawing) -> None:
        twin = copy.deepcopy(drawing.part(part))
        twin.set("id", "own-twin")
        drawing.part(part).addnext(twin)

    return edit


def note_retyped(drawing: Drawing) -> None:
    note = next(e for e in drawing.parts("note") if len(e) > 3)
    note[3].text = "Line this one with the striped cotton."


def square_scaled(drawing: Drawing) -> None:
    square = drawing.part("test-square")
    for name in ("width", "height"):
        square.set(name, str(float(square.get(name)) * 1.1))


def own_thing(label: str, data: str = INSIDE) -> Edit:
    """Draw something of one's own into the layer."""

    def edit(drawing: Drawing) -> None:
        etree.SubElement(drawing.layer, f"{SVG}path", {"id": "own", "d": data, LABEL: label})

    return edit


def own_notch(seam: str, at: float) -> Edit:
    """Draw a short line across a seam."""

    def edit(drawing: Drawing) -> None:
        k = longest(drawing.bits, seam)
        z, out = drawing.bits[k].at(at), 4 * normal(drawing.bits, k, at) / drawing.unit
        ends = (z - out, z + out)
        data = "M " + " L ".join(f"{end.real},{end.imag}" for end in ends)
        own_thing("own notch", data)(drawing)

    return edit


def marked(part_or_seam: str, *said: str) -> Edit:
    """Say what a seam's word, or something of one's own, is, by the command that marks parts."""

    def edit(drawing: Drawing) -> None:
        seams = [e for e in drawing.parts("seam-name") if e.get(f"{OURS}name") == part_or_seam]
        thing = seams[0].get("id") if seams else part_or_seam
        with tempfile.TemporaryDirectory() as folder:
            told = run(drawing.root, "mark", Path(folder), "--select", thing, *said)
        assert told.status == 0, told.said
        drawing.becomes(told.root)

    return edit


def place_of(part: str, seam: str = "") -> Callable[[Drawing], list[float]]:
    """Return what tells where a part lies, in mm: its first point or its centre."""

    def place(drawing: Drawing) -> list[float]:
        element = drawing.word(seam) if seam else drawing.part(part)
        if part == "note":
            element = title(drawing)
        words = (element.get("d") or "").replace(",", " ").split()[1:3]
        x, y = words or [
            element.get("x") or element.get("cx"),
            element.get("y") or element.get("cy"),
        ]
        z = through(seen_through(element), complex(float(x), float(y))) * drawing.unit
        return [round(z.real, 3), round(z.imag, 3)]

    return place


def style_of(part: str) -> Callable[[Drawing], str]:
    return lambda drawing: str(drawing.part(part).get("style"))


def rows_of_title(drawing: Drawing) -> list[str]:
    return list(shown(title(drawing)))


def own_things(drawing: Drawing) -> list[bytes]:
    """Return what she has drawn of her own."""
    own = [e for e in drawing.layer.iter() if str(e.get("id")).startswith("own")]
    return [etree.tostring(e, with_tail=False) for e in own]
