"""A dart whose mouth is drawn across: the outline goes round by its legs, not over its mouth.

Many draw the waist or the shoulder straight on over an open dart, or a bust line across it. What
is traced has one outer contour then, and a hole of three corners where the dart is.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from drafting_core.ink.pen_line import Ring, inward_normals, step_for
from drafting_core.ink.polylines import (
    Flags,
    NearPoints,
    Points,
    area_of,
    diagonal,
    fit_line,
    resampled,
)
from drafting_core.ink.trace_corners import find_corners
from drafting_core.plane.curves import turn

#: A dart takes at most this part of the area that the outline goes round.
_LARGEST_DART = 0.25
#: Legs are alike if the shorter is at least this part of the other.
_LEGS_ALIKE = 0.8
#: Legs stray from lines by at most this part of their length.
_STRAIGHT = 0.03
#: The legs of a dart meet at less than this (radians).
_WIDEST = np.deg2rad(80.0)
#: A hole's side lies along the outline if it is so many of the pen's widths away from it.
_ALONG = 1.5


def with_open_mouths(ring: Ring, holes: Sequence[Points]) -> Ring:
    """Return a ring that goes round by the legs of the darts whose mouths are drawn across.

    Args:
        ring: the closed pen line.
        holes: the contours directly inside its outer one.
    """
    if ring.pen <= 0.0 or len(holes) < 2:
        return ring
    largest = max(abs(area_of(hole)) for hole in holes)
    for hole in sorted(holes, key=lambda hole: abs(area_of(hole))):
        if abs(area_of(hole)) <= _LARGEST_DART * largest:
            legs = _legs(hole, ring)
            if legs is not None:
                ring = _spliced(ring, *legs)
    return ring


def _legs(hole: Points, ring: Ring) -> tuple[Points, Points] | None:
    """Return the centre line of a dart's legs, from mouth to mouth, and its drawn mouth."""
    size = diagonal(hole)
    if size < 10.0 * ring.pen:
        return None
    step = step_for(diagonal(ring.points))
    along = resampled(hole, step, closed=True)
    near = NearPoints(ring.points, _ALONG * ring.pen).nearest(along)[0] >= 0
    if not near.any() or near.all():
        return None
    first = int(np.argmax(near & ~np.roll(near, -1)))
    along, near = np.roll(along, -first - 1), np.roll(near, -first - 1)
    apart = np.flatnonzero(~near)
    # One side lies along the outline, the rest does not.
    if not len(apart) or apart[-1] + 1 != len(apart):
        return None
    normals = inward_normals(along)
    legs = along[: len(apart)]
    tip = _tip(legs, step, size)
    if tip is None:
        return None
    middle = legs - normals[: len(apart)] * ring.pen / 2
    return np.asarray(middle), np.asarray(along[len(apart) :])


def _tip(legs: Points, step: float, size: float) -> int | None:
    """Return where two legs meet, or None if they are none of a dart."""
    corners = [k for k in find_corners(legs, step, size) if 5 < k < len(legs) - 5]
    chord = legs[-1] - legs[0]
    depth = np.abs(((legs - legs[0]) * np.conj(chord / max(abs(chord), 1e-9))).imag)
    tip = int(np.argmax(depth))
    if not corners and depth[tip] < 0.5 * abs(chord):
        return None
    margin = max(2, round(1.0 / step))
    sides = (legs[margin : max(tip - margin, margin + 2)], legs[tip + margin : -margin])
    if min(map(len, sides)) < 5:
        return None
    lines = [fit_line(side) for side in sides]
    lengths = sorted((tip, len(legs) - tip))
    straight = all(
        float(np.abs(((side - line.start) * np.conj(line.end - line.start)).imag).max())
        <= _STRAIGHT * abs(line.end - line.start) ** 2
        for side, line in zip(sides, lines, strict=True)
    )
    bend = abs(turn(lines[0].end - lines[0].start, lines[1].end - lines[1].start))
    if not straight or lengths[0] < _LEGS_ALIKE * lengths[1] or bend < np.pi - _WIDEST:
        return None
    return tip


def _spliced(ring: Ring, legs: Points, mouth: Points) -> Ring:
    """Return a ring with the drawn mouth of a dart replaced by its legs."""
    points = ring.points
    near = NearPoints(mouth, _ALONG * ring.pen).nearest(points)[0] >= 0
    if not near.any() or near.all():
        return ring
    ends = [int(np.argmin(np.abs(points - z))) for z in (legs[0], legs[-1])]
    count = len(points)
    ways = [(ends[1] - ends[0]) % count, (ends[0] - ends[1]) % count]
    # The mouth is the shorter way from leg to leg.
    if ways[0] <= ways[1]:
        first, last, chain = ends[0], ends[1], legs
    else:
        first, last, chain = ends[1], ends[0], legs[::-1]
    kept = (last + np.arange((first - last) % count + 1)) % count
    joined = np.concatenate([points[kept], chain])
    known = np.concatenate([ring.known[kept], np.ones(len(chain), dtype=np.bool_)])
    step = float(abs(points[1] - points[0]))
    even = resampled(joined, step, closed=True)
    return Ring(even, _known_at(joined, known, even), ring.pen, ring.spikes)


def _known_at(points: Points, known: Flags, even: Points) -> Flags:
    number, _away = NearPoints(points, 5.0).nearest(even)
    return np.asarray(np.where(number >= 0, known[number], False))
