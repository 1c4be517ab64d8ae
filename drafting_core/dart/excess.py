"""Keep or trim: what becomes of the excess of a dart, and why.

Common practice of the trade, as the contract's table gives it; slashing only in bulky cloth and
stitching sheers twice and trimming them are also read in ICAR eCourse, *General rules for
stitching a dart*, 2011.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.model.seam_names import (
    ARMHOLE,
    NECKLINE,
    SHOULDER,
    SIDE_SEAM,
    UNDERARM_SEAM,
    WAIST,
    Seam,
)
from drafting_core.model.settings import Settings
from drafting_core.text.lengths import in_words
from drafting_core.text.words import N_, _

KEEP = "keep"
TRIM = "trim"

#: What a cloth is called behind "in".
CLOTH_WORDS = {
    "woven": N_("a woven cloth"),
    "fine": N_("a fine, slippery cloth"),
    "sheer": N_("a sheer cloth"),
    "knit": N_("a knit"),
}


class Reason(NamedTuple):
    """Why the excess stays or is cut away.

    Attributes:
        text: a clause that stands alone, without its full stop, marked for translation; it may
            have the field ``cloth``.
        values: what stands in its other fields.
        cloth: the cloth of which it speaks, or an empty string.
        is_trimmed: whether the trimmed edge is to be finished, as the trade adds to every one.
        may_be_kept: whether the drafter has a choice, the dart being at the waist.
    """

    text: str
    values: tuple[tuple[str, str], ...] = ()
    cloth: str = ""
    is_trimmed: bool = False
    may_be_kept: bool = False

    def sentence(self, cloths: Sequence[str] = (), *, finishing: bool = True) -> str:
        """Return it as a sentence in the drafter's language.

        Args:
            cloths: the cloths of which it speaks, where it holds for several.
            finishing: whether to say that a trimmed edge is to be finished.
        """
        first, *more = cloths or (self.cloth,)
        told = _(CLOTH_WORDS[first]) if first else ""
        for key in more:
            told = _("{several} or {last}").format(several=told, last=_(CLOTH_WORDS[key]))
        clause = _(self.text).format(cloth=told, **dict(self.values))
        if self.is_trimmed and finishing:
            clause = _("{reason}; clean finish the trimmed edge").format(reason=clause)
        if self.may_be_kept:
            clause = _("{reason}; a wide dart at the waist may also be kept").format(reason=clause)
        return _("{reason}.").format(reason=clause)


class Verdict(NamedTuple):
    """Whether the excess stays or is cut away, and why.

    Attributes:
        excess: `KEEP` or `TRIM`.
        reason: what decided it.
    """

    excess: str
    reason: Reason


def keep_or_trim(seam: Seam, at_neck_tip: bool, intake: float, settings: Settings) -> Verdict:
    """Decide by place, cloth and size whether a dart's excess is kept or trimmed.

    Args:
        seam: the seam that the mouth is on.
        at_neck_tip: whether the mouth is where neckline and centre front meet (within 10 mm).
        intake: the width of the mouth in mm.
        settings: the cloth, the width beyond which a dart is wide, and a forced choice.
    """
    cloth = settings.cloth
    on = (("seam", seam.spoken),)
    if settings.excess == KEEP:
        return Verdict(KEEP, Reason(N_("Kept, as set")))
    if settings.excess == TRIM:
        return Verdict(TRIM, Reason(N_("Trimmed, as set"), is_trimmed=True))
    if at_neck_tip:
        bulky = N_("Trimmed, since the excess would be bulky where neckline and centre front meet")
        return Verdict(TRIM, Reason(bulky, is_trimmed=True))
    if cloth in ("sheer", "knit"):
        not_kept = N_("Trimmed, since the excess is not kept in {cloth}")
        return Verdict(TRIM, Reason(not_kept, cloth=cloth, is_trimmed=True))
    at_side = seam.kind in (ARMHOLE, SIDE_SEAM, UNDERARM_SEAM)
    if cloth == "fine" and (at_side or seam.kind in (NECKLINE, SHOULDER)):
        fine = N_("Trimmed, since a fine, slippery cloth is trimmed on {seam}")
        return Verdict(TRIM, Reason(fine, on, is_trimmed=True))
    if at_side:
        kept = N_("Kept, since a dart on {seam} keeps its excess in {cloth}")
        return Verdict(KEEP, Reason(kept, on, cloth))
    if intake > settings.wide:
        wide = N_("Trimmed, since an intake of {intake} is over {wide} on {seam}")
        sizes = (("intake", in_words(intake)), ("wide", in_words(settings.wide)))
        choice = seam.kind == WAIST
        return Verdict(TRIM, Reason(wide, on + sizes, is_trimmed=True, may_be_kept=choice))
    flat = N_("Kept, since a dart of {intake} on {seam} is not bulky in {cloth}")
    return Verdict(KEEP, Reason(flat, (*on, ("intake", in_words(intake))), cloth))
