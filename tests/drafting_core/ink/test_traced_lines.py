"""The parts of a clean-up by themselves: near points, joined strokes, flat photos, small signs."""

from __future__ import annotations

import cmath
import itertools
import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from drafting_core.ink.apex_signs import SmallShape, apex_signs, signs_beside
from drafting_core.ink.join_strokes import join_strokes
from drafting_core.ink.pen_line import Ring, centre_ring, centre_strokes
from drafting_core.ink.polylines import NearPoints, area_of, inside, polyline_crossings, resampled
from drafting_core.ink.rectify import corners_of, rectangle_map, scaling
from drafting_core.ink.trace_corners import find_corners
from drafting_core.text.errors import OutlineError
from drafting_core.trace.halves import MEAN, halved
from tests.help.depth import examples

seeds = st.integers(0, 10**6)


@settings(max_examples=examples(40))
@given(seeds, st.floats(0.5, 40.0))
def test_near_points_are_the_nearest(seed: int, reach: float) -> None:
    rng = np.random.default_rng(seed)
    points = rng.uniform(-100, 100, 150) + 1j * rng.uniform(-50, 50, 150)
    places = rng.uniform(-130, 130, 60) + 1j * rng.uniform(-80, 80, 60)
    number, away = NearPoints(points, reach).nearest(places)
    for k, place in enumerate(places):
        distances = np.abs(points - place)
        if distances.min() <= reach:
            assert away[k] == pytest.approx(distances.min())
            assert distances[number[k]] == pytest.approx(distances.min())
        else:
            assert number[k] == -1


@settings(max_examples=examples(40))
@given(seeds)
def test_inside_is_what_shapely_calls_inside(seed: int) -> None:
    rng = np.random.default_rng(seed)
    count = 12
    ring = np.exp(2j * np.pi * np.arange(count) / count) * rng.uniform(10, 60, count)
    polygon = Polygon([(z.real, z.imag) for z in ring])
    places = rng.uniform(-70, 70, 200) + 1j * rng.uniform(-70, 70, 200)
    told = inside(ring, places)
    assert told.tolist() == [polygon.contains(Point(z.real, z.imag)) for z in places]
    assert area_of(ring) == pytest.approx(polygon.area)


@given(st.lists(st.complex_numbers(max_magnitude=50), min_size=2, max_size=6), seeds)
def test_crossings_lie_on_both_lines(points: list[complex], seed: int) -> None:
    rng = np.random.default_rng(seed)
    other = rng.uniform(-50, 50, 5) + 1j * rng.uniform(-50, 50, 5)
    lines = [LineString([(z.real, z.imag) for z in line]) for line in (np.array(points), other)]
    for _i, _j, place in polyline_crossings(np.array(points), other):
        for line in lines:
            assert line.distance(Point(place.real, place.imag)) < 1e-6


def tilted(seed: int) -> np.ndarray:
    """Return the picture of an A4 sheet of 210 x 297 mm by a camera tilted by up to 15°."""
    rng = random.Random(seed)
    across, down = (math.radians(rng.uniform(-15, 15)) for _ in "xy")
    corners = np.array([-105 - 148.5j, 105 - 148.5j, 105 + 148.5j, -105 + 148.5j])
    depth = 900 + corners.real * math.sin(across) + corners.imag * math.sin(down)
    flat = corners.real * math.cos(across) + 1j * corners.imag * math.cos(down)
    turned = flat * 900 / depth * cmath.exp(1j * math.radians(rng.uniform(-40, 40)))
    return np.asarray(turned * rng.uniform(0.2, 3.0) + complex(rng.uniform(0, 900), 300))


