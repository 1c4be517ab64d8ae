"""What of a grey picture of a sheet is ink: told from the paper beside it, not from black.

Paper is grey or yellow, a shadow lies on it, the light falls from a side, a line is pencil: no one
grey value parts ink from paper. Here the paper's own brightness is found at every place first; ink
is what is darker than it by half of what the lines about it are. The middle of a blurred edge is
then the edge, whatever the light.
"""

from __future__ import annotations

from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

Grey = NDArray[np.uint8]
Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]
_Values = TypeVar("_Values", Grey, Floats)

#: The paper is looked for on a picture reduced to about so many dots.
_PAPER_DOTS = 1.0e6
#: What is dark and narrower than this part of the picture's longer side is drawn, not paper.
_WIDEST_LINE = 0.025
#: What is darker than this part of the paper about it, and wider, is filled: no shadow is so deep.
_FILLED = 0.3
#: Where lines have less than this part of the picture, two levels of brightness tell a cut-out
#: template from what it lies on: the darker is no more than this part of the brighter, each has
#: such a part of the picture, and at the picture's edge is no more than this part of the darker.
_FEW_LINES, _TWO_LEVELS, _A_SHARE, _AT_EDGE = 0.003, 0.85, 0.03, 0.02
#: Where so much of a picture is filled, and at its edge all but so much, it shows what is bright on
#: a dark ground: that is filled as a whole, be it no darker than a shadow where the light falls,
#: if it is no brighter than this part of what is bright, and little lies between the two: this
#: part of the picture within so much of the level halfway.
_GROUND, _DARK_GROUND, _BETWEEN, _NEAR_LEVEL = 0.1, 0.4, 0.04, 0.15
#: How far the paper about a place reaches, as a part of the longer side.
_ABOUT = 0.5
#: Cells in which the contrast of lines is found, as a part of the longer side.
_CELL = 0.012
#: A line is ink from this part of its own contrast on, at the middle of its blurred edge.
_HALF = 0.5
#: Ink is darker than the paper by so many deviations of the paper's noise, by such a part of what
#: good lines on the sheet are, and by such a part of the paper's brightness.
_NOISES, _OF_GOOD, _LEAST = 4.5, 0.25, 0.07
#: Good lines are as dark as this part of all.
_GOOD = 0.75
#: What is darker is ink for certain, and tells nothing of the paper.
_SURE = 0.4
#: A line differs from what is about it by this part of all that the picture spans (or more), …
_THIN = 0.2
#: … and where so many times more that is thin is bright than dark, and no more than this part of
#: the picture is bright at all, the bright lines are drawn.
_MORE_BRIGHT, _BRIGHT_LINES = 1.2, 0.08
#: The paper's brightness steps by this part of itself within so many dots of the reduced picture:
#: the edge of a hard shadow, or of a template that is no darker than a shadow.
_STEP, _STEP_DOTS = 0.18, 3
#: So many dots tell what is true of the whole picture.
_SOME = 500_000
#: Rows worked on at a time: what the work needs of memory does not grow with the picture.
_BAND_DOTS = 2_000_000


class Ink(NamedTuple):
    """What of a picture is ink.

    Attributes:
        mask: True where there is ink; as large as the picture, rows first.
        is_inverted: whether bright lines on a dark ground were taken as the ink.
        share: the part of the picture that is ink.
        filled: the part of it that is dark as a whole, such as a cut-out template.
        contrast: how much darker than the paper good lines are, as a part of its brightness.
        noise: the deviation of the paper's brightness, the same.
        steps: how long the edges are where the paper's brightness steps, as a part of the
            picture's longer side: a hard shadow's, or those of what is no darker than a shadow.
    """

    mask: Mask
    is_inverted: bool
    share: float
    filled: float
    contrast: float
    noise: float
    steps: float = 0.0


