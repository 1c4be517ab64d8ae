"""Strokes that almost meet, joined to closed lines: gaps closed, overshoots cut, doubles merged."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.double_strokes import mean_strokes
from drafting_core.ink.pen_line import Ring, spread
from drafting_core.ink.polylines import (
    Flags,
    NearPoints,
    Points,
    arc_lengths,
    polyline_crossings,
    resampled,
)

#: The direction of a stroke's end is that of its last so many gaps.
_END = 1.5
#: Directions whose sine is less than this are as good as parallel: their meeting is not known.
_PARALLEL = math.sin(math.radians(5.0))
#: At a corner an end may stop so many gaps short of the other line, or run past it: where both
#: stop short, the way round the corner is longer than the gap between them.
_CORNER = 1.25
#: An end that has to be moved by less than this (mm) was no gap worth a word.
NO_GAP = 0.05


class Join(NamedTuple):
    """Two ends of strokes that were brought together.

    Attributes:
        at: where they now meet, in mm.
        size: how far apart the ends were, in mm.
        overshoot: whether they had crossed and were cut.
    """

    at: complex
    size: float
    overshoot: bool


class Joined(NamedTuple):
    """What became of strokes.

    Attributes:
        rings: the closed lines.
        joins: where each of them was joined.
        left_out: the strokes that are part of none.
        doubled: how many strokes were drawn twice.
        open_ends: the two ends that come nearest to each other of those that found no partner,
            or None.
    """

    rings: list[Ring]
    joins: list[list[Join]]
    left_out: list[Points]
    doubled: int
    open_ends: tuple[complex, complex] | None


def join_strokes(strokes: Sequence[Points], gap: float, step: float) -> Joined:
    """Join strokes to closed lines.

    Args:
        strokes: polylines, each of shape (n,).
        gap: the largest distance in mm between ends that are joined, and the largest overshoot.
        step: the distance of points along the result, in mm.
    """
    even = [resampled(stroke, step, closed=False) for stroke in strokes if len(stroke) > 1]
    merged, doubled = mean_strokes(even, step)
    ends = [_End(number, last) for number in range(len(merged)) for last in (False, True)]
    partner: dict[_End, tuple[_End, _Meeting]] = {}
    for meeting, first, second in sorted(_meetings(merged, ends, gap), key=lambda m: m[0].cost):
        if first not in partner and second not in partner:
            partner[first] = second, meeting
            partner[second] = first, meeting
    rings, joins, used = [], [], set()
    for number in range(len(merged)):
        chain = _walked(number, partner)
        if chain is None or number in used:
            continue
        used |= {end.stroke for end in chain}
        ring, its_joins = _ring(chain, merged, partner, step)
        rings.append(ring)
        joins.append(its_joins)
    left = [stroke for number, stroke in enumerate(merged) if number not in used]
    free = [merged[end.stroke][-1 if end.last else 0] for end in ends if end not in partner]
    nearest = min(itertools.combinations(free, 2), key=lambda p: abs(p[0] - p[1]), default=None)
    return Joined(
        rings, joins, left, doubled,
        None if nearest is None else (complex(nearest[0]), complex(nearest[1])),
    )  # fmt: skip


class _End(NamedTuple):
    """An end of a stroke: its number, and whether it is the last point or the first."""

    stroke: int
    last: bool

    @property
    def other(self) -> _End:
        return _End(self.stroke, not self.last)


class _Meeting(NamedTuple):
    """How two ends could meet: what speaks against it in mm, where, and how far they are apart."""

    cost: float
    at: complex
    size: float
    overshoot: bool


def _tail(stroke: Points, end: _End, length: float) -> Points:
    """Return the last part of a stroke, from its end inward."""
    inward = stroke[::-1] if end.last else stroke
    return inward[: int(np.searchsorted(arc_lengths(inward), length)) + 1]


def _meetings(
    strokes: Sequence[Points], ends: Sequence[_End], gap: float
) -> list[tuple[_Meeting, _End, _End]]:
    tips = np.array([strokes[end.stroke][-1 if end.last else 0] for end in ends])
    if not len(tips):
        return []
    tails = {end: _tail(strokes[end.stroke], end, _END * gap) for end in ends}
    found = []
    # Two ends that both stop a gap short of a corner, or run a gap past it, are this far apart.
    which, others = NearPoints(tips, 2.0 * gap + 1e-9).pairs(tips)
    for a, b in zip(which.tolist(), others.tolist(), strict=True):
        if a >= b:
            continue
        first, second = ends[a], ends[b]
        if first.stroke == second.stroke and len(strokes[first.stroke]) < 8:
            continue
        meeting = _meeting(tails[first], tails[second], gap)
        if meeting is not None:
            found.append((meeting, first, second))
    return found


def _meeting(tail: Points, other: Points, gap: float) -> _Meeting | None:
    """Return how the ends of two strokes meet, or None where they do not.

    Args:
        tail: the last part of the one, from its end inward.
        other: the last part of the other.
        gap: the largest distance that is bridged, in mm.
    """
    apart = abs(tail[0] - other[0])
    crossed = _crossing(tail, other)
    if crossed is not None:
        moved = max(abs(crossed - tail[0]), abs(crossed - other[0]))
        return _Meeting(moved, crossed, moved, True) if moved <= _END * gap else None
    along, beside = (tail[0] - tail[-1]), (other[0] - other[-1])
    if abs(along) > 0 and abs(beside) > 0:
        along, beside = along / abs(along), beside / abs(beside)
        sine = (np.conj(along) * beside).imag
        if abs(sine) > _PARALLEL:
            reach = (np.conj(other[0] - tail[0]) * beside).imag / sine
            at = complex(tail[0] + along * reach)
            moved = max(abs(at - tail[0]), abs(at - other[0]))
            if moved <= _CORNER * gap:
                return _Meeting(apart, at, apart, False)
        if abs(sine) <= 2.0 * _PARALLEL and (np.conj(along) * beside).real > 0:
            # Two legs of a narrow dart, one drawn past its point and one not up to it.
            across = abs((np.conj(along) * (other[0] - tail[0])).imag)
            if across <= gap / 2 and apart <= 2.0 * gap:
                return _Meeting(apart, complex(tail[0] + other[0]) / 2, apart, False)
    if apart <= gap:
        return _Meeting(apart, complex(tail[0] + other[0]) / 2, apart, False)
    return None


def _crossing(tail: Points, other: Points) -> complex | None:
    """Return the crossing of two short polylines that lies nearest to their ends, or None."""
    hits = polyline_crossings(tail, other)
    return min(hits, key=lambda hit: hit[0] + hit[1])[2] if hits else None


def _walked(number: int, partner: dict[_End, tuple[_End, _Meeting]]) -> list[_End] | None:
    """Return the ends by which a closed line enters its strokes, or None where it is open."""
    start = _End(number, False)
    chain, end = [start], start.other
    while end in partner:
        entered = partner[end][0]
        if entered == start:
            return chain
        if any(entered.stroke == old.stroke for old in chain):
            return None
        chain.append(entered)
        end = entered.other
    return None


def _ring(
    chain: Sequence[_End],
    strokes: Sequence[Points],
    partner: dict[_End, tuple[_End, _Meeting]],
    step: float,
) -> tuple[Ring, list[Join]]:
    """Return the closed line that enters its strokes by these ends, and its joins."""
    points: list[Points] = []
    known: list[Flags] = []
    joins = []
    for end in chain:
        stroke = strokes[end.stroke][::-1] if end.last else strokes[end.stroke]
        before, after = partner[end][1], partner[end.other][1]
        stroke = _cut(stroke, before)
        stroke = _cut(stroke[::-1], after)[::-1]
        points += [stroke, np.array([after.at])]
        known += [np.ones(len(stroke), dtype=np.bool_), np.zeros(1, dtype=np.bool_)]
        if after.size > NO_GAP:
            joins.append(Join(after.at, after.size, after.overshoot))
    raw, flags = np.concatenate(points), np.concatenate(known)
    even = resampled(raw, step, closed=True)
    drawn = spread(raw, flags & np.roll(flags, -1), even)
    return Ring(even, drawn, 0.0), joins


def _cut(stroke: Points, meeting: _Meeting) -> Points:
    """Return a stroke without what runs past its start's meeting with another."""
    if not meeting.overshoot:
        near = np.abs(stroke - meeting.at)
        # An end that lies past the meeting of the lines is cut back to it.
        count = int(np.searchsorted(arc_lengths(stroke), 2.0 * meeting.size + 1.0))
        nearest = int(np.argmin(near[: max(1, count)]))
        return stroke[nearest:] if len(stroke) - nearest >= 2 else stroke[-2:]
    along = arc_lengths(stroke)
    count = int(np.searchsorted(along, 2.0 * meeting.size + 1.0))
    nearest = int(np.argmin(np.abs(stroke[: max(1, count)] - meeting.at)))
    return stroke[nearest + 1 :] if len(stroke) - nearest > 3 else stroke[-2:]
