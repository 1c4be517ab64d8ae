"""Marks on the pattern: notches, drill holes, fold arrows, the grainline and the test square."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.dart.finish import FinishedDart
from drafting_core.dart.trim_window import ended, first_by_chain, first_on_ring
from drafting_core.model.outline import nearest_on
from drafting_core.model.piece import Sides
from drafting_core.plane.curves import Line, Segment, chain_length, dot, pairs_around, unit

#: A notch is cut half-way into the allowance and never deeper than this (mm).
DEEPEST_NOTCH = 5.0
#: A notch shallower than this cannot be cut (mm).
SHALLOWEST_NOTCH = 0.5
#: The centre of a drill hole keeps this distance from the stitching (mm).
HOLE_TO_LEG = 2.0
# In such steps (mm) its place between curved legs is looked for.
_HOLE_STEP = 1.0
# Where the fold arrow crosses the legs, in parts of their length from the mouth.
_ARROW_SHARE = 0.38
#: Side of the test square (mm).
TEST_SQUARE = 50.0
#: Distance of the test square from the piece (mm).
TEST_SQUARE_GAP = 15.0


#: The grainline keeps so far from the apex and the points of darts (mm).
GRAIN_ROOM = 8.0
#: Further than this from all edges and marks it is not better placed (mm): the bracket of a fold
#: edge, with its words, lies within.
GRAIN_EDGE = 25.0


class WideEdge(NamedTuple):
    """An edge of the stitch line with its caps, and the width of its allowance in mm.

    Attributes:
        segment: the edge, in mm.
        width: the width of its allowance.
    """

    segment: Segment
    width: float


def leg_notches(legs: Sides, cut_line: Sequence[Segment], widths: Sequence[float]) -> list[Line]:
    """Return a notch for each leg, from the cut line inward along the leg extended straight.

    Folded shut, the two lie on each other. None is on a fold edge, where the corner matches.

    Args:
        legs: the two legs of a dart, or the stitched lines of a tuck, each from its mouth end.
        cut_line: the cut line before trim windows are taken out.
        widths: the allowances in mm of the seams that meet at the mouth.
    """
    depth = min((*(width for width in widths if width > 0.0), 2 * DEEPEST_NOTCH)) / 2
    if depth < SHALLOWEST_NOTCH:
        return []
    notches = []
    for leg in legs:
        end, ray = leg[0].start, -leg[0].start_tangent()
        found = first_on_ring(cut_line, end, ray)
        if found is not None and abs(found.point - end) > SHALLOWEST_NOTCH:
            notches.append(Line(found.point, found.point - ray * depth))
    return notches if len(notches) == len(legs) else []


def seam_notch(at: complex, edges: Sequence[WideEdge], cut_line: Sequence[Segment]) -> Line | None:
    """Return the notch for a mark near the outline: square to the seam, from the cut line inward.

    None where the seam lies on a fold, which is not notched.
    """
    segments = [edge.segment for edge in edges]
    found = nearest_on(segments, at)
    width = edges[found.segment].width
    depth = min(width / 2, DEEPEST_NOTCH)
    if depth < SHALLOWEST_NOTCH:
        return None
    outward = -1j * segments[found.segment].tangent(found.t)
    start = first_on_ring(cut_line, found.point, outward)
    if start is None:
        return None
    return Line(start.point, start.point - outward * depth)


def drill_hole(dart: FinishedDart, distance: float) -> complex | None:
    """Return the place of the drill hole on the dart's centre, or None where it has none.

    Args:
        dart: the finished dart.
        distance: how far short of the point it lies, in mm, unless the legs ask for more.
    """
    short = drill_distance(dart, distance)
    return None if short is None else place_along(dart.centre_line, short)[0]


def drill_distance(dart: FinishedDart, distance: float) -> float | None:
    """Return how far short of the dart point its drill hole lies, along the centre, in mm.

    It is not so near to the point that it shows beside the stitching, nor is it out where the
    dart is trimmed or caught: None where it would lie past half the dart's depth.

    Args:
        dart: the finished dart.
        distance: how far short of the point it lies, in mm, unless the legs ask for more.
    """
    half = dot((dart.ends[0] + dart.ends[1]) / 2 - dart.point, dart.middle_ray) / 2
    if dart.opening.sides is None:
        found = max(distance, HOLE_TO_LEG / math.sin(dart.point_angle / 2))
        return found if found <= half else None
    # Curved legs: outward in small steps, then back to where it is just enough.
    low, found = distance, distance
    while found <= half and _to_legs(dart, found) < HOLE_TO_LEG:
        low, found = found, found + _HOLE_STEP
    for _ in range(40 if found > distance else 0):
        middle = (low + found) / 2
        low, found = (low, middle) if _to_legs(dart, middle) >= HOLE_TO_LEG else (middle, found)
    return found if found <= half else None


def _to_legs(dart: FinishedDart, distance: float) -> float:
    """Return how far a place on a dart's centre lies from the nearer leg."""
    place = place_along(dart.centre_line, distance)[0]
    return min(nearest_on(leg, place).distance for leg in dart.legs)


