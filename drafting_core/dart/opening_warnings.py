"""What a drafter is warned of where openings change a seam: the centre, a cut met aslant."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.dart.fullness import NOTABLE_SLANT, Fullness
from drafting_core.model.allowances import Allowances
from drafting_core.model.piece import DART, EASE, FLARE, GATHERS, TUCK, Piece
from drafting_core.model.seam_names import Seam
from drafting_core.text.figures import in_degrees
from drafting_core.text.lengths import in_words
from drafting_core.text.words import N_, _

_FULL_CENTRE = N_(
    "Fullness on {seam} opens the centre: it is no longer straight and cannot lie on the fold of "
    "the cloth."
)
_CENTRE_OPENED = {
    GATHERS: _FULL_CENTRE,
    EASE: _FULL_CENTRE,
    DART: N_(
        "The dart on {seam} opens the centre: it is no longer straight and cannot lie on the fold "
        "of the cloth."
    ),
    TUCK: N_(
        "The tuck on {seam} opens the centre: it is no longer straight and cannot lie on the fold "
        "of the cloth."
    ),
    FLARE: N_(
        "The flare on {seam} opens the centre: it is no longer straight and cannot lie on the "
        "fold of the cloth."
    ),
}


def centre_warnings(piece: Piece, allowances: Allowances) -> list[str]:
    """Return a word on every opening by which the centre is no longer straight.

    Args:
        piece: the piece as found, with its fold edges.
        allowances: the widths of the allowances that opened fold edges get.
    """
    warnings = []
    for k, opening in enumerate(piece.openings):
        if not is_in_centre(piece, k):
            continue
        before, after = piece.runs[k][-1].seam, piece.runs[(k + 1) % len(piece.runs)][0].seam
        seam = before if before.fold else after
        text = _(_CENTRE_OPENED[opening.made]).format(seam=seam.spoken)
        if seam.fold:
            width = allowances.width(seam.off_fold())
            text += " " + _(
                "So the piece is cut 2, with a seam allowance of {width} there."
            ).format(width=in_words(width))
        warnings.append(text)
    return warnings


def opened_folds(piece: Piece) -> dict[Seam, Seam]:
    """Return for every fold edge that an opening divides the seam that it becomes, off the fold."""
    count = len(piece.runs)
    divided = [
        edge.seam
        for k in range(len(piece.openings))
        if is_in_centre(piece, k)
        for edge in (piece.runs[k][-1], piece.runs[(k + 1) % count][0])
    ]
    return {seam: seam.off_fold() for seam in divided if seam.fold}


def is_in_centre(piece: Piece, k: int) -> bool:
    """Tell whether the mouth of an opening divides the centre seam or the fold."""
    before, after = piece.runs[k][-1].seam, piece.runs[(k + 1) % len(piece.runs)][0].seam
    return before.is_centre and after.is_centre


def slant_warnings(fullness: Sequence[Fullness]) -> list[str]:
    """Return a word on every mouth into which its seam turns so much that it makes a wave."""
    return [
        (
            _(
                "The cut met {seam} aslant: the seam, redrawn over {over}, makes a wave of "
                "{angle}. Gather or ease it over a longer stretch, or choose a place that the cut "
                "meets more squarely."
            )
            if item.over
            else _(
                "The cut met {seam} aslant: across the opening the seam makes a wave of {angle}. "
                "Redraw it smooth over a longer stretch, or choose a place that the cut meets more "
                "squarely."
            )
        ).format(seam=item.seam.spoken, over=in_words(item.over), angle=in_degrees(item.slant, 0))
        for item in fullness
        if item.slant > NOTABLE_SLANT
    ]
