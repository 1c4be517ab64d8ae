"""Sizes whose lines meet: each is followed round, smoothly through what it shares with others.

A ray from the middle meets every size once where none of them run together. From there each size
is walked round, at every meeting the ways on that bend least first. Of the ways round, one for each
size is kept: those that bend least together and leave no line of the sheet over.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Collection, Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.line_graph import LineGraph
from drafting_core.ink.plane_faces import HalfLine
from drafting_core.ink.polylines import (
    Flags,
    NearPoints,
    Numbers,
    Points,
    arc_lengths,
    area_of,
    inside,
    resampled,
)
from drafting_core.sheet.crossing_lines import Meeting, meetings
from drafting_core.sheet.graded_sizes import (
    GRADED,
    SIMPLE,
    graded_apart,
    nearest_places,
    stretched,
    with_fewer_points,
)

#: So many rays are sent from the middle.
_RAYS = 180
#: Sizes lie apart where so many rays together (part of all) meet the same number of lines, …
_RAYS_APART = 0.05
#: … each so many widths of the pen from the next at least.
_APART = 2.0
#: There are at most so many sizes.
_MOST_SIZES = 9
#: A line goes on smoothly at a meeting if it turns by less than this (radians).
_SMOOTH = math.radians(24.0)
#: A line bends by what its last and first so many millimetres tell, …
_TAIL = 18.0
#: … less than this (mm) tells nothing.
_LEAST_TAIL = 3.0
#: A corner at a meeting costs as much as a bend by this (radians); one back into itself, this.
_CORNER, _BACK = math.radians(8.0), math.radians(20.0)
#: More than this turns back (radians).
_TURNS_BACK = math.radians(150.0)
#: Every size is walked round in so many ways at most, and through each line as often.
_WAYS = 14
#: So many steps from meeting to meeting are looked at.
_STEPS = 3000
#: A line of the sheet is left over if so much of it (mm) lies this far (mm) from every size.
_LEFT_OVER, _OFF = 8.0, 1.2
#: Ways round that are nowhere further from each other than this (mm) are one; where they are no
#: further than the second, either will do.
_ALIKE, _SAME = 0.5, 1.3
#: So many points of a way are asked first.
_SOME = 40
#: Lines of at most this length (mm) that run side by side, this far apart (mm) at most, are one.
_LONGEST_TWIN, _TWINS = 60.0, 0.7
#: A choice of sizes misses less than the next best by this part, and this (mm).
_CLEARLY, _MORE = 1.3, 0.03
#: A way is looked for so many times along the one that it is led by.
_ROUNDS = 5
#: A line this far (mm) from where it is looked for is no worse than one that is farther.
_FAR = 6.0
#: So many ways of a size lead to ways of the next one.
_GUIDES = 2
#: Sets of ways that are compared at most.
_MOST_SETS = 5_000


class WayRound(NamedTuple):
    """A closed way along lines.

    Attributes:
        points: closed, interior at 1j·direction; shape (n,).
        lines: the numbers of the lines that it follows.
        cost: the sum of the squares of its bends at meetings (radians²).
    """

    points: Points
    lines: frozenset[int]
    cost: float


def walked_sizes(graph: LineGraph, pen: float, middle: complex) -> list[Points] | None:
    """Return the outlines of sizes whose lines meet, or None where they cannot be told apart.

    Args:
        graph: the lines of the sizes alone, without loose ends.
        pen: their width in mm.
        middle: a place within all of them.

    Returns:
        The outlines, each of shape (n,), the smallest first.
    """
    starts = _starts(graph, pen, middle)
    if starts is None:
        return None
    lines = _Lines(graph)
    walker = _Walker(graph, pen, lines)
    every = {half.line for half in starts}
    ways: list[list[WayRound]] = []
    for start in starts:
        found = [
            way
            for way in walker.ways_round(start, every - {start.line})
            if area_of(way.points) > 0 and inside(way.points, np.array([middle])).all()
        ]
        if not found:
            return None
        ways.append(_distinct(found, lines)[:_WAYS])
    chosen = _best_set(ways, lines) or _best_set(_with_guided(ways, walker, starts, lines), lines)
    return None if chosen is None else sorted((way.points for way in chosen), key=area_of)


def _with_guided(
    ways: Sequence[Sequence[WayRound]],
    walker: _Walker,
    starts: Sequence[HalfLine],
    lines: _Lines,
) -> list[list[WayRound]]:
    """Return ways with more of them: those along which a way of the next size leads, stretched."""
    found = [list(each) for each in ways]
    count = len(starts)
    for first, own in enumerate(ways):
        for way in own[:_GUIDES]:
            for step in (1, -1):
                guide, at = way, first
                while 0 <= at + step < count:
                    on = walker.guided(guide, starts, at, at + step)
                    if on is None:
                        break
                    guide, at = on, at + step
                    if all(lines.are_apart(on, other, _ALIKE) for other in found[at]):
                        found[at].append(on)
    return found


def deepest_place(ring: Points) -> complex:
    """Return a place in a closed line, about as far from it as there is one."""
    size = float(min(np.ptp(ring.real), np.ptp(ring.imag)))
    across = np.arange(ring.real.min(), ring.real.max(), size / 16)
    down = np.arange(ring.imag.min(), ring.imag.max(), size / 16)
    places = (across[:, None] + 1j * down[None, :]).ravel()
    places = places[inside(ring, places)]
    away = np.abs(places[:, None] - resampled(ring, 4.0, closed=True)[None, :]).min(axis=1)
    return complex(places[int(np.argmax(away))])


def _starts(graph: LineGraph, pen: float, middle: complex) -> list[HalfLine] | None:
    """Return a half-line of every size, the middle at its left, where they lie apart."""
    a = np.concatenate([line.points[:-1] for line in graph.lines]) - middle
    b = np.concatenate([line.points[1:] for line in graph.lines]) - middle
    owner = np.repeat(np.arange(len(graph.lines)), [len(line.points) - 1 for line in graph.lines])
    rays: list[list[tuple[float, HalfLine]]] = []
    for way in np.exp(2j * np.pi * (np.arange(_RAYS) + 0.37) / _RAYS):
        one, other = a * np.conj(way), b * np.conj(way)
        crosses = (one.imag > 0) != (other.imag > 0)
        p, q = one[crosses], other[crosses]
        at = p.real + (q.real - p.real) * p.imag / (p.imag - q.imag)
        hits = [
            (float(place), HalfLine(int(number), bool(up)))
            for place, number, up in zip(at, owner[crosses], q.imag > p.imag, strict=True)
            if place > 0
        ]
        rays.append(sorted(hits))
    counts: dict[int, list[tuple[float, int]]] = {}
    for number, ray in enumerate(rays):
        apart = min((far - near for (near, _), (far, _) in itertools.pairwise(ray)), default=0.0)
        if 2 <= len(ray) <= _MOST_SIZES and apart >= _APART * pen and _is_once_each(ray):
            counts.setdefault(len(ray), []).append((apart, number))
    often = [count for count, found in counts.items() if len(found) >= _RAYS_APART * _RAYS]
    if not often:
        return None
    _apart, best = max(counts[max(often)])
    return [half for _at, half in rays[best]]


def _is_once_each(ray: Sequence[tuple[float, HalfLine]]) -> bool:
    """Tell whether a ray meets every line from its left side, and once."""
    return len({half.line for _at, half in ray}) == len(ray)


class _Partial(NamedTuple):
    """A way that was begun."""

    cost: float
    number: int
    halves: tuple[HalfLine, ...]


class _Walker:
    """Follows lines from meeting to meeting."""

    def __init__(self, graph: LineGraph, pen: float, lines: _Lines) -> None:
        self.graph, self.pen, self.lines = graph, pen, lines
        found, short, at = meetings(graph, pen)
        twins = lines.twins([(at[line.start], at[line.end]) for line in graph.lines])
        self._passed = short | twins
        self._bends: dict[tuple[HalfLine, ...], float] = {}
        self._lengths = [line.length for line in graph.lines]
        self._on: dict[HalfLine, list[HalfLine]] = {}
        for meeting in found:
            self._on.update(_ways_on(meeting))

    def guided(
        self, guide: WayRound, starts: Sequence[HalfLine], own: int, other: int
    ) -> WayRound | None:
        """Return the way round of a size that lies nearest to another's, stretched to fit it.

        Args:
            guide: the other size's way.
            starts: where every size lies apart from the others.
            own: the number of the other size among them.
            other: of the wanted one.
        """
        ring = with_fewer_points(guide.points, SIMPLE)
        barred = {half.line for half in starts} - {starts[other].line}
        start = self.lines.points[starts[own].line], self.lines.points[starts[other].line]
        goal = stretched(ring, *start)
        way = None
        for _round in range(_ROUNDS):
            away = np.minimum(
                np.abs(nearest_places(goal, self.lines.every)[0] - self.lines.every), 6.0
            )
            costs = self.lines.sums(away**2)
            found = self.ways_round(starts[other], barred, costs)
            if not found or area_of(found[0].points) <= 0:
                return None
            if way is not None and found[0].lines == way.lines:
                break
            way = found[0]
            goal = stretched(ring, ring, with_fewer_points(way.points, SIMPLE), closed=True)
        return way

    def ways_round(
        self, start: HalfLine, barred: Collection[int], costs: Numbers | None = None
    ) -> list[WayRound]:
        """Return ways that lead from a half-line round to it again, those that bend least first.

        Args:
            start: the half-line.
            barred: lines that are others' own.
            costs: what each line costs, where one way alone is wanted: that which costs least.
        """
        line = self.graph.lines[start.line]
        if line.start == line.end or self._on.get(start) == [start]:
            return [WayRound(self._joined((start,)), frozenset({start.line}), 0.0)]
        numbers, steps = itertools.count(), itertools.count()
        queue = [_Partial(0.0, next(numbers), (start,))]
        visits: dict[HalfLine, int] = {}
        found: list[WayRound] = []
        most, ways = (3 * _WAYS, _WAYS) if costs is None else (1, 2)
        while queue and len(found) < most and next(steps) < _STEPS:
            partial = heapq.heappop(queue)
            last = partial.halves[-1]
            if len(partial.halves) > 1 and last == start:
                halves = partial.halves[:-1]
                lines = frozenset(half.line for half in halves)
                found.append(WayRound(self._joined(halves), lines, partial.cost))
                continue
            visits[last] = visits.get(last, 0) + 1
            if visits[last] > ways:
                continue
            been = {half.line for half in partial.halves[1:]}
            for half in self._on.get(last, ()):
                if half.line in barred or half.line in been or half.line in self._passed:
                    continue
                if half.line == start.line and half != start:
                    continue
                cost = partial.cost + self._bend(partial.halves, half)
                cost += 0.0 if costs is None else float(costs[half.line])
                heapq.heappush(queue, _Partial(cost, next(numbers), (*partial.halves, half)))
        return found

    def _points(self, half: HalfLine) -> Points:
        points = self.graph.lines[half.line].points
        return points if half.forward else points[::-1]

    def _joined(self, halves: Sequence[HalfLine]) -> Points:
        return np.concatenate([self._points(half)[:-1] for half in halves])

    def _bend(self, halves: Sequence[HalfLine], following: HalfLine) -> float:
        """Return the square of the bend (radians²) with which a way goes on."""
        count, length = 0, 0.0
        while count < len(halves) and length <= _TAIL:
            count += 1
            length += self._lengths[halves[-count].line]
        key = (*halves[-count:], following)
        if key not in self._bends:
            self._bends[key] = self._bend_of(halves[-count:], following)
        return self._bends[key]

    def _bend_of(self, halves: Sequence[HalfLine], following: HalfLine) -> float:
        before = np.concatenate([self._points(half) for half in halves])
        after = self._points(following)
        # At the meeting itself the ink of several lines is one.
        one = _direction(before[::-1], self.pen)
        other = _direction(after, self.pen)
        if one is None or other is None:
            return 0.0
        turned = abs(float(np.angle(other / -one)))
        if turned > _TURNS_BACK:
            return _BACK**2
        if turned > _SMOOTH:
            return _CORNER**2
        return turned**2


def _direction(points: Points, pen: float) -> complex | None:
    """Return the direction in which a line leaves a meeting, its curve reckoned with, or None."""
    along = arc_lengths(points)
    first, last = np.searchsorted(along, [1.5 * pen, _TAIL])
    part, at = points[first:last], along[first:last]
    if len(part) < 4 or at[-1] - at[0] < _LEAST_TAIL:
        return None
    straight = part[-1] - part[0]
    # Up to the first corner: from there on it is another seam.
    away = np.abs(((part - part[0]) * np.conj(straight)).imag) / abs(straight)
    if away.max() > 0.12 * abs(straight):
        stop = max(4, int(np.argmax(away)))
        part, at = part[:stop], at[:stop]
    degree = 2 if at[-1] - at[0] > 8.0 else 1
    fit = np.polynomial.polynomial.polyfit(at, np.column_stack([part.real, part.imag]), degree)
    way = complex(*fit[1])
    return way / abs(way) if abs(way) > 0 else None


def _ways_on(meeting: Meeting) -> dict[HalfLine, list[HalfLine]]:
    """Return for each half-line that comes to a meeting those by which it may go on."""
    count = len(meeting.leaving)
    turned = np.array(
        [[abs(float(np.angle(leaves / -came))) for leaves in meeting.ways] for came in meeting.ways]
    )
    smooth: Flags = np.asarray(turned <= _SMOOTH).reshape(count, count)
    np.fill_diagonal(smooth, False)
    lone = [not any(row) for row in smooth.tolist()]
    found = {}
    for k in range(count):
        on = [
            meeting.leaving[j]
            for j in range(count)
            if j != k and (smooth[k, j] or lone[k] or lone[j] or turned[k, j] > _TURNS_BACK)
        ]
        if count == 1:
            on = [meeting.leaving[0]]
        found[meeting.leaving[k].back] = on
    return found


class _Lines:
    """Points along all lines, and which lines they lie near to."""

    def __init__(self, graph: LineGraph) -> None:
        self.points = [
            resampled(line.points, 1.0, closed=False) if line.length > 2.0 else line.points
            for line in graph.lines
        ]
        sizes = [len(points) for points in self.points]
        self._firsts = np.cumsum([0, *sizes[:-1]])
        self._lengths = np.array([line.length for line in graph.lines])
        every = self.every = np.concatenate(self.points)
        owner = np.repeat(np.arange(len(sizes)), sizes)
        self._near = np.zeros((len(every), len(sizes)), dtype=np.bool_)
        which, others = NearPoints(every, _OFF).pairs(every)
        self._near[which, owner[others]] = True
        self._sizes = np.array(sizes)

    def sums(self, values: Numbers) -> Numbers:
        """Return the sums of the values at all points by line."""
        return np.asarray(np.add.reduceat(values, self._firsts))

    def left_over(self, way: WayRound) -> Numbers:
        """Return for every line how much of it (mm) lies off a way; shape (lines,)."""
        off: Numbers = np.asarray(~self._near[:, sorted(way.lines)].any(axis=1), dtype=np.float64)
        return np.asarray(self.sums(off) / self._sizes * self._lengths)

    def are_apart(self, one: WayRound, other: WayRound, limit: float) -> bool:
        """Tell whether two ways are apart by more than a limit (mm) anywhere."""
        own, its = sorted(one.lines - other.lines), sorted(other.lines - one.lines)
        if not own and not its:
            return False
        if not own or not its:
            return float(self._lengths[[*own, *its]].sum()) / 2 > limit
        a = np.concatenate([self.points[k] for k in own])
        b = np.concatenate([self.points[k] for k in its])
        # Some points tell of most ways; all are asked of those that are nearly the same.
        few = max(1, len(a) // _SOME)
        if np.abs(a[::few, None] - b[None, :]).min(axis=1).max() > limit:
            return True
        return _furthest(a, b) > limit

    def twins(self, at: Sequence[tuple[int, int]]) -> set[int]:
        """Return lines that run beside another one from the same meeting to the same, but one.

        Args:
            at: the meetings at the ends of every line.
        """
        found: set[int] = set()
        of: dict[tuple[int, int], list[int]] = {}
        for number, ends in enumerate(at):
            if self._lengths[number] < _LONGEST_TWIN:
                of.setdefault((min(ends), max(ends)), []).append(number)
        for numbers in of.values():
            for one, other in itertools.combinations(numbers, 2):
                if one not in found and _furthest(self.points[one], self.points[other]) < _TWINS:
                    found.add(other)
        return found


def _furthest(one: Points, other: Points) -> float:
    """Return how far points lie from the nearest of others at the most, both ways (mm)."""
    away = np.abs(one[:, None] - other[None, :])
    return float(max(away.min(axis=1).max(), away.min(axis=0).max()))


def _distinct(ways: Sequence[WayRound], lines: _Lines) -> list[WayRound]:
    """Return ways that differ from each other by more than the width of a line."""
    kept: list[WayRound] = []
    for way in sorted(ways, key=lambda each: each.cost):
        if all(lines.are_apart(way, other, _ALIKE) for other in kept):
            kept.append(way)
    return kept


def _best_set(ways: Sequence[Sequence[WayRound]], lines: _Lines) -> list[WayRound] | None:
    """Return a way for every size that leave no line over and are graded most evenly, or None."""
    simple = [[with_fewer_points(way.points, SIMPLE) for way in each] for each in ways]
    steps = [
        np.array([[graded_apart(way, its) for its in larger] for way in smaller])
        for smaller, larger in itertools.pairwise(simple)
    ]
    left = [np.array([lines.left_over(way) for way in each]) for each in ways]
    options = sorted(
        (apart, choice)
        for apart, choice in _chains(steps)
        if (np.min([left[k][j] for k, j in enumerate(choice)], axis=0) < _LEFT_OVER).all()
    )
    if not options:
        return None
    choice = options[0][1]
    pairs = itertools.pairwise(choice)
    if any(step[i, j] > GRADED for step, (i, j) in zip(steps, pairs, strict=True)):
        return None
    if not all(_is_clearly_better(choice, other, ways, steps, lines) for _, other in options[1:]):
        return None
    return [ways[k][j] for k, j in enumerate(choice)]


def _is_clearly_better(
    choice: Sequence[int],
    other: Sequence[int],
    ways: Sequence[Sequence[WayRound]],
    steps: Sequence[Numbers],
    lines: _Lines,
) -> bool:
    """Tell whether a choice of ways is graded more evenly than another, or is the same."""
    differing = {
        k
        for k, (i, j) in enumerate(zip(choice, other, strict=True))
        if i != j and lines.are_apart(ways[k][i], ways[k][j], _SAME)
    }
    # What speaks against the other choice is told by the sizes in which it differs.
    told = [k for k in range(len(steps)) if k in differing or k + 1 in differing]
    own, its = (
        math.sqrt(sum(float(steps[k][one[k], one[k + 1]]) ** 2 for k in told))
        for one in (choice, other)
    )
    return not told or its >= _CLEARLY * own + _MORE


def _chains(steps: Sequence[Numbers]) -> list[tuple[float, tuple[int, ...]]]:
    """Return choices of a way for each size, of which each is the next one stretched, or nearly.

    Args:
        steps: how far each way of a size misses each of the next one (mm).
    """
    most = _CLEARLY * GRADED + _MORE
    found: list[tuple[float, tuple[int, ...]]] = [(0.0, (k,)) for k in range(len(steps[0]))]
    for step in steps:
        on = [
            (squares + float(step[chain[-1], j]) ** 2, (*chain, int(j)))
            for squares, chain in found
            for j in np.flatnonzero(step[chain[-1]] <= most)
        ]
        found = sorted(on)[:_MOST_SETS]
    return [(math.sqrt(squares / len(steps)), chain) for squares, chain in found]
