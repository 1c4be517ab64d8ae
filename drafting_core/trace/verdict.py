"""One verdict on a block that was found on a sheet: as drawn, look at some of it, or refused.

It does not ask how the block was found, but what its outline leaves out of the ink on the sheet,
and what of the outline no ink shows. What is called a line here has a length; letters, signs and
specks have none.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.polylines import Flags, Points, area_of, diagonal, fit_line, inside
from drafting_core.sheet.sheet_errors import several_sizes
from drafting_core.text.errors import OutlineError
from drafting_core.text.lengths import in_words, told_length
from drafting_core.text.words import _, listed
from drafting_core.trace.ink_cover import Cover, explained_by, ink_cover, near_any
from drafting_core.trace.ink_edges import Counts, InkEdges
from drafting_core.trace.outline_doubts import (
    JudgedOutline,
    OutlineNear,
    doubts_of,
    is_rectangle,
    shown_run,
)

#: No pen draws a line that is wider than this (mm).
WIDEST_PEN = 4.5
#: Lines of less than this (mm) together say nothing.
_LONG = 30.0
#: Outlines this near to each other (mm) share their ink.
_SHARED = 3.0
#: Lines outside all blocks, and inside them, that are more than this part of all are told.
_OUTSIDE, _INSIDE = 0.12, 0.45
#: Lines in a block that reach over this part of it both ways draw another outline.
_OTHER_OUTLINE = 0.6
#: Lines that run in from a seam over this (mm) at least, …
_DART_DEEP = 18.0
#: … at their widest so wide along it, may be a dart; at this part of their depth they are narrower.
_DART_WIDE = 6.0
#: A straight line (so far beside at most, mm) that begins at a dart's point, as narrow darts
#: do within this part of their legs, and is as long as this part of them, may be one of them.
_ONE_LINE, _AT_POINT, _LIKE_A_LEG = 1.8, 0.25, 0.6
#: A longer stretch without ink (mm) than this, and than two gaps, is no outline.
_NO_INK = 16.0
#: A size whose ink lies further beside its line (mm) is made of two.
_SIZE_STRAYS = 0.85
#: A seam or leg longer than lines that say nothing is none if less than this part is on ink.
_MOSTLY_OFF = 0.4
#: Outlines lie over each other if this part of the smaller lies in the other.
_MOSTLY = 0.5
#: Where open lines are more than this part of all lines, …
_OPEN = 0.4
#: … or where any lines that no block explains are this part of them, …
_NEARLY_ALL = 0.8
#: … a block smaller than this part of the lines that it leaves out is none of them.
_MUCH_SMALLER = 0.6
#: A frame has the area of its four corners within this part of it …
_FOUR_SIDES = 0.03
#: … goes round this part of the blocks, is no part of them, …
_FRAME_LEFT = 0.8
#: … and is so many times as large as the largest: a cut line runs nearer; with right angles (within
#: this cosine) it need be less so.
_MUCH_WIDER, _WIDER, _RIGHT_ANGLE = 1.6, 1.25, 0.04
#: Pieces of lines this near to each other (mm) hang together.
_CELL = 5.0


class SeamInk(NamedTuple):
    """What of a run's ink was followed: shares of its length.

    Attributes:
        length: of it, in mm.
        on_ink: of it on ink.
        beside: of it beside which a line runs along that no block explains.
    """

    length: float
    on_ink: float
    beside: float


class BlockVerdict(NamedTuple):
    """What is to be thought of a block.

    Attributes:
        look_at: what to look at, in words; empty if it is as drawn.
        runs: how each of its runs lies on ink.
        unexplained: the share of the sheet's line length that no block explains.
    """

    look_at: tuple[str, ...]
    runs: tuple[SeamInk, ...]
    unexplained: float

    def of_runs(self, numbers: Sequence[int]) -> SeamInk:
        """Return what of several runs' ink was followed, such as those of one seam."""
        runs = [self.runs[k] for k in numbers]
        length = sum(run.length for run in runs)
        if not length:
            return SeamInk(0.0, 1.0, 0.0)
        on_ink, beside = (sum(run.length * run[k] for run in runs) / length for k in (1, 2))
        return SeamInk(length, on_ink, beside)

    @property
    def words(self) -> str:
        """The verdict as it is written to files: "as drawn", or "look at: " and what."""
        if not self.look_at:
            return "as drawn"  # not read by drafters
        return f"look at: {'; '.join(self.look_at)}"  # not read by drafters


