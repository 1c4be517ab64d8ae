"""The blocks that all lines of a sheet draw together: stitch lines, their cut lines, sizes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.block_faces import NestedOutline, nested_outlines, top_components
from drafting_core.ink.drawn_allowance import is_allowance
from drafting_core.ink.ink_graph import InkGraph, drawn_share, ink_graph
from drafting_core.ink.line_graph import InkLine
from drafting_core.ink.pen_line import Ring, step_for
from drafting_core.ink.plane_faces import PlaneFaces, without_loose_ends
from drafting_core.ink.polylines import Points, diagonal, resampled

#: What lies so near to what was not drawn was not drawn itself (mm).
_UNDRAWN = 0.6


class DrawnBlock(NamedTuple):
    """A block among the lines of a sheet.

    Attributes:
        ring: its stitch line.
        cut_line: the line of its drawn allowance, closed, shape (n,); or None.
        size: which of several nested sizes it is, from 1 for the innermost; 0 where it is alone.
        dashed: whether its line is dashed or dotted.
        others: lines that are neither its stitch line nor its cut line, in it or beside it.
    """

    ring: Ring
    cut_line: Points | None
    size: int
    dashed: bool
    others: tuple[InkLine, ...] = ()


def drawn_blocks(
    closed: Sequence[Points], strokes: Sequence[Points], gap: float, least: float
) -> list[DrawnBlock]:
    """Return the blocks that the lines of a sheet draw, none where nothing closes.

    Args:
        closed: closed contours of ink, each of shape (n,), in true mm.
        strokes: open lines, each of shape (n,).
        gap: the largest gap in mm that is closed.
        least: the diagonal in mm of the smallest block.
    """
    ink = ink_graph(closed, strokes, gap)
    if ink is None or not ink.graph.lines:
        return []
    plane = PlaneFaces(without_loose_ends(ink.graph))
    found: list[DrawnBlock] = []
    for number in top_components(plane, least):
        found += _blocks_of(nested_outlines(plane, number), ink, plane)
    return found


def _blocks_of(
    outlines: Sequence[NestedOutline], ink: InkGraph, plane: PlaneFaces
) -> list[DrawnBlock]:
    if len(outlines) == 1:
        return [_block(outlines[0], ink, plane)]
    if len(outlines) == 2 and is_allowance(outlines[0].points, outlines[1].points):
        return [_block(outlines[0], ink, plane, cut_line=outlines[1].points)]
    return [
        _block(outline, ink, plane, size=number) for number, outline in enumerate(outlines, start=1)
    ]


def _block(
    outline: NestedOutline,
    ink: InkGraph,
    plane: PlaneFaces,
    *,
    cut_line: Points | None = None,
    size: int = 0,
) -> DrawnBlock:
    points = outline.points
    even = resampled(points, step_for(diagonal(points)), closed=True)
    known = drawn_share(even, ink.undrawn, _UNDRAWN)
    lines = [plane.graph.lines[half.line] for half in outline.halves]
    dashed = sum(line.length for line in lines if line.dashed)
    is_dashed = dashed > 0.5 * sum(line.length for line in lines)
    if is_dashed or not known.any():
        # The gaps of a dashed line are known by the dashes about them.
        known = np.ones(len(even), dtype=np.bool_)
    return DrawnBlock(Ring(even, known, ink.pen), cut_line, size, is_dashed)
