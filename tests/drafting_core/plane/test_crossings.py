"""Crossings of segments, and rings that cross themselves."""

from __future__ import annotations

import cmath
import math
import random
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from drafting_core.plane.crossings import (
    crosses_itself,
    own_crossing,
    ring_crossings,
    segment_crossings,
)
from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.plane.loops import simple_loops
from tests.help.depth import examples

Points = NDArray[np.complex128]


def ring(*places: tuple[float, float]) -> list[Segment]:
    """Return the closed polygon through some points."""
    points = [complex(*place) for place in places]
    return [Line(p, q) for p, q in zip(points, points[1:] + points[:1], strict=True)]


def smooth_ring(count: int, wave: float = 20.0) -> list[Segment]:
    """Return a wavy closed ring of cubics that does not cross itself."""
    angles = [math.tau * k / count for k in range(count)]
    points = [(100 + wave * math.sin(5 * a)) * cmath.exp(1j * a) for a in angles]
    return [
        Cubic(p, p + (q - p) * 0.3, p + (q - p) * 0.7, q)
        for p, q in zip(points, points[1:] + points[:1], strict=True)
    ]


def dense(segment: Segment, pieces: int) -> Points:
    return np.array([segment.point(k / pieces) for k in range(pieces + 1)])


def polyline_crossings(first: Points, second: Points) -> int:
    """Count the crossings of two polylines, chord by chord."""
    total = 0
    for start, end in pairwise(first):
        along = end - start
        sides = ((second - start) * along.conjugate()).imag > 0.0
        for k in np.flatnonzero(sides[:-1] != sides[1:]):
            other = second[k + 1] - second[k]
            one_side = ((start - second[k]) * other.conjugate()).imag > 0.0
            other_side = ((end - second[k]) * other.conjugate()).imag > 0.0
            total += int(one_side != other_side)
    return total


def random_cubic(rng: random.Random) -> Cubic:
    return Cubic(*(complex(rng.uniform(0, 100), rng.uniform(0, 100)) for _ in range(4)))


@pytest.mark.parametrize("seed", range(25))
def test_two_cubics_against_polylines(seed: int) -> None:
    rng = random.Random(seed)
    first, second = random_cubic(rng), random_cubic(rng)
    found = segment_crossings(first, second)
    assert len(found) == polyline_crossings(dense(first, 700), dense(second, 700))
    for t, u in found:
        assert abs(first.point(t) - second.point(u)) < 1e-11
    swapped = sorted((t, u) for u, t in segment_crossings(second, first))
    assert len(swapped) == len(found)
    assert np.allclose(swapped, found, atol=1e-9)


@pytest.mark.parametrize("seed", range(25))
def test_line_and_cubic_against_polylines(seed: int) -> None:
    rng = random.Random(1000 + seed)
    curve = random_cubic(rng)
    line = Line(*(complex(rng.uniform(0, 100), rng.uniform(0, 100)) for _ in range(2)))
    found = segment_crossings(line, curve)
    assert len(found) == polyline_crossings(dense(line, 1), dense(curve, 3000))
    for t, u in found:
        assert abs(line.point(t) - curve.point(u)) < 1e-11
    assert sorted((u, t) for t, u in found) == segment_crossings(curve, line)


def test_nine_crossings_are_all_found() -> None:
    """Two cubics can cross nine times (Bézout): y = 4x³ - 3x and the same on its side do."""
    end = 1.05
    # The control points of 4x³ - 3x over [-end, end], by its polar form 4abc - (a + b + c).
    heights = [4 * x - y for x, y in ((-(end**3), -3 * end), (end**3, -end))]
    first = Cubic(
        complex(-end, heights[0]),
        complex(-end / 3, heights[1]),
        complex(end / 3, -heights[1]),
        complex(end, -heights[0]),
    ).mapped(lambda z: 50 * z)
    second = first.mapped(lambda z: complex(z.imag, z.real))
    found = segment_crossings(first, second)
    assert len(found) == polyline_crossings(dense(first, 2000), dense(second, 2000)) == 9
    for t, u in found:
        assert abs(first.point(t) - second.point(u)) < 1e-11


