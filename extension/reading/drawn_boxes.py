"""Rough boxes about all that is drawn and shown, so that something new is put over none of it.

Curves count by their control points, texts by the one measure of text, strokes without their
width. A shape that is filled is one box, an open one a box for each of its pieces. Lengths are in
units of the root.
"""

from __future__ import annotations

import contextlib
import itertools
import re
from collections.abc import Iterator, Sequence

from inkex.transforms import Transform
from lxml import etree

from drafting_core.plane.curves import Box, box_about
from extension.document.namespaces import ours, svg
from extension.document.shapes import NOT_DRAWN
from extension.document.visibility import is_hidden_itself
from extension.look.set_text import CANVAS_LEADING, DROP, RISE, text_width
from extension.reading.drawn_extent import USUAL_FONT_SIZE, own_font_size

_Matrix = tuple[float, float, float, float, float, float]
_UNMOVED: _Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
_COMMAND = re.compile(r"([MmLlHhVvCcSsQqTtAaZz])([^MmLlHhVvCcSsQqTtAaZz]*)")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
#: Copies of artwork are cut at the edge of their piece, which counts itself.
_CUT_AT_THE_EDGE = frozenset(("artwork", "fill"))
_PART = ours("part")
#: A clone of a clone of a clone… is followed so far.
_DEEPEST_CLONE = 6


class _Inherited:
    """What an object takes over from the groups around it."""

    __slots__ = ("fill", "matrix", "size")

    def __init__(self, matrix: _Matrix, fill: str, size: float) -> None:
        self.matrix, self.fill, self.size = matrix, fill, size


def drawn_boxes(root: etree._Element, small: float = 0.0) -> Iterator[Box]:
    """Yield boxes about everything that is drawn and not hidden, in units of the root.

    What cannot be read does not count.

    Args:
        root: the root of the document.
        small: a shape below this size is one box.
    """
    for box in _Walk(root, small).boxes(root, _Inherited(_UNMOVED, "", USUAL_FONT_SIZE), 0):
        # Numbers beyond all measure would be no place to keep clear of.
        if all(abs(side) < 1e9 for side in box):
            yield box


class _Walk:
    def __init__(self, root: etree._Element, small: float) -> None:
        self._root = root
        self._small = small
        self._named: dict[str, etree._Element] | None = None

    def boxes(self, parent: etree._Element, within: _Inherited, depth: int) -> Iterator[Box]:
        for child in parent:
            if isinstance(child.tag, str) and child.tag not in NOT_DRAWN:
                with contextlib.suppress(ValueError, TypeError, OverflowError):
                    yield from self._of(child, within, depth)

    def _of(self, element: etree._Element, within: _Inherited, depth: int) -> Iterator[Box]:
        if is_hidden_itself(element):
            return
        style = str(element.attrib.get("style") or "")
        fill = _fill_in(style) or str(element.attrib.get("fill") or within.fill)
        matrix, text = within.matrix, element.attrib.get("transform")
        if text:
            (a, c, e), (b, d, f) = Transform(text).matrix
            matrix = _product(matrix, (a, b, c, d, e, f))
        size = own_font_size(element) or within.size
        inherited = _Inherited(matrix, fill, size)
        tag = element.tag
        if tag == svg("use"):
            yield from self._clone(element, inherited, depth)
        elif tag == svg("text"):
            yield from _text_boxes(element, inherited)
        elif len(element) and tag in (svg("g"), svg("a"), svg("svg"), svg("symbol")):
            if element.attrib.get(_PART) not in _CUT_AT_THE_EDGE:
                yield from self.boxes(element, inherited, depth)
        else:
            pieces = list(_pieces(element))
            if fill != "none" and tag != svg("line"):
                pieces = [[z for piece in pieces for z in piece]] if pieces else []
            boxes = [_mapped(piece, matrix) for piece in pieces]
            whole = _about(boxes)
            # What is small needs no box for each of its pieces.
            is_small = (
                whole is not None
                and max(whole.right - whole.left, whole.bottom - whole.top) < self._small
            )
            if whole is not None:
                yield from [whole] if is_small else boxes

    def _clone(self, clone: etree._Element, within: _Inherited, depth: int) -> Iterator[Box]:
        if self._named is None:
            self._named = {str(e.get("id")): e for e in self._root.iter() if e.get("id")}
        href = next((str(clone.get(name)) for name in _HREFS if clone.get(name)), "")
        target = self._named.get(href[1:])
        if target is None or depth > _DEEPEST_CLONE:
            return
        shift = (1.0, 0.0, 0.0, 1.0, float(clone.get("x") or 0), float(clone.get("y") or 0))
        moved = _Inherited(_product(within.matrix, shift), within.fill, within.size)
        if target.tag == svg("symbol"):
            yield from self.boxes(target, moved, depth + 1)
        else:
            yield from self._of(target, moved, depth + 1)


def _fill_in(style: str) -> str:
    """Return what a style says of the fill, or an empty string."""
    for part in style.split(";") if "fill" in style else ():
        name, _colon, value = part.partition(":")
        if name.strip() == "fill" and value.strip():
            return value.strip()
    return ""


