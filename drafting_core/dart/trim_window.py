"""Trim windows: the part of a dart's excess that is cut away, taken out of the cut line."""

from __future__ import annotations

import math
from collections.abc import Sequence

from drafting_core.dart.finish import FinishedDart
from drafting_core.model.outline import SHORTEST_SEGMENT, RingPlace, nearest_on, ring_part
from drafting_core.plane.crossings import segment_crossings
from drafting_core.plane.curves import Segment, backward, dot
from drafting_core.text.errors import DartError
from drafting_core.text.words import _


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


def first_by_chain(ring: Sequence[Segment], chain: Sequence[Segment]) -> RingPlace | None:
    """Return where a chain first meets a ring, after its own first hundredth of a millimetre."""
    for segment in chain:
        hits = [
            (t, index, u)
            for index, edge in enumerate(ring)
            for t, u in segment_crossings(segment, edge)
            if abs(segment.point(t) - chain[0].start) >= SHORTEST_SEGMENT
        ]
        if hits:
            _, index, u = min(hits)
            return RingPlace(index, u, ring[index].point(u))
    return None


def cut_out(cut_line: Sequence[Segment], dart: FinishedDart) -> tuple[list[Segment], list[Segment]]:
    """Take a dart's trim window out of a cut line.

    The window's sides run parallel to the legs at the trim allowance, from the vertex out
    through the cap and the cut line.

    Returns:
        The cut line with the window taken out, and the window as a closed ring from its vertex.

    Raises:
        DartError: if the sides do not reach the cut line.
    """
    sides = dart.window_sides
    places = [None if side is None else first_by_chain(cut_line, side) for side in sides or (None,)]
    if sides is None or None in places:
        raise DartError(
            _("the trim window of the dart on {seam} does not reach the cut line.").format(
                seam=dart.seam.spoken
            ),
            remedy=_("Keep the excess of this dart, or set a smaller trim allowance."),
            place=dart.point,
        )
    first, second = (place for place in places if place is not None)
    into = list(backward(ended(sides[0], first.point)))
    out = ended(sides[1], second.point)
    removed = ring_part(cut_line, first, second)
    left = ring_part(cut_line, second, first)
    back = list(backward(out))
    there = list(backward(into))
    return [*left, *into, *out], [*there, *removed, *back]


def ended(chain: Sequence[Segment], at: complex) -> list[Segment]:
    """Return a chain up to a point on it."""
    found = nearest_on(chain, at)
    kept = list(chain[: found.segment])
    last = chain[found.segment].part(0.0, found.t)
    if last.length() >= SHORTEST_SEGMENT or not kept:
        kept.append(last)
    kept[-1] = kept[-1]._replace(end=at)
    return kept
