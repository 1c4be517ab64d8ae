"""How sewing notes lie on one printed page: the piece, its darts, their steps; all arithmetic.

Lengths are millimetres on paper. On top is the picture of the piece with what holds for all of it
at its side; below, each dart has its words and a row of step pictures. Of all arrangements the
first that fits is taken, large letters and large pictures first.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drafting_core.words import _
from extension.compare_layout import PAGES
from extension.set_text import DROP, LEADING, RISE, Box, SetText, text_width, wrapped
from extension.svg_document import DocumentError

#: Free on every side of the page: printers leave some of it white.
MARGIN = 10.0
GUTTER = 4.0
#: Between the parts of the page, one below the other.
BAND_GAP = 3.0
#: Around the piece's picture: room for the numbers of the darts and for fold arrows.
PICTURE_MARGIN = 7.5
#: Sizes of the letters, the best first; 2.8 mm is the smallest that is read with ease.
TEXT_SIZES = (3.4, 3.1, 2.8)
SMALLEST_TEXT = TEXT_SIZES[-1]
HEADING_SIZE = 6.0
TITLE_FACTOR = 1.2
#: Between a step's picture and its caption, and between paragraphs, in letter sizes.
CAPTION_GAP = 1.5
PARAGRAPH_GAP = 0.35
#: Around a step's picture: room for pins, arrows and thread ends.
STEP_MARGIN = 3.0
#: How many times the piece's picture may be smaller than the piece.
SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
#: How high the cloth in a step's picture may be, the best first; it may be somewhat wider.
STEP_HEIGHTS = (48.0, 43.0, 38.0, 34.0, 30.0, 27.0, 24.0, 21.0, 18.0)
#: Rather than draw the steps lower than the first of these, fewer are shown.
_LEAST_STEPS = (27.0, 18.0)
_WIDER = 1.35
#: How much smaller than that it may be where columns are narrow.
_SHRUNK = 1.25
#: A step picture narrower than this cannot be read, nor its caption.
NARROWEST_STEP = 31.0
#: The least height of the piece's picture: with the larger letters, and at all.
PIECE_HEIGHTS = (75.0, 60.0, 45.0)
#: What is left over is spread between the parts, up to this (mm).
_MOST_SPARE = 6.0
#: What of the page's width the piece's picture may take.
_PIECE_SHARE = 0.62
#: How wide a dart's words beside its pictures are, of the page's width.
_WORDS_SHARE = 0.34
#: The drawn sample of a line in the key, its distance from its words, and that between entries.
SAMPLE = 8.5
SAMPLE_GAP = 1.4
ENTRY_GAP = 4.0


class Panel(NamedTuple):
    """A step picture to be placed: its title and caption, and the cloth's size in mm."""

    title: str
    caption: str
    width: float
    height: float


class Words(NamedTuple):
    """What is said of one dart, and its step pictures."""

    title: str
    sentences: tuple[str, ...]
    panels: tuple[Panel, ...]


class Content(NamedTuple):
    """Everything that a page shows.

    Attributes:
        heading: the page's title.
        under: what stands under it; ``{scale}`` is replaced by the piece's scale.
        general: what holds for the whole piece.
        sections: one for each dart.
        key: what the kinds of lines mean.
        foot: the page's foot.
        piece: width and height in mm that the piece's picture has to hold, at true size.
    """

    heading: str
    under: str
    general: tuple[str, ...]
    sections: tuple[Words, ...]
    key: tuple[str, ...]
    foot: str
    piece: tuple[float, float]


class Placed(NamedTuple):
    """A step picture in place: its room, and how many times smaller it is than the cloth."""

    room: Box
    scale: float
    texts: tuple[SetText, ...]


class Block(NamedTuple):
    """Words and step pictures of one dart, set: their height, texts and pictures."""

    height: float
    texts: tuple[SetText, ...]
    panels: tuple[Placed, ...]

    def moved(self, by: complex) -> Block:
        """Return it at another place."""
        return Block(
            self.height,
            tuple(text.moved(by) for text in self.texts),
            tuple(_moved_panel(panel, by) for panel in self.panels),
        )


def _moved_panel(panel: Placed, by: complex) -> Placed:
    room = panel.room
    return panel._replace(
        room=Box(room.x + by.real, room.y + by.imag, room.width, room.height),
        texts=tuple(text.moved(by) for text in panel.texts),
    )


class Layout(NamedTuple):
    """A whole page.

    Attributes:
        width: of the page.
        height: of the page.
        scale: how many times smaller than the piece its picture is.
        piece: the room of the piece's picture, its margin included.
        texts: the heading, what holds for the whole piece, the foot.
        blocks: one for each dart.
        key: for each entry of the key the left end of its sample, and its words.
    """

    width: float
    height: float
    scale: int
    piece: Box
    texts: tuple[SetText, ...]
    blocks: tuple[Block, ...]
    key: tuple[tuple[complex, SetText], ...]


