"""How much of an outline lies on ink, and how much ink near it and on the sheet it leaves out.

Nothing here knows how the outline was found: it is laid upon the edges of all ink anew. At every
place of it, edges that run along it are looked for on both sides: the outline is followed where
it lies half a pen's width from one with ink on the outline's side, or on it where there is none.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.polylines import Flags, NearPoints, Numbers, Points, resampled
from drafting_core.plane.curves import Segment
from drafting_core.trace.ink_edges import STEP, Counts, InkEdges

#: An outline is looked at in places so far apart (mm), …
_PLACES = 2.0
#: … for ink that lies so near to it (mm) …
NEAR = 6.0
#: … and runs along it (the cosine of the angle between them).
_ALONGSIDE = 0.85
#: Where its ink is this far off (mm), or nearer, an outline follows it.
ON_INK = 1.0
#: Lines this near (mm) could be an outline's own; where they are further apart than this from each
#: other, there are two.
_OWN, _DOUBLED = 2.0, 0.9
#: Ink this near to a corner (mm), past half the pen's width, is the corner's: ends of strokes.
_CORNER = 3.0


class RunCover(NamedTuple):
    """How a part of an outline lies on ink.

    Attributes:
        length: of it, in mm.
        on_ink: the share of it that lies on ink.
        longest_off: its longest stretch that does not, in mm.
        off_at: where the middle of that stretch is.
        stray: how far its ink is off at most where it lies on ink, in mm.
    """

    length: float
    on_ink: float
    longest_off: float
    off_at: complex
    stray: float


class OutlinePlaces(NamedTuple):
    """Places along an outline.

    Attributes:
        points: shape (n,).
        ways: unit vectors along it.
        runs: the number of the run of each.
        steps: how much of the outline each stands for, in mm.
        corners: where runs begin.
    """

    points: Points
    ways: Points
    runs: Counts
    steps: Numbers
    corners: Points


class Cover(NamedTuple):
    """An outline upon the ink of its sheet.

    Attributes:
        runs: every run of it.
        places: where it was looked at.
        off: how far the nearest ink alongside is off at each place (mm), infinite without any.
        shift: how far the middle of its own ink lies to the left of each place (mm), nan without.
        corners: how far each corner lies from ink, in mm: one for every run, of its start.
        explained: which edges of ink the outline explains; shape of the edges.
        doubled: at which places two lines of ink follow it, side by side, clear of corners.
        beside: the places and edges that run along each other, not further than `NEAR` apart.
    """

    runs: list[RunCover]
    places: OutlinePlaces
    off: Numbers
    shift: Numbers
    corners: Numbers
    explained: Flags
    doubled: Flags
    beside: tuple[Counts, Counts]

    def shares_beside(self, others: Flags) -> list[float]:
        """Return the share of every run beside which edges that are among others run along."""
        which, edge = self.beside
        has_other = np.zeros(len(self.off), dtype=np.bool_)
        has_other[which[others[edge]]] = True
        return self.shares(has_other)

    def shares(self, chosen: Flags) -> list[float]:
        """Return which share of every run the chosen places are."""
        count = len(self.runs)
        parts = np.bincount(self.places.runs, self.places.steps * chosen, minlength=count)
        whole = np.bincount(self.places.runs, self.places.steps, minlength=count)
        return [float(part) for part in parts / np.maximum(whole, 1e-9)]


def outline_places(runs: Sequence[Sequence[Segment]]) -> OutlinePlaces:
    """Return places along an outline, every two millimetres or so.

    Args:
        runs: its runs from corner to corner.
    """
    segments = [segment for run in runs for segment in run]
    whole = np.array([s if len(s) == 4 else _as_cubic(s) for s in segments])
    number = np.repeat(np.arange(len(runs)), [len(run) for run in runs])
    lengths = np.abs(np.diff(whole, axis=1)).sum(axis=1)
    counts = np.maximum(1, np.ceil(lengths / _PLACES)).astype(np.int64)
    which = np.repeat(np.arange(len(whole)), counts)
    nth = np.arange(len(which)) - (np.cumsum(counts) - counts)[which]
    t = (nth + 0.5) / counts[which]
    s = 1.0 - t
    a, b, c, d = whole[which].T
    points = s * s * s * a + 3 * s * s * t * b + 3 * s * t * t * c + t * t * t * d
    ways = s * s * (b - a) + 2 * s * t * (c - b) + t * t * (d - c)
    ways = np.where(np.abs(ways) < 1e-9, d - a, ways)
    ways = ways / np.maximum(np.abs(ways), 1e-12)
    corners = np.array([run[0].start for run in runs])
    return OutlinePlaces(points, ways, number[which], (lengths / counts)[which], corners)


def _as_cubic(line: Segment) -> tuple[complex, complex, complex, complex]:
    start, end = line[0], line[-1]
    return start, start + (end - start) / 3, end + (start - end) / 3, end


def ink_cover(edges: InkEdges, runs: Sequence[Sequence[Segment]], pen: float) -> Cover:
    """Lay an outline upon ink.

    Args:
        edges: of all ink on the sheet.
        runs: the outline's runs from corner to corner.
        pen: the width of its line in mm, 0 where it is an edge or a line without ink.
    """
    places = outline_places(runs)
    near = NearPoints(edges.points, NEAR + pen / 2)
    which, edge = near.pairs(places.points)
    away = (edges.points[edge] - places.points[which]) * np.conj(places.ways[which])
    level = np.abs(away.real) <= _PLACES / 2 + STEP / 2
    which, edge, away = which[level], edge[level], away[level]
    way = (edges.ways[edge] * np.conj(places.ways[which])).real
    alongside = np.abs(way) >= _ALONGSIDE
    # Ink begins here, going to the left, or ends: half a pen beside it the line's middle runs.
    half = np.where(edges.bare[edge], 0.0, pen / 2)
    middle = away.imag + np.where(way > 0.0, half, -half)
    explained = np.zeros(len(edges.points), dtype=np.bool_)
    explained[edge[np.abs(away.imag) <= pen / 2 + ON_INK]] = True
    which, edge, middle = which[alongside], edge[alongside], middle[alongside]
    off = np.full(len(places.points), np.inf)
    np.minimum.at(off, which, np.abs(middle))
    at_corner, there = near.pairs(places.corners)
    beyond = np.maximum(np.abs(edges.points[there] - places.corners[at_corner]) - pen / 2, 0.0)
    explained[there[beyond <= _CORNER]] = True
    corners = np.full(len(runs), np.inf)
    np.minimum.at(corners, at_corner, beyond)
    doubled = _spread(which, middle, len(off)) > _DOUBLED
    return Cover(
        [_run_cover(places, k, off, pen) for k in range(len(runs))],
        places,
        off,
        _middles(which, middle, len(off)),
        corners,
        explained,
        doubled & ~near_any(places.points, places.corners, _CORNER + pen / 2),
        (which, edge),
    )


def _middles(which: Counts, middle: Numbers, count: int) -> Numbers:
    """Return for every place the mean of where the lines of ink that are its own have their middle.

    It is taken of both edges or, where one is out of sight, of the other.
    """
    own = np.abs(middle) <= ON_INK
    sums = np.bincount(which[own], middle[own], minlength=count)
    counts = np.bincount(which[own], minlength=count)
    return np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)


def _spread(which: Counts, middle: Numbers, count: int) -> Numbers:
    """Return for every place how far apart the lines of ink are that could be its own."""
    near = np.abs(middle) <= _OWN
    least, most = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(least, which[near], middle[near])
    np.maximum.at(most, which[near], middle[near])
    return np.asarray(most - least)


def near_any(points: Points, others: Points, reach: float) -> Flags:
    """Tell which points lie near to any of others."""
    if not len(others) or not len(points):
        return np.zeros(len(points), dtype=np.bool_)
    return np.asarray(NearPoints(others, reach).nearest(points)[0] >= 0)


def explained_by(edges: InkEdges, lines: Sequence[Points], width: float) -> Flags:
    """Tell which edges belong to lines that something else is said to be.

    Args:
        edges: of all ink on the sheet.
        lines: the middles of these lines, each of shape (n,).
        width: of their ink, in mm.
    """
    dense = [resampled(line, STEP, closed=False) for line in lines if len(line) > 1]
    if not dense:
        return np.zeros(len(edges.points), dtype=np.bool_)
    return near_any(edges.points, np.concatenate(dense), width / 2 + ON_INK + STEP / 2)


def _run_cover(places: OutlinePlaces, number: int, off: Numbers, pen: float) -> RunCover:
    chosen = np.flatnonzero(places.runs == number)
    steps, points = places.steps[chosen], places.points[chosen]
    length = float(steps.sum())
    clear = np.abs(points - points[0]) > _CORNER + pen / 2
    clear &= np.abs(points - points[-1]) > _CORNER + pen / 2
    on_ink = off[chosen] <= ON_INK
    # The corner of two lines is ink of both, and their ends run along neither.
    on_ink |= ~clear & (off[chosen] <= NEAR)
    start, stop = _longest(~on_ink, steps)
    stretch = steps[start:stop]
    followed = off[chosen][on_ink & clear]
    return RunCover(
        length,
        float(steps[on_ink].sum()) / length if length else 1.0,
        float(stretch.sum()),
        complex(points[(start + stop) // 2 if stop > start else 0]),
        float(followed.max()) if len(followed) else 0.0,
    )


def _longest(flags: Flags, steps: Numbers) -> tuple[int, int]:
    """Return where the longest run of true flags begins and ends."""
    if not flags.any():
        return 0, 0
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(np.int8), [0]])))
    sums = np.append(0.0, np.cumsum(steps))
    starts, stops = edges[::2], edges[1::2]
    best = int(np.argmax(sums[stops] - sums[starts]))
    return int(starts[best]), int(stops[best])
