"""In the editor: a sign where something cannot be drafted, taken off by the next good run."""

from __future__ import annotations

from collections.abc import Sequence

from lxml import etree

from drafting_core.plane.curves import Box
from drafting_core.text.errors import DraftingError
from extension.document.identities import Identities
from extension.document.namespaces import CHECK_KIND, DARTSWING, GROUP_MODE, LABEL, ours, svg
from extension.document.path_data import number, point
from extension.document.roles import drawn_by_us, our_attributes
from extension.document.svg_document import units
from extension.look.set_text import DROP, RISE, text_width, wrapped
from extension.look.strokes import FONT
from extension.reading.drawn_extent import page_box
from extension.reading.free_room import FreeRoom

LAYER = "Check here"  # not read by drafters: labels of layers stay English
_ID = "dartswing-check-here"
_INK = "#c2410c"
#: Ring, strokes, letters and their distance, in mm of the drawing.
_RADIUS, _STROKE, _LETTER = 5.0, 0.7, 3.5
#: Width of the words' column, in sizes of their letters.
_COLUMN = 23.0
#: Words without a place are seen where the whole page is: so many lines of them make its height.
_LINES_ON_PAGE = 70.0


def sign_fault(root: etree._Element, error: DraftingError) -> bool:
    """Put a sign where a fault lies, in place of an earlier sign.

    Args:
        root: the root of the document.
        error: the fault, its place in mm of the drawing.

    Returns:
        Whether there is such a place. Without one nothing is changed.
    """
    return sign_faults(root, [error])


def sign_faults(root: etree._Element, errors: Sequence[DraftingError]) -> bool:
    """Put a sign at each of some faults, in place of earlier signs.

    Args:
        root: the root of the document.
        errors: the faults, their places in mm of the drawing.

    Returns:
        Whether one of them has a place. Otherwise nothing is changed.
    """
    placed = [(error.place, error) for error in errors if error.place is not None]
    if not placed:
        return False
    unit = units(root)
    ids = _without_signs(root)
    room, size, reach = FreeRoom(root, unit), _LETTER / unit, 1.8 * _RADIUS / unit
    rings = [_about(place / unit, reach) for place, _error in placed]
    for ring in rings:
        room.add(ring)
    layer = _layer(root, ids)
    for (place, error), ring in zip(placed, rings, strict=True):
        lines = _lines(error)
        width = max(text_width(line, size) for line in lines)
        height = 1.3 * size * (len(lines) - 1) + (RISE + DROP) * size
        corner = room.beside(ring, width, height, 0.4 * _RADIUS / unit)
        words = Box(corner.real, corner.imag, corner.real + width, corner.imag + height)
        room.add(words)
        layer.append(_ring(place / unit, unit, ids))
        leader = _leader(place / unit, reach, words, unit, ids)
        if leader is not None:
            layer.append(leader)
        layer.append(_words(corner + 1j * RISE * size, size, lines, ids))
    return True


def note_fault(root: etree._Element, error: DraftingError) -> None:
    """Say on the canvas what is wrong with a word, in place of an earlier sign.

    Where the fault has a place it has a sign there too; else the words stand in the page's upper
    left corner.

    Args:
        root: the root of the document.
        error: the fault.
    """
    if sign_fault(root, error):
        return
    ids = _without_signs(root)
    x, y, _width, height = page_box(root)
    size = max(_LETTER / units(root), height / _LINES_ON_PAGE)
    corner = complex(x, y) + 2 * size * (1 + 1j)
    _layer(root, ids).append(_words(corner, size, _lines(error), ids))


def _without_signs(root: etree._Element) -> Identities:
    take_signs_off(root)
    return Identities(root)


def _layer(root: etree._Element, ids: Identities) -> etree._Element:
    layer = etree.SubElement(root, svg("g"), nsmap={"dartswing": DARTSWING})
    layer.set("id", ids.unused(_ID))
    layer.set(GROUP_MODE, "layer")
    layer.set(LABEL, LAYER)
    layer.set(ours("sheet"), CHECK_KIND)
    return layer


def take_signs_off(root: etree._Element) -> None:
    """Take away the layer of signs, if there is one, with all that the signs are made of."""
    for layer in list(root):
        if layer.tag == svg("g") and our_attributes(layer).get("sheet") == CHECK_KIND:
            for element in list(layer):
                if drawn_by_us(element):
                    layer.remove(element)
            # What the drafter drew on this layer is hers.
            if len(layer):
                layer.attrib.pop(ours("sheet"), None)
            else:
                root.remove(layer)


def _ring(at: complex, unit: float, ids: Identities) -> etree._Element:
    """Return a ring with four strokes that point at its centre, which stays free to be seen."""
    radius = _RADIUS / unit
    strokes = []
    for turn in (1, 1j, -1, -1j):
        outer, inner = at + 1.8 * radius * turn, at + 0.45 * radius * turn
        strokes.append(f"M {point(outer)} L {point(inner)}")
    west, east = at - radius, at + radius
    r = number(radius)
    ring = f"M {point(west)} A {r} {r} 0 1 1 {point(east)} A {r} {r} 0 1 1 {point(west)} Z"
    sign = _derived("path", f"{_ID}-sign", ids)
    sign.set("d", f"{ring} {' '.join(strokes)}")
    sign.set(
        "style",
        f"fill:none;stroke:{_INK};stroke-width:{_STROKE / unit:.6g};stroke-linecap:round",
    )
    return sign


def _about(at: complex, reach: float) -> Box:
    return Box(at.real - reach, at.imag - reach, at.real + reach, at.imag + reach)


def _leader(
    at: complex, reach: float, words: Box, unit: float, ids: Identities
) -> etree._Element | None:
    """Return a thin line from a sign to its words, where they do not stand right beside it."""
    to = complex(
        min(max(at.real, words.left), words.right), min(max(at.imag, words.top), words.bottom)
    )
    length = abs(to - at)
    if length < 2 * reach:
        return None
    start, end = (at + (to - at) * share for share in (reach / length, 1 - 0.1 * reach / length))
    line = _derived("line", f"{_ID}-leader", ids)
    for name, value in (("x1", start.real), ("y1", start.imag), ("x2", end.real), ("y2", end.imag)):
        line.set(name, number(value))
    line.set("style", f"stroke:{_INK};stroke-width:{0.4 * _STROKE / unit:.6g}")
    return line


def _lines(error: DraftingError) -> list[str]:
    message = str(error)
    return wrapped(message[:1].upper() + message[1:], _COLUMN, 1.0)


def _words(at: complex, size: float, lines: Sequence[str], ids: Identities) -> etree._Element:
    """Return lines of words, the first one's base line beginning at a place."""
    text = _derived("text", f"{_ID}-words", ids)
    text.set("x", number(at.real))
    text.set("y", number(at.imag))
    text.set(
        "style",
        f"font-family:{FONT};font-size:{size:.6g}px;font-weight:normal;text-anchor:start;"
        f"fill:{_INK};stroke:none",
    )
    for line, words in enumerate(lines):
        span = etree.SubElement(text, svg("tspan"))
        span.set("x", number(at.real))
        span.set("y", number(at.imag + 1.3 * size * line))
        span.text = words
    return text


def _derived(tag: str, wanted: str, ids: Identities) -> etree._Element:
    element = etree.Element(svg(tag))
    element.set("id", ids.unused(wanted))
    element.set(ours("self"), str(element.get("id")))
    return element
