"""How places are compared on one printed page: columns, captions and scale, all arithmetic.

Lengths are millimetres on paper. A page is filled row by row with cells, each a picture with its
caption below or beside it; of all arrangements the one with the largest pictures is taken.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drafting_core.text.paper_sizes import DESK_PAGES
from drafting_core.text.words import _
from extension.document.svg_document import DocumentError
from extension.look.set_text import (
    DROP,
    LEADING,
    RISE,
    SMALLEST_TEXT,
    Room,
    SetText,
    text_width,
    wrapped,
)

#: How many times a picture may be smaller than the piece.
SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
#: Free on every side of the page: printers leave some of it white.
MARGIN = 9.0
#: Between columns, and between rows.
GUTTER = 7.0
#: Between a picture and its caption.
CAPTION_GAP = 3.0
#: Around a picture: room for the fold arrow where it points off the piece.
PICTURE_MARGIN = 5.5
#: Sizes of the captions' letters, the best first.
TEXT_SIZES = (3.5, 3.2, 3.0, SMALLEST_TEXT)
HEADING_SIZE = 6.0
FOOT_SIZE = SMALLEST_TEXT
#: A narrower caption would be torn into single words.
NARROWEST_CAPTION = 42.0
TITLE_FACTOR = 1.3
PARAGRAPH_GAP = 0.4
CELL_PADDING = 0.35
#: Where less would be left for a reason beside its cloths, it stands below them.
NARROWEST_REASON = 32.0
#: The drawn sample of a line in the key, its distance from its words, and that between entries.
SAMPLE = 8.5
SAMPLE_GAP = 1.4
ENTRY_GAP = 4.0


class Verdicts(NamedTuple):
    """What becomes of the excess in some cloths, and why.

    Attributes:
        cloths: the cloths.
        reason: the sentence that holds for all of them.
    """

    cloths: tuple[str, ...]
    reason: str


class Caption(NamedTuple):
    """What is said of one place.

    Attributes:
        title: the place.
        sentences: intake, fold, and what else is to be known.
        verdicts: the table of cloths.
    """

    title: str
    sentences: tuple[str, ...]
    verdicts: tuple[Verdicts, ...]


class SetCaption(NamedTuple):
    """A caption set in a column: its height, texts, and the lines of its table.

    Attributes:
        height: how high it is, in mm.
        texts: its texts, from the column's upper left corner.
        rules: the ends of the lines of its table.
    """

    height: float
    texts: tuple[SetText, ...]
    rules: tuple[tuple[complex, complex], ...]

    def moved(self, by: complex) -> SetCaption:
        """Return the caption at another place."""
        return SetCaption(
            self.height,
            tuple(text.moved(by) for text in self.texts),
            tuple((start + by, end + by) for start, end in self.rules),
        )


class Cell(NamedTuple):
    """One place on the page.

    Attributes:
        column: the room for picture and caption together.
        picture: the room of the picture, its margin included.
        caption: the caption, set where it stands on the page.
    """

    column: Room
    picture: Room
    caption: SetCaption


class ComparisonLayout(NamedTuple):
    """A whole page.

    Attributes:
        width: of the page.
        height: of the page.
        scale: how many times smaller than the piece the pictures are.
        heading: the page's title and what stands under it.
        cells: one for each place, in order.
        foot: texts at the page's foot.
        key: for each entry of the key the left end of its sample, and its words.
    """

    width: float
    height: float
    scale: int
    heading: tuple[SetText, ...]
    cells: tuple[Cell, ...]
    foot: tuple[SetText, ...]
    key: tuple[tuple[complex, SetText], ...]


class PageWords(NamedTuple):
    """What a page says beside its captions.

    Attributes:
        heading: its title.
        under: what stands under the title; ``{scale}`` is replaced by the scale.
        key: what the kinds of lines mean, in order.
        foot: sentences at its foot.
    """

    heading: str
    under: str
    key: tuple[str, ...]
    foot: str


@functools.lru_cache(maxsize=4096)
def set_caption(caption: Caption, width: float, size: float) -> SetCaption:
    """Set a caption in a column, its upper left corner at the origin."""
    texts: list[SetText] = []
    rules: list[tuple[complex, complex]] = []
    below = 0.0

    def add(text: str, x: float, top: float, room: float, letters: float, bold: bool) -> float:
        lines = wrapped(text, room, letters, bold=bold)
        texts.append(SetText(complex(x, top + RISE * letters), tuple(lines), letters, bold))
        return top + (RISE + DROP + LEADING * (len(lines) - 1)) * letters

    below = add(caption.title, 0.0, below, width, TITLE_FACTOR * size, True)
    for sentence in caption.sentences:
        below = add(sentence, 0.0, below + PARAGRAPH_GAP * size, width, size, False)
    below += PARAGRAPH_GAP * size
    first = _first_column(caption.verdicts, width, size)
    pad = CELL_PADDING * size
    for cloths, reason in caption.verdicts:
        rules.append((complex(0.0, below), complex(width, below)))
        top = below + pad
        if width - first - size < NARROWEST_REASON:
            top = add(", ".join(cloths), 0.0, top, width, size, True) + pad / 2
            below = add(reason, 0.0, top, width, size, False) + pad
        else:
            ends = (
                add(", ".join(cloths), 0.0, top, first, size, True),
                add(reason, first + size, top, width - first - size, size, False),
            )
            below = max(ends) + pad
    if caption.verdicts:
        rules.append((complex(0.0, below), complex(width, below)))
    return SetCaption(below, tuple(texts), tuple(rules))


def _first_column(verdicts: Sequence[Verdicts], width: float, size: float) -> float:
    """Return the width of the cloths' column: one line each where there is room for it."""

    def widest(texts: Iterator[str]) -> float:
        return max((text_width(text, size, bold=True) for text in texts), default=0.0)

    whole = widest(", ".join(row.cloths) for row in verdicts)
    if whole <= width / 3:
        return whole
    return widest(f"{cloth}," for row in verdicts for cloth in row.cloths)


