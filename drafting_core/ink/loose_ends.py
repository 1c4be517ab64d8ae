"""Where lines that stop short go on: corners that were not closed, seams that were not reached."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.line_graph import LineGraph
from drafting_core.ink.polylines import NearPoints, Points, arc_lengths, fit_line

#: The direction of a loose end is that of its last part, so long (mm): the first of these …
_TAILS = (9.0, 5.5, 3.0)
#: … that strays from a line by at most this (mm), and goes round no corner.
_TAIL_STRAYS = 0.3
#: … without the very end, where a pen lifts (mm).
_LIFTS = 0.6
#: Directions whose sine is less than this are as good as parallel.
_PARALLEL = math.sin(math.radians(7.0))
#: Ends that both stop short of a corner meet at most so many gaps off each of them.
_CORNER = 1.25
#: Ends that meet at less than this (sine) are those of a dart's legs, and meet so many gaps off.
_NARROW = math.sin(math.radians(40.0))
_AT_POINT = 2.2
#: An end that has to run back by more than this (mm) to meet another line does not meet it.
_BACK = 3.0
#: A line rather goes on than turns: each radian costs this part more.
_TURNING = 0.5
#: The two ends of one line meet if they are apart by less than this part of its length.
_CLOSES = 0.3
#: An end meets a corner that it passes by so much at most (mm).
_PASSES = 0.7
#: Meeting a line costs so much more (mm) than meeting another end.
_TO_LINE = 1.5


class Bridge(NamedTuple):
    """A way that was not drawn, from one end of a line to another end or line.

    Attributes:
        points: of it, in mm.
        size: how far apart the ends were, in mm.
    """

    points: tuple[complex, ...]
    size: float


class _End(NamedTuple):
    """A loose end: its node and line, its place, its direction outward, and how far it may go."""

    node: int
    line: int
    at: complex
    out: complex
    reach: float


class _Option(NamedTuple):
    cost: float
    one: int
    other: int
    points: tuple[complex, ...]
    size: float


def bridges(graph: LineGraph, reaches: Sequence[float]) -> list[Bridge]:
    """Return the ways that join the loose ends of lines to what they were meant to meet.

    Args:
        graph: the lines.
        reaches: for every line how far it may go on at a loose end, in mm.
    """
    ends = _ends(graph, reaches)
    lengths = [line.length for line in graph.lines]
    options = [*_to_ends(ends, lengths), *_to_lines(graph, ends)]
    found, taken = [], set()
    for option in sorted(options):
        if option.one in taken or option.other in taken:
            continue
        taken |= {option.one, option.other} - {-1}
        found.append(Bridge(option.points, option.size))
    return found


def _ends(graph: LineGraph, reaches: Sequence[float]) -> list[_End]:
    degrees = graph.degrees()
    ends = []
    for number, line in enumerate(graph.lines):
        for node, points in ((line.start, line.points), (line.end, line.points[::-1])):
            if degrees[node] != 1:
                continue
            along = arc_lengths(points)
            first = int(np.searchsorted(along, _LIFTS))
            way = complex(points[0] - points[-1])
            for size in _TAILS:
                tail = points[first : max(int(np.searchsorted(along, size)), first + 2)]
                if len(tail) < 2:
                    break
                straight = fit_line(tail[::-1])
                way = straight.end - straight.start
                strays = np.abs(((tail - straight.start) * np.conj(way)).imag)
                if strays.max() <= _TAIL_STRAYS * abs(way):
                    break
            if abs(way) > 1e-9:
                at = complex(points[0])
                ends.append(_End(node, number, at, complex(way / abs(way)), reaches[number]))
    return ends


def _to_ends(ends: Sequence[_End], lengths: Sequence[float]) -> list[_Option]:
    if len(ends) < 2:
        return []
    places = np.array([end.at for end in ends])
    most = max(end.reach for end in ends)
    which, others = NearPoints(places, 2.0 * _AT_POINT * most).pairs(places)
    found = []
    for a, b in zip(which.tolist(), others.tolist(), strict=True):
        if a >= b:
            continue
        one, other = ends[a], ends[b]
        if one.line == other.line and abs(other.at - one.at) > _CLOSES * lengths[one.line]:
            continue
        option = _meeting(one, other)
        if option is not None:
            cost, points, size = option
            found.append(_Option(cost, a, b, points, size))
    return found


def _meeting(one: _End, other: _End) -> tuple[float, tuple[complex, ...], float] | None:
    """Return what speaks against two ends being one corner or line, the way, and its length."""
    apart = other.at - one.at
    size = abs(apart)
    sine = (one.out.conjugate() * other.out).imag
    reach = max(one.reach, other.reach)
    if abs(sine) > _PARALLEL:
        first = (apart.conjugate() * other.out).imag / sine
        at = one.at + one.out * first
        second = ((at - other.at) * other.out.conjugate()).real
        # The legs of a dart: one may end long before the other.
        is_narrow = abs(sine) < _NARROW and (one.out.conjugate() * other.out).real > 0
        limit = (_AT_POINT if is_narrow else _CORNER) * reach
        if -_BACK <= first <= limit and -_BACK <= second <= limit:
            way = abs(at - one.at) + abs(other.at - at)
            bends = 0.0 if is_narrow else _bends(one, other)
            return way * (1.0 + _TURNING * bends), (one.at, at, other.at), size
    ahead = (apart * one.out.conjugate()).real, (-apart * other.out.conjugate()).real
    beside = abs((apart * one.out.conjugate()).imag)
    if size <= reach:
        # End to end, or the two legs of a narrow dart at its point.
        is_on = min(ahead) > 0 and (one.out * other.out.conjugate()).real < 0
        is_tip = (one.out * other.out.conjugate()).real > 0.9 and beside <= 0.5 * reach
        if is_on or is_tip or size <= 0.4 * reach:
            cost = size * (1.0 + _TURNING * _bends(one, other)) if is_on else size + 1.0
            return cost, (one.at, other.at), size
    return None


def _bends(one: _End, other: _End) -> float:
    """Return by how much a line turns that goes straight from an end to another (radians)."""
    apart = other.at - one.at
    if abs(apart) < 1e-9:
        return 0.0
    return float(abs(np.angle(apart / one.out)) + abs(np.angle(-apart / other.out)))


def _to_lines(graph: LineGraph, ends: Sequence[_End]) -> list[_Option]:
    if not ends or not graph.lines:
        return []
    pieces = [np.stack([line.points[:-1], line.points[1:]]) for line in graph.lines]
    starts = np.concatenate([piece[0] for piece in pieces])
    stops = np.concatenate([piece[1] for piece in pieces])
    owner = np.repeat(np.arange(len(pieces)), [piece.shape[1] for piece in pieces])
    along = np.concatenate(
        [np.minimum(arc_lengths(line.points)[:-1], arc_lengths(line.points[::-1])[::-1][1:])
         for line in graph.lines]
    )  # fmt: skip
    # Of two ends that nearly meet neither is a corner of the other's line.
    near, _away = NearPoints(np.array([end.at for end in ends]), 3.0 * _PASSES).nearest(starts)
    found = []
    for number, end in enumerate(ends):
        own = (owner == end.line) & (along < 3.0 * end.reach)
        at = _first_hit(end, starts, stops, own, near < 0)
        if at is not None:
            size = abs(at - end.at)
            found.append(_Option(size + _TO_LINE, number, -1, (end.at, at), size))
    return found


def _first_hit(
    end: _End, starts: Points, stops: Points, own: np.ndarray, corners: np.ndarray
) -> complex | None:
    """Return where an end runs into the first line ahead, or into a corner beside it, or None."""
    near = np.abs((starts + stops) / 2 - end.at) <= end.reach + 1.0
    near &= ~own
    numbers = np.flatnonzero(near)
    a = (starts[numbers] - end.at) * np.conj(end.out)
    b = (stops[numbers] - end.at) * np.conj(end.out)
    crosses = (a.imag > 0) != (b.imag > 0)
    met, on = a[crosses], b[crosses]
    places = met.real + (on.real - met.real) * met.imag / (met.imag - on.imag)
    places = places[(places > 0) & (places <= end.reach)]
    if len(places):
        return complex(end.at + end.out * float(places.min()))
    beside = (a.real > _PASSES) & (a.real <= end.reach) & (np.abs(a.imag) <= _PASSES)
    beside &= corners[numbers]
    if not beside.any():
        return None
    ahead = a[beside]
    return complex(end.at + end.out * ahead[np.argmin(np.abs(ahead.imag) + ahead.real / 4)])