def arrange(choices: Sequence[Content], page: str) -> tuple[int, Layout]:
    """Lay out a page.

    Args:
        choices: what the page may show, the fullest first; the first that fits is taken.
        page: one of `PAGES`.

    Returns:
        Which of the choices it shows, and the page.

    Raises:
        DocumentError: if none fits.
    """
    for least_step in _LEAST_STEPS:
        heights = [height for height in STEP_HEIGHTS if height >= least_step]
        for number, content in enumerate(choices):
            for order, size in enumerate(TEXT_SIZES):
                for least in PIECE_HEIGHTS[order:]:
                    found = [
                        layout
                        for beside in (False, True)
                        if (layout := _filled(content, page, size, least, heights, beside))
                    ]
                    if found:
                        return number, max(found, key=_largeness)
    raise DocumentError(
        _("the sewing notes do not fit on one page ({page}).").format(page=page),
        remedy=_("Take the other page, or finish the piece with fewer darts."),
    )


def _largeness(layout: Layout) -> float:
    """Rank arrangements: the size of their pictures, the piece's counting once more."""
    panels = [panel for block in layout.blocks for panel in block.panels]
    smallest = min((panel.room.height for panel in panels), default=0.0)
    return layout.piece.height + 2 * smallest


def _filled(
    content: Content,
    page: str,
    size: float,
    least: float,
    heights: Sequence[float],
    beside: bool,
) -> Layout | None:
    """Return the arrangement with the largest step pictures, or None where none fits.

    Args:
        content: what the page shows.
        page: one of `PAGES`.
        size: of the letters.
        least: the least height of the piece's picture.
        heights: how high step pictures may be, the best first.
        beside: whether the darts' words stand beside the piece's picture, all of them.
    """
    width, height = PAGES[page]
    inner = width - 2 * MARGIN
    sections = content.sections
    column: list[tuple[str, float, bool]] = [(text, size, False) for text in content.general]
    if beside:
        for section in sections:
            column.append((section.title, TITLE_FACTOR * size, True))
            column += [(text, size, False) for text in section.sentences]
        # One dart needs no second title over its pictures.
        sections = tuple(
            section._replace(title=section.title * (len(sections) > 1), sentences=())
            for section in sections
        )
    foot, foot_height = _column(((content.foot, size, True),), inner)
    heading_height = _heading(content, inner, SCALES[-1])[1]
    room = height - 2 * MARGIN - heading_height - foot_height - 2 * BAND_GAP
    for step_height in heights if any(s.panels for s in sections) else heights[:1]:
        blocks = [_block(section, inner, size, step_height) for section in sections]
        if any(block is None for block in blocks):
            continue
        set_ones = [block for block in blocks if block is not None]
        below = sum(_taken(block) for block in set_ones)
        for scale in SCALES:
            picture = tuple(side / scale + 2 * PICTURE_MARGIN for side in content.piece)
            if picture[0] > inner * _PIECE_SHARE or picture[1] > room - below:
                continue
            if picture[1] < least and scale > 1:
                break
            words_width = inner - picture[0] - GUTTER
            texts, words_height = _column(column, words_width)
            key, key_height = _key(content.key, words_width)
            top = max(picture[1], words_height + BAND_GAP + key_height)
            if top > room - below:
                continue
            return _placed(
                content, page, scale, (picture[0], picture[1]), texts, key, words_height, top,
                set_ones, foot, foot_height,
            )  # fmt: skip
    return None


def _taken(block: Block) -> float:
    """Return the height that a dart's words and pictures take, with the gap below them."""
    return block.height + BAND_GAP if block.height else 0.0


def _placed(
    content: Content,
    page: str,
    scale: int,
    picture: tuple[float, float],
    texts: Sequence[SetText],
    key: Sequence[tuple[complex, SetText]],
    words_height: float,
    top: float,
    blocks: Sequence[Block],
    foot: Sequence[SetText],
    foot_height: float,
) -> Layout:
    """Put the parts of a page in their places, what room is left over between them."""
    width, height = PAGES[page]
    corner = complex(MARGIN, MARGIN)
    heading, heading_height = _heading(content, width - 2 * MARGIN, scale)
    used = heading_height + top + foot_height + 2 * BAND_GAP
    used += sum(_taken(block) for block in blocks)
    gaps = 1 + sum(block.height > 0.0 for block in blocks)
    spare = min(_MOST_SPARE, (height - 2 * MARGIN - used) / gaps)
    y = MARGIN + heading_height + BAND_GAP
    piece = Box(MARGIN, y, *picture)
    beside = complex(MARGIN + picture[0] + GUTTER, y)
    all_texts = [text.moved(corner) for text in heading]
    all_texts += [text.moved(beside) for text in texts]
    down = beside + 1j * (words_height + BAND_GAP)
    y += top + BAND_GAP + spare
    placed = []
    for block in blocks:
        placed.append(block.moved(complex(MARGIN, y)))
        y += _taken(block) + spare * (block.height > 0.0)
    at_foot = complex(MARGIN, height - MARGIN - foot_height)
    all_texts += [text.moved(at_foot) for text in foot]
    return Layout(
        width,
        height,
        scale,
        piece,
        tuple(all_texts),
        tuple(placed),
        tuple((at + down, text.moved(down)) for at, text in key),
    )


