"""Two or three of the other kinds together on one sheet."""

from __future__ import annotations

import random

from tests.help.scans.fresh.allowance_kinds import with_allowance
from tests.help.scans.fresh.broken_kinds import with_dashes
from tests.help.scans.fresh.dart_kinds import (
    FILLINGS,
    POINTS,
    dart_filled,
    outline_without_legs,
    point_drawn,
)
from tests.help.scans.fresh.inner_kinds import INNER, with_inner_lines
from tests.help.scans.fresh.plain_kinds import begun, signed_apexes
from tests.help.scans.fresh.sheets import Sheet, outline_strokes, some_words


def mixed(rng: random.Random) -> Sheet:
    """Return a sheet with two or three of the other kinds on it."""
    sheet, piece, hand = begun(rng, darts=(0, 1, 1, 2), own=True, thickest=0.7)
    base = rng.choice(("solid", "allowance", "dashed", "points"))
    has_darts = bool(piece.darts)
    if base == "allowance":
        with_allowance(rng, sheet, piece, hand)
    elif base == "dashed":
        with_dashes(rng, sheet, piece, hand, legs_alone=has_darts and rng.random() < 0.4)
    elif base == "points" and has_darts:
        outline_without_legs(rng, sheet, piece, hand)
        how = rng.choice(POINTS[:4])
        for dart in piece.darts:
            point_drawn(rng, sheet, dart, hand, how)
        sheet.detail += f"legs {how}; "
    else:
        sheet.strokes += outline_strokes(rng, piece, hand)
    signed_apexes(rng, sheet, piece, hand.pen)
    more = rng.sample(("dart lines", "inner", "dirt"), 1 if base == "allowance" else 2)
    if "dart lines" in more and has_darts and base != "points":
        what = rng.choice(FILLINGS)
        # Where there is a cut line, it crosses the mouth; the stitch line may or may not.
        how = rng.choice(("across", "open"))
        for dart in piece.darts:
            dart_filled(rng, sheet, dart, hand, what, how)
        sheet.detail += f"{what}, mouth {how}; "
    if "inner" in more:
        with_inner_lines(rng, sheet, piece, hand, rng.sample(INNER, 2))
    if "dirt" in more:
        sheet.scanning.creases = rng.randrange(1, 4)
        sheet.scanning.smudges = rng.randrange(0, 3)
        sheet.scanning.specks = rng.randrange(100, 800)
        sheet.detail += "dirt; "
    some_words(rng, sheet, piece, rng.randrange(2))
    sheet.is_mirrored = rng.random() < 0.2
    sheet.detail += f"{base}, {piece.kind}"
    return sheet
