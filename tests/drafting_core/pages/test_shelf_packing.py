"""Rectangles on shelves: none on another, none beyond its sheet."""

from __future__ import annotations

import itertools
import math

from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import box

from drafting_core.pages.shelf_packing import Grid, on_shelves

SIZES = st.lists(st.tuples(st.floats(5.0, 400.0), st.floats(5.0, 400.0)), min_size=1, max_size=12)
GRID = Grid(complex(180.0, 267.0), complex(188.0, 275.0))


@given(SIZES, st.floats(400.0, 1500.0), st.floats(0.0, 20.0), st.booleans(), st.booleans())
def test_nothing_overlaps_and_nothing_sticks_out(
    sizes: list[tuple[float, float]], width: float, gap: float, sheets: bool, grid: bool
) -> None:
    height = 500.0 if sheets else math.inf
    spots = on_shelves(sizes, width, gap=gap, height=height, grid=GRID if grid else None)
    assert spots is not None
    for spot, (w, h) in zip(spots, sizes, strict=True):
        assert spot.at.real >= 0.0
        assert spot.at.imag >= 0.0
        assert spot.at.real + w <= width + 1e-6
        assert spot.at.imag + h <= height + 1e-6
    shapes = [
        (spot.sheet, box(spot.at.real, spot.at.imag, spot.at.real + w, spot.at.imag + h))
        for spot, (w, h) in zip(spots, sizes, strict=True)
    ]
    for (sheet, one), (other_sheet, other) in itertools.combinations(shapes, 2):
        if sheet == other_sheet:
            assert one.distance(other) >= gap - 1e-6
            assert one.intersection(other).area < 1e-6


@given(SIZES, st.floats(5.0, 300.0))
def test_what_is_wider_than_the_sheet_is_told(
    sizes: list[tuple[float, float]], width: float
) -> None:
    spots = on_shelves(sizes, width, gap=5.0)
    assert (spots is None) == any(w > width + 1e-9 for w, _ in sizes)


@given(st.lists(st.tuples(st.floats(5.0, 188.0), st.floats(5.0, 275.0)), min_size=1, max_size=10))
def test_on_a_grid_what_can_lie_between_its_lines_does(sizes: list[tuple[float, float]]) -> None:
    spots = on_shelves(sizes, 188.0 + 3 * 180.0, gap=10.0, grid=GRID)
    assert spots is not None
    for spot, (w, h) in zip(spots, sizes, strict=True):
        for at, size, step, shown in (
            (spot.at.real, w, GRID.step.real, GRID.shown.real),
            (spot.at.imag, h, GRID.step.imag, GRID.shown.imag),
        ):
            begins = math.floor(at / step + 1e-9) * step
            assert at + size <= begins + shown + 1e-6


def test_pieces_in_falling_height_fill_a_sheet_row_by_row() -> None:
    spots = on_shelves([(100, 50), (100, 40), (100, 30)], 210.0, gap=10.0)
    assert spots is not None
    assert [spot.at for spot in spots] == [0j, 110 + 0j, 60j]
