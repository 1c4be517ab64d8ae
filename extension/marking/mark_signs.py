"""How Dartswing's marks look: small signs of thin lines in one colour, with a word beside them.

A sign is drawn about its centre in a square of two units a side, so that its box is centred on
the place that it marks.
"""

from __future__ import annotations

from lxml import etree

from extension.document import roles
from extension.document.namespaces import svg
from extension.document.path_data import number, polyline_data
from extension.look.strokes import FONT

#: A dark blue-green: told from the drafter's black at a glance, dark enough on a grey printer.
INK = "#00596b"
#: Part of a block's diagonal that a sign is high, and its bounds in mm.
SIZE = 1 / 60
SMALLEST = 3.0
LARGEST = 8.0
#: Width of the lines and height of the letters, in parts of a sign's size.
_LINE = 0.05
LETTERS = 0.6
#: A drawing without a block has signs of this size (mm).
USUAL = 5.0

_RING = "M 0.6 0 A 0.6 0.6 0 0 1 -0.6 0 A 0.6 0.6 0 0 1 0.6 0 Z"
_SIGNS = {
    # A ring in four ticks, which leave the place itself clear.
    roles.APEX: f"{_RING} M 1 0 H 0.25 M -1 0 H -0.25 M 0 1 V 0.25 M 0 -1 V -0.25",
    # The corners of a frame.
    roles.OUTLINE: "M -1 -0.2 V -1 H -0.2 M 0.2 -1 H 1 V -0.2 M 1 0.2 V 1 H 0.2 "
    "M -0.2 1 H -1 V 0.2",
    # An arrow's head upon a bar.
    roles.TARGET: "M -1 1 H 1 M 0 -1 V 0.7 M -0.6 0.1 L 0 0.7 L 0.6 0.1",
    # Two seam edges with stitches between them.
    roles.SEAM: "M -1 -0.8 H 1 M -1 0.8 H 1 M -0.7 0.3 L -0.3 -0.3 M -0.2 0.3 L 0.2 -0.3 "
    "M 0.3 0.3 L 0.7 -0.3",
    # A pin through a block.
    roles.HOLD: "M -0.8 0 H 0.8 V 1 H -0.8 Z M 0 0.6 V -0.4 M -0.3 -0.7 A 0.3 0.3 0 0 1 0.3 -0.7 "
    "A 0.3 0.3 0 0 1 -0.3 -0.7 Z",
    # Two legs and the line down their middle.
    roles.DART: "M -0.7 -1 L 0 1 L 0.7 -1 M 0 -1 V -0.5 M 0 -0.2 V 0.3",
    roles.GRAIN: "M 0 -1 V 1 M -0.4 -0.5 L 0 -1 L 0.4 -0.5 M -0.4 0.5 L 0 1 L 0.4 0.5",
    roles.NOTCH: "M -1 -0.6 H -0.4 L 0 0.6 L 0.4 -0.6 H 1",
    # A ruler.
    roles.KNOWN_LENGTH: "M -1 -0.5 H 1 V 0.5 H -1 Z M -0.5 -0.5 V 0 M 0 -0.5 V 0.2 M 0.5 -0.5 V 0",
    # A sheet of paper seen askew.
    roles.KNOWN_RECTANGLE: "M -0.7 -0.8 L 0.7 -0.6 L 1 0.8 L -1 0.6 Z M -0.4 0 H 0.5",
    # Squares.
    roles.KNOWN_GRID: "M -0.9 -0.9 H 0.9 V 0.9 H -0.9 Z M -0.3 -0.9 V 0.9 M 0.3 -0.9 V 0.9 "
    "M -0.9 -0.3 H 0.9 M -0.9 0.3 H 0.9",
    roles.INNER_LINE: "M -1 -1 V 1 H 1 V -1 Z M -0.4 0.4 L 0.4 -0.4",
    # A wave across two edges.
    roles.STYLE_LINE: "M -1 -1 V 1 M 1 -1 V 1 M -1 0 C -0.4 -1 0.4 1 1 0",
}


def sign_size(diagonal: float) -> float:
    """Return the size in mm of the signs on a block, or of `USUAL` ones where that is 0."""
    return min(max(diagonal * SIZE, SMALLEST), LARGEST) if diagonal > 0 else USUAL


def glyph(
    word: str, at: complex, size: float, unit: float, *, degrees: float = 0.0
) -> etree._Element:
    """Return the sign of a role as a path.

    Args:
        word: the role.
        at: its centre, in units of the root.
        size: its height in mm.
        unit: mm to a unit of the root.
        degrees: by how much it is turned about its centre.
    """
    path = _path(_scaled(_SIGNS[word], at, size / 2 / unit), size, unit)
    _turn(path, at, degrees)
    return path


def line(start: complex, end: complex, size: float, unit: float) -> etree._Element:
    """Return a line as thin as those of a sign of a size in mm; the ends in units of the root."""
    return _path(polyline_data([start, end]), size, unit)


def _path(data: str, size: float, unit: float) -> etree._Element:
    path = etree.Element(svg("path"))
    path.set("d", data)
    path.set(
        "style",
        f"fill:none;stroke:{INK};stroke-width:{_LINE * size / unit:.6g};"
        "stroke-linecap:round;stroke-linejoin:round",
    )
    return path


def _scaled(data: str, at: complex, half: float) -> str:
    """Return path data of a sign at its place; only M, L, H, V, C, A and Z stand in a sign."""
    words: list[str] = []
    command, count = "", 0
    for token in data.split():
        if token.isalpha():
            command, count = token, 0
            words.append(token)
            continue
        value = float(token)
        if command == "A" and count % 7 in (2, 3, 4):
            words.append(token)
        elif command == "A" and count % 7 in (0, 1):
            words.append(number(value * half))
        else:
            upright = command == "V" or (command != "H" and _is_y(command, count))
            words.append(number((at.imag if upright else at.real) + value * half))
        count += 1
    return " ".join(words)


def _is_y(command: str, count: int) -> bool:
    return count % 7 == 6 if command == "A" else count % 2 == 1


def lettering(
    words: str,
    at: complex,
    size: float,
    unit: float,
    *,
    anchor: str = "middle",
    degrees: float = 0.0,
) -> etree._Element:
    """Return a mark's word as a text.

    Args:
        words: the text.
        at: its anchor, on the base line, in units of the root.
        size: the height of its letters in mm.
        unit: mm to a unit of the root.
        anchor: ``start`` or ``middle``.
        degrees: by how much it is turned about its anchor.
    """
    text = etree.Element(svg("text"))
    text.set("x", number(at.real))
    text.set("y", number(at.imag))
    _turn(text, at, degrees)
    text.set(
        "style",
        f"font-family:{FONT};font-size:{size / unit:.6g}px;text-anchor:{anchor};fill:{INK};"
        "stroke:none",
    )
    text.text = words
    return text


def _turn(element: etree._Element, about: complex, degrees: float) -> None:
    if degrees:
        element.set("transform", f"rotate({degrees:.6f},{number(about.real)},{number(about.imag)})")
