"""What else is drawn on a block, kept on request: pockets, balance lines, grain arrows, buttons.

Every line of ink that lies on the block and is no part of its outline, nor of a drawn cut line, nor
drawn in a dart, becomes a line, or curves, of its own; small crosses and dots become crosses.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from drafting_core.ink.ink_graph import InkGraph, ink_graph
from drafting_core.ink.pen_line import is_inside
from drafting_core.ink.polylines import (
    Flags,
    NearPoints,
    Points,
    arc_lengths,
    fit_line,
    inside,
    resampled,
)
from drafting_core.plane.curves import Line, Segment
from drafting_core.sheet.trace_sheet import TracedBlock
from drafting_core.trace.fit_seams import Ends, fitted_curve

#: Points along a line are so far apart (mm).
_STEP = 0.5
#: What lies so near to an outline (mm, and half a pen's width more) is the outline's ink.
_OUTLINE = 1.0
#: A line that is shorter than this (mm) is a rough edge or a letter's stroke.
_SHORTEST = 6.0
#: A line turns a corner where it turns by more than this (radians) between chords of so many mm.
_CORNER, _CHORD = math.radians(35.0), 3.0
#: A part strays from a straight line by no more than this (mm), or is a curve, …
_STRAIGHT = 0.5
#: … which follows it within this (mm).
_TOLERANCE = 0.4
#: Half of a cross at a small sign (mm).
_HALF_CROSS = 2.5


class KeptLine(NamedTuple):
    """A line that is drawn on a block.

    Attributes:
        segments: its lines and curves, one after the other, in true mm where the trace lies.
        closed: whether its end is its start.
    """

    segments: tuple[Segment, ...]
    closed: bool


def inner_lines(
    closed: Sequence[Points],
    strokes: Sequence[Points],
    gap: float,
    blocks: Sequence[TracedBlock],
    signs: Sequence[complex],
) -> list[list[KeptLine]]:
    """Return for every block what else is drawn on it.

    Args:
        closed: the trace's closed contours, each of shape (n,), in true mm.
        strokes: its open lines.
        gap: the largest gap in mm that is closed.
        blocks: what was taken as blocks.
        signs: centres of small signs that became no apex.
    """
    found: list[list[KeptLine]] = [[] for _ in blocks]
    ink = ink_graph(closed, strokes, gap)
    for stretch, is_closed in _stretches(ink, blocks) if ink is not None else ():
        owner = _owner(stretch, blocks)
        if owner is not None:
            found[owner].append(KeptLine(_fitted(stretch, is_closed), is_closed))
    for sign in signs:
        owner = _owner(np.array([sign]), blocks)
        if owner is not None:
            for half in (_HALF_CROSS, 1j * _HALF_CROSS):
                found[owner].append(KeptLine((Line(sign - half, sign + half),), False))
    return found


def _stretches(ink: InkGraph, blocks: Sequence[TracedBlock]) -> list[tuple[Points, bool]]:
    """Return the parts of a sheet's lines that are no outline's, and whether each is closed."""
    outlines = [block.ring.points for block in blocks]
    outlines += [block.cut_line for block in blocks if block.cut_line is not None]
    reach = _OUTLINE + ink.pen / 2
    near = NearPoints(
        np.concatenate([resampled(points, _STEP, closed=True) for points in outlines]), reach
    )
    found = []
    for line in ink.graph.lines:
        if line.length < _SHORTEST:
            continue
        points = resampled(line.points, _STEP, closed=False)
        free = near.nearest(points)[0] < 0
        is_closed = line.start == line.end and bool(free.all())
        found += [
            (part, is_closed)
            for part in _runs_of(points, free)
            if float(arc_lengths(part)[-1]) >= _SHORTEST
        ]
    return found


def _runs_of(points: Points, chosen: Flags) -> list[Points]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], chosen, [False]]).astype(np.int8)))
    return [points[first:last] for first, last in edges.reshape(-1, 2) if last - first > 2]


def _owner(points: Points, blocks: Sequence[TracedBlock]) -> int | None:
    """Return the number of the smallest block on which a line lies, or None."""
    within = [
        (float(np.ptp(block.ring.points.real)), number)
        for number, block in enumerate(blocks)
        if (
            is_inside(block.ring.points, points)
            if len(points) > 1
            else inside(block.ring.points, points)[0]
        )
    ]
    return min(within)[1] if within else None


def _fitted(points: Points, is_closed: bool) -> tuple[Segment, ...]:
    """Return a line as straight parts and curves from corner to corner."""
    if is_closed:
        points = np.append(points, points[0])
    cuts = [0, *_corners(points), len(points) - 1]
    parts = [points[a : b + 1] for a, b in pairwise(cuts) if b - a > 1]
    straight = [_straight(part) for part in parts]
    # Neighbours that are straight meet where their lines cross: a pen rounds its corners.
    ends = [complex(part[0]) for part in parts] + [complex(parts[-1][-1])]
    pairs = list(range(1, len(parts))) + ([0] if is_closed and len(parts) > 1 else [])
    for k in pairs:
        before, after = straight[k - 1], straight[k]
        if before is not None and after is not None:
            at = _crossing(before, after)
            if at is not None and abs(at - ends[k]) <= 2.0 * _CHORD:
                ends[k] = at
                if k == 0:
                    ends[-1] = at
    for place, k in ((0, 0), (-1, len(parts) - 1)):
        line = straight[k]
        if line is not None and not is_closed:
            ends[place] = line.start if place == 0 else line.end
    segments: list[Segment] = []
    for k, part in enumerate(parts):
        if straight[k] is not None or len(part) < 8:
            segments.append(Line(ends[k], ends[k + 1]))
        else:
            fixed = Ends(ends[k], ends[k + 1])
            segments += fitted_curve(part, _TOLERANCE, fixed).segments
    return tuple(segments)


def _corners(points: Points) -> list[int]:
    """Return the numbers of the points at which an open line turns a corner."""
    reach = round(_CHORD / _STEP)
    if len(points) < 2 * reach + 3:
        return []
    ways = points[reach:] - points[:-reach]
    turned = np.abs(np.angle(ways[reach:] / np.where(ways[:-reach] == 0, 1.0, ways[:-reach])))
    found: list[int] = []
    for number in np.argsort(-turned).tolist():
        if turned[number] < _CORNER:
            break
        if all(abs(number + reach - other) > reach for other in found):
            found.append(number + reach)
    return sorted(found)


def _straight(part: Points) -> Line | None:
    """Return the line that a part is, its rounded ends left out, or None where it is a curve."""
    margin = min(round(1.0 / _STEP), (len(part) - 3) // 2)
    inner = part[margin : len(part) - margin] if margin > 0 else part
    line = fit_line(inner)
    way = line.end - line.start
    if abs(way) < 1e-9:
        return line
    unit = way / abs(way)
    away = np.abs(((inner - line.start) * np.conj(unit)).imag)
    if float(away.max()) > _STRAIGHT:
        return None
    along = ((part - line.start) * np.conj(unit)).real
    return Line(line.start + unit * float(along.min()), line.start + unit * float(along.max()))


def _crossing(one: Line, other: Line) -> complex | None:
    first, second = one.end - one.start, other.end - other.start
    sine = (first.conjugate() * second).imag
    if abs(sine) < 0.05 * abs(first) * abs(second):
        return None
    return one.start + first * ((other.start - one.start).conjugate() * second).imag / sine
