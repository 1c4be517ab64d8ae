"""What the drafter is told of a finished dart: its fold, its excess, and why it is refused."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.dart.excess import (
    AT_SIDE,
    CROSSES,
    CURVED,
    FLAT,
    KEEP,
    NECK_TIP,
    NOT_KEPT,
    ON_THE_FOLD,
    OPENS_OUT,
    OVER_A_MOUTH,
    SET,
    SLIPPERY,
    TOO_NARROW,
    TRIM,
    WIDE,
    Verdict,
)
from drafting_core.dart.folding import CENTRE, COURSE, DOWN, SEAM, SIDE, UP, Fold
from drafting_core.dart.folding import SET as FOLD_SET
from drafting_core.model.seam_names import Seam, spoken_name
from drafting_core.text.errors import DartError
from drafting_core.text.figures import in_degrees
from drafting_core.text.lengths import (
    in_words,
    told_apart,
    told_difference,
    told_with_difference,
)
from drafting_core.text.words import N_, _

#: What a cloth is called behind "in".
CLOTH_WORDS = {
    "woven": N_("a woven cloth"),
    "fine": N_("a fine, slippery cloth"),
    "sheer": N_("a sheer cloth"),
    "knit": N_("a knit"),
}
#: Why the excess stays or is cut away: clauses that stand alone, without their full stop.
_GROUNDS = {
    (KEEP, SET): N_("Kept, as set"),
    (TRIM, SET): N_("Trimmed, as set"),
    (TRIM, NECK_TIP): N_(
        "Trimmed, since the excess would be bulky where neckline and centre front meet"
    ),
    (TRIM, NOT_KEPT): N_("Trimmed, since the excess is not kept in {cloth}"),
    (TRIM, SLIPPERY): N_("Trimmed, since a fine, slippery cloth is trimmed on {seam}"),
    (KEEP, AT_SIDE): N_("Kept, since a dart on {seam} keeps its excess in {cloth}"),
    (TRIM, WIDE): N_("Trimmed, since an intake of {intake} is over {wide} on {seam}"),
    (KEEP, FLAT): N_("Kept, since a dart of {intake} on {seam} is not bulky in {cloth}"),
    (TRIM, OVER_A_MOUTH): N_(
        "Trimmed, since the folded excess would lie over the mouth of another dart"
    ),
    (TRIM, ON_THE_FOLD): N_(
        "Trimmed, since the folded excess would end on the fold of the cloth, where no seam "
        "catches it"
    ),
    (TRIM, CROSSES): N_(
        "Trimmed, since the excess, cut as it lies folded, would lie over another part of the "
        "piece when it is opened"
    ),
    (TRIM, CURVED): N_(
        "Trimmed, since its legs are curved and turned: the folded edge cannot lie along its leg"
    ),
    (KEEP, OPENS_OUT): N_("Kept, since a tuck opens out beyond its stitching"),
    (KEEP, TOO_NARROW): N_(
        "Kept, since the dart is too narrow to trim: {width} beside each leg leaves nothing to cut "
        "away"
    ),
}
#: Which way the excess is folded, by what, and whether the middle of the piece was the centre.
_FOLDS = {
    (CENTRE, FOLD_SET, False): N_("Excess folded toward the centre, as set."),
    (SIDE, FOLD_SET, False): N_("Excess folded away from the centre, as set."),
    (DOWN, FOLD_SET, False): N_("Excess folded down, as set."),
    (UP, FOLD_SET, False): N_("Excess folded up, as set."),
    (CENTRE, SEAM, False): N_("Excess folded toward the centre, since it is on {seam}."),
    (DOWN, SEAM, False): N_("Excess folded down, since it is on {seam}."),
    (CENTRE, COURSE, False): N_(
        "Excess folded toward the centre, since no rule names {seam} and the dart runs nearer to "
        "the grain than to the cross grain."
    ),
    (DOWN, COURSE, False): N_(
        "Excess folded down, since no rule names {seam} and the dart runs crosswise."
    ),
    (CENTRE, FOLD_SET, True): N_(
        "Excess folded toward the centre, as set; no centre seam is named, so the middle of the "
        "piece counts as the centre."
    ),
    (SIDE, FOLD_SET, True): N_(
        "Excess folded away from the centre, as set; no centre seam is named, so the middle of "
        "the piece counts as the centre."
    ),
    (CENTRE, SEAM, True): N_(
        "Excess folded toward the centre, since it is on {seam}; no centre seam is named, so the "
        "middle of the piece counts as the centre."
    ),
    (CENTRE, COURSE, True): N_(
        "Excess folded toward the centre, since no rule names {seam} and the dart runs nearer to "
        "the grain than to the cross grain; no centre seam is named, so the middle of the piece "
        "counts as the centre."
    ),
}

# Each table says it of a dart (False) and of a tuck (True).
_OPENS_TOO_WIDE = {
    False: N_("the dart on {seam} opens by {angle} at its point; over 120° it cannot be folded."),
    True: N_("the tuck on {seam} opens by {angle} at its point; over 120° it cannot be folded."),
}
_UNEQUAL_LEGS = {
    False: N_("the dart on {seam} has unequal legs: {one} and {other}."),
    True: N_("the tuck on {seam} has unequal legs: {one} and {other}."),
}
_LEGS_DIFFER = {
    False: N_("The legs of the dart on {seam} differ by {by}; sewn, they meet half way."),
    True: N_("The legs of the tuck on {seam} differ by {by}; sewn, they meet half way."),
}
_CANNOT_BE_KEPT = {
    False: N_(
        "the excess of the dart on {seam} cannot be kept: folded, it would lie over the mouth of "
        "another dart."
    ),
    True: N_(
        "the excess of the tuck on {seam} cannot be kept: folded, it would lie over the mouth of "
        "another dart."
    ),
}
_CANNOT_BE_OPENED = {
    False: N_(
        "the excess of the dart on {seam} cannot stay: cut as it lies folded, it would lie over "
        "another part of the piece when it is opened."
    ),
    True: N_(
        "the excess of the tuck on {seam} cannot stay: cut as it lies folded, it would lie over "
        "another part of the piece when it is opened."
    ),
}
_KEPT_ON_THE_FOLD = {
    False: N_(
        "The excess of the dart on {seam} is kept as set, but it ends on the fold of the cloth, "
        "where no seam catches it."
    ),
    True: N_(
        "The excess of the tuck on {seam} is kept as set, but it ends on the fold of the cloth, "
        "where no seam catches it."
    ),
}
_BENDS = {
    False: N_(
        "The sewn seam bends by {angle} at the dart on {seam}, since its point is {clearance} "
        "short of the apex."
    ),
    True: N_(
        "The sewn seam bends by {angle} at the tuck on {seam}, since its lines aim at a point "
        "{clearance} short of the apex."
    ),
}


def verdict_sentence(
    verdict: Verdict, cloths: Sequence[str] = (), *, finishing: bool = True
) -> str:
    """Return why the excess stays or is cut away, in the drafter's language.

    Args:
        verdict: what was decided.
        cloths: the cloths of which it speaks, where it holds for several.
        finishing: whether to say that a trimmed edge is to be finished.
    """
    first, *more = cloths or (verdict.cloth,)
    told = _(CLOTH_WORDS[first]) if first else ""
    for key in more:
        told = _("{several} or {last}").format(several=told, last=_(CLOTH_WORDS[key]))
    intake, limit = told_apart(verdict.intake, verdict.limit)
    clause = _(_GROUNDS[verdict.excess, verdict.ground]).format(
        cloth=told,
        seam=spoken_name(verdict.seam),
        intake=intake,
        wide=limit,
        width=limit,
    )
    if verdict.excess == TRIM and finishing:
        clause = _("{reason}; clean finish the trimmed edge").format(reason=clause)
    if verdict.may_be_kept:
        clause = _("{reason}; a wide dart at the waist may also be kept").format(reason=clause)
    return _("{reason}.").format(reason=clause)


def fold_sentence(fold: Fold) -> str:
    """Return which way a dart's excess is folded, and by which rule."""
    told = _FOLDS[fold.way, fold.rule, fold.by_middle]
    return _(told).format(seam=spoken_name(fold.seam))


