"""The balance: what has to be the same before and after a move, measured on both."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.dart.finish import FinishedDart
from drafting_core.model.piece import Piece, mouth_angle
from drafting_core.model.seam_names import Seam
from drafting_core.model.settings import LENGTH_KEPT
from drafting_core.plane.curves import dot, unit
from drafting_core.text.errors import BalanceError
from drafting_core.text.figures import significant
from drafting_core.text.lengths import told_exactly
from drafting_core.text.words import _

#: Sewn lengths close within this (mm), areas within this part of themselves.
LENGTH_CLOSES = 1e-6
AREA_CLOSES = 1e-6
ANGLE_CLOSES = 1e-9


class SeamLengths(NamedTuple):
    """The sewn length in mm of a seam, mouths closed, before and after.

    Attributes:
        seam: the seam.
        before: its length in the block.
        after: its length in the piece.
    """

    seam: Seam
    before: float
    after: float


class Balance(NamedTuple):
    """Lengths, angles and areas before and after. Millimetres, radians, mm².

    Attributes:
        seams: the seams' lengths.
        angle_before: the darts' angles in sum, before.
        angle_after: the same after.
        area_before: what the outline encloses, before.
        area_after: the same after.
    """

    seams: tuple[SeamLengths, ...]
    angle_before: float
    angle_after: float
    area_before: float
    area_after: float


def balance(before: Piece, after: Piece) -> Balance:
    """Measure a piece before and after a move and make sure that it balances.

    Raises:
        BalanceError: if a length, the sum of the openings or the net area has changed.
    """
    old, new = before.seam_lengths(), after.seam_lengths()
    lengths = tuple(SeamLengths(seam, old[seam], new.get(seam, 0.0)) for seam in old)
    outcome = Balance(lengths, _angles(before), _angles(after), before.net_area(), after.net_area())
    for entry in lengths:
        if not abs(entry.before - entry.after) <= LENGTH_CLOSES:
            raise _unbalanced(
                _("the result does not balance: {seam} is {change} longer than before.").format(
                    seam=entry.seam.spoken, change=told_exactly(entry.after - entry.before, 3)
                )
            )
    if not abs(outcome.angle_before - outcome.angle_after) <= ANGLE_CLOSES:
        change = math.degrees(outcome.angle_after - outcome.angle_before)
        raise _unbalanced(
            _("the result does not balance: the openings sum to {change} more than before.").format(
                change=_("{angle}°").format(angle=significant(change, 3))
            )
        )
    if not abs(outcome.area_before - outcome.area_after) <= AREA_CLOSES * outcome.area_before:
        raise _unbalanced(_("the result does not balance: the net area is not what it was before."))
    return outcome


def after_trueing(exact: Balance, trued: Piece, blended: Sequence[Seam]) -> Balance:
    """Measure a piece whose seams were drawn smooth, and make sure that they kept their length.

    The openings are those of the exact piece: smooth seams only change how long their legs are.

    Args:
        exact: the balance of the piece before its seams were drawn smooth.
        trued: the piece after.
        blended: the seams that were drawn smooth, each once for every place.

    Raises:
        BalanceError: if a seam has changed by more than `LENGTH_KEPT` for each place.
    """
    if not blended:
        return exact
    new = trued.seam_lengths()
    for entry in exact.seams:
        change = new[entry.seam] - entry.after
        if not abs(change) <= LENGTH_KEPT * blended.count(entry.seam) + LENGTH_CLOSES:
            raise _unbalanced(
                _(
                    "the result does not balance: {seam}, drawn smooth, is {change} longer than "
                    "before."
                ).format(seam=entry.seam.spoken, change=told_exactly(change, 3))
            )
    return exact._replace(
        seams=tuple(entry._replace(after=new[entry.seam]) for entry in exact.seams),
        area_after=trued.net_area(),
    )


def check_darts(darts: Sequence[FinishedDart]) -> None:
    """Make sure that every dart's legs are equal and its angle is what it was given.

    Raises:
        BalanceError: if not.
    """
    for dart in darts:
        legs = [abs(end - dart.point) for end in dart.ends]
        if not abs(legs[0] - legs[1]) <= LENGTH_CLOSES:
            raise _unbalanced(
                _("the result does not balance: the legs on {seam} are unequal.").format(
                    seam=dart.seam.spoken
                )
            )
        axis = unit((dart.ends[0] + dart.ends[1]) / 2 - dart.opening.apex)
        if (
            dart.clearance > LENGTH_CLOSES
            and not dot(axis, unit(dart.point - dart.opening.apex)) > 0
        ):
            raise _unbalanced(
                _("the result does not balance: the point on {seam} lies past the apex.").format(
                    seam=dart.seam.spoken
                )
            )


def _angles(piece: Piece) -> float:
    """Return the sum of the openings, measured from the mouths.

    A throat at the apex itself has no mouth to measure: it is as wide as it was given.
    """
    total = 0.0
    for k, opening in enumerate(piece.openings):
        ends = piece.mouth(k)
        at_apex = max(abs(end - opening.apex) for end in ends) < LENGTH_CLOSES
        total += opening.angle if at_apex else mouth_angle(*ends, opening.apex)
    return total if abs(total) > ANGLE_CLOSES else 0.0


def _unbalanced(what: str) -> BalanceError:
    return BalanceError(
        what,
        remedy=_("Nothing was written. Please report this drawing as a fault of the program."),
    )
