"""Every edge of ink on a sheet as short pieces, each with the side on which its ink lies."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drafting_core.ink.polylines import Flags, Numbers, Points

Counts = NDArray[np.int64]

#: Edges are looked at in pieces of this length (mm), …
STEP = 1.0
#: … and round shapes, however small, in so many.
_LEAST_PIECES = 8
#: A direction is taken over so many steps.
_CHORD = 1.2
#: Of so many shapes, those smaller than this (mm) are left out: dust.
_MANY, _DUST = 3000, 1.5
#: A shape smaller than this part of the largest is a letter or a sign …
_SMALL_PART = 0.03
#: … unless it is narrower than this (mm), so many times longer than it is wide, and no shorter
#: than this: a dash.
WIDEST_LINE, _DASH, _SHORTEST_DASH = 2.6, 2.5, 1.8


class InkEdges(NamedTuple):
    """Pieces of the edges of ink.

    Attributes:
        points: their middles, in mm; shape (n,).
        ways: unit vectors along them, ink at 1j·way; shape (n,).
        lengths: how long a drawn line each stands for (mm): a line with ink has two edges.
        shapes: the number of the contour or stroke of each, in their order.
        bare: which of them are lines without ink, of strokes; shape (n,).
        drawn: which of them are of lines: of no letter, sign or speck; shape (n,).
        stroke_like: which of them go round a stroke of the pen and nothing else.
        largest: the diagonal of the largest shape, in mm.
    """

    points: Points
    ways: Points
    lengths: Numbers
    shapes: Counts
    bare: Flags
    drawn: Flags
    stroke_like: Flags
    largest: float


class _Lines(NamedTuple):
    """Lines end to end: all points, each line's first and last of them, the way to each."""

    whole: Points
    firsts: Counts
    lasts: Counts
    along: Numbers


def ink_edges(closed: Sequence[Points], strokes: Sequence[Points]) -> InkEdges:
    """Return the edges of all ink on a sheet.

    Args:
        closed: closed contours, each of shape (n,), in true mm: ink lies between one and those in
            it, whichever way they turn.
        strokes: open lines, which have no ink beside.
    """
    parts = [np.append(points, points[:1]) for points in closed]
    parts += [points for points in strokes if len(points) > 1]
    lines = _laid_end_to_end(parts)
    is_closed = np.arange(len(parts)) < len(closed)
    spans = [
        np.maximum.reduceat(part, lines.firsts) - np.minimum.reduceat(part, lines.firsts)
        for part in (lines.whole.real, lines.whole.imag)
    ]
    sizes = np.hypot(*spans)
    lengths = lines.along[lines.lasts] - lines.along[lines.firsts]
    kept = (sizes > 0.0) & ((len(parts) < _MANY) | (sizes >= _DUST))
    areas = np.abs(_areas(lines))
    widths = 2.0 * areas / np.maximum(lengths, 1e-9)
    is_thin = is_closed & (widths < WIDEST_LINE)
    is_line = ~is_closed | (sizes >= _SMALL_PART * sizes.max())
    is_line |= is_thin & (sizes >= np.maximum(_DASH * widths, _SHORTEST_DASH))
    pieces = np.where(is_closed, _LEAST_PIECES, 1)
    pieces = np.where(kept, np.maximum(pieces, np.rint(lengths / STEP)), 0).astype(np.int64)
    number = np.repeat(np.arange(len(parts)), pieces)
    nth = np.arange(len(number)) - (np.cumsum(pieces) - pieces)[number]
    span = (lengths / np.maximum(pieces, 1))[number]
    at = (nth + 0.5) * span
    reach = np.minimum(STEP, span) * _CHORD / 2
    points = _places(lines, number, at)
    ways = _places(lines, number, _within(at + reach, lengths[number], is_closed[number]))
    ways -= _places(lines, number, _within(at - reach, lengths[number], is_closed[number]))
    ways /= np.maximum(np.abs(ways), 1e-12)
    inked = is_closed[number]
    turn = _ink_sides(points, number, inked, pieces, _areas(lines))
    return InkEdges(
        points,
        np.where(inked, ways * turn[number], ways),
        np.where(inked, span / 2, span),
        number,
        ~inked,
        is_line[number],
        (is_thin & (widths * 4.0 < sizes))[number],
        float(sizes.max()),
    )


