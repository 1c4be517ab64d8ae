"""Traces that no pen drew are told before they are read, and noisy ones get fewer points.

A scan whose threshold was too dark gives ink in areas, with thousands of black specks around and
white ones within; one without any smoothing a node for every dot. Either would cost memory and
time without end, and lead to no block.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Protocol

import numpy as np

from drafting_core.ink.polylines import Numbers, Points, too_many_nodes
from drafting_core.text.errors import DraftingError, OutlineError
from drafting_core.text.words import _

#: Contours whose points lie nearer to each other than this (mm, at the median) are followed in
#: steps of twice this at least: a scanner's dot at 300 dpi is no larger.
_FINEST = 0.1
#: A line is noisy where the way by every so manieth point …
_LAG = 4
#: … is less than this part of the way by all of them.
_BACK_AND_FORTH = 0.5
#: So few points cost nothing, however near they lie.
_FEW = 20_000
#: A sheet has this many shapes at least before it can be flooded …
_MANY = 1000
#: … each smaller than this part of the largest, …
_SPECK_PART = 0.03
#: … their borders together so many times as long as the largest is wide, …
_SPECKLED = 8.0
#: … both black and white ones, the rarer at least this part of all, …
_OF_EITHER = 0.1
#: … and ink over this part of the box about it all.
_FLOODED = 0.1
#: More points than this are no sheet of pen lines, however they lie.
_MOST_POINTS = 1_500_000
#: More shapes than this are not looked at one by one: the smallest are specks, …
_MOST_SHAPES = 15_000
#: … if they are no larger than this (mm).
_DUST = 3.0


def thinned(points: Points, *, closed: bool) -> Points:
    """Return a line of noisy nodes with fewer points, each the mean of neighbours.

    The mean, and not every nth: a tracer's noise goes both ways, and half of it goes with every
    halving of the points.

    Args:
        points: shape (n,), in mm.
        closed: whether its last point is joined to its first.
    """
    while len(points) > _FEW and _is_noisy(points):
        even = points[: len(points) // 2 * 2]
        means = (even[::2] + even[1::2]) / 2
        points = means if closed else np.concatenate([points[:1], means, points[-1:]])
    return points


def _is_noisy(points: Points) -> bool:
    """Tell whether points lie nearer to each other than dots, or go back and forth."""
    steps = np.abs(np.diff(points))
    way = float(np.abs(np.diff(points[::_LAG])).sum())
    return float(np.median(steps)) < _FINEST or way < _BACK_AND_FORTH * float(steps.sum())


class _Sizes(NamedTuple):
    """Of many lines: the diagonals of their boxes, signed areas and lengths; each shape (n,)."""

    diagonals: Numbers
    areas: Numbers
    borders: Numbers


def _sizes(lines: Sequence[Points]) -> _Sizes:
    """Return the sizes of closed lines, of all at once: there may be a hundred thousand."""
    counts = np.array([len(points) for points in lines])
    whole, first = np.concatenate(lines), np.cumsum(counts) - counts
    following = np.roll(whole, -1)
    following[first + counts - 1] = whole[first]
    away = whole - np.repeat(whole[first], counts)
    ahead = following - np.repeat(whole[first], counts)
    spans = [
        np.maximum.reduceat(part, first) - np.minimum.reduceat(part, first)
        for part in (whole.real, whole.imag)
    ]
    areas = np.add.reduceat((np.conj(away) * ahead).imag, first) / 2
    borders = np.add.reduceat(np.abs(following - whole), first)
    return _Sizes(np.hypot(*spans), areas, borders)


class SheetMap(Protocol):
    """A map from a drawing to true mm: of a plane, or through a lens."""

    def __call__(self, points: Points) -> Points:
        """Return points sent through the map, shape kept."""


def mapped_all(lines: Sequence[Points], to: SheetMap, *, closed: bool) -> list[Points]:
    """Return lines sent through a map, with no more points than a drawn line needs.

    Args:
        lines: each of shape (n,).
        to: the map to true mm.
        closed: whether their ends are joined.
    """
    if not lines:
        return []
    ends = np.cumsum([len(points) for points in lines])
    parts = np.split(to(np.concatenate(lines)), ends[:-1])
    return [thinned(points, closed=closed) if len(points) > _FEW else points for points in parts]


def checked_shapes(closed: Sequence[Points], strokes: Sequence[Points]) -> list[int]:
    """Return the numbers of the closed contours that are worth a look: all but too much dust.

    Args:
        closed: closed contours, each of shape (n,), in true mm, white ones turning the other way
            than black ones where the tracer says so.
        strokes: open lines.

    Raises:
        OutlineError: if ink floods the sheet, or if it has far too many nodes or shapes.
    """
    sizes = _sizes(closed) if len(closed) >= _MANY else None
    if sizes is not None and _is_flooded(sizes, closed):
        raise too_dark()
    if sum(map(len, closed)) + sum(map(len, strokes)) > _MOST_POINTS:
        raise too_many_nodes()
    if sizes is None:
        return list(range(len(closed)))
    order = np.argsort(-sizes.diagonals, kind="stable")
    if len(order) > _MOST_SHAPES and sizes.diagonals[order[_MOST_SHAPES]] > _DUST:
        raise too_many_nodes()
    return sorted(order[:_MOST_SHAPES].tolist())


def _is_flooded(sizes: _Sizes, closed: Sequence[Points]) -> bool:
    """Tell whether ink lies in areas with ragged borders, and not in lines."""
    largest = float(sizes.diagonals.max())
    small = sizes.diagonals < _SPECK_PART * largest
    if small.sum() < _MANY or sizes.borders[small].sum() < _SPECKLED * largest:
        return False
    whites = float((sizes.areas[small] > 0.0).mean())
    whole = np.concatenate([closed[k] for k in np.flatnonzero(~small).tolist()])
    box = float(np.ptp(whole.real) * np.ptp(whole.imag))
    is_both = min(whites, 1.0 - whites) >= _OF_EITHER
    return is_both and abs(float(sizes.areas.sum())) >= _FLOODED * box


def too_dark() -> DraftingError:
    """Return the error for a sheet that the threshold of its trace made dark."""
    return OutlineError(
        _("it is too dark: ink lies in areas over the sheet, not in lines."),
        thing=_("The trace"),
        remedy=_(
            "Trace again with a lower brightness threshold; where the sheet is darker on one "
            "side, scan it again with the lid closed."
        ),
    )
