"""Open corners are closed where the gap is small enough; lines that stop short go on."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting_core.ink.line_graph import InkLine, LineGraph
from drafting_core.ink.loose_ends import bridges
from drafting_core.ink.polylines import resampled
from tests.help.depth import examples

GAP = 5.0
turns = st.floats(0, 7)


def graph_of(*lines: tuple[complex, complex]) -> LineGraph:
    nodes = np.array([end for line in lines for end in line])
    found = [
        InkLine(resampled(np.array(line), 0.5, closed=False), 2 * k, 2 * k + 1)
        for k, line in enumerate(lines)
    ]
    return LineGraph(nodes, found)


def open_corner(
    between: float, short: tuple[float, float], turn: float, mirrored: bool
) -> tuple[LineGraph, complex]:
    """Return two lines that each stop short of the corner at which they would meet."""
    ways = [complex(np.exp(1j * angle)) for angle in (turn, turn + (-1) ** mirrored * between)]
    at = 30 + 20j
    ends = [(at + way * size, at + way * 60) for way, size in zip(ways, short, strict=True)]
    return graph_of(*ends), at


@settings(max_examples=examples(60))
@given(
    st.floats(math.radians(50), math.radians(130)),
    st.floats(0.2, 2.4),
    st.floats(0.2, 2.4),
    turns,
    st.booleans(),
)
def test_an_open_corner_is_closed_where_its_lines_meet(
    between: float, one: float, other: float, turn: float, mirrored: bool
) -> None:
    graph, at = open_corner(between, (one, other), turn, mirrored)
    (bridge,) = bridges(graph, [GAP, GAP])
    assert min(abs(place - at) for place in bridge.points) < 1e-6
    ends = [complex(line.points[0]) for line in graph.lines]
    assert abs(ends[0] - ends[1]) == pytest.approx(bridge.size)
    for end in ends:
        assert min(abs(end - place) for place in bridge.points) < 1e-9


@settings(max_examples=examples(30))
@given(st.floats(math.radians(50), math.radians(130)), st.floats(15, 25), turns, st.booleans())
def test_a_corner_open_by_far_more_stays_open(
    between: float, short: float, turn: float, mirrored: bool
) -> None:
    graph, _at = open_corner(between, (short, short), turn, mirrored)
    assert bridges(graph, [GAP, GAP]) == []


@given(st.floats(1.0, 4.0), st.floats(-0.6, 0.6), st.floats(1.8, 2.6), turns)
def test_an_end_meets_the_corner_that_it_passes_by(
    short: float, beside: float, between: float, turn: float
) -> None:
    """A corner of a line that runs on, as of an allowance: it is met."""
    way = complex(np.exp(1j * turn))
    corner = np.array([complex(np.exp(1j * between)) * 40, 0j, complex(np.exp(-1j * between)) * 40])
    points = resampled((corner + 1j * beside) * way, 0.5, closed=False)
    end = resampled(np.array([-40.0 + 0j, -short + 0j]) * way, 0.5, closed=False)
    nodes = np.array([points[0], points[-1], end[0], end[-1]])
    graph = LineGraph(nodes, [InkLine(points, 0, 1), InkLine(end, 2, 3)])
    found = [bridge for bridge in bridges(graph, [GAP, GAP]) if end[-1] in bridge.points]
    (bridge,) = found
    # Where it meets an arm of the corner, that is so far from it at most.
    assert abs(bridge.points[-1] - 1j * beside * way) <= 0.6 / math.sin(between) + 0.1


def test_the_direction_of_an_end_is_that_after_its_last_corner() -> None:
    """A short part after a corner leads to where it points, not where the line came from."""
    hook = resampled(np.array([-30 + 0j, 0j, 0 + 4.5j]), 0.25, closed=False)
    seam = resampled(np.array([-20 + 7j, 20 + 7j]), 0.5, closed=False)
    nodes = np.array([hook[0], hook[-1], seam[0], seam[-1]])
    graph = LineGraph(nodes, [InkLine(hook, 0, 1), InkLine(seam, 2, 3)])
    (bridge,) = bridges(graph, [GAP, GAP])
    assert abs(bridge.points[-1] - 7j) <= 0.3


@given(st.floats(0.3, 4.9), st.floats(5.2, 20), turns)
def test_a_line_broken_by_less_than_the_gap_goes_on(
    small: float, large: float, turn: float
) -> None:
    way = complex(np.exp(1j * turn))
    (bridge,) = bridges(graph_of((-50 * way, 0j), (small * way, 50 * way)), [GAP, GAP])
    assert bridge.size == pytest.approx(small)
    assert bridges(graph_of((-50 * way, 0j), (large * way, 50 * way)), [GAP, GAP]) == []


@given(st.floats(0.3, 4.9), st.floats(5.1, 20), st.floats(-20, 20), turns)
def test_a_line_that_stops_short_of_another_reaches_it(
    small: float, large: float, place: float, turn: float
) -> None:
    way = complex(np.exp(1j * turn))
    beam = (-50 * way, 50 * way)
    for short in (small, large):
        ends = (way * (place + 1j * short), way * (place + 40j))
        found = bridges(graph_of(beam, ends), [GAP, GAP])
        if short > GAP:
            assert found == []
        else:
            (bridge,) = found
            assert bridge.size == pytest.approx(short)
            assert bridge.points[-1] == pytest.approx(way * place)