def _heading(content: Content, width: float, scale: int) -> tuple[list[SetText], float]:
    return _column(
        (
            (content.heading, HEADING_SIZE, True),
            (content.under.format(scale=f"1:{scale}"), TEXT_SIZES[0], False),
        ),
        width,
    )


def _column(
    paragraphs: Sequence[tuple[str, float, bool]], width: float
) -> tuple[list[SetText], float]:
    """Set paragraphs below one another, each with its size and whether it is bold."""
    texts: list[SetText] = []
    below = 0.0
    for text, size, bold in paragraphs:
        lines = _lines(text, width, size, bold)
        if texts:
            below += PARAGRAPH_GAP * size
        texts.append(SetText(1j * (below + RISE * size), lines, size, bold))
        below += (RISE + DROP + LEADING * (len(lines) - 1)) * size
    return texts, below


@functools.lru_cache(maxsize=8192)
def _lines(text: str, width: float, size: float, bold: bool) -> tuple[str, ...]:
    return tuple(wrapped(text, width, size, bold=bold))


def _key(entries: Sequence[str], width: float) -> tuple[list[tuple[complex, SetText]], float]:
    """Set the key of the lines, its upper left corner at the origin."""
    size = SMALLEST_TEXT
    x, row = 0.0, 0
    key = []
    step = LEADING * size * 1.15
    for entry in entries:
        needed = SAMPLE + SAMPLE_GAP + text_width(entry, size)
        if x and x + needed > width:
            x, row = 0.0, row + 1
        base = row * step + RISE * size
        text = SetText(complex(x + SAMPLE + SAMPLE_GAP, base), (entry,), size)
        key.append((complex(x, base - 0.35 * size), text))
        x += needed + ENTRY_GAP
    return key, (row + 1) * step if key else 0.0


def _block(section: Words, width: float, size: float, step_height: float) -> Block | None:
    """Set one dart's words and pictures, as low as they go; None where they do not."""
    found = [block for block in _blocks(section, width, size, step_height) if block is not None]
    return min(found, key=lambda block: block.height) if found else None


def _blocks(
    section: Words, width: float, size: float, step_height: float
) -> Iterator[Block | None]:
    title = [(section.title, TITLE_FACTOR * size, True)] if section.title else []
    words = [*title, *((text, size, False) for text in section.sentences)]
    count = len(section.panels)
    if not count:
        if not section.sentences:
            yield Block(0.0, (), ())
            return
        texts, height = _column(words, width)
        yield Block(height, tuple(texts), ())
        return
    texts, height = _column(words, width)
    for per_row in _balanced(count):
        rows = _rows(section.panels, width, size, step_height, per_row)
        if rows is not None:
            below = height + PARAGRAPH_GAP * size + 1.0
            yield Block(
                below + rows[1],
                tuple(texts),
                tuple(_moved_panel(panel, 1j * below) for panel in rows[0]),
            )
    if section.sentences:
        side = _WORDS_SHARE * width
        texts, height = _column(words, side)
        for per_row in _balanced(count):
            rows = _rows(section.panels, width - side - GUTTER, size, step_height, per_row)
            if rows is not None:
                yield Block(
                    max(height, rows[1]),
                    tuple(texts),
                    tuple(_moved_panel(panel, side + GUTTER + 0j) for panel in rows[0]),
                )


def _balanced(count: int) -> list[int]:
    """Return how many pictures a row may have so that the last row is not emptier than needed."""
    return sorted({-(-count // rows) for rows in range(1, count + 1)})


def _rows(
    panels: Sequence[Panel], width: float, size: float, step_height: float, per_row: int
) -> tuple[list[Placed], float] | None:
    """Set step pictures in rows, all at the same scale, captions below them."""
    cell = (width - GUTTER * (per_row - 1)) / per_row
    if cell < NARROWEST_STEP:
        return None
    letters = min(size, TEXT_SIZES[1])
    wanted = max(max(p.width / _WIDER, p.height) for p in panels) / step_height
    scale = max(wanted, max(p.width for p in panels) / (cell - 2 * STEP_MARGIN))
    if scale > wanted * _SHRUNK:
        return None
    placed: list[Placed] = []
    y = 0.0
    for first in range(0, len(panels), per_row):
        row = panels[first : first + per_row]
        tall = max(panel.height for panel in row) / scale + 2 * STEP_MARGIN
        below = 0.0
        for column, panel in enumerate(row):
            x = column * (cell + GUTTER)
            texts, caption_height = _column(
                ((panel.title, letters, True), (panel.caption, letters, False)), cell
            )
            down = complex(x, y + tall + CAPTION_GAP)
            room = Box(x, y, cell, tall)
            placed.append(Placed(room, scale, tuple(text.moved(down) for text in texts)))
            below = max(below, caption_height)
        y += tall + CAPTION_GAP + below + BAND_GAP
    return placed, y - BAND_GAP
