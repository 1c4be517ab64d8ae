"""Which seam a dart's mouth is on."""

from __future__ import annotations

from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import NECKLINE, Seam
from drafting_core.plane.curves import cross, unit


def mouth_seam(piece: Piece, k: int) -> Seam:
    """Return the seam that the mouth of an opening is on.

    Where neckline and centre meet that is the neckline; at another corner it is the seam that
    the dart stands more squarely on.
    """
    before = piece.runs[k][-1]
    after = piece.runs[(k + 1) % len(piece.runs)][0]
    if before.seam is after.seam:
        return before.seam
    pair = (before.seam, after.seam)
    for seam, other in (pair, pair[::-1]):
        if seam.kind == NECKLINE and other.is_centre:
            return seam
    apex = piece.openings[k].apex
    first, second = piece.mouth(k)
    square_before = abs(cross(unit(first - apex), before.segment.end_tangent()))
    square_after = abs(cross(unit(second - apex), after.segment.start_tangent()))
    return before.seam if square_before >= square_after else after.seam