def _laid_end_to_end(parts: Sequence[Points]) -> _Lines:
    counts = np.array([len(points) for points in parts])
    whole = np.concatenate(parts)
    lasts = np.cumsum(counts) - 1
    steps = np.abs(np.diff(whole))
    steps[lasts[:-1]] = 0.0
    return _Lines(whole, lasts - counts + 1, lasts, np.append(0.0, np.cumsum(steps)))


def _areas(lines: _Lines) -> Numbers:
    """Return the signed area within each line, closed by its chord."""
    counts = lines.lasts - lines.firsts + 1
    away = lines.whole - np.repeat(lines.whole[lines.firsts], counts)
    beside = np.append((np.conj(away[:-1]) * away[1:]).imag, 0.0)
    beside[lines.lasts] = 0.0
    return np.asarray(np.add.reduceat(beside, lines.firsts) / 2)


def _places(lines: _Lines, number: Counts, at: Numbers) -> Points:
    """Return places on lines by the way to them along each."""
    along = at + lines.along[lines.firsts][number]
    after = np.clip(np.searchsorted(lines.along, along, side="right"), 1, len(lines.whole) - 1)
    after = np.minimum(np.maximum(after, lines.firsts[number] + 1), lines.lasts[number])
    start, end = lines.whole[after - 1], lines.whole[after]
    size = lines.along[after] - lines.along[after - 1]
    part = np.clip((along - lines.along[after - 1]) / np.maximum(size, 1e-12), 0.0, 1.0)
    return np.asarray(start + (end - start) * part)


def _within(at: Numbers, lengths: Numbers, is_closed: Flags) -> Numbers:
    return np.where(is_closed, np.mod(at, lengths), np.clip(at, 0.0, lengths))


def _ink_sides(
    points: Points, number: Counts, inked: Flags, pieces: Counts, areas: Numbers
) -> Numbers:
    """Return for every contour 1 where ink lies at 1j·way, else -1.

    It lies within a contour that lies in none or in two others, and outside one that lies in one.
    """
    depth = np.zeros(len(pieces), dtype=np.int64)
    shapes = np.flatnonzero(pieces > 0)
    first = np.cumsum(pieces) - pieces
    probes = points[first[shapes]]
    chosen = np.flatnonzero(inked)
    start = points[chosen]
    following = chosen + 1
    is_last = following == (first + pieces)[number[chosen]]
    end = points[np.where(is_last, first[number[chosen]], following)]
    order = np.argsort(probes.imag, kind="stable")
    heights = probes.imag[order]
    low = np.searchsorted(heights, np.minimum(start.imag, end.imag), side="left")
    counts = np.searchsorted(heights, np.maximum(start.imag, end.imag), side="left") - low
    edge = np.repeat(np.arange(len(chosen)), counts)
    nth = np.arange(len(edge)) - (np.cumsum(counts) - counts)[edge]
    which = order[low[edge] + nth]
    a, b, z = start[edge], end[edge], probes[which]
    crossing = a.real + (z.imag - a.imag) / (b.imag - a.imag) * (b.real - a.real)
    is_other = number[chosen][edge] != shapes[which]
    crossed = (z.real < crossing) & is_other
    depth[shapes] = np.bincount(which[crossed], minlength=len(shapes))
    # A contour that encloses a place is crossed an odd number of times on the way out of it: the
    # parity of all crossings together is that of how many contours lie around.
    return np.where((depth % 2 == 0) == (areas > 0.0), 1.0, -1.0)
