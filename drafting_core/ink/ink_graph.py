"""All lines of a sheet as one graph: ink thinned, dashes chained, what stops short carried on.

What was not drawn, the gaps between dashes and at corners, is inked in before the ink is thinned:
so lines meet at nodes, however they came to be.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from drafting_core.ink.centre_lines import centre_lines, edge_points, with_meetings_joined
from drafting_core.ink.dashes import LEAST, LONGEST, Chain, Dash, chains, dash_of
from drafting_core.ink.line_graph import LineGraph
from drafting_core.ink.loose_ends import Bridge, bridges
from drafting_core.ink.pen_line import length_round, mean_width
from drafting_core.ink.polylines import (
    NearPoints,
    Points,
    arc_lengths,
    area_of,
    diagonal,
    too_many_nodes,
)
from drafting_core.ink.skeleton import CellGrid, Cells, brushed, filled, grid_over

#: What is smaller (mm) is a letter, a sign or a speck, unless it is a dash of a chain.
_LETTER = 9.0
#: A hole in ink smaller than this (mm) is none: paper that shines through a line.
_HOLE = 3.0
#: A cell is this part of the pen's width, between these bounds (mm).
_CELL_PART, _CELLS = 0.2, (0.1, 0.25)
#: What is thinner (mm) is no ink.
_THINNEST = 0.02
#: Meetings this near to each other, in widths of the pen, are one.
_KNOT = 1.5
#: Lines without ink are drawn with this pen (mm).
_PEN = 0.6
#: No pen is wider (mm).
WIDEST = 2.6
#: A dash round a corner is at least so large (mm).
_SHORT_DASH = 1.5
#: Of so many dashes the usual size is told; like it is what is between these parts of it; …
_MANY_DASHES, _LIKE = 8, (0.5, 1.6)
#: … the gap to the next is at most so many times as long, and so wide (mm).
_GAP, _WIDEST_GAP = 1.1, 9.0
#: Lines no longer than this (mm), without any other at their ends, are dashes where others are.
_LONE = 30.0
#: Lines are carried on so often: one may have to meet what another was carried on by.
_ROUNDS = 2
#: No sheet has more lines.
_MOST_LINES = 2000
#: A dashed line may stop short by its period and so much (mm).
_BEYOND = 1.5


class InkGraph(NamedTuple):
    """The lines of a sheet.

    Attributes:
        graph: the lines; `InkLine.dashed` tells those that were chained.
        pen: the usual width of a line in mm.
        chains: the dashed and dotted lines.
        bridges: what was joined at loose ends.
        undrawn: points spread over all that was not drawn; shape (n,).
    """

    graph: LineGraph
    pen: float
    chains: tuple[Chain, ...]
    bridges: tuple[Bridge, ...]
    undrawn: Points


def ink_graph(closed: Sequence[Points], strokes: Sequence[Points], gap: float) -> InkGraph | None:
    """Return all lines of a sheet, or None where nothing on it is a line.

    Args:
        closed: closed contours, each of shape (n,), in true mm.
        strokes: open lines, each of shape (n,).
        gap: the largest gap in mm that is closed.

    Raises:
        OutlineError: if there are so many lines that no pen can have drawn them.
    """
    ink = _inked(closed)
    if not ink.contours and not strokes:
        return None
    pen = _pen_of([*ink.large, *ink.dashes]) if ink.contours else _PEN
    if pen < _THINNEST:
        return None
    cell = float(np.clip(pen * _CELL_PART, *_CELLS))
    grid = grid_over([*ink.contours, *strokes], cell)
    contours = [*ink.contours, *_holes(ink.spots, ink.large, grid)]
    cells = [filled(contours, grid)] if contours else []
    if strokes:
        cells.append(brushed(strokes, grid, _PEN))
    gaps = [np.array(bridge) for chain in ink.chains for bridge in chain.bridges]
    if gaps:
        cells.append(brushed(gaps, grid, pen))
    edges = edge_points(contours, pen)
    drawn = _united(cells)
    graph = centre_lines(drawn, grid, edges, pen)
    if len(graph.lines) > _MOST_LINES:
        raise too_many_nodes()
    graph = _dashed_told(graph, ink.chains)
    found: list[Bridge] = []
    for _round in range(_ROUNDS):
        more = bridges(graph, _reaches(graph, ink.chains, gap))
        if not more:
            break
        found += more
        drawn = _united([drawn, brushed([np.array(b.points) for b in more], grid, pen)])
        graph = _dashed_told(centre_lines(drawn, grid, edges, pen), ink.chains)
    ways = [np.array(bridge.points) for bridge in found]
    graph = with_meetings_joined(graph, _KNOT * pen)
    pairs = [pair for way in (*gaps, *ways) for pair in pairwise(way.tolist())]
    undrawn = [np.linspace(a, b, 12) for a, b in pairs]
    missing = np.concatenate(undrawn) if undrawn else np.zeros(0, dtype=np.complex128)
    return InkGraph(graph, pen, tuple(ink.chains), tuple(found), missing)


class _Ink(NamedTuple):
    """The contours of a sheet: large ones, dashes of chains, and spots that may be holes."""

    large: list[Points]
    dashes: list[Points]
    spots: list[Points]
    chains: list[Chain]

    @property
    def contours(self) -> list[Points]:
        return [*self.large, *self.dashes]


def _inked(closed: Sequence[Points]) -> _Ink:
    """Tell contours of lines from letters and specks."""
    sizes = [diagonal(contour) for contour in closed]
    sized = list(zip(closed, sizes, strict=True))
    small = [contour for contour, size in sized if LEAST <= size <= LONGEST]
    chained = chains(small)
    dashes = [small[number] for chain in chained for number in chain.numbers]
    in_chain = {id(dash) for dash in dashes}
    turned = _corner_dashes([c for c in small if id(c) not in in_chain], small, chained)
    dashes += turned
    in_chain |= {id(dash) for dash in turned}
    rest = [contour for contour in small if id(contour) not in in_chain]
    known = [*dashes, *(c for c, size in sized if size > _LETTER and id(c) not in in_chain)]
    lone = _lone_dashes(rest, [small[k] for chain in chained for k in chain.numbers], known)
    dashes += lone
    in_chain |= {id(dash) for dash in lone}
    large = [c for c, size in sized if size > _LETTER and id(c) not in in_chain]
    spots = [c for c, size in sized if _HOLE <= size <= _LETTER and id(c) not in in_chain]
    return _Ink(large, dashes, spots, chained)


def _corner_dashes(
    rest: Sequence[Points], small: Sequence[Points], chained: Sequence[Chain]
) -> list[Points]:
    """Return small contours that lie between the ends of dashed lines: dashes round a corner."""
    found = []
    ends = [(small[n], chain.period) for chain in chained
            for n in (chain.numbers[0], chain.numbers[-1])]  # fmt: skip
    if not ends or not rest:
        return []
    usual = float(np.median([_width_of(end) for end, _period in ends]))
    for contour in rest:
        if diagonal(contour) < _SHORT_DASH or not 0.5 * usual <= _width_of(contour) <= 1.7 * usual:
            continue
        beside = sum(
            float(np.abs(end[:, None] - contour[None, :]).min()) <= period + _BEYOND
            for end, period in ends
        )
        if beside >= 2:
            found.append(contour)
    return found


def _lone_dashes(
    rest: Sequence[Points], chained: Sequence[Points], lines: Sequence[Points]
) -> list[Points]:
    """Return small contours like the dashes of a sheet, each of whose ends leads to another line.

    Between two corners a dashed line may have too few dashes to be known as a chain.

    Args:
        rest: the small contours that are in no chain.
        chained: those that are.
        lines: all that are known to be dashes or other parts of lines.
    """
    usual = [dash for k, contour in enumerate(chained) if (dash := dash_of(contour, k))]
    lengths = [dash.length for dash in usual if not dash.is_dot]
    if len(lengths) < _MANY_DASHES:
        return []
    length, width = float(np.median(lengths)), float(np.median([dash.width for dash in usual]))
    options = [
        dash
        for k, contour in enumerate(rest)
        if (dash := dash_of(contour, k)) and not dash.is_dot
        and _LIKE[0] * length <= dash.length <= _LIKE[1] * length
        and _LIKE[0] * width <= dash.width <= _LIKE[1] * width
    ]  # fmt: skip
    reach = min(_GAP * length, _WIDEST_GAP)
    known = np.concatenate(list(lines)) if lines else np.zeros(0, dtype=np.complex128)
    while options:
        kept = []
        for dash in options:
            others = [rest[other.number] for other in options if other is not dash]
            if all(_leads_on(dash, end, [known, *others], reach) for end in (0, 1)):
                kept.append(dash)
        if len(kept) == len(options):
            break
        options = kept
    return [rest[dash.number] for dash in options]


def _leads_on(dash: Dash, end: int, contours: Sequence[Points], reach: float) -> bool:
    """Tell whether another line lies ahead of the end of a dash."""
    at = dash.ends[end]
    out = (at - dash.ends[1 - end]) / dash.length
    for contour in contours:
        ahead = (contour - at) * np.conj(out)
        near = (np.abs(ahead) <= reach) & (ahead.real > 0.7 * np.abs(ahead))
        if near.any():
            return True
    return False


def _width_of(contour: Points) -> float:
    return mean_width(abs(area_of(contour)), length_round(contour))


def _pen_of(contours: Sequence[Points]) -> float:
    """Return the usual width in mm of what contours go round, if they are lines."""
    area = sum(area_of(contour) for contour in contours)
    border = sum(map(length_round, contours))
    signed = mean_width(abs(area), border)
    widths = np.array([mean_width(abs(area_of(c)), length_round(c)) for c in contours])
    thin = widths < WIDEST
    if thin.any():
        weights = np.array([length_round(c) for c in contours])[thin]
        order = np.argsort(widths[thin])
        middle = np.searchsorted(np.cumsum(weights[order]), weights.sum() / 2)
        stroke = float(widths[thin][order][min(int(middle), len(order) - 1)])
        if weights.sum() > 0.25 * border or not 0.1 < signed < WIDEST:
            return stroke
    return float(np.clip(signed, 0.2, WIDEST)) if signed < 2 * WIDEST else _PEN


def _holes(options: Sequence[Points], large: Sequence[Points], grid: CellGrid) -> list[Points]:
    """Return the small contours that are holes in large ones."""
    if not options or not large:
        return []
    ink = filled(large, grid)
    if not len(ink):
        return []
    firsts = np.concatenate([contour[[0, len(contour) // 3, 2 * len(contour) // 3]]
                             for contour in options])  # fmt: skip
    at = (firsts - grid.corner) / grid.cell
    columns, rows = np.round(at.real).astype(np.int64), np.round(at.imag).astype(np.int64)
    inside = (columns >= 0) & (columns < grid.columns) & (rows >= 0) & (rows < grid.rows)
    numbers = np.where(inside, rows * grid.columns + columns, -1)
    place = np.minimum(np.searchsorted(ink, numbers), len(ink) - 1)
    hit = (ink[place] == numbers).reshape(-1, 3)
    return [c for c, hits in zip(options, hit, strict=True) if hits.sum() >= 2]


def _united(cells: Sequence[Cells]) -> Cells:
    return np.unique(np.concatenate(cells))


def _dashed_told(graph: LineGraph, chained: Sequence[Chain]) -> LineGraph:
    """Return a graph in which lines that lie on chains are told as dashed."""
    middles = [(a + b) / 2 for chain in chained for a, b in chain.bridges]
    if not middles:
        return graph
    near = NearPoints(np.array(middles), 1.2)
    lines = []
    for line in graph.lines:
        _which, gaps = near.pairs(line.points)
        count = len(set(gaps.tolist()))
        lines.append(line._replace(dashed=count >= 2 or (count == 1 and line.length < 25.0)))
    return LineGraph(graph.nodes, lines)


def _reaches(graph: LineGraph, chained: Sequence[Chain], gap: float) -> list[float]:
    """Return for every line how far it may go on at a loose end (mm)."""
    if not chained:
        return [gap] * len(graph.lines)
    middles = np.array([(a + b) / 2 for chain in chained for a, b in chain.bridges])
    periods = np.repeat(
        [chain.period for chain in chained], [len(chain.bridges) for chain in chained]
    )
    near = NearPoints(middles, 1.2)
    reaches = []
    usual = float(np.median(periods)) + _BEYOND
    degrees = graph.degrees()
    for line in graph.lines:
        if line.length <= _LONE and degrees[line.start] == degrees[line.end] == 1:
            reaches.append(max(gap, usual))
            continue
        _which, gaps = near.pairs(line.points)
        period = float(np.median(periods[gaps])) + _BEYOND if len(gaps) and line.dashed else 0.0
        reaches.append(max(gap, period))
    return reaches


def drawn_share(points: Points, undrawn: Points, reach: float) -> np.ndarray:
    """Tell which points of a line were drawn, as far from what was not as said; shape (n,)."""
    if not len(undrawn):
        return np.ones(len(points), dtype=np.bool_)
    number, _away = NearPoints(undrawn, reach).nearest(points)
    return np.asarray(number < 0)


def length_round_of(points: Points) -> float:
    """Return the length of an open polyline in mm."""
    return float(arc_lengths(points)[-1])
