"""How a dart's words and its step pictures are set: in rows, in bands below one another.

Lengths are millimetres on paper.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from extension.look.set_text import DROP, LEADING, RISE, SMALLEST_TEXT, Room, SetText, wrapped

GUTTER = 4.0
#: Between the parts of the page, one below the other.
BAND_GAP = 3.0
#: Sizes of the letters, the best first; 2.8 mm is the smallest that is read with ease.
TEXT_SIZES = (3.8, 3.4, 3.1, SMALLEST_TEXT)
#: Captions are no larger than this: their columns are narrow.
LARGEST_CAPTION = 3.8
TITLE_FACTOR = 1.2
#: Between a step's picture and its caption, and between paragraphs, in letter sizes.
CAPTION_GAP = 1.5
PARAGRAPH_GAP = 0.35
#: Around a step's picture: room for pins, arrows and thread ends.
STEP_MARGIN = 3.0
#: How many times wider than high a step picture may be, where it is to be as large as others.
WIDER = 1.35
#: How much smaller than that it may be where columns are narrow.
_SHRUNK = 1.25
#: A step picture narrower than this cannot be read, nor its caption.
NARROWEST_STEP = 31.0
#: Darts with no more pictures than this share a row, two by two.
_FEW = 2
#: How wide a dart's words beside its pictures are, of the page's width.
_WORDS_SHARE = 0.34


class Panel(NamedTuple):
    """A step picture to be placed: its title and caption, and the cloth's size in mm.

    Attributes:
        title: its title.
        caption: what is said below it.
        width: the width of the cloth that it shows.
        height: the height of that cloth.
    """

    title: str
    caption: str
    width: float
    height: float


class DartWords(NamedTuple):
    """What is said of one dart, and its step pictures.

    Attributes:
        title: the dart, named.
        sentences: what is said of it.
        panels: its step pictures.
    """

    title: str
    sentences: tuple[str, ...]
    panels: tuple[Panel, ...]


class PlacedPanel(NamedTuple):
    """A step picture in place: its room, and how many times smaller it is than the cloth.

    Attributes:
        room: where it lies on the page.
        scale: how many times smaller than the cloth it is.
        texts: its title and caption, set.
    """

    room: Room
    scale: float
    texts: tuple[SetText, ...]


class TextBlock(NamedTuple):
    """Words and step pictures of one dart, set: their height, texts and pictures.

    Attributes:
        height: how high all of it is, in mm.
        texts: the texts, from the block's upper left corner.
        panels: the pictures.
    """

    height: float
    texts: tuple[SetText, ...]
    panels: tuple[PlacedPanel, ...]

    def moved(self, by: complex) -> TextBlock:
        """Return it at another place."""
        return TextBlock(
            self.height,
            tuple(text.moved(by) for text in self.texts),
            tuple(_moved_panel(panel, by) for panel in self.panels),
        )


def _moved_panel(panel: PlacedPanel, by: complex) -> PlacedPanel:
    room = panel.room
    return panel._replace(
        room=Room(room.x + by.real, room.y + by.imag, room.width, room.height),
        texts=tuple(text.moved(by) for text in panel.texts),
    )


def bands_of(
    sections: Sequence[DartWords], width: float, size: float, step_height: float
) -> list[list[TextBlock]] | None:
    """Set the darts' words and pictures in bands, those with few pictures two by two.

    Returns:
        For each band its blocks from the left, all of them in the darts' order; None where one
        does not fit.
    """
    half = (width - GUTTER) / 2
    bands: list[list[TextBlock]] = []
    k = 0
    while k < len(sections):
        pair = sections[k : k + 2]
        if len(pair) == 2 and all(0 < len(section.panels) <= _FEW for section in pair):
            blocks = [_block(section, half, size, step_height) for section in pair]
        else:
            blocks = [_block(sections[k], width, size, step_height)]
        band = [block for block in blocks if block is not None]
        if len(band) < len(blocks):
            return None
        bands.append([block.moved(complex(n * (half + GUTTER))) for n, block in enumerate(band)])
        k += len(band)
    return bands


def height_of(band: Sequence[TextBlock]) -> float:
    """Return how high a band is."""
    return max(block.height for block in band)


def taken(band: Sequence[TextBlock]) -> float:
    """Return the height that a band takes, with the gap below it."""
    return height_of(band) + BAND_GAP if height_of(band) else 0.0


def column_of(
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


def _block(section: DartWords, width: float, size: float, step_height: float) -> TextBlock | None:
    """Set one dart's words and pictures, as low as they go; None where they do not."""
    found = [block for block in _blocks(section, width, size, step_height) if block is not None]
    return min(found, key=lambda block: block.height) if found else None


