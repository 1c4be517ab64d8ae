"""What is drawn in and about darts: lines within, and how their points are drawn."""

from __future__ import annotations

import random

import numpy as np

from tests.help.scans.fresh.lines import Line, dense, line, longer
from tests.help.scans.fresh.pieces import Piece, TrueDart
from tests.help.scans.fresh.plain_kinds import begun, signed_apexes
from tests.help.scans.fresh.sheets import (
    Hand,
    Sheet,
    Stroke,
    Word,
    drawn,
    drawn_dashed,
    outline_strokes,
    some_words,
)

FILLINGS = ("fold solid", "fold dashed", "middle of legs", "hatching", "words", "fold and hatching")


def _mouth_closed(rng: random.Random, sheet: Sheet, dart: TrueDart, hand: Hand, how: str) -> None:
    middle = (dart.start + dart.end) / 2
    if how == "across":
        sheet.strokes.append(drawn(rng, line(dart.start, dart.end), hand))
    elif how == "cap":
        out = middle + (middle - dart.point) / abs(middle - dart.point) * abs(
            dart.end - dart.start
        ) * rng.uniform(0.1, 0.25)
        sheet.strokes.append(drawn(rng, line(dart.start, out, dart.end), hand))


def dart_filled(
    rng: random.Random, sheet: Sheet, dart: TrueDart, hand: Hand, what: str, how: str
) -> None:
    """Draw a mouth closed or leave it open, and draw into the dart.

    Args:
        rng: where chance comes from.
        sheet: gets the strokes.
        dart: the dart.
        hand: who draws.
        what: one of `FILLINGS`.
        how: how its mouth is drawn: "across", "cap" or "open".
    """
    _mouth_closed(rng, sheet, dart, hand, how)
    middle = (dart.start + dart.end) / 2
    thin = Hand(hand.wobble, hand.pen * rng.uniform(0.7, 1.0))
    if "fold" in what:
        touching = rng.random() < 0.6
        start = dart.point if touching else dart.point + (middle - dart.point) * 0.12
        end = middle if rng.random() < 0.6 else middle + (dart.point - middle) * 0.08
        if what == "fold dashed":
            on, off = rng.uniform(3.0, 8.0), rng.uniform(1.5, 4.0)
            sheet.strokes += drawn_dashed(rng, line(start, end), thin, on, off)
        else:
            sheet.strokes.append(drawn(rng, line(start, end), thin))
    if what == "middle of legs":
        share = rng.uniform(0.35, 0.65)
        ends = [end + (dart.point - end) * share for end in (dart.start, dart.end)]
        sheet.strokes.append(drawn(rng, line(*ends), thin))
    if "hatching" in what:
        short = rng.choice((0.0, rng.uniform(0.08, 0.2)))
        for share in np.arange(0.1, 0.72, rng.uniform(0.06, 0.12)):
            slant = rng.uniform(0.0, 0.05)
            a = dart.start + (dart.point - dart.start) * share
            b = dart.end + (dart.point - dart.end) * (share + slant)
            sheet.strokes.append(drawn(rng, line(a + (b - a) * short, b + (a - b) * short), thin))
    if what == "words":
        size = min(6.0, 0.22 * abs(dart.end - dart.start))
        if size > 1.8:
            text = rng.choice(("dart", "fold", "12", "up"))
            sheet.words.append(Word(text, middle + (dart.point - middle) * 0.15, size))


def dart_lines(rng: random.Random) -> Sheet:
    """Return a sheet with lines inside its darts, their mouths drawn across or open."""
    sheet, piece, hand = begun(rng, darts=(1, 1, 2), thickest=0.8)
    sheet.strokes += outline_strokes(rng, piece, hand)
    signed_apexes(rng, sheet, piece, hand.pen)
    what, how = rng.choice(FILLINGS), rng.choice(("across", "across", "cap", "open"))
    for dart in piece.darts:
        dart_filled(rng, sheet, dart, hand, what, how)
    some_words(rng, sheet, piece, rng.randrange(2))
    sheet.detail = f"{what}, mouth {how}, {piece.kind}"
    return sheet


POINTS = ("past", "past", "past one", "short", "writing", "fold touching", "blot")


def outline_without_legs(rng: random.Random, sheet: Sheet, piece: Piece, hand: Hand) -> None:
    """Draw all seams of a piece, and none of the legs of its darts."""
    for run in piece.runs:
        if not run.is_leg:
            sheet.strokes.append(drawn(rng, run.points, hand))


def legs_of(dart: TrueDart) -> tuple[Line, Line]:
    """Return both legs of a dart, from the mouth to the point."""
    return line(dart.start, dart.point), line(dart.end, dart.point)


def point_drawn(rng: random.Random, sheet: Sheet, dart: TrueDart, hand: Hand, how: str) -> None:
    """Draw the legs of a dart and its point as hands do, in one of the ways of `POINTS`."""
    first, second = legs_of(dart)
    middle = (dart.start + dart.end) / 2
    if how.startswith("past"):
        first = longer(first, after=rng.uniform(2.0, 10.0))
        if how == "past":
            second = longer(second, after=rng.uniform(2.0, 10.0))
    elif how == "short":
        short = -rng.uniform(1.0, 3.0)
        first, second = longer(first, after=short), longer(second, after=short)
    for leg in (first, second):
        sheet.strokes.append(drawn(rng, leg, hand))
    if how == "writing":
        size = rng.uniform(4.0, 7.0)
        at = dart.point + (middle - dart.point) * rng.uniform(0.12, 0.4)
        sheet.words.append(Word(rng.choice(("dart", "No 7", "sew up", "front")), at, size))
    elif how == "fold touching":
        beside = (dart.end - dart.point) / abs(dart.end - dart.point) * rng.uniform(5.0, 18.0)
        start = dart.point + beside
        sheet.strokes.append(drawn(rng, line(start, middle), hand))
    elif how == "blot":
        radius = rng.uniform(0.8, 1.8)
        sheet.strokes.append(Stroke(line(dart.point, dart.point + 0.01), 2 * radius))
        near = longer(dense(first), before=-(abs(dart.start - dart.point) - rng.uniform(4, 12)))
        sheet.strokes.append(Stroke(near, hand.pen * 1.6))


def dart_points(rng: random.Random) -> Sheet:
    """Return a sheet whose darts' points are drawn as hands do."""
    sheet, piece, hand = begun(rng, darts=(1, 1, 2), thickest=0.9)
    outline_without_legs(rng, sheet, piece, hand)
    signed_apexes(rng, sheet, piece, hand.pen)
    how = rng.choice(POINTS)
    for dart in piece.darts:
        point_drawn(rng, sheet, dart, hand, how)
    some_words(rng, sheet, piece, rng.randrange(2))
    sheet.detail = f"{how}, {piece.kind}"
    return sheet
