"""Places where the cut line comes nearer to a seam than that seam's own allowance.

Seldom: where a neighbour's allowance runs over all of a short seam's, or its extension over a
curve. The cut line is then what the allowances leave, and the drafter is told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from drafting_core.allowance.corners import SAME_WIDTH
from drafting_core.allowance.cut_line import OpenedCutLine, Strip
from drafting_core.dart.folded_mouth import FoldedMouth
from drafting_core.model.outline import nearest_on
from drafting_core.plane.curves import Segment, cross, dot, unit
from drafting_core.plane.motions import STILL

#: A cut line that is nearer than its width by less than this (mm) is not spoken of.
SPOKEN_OF = 0.5
#: On each segment of the cut line so many places are looked at.
_LOOKED_AT = (0.25, 0.5, 0.75)
#: Parallels, and lines beside joints, are met within this (mm).
_ON_LINE = 0.05
_ENDS = 1e-4


class NarrowPlace(NamedTuple):
    """A place where a seam does not get its whole allowance.

    Attributes:
        seam_place: the place on the seam.
        width: the allowance of the seam in mm.
        left: how far in mm the cut line lies from that place.
    """

    seam_place: complex
    width: float
    left: float


def narrow_places(
    strips: Sequence[Strip],
    mouths: Mapping[int, FoldedMouth],
    cut: OpenedCutLine,
    asked: Sequence[int],
) -> list[NarrowPlace]:
    """Return, for each strip that misses some of its allowance, where it misses most.

    Measured square to the seam. Left out: the excess across mouths, which is the fold's side's
    again; and beside a joint of two widths what extends the narrow parallel, and the step.

    Args:
        strips: the stitch line without its mouths.
        mouths: the mouths, each by the index of the strip before it.
        cut: its cut line.
        asked: the numbers of the strips that are looked at.
    """
    widths = [strip.width for strip in strips]
    if max(widths) - min(widths) <= SAME_WIDTH:
        return []
    places = _places(strips, cut)
    found: list[NarrowPlace] = []
    for index in asked:
        strip = strips[index]
        if strip.width <= SPOKEN_OF:
            continue
        box = strip.segment.box()
        low, high = box.left - strip.width, box.right + strip.width
        top, bottom = box.top - strip.width, box.bottom + strip.width
        worst: NarrowPlace | None = None
        for z in places:
            if not (low < z.real < high and top < z.imag < bottom):
                continue
            place = _narrow_at(strip.segment, strip.width, z)
            if place is None or (worst and place.left >= worst.left):
                continue
            if not _beside_joint(strips, mouths, index, z):
                worst = place
        if worst is not None:
            left = nearest_on(cut.ring, worst.seam_place).distance
            found.append(worst._replace(left=left))
    return found


def _places(strips: Sequence[Strip], cut: OpenedCutLine) -> list[complex]:
    """Return places on the cut line, but for the mouths and the steps that end on a corner."""
    across = {(segment.start, segment.end) for item in cut.mouths for segment in item.drawn}
    corners = [strip.segment.start for strip in strips]
    corners += [end for item in cut.mouths for end in item.mouth.ends]
    rays = [
        (end, unit(way))
        for item in cut.mouths
        for end, way in zip(item.mouth.ends, item.mouth.outward, strict=True)
    ]
    found: list[complex] = []
    for segment in cut.ring:
        start, end = segment.start, segment.end
        if (start, end) in across:
            continue
        if any(min(abs(start - z), abs(end - z)) < _ON_LINE for z in corners):
            continue
        for t in _LOOKED_AT:
            place = segment.point(t)
            # A step may lie along a leg, extended.
            if not any(abs(cross(place - origin, way)) < _ON_LINE for origin, way in rays):
                found.append(place)
    return found


def _narrow_at(segment: Segment, width: float, z: complex) -> NarrowPlace | None:
    """Return by how much a place outside a seam, square to its inside, is too near, or None."""
    t = segment.nearest(z)
    if not _ENDS < t < 1.0 - _ENDS:
        return None
    foot = segment.point(t)
    if abs(z - foot) > width - SPOKEN_OF:
        return None
    is_inside = cross(segment.point(t + _ENDS) - foot, z - foot) > 0.0
    return None if is_inside else NarrowPlace(foot, width, abs(z - foot))


def _beside_joint(
    strips: Sequence[Strip], mouths: Mapping[int, FoldedMouth], index: int, z: complex
) -> bool:
    """Tell whether a place is on what the cut line may be beside a joint of two widths."""
    for first in (index - 1, index):
        one, two = strips[first], strips[(first + 1) % len(strips)]
        if abs(one.width - two.width) <= SAME_WIDTH:
            continue
        ways = unit(one.segment.end_tangent()), -unit(two.segment.start_tangent())
        corners = one.segment.end, two.segment.start
        mouth = mouths.get(first % len(strips))
        if mouth is not None:
            # Shut onto the side on which the strip lies.
            shut = (STILL, mouth.back) if first == index else (mouth.back.undone(), STILL)
            ways = shut[0].spin * ways[0], shut[1].spin * ways[1]
            corners = shut[0](corners[0]), shut[1](corners[1])
        outward = -1j * ways[0], 1j * ways[1]
        for way, out, corner, width in zip(
            ways, outward, corners, (one.width, two.width), strict=True
        ):
            away = z - corner
            is_extension = abs(dot(away, out) - width) < _ON_LINE and dot(away, way) > -_ON_LINE
            is_step = abs(dot(away, way)) < _ON_LINE and dot(away, out) > 0.0
            if is_extension or is_step:
                return True
    return False