def verdicts(
    edges: InkEdges, outlines: Sequence[JudgedOutline], explained: Sequence[Points], gap: float
) -> list[BlockVerdict]:
    """Judge the blocks of a sheet.

    Args:
        edges: of all ink on the sheet.
        outlines: the blocks' outlines.
        explained: the middles of lines that are known to be something else, such as cut lines and
            grain arrows; each of shape (n,).
        gap: the largest gap in mm that was to be closed.

    Raises:
        OutlineError: if an outline is none: wider than a pen, much smaller than what it leaves
            out, without ink for a long stretch, or over another that is no size of it.
    """
    for outline in outlines:
        if outline.pen > WIDEST_PEN:
            raise _too_wide(outline.pen)
    covers = [ink_cover(edges, outline.runs, outline.pen) for outline in outlines]
    pen = max((outline.pen for outline in outlines), default=0.0)
    left = edges.drawn & ~explained_by(edges, explained, pen)
    for cover in covers:
        left &= ~cover.explained
    polygons = [cover.places.points for cover in covers]
    frames = _in_frames(edges, left, polygons)
    left &= ~frames
    whole = float(edges.lengths[edges.drawn & ~frames].sum())
    share = float(edges.lengths[left].sum()) / whole if whole else 0.0
    sheet = _Sheet(edges, left, whole, polygons)
    sheet.check_size()
    _check_alike(outlines, polygons)
    for outline, cover in zip(outlines, covers, strict=True):
        _check_ink(cover, outline, gap)
    found = []
    for number, (outline, cover) in enumerate(zip(outlines, covers, strict=True)):
        beside = cover.shares_beside(left)
        others = [one.places.points for one in covers if one is not cover]
        shared = (
            near_any(cover.places.points, np.concatenate(others), _SHARED)
            if others
            else np.zeros(len(cover.places.points), dtype=np.bool_)
        )
        look_at = doubts_of(outline, cover, OutlineNear(beside, shared, gap))
        if len(outlines) > 1 and is_rectangle(outline):
            look_at.append(_("it is a rectangle: is it a sheet of paper?"))
        look_at += sheet.around(number, outline, cover)
        seams = tuple(
            SeamInk(r.length, r.on_ink, b) for r, b in zip(cover.runs, beside, strict=True)
        )
        found.append(BlockVerdict(tuple(look_at), seams, share))
    return found


def _too_wide(pen: float) -> OutlineError:
    return OutlineError(
        _("its line would be {pen} wide, and no pen is wider than {widest}.").format(
            pen=in_words(pen), widest=in_words(WIDEST_PEN)
        ),
        remedy=_(
            "Where several lines run side by side, such as those of several sizes, trace one of "
            "them alone. If the scale is wrong, draw a known length."
        ),
    )