def place_along(chain: Sequence[Segment], length: float) -> tuple[complex, complex]:
    """Return the point of a chain at a length in mm from its start, and the direction there."""
    left = length
    for segment in chain:
        whole = segment.length()
        if left <= whole:
            t = segment.parameter_at(left)
            return segment.point(t), segment.tangent(t)
        left -= whole
    return chain[-1].end, chain[-1].end_tangent()


def fold_arrow(dart: FinishedDart, inward: float | None = None) -> list[complex]:
    """Return an arrow across the dart toward the side to which its excess is folded.

    The polyline is drawn in one go: tail, tip, one barb, tip, the other barb.

    Args:
        dart: the finished dart.
        inward: how far from the mouth it lies along the legs, in mm; somewhat nearer to the
            mouth than to the point where none is given.
    """
    tail_leg, tip_leg = (
        place_along(leg, inward or _ARROW_SHARE * chain_length(leg))[0]
        for leg in (dart.legs[1 - dart.fold.leg], dart.legs[dart.fold.leg])
    )
    along = tip_leg - tail_leg
    size = abs(along)
    along = unit(along)
    reach = min(12.0, 0.35 * size)
    tip, tail = tip_leg + along * reach, tail_leg + along * 0.25 * size
    barb = min(4.0, 0.4 * abs(tip - tail))
    return [
        tail,
        tip,
        tip - along * barb + 1j * along * barb * 0.6,
        tip,
        tip - along * barb - 1j * along * barb * 0.6,
    ]


def grainline(ring: Sequence[complex], down: complex, avoid: Sequence[complex]) -> Line:
    """Return a line along the grain that lies well inside a piece.

    Args:
        ring: a polygon of the piece.
        down: the unit vector down along the grain.
        avoid: points that it should keep away from.
    """
    factor = 1j / down  # turns the grain upright, down the page
    upright = [z * factor for z in _dense(ring)]
    left, right = min(z.real for z in upright), max(z.real for z in upright)
    others = [z * factor for z in avoid]
    best: tuple[float, complex, complex] | None = None
    steps = 24
    for step in range(1, steps):
        x = left + (right - left) * step / steps
        for top, bottom in _inside(upright, x):
            wanted = min(0.6 * (bottom - top), 0.5 * (right - left) + 60.0)
            for upper, lower in _clear_of(others, x, top, bottom):
                length = min(wanted, lower - upper)
                start = max((top + bottom - length) / 2, upper)
                start = min(start, lower - length)
                end = start + length
                room = min(
                    [
                        abs(z.real - x)
                        for z in [*others, *upright]
                        if start - GRAIN_ROOM < z.imag < end + GRAIN_ROOM
                    ]
                    or [50.0]
                )
                score = length * min(1.0, (room + 2.0) / (GRAIN_EDGE + 2.0))
                if best is None or score > best[0] + 1e-9:
                    best = (score, complex(x, start), complex(x, end))
    if best is None:
        middle_point = sum(upright) / len(upright)
        best = (0.0, middle_point - 10j, middle_point + 10j)
    return Line(best[1] / factor, best[2] / factor)


def _clear_of(
    points: Sequence[complex], x: float, top: float, bottom: float
) -> list[tuple[float, float]]:
    """Return the parts of an upright line that keep clear of points near it."""
    near = sorted(z.imag for z in points if abs(z.real - x) < GRAIN_ROOM)
    free, start = [], top
    for y in near:
        if start < y - GRAIN_ROOM < bottom:
            free.append((start, y - GRAIN_ROOM))
        start = max(start, y + GRAIN_ROOM)
    if start < bottom:
        free.append((start, bottom))
    return free


def _dense(polygon: Sequence[complex], spacing: float = 10.0) -> list[complex]:
    """Return a polygon with no two corners further apart than a spacing in mm."""
    points = []
    for start, end in pairs_around(polygon):
        steps = max(1, math.ceil(abs(end - start) / spacing))
        points += [start + (end - start) * step / steps for step in range(steps)]
    return points


def _inside(polygon: Sequence[complex], x: float) -> list[tuple[float, float]]:
    """Return the intervals of an upright line that lie inside a polygon."""
    heights = []
    previous = polygon[-1]
    for corner in polygon:
        if (corner.real > x) != (previous.real > x):
            share = (x - corner.real) / (previous.real - corner.real)
            heights.append(corner.imag + share * (previous.imag - corner.imag))
        previous = corner
    heights.sort()
    return list(zip(heights[::2], heights[1::2], strict=False))


def fold_line(dart: FinishedDart) -> list[Segment]:
    """Return the fold from the point out to the middle of the cap, along the dart's centre."""
    cap = [edge.segment for edge in dart.cap]
    line = dart.centre_line
    middle = first_on_ring(cap, dart.point, dart.middle_ray)
    if middle is not None and abs(middle.point - dart.point) > abs(line[-1].end - dart.point):
        # The centre of a curved dart, too, ends on the ray through the middle of the cap.
        last = Line(line[-1].end, middle.point)
        straight = dart.opening.sides is None
        return [Line(dart.point, middle.point)] if straight else [*line, last]
    found = first_by_chain(cap, line)
    return list(line) if found is None else ended(line, found.point)
