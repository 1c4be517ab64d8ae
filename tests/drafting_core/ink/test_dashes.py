"""Dashes and dots chained to lines; letters and specks are none."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point
from shapely.ops import substring

from drafting_core.ink.dashes import chains
from tests.help.depth import examples
from tests.help.scans.inked import Points, inked, line_string, ring_of

seeds = st.integers(0, 10**6)


def course(bow: float, turn: float) -> LineString:
    along = np.linspace(0, 1, 301)
    points = np.exp(1j * turn) * (180 * along + 1j * bow * np.sin(np.pi * along))
    return line_string([complex(z) for z in points])


def dashed(line: LineString, dash: float, gap: float, pen: float) -> list[Points]:
    """Return the contours of a line's dashes, in order."""
    starts = np.arange(0.0, line.length - dash, dash + gap)
    pieces = [substring(line, start, start + dash) for start in starts]
    return [ring_of(piece.buffer(pen / 2).exterior.coords) for piece in pieces]


def mixed(contours: list[Points], seed: int) -> tuple[list[Points], list[int]]:
    """Return contours in any order, and the place in it of each."""
    order = np.random.default_rng(seed).permutation(len(contours))
    return [contours[k] for k in order], np.argsort(order).tolist()


@settings(max_examples=examples(40), deadline=None)
@given(st.floats(2, 14), st.floats(0.3, 0.9), st.floats(-25, 25), st.floats(0, 7), seeds)
def test_dashes_of_one_line_are_one_chain(
    dash: float, part: float, bow: float, turn: float, seed: int
) -> None:
    gap, pen = min(9.0, max(1.5, part * dash)), 0.7
    line = course(bow, turn)
    contours, order = mixed(dashed(line, dash, gap, pen), seed)
    (chain,) = chains(contours)
    assert list(chain.numbers) in (order, order[::-1])
    assert len(chain.bridges) == len(contours) - 1
    # Inked ends are round, so half a pen's width is neither dash nor gap.
    assert chain.period == pytest.approx(dash + gap, abs=0.3)
    for bridge in chain.bridges:
        assert abs(bridge[1] - bridge[0]) == pytest.approx(gap, abs=0.3)
        for end in bridge:
            assert line.distance(Point(end.real, end.imag)) < 0.35


@settings(max_examples=examples(20), deadline=None)
@given(st.floats(1.4, 3.0), st.floats(0.22, 0.7), st.floats(-25, 25), st.floats(0, 7), seeds)
def test_dots_are_chained_past_specks_beside_them(
    gap: float, width: float, bow: float, turn: float, seed: int
) -> None:
    line = course(bow, turn)
    rng = np.random.default_rng(seed)
    places = [line.interpolate(at) for at in np.arange(0.0, line.length, gap)]
    along = rng.choice(np.arange(8.0, line.length - 8.0, 12.0), 5, replace=False)
    beside = [line.interpolate(at) for at in along]
    specks = [
        Point(at.x + side * np.sin(turn) * away, at.y - side * np.cos(turn) * away)
        for at, side, away in zip(
            beside, rng.choice([-1, 1], 5), rng.uniform(0.6 * gap, 1.2 * gap, 5) + 1.2, strict=True
        )
    ]
    dots = [ring_of(spot.buffer(width / 2).exterior.coords) for spot in (*places, *specks)]
    contours, order = mixed(dots, seed)
    (chain,) = chains(contours)
    on_line = order[: len(places)]
    assert list(chain.numbers) in (on_line, on_line[::-1])


@settings(max_examples=examples(30), deadline=None)
@given(st.floats(1.6, 5.0), st.floats(0.5, 1.2), st.floats(-25, 25), st.floats(0, 7), seeds)
def test_dots_of_one_line_are_one_chain(
    gap: float, width: float, bow: float, turn: float, seed: int
) -> None:
    line = course(bow, turn)
    places = [line.interpolate(at) for at in np.arange(0.0, line.length, gap)]
    dots = [ring_of(place.buffer(width / 2).exterior.coords) for place in places]
    contours, order = mixed(dots, seed)
    (chain,) = chains(contours)
    assert list(chain.numbers) in (order, order[::-1])
    assert chain.period == pytest.approx(gap, rel=0.02)


def cornered(between: float, turn: float) -> tuple[LineString, complex]:
    """Return a line with a corner in its middle, and the corner."""
    ways = np.exp(1j * turn), np.exp(1j * (turn + between))
    at = 40 + 30j
    return line_string([complex(at + 70 * ways[0]), at, complex(at + 70 * ways[1])]), at


