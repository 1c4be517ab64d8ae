"""Free room on the canvas: where a note goes so that it lies near its piece and on nothing.

Lengths are in units of the root. Rough boxes will do: what is drawn is known by `drawn_boxes`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from lxml import etree

from drafting_core.plane.curves import Box
from extension.reading.drawn_boxes import drawn_boxes
from extension.reading.drawn_extent import page_box

#: Places are looked for on a grid of this width, and what is drawn keeps half of it free (mm).
STEP = 5.0
#: A place so much nearer to the piece is worth leaving the page for (mm).
OFF_PAGE = 150.0
#: A place whose middle seems nearer to another piece is worth this way to avoid (mm).
STRANGE = 300.0
#: A note's own piece is to seem so many times nearer than any other.
_CLEARLY = 1.5
#: So many pieces lie round another one in rows and columns.
_ROUND = 8
#: How much of the way that is neither across nor down counts once more there.
_ASKEW = 3.0
#: So far from the piece places are looked for, beside those on the page (mm).
REACH = 700.0
#: Boxes are kept in the cells of a grid of this width (mm).
_CELL = 400.0
#: A box over more cells than this is kept apart.
_MOST_CELLS = 64
#: What covers this part of the page is what everything else is drawn on.
_BACKGROUND = 0.9
#: Of places that are equally near the right one is taken, then the left, the lower, the upper.
_RIGHT, _LEFT, _BELOW, _ABOVE = 0.0, 1.0, 2.0, 3.0


class FreeRoom:
    """What of the canvas is taken, found once for a run and added to as it draws."""

    def __init__(self, root: etree._Element, mm_per_unit: float) -> None:
        """Find what is drawn.

        Args:
            root: the root of the document.
            mm_per_unit: true millimetres to a unit of the root.
        """
        self._unit = mm_per_unit
        x, y, width, height = page_box(root)
        self._page = Box(x, y, x + width, y + height)
        self._cells: defaultdict[tuple[int, int], list[Box]] = defaultdict(list)
        self._large: list[Box] = []
        self._pieces: defaultdict[tuple[int, int], list[Box]] = defaultdict(list)
        for box in drawn_boxes(root, 8 * STEP / mm_per_unit):
            if not self._is_background(box):
                self.add(box)

    def add(self, box: Box) -> None:
        """Keep clear of a box from now on."""
        columns, rows = self._columns(box), self._rows(box)
        if len(columns) * len(rows) > _MOST_CELLS:
            self._large.append(box)
            return
        for i in columns:
            for j in rows:
                self._cells[i, j].append(box)

    def add_piece(self, box: Box) -> None:
        """Know a piece, so that no other one's note lies nearer to it than to its own."""
        for i in self._columns(box):
            for j in self._rows(box):
                self._pieces[i, j].append(box)

    def is_free(self, box: Box) -> bool:
        """Tell whether nothing is drawn in a box."""
        return not any(_overlap(box, other) for other in self._near(box))

    def beside(self, piece: Box, width: float, height: float, gap: float) -> complex:
        """Return the upper left corner of a free place near a piece.

        On the page, if there is room that is not much further off; to the right of the piece and
        level with its upper edge, if nothing lies there.

        Not nearer to another piece, so that nobody reads there what is meant for this one.

        Args:
            piece: the box about the piece.
            width: the width of what is to be placed.
            height: its height.
            gap: how far from the piece it is to be at least.
        """
        step = STEP / self._unit
        grown = Box(piece.left - gap, piece.top - gap, piece.right + gap, piece.bottom + gap)
        origin = complex(grown.right, piece.top)
        first = Box(origin.real, origin.imag, origin.real + width, origin.imag + height)
        best, least = None, math.inf
        others = self._neighbours(piece, width, height)
        middle = complex(width, height) / 2
        if self.is_free(first):
            best, least = origin, self._cost(origin, width, height, grown)
            least += _strangeness(origin + middle, grown, others)
            if least < OFF_PAGE:
                return origin
        everywhere = least >= STRANGE
        page = self._page
        across = max(grown.left - page.left, page.right - grown.right)
        down = max(grown.top - page.top, page.bottom - grown.bottom)
        fits = width <= page.right - page.left and height <= page.bottom - page.top
        fits = fits and (width <= across or height <= down)
        if best is not None and not everywhere and not fits:
            return best
        field = _Field(self._region(piece, width, height), origin, step)
        for box in self._near(field.region):
            half = step / 2
            field.take(Box(box.left - half, box.top - half, box.right + half, box.bottom + half))
        field.take(grown)
        columns, rows = math.ceil(width / step), math.ceil(height / step)
        # Off the page nothing is nearer than a place right beside the piece.
        for off, places in field.free(columns, rows, grown, self._page, off_page=everywhere):
            if off * self._unit > least:
                break
            for at in places:
                cost = self._cost(at, width, height, grown)
                # There are many places: few of them are worth a look at the other pieces.
                if cost < least:
                    cost += _strangeness(at + middle, grown, others)
                if cost < least:
                    best, least = at, cost
        return complex(self._right_of_all(), piece.top) if best is None else best

    def _cost(self, at: complex, width: float, height: float, piece: Box) -> float:
        box = Box(at.real, at.imag, at.real + width, at.imag + height)
        aside = max(box.left - piece.right, piece.left - box.right, 0.0)
        level = max(box.top - piece.bottom, piece.top - box.bottom, 0.0)
        if box.left >= piece.right:
            side = _RIGHT
        elif box.right <= piece.left:
            side = _LEFT
        else:
            side = _BELOW if box.top >= piece.bottom else _ABOVE
        # Level with the piece's upper edge, or with its left one, before anything else.
        aside_of_it = side in (_RIGHT, _LEFT)
        aligned = abs(box.top - piece.top) if aside_of_it else abs(box.left - piece.left)
        off = 0.0 if self._is_on_page(box) else OFF_PAGE
        return (math.hypot(aside, level) + aligned / 100) * self._unit + side + off

    def _region(self, piece: Box, width: float, height: float) -> Box:
        across, down = REACH / self._unit + width, REACH / self._unit + height
        return Box(piece.left - across, piece.top - down, piece.right + across, piece.bottom + down)

    def _neighbours(self, piece: Box, width: float, height: float) -> list[Box]:
        """Return the pieces nearest round a piece: nobody looks past these for one."""
        region, middle = self._region(piece, width, height), piece.centre
        cells = [(i, j) for i in self._columns(region) for j in self._rows(region)]
        around = {other for cell in cells for other in self._pieces.get(cell, ())}
        others = [other for other in around if not _overlap(other, piece)]
        others.sort(key=lambda other: abs(other.centre - middle))
        return others[:_ROUND]

    def _near(self, box: Box) -> Iterator[Box]:
        seen = set()
        for i in self._columns(box):
            for j in self._rows(box):
                for other in self._cells.get((i, j), ()):
                    if id(other) not in seen:
                        seen.add(id(other))
                        yield other
        yield from (other for other in self._large if _overlap(box, other))

    def _is_on_page(self, box: Box) -> bool:
        page = self._page
        return (
            page.left <= box.left
            and box.right <= page.right
            and page.top <= box.top
            and box.bottom <= page.bottom
        )

    def _is_background(self, box: Box) -> bool:
        page = self._page
        across = min(box.right, page.right) - max(box.left, page.left)
        down = min(box.bottom, page.bottom) - max(box.top, page.top)
        area = (page.right - page.left) * (page.bottom - page.top)
        return across > 0 and down > 0 and 0 < _BACKGROUND * area < across * down

    def _right_of_all(self) -> float:
        boxes = [box for cell in self._cells.values() for box in cell] + self._large
        return max((box.right for box in boxes), default=self._page.right) + STEP / self._unit

    def _columns(self, box: Box) -> range:
        cell = _CELL / self._unit
        return range(math.floor(box.left / cell), math.floor(box.right / cell) + 1)

    def _rows(self, box: Box) -> range:
        cell = _CELL / self._unit
        return range(math.floor(box.top / cell), math.floor(box.bottom / cell) + 1)


