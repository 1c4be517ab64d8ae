"""Notches of a template: taken off whatever their shape, with darts left alone."""

from __future__ import annotations

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon

from drafting_core.ink.pen_line import Ring
from drafting_core.ink.polylines import Points, resampled
from drafting_core.trace.punched_notches import DEEPEST, without_notches
from tests.help.depth import examples
from tests.help.scans.fresh.lines import along, lengths
from tests.help.scans.fresh.pieces import Piece, Run, random_piece

STEP = 0.4


def ring_of(shape: Polygon) -> Ring:
    points = np.array([complex(x, y) for x, y in shape.exterior.coords[:-1]])
    if not shape.exterior.is_ccw:
        points = points[::-1]
    even = resampled(points, STEP, closed=True)
    return Ring(even, np.ones(len(even), dtype=np.bool_), 0.0)


def shape_of(points: Points) -> Polygon:
    return Polygon([(z.real, z.imag) for z in points])


def place_on(run: Run, share: float) -> tuple[complex, complex]:
    """Return a place on a run and the direction into the piece there."""
    at = share * float(lengths(run.points)[-1])
    before, place, after = along(run.points, [at - 1, at, at + 1])
    return complex(place), complex(1j * (after - before) / abs(after - before))


def long_runs(piece: Piece) -> list[Run]:
    return [run for run in piece.runs if not run.is_leg and lengths(run.points)[-1] > 70.0]


@settings(max_examples=examples(40), deadline=None)
@given(
    st.integers(0, 10_000),
    st.floats(3.0, 13.0),
    st.floats(1.0, 8.0),
    st.sampled_from((0.0, 0.4, 1.0)),
)
def test_the_edge_runs_on_where_a_notch_was(
    seed: int, depth: float, mouth: float, bottom: float
) -> None:
    """From a V to a slit: one notch to a seam, as deep as it was punched, and no dart is one."""
    rng = random.Random(seed)
    piece = random_piece(rng, own=True)
    whole = cut = shape_of(piece.fine_line)
    mouth = min(mouth, 1.5 * depth)
    places = []
    for run in long_runs(piece):
        at, into = place_on(run, rng.uniform(0.35, 0.65))
        aside = into * 1j * mouth / 2
        outer = [at - aside - into, at - aside, at - aside * bottom + into * depth,
                 at + aside * bottom + into * depth, at + aside, at + aside - into]  # fmt: skip
        cut = cut.difference(shape_of(np.array(outer)))
        places.append(at)
    ring, notches = without_notches(ring_of(cut))
    assert len(notches) == len(places)
    for place in places:
        nearest = min(notches, key=lambda notch: abs(notch.at - place))
        assert abs(nearest.at - place) < 1.0
        assert nearest.depth == pytest.approx(depth, abs=1.0)
    off = [whole.exterior.distance(Point(z.real, z.imag)) for z in ring.points]
    assert max(off) < 0.35
    assert shape_of(ring.points).symmetric_difference(whole).area < 0.001 * whole.area
    # What was not drawn is said to be so: about the mouths, and nowhere else.
    unknown = ring.points[~ring.known]
    away = np.abs(unknown[:, None] - np.array(places)[None, :]).min(axis=1)
    assert away.max() < mouth / 2 + 5.0


@pytest.mark.parametrize("seed", range(12))
def test_a_piece_without_notches_stays_as_it_is(seed: int) -> None:
    piece = random_piece(random.Random(seed), own=True)
    ring = ring_of(shape_of(piece.fine_line))
    found, notches = without_notches(ring)
    assert found is ring
    assert notches == []


def test_what_is_deeper_is_no_notch() -> None:
    side = Polygon([(0, 0), (300, 0), (300, 200), (0, 200)])
    for depth, count in ((DEEPEST - 1.0, 1), (DEEPEST + 1.0, 0)):
        wedge = Polygon([(145, -1), (150, depth), (155, -1)])
        _ring, notches = without_notches(ring_of(side.difference(wedge)))
        assert len(notches) == count
