"""Lines with gaps: dashed and dotted, faint pencil, thin pens; and traces flooded with ink."""

from __future__ import annotations

import random

from tests.help.scans.fresh.dart_kinds import legs_of, outline_without_legs
from tests.help.scans.fresh.lines import Line, lengths, line, part, wobbled
from tests.help.scans.fresh.pieces import Piece
from tests.help.scans.fresh.plain_kinds import begun, signed_apexes
from tests.help.scans.fresh.sheets import (
    Hand,
    Sheet,
    Stroke,
    drawn,
    drawn_dashed,
    outline_strokes,
    some_words,
)


def some_pattern(rng: random.Random, pen: float) -> tuple[float, float, str]:
    """Return a pattern of dashes or dots: on, off, and what it is."""
    if rng.random() < 0.2:
        return 0.1, rng.uniform(max(1.0, pen) + 0.6, max(1.0, pen) + 2.5), "dotted"
    on = rng.uniform(2.0, 14.0)
    # Between the ends of dashes: the pen's round ends take from the gap.
    off = rng.uniform(1.0, min(8.0, max(1.5, 0.9 * on))) + pen
    return on, off, "dashed"


def with_dashes(
    rng: random.Random, sheet: Sheet, piece: Piece, hand: Hand, *, legs_alone: bool
) -> None:
    """Draw a piece dashed, or its darts' legs alone."""
    on, off, said = some_pattern(rng, hand.pen)
    anew = rng.random() < 0.6
    phase = 0.0
    for run in piece.runs:
        if legs_alone and not run.is_leg:
            sheet.strokes.append(drawn(rng, run.points, hand))
            continue
        if not anew:
            phase = (phase + float(lengths(run.points)[-1])) % (on + off)
        sheet.strokes += drawn_dashed(rng, run.points, hand, on, off, 0.0 if anew else phase)
    sheet.detail += f"{said} {on:.1f}/{off - hand.pen:.1f}" + (", legs alone" if legs_alone else "")


def dashed(rng: random.Random) -> Sheet:
    """Return a sheet with dashed or dotted lines."""
    sheet, piece, hand = begun(rng, darts=(0, 1, 1, 1, 2), thickest=0.8)
    sheet.scanning.specks = rng.randrange(0, 30)
    legs_alone = bool(piece.darts) and rng.random() < 0.4
    with_dashes(rng, sheet, piece, hand, legs_alone=legs_alone)
    signed_apexes(rng, sheet, piece, hand.pen)
    some_words(rng, sheet, piece, rng.randrange(2))
    sheet.detail += f", {piece.kind}"
    return sheet


def kept_of(rng: random.Random, points: Line, missing: float, mean_gap: float) -> list[Line]:
    """Return what is left of a line of which a share is missing, in gaps of about a length."""
    whole, at, found = float(lengths(points)[-1]), 0.0, []
    mean_part = mean_gap * (1.0 - missing) / missing
    while at < whole:
        on = rng.expovariate(1.0 / mean_part)
        if on > 0.2:
            found.append(part(points, at, min(whole, at + on)))
        at += on + rng.uniform(0.4, 1.6) * mean_gap
    return found


BREAKS = ("faint", "faint", "thin", "flooded", "triangle")


def broken(rng: random.Random) -> Sheet:
    """Return a sheet from which the block can hardly be told, or not at all."""
    how = rng.choice(BREAKS)
    darts = (1, 1, 2) if how == "triangle" else (0, 1, 1, 2)
    sheet, piece, hand = begun(rng, darts=darts, thickest=0.8)
    sheet.may_refuse = True
    sheet.detail = f"{how}, {piece.kind}"
    if how == "faint":
        missing = rng.uniform(0.1, 0.6)
        gap = rng.uniform(1.0, 9.0)
        sheet.detail += f", {missing:.0%} missing in gaps of {gap:.1f}"
        for run in piece.runs:
            points = wobbled(rng, run.points, hand.wobble)
            sheet.strokes += [Stroke(p, hand.pen) for p in kept_of(rng, points, missing, gap)]
    elif how == "thin":
        sheet.scanning.dpi = rng.choice((100.0, 150.0))
        pen = rng.uniform(0.6, 1.6) * 25.4 / sheet.scanning.dpi
        sheet.detail += f", {pen:.2f} at {sheet.scanning.dpi:.0f} dpi"
        sheet.strokes += outline_strokes(rng, piece, Hand(hand.wobble, pen))
    elif how == "flooded":
        sheet.strokes += outline_strokes(rng, piece, hand)
        sheet.scanning.is_flooded = True
        sheet.scanning.dpi = min(sheet.scanning.dpi, 100.0)
    else:
        outline_without_legs(rng, sheet, piece, hand)
        strokes, sheet.strokes = sheet.strokes, []
        missing = rng.uniform(0.5, 0.75)
        for stroke in strokes:
            kept = kept_of(rng, stroke.points, missing, rng.uniform(12.0, 25.0))
            sheet.strokes += [Stroke(points, hand.pen) for points in kept]
        for dart in piece.darts:
            for points in (*legs_of(dart), line(dart.start, dart.end)):
                sheet.strokes.append(drawn(rng, points, hand))
    some_words(rng, sheet, piece, rng.randrange(2))
    return sheet
