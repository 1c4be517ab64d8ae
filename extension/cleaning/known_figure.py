"""A known rectangle or grid in a photo: by its ink the perspective and the lens are taken out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from lxml import etree

from drafting_core.ink.known_lines import (
    KnownInk,
    KnownLine,
    count_squares,
    edges_of,
    grid_lines,
    ink_along,
    rectangle_lines,
)
from drafting_core.ink.lens import Flattened, Frame, LensMap, made_flat, off_by_a_lens
from drafting_core.ink.polylines import Flags, Points, diagonal, resampled
from drafting_core.ink.rectify import PlaneMap, laid_map, rectangle_map, ring_of
from drafting_core.text.errors import DraftingError
from drafting_core.text.figures import decimal_number
from drafting_core.text.lengths import in_words, told_length
from drafting_core.text.words import _
from extension.document.namespaces import svg
from extension.document.roles import name_of
from extension.document.shapes import box_of
from extension.document.svg_document import DocumentError
from extension.reading.drawn_extent import page_box

#: The ink of a rectangle's side lies this near to it (part of it, but at least mm), …
_SIDE_REACH, _LEAST_REACH = 0.012, 3.0
#: … that of a grid's line within this part of a square.
_GRID_REACH = 0.3
#: Corners that a hand has set lie this near (mm) to where the ink's lines meet.
_BY_HAND = 2.0
#: A contour is a known line's if this part of it lies so near (mm, beside half the pen) to one.
_MOST, _ON_LINE = 0.95, 1.0
#: Nothing smaller is a block (its diagonal in mm): known lines are left in if only such is left.
_LEAST_BLOCK = 40.0
#: A word is said where a block may be off by more than this (mm) …
_WORTH_TELLING = 1.0
#: … or, where the lens could not be measured, would be off by more by a usual one.
_BY_A_USUAL_LENS, _USUAL_LENS = 2.0, 0.01
#: A picture or a page holds the trace if nothing of it is further out (part of its diagonal).
_OUTSIDE = 0.02


class KnownFigure(NamedTuple):
    """A known rectangle or grid, and how it makes the picture flat.

    Attributes:
        mark: the drafter's mark about it.
        to_true: the map from the root's units to true mm.
        plane: the same by the marked corners alone.
        corners: the marked corners in the root's units, shape (4,).
        lines: its lines in true mm.
        frame: the picture.
        found: what its ink tells, or None where it does not show.
        near: how far from its lines their ink may lie, in mm.
        remarks: what the drafter should know about it.
    """

    mark: etree._Element
    to_true: PlaneMap | LensMap
    plane: PlaneMap
    corners: Points
    lines: tuple[KnownLine, ...]
    frame: Frame
    found: Flattened | None
    near: float
    remarks: tuple[str, ...]

    def are_lines_of_it(self, closed: Sequence[Points], strokes: Sequence[Points]) -> list[bool]:
        """Tell of contours and then of open lines, in the root's units, which are its lines."""
        lines = [*closed, *strokes]
        if not lines:
            return []
        # Most of a trace lies elsewhere.
        near = self._on_lines(self.to_true(np.array([line[0] for line in lines])))
        return [
            bool(is_near) and self._is_line(line, closed=number < len(closed))
            for number, (line, is_near) in enumerate(zip(lines, near, strict=True))
        ]

    def _is_line(self, points: Points, *, closed: bool) -> bool:
        flat = self.to_true(points)
        size = diagonal(flat)
        if size <= 0.0:
            return False
        places = resampled(flat, size / 60.0, closed=closed)
        return float(self._on_lines(places).mean()) >= _MOST

    def _on_lines(self, places: Points) -> Flags:
        """Tell which places, in true mm, lie on one of its lines."""
        found = np.zeros(len(places), dtype=np.bool_)
        for line in self.lines:
            from_start = (places - line.start) * np.conj(line.along)
            found |= (
                (np.abs(from_start.imag) <= self.near)
                & (from_start.real >= -self.near)
                & (from_start.real <= abs(line.end - line.start) + self.near)
            )
        return found

    def leaves_a_block(self, lines: Sequence[Points], of_it: Sequence[bool]) -> bool:
        """Tell whether something as large as a block is left without the figure's own lines."""
        return any(
            diagonal(self.to_true(line)) >= _LEAST_BLOCK
            for line, is_its in zip(lines, of_it, strict=True)
            if not is_its
        )

    def lens_report(self) -> dict[str, float | bool] | None:
        """Return what was measured of the lens, ready for JSON; None where no ink shows."""
        if self.found is None:
            return None
        return {
            "share": self.found.through_lens.lens.share,
            "bow_mm": self.found.bow,
            "noise_mm": self.found.noise,
            "taken_out": self.found.is_bent,
        }

    def off_words(self, points: Points) -> str:
        """Return by how much blocks may be off that reach beyond the figure, if worth a word.

        Args:
            points: of the blocks' lines, in the root's units.
        """
        some = points[:: max(1, len(points) // 400)]
        if self.found is None:
            off = off_by_a_lens(self.corners, some, self.frame, self.plane, _USUAL_LENS)
            if off <= _BY_A_USUAL_LENS:
                return ""
            return _(
                "The block reaches far beyond {mark}, of which no ink shows by which the lens "
                "could be measured: one that bends by 1 % puts the block off by {off}. Take the "
                "photo with a drawn rectangle all about the block, or from further away."
            ).format(mark=name_of(self.mark), off=in_words(off))
        off = self.found.off_at(some)
        if off <= _WORTH_TELLING:
            return ""
        return _(
            "The block reaches far beyond {mark}, and may be off by {off}, as far as the ink of "
            "its lines can tell. A larger rectangle, best all about the block, tells more."
        ).format(mark=name_of(self.mark), off=in_words(off))


def known_rectangle(
    mark: etree._Element,
    corners: Sequence[complex],
    sides: tuple[float, float],
    closed: Sequence[Points],
    strokes: Sequence[Points],
) -> KnownFigure:
    """Return what a known rectangle tells, by its marked corners and its ink.

    Args:
        mark: the drafter's mark.
        corners: its corners in the root's units.
        sides: the rectangle's sides in mm.
        closed: the trace's contours, in the root's units.
        strokes: its open lines.

    Raises:
        DraftingError: if the corners are no rectangle's.
    """
    plane = rectangle_map(corners, *sides)
    return _measured(mark, ring_of(corners), plane, closed, strokes, None)


def known_grid(
    mark: etree._Element,
    corners: Sequence[complex],
    square: float,
    closed: Sequence[Points],
    strokes: Sequence[Points],
) -> KnownFigure:
    """Return what a grid of known squares tells; see `known_rectangle`.

    Args:
        mark: the drafter's mark about the grid.
        corners: its corners in the root's units.
        square: the side of its squares in mm.
        closed: the trace's contours, in the root's units.
        strokes: its open lines.

    Raises:
        DraftingError: if the corners are no rectangle's, or the grid's lines do not show.
    """
    ring = ring_of(corners)
    # A frame in which the squares can be counted: its sides are not yet known.
    frame = laid_map(ring, 1000.0, 1000.0)
    flat = frame(np.array(ring))
    edges = edges_of(closed, strokes).mapped(frame).near(flat, 50.0)
    counts = (
        count_squares(edges, list(flat)),
        count_squares(edges, [*flat[1:].tolist(), complex(flat[0])]),
    )
    columns, rows = counts
    if columns is None or rows is None:
        raise DocumentError(
            _("its squares could not be counted: the trace does not show its lines unbroken."),
            thing=name_of(mark),
            remedy=_(
                "Set its corners to those of the outermost squares that show whole, or mark a "
                "known rectangle instead."
            ),
        )
    plane = laid_map(ring, columns * square, rows * square)
    return _measured(mark, ring, plane, closed, strokes, (columns, rows, square))


def _measured(
    mark: etree._Element,
    ring: Sequence[complex],
    plane: PlaneMap,
    closed: Sequence[Points],
    strokes: Sequence[Points],
    grid: tuple[int, int, float] | None,
) -> KnownFigure:
    corners = np.array(ring)
    flat = plane(corners)
    lines = grid_lines(flat.tolist(), *grid[:2]) if grid else rectangle_lines(flat.tolist())
    inked = _inked(lines, plane, flat, closed, strokes, grid[2] if grid else 0.0)
    frame, middle = _frame_of(mark, [*closed, *strokes])
    pen = float(np.median([ink.pen for ink in inked])) if inked else 0.0
    figure = KnownFigure(
        mark, plane, plane, corners, tuple(lines), frame, None, _ON_LINE + pen / 2, ()
    )
    enough = len(lines) if grid is None else (len(lines) + 1) // 2
    if len(inked) < enough or not _both_ways(inked):
        if grid is not None:
            raise DocumentError(
                _("only {n} of its {all} lines show in the trace.").format(
                    n=len(inked), all=len(lines)
                ),
                thing=name_of(mark),
                remedy=_("Trace the photo with a higher threshold, or mark a known rectangle."),
            )
        return figure
    found = made_flat(inked, plane, frame)
    off = float(np.abs(found.to_true(corners) - flat).max())
    if off > _BY_HAND:
        said = _(
            "The corners of {mark} lie {off} off those of the lines that the trace shows along "
            "it, so that these were not followed: set its corners to where the lines cross."
        ).format(mark=name_of(mark), off=in_words(off))
        near = figure.near + max(ink.bow for ink in inked)
        return figure._replace(remarks=(said,), near=near)
    remarks = (_lens_words(found, middle),) if found.is_bent else ()
    near = figure.near + (0.0 if found.is_bent else found.bow)
    return figure._replace(to_true=found.to_true, found=found, remarks=remarks, near=near)


def _inked(
    lines: Sequence[KnownLine],
    plane: PlaneMap,
    flat: Points,
    closed: Sequence[Points],
    strokes: Sequence[Points],
    square: float,
) -> list[KnownInk]:
    """Return the known lines that the ink shows, their points in the root's units."""
    edges = (
        edges_of(closed, strokes)
        .mapped(plane)
        .near(flat, _SIDE_REACH * diagonal(flat) + _LEAST_REACH)
    )
    back = plane.inverse
    found = []
    for line in lines:
        reach = max(_LEAST_REACH, _SIDE_REACH * abs(line.end - line.start))
        ink = ink_along(edges, line, _GRID_REACH * square if square else reach, square)
        if ink is not None:
            found.append(ink._replace(points=back(ink.points)))
    return found


def _both_ways(inked: Sequence[KnownInk]) -> bool:
    """Tell whether there are lines enough either way to say a perspective."""
    upright = sum(abs(ink.line.along.imag) > 0.5 for ink in inked)
    return min(upright, len(inked) - upright) >= 2


def _frame_of(mark: etree._Element, lines: Sequence[Points]) -> tuple[Frame, str]:
    """Return the picture that the trace is of, and in words what was taken for it."""
    root = mark.getroottree().getroot()
    points = np.concatenate(lines)
    box = (points.real.min(), points.imag.min(), points.real.max(), points.imag.max())
    boxes = []
    for image in root.iter(svg("image")):
        try:
            left, top, right, bottom = box_of(image)
        except DraftingError:
            continue
        boxes.append(((left, top, right, bottom), name_of(image)))
    left, top, width, height = page_box(root)
    boxes.append(((left, top, left + width, top + height), _("the page")))
    for (left, top, right, bottom), words in boxes:
        middle = complex(left + right, top + bottom) / 2
        reach = abs(complex(right - left, bottom - top)) / 2
        out = _OUTSIDE * 2 * reach
        if (
            reach > 0
            and box[0] >= left - out
            and box[1] >= top - out
            and box[2] <= right + out
            and box[3] <= bottom + out
        ):
            return Frame(middle, reach), words
    middle = complex(box[0] + box[2], box[1] + box[3]) / 2
    reach = abs(complex(box[2] - box[0], box[3] - box[1])) / 2
    return Frame(middle, reach, is_known=False), _("what is traced, since the page is another")


def _lens_words(found: Flattened, middle: str) -> str:
    share = found.through_lens.lens.share
    words = {
        "bow": told_length(found.bow, 2),
        "share": decimal_number(abs(share) * 100.0, 1),
        "middle": middle,
    }
    if share < 0:
        return _(
            "The lens bows straight lines outward (a barrel, {share} % at the picture's corner, "
            "{bow} along a known line): this was taken out, about a middle found near that of "
            "{middle}."
        ).format(**words)
    return _(
        "The lens bows straight lines inward (a pincushion, {share} % at the picture's corner, "
        "{bow} along a known line): this was taken out, about a middle found near that of {middle}."
    ).format(**words)