def legs_warning(seam: Seam, difference: float, *, is_tuck: bool) -> str:
    """Return what is said of legs that differ by so many mm."""
    return _(_LEGS_DIFFER[is_tuck]).format(seam=seam.spoken, by=told_difference(difference, 1))


def fold_edge_warning(seam: Seam, *, is_tuck: bool) -> str:
    """Return what is said of excess that is kept as set, though no seam catches it."""
    return _(_KEPT_ON_THE_FOLD[is_tuck]).format(seam=seam.spoken)


def bend_warning(seam: Seam, bend: float, clearance: float, *, is_tuck: bool) -> str:
    """Return what is said of a sewn seam that bends by more than 3° at a dart.

    Args:
        seam: the seam.
        bend: by how much it bends, in radians.
        clearance: how far the dart point is from the apex, in mm.
        is_tuck: whether it is a tuck.
    """
    return _(_BENDS[is_tuck]).format(
        angle=in_degrees(bend), seam=seam.spoken, clearance=in_words(clearance)
    )


def opens_too_wide(seam: Seam, angle: float, point: complex, *, is_tuck: bool) -> DartError:
    """Return the refusal of a dart whose legs stand at too wide an angle, in radians."""
    return DartError(
        _(_OPENS_TOO_WIDE[is_tuck]).format(seam=seam.spoken, angle=in_degrees(angle, 0)),
        remedy=_("Move a smaller share of the dart, or set a shorter clearance."),
        place=point,
    )


def unequal_legs(
    seam: Seam, lengths: tuple[float, float], point: complex, *, is_tuck: bool
) -> DartError:
    """Return the refusal of a dart whose legs have different lengths, in mm."""
    one, other, _by = told_with_difference(*lengths)
    return DartError(
        _(_UNEQUAL_LEGS[is_tuck]).format(seam=seam.spoken, one=one, other=other),
        remedy=_("Move the dart point or a mouth end until they are equal."),
        place=point,
    )


def cannot_be_opened(seam: str, place: complex, *, is_tuck: bool) -> DartError:
    """Return the refusal of excess that would lie over another part of the opened piece.

    Args:
        seam: the seam, as it is spoken of.
        place: the mouth end on the fold's side.
        is_tuck: whether it is a tuck.
    """
    return DartError(
        _(_CANNOT_BE_OPENED[is_tuck]).format(seam=seam),
        remedy=_(
            "Fold it the other way, make the allowances beside it narrower, or move a smaller "
            "share there."
        ),
        place=place,
    )


def cannot_be_kept(seam: Seam, point: complex, *, is_tuck: bool) -> DartError:
    """Return the refusal to keep excess that would lie over another mouth."""
    return DartError(
        _(_CANNOT_BE_KEPT[is_tuck]).format(seam=seam.spoken),
        remedy=_("Let it be trimmed, or fold it the other way."),
        place=point,
    )
