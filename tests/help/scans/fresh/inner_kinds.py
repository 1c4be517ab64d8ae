"""What else is drawn on a piece: pockets, buttons, balance lines, grain arrows, letters."""

from __future__ import annotations

import cmath
import itertools
import math
import random

import numpy as np
from shapely import LineString

from tests.help.scans.fresh.lines import Line, along, lengths, line
from tests.help.scans.fresh.pieces import Piece
from tests.help.scans.fresh.plain_kinds import begun, signed_apexes
from tests.help.scans.fresh.sheets import (
    Hand,
    Sheet,
    Stroke,
    drawn,
    drawn_dashed,
    outline_strokes,
    places_inside,
    polygon,
    some_words,
)


def _pocket(rng: random.Random, sheet: Sheet, at: complex, hand: Hand) -> None:
    width, height = rng.uniform(40, 70), rng.uniform(45, 75)
    tip = rng.choice((0.0, rng.uniform(8, 16)))
    turn = cmath.exp(1j * rng.uniform(-0.15, 0.15))
    corners = [complex(-width, -height), complex(width, -height), complex(width, height - tip)]
    corners += [complex(0, height)] if tip else []
    corners += [complex(-width, height - tip), complex(-width, -height)]
    for a, b in itertools.pairwise(corners):
        sheet.strokes.append(drawn(rng, at + turn * line(a, b) / 2, hand))


def _buttons(rng: random.Random, sheet: Sheet, piece: Piece, hand: Hand) -> None:
    points = piece.line
    x = points.real.min() + rng.uniform(10.0, 16.0)
    whole = polygon(points).buffer(-5.0)
    top, bottom = points.imag.min() + 100.0, points.imag.max() - 25.0
    for y in np.arange(top, bottom, rng.uniform(45, 80)):
        cross = LineString([(x - 2.5, y), (x + 2.5, y)])
        if whole.contains(cross):
            sheet.strokes.append(Stroke(line(complex(x - 2.5, y), complex(x + 2.5, y)), hand.pen))
            sheet.strokes.append(Stroke(line(complex(x, y - 2.5), complex(x, y + 2.5)), hand.pen))


def without_darts(piece: Piece) -> Line:
    """Return a piece's outline with the mouths of its darts drawn straight across."""
    return np.concatenate([run.points for run in piece.runs if not run.is_leg])


def balance_line(rng: random.Random, sheet: Sheet, piece: Piece, hand: Hand) -> str:
    """Draw a line across the whole piece, touching its outline or not; return what it does."""
    whole = polygon(without_darts(piece))
    left, top, right, bottom = whole.bounds
    across = rng.random() < 0.7
    for _ in range(60):
        if across:
            y = rng.uniform(top + 0.2 * (bottom - top), bottom - 0.15 * (bottom - top))
            ray = LineString([(left - 9, y), (right + 9, y + rng.uniform(-4, 4))])
        else:
            x = rng.uniform(left + 0.2 * (right - left), right - 0.2 * (right - left))
            ray = LineString([(x, top - 9), (x + rng.uniform(-4, 4), bottom + 9)])
        met = ray.intersection(whole)
        if met.geom_type == "LineString" and met.length > 60:
            break
    else:
        return "no line"
    ends = np.array([complex(x, y) for x, y in met.coords])
    how = rng.choice(("touching", "short", "beyond"))
    inset = {"touching": 0.0, "short": rng.uniform(3.0, 6.0), "beyond": -rng.uniform(2, 5)}[how]
    step = (ends[-1] - ends[0]) / abs(ends[-1] - ends[0]) * inset
    points = line(complex(ends[0] + step), complex(ends[-1] - step))
    if rng.random() < 0.3:
        sheet.strokes += drawn_dashed(rng, points, hand, rng.uniform(4, 10), rng.uniform(2, 4))
    else:
        sheet.strokes.append(drawn(rng, points, hand))
    return f"balance {how}"


def _grain(rng: random.Random, sheet: Sheet, piece: Piece, at: complex, hand: Hand) -> None:
    half = rng.uniform(25, 55) * cmath.exp(1j * (math.pi / 2 + rng.uniform(-0.02, 0.02)))
    inner = LineString([((at - half).real, (at - half).imag), ((at + half).real, (at + half).imag)])
    if not polygon(piece.line).buffer(-6.0).contains(inner):
        return
    sheet.strokes.append(drawn(rng, line(at - half, at + half), hand))
    for end, way in ((at - half, half), (at + half, -half)):
        barb = way / abs(way) * 7.0
        for turn in (0.45, -0.45):
            sheet.strokes.append(drawn(rng, line(end, end + barb * cmath.exp(1j * turn)), hand))


def _marks_on_seams(rng: random.Random, sheet: Sheet, piece: Piece, hand: Hand) -> None:
    """Draw short marks across the outline, as balance notches are drawn on paper."""
    for run in piece.runs:
        whole = float(lengths(run.points)[-1])
        if run.is_leg or whole < 70 or rng.random() < 0.5:
            continue
        place = rng.uniform(0.3, 0.7) * whole
        before, at, after = along(run.points, [place - 1.0, place, place + 1.0])
        inward = 1j * (after - before) / abs(after - before)
        size = rng.uniform(4.0, 8.0)
        out = rng.choice((0.0, 0.4)) * size
        ends = line(complex(at - inward * out), complex(at + inward * size))
        sheet.strokes.append(drawn(rng, ends, hand))


INNER = ("pocket", "buttons", "balance", "grain", "letters", "seam marks")


def with_inner_lines(
    rng: random.Random, sheet: Sheet, piece: Piece, hand: Hand, what: list[str]
) -> None:
    """Draw inner lines of the sorts that are named, some of `INNER`."""
    thin = Hand(hand.wobble, hand.pen * rng.uniform(0.7, 1.0))
    for sort in what:
        said = sort
        if sort == "pocket":
            at = places_inside(rng, piece, 55.0)
            if at is None:
                continue
            _pocket(rng, sheet, at, thin)
        elif sort == "buttons":
            _buttons(rng, sheet, piece, thin)
        elif sort == "balance":
            said = balance_line(rng, sheet, piece, thin)
        elif sort == "grain":
            at = places_inside(rng, piece, 30.0)
            if at is not None:
                _grain(rng, sheet, piece, at, thin)
        elif sort == "seam marks":
            _marks_on_seams(rng, sheet, piece, thin)
        else:
            some_words(rng, sheet, piece, 3)
        sheet.detail += f"{said}, "


def inner_lines(rng: random.Random) -> Sheet:
    """Return a sheet with lines within the outline."""
    sheet, piece, hand = begun(rng, thickest=0.8)
    sheet.strokes += outline_strokes(rng, piece, hand)
    signed_apexes(rng, sheet, piece, hand.pen)
    with_inner_lines(rng, sheet, piece, hand, rng.sample(INNER, rng.choice((1, 2, 2, 3))))
    sheet.detail += piece.kind
    return sheet
