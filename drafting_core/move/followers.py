"""What travels with the parts of a piece: marks near the outline, the grain, inner lines."""

from __future__ import annotations

import cmath
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from drafting_core.block.block import Block, FullnessMark, InnerLine
from drafting_core.block.found_block import FoundBlock, vector_of
from drafting_core.block.grain import straight_centre
from drafting_core.model.outline import SHORTEST_SEGMENT, encloses, flattened, nearest_on
from drafting_core.model.piece import TUCK, Piece
from drafting_core.move.moving import Moved, sector_run_of
from drafting_core.plane.crossings import segment_crossings
from drafting_core.plane.curves import (
    Line,
    PointMap,
    Segment,
    backward,
    cross,
    dot,
    unit,
    unmoved,
)
from drafting_core.text.words import _

Chain = tuple[Segment, ...]
#: Two sectors went the same way where this point, far out, went to the same place (mm).
_FAR = 1000 + 1000j
_SAME_PLACE = 1e-9
#: A line lies along the grain whose sine against it is no greater.
_ALONG = 1e-6


def placing(steps: Sequence[Moved]) -> PointMap:
    """Return the map that takes a mark near the outline to where its part went."""

    def place(at: complex) -> complex:
        for step in steps:
            at = step.carried(at)
        return at

    return place


def apexes_after(block: Block, steps: Sequence[Moved]) -> list[complex]:
    """Return the pivots, each moved with its part when the piece turned about another."""
    apexes = list(block.apexes)
    for step in steps:
        for number, apex in enumerate(apexes):
            if number != step.fan:
                apexes[number] = step.maps[sector_run_of(step.cut, step.fan, apex)](apex)
    return apexes


def grain_after(read: FoundBlock, steps: Sequence[Moved]) -> complex | None:
    """Return a vector along the grain as it lies after the moves.

    The drafter's own grainline turns with its part. That of a result, which lies where there was
    room for it, stays with the centre as the centre itself does.

    None where neither a grainline nor a straight centre says where it lies.
    """
    if read.grain is not None and not read.points_down:
        return vector_of(_turned_grain(read.grain, steps))
    along = vector_of(read.grain) or straight_centre(read.piece)
    return None if along is None else _turned_with_centre(along, steps)


def _turned_with_centre(along: complex, steps: Sequence[Moved]) -> complex:
    for step in steps:
        to = step.maps[_centre_run(step)]
        along = to(along) - to(0j)
    return along


def _turned_grain(grain: Line, steps: Sequence[Moved]) -> Line:
    for step in steps:
        grain = grain.mapped(step.maps[sector_run_of(step.cut, step.fan, grain.point(0.5))])
    return grain


def _centre_run(step: Moved) -> int:
    """Return the run of the centre: the part that stays, else the longer one of a divided one.

    Without a centre it is one that stays.
    """
    return max(
        range(len(step.cut.runs)),
        key=lambda k: (
            any(edge.seam.is_centre for edge in step.cut.runs[k]) and step.maps[k] is unmoved,
            sum(e.segment.length() for e in step.cut.runs[k] if e.seam.is_centre),
            step.maps[k] is unmoved,
        ),
    )


def drawn_grain(
    read: FoundBlock,
    steps: Sequence[Moved],
    stitch_line: Sequence[Segment],
    down: complex,
    clear: Sequence[complex],
    room: float,
) -> Line | None:
    """Return the grainline as drawn, turned with its part, where it can be kept.

    It has to lie inside the piece and, after a move, on no dart. That of a result has to lie
    along the grain still, and to keep clear of what a grainline keeps clear of.

    Args:
        read: the block.
        steps: the moves.
        stitch_line: the finished stitch line.
        down: the unit vector down along the grain.
        clear: points that a grainline keeps clear of.
        room: how far in mm.
    """
    if read.grain is None:
        return None
    line = _turned_grain(read.grain, steps)
    polygon = flattened(stitch_line)
    if not all(encloses(polygon, z) for z in line):
        return None
    if steps and any(segment_crossings(line, segment) for segment in stitch_line):
        return None
    if steps and read.points_down:
        along = unit(line.end - line.start)
        if abs(cross(along, down)) > _ALONG:
            return None
        if any(nearest_on([line], z).distance < room for z in clear):
            return None
    return line if dot(line.end - line.start, down) > 0 else line.reversed()


def grain_turned(read: FoundBlock, steps: Sequence[Moved]) -> float:
    """Return by how much the drafter's own grainline turned against the centre, in radians."""
    if read.grain is None or read.points_down:
        return 0.0
    along = read.grain.end - read.grain.start
    turned = _turned_grain(read.grain, steps)
    return abs(cmath.phase((turned.end - turned.start) / _turned_with_centre(along, steps)))


