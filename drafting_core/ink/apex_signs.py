"""Small signs on a traced sheet: which of them can mark an apex, and which are specks or words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.polylines import (
    Points,
    arc_lengths,
    area_of,
    diagonal,
    polyline_crossings,
    resampled,
)

#: A sign is at least this large (its diagonal in mm); what is smaller is a speck …
SMALLEST_SIGN = 1.0
#: … and at most this large.
LARGEST_SIGN = 14.0
#: Roundness (4π·area / border²) from which a contour is a dot or a ring: a square has 0.79.
_ROUND = 0.7
#: A sign that is turned by half, or by a quarter, covers itself within these parts of its size.
_HALF_TURN = 0.15
_QUARTER_TURN = 0.25
#: Letters stand nearer to each other than this, in parts of their own size.
_ALONE = 1.6
#: Two strokes of a cross meet at the middle of both, within this part of their lengths.
_MIDDLE = 0.25
#: Beside dashed lines a sign lies no nearer to an outline, or to what else may be one, than this
#: (mm): the dots of a line do.
_OFF_LINES = 12.0


class SmallShape(NamedTuple):
    """Something small on a sheet.

    Attributes:
        points: its contour, or an open stroke.
        closed: which of both.
    """

    points: Points
    closed: bool

    @property
    def size(self) -> float:
        """Its diagonal in mm."""
        return diagonal(self.points)

    @property
    def middle(self) -> complex:
        """The middle of the box about it."""
        x, y = self.points.real, self.points.imag
        return complex((x.min() + x.max()) / 2, (y.min() + y.max()) / 2)


def apex_signs(shapes: Sequence[SmallShape]) -> list[complex]:
    """Return the centres of the dots, rings and crosses that stand alone.

    Args:
        shapes: everything small on the sheet, in mm.
    """
    large = [shape for shape in shapes if SMALLEST_SIGN <= shape.size <= LARGEST_SIGN]
    found: list[tuple[complex, float]] = []
    for shape in large:
        if shape.closed:
            centre = _centre_of_sign(shape.points)
            if centre is not None:
                found.append((centre, shape.size))
    strokes = [shape for shape in large if not shape.closed]
    for k, one in enumerate(strokes):
        for other in strokes[:k]:
            crossing = _cross_of(one.points, other.points)
            if crossing is not None:
                found.append((crossing, max(one.size, other.size)))
    middles = np.array([shape.middle for shape in large])
    sizes = np.array([shape.size for shape in large])
    alone: list[complex] = []
    for centre, size in found:
        away = np.abs(middles - centre)
        # What lies within the sign is part of it: a ring's hole, a cross's other stroke.
        others = (away > 0.3 * size) & (away < _ALONE * np.maximum(size, sizes))
        if not others.any() and all(abs(centre - old) > 0.3 * size for old in alone):
            alone.append(centre)
    return alone


def signs_beside(contours: Sequence[Points], outlines: Sequence[Points]) -> list[complex]:
    """Return the centres of signs on a sheet of dashed lines, whose dashes are as small as signs.

    Args:
        contours: all closed contours of the sheet, in mm.
        outlines: the outlines that were found.
    """
    small = [SmallShape(contour, True) for contour in contours]
    found = apex_signs([shape for shape in small if shape.size <= LARGEST_SIGN])
    if not found:
        return []
    signs = np.array(found)
    apart = np.abs(signs[:, None] - signs)
    np.fill_diagonal(apart, np.inf)
    lines = np.concatenate(outlines)
    return [
        at
        for at, other in zip(found, apart.min(axis=1), strict=True)
        if min(float(other), float(np.abs(lines - at).min())) > _OFF_LINES
    ]


def _centre_of_sign(contour: Points) -> complex | None:
    """Return the centre of a contour that is a dot, a ring or a cross, or None."""
    area = area_of(contour)
    border = float(arc_lengths(np.concatenate([contour, contour[:1]]))[-1])
    if abs(area) < 1e-9 or border <= 0.0:
        return None
    following = np.roll(contour, -1)
    weight = contour.real * following.imag - contour.imag * following.real
    centre = complex(np.sum((contour + following) * weight) / (6 * area))
    if 4 * math.pi * abs(area) / border**2 >= _ROUND:
        return centre
    size = diagonal(contour)
    around = resampled(contour, border / 120, closed=True) - centre
    for turn, part in ((-1.0, _HALF_TURN), (1j, _QUARTER_TURN)):
        apart = np.abs(around[:, None] - turn * around[None, :]).min(axis=1)
        if apart.max() > part * size:
            return None
    return centre


def _cross_of(one: Points, other: Points) -> complex | None:
    """Return where two strokes cross if they form a cross, or None."""
    lengths = [float(arc_lengths(stroke)[-1]) for stroke in (one, other)]
    if min(lengths) < 0.5 * max(lengths) or max(lengths) > LARGEST_SIGN:
        return None
    hits = polyline_crossings(one, other)
    if len(hits) != 1:
        return None
    at = hits[0][2]
    middles = [(stroke[0] + stroke[-1]) / 2 for stroke in (one, other)]
    if any(abs(at - z) > _MIDDLE * n for z, n in zip(middles, lengths, strict=True)):
        return None
    return at
