"""What kind of piece a block is, told from the names of its seams."""

from __future__ import annotations

from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import (
    ARMHOLE,
    CAP,
    CENTRE_BACK,
    CENTRE_FRONT,
    CROTCH_SEAM,
    HEM,
    INSEAM,
    NECKLINE,
    SHOULDER,
    UNDERARM_SEAM,
    WAIST,
    WRIST,
)
from drafting_core.text.lengths import INCH
from drafting_core.text.words import N_, _

FRONT = "front"
BACK = "back"
SKIRT = "skirt"
SLEEVE = "sleeve"
TROUSERS = "trousers"
UNKNOWN = "unknown"

#: Clearance on a bodice front and on a piece of unknown kind (mm); the point of a bust dart is
#: drawn 1 in from the apex for a small bust, more for a fuller one (Threads no. 181, 2015).
FRONT_CLEARANCE = INCH


def piece_kind(piece: Piece) -> str:
    """Return the kind of a piece: one of the constants of this module."""
    kinds = {seam.kind for seam in piece.seams()}
    upper = kinds & {SHOULDER, ARMHOLE}
    if CENTRE_FRONT in kinds and upper:
        return FRONT
    if kinds & {CROTCH_SEAM, INSEAM} and not upper:
        return TROUSERS
    if CENTRE_BACK in kinds:
        return BACK
    if kinds & {CAP, WRIST, UNDERARM_SEAM}:
        return SLEEVE
    if kinds >= {WAIST, HEM} and not upper and NECKLINE not in kinds:
        return SKIRT
    return UNKNOWN


_TITLES = {
    FRONT: N_("Front"),
    BACK: N_("Back"),
    SKIRT: N_("Skirt"),
    SLEEVE: N_("Sleeve"),
    TROUSERS: N_("Trousers"),
}


def piece_title(name: str, piece: Piece) -> str:
    """Return a piece's name: the drafter's own, else its kind's, else an empty string."""
    title = _TITLES.get(piece_kind(piece))
    return name or (_(title) if title else "")


def title_for_attributes(name: str, piece: Piece) -> str:
    """Return a piece's name as it is written to the drawing, the same in every language."""
    return name or _TITLES.get(piece_kind(piece), "")


def default_clearance(piece: Piece) -> float:
    """Return the clearance in mm where the drafter sets none."""
    return FRONT_CLEARANCE if piece_kind(piece) in (FRONT, UNKNOWN) else 0.0
