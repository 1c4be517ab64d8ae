"""Where the ink runs along lines that are known: a rectangle's sides, a grid's lines.

Each known line is looked at in its own frame, along it and across it. There the outlines of the
ink are cut at even steps; a pen line is cut twice in a step and counts at its middle, a sheet's
edge once. What lies off the smooth curve of most of them (a word, another line) is left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drafting_core.ink.polylines import Numbers, Points
from drafting_core.ink.rectify import PlaneMap

#: A line of a pen is no wider than this (mm).
_WIDEST = 2.5
#: A line is looked at in so many steps …
_STEPS = 120
#: … but for this part at either end, where it turns a corner.
_ENDS = 0.03
#: It has been found where so much of it has ink …
_FOUND = 0.6
#: … that keeps this near (mm) to a smooth curve.
_SMOOTH = 0.35
#: A tracer makes straight what bows by a part of a dot: no trace tells less than this (mm).
_LEAST_NOISE = 0.02
#: Where a grid's lines cross, so much to either side is left out (part of a square).
_AT_CROSSING = 0.14
#: A grid's squares are told apart if they have at most this many in a row, …
_MOST_SQUARES = 100
#: … whose lines stray by at most this part of a square from even spacing.
_EVEN = 0.2


class KnownLine(NamedTuple):
    """A straight line that is known, in true mm.

    Attributes:
        start: its one end.
        end: its other.
    """

    start: complex
    end: complex

    @property
    def along(self) -> complex:
        """Its direction, of length 1."""
        return (self.end - self.start) / abs(self.end - self.start)


class KnownInk(NamedTuple):
    """A known line as it was found in the ink.

    Attributes:
        line: the known line.
        points: places along the ink's middle, in the units of what was searched; shape (n,).
        noise: by how much they stray from a smooth curve, in mm (standard deviation).
        bow: by how much that curve bows from its chord, in mm.
        pen: the width of the line in mm; 0 for an edge.
    """

    line: KnownLine
    points: Points
    noise: float
    bow: float
    pen: float


class Edges(NamedTuple):
    """Many short straight edges: the outlines of the ink, and lone lines.

    Attributes:
        starts: where each begins, shape (n,).
        ends: where it ends.
    """

    starts: Points
    ends: Points

    def mapped(self, to: PlaneMap) -> Edges:
        """Return them sent through a map."""
        return Edges(to(self.starts), to(self.ends))

    def near(self, corners: Points, reach: float) -> Edges:
        """Return those in the box about some points, grown by a reach."""
        low = complex(corners.real.min() - reach, corners.imag.min() - reach)
        high = complex(corners.real.max() + reach, corners.imag.max() + reach)
        kept = (
            (np.maximum(self.starts.real, self.ends.real) >= low.real)
            & (np.minimum(self.starts.real, self.ends.real) <= high.real)
            & (np.maximum(self.starts.imag, self.ends.imag) >= low.imag)
            & (np.minimum(self.starts.imag, self.ends.imag) <= high.imag)
        )
        return Edges(self.starts[kept], self.ends[kept])


def edges_of(closed: Sequence[Points], strokes: Sequence[Points]) -> Edges:
    """Return the edges of closed contours and of open lines."""
    lines = [*closed, *strokes]
    if not lines:
        return Edges(np.zeros(0, dtype=np.complex128), np.zeros(0, dtype=np.complex128))
    counts = np.array([len(points) for points in lines])
    starts = np.concatenate(lines)
    ends = np.roll(starts, -1)
    last = np.cumsum(counts) - 1
    ends[last] = starts[last - counts + 1]
    kept = np.ones(len(starts), dtype=np.bool_)
    kept[last[len(closed) :]] = False
    return Edges(starts[kept], ends[kept])


def rectangle_lines(corners: Sequence[complex]) -> list[KnownLine]:
    """Return the four sides of a rectangle."""
    return [KnownLine(corners[k], corners[(k + 1) % 4]) for k in range(4)]


def grid_lines(corners: Sequence[complex], columns: int, rows: int) -> list[KnownLine]:
    """Return all lines of a grid, its border too.

    Args:
        corners: the grid's four corners in order.
        columns: how many squares lie along its first side.
        rows: how many along its second.
    """
    first, second, third, fourth = corners
    found = []
    for k in range(columns + 1):
        share = k / columns
        found.append(KnownLine(first + (second - first) * share, fourth + (third - fourth) * share))
    for k in range(rows + 1):
        share = k / rows
        found.append(KnownLine(first + (fourth - first) * share, second + (third - second) * share))
    return found


def ink_along(edges: Edges, line: KnownLine, reach: float, square: float = 0.0) -> KnownInk | None:
    """Return the ink along a known line, or None where there is none for most of its length.

    Args:
        edges: of the ink, in mm.
        line: the known line, in mm.
        reach: how far beside it the ink may lie (mm).
        square: the side of the squares of the grid whose line it is; 0 if it is none.
    """
    size = abs(line.end - line.start)
    places = np.linspace(_ENDS * size, (1.0 - _ENDS) * size, _STEPS)
    if square:
        beside = np.abs(places / square - np.round(places / square))
        places = places[beside > _AT_CROSSING]
    cuts = _cuts(edges, line, places, reach)
    number, off, pen = _middles(cuts, len(places))
    if len(np.unique(number)) < _FOUND * len(places):
        return None
    curve = _smooth_curve(places[number] / size, off, reach)
    away = np.abs(off - np.polyval(curve, places[number] / size))
    # Of several in a step the nearest to the curve.
    order = np.lexsort((away, number))
    first = np.append(True, np.diff(number[order]) > 0)
    chosen = order[first & (away[order] <= _SMOOTH)]
    if len(chosen) < _FOUND * len(places):
        return None
    t, across = places[number[chosen]] / size, off[chosen]
    quartic = np.polyfit(t, across, 4)
    noise = float(np.std(across - np.polyval(quartic, t)) * math.sqrt(len(t) / (len(t) - 5)))
    bow = abs(float(np.polyfit(t, across, 2)[0])) / 4.0
    points = line.start + line.along * (t * size + 1j * across)
    return KnownInk(line, np.asarray(points), max(noise, _LEAST_NOISE), bow, pen)


class _Cuts(NamedTuple):
    """Where edges cross the steps of a line: the step's number, and how far across; in order."""

    number: NDArray[np.int64]
    off: Numbers