def _about(boxes: Sequence[Box]) -> Box | None:
    if not boxes:
        return None
    left, top, right, bottom = zip(*boxes, strict=True)
    return Box(min(left), min(top), max(right), max(bottom))


def _product(one: _Matrix, other: _Matrix) -> _Matrix:
    a, b, c, d, e, f = one
    g, h, i, j, k, m = other
    return (
        a * g + c * h,
        b * g + d * h,
        a * i + c * j,
        b * i + d * j,
        a * k + c * m + e,
        b * k + d * m + f,
    )


def _mapped(points: Sequence[complex], matrix: _Matrix) -> Box:
    if matrix == _UNMOVED:
        return box_about(points)
    a, b, c, d, e, f = matrix
    return box_about(
        complex(a * z.real + c * z.imag + e, b * z.real + d * z.imag + f) for z in points
    )


def _text_boxes(text: etree._Element, within: _Inherited) -> Iterator[Box]:
    """Yield a box for each line of a text that says where it stands."""
    rows = [row for row in text if row.get("y") is not None] or [text]
    style = f"{text.get('style') or ''};{text.get('text-anchor') or ''}"
    back = 0.5 if "middle" in style else 1.0 if re.search(r"anchor\s*:\s*end|;end$", style) else 0.0
    for row in rows:
        x, y = (
            float(re.split(r"[\s,]+", str(row.get(name) or text.get(name) or "0").strip())[0])
            for name in ("x", "y")
        )
        size = own_font_size(row) or within.size
        lines = [line for line in "".join(row.itertext()).split("\n") if line.strip()]
        width = max((text_width(line.strip(), size, bold=True) for line in lines), default=0.0)
        low = y + DROP * size + (len(lines) - 1) * CANVAS_LEADING * size
        left, top = x - back * width, y - RISE * size
        if width:
            corners = [complex(i, j) for i in (left, left + width) for j in (top, low)]
            yield _mapped(corners, within.matrix)


def _pieces(element: etree._Element) -> Iterator[list[complex]]:
    """Yield the control points of each piece of a shape, in its own units."""
    tag = element.tag
    if tag == svg("path"):
        yield from _path_pieces(str(element.attrib.get("d") or ""))
    elif tag in (svg("polyline"), svg("polygon")):
        numbers = [float(n) for n in _NUMBER.findall(str(element.attrib.get("points") or ""))]
        points = list(map(complex, numbers[::2], numbers[1::2]))
        yield from ([a, b] for a, b in itertools.pairwise(points))
    else:
        yield from _shape_pieces(element)


def _shape_pieces(element: etree._Element) -> Iterator[list[complex]]:
    def value(*names: str) -> float:
        return float(next(filter(None, map(element.attrib.get, names)), 0))

    tag = element.tag
    if tag in (svg("rect"), svg("image"), svg("foreignObject")):
        x, y = value("x"), value("y")
        right, bottom = x + value("width"), y + value("height")
        corners = [complex(x, y), complex(right, y), complex(right, bottom), complex(x, bottom)]
        if tag == svg("rect"):
            yield from ([corners[k - 1], corners[k]] for k in range(4))
        else:
            yield corners
    elif tag in (svg("circle"), svg("ellipse")):
        centre = complex(value("cx"), value("cy"))
        reach = complex(value("rx", "r", "ry"), value("ry", "r", "rx"))
        yield [centre - reach, centre + reach]
    elif tag == svg("line"):
        yield [complex(value("x1"), value("y1")), complex(value("x2"), value("y2"))]


def _path_pieces(data: str) -> Iterator[list[complex]]:
    """Yield the control points of every segment of a path."""
    here = start = 0j
    for command, text in _COMMAND.findall(data):
        kind = command.upper()
        size = _COUNTS[kind]
        numbers = [float(number) for number in _NUMBER.findall(text)]
        is_relative = command != kind
        if kind == "Z":
            yield [here, start]
            here = start
        elif kind in "HV":
            for value in numbers:
                origin = here if is_relative else 0j
                to = (
                    complex(value + origin.real, here.imag)
                    if kind == "H"
                    else complex(here.real, value + origin.imag)
                )
                yield [here, to]
                here = to
        elif kind == "A":
            for k in range(0, len(numbers) - 6, 7):
                end = complex(numbers[k + 5], numbers[k + 6]) + (here if is_relative else 0j)
                bulge = max(abs(numbers[k]), abs(numbers[k + 1])) * (1 + 1j)
                yield [here - bulge, here + bulge, end - bulge, end + bulge]
                here = end
        else:
            points = list(map(complex, numbers[::2], numbers[1::2]))
            step = size // 2
            for k in range(0, len(points) - step + 1, step):
                piece = points[k : k + step]
                if is_relative:
                    piece = [z + here for z in piece]
                if kind == "M" and k == 0:
                    start = piece[-1]
                else:
                    yield [here, *piece]
                here = piece[-1]
