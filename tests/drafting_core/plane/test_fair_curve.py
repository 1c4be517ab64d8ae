"""Fair curves of a given length."""

from __future__ import annotations

import cmath
import itertools
import math

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.plane.fair_curve import TURNS, fair_curve, turning_of
from tests.help.blocks.random_blocks import at
from tests.help.depth import examples


def polyline(cubics: tuple[Cubic, ...]) -> list[complex]:
    return [at(tuple(cubic), k / 500) for cubic in cubics for k in range(501)]


@given(
    st.floats(-math.pi, math.pi),
    st.floats(-1.2, 1.2),
    st.floats(-0.3, 0.3),
    st.floats(1.01, 1.1),
    st.sampled_from(TURNS),
)
@settings(max_examples=examples(100))
def test_it_has_its_ends_its_directions_and_its_length(
    way: float, turning: float, aside: float, longer: float, turns: tuple[float, ...]
) -> None:
    start, along = 17 - 5j, cmath.exp(1j * way)
    end = start + 120 * along * cmath.exp(1j * (turning / 2 + aside))
    curve = fair_curve(start, along, end, turning, 120 * longer, turns)
    assume(curve is not None)
    assert curve is not None
    points = polyline(curve.cubics)
    length = sum(abs(b - a) for a, b in itertools.pairwise(points))
    assert abs(length - 120 * longer) < 1e-2
    assert points[0] == start
    assert abs(points[-1] - end) < 1e-9
    ways = [b - a for a, b in itertools.pairwise(points) if a != b]
    assert abs(cmath.phase(ways[0] / along)) < 0.02
    assert abs(cmath.phase(ways[-1] / (along * cmath.exp(1j * turning)))) < 0.02
    # Smooth all the way: no two chords turn by more than a little.
    turned = [cmath.phase(b / a) for a, b in itertools.pairwise(ways)]
    assert max(map(abs, turned)) < 0.02
    assert abs(sum(turned) - turning) < 0.04


@given(st.floats(0.1, 1.5), st.floats(20.0, 300.0))
def test_an_arc_comes_out_as_an_arc(turning: float, radius: float) -> None:
    end = radius * 1j * (1 - cmath.exp(1j * turning))
    curve = fair_curve(0j, 1 + 0j, end, turning, radius * turning)
    assert curve is not None
    assert curve.bends == 0
    off = [abs(abs(z - radius * 1j) - radius) for z in polyline(curve.cubics)]
    assert max(off) < 2e-4 * radius


def test_a_length_below_the_distance_has_no_curve() -> None:
    assert fair_curve(0j, 1 + 0j, 100 + 0j, 0.0, 99.0) is None


def test_turning_counts_corners_and_curves() -> None:
    quarter = Cubic(0j, 5.52 + 0j, 10 + 4.48j, 10 + 10j)
    chain: list[Segment] = [quarter, Line(10 + 10j, 10 + 20j), Line(10 + 20j, 0 + 30j)]
    assert abs(turning_of(chain) - math.radians(135.0)) < 1e-9
