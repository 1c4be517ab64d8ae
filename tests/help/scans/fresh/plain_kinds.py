"""Plain scans, and what every other kind begins with: a hand, a scanner, an outline, an apex."""

from __future__ import annotations

import math
import random

import numpy as np

from tests.help.scans.fresh.lines import Line, line, rigid
from tests.help.scans.fresh.pieces import PIECE_KINDS, Piece, random_piece
from tests.help.scans.fresh.sheets import (
    Hand,
    Map,
    Mark,
    Scanning,
    Sheet,
    Stroke,
    drawn,
    outline_strokes,
    some_words,
)

TRACINGS = ((), ("--flat",), ("--opaque",), ("--group",), ("-O", "0.5"), ("--flat", "-a", "0.8"))
#: Fewer dots than this across a pen line, and the scanner breaks it.
_LEAST_DOTS = 2.4
INCH = 25.4


def some_scanning(rng: random.Random, piece: Piece) -> Scanning:
    """Return a scanner as most are."""
    size = float(np.ptp(piece.line.real) * np.ptp(piece.line.imag))
    dpi = rng.choice((100.0, 150.0, 150.0, 200.0) if size < 1.6e5 else (100.0, 120.0, 150.0))
    if size < 6e4 and rng.random() < 0.4:
        dpi = 300.0
    return Scanning(
        dpi=dpi,
        noise=rng.uniform(4.0, 16.0),
        blur=rng.uniform(0.5, 0.9),
        threshold=rng.uniform(120.0, 165.0),
        specks=rng.randrange(0, 120),
        options=rng.choice(TRACINGS),
        is_to_scale=rng.random() < 0.5,
    )


def some_hand(rng: random.Random, scanning: Scanning, *, thickest: float = 1.2) -> Hand:
    """Return a hand with a pen that a scanner shows unbroken."""
    least = max(0.3, _LEAST_DOTS * INCH / scanning.dpi)
    return Hand(rng.uniform(0.0, 0.22), rng.uniform(least, max(least, thickest)))


def apex_sign(rng: random.Random, sheet: Sheet, at: complex, pen: float) -> None:
    """Draw a small cross or a dot."""
    if rng.random() < 0.5:
        half = rng.uniform(1.5, 2.5)
        sheet.strokes.append(Stroke(line(at - half, at + half), pen))
        sheet.strokes.append(Stroke(line(at - half * 1j, at + half * 1j), pen))
    else:
        sheet.strokes.append(Stroke(line(at, at + 0.01), rng.uniform(1.5, 2.2)))


def signed_apexes(rng: random.Random, sheet: Sheet, piece: Piece, pen: float) -> None:
    """Draw the signs of apexes that lie beyond their darts' points."""
    for dart in piece.darts:
        if abs(dart.apex - dart.point) > 8.0:
            apex_sign(rng, sheet, dart.apex, min(pen, 0.7))


def begun(
    rng: random.Random,
    *,
    kinds: tuple[str, ...] = PIECE_KINDS,
    darts: tuple[int, ...] = (0, 1, 1, 1, 2),
    own: bool = False,
    thickest: float = 1.0,
) -> tuple[Sheet, Piece, Hand]:
    """Return an empty sheet with the truth of one piece, the piece, and who draws it."""
    piece = random_piece(rng, kinds=kinds, darts=darts, own=own)
    scanning = some_scanning(rng, piece)
    return Sheet([piece], scanning=scanning), piece, some_hand(rng, scanning, thickest=thickest)


def plain(rng: random.Random) -> Sheet:
    """Return a plain scan: lines, silhouettes, creases, coarse, mirrored, photographed."""
    sheet, piece, hand = begun(rng, thickest=1.2)
    kind = rng.choice(("lines", "lines", "silhouette", "creases", "coarse", "mirrored", "photo"))
    if kind == "coarse":
        sheet.scanning.dpi = 75.0
        hand = Hand(hand.wobble, rng.uniform(0.8, 1.2))
    sheet.detail = f"{kind}, {piece.kind}"
    if kind == "silhouette":
        sheet.fills.append(piece.fine_line)
        return sheet
    over = rng.choice((0.0, 0.0, rng.uniform(0.0, 2.5)))
    sheet.strokes += outline_strokes(rng, piece, hand, over=over)
    signed_apexes(rng, sheet, piece, hand.pen)
    if kind != "photo":
        some_words(rng, sheet, piece, rng.randrange(3))
    if kind == "creases":
        sheet.scanning.creases = rng.randrange(1, 5)
        sheet.scanning.smudges = rng.randrange(0, 4)
        sheet.scanning.specks = rng.randrange(100, 1500)
    sheet.is_mirrored = kind == "mirrored"
    if kind == "photo":
        photographed(rng, sheet, A4)
    return sheet


