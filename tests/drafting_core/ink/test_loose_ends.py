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
