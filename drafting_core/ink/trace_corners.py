"""Corners of a traced outline, found on its smoothed line."""

from __future__ import annotations

import math

import numpy as np

from drafting_core.ink.polylines import Numbers, Points

#: A turn is measured between two chords of this length (mm), one on either side …
CHORD = 5.0
#: … and again between two of this length, over which a hand's wobble is averaged away.
LONG_CHORD = 10.0
#: What lies nearer to a corner than this is left out: there a pen's line is rounded (mm).
ROUNDED = 1.0
#: A corner turns by at least this, measured both ways. The seams of a block turn by more than
#: 30° where they meet; a wobbling hand and a curve between chords change that by a few degrees.
LEAST_TURN = math.radians(20.0)
#: A tight curve turns too, but less between shorter chords, while a corner turns as much: so
#: much of the long chords' turn at least is left between the short ones.
SHARP = 0.7
#: Blocks smaller than this (the diagonal in mm), as of dolls, have all this in proportion.
_FULL_SIZE = 250.0


def size_factor(size: float) -> float:
    """Return what lengths about a corner are multiplied by, for a block of this diagonal (mm)."""
    return min(1.0, size / _FULL_SIZE)


def turns(ring: Points, step: float, chord: float, skipped: float) -> Numbers:
    """Return the turn at each point of a ring, in radians, between chords before and after it.

    Args:
        ring: evenly spread points, shape (n,).
        step: the distance between them, in mm.
        chord: the length of each chord, in mm.
        skipped: how far from the point the chords begin, in mm.
    """
    near, far = max(1, round(skipped / step)), max(2, round((skipped + chord) / step))
    # A line through many points is steadier than one through two: sums over the stretch.
    weights = np.arange(near, far + 1) - (near + far) / 2
    before = np.zeros(len(ring), dtype=np.complex128)
    after = np.zeros(len(ring), dtype=np.complex128)
    for k, weight in zip(range(near, far + 1), weights, strict=True):
        after += weight * np.roll(ring, -k)
        before -= weight * np.roll(ring, k)
    return np.angle(after / np.where(np.abs(before) > 0, before, 1.0))


def find_corners(ring: Points, step: float, size: float) -> list[int]:
    """Return the numbers of the points that lie at corners, in order.

    Args:
        ring: evenly spread points, shape (n,).
        step: the distance between them, in mm.
        size: the diagonal of the whole, in mm.
    """
    factor = size_factor(size)
    short = np.abs(turns(ring, step, CHORD * factor, ROUNDED * factor))
    long = np.abs(turns(ring, step, LONG_CHORD * factor, ROUNDED * factor))
    sharp = np.where((short >= LEAST_TURN) & (long >= LEAST_TURN), short, 0.0)
    sharp[short < SHARP * long] = 0.0
    corners: list[int] = []
    reach = round(CHORD * factor / step)
    for number in np.argsort(-sharp).tolist():
        if sharp[number] <= 0.0:
            break
        if all(_apart(number, other, len(ring)) > reach for other in corners):
            corners.append(number)
    return sorted(corners)


def _apart(number: int, other: int, count: int) -> int:
    away = abs(number - other)
    return min(away, count - away)
