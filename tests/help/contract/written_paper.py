"""A written result taken apart for folding: which seam is which, where its darts are."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from tests.help.blocks.random_blocks import Block, Points, tangent
from tests.help.contract.contract_model import NS, Result, length
from tests.help.contract.folded_paper import Mouth, Paper, Solid, unit

CORNER = math.radians(30)
#: Nodes closer than this, mm, are one place: a dart's point and the node of the stitch line there.
SAME = 1e-5
#: A cubic whose handles lie so near to its chord, mm, counts as a line.
STRAIGHT = 1e-3


@dataclass(frozen=True)
class Widths:
    """What a run was asked to add: mm for each seam's name, which are turned, which on the fold."""

    by_seam: dict[str, float]
    turned: frozenset[str] = field(default_factory=frozenset)
    on_fold: frozenset[str] = field(default_factory=frozenset)


def read_paper(result: Result, block: Block, widths: Widths,
               uneven: float = 0.0) -> Paper:
    """A result layer as paper to be folded.

    Args:
        result: the layer.
        block: the block that it was made of: its seams, in order.
        widths: what was asked for them.
        uneven: by how many mm a mouth end was moved along its leg by hand.

    Raises:
        ValueError: if the written lines do not have the block's seams.
    """
    stitch = _clockwise(result.subpaths(result.parts["stitch-line"][0])[0][0])
    solids, places = _without_darts(result, stitch)
    solids = [_as_line(points) for points in solids]
    runs = _runs(solids, places, block)
    stretches = tuple(
        Solid(points, 0.0 if block.runs[run] in widths.on_fold else
              widths.by_seam[block.runs[run]], block.runs[run] in widths.turned, run)
        for points, run in zip(solids, runs, strict=True))
    folds = tuple(k for k, run in enumerate(runs) if block.runs[run] in widths.on_fold)
    return Paper(
        stretches, tuple(places),
        tuple(_clockwise(result.subpaths(result.parts["cut-line"][0])[0][0])),
        tuple(tuple(result.subpaths(e)[0][0]) for e in result.parts.get("trim-window", [])),
        tuple(tuple(result.nodes(e)) for e in result.parts.get("notch", [])), folds,
        uneven)


def _as_line(points: Points) -> Points:
    """A straight cubic as the line that it counts as."""
    chord = points[-1] - points[0]
    if abs(chord) < 1e-9 or any(
            abs(((z - points[0]) / unit(chord)).imag) > STRAIGHT for z in points[1:-1]):
        return points
    return points[0], points[-1]


def _clockwise(pieces: list[Points]) -> list[Points]:
    """The pieces in the direction in which the piece lies at ``1j * tangent``."""
    nodes = [z for points in pieces for z in points[:-1]]
    twice = sum((a.conjugate() * b).imag for a, b in zip(nodes, nodes[1:] + nodes[:1], strict=True))
    return pieces if twice > 0 else [points[::-1] for points in reversed(pieces)]


def _arrow(result: Result, element: Any) -> tuple[complex, complex]:
    pieces = result.subpaths(element)[-1][0] if element.get(NS + "part") == "tuck" else (
        result.subpaths(element)[0][0])
    return pieces[0][0], pieces[0][-1]


def _leg_of(arrow: tuple[complex, complex], rays: tuple[complex, complex]) -> int:
    """The leg over which the excess goes, by the arrow that says so."""
    way = (arrow[1] - arrow[0]) / unit(rays[0] + rays[1])
    return 0 if way.imag < 0 else 1


