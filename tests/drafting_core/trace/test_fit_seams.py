"""Lines and smooth curves through points that a hand drew."""

from __future__ import annotations

import cmath
import itertools
import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting_core.ink.polylines import fit_line
from drafting_core.plane.curves import Cubic
from drafting_core.trace.fit_seams import (
    Ends,
    bulge,
    fit_spline,
    fitted_curve,
    offsets,
    smoothed,
)
from drafting_core.trace.seam_runs import is_straight
from tests.help.depth import examples
from tests.help.scans.scanned_blocks import wobbled

lengths = st.floats(60.0, 400.0)
angles = st.floats(0.15, 1.1)


def curve(length: float, leaving: float, arriving: float) -> Cubic:
    """Return a seam as blocks have them: a cubic with handles of a third of its chord."""
    reach = length / 2.8
    return Cubic(
        0j,
        cmath.rect(reach, leaving),
        length - cmath.rect(reach, -arriving),
        length + 0j,
    )


def points_of(cubic: Cubic, step: float = 0.5) -> list[complex]:
    count = int(cubic.length() / step)
    return [cubic.point(k / count) for k in range(count + 1)]


@settings(max_examples=examples(40))
@given(lengths, angles, angles, st.integers(0, 10**6))
def test_one_cubic_follows_a_seam_of_one_cubic(
    length: float, leaving: float, arriving: float, seed: int
) -> None:
    true = curve(length, leaving, arriving)
    drawn = np.array(wobbled(random.Random(seed), points_of(true)))
    fit = fitted_curve(drawn, 0.5)
    assert len(fit.segments) == 1
    away = offsets(np.array(points_of(true)), fit.segments)
    # A hand that strays by a quarter of a millimetre is averaged, not followed.
    assert np.sqrt(np.mean(away**2)) < 0.2
    assert np.abs(away).max() < 0.6


@settings(max_examples=examples(40))
@given(lengths, angles, angles)
def test_steady_points_are_met_and_fixed_ends_are_kept(
    length: float, leaving: float, arriving: float
) -> None:
    true = curve(length, leaving, arriving)
    drawn = np.array(points_of(true))
    way = true.start_tangent()
    fit = fitted_curve(drawn[3:-3], 0.1, Ends(0j, length + 0j, leaving=way))
    assert fit.segments[0].start == 0j
    assert fit.segments[-1].end == pytest.approx(length)
    turned = cmath.phase(fit.segments[0].start_tangent() / way)
    assert turned == pytest.approx(0.0, abs=1e-9)
    assert fit.largest < 0.15


@given(st.integers(2, 6), st.integers(0, 10**6))
@settings(max_examples=examples(25))
def test_cubics_of_a_seam_join_without_a_bump(spans: int, seed: int) -> None:
    """Tangent and curvature go on where two of them meet."""
    rng = random.Random(seed)
    parts = [curve(150.0, 0.6, 0.9), curve(150.0, -0.4, -0.7)]
    line = points_of(parts[0]) + [z + 150 for z in points_of(parts[1])[1:]]
    fit = fit_spline(np.array(wobbled(rng, line)), spans)
    assert len(fit) == spans
    for one, other in itertools.pairwise(fit):
        assert one.end == other.start
        assert cmath.phase(other.start_tangent() / one.end_tangent()) == pytest.approx(0, abs=1e-6)
        bends = [
            (s.derivative(t).conjugate() * s.second_derivative(t)).imag / abs(s.derivative(t)) ** 3
            for s, t in ((one, 1.0), (other, 0.0))
        ]
        assert bends[0] == pytest.approx(bends[1], abs=1e-6)


def test_a_winding_seam_takes_as_few_cubics_as_the_tolerance_allows() -> None:
    wave = np.array([complex(x, 25 * math.sin(x / 40)) for x in np.arange(0.0, 500.0, 0.5)])
    counts = [len(fitted_curve(wave, tolerance).segments) for tolerance in (5.0, 0.5, 0.05)]
    assert counts == sorted(counts)
    assert counts[1] <= 7
    for tolerance in (0.5, 0.05):
        assert fitted_curve(wave, tolerance).largest <= 2 * tolerance


@given(st.floats(-3.0, 3.0), st.floats(40.0, 500.0), st.integers(0, 10**6))
def test_a_line_through_wobbling_points(angle: float, length: float, seed: int) -> None:
    way = cmath.rect(1.0, angle)
    steady = [way * s for s in np.arange(0.0, length, 0.5)]
    line = fit_line(np.array(wobbled(random.Random(seed), steady)))
    turned = cmath.phase((line.end - line.start) / way)
    # The wobble of 0.25 mm at either end at most.
    assert abs(turned) <= math.atan(0.5 / length) + 1e-9
    assert abs(line.end - line.start) == pytest.approx(length, abs=1.2)


@pytest.mark.parametrize("length", [60.0, 150.0, 400.0])
def test_straight_and_curved_are_told_apart(length: float) -> None:
    """A seam bowed by a millimetre is curved at any length; a wobbling straight one is not."""
    for seed in range(20):
        places = np.arange(0.0, length, 0.5)
        straight = np.array(wobbled(random.Random(seed), list(places + 0j)))
        bow = 4.0 * places / length * (1 - places / length)
        bowed = np.array(wobbled(random.Random(seed), list(places + 1j * bow)))
        assert is_straight(straight, 0.5, 0.08)
        assert not is_straight(bowed, 0.5, 0.08)
        steady = np.asarray(places, dtype=np.complex128)
        assert bulge(steady) == pytest.approx(0.0, abs=1e-9)


@given(st.floats(0.5, 20.0), st.floats(5.0, 80.0))
def test_averaging_keeps_what_is_straight(slope: float, length: float) -> None:
    values = slope * np.arange(0.0, length, 0.5)
    assert smoothed(values, 0.5, length) == pytest.approx(values)


def test_a_leg_too_short_to_be_looked_at_has_no_offsets() -> None:
    assert offsets(np.zeros(0, dtype=complex), [curve(80.0, 0.3, 0.3)]).shape == (0,)
