"""What sewing notes say of width that is sewn into no dart: gathers, ease, a flare, a tuck.

Common practice without a source: rows of long stitches in the allowance, where no needle holes
show; ease steamed in fine, sheer or knit cloth only through a pressing cloth and after a test. A
tuck is folded as drawn; that upright ones go toward the centre and crosswise ones down is the rule
of darts (Oregon State University Extension, 4-H 92132, *How to Construct Darts*, 1994).
"""

from __future__ import annotations

from drafting_core.dart.folding import CENTRE, DOWN, SIDE, UP
from drafting_core.dart.fullness import Fullness
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import nearest_on
from drafting_core.model.piece import GATHERS
from drafting_core.plane.curves import chain_length, cross, dot, unit
from drafting_core.sewing.dart_steps import DartCloth
from drafting_core.text.lengths import in_words
from drafting_core.text.words import N_, _
from extension.sewing.steps import FOLD, MARK, PRESS, ROWS, STITCH, Step, is_at_hem

#: How far from the stitch line the row for ease runs at most (mm): common practice.
EASE_GAP = 3.0
#: An allowance narrower than this holds no row of stitches beside its stitch line (mm).
_NARROW = 4.0

_FOLDED = {
    CENTRE: N_("Folded toward the centre, as its arrow shows, since it runs lengthwise."),
    DOWN: N_("Folded down, as its arrow shows, since it runs crosswise."),
    UP: N_("Folded up, as its arrow shows."),
    SIDE: N_("Folded away from the centre, as its arrow shows."),
}


def row_gaps(item: Fullness, draft: Draft) -> tuple[float, ...]:
    """Return how far out from the stitch line the rows of long stitches run, in mm.

    They run in the allowance: for gathers on the stitch line and halfway to the cut line, for ease
    beside the stitch line. Where there is hardly any allowance, one row runs on the stitch line.
    """
    half = draft.settings.allowances.width(item.seam) / 2
    if half < _NARROW / 2:
        return (0.0,)
    return (0.0, half) if item.kind == GATHERS else (min(EASE_GAP, half),)


def rows_step(item: Fullness, draft: Draft) -> Step:
    """Return the step in which gathers or ease are drawn up."""
    *_line, gap = gaps = row_gaps(item, draft)
    if item.kind == GATHERS:
        said = [
            _(
                "Two rows of long stitches, one on the stitch line and one in the allowance, {gap} "
                "from it, from well before the first notch to well behind the second."
            )
            if len(gaps) > 1
            else _(
                "One row of long stitches on the stitch line, from well before the first notch to "
                "well behind the second."
            ),
            _(
                "Draw the threads up by {width}, spread the gathers, stitch on the stitch line and "
                "pull the long stitches out."
            ),
        ]
    else:
        said = [
            _(
                "One row of long stitches in the allowance, {gap} from the stitch line, from well "
                "before the first notch to well behind the second."
            )
            if gap
            else _(
                "One row of long stitches on the stitch line, from well before the first notch to "
                "well behind the second."
            ),
            _("Draw it up by {width} until the edge fits its mate, without any pleat."),
            _("Shrink it in with steam.")
            if draft.settings.cloth == "woven"
            else _(
                "Steam it only through a pressing cloth, and after a test on a scrap of this cloth."
            ),
        ]
    told = [text.format(gap=in_words(gap), width=in_words(item.width)) for text in said]
    return Step(ROWS, " ".join(told))


def tuck_fold(item: Fullness, draft: Draft) -> str:
    """Return which way a tuck is folded, and why where the rule of darts says the same."""
    shaft = item.paths[2]
    tail, tip = shaft[0].start, shaft[0].end
    way, down = unit(tip - tail), unit(draft.grain.end - draft.grain.start)
    runs = unit(sum(path[-1].end - path[0].start for path in item.paths[:2]))
    is_upright = abs(dot(runs, down)) >= abs(cross(runs, down))
    if not is_upright:
        folded = DOWN if dot(way, down) >= 0.0 else UP
    else:
        folded = CENTRE if _is_toward_centre(tail, tip, draft, down) else SIDE
    return _(_FOLDED[folded])


def _is_toward_centre(tail: complex, tip: complex, draft: Draft, down: complex) -> bool:
    """Tell whether a way leads to the centre; where no centre is named, to the middle."""
    edges = list(draft.piece.edges())
    centre = [edge.segment for edge in edges if edge.seam.is_centre]
    if centre:
        return nearest_on(centre, tip).distance < nearest_on(centre, tail).distance
    across = [cross(down, edge.segment.start) for edge in edges]
    middle = (min(across) + max(across)) / 2
    return abs(cross(down, tip) - middle) < abs(cross(down, tail) - middle)


def tuck_steps(cloth: DartCloth, item: Fullness, draft: Draft) -> tuple[Step, ...]:
    """Return the steps in which a tuck is sewn."""
    length = in_words(chain_length(cloth.stitched))
    stitching = [
        _(
            "Stitch {length} from the seam along the line, with a back stitch at its end; beyond "
            "it the tuck opens out."
        ).format(length=length)
    ]
    if draft.settings.cloth == "knit":
        stitching.append(_("Take a needle for knits and a stitch that gives."))
    pressing = (
        _(
            "Press the tuck to the side of the arrow, as far as it is stitched. Its end is caught "
            "when the hem is turned up or a cuff is set on."
        )
        if is_at_hem(item.seam)
        else _(
            "Press the tuck to the side of the arrow, as far as it is stitched. Its end at the "
            "seam is caught in it."
        )
    )
    return (
        Step(MARK, _("Mark both lines on the wrong side, {length} each.").format(length=length)),
        Step(
            FOLD,
            _(
                "Fold right sides together: line lies on line, notch on notch. Pin across the "
                "lines."
            ),
        ),
        Step(STITCH, " ".join(stitching)),
        Step(PRESS, pressing),
    )
