"""What travels with the parts of a piece: marks near the outline, the grain, inner lines."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.block import Block, InnerLine
from drafting_core.curves import Line, PointMap, Segment, dot, unmoved
from drafting_core.errors import DraftingError
from drafting_core.found_block import FoundBlock, vector_of
from drafting_core.grain import straight_centre
from drafting_core.moving import Moved, sector_run_of
from drafting_core.outline import encloses, flattened, nearest_on


def placing(block: Block, moved: Moved | None) -> PointMap:
    """Return the map that takes a mark near the outline to where its part went."""
    if moved is None or block.apex is None:
        return unmoved
    order = [(k, edge.segment) for k, run in enumerate(moved.cut.runs) for edge in run]
    segments = [segment for _, segment in order]

    def place(at: complex) -> complex:
        return moved.maps[order[nearest_on(segments, at).segment][0]](at)

    return place


def grain_after(read: FoundBlock, moved: Moved | None) -> complex | None:
    """Return a vector along the grain as it lies after its part of the piece has turned.

    None where neither a grainline nor a straight centre says where it lies.
    """
    along = vector_of(read.grain) or straight_centre(read.piece)
    if along is None or moved is None:
        return along
    to = moved.maps[_grain_run(read, moved)]
    return to(along) - to(0j)


def _grain_run(read: FoundBlock, moved: Moved) -> int:
    """Return the run with which the grain turns."""
    cut = moved.cut
    if read.grain is not None:
        apex = next(opening.apex for opening in cut.openings if opening.in_fan)
        return sector_run_of(cut, apex, read.grain.point(0.5))
    # A cut may divide the centre: the part that stays, else the longer one, says where the
    # grain lies.
    return max(
        range(len(cut.runs)),
        key=lambda k: (
            any(edge.seam.is_centre for edge in cut.runs[k]) and moved.maps[k] is unmoved,
            sum(e.segment.length() for e in cut.runs[k] if e.seam.is_centre),
        ),
    )


def drawn_grain(
    read: FoundBlock, moved: Moved | None, stitch_line: Sequence[Segment], down: complex
) -> Line | None:
    """Return the drafter's own grainline, turned with its part, if it lies inside the piece."""
    if read.grain is None:
        return None
    to = unmoved if moved is None else moved.maps[_grain_run(read, moved)]
    line = read.grain.mapped(to)
    polygon = flattened(stitch_line)
    if not all(encloses(polygon, z) for z in line):
        return None
    return line if dot(line.end - line.start, down) > 0 else line.reversed()


def turned_inner_lines(block: Block, moved: Moved | None) -> list[InnerLine]:
    """Return the inner lines, each turned with the part of the piece on which it lies.

    Raises:
        DraftingError: if a line lies on two parts that turn differently.
    """
    if moved is None or block.apex is None:
        return list(block.inner_lines)
    turned = []
    for line in block.inner_lines:
        points = [z for path in line.paths for z in [*flattened(path, 8), path[-1].end]]
        runs = {sector_run_of(moved.cut, block.apex, z) for z in points}
        maps = [moved.maps[run] for run in runs]
        images = {tuple(_rounded(to(z)) for z in points) for to in maps}
        if len(images) > 1:
            raise DraftingError(
                "the line lies across a cut, and its two parts turn differently.",
                thing=line.thing,
                remedy="Split it where the cut runs, or take its label off.",
                place=points[0],
            )
        turned.append(
            InnerLine(
                tuple(tuple(s.mapped(maps[0]) for s in path) for path in line.paths), line.thing
            )
        )
    return turned


def _rounded(z: complex) -> tuple[float, float]:
    return round(z.real, 6), round(z.imag, 6)