def _blocks(
    section: DartWords, width: float, size: float, step_height: float
) -> Iterator[TextBlock | None]:
    title = [(section.title, TITLE_FACTOR * size, True)] if section.title else []
    words = [*title, *((text, size, False) for text in section.sentences)]
    count = len(section.panels)
    if not count:
        if not section.sentences:
            yield TextBlock(0.0, (), ())
            return
        texts, height = column_of(words, width)
        yield TextBlock(height, tuple(texts), ())
        return
    texts, height = column_of(words, width)
    for per_row in _balanced(count):
        rows = _rows(section.panels, width, size, step_height, per_row)
        if rows is not None:
            below = height + PARAGRAPH_GAP * size + 1.0
            yield TextBlock(
                below + rows[1],
                tuple(texts),
                tuple(_moved_panel(panel, 1j * below) for panel in rows[0]),
            )
    if section.sentences:
        side = _WORDS_SHARE * width
        texts, height = column_of(words, side)
        for per_row in _balanced(count):
            rows = _rows(section.panels, width - side - GUTTER, size, step_height, per_row)
            if rows is not None:
                yield TextBlock(
                    max(height, rows[1]),
                    tuple(texts),
                    tuple(_moved_panel(panel, side + GUTTER + 0j) for panel in rows[0]),
                )


def _balanced(count: int) -> list[int]:
    """Return how many pictures a row may have so that the last row is not emptier than needed."""
    return sorted({-(-count // rows) for rows in range(1, count + 1)})


def _rows(
    panels: Sequence[Panel], width: float, size: float, step_height: float, per_row: int
) -> tuple[list[PlacedPanel], float] | None:
    """Set step pictures in rows, all at the same scale, captions below them."""
    cell = (width - GUTTER * (per_row - 1)) / per_row
    if cell < NARROWEST_STEP:
        return None
    letters = min(size, LARGEST_CAPTION)
    wanted = max(max(p.width / WIDER, p.height) for p in panels) / step_height
    # Larger than the cloth itself no picture needs to be.
    scale = max(wanted, max(p.width for p in panels) / (cell - 2 * STEP_MARGIN), 1.0)
    if scale > max(wanted, 1.0) * _SHRUNK:
        return None
    placed: list[PlacedPanel] = []
    y = 0.0
    for first in range(0, len(panels), per_row):
        row = panels[first : first + per_row]
        # A last row with fewer pictures is as wide as the others.
        cell = (width - GUTTER * (len(row) - 1)) / len(row)
        tall = max(panel.height for panel in row) / scale + 2 * STEP_MARGIN
        below = 0.0
        for column, panel in enumerate(row):
            x = column * (cell + GUTTER)
            texts, caption_height = column_of(
                ((panel.title, letters, True), (panel.caption, letters, False)), cell
            )
            down = complex(x, y + tall + CAPTION_GAP)
            room = Room(x, y, cell, tall)
            placed.append(PlacedPanel(room, scale, tuple(text.moved(down) for text in texts)))
            below = max(below, caption_height)
        y += tall + CAPTION_GAP + below + BAND_GAP
    return placed, y - BAND_GAP