def dashed_about_corner(
    line: LineString, arms: tuple[float, float], dash: float, gap: float
) -> list[Points]:
    """Return a line's dashes, of which one goes round the corner in the middle of it."""
    middle = line.length / 2
    after = dashed(substring(line, middle + arms[1] + gap, line.length), dash, gap, 0.6)
    before = dashed(substring(line, middle - arms[0] - gap, 0), dash, gap, 0.6)
    bent = substring(line, middle - arms[0], middle + arms[1]).buffer(0.3)
    return [*before[::-1], ring_of(bent.exterior.coords), *after]


@settings(max_examples=examples(40), deadline=None)
@given(
    st.floats(np.radians(50), np.radians(130)),
    st.floats(3, 7),
    st.floats(3, 7),
    st.floats(4, 10),
    st.floats(0, 7),
    seeds,
)
def test_a_dash_round_a_corner_belongs_to_its_line(
    between: float, one: float, other: float, dash: float, turn: float, seed: int
) -> None:
    gap = 0.4 * dash
    line, _at = cornered(between, turn)
    contours, order = mixed(dashed_about_corner(line, (one, other), dash, gap), seed)
    (chain,) = chains(contours)
    assert list(chain.numbers) in (order, order[::-1])
    for bridge in chain.bridges:
        assert abs(bridge[1] - bridge[0]) == pytest.approx(gap, abs=0.5)
        for end in bridge:
            assert line.distance(Point(end.real, end.imag)) < 0.35


@settings(max_examples=examples(30), deadline=None)
@given(st.floats(np.radians(60), np.radians(120)), st.floats(4, 8), st.floats(0, 7))
def test_no_line_turns_at_a_speck_beside_its_corner(
    between: float, dash: float, turn: float
) -> None:
    line, at = cornered(between, turn)
    gap, middle = 0.7 * dash, line.length / 2
    contours = [
        *dashed(substring(line, middle - gap / 2, 0), dash, gap, 0.6),
        *dashed(substring(line, middle + gap / 2, line.length), dash, gap, 0.6),
    ]
    outward = at - line.centroid.x - 1j * line.centroid.y
    speck = Point(*(lambda z: (z.real, z.imag))(at + outward / abs(outward))).buffer(0.3)
    contours.append(ring_of(speck.exterior.coords))
    found = chains(contours)
    assert all(len(contours) - 1 not in chain.numbers[1:-1] for chain in found)


@given(st.floats(3, 12), st.floats(25, 60))
def test_two_lines_apart_are_two_chains(dash: float, apart: float) -> None:
    one = dashed(course(0, 0), dash, 0.5 * dash, 0.7)
    other = [contour + 1j * apart for contour in one]
    found = chains([*one, *other])
    count = len(one)
    assert sorted(sorted(chain.numbers) for chain in found) == [
        list(range(count)),
        list(range(count, 2 * count)),
    ]


#: Strokes of letters, 4 high and at most 3 wide.
LETTERS = {
    "A": [[0j, 1.5 + 4j, 3 + 0j], [0.7 + 1.6j, 2.3 + 1.6j]],
    "E": [[3 + 0j, 0j, 4j, 3 + 4j], [2j, 2 + 2j]],
    "S": [[0j, 3 + 0j, 3 + 2j, 2j, 4j, 3 + 4j]],
    "O": [[0j, 3 + 0j, 3 + 4j, 4j, 0j]],
    "K": [[0j, 4j], [3 + 0j, 2j, 3 + 4j]],
    "L": [[4j, 0j, 3 + 0j]],
    "V": [[4j, 1.5 + 0j, 3 + 4j]],
    "N": [[0j, 4j, 3 + 0j, 3 + 4j]],
}


@settings(max_examples=examples(20), deadline=None)
@given(st.lists(st.sampled_from(sorted(LETTERS)), min_size=3, max_size=12), st.floats(0, 7))
def test_words_are_no_dashed_lines(word: list[str], turn: float) -> None:
    way = complex(np.exp(1j * turn))
    contours = []
    for place, letter in enumerate(word):
        lines = [[way * (z + 4.2 * place) for z in line] for line in LETTERS[letter]]
        contours += inked(lines, 0.5)[:1]
    assert chains(contours) == []


@settings(max_examples=examples(20), deadline=None)
@given(seeds)
def test_specks_strewn_about_are_no_line(seed: int) -> None:
    rng = np.random.default_rng(seed)
    places = rng.uniform(0, 300, 25) + 1j * rng.uniform(0, 300, 25)
    around = np.exp(2j * np.pi * np.arange(9) / 9)
    specks = [at + around * rng.uniform(0.2, 0.6, 9) for at in places]
    assert chains(specks) == []


def test_two_dashes_are_none() -> None:
    assert chains(dashed(course(0, 0.4), 8, 4, 0.7)[:2]) == []
