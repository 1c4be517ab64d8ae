"""A whole piece traced unfolded becomes its half about the centre line."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from drafting_core.ink.pen_line import Ring
from drafting_core.ink.polylines import (
    Flags,
    NearPoints,
    Numbers,
    Points,
    area_of,
    diagonal,
    resampled,
)
from drafting_core.text.errors import OutlineError
from drafting_core.text.lengths import in_words
from drafting_core.text.words import _

RIGHT = "right"
MEAN = "mean"
#: Halves that differ by more than this part of the piece's diagonal (root mean square) are none.
_UNLIKE = 0.02
#: Points this near to the centre line (mm) are on neither side of it.
_ON_CENTRE_LINE = 1.0
#: Halves are compared as far apart as this (mm).
_FARTHEST = 40.0
#: The centre line is found from points about so far apart (mm).
_COARSE = 2.0
#: … and no more of them than this.
_MOST_COARSE = 600
#: Rounds of finding the centre line: each takes the nearest points anew.
_ROUNDS = 12


class Halved(NamedTuple):
    """Half of a ring.

    Attributes:
        ring: the half, closed along the centre line.
        axis: two points of the centre line: its ends on the half, in mm.
        rms: the root mean square of the halves' difference, in mm.
        largest: the largest difference, in mm.
        at: where that is, on the half that was kept.
    """

    ring: Ring
    axis: tuple[complex, complex]
    rms: float
    largest: float
    at: complex


def halved(ring: Ring, half: str) -> Halved:
    """Return a half of a piece that was traced unfolded.

    Args:
        ring: the whole piece.
        half: `RIGHT` or "left" as seen on the sheet, or `MEAN`: the left half moved halfway to
            the mirrored right one.

    Raises:
        OutlineError: if its halves are not alike, or the centre line meets it elsewhere than at
            top and bottom.
    """
    points = ring.points
    size = diagonal(points)
    step = float(abs(points[1] - points[0]))
    centre, along, rms = min(
        (_centre_line(_coarse(points, step), way, size) for way in _main_axes(points)),
        key=lambda found: found[2],
    )
    if rms > _UNLIKE * size:
        raise OutlineError(
            _("its two halves are not alike: they differ by {rms} on the average.").format(
                rms=in_words(min(rms, size))
            ),
            remedy=_(
                "Take only a whole piece that is the same on both sides, or leave out --half."
            ),
        )
    # Up the sheet: its left is then the sheet's left.
    if along.imag > 0 or (along.imag == 0 and along.real < 0):
        along = -along
    beside = (points - centre) * np.conj(along)
    is_left = _settled(beside.imag)
    changes = np.flatnonzero(is_left != np.roll(is_left, 1))
    if len(changes) != 2:
        raise OutlineError(
            _("its centre line meets the outline {n} times, where a whole piece has it meet twice.")
            .format(n=len(changes)),
            remedy=_("Take out what lies on the centre line, such as a dart or a fold mark."),
        )  # fmt: skip
    wanted = is_left if half != RIGHT else ~is_left
    first = int(changes[0]) if wanted[changes[0]] else int(changes[1])
    order = (first + np.arange(len(points))) % len(points)
    numbers = order[wanted[order]]
    kept, known = points[numbers], ring.known[numbers]
    mirrored = centre + along**2 * np.conj(points - centre)
    nearest, away = NearPoints(mirrored, min(max(10.0, 0.05 * size), _FARTHEST)).nearest(kept)
    away = np.where(nearest >= 0, away, 0.0)
    clear = np.abs(((kept - centre) * np.conj(along)).imag) > 2.0
    worst = int(np.argmax(np.where(clear, away, 0.0)))
    rms = float(np.sqrt(np.mean(away[clear] ** 2))) if clear.any() else 0.0
    if half == MEAN:
        kept = np.where(nearest >= 0, (kept + mirrored[nearest]) / 2, kept)
        known = known & np.where(nearest >= 0, ring.known[nearest], True)
    ends = [
        complex(centre + along * ((z - centre) * np.conj(along)).real) for z in (kept[0], kept[-1])
    ]
    middle = resampled(np.array([ends[1], ends[0]]), step, closed=False)
    closed = np.concatenate([kept, middle[:-1]])
    drawn = np.concatenate([known, np.ones(len(middle) - 1, dtype=np.bool_)])
    even = resampled(closed, step, closed=True)
    places = np.linspace(0, len(closed), len(even), endpoint=False).astype(np.int64)
    spikes = tuple(
        spike
        for spike in ring.spikes
        if (((spike.mean() - centre) * np.conj(along)).imag < 0) == (half != RIGHT)
    )
    return Halved(
        Ring(even, drawn[np.minimum(places, len(drawn) - 1)], ring.pen, spikes),
        (ends[0], ends[1]),
        rms,
        float(away[worst]),
        complex(kept[worst]),
    )


def _coarse(points: Points, step: float) -> Points:
    """Return fewer points: to lay one half upon the other, one every few mm is enough."""
    return points[:: max(1, round(_COARSE / step), len(points) // _MOST_COARSE)]


def _settled(beside: Numbers) -> Flags:
    """Return on which side points are; those on the line itself go with the ones before them."""
    sure = np.flatnonzero(np.abs(beside) > _ON_CENTRE_LINE)
    before = np.searchsorted(sure, np.arange(len(beside)), side="right") - 1
    return np.asarray(beside[sure[before]] < 0)


def _main_axes(points: Points) -> list[complex]:
    """Return the directions of the two main axes of a closed polyline's area."""
    following = np.roll(points, -1)
    weight = (points.real * following.imag - points.imag * following.real) / 2
    area = area_of(points)
    centre = np.sum((points + following) * weight) / (3 * area)
    a, b = points - centre, following - centre
    weight = (a.real * b.imag - a.imag * b.real) / 2
    # The second moment ∫z² of each triangle from the centre.
    moment = complex(np.sum((a**2 + a * b + b**2) * weight) / 6) * math.copysign(1.0, area)
    axis = np.sqrt(moment) / max(abs(np.sqrt(moment)), 1e-12) if abs(moment) > 1e-9 else 1.0
    return [complex(axis), complex(axis * 1j)]


