"""Trim windows: the part of a dart's excess that is cut away, taken out of the cut line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.curves import Line, Segment, dot, unit
from drafting_core.errors import DartError
from drafting_core.finish import FinishedDart
from drafting_core.outline import SHORTEST_SEGMENT


class RingPlace(NamedTuple):
    """A place on a closed ring of segments."""

    segment: int
    t: float
    point: complex


def first_on_ring(
    ring: Sequence[Segment], origin: complex, ray: complex, beyond: float = 0.0
) -> RingPlace | None:
    """Return where a ray first meets a ring, at least ``beyond`` mm from its origin."""
    best: RingPlace | None = None
    nearest = math.inf
    for index, segment in enumerate(ring):
        for t in segment.on_ray(origin, ray):
            point = segment.point(t)
            distance = dot(point - origin, ray)
            if beyond <= distance < nearest:
                best, nearest = RingPlace(index, t, point), distance
    return best


def cut_out(cut_line: Sequence[Segment], dart: FinishedDart) -> tuple[list[Segment], list[Segment]]:
    """Take a dart's trim window out of a cut line.

    The window's sides run parallel to the legs at the trim allowance, from the vertex out
    through the cap and the cut line.

    Returns:
        The cut line with the window taken out, and the window as a closed ring from its vertex.

    Raises:
        DartError: if the sides do not reach the cut line.
    """
    vertex = dart.window_vertex
    sides = [
        first_on_ring(cut_line, vertex, unit(end - dart.point), SHORTEST_SEGMENT)
        for end in dart.ends
    ]
    first, second = sides
    if first is None or second is None:
        raise DartError(
            f"the trim window of the dart on {dart.seam.spoken} does not reach the cut line.",
            remedy="Keep the excess of this dart, or set a smaller trim allowance.",
            place=vertex,
        )
    removed = _between(cut_line, first, second)
    left = _between(cut_line, second, first)
    into, out = Line(first.point, vertex), Line(vertex, second.point)
    return [*left, into, out], [Line(vertex, first.point), *removed, Line(second.point, vertex)]


def _between(ring: Sequence[Segment], start: RingPlace, end: RingPlace) -> list[Segment]:
    """Return the part of a ring from one place forward to another."""
    if start.segment == end.segment and start.t <= end.t:
        return [ring[start.segment].part(start.t, end.t)]
    pieces: list[Segment] = [ring[start.segment].part(start.t, 1.0)]
    index = (start.segment + 1) % len(ring)
    while index != end.segment:
        pieces.append(ring[index])
        index = (index + 1) % len(ring)
    pieces.append(ring[end.segment].part(0.0, end.t))
    kept = [piece for piece in pieces if piece.length() >= SHORTEST_SEGMENT]
    # What is left out is shorter than a hundredth of a millimetre; the ends are exact again.
    kept[0] = _starting_at(kept[0], start.point)
    kept[-1] = _starting_at(kept[-1].reversed(), end.point).reversed()
    return kept


def _starting_at(segment: Segment, start: complex) -> Segment:
    return segment._replace(start=start)
