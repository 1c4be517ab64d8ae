"""Sizes whose lines touch, cross or run in one, each followed round."""

from __future__ import annotations

import contextlib
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting_core.sheet.drawn_allowance import may_be_a_size
from drafting_core.sheet.drawn_blocks import drawn_blocks
from drafting_core.sheet.graded_sizes import graded_apart, with_fewer_points
from drafting_core.sheet.size_walks import deepest_place
from drafting_core.text.errors import OutlineError
from tests.drafting_core.sheet.shapes import WITHOUT_DART, Line, curved_block
from tests.help.depth import examples
from tests.help.scans.inked import closed_line, inked, moved, polygon_of

turns = st.floats(0, 7)
BLOCK = curved_block()
#: Places that stay where they are from size to size: of the hollow seam, its middle and beside it.
MIDDLE, BESIDE = BLOCK[21], BLOCK[12]
CORNER = BLOCK[0]


def graded(count: int, about: complex, across: float, down: float) -> list[Line]:
    """Return sizes of a block, each stretched about a place, the smallest first."""
    return [
        [
            about + (z - about).real * (1 + k * across) + 1j * (z - about).imag * (1 + k * down)
            for z in BLOCK
        ]
        for k in range(count)
    ]


def furthest(one: Line, other: Line) -> float:
    """Return how far two closed lines are apart at most, told by shapely."""
    rings = [shapely.LinearRing([(z.real, z.imag) for z in line]) for line in (one, other)]
    return float(shapely.hausdorff_distance(*rings, densify=0.005))


def is_found(sizes: list[Line], turn: float) -> None:
    """Assert that sizes are read from their ink, each by itself."""
    turned = [moved(size, turn, mirrored=False) for size in sizes]
    blocks = drawn_blocks(inked([closed_line(size) for size in turned]), [], 3.0, 40.0)
    assert [block.size for block in blocks] == list(range(1, len(sizes) + 1))
    for block, size in zip(blocks, turned, strict=True):
        # Where lines part at a small angle their ink is one; corners are fitted later.
        assert furthest(block.ring.points.tolist(), size) < 1.5


@pytest.mark.thorough
@settings(max_examples=examples(2), deadline=None)
@given(turns, st.integers(2, 4))
def test_sizes_that_touch_are_told_apart(turn: float, count: int) -> None:
    is_found(graded(count, MIDDLE, 0.04, 0.04), turn)


@pytest.mark.thorough
@settings(max_examples=examples(2), deadline=None)
@given(turns, st.integers(3, 4))
def test_sizes_with_two_lines_upon_each_other_are_told_apart_or_refused(
    turn: float, count: int
) -> None:
    with contextlib.suppress(OutlineError):
        is_found(graded(count, CORNER, 0.04, 0.04), turn)


@pytest.mark.thorough
@settings(max_examples=examples(2), deadline=None)
@given(turns, st.integers(2, 3))
def test_sizes_that_cross_in_a_curve_are_told_apart(turn: float, count: int) -> None:
    is_found(graded(count, BESIDE, 0.015, 0.05), turn)


@settings(max_examples=examples(20), deadline=None)
@given(st.floats(0.9, 1.15), st.floats(0.9, 1.15), st.floats(-0.02, 0.02), turns)
def test_a_stretched_size_misses_nothing(x: float, y: float, shear: float, turn: float) -> None:
    size = np.array(moved(BLOCK, turn, mirrored=False))
    stretched = size.real * x + size.imag * shear + 1j * size.imag * y
    assert graded_apart(size, stretched) < 0.1


@settings(max_examples=examples(20), deadline=None)
@given(st.floats(6, 20), turns)
def test_what_is_made_of_two_sizes_misses_much(step: float, turn: float) -> None:
    """The hollow seam of a smaller size in a larger outline: no size of one piece."""
    mixed = [z - 1j * step if 0 < k < 42 else z for k, z in enumerate(BLOCK)]
    one, other = (np.array(moved(line, turn, mirrored=False)) for line in (BLOCK, mixed))
    assert graded_apart(one, other) > 0.4


@settings(max_examples=examples(20), deadline=None)
@given(turns, st.floats(0.05, 2.0))
def test_fewer_points_stray_by_no_more_than_said(turn: float, least: float) -> None:
    angles = np.linspace(0.0, 2 * math.pi, 500, endpoint=False)
    ring = (100 + 20 * np.sin(3 * angles)) * np.exp(1j * (angles + turn))
    fewer = with_fewer_points(ring, least)
    assert len(fewer) < len(ring)
    assert furthest(ring.tolist(), fewer.tolist()) <= least + 1e-6


def test_the_deepest_place_lies_deep() -> None:
    polygon = polygon_of(BLOCK)
    place = deepest_place(np.array(BLOCK))
    radius = shapely.maximum_inscribed_circle(polygon).length
    assert polygon.boundary.distance(shapely.Point(place.real, place.imag)) > 0.85 * radius


def test_pieces_that_lie_across_each_other_are_never_sizes() -> None:
    across = [z * 1j for z in BLOCK]
    with pytest.raises(OutlineError, match="cannot be told"):
        drawn_blocks(inked([closed_line(BLOCK), closed_line(across)]), [], 3.0, 40.0)


@pytest.mark.parametrize(("widths", "may"), [((10, 10, 10, 10), False), ((4, 9, 12, 6), True)])
def test_a_stretched_cut_line_may_be_a_size(widths: tuple[int, ...], may: bool) -> None:
    """A rectangle with an allowance of any widths is a rectangle."""
    left, top, right, bottom = widths
    block = [0j, 200 + 0j, 200 + 300j, 300j]
    cut = [-left - 1j * top, 200 + right - 1j * top, 200 + right + 300j + 1j * bottom,
           -left + 300j + 1j * bottom]  # fmt: skip
    assert may_be_a_size(np.array(block), np.array(cut, dtype=np.complex128)) == may


def test_uneven_widths_round_an_uneven_block_are_an_allowance() -> None:
    polygon = polygon_of(WITHOUT_DART)
    corners = [*polygon.exterior.coords][:-1]
    widths = (6.0, 15.0, 10.0, 20.0)
    wide = polygon
    for (a, b), width in zip(
        zip(corners, corners[1:] + corners[:1], strict=True), widths, strict=True
    ):
        wide = wide.union(shapely.LineString([a, b]).buffer(width, cap_style="square"))
    hull = np.array([complex(*z) for z in wide.convex_hull.exterior.coords[:-1]])
    hull = hull if shapely.LinearRing(wide.convex_hull.exterior).is_ccw else hull[::-1]
    assert not may_be_a_size(np.array(WITHOUT_DART), hull)
