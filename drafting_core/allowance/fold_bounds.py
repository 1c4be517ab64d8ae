"""What a fold edge bounds: cloth that is folded has nothing beyond its fold. Lengths are mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from drafting_core.model.outline import SHORTEST_SEGMENT, Edge
from drafting_core.plane.curves import Line, Segment, dot, unit

#: A line this near to the fold's own lies on it (mm).
ON_FOLD = 0.05
#: Ends of a cut line's line that lies on a fold's are off it by less than this (mm).
_ON_LINE = 1e-6
#: A cut line may lie this far beyond a fold (mm): rounding.
_ROUNDING = 1e-7


def straight_folds(runs: Iterable[Sequence[Edge]]) -> list[Line]:
    """Return the straight fold edges of runs of edges, the inside at ``1j`` times their direction.

    Neighbours on one line are one.
    """
    found: list[Line] = []
    for run in runs:
        for edge in run:
            if not edge.seam.fold or not edge.segment.is_straight():
                continue
            line = Line(edge.segment.start, edge.segment.end)
            if abs(line.end - line.start) < SHORTEST_SEGMENT:
                continue
            if found and found[-1].end == line.start and _goes_on(found[-1], line):
                found[-1] = Line(found[-1].start, line.end)
            else:
                found.append(line)
    return found


def within_folds(ring: Sequence[Segment], folds: Sequence[Line]) -> list[Segment]:
    """Return a closed ring without what of it lies beyond straight fold edges.

    What of it lies on the line of a fold is one line.

    Args:
        ring: the ring, end to end, of positive area.
        folds: the fold edges.
    """
    kept = list(ring)
    for fold in folds:
        if _most_beyond(kept, fold) > _ROUNDING:
            kept = _cut_off(kept, fold)
        kept = _joined_on(kept, fold)
    return kept


def _goes_on(first: Line, second: Line) -> bool:
    along = unit(first.end - first.start)
    return abs(dot(second.end - first.start, 1j * along)) <= ON_FOLD


def _beyond(z: complex, fold: Line) -> float:
    return dot(z - fold.start, -1j * unit(fold.end - fold.start))


def _most_beyond(segments: Iterable[Segment], fold: Line) -> float:
    """Return how far segments reach beyond a fold, by their handles: at least as far as they do."""
    out = -1j * unit(fold.end - fold.start)
    return max(dot(z - fold.start, out) for segment in segments for z in segment)


def _cut_off(ring: Sequence[Segment], fold: Line) -> list[Segment]:
    """Return the largest loop that is left of a ring on the inside of a fold's line."""
    along = unit(fold.end - fold.start)
    parts = [part for segment in ring for part in _parted(segment, fold.start, along)]
    inside = [_beyond(part.point(0.5), fold) <= _ROUNDING for part in parts]
    starts = [k for k, flag in enumerate(inside) if flag and not inside[k - 1]]
    if not starts:
        return list(ring)
    chains = []
    for start in starts:
        chain = []
        k = start
        while inside[k % len(parts)]:
            chain.append(parts[k % len(parts)])
            k += 1
        chains.append(chain)

    def place(z: complex) -> float:
        return dot(z - fold.start, along)

    # Where the cut line leaves, it goes on along the fold to the next place where it comes back.
    loops: list[list[Segment]] = []
    left = list(range(len(chains)))
    while left:
        first = current = left.pop(0)
        loop = list(chains[current])
        while True:
            end = place(chains[current][-1].end)
            ahead = [k for k in (first, *left) if place(chains[k][0].start) >= end - _ROUNDING]
            current = min(ahead or [first], key=lambda k: place(chains[k][0].start))
            if abs(chains[current][0].start - loop[-1].end) > _ROUNDING:
                loop.append(Line(loop[-1].end, chains[current][0].start))
            else:
                loop[-1] = loop[-1]._replace(end=chains[current][0].start)
            if current == first:
                break
            left.remove(current)
            loop += chains[current]
        loops.append(loop)
    return max(loops, key=lambda loop: sum(segment.area() for segment in loop))


def _parted(segment: Segment, origin: complex, along: complex) -> list[Segment]:
    """Return a segment cut where it crosses a line."""
    stops = sorted(t for t in segment.on_ray(origin, along) if 1e-9 < t < 1.0 - 1e-9)
    if not stops:
        return [segment]
    steps = [0.0, *stops, 1.0]
    return [segment.part(low, high) for low, high in pairwise(steps)]


def _joined_on(ring: Sequence[Segment], fold: Line) -> list[Segment]:
    """Return a ring whose neighbouring lines on the line of a fold are one line each."""
    flags = [
        isinstance(segment, Line)
        and all(abs(_beyond(z, fold)) <= _ON_LINE for z in (segment.start, segment.end))
        for segment in ring
    ]
    if len(ring) < 3 or all(flags):
        return list(ring)
    # Behind the first line that does not lie there every stretch is whole.
    first = flags.index(False)
    found: list[Segment] = []
    joins = False
    for k in range(first, first + len(ring)):
        segment, is_on = ring[k % len(ring)], flags[k % len(ring)]
        if is_on and joins:
            found[-1] = Line(found[-1].start, segment.end)
        else:
            found.append(segment)
        joins = is_on
    return found
