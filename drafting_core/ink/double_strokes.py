"""Lines drawn with two strokes, as in a sketch: two strokes of one line become their mean.

On a scan such strokes part and touch again, and leave long thin spots of paper between them:
without these they are one line of ink as wide as both, whose middle is their mean.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.pen_line import length_round, mean_width
from drafting_core.ink.polylines import Points, area_of, diagonal, inside

#: Two strokes of one line lie at most so far apart (mm).
APART = 2.0
#: A spot of paper between two strokes is at most so wide (mm) on the average, …
_WIDEST = 1.3
#: … at least so long (mm), …
_SHORTEST = 4.0
#: … and at most this part of its length wide.
_THIN = 0.15


class Undoubled(NamedTuple):
    """The contours of a sheet without the spots between two strokes.

    Attributes:
        closed: the contours that are left.
        gone: how many spots were taken out.
        length: how much of the lines was drawn with two strokes, in mm.
    """

    closed: list[Points]
    gone: int
    length: float


def without_spots(closed: Sequence[Points]) -> Undoubled:
    """Take the thin spots of paper between the strokes of double lines out of a trace.

    Args:
        closed: closed contours, each of shape (n,), in true mm.
    """
    spots = {k for k, contour in enumerate(closed) if _is_thin_spot(contour)}
    if not spots:
        return Undoubled(list(closed), 0, 0.0)
    areas = np.array([abs(area_of(contour)) for contour in closed])
    large = [k for k in range(len(closed)) if diagonal(closed[k]) > _SHORTEST]
    gone = set()
    for k in spots:
        around = [j for j in large if j != k and areas[j] > areas[k] and _goes_round(closed, j, k)]
        # Paper within ink, and no ink on the paper.
        if len(around) % 2:
            gone.add(k)
    return Undoubled(
        [contour for k, contour in enumerate(closed) if k not in gone],
        len(gone),
        sum(diagonal(closed[k]) for k in gone),
    )


def _is_thin_spot(contour: Points) -> bool:
    size = diagonal(contour)
    if size < _SHORTEST or len(contour) < 3:
        return False
    width = mean_width(abs(area_of(contour)), length_round(contour))
    return width <= min(_WIDEST, _THIN * size)


def _goes_round(closed: Sequence[Points], outer: int, inner: int) -> bool:
    ring, spot = closed[outer], closed[inner]
    x, y = ring.real, ring.imag
    at = spot[0]
    if not (x.min() <= at.real <= x.max() and y.min() <= at.imag <= y.max()):
        return False
    return bool(inside(ring, spot[:: max(1, len(spot) // 8)]).mean() > 0.5)
