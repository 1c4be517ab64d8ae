"""Keep or trim: what becomes of the excess of a dart, and why.

Common practice of the trade, as the contract's table gives it; slashing only in bulky cloth and
stitching sheers twice and trimming them are also read in ICAR eCourse, *General rules for
stitching a dart*, 2011.
"""

from __future__ import annotations

from typing import NamedTuple

from drafting_core.model.seam_names import (
    ARMHOLE,
    INSEAM,
    NECKLINE,
    SHOULDER,
    SIDE_SEAM,
    UNDERARM_SEAM,
    WAIST,
    Seam,
)
from drafting_core.model.settings import Settings

KEEP = "keep"
TRIM = "trim"

# What decides it: the drafter, the table of place, cloth and size, or the dart's own shape.
SET = "set"
NECK_TIP = "neck-tip"
NOT_KEPT = "not-kept"
SLIPPERY = "slippery"
AT_SIDE = "at-side"
WIDE = "wide"
FLAT = "flat"
OVER_A_MOUTH = "over-a-mouth"
ON_THE_FOLD = "on-the-fold"
OPENS_OUT = "opens-out"
CURVED = "curved"
TOO_NARROW = "too-narrow"
CROSSES = "crosses"


class Verdict(NamedTuple):
    """Whether the excess stays or is cut away, and why.

    Attributes:
        excess: `KEEP` or `TRIM`.
        ground: what decided it.
        cloth: the cloth of which the ground speaks, or an empty string.
        seam: the name of the seam of which it speaks, or an empty string.
        intake: the width of the mouth in mm, where it decided.
        limit: the width in mm that an intake or what stays beside a leg was held against.
        may_be_kept: whether the drafter has a choice, the dart being at the waist.
    """

    excess: str
    ground: str
    cloth: str = ""
    seam: str = ""
    intake: float = 0.0
    limit: float = 0.0
    may_be_kept: bool = False


def keep_or_trim(seam: Seam, at_neck_tip: bool, intake: float, settings: Settings) -> Verdict:
    """Decide by place, cloth and size whether a dart's excess is kept or trimmed.

    Args:
        seam: the seam that the mouth is on.
        at_neck_tip: whether the mouth is where neckline and centre front meet (within 10 mm).
        intake: the width of the mouth in mm.
        settings: the cloth, the width beyond which a dart is wide, and a forced choice.
    """
    cloth = settings.cloth
    if settings.excess in (KEEP, TRIM):
        return Verdict(settings.excess, SET)
    if at_neck_tip:
        return Verdict(TRIM, NECK_TIP)
    if cloth in ("sheer", "knit"):
        return Verdict(TRIM, NOT_KEPT, cloth)
    at_side = seam.kind in (ARMHOLE, SIDE_SEAM, UNDERARM_SEAM, INSEAM)
    if cloth == "fine" and (at_side or seam.kind in (NECKLINE, SHOULDER)):
        return Verdict(TRIM, SLIPPERY, seam=seam.name)
    if at_side:
        return Verdict(KEEP, AT_SIDE, cloth, seam.name)
    if intake > settings.wide:
        choice = seam.kind == WAIST
        return Verdict(TRIM, WIDE, "", seam.name, intake, settings.wide, may_be_kept=choice)
    return Verdict(KEEP, FLAT, cloth, seam.name, intake)