A4 = (210.0, 297.0)


def middle_of(points: Line) -> complex:
    """Return the middle of the box about points."""
    return complex(
        (points.real.min() + points.real.max()) / 2, (points.imag.min() + points.imag.max()) / 2
    )


def perspective(rng: random.Random, middle: complex, tilt: float, camera: float = 1200.0) -> Map:
    """Return what a tilted camera sees: from mm of the sheet to mm of the picture."""
    down, across = (math.radians(rng.choice((-1, 1)) * rng.uniform(0.3, 1.0) * tilt) for _ in "xy")
    about_y = np.array([[math.cos(down), 0, math.sin(down)], [0, 1, 0],
                        [-math.sin(down), 0, math.cos(down)]])  # fmt: skip
    about_x = np.array([[1, 0, 0], [0, math.cos(across), -math.sin(across)],
                        [0, math.sin(across), math.cos(across)]])  # fmt: skip
    frame = about_y @ about_x

    def seen(points: Line) -> Line:
        away = points - middle
        x, y, depth = frame @ np.array([away.real, away.imag, np.zeros(len(away))])
        return np.asarray((x + 1j * y) * (camera / (camera + depth)) + middle)

    return seen


def rectangle_at(corner: complex, sides: tuple[float, float], turn: complex) -> Line:
    """Return the corners of a rectangle of such sides, turned about its first corner."""
    width, height = sides
    return corner + turn * np.array([0, width, complex(width, height), 1j * height])


def plane_map(corners: Line, wanted: Line) -> Map:
    """Return the map of a photo's plane that takes four points to four others."""
    rows, values = [], []
    for u, v in zip(corners, wanted, strict=True):
        rows += [
            [u.real, u.imag, 1, 0, 0, 0, -v.real * u.real, -v.real * u.imag],
            [0, 0, 0, u.real, u.imag, 1, -v.imag * u.real, -v.imag * u.imag],
        ]
        values += [v.real, v.imag]
    m = np.append(np.linalg.solve(np.array(rows), np.array(values)), 1.0).reshape(3, 3)

    def to(points: Line) -> Line:
        x, y, w = m @ np.array([points.real, points.imag, np.ones(len(points))])
        return np.asarray((x + 1j * y) / w)

    return to


def _misled(corners: Line, set_by_hand: Line, points: Line) -> float:
    """Return how far points are off by corners that a hand has set, at the most (mm)."""
    moved = plane_map(set_by_hand, corners)(points)
    factor, offset = rigid(points, moved, np.ones(len(points)))
    return float(np.abs(points * factor + offset - moved).max())


def photographed(
    rng: random.Random, sheet: Sheet, sides: tuple[float, float], *, is_drawn: bool = False
) -> None:
    """Lay a known rectangle on or beside a piece and take a photo from a tilted camera.

    Args:
        rng: where chance comes from.
        sheet: gets the mark, the rectangle's edges where it is drawn, and the view.
        sides: of the rectangle, in mm.
        is_drawn: whether its edges show, beside the piece.
    """
    points = sheet.all_points()
    middle = middle_of(points)
    turn = complex(np.exp(1j * math.radians(rng.uniform(-8, 8))))
    corner = middle - turn * complex(*sides) / 2
    if is_drawn:
        corner = complex(points.real.max() + 45.0, middle.imag - sides[1] / 2)
    corners = rectangle_at(corner, sides, turn)
    if is_drawn:
        closed = np.append(corners, corners[0])
        sheet.strokes += [drawn(rng, closed[k : k + 2], Hand(0.0, 0.5)) for k in range(4)]
    jitter = np.array([complex(rng.uniform(-0.3, 0.3), rng.uniform(-0.3, 0.3)) for _ in corners])
    # A hand sets the corners as truly as the piece needs it: more nobody could tell of the photo.
    while _misled(corners, corners + jitter, points) > 0.45:
        jitter *= 0.7
    label = f"known rectangle {sides[0]:g}x{sides[1]:g}mm"
    sheet.marks.append(Mark(label, corners + jitter, is_closed=True))
    # The camera stands over the sheet as it lies in the end: see `laid_out`.
    sheet.margin += 60.0
    reach = complex(np.ptp(points.real), np.ptp(points.imag)) / 2 + sheet.margin * (1 + 1j)
    sheet.view = perspective(rng, reach, rng.uniform(4.0, 15.0), 1100.0 + abs(reach))