class _Field:
    """The cells of a region that are taken, each row as the bits of one number."""

    def __init__(self, region: Box, origin: complex, step: float) -> None:
        """Lay a grid over a region, one corner of which lies at the origin."""
        self.region, self._step = region, step
        before = math.ceil((origin.real - region.left) / step)
        above = math.ceil((origin.imag - region.top) / step)
        self._corner = origin - complex(before, above) * step
        self._columns = before + math.ceil((region.right - origin.real) / step)
        self._rows = [0] * (above + math.ceil((region.bottom - origin.imag) / step))

    def take(self, box: Box) -> None:
        """Take the cells that a box touches."""
        first, end = self._span(box.left - self._corner.real, box.right - self._corner.real)
        first, end = max(first, 0), min(end, self._columns)
        upper, lower = self._span(box.top - self._corner.imag, box.bottom - self._corner.imag)
        if first < end:
            bits = (1 << end) - (1 << first)
            for row in range(max(upper, 0), min(lower, len(self._rows))):
                self._rows[row] |= bits

    def free(
        self, across: int, down: int, piece: Box, page: Box, *, off_page: bool
    ) -> Iterator[tuple[float, list[complex]]]:
        """Yield, of the free places for so many cells, the nearest of each row to a piece.

        Args:
            across: how many cells wide.
            down: how many cells high.
            piece: the box about the piece.
            page: the page, on which the nearest places are yielded.
            off_page: whether places off the page are yielded too.

        Yields:
            How far above or below the piece the row lies, never less than before, and the places.
        """
        height = down * self._step
        on_page = self._starts_on(page, across)
        if not (on_page or off_page):
            return
        starts = [_spread(row, across) for row in self._rows]
        taken = _windows(starts, down)
        every = (1 << max(self._columns - across + 1, 0)) - 1
        right = round((piece.right - self._corner.real) / self._step)
        left = round((piece.left - self._corner.real) / self._step)
        rows = []
        for number in range(max(len(starts) - down + 1, 0)):
            y = self._corner.imag + number * self._step
            if not off_page and not (page.top <= y and y + height <= page.bottom):
                continue
            rows.append((max(y - piece.bottom, piece.top - y - height, 0.0), y, number))
        for off, y, number in sorted(rows):
            free = every & ~taken[number]
            fits = page.top <= y and y + height <= page.bottom
            asked = ([free] if off_page else []) + ([free & on_page] if fits else [])
            yield (
                off,
                [
                    complex(self._corner.real + column * self._step, y)
                    for places in asked
                    for column in _nearest_bits(places, (right, left - across, left))
                ],
            )

    def _starts_on(self, page: Box, across: int) -> int:
        first = math.ceil((page.left - self._corner.real) / self._step - 1e-9)
        end = math.floor((page.right - self._corner.real) / self._step + 1e-9) - across + 1
        first, end = max(first, 0), min(max(end, 0), self._columns)
        return (1 << end) - (1 << first) if first < end else 0

    def _span(self, low: float, high: float) -> tuple[int, int]:
        # What ends on a line of the grid does not touch the cell beyond.
        return math.floor(low / self._step + 1e-6), math.ceil(high / self._step - 1e-6)


