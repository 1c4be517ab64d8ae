"""Lines drawn with two strokes, as in a sketch: two strokes of one line become their mean.

On a scan such strokes part and touch again, and leave long thin spots of paper between them:
without these they are one line of ink as wide as both, whose middle is their mean.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drafting_core.ink.pen_line import length_round, mean_width
from drafting_core.ink.polylines import Flags, NearPoints, Points, area_of, diagonals, inside

#: Two strokes of one line lie at most so far apart (mm).
APART = 2.0
#: A spot of paper between two strokes is at most so wide (mm) on the average, …
_WIDEST = 1.3
#: … at least so long (mm): what is smaller does no harm; …
_SHORTEST = 1.5
#: … and lies in a line that is at least so large (mm): in a letter it is the letter's.
_SMALLEST = 25.0
#: So many of its places tell whether a ring goes round a spot.
_PLACES = 7
#: Two open strokes are one line where they run in the same direction, up to sign (cosine of the
#: angle between them), …
_ALONGSIDE = 0.95
#: … and a stroke that does so over this part of its length is dropped.
_MOSTLY = 0.8

#: Where the spots are shorter together than this part of the longest contour, lines are not drawn
#: twice: some only run into each other, as the legs of a narrow dart and what is drawn in it.
_OFTEN = 0.15


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
    sizes = diagonals(closed)
    drawn = np.flatnonzero(sizes >= _SMALLEST).tolist()
    spots = [k for k in range(len(closed)) if sizes[k] >= _SHORTEST and _is_thin_spot(closed[k])]
    if not spots or not drawn:
        return Undoubled(list(closed), 0, 0.0)
    # Paper within ink, and no ink on the paper.
    within = _rings_about([closed[k] for k in spots], [closed[j] for j in drawn])
    gone = [k for k, count in zip(spots, within.tolist(), strict=True) if count % 2]
    if sum(sizes[k] for k in gone) < _OFTEN * max(length_round(closed[k]) for k in drawn):
        return Undoubled(list(closed), 0, 0.0)
    left = set(range(len(closed))).difference(gone)
    return Undoubled(
        [closed[k] for k in sorted(left)], len(gone), float(sum(sizes[k] for k in gone))
    )


def _is_thin_spot(contour: Points) -> bool:
    return mean_width(abs(area_of(contour)), length_round(contour)) <= _WIDEST


def _rings_about(spots: Sequence[Points], rings: Sequence[Points]) -> NDArray[np.int64]:
    """Return for every spot how many rings go round it, itself not counted; shape (n,)."""
    places = np.concatenate(
        [spot[np.linspace(0, len(spot) - 1, _PLACES).astype(np.int64)] for spot in spots]
    )
    counts = np.zeros(len(spots), dtype=np.int64)
    for ring in rings:
        most = inside(ring, places).reshape(-1, _PLACES).mean(axis=1) > 0.5
        counts += most & np.array([spot is not ring for spot in spots])
    return counts


def mean_strokes(
    strokes: Sequence[Points], step: float, reach: float = APART
) -> tuple[list[Points], int]:
    """Return strokes with those that draw one line twice become their mean, and how many they were.

    Args:
        strokes: open lines, each of shape (n,), their points evenly spread, in mm.
        step: how far apart their points are, in mm.
        reach: how far apart two strokes of one line may lie, in mm.
    """
    kept: list[Points] = []
    doubled = 0
    for stroke in sorted(strokes, key=len, reverse=True):
        rest = stroke
        for number, other in enumerate(kept):
            nearest, alongside = _alongside(rest, other, reach)
            if not alongside.any():
                continue
            if alongside.mean() >= _MOSTLY:
                kept[number] = _averaged(other, rest, nearest, alongside)
                doubled += 1
                rest = rest[:0]
                break
            shorter = _without_overlap(rest, other, nearest, alongside, reach)
            if len(shorter) < len(rest):
                covered = alongside.copy()
                kept[number] = _averaged(other, rest, nearest, covered)
                rest = shorter
                doubled += 1
        if len(rest) > 3 and len(rest) * step > 2 * reach:
            kept.append(rest)
    return kept, doubled


def _tangents(stroke: Points) -> Points:
    along = np.gradient(stroke)
    return np.asarray(along / np.maximum(np.abs(along), 1e-12))


def _alongside(stroke: Points, other: Points, reach: float) -> tuple[NDArray[np.int64], Flags]:
    """Return the nearest point numbers on another stroke, and where both run side by side."""
    box = (other.real.min() - reach, other.real.max() + reach)
    rows = (other.imag.min() - reach, other.imag.max() + reach)
    near = (
        (stroke.real >= box[0])
        & (stroke.real <= box[1])
        & (stroke.imag >= rows[0])
        & (stroke.imag <= rows[1])
    )
    nearest = np.full(len(stroke), -1, dtype=np.int64)
    if not near.any():
        return nearest, np.zeros(len(stroke), dtype=np.bool_)
    nearest, _away = NearPoints(other, reach).nearest(stroke)
    found = nearest >= 0
    direction = np.abs((_tangents(stroke) * np.conj(_tangents(other)[nearest])).real)
    return nearest, found & (direction >= _ALONGSIDE)


def _averaged(other: Points, stroke: Points, nearest: NDArray[np.int64], where: Flags) -> Points:
    """Return a stroke moved halfway to another where both run side by side."""
    sums = np.zeros(len(other), dtype=np.complex128)
    counts = np.zeros(len(other))
    np.add.at(sums, nearest[where], stroke[where])
    np.add.at(counts, nearest[where], 1.0)
    met = counts > 0
    if met.sum() < 2:
        return other
    # Points that none is nearest to go along with their neighbours.
    numbers = np.arange(len(other))
    shift = (sums[met] / counts[met] - other[met]) / 2
    inner = (numbers >= numbers[met][0]) & (numbers <= numbers[met][-1])
    moved = other.copy()
    moved[inner] += np.interp(numbers[inner], numbers[met], shift.real)
    moved[inner] += 1j * np.interp(numbers[inner], numbers[met], shift.imag)
    return np.asarray(moved)


def _without_overlap(
    stroke: Points, other: Points, nearest: NDArray[np.int64], alongside: Flags, reach: float
) -> Points:
    """Return a stroke without the ends at which it only draws the end of another one again.

    Two legs of a dart also run side by side at its point, but there both end, while here the one
    goes on where the other stops.
    """
    first, last = 0, len(stroke)
    for at_end in (False, True):
        order = alongside[::-1] if at_end else alongside
        if not order[0]:
            continue
        count = int(np.argmin(order)) if not order.all() else len(order)
        leaves = len(stroke) - count if at_end else count - 1
        begins = len(stroke) - 1 if at_end else 0
        near_end = min((0, len(other) - 1), key=lambda end: abs(stroke[leaves] - other[end]))
        goes_on = abs(nearest[begins] - near_end) > abs(nearest[leaves] - near_end)
        if goes_on and abs(stroke[leaves] - other[near_end]) <= 2.0 * reach:
            if at_end:
                last = leaves
            else:
                first = leaves + 1
    return np.asarray(stroke[first:last])
