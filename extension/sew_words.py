"""What a page of sewing notes says of each dart: where it is, why, and how it is sewn.

Sources: legs, fold and trimming are as drafted. Slashing a deep dart open only in bulky cloth,
stopping 1/2 to 1 in from the point, and in sheer cloth stitching twice, trimming, overcasting or
binding: read in ICAR eCourse, *General rules for stitching a dart*, 2011. Deep darts slashed,
pressed open and neatened: read in *CITS Dress Making, Trade Practical*, p. 185. Common practice
without a source: the finishes of woven, fine and knit cloth; a knot instead of a back stitch at the
point; a curved dart opened along its middle before it is pinned; two rows of long stitches for
gathers; clipping and pressing the curved seam of two parts; what counts as deep.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.curves import Segment
from drafting_core.dart_steps import (
    SECOND_ROW,
    DartCloth,
    dart_cloth,
    tuck_cloth,
    whole_cut_line,
)
from drafting_core.excess import CLOTH_WORDS, KEEP
from drafting_core.finish import NOTABLE_BEND, bend_warning
from drafting_core.folding import CENTRE, DOWN, SIDE, UP
from drafting_core.fullness import Fullness, chain_length
from drafting_core.lengths import in_words
from drafting_core.pattern_piece import Draft, DrawnDart
from drafting_core.piece import EASE, FLARE, GATHERS, TUCK
from drafting_core.words import N_, _
from extension.cut_count import CutCount, count_of
from extension.piece_names import shown_name
from extension.report import fold_sentence, fullness_sentences, joined_sentences, turned_sentences

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
#: A kept dart with a wider mouth than this is bulky in a thick cloth (mm): common practice.
DEEP = 50.0
#: A clearance below this is none as far as a page is concerned (mm).
_NO_CLEARANCE = 0.05
#: How far from the stitch line the rows for gathers and ease run (mm): common practice.
ROW_GAP = 3.0

_FINISHES = {
    "woven": N_(
        "Finish the trimmed edges: overcast them, or zigzag both layers together; in a firm cloth "
        "pinking is enough."
    ),
    "fine": N_(
        "Finish the trimmed edges with a narrow zigzag, or bind them; take a fine needle and short "
        "stitches."
    ),
    "sheer": N_(
        "Finish the trimmed edges by overcasting both layers together, or bind them: they show "
        "through."
    ),
    "knit": N_(
        "Finish the trimmed edges with a narrow zigzag or an overlock stitch, both of which "
        "stretch with the cloth."
    ),
}
_PRESSED = {
    CENTRE: N_("Press the excess toward the centre, over a pressing ham."),
    DOWN: N_("Press the excess down, over a pressing ham."),
    UP: N_("Press the excess up, over a pressing ham."),
    SIDE: N_("Press the excess away from the centre, over a pressing ham."),
}
_KINDS = {
    GATHERS: N_("Gathers on {seam}"),
    EASE: N_("Ease on {seam}"),
    FLARE: N_("Flare on {seam}"),
    TUCK: N_("Tuck on {seam}"),
}


class Step(NamedTuple):
    """One step of sewing: its kind and what its picture's caption says."""

    kind: str
    caption: str

    @property
    def title(self) -> str:
        """What the step is called."""
        return _(_TITLES[self.kind])


class Section(NamedTuple):
    """What a page says of one dart, or of one place with fullness.

    Attributes:
        number: its number on the page.
        title: what it is and where.
        sentences: what is said of it.
        steps: the steps that have a picture.
        cloth: the cloth about it, for the pictures; None of gathers and the like.
        item: the dart or the fullness itself.
    """

    number: int
    title: str
    sentences: tuple[str, ...]
    steps: tuple[Step, ...]
    cloth: DartCloth | None
    item: DrawnDart | Fullness

    @property
    def course(self) -> tuple[str, ...]:
        """What tells how it is sewn: sections with the same are sewn alike."""
        kind = self.item.kind if isinstance(self.item, Fullness) else ""
        return (kind, *(step.kind for step in self.steps))


def heading(draft: Draft) -> str:
    """Return the page's heading: the piece and its size."""
    said = _("{name}, size {size}: sewing notes") if draft.block.size else _("{name}: sewing notes")
    return said.format(name=shown_name(draft), size=draft.block.size)


def under_heading(draft: Draft) -> str:
    """Return what stands under the heading; the field ``scale`` is still to be filled in."""
    return _(
        "For {cloth}. The large picture is drawn {scale} and is not for cutting: cut by the "
        "pattern of this piece."
    ).format(cloth=_(CLOTH_WORDS[draft.settings.cloth]), scale="{scale}")


def foot() -> str:
    """Return the foot of every page."""
    return _("Sew a trial in cheap cloth first. The piece is cut by its pattern, not by this page.")


