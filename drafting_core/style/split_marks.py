"""The marks of a block that was cut in two: which of them lie on which part."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from drafting_core.block.block import Block, InnerLine
from drafting_core.model.outline import SHORTEST_SEGMENT, encloses, flattened, nearest_on
from drafting_core.model.piece import Piece
from drafting_core.plane.crossings import segment_crossings
from drafting_core.plane.curves import Segment
from drafting_core.text.words import _

Chain = tuple[Segment, ...]


def notches_of(block: Block, parts: Sequence[Piece], index: int) -> list[complex]:
    """Return the drafter's notches that lie on one of the parts."""
    edges = [[edge.segment for edge in part.edges()] for part in parts]
    return [at for at in block.notches if _nearest(edges, at) == index]


def _nearest(sides: Sequence[Sequence[Segment]], at: complex) -> int:
    """Return the number of the part whose seams come nearest to a point."""
    return min(range(len(sides)), key=lambda n: nearest_on(sides[n], at).distance)


def inner_lines_of(
    block: Block, whole: Piece, parts: Sequence[Piece], index: int
) -> tuple[list[InnerLine], list[str]]:
    """Return the inner lines that lie on one of the parts, split where the cut crosses them.

    What lies inside a dart along which the block was cut is on neither part.

    Args:
        block: the block with its inner lines.
        whole: its piece before it was cut.
        parts: the two parts.
        index: the number of the part.

    Returns:
        The lines, and a word on each that was split or of which something was left out.
    """
    mouths = {part.mouth(k) for part in parts for k in range(len(part.openings))}
    gone = [
        (*whole.mouth(k), opening.apex)
        for k, opening in enumerate(whole.openings)
        if whole.mouth(k) not in mouths
    ]
    # As drawn: cloth between a dart's own point and the apex belongs to its part.
    polygons = [flattened(part.ring(lambda opening: opening.point)) for part in parts]
    sides = [[edge.segment for edge in part.edges()] for part in parts]
    lines, notes = [], []
    for line in block.inner_lines:
        mine: list[Chain] = []
        split = False
        for path in line.paths:
            groups = _grouped(path, sides, polygons, gone)
            split = split or len(groups) > 1
            mine += [chain for part, chain in groups if part == index]
        if mine:
            lines.append(line._replace(paths=tuple(mine)))
        if mine and split:
            notes.append(
                _(
                    "The inner line {line} crosses the style line: it was split there, and each "
                    "part went with its own piece; nothing is left of it inside a dart along the "
                    "style line."
                ).format(line=line.spoken)
            )
    return lines, notes


def _grouped(
    path: Chain,
    sides: Sequence[Sequence[Segment]],
    polygons: Sequence[Sequence[complex]],
    gone: Sequence[Sequence[complex]],
) -> list[tuple[int, Chain]]:
    """Return a path in stretches, each with the number of the part on which it lies, or -1."""
    groups: list[tuple[int, list[Segment]]] = []
    edges = [edge for side in sides for edge in side]
    for segment in path:
        places = {t for edge in edges for t, _ in segment_crossings(segment, edge)}
        for start, end in pairwise([0.0, *sorted(t for t in places if 0.0 < t < 1.0), 1.0]):
            piece = segment.part(start, end)
            if piece.length() < SHORTEST_SEGMENT:
                continue
            middle = piece.point(0.5)
            inside = [n for n, polygon in enumerate(polygons) if encloses(polygon, middle)]
            # What lies inside a dart goes with the part that has the dart.
            part = inside[0] if inside else _nearest(sides, middle)
            if not inside and any(encloses(dart, middle) for dart in gone):
                part = -1
            if groups and groups[-1][0] == part:
                groups[-1][1].append(piece)
            else:
                groups.append((part, [piece]))
    if len(groups) == 1:
        return [(groups[0][0], path)]
    closed = abs(path[0].start - path[-1].end) < SHORTEST_SEGMENT
    if closed and len(groups) > 1 and groups[0][0] == groups[-1][0]:
        part, pieces = groups.pop()
        groups[0] = (part, [*pieces, *groups[0][1]])
    return [(part, tuple(pieces)) for part, pieces in groups]