def turned_fullness(block: Block, steps: Sequence[Moved]) -> list[FullnessMark]:
    """Return the fullness of an earlier result, each turned with its part."""
    marks = list(block.fullness)
    for step in steps:
        marks = [
            mark._replace(
                paths=tuple(
                    # A tuck's lines go each with its side, its arrow with the first.
                    _mapped(path, step.map_at(mark.paths[number % 2][0].start))
                    for number, path in enumerate(mark.paths)
                )
                if mark.kind == TUCK
                else tuple(_with_their_parts(path, step) for path in mark.paths)
            )
            for mark in marks
        ]
    return marks


def _with_their_parts(path: Chain, step: Moved) -> Chain:
    """Return a path along a seam, each end turned with its own part, should a cut divide it."""
    *others, last = path
    turned = [segment.mapped(step.map_at(segment.start)) for segment in others]
    return (*turned, last.mapped(step.map_at(last.end)))


class Followed(NamedTuple):
    """Inner lines after a move, and what was done to them, in words.

    Attributes:
        lines: the inner lines.
        notes: the sentences.
    """

    lines: tuple[InnerLine, ...]
    notes: tuple[str, ...]


def turned_inner_lines(block: Block, steps: Sequence[Moved]) -> Followed:
    """Return the inner lines, each turned with the part of the piece on which it lies.

    A line that a cut crosses is split there, and each part goes with its own side, unless both
    sides go the same way. What lies inside a dart is left out.
    """
    lines = []
    notes = []
    for line in block.inner_lines:
        paths = list(line.paths)
        lost = False
        for step in steps:
            turned = []
            for path in paths:
                parts, missing = _parted(path, step)
                turned += parts
                lost = lost or missing
            paths = turned
        if len(paths) > len(line.paths):
            notes.append(
                _(
                    "The inner line {line} crosses a cut: it was split there, and each part went "
                    "with its own side."
                ).format(line=line.spoken)
            )
        if lost:
            notes.append(
                _("What lay inside a dart of the inner line {line} was left out.").format(
                    line=line.spoken
                )
            )
        if paths:
            lines.append(line._replace(paths=tuple(paths)))
    return Followed(tuple(lines), tuple(notes))


def _parted(path: Chain, step: Moved) -> tuple[list[Chain], bool]:
    """Return a path split where it crosses cuts whose sides part, each part turned."""
    edges, wedges = _cuts_and_darts(step.cut, step.fan)
    groups: list[tuple[PointMap | None, list[Segment]]] = []
    for segment in path:
        places = sorted({t for edge in edges for t, _ in segment_crossings(segment, edge)})
        ends = [0.0, *(t for t in places if 0.0 < t < 1.0), 1.0]
        for start, end in pairwise(ends):
            piece = segment.part(start, end)
            middle = piece.point(0.5)
            if piece.length() < SHORTEST_SEGMENT:
                continue
            inside = any(encloses(wedge, middle) for wedge in wedges)
            to = None if inside else step.maps[sector_run_of(step.cut, step.fan, middle)]
            if groups and _same_way(groups[-1][0], to):
                groups[-1][1].append(piece)
            else:
                groups.append((to, [piece]))
    if not groups:
        return [], False
    closed = abs(path[0].start - path[-1].end) < SHORTEST_SEGMENT
    if closed and len(groups) > 1 and _same_way(groups[0][0], groups[-1][0]):
        to, pieces = groups.pop()
        groups[0] = (to, [*pieces, *groups[0][1]])
    if len(groups) == 1 and groups[0][0] is not None:
        # Nothing parts it: the path keeps its own segments.
        return [_mapped(path, groups[0][0])], False
    kept = [_mapped(tuple(pieces), to) for to, pieces in groups if to is not None]
    return kept, len(kept) < len(groups)


def _cuts_and_darts(piece: Piece, fan: int) -> tuple[list[Segment], list[list[complex]]]:
    """Return the edges of all cuts of a fan, and a polygon of every dart that is open."""
    edges: list[Segment] = []
    wedges = []
    for k, opening in enumerate(piece.openings):
        if opening.fan != fan:
            continue
        there, back = opening.legs(piece.mouth(k), opening.apex)
        edges += [*there, *back]
        if opening.angle > 0.0:
            outward = list(backward(back))
            wedges.append([*flattened([*there, *outward]), piece.mouth(k)[1]])
    return edges, wedges


def _same_way(first: PointMap | None, second: PointMap | None) -> bool:
    if first is None or second is None:
        return first is second
    return all(cmath.isclose(first(z), second(z), abs_tol=_SAME_PLACE) for z in (0j, _FAR))


def _mapped(chain: Sequence[Segment], to: PointMap) -> Chain:
    return tuple(segment.mapped(to) for segment in chain)
