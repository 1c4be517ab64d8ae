"""Lines and cubics against fontTools, numpy and their own definitions."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from fontTools.misc import bezierTools
from hypothesis import assume, example, given
from hypothesis import strategies as st

from drafting_core.plane.bernstein import bernstein_roots
from drafting_core.plane.curves import (
    _GAUSS,
    Cubic,
    Line,
    box_about,
    cross,
    reflection_in,
    rotation_about,
    turn,
)

numbers = st.floats(-500, 500, allow_nan=False).map(lambda value: round(value, 4))
points = st.builds(complex, numbers, numbers)
cubics = st.builds(Cubic, points, points, points, points)
lines = st.builds(Line, points, points)
parameters = st.floats(0, 1)


def pairs(cubic: Cubic) -> list[tuple[float, float]]:
    return [(z.real, z.imag) for z in cubic]


def test_the_gauss_rule_is_numpys() -> None:
    nodes, weights = np.polynomial.legendre.leggauss(8)
    assert np.allclose(sorted(n for n, _ in _GAUSS), nodes[4:], atol=1e-15)
    assert np.allclose([w for _, w in sorted(_GAUSS)], weights[4:], atol=1e-15)


@given(cubics, parameters)
def test_splits_are_font_tools(cubic: Cubic, t: float) -> None:
    assume(0 < t < 1)
    for ours, theirs in zip(
        cubic.split(t), bezierTools.splitCubicAtT(*pairs(cubic), t), strict=True
    ):
        assert max(abs(z - complex(*pair)) for z, pair in zip(ours, theirs, strict=True)) < 1e-9


@given(cubics)
def test_lengths_are_a_fine_polylines(cubic: Cubic) -> None:
    t = np.linspace(0, 1, 20001)
    a, b, c, d = cubic
    z = a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t**2 * (1 - t) + d * t**3
    polyline = float(np.abs(np.diff(z)).sum())
    # A chord polyline is never longer, and this fine it is hardly shorter.
    assert polyline - 1e-7 <= cubic.length() <= polyline + 1e-5 * (1 + polyline)


@given(cubics)
def test_lengths_are_font_tools(cubic: Cubic) -> None:
    theirs = bezierTools.calcCubicArcLength(*pairs(cubic), tolerance=1e-7)
    assert cubic.length() == pytest.approx(theirs, rel=1e-5, abs=1e-5)


@given(cubics, parameters)
def test_an_arc_length_leads_back_to_its_parameter(cubic: Cubic, t: float) -> None:
    length = cubic.length(0, t)
    assert cubic.length(0, cubic.parameter_at(length)) == pytest.approx(length, abs=1e-8)


@given(cubics)
def test_the_swept_area_is_a_polygons(cubic: Cubic) -> None:
    z = np.array([cubic.point(k / 4000) for k in range(4001)])
    shoelace = 0.5 * float(np.sum(z[:-1].real * z[1:].imag - z[:-1].imag * z[1:].real))
    assert cubic.area() == pytest.approx(shoelace, abs=0.5 + 1e-5 * abs(shoelace))


@given(cubics, points)
def test_no_sample_is_nearer_than_the_nearest_point(cubic: Cubic, to: complex) -> None:
    nearest = abs(cubic.point(cubic.nearest(to)) - to)
    samples = min(abs(cubic.point(k / 16) - to) for k in range(17))
    assert nearest <= samples + 1e-9


@given(st.lists(st.floats(-100, 100), min_size=4, max_size=4))
def test_bernstein_roots_are_all_the_sign_changes(coefficients: list[float]) -> None:
    assume(max(abs(c) for c in coefficients) > 1e-3)
    roots = bernstein_roots(coefficients)
    a, b, c, d = coefficients
    scale = max(abs(k) for k in coefficients)

    def value(t: float) -> float:
        s = 1 - t
        return a * s**3 + 3 * b * s * s * t + 3 * c * s * t * t + d * t**3

    assert all(abs(value(t)) <= 1e-9 * scale for t in roots)
    for k in range(200):
        low, high = k / 200, (k + 1) / 200
        if value(low) * value(high) < -((1e-6 * scale) ** 2):
            assert any(low - 1e-9 <= t <= high + 1e-9 for t in roots)


@given(cubics, points, st.floats(0, 6.3))
def test_where_a_ray_is_met_lies_on_it(cubic: Cubic, origin: complex, angle: float) -> None:
    ray = cmath.rect(1, angle)
    for t in cubic.on_ray(origin, ray):
        assert abs(cross(ray, cubic.point(t) - origin)) < 1e-7


@given(cubics, points, st.floats(-3, 3))
def test_a_rotation_keeps_lengths_and_turns_angles(
    cubic: Cubic, centre: complex, angle: float
) -> None:
    turned = cubic.mapped(rotation_about(centre, angle))
    assert turned.length() == pytest.approx(cubic.length(), abs=1e-7)
    assume(abs(cubic.end - cubic.start) > 1)
    by = turn(cubic.end - cubic.start, turned.end - turned.start)
    assert math.cos(by - angle) == pytest.approx(1, abs=1e-9)


@given(points, points, points)
def test_a_reflection_undoes_itself(start: complex, along: complex, z: complex) -> None:
    assume(abs(along) > 1)
    mirror = reflection_in(start, along)
    assert abs(mirror(mirror(z)) - z) < 1e-8
    assert abs(mirror(start + 2 * along) - (start + 2 * along)) < 1e-8


@pytest.mark.parametrize(
    ("theta", "radius", "intake"),
    # 2·r·sin(θ/2), computed: the chord table of the project's values to check against.
    [(30, 17, 8.800), (30, 26, 13.459), (40, 12, 8.208), (40, 25, 17.101), (20, 16, 5.557)],
)
def test_the_chord_of_an_opening(theta: float, radius: float, intake: float) -> None:
    to = rotation_about(0j, math.radians(theta))
    assert abs(to(radius + 0j) - radius) == pytest.approx(intake, abs=5e-4)


@example(1j, 2j, 0j)
@given(points, points, points)
def test_a_raised_quadratic_lies_in_its_box(a: complex, b: complex, c: complex) -> None:
    """Its turning places are roots of a square equation with next to nothing before the square."""
    cubic = Cubic(a, a + (b - a) * 2 / 3, c + (b - c) * 2 / 3, c)
    box = box_about(cubic.extreme_points())
    for k in range(65):
        z = cubic.point(k / 64)
        assert box.left - 1e-6 <= z.real <= box.right + 1e-6
        assert box.top - 1e-6 <= z.imag <= box.bottom + 1e-6
