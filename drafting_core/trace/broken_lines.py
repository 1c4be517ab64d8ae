"""Lines that a trace broke: how much of them is missing, and what helps."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.polylines import NearPoints, Points
from drafting_core.text.errors import NothingClosedError
from drafting_core.text.words import _
from drafting_core.trace.ink_edges import ink_edges

#: Pieces further apart than this (mm) belong to no line together.
_WIDEST = 12.0
#: A line that breaks in fewer places has gaps that a hand left, …
_FEWEST = 4
#: … and so has one of which less than this part is missing.
_LEAST_SHARE = 0.02
#: Lines are no block that are shorter than this together (mm).
_SHORTEST = 100.0


class Missing(NamedTuple):
    """What is missing of a sheet's lines.

    Attributes:
        gaps: how many gaps there are between their pieces.
        share: which part of their length these are.
        drawn: how long the pieces are together, in mm.
    """

    gaps: int
    share: float
    drawn: float = 0.0


def missing_ink(closed: Sequence[Points], strokes: Sequence[Points]) -> Missing:
    """Return what is missing of lines that a trace broke to pieces.

    Pieces are joined by the shortest gaps until all that lie near to each other hang together.

    Args:
        closed: closed contours, each of shape (n,), in true mm.
        strokes: open lines.
    """
    edges = ink_edges(closed, strokes)
    chosen = np.flatnonzero(edges.drawn)
    if not len(chosen):
        return Missing(0, 0.0)
    points, shapes = edges.points[chosen], edges.shapes[chosen]
    one, other = NearPoints(points, _WIDEST).pairs(points)
    apart = shapes[one] < shapes[other]
    one, other = one[apart], other[apart]
    distances = np.abs(points[one] - points[other])
    order = np.argsort(distances, kind="stable")
    roots = list(range(int(shapes.max()) + 1))

    def root(k: int) -> int:
        while roots[k] != k:
            roots[k] = roots[roots[k]]
            k = roots[k]
        return k

    # The shortest way between two pieces comes first: others between them join nothing anew.
    pairs, first = np.unique(
        shapes[one[order]] * len(roots) + shapes[other[order]], return_index=True
    )
    by_size = np.argsort(first)
    gaps = []
    for pair, place in zip(pairs[by_size].tolist(), first[by_size].tolist(), strict=True):
        a, b = root(pair // len(roots)), root(pair % len(roots))
        if a != b:
            roots[a] = b
            gaps.append(float(distances[order[place]]))
    drawn = float(edges.lengths[chosen].sum())
    return Missing(len(gaps), sum(gaps) / (sum(gaps) + drawn), drawn)


def told_what_is_missing(
    error: NothingClosedError, closed: Sequence[Points], strokes: Sequence[Points]
) -> NothingClosedError:
    """Return what is said where nothing closes: of lines in pieces, how to trace them anew.

    Args:
        error: what would be said of one gap.
        closed: closed contours, each of shape (n,), in true mm.
        strokes: open lines.
    """
    missing = missing_ink(closed, strokes)
    is_hand = missing.gaps < _FEWEST or missing.share < _LEAST_SHARE
    if is_hand or missing.drawn < _SHORTEST:
        return error
    return NothingClosedError(
        _(
            "no closed line was found: the lines are broken in {n} places, and {share} % of their "
            "length is missing."
        ).format(n=missing.gaps, share=max(1, round(100 * missing.share))),
        remedy=_(
            "Trace again with a higher brightness threshold, so that faint lines hold together; "
            "where they still break, or a picture itself was cleaned up, scan at 300 dpi or go "
            "over them with a darker pen."
        ),
        place=error.place,
    )
