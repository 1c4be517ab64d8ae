"""The block on the first page: what is printed, test squares, the map, how to join, the lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.pages.tiling import Place
from drafting_core.plane.curves import Segment, box_about
from drafting_core.text.lengths import INCH
from drafting_core.text.words import N_, _
from extension.look.set_text import DROP, LEADING, RISE, SetText, text_width, wrapped
from extension.look.strokes import Stroke
from extension.pages.page_surface import PageSurface
from extension.paper.free_room import MAP_PART, SQUARES_PART
from extension.paper.layout import PaperLayout
from extension.paper.paper_piece import PaperLine, PaperPiece
from extension.paper.paper_strokes import JOIN, MAP_PAGE, MAP_PIECE, PAPER_STROKES, SQUARE
from extension.paper.printed_parts import CUT_LINE, STITCH_LINE

#: Sides of the test squares (mm).
SQUARES = (50.0, 2 * INCH)
#: The block's usual width where the page is wider (mm).
WIDEST = 190.0
TITLE = 5.5
LETTERS = 3.3
_GAP = 4.0
#: A map narrower than this stands below the squares (mm).
NARROWEST_MAP = 55.0
LOWEST_MAP = 50.8
#: A sample in the key shows two periods of the longest dash and more (mm).
_SAMPLE = 36.0
#: Samples of what is no long line are short.
_SHORT_SAMPLE = 12.0
_SHORT = frozenset({"fold-head", "grainline", "notch", "apex", "dart-point", "drill-hole", "join"})
#: Kinds of signs whose samples are as they lie on the pieces.
_SIGNS = frozenset({"apex", "dart-point", "drill-hole"})
#: Letters on the map: those of a page's number, and the smallest.
_MAP_LETTERS = 3.0
_LEAST_LETTERS = 1.2

#: What the kinds of lines are called in the key, in its order.
KEY = {
    "cut-line": N_("cut line"),
    "fold-edge": N_("fold of the cloth: not cut"),
    "centre-line": N_("centre line: not cut"),
    "stitch-line": N_("stitch line"),
    "dart-fold": N_("fold of a dart"),
    "trim-window": N_("trimmed away"),
    "inner-line": N_("inner line"),
    "gathers": N_("gathers, ease or flare"),
    "fold-head": N_("excess folded this way"),
    "grainline": N_("grain"),
    "notch": N_("notch"),
    "apex": N_("apex: the pivot of a dart"),
    "dart-point": N_("point of a dart"),
    "drill-hole": N_("drill hole"),
    "join": N_("pages meet: the same letters upon each other"),
}
#: The same of the sizes of a nest, which have dashes of their own.
_THICK = N_("thick: cut line of a size")
_THIN = N_("thin: stitch line of a size")


class KeyEntry(NamedTuple):
    """An entry of the key: a kind of line, its stroke, what it means.

    Attributes:
        kind: the kind of line.
        stroke: how it is drawn.
        words: what it means, in the drafter's language.
        sign: of a sign the chains that it is drawn with, about the origin.
    """

    kind: str
    stroke: Stroke
    words: str
    sign: tuple[tuple[Segment, ...], ...] = ()


class FirstPage(NamedTuple):
    """What the block says.

    Attributes:
        title: what is printed.
        under: on how many pages.
        sentences: how to join them, and cautions.
        remarks: what the drafter should know before she cuts.
        key: the kinds of lines, each with its stroke and what it means.
        pieces: a sentence for every piece.
    """

    title: str
    under: str
    sentences: tuple[str, ...]
    remarks: tuple[str, ...]
    key: tuple[KeyEntry, ...]
    pieces: tuple[str, ...] = ()


class _Set(NamedTuple):
    """What is set in a width, from its upper left corner: texts, squares, samples; its height."""

    height: float
    texts: tuple[SetText, ...] = ()
    squares: tuple[complex, ...] = ()
    samples: tuple[tuple[complex, KeyEntry], ...] = ()

    def moved(self, by: complex) -> _Set:
        """Return it elsewhere."""
        return _Set(
            self.height,
            tuple(text.moved(by) for text in self.texts),
            tuple(corner + by for corner in self.squares),
            tuple((at + by, entry) for at, entry in self.samples),
        )


class _Rows:
    """Texts set one below the other."""

    def __init__(self, width: float) -> None:
        self.width = width
        self.below = 0.0
        self.texts: list[SetText] = []

    def add(self, text: str, size: float, *, bold: bool = False, after: float) -> None:
        lines = wrapped(text, self.width, size, bold=bold)
        self.texts.append(SetText(1j * (self.below + RISE * size), tuple(lines), size, bold))
        self.below += (RISE + DROP + LEADING * (len(lines) - 1)) * size + after


def least_width() -> float:
    """Return the width that the block needs for its squares (mm)."""
    return SQUARES[1] + 1.0


def block_size(page: FirstPage, width: float) -> tuple[float, float]:
    """Return the block's width and height in mm.

    Args:
        page: what it says.
        width: the width that there is.
    """
    used = min(width, WIDEST)
    return used, _laid_out(page, used, 0.0)[0].height


def part_size(page: FirstPage, kind: str, width: float) -> tuple[float, float]:
    """Return the width and height in mm of one part of the block, set by itself.

    Args:
        page: what it says.
        kind: which part.
        width: the width that it has: of the squares' part what they take, one below the other
            where they must.
    """
    if kind == MAP_PART:
        return width, width
    return width, (_head(page, width) if kind == SQUARES_PART else _how(page, width)).height


def draw_part(
    surface: PageSurface, page: FirstPage, layout: PaperLayout, kind: str, width: float
) -> None:
    """Draw one part of the block, its upper left corner at the surface's own.

    Args:
        surface: where it is drawn.
        page: what it says.
        layout: what the map shows.
        kind: which part.
        width: its width in mm.
    """
    if kind == MAP_PART:
        _draw_map(surface, layout, 0j, complex(width, width))
    else:
        _draw_set(surface, _head(page, width) if kind == SQUARES_PART else _how(page, width))


def draw_block(
    surface: PageSurface, page: FirstPage, layout: PaperLayout, width: float, height: float = 0.0
) -> None:
    """Draw the block, its upper left corner at the surface's own.

    Args:
        surface: where it is drawn.
        page: what it says.
        layout: what the map shows.
        width: its width in mm.
        height: its height, where the map is to grow with it.
    """
    block, map_at, map_size = _laid_out(page, width, height)
    _draw_set(surface, block)
    _draw_map(surface, layout, map_at, map_size)


def _draw_set(surface: PageSurface, block: _Set) -> None:
    for text in block.texts:
        surface.text(text, "text")
    for corner, side, words in zip(block.squares, SQUARES, (_("50 mm"), _("2 in")), strict=False):
        surface.rectangle(SQUARE, corner, side, side, "test-square")
        _fill_square(surface, corner, side, words)
    for at, entry in block.samples:
        _draw_sample(surface, at, entry)


def _fill_square(surface: PageSurface, corner: complex, side: float, words: str) -> None:
    size = TITLE
    surface.text(
        SetText(corner + complex(side / 2, side * 0.3), (words,), size, True),
        "text",
        anchor="middle",
    )
    said = _("Print at 100 %, measure this square before cutting.")
    lines = wrapped(said, side - 6.0, LETTERS)
    at = corner + complex(side / 2, side * 0.3 + 2.2 * LETTERS)
    surface.text(SetText(at, tuple(lines), LETTERS), "text", anchor="middle")


def _head(page: FirstPage, width: float) -> _Set:
    """Return what is printed, on how many pages, what to know before cutting, and the squares."""
    rows = _Rows(width)
    rows.add(page.title, TITLE, bold=True, after=0.4 * LETTERS)
    rows.add(page.under, LETTERS, after=0.5 * LETTERS)
    for remark in page.remarks:
        rows.add(remark, LETTERS, bold=True, after=0.5 * LETTERS)
    rows.below += _GAP - 0.5 * LETTERS
    top = rows.below
    if width >= SQUARES[0] + _GAP + SQUARES[1]:
        squares = (complex(0.0, top), complex(SQUARES[0] + _GAP, top))
        end = top + SQUARES[1]
    else:
        squares = (complex(0.0, top), complex(0.0, top + SQUARES[0] + _GAP))
        end = top + SQUARES[0] + _GAP + SQUARES[1]
    return _Set(end, tuple(rows.texts), squares)


def _how(page: FirstPage, width: float) -> _Set:
    """Return how to join the pages, and the key."""
    rows = _Rows(width)
    for piece in page.pieces:
        rows.add(piece, LETTERS, after=0.3 * LETTERS)
    rows.below += 0.5 * LETTERS
    for sentence in page.sentences:
        rows.add(sentence, LETTERS, after=0.5 * LETTERS)
    samples: list[tuple[complex, KeyEntry]] = []
    x, row = 0.0, rows.below + 0.5 * LETTERS
    for entry in page.key:
        wide = _SHORT_SAMPLE if entry.kind in _SHORT else _SAMPLE
        needed = wide + 1.5 + text_width(entry.words, LETTERS)
        if x and x + needed > width:
            x, row = 0.0, row + 1.6 * LETTERS
        base = row + RISE * LETTERS
        samples.append((complex(x, base - 0.35 * LETTERS), entry))
        rows.texts.append(SetText(complex(x + wide + 1.5, base), (entry.words,), LETTERS))
        x += needed + _GAP
    height = row + (1.6 * LETTERS if page.key else 0.0)
    return _Set(height, tuple(rows.texts), (), tuple(samples))


def _laid_out(page: FirstPage, width: float, height: float) -> tuple[_Set, complex, complex]:
    """Return the whole block set in a width, and the map's corner and size."""
    head, how = _head(page, width), _how(page, width)
    squares_top = head.squares[0].imag
    beside = (2 * _GAP + sum(SQUARES)) if width >= _GAP + sum(SQUARES) else SQUARES[1] + _GAP
    is_beside = width - beside >= NARROWEST_MAP
    map_at = complex(beside, squares_top) if is_beside else complex(0.0, head.height + _GAP)
    map_width = width - beside if is_beside else width
    least = max(LOWEST_MAP, head.height - squares_top) if is_beside else LOWEST_MAP
    grown = height - how.height - _GAP - map_at.imag if height else 0.0
    if is_beside and grown > 1.6 * least:
        # On a page of its own the map takes all that is left below the squares.
        map_at, map_width = complex(0.0, head.height + _GAP), width
        grown = height - how.height - _GAP - map_at.imag
    map_height = max(least, grown)
    top = max(head.height, map_at.imag + map_height) + _GAP
    below = how.moved(1j * top)
    block = _Set(
        top + how.height, head.texts + below.texts, head.squares, head.samples + below.samples
    )
    return block, map_at, complex(map_width, map_height)


