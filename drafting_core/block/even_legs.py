"""Mouth ends brought to one distance from the apex, the seams beside them drawn after them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeVar

from drafting_core.model.outline import SHORTEST_SEGMENT, Edge, OutlineEdge
from drafting_core.plane.curves import Cubic, Line, Segment, turn

#: A corner of the seam beside it stays where it is (radians).
_CORNER = math.radians(30.0)

AnyEdge = TypeVar("AnyEdge", OutlineEdge, Edge)


def blended_to(run: Sequence[AnyEdge], to: complex, over: float, *, at_end: bool) -> list[AnyEdge]:
    """Return a run of seam of which one end is moved, smooth within it.

    The shift fades from the whole of it at the end to nothing over a length, or where a
    corner comes sooner: there, and at every node, the seam keeps the smoothness that it has.

    Args:
        run: the run.
        to: where its end is moved.
        over: the length over which the shift fades, in mm.
        at_end: whether it is the last end of the run, else the first.
    """
    edges = [_turned_round(edge) for edge in reversed(run)] if at_end else list(run)
    moved = _from_start(edges, to, over)
    return [_turned_round(edge) for edge in reversed(moved)] if at_end else moved


def _turned_round(edge: AnyEdge) -> AnyEdge:
    return edge._replace(segment=edge.segment.reversed())


def _from_start(edges: list[AnyEdge], to: complex, most: float) -> list[AnyEdge]:
    shift = to - edges[0].segment.start
    near, lengths = _near(edges, most)
    rest: list[AnyEdge] = edges[len(near) :]
    over = sum(lengths)
    last = near[-1]
    if over > most:
        beyond = lengths[-1] - (over - most)
        t = last.segment.parameter_at(beyond)
        if last.segment.length(t, 1.0) >= SHORTEST_SEGMENT and beyond >= SHORTEST_SEGMENT:
            first, second = last.segment.split(t)
            near[-1] = last._replace(segment=first)
            rest.insert(0, last._replace(segment=second))
            lengths[-1] = beyond
            over = most
    moved: list[AnyEdge] = []
    passed = 0.0
    for edge, length in zip(near, lengths, strict=True):
        start, end = passed / over, (passed + length) / over
        moved.append(edge._replace(segment=_shifted(edge.segment, shift, start, end, over)))
        passed += length
    return moved + rest


def _near(edges: Sequence[AnyEdge], most: float) -> tuple[list[AnyEdge], list[float]]:
    """Return the edges from the start as far as the shift reaches, with their lengths."""
    near: list[AnyEdge] = []
    lengths: list[float] = []
    for edge in edges:
        if near and (
            sum(lengths) >= most
            or abs(turn(near[-1].segment.end_tangent(), edge.segment.start_tangent())) > _CORNER
        ):
            break
        near.append(edge)
        lengths.append(edge.segment.length())
    return near, lengths


def _shifted(segment: Segment, shift: complex, start: float, end: float, over: float) -> Cubic:
    """Return a segment with a shift added that fades out.

    Its handles go with the slope of the shift, so that what is smooth stays so.

    Args:
        segment: the segment.
        shift: the whole shift.
        start: where the segment starts, as a share of the length over which the shift fades.
        end: where it ends.
        over: that length, in mm.
    """
    if isinstance(segment, Line):
        a, d = segment
        segment = Cubic(a, a + (d - a) / 3, a + (d - a) * 2 / 3, d)
    a, b, c, d = segment
    return Cubic(
        a + shift * _fade(start),
        b + shift * (_fade(start) + _slope(start) * abs(b - a) / over),
        c + shift * (_fade(end) - _slope(end) * abs(d - c) / over),
        d + shift * _fade(end),
    )


def _fade(u: float) -> float:
    """Return what is left of a shift: 1 at 0, 0 at 1, level at both."""
    u = min(1.0, u)
    return 1.0 - u * u * (3.0 - 2.0 * u)


def _slope(u: float) -> float:
    u = min(1.0, u)
    return -6.0 * u * (1.0 - u)
