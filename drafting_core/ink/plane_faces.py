"""The faces that the lines of a sheet enclose, and what faces together have as their outline.

The lines are run through by half-lines: each line once in either direction, the face at its left
(at 1j·direction). A face's boundary goes on, at each meeting, along the next line clockwise.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.centre_lines import run_through
from drafting_core.ink.line_graph import LineGraph
from drafting_core.ink.pen_line import length_round, mean_width
from drafting_core.ink.polylines import Points, arc_lengths, area_of, inside

#: The direction in which a line leaves a meeting is that of its first so many millimetres.
_LEAVES = 6.0


class HalfLine(NamedTuple):
    """A line in one of its directions.

    Attributes:
        line: its number.
        forward: whether it is run through from its start to its end.
    """

    line: int
    forward: bool

    @property
    def back(self) -> HalfLine:
        """The same line in the other direction."""
        return HalfLine(self.line, not self.forward)


class Face(NamedTuple):
    """What lines enclose.

    Attributes:
        points: its boundary, run through with the face at 1j·direction; the first point not
            repeated; shape (n,).
        halves: the half-lines of it.
        area: in mm².
        component: the number of the connected lines that it belongs to.
    """

    points: Points
    halves: tuple[HalfLine, ...]
    area: float
    component: int

    @property
    def width(self) -> float:
        """Its mean width in mm: twice its area over the length of its boundary."""
        return mean_width(self.area, length_round(self.points))


class Component(NamedTuple):
    """Lines that hang together.

    Attributes:
        outline: the outer boundary of all of its faces; shape (n,).
        faces: the numbers of its faces.
        area: within the outline, in mm².
        within: the number of the face of another component in which it lies, or -1.
    """

    outline: Points
    faces: tuple[int, ...]
    area: float
    within: int


class PlaneFaces:
    """The faces of a line graph."""

    def __init__(self, graph: LineGraph) -> None:
        """Find the faces.

        Args:
            graph: its lines meet at nodes only; loose ends bound no face and are passed over.
        """
        self.graph = graph
        self._around = _around(graph)
        self.faces: list[Face] = []
        self._left: dict[HalfLine, int] = {}
        outlines = self._run_through()
        self.components = self._components(outlines)

    def left_of(self, half: HalfLine) -> int:
        """Return the number of the face at the left of a half-line, -1 for the outside."""
        return self._left.get(half, -1)

    def points_of(self, half: HalfLine) -> Points:
        """Return the points of a half-line in its direction."""
        points = self.graph.lines[half.line].points
        return points if half.forward else points[::-1]

    def boundary(self, faces: Collection[int]) -> list[tuple[list[HalfLine], Points]]:
        """Return the closed lines that bound some faces together, that with the most area first.

        Args:
            faces: their numbers.
        """
        bounds = {
            half
            for face in faces
            for half in self.faces[face].halves
            if self.left_of(half.back) not in faces
        }
        cycles = []
        left = dict.fromkeys(sorted(bounds))
        while left:
            first = next(iter(left))
            cycle, half = [], first
            while half in left:
                del left[half]
                cycle.append(half)
                half = self._next(half, bounds)
            cycles.append((cycle, self._joined(cycle)))
        return sorted(cycles, key=lambda cycle: -area_of(cycle[1]))

    def neighbours(self, face: int) -> Iterator[tuple[int, float]]:
        """Yield the faces across each line of a face, and how long that line is in mm."""
        for half in self.faces[face].halves:
            yield self.left_of(half.back), self.graph.lines[half.line].length

    def _start(self, half: HalfLine) -> int:
        line = self.graph.lines[half.line]
        return line.start if half.forward else line.end

    def _next(self, half: HalfLine, allowed: Collection[HalfLine] | None = None) -> HalfLine:
        """Return the half-line by which a boundary goes on: the next one clockwise."""
        around = self._around[self._start(half.back)]
        place = around.index(half.back)
        for step in range(1, len(around) + 1):
            following = around[(place - step) % len(around)]
            if allowed is None or following in allowed:
                return following
        return half.back

    def _joined(self, cycle: Sequence[HalfLine]) -> Points:
        return np.concatenate([self.points_of(half)[:-1] for half in cycle])

    def _run_through(self) -> dict[int, list[HalfLine]]:
        """Find all faces; return the outer boundary of all connected lines, by their number."""
        number_of = _connected(self.graph)
        cycles: dict[int, list[tuple[float, list[HalfLine], Points]]] = {}
        done: set[HalfLine] = set()
        for around in self._around:
            for first in around:
                if first in done:
                    continue
                cycle, half = [], first
                while half not in done:
                    done.add(half)
                    cycle.append(half)
                    half = self._next(half)
                points = self._joined(cycle)
                number = number_of[self._start(first)]
                cycles.setdefault(number, []).append((area_of(points), cycle, points))
        outer = {}
        for number, found in cycles.items():
            # All others are faces, be they so small that their area is not told from nothing.
            place = min(range(len(found)), key=lambda k: found[k][0])
            outer[number] = found[place][1]
            for k, (area, cycle, points) in enumerate(found):
                if k == place:
                    continue
                for each in cycle:
                    self._left[each] = len(self.faces)
                self.faces.append(Face(points, tuple(cycle), max(area, 0.0), number))
        return outer

    def _components(self, outlines: dict[int, list[HalfLine]]) -> list[Component]:
        """Sort the faces by the connected lines that they belong to; largest first."""
        shapes = [
            (number, self._joined([half.back for half in reversed(cycle)]))
            for number, cycle in outlines.items()
        ]
        shapes.sort(key=lambda shape: -area_of(shape[1]))
        order = {number: place for place, (number, _points) in enumerate(shapes)}
        self.faces = [face._replace(component=order[face.component]) for face in self.faces]
        components = []
        for place, (_number, points) in enumerate(shapes):
            own = tuple(k for k, face in enumerate(self.faces) if face.component == place)
            components.append(
                Component(points, own, area_of(points), self._around_it(place, points))
            )
        return components

    def _around_it(self, component: int, outline: Points) -> int:
        """Return the smallest face of another component that a closed line lies in, or -1."""
        some = outline[:: max(1, len(outline) // 12)]
        size = area_of(outline)
        found = [
            (face.area, number)
            for number, face in enumerate(self.faces)
            if face.component != component
            and face.area > size
            and _in_box(face.points, some[0])
            and inside(face.points, some).mean() > 0.5
        ]
        return min(found)[1] if found else -1


def _in_box(points: Points, place: complex) -> bool:
    return bool(
        points.real.min() <= place.real <= points.real.max()
        and points.imag.min() <= place.imag <= points.imag.max()
    )


def _around(graph: LineGraph) -> list[list[HalfLine]]:
    """Return for each node the half-lines that leave it, anticlockwise (in the sense of 1j)."""
    leaving: list[list[tuple[float, HalfLine]]] = [[] for _ in graph.nodes]
    for number, line in enumerate(graph.lines):
        if line.leaves:
            leaving[line.start].append((line.leaves[0], HalfLine(number, True)))
            leaving[line.end].append((line.leaves[1], HalfLine(number, False)))
            continue
        for node, points, forward in (
            (line.start, line.points, True),
            (line.end, line.points[::-1], False),
        ):
            reach = int(np.searchsorted(arc_lengths(points), _LEAVES))
            way = points[min(reach, len(points) - 1)] - points[0]
            if abs(way) < 1e-9:
                way = points[len(points) // 2] - points[0]
            leaving[node].append((float(np.angle(way)), HalfLine(number, forward)))
    return [[half for _angle, half in sorted(each)] for each in leaving]


def _connected(graph: LineGraph) -> list[int]:
    """Return for each node the number of the connected lines that it belongs to."""
    of = list(range(len(graph.nodes)))

    def root(number: int) -> int:
        while of[number] != number:
            of[number] = of[of[number]]
            number = of[number]
        return number

    for line in graph.lines:
        of[root(line.start)] = root(line.end)
    return [root(number) for number in range(len(of))]


def without_loose_ends(graph: LineGraph) -> LineGraph:
    """Return a graph with only those lines that are part of a closed way, or join two of them."""
    lines = list(graph.lines)
    while True:
        degrees = LineGraph(graph.nodes, lines).degrees()
        kept = [line for line in lines if degrees[line.start] > 1 and degrees[line.end] > 1]
        if len(kept) == len(lines):
            return run_through(LineGraph(graph.nodes, kept))
        lines = kept