def _draw_map(surface: PageSurface, layout: PaperLayout, at: complex, size: complex) -> None:
    """Draw all pages small, with their numbers, and the pieces on them."""
    tiling = layout.tiling
    rows = 1 + max(place.row for place in layout.pages)
    columns = 1 + max(place.column for place in layout.pages)
    last = tiling.shown(Place(rows - 1, columns - 1))
    edge = 1.4 * _MAP_LETTERS
    scale = min((size.real - edge) / last.right, (size.imag - edge) / last.bottom)
    corner = at + complex(edge, edge)

    def to(z: complex) -> complex:
        return corner + z * scale

    for piece in layout.pieces:
        for chain in piece.outline:
            surface.chain(MAP_PIECE, chain, "map-piece", closed=True, to=to)
        box = piece.box
        middle = box.centre
        size = min(_MAP_LETTERS, 0.8 * scale * (box.right - box.left) / text_width(piece.name, 1.0))
        if size >= _LEAST_LETTERS:
            surface.text(SetText(to(middle), (piece.name,), size), "map-name", anchor="middle")
    first = 1 if layout.has_first_page else 0
    letters = max(_LEAST_LETTERS, min(_MAP_LETTERS, 0.5 * scale * abs(tiling.step.imag)))
    for number, place in enumerate(layout.pages, start=1 + first):
        # The map shows the pages as they lie when they are joined: each up to the next one.
        start = tiling.corner(place)
        width = tiling.shown_width if place.column == columns - 1 else tiling.step.real
        height = tiling.shown_height if place.row == rows - 1 else tiling.step.imag
        surface.rectangle(MAP_PAGE, to(start), width * scale, height * scale, "map-page")
        inside = to(start) + complex(0.3, RISE + 0.2) * letters
        surface.text(SetText(inside, (str(number),), letters, True), "map-number")
    small = min(letters, 2.2)
    for column in range(columns):
        x = tiling.corner(Place(0, column)).real + tiling.step.real / 2
        top = to(complex(x, 0.0)) - 0.4j * small
        surface.text(SetText(top, (str(column + 1),), small), "map-column", anchor="middle")
    for row in range(rows):
        y = tiling.corner(Place(row, 0)).imag + tiling.step.imag / 2
        left = to(complex(0.0, y)) + complex(-0.5 * small, 0.35 * small)
        surface.text(SetText(left, (str(row + 1),), small), "map-row", anchor="end")


