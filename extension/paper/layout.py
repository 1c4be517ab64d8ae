"""Pieces laid on a sheet, and the sheet on pages: of many ways the one with the fewest pages.

A result is printed as it is drawn, hand work included; it is drafted once more only for what the
lines do not say: grain, folds, seams, and whether the drawn cut line still follows its stitch line.
Every line is written whole on every page that shows some of it, and clipped there, so that dashes
run on across the joint. A page is kept if a line, clipped exactly, touches its cell. The last row
and column reach to the end, so that nothing is put on a further page that the last one shows. Of
all ways (upright or sideways, columns, order, keeping clear of the grid, the first page's block on
the sheet or apart) the one with the fewest pages is taken, compared by points 12 mm apart.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drafting_core.model.outline import encloses, flattened
from drafting_core.pages.grid_packing import PieceShape, packed_on_grid
from drafting_core.pages.shelf_packing import ROUNDING, Grid, ShelfSpot, on_shelves
from drafting_core.pages.tiling import Place, Tiling
from drafting_core.plane.curves import Box
from drafting_core.text.errors import SettingError
from drafting_core.text.lengths import shortest_told, told_apart
from drafting_core.text.paper_sizes import Paper
from drafting_core.text.words import _
from extension.paper.free_room import SQUARES_PART, PartSize, PlacedPart, placed_parts
from extension.paper.paper_piece import PaperPiece

#: Between two pieces (mm).
GAP = 10.0
#: Between the edge of what a page shows and the lines (mm): as little as the lines' width needs,
#: and as much as keeps a straight edge clear of the frame, where that costs no page.
PAD, WIDE_PAD = 2.5, 6.0
#: So many more columns of pages than the widest piece needs are tried.
_MOST_COLUMNS = 16
#: How much of the room to spare pieces are shifted by, where that may save a page.
_SHIFTS = (0.0, 0.25, 0.5, 0.75, 1.0)
#: While ways are compared lines are looked at by points so far apart: parts of a page's step.
_COARSE = 1 / 18
#: So many of the best ways are tried exactly, and in their room the first page's parts.
_LEAST_TRIED, _MOST_TRIED = 1, 8
#: So many pieces at most are laid among one another, in so many widths of the sheet.
_MOST_AMONG, _COLUMNS_AMONG = 24, 3


class PaperLayout(NamedTuple):
    """Pieces on pages.

    Attributes:
        tiling: how the sheet is divided into pages.
        pieces: the pieces, where they lie on the sheet.
        pages: the pages on which something is printed: the one with the test squares, which are
            measured before all is printed, then row by row.
        left_out: how many pages of the sheet are empty.
        inside: how many of these lie wholly inside a piece.
        block: where on the sheet the block with map and test squares lies, or None where it has
            a page of its own.
        divided: whether pieces run on from page to page.
        joined: whether some piece lies on several pages, so that pages are glued together.
        parts: where map, test squares and key lie in free room of pages, each by itself.
    """

    tiling: Tiling
    pieces: tuple[PaperPiece, ...]
    pages: tuple[Place, ...]
    left_out: int
    inside: int
    block: Box | None
    divided: bool = True
    joined: bool = False
    parts: tuple[PlacedPart, ...] = ()

    @property
    def page_count(self) -> int:
        """How many pages there are."""
        return len(self.pages) + self.has_first_page

    @property
    def has_first_page(self) -> bool:
        """Whether the block with map and test squares has a page of its own."""
        return self.divided and self.block is None and not self.parts


class _Way(NamedTuple):
    """A way to lay the pieces that is being tried; which of them are turned by 180°, if any."""

    tiling: Tiling
    spots: tuple[complex, ...]
    first_page: complex | None
    pages: int
    divided: int
    girth: float
    turned: tuple[bool, ...] = ()

    @property
    def least_cost(self) -> tuple[int, int, float]:
        """What is wanted little: pages, then pieces that are divided, then a long way round.

        As it is where what the first page says finds room on the others.
        """
        return self.pages - (self.first_page is None), self.divided, self.girth


def lay_out(
    pieces: Sequence[PaperPiece],
    paper: Paper,
    margin: float,
    overlap: float,
    block: tuple[float, float],
    part_size: PartSize,
    *,
    inside: bool = False,
    each_apart: bool = False,
    quick: bool = False,
) -> PaperLayout:
    """Lay pieces on pages, upright or sideways, whichever takes fewer.

    Args:
        pieces: the pieces, their grain upright.
        paper: the paper.
        margin: what of every page stays free.
        overlap: the strip that neighbouring pages share.
        block: width and height of the block with map and test squares.
        part_size: returns the size of one part of it, set by itself in a width.
        inside: whether empty pages are kept that lie wholly inside a piece.
        each_apart: whether every piece has pages of its own.
        quick: whether a way that is not much worse than the best one is good enough.

    Raises:
        SettingError: if the paper has no room.
    """
    if paper.is_roll:
        return _on_a_roll(pieces, paper, margin, block)
    tilings = [
        Tiling(width, height, margin, overlap)
        for width, height in dict.fromkeys(
            [(paper.width, paper.height), (paper.height, paper.width)]
        )
    ]
    tilings[0].check()
    spacing = min(GAP, _COARSE * min(tilings[0].step.real, tilings[0].step.imag))
    coarse = [_coarse(piece, spacing) for piece in pieces]
    ways = [
        way
        for pad in (WIDE_PAD, PAD)
        for tiling in tilings
        for way in (
            [_each_apart(pieces, coarse, tiling, pad)]
            if each_apart
            else _ways(pieces, coarse, tiling, block, pad)
        )
    ]
    if not each_apart:
        ways += [] if quick else _among_one_another(pieces, coarse, tilings)
        # The one with the fewest pages, shifted, may have fewer still.
        ways += _shifted(min(ways, key=lambda way: way.least_cost), pieces, coarse)
    best, placed, pages, parts = _cheapest(ways, pieces, part_size)
    tiling = best.tiling
    rows = 1 + max(place.row for place in pages)
    columns = 1 + max(place.column for place in pages)
    empty = {Place(*cell) for cell in itertools.product(range(rows), range(columns))} - pages
    within = {place for place in empty if _is_inside(tiling, place, placed)}
    if inside:
        pages |= within
    at = best.first_page
    squares = next((part.page for part in parts or () if part.kind == SQUARES_PART), None)
    return PaperLayout(
        tiling,
        placed,
        tuple(sorted(pages, key=lambda place: (place != squares, place))),
        rows * columns - len(pages),
        0 if inside else len(within),
        None if at is None else _box(at, block),
        joined=best.divided > 0,
        parts=parts or (),
    )


def _cheapest(
    ways: Sequence[_Way], pieces: Sequence[PaperPiece], part_size: PartSize
) -> tuple[_Way, tuple[PaperPiece, ...], set[Place], tuple[PlacedPart, ...] | None]:
    """Return the way that takes the fewest pages, its pieces and pages, and the parts in its room.

    What the first page says needs none of its own where its parts find free room on the others.
    """
    best: tuple[_Way, tuple[PaperPiece, ...], set[Place], tuple[PlacedPart, ...] | None]
    cost: tuple[int, int, float] | None = None
    for tried, way in enumerate(sorted(ways, key=lambda way: way.least_cost)):
        if cost is not None and (
            tried >= _MOST_TRIED or (tried >= _LEAST_TRIED and cost <= way.least_cost)
        ):
            break
        placed = _placed(_turned(pieces, way), way.spots)
        pages = way.tiling.pages_of(points for piece in placed for points in piece.fixed)
        if way.first_page is None:
            way, placed, pages = _from_first_row(way, placed, pages)
        parts = None
        if way.first_page is None:
            parts = placed_parts(way.tiling, sorted(pages), placed, part_size)
        else:
            pages.add(Place(0, 0))
        own_page = way.first_page is None and parts is None
        its_cost = (len(pages) + own_page, way.divided, way.girth)
        if cost is None or its_cost < cost:
            cost, best = its_cost, (way, placed, pages, parts)
    return best


def _from_first_row(
    way: _Way, placed: tuple[PaperPiece, ...], pages: set[Place]
) -> tuple[_Way, tuple[PaperPiece, ...], set[Place]]:
    """Return a way without rows and columns at the beginning that need no page."""
    row, column = min(place.row for place in pages), min(place.column for place in pages)
    if not row and not column:
        return way, placed, pages
    step = way.tiling.step
    by = complex(column * step.real, row * step.imag)
    tiling = way.tiling._replace(rows=way.tiling.rows - row, columns=way.tiling.columns - column)
    return (
        way._replace(tiling=tiling, spots=tuple(z - by for z in way.spots)),
        tuple(piece.moved(lambda z: z - by) for piece in placed),
        {Place(place.row - row, place.column - column) for place in pages},
    )


def _each_apart(
    pieces: Sequence[PaperPiece],
    coarse: Sequence[Sequence[complex]],
    tiling: Tiling,
    pad: float,
) -> _Way:
    """Return the way in which every piece begins at a page of its own, a row of pages between."""
    corner = complex(pad, pad)
    spots, row, columns = [], 0, 1
    for piece in pieces:
        own = tiling.holding(piece.size[0] + 2 * pad, piece.size[1] + 2 * pad)
        spots.append(corner + 1j * row * tiling.step.imag)
        row += own.rows + 1
        columns = max(columns, own.columns)
    sheet = tiling._replace(rows=row - 1, columns=columns)
    return _counted(pieces, coarse, sheet, tuple(spots), None)


def _box(corner: complex, size: tuple[float, float]) -> Box:
    return Box(corner.real, corner.imag, corner.real + size[0], corner.imag + size[1])


def undivided(pieces: Sequence[PaperPiece], paper: Paper, margin: float) -> PaperLayout:
    """Lay pieces on pages so that none runs on to the next, as a cutting machine needs.

    Where a piece is larger than the paper, all lie on one page as large as they need.
    """
    if paper.is_roll:
        return _on_a_roll(pieces, paper, margin, None)
    order = _by_height(pieces)
    sizes = [pieces[k].size for k in order]
    best: tuple[int, Tiling, list[ShelfSpot]] | None = None
    for width, height in ((paper.width, paper.height), (paper.height, paper.width)):
        tiling = Tiling(width, height, margin, 0.0)
        room = (tiling.shown_width - 2 * PAD, tiling.shown_height - 2 * PAD)
        found = on_shelves(sizes, room[0], gap=GAP, height=room[1]) if min(room) > 0 else None
        if found is not None and (best is None or found[-1].sheet + 1 < best[0]):
            best = (max(spot.sheet for spot in found) + 1, tiling, found)
    if best is None:
        return _one_page(pieces, paper, margin)
    count, tiling, found = best
    spots = dict(zip(order, found, strict=True))
    placed = _placed(
        pieces,
        [
            spots[k].at + complex(PAD, PAD + spots[k].sheet * tiling.step.imag)
            for k in range(len(pieces))
        ],
    )
    return PaperLayout(tiling, placed, tuple(Place(k, 0) for k in range(count)), 0, 0, None, False)


def _one_page(pieces: Sequence[PaperPiece], paper: Paper, margin: float) -> PaperLayout:
    sizes = [piece.size for piece in pieces]
    area = sum((w + GAP) * (h + GAP) for w, h in sizes)
    width = max(*(w for w, _ in sizes), math.sqrt(area), paper.width - 2 * (margin + PAD))
    order = _by_height(pieces)
    found = on_shelves([sizes[k] for k in order], width, gap=GAP)
    if found is None:
        raise ValueError("a sheet as wide as its widest piece always takes them")
    spots = dict(zip(order, found, strict=True))
    placed = _placed(pieces, [spots[k].at + complex(PAD, PAD) for k in range(len(pieces))])
    right = max(piece.box.right for piece in placed) + PAD
    bottom = max(piece.box.bottom for piece in placed) + PAD
    tiling = Tiling(right + 2 * margin, bottom + 2 * margin, margin, 0.0)
    return PaperLayout(tiling, placed, (Place(0, 0),), 0, 0, None, False)


def _on_a_roll(
    pieces: Sequence[PaperPiece],
    paper: Paper,
    margin: float,
    block: tuple[float, float] | None,
) -> PaperLayout:
    """Lay pieces on a roll, their grain along it or across it, whichever takes less of it."""
    width = paper.width - 2 * (margin + PAD)
    best: tuple[float, PaperLayout] | None = None
    for turned, is_last in itertools.product((False, True), repeat=2):
        ones = [piece.moved(lambda z: z * 1j) for piece in pieces] if turned else list(pieces)
        order = _by_height(ones)
        sizes = [ones[k].size for k in order]
        if block:
            sizes.insert(len(sizes) if is_last else 0, block)
        found = on_shelves(sizes, width, gap=GAP)
        if found is None:
            continue
        at = [spot.at + complex(PAD, PAD) for spot in found]
        on_sheet = _box(at.pop(-1 if is_last else 0), block) if block else None
        spots = dict(zip(order, at, strict=True))
        placed = _placed(ones, [spots[k] for k in range(len(ones))])
        boxes = [*(piece.box for piece in placed), *([on_sheet] if on_sheet else [])]
        length = max(box.bottom for box in boxes) + PAD + 2 * margin
        if best is None or length < best[0] - 1e-6:
            tiling = Tiling(paper.width, length, margin, 0.0)
            best = (length, PaperLayout(tiling, placed, (Place(0, 0),), 0, 0, on_sheet, False))
    if best is None:
        raise ValueError("whoever lays pieces on a roll checks first that it is wide enough")
    return best[1]


def check_roll(pieces: Sequence[PaperPiece], paper: Paper, margin: float) -> None:
    """Refuse a roll on which a piece does not fit, neither along it nor across.

    Raises:
        SettingError: naming the piece and the width that it needs.
    """
    spare = 2 * (margin + PAD)
    upright = max(pieces, key=lambda piece: piece.size[0])
    across = max(pieces, key=lambda piece: piece.size[1])
    worst = upright if upright.size[0] <= across.size[1] else across
    needed = min(upright.size[0], across.size[1]) + spare
    if needed <= paper.width + ROUNDING:
        return
    width, wanted = told_apart(paper.width, shortest_told(needed))
    raise SettingError(
        _(
            '{width} is too narrow for the piece "{name}", which with its margins needs {needed}.'
        ).format(width=width, name=worst.name, needed=wanted),
        thing=_("The roll"),
        remedy=_("Take a wider one, or a smaller margin."),
    )


def _ways(
    pieces: Sequence[PaperPiece],
    coarse: Sequence[Sequence[complex]],
    tiling: Tiling,
    block: tuple[float, float],
    pad: float,
) -> Iterator[_Way]:
    """Yield ways to lay pieces on a sheet: by columns of pages, order and grid."""
    sizes = [piece.size for piece in pieces]
    corner = complex(pad, pad)
    widest = max(width for width, _ in sizes) + 2 * pad
    grid = Grid(tiling.step, complex(tiling.shown_width, tiling.shown_height) - 2 * corner)
    row = sum(width + GAP for width, _ in sizes) + block[0] + 2 * pad
    least = max(1, math.ceil((widest - tiling.span(1)) / tiling.step.real - 1e-9) + 1)
    most = max(least, min(least + _MOST_COLUMNS, math.ceil(row / tiling.step.real)))
    orders = dict.fromkeys(
        (_by_height(pieces), _by_height(pieces, width=True), tuple(range(len(pieces))))
    )
    has_room = (
        block[0] <= tiling.shown_width - 2 * pad and block[1] <= tiling.shown_height - 2 * pad
    )
    for columns, order, lines, with_block in itertools.product(
        range(least, most + 1), orders, (None, grid), (False, True) if has_room else (False,)
    ):
        laid = [*([block] if with_block else []), *(sizes[k] for k in order)]
        found = on_shelves(laid, tiling.span(columns) - 2 * pad, gap=GAP, grid=lines)
        if found is None:
            continue
        at = [spot.at + corner for spot in found]
        first = at.pop(0) if with_block else None
        spots = [0j] * len(pieces)
        for k, z in zip(order, at, strict=True):
            spots[k] = z
        ends = [z + complex(*size) for z, size in zip(spots, sizes, strict=True)]
        ends += [first + complex(*block)] if first is not None else []
        sheet = tiling.holding(max(z.real for z in ends) + pad, max(z.imag for z in ends) + pad)
        yield _counted(pieces, coarse, sheet, tuple(spots), first)


def _among_one_another(
    pieces: Sequence[PaperPiece],
    coarse: Sequence[Sequence[complex]],
    tilings: Sequence[Tiling],
) -> Iterator[_Way]:
    """Yield ways in which pieces lie in one another's bays, where they are not too many."""
    if not 1 < len(pieces) <= _MOST_AMONG:
        return
    shapes = [_shape(piece, points) for piece, points in zip(pieces, coarse, strict=True)]
    widest = max(width for width, _ in (piece.size for piece in pieces)) + 2 * PAD
    for tiling in tilings:
        least = max(1, math.ceil((widest - tiling.span(1)) / tiling.step.real - 1e-9) + 1)
        columns = range(least, least + _COLUMNS_AMONG)
        for found in packed_on_grid(shapes, tiling, columns, PAD, GAP):
            ends = [
                spot.at + complex(*piece.size) for spot, piece in zip(found, pieces, strict=True)
            ]
            sheet = tiling.holding(max(z.real for z in ends) + PAD, max(z.imag for z in ends) + PAD)
            turned = tuple(spot.turned for spot in found)
            points = [
                shape.turned.points if is_turned else shape.points
                for shape, is_turned in zip(shapes, turned, strict=True)
            ]
            spots = tuple(spot.at for spot in found)
            yield _counted(pieces, points, sheet, spots, None)._replace(turned=turned)


