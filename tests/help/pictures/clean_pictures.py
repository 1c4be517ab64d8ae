"""The pictures of the clean-up's dialog, which `dialog_pictures` makes with the others."""

from __future__ import annotations

import cmath
import math
import random
from collections.abc import Callable, Sequence

from drafting_core.ink.rectify import rectangle_map
from drafting_core.plane.curves import Segment
from tests.help.pictures.picture_canvas import FAINT, INK, NEW, Canvas, To, xy
from tests.help.pictures.picture_front import block_lines, front, scaled
from tests.help.scans.scanned_blocks import wobbled

#: The pen, and the white between the two contours that tracing makes of its edges (pixels).
PEN, BETWEEN = 5.2, 3.2
#: How much longer the hand's waves are than on a block of true size: in small they would be lace.
WAVES = 2.2
APEX, DART_POINT = 95 + 205j, 95 + 230j
FOOT = 0 + 400j
FOLD = "8 2 1 2"
#: Paper that is known, its corners in the block's mm, in order round it.
PAPER = (-60 - 40j, 290 - 40j, 290 + 455j, -60 + 455j)


def stroke(segment: Segment, step: float = 4.0) -> list[complex]:
    """Return points along a segment, so close that a hand can wobble between them."""
    count = max(2, round(abs(segment.end - segment.start) / step))
    return [segment.point(k / count) for k in range(count + 1)]


def strokes(wobble: float, seed: int) -> list[list[complex]]:
    """Return the front as an unsteady hand draws it: a stroke for every line."""
    rng = random.Random(seed)
    lines = [[z / WAVES for z in stroke(segment)] for segment in block_lines(front())]
    return [[z * WAVES for z in wobbled(rng, line, wobble / WAVES)] for line in lines]


def two_edges(
    canvas: Canvas, lines: Sequence[Sequence[complex]], pen: float = PEN, between: float = BETWEEN
) -> None:
    """Draw pen lines as tracing leaves them: both their edges, and white between."""
    for ink, width in ((INK, pen), ("#ffffff", between)):
        for line in lines:
            canvas.through(line, ink, width)


def becomes(canvas: Canvas, start: complex, length: float = 26.0) -> None:
    """Draw the arrow from what is given to what comes of it."""
    tip = start + length
    canvas.line(start, tip, FAINT, 2)
    canvas.through((tip - 7 - 6j, tip + 1, tip - 7 + 6j), FAINT, 2)


def nodes(canvas: Canvas, places: Sequence[complex]) -> None:
    """Draw the few nodes of a clean line."""
    for z in places:
        canvas.through(
            (z - 2.4 - 2.4j, z + 2.4 - 2.4j, z + 2.4 + 2.4j, z - 2.4 + 2.4j),
            NEW, 1.2, "#ffffff", closed=True,
        )  # fmt: skip


def clean_front(canvas: Canvas, to: To, ink: str = INK) -> None:
    """Draw the clean block."""
    canvas.path(block_lines(front()), to, ink, 1.4, closed=True)


def right_angle(canvas: Canvas, at: complex, size: float = 9.0) -> None:
    """Draw the sign of a right angle at an upright line's foot."""
    canvas.through((at - size * 1j, at + size * (1 - 1j), at + size), NEW, 1.4)
    canvas.dot(at + size * (0.5 - 0.5j), NEW, 1.2)


def line() -> Canvas:
    """A pen line with two edges, a gap, specks and a word; the thin line that comes of it."""
    canvas = Canvas()
    to, beside = scaled(0.32, 70 + 11j), scaled(0.32, 290 + 11j)
    drawn = [[to(z) for z in points] for points in strokes(7, 5)]
    side = drawn[3]
    cut = len(side) // 2
    drawn[3:4] = [side[: cut - 5], [z + 1.5 for z in side[cut + 5 :]]]
    two_edges(canvas, drawn)
    canvas.cross(to(APEX), INK, 4)
    for z in (40 + 60j, 52 + 118j, 122 + 60j, 158 + 30j, 163 + 96j, 82 + 74j, 60 + 20j):
        canvas.dot(z, INK, 1.1)
    scribble = " q 2,-9 4,0 q 1,4 3,0" * 4
    canvas.raw(f"M {xy(to(55 + 105j))}{scribble}", INK, 1.4)
    becomes(canvas, 198 + 75j, 40)
    clean_front(canvas, beside)
    nodes(canvas, [beside(segment.start) for segment in block_lines(front())])
    canvas.cross(beside(APEX), NEW, 5)
    return canvas