def arrange_comparison(
    captions: Sequence[Caption], piece: tuple[float, float], page: str, words: PageWords
) -> ComparisonLayout:
    """Lay out a page with the largest pictures that fit.

    Args:
        captions: one for each place.
        piece: width and height in mm that every picture has to hold, at true size.
        page: one of `DESK_PAGES`.
        words: what else the page says.

    Raises:
        DocumentError: if not even the smallest pictures fit.
    """
    short, long = DESK_PAGES[page]
    for scale in SCALES:
        for size in TEXT_SIZES:
            found = [
                layout
                for width, height in ((long, short), (short, long))
                for columns in range(1, len(captions) + 1)
                for beside in (False, True)
                if (
                    layout := _filled(
                        captions, piece, (width, height), scale, size, columns, beside, words
                    )
                )
            ]
            if found:
                return min(found, key=_unevenness)
    raise DocumentError(
        _("the comparison does not fit on one page ({page}), not even at 1:{scale}.").format(
            page=page, scale=SCALES[-1]
        ),
        remedy=_("Compare fewer places, or take the larger page."),
    )


def _unevenness(layout: ComparisonLayout) -> tuple[int, float]:
    """Rank arrangements of one scale: few rows, so that places lie side by side; even margins."""
    rows = len({cell.column.y for cell in layout.cells})
    used = sum(cell.column.width * cell.column.height for cell in layout.cells)
    return rows, -used / (layout.width * layout.height)