def test_two_lines() -> None:
    assert segment_crossings(Line(0j, 10 + 10j), Line(10j, 10 + 0j)) == [(0.5, 0.5)]
    assert segment_crossings(Line(0j, 10 + 0j), Line(1j, 10 + 1j)) == []
    assert segment_crossings(Line(0j, 10 + 0j), Line(11 - 5j, 11 + 5j)) == []
    assert segment_crossings(Line(0j, 10 + 0j), Line(10 + 0j, 10 + 5j)) == [(1.0, 0.0)]
    assert segment_crossings(Line(0j, 10 + 0j), Line(5 + 0j, 20 + 0j)) == [(0.5, 0.0), (1.0, 1 / 3)]


def test_a_curve_cut_in_two_meets_itself_at_the_cut_alone() -> None:
    curve = Cubic(0j, 30 + 50j, 60 - 50j, 100 + 0j)
    for t in (0.1, 0.3, 0.5, 0.9):
        left, right = curve.split(t)
        assert segment_crossings(left, right) == [(1.0, 0.0)]


def test_curves_on_each_other_give_the_ends() -> None:
    curve = Cubic(0j, 30 + 50j, 60 - 50j, 100 + 0j)
    assert segment_crossings(curve, curve) == [(0.0, 0.0), (1.0, 1.0)]
    found = segment_crossings(curve, curve.part(0.2, 0.7))
    assert [u for _, u in found] == [0.0, 1.0]
    assert [t for t, _ in found] == pytest.approx([0.2, 0.7], abs=1e-6)


def test_touching_curves() -> None:
    """The parabolas y = x² and y = -x² touch in the origin."""
    up = Cubic(-3 + 9j, -1 - 3j, 1 - 3j, 3 + 9j)
    down = up.mapped(lambda z: z.conjugate())
    found = segment_crossings(up, down)
    assert found
    for t, u in found:
        assert abs(up.point(t)) < 1e-3
        assert abs(down.point(u)) < 1e-3
    lifted = down.mapped(lambda z: z - 0.001j)
    assert segment_crossings(up, lifted) == []
    crossed = segment_crossings(up, down.mapped(lambda z: z + 0.02j))
    # x² = 0.02 - x²: at x = -0.1 and 0.1.
    assert [up.point(t).real for t, _ in crossed] == pytest.approx([-0.1, 0.1], abs=1e-9)


def test_a_cubic_that_loops() -> None:
    loop = Cubic(0j, 150 + 100j, -50 + 100j, 100 + 0j)
    found = own_crossing(loop)
    assert found is not None
    low, high = found
    assert 0.0 < low < high < 1.0
    assert abs(loop.point(low) - loop.point(high)) < 1e-11
    # Symmetrical about the middle of its ends.
    assert loop.point(low).real == pytest.approx(50.0, abs=1e-10)
    closed: list[Segment] = [loop, Line(100 + 0j, 100 - 80j), Line(100 - 80j, -80j), Line(-80j, 0j)]
    place = crosses_itself(closed)
    assert place is not None
    assert abs(place - loop.point(low)) < 1e-9
    assert own_crossing(Cubic(0j, 30 + 50j, 60 + 50j, 100 + 0j)) is None
    assert own_crossing(Cubic(0j, 30 + 50j, 60 - 50j, 100 + 0j)) is None


def test_clean_rings_do_not_cross() -> None:
    assert crosses_itself(ring((0, 0), (100, 0), (100, 100), (0, 100))) is None
    assert crosses_itself(smooth_ring(24)) is None
    drop: list[Segment] = [Cubic(0j, 150 - 150j, 150 + 150j, 0j)]
    assert crosses_itself(drop) is None
    lens: list[Segment] = [
        Cubic(0j, 50 - 60j, 150 - 60j, 200 + 0j),
        Cubic(200 + 0j, 150 + 60j, 50 + 60j, 0j),
    ]
    assert crosses_itself(lens) is None


