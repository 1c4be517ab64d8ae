"""Reads the pages that ``paper`` writes back from the drawing, without the code that wrote them."""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass, field
from typing import Any

from lxml import etree
from svgelements import Matrix

SVG = "{http://www.w3.org/2000/svg}"
INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"
OURS = "{urn:dartswing:1}"
#: Millimetres in the unit that a drawing's page is given in (CSS Values and Units 3).
UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": 25.4 / 96, "": 25.4 / 96}


@dataclass
class Line:
    """A line of the pattern on one page: its points on the sheet and what the page shows of it."""

    kind: str
    data: str
    points: list[complex]
    style: dict[str, str]


@dataclass
class Page:
    """A page of the editor and what lies on it. Lengths in mm, on the canvas from its corner.

    Attributes:
        number: its place among the pages of its set, from 1.
        label: its label.
        at: its upper left corner on the canvas.
        width: of the page.
        height: of the page.
        shown: what it shows of the sheet: left, top, right, bottom; None where it has no pattern.
        lines: the pattern's lines on it, on the sheet.
        texts: everything that is written on it.
        pieces_texts: those of them that belong to the pieces.
        layer: its layer.
    """

    number: int
    label: str
    at: complex
    width: float
    height: float
    layer: Any
    shown: tuple[float, float, float, float] | None = None
    corner_of_sheet: complex = 0j
    lines: list[Line] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)
    pieces_texts: list[str] = field(default_factory=list)


def mm_per_unit(root: Any) -> float:
    found = re.match(r"([\d.]+)([a-z]*)", root.get("width") or "")
    box = root.get("viewBox")
    if box is None or found is None:
        return UNITS["px"]
    return float(found[1]) * UNITS[found[2]] / float(box.split()[2])


def style_of(element: Any) -> dict[str, str]:
    parts = (part.split(":", 1) for part in (element.get("style") or "").split(";") if part)
    return {name.strip(): value.strip() for name, value in parts}


def matrix_of(element: Any) -> Matrix:
    total = Matrix()
    while element is not None:
        if element.get("transform"):
            total = total * Matrix(element.get("transform"))
        element = element.getparent()
    return total


def _mapped(matrix: Matrix, z: complex) -> complex:
    return complex(
        matrix.a * z.real + matrix.c * z.imag + matrix.e,
        matrix.b * z.real + matrix.d * z.imag + matrix.f,
    )


def points_of(data: str, matrix: Matrix, scale: float, spacing: float = 3.0) -> list[complex]:
    """Points along a path, no further apart than a spacing in mm: lines and cubics by formula."""
    points: list[complex] = []
    at = start = 0j
    for command, rest in re.findall(r"([MLCZ])([^MLCZ]*)", data):
        numbers = [float(part) for part in re.split(r"[\s,]+", rest.strip()) if part]
        ends = [
            _mapped(matrix, complex(x, y)) * scale
            for x, y in zip(numbers[::2], numbers[1::2], strict=True)
        ]
        if command == "M":
            at = start = ends[0]
            points.append(at)
            continue
        hull = [at, *(ends or [start])]
        count = max(1, int(sum(abs(b - a) for a, b in itertools.pairwise(hull)) / spacing) + 1)
        for k in range(1, count + 1):
            t = k / count
            row = hull
            while len(row) > 1:
                row = [a + (b - a) * t for a, b in itertools.pairwise(row)]
            points += row
        at = hull[-1]
    return points


def sets_of(root: Any, kind: str = "paper") -> list[Any]:
    return [child for child in root if child.get(f"{OURS}sheet") == kind]


def pages_of(root: Any, layer: Any = None) -> list[Page]:
    """The pages of a set, of the only one where none is given."""
    if layer is None:
        (layer,) = sets_of(root)
    unit = mm_per_unit(root)
    box = [float(part) for part in (root.get("viewBox") or "0 0 1 1").split()]
    origin = complex(box[0], box[1])
    elements = [
        page
        for page in root.iter(f"{INKSCAPE}page")
        if str(page.get("id")).startswith(f"{layer.get('id')}-page-")
    ]
    layers = list(layer)
    assert len(elements) == len(layers)
    pages = []
    for number, (element, group) in enumerate(zip(elements, layers, strict=True), start=1):
        at, size = (
            complex(float(element.get(one)), float(element.get(other)))
            for one, other in (("x", "y"), ("width", "height"))
        )
        page = Page(
            number,
            element.get(f"{INKSCAPE}label"),
            (at + origin) * unit,
            size.real * unit,
            size.imag * unit,
            group,
        )
        assert group.get(f"{INKSCAPE}label") == page.label
        _read(page, group, unit)
        pages.append(page)
    return pages


def _read(page: Page, group: Any, unit: float) -> None:
    page.texts = [" ".join(text.itertext()) for text in group.iter(f"{SVG}text")]
    for pattern in group:
        if "-pattern" not in (pattern.get("id") or "") or pattern.tag != f"{SVG}g":
            continue
        (reference,) = re.findall(r"url\(#(.*)\)", pattern.get("clip-path"))
        (clip,) = group.iterfind(f".//{SVG}clipPath[@id='{reference}']")
        left, top, width, height = (
            float(clip[0].get(name)) * unit for name in ("x", "y", "width", "height")
        )
        (sheet,) = pattern.findall(f"{SVG}g")
        shift = _mapped(matrix_of(sheet), 0j) * unit
        page.pieces_texts = [" ".join(text.itertext()) for text in pattern.iter(f"{SVG}text")]
        page.corner_of_sheet = shift - page.at
        corner = complex(left, top) - shift
        page.shown = (corner.real, corner.imag, corner.real + width, corner.imag + height)
        for path in sheet.iter(f"{SVG}path"):
            kind = str(path.get("id")).split("paper-", 1)[1].split("-", 1)[1]
            kind = re.sub(r"-\d+$", "", kind)
            data = path.get("d")
            page.lines.append(Line(kind, data, points_of(data, Matrix(), unit), style_of(path)))


def is_shown(page: Page, z: complex, slack: float = 1e-6) -> bool:
    if page.shown is None:
        return False
    left, top, right, bottom = page.shown
    return left - slack <= z.real <= right + slack and top - slack <= z.imag <= bottom + slack


def lines_on_sheet(pages: list[Page]) -> dict[str, Line]:
    """Every line of the pattern once, by its data."""
    return {line.data: line for page in pages for line in page.lines}


def parsed(text: str | bytes) -> Any:
    return etree.fromstring(text.encode() if isinstance(text, str) else text)
