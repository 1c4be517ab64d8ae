"""Which outlines lie about a point, without a look at every other outline."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from drafting_core.block.places import TARGET_REACH
from drafting_core.text.errors import DraftingError
from extension.reading.read_outline import outline_edges
from extension.reading.source_block import SourceBlock

#: Side in mm of the cells: about as large as a block.
CELL = 300.0


class Neighbourhood:
    """The blocks of one group or layer, kept in the cells of a grid."""

    def __init__(self, blocks: Sequence[SourceBlock]) -> None:
        """Lay blocks into the cells that their boxes touch, with a mark's reach around them.

        An outline that cannot be read has no place; that is kept as its block's fault.
        """
        self.mm_per_unit = blocks[0].mm_per_unit
        self._cells: defaultdict[tuple[int, int], list[SourceBlock]] = defaultdict(list)
        for block in blocks:
            try:
                boxes = [edge.segment.box() for edge in outline_edges(block)]
                left, top = min(box.left for box in boxes), min(box.top for box in boxes)
                right, bottom = max(box.right for box in boxes), max(box.bottom for box in boxes)
                for column in _cells(left, right):
                    for row in _cells(top, bottom):
                        self._cells[column, row].append(block)
            except (DraftingError, OverflowError, ValueError) as fault:
                if not isinstance(fault, DraftingError):
                    # Not finite: the outline's own check says so when the block is drafted.
                    continue
                block.fault = block.fault or fault

    def about(self, at: complex) -> list[SourceBlock]:
        """Return the blocks in or near which a point may lie, in document order."""
        try:
            return self._cells.get((int(at.real // CELL), int(at.imag // CELL)), [])
        except (OverflowError, ValueError):
            return []


def _cells(low: float, high: float) -> Iterator[int]:
    first = int((low - TARGET_REACH) // CELL)
    last = int((high + TARGET_REACH) // CELL)
    yield from range(first, last + 1)
