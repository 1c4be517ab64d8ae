"""Titles moved to where one page shows them whole, and off all lines."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.model.outline import encloses, flattened
from drafting_core.pages.tiling import Place
from drafting_core.plane.curves import Box, box_about
from extension.look.set_text import wrapped
from extension.look.text_places import Clearings
from extension.paper.layout import PaperLayout
from extension.paper.paper_piece import PaperPiece, text_corners
from extension.paper.printed_parts import TITLE, PrintedText

#: Width of a title, in sizes of its letters.
_TITLE_COLUMN = 15.0
#: The smallest letters of a title that is moved (mm), and the free room about it.
SMALLEST, ROOM = 4.5, 2.5
#: How finely free places are looked for (mm).
_STEP = 6.0


def with_free_titles(layout: PaperLayout) -> PaperLayout:
    """Return a layout whose titles lie on one page each, where there is such a place.

    A title that finds none stays, and with it the pages that it needs.
    """
    clear = Clearings(
        [chain for piece in layout.pieces for line in piece.lines for chain, _ in line.chains]
    )
    for piece in layout.pieces:
        for text in piece.texts:
            if text.kind != TITLE:
                clear.add_about(text_corners(text))
    for part in layout.parts:
        clear.add_about(part.box.corners)
    shown = [layout.tiling.shown(place) for place in layout.pages]
    # Best where no other page shows a part of it.
    strip = layout.tiling.overlap
    alone = [_inset(box, strip) for box in shown] if strip else shown
    pieces = tuple(_with_free_title(piece, (alone, shown), clear) for piece in layout.pieces)
    needed: set[Place] = set()
    for piece in pieces:
        for text in piece.texts:
            if text.kind == TITLE:
                corners = text_corners(text)
                needed |= layout.tiling.cells_of_line([*corners, corners[0]])
    further = needed - set(layout.pages)
    return layout._replace(
        pieces=pieces,
        pages=(*layout.pages, *sorted(further)),
        left_out=layout.left_out - len(further),
        inside=max(0, layout.inside - len(further)),
    )


def _inset(box: Box, by: float) -> Box:
    return Box(box.left + by, box.top + by, box.right - by, box.bottom - by)


def _with_free_title(
    piece: PaperPiece, rooms: Sequence[Sequence[Box]], clear: Clearings
) -> PaperPiece:
    texts = []
    for text in piece.texts:
        if text.kind == TITLE:
            text = _wrapped(text)
            found = (_free(text, piece, room, clear) for room in rooms)
            text = next((title for title in found if title is not None), text)
        texts.append(text)
    return piece.with_texts(texts)


def _wrapped(title: PrintedText) -> PrintedText:
    rows = [
        row for line in title.lines for row in wrapped(line, _TITLE_COLUMN, 1.0, bold=title.bold)
    ]
    return title._replace(lines=tuple(rows), anchor="middle")


def _free(
    title: PrintedText, piece: PaperPiece, shown: Sequence[Box], clear: Clearings
) -> PrintedText | None:
    """Return a title where it lies free on one page, as large as it can be; None if nowhere."""
    polygons = [flattened(chain, 8) for chain in piece.outline]
    bounds = [_common(piece.box, page) for page in shown if piece.box.meets(page)]
    size = max(title.size, SMALLEST)
    while size >= SMALLEST:
        sized = title._replace(size=size)
        if _is_free(sized, polygons, shown, clear):
            return sized
        places = [
            complex(left + _STEP * i, top + _STEP * j)
            for left, top, right, bottom in bounds
            for i in range(1, int((right - left) / _STEP))
            for j in range(1, int((bottom - top) / _STEP))
        ]
        places.sort(key=lambda at: abs(at - title.at))
        for at in places:
            moved = sized._replace(at=at, direction=1 + 0j)
            if _is_free(moved, polygons, shown, clear):
                return moved
        size *= 0.8
    return None


def _is_free(
    text: PrintedText,
    polygons: Sequence[Sequence[complex]],
    shown: Sequence[Box],
    clear: Clearings,
) -> bool:
    corners = text_corners(text)
    box = box_about(corners)
    if not any(
        page.left + ROOM <= box.left
        and box.right <= page.right - ROOM
        and page.top + ROOM <= box.top
        and box.bottom <= page.bottom - ROOM
        for page in shown
    ):
        return False
    half = (box.bottom - box.top) / 2 + ROOM
    if not clear.is_free(box.centre, 1 + 0j, (box.right - box.left) / 2 + ROOM, half, half):
        return False
    return any(all(encloses(polygon, z) for z in corners) for polygon in polygons)


def _common(one: Box, other: Box) -> Box:
    return Box(
        max(one.left, other.left),
        max(one.top, other.top),
        min(one.right, other.right),
        min(one.bottom, other.bottom),
    )
