"""Results as they were written, read back by a font's tables and another library."""

from __future__ import annotations

import itertools
import re
from pathlib import Path
from typing import Any, NamedTuple

import svgelements
from lxml import etree
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from shapely.ops import unary_union

from extension.document.svg_document import read_document
from extension.drafting.move_and_allow import Request, move
from tests.help.blocks import random_drawings
from tests.help.contract.contract_model import NS, SVG
from tests.help.texts.font_metrics import metrics

SHAPES = ("path", "circle", "rect")


class Title(NamedTuple):
    """A title as it was written: its rows, the size of its letters in mm, its box, its turn."""

    rows: tuple[str, ...]
    size: float
    shape: Polygon
    along: complex


class Result(NamedTuple):
    """A result as it was written, in units of the root."""

    title: Title
    lines: Any
    cut_line: Polygon
    names: list[Polygon]
    notes: list[Polygon]


def style_of(element: Any) -> dict[str, str]:
    return dict(part.split(":") for part in element.get("style").split(";"))


def rows_of(text: Any) -> list[tuple[str, complex]]:
    """The rows of a text, each with its anchor before the text is turned."""
    rows = [
        ("".join(row.itertext()), complex(float(row.get("x")), float(row.get("y"))))
        for row in text.findall(f"{SVG}tspan")
    ]
    return rows or [(text.text, complex(float(text.get("x")), float(text.get("y"))))]


def matrix_of(text: Any) -> tuple[float, ...]:
    """A text's turn as the six numbers of its matrix."""
    if not text.get("transform"):
        return (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    found = re.fullmatch(r"matrix\((.*)\)", text.get("transform"))
    assert found
    return tuple(map(float, found[1].split(",")))


def inked(text: Any) -> Polygon:
    """The box about all that a text prints, by the font's tables."""
    style = style_of(text)
    bold, size = style["font-weight"] == "bold", float(style["font-size"].removesuffix("px"))
    boxes = []
    for words, at in rows_of(text):
        if not words:
            continue
        line = metrics(words, bold=bold)
        left = at.real - (line.width * size / 2 if style["text-anchor"] == "middle" else 0.0)
        boxes.append(
            box(
                left,
                at.imag - line.rise * size,
                left + line.width * size,
                at.imag + line.drop * size,
            )
        )
    a, b, c, d, e, f = matrix_of(text)
    return affinity.affine_transform(unary_union(boxes).envelope, [a, c, b, d, e, f])


def drawn_line(element: Any) -> list[LineString]:
    """A shape as polylines."""
    if element.tag == f"{SVG}path":
        path = svgelements.Path(element.get("d"))
    elif element.tag == f"{SVG}circle":
        cx, cy, r = (float(element.get(name)) for name in ("cx", "cy", "r"))
        path = svgelements.Path(svgelements.Circle(cx, cy, r))
    else:
        sides = (float(element.get(name)) for name in ("x", "y", "width", "height"))
        path = svgelements.Path(svgelements.Rect(*sides))
    found = []
    for segment in path:
        if isinstance(segment, svgelements.Move):
            continue
        count = 2 if isinstance(segment, svgelements.Line | svgelements.Close) else 25
        points = [segment.point(k / (count - 1)) for k in range(count)]
        if any(a != b for a, b in itertools.pairwise(points)):
            found.append(LineString([(z.x, z.y) for z in points]))
    return found


def read_result(layer: Any, unit: float) -> Result:
    """Read a fresh result, whose layers are not moved."""
    assert not any(group.get("transform") for group in layer.iter(f"{SVG}g"))
    lines: list[LineString] = []
    cut: list[LineString] = []
    for shape in SHAPES:
        for element in layer.iter(f"{SVG}{shape}"):
            assert not element.get("transform")
            lines += drawn_line(element)
            if element.get(NS + "part") == "cut-line":
                cut += drawn_line(element)
    texts = list(layer.iter(f"{SVG}text"))
    notes = [text for text in texts if text.get(NS + "part") == "note"]
    title = next(text for text in notes if style_of(text)["font-weight"] == "bold")
    a, b = matrix_of(title)[:2]
    return Result(
        Title(
            tuple(words for words, _ in rows_of(title)),
            float(style_of(title)["font-size"].removesuffix("px")) * unit,
            inked(title),
            complex(a, b),
        ),
        unary_union(lines),
        Polygon([z for line in cut for z in line.coords]),
        [inked(text) for text in texts if text.get(NS + "part") == "seam-name"],
        [inked(note) for note in notes if note is not title],
    )


def results(root: Any, unit: float, **asked: Any) -> list[Result]:
    """Move the darts of a drawing and read back what was written."""
    move(root, Request(**asked))
    # Through text, as the file is.
    written = etree.fromstring(etree.tostring(root))
    return [
        read_result(layer, unit)
        for layer in written
        if isinstance(layer.tag, str) and layer.get(NS + "result")
    ]


def sample_results(sample: Path, **asked: Any) -> list[Result]:
    root = read_document(str(sample)).getroot()
    found = re.fullmatch(r"([\d.]+)([a-z]*)", root.get("width"))
    assert found
    width = float(found[1]) * random_drawings.UNITS[found[2] or "none"]
    return results(root, width / float(root.get("viewBox").split()[2]), **asked)