def _check_alike(outlines: Sequence[JudgedOutline], polygons: Sequence[Points]) -> None:
    """Refuse blocks that lie over each other and are no sizes of one.

    Raises:
        OutlineError: if they have different numbers of seams or darts.
    """
    kept = [k for k, outline in enumerate(outlines) if not is_rectangle(outline)]
    for first, second in itertools.combinations(kept, 2):
        one, two = sorted((polygons[first], polygons[second]), key=lambda z: abs(area_of(z)))
        counts = [
            (sum(outlines[k].legs) // 2, len(outlines[k].runs) - sum(outlines[k].legs))
            for k in (first, second)
        ]
        if counts[0] != counts[1] and inside(two, one[::4]).mean() >= _MOSTLY:
            raise OutlineError(
                _(
                    "two outlines lie over each other, one with {darts} darts and {seams} seams "
                    "from corner to corner, the other with {other_darts} and {other_seams}: they "
                    "are no sizes of one block."
                ).format(
                    darts=counts[0][0],
                    seams=counts[0][1],
                    other_darts=counts[1][0],
                    other_seams=counts[1][1],
                ),
                remedy=_("Delete the one that is not wanted from the trace."),
                place=complex(one[0]),
            )


def _check_ink(cover: Cover, outline: JudgedOutline, gap: float) -> None:
    """Refuse an outline of which a long stretch has no ink.

    Raises:
        OutlineError: if it has.
    """
    for run in cover.runs:
        if outline.is_size and run.stray > _SIZE_STRAYS:
            # It goes over from the line of one size to that of another.
            raise several_sizes(run.off_at)
        if run.on_ink < _MOSTLY_OFF and run.length > _LONG:
            raise OutlineError(
                _("only {share} % of {length} of the outline that was found lie on ink.").format(
                    share=round(100 * run.on_ink), length=told_length(run.length, 0)
                ),
                remedy=_("Draw what is missing there, or delete the lines that are no outline."),
                place=run.off_at,
            )
    worst = max(cover.runs, key=lambda run: run.longest_off)
    if worst.longest_off > max(_NO_INK, 2.0 * gap, 2.0 * outline.bridged):
        raise OutlineError(
            _("{length} of the outline that was found are not on ink.").format(
                length=told_length(worst.longest_off, 0)
            ),
            remedy=_("Draw what is missing there, or delete the lines that are no outline."),
            place=worst.off_at,
        )


def _in_frames(edges: InkEdges, left: Flags, polygons: Sequence[Points]) -> Flags:
    """Tell which edges belong to a frame about all blocks: the sheet's edge, with four corners."""
    found = np.zeros(len(left), dtype=np.bool_)
    around = np.concatenate(polygons)[::8]
    largest = max(map(diagonal, polygons))
    blocks = max(abs(area_of(polygon)) for polygon in polygons)
    for shape in np.unique(edges.shapes[left & ~edges.stroke_like]).tolist():
        chosen = edges.shapes == shape
        points = edges.points[chosen]
        if diagonal(points) < largest or not left[chosen].mean() > _FRAME_LEFT:
            continue
        corners = _four_corners(points)
        area = abs(area_of(points))
        is_four = area > 0.0 and abs(abs(area_of(corners)) - area) <= _FOUR_SIDES * area
        is_wide = area >= (_WIDER if _is_square(corners) else _MUCH_WIDER) * blocks
        if is_four and is_wide and inside(points, around).mean() > _FRAME_LEFT:
            found |= chosen
    return found


def _four_corners(points: Points) -> Points:
    """Return the corners of a shape of four sides: the farthest points, two by two."""
    first = points[np.argmax(np.abs(points - points.mean()))]
    third = points[np.argmax(np.abs(points - first))]
    beside = ((points - first) * np.conj(third - first)).imag
    return np.array([first, points[np.argmin(beside)], third, points[np.argmax(beside)]])


def _is_square(corners: Points) -> bool:
    ways = np.roll(corners, -1) - corners
    ways = ways / np.maximum(np.abs(ways), 1e-9)
    return float(np.abs((np.conj(ways) * np.roll(ways, -1)).real).max()) <= _RIGHT_ANGLE


class _Sheet(NamedTuple):
    """What is left of a sheet's ink beside its blocks.

    Attributes:
        edges: of all ink.
        left: which of them no block explains.
        whole: the length of all lines, in mm.
        polygons: the blocks.
    """

    edges: InkEdges
    left: Flags
    whole: float
    polygons: list[Points]

    def check_size(self) -> None:
        """Refuse blocks that are much smaller than the lines that they leave out.

        Raises:
            OutlineError: if they are.
        """
        is_open = self.left & (self.edges.stroke_like | self.edges.bare)
        if float(self.edges.lengths[self.left].sum()) > _NEARLY_ALL * self.whole:
            is_open = self.left
        length = float(self.edges.lengths[is_open].sum())
        if length <= _OPEN * self.whole:
            return
        rest = self.edges.points[is_open]
        largest = max(map(diagonal, self.polygons))
        if largest < _MUCH_SMALLER * diagonal(rest):
            raise OutlineError(
                _(
                    "the only closed line is {size} across, much smaller than the open lines "
                    "around it: {share} % of the sheet's lines are part of no block."
                ).format(size=in_words(largest), share=round(100 * length / self.whole)),
                remedy=_(
                    "Draw what is missing of it, on the paper or over the trace, or trace again "
                    "with a higher brightness threshold, so that the block's own line closes."
                ),
            )

    def around(self, number: int, outline: JudgedOutline, cover: Cover) -> list[str]:
        """Return what lines in and around a block say against it, in words."""
        lengths = self.edges.lengths
        rest = np.flatnonzero(self.left)
        if float(lengths[rest].sum()) < _LONG:
            return []
        points = self.edges.points[rest]
        within = np.array([inside(polygon, points) for polygon in self.polygons])
        told = []
        outside = ~within.any(axis=0)
        outside &= ~self._in_mouths(points, outline, cover)
        length = float(lengths[rest[outside]].sum())
        if length > max(_OUTSIDE * self.whole, 2 * _LONG):
            told.append(
                _("lines of {length} outside it are part of no block").format(
                    length=told_length(length, 0)
                )
            )
        own = rest[within[number]]
        length = float(lengths[own].sum())
        if length > _INSIDE * self.whole:
            told.append(
                _("lines of {length} inside it are part of no block").format(
                    length=told_length(length, 0)
                )
            )
        return told + self._inside(own, outline, cover)

    def _in_mouths(self, points: Points, outline: JudgedOutline, cover: Cover) -> Flags:
        """Tell which points lie between the legs of a dart."""
        found = np.zeros(len(points), dtype=np.bool_)
        count = len(outline.runs)
        for k in range(count):
            if outline.legs[k] and outline.legs[(k + 1) % count]:
                start, tip = outline.runs[k][0].start, outline.runs[k][-1].end
                end = outline.runs[(k + 1) % count][-1].end
                middle = (start + end) / 2
                # With the cap that many draw over a mouth.
                cap = [middle + (z - tip) * 1.3 - (middle - tip) for z in (end, start)]
                found |= inside(np.array([start, tip, end, *cap]), points)
        return found

    def _inside(self, own: Counts, outline: JudgedOutline, cover: Cover) -> list[str]:
        """Return what lines in a block look like: a lost dart, or another outline."""
        points = self.edges.points[own]
        polygon = cover.places.points
        size = (np.ptp(polygon.real), np.ptp(polygon.imag))
        told = []
        for cluster in _clusters(points):
            lines = points[cluster]
            if len(lines) < _DART_DEEP:
                continue
            reach = (np.ptp(lines.real), np.ptp(lines.imag))
            if all(a >= _OTHER_OUTLINE * b for a, b in zip(reach, size, strict=True)):
                told.append(_("another outline runs inside it"))
                continue
            seam = _mouth_of(lines, outline, cover)
            if _runs_from_a_point(lines, outline):
                told.append(_("a line runs into the block from a dart's point"))
            elif seam is not None:
                told.append(
                    _("lines run into the block from {seam}, as those of a dart").format(seam=seam)
                )
        return told


def _runs_from_a_point(lines: Points, outline: JudgedOutline) -> bool:
    """Tell whether lines lead from a dart's point as far as its legs do, so may be one of them."""
    count = len(outline.runs)
    line = fit_line(lines)
    way = line.end - line.start
    way /= max(abs(way), 1e-9)
    if np.abs(((lines - line.start) * np.conj(way)).imag).max() > _ONE_LINE:
        return False
    for k in range(count):
        if outline.legs[k] and outline.legs[(k + 1) % count]:
            point = outline.runs[k][-1].end
            length = abs(point - outline.runs[k][0].start)
            beside = abs(((point - line.start) * way.conjugate()).imag)
            is_there = beside <= _ONE_LINE and np.abs(lines - point).min() <= _AT_POINT * length
            if is_there and abs(line.end - line.start) >= _LIKE_A_LEG * length:
                return True
    return False


def _mouth_of(lines: Points, outline: JudgedOutline, cover: Cover) -> str | None:
    """Return the seam from which lines run into a block as a dart's do, or None."""
    places = cover.places
    touching = near_any(places.points, lines, _CELL)
    for k, (name, is_leg) in enumerate(zip(outline.names, outline.legs, strict=True)):
        chosen = np.flatnonzero((places.runs == k) & touching)
        if is_leg or not len(chosen):
            continue
        along = places.ways[chosen[len(chosen) // 2]]
        away = (lines - places.points[chosen[len(chosen) // 2]]) * np.conj(along)
        depth = float(away.imag.max())
        near, far = away[away.imag <= 0.25 * depth], away[away.imag >= 0.8 * depth]
        if depth < _DART_DEEP or not len(near) or not len(far):
            continue
        wide = float(np.ptp(near.real))
        if wide >= _DART_WIDE and float(np.ptp(far.real)) <= 0.5 * wide and wide <= 1.5 * depth:
            return shown_run(name, is_leg=False)
    return None


def _clusters(points: Points) -> list[Counts]:
    """Return the numbers of points that hang together, by cells of a grid."""
    if not len(points):
        return []
    columns = np.floor(points.real / _CELL).astype(np.int64)
    rows = np.floor(points.imag / _CELL).astype(np.int64)
    cells, which = np.unique(np.column_stack([columns, rows]), axis=0, return_inverse=True)
    numbers = {(x, y): k for k, (x, y) in enumerate(cells.tolist())}
    group = [-1] * len(cells)
    count = 0
    for first in range(len(cells)):
        if group[first] >= 0:
            continue
        stack, group[first] = [first], count
        while stack:
            x, y = cells[stack.pop()].tolist()
            for dx in (-1, 0, 1):
                for dy in (-1, 0, 1):
                    other = numbers.get((x + dx, y + dy))
                    if other is not None and group[other] < 0:
                        group[other] = count
                        stack.append(other)
        count += 1
    of_points = np.array(group)[which.ravel()]
    return [np.flatnonzero(of_points == k) for k in range(count)]


def shown(verdict: BlockVerdict) -> str:
    """Return the verdict as the drafter reads it."""
    if not verdict.look_at:
        return _("As drawn.")
    return _("Look at: {things}.").format(things=listed(verdict.look_at))
