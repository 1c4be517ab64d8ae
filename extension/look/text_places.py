"""Where text goes on a pattern: beside lines, never on them."""

from __future__ import annotations

import functools
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import encloses, extent, flattened
from drafting_core.model.seam_names import Seam
from drafting_core.model.stretches import Stretch, stretches
from drafting_core.plane.curves import Segment, box_about, unit
from drafting_core.plane.motions import readable
from extension.look.set_text import (
    CANVAS_LEADING,
    DROP,
    RISE,
    SMALLEST_TEXT,
    text_rise,
    text_width,
    wrapped,
)

#: A seam's name is anchored at most this far from its seam (mm); the contract allows 3 mm.
FARTHEST_ANCHOR = 2.9
#: Free room about the piece's name (mm): less about small letters, in parts of their size.
TITLE_ROOM = 4.0
SMALL_TITLE_ROOM = 0.9
#: Size of the piece's name in sizes of a seam's, and what one try makes of the last one's.
TITLE_SIZE = 1.8
TITLE_SHRINK = 0.85
#: A title is tried at so many places to each side of the piece, less one.
TITLE_STEPS = 14
#: Distance in mm between the points by which lines are kept clear of text.
SAMPLE = 1.8
#: Side in mm of the cells in which those points are kept.
CELL = 12.0


class PlacedText(NamedTuple):
    """A text in place.

    Attributes:
        text: its lines.
        at: the middle of its first base line, in mm.
        direction: the unit vector along which it is read.
        size: the font's size in mm.
        seam: the seam that it names, if it names one.
    """

    text: tuple[str, ...]
    at: complex
    direction: complex
    size: float
    seam: Seam | None = None


