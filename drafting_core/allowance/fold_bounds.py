"""What a fold edge bounds: cloth that is folded has nothing beyond its fold. Lengths are mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from drafting_core.model.outline import SHORTEST_SEGMENT, Edge
from drafting_core.plane.curves import Line, Segment, dot, unit

#: A line this near to the fold's own lies on it (mm).
ON_FOLD = 0.05
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

    Args:
        ring: the ring, end to end, of positive area.
        folds: the fold edges.
    """
    kept = list(ring)
    for fold in folds:
        if _most_beyond(kept, fold) > _ROUNDING:
            kept = _cut_off(kept, fold)
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
    largest = max(loops, key=lambda loop: sum(segment.area() for segment in loop))
    return _joined_lines(largest, along)


def _parted(segment: Segment, origin: complex, along: complex) -> list[Segment]:
    """Return a segment cut where it crosses a line."""
    stops = sorted(t for t in segment.on_ray(origin, along) if 1e-9 < t < 1.0 - 1e-9)
    if not stops:
        return [segment]
    steps = [0.0, *stops, 1.0]
    return [segment.part(low, high) for low, high in pairwise(steps)]


def _joined_lines(ring: Sequence[Segment], along: complex) -> list[Segment]:
    """Return a ring whose lines along a fold are one line each."""
    found: list[Segment] = []
    for segment in ring:
        last = found[-1] if found else None
        if (
            isinstance(segment, Line)
            and isinstance(last, Line)
            and all(
                abs(dot(line.end - line.start, 1j * along)) < 1e-6 for line in (last, segment)
            )
        ):
            found[-1] = Line(last.start, segment.end)
        else:
            found.append(segment)
    if len(found) > 2 and isinstance(found[0], Line) and isinstance(found[-1], Line):
        ends = found[-1], found[0]
        if all(abs(dot(line.end - line.start, 1j * along)) < 1e-6 for line in ends):
            found[0] = Line(found.pop().start, found[0].end)
    return found
