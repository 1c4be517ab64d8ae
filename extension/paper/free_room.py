"""The first page's parts in free room: squares, map and key on pages that pieces leave it on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from drafting_core.model.outline import encloses, flattened
from drafting_core.pages.tiling import Place, Tiling
from drafting_core.plane.curves import Box
from extension.look.text_places import Clearings
from extension.paper.paper_piece import PaperPiece, text_corners

#: The parts of what the first page says, in the order in which they take room.
SQUARES_PART, HOW_PART, MAP_PART = "squares", "how", "map"
PARTS = (SQUARES_PART, HOW_PART, MAP_PART)
#: Widths in which each is tried (mm), the widest first.
WIDTHS = {
    SQUARES_PART: (190.0, 150.0, 125.0, 106.0, 54.0),
    HOW_PART: (190.0, 160.0, 130.0, 105.0, 85.0, 70.0),
    MAP_PART: (85.0, 65.0, 51.0),
}
#: About a part so much stays free (mm); free places are looked for so finely.
_ROOM, _STEP = 3.0, 5.0

PartSize = Callable[[str, float], tuple[float, float]]


class PlacedPart(NamedTuple):
    """A part of what the first page says, in free room of a page.

    Attributes:
        kind: which.
        page: the page.
        box: where it lies on the sheet.
    """

    kind: str
    page: Place
    box: Box


def placed_parts(
    tiling: Tiling, pages: Sequence[Place], pieces: Sequence[PaperPiece], size_of: PartSize
) -> tuple[PlacedPart, ...] | None:
    """Return where all parts lie in room that pieces leave free, or None where there is too little.

    Beside the pieces if they can, else within them: what is in no line's way.

    Args:
        tiling: how the sheet is divided.
        pages: the pages that there are.
        pieces: the pieces, where they lie on the sheet.
        size_of: returns a part's width and height, by its kind and the width that it has.
    """
    clear = Clearings(
        [chain for piece in pieces for line in piece.lines for chain, _ in line.chains]
    )
    for piece in pieces:
        for text in piece.texts:
            clear.add_about(text_corners(text))
    outlines = [flattened(chain, 8) for piece in pieces for chain in piece.outline]
    found: list[PlacedPart] = []
    for kind in PARTS:
        sizes = dict.fromkeys(size_of(kind, width) for width in WIDTHS[kind])
        part = _place(
            kind, sizes, [(p, _own_room(tiling, p, pages)) for p in pages], clear, outlines
        )
        if part is None:
            return None
        found.append(part)
        clear.add_about(part.box.corners)
    return tuple(found)


def _own_room(tiling: Tiling, place: Place, pages: Sequence[Place]) -> Box:
    """Return what a page shows, without the strips that it shares with others."""
    shown, strip = tiling.shown(place), tiling.overlap
    row, column = place
    return Box(
        shown.left + (strip if Place(row, column - 1) in pages else 0.0) + _ROOM,
        shown.top + (strip if Place(row - 1, column) in pages else 0.0) + _ROOM,
        shown.right - (strip if Place(row, column + 1) in pages else 0.0) - _ROOM,
        shown.bottom - (strip if Place(row + 1, column) in pages else 0.0) - _ROOM,
    )


def _place(
    kind: str,
    sizes: Iterable[tuple[float, float]],
    rooms: Sequence[tuple[Place, Box]],
    clear: Clearings,
    outlines: Sequence[Sequence[complex]],
) -> PlacedPart | None:
    within: PlacedPart | None = None
    for place, room in rooms:
        for size in sizes:
            for corner in _free_corners(room, size, clear):
                box = Box(corner.real, corner.imag, corner.real + size[0], corner.imag + size[1])
                part = PlacedPart(kind, place, box)
                if not any(encloses(outline, box.centre) for outline in outlines):
                    return part
                within = within or part
                break
    return within


def _free_corners(room: Box, size: tuple[float, float], clear: Clearings) -> Iterator[complex]:
    """Yield where a rectangle may lie in a room, its upper left corner."""
    half, high = size[0] / 2 + _ROOM, size[1]
    y = room.top
    while y + high <= room.bottom:
        x = room.left
        while x + size[0] <= room.right:
            middle = complex(x + size[0] / 2, y)
            if clear.is_free(middle, 1 + 0j, half, _ROOM, high + _ROOM):
                yield complex(x, y)
            x += _STEP
        y += _STEP
