"""A drawn allowance: what lies between a stitch line and a cut line round it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.pen_line import step_for
from drafting_core.ink.polylines import NearPoints, Numbers, Points, diagonal, resampled
from drafting_core.ink.trace_corners import find_corners
from drafting_core.sheet.block_faces import WIDEST_BAND, is_dart_chain
from drafting_core.sheet.graded_sizes import graded_apart, with_fewer_points

#: Points looked at along a line are so far apart (mm).
_STEP = 1.0
#: Along a seam an allowance is as wide as in its middle, give or take this (mm) …
_EVEN = 0.9
#: … over this part of all seams' length.
_EVEN_PART = 0.9
#: At its ends the nearest place of the cut line may be another seam's: so many widths are left
#: out there.
_END = 1.15
#: An edge on the fold has its cut line upon it (mm).
_ON_FOLD = 1.5
#: Such an edge is straight: it bows by at most this (mm).
_FOLD_BOWS = 2.0
#: No allowance is narrower (mm).
_NARROWEST = 2.5
#: A line is another, stretched, if it misses it by at most this (mm); both without points by less
#: than the second.
_STRETCHED, _SIMPLE = 0.25, 0.15
#: A seam shorter than this (mm), its ends left out, tells nothing.
_TELLS = 6.0


class SeamWidth(NamedTuple):
    """How wide the band is along a seam.

    Attributes:
        points: of the seam, from corner to corner; shape (n,).
        width: its usual width in mm.
        strays: how far the width strays from it at the most, in mm, the ends left out.
        is_leg: whether it is a dart's leg, which has none.
    """

    points: Points
    width: float
    strays: float
    is_leg: bool


def seam_widths(stitch: Points, cut: Points) -> list[SeamWidth]:
    """Return how wide the band is between two closed lines, seam by seam of the inner one.

    Args:
        stitch: the inner one, shape (n,), in mm.
        cut: the outer one.
    """
    size = diagonal(stitch)
    step = min(_STEP, 2 * step_for(size))
    even = resampled(stitch, step, closed=True)
    corners = find_corners(even, step, size)
    if len(corners) < 2:
        corners = [0, len(even) // 2]
    dense = resampled(cut, step / 4, closed=True)
    number, away = NearPoints(dense, WIDEST_BAND).nearest(even)
    away = np.where(number >= 0, away, WIDEST_BAND)
    parts = []
    for first, last in zip(corners, [*corners[1:], corners[0] + len(even)], strict=True):
        numbers = np.arange(first, last + 1) % len(even)
        parts.append((even[numbers], away[numbers]))
    legs = _legs(parts)
    return [
        _width(points, widths, step, is_leg=k in legs) for k, (points, widths) in enumerate(parts)
    ]


def has_darts(ring: Points) -> bool:
    """Tell whether a closed line goes into a dart: a size does, a cut line does not.

    Args:
        ring: interior at 1j·direction; shape (n,), in mm.
    """
    size = diagonal(ring)
    step = min(_STEP, 2 * step_for(size))
    even = resampled(ring, step, closed=True)
    corners = find_corners(even, step, size)
    if len(corners) < 3:
        return False
    numbers = [
        np.arange(first, last + 1) % len(even)
        for first, last in zip(corners, [*corners[1:], corners[0] + len(even)], strict=True)
    ]
    return bool(_legs([(even[part], np.zeros(len(part))) for part in numbers]))


def _legs(parts: Sequence[tuple[Points, Numbers]]) -> set[int]:
    found: set[int] = set()
    for k, (points, _widths) in enumerate(parts):
        following = parts[(k + 1) % len(parts)][0]
        both = np.concatenate([points, following[1:]])
        turned = np.angle((following[-1] - following[0]) / (points[-1] - points[0]))
        way_in = np.sign(turned)
        if is_dart_chain(both) and way_in < 0:
            found |= {k, (k + 1) % len(parts)}
    return found


def _width(points: Points, widths: Numbers, step: float, *, is_leg: bool) -> SeamWidth:
    usual = float(np.median(widths))
    margin = int(np.ceil((_END * float(widths.max()) + 3.0) / step))
    margin = min(margin, max(0, (len(widths) - 7) // 2))
    inner = widths[margin : len(widths) - margin]
    usual = float(np.median(inner)) if len(inner) else usual
    strays = float(np.percentile(np.abs(inner - usual), 95)) if len(inner) else 0.0
    return SeamWidth(points, usual, strays, is_leg)


def is_allowance(stitch: Points, cut: Points) -> bool:
    """Tell whether a closed line round another runs along each of its seams at an even distance.

    Args:
        stitch: the inner one, interior at 1j·direction; shape (n,), in mm.
        cut: the outer one.
    """
    if has_darts(cut):
        return False
    seams = [seam for seam in seam_widths(stitch, cut) if not seam.is_leg]
    lengths = np.array([float(np.abs(np.diff(seam.points)).sum()) for seam in seams])
    told = lengths > _TELLS
    even = np.array([seam.strays <= _EVEN for seam in seams])
    whole = float(lengths[told].sum())
    if not told.any() or float(lengths[told & even].sum()) < _EVEN_PART * whole:
        return False
    widths = np.array([seam.width for seam in seams])
    on_fold = widths <= _ON_FOLD
    fits = on_fold | ((widths >= _NARROWEST) & (widths < WIDEST_BAND - 1.0))
    folds = [seam for seam, is_on, is_told in zip(seams, on_fold, told, strict=True)
             if is_on and is_told]  # fmt: skip
    if len(folds) > 1 or any(_bow(seam.points) > _FOLD_BOWS for seam in folds):
        return False
    return bool(fits[told & even].all() and (widths[told] > _ON_FOLD).any())


def may_be_a_size(stitch: Points, cut: Points) -> bool:
    """Tell whether a cut line round a block, of several widths, may be its next size instead.

    It may where it is the block stretched: so is a size, and so may an allowance happen to be.

    Args:
        stitch: the block's line, interior at 1j·direction; shape (n,), in mm.
        cut: the line round it.
    """
    widths = [
        seam.width
        for seam in seam_widths(stitch, cut)
        if not seam.is_leg and seam.width > _ON_FOLD
        and float(np.abs(np.diff(seam.points)).sum()) > _TELLS
    ]  # fmt: skip
    if not widths or max(widths) - min(widths) <= _EVEN:
        return False
    fewer = (with_fewer_points(line, _SIMPLE) for line in (stitch, cut))
    return graded_apart(*fewer) <= _STRETCHED


def _bow(points: Points) -> float:
    """Return how far a line strays from its chord, in mm."""
    chord = complex(points[-1] - points[0])
    return float(np.abs(((points - points[0]) * np.conj(chord)).imag).max()) / abs(chord)
