"""Ink as cells of a grid, and its skeleton: what is left when ink is skeleton_of from all sides.

Only cells with ink are kept, by their numbers in the grid, so that the cost goes with the ink and
not with the sheet. Thinning follows Guo and Hall, "Parallel thinning with two-subiteration
algorithms", Communications of the ACM 32 (1989), method A1: a cell goes where its neighbours stay
connected without it, of the two sides in turn, until nothing goes.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drafting_core.ink.polylines import Points, resampled

Cells = NDArray[np.int64]

#: The eight neighbours of a cell, round about: row and column steps from the cell above.
_ROUND = ((-1, 0), (-1, 1), (0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1))
#: A grid goes so far beyond all lines (mm): they may be carried on.
_AROUND = 32.0
#: A grid has at most this many cells: of a larger sheet they are larger.
_MOST_CELLS = 60_000_000


class CellGrid(NamedTuple):
    """A grid of square cells over a sheet.

    Attributes:
        corner: where its first cell's middle lies, in mm.
        cell: the side of a cell in mm.
        rows: how many rows it has, and
        columns: how many columns, an empty one at every edge among them.
    """

    corner: complex
    cell: float
    rows: int
    columns: int

    def places(self, cells: Cells) -> Points:
        """Return the middles of cells in mm."""
        return np.asarray(
            self.corner + self.cell * (cells % self.columns + 1j * (cells // self.columns))
        )


def grid_over(points: Sequence[Points], cell: float) -> CellGrid:
    """Return a grid over lines.

    Args:
        points: lines, each of shape (n,), in mm.
        cell: the wished side of a cell in mm.
    """
    left = min(float(p.real.min()) for p in points)
    top = min(float(p.imag.min()) for p in points)
    width = max(float(p.real.max()) for p in points) - left
    height = max(float(p.imag.max()) for p in points) - top
    cell = max(cell, float(np.sqrt(width * height / _MOST_CELLS)))
    margin = 3 + round(_AROUND / cell)
    columns, rows = (int(np.ceil(size / cell)) + 2 * margin + 1 for size in (width, height))
    return CellGrid(complex(left, top) - cell * margin * (1 + 1j), cell, rows, columns)


def filled(contours: Sequence[Points], grid: CellGrid) -> Cells:
    """Return the cells whose middles lie in ink, by the even-odd rule, sorted.

    Args:
        contours: closed lines, each of shape (n,), in mm.
        grid: the grid.
    """
    all_rows, all_columns = [], []
    for contour in contours:
        at = (contour - grid.corner) / grid.cell
        first, last = at, np.roll(at, -1)
        low = np.ceil(np.minimum(first.imag, last.imag))
        counts = (np.ceil(np.maximum(first.imag, last.imag)) - low).astype(np.int64)
        number = np.repeat(np.arange(len(at)), counts)
        steps = np.arange(len(number)) - np.repeat(np.cumsum(counts) - counts, counts)
        row = low[number] + steps
        way = last[number] - first[number]
        along = (row - first.imag[number]) / way.imag
        all_rows.append(row.astype(np.int64))
        all_columns.append(first.real[number] + along * way.real)
    rows, columns = np.concatenate(all_rows), np.concatenate(all_columns)
    order = np.lexsort((columns, rows))
    rows, columns = rows[order], columns[order]
    # Every row is crossed an even number of times: ink lies between a crossing and the next.
    start, end = np.ceil(columns[::2]).astype(np.int64), np.ceil(columns[1::2]).astype(np.int64)
    counts = end - start
    number = np.repeat(np.arange(len(start)), counts)
    steps = np.arange(len(number)) - np.repeat(np.cumsum(counts) - counts, counts)
    return rows[::2][number] * grid.columns + start[number] + steps


def brushed(strokes: Sequence[Points], grid: CellGrid, pen: float) -> Cells:
    """Return the cells within half a pen's width of open lines.

    Args:
        strokes: lines, each of shape (n,), in mm.
        grid: the grid.
        pen: the width in mm.
    """
    reach = pen / 2 / grid.cell
    span = np.arange(-int(reach) - 1, int(reach) + 2)
    around = (span[:, None] + 1j * span[None, :]).ravel()
    found = []
    for stroke in strokes:
        at = (resampled(stroke, grid.cell / 2, closed=False) - grid.corner) / grid.cell
        middle = np.round(at.real) + 1j * np.round(at.imag)
        near = middle[:, None] + around[None, :]
        hit = near[np.abs(near - at[:, None]) <= reach]
        found.append(hit.imag.astype(np.int64) * grid.columns + hit.real.astype(np.int64))
    return np.unique(np.concatenate(found)) if found else np.zeros(0, dtype=np.int64)


def _can_go() -> NDArray[np.bool_]:
    """Return for both halves of a round, by the eight neighbours, whether a cell can go."""
    found = np.zeros((2, 256), dtype=np.bool_)
    for code in range(256):
        p = [bool(code >> k & 1) for k in range(8)]
        above, right, below, left = p[0], p[2], p[4], p[6]
        parts = sum(not p[k] and (p[k + 1] or p[(k + 2) % 8]) for k in (0, 2, 4, 6))
        one = sum(p[k] or p[k + 1] for k in (0, 2, 4, 6))
        other = sum(p[k + 1] or p[(k + 2) % 8] for k in (0, 2, 4, 6))
        fits = parts == 1 and 2 <= min(one, other) <= 3
        found[0, code] = fits and not ((above or p[1] or not p[3]) and right)
        found[1, code] = fits and not ((below or p[5] or not p[7]) and left)
    return found


def skeleton_of(cells: Cells, grid: CellGrid) -> Cells:
    """Return the skeleton of ink: lines one cell wide, as connected as the ink was.

    Args:
        cells: the cells with ink, sorted.
        grid: the grid, one empty cell wide at its edges.
    """
    table = _can_go()
    ink = np.zeros(grid.rows * grid.columns, dtype=np.uint8)
    ink[cells] = 1
    offsets = [row * grid.columns + column for row, column in _ROUND]
    live = cells
    halves_without = 0
    half = 0
    while halves_without < 2:
        code = np.zeros(len(live), dtype=np.uint8)
        for bit, offset in enumerate(offsets):
            code |= ink[live + offset] << bit
        goes = table[half][code]
        halves_without = 0 if goes.any() else halves_without + 1
        ink[live[goes]] = 0
        live = live[~goes]
        half = 1 - half
    return live
