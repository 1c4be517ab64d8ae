"""Rings that cross themselves, taken apart into loops that do not."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.plane.crossings import ring_crossings
from drafting_core.plane.curves import Segment


def simple_loops(segments: Sequence[Segment]) -> list[list[Segment]]:
    """Take a closed ring apart at all its crossings, into rings that do not cross.

    At each crossing the one branch is joined to the other (H. Seifert's circles, 1934): of the
    regions round which the ring winds positively, the boundaries are then whole loops.
    """
    stops: list[tuple[int, float]] = []
    places: list[complex] = []
    for i, t, j, u, place in ring_crossings(segments):
        stops += [(i, t), (j, u)]
        places += [place, place]
    if not stops:
        return [list(segments)]
    order = sorted(range(len(stops)), key=stops.__getitem__)
    rank = {stop: position for position, stop in enumerate(order)}
    # Stop 2k is partner of stop 2k + 1: arriving at the one, the loop leaves from the other.
    count = len(order)
    unused = set(range(count))
    loops = []
    while unused:
        loop: list[Segment] = []
        position = min(unused)
        while position in unused:
            unused.discard(position)
            here, there = order[position], order[(position + 1) % count]
            loop += _arc(segments, stops[here], stops[there], places[here], places[there])
            position = rank[there ^ 1]
        if loop:
            loops.append(loop)
    return loops


def _arc(
    segments: Sequence[Segment],
    start: tuple[int, float],
    end: tuple[int, float],
    start_place: complex,
    end_place: complex,
) -> list[Segment]:
    """Return the part of a closed ring between two stops."""
    (i, t), (j, u) = start, end
    if start == end:
        return []
    if i == j and t < u:
        parts: list[Segment] = [segments[i].part(t, u)]
    else:
        parts = [segments[i].part(t, 1.0)]
        index = (i + 1) % len(segments)
        while index != j:
            parts.append(segments[index])
            index = (index + 1) % len(segments)
        if u > 0.0:
            parts.append(segments[j].part(0.0, u))
    parts[0] = parts[0]._replace(start=start_place)
    parts[-1] = parts[-1]._replace(end=end_place)
    return parts
