"""Polylines of many points, as a trace gives them: arrays of complex points, in mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from drafting_core.plane.curves import Line
from drafting_core.text.errors import DraftingError, OutlineError
from drafting_core.text.words import _

Points = NDArray[np.complex128]
Numbers = NDArray[np.float64]
Flags = NDArray[np.bool_]
#: More pairs of near points than this take more memory than a drawn sheet is worth.
_MOST_PAIRS = 8_000_000


def without_repeats(points: Points, least: float = 1e-9) -> Points:
    """Return a polyline without points that repeat the one before them.

    Args:
        points: shape (n,).
        least: points this near to each other (mm) are the same.
    """
    if len(points) < 2:
        return points
    kept = np.concatenate([[True], np.abs(np.diff(points)) > least])
    return np.asarray(points[kept])


def arc_lengths(points: Points) -> Numbers:
    """Return the way along a polyline to each of its points, shape (n,), in mm."""
    return np.concatenate([[0.0], np.cumsum(np.abs(np.diff(points)))])


def resampled(points: Points, step: float, *, closed: bool) -> Points:
    """Return points evenly spread along a polyline.

    Args:
        points: shape (n,), of a closed one without the first point again at its end.
        step: the wished distance in mm; the real one divides the length evenly.
        closed: whether its last point is joined to its first.
    """
    whole = np.concatenate([points, points[:1]]) if closed else points
    along = arc_lengths(whole)
    count = max(2, round(float(along[-1]) / step))
    places = np.linspace(0.0, along[-1], count + 1)
    if closed:
        places = places[:-1]
    return np.interp(places, along, whole.real) + 1j * np.interp(places, along, whole.imag)


def fit_line(points: Points) -> Line:
    """Return the line from which points stray least (total least squares), as long as they are."""
    centre = points.mean()
    away = points - centre
    # The direction of largest spread: half the angle of the mean square.
    axis = np.sqrt(complex(np.mean(away**2)))
    if abs(axis) < 1e-12:
        axis = complex(points[-1] - points[0]) or 1.0
    axis /= abs(axis)
    if ((points[-1] - points[0]) * np.conj(axis)).real < 0:
        axis = -axis
    along = (away * np.conj(axis)).real
    return Line(complex(centre + axis * along.min()), complex(centre + axis * along.max()))


def area_of(ring: Points) -> float:
    """Return the signed area of a closed polyline in mm²."""
    following = np.roll(ring, -1)
    return float(np.sum(ring.real * following.imag - ring.imag * following.real) / 2)


def diagonal(points: Points) -> float:
    """Return the diagonal of the box about points, in mm."""
    return float(np.hypot(np.ptp(points.real), np.ptp(points.imag)))


def diagonals(lines: Sequence[Points]) -> Numbers:
    """Return the diagonals of the boxes about many polylines, none empty, in mm."""
    if not lines:
        return np.zeros(0)
    points = np.concatenate(lines)
    starts = np.concatenate([[0], np.cumsum([len(line) for line in lines])[:-1]])
    sides = [
        np.maximum.reduceat(part, starts) - np.minimum.reduceat(part, starts)
        for part in (points.real, points.imag)
    ]
    return np.asarray(np.hypot(*sides))


def inside(ring: Points, points: Points) -> Flags:
    """Tell which points lie inside a closed polyline (even-odd rule), shape of ``points``."""
    x1, y1 = ring.real, ring.imag
    x2, y2 = np.roll(x1, -1), np.roll(y1, -1)
    # Each edge is met only by the points between its ends' heights: sorted, few remain.
    order = np.argsort(points.imag, kind="stable")
    heights = points.imag[order]
    low = np.searchsorted(heights, np.minimum(y1, y2), side="left")
    high = np.searchsorted(heights, np.maximum(y1, y2), side="left")
    counts = high - low
    edges = np.repeat(np.arange(len(ring)), counts)
    starts = np.repeat(low - np.concatenate([[0], np.cumsum(counts)[:-1]]), counts)
    which = order[np.arange(len(edges)) + starts]
    along = (points.imag[which] - y1[edges]) / (y2[edges] - y1[edges])
    crossed = points.real[which] < x1[edges] + along * (x2[edges] - x1[edges])
    crossings = np.bincount(which[crossed], minlength=len(points))
    return np.asarray(crossings % 2 == 1)


class NearPoints:
    """Finds the nearest of many points within a reach, in a grid of square cells."""

    def __init__(self, points: Points, reach: float) -> None:
        """Sort the points into cells.

        Args:
            points: shape (n,).
            reach: the largest distance in mm at which a point is found.
        """
        self.points, self.reach = points, reach
        self._corner = complex(points.real.min(), points.imag.min())
        columns, rows = self._cells(points)
        self._rows = int(rows.max()) + 3
        keys = (columns + 1) * self._rows + rows + 1
        self._order = np.argsort(keys, kind="stable")
        self._keys = keys[self._order]

    def _cells(self, points: Points) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        away = (points - self._corner) / self.reach
        return np.floor(away.real).astype(np.int64), np.floor(away.imag).astype(np.int64)

    def pairs(self, places: Points) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return all pairs within reach: the numbers of the places and those of the points.

        Raises:
            OutlineError: if they are so many that no lines of a pen lie so near to each other.
        """
        columns, rows = self._cells(places)
        found_places, found_points = [], []
        fits = (rows >= -1) & (rows <= self._rows - 2) & (columns >= -1)
        numbers = np.flatnonzero(fits)
        for step in (-1, 0, 1):
            # The cells of a column that lie above each other hold keys that follow each other.
            first = (columns[numbers] + 1 + step) * self._rows + rows[numbers]
            low = np.searchsorted(self._keys, first, side="left")
            high = np.searchsorted(self._keys, first + 2, side="right")
            counts = high - low
            if counts.sum() > _MOST_PAIRS:
                raise too_many_nodes()
            which = np.repeat(numbers, counts)
            starts = np.repeat(low - np.concatenate([[0], np.cumsum(counts)[:-1]]), counts)
            points = self._order[np.arange(len(which)) + starts]
            near = np.abs(places[which] - self.points[points]) <= self.reach
            found_places.append(which[near])
            found_points.append(points[near])
        return np.concatenate(found_places), np.concatenate(found_points)

    def nearest(self, places: Points) -> tuple[NDArray[np.int64], Numbers]:
        """Return for every place the number of the nearest point, or -1, and its distance."""
        which, points = self.pairs(places)
        distances = np.abs(places[which] - self.points[points])
        return nearest_of_pairs(which, points, distances, len(places))


