"""The centre line of a drawn line, from the contours that tracing gives of its two edges.

A tracer sees ink: of a closed pen line it gives the outer contour and a hole, of a stroke one
thin contour all round it. Either edge is wrong by half the pen's width, so halfway between them
is where the pen went.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.polylines import (
    Flags,
    NearPoints,
    Points,
    arc_lengths,
    area_of,
    diagonal,
    inside,
    nearest_of_pairs,
    resampled,
)

#: A line's width is at most this part of the diagonal of what it goes round: anything wider is
#: no line but a shape.
WIDEST_PEN = 0.03
#: Contours are looked at in steps of this (mm) …
_STEP = 0.5
#: … or, on small drawings, of this part of the diagonal.
_STEP_PART = 1 / 1500
#: The other edge is looked for within so many widths of the pen.
_ACROSS = 1.7
#: A width that differs from the pen's by more than this part of it is not that of a line.
_UNEVEN = 0.4
#: A line that is so many times as wide in most places as in others was drawn with two strokes,
#: which part and meet …
_TWICE = 1.8
#: … and make it wider by at most this (mm).
_WIDER = 2.0
#: Where no other edge is found but the contour goes so nearly straight on (its way over its
#: chord), it is still the edge of the line: only something else touches the other one.
_STRAIGHT_ON = 1.1
#: Normals of the two edges of a line point at each other: their product is at most this.
_OPPOSED = -0.6


class Ring(NamedTuple):
    """A closed line.

    Attributes:
        points: along its centre, evenly spread, the first not repeated; shape (n,).
        known: which of them were drawn and not filled in; shape (n,).
        pen: the width of its line in mm, 0 where it has none.
        spikes: parts of the leading contour along which the other edge is too far away for a
            line: where two lines run together into a point, or something else touches the line.
    """

    points: Points
    known: Flags
    pen: float
    spikes: tuple[Points, ...] = ()


def mean_width(area: float, border: float) -> float:
    """Return the width in mm of a long thin region from its area and the length of its border."""
    return 2.0 * area / border if border else 0.0


def length_round(ring: Points) -> float:
    """Return the length of a closed polyline in mm."""
    return float(arc_lengths(ring)[-1] + abs(ring[0] - ring[-1]))


def step_for(size: float) -> float:
    """Return the step in mm in which something of a size (its diagonal, mm) is looked at."""
    return min(_STEP, size * _STEP_PART)


def inward_normals(ring: Points) -> Points:
    """Return unit vectors into a closed polyline at each of its points."""
    along = np.roll(ring, -1) - np.roll(ring, 1)
    along /= np.maximum(np.abs(along), 1e-12)
    return along * (1j if area_of(ring) > 0 else -1j)


def centre_ring(outer: Points, holes: Sequence[Points]) -> Ring:
    """Return the centre line of a closed pen line.

    Where lines inside the block touch its outline, they cut its inner contour to pieces; its
    outer contour then leads. Otherwise the inner one does: it knows nothing of lines that run on
    over a corner, and reaches into the point of a narrow dart.

    Args:
        outer: the outer contour, shape (n,).
        holes: the contours directly inside it.
    """
    step = step_for(diagonal(outer))
    areas = [abs(area_of(hole)) for hole in holes]
    border = length_round(outer) + sum(map(length_round, holes))
    pen = mean_width(abs(area_of(outer)) - sum(areas), border)
    if max(areas) >= 0.97 * sum(areas):
        leading, others = holes[int(np.argmax(areas))], [outer]
        way_in = -1.0
    else:
        leading, others = outer, list(holes)
        way_in = 1.0
    along = resampled(leading, step, closed=True)
    across = np.concatenate([resampled(other, step / 2, closed=True) for other in others])
    number, away = NearPoints(across, _ACROSS * pen).nearest(along)
    met = number >= 0
    width = float(np.median(away[met])) if met.any() else pen
    found = met & (np.abs(away - width) <= _UNEVEN * width)
    narrow, wide = np.quantile(away[met], (0.05, 0.95)) if met.any() else (pen, pen)
    if wide > _TWICE * narrow:
        number, away = NearPoints(across, width + _WIDER).nearest(along)
        found = number >= 0
    middle = along + inward_normals(along) * way_in * width / 2
    middle[found] = (along[found] + across[number[found]]) / 2
    return _bridged(along, middle, found, width, step)


def _bridged(along: Points, middle: Points, found: Flags, width: float, step: float) -> Ring:
    """Return a ring with its centre line bridged where the leading contour leaves it."""
    count = len(along)
    if not found.any() or found.all():
        return Ring(middle, np.ones(count, dtype=np.bool_), width)
    # Run through from a place on that is sure.
    first = int(np.argmax(found))
    along, middle = np.roll(along, -first), np.roll(middle, -first)
    found = np.roll(found, -first)
    edges = np.flatnonzero(np.diff(found.astype(np.int8), append=np.int8(1)))
    kept, known, spikes = found.copy(), found.copy(), []
    for start, end in edges.reshape(-1, 2):
        # From the last sure place to the next one.
        last = (end + 1) % count
        way, chord = (end + 1 - start) * step, abs(along[last] - along[start])
        if way <= _STRAIGHT_ON * chord or way <= 2 * width:
            kept[start + 1 : end + 1] = True
            known[start + 1 : end + 1] = True
        else:
            spikes.append(along[start : end + 1])
    raw = middle[kept]
    even = resampled(raw, step, closed=True)
    drawn = spread(raw, known_between(kept), even)
    return Ring(even, drawn, width, tuple(spikes))


def known_between(kept: Flags) -> Flags:
    """Return for every kept point whether the next one is kept too: the way there was drawn."""
    following = np.roll(kept, -1)
    return following[kept]


def spread(raw: Points, drawn: Flags, even: Points) -> Flags:
    """Return which evenly spread points of a ring lie on ways that were drawn.

    Args:
        raw: the ring's own points, shape (n,).
        drawn: whether the way from each of them to the next was drawn.
        even: the ring's points, evenly spread; shape (m,).
    """
    along = arc_lengths(np.concatenate([raw, raw[:1]]))
    places = np.linspace(0.0, along[-1], len(even) + 1)[:-1]
    number = np.clip(np.searchsorted(along, places, side="right") - 1, 0, len(raw) - 1)
    return drawn[number]


def centre_strokes(contour: Points) -> list[Points]:
    """Return the centre lines of the strokes that one thin contour goes round.

    Each stroke comes twice, once from either edge; where strokes meet they break off.

    Args:
        contour: shape (n,).
    """
    width = mean_width(abs(area_of(contour)), length_round(contour))
    # Of a short stroke, steps finer than its pen tell nothing more.
    step = min(max(step_for(diagonal(contour)), width / 8), width / 2)
    along = resampled(contour, step, closed=True)
    normals = inward_normals(along)
    which, other = NearPoints(along, 2.0 * width).pairs(along)
    across = along[other] - along[which]
    distance = np.abs(across)
    faces = (normals[which] * np.conj(normals[other])).real <= _OPPOSED
    inward = (across * np.conj(normals[which])).real >= 0.7 * distance
    kept = faces & inward & (distance > 0.0)
    number, away = nearest_of_pairs(which[kept], other[kept], distance[kept], len(along))
    found = (number >= 0) & (away <= _ACROSS * width)
    middle = np.where(found, (along + along[number]) / 2, np.nan)
    breaks = np.flatnonzero(~found)
    if not len(breaks):
        return [middle]
    # Run through from a break on, so that no stroke is cut where the contour happens to start.
    middle = np.roll(middle, -int(breaks[0]))
    strokes, start = [], None
    for k, ok in enumerate([*~np.isnan(middle), False]):
        if ok and start is None:
            start = k
        elif not ok and start is not None:
            if (k - start) * step >= 3.0 * width:
                strokes.append(middle[start:k])
            start = None
    return strokes


def is_inside(outer: Points, inner: Points) -> bool:
    """Tell whether one closed contour lies inside another (most of it: they may touch)."""
    some = inner[:: max(1, len(inner) // 16)]
    return bool(inside(outer, some).mean() > 0.5)