def _filled(
    captions: Sequence[Caption],
    piece: tuple[float, float],
    page: tuple[float, float],
    scale: int,
    size: float,
    columns: int,
    beside: bool,
    words: PageWords,
) -> ComparisonLayout | None:
    """Return one arrangement, or None where it does not fit."""
    width, height = page
    inner = width - 2 * MARGIN
    column = (inner - GUTTER * (columns - 1)) / columns
    picture = (piece[0] / scale + 2 * PICTURE_MARGIN, piece[1] / scale + 2 * PICTURE_MARGIN)
    room = column - picture[0] - CAPTION_GAP if beside else column
    if room < NARROWEST_CAPTION or picture[0] > column:
        return None
    heading, top = _heading(words, scale, inner)
    foot, key, foot_height = _foot(words, inner)
    bottom = height - MARGIN - foot_height - GUTTER / 2
    rows = -(-len(captions) // columns)
    if rows * picture[1] + GUTTER * (rows - 1) > bottom - top:
        return None
    set_ones = [set_caption(caption, room, size) for caption in captions]
    heights = []
    for start in range(0, len(captions), columns):
        tallest = max(one.height for one in set_ones[start : start + columns])
        heights.append(max(picture[1], tallest) if beside else picture[1] + CAPTION_GAP + tallest)
    spare = bottom - top - sum(heights) - GUTTER * (len(heights) - 1)
    if spare < 0.0:
        return None
    cells = []
    y = top + spare / (len(heights) + 1)
    for row, tall in enumerate(heights):
        for place in range(row * columns, min(len(captions), (row + 1) * columns)):
            x = MARGIN + (place - row * columns) * (column + GUTTER)
            if beside:
                box = Room(x, y, *picture)
                at = complex(x + picture[0] + CAPTION_GAP, y)
            else:
                box = Room(x + (column - picture[0]) / 2, y, *picture)
                at = complex(x, y + picture[1] + CAPTION_GAP)
            cells.append(Cell(Room(x, y, column, tall), box, set_ones[place].moved(at)))
        y += tall + GUTTER + spare / (len(heights) + 1)
    down = complex(MARGIN, height - MARGIN - foot_height)
    return ComparisonLayout(
        width,
        height,
        scale,
        tuple(text.moved(complex(MARGIN, MARGIN)) for text in heading),
        tuple(cells),
        tuple(text.moved(down) for text in foot),
        tuple((at + down, text.moved(down)) for at, text in key),
    )


def _heading(words: PageWords, scale: int, width: float) -> tuple[list[SetText], float]:
    """Return the page's heading, set at the origin, and where on the page it ends."""
    texts = []
    below = 0.0
    for text, size, bold in (
        (words.heading, HEADING_SIZE, True),
        (words.under.format(scale=f"1:{scale}"), TEXT_SIZES[0], False),
    ):
        lines = wrapped(text, width, size, bold=bold)
        texts.append(SetText(1j * (below + RISE * size), tuple(lines), size, bold))
        below += LEADING * len(lines) * size
    return texts, MARGIN + below + GUTTER / 2


def _foot(
    words: PageWords, width: float
) -> tuple[list[SetText], list[tuple[complex, SetText]], float]:
    """Return texts and key of the page's foot, set at the origin, and their height."""
    x = 0.0
    row = 0
    key = []
    step = LEADING * FOOT_SIZE * 1.15
    for entry in words.key:
        needed = SAMPLE + SAMPLE_GAP + text_width(entry, FOOT_SIZE)
        if x and x + needed > width:
            x, row = 0.0, row + 1
        base = row * step + RISE * FOOT_SIZE
        text = SetText(complex(x + SAMPLE + SAMPLE_GAP, base), (entry,), FOOT_SIZE)
        key.append((complex(x, base - 0.35 * FOOT_SIZE), text))
        x += needed + ENTRY_GAP
    top = (row + 1) * step if key else 0.0
    if not words.foot:
        return [], key, top
    lines = wrapped(words.foot, width, FOOT_SIZE)
    foot = [SetText(1j * (top + RISE * FOOT_SIZE), tuple(lines), FOOT_SIZE)]
    return foot, key, top + (RISE + DROP + LEADING * (len(lines) - 1)) * FOOT_SIZE
