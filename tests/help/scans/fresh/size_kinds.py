"""Several sizes on one sheet: nested apart, touching, crossing, one line for a stretch."""

from __future__ import annotations

import random

import numpy as np

from tests.help.scans.fresh.lines import Line, along, lengths
from tests.help.scans.fresh.pieces import Piece, random_piece
from tests.help.scans.fresh.plain_kinds import middle_of, some_hand, some_scanning
from tests.help.scans.fresh.sheets import Hand, Sheet, drawn, drawn_dashed, polygon, some_words

NESTS = ("apart", "touching", "crossing", "one line", "shared corner")
_PATTERNS = ((0.0, 0.0), (9.0, 3.0), (4.0, 2.5), (14.0, 3.0), (2.5, 2.0))


def _fixed_point(rng: random.Random, piece: Piece, how: str) -> complex:
    """Return the point that stays where it is from size to size."""
    straight = [k for k, run in enumerate(piece.runs) if not run.is_leg and len(run.points) == 2]
    curved = [k for k, run in enumerate(piece.runs) if not run.is_leg and len(run.points) > 2]
    if how == "apart":
        inside = polygon(piece.line).representative_point()
        middle = middle_of(piece.line)
        return (
            middle
            if polygon(piece.line)
            .buffer(-20)
            .contains(polygon(middle + np.array([-1 - 1j, 1 - 1j, 1j])))
            else complex(inside.x, inside.y)
        )
    if how == "shared corner":
        return complex(piece.runs[rng.choice(straight or curved)].points[0])
    number = rng.choice((straight if how == "one line" else curved) or straight or curved)
    points = piece.runs[number].points
    share = rng.uniform(0.35, 0.65) * float(lengths(points)[-1])
    return complex(along(points, [share])[0])


def sizes(rng: random.Random) -> Sheet:
    """Return a sheet with two to five nested sizes of one piece."""
    how = rng.choice(NESTS)
    darts = (0,) if how == "crossing" else (0, 0, 1)
    piece = random_piece(rng, darts=darts, own=True)
    count = rng.choice((2, 3, 3, 4, 5))
    # The steps between sizes: 3 to 9 mm on the sides of a piece of 300 mm.
    step = rng.uniform(0.022, 0.05)
    across = step * (rng.choice((0.15, 0.3)) if how == "crossing" else 1.0)
    fixed = _fixed_point(rng, piece, how)
    graded = []
    for number in range(count):
        x, y = 1.0 + number * across, 1.0 + number * step

        def to(points: Line, x: float = x, y: float = y) -> Line:
            away = points - fixed
            return np.asarray(fixed + away.real * x + 1j * away.imag * y)

        graded.append(piece.mapped(to))
    scanning = some_scanning(rng, graded[-1])
    hand = some_hand(rng, scanning, thickest=0.5)
    sheet = Sheet(graded, scanning=scanning)
    has_dashes = rng.random() < 0.4
    for number, size in enumerate(graded):
        pattern = _PATTERNS[number % len(_PATTERNS)] if has_dashes else (0.0, 0.0)
        _draw_size(rng, sheet, size, Hand(hand.wobble * 0.5, hand.pen), pattern)
    some_words(rng, sheet, graded[0], rng.randrange(2))
    sheet.detail = (
        f"{count} sizes {how}{', dashes' if has_dashes else ''}, {piece.kind}, "
        f"{len(piece.darts)} darts"
    )
    return sheet


def _draw_size(
    rng: random.Random,
    sheet: Sheet,
    size: Piece,
    hand: Hand,
    pattern: tuple[float, float],
) -> None:
    """Draw one size; what runs in one line with the largest size is drawn there alone."""
    largest = sheet.pieces[-1]
    for k, (run, whole) in enumerate(zip(size.runs, largest.runs, strict=True)):
        is_shared = (
            size is not largest and len(run.points) == 2 and _lies_on(run.points, whole.points)
        )
        if is_shared:
            continue
        is_line_of_all = len(whole.points) == 2 and all(
            _lies_on(other.runs[k].points, whole.points) for other in sheet.pieces
        )
        if pattern[0] and not is_line_of_all:
            sheet.strokes += drawn_dashed(rng, run.points, hand, *pattern)
        else:
            sheet.strokes.append(drawn(rng, run.points, hand))


def _lies_on(points: Line, straight: Line) -> bool:
    """Tell whether both ends of a line lie on a straight one."""
    along_it = (straight[-1] - straight[0]) / abs(straight[-1] - straight[0])
    away = (points[[0, -1]] - straight[0]) / along_it
    length = abs(straight[-1] - straight[0])
    return bool(
        (np.abs(away.imag) < 0.05).all()
        and (away.real > -0.05).all()
        and (away.real < length + 0.05).all()
    )
