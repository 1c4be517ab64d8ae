"""Whether a ring can be the cut line of a stitch line: the check before it is given away."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.model.outline import encloses, flattened, nearest_on
from drafting_core.plane.crossings import crosses_itself
from drafting_core.plane.curves import Segment

#: Points nearer than this to a ring are on it (mm).
SLACK = 0.02
#: Chords to a curve of the polygons that are looked at first, and in doubt.
COARSE = 12
FINE = 300

_Polygons = dict[int, tuple[list[complex], list[complex]]]


def cut_line_fault(
    ring: Sequence[Segment], stitch: Sequence[Segment], least_width: float
) -> complex | None:
    """Return a place where a ring is no cut line of a stitch line, or None.

    It has to be closed, must not cross itself, has to enclose the stitch line, and nowhere may
    it come nearer to it than a least width in mm; 0 allows any.
    """
    if len(ring) < 2:
        return stitch[0].start
    for segment, following in zip(ring, (*ring[1:], ring[0]), strict=True):
        if not abs(segment.end - following.start) < 1e-6:
            return stitch[0].start
    crossing = crosses_itself(ring)
    if crossing is not None:
        return crossing
    if sum(s.area() for s in ring) < sum(s.area() for s in stitch) * (1.0 - 1e-9):
        return stitch[0].start
    polygons: _Polygons = {COARSE: (flattened(ring, COARSE), flattened(stitch, COARSE))}
    nodes = _thinned(flattened(ring, 2))
    for point in _thinned(flattened(stitch, 2)):
        if not _lies_in(point, ring, polygons, 0):
            return point
    for point in nodes:
        if not _lies_out(point, stitch, polygons):
            return point
        if least_width > 0.0 and nearest_on(stitch, point).distance < least_width - SLACK:
            return point
    return None


def _lies_in(point: complex, ring: Sequence[Segment], polygons: _Polygons, side: int) -> bool:
    """Tell whether a point lies in a ring, or nearer to it than the slack.

    First coarsely, for speed; what fails then is measured finely.
    """
    if encloses(polygons[COARSE][side], point) or nearest_on(ring, point).distance <= SLACK:
        return True
    return encloses(_fine(ring, polygons, side), point)


def _lies_out(point: complex, ring: Sequence[Segment], polygons: _Polygons) -> bool:
    if not encloses(polygons[COARSE][1], point) or nearest_on(ring, point).distance <= SLACK:
        return True
    return not encloses(_fine(ring, polygons, 1), point)


def _fine(ring: Sequence[Segment], polygons: _Polygons, side: int) -> list[complex]:
    fine = polygons.setdefault(FINE, ([], []))
    if not fine[side]:
        fine[side].extend(flattened(ring, FINE))
    return fine[side]


def _thinned(points: list[complex]) -> list[complex]:
    """Return at most some hundred of the points: each is measured against a whole ring."""
    return points[:: 1 + len(points) // 400]
