"""Photos through a lens that bends straight lines, with something in them that is known."""

from __future__ import annotations

import random

import numpy as np

from tests.help.scans.fresh.lines import Line, line
from tests.help.scans.fresh.plain_kinds import (
    A4,
    begun,
    middle_of,
    perspective,
    rectangle_at,
    signed_apexes,
)
from tests.help.scans.fresh.sheets import Map, Mark, Sheet, Stroke, outline_strokes


def lens(middle: complex, reach: float, share: float) -> Map:
    """Return what a lens makes of a picture: at its reach, points are off by a share of it.

    Args:
        middle: of the picture.
        reach: half of its diagonal.
        share: positive for pincushion, negative for barrel.
    """

    def bent(points: Line) -> Line:
        away = points - middle
        return np.asarray(middle + away * (1.0 + share * (np.abs(away) / reach) ** 2))

    return bent


def lens_photo(rng: random.Random) -> Sheet:
    """Return a photo with barrel or pincushion distortion and a rectangle or a grid in it."""
    sheet, piece, hand = begun(rng, kinds=("front", "back", "skirt", "sleeve", "yoke"), own=True,
                               thickest=0.8)  # fmt: skip
    sheet.strokes += outline_strokes(rng, piece, hand)
    signed_apexes(rng, sheet, piece, hand.pen)
    points = sheet.all_points()
    box = complex(np.ptp(points.real), np.ptp(points.imag))
    what = rng.choice(("A4 beside", "board about", "board about", "grid beside", "grid beside"))
    turn = complex(np.exp(1j * rng.uniform(-0.03, 0.03)))
    if what == "board about":
        sides = (float(50 * np.ceil(box.real / 50 + 1)), float(50 * np.ceil(box.imag / 50 + 1)))
        corners = rectangle_at(middle_of(points) - complex(*sides) / 2, sides, 1 + 0j)
    elif what == "A4 beside":
        sides = A4
        corner = complex(points.real.max() + 30, middle_of(points).imag - sides[1] / 2)
        corners = rectangle_at(corner, sides, turn)
    else:
        square = rng.choice((20.0, 25.0, 50.0))
        count = complex(round(200 / square), round(250 / square))
        sides = (count.real * square, count.imag * square)
        corner = complex(points.real.max() + 30, middle_of(points).imag - sides[1] / 2)
        corners = rectangle_at(corner, sides, turn)
        _grid(sheet, corners, count, hand.pen)
    if what != "grid beside":
        closed = np.append(corners, corners[0])
        sheet.strokes += [Stroke(line(*closed[k : k + 2]), hand.pen) for k in range(4)]
    label = f"known rectangle {sides[0]:g}x{sides[1]:g}mm"
    if what == "grid beside":
        label = f"known grid {square:g}mm"
    jitter = [complex(rng.uniform(-0.2, 0.2), rng.uniform(-0.2, 0.2)) for _ in corners]
    sheet.marks.append(Mark(label, corners + np.array(jitter), is_closed=True))
    share = rng.choice((-1, 1)) * rng.uniform(0.003, 0.02)
    tilt = rng.choice((0.0, rng.uniform(3.0, 10.0)))
    sheet.detail = f"{what}, {share:+.1%}, tilt {tilt:.0f}, {piece.kind}"
    _seen(rng, sheet, share, tilt)
    return sheet


def _grid(sheet: Sheet, corners: Line, count: complex, pen: float) -> None:
    first, second, _third, fourth = corners
    across, down = second - first, fourth - first
    for k in range(int(count.real) + 1):
        start = first + across * k / count.real
        sheet.strokes.append(Stroke(line(start, start + down), min(pen, 0.6)))
    for k in range(int(count.imag) + 1):
        start = first + down * k / count.imag
        sheet.strokes.append(Stroke(line(start, start + across), min(pen, 0.6)))


def _seen(rng: random.Random, sheet: Sheet, share: float, tilt: float) -> None:
    points = sheet.all_points()
    sheet.askew = 2.0
    sheet.margin += 25.0 + 30.0 * bool(tilt)
    box = complex(np.ptp(points.real), np.ptp(points.imag)) + 2 * sheet.margin * (1 + 1j)
    # The sheet may come to lie on its side: see `laid_out`.
    tilted = perspective(rng, box / 2, tilt, 1200.0 + abs(box)) if tilt else None

    def seen(drawn_points: Line) -> Line:
        flat = tilted(drawn_points) if tilted else drawn_points
        return lens(box / 2, abs(box) / 2, share)(flat)

    sheet.view = seen
