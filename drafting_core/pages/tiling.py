"""A sheet of any size on many pages: what each page shows, and where neighbours meet.

The sheet's origin is the upper left corner of what the first page shows. Every page shows its
printable part, the page without its margins; neighbours share a strip as wide as the overlap. The
sheet is divided into cells along the middles of these strips: whatever lies in a page's cell lies
well inside what that page shows. Lengths are mm.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from drafting_core.plane.curves import Box, Segment
from drafting_core.text.errors import SettingError
from drafting_core.text.lengths import in_words
from drafting_core.text.words import _

#: A page that shows less than this is no use (mm).
LEAST_STEP = 10.0
#: Lines are taken as chords that stray from them by less than this (mm).
CHORD_ERROR = 0.02
#: A sheet that is longer than its pages by less than this part of one needs no further page.
ROUNDING = 1e-9
#: Half of the widest line on paper: with so much of it a line may reach into the next cell (mm).
HALF_LINE = 0.35


_MANY = 1_000_000


class Place(NamedTuple):
    """A page of a sheet: its row and column, from 0.

    Attributes:
        row: its row, from the top.
        column: its column, from the left.
    """

    row: int
    column: int


class PageJoint(NamedTuple):
    """Where two pages meet: the pages, and the middle of their strip from end to end.

    Attributes:
        first: the page on the left or above.
        second: the page on the right or below.
        start: one end of the middle line, in mm of the sheet.
        end: the other end.
    """

    first: Place
    second: Place
    start: complex
    end: complex


class Tiling(NamedTuple):
    """How a sheet is divided into pages of one size.

    Attributes:
        width: of a page.
        height: of a page.
        margin: what of a page stays free on every side.
        overlap: the width of the strip that neighbours share.
        columns: how many pages lie beside one another: the last shows all that lies further on.
        rows: how many lie below one another.
    """

    width: float
    height: float
    margin: float
    overlap: float
    columns: int = _MANY
    rows: int = _MANY

    @property
    def shown_width(self) -> float:
        """The width of what a page shows."""
        return self.width - 2 * self.margin

    @property
    def shown_height(self) -> float:
        """The height of what a page shows."""
        return self.height - 2 * self.margin

    @property
    def step(self) -> complex:
        """How far apart neighbouring pages are: x across, y down."""
        return complex(self.shown_width - self.overlap, self.shown_height - self.overlap)

    def check(self) -> None:
        """Refuse a tiling whose pages have no room.

        Raises:
            SettingError: with the numbers.
        """
        for across, side in ((self.step.real, self.width), (self.step.imag, self.height)):
            if across < LEAST_STEP:
                raise SettingError(
                    _(
                        "with a margin of {margin} on both sides and an overlap of {overlap}, a "
                        "side of {side} has no room left for the pattern."
                    ).format(
                        margin=in_words(self.margin),
                        overlap=in_words(self.overlap),
                        side=in_words(side),
                    ),
                    thing=_("The page"),
                    remedy=_("Take a smaller margin or overlap, or a larger paper."),
                )

    def span(self, columns: int) -> float:
        """Return how wide a sheet of some columns of pages is."""
        return self.shown_width + (columns - 1) * self.step.real

    def holding(self, width: float, height: float) -> Tiling:
        """Return the tiling with as many columns and rows as a sheet of a size needs."""
        return self._replace(
            columns=_needed(width - self.shown_width, self.step.real),
            rows=_needed(height - self.shown_height, self.step.imag),
        )

    def corner(self, place: Place) -> complex:
        """Return the upper left corner of what a page shows."""
        return complex(place.column * self.step.real, place.row * self.step.imag)

    def shown(self, place: Place) -> Box:
        """Return what of the sheet a page shows."""
        at = self.corner(place)
        return Box(at.real, at.imag, at.real + self.shown_width, at.imag + self.shown_height)

    def cell_of(self, z: complex) -> Place:
        """Return the page in whose cell a point of the sheet lies."""
        return Place(
            _index(z.imag - self.overlap / 2, self.step.imag, self.rows),
            _index(z.real - self.overlap / 2, self.step.real, self.columns),
        )

    def cells_of_box(self, box: Box) -> Iterator[Place]:
        """Yield the pages whose cells a box reaches into."""
        first = self.cell_of(complex(box.left, box.top))
        last = self.cell_of(complex(box.right, box.bottom))
        for row in range(first.row, last.row + 1):
            for column in range(first.column, last.column + 1):
                yield Place(row, column)

    def cells_of_line(self, points: Sequence[complex]) -> set[Place]:
        """Return the pages whose cells a polyline touches, its width on paper considered."""
        found: set[Place] = set()
        # Within the strip a line's width is shown whole; without a strip it may be cut through.
        spare = 0.0 if self.overlap >= 2 * HALF_LINE else HALF_LINE
        for start, end in itertools.pairwise(points):
            first, last = self.cell_of(start), self.cell_of(end)
            if first == last and not spare:
                found.add(first)
                continue
            for part in _short_parts(start, end, min(self.step.real, self.step.imag) / 8):
                box = Box(
                    min(part[0].real, part[1].real) - spare,
                    min(part[0].imag, part[1].imag) - spare,
                    max(part[0].real, part[1].real) + spare,
                    max(part[0].imag, part[1].imag) + spare,
                )
                found.update(
                    place
                    for place in self.cells_of_box(box)
                    if self._in_cell(part, place, spare) is not None
                )
        return found

    def pages_of(self, lines: Iterable[Sequence[complex]]) -> set[Place]:
        """Return the pages that polylines need: those that show what no neighbour shows whole.

        A strip that two pages share is half in the one's cell and half in the other's; where lines
        end in it, one of them is enough.

        Args:
            lines: everything that is drawn, each in mm of the sheet.
        """
        drawn: dict[Place, list[Sequence[complex]]] = {}
        for points in lines:
            for place in self.cells_of_line(points):
                drawn.setdefault(place, []).append(points)
        pages, needed = set(drawn), set[Place]()
        if self.overlap < 2 * HALF_LINE:
            return pages
        for place in sorted(pages, key=lambda place: (len(drawn[place]), place)):
            if place in needed:
                continue
            beside = [place._replace(row=place.row + by) for by in (-1, 1)]
            beside += [place._replace(column=place.column + by) for by in (-1, 1)]
            for other in beside:
                if other in pages and self._shows_all(other, place, drawn[place]):
                    pages.discard(place)
                    needed.add(other)
                    break
        return pages

    def _shows_all(self, other: Place, place: Place, lines: Iterable[Sequence[complex]]) -> bool:
        """Tell whether a page shows whole what polylines have in another one's cell."""
        shown = self.shown(other)
        low, high = shown.corners
        for points in lines:
            for start, end in itertools.pairwise(points):
                part = self._in_cell((start, end), place, HALF_LINE)
                if part is None:
                    continue
                for z in (start + (end - start) * t for t in part):
                    if not (
                        low.real + HALF_LINE <= z.real <= high.real - HALF_LINE
                        and low.imag + HALF_LINE <= z.imag <= high.imag - HALF_LINE
                    ):
                        return False
        return True

    def joints(self, pages: Iterable[Place]) -> list[PageJoint]:
        """Return where the pages of a sheet meet, from left to right and from top to bottom."""
        present = set(pages)
        found = []
        for place in sorted(present):
            at = self.corner(place)
            right, below = (
                place._replace(column=place.column + 1),
                place._replace(row=place.row + 1),
            )
            if right in present:
                x = at.real + self.step.real + self.overlap / 2
                start, end = complex(x, at.imag), complex(x, at.imag + self.shown_height)
                found.append(PageJoint(place, right, start, end))
            if below in present:
                y = at.imag + self.step.imag + self.overlap / 2
                start, end = complex(at.real, y), complex(at.real + self.shown_width, y)
                found.append(PageJoint(place, below, start, end))
        return found

    def _in_cell(
        self, part: tuple[complex, complex], place: Place, spare: float
    ) -> tuple[float, float] | None:
        """Return where a straight piece enters a page's cell and leaves it, as parts of it.

        None where it does not touch the cell. (Liang and Barsky's clipping.)
        """
        low = self.corner(place) + complex(self.overlap, self.overlap) / 2
        high = low + self.step
        # The first and the last row and column reach to the sheet's edge and beyond.
        left = -math.inf if place.column == 0 else low.real - spare
        top = -math.inf if place.row == 0 else low.imag - spare
        right = math.inf if place.column == self.columns - 1 else high.real + spare
        bottom = math.inf if place.row == self.rows - 1 else high.imag + spare
        start, way = part[0], part[1] - part[0]
        enter, leave = 0.0, 1.0
        for at, by, least, most in (
            (start.real, way.real, left, right),
            (start.imag, way.imag, top, bottom),
        ):
            if by == 0.0:
                if not least <= at <= most:
                    return None
                continue
            one, other = (least - at) / by, (most - at) / by
            enter, leave = max(enter, min(one, other)), min(leave, max(one, other))
        return (enter, leave) if enter <= leave else None


def _index(distance: float, step: float, count: int) -> int:
    return min(count - 1, max(0, math.floor(distance / step)))


def _needed(beyond: float, step: float) -> int:
    return 1 + max(0, math.ceil(beyond / step - ROUNDING))


def _short_parts(start: complex, end: complex, length: float) -> Iterator[tuple[complex, complex]]:
    count = max(1, math.ceil(abs(end - start) / length))
    points = [start + (end - start) * k / count for k in range(count + 1)]
    yield from itertools.pairwise(points)


def chords(chain: Sequence[Segment]) -> list[complex]:
    """Return a chain as a polyline that strays from it by less than a fiftieth of a mm.

    The distance of a cubic from its chord over a parameter interval h is at most
    h²/8 · max |second derivative| (linear interpolation, any numerical analysis).
    """
    points = [chain[0].start]
    for segment in chain:
        bend = max(abs(segment.second_derivative(t)) for t in (0.0, 1.0))
        count = max(1, math.ceil(math.sqrt(bend / (8 * CHORD_ERROR))))
        points += [segment.point(k / count) for k in range(1, count)]
        points.append(segment.end)
    return points
