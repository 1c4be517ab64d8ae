"""The middle lines of ink, held against the curves that shapely's pen went along."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point

from drafting_core.ink.centre_lines import centre_lines, edge_points, length_of
from drafting_core.ink.line_graph import LineGraph
from drafting_core.ink.skeleton import filled, grid_over
from tests.help.depth import examples
from tests.help.scans.inked import closed_line, inked, line_string

pens = st.floats(0.5, 1.6)


def middles(lines: list[list[complex]], pen: float) -> LineGraph:
    contours = inked(lines, pen)
    cell = float(np.clip(0.2 * pen, 0.1, 0.25))
    grid = grid_over(contours, cell)
    return centre_lines(filled(contours, grid), grid, edge_points(contours, pen), pen)


def curve(bow: float, turn: float) -> list[complex]:
    """Return a curve of 100 mm that bends one way and then the other."""
    along = np.linspace(0, 1, 201)
    return [complex(z) for z in np.exp(1j * turn) * (100 * along + 1j * bow * np.sin(5 * along))]


@settings(max_examples=examples(30), deadline=None)
@given(st.floats(-12, 12), st.floats(0, 7), pens)
def test_a_curve_comes_back(bow: float, turn: float, pen: float) -> None:
    line = curve(bow, turn)
    graph = middles([line], pen)
    (only,) = graph.lines
    true = line_string(line)
    away = [true.distance(Point(z.real, z.imag)) for z in only.points.tolist()]
    ends = max(3, math.ceil(2 * pen / 0.5))
    assert max(away[ends:-ends]) <= 0.06
    assert only.width == pytest.approx(pen, abs=0.06)
    assert only.length == pytest.approx(true.length, abs=pen + 0.3)
    for end in (line[0], line[-1]):
        assert np.abs(graph.nodes - end).min() <= pen / 2 + 0.3
    assert graph.degrees() == [1, 1]


@settings(max_examples=examples(20), deadline=None)
@given(st.floats(8, 60), st.floats(0.5, 1.0), pens)
def test_a_closed_curve_is_one_line_that_ends_where_it_begins(
    size: float, flat: float, pen: float
) -> None:
    around = np.linspace(0, 2 * np.pi, 300, endpoint=False)
    ring = [complex(z) for z in size * (np.cos(around) + 1j * flat * np.sin(around))]
    (only,) = middles([closed_line(ring)], pen).lines
    assert only.start == only.end
    true = line_string(closed_line(ring))
    away = [true.distance(Point(z.real, z.imag)) for z in only.points.tolist()]
    assert max(away[4:-4]) <= 0.06
    assert only.width == pytest.approx(pen, abs=0.06)
    assert only.length == pytest.approx(true.length, rel=0.01)


@settings(max_examples=examples(20), deadline=None)
@given(st.floats(0, 7), st.floats(math.radians(40), math.radians(140)), pens)
def test_two_lines_that_cross_are_four_that_meet_there(
    turn: float, between: float, pen: float
) -> None:
    ways = np.exp(1j * np.array([turn, turn + between]))
    graph = middles([[complex(-30 * way), complex(30 * way)] for way in ways], pen)
    graph_degrees = sorted(graph.degrees())
    loose = [line for line in graph.lines if 1 in (graph.degrees()[line.start],
                                                   graph.degrees()[line.end])]  # fmt: skip
    assert len(loose) == 4
    # A crossing of thick lines may be several meetings, with short lines between them.
    assert graph_degrees.count(1) == 4
    assert min(graph_degrees[4:]) >= 3
    for node, degree in zip(graph.nodes, graph.degrees(), strict=True):
        if degree > 1:
            # So far from the crossing the ink of both lines is one.
            acute = min(between, math.pi - between)
            assert abs(node) <= pen / 2 / math.sin(acute / 2) + 0.3 * pen
    assert length_of(graph.lines) == pytest.approx(120, abs=4 * pen)
    for line in loose:
        inner = line.points[(np.abs(line.points) > 5 * pen) & (np.abs(line.points) < 30 - 2 * pen)]
        away = [np.abs((inner * np.conj(way)).imag).max() for way in ways]
        assert min(away) <= 0.06


def test_rough_edges_are_no_lines() -> None:
    line = curve(6.0, 0.3)
    at = line[80]
    rough = [at, at + 0.7 * 1j * (line[81] - line[80]) / abs(line[81] - line[80])]
    (only,) = middles([line, rough], 0.8).lines
    assert only.length == pytest.approx(line_string(line).length, abs=1.0)