def ink_of(grey: Grey) -> Ink:
    """Tell the ink of a sheet from its paper.

    Args:
        grey: the picture, rows first, 0 for black and 255 for white; at least 3 by 3 dots.
    """
    small = _small(grey)
    is_inverted = _is_bright_on_dark(small)
    if is_inverted:
        grey, small = np.asarray(255 - grey, dtype=np.uint8), np.float32(255) - small
    paper, filled, steps = _paper(small)
    dark = _Darkness(grey, paper)
    bias, noise = _noise(dark)
    contrast, good = _contrast(dark, bias, noise)
    least = max(_NOISES * noise, _OF_GOOD * good, _LEAST)
    wanted = np.maximum(_HALF * contrast, least) + bias
    mask = np.empty(grey.shape, dtype=np.bool_)
    for rows in dark.bands():
        mask[rows] = dark.at(rows) > _enlarged(wanted, grey.shape, rows)
    share = float(mask.mean())
    level = _between_two(small) if share < _FEW_LINES else None
    if level is None:
        return Ink(mask, is_inverted, share, filled, good, noise, steps)
    mask = np.asarray(grey < level)
    between = 1.0 - float(small[small < level].mean() / small[small >= level].mean())
    share = float(mask.mean())
    return Ink(mask, is_inverted, share, share, between, noise)


def _between_two(values: Floats) -> float | None:
    """Return the brightness halfway between a shape's and that about it, or None if it is none."""
    dark, bright = _two_levels(values)
    if dark > _TWO_LEVELS * bright:
        return None
    level = (dark + bright) / 2
    return level if (_at_edge(values) < level).mean() <= _AT_EDGE else None


def _level_of_a_ground(values: Floats) -> float:
    """Return below which brightness all is the dark ground under what is bright, or 0."""
    dark, bright = _two_levels(values)
    if dark > _DARK_GROUND * bright:
        return 0.0
    level = (dark + bright) / 2
    is_unsure = (np.abs(values - level) < _NEAR_LEVEL * level).mean() > _BETWEEN
    is_ground = (_at_edge(values) < level).mean() >= 1.0 - _AT_EDGE
    return level if is_ground and not is_unsure else 0.0


def _two_levels(values: Floats) -> tuple[float, float]:
    """Return the two levels of brightness that part a picture best; both 1 where it has one."""
    counts = np.bincount(values.astype(np.uint8).ravel(), minlength=256) / values.size
    below = np.cumsum(counts)
    sums = np.cumsum(counts * np.arange(256))
    levels = np.flatnonzero((below > _A_SHARE) & (below < 1.0 - _A_SHARE))
    if not len(levels):
        return 1.0, 1.0
    share, sum_below = below[levels], sums[levels]
    dark, bright = sum_below / share, (sums[-1] - sum_below) / (1.0 - share)
    best = int(np.argmax(share * (1.0 - share) * (bright - dark) ** 2))
    return float(dark[best]), float(bright[best])


def _at_edge(values: Floats) -> Floats:
    return np.concatenate([values[0], values[-1], values[:, 0], values[:, -1]])


def _small(grey: Grey) -> Floats:
    """Return a picture reduced to what is needed to tell the paper."""
    by = max(2, int(np.ceil((grey.size / _PAPER_DOTS) ** 0.5)))
    return _soft(_reduced(grey, min(by, *grey.shape)))


def _reach(small: Floats) -> int:
    """Return half of the width that no line has, in dots of the reduced picture."""
    return max(2, round(_WIDEST_LINE * int(max(small.shape)) / 2))


def _is_bright_on_dark(small: Floats) -> bool:
    """Tell whether a picture shows bright lines on dark.

    Most of it is dark then, its edge too, and what is thin in it is bright.
    """
    low, high = np.percentile(small, (0.2, 99.8))
    middle = float(low + high) / 2
    edges = (small[0], small[-1], small[:, 0], small[:, -1])
    is_bright = (small > middle).mean() > _BRIGHT_LINES
    if is_bright or sum(bool(np.median(edge) > middle) for edge in edges) > 1:
        return False
    reach, least = _reach(small), max(_THIN * float(high - low), 12.0)
    dark = float((_closed(small, reach) - small > least).mean())
    bright = float((small + _closed(-small, reach) > least).mean())
    return bright > max(_MORE_BRIGHT * dark, 1e-4)