def _shape(piece: PaperPiece, points: Sequence[complex]) -> PieceShape:
    corner = complex(piece.box.left, piece.box.top)
    outlines = [[z - corner for z in flattened(chain, 8)] for chain in piece.outline]
    return PieceShape(piece.size, points, outlines)


def _turned(pieces: Sequence[PaperPiece], way: _Way) -> list[PaperPiece]:
    """Return the pieces as a way lays them, those that it turns turned by 180°."""
    if not way.turned:
        return list(pieces)
    return [
        piece.moved(lambda z: -z) if is_turned else piece
        for piece, is_turned in zip(pieces, way.turned, strict=True)
    ]


def _shifted(
    way: _Way, pieces: Sequence[PaperPiece], coarse: Sequence[Sequence[complex]]
) -> Iterator[_Way]:
    """Yield a way with all pieces further right and down in the room to spare."""
    if way.first_page is not None or way.turned:
        return
    ends = [z + complex(*piece.size) for z, piece in zip(way.spots, pieces, strict=True)]
    tiling = way.tiling
    last = tiling.shown(Place(tiling.rows - 1, tiling.columns - 1))
    spare = complex(
        last.right - PAD - max(z.real for z in ends), last.bottom - PAD - max(z.imag for z in ends)
    )
    for across, down in itertools.product(_SHIFTS, repeat=2):
        by = complex(across * max(0.0, spare.real), down * max(0.0, spare.imag))
        yield _counted(pieces, coarse, tiling, tuple(z + by for z in way.spots), None)


