"""Pieces laid among one another on a sheet of pages, each where it needs the fewest new pages.

A greedy packing of shapes on a raster, the largest first, each as far up and to the left as it can
be (the bottom-left rule: Baker, Coffman and Rivest, *SIAM Journal on Computing* 9 (1980) 846-855:
from memory). The raster divides the pages' step, so that which pages a shape touches depends on
its place within one page alone. Plain Python: numbers as rows of bits are quick enough, and the
editor waits for no array library.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drafting_core.pages.tiling import Tiling

#: A cell of the raster is about so large (mm), but a page's step has between so many of them.
_CELL, _FEWEST, _MOST = 19.0, 10, 24


class PieceShape(NamedTuple):
    """What is laid on a sheet, in mm from the upper left corner of its box.

    Attributes:
        size: its width and height.
        points: along all its lines, no further apart than the gap between shapes.
        outlines: closed polylines that it fills.
    """

    size: tuple[float, float]
    points: Sequence[complex]
    outlines: Sequence[Sequence[complex]]

    @property
    def turned(self) -> PieceShape:
        """It, turned by 180°: its grain runs as it did."""
        corner = complex(*self.size)
        return PieceShape(
            self.size,
            [corner - z for z in self.points],
            [[corner - z for z in outline] for outline in self.outlines],
        )


class GridSpot(NamedTuple):
    """Where a shape lies.

    Attributes:
        at: the upper left corner of its box, in mm.
        turned: whether it is turned by 180°.
    """

    at: complex
    turned: bool


class _Raster(NamedTuple):
    """A shape on the raster: rows of bits, and the pages it touches by its place within one.

    Beside them how many cells a page's step has, across and down.
    """

    rows: tuple[int, ...]
    steps: tuple[int, int]
    pages: dict[tuple[int, int], frozenset[tuple[int, int]]]


def packed_on_grid(
    shapes: Sequence[PieceShape], tiling: Tiling, columns: Sequence[int], pad: float, gap: float
) -> Iterator[list[GridSpot]]:
    """Yield where shapes lie among one another, for each number of columns that takes them.

    Args:
        shapes: the shapes.
        tiling: the pages.
        columns: how many of them lie beside one another.
        pad: what stays free at the sheet's edge, in mm.
        gap: the least distance between two shapes.
    """
    across, down = (
        min(_MOST, max(_FEWEST, round(step / _CELL)))
        for step in (tiling.step.real, tiling.step.imag)
    )
    cell = complex(tiling.step.real / across, tiling.step.imag / down)
    order = sorted(range(len(shapes)), key=lambda k: -shapes[k].size[0] * shapes[k].size[1])
    widest = max(shape.size[0] for shape in shapes)
    options = [
        [(_raster(one, tiling, (across, down), pad, gap), turned)
         for one, turned in ((shape, False), (shape.turned, True))]
        for shape in shapes
    ]  # fmt: skip
    for count in columns:
        most = tiling.span(count) - 2 * pad
        if widest > most + 1e-9:
            continue
        sheet: list[int] = []
        used: set[tuple[int, int]] = set()
        spots: list[GridSpot] = [GridSpot(0j, False)] * len(shapes)
        for k in order:
            last = int((most - shapes[k].size[0]) / cell.real + 1e-9)
            (column, row), turned, raster = _best_place(options[k], sheet, used, last)
            _lay(raster, sheet, column, row)
            used |= set(_pages_at(raster, column, row))
            at = complex(pad + column * cell.real, pad + row * cell.imag)
            spots[k] = GridSpot(at, turned)
        yield spots


def _best_place(
    options: Sequence[tuple[_Raster, bool]],
    sheet: Sequence[int],
    used: set[tuple[int, int]],
    last: int,
) -> tuple[tuple[int, int], bool, _Raster]:
    """Return the place with the fewest new pages, then the uppermost, then the leftmost."""
    best: tuple[tuple[int, int, int, bool], _Raster] | None = None
    # The page below all that lies there is free.
    down = options[0][0].steps[1]
    rows = (len(sheet) // down + 1) * down
    for raster, turned in options:
        for row, column in itertools.product(range(rows + 1), range(last + 1)):
            if best is not None and best[0][0] == 0 and row >= best[0][1]:
                break
            new = sum(page not in used for page in _pages_at(raster, column, row))
            cost = (new, row, column, turned)
            if best is not None and cost >= best[0]:
                continue
            if _is_free(raster, sheet, column, row):
                best = (cost, raster)
    if best is None:
        raise ValueError("below all that lies there is always room")
    (_new, row, column, turned), raster = best
    return (column, row), turned, raster


def _pages_at(raster: _Raster, column: int, row: int) -> Iterator[tuple[int, int]]:
    across, left = divmod(column, raster.steps[0])
    down, top = divmod(row, raster.steps[1])
    for x, y in raster.pages[left, top]:
        yield x + across, y + down


def _is_free(raster: _Raster, sheet: Sequence[int], column: int, row: int) -> bool:
    return not any(
        bits << column & sheet[row + k]
        for k, bits in enumerate(raster.rows[: max(0, len(sheet) - row)])
    )


def _lay(raster: _Raster, sheet: list[int], column: int, row: int) -> None:
    sheet.extend([0] * (row + len(raster.rows) - len(sheet)))
    for k, bits in enumerate(raster.rows):
        sheet[row + k] |= bits << column


def _raster(
    shape: PieceShape, tiling: Tiling, steps: tuple[int, int], pad: float, gap: float
) -> _Raster:
    cell = complex(tiling.step.real / steps[0], tiling.step.imag / steps[1])
    cells: set[tuple[int, int]] = set()
    for z in shape.points:
        for x, y in itertools.product((0.0, gap), repeat=2):
            cells.add((int((z.real + x) / cell.real), int((z.imag + y) / cell.imag)))
    height = max(y for _x, y in cells) + 1
    rows = [0] * height
    for x, y in cells:
        rows[y] |= 1 << x
    for y in range(height):
        rows[y] |= _inside(shape.outlines, cell, y)
    # A page begins at a line of the raster, wherever the shape lies on it.
    half = tiling.overlap / 2
    touched = {
        (
            math.floor((z.real + pad - half) / cell.real),
            math.floor((z.imag + pad - half) / cell.imag),
        )
        for z in shape.points
    }
    pages = {
        (x, y): frozenset(
            (max(0, (x + column) // steps[0]), max(0, (y + row) // steps[1]))
            for column, row in touched
        )
        for x, y in itertools.product(range(steps[0]), range(steps[1]))
    }
    return _Raster(tuple(rows), steps, pages)


def _inside(outlines: Sequence[Sequence[complex]], cell: complex, row: int) -> int:
    """Return the cells of a row whose middles lie inside an outline, as bits."""
    y = (row + 0.5) * cell.imag
    found = 0
    for outline in outlines:
        crossings = sorted(
            a.real + (b.real - a.real) * (y - a.imag) / (b.imag - a.imag)
            for a, b in itertools.pairwise([*outline, outline[0]])
            if (a.imag <= y) != (b.imag <= y)
        )
        for start, end in zip(crossings[::2], crossings[1::2], strict=False):
            first, last = int(start / cell.real + 0.5), int(end / cell.real - 0.5)
            if last >= first:
                found |= ((1 << (last - first + 1)) - 1) << first
    return found
