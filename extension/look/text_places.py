"""Where text goes on a pattern: beside lines, never on them."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import encloses, flattened
from drafting_core.model.seam_names import Seam
from drafting_core.model.stretches import Stretch, stretches
from drafting_core.plane.curves import Segment, box_about

#: Mean width and heights of a letter, in parts of the font's size (any plain sans-serif).
LETTER_WIDTH = 0.56
BOLD_LETTER_WIDTH = 0.7
RISE = 0.78
DROP = 0.24
#: A seam's name is anchored at most this far from its seam (mm); the contract allows 3 mm.
FARTHEST_ANCHOR = 2.9
#: Free room about the piece's name (mm).
TITLE_ROOM = 4.0
#: Distance in mm between the points by which lines are kept clear of text.
SAMPLE = 1.8
#: Side in mm of the cells in which those points are kept.
CELL = 12.0


class Placed(NamedTuple):
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
        corners = [at + complex(x, y) * direction for x in (-half, half) for y in (-up, down)]
        box = box_about(corners)
        back = direction.conjugate()
        count = 0
        for i in range(int(box.left // CELL), int(box.right // CELL) + 1):
            for j in range(int(box.top // CELL), int(box.bottom // CELL) + 1):
                for z in self._cells.get((i, j), ()):
                    local = (z - at) * back
                    if -half < local.real < half and -up < local.imag < down:
                        count += 1
        return count

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


def text_size(draft: Draft) -> float:
    """Return the font's size in mm that suits a piece: about a hundredth of its diagonal."""
    return min(6.0, max(1.6, 0.011 * math.hypot(draft.width, draft.height)))


def place_seam_names(draft: Draft, clear: Clearings) -> list[Placed]:
    """Place every seam's name beside the seam, within 3 mm and off all lines."""
    size = text_size(draft)
    placed = []
    for stretch in stretches(draft.piece):
        label = _beside(draft, stretch, clear, size)
        placed.append(label)
        half, up, down = _box(label)
        clear.add_box(label.at, label.direction, half, up, down)
    return placed


def _box(label: Placed, letter: float = LETTER_WIDTH) -> tuple[float, float, float]:
    longest = max(len(line) for line in label.text)
    margin = 0.1 * label.size + 0.2
    below = label.size * (1.25 * (len(label.text) - 1) + DROP)
    return (
        longest * letter * label.size / 2 + margin,
        RISE * label.size + margin,
        below + margin,
    )


def _beside(draft: Draft, stretch: Stretch, clear: Clearings, size: float) -> Placed:
    segments = stretch.segments(draft.piece)
    lengths = [segment.length() for segment in segments]
    best: tuple[int, Placed] | None = None
    for font in (size * shrink for shrink in (1.0, 0.8, 0.6, 0.45)):
        for share in (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82):
            point, tangent = at_share(segments, lengths, share)
            # Above the seam as the page is held; on the other side only where that is full.
            sides = sorted((1j * tangent, -1j * tangent), key=lambda side: side.imag)
            for up in sides if abs(tangent.imag) > 0.5 else sides[:1]:
                for gap in (DROP * font + 0.7, DROP * font + 1.6):
                    if gap > FARTHEST_ANCHOR:
                        continue
                    label = Placed(
                        (stretch.seam.shown,),
                        point + up * gap,
                        up * 1j,
                        font,
                        stretch.seam,
                    )
                    half, above, _ = _box(label)
                    # The seam itself runs just below the letters.
                    hits = clear.hits(label.at, label.direction, half, above, gap - 0.3)
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


def place_title(draft: Draft, lines: Sequence[str], clear: Clearings) -> Placed:
    """Place the piece's name and what is under it in a free spot inside the piece."""
    polygon = flattened(draft.stitch_line, 8)
    box = box_about(polygon)
    width, height = box.right - box.left, box.bottom - box.top
    size = 1.8 * text_size(draft)
    steps = 14
    places = [
        complex(box.left + width * i / steps, box.top + height * j / steps)
        for i in range(1, steps)
        for j in range(1, steps)
    ]
    places.sort(key=lambda at: abs(at - box.centre))
    inside = [at for at in places if encloses(polygon, at)] or [box.centre]
    for shrink in (1.0, 0.8, 0.6, 0.45, 0.3):
        for at in inside:
            label = Placed(tuple(lines), at, 1 + 0j, size * shrink)
            half, up, down = _box(label, BOLD_LETTER_WIDTH)
            if not clear.hits(at, 1 + 0j, half + TITLE_ROOM, up + TITLE_ROOM, down + TITLE_ROOM):
                return label
    return Placed(tuple(lines), inside[0], 1 + 0j, size * 0.3)
