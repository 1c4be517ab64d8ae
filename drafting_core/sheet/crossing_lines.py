"""Where lines of a sheet cross: outlines that go straight on there, and those that do not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.line_graph import LineGraph
from drafting_core.ink.plane_faces import HalfLine
from drafting_core.ink.polylines import Points, arc_lengths, area_of, diagonal

#: Meetings that lie nearer to each other than so many widths of the pen, along a line, are one.
_ONE_MEETING = 4.0
#: The direction of a line at a meeting is that of its part between these distances from it (mm).
_FROM, _TO = 1.0, 8.0
#: A line goes straight on at a crossing if it turns by less than this (radians).
_STRAIGHT_ON = math.radians(14.0)
#: A line that ends sooner (mm) goes nowhere: ink that runs together at a dart's point.
_GOES_ON = 12.0
#: A line ends upon another if it turns by more than this (radians) into either part of it.
_ENDS_UPON = math.radians(30.0)
#: An outline that turns by more than this where lines go straight on has changed its line.
_CHANGES = math.radians(5.0)
#: A closed line that comes this near to itself elsewhere (mm) is none of a block.
_LEAST_SIZE = 40.0


class Meeting(NamedTuple):
    """A place where lines meet.

    Attributes:
        leaving: the half-lines that leave it.
        ways: their directions there, as unit vectors.
    """

    leaving: tuple[HalfLine, ...]
    ways: tuple[complex, ...]


def meetings(graph: LineGraph, pen: float) -> tuple[list[Meeting], set[int], list[int]]:
    """Return where lines meet, meetings that are one joined.

    Args:
        graph: the lines.
        pen: their width in mm.

    Returns:
        The meetings; the numbers of the short lines that lie within them; for each node the
        number of its meeting.
    """
    of = list(range(len(graph.nodes)))

    def root(number: int) -> int:
        while of[number] != number:
            number = of[number]
        return number

    short = set()
    for number, line in enumerate(graph.lines):
        if line.start != line.end and line.length < _ONE_MEETING * pen:
            short.add(number)
            of[root(line.start)] = root(line.end)
    roots = sorted({root(number) for number in range(len(of))})
    place = {number: k for k, number in enumerate(roots)}
    leaving: list[list[HalfLine]] = [[] for _ in roots]
    for number, line in enumerate(graph.lines):
        if number not in short:
            leaving[place[root(line.start)]].append(HalfLine(number, True))
            leaving[place[root(line.end)]].append(HalfLine(number, False))
    found = [
        Meeting(tuple(halves), tuple(_way(graph, half) for half in halves)) for halves in leaving
    ]
    return found, short, [place[root(number)] for number in range(len(of))]


def _way(graph: LineGraph, half: HalfLine) -> complex:
    points = graph.lines[half.line].points
    points = points if half.forward else points[::-1]
    along = arc_lengths(points)
    first, last = (int(np.searchsorted(along, at)) for at in (_FROM, _TO))
    first = min(first, len(points) - 2)
    last = min(max(last, first + 1), len(points) - 1)
    way = complex(points[last] - points[first])
    return way / abs(way) if abs(way) > 0 else 1.0 + 0j


def _turned(came: complex, leaves: complex) -> float:
    """Return by how much a line turns that came along the reverse of one way and leaves by one."""
    return abs(float(np.angle(leaves / -came)))


def straight_pairs(meeting: Meeting) -> dict[HalfLine, HalfLine] | None:
    """Return which half-lines of a crossing are one line that goes straight on, or None.

    None where the lines at the meeting do not pair up so.
    """
    count = len(meeting.leaving)
    if count < 2 or count % 2:
        return None
    options = sorted(
        (_turned(meeting.ways[i], meeting.ways[j]), i, j)
        for i in range(count)
        for j in range(i + 1, count)
    )
    pairs: dict[HalfLine, HalfLine] = {}
    for turned, i, j in options:
        one, other = meeting.leaving[i], meeting.leaving[j]
        if turned <= _STRAIGHT_ON and one not in pairs and other not in pairs:
            pairs[one], pairs[other] = other, one
    return pairs if len(pairs) == count else None


def runs_together(graph: LineGraph, pen: float) -> complex | None:
    """Return a place at which lines meet otherwise than one that ends upon another, or None.

    Args:
        graph: the lines, without loose ends.
        pen: their width in mm.
    """
    found, _short, _at = meetings(graph, pen)
    for meeting in found:
        if len(meeting.leaving) < 3:
            continue
        turned = sorted(
            _turned(one, other)
            for k, one in enumerate(meeting.ways)
            for other in meeting.ways[k + 1 :]
        )
        if len(meeting.leaving) > 3 or turned[0] > _STRAIGHT_ON or turned[1] < _ENDS_UPON:
            first = meeting.leaving[0]
            line = graph.lines[first.line]
            return complex(graph.nodes[line.start if first.forward else line.end])
    return None


def closed_by_crossings(graph: LineGraph, pen: float) -> list[Points] | None:
    """Return the closed lines into which crossing lines fall, each going straight on, or None.

    Args:
        graph: the lines, without loose ends.
        pen: their width in mm.

    Returns:
        The closed lines, each of shape (n,); None where lines meet that do not cross.
    """
    found, short, at = meetings(graph, pen)
    on: dict[HalfLine, HalfLine] = {}
    for meeting in found:
        if len(meeting.leaving) <= 1:
            if meeting.leaving:
                return None
            continue
        pairs = straight_pairs(meeting)
        if pairs is None:
            if len(meeting.leaving) != 2:
                return None
            one, other = meeting.leaving
            pairs = {one: other, other: one}
        on.update(pairs)
    del at
    rings, done = [], set(short)
    for number in range(len(graph.lines)):
        if number in done:
            continue
        half, parts = HalfLine(number, True), []
        while half.line not in done:
            done.add(half.line)
            points = graph.lines[half.line].points
            parts.append(points if half.forward else points[::-1])
            half = on[half.back]
        if half != HalfLine(number, True):
            return None
        ring = np.concatenate([part[:-1] for part in parts])
        rings.append(ring if area_of(ring) > 0 else ring[::-1])
    return rings if all(diagonal(ring) >= _LEAST_SIZE for ring in rings) else None


def changes_line(graph: LineGraph, pen: float, outline: Sequence[HalfLine]) -> complex | None:
    """Return a place at which an outline leaves a line that goes straight on there, or None.

    Where outlines of several sizes cross, none of them follows the edge of all.

    Args:
        graph: the lines.
        pen: their width in mm.
        outline: an outline's half-lines, in order.
    """
    found, short, at = meetings(graph, pen)
    halves = [half for half in outline if half.line not in short]
    for k, half in enumerate(halves):
        came, leaves = halves[k - 1].back, half
        line = graph.lines[leaves.line]
        meeting = found[at[line.start if leaves.forward else line.end]]
        if len(meeting.leaving) < 4 or came not in meeting.leaving:
            continue
        ways = dict(zip(meeting.leaving, meeting.ways, strict=True))
        if _turned(ways[came], ways[leaves]) <= _CHANGES:
            continue
        others = [
            other
            for other in meeting.leaving
            if other not in (came, leaves) and graph.lines[other.line].length > _GOES_ON
        ]
        on = [
            [o for o in others if _turned(ways[own], ways[o]) <= _STRAIGHT_ON]
            for own in (came, leaves)
        ]
        if all(on) and len({other for each in on for other in each}) > 1:
            return complex(graph.nodes[line.start if leaves.forward else line.end])
    return None