def _spread(row: int, size: int) -> int:
    """Return the starts from which so many cells are not all free."""
    done = 1
    while done < size:
        by = min(done, size - done)
        row |= row >> by
        done += by
    return row


def _windows(rows: list[int], size: int) -> list[int]:
    """Return for every row what is taken in it or in one of so many rows from it on."""
    done = 1
    while done < size:
        by = min(done, size - done)
        rows = [row | below for row, below in zip(rows, [*rows[by:], *([0] * by)], strict=True)]
        done += by
    return rows


def _nearest_bits(bits: int, to: Iterable[int]) -> Iterator[int]:
    """Yield the nearest set bits at or above, and at or below, some places."""
    for place in to:
        place = max(place, 0)
        above = bits >> place
        if above:
            yield place + (above & -above).bit_length() - 1
        below = bits & ((1 << (place + 1)) - 1)
        if below:
            yield below.bit_length() - 1


def _strangeness(middle: complex, piece: Box, others: Sequence[Box]) -> float:
    """Return what it costs that a note may seem to belong to another piece."""
    if not others:
        return 0.0
    near = _CLEARLY * _seeming_distance(middle, piece)
    return STRANGE if any(_seeming_distance(middle, other) <= near for other in others) else 0.0


def _seeming_distance(point: complex, box: Box) -> float:
    """Return how far a box seems from a point: what lies askew seems further than what faces it."""
    across = max(box.left - point.real, point.real - box.right, 0.0)
    down = max(box.top - point.imag, point.imag - box.bottom, 0.0)
    return across + down + _ASKEW * min(across, down)


def _overlap(one: Box, other: Box) -> bool:
    return (
        one.left < other.right
        and other.left < one.right
        and one.top < other.bottom
        and other.top < one.bottom
    )
