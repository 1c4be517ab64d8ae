"""The middle lines of all ink of a sheet and where they meet, from its skeleton.

A skeleton of cells is traced from meeting to meeting; each line is then smoothed and moved halfway
between the two edges of its ink, which the contours tell far more truly than cells do.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drafting_core.ink.line_graph import InkLine, LineGraph
from drafting_core.ink.polylines import NearPoints, Numbers, Points, arc_lengths, resampled
from drafting_core.ink.skeleton import CellGrid, Cells, skeleton_of

#: Lines are given in points so far apart (mm).
STEP = 0.5
#: A loose end shorter than so many widths of the pen is a rough edge of the ink, no line.
_SPUR = 1.3
#: An edge of the ink is looked for within so many widths of the pen, …
_TO_EDGE = 1.6
#: … this near to the line's own normal (mm).
_BESIDE = 0.3
#: In a knot of meetings a closed line of less than so many reaches of it is no line.
_LOOP = 4.0
#: Both edges of a line are between these parts of the pen's width apart.
_WIDTHS = (0.4, 1.7)


class _Traced(NamedTuple):
    """Lines of cells between meetings: places of the nodes, and each line's cells and its ends."""

    nodes: list[complex]
    lines: list[tuple[list[int], int, int]]


def centre_lines(cells: Cells, grid: CellGrid, edges: Points, pen: float) -> LineGraph:
    """Return the middle lines of ink.

    Args:
        cells: the cells with ink, sorted.
        grid: the grid.
        edges: points of the ink's contours, evenly spread, at most a quarter of the pen's width
            apart; shape (n,).
        pen: the usual width of a line in mm.
    """
    skeleton = np.sort(skeleton_of(cells, grid))
    traced = _traced(skeleton, grid)
    places = grid.places(skeleton)
    near = NearPoints(edges, _TO_EDGE * pen) if len(edges) else None
    nodes = np.array(traced.nodes, dtype=np.complex128)
    lines = []
    for numbers, start, end in traced.lines:
        points = _smoothed(np.concatenate([nodes[[start]], places[numbers], nodes[[end]]]), grid)
        leaves = _leaves(places[numbers], complex(nodes[start]), complex(nodes[end]))
        lines.append(InkLine(points, start, end, leaves=leaves))
    graph = simplified(LineGraph(nodes, lines), _SPUR * pen)
    return graph if near is None else _centred(graph, near, pen)


def _leaves(cells: Points, start: complex, end: complex) -> tuple[float, float]:
    """Return the directions in which a line of cells leaves its two nodes."""
    if not len(cells):
        return float(np.angle(end - start)), float(np.angle(start - end))
    first, last = cells[min(2, len(cells) - 1)], cells[-min(3, len(cells))]
    return float(np.angle(first - start)), float(np.angle(last - end))


def _traced(skeleton: Cells, grid: CellGrid) -> _Traced:
    """Trace a skeleton, sorted, from meeting to meeting."""
    beside = _neighbours(skeleton, grid)
    degrees = (beside >= 0).sum(axis=1)
    rows = [[int(k) for k in row if k >= 0] for row in beside]
    node_of = np.full(len(skeleton), -1, dtype=np.int64)
    places = grid.places(skeleton)
    nodes: list[complex] = []
    for first in np.flatnonzero(degrees != 2).tolist():
        if node_of[first] >= 0:
            continue
        cluster, left = [], [first]
        node_of[first] = len(nodes)
        while left:
            one = left.pop()
            cluster.append(one)
            if degrees[one] < 3:
                continue
            for other in rows[one]:
                if node_of[other] < 0 and degrees[other] > 2:
                    node_of[other] = len(nodes)
                    left.append(other)
        nodes.append(complex(places[cluster].mean()))
    of = node_of.tolist()
    lines: list[tuple[list[int], int, int]] = []
    done = bytearray(len(skeleton))
    for first in np.flatnonzero(node_of >= 0).tolist():
        for step in rows[first]:
            if of[step] >= 0:
                if of[step] != of[first] and first < step:
                    lines.append(([], of[first], of[step]))
                continue
            if done[step]:
                continue
            cells, end = _walk(first, step, rows, of, done)
            lines.append((cells, of[first], of[end]))
    # What is left are closed lines that meet nothing: each gets a node of its own.
    undone = np.frombuffer(done, dtype=np.uint8) == 0
    for first in np.flatnonzero((node_of < 0) & undone).tolist():
        if done[first]:
            continue
        of[first] = len(nodes)
        nodes.append(complex(places[first]))
        done[first] = 1
        cells, _end = _walk(first, rows[first][0], rows, of, done)
        lines.append((cells, of[first], of[first]))
    return _Traced(nodes, lines)


