"""The pictures of the dialogs that print, which `dialog_pictures` makes with the others."""

from __future__ import annotations

from collections.abc import Callable

from drafting_core.block.target_words import targets_in_words
from drafting_core.finished.draft import move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.settings import Settings
from tests.help.pictures.picture_canvas import FAINT, INK, NEW, SHADE, Canvas, To
from tests.help.pictures.picture_front import front, scaled

STITCH, FOLD, WINDOW = "5 2.5", "8 2 1 2", "1.5 1.5"


def moved(to: str = "side seam:0.35") -> Draft:
    return move_dart(front(), Settings(), targets_in_words(to))


def rectangle(
    canvas: Canvas, at: complex, width: float, height: float, ink: str = INK, fill: str = "none"
) -> None:
    corners = (at, at + width, at + complex(width, height), at + 1j * height)
    canvas.through(corners, ink, 1.2, fill, closed=True)


def mark(canvas: Canvas, at: complex, arm: float = 4.0) -> None:
    canvas.through((at - arm, at - 1j * arm, at + arm, at + 1j * arm), NEW, 1.2, closed=True)
    canvas.line(at - arm, at + arm, NEW)
    canvas.line(at - 1j * arm, at + 1j * arm, NEW)


def printed(canvas: Canvas, draft: Draft, to: To) -> None:
    canvas.path(draft.cut_line, to, width=1.6, closed=True)
    canvas.path(draft.stitch_line, to, dash=STITCH, closed=True)


def pages() -> Canvas:
    """A piece on four pages that overlap, with the marks on which they meet; and a roll."""
    canvas = Canvas()
    width, height, strip = 62.0, 76.0, 9.0
    corner = 96 - 1j
    for row in range(2):
        for column in range(2):
            at = corner + complex(column * (width - strip), row * (height - strip)) + 4j
            rectangle(canvas, at, width, height, FAINT)
    printed(canvas, moved(), scaled(0.29, corner + 28 + 12j))
    joint = corner + complex(width - strip / 2, 4)
    for y in (20.0, 118.0):
        mark(canvas, joint + 1j * y)
    across = corner + complex(0, height - strip / 2 + 4)
    for x in (20.0, 96.0):
        mark(canvas, across + x)
    rectangle(canvas, 268 + 12j, 110.0, 126.0, FAINT)
    canvas.through((268 + 12j, 268 + 2j, 378 + 2j, 378 + 12j), FAINT, 1.2)
    printed(canvas, moved(), scaled(0.27, 292 + 22j))
    return canvas


def pieces() -> Canvas:
    """A mirrored pair; a half on the fold, and opened out."""
    canvas = Canvas()
    draft = moved()
    for at, side, scale in ((20, 1, 0.27), (166, -1, 0.27), (222, 1, 0.24), (370, 1, 0.24)):
        printed(canvas, draft, sided(complex(at, 24), side, scale))
    printed(canvas, draft, sided(370 + 24j, -1, 0.24))
    canvas.line(93 + 14j, 93 + 140j, FAINT, 1.2, "2 3")
    to = scaled(0.24, 222 + 24j)
    canvas.line(to(-14 + 70j), to(-14 + 412j), NEW, 3.0, FOLD)
    canvas.through((to(-10 + 130j), to(26 + 130j), to(26 + 350j), to(-10 + 350j)), NEW, 1.2)
    return canvas


def sided(at: complex, side: int, scale: float) -> To:
    """Return the map to a place, mirrored for the side -1."""
    return lambda z: at + complex(side * scale * z.real, scale * z.imag)


def lines() -> Canvas:
    """One sample of every kind of line, beside the piece that has them."""
    canvas = Canvas()
    draft = moved("neckline/centre front")
    to = scaled(0.31, 60 + 12j)
    printed(canvas, draft, to)
    for item in draft.darts:
        canvas.path(item.dart.centre_line, to, NEW, 1.2, FOLD)
        if item.window:
            canvas.path(item.window, to, NEW, 1.2, WINDOW, closed=True)
    for k, (ink, width, dash) in enumerate(
        ((INK, 1.8, ""), (INK, 1.1, STITCH), (NEW, 1.1, FOLD), (NEW, 1.1, WINDOW))
    ):
        y = 30.0 + 30.0 * k
        rectangle(canvas, complex(236, y - 7), 14, 14, FAINT, SHADE if k != 3 else "none")
        if k != 3:
            canvas.through((complex(239, y), complex(242, y + 4), complex(247, y - 4)), NEW, 2.0)
        canvas.line(complex(268, y), complex(388, y), ink, width, dash)
    return canvas


def machine() -> Canvas:
    """Pages become a file; and the hairline, slits and holes that a machine follows."""
    canvas = Canvas()
    for k in range(3):
        rectangle(canvas, complex(60 + 10 * k, 24 + 10 * k), 58, 78, FAINT, "#ffffff")
    canvas.arrow(150 + 75j, 190 + 75j)
    to = scaled(0.3, 262 + 14j)
    draft = moved()
    canvas.path(draft.cut_line, to, NEW, 0.8, closed=True)
    for notch in draft.notches:
        canvas.line(to(notch.start), to(notch.end), NEW, 0.8)
    for item in draft.darts:
        if item.drill_hole is not None:
            canvas.dot(to(item.drill_hole), NEW, 1.6)
    # The head that cuts.
    tip = to(draft.cut_line[0].start)
    canvas.through((tip, tip + 6 - 14j, tip - 6 - 14j), INK, 1.2, SHADE, closed=True)
    return canvas


ALL: dict[str, Callable[[], Canvas]] = {
    "paper": pages,
    "pieces": pieces,
    "lines": lines,
    "machine": machine,
}
