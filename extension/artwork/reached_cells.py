"""A closed outline on a grid of cells, which tells at once whether a box may touch it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from drafting_core.plane.curves import Box, box_about

#: Cells to a side: with more of them fewer objects are taken that only come near.
_CELLS = 64


class ReachedCells:
    """The cells of a grid that an outline touches or holds.

    A box that touches none of them does not touch the outline, nor what it holds.
    """

    def __init__(self, polygon: Sequence[complex]) -> None:
        """Lay a grid over a polygon of some width and height, at least one of them above 0."""
        box = self._box = box_about(polygon)
        step = max(box.right - box.left, box.bottom - box.top) / _CELLS
        self._step = step or 1.0
        self._columns = int((box.right - box.left) / self._step) + 1
        self._rows = int((box.bottom - box.top) / self._step) + 1
        cells = [[False] * self._columns for _ in range(self._rows)]
        self._mark_inside(cells, polygon)
        for a, b in itertools.pairwise([*polygon, polygon[0]]):
            self._mark_edge(cells, a, b)
        # Sums of all cells above and to the left: any rectangle of cells is looked at at once.
        self._sums = [[0] * (self._columns + 1)]
        for row in cells:
            sums = itertools.accumulate(map(int, row), initial=0)
            above = self._sums[-1]
            self._sums.append([s + o for s, o in zip(sums, above, strict=True)])

    def may_reach(self, box: Box) -> bool:
        """Tell whether a box touches one of the cells."""
        left, top, right, bottom = box
        own = self._box
        if left > own[2] or right < own[0] or top > own[3] or bottom < own[1]:
            return False
        # There may be thousands of boxes: no more calls than are needed.
        step, columns, rows = self._step, self._columns - 1, self._rows - 1
        first = int((left - own[0]) / step) if left > own[0] else 0
        last = int((right - own[0]) / step) if right < own[2] else columns
        upper = int((top - own[1]) / step) if top > own[1] else 0
        lower = int((bottom - own[1]) / step) if bottom < own[3] else rows
        above, below = self._sums[min(upper, rows)], self._sums[min(lower, rows) + 1]
        first, last = min(first, columns), min(last, columns) + 1
        return below[last] - above[last] - below[first] + above[first] > 0

    def _column(self, x: float) -> int:
        return min(max(int((x - self._box.left) / self._step), 0), self._columns - 1)

    def _row(self, y: float) -> int:
        return min(max(int((y - self._box.top) / self._step), 0), self._rows - 1)

    def _mark_inside(self, cells: list[list[bool]], polygon: Sequence[complex]) -> None:
        """Mark the cells whose middle lies inside, row by row."""
        for number, row in enumerate(cells):
            y = self._box.top + (number + 0.5) * self._step
            places = sorted(
                a.real + (y - a.imag) / (b.imag - a.imag) * (b.real - a.real)
                for a, b in itertools.pairwise([*polygon, polygon[0]])
                if (a.imag > y) != (b.imag > y)
            )
            for start, end in zip(places[::2], places[1::2], strict=False):
                for column in range(self._column(start), self._column(end) + 1):
                    row[column] = True

    def _mark_edge(self, cells: list[list[bool]], a: complex, b: complex) -> None:
        """Mark the cells about an edge, in stretches shorter than a cell."""
        count = max(1, math.ceil(2 * abs(b - a) / self._step))
        for k in range(count):
            p, q = a + (b - a) * k / count, a + (b - a) * (k + 1) / count
            # A chord lies off its curve by less than half a cell.
            by = self._step / 2
            for row in range(
                self._row(min(p.imag, q.imag) - by), self._row(max(p.imag, q.imag) + by) + 1
            ):
                first = self._column(min(p.real, q.real) - by)
                for column in range(first, self._column(max(p.real, q.real) + by) + 1):
                    cells[row][column] = True
