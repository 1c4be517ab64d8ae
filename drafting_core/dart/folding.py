"""Which way a dart's excess is folded.

Upright darts are folded toward the centre, crosswise darts down (Oregon State University
Extension, 4-H 92132, *How to Construct Darts*, 1994).
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

from drafting_core.block.mouth_seam import mouth_seam
from drafting_core.model.outline import nearest_on
from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import (
    ARMHOLE,
    CENTRE_BACK,
    CENTRE_FRONT,
    CROTCH_SEAM,
    HEM,
    INSEAM,
    NECKLINE,
    SHOULDER,
    SIDE_SEAM,
    UNDERARM_SEAM,
    WAIST,
)
from drafting_core.plane.curves import cross, dot, unit

CENTRE = "centre"
DOWN = "down"
UP = "up"
SIDE = "side"
#: What decides the way: the drafter, the seam, or how the dart runs.
SET = "set"
SEAM = "seam"
COURSE = "course"

_TOWARD_CENTRE = frozenset({NECKLINE, SHOULDER, WAIST, HEM})
_DOWNWARD = frozenset(
    {ARMHOLE, SIDE_SEAM, CENTRE_FRONT, CENTRE_BACK, UNDERARM_SEAM, CROTCH_SEAM, INSEAM}
)

#: Mouth ends count as equally far from the centre within this: rounding, not drafting (mm).
_SAME_DISTANCE = 1e-6
#: A mouth this near to the corner of neckline and centre front lies at their meeting (mm).
NECK_TIP_REACH = 10.0


class Fold(NamedTuple):
    """The way a dart's excess goes, and what decided it.

    Attributes:
        way: `CENTRE`, `DOWN`, `UP` or `SIDE`.
        leg: 0 where it lies over the mouth end that the outline meets first, else 1.
        rule: what decided the way: `SET` by the drafter, by the `SEAM`, or by the dart's `COURSE`.
        seam: the name of the seam that the mouth is on.
        by_middle: whether the middle of the piece counted as the centre, no centre being named.
    """

    way: str
    leg: int
    rule: str
    seam: str
    by_middle: bool


def is_at_neck_tip(piece: Piece, k: int) -> bool:
    """Tell whether a mouth lies within 10 mm of the meeting of neckline and centre front."""
    before = list(reversed(piece.runs[k]))
    after = piece.runs[(k + 1) % len(piece.runs)]
    pair = {NECKLINE, CENTRE_FRONT}
    if {before[0].seam.kind, after[0].seam.kind} == pair:
        return True
    for side in (before, after):
        walked = 0.0
        for edge, following in itertools.pairwise(side):
            walked += edge.segment.length()
            if walked > NECK_TIP_REACH:
                break
            if {edge.seam.kind, following.seam.kind} == pair:
                return True
    return False


def fold_of(piece: Piece, k: int, down: complex, forced: str) -> Fold:
    """Decide which way the excess of an opening is folded.

    Args:
        piece: the piece as it will be cut.
        k: the number of the opening.
        down: the unit vector down along the grain.
        forced: ``auto`` or the way that the drafter chose.
    """
    seam = mouth_seam(piece, k)
    apex = piece.openings[k].apex
    first, second = piece.mouth(k)
    if forced != "auto":
        way, rule = forced, SET
    elif seam.kind in _TOWARD_CENTRE:
        way, rule = CENTRE, SEAM
    elif seam.kind in _DOWNWARD:
        way, rule = DOWN, SEAM
    else:
        axis = unit((first + second) / 2 - apex)
        upright = abs(dot(axis, down)) >= abs(cross(axis, down))
        way, rule = CENTRE if upright else DOWN, COURSE
    if way in (DOWN, UP):
        lower = 0 if dot(first, down) >= dot(second, down) else 1
        return Fold(way, lower if way == DOWN else 1 - lower, rule, seam.name, by_middle=False)
    central, is_known = _central_leg(piece, first, second, down)
    leg = central if way == CENTRE else 1 - central
    return Fold(way, leg, rule, seam.name, by_middle=not is_known)


def _central_leg(piece: Piece, first: complex, second: complex, down: complex) -> tuple[int, bool]:
    """Return which mouth end is nearer to the centre, and whether a centre is known.

    Where none is, the line along the grain through the middle of the piece stands for it.
    """
    centre = [edge.segment for edge in piece.edges() if edge.seam.counts_as_centre]
    if centre:
        distances = [nearest_on(centre, end).distance for end in (first, second)]
    else:
        across = [cross(down, edge.segment.start) for edge in piece.edges()]
        middle = (min(across) + max(across)) / 2
        distances = [abs(cross(down, end) - middle) for end in (first, second)]
    if abs(distances[0] - distances[1]) > _SAME_DISTANCE:
        return (0 if distances[0] < distances[1] else 1), bool(centre)
    return (0 if dot(first, down) >= dot(second, down) else 1), bool(centre)
