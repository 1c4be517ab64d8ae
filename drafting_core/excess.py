"""Keep or trim: what becomes of the excess of a dart, and why.

Common practice of the trade, as the contract's table gives it; slashing only in bulky cloth and
stitching sheers twice and trimming them are also read in ICAR eCourse, *General rules for
stitching a dart*, 2011.
"""

from __future__ import annotations

from typing import NamedTuple

from drafting_core.lengths import in_words
from drafting_core.seam_names import (
    ARMHOLE,
    NECKLINE,
    SHOULDER,
    SIDE_SEAM,
    UNDERARM_SEAM,
    WAIST,
    Seam,
)
from drafting_core.settings import Settings

KEEP = "keep"
TRIM = "trim"

#: What a cloth is called in a reason.
CLOTH_WORDS = {
    "woven": "a woven cloth",
    "fine": "a fine, slippery cloth",
    "sheer": "a sheer cloth",
    "knit": "a knit",
}
#: What the trade adds to every trimmed dart.
CLEAN_FINISH = "clean finish the trimmed edge"


class Verdict(NamedTuple):
    """Whether the excess stays or is cut away, and the reason in one sentence."""

    excess: str
    why: str


def keep_or_trim(seam: Seam, at_neck_tip: bool, intake: float, settings: Settings) -> Verdict:
    """Decide by place, cloth and size whether a dart's excess is kept or trimmed.

    Args:
        seam: the seam that the mouth is on.
        at_neck_tip: whether the mouth is where neckline and centre front meet (within 10 mm).
        intake: the width of the mouth in mm.
        settings: the cloth, the width beyond which a dart is wide, and a forced choice.
    """
    cloth = CLOTH_WORDS[settings.cloth]
    if settings.excess == KEEP:
        return Verdict(KEEP, "Kept, as set.")
    if settings.excess == TRIM:
        return Verdict(TRIM, f"Trimmed, as set; {CLEAN_FINISH}.")
    if at_neck_tip:
        return Verdict(
            TRIM,
            "Trimmed, since the excess would be bulky where neckline and centre front meet; "
            f"{CLEAN_FINISH}.",
        )
    on = f"on {seam.spoken}"
    is_wide = intake > settings.wide
    size = f"an intake of {in_words(intake)} is over {in_words(settings.wide)}"
    if settings.cloth in ("sheer", "knit"):
        return Verdict(TRIM, f"Trimmed, since the excess is not kept in {cloth}; {CLEAN_FINISH}.")
    if seam.kind in (ARMHOLE, SIDE_SEAM, UNDERARM_SEAM):
        if settings.cloth == "fine":
            return Verdict(TRIM, f"Trimmed, since {cloth} is trimmed {on}; {CLEAN_FINISH}.")
        return Verdict(KEEP, f"Kept, since a dart {on} keeps its excess in {cloth}.")
    if seam.kind in (NECKLINE, SHOULDER):
        if settings.cloth == "fine":
            return Verdict(TRIM, f"Trimmed, since {cloth} is trimmed {on}; {CLEAN_FINISH}.")
        if is_wide:
            return Verdict(TRIM, f"Trimmed, since {size} {on}; {CLEAN_FINISH}.")
        return Verdict(
            KEEP, f"Kept, since a dart of {in_words(intake)} {on} is not bulky in {cloth}."
        )
    if is_wide:
        choice = "; a wide dart at the waist may also be kept" if seam.kind == WAIST else ""
        return Verdict(TRIM, f"Trimmed, since {size} {on}; {CLEAN_FINISH}{choice}.")
    return Verdict(KEEP, f"Kept, since a dart of {in_words(intake)} {on} is not bulky in {cloth}.")