def nearest_of_pairs(
    which: NDArray[np.int64], others: NDArray[np.int64], distances: Numbers, count: int
) -> tuple[NDArray[np.int64], Numbers]:
    """Return for each of ``count`` places the nearest of its pairs, or -1 and infinity.

    Args:
        which: the place of every pair, shape (m,).
        others: the other one of every pair.
        distances: how far they are from each other.
        count: how many places there are.
    """
    order = np.lexsort((distances, which))
    which, others, distances = which[order], others[order], distances[order]
    first = np.concatenate([[True], which[1:] != which[:-1]]) if len(which) else np.zeros(0, bool)
    nearest = np.full(count, -1, dtype=np.int64)
    away = np.full(count, np.inf)
    nearest[which[first]] = others[first]
    away[which[first]] = distances[first]
    return nearest, away


def polyline_crossings(one: Points, other: Points) -> list[tuple[int, int, complex]]:
    """Return where two short polylines cross: the number of the piece of each, and the place."""
    a, along = one[:-1, None], np.diff(one)[:, None]
    c, beside = other[None, :-1], np.diff(other)[None, :]
    sine = (np.conj(along) * beside).imag
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        t = (np.conj(c - a) * beside).imag / sine
        u = (np.conj(c - a) * along).imag / sine
    hits = np.argwhere((sine != 0) & (t >= 0) & (t <= 1) & (u >= 0) & (u <= 1))
    return [(i, j, complex(one[i] + along[i, 0] * t[i, j])) for i, j in hits.tolist()]


def too_many_nodes() -> DraftingError:
    """Return the error for a trace that no pen can have drawn."""
    return OutlineError(
        _("it has too many nodes for a pen line: the tracer followed every speck or grain."),
        thing=_("The trace"),
        remedy=_(
            "Trace again with a lower brightness threshold and with speckles suppressed, or scan "
            "at 300 dpi."
        ),
    )
