"""How sewing notes lie on one printed page: the piece, its darts, their steps; all arithmetic.

Lengths are millimetres on paper. On top is the picture of the piece with what holds for all of it
at its side; below, each dart has its words and a row of step pictures. Of all arrangements that
fit the one with the largest pictures and letters is taken.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.text.paper_sizes import DESK_PAGES
from drafting_core.text.words import _
from extension.document.svg_document import DocumentError
from extension.look.set_text import LEADING, RISE, SMALLEST_TEXT, Room, SetText, text_width
from extension.sewing.text_blocks import (
    BAND_GAP,
    GUTTER,
    TEXT_SIZES,
    TITLE_FACTOR,
    WIDER,
    DartWords,
    TextBlock,
    bands_of,
    column_of,
    height_of,
    taken,
)

#: Free on every side of the page: printers leave some of it white.
MARGIN = 10.0
#: Around the piece's picture: room for the numbers of the darts and for fold arrows.
PICTURE_MARGIN = 7.5
HEADING_SIZE = 6.0
UNDER_SIZE = 3.4
#: How many times the piece's picture may be smaller than the piece.
SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
#: How high the cloth in a step's picture may be, the best first; it may be somewhat wider.
STEP_HEIGHTS = (
    84.0, 76.0, 69.0, 63.0, 57.0, 52.0, 47.0, 43.0, 39.0, 36.0, 33.0, 30.0, 27.0, 24.0, 21.0, 18.0
)  # fmt: skip
#: Rather than draw the steps lower than the first of these, fewer are shown.
_LEAST_STEPS = (27.0, 18.0)
#: The least height of the piece's picture, the best first.
PIECE_HEIGHTS = (110.0, 90.0, 75.0, 60.0, 45.0)
#: A larger picture of a step, or of the piece, than this is not worth smaller ones elsewhere (mm).
_LARGE_STEP, _LARGE_PIECE = 60.0, 95.0
#: What a step picture larger by a part counts, the piece's picture, and letters.
_STEPS_COUNT, _PIECE_COUNTS, _LETTERS_COUNT = 2.2, 1.5, 2.3
#: What is left over is spread between the parts, up to this (mm).
_MOST_SPARE = 9.0
#: What of the page's width the piece's picture may take.
_PIECE_SHARE = 0.62
#: The drawn sample of a line in the key, its distance from its words, and that between entries.
SAMPLE = 8.5
SAMPLE_GAP = 1.4
ENTRY_GAP = 4.0


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
    sections: tuple[DartWords, ...]
    key: tuple[str, ...]
    foot: str
    piece: tuple[float, float]


class NotesLayout(NamedTuple):
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
    piece: Room
    texts: tuple[SetText, ...]
    blocks: tuple[TextBlock, ...]
    key: tuple[tuple[complex, SetText], ...]


def arrange_notes(choices: Sequence[Content], page: str) -> tuple[int, NotesLayout]:
    """Lay out a page.

    Args:
        choices: what the page may show, the fullest first; the first that fits is taken.
        page: one of `DESK_PAGES`.

    Returns:
        Which of the choices it shows, and the page.

    Raises:
        DocumentError: if none fits.
    """
    for least_step in _LEAST_STEPS:
        heights = [height for height in STEP_HEIGHTS if height >= least_step]
        for number, content in enumerate(choices):
            found = [
                (_worth(layout, size, content), layout)
                for size in TEXT_SIZES
                for least in PIECE_HEIGHTS
                for beside in (False, True)
                if (layout := _filled(content, page, size, least, heights, beside))
            ]
            if found:
                return number, max(found, key=lambda pair: pair[0])[1]
    raise DocumentError(
        _("the sewing notes do not fit on one page ({page}).").format(page=page),
        remedy=_("Take the other page, or finish the piece with fewer darts."),
    )


def _worth(layout: NotesLayout, size: float, content: Content) -> float:
    """Rank arrangements: by their smallest step picture, the piece's picture, and the letters."""
    smallest = min(
        (
            max(max(panel.width / WIDER, panel.height) for panel in section.panels)
            / block.panels[0].scale
            for section, block in zip(content.sections, layout.blocks, strict=True)
            if section.panels
        ),
        default=0.0,
    )
    # Of each a part more is worth the same, however large it is already.
    return (
        _STEPS_COUNT * math.log(min(max(smallest, 1.0), _LARGE_STEP))
        + _PIECE_COUNTS * math.log(min(layout.piece.height, _LARGE_PIECE))
        + _LETTERS_COUNT * math.log(size)
    )


