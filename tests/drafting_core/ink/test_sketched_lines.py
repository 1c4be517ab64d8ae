"""Lines set node by node, and lines drawn with two strokes."""

from __future__ import annotations

import cmath
import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from drafting_core.ink.double_strokes import mean_strokes, without_spots
from drafting_core.ink.hand_set import hand_set, with_shared_ends
from drafting_core.ink.pen_line import centre_ring
from drafting_core.ink.polylines import Points, area_of, diagonal, resampled
from tests.help.depth import examples

SQUARE = [0j, 200 + 0j, 200 + 150j, 150j]


def curve(points: Points) -> LineString:
    return LineString([(z.real, z.imag) for z in points])


def farthest(points: Points, other: Points) -> float:
    line = curve(other)
    return max(float(line.distance(Point(z.real, z.imag))) for z in points)


@settings(max_examples=examples(60), deadline=None)
@given(st.floats(40.0, 400.0), st.floats(0.15, 0.6), st.integers(0, 1000))
def test_nodes_on_an_arc_are_a_smooth_arc(radius: float, bow: float, seed: int) -> None:
    """The ways between nodes cut the arc by what they bow; the line through them hardly does."""
    step = 2 * math.acos(1 - bow / radius)
    count = max(3, int(math.pi / 2 / step))
    rng = random.Random(seed)
    angles = [k * step + rng.uniform(-0.1, 0.1) * step for k in range(count + 1)]
    nodes = np.array([cmath.rect(radius, angle) for angle in angles])
    if np.median(np.abs(np.diff(nodes))) < 5.0:
        return
    (line,) = hand_set([nodes], closed=False)
    assert np.abs(np.abs(line) - radius).max() < 0.25 * bow + 0.02
    assert line[0] == nodes[0]
    assert line[-1] == nodes[-1]


@pytest.mark.parametrize("turn", [0.0, 0.4, 1.1])
def test_corners_and_straight_sides_stay(turn: float) -> None:
    """A straight side stays straight where it runs into a curve of few nodes."""
    bay = 60j + 60 * np.exp(1j * np.linspace(-math.pi / 2, 0, 6))
    nodes = np.concatenate([bay, [60 + 300j, -200 + 300j, -200 + 0j]]) * np.exp(1j * turn)
    (line,) = hand_set([nodes], closed=True)
    line = np.append(line, line[0])
    for corner in nodes[[6, 7, 8]]:
        assert np.abs(line - corner).min() < 1e-9
    for k in (5, 6, 7, 8):
        side = nodes[[k, (k + 1) % len(nodes)]]
        assert farthest(resampled(side, 1.0, closed=False), line) < 0.2
    round_bay = 60j + 60 * np.exp(1j * np.linspace(-math.pi / 2, 0, 200))
    true = np.concatenate([round_bay, [60 + 300j, -200 + 300j, -200 + 0j, 0j]])
    true = true * np.exp(1j * turn)
    assert farthest(line, true) < 0.3


def test_dense_lines_and_specks_are_no_hand_set_ones() -> None:
    dense = np.exp(1j * np.linspace(0, 1, 400)) * 200
    speck = np.array([0j, 3 + 0j, 3 + 3j])
    assert hand_set([dense, speck], closed=False) == [dense, speck]


def test_legs_meet_halfway_between_their_ends_and_square_corners_where_they_cross() -> None:
    one, other = np.array([0j, 100 + 0.25j]), np.array([100 - 0.25j, 0.2 + 12j])
    third = np.array([0.2 - 0.4j, 0.2 - 80j])
    first, second, stays = with_shared_ends([one, other, third])
    assert first[-1] == second[0] == 100 + 0j
    assert first[0] == one[0]
    assert np.array_equal(stays, third)


@settings(max_examples=examples(20), deadline=None)
@given(st.integers(0, 1000), st.floats(0.8, 2.0))
def test_two_strokes_on_a_scan_are_their_mean(seed: int, apart: float) -> None:
    """Ink of two strokes that part and meet, by shapely's buffer: its middle is between them."""
    rng = random.Random(seed)
    true = resampled(np.array(SQUARE), 1.0, closed=True)
    along = np.arange(len(true)) * 1.0
    wave = np.sin(2 * np.pi * along / rng.uniform(50, 150) + rng.uniform(0, 6)) * apart / 2
    into = 1j * (np.roll(true, -1) - np.roll(true, 1))
    into /= np.abs(into)
    strokes = [true + side * wave * into for side in (1, -1)]
    ink = None
    for stroke in strokes:
        drawn = curve(np.append(stroke, stroke[0])).buffer(0.25)
        ink = drawn if ink is None else ink.union(drawn)
    assert isinstance(ink, Polygon)
    contours = [np.array([complex(x, y) for x, y in ring.coords[:-1]])
                for ring in (ink.exterior, *ink.interiors)]  # fmt: skip
    found = without_spots(contours)
    outer, hole, *rest = sorted(found.closed, key=lambda c: -abs(area_of(c)))
    assert all(diagonal(spot) < 1.5 for spot in rest)
    assert found.gone == len(contours) - 2 - len(rest)
    ring = centre_ring(outer, [hole])
    sides = ring.points[np.abs(ring.points[:, None] - np.array(SQUARE)).min(axis=1) > 6.0]
    assert farthest(sides, np.array([*SQUARE, SQUARE[0]])) < 0.25


def test_a_narrow_dart_is_no_spot_between_strokes() -> None:
    """A dart with its mouth drawn across, and a fold line within, keeps its paper."""
    block = Polygon([(0, 0), (200, 0), (200, 150), (0, 150)]).exterior.buffer(0.25)
    for line in ([(95, 0), (100, 90), (105, 0)], [(100, 0), (100, 90)]):
        block = block.union(LineString(line).buffer(0.25))
    contours = [np.array([complex(x, y) for x, y in ring.coords[:-1]])
                for ring in (block.exterior, *block.interiors)]  # fmt: skip
    assert len(contours) == 4
    assert without_spots(contours).gone == 0


@settings(max_examples=examples(20), deadline=None)
@given(st.floats(0.2, 1.9), st.booleans())
def test_two_open_strokes_become_their_mean(apart: float, is_turned: bool) -> None:
    line = resampled(np.array([0j, 100 + 20j, 200 + 0j]), 0.5, closed=False)
    other = line + 1j * apart
    found, doubled = mean_strokes([line, other[::-1] if is_turned else other], 0.5)
    assert doubled == 1
    (mean,) = found
    assert farthest(mean[20:-20], line + 0.5j * apart) < 0.05
