"""How a dart is sewn, step by step: what the captions of its pictures say, by the cloth.

Source: of sheer cloth stitching twice, trimming, overcasting or binding: read in ICAR eCourse,
*General rules for stitching a dart*, 2011. Common practice without a source: a drill hole only in
woven cloth, tailor's tacks or a thread in every other; a needle for knits; a knot instead of a
back stitch at the point; a curved dart opened along its middle before it is pinned; an end at a hem
caught when that is turned up.
"""

from __future__ import annotations

from typing import NamedTuple

from drafting_core.dart.folding import CENTRE, DOWN, SIDE, UP
from drafting_core.dart.marks import drill_distance
from drafting_core.finished.pattern_piece import Draft, DrawnDart
from drafting_core.model.seam_names import HEM, WRIST, Seam
from drafting_core.plane.curves import chain_length
from drafting_core.sewing.dart_steps import SECOND_ROW, DartCloth, is_little_trimmed, trimmed_length
from drafting_core.text.lengths import INCH, in_words, told_length
from drafting_core.text.words import N_, _

MARK = "mark"
FOLD = "fold"
OPEN = "open"
STITCH = "stitch"
JOIN = "join"
TRIM = "trim"
PRESS = "press"
ROWS = "rows"
_TITLES = {
    MARK: N_("Mark"),
    FOLD: N_("Fold"),
    OPEN: N_("Cut open"),
    STITCH: N_("Stitch"),
    JOIN: N_("Stitch"),
    TRIM: N_("Trim"),
    PRESS: N_("Press"),
    ROWS: N_("Stitch"),
}
_PRESSED = {
    CENTRE: N_("Press the excess toward the centre, over a pressing ham."),
    DOWN: N_("Press the excess down, over a pressing ham."),
    UP: N_("Press the excess up, over a pressing ham."),
    SIDE: N_("Press the excess away from the centre, over a pressing ham."),
}


#: How far from its point a dart with curved legs is cut open (mm): common practice.
_SLASHED_TO = INCH


class Step(NamedTuple):
    """One step of sewing: its kind and what its picture's caption says.

    Attributes:
        kind: which step it is.
        caption: what is said below its picture.
    """

    kind: str
    caption: str

    @property
    def title(self) -> str:
        """What the step is called."""
        return _(_TITLES[self.kind])


def has_drill_hole(cloth: str) -> bool:
    """Tell whether a cloth takes a drill hole: of all only a woven one."""
    return cloth == "woven"


def is_at_hem(seam: Seam) -> bool:
    """Tell whether what ends on a seam is caught when that is turned up, or set into a cuff."""
    return seam.kind in (HEM, WRIST)


def dart_steps(item: DrawnDart, cloth: DartCloth, draft: Draft) -> list[Step]:
    """Return the steps in which a dart is sewn.

    Args:
        item: the dart.
        cloth: the cloth about it.
        draft: its piece.
    """
    length = in_words(chain_length(cloth.stitched))
    kind = draft.settings.cloth
    steps = [Step(MARK, _marking(item, length, draft))]
    if cloth.is_curved:
        steps.append(Step(OPEN, _opening(item, cloth)))
        steps.append(Step(JOIN, " ".join(_joining(length, kind))))
    else:
        steps.append(
            Step(
                FOLD,
                _(
                    "Fold right sides together along the middle: leg lies on leg, notch on notch. "
                    "Pin across the legs."
                ),
            )
        )
        steps.append(Step(STITCH, " ".join(_stitching(length, kind, cloth))))
        if cloth.window is not None:
            steps.append(Step(TRIM, " ".join(_trimming(item, cloth))))
    said = (
        _("{way} Its end is caught when the hem is turned up or a cuff is set on.")
        if is_at_hem(item.dart.seam)
        else _("{way} Its end lies along the seam and is caught in it.")
    )
    steps.append(Step(PRESS, said.format(way=_(_PRESSED[item.dart.fold.way]))))
    return steps


def _marking(item: DrawnDart, length: str, draft: Draft) -> str:
    if not has_drill_hole(draft.settings.cloth):
        return _(
            "Mark the notches, and both legs ({length} each) and the point with tailor's tacks or "
            "a thread; make no drill hole in this cloth."
        ).format(length=length)
    short = drill_distance(item.dart, draft.settings.drill_hole)
    if short is None:
        return _("Mark notches, both legs ({length} each) and the point on the wrong side.").format(
            length=length
        )
    return _(
        "Mark notches, both legs ({length} each) and the point on the wrong side; the drill hole "
        "is {distance} short of the point."
    ).format(length=length, distance=in_words(short))


def _opening(item: DrawnDart, cloth: DartCloth) -> str:
    if cloth.window is None:
        return _(
            "Curved legs do not lie on one another while the dart is whole: cut along its middle, "
            "up to {stop} from the point."
        ).format(stop=told_length(_SLASHED_TO, 0))
    said = (
        _(
            "Curved legs do not lie on one another while the dart is whole: cut the shaded part "
            "away first, {left} beside each leg, and go on along the middle up to {short} from "
            "the point."
        )
        if is_little_trimmed(item, cloth)
        else _(
            "Curved legs do not lie on one another while the dart is whole: cut the shaded part "
            "away first, {left} beside each leg; stop {stop} from the point."
        )
    )
    left = in_words(item.dart.trim_allowance)
    return said.format(left=left, stop=in_words(cloth.stop), short=told_length(_SLASHED_TO, 0))


def _stitching(length: str, cloth: str, flat: DartCloth) -> list[str]:
    said = [
        _("Start at the cut edge and stitch along the leg, {length} from the seam to the point."),
    ]
    if cloth == "knit":
        said.append(_("Take a needle for knits and a stitch that gives."))
    elif cloth == "sheer" and flat.second_row(flat.fold_leg):
        said.append(_("Stitch a second row {gap} from it, toward the fold."))
    elif cloth == "sheer":
        said.append(_("Stitch twice on the same line."))
    said.append(_("The last stitches run along the fold. Knot the threads, no back stitch."))
    return [text.format(length=length, gap=in_words(SECOND_ROW)) for text in said]


def _joining(length: str, cloth: str) -> list[str]:
    said = [
        _("Right sides together, pin leg to leg and notch to notch."),
        _("Start at the cut edge and stitch along the leg, {length} from the seam to the point."),
    ]
    if cloth == "knit":
        said.append(_("Take a needle for knits and a stitch that gives."))
    elif cloth == "sheer":
        said.append(_("Stitch a second row {gap} beside it, in the allowance."))
    said.append(_("Knot the threads, no back stitch."))
    return [text.format(length=length, gap=in_words(SECOND_ROW)) for text in said]


def _trimming(item: DrawnDart, cloth: DartCloth) -> list[str]:
    said = (
        _("At {left} beside the stitching only the last {length} at the mouth is trimmed away.")
        if is_little_trimmed(item, cloth)
        else _("Trim both layers to {left} beside the stitching; stop {stop} from the point.")
    )
    return [
        said.format(
            left=in_words(item.dart.trim_allowance),
            stop=in_words(cloth.stop),
            length=in_words(trimmed_length(item, cloth)),
        ),
        _("That is done already if you cut along the pattern's window."),
    ]
