"""Where text goes on a pattern: beside lines, never on them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drafting_core.curves import Segment
from drafting_core.draft import Draft
from drafting_core.outline import encloses, flattened
from drafting_core.seam_names import Seam
from drafting_core.stretches import Stretch, stretches

#: Mean width and heights of a letter, in parts of the font's size (any plain sans-serif).
LETTER_WIDTH = 0.56
RISE = 0.78
DROP = 0.24
#: A seam's name is anchored at most this far from its seam (mm); the contract allows 3 mm.
FARTHEST_ANCHOR = 2.9
#: Distance in mm between the points by which lines are kept clear of text.
SAMPLE = 1.2


@dataclass(frozen=True, slots=True)
class Placed:
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
    """The lines and texts of a pattern, to be kept clear of."""

    def __init__(self, chains: Iterable[Sequence[Segment]]) -> None:
        """Sample all lines."""
        points: list[complex] = []
        for chain in chains:
            for segment in chain:
                pieces = max(2, int(segment.length() / SAMPLE))
                points += [segment.point(k / pieces) for k in range(pieces + 1)]
        self._points: NDArray[np.complex128] = np.array(points, dtype=np.complex128)

    def hits(
        self, at: complex, direction: complex, half: float, up: float, down: float
    ) -> int:
        """Return how many sampled points lie in a box about a base line."""
        local = (self._points - at) / direction
        inside = (
            (np.abs(local.real) < half) & (local.imag > -up) & (local.imag < down)
        )
        return int(np.count_nonzero(inside))

    def add_box(self, at: complex, direction: complex, half: float, up: float, down: float) -> None:
        """Keep clear of a placed text from now on."""
        across = np.arange(-half, half + SAMPLE, SAMPLE)
        along = np.arange(-up, down + SAMPLE, SAMPLE)
        grid = (across[:, None] + 1j * along[None, :]).ravel()
        self._points = np.concatenate([self._points, at + grid * direction])


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


def _box(label: Placed) -> tuple[float, float, float]:
    longest = max(len(line) for line in label.text)
    margin = 0.1 * label.size + 0.2
    below = label.size * (1.25 * (len(label.text) - 1) + DROP)
    return (
        longest * LETTER_WIDTH * label.size / 2 + margin,
        RISE * label.size + margin,
        below + margin,
    )


def _beside(draft: Draft, stretch: Stretch, clear: Clearings, size: float) -> Placed:
    segments = stretch.segments(draft.piece)
    lengths = [segment.length() for segment in segments]
    best: tuple[float, Placed] | None = None
    for shrink in (1.0, 0.85, 0.7, 0.55, 0.45):
        font = size * shrink
        for share in (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82, 0.1, 0.9):
            point, tangent = _at_share(segments, lengths, share)
            for up in (1j * tangent, -1j * tangent):
                reading = up * 1j  # read from left to right with `up` above
                upright = -up.imag
                tilted_away = upright < -0.2
                for gap in (DROP * font + 0.7, DROP * font + 1.6, FARTHEST_ANCHOR):
                    if gap > FARTHEST_ANCHOR:
                        continue
                    label = Placed(
                        (stretch.seam.name,), point + up * gap, reading, font, stretch.seam
                    )
                    half, above, below = _box(label)
                    # Only the letters' own height counts here: the seam runs just below them.
                    hits = clear.hits(label.at, reading, half, above, DROP * font + 0.3)
                    cost = hits * 10.0 + abs(share - 0.5) + (4.0 if tilted_away else 0.0)
                    cost += 0.2 * (gap - DROP * font - 0.7) + 3.0 * (1.0 - shrink)
                    if best is None or cost < best[0]:
                        best = (cost, label)
        if best is not None and best[0] < 6.0:
            break
    assert best is not None
    return best[1]


def _at_share(
    segments: Sequence[Segment], lengths: Sequence[float], share: float
) -> tuple[complex, complex]:
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
    xs, ys = [z.real for z in polygon], [z.imag for z in polygon]
    middle = complex((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    size = 1.8 * text_size(draft)
    best: tuple[float, Placed] | None = None
    steps = 14
    for shrink in (1.0, 0.8, 0.6, 0.45):
        for i in range(1, steps):
            for j in range(1, steps):
                at = complex(
                    min(xs) + (max(xs) - min(xs)) * i / steps,
                    min(ys) + (max(ys) - min(ys)) * j / steps,
                )
                if not encloses(polygon, at):
                    continue
                label = Placed(tuple(lines), at, 1 + 0j, size * shrink)
                half, up, down = _box(label)
                cost = clear.hits(at, 1 + 0j, half + 2, up + 2, down + 2) * 100.0
                cost += abs(at - middle) / 100.0
                if best is None or cost < best[0]:
                    best = (cost, label)
        if best is not None and best[0] < 100.0:
            break
    if best is None:
        return Placed(tuple(lines), middle, 1 + 0j, size * 0.45)
    return best[1]
