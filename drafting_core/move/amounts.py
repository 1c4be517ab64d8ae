"""How much of which dart goes to which target."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from drafting_core.block.places import Target
from drafting_core.text.errors import PlaceError
from drafting_core.text.figures import significant
from drafting_core.text.lengths import in_words, told_apart
from drafting_core.text.words import _

#: Shares may exceed 1 by this much, against rounding.
_SLACK = 1e-9


class Goal(NamedTuple):
    """A target and the darts that it takes from.

    Attributes:
        target: the target.
        sources: the numbers of the darts that it takes from.
        radius: the distance in mm of its mouth from the apex.
        standing: the angle in radians that its mouth has already, after what is taken from it.
    """

    target: Target
    sources: tuple[int, ...]
    radius: float
    standing: float = 0.0


class Amounts(NamedTuple):
    """Angles in radians: what every target gets, and what is taken from every dart.

    Attributes:
        given: what each target gets, in their order.
        taken: what is taken from a dart, by the dart's number.
    """

    given: tuple[float, ...]
    taken: Mapping[int, float]


def intake_of(angle: float, radius: float) -> float:
    """Return the width in mm that an opening of an angle (rad) takes in at a distance (mm).

    The chord ``2 r sin(θ/2)``.
    """
    return 2.0 * radius * math.sin(angle / 2.0)


def amounts(goals: Sequence[Goal], available: Mapping[int, float]) -> Amounts:
    """Divide the darts among the targets.

    Targets that take from the same darts share them: first those with a width, then those with
    a share, then the others in equal parts. What no target takes stays in the dart.

    Args:
        goals: the targets.
        available: the angle of every dart that may be moved, by its number.

    Raises:
        PlaceError: if the targets want more than there is.
    """
    given = [0.0] * len(goals)
    taken = dict.fromkeys(available, 0.0)
    for sources in dict.fromkeys(goal.sources for goal in goals):
        members = [n for n, goal in enumerate(goals) if goal.sources == sources]
        whole = sum(available[k] for k in sources)
        shares = shares_of([_with_share(goals[n], whole) for n in members])
        for n, share in zip(members, shares, strict=True):
            given[n] = whole * share
        for k in sources:
            taken[k] += available[k] * sum(shares)
    for k, amount in taken.items():
        if amount > available[k] * (1.0 + _SLACK):
            raise PlaceError(
                _("the targets take more from one dart than it has."),
                remedy=_("Let their shares of each dart sum to 1 at most."),
            )
    return Amounts(tuple(given), taken)


def _with_share(goal: Goal, whole: float) -> Target:
    """Return a goal's target with its share of the angle, where it asks for a width."""
    target = goal.target
    if target.intake is None:
        return target
    half = target.intake / (2.0 * goal.radius)
    most = intake_of(min(goal.standing + whole, math.pi), goal.radius)
    angle = 2.0 * math.asin(half) if half <= 1.0 else math.inf
    if angle > goal.standing + whole * (1.0 + _SLACK):
        wanted, given = told_apart(target.intake, most)
        raise PlaceError(
            _("a width of {width} is more than the dart gives there, which is {most}.").format(
                width=wanted, most=given
            ),
            thing=target.spoken,
            remedy=_("Ask for less."),
        )
    if angle < goal.standing:
        raise PlaceError(
            _("a width of {width} is less than the dart that stays there has.").format(
                width=in_words(target.intake)
            ),
            thing=target.spoken,
            remedy=_("Ask for more, or for another place."),
        )
    return target._replace(share=min(1.0, (angle - goal.standing) / whole))


def shares_of(targets: Sequence[Target]) -> list[float]:
    """Return the share of each target: its own, or an equal part of what is left.

    Raises:
        PlaceError: if the shares are negative or sum to more than 1.
    """
    given = sum(target.share for target in targets if target.share is not None)
    open_ones = sum(target.share is None for target in targets)
    widths = any(target.intake is not None for target in targets)
    if given > 1.0 + _SLACK or any((target.share or 0.0) < 0.0 for target in targets):
        raise PlaceError(
            _("the targets ask for more than the dart has.")
            if widths
            else _("the targets' shares sum to {sum}.").format(sum=significant(given, 6)),
            remedy=_("Ask for less.") if widths else _("Let them sum to 1 at most."),
        )
    rest = max(0.0, 1.0 - given) / open_ones if open_ones else 0.0
    if open_ones and rest <= 0.0:
        raise PlaceError(
            _("nothing is left for the targets without a share."),
            remedy=_("Lower the shares of the others."),
        )
    return [rest if target.share is None else target.share for target in targets]