def _filled(
    content: Content,
    page: str,
    size: float,
    least: float,
    heights: Sequence[float],
    beside: bool,
) -> NotesLayout | None:
    """Return the arrangement with the largest step pictures, or None where none fits.

    Args:
        content: what the page shows.
        page: one of `DESK_PAGES`.
        size: of the letters.
        least: the least height of the piece's picture.
        heights: how high step pictures may be, the best first.
        beside: whether the darts' words stand beside the piece's picture, all of them.
    """
    width, height = DESK_PAGES[page]
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
    foot, foot_height = column_of(((content.foot, min(size, UNDER_SIZE), True),), inner)
    heading_height = _heading(content, inner, SCALES[-1])[1]
    room = height - 2 * MARGIN - heading_height - foot_height - 2 * BAND_GAP
    for step_height in heights if any(s.panels for s in sections) else heights[:1]:
        bands = bands_of(sections, inner, size, step_height)
        if bands is None:
            continue
        below = sum(taken(band) for band in bands)
        for scale in SCALES:
            picture = tuple(side / scale + 2 * PICTURE_MARGIN for side in content.piece)
            if picture[0] > inner * _PIECE_SHARE or picture[1] > room - below:
                continue
            if picture[1] < least and scale > 1:
                break
            words_width = inner - picture[0] - GUTTER
            texts, words_height = column_of(column, words_width)
            key, key_height = _key(content.key, words_width)
            top = max(picture[1], words_height + BAND_GAP + key_height)
            if top > room - below:
                continue
            return _placed(
                content, page, scale, (picture[0], picture[1]), texts, key, words_height, top,
                bands, foot, foot_height,
            )  # fmt: skip
    return None


def _placed(
    content: Content,
    page: str,
    scale: int,
    picture: tuple[float, float],
    texts: Sequence[SetText],
    key: Sequence[tuple[complex, SetText]],
    words_height: float,
    top: float,
    bands: Sequence[Sequence[TextBlock]],
    foot: Sequence[SetText],
    foot_height: float,
) -> NotesLayout:
    """Put the parts of a page in their places, what room is left over between them."""
    width, height = DESK_PAGES[page]
    corner = complex(MARGIN, MARGIN)
    heading, heading_height = _heading(content, width - 2 * MARGIN, scale)
    used = heading_height + top + foot_height + 2 * BAND_GAP
    used += sum(taken(band) for band in bands)
    gaps = 1 + sum(height_of(band) > 0.0 for band in bands)
    spare = min(_MOST_SPARE, (height - 2 * MARGIN - used) / gaps)
    y = MARGIN + heading_height + BAND_GAP
    piece = Room(MARGIN, y, *picture)
    beside = complex(MARGIN + picture[0] + GUTTER, y)
    all_texts = [text.moved(corner) for text in heading]
    all_texts += [text.moved(beside) for text in texts]
    down = beside + 1j * (words_height + BAND_GAP)
    y += top + BAND_GAP + spare
    placed = []
    for band in bands:
        placed += [block.moved(complex(MARGIN, y)) for block in band]
        y += taken(band) + spare * (height_of(band) > 0.0)
    at_foot = complex(MARGIN, height - MARGIN - foot_height)
    all_texts += [text.moved(at_foot) for text in foot]
    return NotesLayout(
        width,
        height,
        scale,
        piece,
        tuple(all_texts),
        tuple(placed),
        tuple((at + down, text.moved(down)) for at, text in key),
    )


def _heading(content: Content, width: float, scale: int) -> tuple[list[SetText], float]:
    return column_of(
        (
            (content.heading, HEADING_SIZE, True),
            (content.under.format(scale=f"1:{scale}"), UNDER_SIZE, False),
        ),
        width,
    )


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
