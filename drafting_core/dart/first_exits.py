"""Where rays from a dart's hinge first leave the cloth, over the side that its excess lies on."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from drafting_core.dart.folded_mouth import FoldedMouth
from drafting_core.model.outline import SHORTEST_SEGMENT
from drafting_core.plane.curves import Line, Segment, cross, dot

#: A place on the seam itself counts as beyond it within this (mm): the corner of a fold edge.
AT_SEAM = 1e-6
#: Two places on a chain nearer than this in parameter are one.
SAME_PLACE = 1e-9
#: A cubic is looked at in so many places for where it turns back toward a leg.
_LOOKS = 8
#: Reaches that differ by less are one: rounding, not drafting.
_SAME_REACH = 1e-12


def first_exits(chain: Sequence[Segment], mouth: FoldedMouth, start: complex) -> list[Segment]:
    """Return the chain as rays from the hinge first meet it, from the leg to the dart's middle.

    Where it turns back toward the leg, a piece of a ray joins the stretches.

    Raises:
        ValueError: if it ends before.
    """
    found: list[Segment] = []
    reached, at = 0.0, start
    for segment in itertools.chain.from_iterable(_monotone(s, mouth) for s in chain):
        low, high = mouth.reach(segment.start), mouth.reach(segment.end)
        if high <= low:
            continue
        if high <= reached:
            found = _with_nearer(found, segment, mouth, max(low, 0.0), high)
            continue
        piece = segment
        if low < reached - _SAME_REACH:
            if (t := _at_reach(segment, mouth, reached)) is None:
                continue
            piece = segment.part(t, 1.0)
        out, new = mouth.out(at), mouth.out(piece.start)
        if new < out - SHORTEST_SEGMENT and low < reached:
            # The ray leaves earlier on this stretch: the one before is hidden behind it.
            found, at, piece = _hidden(found, segment, mouth, low)
        elif abs(piece.start - at) >= SHORTEST_SEGMENT:
            found.append(Line(at, piece.start))
        if high >= mouth.half:
            t = _at_reach(piece, mouth, mouth.half)
            if t is not None and t > SAME_PLACE:
                found.append(piece.part(0.0, t))
            return found
        found.append(piece)
        reached, at = high, piece.end
    raise ValueError("the chain ends before the middle of the dart")


def _hidden(
    found: list[Segment], segment: Segment, mouth: FoldedMouth, low: float
) -> tuple[list[Segment], complex, Segment]:
    """Take back what lies behind a stretch that begins further back and nearer."""
    low = max(low, 0.0)
    kept: list[Segment] = []
    for piece in found:
        if mouth.reach(piece.end) <= low:
            kept.append(piece)
            continue
        if mouth.reach(piece.start) < low and (t := _at_reach(piece, mouth, low)) is not None:
            kept.append(piece.part(0.0, t))
        break
    t = _at_reach(segment, mouth, low)
    piece = segment if t is None else segment.part(t, 1.0)
    # A piece of the same ray goes out to what is taken back.
    while kept and _is_on_ray(kept[-1], mouth):
        kept.pop()
    if kept and abs(kept[-1].end - piece.start) >= SHORTEST_SEGMENT:
        kept.append(Line(kept[-1].end, piece.start))
    return kept, piece.start, piece


def _is_on_ray(segment: Segment, mouth: FoldedMouth) -> bool:
    turn = abs(mouth.reach(segment.end) - mouth.reach(segment.start))
    return isinstance(segment, Line) and turn * _scale(mouth, segment) < AT_SEAM


def _with_nearer(
    found: list[Segment], segment: Segment, mouth: FoldedMouth, low: float, high: float
) -> list[Segment]:
    """Put a stretch in front of what was found between its ends, if it is the nearer one."""
    middle = 0.5 * (low + high)
    t = _at_reach(segment, mouth, middle)
    behind = next((s for s in found if mouth.reach(s.start) < middle < mouth.reach(s.end)), None)
    u = None if behind is None else _at_reach(behind, mouth, middle)
    if t is None or behind is None or u is None:
        return found
    if mouth.out(segment.point(t)) > mouth.out(behind.point(u)) - SHORTEST_SEGMENT:
        return found
    start = _at_reach(segment, mouth, low)
    nearer = segment if start is None else segment.part(start, 1.0)
    pieces = [*_within(found, mouth, 0.0, low), nearer, *_within(found, mouth, high, math.inf)]
    joined: list[Segment] = []
    for piece in pieces:
        if joined and abs(joined[-1].end - piece.start) >= SHORTEST_SEGMENT:
            joined.append(Line(joined[-1].end, piece.start))
        joined.append(piece)
    return joined


def _within(
    pieces: Sequence[Segment], mouth: FoldedMouth, low: float, high: float
) -> list[Segment]:
    """Return the parts of pieces of growing reach between two reaches."""
    found: list[Segment] = []
    for piece in pieces:
        first, last = mouth.reach(piece.start), mouth.reach(piece.end)
        if last <= low or first >= high:
            continue
        start = _at_reach(piece, mouth, low) if first < low else 0.0
        end = _at_reach(piece, mouth, high) if last > high else 1.0
        if start is not None and end is not None and end - start > SAME_PLACE:
            found.append(piece.part(start, end))
    return found


def _monotone(segment: Segment, mouth: FoldedMouth) -> list[Segment]:
    """Return a segment in pieces along each of which the reach only grows or only shrinks."""
    if isinstance(segment, Line):
        return [segment]

    def growth(t: float) -> float:
        z, along = segment.point(t), segment.derivative(t)
        ray = z - mouth.hinge if mouth.hinge is not None else mouth.ray
        return cross(ray, along)

    stops = [0.0]
    values = [growth(k / _LOOKS) for k in range(_LOOKS + 1)]
    for k, (a, b) in enumerate(itertools.pairwise(values)):
        if a * b < 0.0:
            low, high = k / _LOOKS, (k + 1) / _LOOKS
            for _ in range(50):
                middle = 0.5 * (low + high)
                if growth(middle) * a > 0.0:
                    low = middle
                else:
                    high = middle
            stops.append(0.5 * (low + high))
    stops.append(1.0)
    return [segment.part(a, b) for a, b in itertools.pairwise(stops) if b - a > SAME_PLACE]


def _at_reach(segment: Segment, mouth: FoldedMouth, reach: float) -> float | None:
    """Return the first parameter at which a segment has a reach."""
    origin, ray = mouth.line_at(reach)
    for t in segment.on_ray(origin, ray):
        if mouth.hinge is None or dot(segment.point(t) - origin, ray) > 0.0:
            return t
    for t in (0.0, 1.0):
        if abs(mouth.reach(segment.point(t)) - reach) * _scale(mouth, segment) < AT_SEAM:
            return t
    return None


def _scale(mouth: FoldedMouth, segment: Segment) -> float:
    return 1.0 if mouth.hinge is None else max(1.0, abs(segment.start - mouth.hinge))
