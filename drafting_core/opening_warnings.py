"""What a drafter is warned of where openings change a seam: the centre, a cut met aslant."""

from __future__ import annotations

import math
from collections.abc import Sequence

from drafting_core.fullness import NOTABLE_SLANT, Fullness
from drafting_core.piece import EASE, GATHERS, Piece


def centre_warnings(piece: Piece) -> list[str]:
    """Return a word on every opening by which the centre is no longer straight."""
    warnings = []
    for k, opening in enumerate(piece.openings):
        if not is_in_centre(piece, k):
            continue
        seam = piece.runs[k][-1].seam
        what = "Fullness" if opening.made in (GATHERS, EASE) else f"The {opening.made}"
        warnings.append(
            f"{what} on {seam.spoken} opens the centre: it is no longer straight and cannot lie on "
            "the fold of the cloth."
            + (' Take "fold" off its mark, so that it gets an allowance.' if seam.fold else "")
        )
    return warnings


def is_in_centre(piece: Piece, k: int) -> bool:
    """Tell whether the mouth of an opening divides the centre seam or the fold."""
    before, after = piece.runs[k][-1].seam, piece.runs[(k + 1) % len(piece.runs)][0].seam
    return before.is_centre and after.is_centre


def slant_warnings(fullness: Sequence[Fullness]) -> list[str]:
    """Return a word on every mouth into which its seam turns so much that it makes a wave."""
    return [
        f"The cut met {item.seam.spoken} aslant: across the opening the seam makes a wave of "
        f"{math.degrees(item.slant):.0f}°. Redraw it smooth over a longer stretch, or choose a "
        "place that the cut meets more squarely."
        for item in fullness
        if item.slant > NOTABLE_SLANT
    ]