def _closed(values: Floats, reach: int) -> Floats:
    """Return a grid in which all is gone that is dark and narrow; the edges of shadows stay."""
    return -_widest(-_widest(values, reach), reach)


def _some(values: _Values) -> _Values:
    """Return values spread over a picture."""
    step = max(1, int((values.size / _SOME) ** 0.5))
    return values[::step, ::step]


def _paper(small: Floats) -> tuple[Floats, float, float]:
    """Return the paper's brightness on a coarser grid, what part is filled, how long its steps."""
    closed = _closed(small, _reach(small))
    about = _widest(closed, max(2, round(_ABOUT * max(small.shape))))
    filled = closed < _FILLED * about
    share = float(filled.mean())
    if share > _GROUND:
        filled |= closed < _level_of_a_ground(closed)
        share = float(filled.mean())
    if share:
        # An edge's own dots are half dark.
        closed = _bridged(closed, _widest(filled.astype(np.float32), 3) > 0)
    # Beside the edge of a shadow it counts as shadow: the shadow itself is not to become a line.
    return _soft(np.maximum(-_widest(-closed, 2), 1.0)), share, _steps(closed)


def _steps(paper: Floats) -> float:
    """Return how long the edges are where a grid steps, as a part of its longer side."""
    levels = np.log(np.maximum(paper, 1.0))
    across, down = (np.abs(np.diff(levels, axis=axis)) for axis in (1, 0))
    size = min(_STEP_DOTS, *across.shape, *down.shape)
    wide = np.lib.stride_tricks.sliding_window_view
    found = [
        (wide(part, size, axis=axis).sum(axis=-1) > _STEP).sum() / size
        for part, axis in ((across, 1), (down, 0))
    ]
    return float(max(found)) / int(max(paper.shape))