def general(draft: Draft, sections: Sequence[Section]) -> list[str]:
    """Return what holds for the whole piece."""
    said = []
    if any(section.steps for section in sections):
        said.append(
            _(
                "The small pictures show the wrong side of the cloth (grey) as it lies under the "
                "pattern; the right side is white. Hidden edges are dashed."
            )
        )
        if count_of(draft) == CutCount(2, on_fold=False):
            said.append(_("The other piece of a pair is sewn as the mirror image."))
    if not sections:
        said.append(_("This piece has no dart to sew: its shape lies in its seams."))
    said += joined_sentences(draft)
    if draft.joined is not None:
        said.append(
            _(
                "Pin that seam right sides together, notch to notch; where it is hollow clip its "
                "allowance to let it spread. Press it open over a pressing ham."
            )
        )
    said += turned_sentences(draft)
    return said


def sections(draft: Draft) -> list[Section]:
    """Return what is to be said of every dart, and of every place with fullness, numbered."""
    found: list[Section] = []
    ring = whole_cut_line(draft)
    for item in draft.darts:
        if item.dart.opening.made != TUCK:
            cloth = dart_cloth(item, ring)
            found.append(_dart(len(found) + 1, item, cloth, draft))
    for full in draft.fullness:
        found.append(_fullness(len(found) + 1, full, draft, ring))
    return found


def _dart(number: int, item: DrawnDart, cloth: DartCloth, draft: Draft) -> Section:
    dart = item.dart
    sentences = [_measures(item), fold_sentence(item), dart.why]
    if cloth.window is not None:
        sentences.append(_(_FINISHES[draft.settings.cloth]))
    if dart.excess == KEEP and dart.intake > DEEP and not cloth.is_curved:
        sentences.append(
            _(
                "The dart is deep: only where the cloth is bulky slash its fold open, stop 13 to "
                "25 mm (1/2 to 1 in) from the point, press it open and neaten the edges."
            )
        )
    sentences += [text for text in dart.warnings if text != bend_warning(dart)]
    if draft.settings.allowances.is_turned(dart.seam):
        sentences.append(
            _(
                "It opens into an allowance that is turned back: beyond the stitch line sew it as "
                "its mirror image, so that it lies flat."
            )
        )
    return Section(
        number,
        _("Dart {number}: {place}").format(number=number, place=_place(item, draft)),
        tuple(sentences),
        tuple(_dart_steps(item, cloth, draft)),
        cloth,
        item,
    )


def _place(item: DrawnDart, draft: Draft) -> str:
    """Return where a dart is: its seam, or the meeting of two."""
    piece, opening = draft.piece, item.dart.opening
    k = piece.openings.index(opening)
    before = piece.runs[k][-1].seam
    after = piece.runs[(k + 1) % len(piece.runs)][0].seam
    if before is after:
        return item.dart.seam.shown
    return _("where {one} and {other} meet").format(one=before.spoken, other=after.spoken)


def _measures(item: DrawnDart) -> str:
    """Return a dart's intake and angle, how far its point is from the apex, and a notable bend."""
    dart = item.dart
    angle = math.degrees(dart.point_angle)
    if dart.clearance < _NO_CLEARANCE:
        said = _("Intake {intake}, {angle:.1f}° between the legs.")
    elif dart.bend > NOTABLE_BEND:
        said = _(
            "Intake {intake}, {angle:.1f}° between the legs; the point is {clearance} short of "
            "the apex, so the sewn seam bends by {bend:.1f}° at the dart."
        )
    else:
        said = _(
            "Intake {intake}, {angle:.1f}° between the legs; the point is {clearance} short of "
            "the apex."
        )
    return said.format(
        intake=in_words(dart.intake),
        angle=angle,
        clearance=in_words(dart.clearance),
        bend=math.degrees(dart.bend),
    )


def _dart_steps(item: DrawnDart, cloth: DartCloth, draft: Draft) -> list[Step]:
    length = in_words(chain_length(cloth.stitched))
    is_trimmed = cloth.window is not None
    steps = [Step(MARK, _marking(item, length, draft))]
    left = in_words(item.dart.trim_allowance)
    stop = in_words(cloth.stop)
    if cloth.is_curved:
        steps.append(
            Step(
                OPEN,
                _(
                    "Curved legs do not lie on one another while the dart is whole: cut the shaded "
                    "part away first, {left} beside each leg; stop {stop} from the point."
                ).format(left=left, stop=stop)
                if is_trimmed
                else _(
                    "Curved legs do not lie on one another while the dart is whole: cut along its "
                    "middle, up to 25 mm (1 in) from the point."
                ),
            )
        )
        steps.append(
            Step(
                JOIN,
                _joining(length, draft.settings.cloth),
            )
        )
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
        steps.append(Step(STITCH, _stitching(length, draft.settings.cloth, cloth)))
        if is_trimmed:
            steps.append(
                Step(
                    TRIM,
                    _(
                        "Trim both layers to {left} beside the stitching; stop {stop} from the "
                        "point. Already done if you cut along the pattern's window."
                    ).format(left=left, stop=stop),
                )
            )
    press = _("{way} Its end lies along the seam and is caught in it.").format(
        way=_(_PRESSED[item.dart.fold.way])
    )
    steps.append(Step(PRESS, press))
    return steps