def block() -> Canvas:
    """A block that lies askew, turned upright; a whole front, and its half on the fold."""
    canvas = Canvas()
    turn = cmath.exp(1j * math.radians(9))
    askew, upright = scaled(0.25 * turn, 26 + 18j), scaled(0.25, 128 + 22j)
    two_edges(canvas, [[askew(z) for z in points] for points in strokes(4.5, 5)], 4.2, 2.4)
    becomes(canvas, 95 + 80j, 18)
    clean_front(canvas, upright)
    right_angle(canvas, upright(FOOT))
    canvas.line(202 + 12j, 202 + 138j, FAINT, 1.0, "2 4")
    for mirrored in (False, True):
        half = [
            [0.25 * (-z.conjugate() if mirrored else z) + 277 + 22j for z in points]
            for points in strokes(4.5, 7 + mirrored)[:-1]
        ]
        two_edges(canvas, half, 4.2, 2.4)
    fold = scaled(0.25, 277 + 22j)
    canvas.line(fold(50j), fold(430j), NEW, 1.0, FOLD)
    becomes(canvas, 345 + 80j, 16)
    kept = scaled(0.25, 371 + 22j)
    clean_front(canvas, kept)
    for x in (-3.0, 0.0):
        canvas.line(kept(80j) + x, kept(400j) + x, NEW, 1.0, FOLD)
    return canvas


def scale() -> Canvas:
    """A ruler with a line over a known length; a sheet's four corners in a photo, made true."""
    canvas = Canvas()
    to = scaled(0.27, 14 + 18j)
    two_edges(canvas, [[to(z) for z in points] for points in strokes(4.5, 5)], 4.2, 2.4)
    canvas.through(
        (100 + 18j, 120 + 18j, 120 + 130j, 100 + 130j), FAINT, 1.2, "#f5f7f9", closed=True
    )
    for step in range(11):
        y = (24 + 10 * step) * 1j
        canvas.line(100 + y, 105 + 5 * (step % 5 == 0) + y, FAINT)
    canvas.dimension(131 + 24j, 131 + 124j)
    canvas.line(156 + 12j, 156 + 138j, FAINT, 1.0, "2 4")
    canvas.through(
        (176 + 10j, 310 + 10j, 310 + 140j, 176 + 140j), FAINT, 1.2, "#e5e7eb", closed=True
    )
    corners = (208 + 26j, 282 + 32j, 300 + 124j, 188 + 132j)
    flat = rectangle_map(corners, 350, 495)
    photo = flat.inverse
    canvas.through(corners, FAINT, 1.2, "#ffffff", closed=True)
    start = flat.at(corners[0])
    way = (flat.at(corners[1]) - start) / abs(flat.at(corners[1]) - start)

    def seen(z: complex) -> complex:
        return photo.at(start + way * (z - PAPER[0]))

    for points in strokes(4.5, 5):
        canvas.through([seen(z) for z in points], INK, 1.8)
    canvas.through(corners, NEW, 1.2, closed=True)
    for z in corners:
        canvas.dot(z, NEW, 3.6)
    becomes(canvas, 317 + 75j, 18)
    true = scaled(0.235, 362 + 28j)
    canvas.through([true(z) for z in PAPER], NEW, 1.4, closed=True)
    canvas.path(block_lines(front()), true, INK, 1.4, closed=True)
    for z in PAPER:
        at = true(z)
        inward = complex(1 if z.real < 0 else -1, 1 if z.imag < 0 else -1) * 7
        canvas.through((at + inward.real, at + inward, at + inward.imag * 1j), NEW, 1.0)
    return canvas


def report() -> Canvas:
    """The trace beside the clean line, rings where it strays most, and the report of it."""
    canvas = Canvas()
    to = scaled(0.32, 90 + 11j)
    drawn = [[to(z) for z in points] for points in strokes(9, 5)]
    for points in drawn:
        canvas.through(points, FAINT, 2.6)
    clean_front(canvas, to)
    for number in (0, 2, 3, 8):
        segment = block_lines(front())[number]
        middle = to(segment.point(0.5))
        canvas.through([middle + cmath.rect(6, k * math.pi / 12) for k in range(24)], NEW, 1.4,
                       closed=True)  # fmt: skip
    becomes(canvas, 205 + 75j, 40)
    canvas.through((270 + 20j, 340 + 20j, 360 + 40j, 360 + 130j, 270 + 130j), INK, 1.4, "#ffffff",
                   closed=True)  # fmt: skip
    canvas.through((340 + 20j, 340 + 40j, 360 + 40j), INK, 1.4)
    for row in range(5):
        y = (54 + 15 * row) * 1j
        canvas.line(280 + y, 300 + y, FAINT, 2.4)
        canvas.line(308 + y, 350 - 8 * (row % 3) + y, NEW, 2.4)
    return canvas


ALL: dict[str, Callable[[], Canvas]] = {
    "clean_line": line,
    "clean_block": block,
    "clean_scale": scale,
    "clean_report": report,
}