def _draw_sample(surface: PageSurface, at: complex, entry: KeyEntry) -> None:
    stroke, kind = entry.stroke, entry.kind
    wide = _SHORT_SAMPLE if kind in _SHORT else _SAMPLE
    tip = at + wide
    if entry.sign:
        for chain in entry.sign:
            surface.chain(stroke, chain, "sample", to=lambda z: at + wide / 2 + z)
    elif kind == "join":
        draw_join(surface, at + wide / 2, 1.6, "sample")
    elif kind == "fold-head":
        surface.lines(PAPER_STROKES["fold-arrow"], [at, tip], "sample")
        surface.lines(stroke, [tip, tip - 3.0 - 1.8j, tip - 3.0 + 1.8j], "sample", closed=True)
    elif kind == "grainline":
        for end, back in ((at, 1.0), (tip, -1.0)):
            barbs = [end + 3.0 * back + side * 1.2j for side in (1, -1)]
            surface.lines(stroke, [barbs[0], end, barbs[1]], "sample")
        surface.lines(stroke, [at, tip], "sample")
    elif kind == "notch":
        surface.lines(stroke, [at + wide / 2 - 1.5j, at + wide / 2 + 1.5j], "sample")
    elif stroke.fill != "none":
        surface.rectangle(stroke, at - 1.2j, wide, 2.4, "sample")
    else:
        surface.lines(stroke, [at, tip], "sample")


