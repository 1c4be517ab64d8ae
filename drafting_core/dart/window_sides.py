"""The sides of a trim window: parallel to the legs of its dart."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.model.outline import SHORTEST_SEGMENT, with_ends
from drafting_core.model.piece import Sides
from drafting_core.plane.crossings import segment_crossings
from drafting_core.plane.curves import Line, Segment, backward, chain_length, cross, dot
from drafting_core.plane.parallel import parallel

#: How far beyond the mouth the sides are drawn to meet the cut line, in lengths of the leg.
_BEYOND = 4.0
#: Kinks of more than 120° get no mitre (the cosine of that).
_SHARP = -0.5


def window_sides(legs: Sides, allowance: float) -> Sides | None:
    """Return the two sides of a trim window, from its vertex out beyond the mouth.

    They lie at the trim allowance from the legs, which are extended straight; the vertex is the
    outermost point where they meet.

    Args:
        legs: the legs of the dart, each from its mouth end to the point.
        allowance: the trim allowance, in mm.

    Returns:
        The sides along the first and the second leg, or None where they do not meet.
    """
    inner = _parallel(legs[0], allowance, 1.0)
    outer = _parallel(legs[1], allowance, -1.0)
    best: tuple[int, float, int, float] | None = None
    for i, first in enumerate(inner):
        for j, second in enumerate(outer):
            for t, u in segment_crossings(first, second):
                # The outermost meeting comes last on both ways out from the point.
                if best is None or (i, t) > best[:2]:
                    best = (i, t, j, u)
    if best is None:
        return None
    i, t, j, u = best
    vertex = inner[i].point(t)
    return _from(inner, i, t, vertex), _from(outer, j, u, vertex)


def _parallel(leg: Sequence[Segment], allowance: float, side: float) -> list[Segment]:
    """Return the parallel of a leg inside the dart, from the point out beyond the mouth.

    Args:
        leg: the leg, from its mouth end to the point.
        allowance: the distance, in mm.
        side: 1 where the dart lies on the outer side of the leg, -1 on the inner.
    """
    end = leg[0].start
    away = -leg[0].start_tangent()
    reach = _BEYOND * chain_length(leg)
    whole = [Line(end + away * reach, end), *leg]
    found: list[Segment] = []
    for segment in whole:
        pieces = parallel(segment, side * allowance) if allowance else [segment]
        found = _joined(found, pieces) if found else list(pieces)
    return list(backward(found))


def _joined(before: list[Segment], after: list[Segment]) -> list[Segment]:
    """Return two parallels as one: across a kink of the leg they are trimmed or extended."""
    end, start = before[-1].end, after[0].start
    if abs(start - end) < SHORTEST_SEGMENT:
        # Smooth joints meet but for rounding; the node is the same for both.
        return [*before, with_ends(after[0], end, after[0].end), *after[1:]]
    for i in reversed(range(len(before))):
        for j, segment in enumerate(after):
            if hits := segment_crossings(before[i], segment):
                t, u = max(hits)
                meeting = before[i].point(t)
                first = before[i].part(0.0, t)._replace(end=meeting)
                return [*before[:i], first, *_from(after, j, u, meeting)]
    along, on = before[-1].end_tangent(), after[0].start_tangent()
    is_sharp = dot(along, on) < _SHARP
    ahead = -1.0 if is_sharp else cross(start - end, on) / (cross(along, on) or 1.0)
    if ahead <= 0.0 or dot(start - end - along * ahead, on) <= 0.0:
        # Too sharp for a mitre, or on the inner side of a kink an edge too short to be met.
        return [*before, Line(end, start), *after]
    mitre = end + along * ahead
    return [*before, Line(end, mitre), Line(mitre, start), *after]


def _from(chain: Sequence[Segment], index: int, t: float, start: complex) -> tuple[Segment, ...]:
    """Return a chain from a place on it to its end."""
    first = chain[index].part(t, 1.0)
    rest = tuple(chain[index + 1 :])
    if first.length() < SHORTEST_SEGMENT and rest:
        return (rest[0]._replace(start=start), *rest[1:])
    return (first._replace(start=start), *rest)