class Clearings:
    """The lines and texts of a pattern, to be kept clear of.

    Points along them are kept in the cells of a grid, so that a look at one box touches only
    its neighbourhood. Plain Python on purpose: importing numpy would cost the editor's user
    more time than the whole move.
    """

    def __init__(self, chains: Iterable[Sequence[Segment]]) -> None:
        """Sample all lines."""
        self._cells: defaultdict[tuple[float, float], list[complex]] = defaultdict(list)
        self.add_lines(chains)

    def add_lines(self, chains: Iterable[Sequence[Segment]]) -> None:
        """Keep clear of further lines from now on."""
        for chain in chains:
            for segment in chain:
                box = segment.box()
                reach = abs(complex(box.right - box.left, box.bottom - box.top))
                pieces = max(2, int(reach / SAMPLE))
                self._add([segment.point(k / pieces) for k in range(pieces + 1)])

    def _add(self, points: Iterable[complex]) -> None:
        cells = self._cells
        for z in points:
            cells[z.real // CELL, z.imag // CELL].append(z)

    def hits(self, at: complex, direction: complex, half: float, up: float, down: float) -> int:
        """Return how many sampled points lie in a box about a base line."""
        return sum(1 for _ in self._within(at, direction, half, up, down))

    def is_free(self, at: complex, direction: complex, half: float, up: float, down: float) -> bool:
        """Tell whether no sampled point lies in a box about a base line."""
        if direction.real and direction.imag:
            return next(self._within(at, direction, half, up, down), None) is None
        one, other = at + direction * complex(-half, -up), at + direction * complex(half, down)
        left, right = sorted((one.real, other.real))
        top, bottom = sorted((one.imag, other.imag))
        first, last = int(left // CELL), int(right // CELL)
        upper, lower = int(top // CELL), int(bottom // CELL)
        for i in range(first, last + 1):
            for j in range(upper, lower + 1):
                points = self._cells.get((i, j))
                if points is None:
                    continue
                if first < i < last and upper < j < lower:
                    return False
                for z in points:
                    if left < z.real < right and top < z.imag < bottom:
                        return False
        return True

    def _within(
        self, at: complex, direction: complex, half: float, up: float, down: float
    ) -> Iterator[complex]:
        corners = [at + complex(x, y) * direction for x in (-half, half) for y in (-up, down)]
        box = box_about(corners)
        back = direction.conjugate()
        for i in range(int(box.left // CELL), int(box.right // CELL) + 1):
            for j in range(int(box.top // CELL), int(box.bottom // CELL) + 1):
                for z in self._cells.get((i, j), ()):
                    local = (z - at) * back
                    if -half < local.real < half and -up < local.imag < down:
                        yield z

    def freest(
        self, places: Iterable[tuple[complex, complex]], half: float, up: float, down: float
    ) -> tuple[complex, complex]:
        """Return the first place whose box is free, or else the one with the fewest points in it.

        Args:
            places: middles of base lines, each with its direction.
            half: half the width of the box.
            up: how far it reaches above the base line.
            down: how far below.

        Raises:
            ValueError: if there are no places.
        """
        best: tuple[int, tuple[complex, complex]] | None = None
        for at, direction in places:
            hits = self.hits(at, direction, half, up, down)
            if not hits:
                return at, direction
            if best is None or hits < best[0]:
                best = (hits, (at, direction))
        if best is None:
            raise ValueError("a text needs at least one place")
        return best[1]

    def add_box(self, at: complex, direction: complex, half: float, up: float, down: float) -> None:
        """Keep clear of a placed text from now on."""
        rows, columns = int((up + down) / SAMPLE) + 2, int(2 * half / SAMPLE) + 2
        self._add(
            at + direction * complex(-half + 2 * half * i / columns, -up + (up + down) * j / rows)
            for i in range(columns + 1)
            for j in range(rows + 1)
        )

    def add_about(self, corners: Sequence[complex]) -> None:
        """Keep clear of the upright box about points from now on."""
        box = box_about(corners)
        half = (box.bottom - box.top) / 2
        self.add_box(box.centre, 1 + 0j, (box.right - box.left) / 2, half, half)


def text_size(draft: Draft) -> float:
    """Return the font's size in mm that suits a piece: about a hundredth of its diagonal."""
    return min(6.0, max(1.6, 0.011 * math.hypot(*extent(draft.stitch_line))))


def place_seam_names(draft: Draft, clear: Clearings) -> list[PlacedText]:
    """Place every seam's name beside the seam, within 3 mm and off all lines."""
    size = text_size(draft)
    placed = []
    for stretch in stretches(draft.piece):
        label = _beside(draft, stretch, clear, size)
        placed.append(label)
        clear.add_box(label.at, label.direction, *_room(label.text, label.size))
    return placed


class _Room(NamedTuple):
    """The box about a text: half its width, and what it takes above and below its base line."""

    half: float
    up: float
    down: float


def _room(text: Sequence[str], size: float, *, bold: bool = False) -> _Room:
    margin = 0.1 * size + 0.2
    return _Room(
        max(text_width(line, size, bold=bold) for line in text) / 2 + margin,
        text_rise(text[0], size) + margin,
        size * (CANVAS_LEADING * (len(text) - 1) + DROP) + margin,
    )


def _beside(draft: Draft, stretch: Stretch, clear: Clearings, size: float) -> PlacedText:
    segments = stretch.segments(draft.piece)
    lengths = [segment.length() for segment in segments]
    best: tuple[int, PlacedText] | None = None
    for font in (size * shrink for shrink in (1.0, 0.8, 0.6, 0.45)):
        for share in (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82):
            point, tangent = at_share(segments, lengths, share)
            direction = readable(tangent)
            # The letters rise to the left of the way in which they are read. Beyond a fold edge
            # there is no paper.
            ups = (1j * tangent,) if stretch.seam.fold else (-1j * direction, 1j * direction)
            for up in ups:
                foot = DROP if abs(up + 1j * direction) < 1e-9 else RISE
                for gap in (foot * font + 0.7, foot * font + 1.6):
                    if gap > FARTHEST_ANCHOR:
                        continue
                    label = PlacedText(
                        (stretch.seam.shown,), point + up * gap, direction, font, stretch.seam
                    )
                    half, above, below = _room(label.text, font)
                    # The seam itself runs just beside the letters.
                    rows = (above, gap - 0.3) if foot == DROP else (gap - 0.3, below)
                    hits = clear.hits(label.at, label.direction, half, *rows)
                    if not hits:
                        return label
                    if best is None or hits < best[0]:
                        best = (hits, label)
    if best is None:
        raise ValueError("a seam without length has no place for its name")
    return best[1]


def at_share(
    segments: Sequence[Segment], lengths: Sequence[float], share: float
) -> tuple[complex, complex]:
    """Return the point and the tangent at a share of a chain's length."""
    left = share * sum(lengths)
    for segment, length in zip(segments, lengths, strict=True):
        if left <= length:
            t = segment.parameter_at(left)
            return segment.point(t), segment.tangent(t)
        left -= length
    return segments[-1].end, segments[-1].end_tangent()


def place_title(draft: Draft, lines: Sequence[str], clear: Clearings) -> PlacedText:
    """Place the piece's name and what is under it in a free spot inside the piece.

    As large as the piece suggests and in one line where there is room. Else the name is broken at
    blanks, the letters shrink as far as they are read with ease, and the title is turned along
    the grain; where all that does not help, it stands outside, beside the piece.

    Args:
        draft: the piece.
        lines: its name, then the lines below it, which stay whole.
        clear: what the title is kept clear of.
    """
    polygon = flattened(draft.stitch_line, 8)
    box = box_about(polygon)
    corner = complex(box.left, box.top)
    step = complex(box.right - box.left, box.bottom - box.top) / TITLE_STEPS
    places = [
        corner + complex(step.real * i, step.imag * j)
        for i in range(1, TITLE_STEPS)
        for j in range(1, TITLE_STEPS)
    ]
    places.sort(key=lambda at: abs(at - box.centre))
    inside = [at for at in places if encloses(polygon, at)]
    title = _Title(lines, TITLE_SIZE * text_size(draft), clear)
    return title.upright(inside) or title.turned(inside, draft) or title.beside(draft)


class _Title:
    """A title in search of its place."""

    def __init__(self, lines: Sequence[str], size: float, clear: Clearings) -> None:
        self._lines = tuple(lines)
        self._size = size
        self._clear = clear

    def upright(self, places: Sequence[complex]) -> PlacedText | None:
        """Return the title read from left to right, or None where there is no room for it."""
        for at in places:
            if self._fits(self._lines, at, 1 + 0j, self._size):
                return PlacedText(self._lines, at, 1 + 0j, self._size)
        return self._largest(places, 1 + 0j)

    def turned(self, places: Sequence[complex], draft: Draft) -> PlacedText | None:
        """Return the title along the grain, or upright where that lies level; None if nowhere."""
        along = readable(unit(draft.grain.end - draft.grain.start))
        return self._largest(places, along if abs(along.imag) > 0.5 else -1j)

    def beside(self, draft: Draft) -> PlacedText:
        """Return the title to the left of the piece, read from the right.

        The test square and the note stand on the other side.
        """
        boxes = [segment.box() for segment in draft.cut_line]
        top, bottom = min(box.top for box in boxes), max(box.bottom for box in boxes)
        text = self._layouts[-1]
        size = min(self._size, (bottom - top) / max(text_width(r, 1.0, bold=True) for r in text))
        size = max(size, SMALLEST_TEXT)
        left = min(box.left for box in boxes) - TITLE_ROOM - _room(text, size, bold=True).down
        at = complex(left, (top + bottom) / 2)
        while not self._fits(text, at, -1j, size):
            at -= TITLE_ROOM
        return PlacedText(text, at, -1j, size)

    @functools.cached_property
    def _layouts(self) -> list[tuple[str, ...]]:
        """Its lines, with the name in one line, in two, and so on as far as that helps."""
        name, *others = self._lines
        widest = max((text_width(line, 1.0, bold=True) for line in others), default=0.0)
        layouts = [self._lines]
        rows = [name]
        while max(text_width(row, 1.0, bold=True) for row in rows) > widest:
            more = _in_rows(name, len(rows) + 1)
            if len(more) <= len(rows):
                break
            rows = more
            layouts.append((*rows, *others))
        return layouts

    def _largest(self, places: Sequence[complex], direction: complex) -> PlacedText | None:
        """Return the title as large as it fits somewhere, in the fewest lines; None if nowhere."""
        sizes = [SMALLEST_TEXT]
        while sizes[-1] / TITLE_SHRINK <= self._size:
            sizes.append(sizes[-1] / TITLE_SHRINK)
        best: PlacedText | None = None
        next_size = 0
        for text in self._layouts:
            for at in places:
                # What is not free at the next size is free at no larger one.
                while next_size < len(sizes) and self._fits(text, at, direction, sizes[next_size]):
                    best = PlacedText(text, at, direction, sizes[next_size])
                    next_size += 1
        return best

    def _fits(self, text: Sequence[str], at: complex, direction: complex, size: float) -> bool:
        half, up, down = _room(text, size, bold=True)
        free = min(TITLE_ROOM, SMALL_TITLE_ROOM * size)
        return self._clear.is_free(at, direction, half + free, up + free, down + free)


def _in_rows(name: str, rows: int) -> list[str]:
    """Return a name broken at blanks into at most so many rows, as even as can be."""
    widths = [text_width(word, 1.0, bold=True) for word in name.split()]
    column = max(text_width(name, 1.0, bold=True) / rows, *widths, 0.0)
    while len(broken := wrapped(name, column, 1.0, bold=True)) > rows:
        column *= 1.05
    return broken