def _marking(item: DrawnDart, length: str, draft: Draft) -> str:
    if item.drill_hole is None:
        return _("Mark notches, both legs ({length} each) and the point on the wrong side.").format(
            length=length
        )
    return _(
        "Mark notches, both legs ({length} each) and the point on the wrong side; the drill hole "
        "is {distance} short of the point."
    ).format(length=length, distance=in_words(draft.settings.drill_hole))


def _stitching(length: str, cloth: str, flat: DartCloth) -> str:
    said = _(
        "Stitch from the edge to the point, {length} from the seam on. The last stitches run along "
        "the fold. Knot the threads, no back stitch."
    )
    if cloth == "knit":
        said = _(
            "Stitch from the edge to the point, {length} from the seam on, with a stitch that "
            "gives. The last stitches run along the fold. Knot the threads, no back stitch."
        )
    elif cloth == "sheer" and flat.second_row(flat.fold_leg):
        said = _(
            "Stitch from the edge to the point, {length} from the seam on; a second row {gap} "
            "inside. The last stitches run along the fold. Knot the threads, no back stitch."
        )
    elif cloth == "sheer":
        said = _(
            "Stitch from the edge to the point, {length} from the seam on, twice on the same line. "
            "The last stitches run along the fold. Knot the threads, no back stitch."
        )
    return said.format(length=length, gap=in_words(SECOND_ROW))


def _joining(length: str, cloth: str) -> str:
    said = _(
        "Right sides together, pin leg to leg and notch to notch; stitch from the edge to the "
        "point, {length} from the seam on. Knot the threads, no back stitch."
    )
    if cloth == "sheer":
        said = _(
            "Right sides together, pin leg to leg and notch to notch; stitch from the edge to the "
            "point, {length} from the seam on, and a second row {gap} beside it. Knot the threads, "
            "no back stitch."
        )
    return said.format(length=length, gap=in_words(SECOND_ROW))


def _fullness(number: int, item: Fullness, draft: Draft, ring: Sequence[Segment]) -> Section:
    title = _("{number}: {what}").format(
        number=number, what=_(_KINDS[item.kind]).format(seam=item.seam.spoken)
    )
    cloth = None
    sentences = list(fullness_sentences(item, draft))
    steps: tuple[Step, ...] = ()
    if item.kind == TUCK:
        cloth = tuck_cloth(item, ring)
        steps = _tuck_steps(cloth, item)
    elif item.kind in (GATHERS, EASE):
        steps = (Step(ROWS, _rows(item)),)
    else:
        sentences.append(_("There is nothing to sew here: the width hangs free."))
    return Section(number, title, tuple(sentences), steps, cloth, item)


def _tuck_steps(cloth: DartCloth, item: Fullness) -> tuple[Step, ...]:
    length = in_words(chain_length(cloth.stitched))
    return (
        Step(MARK, _("Mark both lines on the wrong side, {length} each.").format(length=length)),
        Step(
            FOLD,
            _(
                "Fold right sides together: line lies on line, notch on notch. Pin across the "
                "lines."
            ),
        ),
        Step(
            STITCH,
            _(
                "Stitch {length} from the seam along the line, with a back stitch at its end; "
                "beyond it the tuck opens out."
            ).format(length=length),
        ),
        Step(
            PRESS,
            _(
                "Press the tuck to the side of the arrow, as far as it is stitched. Its end at "
                "the seam is caught in it."
            ),
        ),
    )


def _rows(item: Fullness) -> str:
    if item.kind == GATHERS:
        return _(
            "Two rows of long stitches, {gap} to both sides of the stitch line, from well before "
            "the first notch to well behind the second. Draw the threads up by {width}, spread "
            "the gathers, stitch between the rows."
        ).format(gap=in_words(ROW_GAP), width=in_words(item.width))
    return _(
        "One row of long stitches in the allowance, {gap} from the stitch line. Draw it up by "
        "{width} until the edge fits its mate, without any pleat; shrink it in with steam."
    ).format(gap=in_words(ROW_GAP), width=in_words(item.width))