def test_a_bow_tie_crosses_in_its_middle() -> None:
    place = crosses_itself(ring((0, 0), (100, 100), (100, 0), (0, 100)))
    assert place is not None
    assert abs(place - (50 + 50j)) < 1e-9


def test_touching_is_no_crossing() -> None:
    # Two darts whose points meet at (50, 50).
    apex = (50, 50)
    darts = ring((0, 0), (45, 0), apex, (55, 0), (100, 0), (100, 100), (55, 100), apex, (45, 100),
                 (0, 100))  # fmt: skip
    assert crosses_itself(darts) is None
    # A corner that touches the far side.
    assert crosses_itself(ring((0, 0), (100, 0), (100, 100), (50, 0), (0, 100))) is None
    # A dart closed to a slit, its legs on each other.
    assert crosses_itself(ring((0, 0), (50, 0), (50, 40), (50, 0), (100, 0), (50, 90))) is None


def test_crossing_at_a_node_counts() -> None:
    # A figure of eight through one node.
    eight = ring((0, 0), (50, 50), (100, 100), (100, 0), (50, 50), (0, 100))
    place = crosses_itself(eight)
    assert place is not None
    assert abs(place - (50 + 50j)) < 1e-9
    assert len(list(ring_crossings(eight))) == 1


def test_neighbours_that_cross_beyond_their_node() -> None:
    curve = Cubic(0j, 60 - 80j, 140 - 80j, 100 + 0j)
    back = Cubic(100 + 0j, 100 - 60j, 40 - 30j, 20 - 60j)
    closed: list[Segment] = [curve, back, Line(20 - 60j, -60 + 0j), Line(-60 + 0j, 0j)]
    found = crosses_itself(closed)
    assert found is not None
    assert min(abs(curve.point(k / 2000) - found) for k in range(2001)) < 0.1


@pytest.mark.parametrize("count", [400, 3000])
def test_many_nodes(count: int) -> None:
    clean = smooth_ring(count)
    lines: list[Segment] = [Line(s.start, s.end) for s in clean]
    assert crosses_itself(clean) is None
    assert crosses_itself(lines) is None
    # Two far nodes exchanged: now it crosses.
    places = [s.start for s in lines]
    places[count // 4], places[count // 4 + 7] = places[count // 4 + 7], places[count // 4]
    mixed: list[Segment] = [
        Line(p, q) for p, q in zip(places, places[1:] + places[:1], strict=True)
    ]
    assert crosses_itself(mixed) is not None


def area(segments: list[Segment]) -> float:
    return sum(segment.area() for segment in segments)


@settings(max_examples=examples(60), deadline=None)
@given(st.lists(st.tuples(st.integers(-99, 99), st.integers(-99, 99)), min_size=4, max_size=9))
def test_loops_share_out_the_area(places: list[tuple[int, int]]) -> None:
    """Shifted off the grid, so that no three lines meet in a point."""
    rng = random.Random(repr(places))
    crooked = ring(*((x + rng.random(), y + rng.random()) for x, y in places))
    loops = simple_loops(crooked)
    assert sum(map(area, loops)) == pytest.approx(area(crooked), abs=1e-6)
    for loop in loops:
        for one, following in zip(loop, loop[1:] + loop[:1], strict=True):
            assert abs(one.end - following.start) < 1e-9
        assert crosses_itself(loop) is None


def test_loops_of_curves_are_parts_of_them() -> None:
    left = Cubic(0j, 100 - 120j, 100 + 120j, 0 + 100j)
    right = Cubic(0 + 100j, -40 + 60j, 160 + 60j, 100 - 40j)
    crossing: list[Segment] = [left, right, Line(100 - 40j, 0j)]
    loops = simple_loops(crossing)
    assert len(loops) > 1
    assert sum(map(area, loops)) == pytest.approx(area(crossing), abs=1e-8)
    for loop in loops:
        assert crosses_itself(loop) is None
