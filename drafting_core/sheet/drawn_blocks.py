"""The blocks that all lines of a sheet draw together: stitch lines, their cut lines, sizes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from drafting_core.ink.ink_graph import InkGraph, drawn_share, ink_graph
from drafting_core.ink.join_strokes import NO_GAP, Join
from drafting_core.ink.line_graph import LineGraph
from drafting_core.ink.pen_line import Ring, length_round, step_for
from drafting_core.ink.plane_faces import HalfLine, PlaneFaces, without_loose_ends
from drafting_core.ink.polylines import NearPoints, Points, area_of, diagonal, resampled
from drafting_core.sheet.block_faces import NestedOutline, nested_outlines, top_components
from drafting_core.sheet.crossing_lines import (
    changes_line,
    closed_by_crossings,
    runs_together,
)
from drafting_core.sheet.drawn_allowance import is_allowance
from drafting_core.sheet.graded_sizes import GRADED, SIMPLE, graded_apart, with_fewer_points
from drafting_core.sheet.sheet_errors import crossing_blocks, several_sizes
from drafting_core.sheet.size_walks import deepest_place, walked_sizes
from drafting_core.text.errors import OutlineError

#: What lies so near to what was not drawn was not drawn itself (mm).
_UNDRAWN = 0.6
#: A line of more than this (mm) that runs beside an outline between these distances (mm), …
_LONG = 20.0
_BESIDE = (1.2, 32.0)
#: … in its direction (cosine), over this part of its length, is another size's.
_PARALLEL = 0.97
_BESIDE_PART = 0.18
#: Of sizes, so much (mm) of closed lines may be left over: specks of ink between two lines.
_LEFT_OVER = 30.0
#: A line's loose end that leaves an outline is at most so long (mm) where a dart's legs end, …
_TAIL = 40.0
#: … and begins this near to it (mm).
_AT_TIP = 1.2
#: What is larger than this (mm) and on the average narrower than this lies between two sizes.
_LARGE, _NARROW = 120.0, 8.0
#: Sizes of one piece: the smallest has at least this part of the largest one's area.
_ALIKE = 0.4
#: … and lies in its place: this part of the box about it is in the largest one's.
_IN_PLACE = 0.85


class DrawnBlock(NamedTuple):
    """A block among the lines of a sheet.

    Attributes:
        ring: its stitch line.
        cut_line: the line of its drawn allowance, closed, shape (n,); or None.
        size: which of several nested sizes it is, from 1 for the innermost; 0 where it is alone.
        dashed: whether its line is dashed or dotted.
        joins: where it was joined.
    """

    ring: Ring
    cut_line: Points | None
    size: int
    dashed: bool
    joins: tuple[Join, ...] = ()


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
        found += _told_apart(number, ink, plane)
    for block in found:
        _check_width(block)
    return found


def _check_width(block: DrawnBlock) -> None:
    """Refuse what lies between two lines that run beside each other: it is no block.

    Raises:
        OutlineError: if the block is so narrow.
    """
    points = block.ring.points
    if diagonal(points) > _LARGE and 2 * abs(area_of(points)) < _NARROW * length_round(points):
        raise several_sizes(complex(points[0]))


def _told_apart(number: int, ink: InkGraph, plane: PlaneFaces) -> list[DrawnBlock]:
    """Return the block, or the sizes, that connected lines draw.

    Raises:
        OutlineError: if blocks or sizes cannot be told apart.
    """
    try:
        blocks = _blocks_of(nested_outlines(plane, number), ink, plane)
        _check_lines_beside(blocks, ink)
    except OutlineError:
        blocks = _walked_blocks(number, ink, plane)
        if not blocks:
            raise
        _check_lines_beside(blocks, ink)
        return blocks
    if len(blocks) < 2 or plane.graph.nodes.size <= len(blocks) or _is_graded(blocks):
        return blocks
    walked = _walked_blocks(number, ink, plane)
    if not walked:
        unclear = runs_together(plane.graph, ink.pen)
        if unclear is not None:
            raise several_sizes(unclear)
        return blocks
    _check_lines_beside(walked, ink)
    return walked


def _is_graded(blocks: Sequence[DrawnBlock]) -> bool:
    """Tell whether every size is the next one, stretched."""
    rings = [with_fewer_points(block.ring.points, SIMPLE) for block in blocks]
    return all(graded_apart(a, b) <= GRADED for a, b in pairwise(rings))


def _walked_blocks(number: int, ink: InkGraph, plane: PlaneFaces) -> list[DrawnBlock]:
    rings = _walk_sizes(ink, plane, number)
    return [_block(ring, (), ink, plane, size=k) for k, ring in enumerate(rings or (), start=1)]


def _check_lines_beside(blocks: Sequence[DrawnBlock], ink: InkGraph) -> None:
    """Refuse outlines beside which other lines run on and on.

    Raises:
        OutlineError: if sizes cannot be told apart.
    """
    lines = [block.ring.points for block in blocks]
    lines += [block.cut_line for block in blocks if block.cut_line is not None]
    taken = np.concatenate([resampled(points, 1.0, closed=True) for points in lines])
    whole = min(length_round(block.ring.points) for block in blocks)
    lines_of_sheet = [line for line in ink.graph.lines if line.length > _LONG]
    points = [resampled(line.points, 1.0, closed=False) for line in lines_of_sheet]
    if not points:
        return
    along = np.concatenate([np.gradient(each) for each in points])
    places = np.concatenate(points)
    number, away = NearPoints(taken, _BESIDE[1]).nearest(places)
    ways = np.roll(taken, -1) - np.roll(taken, 1)
    cosine = np.abs((along * np.conj(ways[number])).real) / np.maximum(
        np.abs(along) * np.abs(ways[number]), 1e-9
    )
    beside = (number >= 0) & (away >= _BESIDE[0]) & (cosine > _PARALLEL)
    if beside.sum() > _BESIDE_PART * whole:
        raise several_sizes(complex(places[np.flatnonzero(beside)[len(places[beside]) // 2]]))


def _blocks_of(
    outlines: Sequence[NestedOutline], ink: InkGraph, plane: PlaneFaces
) -> list[DrawnBlock]:
    """Return the block, or the sizes, that nested outlines are.

    Raises:
        OutlineError: if they are sizes that cannot be told apart.
    """
    if len(outlines) == 1:
        crossing = changes_line(plane.graph, ink.pen, outlines[0].halves)
        if crossing is not None:
            sizes = _crossing_sizes(ink, plane)
            if sizes:
                return sizes
            raise crossing_blocks(crossing)
        return [_block(outlines[0].points, outlines[0].halves, ink, plane)]
    if len(outlines) == 2 and is_allowance(outlines[0].points, outlines[1].points):
        inner, outer = outlines
        return [_block(inner.points, inner.halves, ink, plane, cut_line=outer.points)]
    crossing = any(changes_line(plane.graph, ink.pen, one.halves) is not None for one in outlines)
    sizes = _crossing_sizes(ink, plane) if crossing else []
    if sizes:
        return sizes
    _check_all_followed(outlines, plane)
    for outline in outlines:
        crossing = changes_line(plane.graph, ink.pen, outline.halves)
        if crossing is not None:
            raise several_sizes(crossing)
    return [
        _block(outline.points, outline.halves, ink, plane, size=number)
        for number, outline in enumerate(outlines, start=1)
    ]


def _check_all_followed(outlines: Sequence[NestedOutline], plane: PlaneFaces) -> None:
    """Refuse sizes if closed lines are left over that none of them follows, such as darts.

    Raises:
        OutlineError: if there are.
    """
    taken = {half.line for outline in outlines for half in outline.halves}
    components = {outline.component for outline in outlines}
    own = {
        half.line
        for number in components
        for face in plane.components[number].faces
        for half in plane.faces[face].halves
    }
    left = [plane.graph.lines[number] for number in sorted(own - taken)]
    if sum(line.length for line in left) > _LEFT_OVER:
        longest = max(left, key=lambda line: line.length)
        raise several_sizes(complex(longest.points[len(longest.points) // 2]))


def _crossing_sizes(ink: InkGraph, plane: PlaneFaces) -> list[DrawnBlock]:
    """Return sizes whose outlines cross, each followed straight on at every crossing."""
    rings = closed_by_crossings(plane.graph, ink.pen)
    if rings is None or len(rings) < 2:
        return []
    rings = sorted(rings, key=area_of)
    if area_of(rings[0]) < _ALIKE * area_of(rings[-1]):
        return []
    if any(_common_part(ring, rings[-1]) < _IN_PLACE for ring in rings[:-1]):
        return []
    return [_block(ring, (), ink, plane, size=k) for k, ring in enumerate(rings, start=1)]


def _walk_sizes(ink: InkGraph, plane: PlaneFaces, number: int) -> list[Points] | None:
    """Return the outlines of sizes that the lines in a component draw, or None."""
    outer = plane.components[number]
    within = [
        component
        for component in plane.components
        if component.faces
        and component.area >= _ALIKE * outer.area
        and _common_part(component.outline, outer.outline) >= _IN_PLACE
    ]
    own = {half.line for component in within for face in component.faces
           for half in plane.faces[face].halves}  # fmt: skip
    lines = [plane.graph.lines[k] for k in sorted(own)]
    core = min(
        (max((plane.faces[f] for f in component.faces), key=lambda face: face.area)
         for component in within),
        key=lambda face: face.area,
    )  # fmt: skip
    return walked_sizes(LineGraph(plane.graph.nodes, lines), ink.pen, deepest_place(core.points))


def _common_part(ring: Points, other: Points) -> float:
    """Return which part of the box about a closed line is in that about another one too."""
    common = 1.0
    for one, its in ((ring.real, other.real), (ring.imag, other.imag)):
        size = float(np.ptp(one))
        shared = min(float(one.max()), float(its.max())) - max(float(one.min()), float(its.min()))
        common *= max(0.0, shared) / size if size else 0.0
    return common


def _block(
    points: Points,
    halves: Sequence[HalfLine],
    ink: InkGraph,
    plane: PlaneFaces,
    *,
    cut_line: Points | None = None,
    size: int = 0,
) -> DrawnBlock:
    even = resampled(points, step_for(diagonal(points)), closed=True)
    known = drawn_share(even, ink.undrawn, _UNDRAWN)
    lines = [plane.graph.lines[half.line] for half in halves]
    dashed = sum(line.length for line in lines if line.dashed)
    is_dashed = dashed > 0.5 * sum(line.length for line in lines)
    if is_dashed or not known.any():
        # The gaps of a dashed line are known by the dashes about them.
        known = np.ones(len(even), dtype=np.bool_)
    joins = tuple(
        Join(bridge.points[len(bridge.points) // 2], bridge.size, overshoot=False)
        for bridge in ink.bridges
        if bridge.size > NO_GAP
        and np.abs(even - bridge.points[len(bridge.points) // 2]).min() < _UNDRAWN
    )
    ring = Ring(even, known, ink.pen, _tails(even, ink))
    return DrawnBlock(ring, cut_line, size, is_dashed, joins)


def _tails(ring: Points, ink: InkGraph) -> tuple[Points, ...]:
    """Return the loose ends of lines at an outline: where a dart's legs run together and end.

    Each is lengthened to the ink's own end, half a pen's width on.
    """
    degrees = ink.graph.degrees()
    tails = []
    for line in ink.graph.lines:
        if (degrees[line.start] == 1) == (degrees[line.end] == 1) or line.length > _TAIL:
            continue
        outward = line if degrees[line.end] == 1 else line.reversed
        if np.abs(ring - outward.points[0]).min() > _AT_TIP:
            continue
        way = complex(outward.points[-1] - outward.points[0])
        if abs(way) > 0:
            end = outward.points[-1] + way / abs(way) * ink.pen / 2
            tails.append(np.append(outward.points, end))
    return tuple(tails)
