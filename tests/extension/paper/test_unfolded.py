"""Pieces on the fold with a hem that is turned: as they are drawn, and opened out."""

from __future__ import annotations

import itertools
import re
from typing import Any

import pytest
from shapely.geometry import LineString, Polygon

from tests.help.blocks.drawings import parts
from tests.help.printing.printed_pages import (
    lines_on_sheet,
    matrix_of,
    mm_per_unit,
    pages_of,
    points_of,
)
from tests.help.printing.printing import moved, paper

SVG_PATH = "{http://www.w3.org/2000/svg}path"
ALLOWANCES = ("", "1/2in, hem=60mm turned", "30mm", "60mm, hem=20mm turned, waist=5mm")


def drawn_on_fold(sample: str, allowance: str) -> Any:
    """A result of a skirt whose centre front is on the fold and whose hem is turned."""
    return moved(sample, **({"allowance": allowance} if allowance else {}))


def cut_polygon(root: Any) -> Polygon:
    cut = parts(root, "cut-line")[-1]
    points = points_of(cut.get("d"), matrix_of(cut), 1.0)
    per_unit = mm_per_unit(root)
    return Polygon([(z.real * per_unit, z.imag * per_unit) for z in points])


CASES = list(
    itertools.product(("skirt_front_waist_dart", "skirt_two_darts"), ALLOWANCES)
)


@pytest.mark.parametrize(("sample", "allowance"), CASES)
def test_opened_out_for_a_machine_every_contour_is_closed_and_simple(
    sample: str, allowance: str
) -> None:
    root = drawn_on_fold(sample, allowance)
    half = cut_polygon(root)
    paper(root, unfold="yes", cut_only="yes")
    (page,) = pages_of(root)
    per_unit = mm_per_unit(root)
    drawn = [
        points_of(e.get("d"), matrix_of(e), per_unit)
        for e in page.layer.iter(SVG_PATH)
    ]
    closed = [e.get("d").rstrip().endswith("Z") for e in page.layer.iter(SVG_PATH)]
    rings = [
        Polygon([(z.real, z.imag) for z in points])
        for points, is_ring in zip(drawn, closed, strict=True)
        if is_ring
    ]
    (ring,) = rings
    assert ring.is_valid
    assert ring.exterior.is_simple
    assert ring.area == pytest.approx(2 * half.area, rel=1e-6)
    # No stretch of it lies on the fold, where nothing is cut.
    left, top, right, bottom = ring.bounds
    axis = LineString([((left + right) / 2, top - 10), ((left + right) / 2, bottom + 10)])
    assert ring.exterior.intersection(axis.buffer(0.01)).length < 0.2
    # Nothing is cut twice.
    seen = set()
    for points in drawn:
        for a, b in itertools.pairwise(points):
            if abs(a - b) > 1e-3:
                ends = [complex(round(z.real, 3), round(z.imag, 3)) for z in (a, b)]
                key = frozenset(ends)
                assert key not in seen
                seen.add(key)


@pytest.mark.parametrize(("sample", "allowance"), CASES)
def test_on_the_fold_the_edge_is_no_cut_line_through_its_allowances(
    sample: str, allowance: str
) -> None:
    root = drawn_on_fold(sample, allowance)
    half = cut_polygon(root)
    paper(root, paper="A0")
    lines = list(lines_on_sheet(pages_of(root)).values())
    (fold,) = [line for line in lines if line.kind == "fold-edge"]
    (cut,) = [line for line in lines if line.kind == "cut-line"]
    left, top, _right, bottom = half.bounds
    heights = [z.imag for z in fold.points]
    edge = half.boundary.intersection(LineString([(left, top), (left, bottom)]).buffer(1e-6))
    # From the cut edge of the waist to that of the hem.
    assert max(heights) - min(heights) == pytest.approx(
        edge.bounds[3] - edge.bounds[1], abs=1e-4
    )
    fold_line = LineString([(z.real, z.imag) for z in fold.points])
    cut_line = LineString([(z.real, z.imag) for z in cut.points])
    assert cut_line.intersection(fold_line.buffer(0.01)).length < 0.1
    assert cut_line.distance(fold_line) < 1e-6
    ends = [fold.points[0], fold.points[-1]]
    for end in (cut.points[0], cut.points[-1]):
        assert min(abs(end - z) for z in ends) < 1e-4


@pytest.mark.parametrize(("sample", "allowance"), CASES)
def test_in_the_result_the_fold_edge_is_one_line(sample: str, allowance: str) -> None:
    root = drawn_on_fold(sample, allowance)
    cut = parts(root, "cut-line")[-1]
    # Points of the path, nodes and handles: on the fold there are two.
    pairs = re.findall(r"(-?[\d.]+(?:e-?\d+)?)[ ,](-?[\d.]+(?:e-?\d+)?)", cut.get("d"))
    xs = [float(x) for x, _y in pairs]
    on_fold = {round(float(y), 6) for x, y in pairs if float(x) < min(xs) + 1e-6}
    assert len(on_fold) == 2