def draw_join(surface: PageSurface, at: complex, arm: float, part: str) -> None:
    """Draw the mark on which two pages meet: a diamond and the cross in it."""
    surface.lines(JOIN, [at - arm, at - 1j * arm, at + arm, at + 1j * arm], part, closed=True)
    surface.lines(JOIN, [at - arm, at + arm], f"{part}-cross")
    surface.lines(JOIN, [at - 1j * arm, at + 1j * arm], f"{part}-cross")


def _sign(line: PaperLine) -> tuple[tuple[Segment, ...], ...]:
    """Return the chains of the first sign of a line, about the origin."""
    chains = [chain for chain, _closed in line.chains]
    first = box_about([z for segment in chains[0] for z in (segment.start, segment.end)])
    near = [
        chain for chain in chains
        if first.meets(box_about([z for s in chain for z in (s.start, s.end)]), 0.5)
    ]  # fmt: skip
    middle = box_about([z for chain in near for s in chain for z in (s.start, s.end)]).centre
    return tuple(tuple(s.mapped(lambda z: z - middle) for s in chain) for chain in near)


def used_lines(
    pieces: Sequence[PaperPiece], sizes: Sequence[tuple[Stroke, str]]
) -> tuple[KeyEntry, ...]:
    """Return the entries of the key: the kinds of lines that are printed, then the sizes."""
    lines = {line.kind: line for piece in pieces for line in reversed(piece.lines)}
    used = {kind: line.stroke for kind, line in lines.items()} | {"join": JOIN}
    of_sizes = {CUT_LINE: _THICK, STITCH_LINE: _THIN} if sizes else {}
    entries = [
        KeyEntry(
            kind,
            PAPER_STROKES[kind] if kind in of_sizes else used[kind],
            _(of_sizes.get(kind, words)),
            _sign(lines[kind]) if kind in _SIGNS else (),
        )
        for kind, words in KEY.items()
        if kind in used
    ]
    return (*entries, *(KeyEntry("size", stroke, words) for stroke, words in sizes))