def _without_darts(result: Result, stitch: list[Points]) -> tuple[list[Points], list[Mouth]]:
    """The stretches of seam in order, and the mouths between them."""
    points = [result.centre(e) for e in result.parts.get("dart-point", [])]
    count = len(stitch)
    darts = [k for k in range(count) if any(abs(stitch[k][-1] - z) < SAME for z in points)]
    if len(darts) != len(points):
        raise ValueError(f"{len(points)} dart points, {len(darts)} of them on the stitch line")
    arrows = [_arrow(result, e) for e in result.parts.get("fold-arrow", [])]
    taken: dict[int, tuple[complex, tuple[complex, complex], int]] = {}
    gone = set()
    for k in darts:
        ends = stitch[k][0], stitch[(k + 1) % count][-1]
        point = stitch[k][-1]
        arrow = min(arrows, key=lambda a: abs(unit((a[0] + a[1]) / 2 - point)
                                              - unit(sum(ends) / 2 - point)))
        rays = unit(ends[0] - point), unit(ends[1] - point)
        taken[k] = point, ends, _leg_of(arrow, rays)
        gone |= {k, (k + 1) % count}
    for element in result.parts.get("tuck", []):
        lines = [pieces for pieces, _ in result.subpaths(element)][:2]
        ends = lines[0][0][0], lines[1][0][0]
        first = min(range(count), key=lambda k: abs(stitch[k][0] - ends[0]))
        second = min(range(count), key=lambda k: abs(stitch[k][0] - ends[1]))
        between = [(first + n) % count for n in range((second - first) % count)]
        if sum(length(stitch[k]) for k in between) > sum(map(length, stitch)) / 2:
            first, second, lines = second, first, lines[::-1]
            ends = ends[1], ends[0]
            between = [(first + n) % count for n in range((second - first) % count)]
        ways = [unit(line[0][0] - line[0][-1]) for line in lines]
        along = ((ends[1] - ends[0]) / ways[1]).imag / (ways[0] / ways[1]).imag
        point = ends[0] + ways[0] * along
        taken[first] = point, ends, _leg_of(_arrow(result, element), (ways[0], ways[1]))
        gone |= set(between)
    start = next((k + 1 for k in range(count) if k in gone and (k + 1) % count not in gone), 0)
    solids: list[Points] = []
    mouths: list[Mouth] = []
    for n in range(start, start + count):
        k = n % count
        if k in taken:
            point, ends, leg = taken[k]
            mouths.append(Mouth(len(solids) - 1, ends, point, leg))
        if k not in gone:
            solids.append(stitch[k])
    return solids, mouths


def _runs(solids: list[Points], mouths: list[Mouth], block: Block) -> list[int]:
    """The number of the block's run that each stretch is of, by its corners and lengths.

    Raises:
        ValueError: if there are not as many corners as runs, or their lengths differ.
    """
    count = len(solids)
    at_mouth = {mouth.before: mouth for mouth in mouths}
    starts = []
    for k in range(count):
        way_in, way_out = tangent(solids[k], True), tangent(solids[(k + 1) % count], False)
        if k in at_mouth:
            way_out *= at_mouth[k].rays[0] / at_mouth[k].rays[1]
        if abs(cmath.phase(way_out / way_in)) > CORNER:
            starts.append((k + 1) % count)
    drawn = [sum(length(s.points) for s in block.segments if s.run == run)
             for run in range(len(block.runs))]
    if len(starts) != len(drawn):
        raise ValueError(f"{len(starts)} corners, {len(drawn)} seams")
    starts.sort()
    found = [sum(length(solids[n % count]) for n in range(a, b))
             for a, b in pairwise([*starts, starts[0] + count])]
    size = len(drawn)
    shift = min(range(size), key=lambda s: max(
        abs(found[k] - drawn[(k + s) % size]) for k in range(size)))
    worst = max(abs(found[k] - drawn[(k + shift) % size]) for k in range(size))
    if worst > 10:
        raise ValueError(f"a seam is {worst:.2f} mm longer or shorter than it was drawn")
    runs = [0] * count
    for k, (a, b) in enumerate(pairwise([*starts, starts[0] + count])):
        for n in range(a, b):
            runs[n % count] = (k + shift) % size
    return runs