def _walk(
    first: int, step: int, rows: list[list[int]], of: list[int], done: bytearray
) -> tuple[list[int], int]:
    """Follow a line of cells from a node's cell on; return its cells and the cell of the next."""
    cells, before = [], first
    while of[step] < 0:
        cells.append(step)
        done[step] = 1
        following = [k for k in rows[step] if k != before]
        before, step = step, following[0]
    return cells, step


def _neighbours(skeleton: Cells, grid: CellGrid) -> NDArray[np.int64]:
    """Return the numbers of each cell's neighbours, -1 where there is none; shape (n, 8).

    Cells that touch at a corner only are no neighbours where a third one joins them by its sides.
    """

    def numbers(offset: int) -> NDArray[np.int64]:
        place = np.minimum(np.searchsorted(skeleton, skeleton + offset), len(skeleton) - 1)
        return np.where(skeleton[place] == skeleton + offset, place, -1)

    across = grid.columns
    up, down, left, right = (numbers(offset) for offset in (-across, across, -1, 1))
    found = [up, down, left, right]
    for row, row_side in ((-across, up), (across, down)):
        for column, column_side in ((-1, left), (1, right)):
            corner = numbers(row + column)
            found.append(np.where((row_side < 0) & (column_side < 0), corner, -1))
    return np.stack(found, axis=1)


def _smoothed(points: Points, grid: CellGrid) -> Points:
    """Return a line of cells without its steps, its ends kept."""
    half = 3
    if len(points) > 2 * half:
        padded = np.concatenate(
            [
                2 * points[0] - points[half:0:-1],
                points,
                2 * points[-1] - points[-2 : -half - 2 : -1],
            ]
        )
        points = np.convolve(padded, np.full(2 * half + 1, 1 / (2 * half + 1)), mode="valid")
    return resampled(points, STEP, closed=False) if len(points) > 2 else points


def simplified(graph: LineGraph, spur: float) -> LineGraph:
    """Return a graph without rough ends, and with lines that run through where no other meets.

    Args:
        graph: the graph.
        spur: the length in mm below which a loose end at a meeting is dropped.
    """
    degrees = graph.degrees()
    kept = []
    for line in graph.lines:
        is_loose = (degrees[line.start] == 1) != (degrees[line.end] == 1)
        meets = max(degrees[line.start], degrees[line.end]) > 2
        if not (is_loose and meets and line.length < spur):
            kept.append(line)
    return run_through(LineGraph(graph.nodes, kept))


def run_through(graph: LineGraph) -> LineGraph:
    """Return a graph in which lines go on where only two of them meet, nodes without lines gone."""
    lines: dict[int, InkLine] = dict(enumerate(graph.lines))
    at: dict[int, set[int]] = {}
    for number, line in lines.items():
        at.setdefault(line.start, set()).add(number)
        at.setdefault(line.end, set()).add(number)
    for node in list(at):
        if len(at[node]) != 2:
            continue
        one, other = sorted(at[node])
        first, second = lines[one], lines[other]
        if first.start == first.end or second.start == second.end:
            continue
        first = first if first.end == node else first.reversed
        second = second if second.start == node else second.reversed
        points = np.concatenate([first.points[:-1], second.points[1:]])
        if len(points) < 2:
            points = np.array([first.points[0], second.points[-1]])
        del lines[other]
        leaves = None
        if first.leaves and second.leaves:
            leaves = first.leaves[0], second.leaves[1]
        lines[one] = InkLine(points, first.start, second.end, leaves=leaves)
        at[second.end].discard(other)
        at[second.end].add(one)
        at[node].clear()
    used = sorted({node for line in lines.values() for node in (line.start, line.end)})
    number_of = {node: k for k, node in enumerate(used)}
    return LineGraph(
        graph.nodes[used] if used else np.zeros(0, dtype=np.complex128),
        [
            line._replace(start=number_of[line.start], end=number_of[line.end])
            for line in lines.values()
        ],
    )