@settings(max_examples=examples(60))
@given(seeds, st.integers(0, 3), st.booleans(), st.booleans())
def test_a_rectangle_becomes_true_whatever_its_corners_order(
    seed: int, first: int, backward: bool, swapped: bool
) -> None:
    corners = np.roll(tilted(seed), first)
    if backward:
        corners = corners[::-1]
    sides = (297.0, 210.0) if swapped else (210.0, 297.0)
    flat = rectangle_map(list(corners), *sides)
    true = flat(corners)
    lengths = np.abs(true - np.roll(true, 1))
    assert sorted(lengths) == pytest.approx([210.0, 210.0, 297.0, 297.0])
    bends = [cmath.phase((true[k] - true[k - 1]) / (true[(k + 1) % 4] - true[k])) for k in range(4)]
    assert np.abs(bends) == pytest.approx(np.full(4, math.pi / 2))
    # Never mirrored, and the way back leads back.
    assert math.copysign(1, area_of(true)) == math.copysign(1, area_of(corners))
    assert flat.inverse(true) == pytest.approx(corners)
    assert abs(cmath.phase((true[1] - true[0]) / (corners[1] - corners[0]))) < math.radians(60)


def test_what_is_no_rectangle_is_refused() -> None:
    with pytest.raises(OutlineError, match="convex"):
        rectangle_map([0j, 10 + 0j, 2 + 2j, 10j], 210, 297)
    with pytest.raises(OutlineError, match="3 corners"):
        rectangle_map([0j, 10 + 0j, 10j], 210, 297)
    with pytest.raises(OutlineError, match="convex"):
        rectangle_map([0j, 10 + 0j, 20 + 0j, 10j], 210, 297)
    assert corners_of([0j, 5 + 0j, 10 + 0j, 10 + 10j, 10j]) == [0j, 10 + 0j, 10 + 10j, 10j]
    assert scaling(2.5).scale_at(7 + 3j) == pytest.approx(2.5)


def ring_of(points: list[complex]) -> np.ndarray:
    return resampled(np.array(points), 0.5, closed=True)


SQUARE = [0j, 200 + 0j, 200 + 150j, 150j]


@given(st.floats(0.3, 4.0))
@settings(max_examples=examples(20))
def test_the_middle_of_two_edges_is_the_line(pen: float) -> None:
    true = Polygon([(z.real, z.imag) for z in SQUARE]).exterior
    drawn = true.buffer(pen / 2)
    edges = [
        np.array([complex(x, y) for x, y in ring.coords[:-1]])
        for ring in (drawn.exterior, drawn.interiors[0])
    ]
    ring = centre_ring(edges[0], [edges[1]])
    assert ring.pen == pytest.approx(pen, rel=0.05)
    away = [true.distance(Point(z.real, z.imag)) for z in ring.points]
    # The outer edge is round at corners: there the middle cuts them by a part of the pen.
    assert max(away) <= 0.5 * pen + 0.1
    assert float(np.median(away)) < 0.01


def test_a_stroke_is_traced_from_both_its_edges() -> None:
    stroke = LineString([(0, 0), (80, 10), (160, 0)])
    contour = np.array([complex(x, y) for x, y in stroke.buffer(0.5).exterior.coords[:-1]])
    found = centre_strokes(contour)
    assert len(found) == 2
    for line in found:
        assert max(stroke.distance(Point(z.real, z.imag)) for z in line) < 0.25
        assert float(np.abs(np.diff(line)).sum()) == pytest.approx(stroke.length, abs=3.0)


@settings(max_examples=examples(40))
@given(seeds, st.floats(0.0, 4.5))
def test_four_strokes_join_whatever_their_order_and_ends(seed: int, most: float) -> None:
    rng = random.Random(seed)
    strokes = []
    for a, b in zip(SQUARE, [*SQUARE[1:], SQUARE[0]], strict=True):
        way = (b - a) / abs(b - a)
        ends = [a + way * rng.uniform(-most, most), b + way * rng.uniform(-most, most)]
        strokes.append(np.array(ends if rng.random() < 0.5 else ends[::-1]))
    rng.shuffle(strokes)
    joined = join_strokes(strokes, 5.0, 0.5)
    (ring,) = joined.rings
    assert joined.left_out == []
    assert abs(area_of(ring.points)) == pytest.approx(200 * 150, rel=0.01)
    corners = ring.points[find_corners(ring.points, 0.5, 250.0)]
    assert len(corners) == 4
    for true in SQUARE:
        assert float(np.abs(corners - true).min()) < 1.5


