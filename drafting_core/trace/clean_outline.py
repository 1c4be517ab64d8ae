"""A traced ring becomes a clean outline: corners, straight and curved seams, darts."""

from __future__ import annotations

from typing import NamedTuple

from drafting_core.ink.pen_line import Ring
from drafting_core.ink.polylines import area_of
from drafting_core.plane.curves import Segment
from drafting_core.trace.seam_runs import (
    UNEQUAL_LEGS,
    DartPoint,
    SeamRun,
    dart_runs,
    meeting_of,
    seam_runs,
    traced_dart_point,
    with_fixed_ends,
)


class CleanOutline(NamedTuple):
    """An outline fitted to a trace.

    Attributes:
        runs: its seams and legs from corner to corner, in order, interior at 1j·tangent.
        darts: its darts.
    """

    runs: list[SeamRun]
    darts: list[DartPoint]

    @property
    def segments(self) -> list[Segment]:
        """Its lines and cubics, in order."""
        return [segment for run in self.runs for segment in run.segments]


def interior_left(ring: Ring) -> Ring:
    """Return the ring run through so that its interior lies at 1j·tangent."""
    if area_of(ring.points) > 0:
        return ring
    return ring._replace(points=ring.points[::-1].copy(), known=ring.known[::-1].copy())


def clean_outline(ring: Ring, tolerance: float) -> CleanOutline:
    """Fit an outline to a traced ring.

    Args:
        ring: the ring, in mm.
        tolerance: how far a seam may stray from the trace, in mm.

    Returns:
        The outline; without runs if the ring has fewer than two corners.
    """
    ring = interior_left(ring)
    runs = seam_runs(ring, tolerance)
    if not runs:
        return CleanOutline([], [])
    firsts = dart_runs(runs, tolerance)
    count = len(runs)
    corners = [meeting_of(runs[k - 1], runs[k]) for k in range(count)]
    darts = []
    for k in firsts:
        tip = (k + 1) % count
        corners[tip] = traced_dart_point(runs[k], runs[tip], ring)
        ends = (k, (k + 2) % count)
        lengths = [abs(corners[end] - corners[tip]) for end in ends]
        uneven = abs(lengths[0] - lengths[1])
        equal = uneven <= UNEQUAL_LEGS
        if equal:
            for end, length in zip(ends, lengths, strict=True):
                way = (corners[end] - corners[tip]) / length
                corners[end] = corners[tip] + way * sum(lengths) / 2
        darts.append(DartPoint(k, uneven, equal))
    for k, run in enumerate(runs):
        with_fixed_ends(run, corners[k], corners[(k + 1) % count], tolerance)
    return CleanOutline(runs, darts)
