"""Rectangles laid on shelves: a simple order, with a shelf as high as its first.

The next-fit and first-fit shelf heuristics are common in the packing of rectangles; pieces
sorted by falling height waste little (Coffman, Garey, Johnson and Tarjan, *SIAM Journal on
Computing* 9 (1980) 808-826: from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

#: Two sizes this near to each other fit (mm).
ROUNDING = 1e-9


class ShelfSpot(NamedTuple):
    """Where a rectangle lies: on which sheet, and its upper left corner in mm.

    Attributes:
        sheet: the number of the sheet, from 0.
        at: the upper left corner.
    """

    sheet: int
    at: complex


class Grid(NamedTuple):
    """Lines across a sheet that rectangles rather keep clear of, in mm.

    Attributes:
        step: the distance between them: x across, y down.
        shown: how wide and high a rectangle may be that begins at such a line and is not cut.
    """

    step: complex
    shown: complex


class _Shelf:
    def __init__(self, sheet: int, top: float, height: float) -> None:
        self.sheet = sheet
        self.top = top
        self.height = height
        self.used = 0.0


def on_shelves(
    sizes: Sequence[tuple[float, float]],
    width: float,
    *,
    gap: float,
    height: float = math.inf,
    grid: Grid | None = None,
) -> list[ShelfSpot] | None:
    """Lay rectangles on shelves, in the order given, and return where each lies.

    Args:
        sizes: their widths and heights in mm.
        width: the width of a sheet.
        gap: the least distance between two of them.
        height: the height of a sheet; what does not fit goes on the next one.
        grid: lines that a rectangle does not lie across, where it can lie between them.

    Returns:
        One spot for each, or None where one is larger than a sheet.
    """
    shelves: list[_Shelf] = []
    spots = []
    for wide, high in sizes:
        if wide > width + ROUNDING or high > height + ROUNDING:
            return None
        for shelf in shelves:
            x = _start(shelf.used, wide, grid.step.real, grid.shown.real) if grid else shelf.used
            if high <= shelf.height + ROUNDING and x + wide <= width + ROUNDING:
                break
        else:
            shelf = _next_shelf(shelves, high, gap, height, grid)
            shelves.append(shelf)
            x = 0.0
        spots.append(ShelfSpot(shelf.sheet, complex(x, shelf.top)))
        shelf.used = x + wide + gap
    return spots


def _next_shelf(
    shelves: Sequence[_Shelf], high: float, gap: float, height: float, grid: Grid | None
) -> _Shelf:
    if not shelves:
        return _Shelf(0, 0.0, high)
    last = shelves[-1]
    top = last.top + last.height + gap
    if grid:
        top = _start(top, high, grid.step.imag, grid.shown.imag)
    if top + high > height + ROUNDING:
        return _Shelf(last.sheet + 1, 0.0, high)
    return _Shelf(last.sheet, top, high)


def _start(at: float, size: float, step: float, shown: float) -> float:
    """Return where a stretch begins: moved to the next line where it then lies between two."""
    if size > shown + ROUNDING:
        return at
    begins = math.floor(at / step) * step
    return at if at + size <= begins + shown + ROUNDING else begins + step
