"""What a traced sheet shows: the closed lines of blocks, small signs, and what is neither.

Points come in by thousands, so the files of this room work on numpy arrays of complex points. The
middle of the pen line: along the inner contour (the outer one where lines inside touch the outline)
every point is halved with the nearest of the other edge; where there is none within the pen's
width, or none like it, the line is lost and bridged, and what the contour does there is kept as a
*spike*: the point of a narrow dart, a letter. Shapely is not needed for any of it: numpy ships with
every editor.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.apex_signs import SMALLEST_SIGN, SmallShape
from drafting_core.ink.join_strokes import Join, Joined, join_strokes
from drafting_core.ink.open_mouths import with_open_mouths
from drafting_core.ink.pen_line import (
    WIDEST_PEN,
    Ring,
    centre_ring,
    centre_strokes,
    is_inside,
    length_round,
    mean_width,
    step_for,
)
from drafting_core.ink.polylines import (
    Numbers,
    Points,
    arc_lengths,
    area_of,
    diagonal,
    inside,
    polyline_crossings,
    resampled,
)
from drafting_core.ink.trace_corners import find_corners, turns
from drafting_core.sheet.sheet_errors import crossing_blocks
from drafting_core.text.errors import NothingClosedError
from drafting_core.text.lengths import as_option, in_words, shortest_told
from drafting_core.text.words import _

#: What is smaller than this part of the largest shape is a sign, a letter or a speck.
SMALL_PART = 0.03
#: A block is at least this part of the largest block on its sheet.
_SMALLEST_BLOCK = 0.25
#: No block is smaller than this (its diagonal in mm), be it a doll's.
_LEAST_BLOCK = 40.0
#: A wider gap (mm) is a missing line.
LARGEST_GAP = 50.0
#: How far a line goes on inside an outline where another block's crosses it (mm).
_GOES_ON = (4.0, 7.0, 10.0)
#: The straight sides of a frame stray from lines by at most this part of its diagonal: a sheet's
#: edge in a photo is no true rectangle.
_STRAIGHT_FRAME = 0.01
#: What lies in a frame is a block if it is at least this part of it.
_IN_FRAME = 0.08
#: Of two blocks that touch, each takes at least this part of the area within their outline, …
_PART_OF_TWO = 0.15
#: … and where they meet the outline turns inward, at no dart's point: that has two sides alike, of
#: which the shorter is at least this part of the other, …
_SIDES_ALIKE = 0.8
#: … which are no nearer to each other than this (radians) …
_NARROWEST_DART = math.radians(4.0)
#: … and which stray from lines by at most this part of their length.
_STRAIGHT_SIDE = 0.03
#: A contour whose mean width is less than this part of its diagonal goes round nothing.
_NOTHING = 1e-4
#: Contours whose usual distance is less than this (mm) are one, pasted twice: no pen is so thin.
_IN_PLACE = 0.06
#: Where the legs of a dart run into its point, so much of a contour (mm) at most has no other edge.
_LONGEST_SPIKE = 38.0
#: A white spot smaller than this (mm) in a pen's line is none.
_HOLE = 2.0

PEN = "pen"
EDGE = "edge"
LONE_STROKES = "strokes"


class TracedBlock(NamedTuple):
    """A block's closed line on a sheet.

    Attributes:
        ring: the line.
        made_of: what it was traced as: `PEN` line with two edges, a single closed line or `EDGE`,
            or `LONE_STROKES` that were joined.
        joins: where strokes were joined.
        doubled: how many strokes were drawn twice.
        cut_line: the line of a drawn allowance round it, closed, shape (n,); or None.
        size: which of several nested sizes it is, from 1 for the innermost; 0 where it is alone.
    """

    ring: Ring
    made_of: str
    joins: tuple[Join, ...] = ()
    doubled: int = 0
    cut_line: Points | None = None
    size: int = 0


class UnusedShape(NamedTuple):
    """What was taken for no part of a block.

    Attributes:
        specks: how many specks.
        small: how many letters and small signs.
        shapes: how many larger closed shapes, such as a frame or a pocket.
        strokes: how many open lines.
    """

    specks: int
    small: int
    shapes: int
    strokes: int


class TraceSheet(NamedTuple):
    """What a sheet shows.

    Attributes:
        blocks: its blocks, from left to right.
        small: everything small on it.
        left_out: how much was left out.
    """

    blocks: list[TracedBlock]
    small: list[SmallShape]
    left_out: UnusedShape


def read_sheet(closed: Sequence[Points], strokes: Sequence[Points], gap: float) -> TraceSheet:
    """Find the blocks on a traced sheet.

    A sheet that shows nothing but closed pen lines is read by their contours alone. Of any other
    all lines are followed: dashes, lines inside darts, cut lines, sizes.

    Args:
        closed: closed contours, each of shape (n,), in true mm.
        strokes: open lines, each of shape (n,).
        gap: the largest gap in mm that is closed, and the largest overshoot that is cut.

    Raises:
        OutlineError: if nothing closes, if there are only specks, or if blocks cross each other.
    """
    shapes, small, lines, largest = _sorted_out(closed, strokes, gap)
    is_small = largest < _LEAST_BLOCK
    if is_small or (lines.has_ink and not _is_plain(lines, small)):
        by_lines = _read_lines(closed, strokes, gap, small, lines)
        if by_lines is not None:
            return by_lines
        if is_small:
            raise _only_specks(len(shapes), largest)
    sheet = _read_contours(shapes, small, lines, gap, len(closed))
    if any(block.made_of == PEN and _is_touched(block.ring) for block in sheet.blocks):
        return _read_lines(closed, strokes, gap, small, lines) or sheet
    return sheet


def _is_touched(ring: Ring) -> bool:
    """Tell whether something else touches a line: more than two legs that run into a point."""
    return any(float(arc_lengths(spike)[-1]) > _LONGEST_SPIKE for spike in ring.spikes)


def _sorted_out(
    closed: Sequence[Points], strokes: Sequence[Points], gap: float
) -> tuple[list[SmallShape], list[SmallShape], _Lines, float]:
    """Return a sheet's shapes, the small ones, the lines that large ones are, the largest's size.

    Raises:
        OutlineError: if there are none but specks.
    """
    shapes = [SmallShape(points, True) for points in closed if _is_shape(points)]
    shapes += [SmallShape(points, False) for points in strokes if len(points) > 1]
    if not shapes:
        raise _nothing_closed(None, gap)
    largest = max(shape.size for shape in shapes)
    if largest < _LEAST_BLOCK and not _has_dashes(shapes):
        raise _only_specks(len(shapes), largest)
    small, large = _by_size(shapes, max(largest, _LEAST_BLOCK), gap)
    return shapes, small, _lines_of(large), largest


def _is_plain(lines: _Lines, small: Sequence[SmallShape]) -> bool:
    """Tell whether a sheet shows closed pen lines and nothing else but signs and letters."""
    if lines.thin or len(lines.rings) % 2:
        return False
    nested, outermost = _nesting(lines.rings)
    if any(len(nested[k].inner) != 1 for k in outermost) or len(outermost) * 2 != len(nested):
        return False
    places = np.array([shape.points[0] for shape in small if shape.closed and shape.size > _HOLE])
    for number in outermost if len(places) else ():
        outer, hole = lines.rings[number], lines.rings[nested[number].inner[0]]
        within = places[inside(outer, places)]
        if len(within) and not inside(hole, within).all():
            return False
    return not _has_dashes(small)


def _has_dashes(shapes: Sequence[SmallShape]) -> bool:
    """Tell whether some of a sheet's shapes are dashes of a line."""
    # Most sheets need none of it.
    from drafting_core.ink.dashes import LEAST, LONGEST, chains

    return bool(chains([s.points for s in shapes if s.closed and LEAST < s.size < LONGEST]))