def _centre_line(points: Points, along: complex, size: float) -> tuple[complex, complex, float]:
    """Return a point and the direction of the line that mirrors points best, and how well.

    Distances are taken across the outline and those of more than a few mm count less, so that
    one side's fault does not pull the line over.
    """
    following = np.roll(points, -1)
    weight = points.real * following.imag - points.imag * following.real
    centre = complex(np.sum((points + following) * weight) / (3 * np.sum(weight)))
    near = NearPoints(points, 0.1 * size)
    tangents = following - np.roll(points, 1)
    normals = 1j * tangents / np.maximum(np.abs(tangents), 1e-12)
    rms = math.inf
    for _round in range(_ROUNDS):
        mirrored = centre + along**2 * np.conj(points - centre)
        nearest, away = near.nearest(mirrored)
        met = nearest >= 0
        if met.mean() < 0.5:
            return centre, along, math.inf
        across = np.conj(normals[nearest[met]])
        apart = ((mirrored[met] - points[nearest[met]]) * across).real
        rms = float(np.sqrt(np.mean(np.where(met, away, 0.1 * size) ** 2)))
        trust = np.minimum(1.0, 2.0 / np.maximum(np.abs(apart), 1e-9)) ** 0.5
        turned = (2j * (mirrored[met] - centre) * across).real
        shifted = (2j * along * across).real
        matrix = np.stack([turned, shifted], axis=1) * trust[:, None]
        turn, shift = np.linalg.lstsq(matrix, -apart * trust, rcond=None)[0]
        centre += complex(shift * 1j * along)
        along *= complex(np.exp(1j * turn))
    return centre, along, rms