def _reduced(grey: Grey, by: int) -> Floats:
    """Return the means of squares of so many dots; what is left over at two edges counts in."""
    height, width = (max(1, part // by) for part in grey.shape)
    found = np.empty((height, width), dtype=np.float32)
    for row in range(height):
        band = grey[row * by : (row + 1) * by, : width * by]
        found[row] = band.sum(axis=0, dtype=np.float32).reshape(width, by).mean(axis=1)
        found[row] /= len(band)
    return found


def _widest(values: Floats, reach: int) -> Floats:
    """Return the largest value within a square of so far to each side of every place."""
    for axis in (0, 1):
        turned = np.moveaxis(values, axis, 0)
        padded = np.pad(turned, ((reach, reach), (0, 0)), mode="symmetric")
        size, done = 2 * reach + 1, 1
        while done < size:
            step = min(done, size - done)
            padded = np.maximum(padded[: len(padded) - step], padded[step:])
            done += step
        values = np.moveaxis(padded, 0, axis)
    return values


def _soft(values: Floats) -> Floats:
    """Return means over three by three, the middle counting most."""
    down = np.pad(values, ((1, 1), (0, 0)), mode="edge")
    values = (down[:-2] + 2 * down[1:-1] + down[2:]) / np.float32(4)
    across = np.pad(values, ((0, 0), (1, 1)), mode="edge")
    found: Floats = (across[:, :-2] + 2 * across[:, 1:-1] + across[:, 2:]) / np.float32(4)
    return found


def _bridged(values: Floats, holes: Mask) -> Floats:
    """Return a grid whose holes are filled from about them, the coarse before the fine."""
    if not holes.any():
        return values
    if holes.all():
        return np.full_like(values, values.max())
    known = np.where(holes, 0.0, 1.0).astype(np.float32)
    if min(values.shape) < 2:
        return np.where(holes, (values * known).sum() / known.sum(), values)
    weight, total = _halved(known), _halved(values * known)
    coarse = _bridged(total / np.maximum(weight, np.float32(1e-6)), weight < 1e-6)
    rows = slice(0, values.shape[0])
    return np.where(holes, _enlarged(coarse, values.shape, rows), values)


def _halved(values: Floats) -> Floats:
    height, width = values.shape
    padded = np.pad(values, ((0, height % 2), (0, width % 2)))
    quarters = padded.reshape(padded.shape[0] // 2, 2, padded.shape[1] // 2, 2)
    return np.asarray(quarters.mean(axis=(1, 3)), dtype=np.float32)


def _enlarged(grid: Floats, shape: tuple[int, ...], rows: slice) -> Floats:
    """Return rows of a grid that is drawn as large as a picture, values in between in line."""
    height, width = shape
    down = _weights(grid.shape[0], height, np.arange(rows.start, rows.stop))
    across = _weights(grid.shape[1], width, np.arange(width))
    first, second, part = down
    lines = grid[first] * (1 - part)[:, None] + grid[second] * part[:, None]
    first, second, part = across
    return np.asarray(lines[:, first] * (1 - part) + lines[:, second] * part, dtype=np.float32)


def _weights(
    count: int, size: int, places: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], Floats]:
    """Return which two cells a dot lies between, and how far along."""
    at = np.clip((places + 0.5) * count / size - 0.5, 0, count - 1)
    first = np.minimum(at.astype(np.int64), max(0, count - 2))
    return first, np.minimum(first + 1, count - 1), (at - first).astype(np.float32)


class _Darkness:
    """How much darker than its paper a picture is at every dot, a band of rows at a time."""

    def __init__(self, grey: Grey, paper: Floats) -> None:
        self.grey, self.paper = grey, paper

    def bands(self) -> list[slice]:
        height, width = self.grey.shape
        rows = max(1, _BAND_DOTS // width)
        return [slice(k, min(height, k + rows)) for k in range(0, height, rows)]

    def at(self, rows: slice) -> Floats:
        """Return the darkness of a band: 0 for paper, 1 for black."""
        above, below = max(0, rows.start - 1), min(len(self.grey), rows.stop + 1)
        soft = _soft(self.grey[above:below].astype(np.float32))
        soft = soft[rows.start - above : rows.stop - above]
        return 1.0 - soft / _enlarged(self.paper, self.grey.shape, rows)


def _noise(dark: _Darkness) -> tuple[float, float]:
    """Return how dark the paper itself is by this measure, and its deviation."""
    some = np.concatenate([_some(dark.at(rows)).ravel() for rows in dark.bands()])
    some = some[some < _SURE]
    if not len(some):
        return 0.0, 0.0
    bias = float(np.median(some))
    return bias, float(1.4826 * np.median(np.abs(some - bias)))


def _contrast(dark: _Darkness, bias: float, noise: float) -> tuple[Floats, float]:
    """Return how dark the darkest line near each cell is, and how dark most lines are."""
    shape = dark.grey.shape
    side = max(4, round(_CELL * max(shape)))
    height, width = (-(-part // side) for part in shape)
    cells = np.zeros((height, width), dtype=np.float32)
    for rows in dark.bands():
        values = dark.at(rows)
        starts = np.arange(0, width) * side
        across = np.maximum.reduceat(values, starts, axis=1)
        for row in range(rows.start // side, -(-rows.stop // side)):
            first, last = max(row * side, rows.start), min((row + 1) * side, rows.stop)
            part = across[first - rows.start : last - rows.start]
            cells[row] = np.maximum(cells[row], part.max(axis=0))
    cells = np.maximum(cells - bias, 0.0)
    drawn = cells[cells > max(2 * _LEAST, 8 * noise)]
    good = float(np.quantile(drawn, _GOOD)) if len(drawn) else 0.0
    return _soft(_widest(cells, 1)), good