def test_a_gap_beyond_the_limit_stays_and_is_named() -> None:
    strokes = [
        np.array(ends) for ends in ([0j, 200 + 0j], [200 + 0j, 200 + 150j], [200 + 150j, 7j])
    ]
    joined = join_strokes(strokes, 5.0, 0.5)
    assert joined.rings == []
    assert joined.open_ends is not None
    assert abs(joined.open_ends[0] - joined.open_ends[1]) == pytest.approx(7.0)


def shape(points: list[complex], at: complex) -> SmallShape:
    return SmallShape(np.array(points) + at, True)


DOT = [cmath.rect(1.2, k / 4) for k in range(25)]
CROSS = [
    complex(*z)
    for z in [
        (-2, -0.3), (-0.3, -0.3), (-0.3, -2), (0.3, -2), (0.3, -0.3), (2, -0.3),
        (2, 0.3), (0.3, 0.3), (0.3, 2), (-0.3, 2), (-0.3, 0.3), (-2, 0.3),
    ]
]  # fmt: skip
LETTER = [0j, 3 + 0j, 3 + 0.6j, 0.6 + 0.6j, 0.6 + 4j, 4j]


@given(st.sampled_from([DOT, CROSS]), st.floats(0.0, 1.5), st.floats(0.5, 2.4))
def test_a_dot_or_a_cross_alone_is_a_sign(sign: list[complex], turn: float, size: float) -> None:
    turned = [z * cmath.exp(1j * turn) * size for z in sign]
    (found,) = apex_signs([shape(turned, 40 + 30j), shape(LETTER, 80 + 30j)])
    assert abs(found - (40 + 30j)) < 0.2 * size


def test_letters_and_specks_are_no_signs() -> None:
    word = [shape(LETTER, 10 + 5 * k + 0j) for k in range(5)]
    dotted = [*word, shape(DOT, 34 + 1j)]
    speck = shape([z * 0.2 for z in DOT], 60 + 60j)
    assert apex_signs(dotted) == []
    assert apex_signs([speck]) == []


def test_a_sign_among_dashes_is_told_from_the_dots_of_lines() -> None:
    around = np.array([300 * z for z in (0j, 1 + 0j, 1 + 1j, 1j, 0j)])
    outline = np.concatenate([np.linspace(a, b, 100) for a, b in itertools.pairwise(around)])
    dots = [np.array(DOT) + z for z in (*outline[::4], *np.arange(60, 240, 8) + 80j)]
    dash = np.array([0j, 9 + 0j, 9 + 0.6j, 0.6j])
    inner = [dash + z for z in np.arange(60, 240, 12) + 220j]
    assert signs_beside([*dots, *inner], [outline]) == []
    (found,) = signs_beside([*dots, *inner, np.array(CROSS) + 150 + 150j], [outline])
    assert abs(found - (150 + 150j)) < 0.2


@settings(max_examples=examples(20))
@given(st.floats(-0.2, 0.2), st.floats(0.0, 0.04))
def test_the_centre_line_of_a_whole_piece_is_found(turn: float, wider: float) -> None:
    right = [0j, 60 - 20j, 150 + 20j, 140 + 200j, 160 + 400j, 390j]
    left = [complex(-z.real * (1 - wider), z.imag) for z in right]
    factor = cmath.exp(1j * turn)
    points = ring_of([z * factor + 300 for z in [*right, *left[-2:0:-1]]])
    whole = Ring(points, np.ones(len(points), dtype=np.bool_), 0.0)
    half = halved(whole, MEAN)
    way = half.axis[1] - half.axis[0]
    off = math.remainder(cmath.phase(way) - cmath.phase(1j * factor), math.pi)
    assert abs(off) < 0.005 + wider / 10
    assert abs(area_of(half.ring.points)) == pytest.approx(abs(area_of(points)) / 2, rel=0.005)
    assert half.largest <= 4 + 170 * wider
