"""Shapes laid among one another keep apart, stay on the sheet, and fill a bay before a new page."""

from __future__ import annotations

import itertools
import math

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting_core.pages.grid_packing import GridSpot, PieceShape, packed_on_grid
from drafting_core.pages.tiling import Tiling
from tests.help.depth import examples

A4 = Tiling(210.0, 297.0, 10.0, 10.0)
PAD, GAP = 2.5, 10.0


def shape_of(ring: list[complex]) -> PieceShape:
    """Return a closed polyline as a shape, its box beginning at the origin."""
    points = np.array(ring)
    corner = complex(points.real.min(), points.imag.min())
    outline = [complex(z) for z in points - corner]
    dense = [
        a + (b - a) * k / count
        for a, b in itertools.pairwise([*outline, outline[0]])
        for count in (max(1, math.ceil(abs(b - a) / GAP)),)
        for k in range(count)
    ]
    return PieceShape((float(np.ptp(points.real)), float(np.ptp(points.imag))), dense, [outline])


def laid(shape: PieceShape, spot: GridSpot) -> shapely.Polygon:
    one = shape.turned if spot.turned else shape
    return shapely.Polygon(
        [(z.real + spot.at.real, z.imag + spot.at.imag) for z in one.outlines[0]]
    )


@st.composite
def rings(draw: st.DrawFn) -> list[complex]:
    """Return a closed polyline about its middle that every ray from there leaves once."""
    count = draw(st.integers(3, 9))
    radii = draw(st.lists(st.floats(30, 170), min_size=count, max_size=count))
    turn = draw(st.floats(0, 7))
    return [r * complex(np.exp(1j * (turn + 2 * np.pi * k / count))) for k, r in enumerate(radii)]


@settings(max_examples=examples(60), deadline=None)
@given(st.lists(rings(), min_size=1, max_size=6), st.integers(2, 4))
def test_shapes_keep_apart_and_on_the_sheet(drawn: list[list[complex]], columns: int) -> None:
    shapes = [shape_of(ring) for ring in drawn]
    found = list(packed_on_grid(shapes, A4, [columns], PAD, GAP))
    fits = max(shape.size[0] for shape in shapes) <= A4.span(columns) - 2 * PAD
    assert bool(found) == fits
    for spots in found:
        pieces = [laid(shape, spot) for shape, spot in zip(shapes, spots, strict=True)]
        for one, other in itertools.combinations(pieces, 2):
            # Points are at most a gap apart: between two of them an edge may be nearer.
            assert one.distance(other) >= GAP / 2
        left, top, right, _bottom = shapely.unary_union(pieces).bounds
        assert left >= PAD - 1e-9
        assert top >= PAD - 1e-9
        assert right <= A4.span(columns) - PAD + 1e-9


def test_a_triangle_and_another_turned_by_half_a_turn_share_the_pages_of_one() -> None:
    half = [0j, 340 + 0j, 0 + 500j]
    (spots,) = packed_on_grid([shape_of(half), shape_of(half)], A4, [2], PAD, GAP)
    assert {spot.turned for spot in spots} == {False, True}
    pieces = [laid(shape_of(half), spot) for spot in spots]
    height = shapely.unary_union(pieces).bounds[3]
    # One below the other they need twice the height.
    assert height < 1.3 * 500.0