def _counted(
    pieces: Sequence[PaperPiece],
    coarse: Sequence[Sequence[complex]],
    tiling: Tiling,
    spots: tuple[complex, ...],
    first: complex | None,
) -> _Way:
    half = tiling.overlap / 2
    across, down = tiling.step.real, tiling.step.imag
    cells = set()
    for points, at in zip(coarse, spots, strict=True):
        x, y = at.real - half, at.imag - half
        cells |= {(int((z.imag + y) // down), int((z.real + x) // across)) for z in points}
    # What lies in half a strip at the sheet's edge belongs to its first or last row and column.
    cells = {
        (min(tiling.rows - 1, max(0, row)), min(tiling.columns - 1, max(0, column)))
        for row, column in cells
    }
    pages = len(cells | {(0, 0)}) if first is not None else len(cells) + 1
    divided = sum(
        not _on_one_page(tiling, at, piece.size) for piece, at in zip(pieces, spots, strict=True)
    )
    girth = tiling.rows * tiling.height + tiling.columns * tiling.width
    return _Way(tiling, spots, first, pages, divided, girth)


def _on_one_page(tiling: Tiling, at: complex, size: tuple[float, float]) -> bool:
    """Tell whether a rectangle lies wholly in what one page shows."""
    for start, side, step, shown in (
        (at.real, size[0], tiling.step.real, tiling.shown_width),
        (at.imag, size[1], tiling.step.imag, tiling.shown_height),
    ):
        if start + side > math.floor(start / step) * step + shown + ROUNDING:
            return False
    return True


def _is_inside(tiling: Tiling, place: Place, pieces: Sequence[PaperPiece]) -> bool:
    """Tell whether a page on which nothing is drawn lies inside a piece."""
    middle = tiling.corner(place) + complex(tiling.shown_width, tiling.shown_height) / 2
    return any(encloses(flattened(chain, 8), middle) for piece in pieces for chain in piece.outline)


def _by_height(pieces: Sequence[PaperPiece], *, width: bool = False) -> tuple[int, ...]:
    side = 0 if width else 1
    return tuple(sorted(range(len(pieces)), key=lambda k: -pieces[k].size[side]))


def _placed(pieces: Sequence[PaperPiece], spots: Sequence[complex]) -> tuple[PaperPiece, ...]:
    placed = []
    for piece, at in zip(pieces, spots, strict=True):
        shift = at - complex(piece.box.left, piece.box.top)
        placed.append(piece.moved(lambda z, by=shift: z + by))  # type: ignore[misc]
    return tuple(placed)


def _coarse(piece: PaperPiece, spacing: float) -> list[complex]:
    """Return points along everything that a piece shows, from its own corner."""
    corner = complex(piece.box.left, piece.box.top)
    points: list[complex] = []
    for polyline in piece.fixed:
        last: complex | None = None
        for start, end in itertools.pairwise(polyline):
            if last is None or abs(start - last) > spacing:
                points.append(start - corner)
                last = start
            count = int(abs(end - start) // spacing)
            points += [
                start + (end - start) * k / (count + 1) - corner for k in range(1, count + 1)
            ]
        points.append(polyline[-1] - corner)
    return points