def _read_lines(
    closed: Sequence[Points],
    strokes: Sequence[Points],
    gap: float,
    small: list[SmallShape],
    lines: _Lines,
) -> TraceSheet | None:
    """Return what all lines of a sheet draw, or None where they close nowhere.

    Raises:
        OutlineError: if lines of several blocks or sizes cannot be told apart.
    """
    # Most sheets need none of it.
    from drafting_core.sheet.drawn_blocks import drawn_blocks

    found = drawn_blocks(closed, strokes, gap, _LEAST_BLOCK)
    if not found:
        return None
    most = max(diagonal(block.ring.points) for block in found)
    kept = [block for block in found if diagonal(block.ring.points) >= _SMALLEST_BLOCK * most]
    blocks = [
        TracedBlock(block.ring, PEN, block.joins, cut_line=block.cut_line, size=block.size)
        for block in kept
    ]
    for block in blocks:
        if block.size == 0 and block.cut_line is None:
            _check_lines_going_on(block, lines.rings)
    blocks.sort(key=lambda block: float(block.ring.points.real.min()))
    specks = sum(shape.size < SMALLEST_SIGN for shape in small)
    return TraceSheet(blocks, small, UnusedShape(specks, len(small) - specks, 0, 0))


def _read_contours(
    shapes: Sequence[SmallShape],
    small: Sequence[SmallShape],
    lines: _Lines,
    gap: float,
    count: int,
) -> TraceSheet:
    """Return what closed contours and strokes draw, each by itself.

    Args:
        shapes: all shapes.
        small: the small ones.
        lines: the lines that the large ones are.
        gap: the largest gap in mm that is closed.
        count: how many closed contours the sheet has, those that go round nothing among them.
    """
    strokes = lines.strokes()
    step = step_for(diagonal(np.concatenate(strokes))) if strokes else 0.0
    joined = join_strokes(strokes, gap, step) if strokes else None
    blocks, used, frames = _closed_blocks(lines.rings)
    blocks += _joined_blocks(joined, [block.ring for block in blocks])
    if not blocks:
        raise _nothing_closed(joined, gap)
    most = max(diagonal(block.ring.points) for block in blocks)
    kept = [b for b in blocks if diagonal(b.ring.points) >= _SMALLEST_BLOCK * most]
    _check_crossings([block.ring for block in kept])
    for block in kept:
        _check_lines_going_on(block, lines.rings)
    kept.sort(key=lambda block: float(block.ring.points.real.min()))
    nothings = count - sum(shape.closed for shape in shapes)
    rings_left = len(lines.rings) - used + lines.doubled
    left_strokes = len(joined.left_out) if joined else 0
    specks = sum(shape.size < SMALLEST_SIGN for shape in small)
    left = UnusedShape(
        specks,
        len(small) - specks,
        rings_left + frames + len(blocks) - len(kept) + nothings,
        # Every stroke with two edges is traced twice.
        max(0, left_strokes - len(lines.thin) // 2),
    )
    return TraceSheet(kept, list(small), left)


def _only_specks(count: int, largest: float) -> NothingClosedError:
    return NothingClosedError(
        _(
            "only specks were found: the largest of {n} shapes is {size} across, and no block "
            "is smaller than {least}."
        ).format(n=count, size=in_words(largest), least=in_words(_LEAST_BLOCK)),
        remedy=_(
            "Select the traced outline of the block. If the drawing's scale is wrong, draw a "
            'line over a length that you know and label it like "known length 100mm".'
        ),
    )


def _by_size(
    shapes: Sequence[SmallShape], largest: float, gap: float
) -> tuple[list[SmallShape], list[SmallShape]]:
    """Return what is a sign, a letter or a speck, and what may be part of a block."""
    small: list[SmallShape] = []
    large: list[SmallShape] = []
    for shape in shapes:
        # An open line may be a short seam, as beside a dart; letters are traced as contours.
        least = SMALL_PART * largest if shape.closed else min(SMALL_PART * largest, 2.0 * gap)
        (small if shape.size < least else large).append(shape)
    return small, large


class _Lines(NamedTuple):
    """The large lines of a sheet.

    Attributes:
        rings: closed contours that go round a shape, largest first.
        open: open lines.
        thin: contours that go round a stroke of the pen.
        doubled: how many rings were pasted twice.
    """

    rings: list[Points]
    open: list[Points]
    thin: list[Points]
    doubled: int

    def strokes(self) -> list[Points]:
        """Return the open lines, and the middles of those that were traced with two edges."""
        return self.open + [line for contour in self.thin for line in centre_strokes(contour)]

    @property
    def has_ink(self) -> bool:
        """Whether some of them are the edges of a pen's line."""
        if self.thin:
            return True
        nested, outermost = _nesting(self.rings)
        return any(_is_pen(self.rings[k], [self.rings[j] for j in nested[k].inner])
                   for k in outermost)  # fmt: skip


def _lines_of(large: Sequence[SmallShape]) -> _Lines:
    """Tell strokes of the pen, each traced all round, from contours that go round a shape."""
    rings = [shape.points for shape in large if shape.closed]
    pens = [_width(points) for points in rings if _is_thin(points)]
    pen = float(np.median(pens)) if pens else 0.0
    thin = [points for points in rings if _is_thin(points, pen)]
    fat = [points for points in rings if not _is_thin(points, pen)]
    fat, doubled = _without_doubles(sorted(fat, key=lambda points: -abs(area_of(points))))
    return _Lines(fat, [shape.points for shape in large if not shape.closed], thin, doubled)


def _is_shape(contour: Points) -> bool:
    """Tell whether a closed line goes round anything: not there and back, nor like an 8."""
    return len(contour) > 2 and _width(contour) > _NOTHING * diagonal(contour)


def _width(contour: Points) -> float:
    return mean_width(abs(area_of(contour)), length_round(contour))


def _is_thin(contour: Points, pen: float = 0.0) -> bool:
    """Tell whether a contour goes round a stroke of a pen and not round a shape.

    Args:
        contour: shape (n,).
        pen: the width of the sheet's long strokes in mm, by which its short ones are told.
    """
    return _width(contour) < max(WIDEST_PEN * diagonal(contour), 2.0 * pen)


def _without_doubles(contours: Sequence[Points]) -> tuple[list[Points], int]:
    """Return contours without those that were pasted twice in place, and how many those were."""
    kept: list[Points] = []
    doubled = 0
    for contour in contours:
        size = diagonal(contour)
        some = contour[:: max(1, len(contour) // 64)]
        if any(
            abs(diagonal(other) - size) <= _IN_PLACE
            and float(np.median(distances_between(some, other))) <= _IN_PLACE
            for other in kept
        ):
            doubled += 1
        else:
            kept.append(contour)
    return kept, doubled


def distances_between(places: Points, ring: Points) -> Numbers:
    """Return the distance in mm of a few places to a closed polyline."""
    following = np.roll(ring, -1)
    along = following - ring
    size = np.maximum(np.abs(along) ** 2, 1e-18)
    away = places[:, None] - ring[None, :]
    t = np.clip((away * np.conj(along)[None, :]).real / size[None, :], 0.0, 1.0)
    return np.asarray(np.abs(away - t * along[None, :]).min(axis=1))


class _Nested(NamedTuple):
    """A closed contour and those directly inside it, by their numbers."""

    points: Points
    inner: list[int]


def _nesting(fat: Sequence[Points]) -> tuple[list[_Nested], list[int]]:
    """Return the tree of closed contours, largest first, and the numbers of the outermost."""
    nested = [_Nested(points, []) for points in fat]
    outermost = []
    for k, points in enumerate(fat):
        # The smallest of the larger ones that it lies in.
        parent = next((j for j in range(k - 1, -1, -1) if is_inside(fat[j], points)), None)
        if parent is None:
            outermost.append(k)
        else:
            nested[parent].inner.append(k)
    return nested, outermost


def _closed_blocks(fat: Sequence[Points]) -> tuple[list[TracedBlock], int, int]:
    """Return the blocks that contours draw, how many contours these are, and the frames' number."""
    if not fat:
        return [], 0, 0
    nested, outermost = _nesting(fat)
    largest = max(map(diagonal, fat))
    blocks: list[TracedBlock] = []
    used = frames = 0
    left = list(outermost)
    while left:
        number = left.pop(0)
        points, inner = nested[number]
        if diagonal(points) < _SMALLEST_BLOCK * largest:
            continue
        holes = [fat[k] for k in inner]
        is_pen = _is_pen(points, holes)
        below = [j for k in inner for j in nested[k].inner] if is_pen else inner
        large = [k for k in below if diagonal(fat[k]) >= _IN_FRAME * diagonal(points)]
        if large and _is_frame(points):
            left += below
            frames += 1
            used += 1 + len(holes) if is_pen else 1
            largest = max((diagonal(fat[k]) for k in left), default=largest)
            continue
        if is_pen:
            ring = with_open_mouths(centre_ring(points, holes), holes)
            blocks.append(TracedBlock(ring, PEN))
            used += 1 + len(holes)
        else:
            even = resampled(points, step_for(diagonal(points)), closed=True)
            ring = Ring(even, np.ones(len(even), dtype=np.bool_), 0.0)
            blocks.append(TracedBlock(ring, EDGE))
            used += 1
    return blocks, used, frames


def _is_pen(contour: Points, holes: Sequence[Points]) -> bool:
    """Tell whether a contour and those directly in it are the edges of a pen's line."""
    border = length_round(contour) + sum(map(length_round, holes))
    ink = abs(area_of(contour)) - sum(abs(area_of(hole)) for hole in holes)
    return bool(holes) and mean_width(ink, border) < WIDEST_PEN * diagonal(contour)


def _is_frame(contour: Points) -> bool:
    """Tell whether a contour has four corners and straight sides, as the edge of a sheet."""
    size = diagonal(contour)
    step = step_for(size)
    even = resampled(contour, step, closed=True)
    corners = find_corners(even, step, size)
    if len(corners) != 4:
        return False
    for first, last in zip(corners, [*corners[1:], corners[0] + len(even)], strict=True):
        side = even[np.arange(first, last + 1) % len(even)]
        along = side[-1] - side[0]
        away = np.abs(((side - side[0]) * np.conj(along / abs(along))).imag)
        if away.max() > _STRAIGHT_FRAME * size:
            return False
    return True


def _joined_blocks(joined: Joined | None, rings: Sequence[Ring]) -> list[TracedBlock]:
    """Return the blocks that joined strokes draw, those inside others left out."""
    if joined is None:
        return []
    order = sorted(range(len(joined.rings)), key=lambda k: -abs(area_of(joined.rings[k].points)))
    outer = [ring.points for ring in rings]
    blocks = []
    for k in order:
        ring = joined.rings[k]
        if diagonal(ring.points) < _LEAST_BLOCK or _is_thin(ring.points):
            continue
        if any(is_inside(other, ring.points) for other in outer):
            continue
        outer.append(ring.points)
        blocks.append(TracedBlock(ring, LONE_STROKES, tuple(joined.joins[k]), joined.doubled))
    return blocks


def _nothing_closed(joined: Joined | None, gap: float) -> NothingClosedError:
    """Return the error for a sheet without a closed line: where its ends come nearest."""
    if joined is None or joined.open_ends is None:
        return NothingClosedError(
            _("no closed line was found: nothing goes all round a block."),
            remedy=_("Select the trace of a whole outline, all of its parts."),
        )
    one, other = joined.open_ends
    size = abs(one - other)
    place = (one + other) / 2
    wider = shortest_told(size * 1.05)
    if size <= gap or wider > LARGEST_GAP:
        remedy = _("Draw what is missing between them, or delete the lines that are no outline.")
    else:
        remedy = _("Draw what is missing there, or allow a wider gap: {option}.").format(
            option=f"--gap {as_option(wider)}"  # not read by drafters
        )
    return NothingClosedError(
        _(
            "no closed line was found: two ends stay {size} apart, and gaps up to {gap} are closed."
        ).format(size=in_words(size), gap=in_words(gap)),
        remedy=remedy,
        place=place,
    )


def _check_crossings(rings: Sequence[Ring]) -> None:
    """Refuse blocks whose lines cross each other."""
    coarse = [ring.points[:: max(1, len(ring.points) // 800)] for ring in rings]
    closed = [np.concatenate([points, points[:1]]) for points in coarse]
    for k, one in enumerate(closed):
        for other in closed[:k]:
            if not _boxes_meet(one, other):
                continue
            crossings = polyline_crossings(one, other)
            if crossings:
                raise crossing_blocks(crossings[0][2])


def _boxes_meet(one: Points, other: Points) -> bool:
    return bool(
        one.real.min() <= other.real.max()
        and other.real.min() <= one.real.max()
        and one.imag.min() <= other.imag.max()
        and other.imag.min() <= one.imag.max()
    )


def _check_lines_going_on(block: TracedBlock, contours: Sequence[Points]) -> None:
    """Refuse a pen line that goes round two blocks.

    Where two drawn blocks touch or lie over each other, a tracer gives one outline round both. At
    their crossings it turns inward, by less than at the point of a dart, and the line of each
    block goes on inside the other; each has a large hole of its own.
    """
    if block.made_of != PEN or len(contours) < 3:
        return
    whole = abs(area_of(block.ring.points))
    faces = sum(
        _PART_OF_TWO * whole <= abs(area_of(c)) < (1 - _PART_OF_TWO / 2) * whole for c in contours
    )
    ring = block.ring.points
    step = float(abs(ring[1] - ring[0]))
    way_round = 1.0 if area_of(ring) > 0 else -1.0
    size = diagonal(ring)
    bends = turns(ring, step, 10.0, 1.0)
    dense = [resampled(contour, 1.0, closed=True) for contour in contours]
    corners = find_corners(ring, step, size)
    notches = [
        corner
        for number, corner in enumerate(corners)
        if bends[corner] * way_round < 0.0 and not _is_dart_point(ring, corners, number)
    ]
    if faces >= 2 and len(notches) >= 2:
        raise crossing_blocks(complex(ring[notches[0]]))
    for corner in corners:
        if bends[corner] * way_round >= 0 or abs(bends[corner]) > math.radians(150):
            continue
        reach = round(10.0 / step)
        into = ring[corner] - ring[corner - reach]
        back = ring[corner] - ring[(corner + reach) % len(ring)]
        if all(_is_ink(ring[corner] + way / abs(way) * far, dense, block.ring.pen)
               for way in (into, back) for far in _GOES_ON):  # fmt: skip
            raise crossing_blocks(complex(ring[corner]))


def _is_dart_point(ring: Points, corners: Sequence[int], number: int) -> bool:
    """Tell whether an inward corner of a ring has two sides like the legs of a dart."""
    count = len(ring)
    corner = corners[number]
    before, after = corners[number - 1], corners[(number + 1) % len(corners)]
    sides = [
        ring[(before + np.arange((corner - before) % count + 1)) % count],
        ring[(corner + np.arange((after - corner) % count + 1)) % count],
    ]
    lengths = sorted(abs(side[-1] - side[0]) for side in sides)
    between = np.angle((sides[1][-1] - sides[1][0]) / (sides[0][0] - sides[0][-1]))
    return (
        abs(between) >= _NARROWEST_DART
        and lengths[0] >= _SIDES_ALIKE * lengths[1]
        and all(
            float(np.abs(((side - side[0]) * np.conj(side[-1] - side[0])).imag).max())
            <= _STRAIGHT_SIDE * abs(side[-1] - side[0]) ** 2
            for side in sides
        )
    )


def _is_ink(place: complex, contours: Sequence[Points], pen: float) -> bool:
    """Tell whether a drawn line runs within a pen's width of a place: two edges lie near it."""
    near = [float(np.abs(contour - place).min()) for contour in contours]
    return sum(distance <= 2.5 * pen + 0.5 for distance in near) >= 2
