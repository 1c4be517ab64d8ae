"""What cannot be told surely of a silhouette: the points of narrow darts, and shallow darts."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from drafting_core.ink.pen_line import Ring
from drafting_core.ink.polylines import diagonal
from drafting_core.ink.trace_corners import size_factor
from drafting_core.text.lengths import in_words, told_length
from drafting_core.text.words import _
from drafting_core.trace.clean_outline import CleanOutline
from drafting_core.trace.punched_notches import DEEPEST
from drafting_core.trace.seam_runs import DartPoint

#: A scan knows an edge's place to about this (mm).
_SHARP = 0.1
#: A point that is known no worse than this (mm) is known well.
_WELL = 1.2
#: An edge that ends so far before the point (mm) was closed by the scanner.
_CLOSED = 0.3


def point_unsure(outline: CleanOutline, ring: Ring) -> float:
    """Return how badly the point of a silhouette's narrowest dart is known, in mm; 0 where well.

    Args:
        outline: the block's.
        ring: the traced edge, its notches taken off.
    """
    return max((by for _dart, by in _unsure(outline, ring)), default=0.0)


def _unsure(outline: CleanOutline, ring: Ring) -> Iterator[tuple[DartPoint, float]]:
    """Yield the darts whose points are known badly, and to how many mm."""
    count = len(outline.runs)
    for dart in outline.darts:
        legs = outline.runs[dart.first], outline.runs[(dart.first + 1) % count]
        point = legs[0].end
        ways = [(z - point) / (abs(z - point) or 1.0) for z in (legs[0].start, legs[1].end)]
        half_sine = abs(ways[0] - ways[1]) / 2
        ends_before = float(np.abs(ring.points - point).min()) > _CLOSED
        if ends_before and half_sine > 0.0 and _SHARP / half_sine > _WELL:
            yield dart, _SHARP / half_sine


def edge_doubts(outline: CleanOutline, ring: Ring) -> Iterator[str]:
    """Yield what the drafter should look at in a block made of a silhouette.

    Args:
        outline: the block's.
        ring: the traced edge, its notches taken off.
    """
    count = len(outline.runs)
    factor = size_factor(diagonal(ring.points))
    unsure = list(_unsure(outline, ring))
    for dart in outline.darts:
        legs = outline.runs[dart.first], outline.runs[(dart.first + 1) % count]
        start, point, end = legs[0].start, legs[0].end, legs[1].end
        depth = abs((start + end) / 2 - point)
        if depth < DEEPEST * factor:
            yield _(
                "A dart only {depth} deep was found: if it is a notch, fill it in on the trace."
            ).format(depth=in_words(depth))
        for by in (by for other, by in unsure if other is dart):
            yield _(
                "The point of the dart that is {width} wide is known to about {by} only: a scan "
                "closes so narrow an end, and its legs meet at a small angle. Measure its length, "
                "{depth}, on the template."
            ).format(
                width=told_length(abs(end - start)),
                by=told_length(by),
                depth=told_length(depth),
            )