def _cuts(edges: Edges, line: KnownLine, places: Numbers, reach: float) -> _Cuts:
    one = (edges.starts - line.start) * np.conj(line.along)
    other = (edges.ends - line.start) * np.conj(line.along)
    near = (np.minimum(one.imag, other.imag) <= reach) & (
        np.maximum(one.imag, other.imag) >= -reach
    )
    one, other = one[near], other[near]
    low, high = np.minimum(one.real, other.real), np.maximum(one.real, other.real)
    first = np.searchsorted(places, low, side="left")
    counts = np.searchsorted(places, high, side="left") - first
    edge = np.repeat(np.arange(len(one)), counts)
    before = np.concatenate([[0], np.cumsum(counts)[:-1]]) if len(counts) else counts
    number = first[edge] + np.arange(len(edge)) - before[edge]
    along = (places[number] - one.real[edge]) / (other.real[edge] - one.real[edge])
    off = one.imag[edge] + along * (other.imag[edge] - one.imag[edge])
    within = np.abs(off) <= reach
    number, off = number[within], off[within]
    order = np.lexsort((off, number))
    return _Cuts(number[order], off[order])


def _middles(cuts: _Cuts, steps: int) -> tuple[NDArray[np.int64], Numbers, float]:
    """Return where a line's middle may lie in each step, and the line's width in mm."""
    number, off = cuts
    same = np.flatnonzero((np.diff(number) == 0) & (np.diff(off) <= _WIDEST))
    if len(np.unique(number[same])) < _FOUND * steps:
        return number, off, 0.0
    width = np.diff(off)[same]
    pen = float(np.median(width))
    like = same[np.abs(width - pen) <= 0.5 * pen]
    return number[like], (off[like] + off[like + 1]) / 2, pen


def _smooth_curve(t: Numbers, off: Numbers, reach: float) -> Numbers:
    """Return the quadratic on which most of some places lie: less and less counts what is off."""
    reached = np.array([0.0, 0.0, float(np.median(off))])
    for width in (reach, reach / 2, reach / 4, reach / 8, 0.4, 0.2):
        weight = 1.0 / (1.0 + ((off - np.polyval(reached, t)) / width) ** 2)
        reached = np.polyfit(t, off, 2, w=weight)
    return np.asarray(reached, dtype=np.float64)


def count_squares(edges: Edges, corners: Sequence[complex]) -> int | None:
    """Return how many squares of a grid lie side by side along its first side, or None.

    Args:
        edges: of the ink, in a frame in which the grid is nearly a rectangle.
        corners: the grid's four corners in order.
    """
    first, second, _third, fourth = corners
    size, depth = abs(second - first), fourth - first
    found: dict[int, list[Numbers]] = {}
    shares = np.linspace(0.04, 0.96, 64)
    for share in shares:
        start = first + depth * share
        along = (second - first) / size
        # A cut along it: seen from the side, the line is one step.
        across = KnownLine(start - 0.04 * size * along, start + 1.04 * size * along)
        places = _crossed(edges, across) / size - 0.04
        lines = _lines_cut(places)
        found.setdefault(len(lines), []).append(lines)
    counted = max(found, key=lambda count: (len(found[count]), count))
    if not 3 <= counted <= _MOST_SQUARES or len(found[counted]) < len(shares) / 4:
        return None
    usual = np.median(np.array(found[counted]), axis=0)
    square = 1.0 / (counted - 1)
    if float(np.abs(usual - np.arange(counted) * square).max()) > _EVEN * square:
        return None
    return counted - 1


def _crossed(edges: Edges, line: KnownLine) -> Numbers:
    """Return where edges cross a line: ways from its start, sorted."""
    one = (edges.starts - line.start) * np.conj(line.along)
    other = (edges.ends - line.start) * np.conj(line.along)
    crossing = (one.imag < 0) != (other.imag < 0)
    one, other = one[crossing], other[crossing]
    at = one.real - one.imag * (other.real - one.real) / (other.imag - one.imag)
    within = (at >= 0) & (at <= abs(line.end - line.start))
    return np.sort(at[within])


def _lines_cut(places: Numbers) -> Numbers:
    """Return the middles of the lines that a cut meets, be they drawn with two edges or one."""
    if len(places) >= 4 and len(places) % 2 == 0:
        widths, gaps = places[1::2] - places[::2], places[2::2] - places[1:-1:2]
        if widths.max() < 0.5 * gaps.min():
            return np.asarray((places[1::2] + places[::2]) / 2)
    return places