def with_meetings_joined(graph: LineGraph, reach: float) -> LineGraph:
    """Return a graph in which meetings that a short line joins are one.

    Where several lines run together, their ink has a knot of short middles, whose order round each
    other says nothing.

    Args:
        graph: the graph.
        reach: lines shorter than this (mm) join meetings.
    """
    degrees = graph.degrees()
    of = list(range(len(graph.nodes)))

    def root(number: int) -> int:
        while of[number] != number:
            number = of[number]
        return number

    short = {
        number
        for number, line in enumerate(graph.lines)
        if line.length < reach and min(degrees[line.start], degrees[line.end]) > 2
    }
    for number in short:
        of[root(graph.lines[number].start)] = root(graph.lines[number].end)
    roots = [root(number) for number in range(len(of))]
    members: dict[int, list[int]] = {}
    for number, its in enumerate(roots):
        members.setdefault(its, []).append(number)
    nodes = graph.nodes.copy()
    wide = dict.fromkeys(members, 0.0)
    for its, numbers in members.items():
        nodes[its] = graph.nodes[numbers].mean()
        wide[its] = float(np.abs(graph.nodes[numbers] - nodes[its]).max())
    lines = []
    for number, line in enumerate(graph.lines):
        if number in short:
            continue
        start, end = roots[line.start], roots[line.end]
        if start == end and degrees[line.start] > 3 and line.length < _LOOP * reach:
            continue
        points = line.points.copy()
        points[0], points[-1] = nodes[start], nodes[end]
        leaves = line.leaves
        if leaves:
            leaves = (
                _leaving(points, wide[start], reach) if wide[start] else leaves[0],
                _leaving(points[::-1], wide[end], reach) if wide[end] else leaves[1],
            )
        lines.append(line._replace(points=points, start=start, end=end, leaves=leaves))
    return run_through(LineGraph(nodes, lines))


def _leaving(points: Points, wide: float, reach: float) -> float:
    """Return the direction in which a line leaves a knot of meetings, told outside of it."""
    outside = np.flatnonzero(np.abs(points - points[0]) > wide + reach)
    last = int(outside[0]) if len(outside) else len(points) // 2
    return float(np.angle(points[last] - points[0]))


def _centred(graph: LineGraph, near: NearPoints, pen: float) -> LineGraph:
    """Return a graph with its lines halfway between the edges of their ink."""
    if not graph.lines:
        return graph
    even = [
        resampled(line.points, STEP, closed=False) if line.length > 2 * STEP else line.points
        for line in graph.lines
    ]
    sizes = [len(points) for points in even]
    points = np.concatenate(even)
    tangents = np.concatenate([_tangents(each) for each in even])
    shifts, widths = _to_middle(points, tangents, near, pen)
    lines = []
    bounds = np.cumsum([0, *sizes])
    for line, each, first, last in zip(graph.lines, even, bounds[:-1], bounds[1:], strict=True):
        shift, width = shifts[first:last], widths[first:last]
        found = np.isfinite(shift)
        # At a meeting the ink of other lines is beside: what is known there is not this line's.
        away = np.minimum(np.arange(len(each)), np.arange(len(each))[::-1]) * STEP
        found &= away >= 0.8 * pen
        moved = each.copy()
        if found.any():
            steps = np.interp(np.arange(len(each)), np.flatnonzero(found), shift[found])
            moved = each + steps * 1j * tangents[first:last]
        moved[0], moved[-1] = graph.nodes[line.start], graph.nodes[line.end]
        width_of = float(np.median(width[found])) if found.any() else 0.0
        lines.append(line._replace(points=moved, width=width_of))
    return LineGraph(graph.nodes, lines)


def _tangents(points: Points) -> Points:
    reach = 3
    padded = np.concatenate([points[:1].repeat(reach), points, points[-1:].repeat(reach)])
    along = padded[2 * reach :] - padded[: -2 * reach]
    return np.asarray(along / np.maximum(np.abs(along), 1e-12))


def _to_middle(
    points: Points, tangents: Points, near: NearPoints, pen: float
) -> tuple[Numbers, Numbers]:
    """Return how far to the left the middle of the ink is at each point, and its width; or NaN."""
    which, others = near.pairs(points)
    away = (near.points[others] - points[which]) * np.conj(tangents[which])
    beside = np.abs(away.real) <= _BESIDE
    which, across = which[beside], away.imag[beside]
    left = np.full(len(points), np.inf)
    right = np.full(len(points), -np.inf)
    np.minimum.at(left, which[across > 0], across[across > 0])
    np.maximum.at(right, which[across < 0], across[across < 0])
    width = left - right
    good = (width >= _WIDTHS[0] * pen) & (width <= _WIDTHS[1] * pen)
    return np.where(good, (left + np.where(good, right, 0.0)) / 2, np.nan), width


def edge_points(contours: Sequence[Points], pen: float) -> Points:
    """Return points evenly spread along contours, near enough for `centre_lines`."""
    step = max(0.1, pen / 5)
    even = [resampled(contour, step, closed=True) for contour in contours]
    return np.concatenate(even) if even else np.zeros(0, dtype=np.complex128)


def length_of(lines: Sequence[InkLine]) -> float:
    """Return the length of lines together in mm."""
    return float(sum(arc_lengths(line.points)[-1] for line in lines))
