"""What can be seen on the raster of a printed page: its frame, test squares, and marks.

They are found in the pixels alone; no place is taken from the code that draws them. Points are
complex numbers in pixels, x to the right and y down, from the corner of a page; the middle of the
first pixel is at 0.5 + 0.5j.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tests.help.printing.pdf_pages import INCH, THRESHOLD, Mask, Raster

#: How far inside the frame the middle of a mark may lie, and half its size, in mm.
DEEPEST = 6.0
ARMS = (4.0, 3.0, 2.0)
LINE = 0.35
#: How black each line of a mark has to be in the mean, and how black what is beside them may be.
BLACK, WHITE = 0.75, 0.6
#: Inward directions of the edges.
RIGHT, LEFT, BOTTOM, TOP = -1 + 0j, 1 + 0j, -1j, 1j
_FINE = np.arange(-8, 9) / 8


class Frame(NamedTuple):
    """The middles of the four lines of a frame, in pixels."""

    left: float
    top: float
    right: float
    bottom: float


def frame_of(page: Raster) -> Frame:
    """Find the frame: the outermost lines that run over most of the page."""
    left, right = _outer_lines(page)
    top, bottom = _outer_lines(page.T)
    return Frame(left, top, right, bottom)


def _outer_lines(page: Raster) -> tuple[float, float]:
    dark = page > THRESHOLD
    longest = run = np.zeros(page.shape[1], np.int32)
    for row in dark:
        run = (run + 1) * row
        longest = np.maximum(longest, run)
    groups = _groups(np.flatnonzero(longest > 0.6 * page.shape[0]))
    assert len(groups) >= 2, "a page without a frame"
    profile = page.mean(axis=0)
    return _middle(profile, groups[0]), _middle(profile, groups[-1])


def _groups(indices: NDArray[np.int64]) -> list[tuple[int, int]]:
    """Return the first and last of each run of neighbouring indices."""
    if not len(indices):
        return []
    breaks = np.flatnonzero(np.diff(indices) > 1)
    firsts = [int(indices[0]), *(int(indices[k + 1]) for k in breaks)]
    lasts = [*(int(indices[k]) for k in breaks), int(indices[-1])]
    return list(zip(firsts, lasts, strict=True))


def _middle(profile: NDArray[np.float32], group: tuple[int, int]) -> float:
    """Return the middle of a line of which a profile across it is known."""
    columns = np.arange(max(0, group[0] - 2), min(len(profile), group[1] + 3))
    weights = profile[columns]
    return float((weights * (columns + 0.5)).sum() / weights.sum())


class _Line(NamedTuple):
    """An upright line: its middle, and where it begins and ends."""

    at: float
    start: int
    end: int


def squares_on(page: Raster, dpi: int, least: float, most: float) -> list[tuple[float, float]]:
    """Find the squares on a page.

    Args:
        page: the raster.
        dpi: its pixels to an inch.
        least: the side of the smallest that is looked for, in mm.
        most: that of the largest.

    Returns:
        Width and height of each in mm, between the middles of its lines; the smallest first.
    """
    upright, level = (_lines(p, least * dpi / INCH, (most + 1) * dpi / INCH)
                      for p in (page, page.T))  # fmt: skip
    near = 0.5 * dpi / INCH
    found = []
    for left, right in itertools.combinations(upright, 2):
        if abs(left.start - right.start) > near or abs(left.end - right.end) > near:
            continue
        between = [
            line
            for line in level
            if abs(line.start - left.at) < near and abs(line.end - right.at) < near
        ]
        for top, bottom in itertools.combinations(between, 2):
            if abs(top.at - left.start) < near and abs(bottom.at - left.end) < near:
                found.append(((right.at - left.at) * INCH / dpi, (bottom.at - top.at) * INCH / dpi))
    return sorted(found)


def _lines(page: Raster, least: float, most: float) -> list[_Line]:
    """Find upright lines of some length, from left to right."""
    padded = np.zeros((page.shape[0] + 2, page.shape[1]), np.int8)
    padded[1:-1] = page > THRESHOLD
    steps = np.diff(padded, axis=0).T
    (columns, starts), (_, ends) = np.nonzero(steps == 1), np.nonzero(steps == -1)
    wanted = (ends - starts >= least) & (ends - starts <= most)
    runs = list(zip(columns[wanted], starts[wanted], ends[wanted], strict=True))
    lines: list[list[tuple[int, int, int]]] = []
    for column, start, end in runs:
        for line in lines:
            last = line[-1]
            if last[0] == column - 1 and abs(last[1] - start) <= 2 and abs(last[2] - end) <= 2:
                line.append((column, start, end))
                break
        else:
            lines.append([(column, start, end)])
    found = []
    for line in lines:
        start, end = int(np.median([r[1] for r in line])), int(np.median([r[2] for r in line]))
        tenth = (end - start) // 10
        profile = page[start + tenth : end - tenth].mean(axis=0)
        found.append(_Line(_middle(profile, (line[0][0], line[-1][0])), start, end))
    return found


def marks_at(page: Raster, frame: Frame, inward: complex, dpi: int) -> list[complex]:
    """Find the marks along an edge of a page: the half of each that lies towards the page.

    At an overlap of nothing only this half is on the page; the other is on the neighbour.

    Args:
        page: the raster.
        frame: the page's frame.
        inward: from the edge into the page, such as `RIGHT` for the right edge.
        dpi: pixels to an inch.

    Returns:
        The middles of the marks, along the edge.
    """
    best: tuple[float, list[complex]] = (0.0, [])
    for arm in ARMS:
        scored = _coarse(page, frame, inward, arm * dpi / INCH, dpi)
        # A mark by itself joins nothing.
        if len(scored) >= 2 and (worth := sorted(score for score, _ in scored)[-2]) > best[0]:
            best = worth, [_refined(page, at, inward, arm * dpi / INCH, dpi) for _, at in scored]
    return sorted(best[1], key=lambda z: (z / inward).imag)


def _coarse(
    page: Raster, frame: Frame, inward: complex, arm: float, dpi: int
) -> list[tuple[float, complex]]:
    """Return the pixels at which a mark may be, each with how well it is there."""
    edge = {RIGHT: frame.right, LEFT: frame.left, BOTTOM: frame.bottom, TOP: frame.top}[inward]
    reach = DEEPEST * dpi / INCH
    pad = int(arm) + 2
    padded = np.pad(page, pad)
    if inward.imag == 0:
        rows = (int(frame.top), int(frame.bottom))
        columns = tuple(sorted((int(edge), int(edge + inward.real * reach))))
    else:
        rows = tuple(sorted((int(edge), int(edge + inward.imag * reach))))  # type: ignore[assignment]
        columns = (int(frame.left), int(frame.right))
    columns = columns[0] - 2, columns[1] + 3
    rows = rows[0] - 2, rows[1] + 3

    def at(z: complex) -> Raster:
        x, y = round(z.real) + pad, round(z.imag) + pad
        return padded[rows[0] + y : rows[1] + y, columns[0] + x : columns[1] + x]

    def mean(places: Sequence[complex]) -> Raster:
        total: Raster = at(inward * arm * places[0]).copy()
        for z in places[1:]:
            total += at(inward * arm * z)
        total /= np.float32(len(places))
        return total

    # Every one of its lines has to be there: a frame alone, or lines that cross, are no mark.
    black = np.minimum.reduce([mean(line) for line in _on_lines(int(arm))])
    white = mean([complex(u, v) for u in (0.28, 0.36) for v in (0.28, -0.28, 0.36, -0.36)])
    score = np.where((black > BLACK) & (white < WHITE), black - 0.2 * white, 0.0)
    found: list[tuple[float, complex]] = []
    while score.size and score.max() > 0.0:
        row, column = np.unravel_index(int(score.argmax()), score.shape)
        found.append((float(score[row, column]), complex(columns[0] + column, rows[0] + row)))
        radius = int(arm)
        score[max(0, row - radius) : row + radius + 1, max(0, column - radius) :
              column + radius + 1] = 0.0  # fmt: skip
    return found


@functools.cache
def _on_lines(count: int) -> list[list[complex]]:
    """Return places on each line of half a mark of size 1 about 0: the half where x is positive."""
    shares = [k / count for k in range(count + 1)]
    return [
        [complex(s, 1 - s) for s in shares],
        [complex(s, s - 1) for s in shares],
        [complex(s, 0.0) for s in shares],
        [complex(0.0, 2 * s - 1) for s in shares],
    ]


def _refined(page: Raster, at: complex, inward: complex, arm: float, dpi: int) -> complex:
    """Return the middle of a mark to an eighth of a pixel."""
    reach = int(arm) + 3
    templates, weights = _templates(inward, arm, reach, LINE * dpi / INCH)
    padded = np.pad(page, reach + 1)
    row, column = int(at.imag) + 1, int(at.real) + 1
    patch = padded[row : row + 2 * reach + 1, column : column + 2 * reach + 1]
    costs = (np.abs(templates - patch) * weights).sum(axis=(1, 2))
    best = int(costs.argmin())
    dx, dy = _FINE[best % len(_FINE)], _FINE[best // len(_FINE)]
    return at + complex(0.5 + dx, 0.5 + dy)


@functools.cache
def _templates(inward: complex, arm: float, reach: int, width: float) -> tuple[Raster, Raster]:
    """Return how half a mark looks, moved by eighths of pixels, and which pixels count."""
    side = np.arange(-reach, reach + 1, dtype=np.float32)
    z = (side[None, :] + 1j * side[:, None]).astype(np.complex64)

    def distance(to: complex) -> NDArray[np.float32]:
        # In the mark's own directions: u inward, v along the edge.
        own = (z - to) / inward
        u, v = own.real, np.abs(own.imag)
        shorter = np.clip((v - u + arm) / 2, 0, arm)  # along the side of the diamond
        nearest: NDArray[np.float32] = np.minimum.reduce(
            [
                np.hypot(u - (arm - shorter), v - shorter),
                np.hypot(u - np.clip(u, 0, arm), v),
                np.hypot(u, v - np.clip(v, 0, arm)),
            ]
        )
        return nearest

    drawn = np.stack(
        [np.clip(width / 2 + 0.5 - distance(complex(x, y)), 0, 1) for y in _FINE for x in _FINE]
    )
    counts = (distance(0j) < width / 2 + 2) & ((z / inward).real > -width / 2)
    return drawn.astype(np.float32), counts.astype(np.float32)


def inside(frame: Frame, shape: tuple[int, ...]) -> Mask:
    """Return the pixels within a frame."""
    mask = np.zeros(shape, np.bool_)
    mask[round(frame.top) : round(frame.bottom), round(frame.left) : round(frame.right)] = True
    return mask
