"""Ink as cells, and what thinning leaves of it, held against shapely's ink."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point
from shapely.ops import unary_union

from drafting_core.ink.skeleton import CellGrid, Cells, brushed, filled, grid_over, skeleton_of
from tests.help.depth import examples
from tests.help.scans.inked import contours_of, inked, polygon_of, shapes_of

seeds = st.integers(0, 10**6)
CELL = 0.2


def random_lines(seed: int, count: int = 4) -> list[list[complex]]:
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, 24, (count, 3)) + 1j * rng.uniform(0, 20, (count, 3))
    return [row.tolist() for row in points]


def parts(cells: Cells, grid: CellGrid, *, corners: bool = True) -> int:
    """Count what hangs together among cells, by flooding them."""
    around = [(r, c) for r in (-1, 0, 1) for c in (-1, 0, 1) if corners or not r or not c]
    left = set(cells.tolist())
    count = 0
    while left:
        count += 1
        flood = [left.pop()]
        while flood:
            one = flood.pop()
            for row, column in around:
                other = one + row * grid.columns + column
                if other in left:
                    left.remove(other)
                    flood.append(other)
    return count


def paper(cells: Cells, grid: CellGrid) -> Cells:
    """Return the cells without ink; those far from all lines, but for a few rows, left out."""
    everything = np.arange(grid.rows * grid.columns)
    rows, columns = everything // grid.columns, everything % grid.columns
    far = round(28 / grid.cell)
    inner = (rows > far) & (rows < grid.rows - far)
    inner &= (columns > far) & (columns < grid.columns - far)
    return np.setdiff1d(everything[inner], cells)


@settings(max_examples=examples(24), deadline=None)
@given(seeds)
def test_filled_cells_are_those_whose_middles_shapely_calls_ink(seed: int) -> None:
    shapes = shapes_of(random_lines(seed), 1.3)
    contours = contours_of(shapes)
    grid = grid_over(contours, CELL)
    cells = filled(contours, grid)
    ink = unary_union(shapes)
    assert np.array_equal(cells, np.unique(cells))
    border = sum(shape.length for shape in shapes)
    assert abs(len(cells) * CELL**2 - ink.area) <= 0.05 * CELL * border
    rng = np.random.default_rng(seed)
    for number in rng.integers(0, grid.rows * grid.columns, 300).tolist():
        place = complex(grid.places(np.array([number]))[0])
        point = Point(place.real, place.imag)
        if ink.boundary.distance(point) > 1e-9:
            assert (number in cells) == ink.contains(point)


@given(st.floats(5, 20), st.floats(0.1, 0.9), st.floats(0, 7))
def test_a_ring_in_a_hole_is_ink_again(size: float, part: float, turn: float) -> None:
    square = np.array([1 + 1j, -1 + 1j, -1 - 1j, 1 - 1j]) * size * np.exp(1j * turn)
    rings = [square, square * part, square * part * 0.5]
    grid = grid_over(rings, CELL)
    outer, middle, inner = (polygon_of(ring.tolist()) for ring in rings)
    area = outer.area - middle.area + inner.area
    border = outer.length + middle.length + inner.length
    for contours in (rings, [ring[::-1] for ring in rings], [rings[1], rings[0][::-1], rings[2]]):
        assert abs(len(filled(contours, grid)) * CELL**2 - area) <= 0.5 * CELL * border


@settings(max_examples=examples(24), deadline=None)
@given(seeds, st.floats(0.6, 2.5))
def test_brushed_cells_are_those_near_the_line(seed: int, pen: float) -> None:
    lines = [np.array(line) for line in random_lines(seed)]
    grid = grid_over(lines, CELL)
    cells = brushed(lines, grid, pen)
    drawn = unary_union([LineString([(z.real, z.imag) for z in line]) for line in lines])
    away = [drawn.distance(Point(z.real, z.imag)) for z in grid.places(cells).tolist()]
    assert max(away) <= pen / 2 + 1e-9
    area = drawn.buffer(pen / 2, quad_segs=32).area
    assert abs(len(cells) * CELL**2 - area) <= 0.1 * CELL * drawn.buffer(pen / 2).length


@settings(max_examples=examples(24), deadline=None)
@given(seeds, st.floats(0.7, 2.5))
def test_a_skeleton_hangs_together_as_its_ink_did_and_is_thin(seed: int, pen: float) -> None:
    lines = random_lines(seed)
    contours = inked(lines, pen)
    grid = grid_over(contours, CELL)
    cells = filled(contours, grid)
    thin = np.sort(skeleton_of(cells, grid))
    assert np.isin(thin, cells).all()
    assert parts(thin, grid) == parts(cells, grid)
    assert parts(paper(thin, grid), grid, corners=False) == parts(
        paper(cells, grid), grid, corners=False
    )
    # No thicker than a cell: four of it make a square at meetings alone.
    square = [np.isin(thin + step, thin) for step in (1, grid.columns, grid.columns + 1)]
    assert np.logical_and.reduce(square).sum() <= 0.005 * len(thin)


@given(st.floats(0, 7), st.floats(10, 40), st.floats(0.7, 2.5))
def test_the_skeleton_of_a_stroke_ends_near_its_ends(turn: float, size: float, pen: float) -> None:
    ends = [0j, complex(size * np.exp(1j * turn))]
    contours = inked([ends], pen)
    grid = grid_over(contours, CELL)
    places = grid.places(skeleton_of(filled(contours, grid), grid))
    for end in ends:
        assert np.abs(places - end).min() <= pen / 2 + CELL
    away = np.abs((places * np.exp(-1j * turn)).imag)
    inner = (np.abs(places - ends[0]) > pen) & (np.abs(places - ends[1]) > pen)
    assert away[inner].max() <= 1.5 * CELL
