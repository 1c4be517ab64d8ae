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
    HEM,
    NECKLINE,
    SHOULDER,
    SIDE_SEAM,
    UNDERARM_SEAM,
    WAIST,
)
from drafting_core.plane.curves import cross, dot, unit
from drafting_core.text.words import N_, _

CENTRE = "centre"
DOWN = "down"
UP = "up"
SIDE = "side"

_TOWARD_CENTRE = frozenset({NECKLINE, SHOULDER, WAIST, HEM})
_DOWNWARD = frozenset({ARMHOLE, SIDE_SEAM, CENTRE_FRONT, CENTRE_BACK, UNDERARM_SEAM})

#: A mouth this near to the corner of neckline and centre front lies at their meeting (mm).
NECK_TIP_REACH = 10.0


class Fold(NamedTuple):
    """The way a dart's excess goes.

    Attributes:
        way: ``centre``, ``down``, ``up`` or ``side``.
        leg: 0 where it lies over the mouth end that the outline meets first, else 1.
        sentence: the way and the rule that was used, in the drafter's language.
    """

    way: str
    leg: int
    sentence: str


#: What decides the way: the drafter, the seam, or how the dart runs.
_SET, _SEAM, _COURSE = range(3)
_SENTENCES = {
    (CENTRE, _SET): N_("Excess folded toward the centre, as set."),
    (SIDE, _SET): N_("Excess folded away from the centre, as set."),
    (DOWN, _SET): N_("Excess folded down, as set."),
    (UP, _SET): N_("Excess folded up, as set."),
    (CENTRE, _SEAM): N_("Excess folded toward the centre, since it is on {seam}."),
    (DOWN, _SEAM): N_("Excess folded down, since it is on {seam}."),
    (CENTRE, _COURSE): N_(
        "Excess folded toward the centre, since no rule names {seam} and the dart runs nearer to "
        "the grain than to the cross grain."
    ),
    (DOWN, _COURSE): N_(
        "Excess folded down, since no rule names {seam} and the dart runs crosswise."
    ),
}
_WITHOUT_CENTRE = {
    (CENTRE, _SET): N_(
        "Excess folded toward the centre, as set; no centre seam is named, so the middle of the "
        "piece counts as the centre."
    ),
    (SIDE, _SET): N_(
        "Excess folded away from the centre, as set; no centre seam is named, so the middle of "
        "the piece counts as the centre."
    ),
    (CENTRE, _SEAM): N_(
        "Excess folded toward the centre, since it is on {seam}; no centre seam is named, so the "
        "middle of the piece counts as the centre."
    ),
    (CENTRE, _COURSE): N_(
        "Excess folded toward the centre, since no rule names {seam} and the dart runs nearer to "
        "the grain than to the cross grain; no centre seam is named, so the middle of the piece "
        "counts as the centre."
    ),
}


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
        way, rule = forced, _SET
    elif seam.kind in _TOWARD_CENTRE:
        way, rule = CENTRE, _SEAM
    elif seam.kind in _DOWNWARD:
        way, rule = DOWN, _SEAM
    else:
        axis = unit((first + second) / 2 - apex)
        upright = abs(dot(axis, down)) >= abs(cross(axis, down))
        way, rule = CENTRE if upright else DOWN, _COURSE
    told = _SENTENCES[way, rule]
    if way in (DOWN, UP):
        lower = 0 if dot(first, down) >= dot(second, down) else 1
        leg = lower if way == DOWN else 1 - lower
    else:
        central, known = _central_leg(piece, first, second, down)
        leg = central if way == CENTRE else 1 - central
        told = told if known else _WITHOUT_CENTRE[way, rule]
    return Fold(way, leg, _(told).format(seam=seam.spoken))


def _central_leg(piece: Piece, first: complex, second: complex, down: complex) -> tuple[int, bool]:
    """Return which mouth end is nearer to the centre, and whether a centre is known.

    Where none is, the line along the grain through the middle of the piece stands for it.
    """
    centre = [edge.segment for edge in piece.edges() if edge.seam.is_centre]
    if centre:
        distances = [nearest_on(centre, end).distance for end in (first, second)]
    else:
        across = [cross(down, edge.segment.start) for edge in piece.edges()]
        middle = (min(across) + max(across)) / 2
        distances = [abs(cross(down, end) - middle) for end in (first, second)]
    if abs(distances[0] - distances[1]) > 1e-6:
        return (0 if distances[0] < distances[1] else 1), bool(centre)
    return (0 if dot(first, down) >= dot(second, down) else 1), bool(centre)
