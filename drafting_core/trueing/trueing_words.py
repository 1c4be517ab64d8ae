"""What the drafter is told of trueing: what was drawn smooth, and what was left and why."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from drafting_core.model.seam_names import Seam
from drafting_core.model.settings import LENGTH_KEPT
from drafting_core.text.figures import in_degrees
from drafting_core.text.lengths import in_words, told_length
from drafting_core.text.words import N_, _, capital

if TYPE_CHECKING:
    from drafting_core.trueing.blending import Blended

# Each table says it of a place where a dart was closed (False) and of one at a dart (True).
NO_ROOM = {
    False: N_(
        "{Seam} keeps its corner of {angle} where the dart was closed: beside it there is no room "
        "for a smooth curve."
    ),
    True: N_(
        "{Seam} keeps its corner of {angle} at the dart: beside it there is no room for a smooth "
        "curve."
    ),
}
TWO_SEAMS = {
    False: N_(
        "The corner of {seam} and {other} where the dart was closed is kept: there one seam ends "
        "and another begins."
    ),
    True: N_(
        "The corner of {seam} and {other} at the dart is kept: there one seam ends and another "
        "begins."
    ),
}
TOO_SHARP = {
    False: N_(
        "{seam} turns by {angle} where the dart was closed; over {most} a smooth curve would be "
        "another seam."
    ),
    True: N_(
        "{seam} turns by {angle} at the dart; over {most} a smooth curve would be another seam."
    ),
}
_SMOOTH = {
    False: N_(
        "{Seam} was drawn smooth over {length} where the dart was closed; it turned there by "
        "{angle}."
    ),
    True: N_(
        "{Seam} was drawn smooth over {length} at the dart; folded shut, it turned there by "
        "{angle}."
    ),
}
SMOOTH_ALREADY = N_("{Seam} is smooth already where the dart was closed.")
CORNER_OF_THE_BLOCK = N_(
    "{Seam} keeps its corner of {angle} at the dart: it is a corner of the block itself."
)
BLEND_ADVISED = N_(
    "{Seam} turns by {angle} where the dart was closed; --blend {blend} draws it smooth (in the "
    "dialog: Trueing)."
)

CORNER_LEFT = N_(
    "Closing the dart leaves a corner of {angle} in {seam}; --blend {blend} smooths it (in the "
    "dialog: Trueing)."
)
CORNER_TOO_SHARP = N_(
    "Closing the dart leaves a corner of {angle} in {seam}; over {most} a smooth curve would be "
    "another seam."
)


class Turning(NamedTuple):
    """Where a seam turns: the seam before and behind, and by how much, in radians.

    Attributes:
        seam: the seam before the corner.
        other: the seam behind it.
        turn: the angle from the one to the other.
    """

    seam: Seam
    other: Seam
    turn: float

    def told(self, text: str, **more: str) -> str:
        """Return a text of this module about it, in the drafter's language.

        Args:
            text: the text, marked for translation.
            more: what stands in it besides the seams and the angle.
        """
        return _(text).format(
            seam=self.seam.spoken,
            Seam=capital(self.seam.spoken),
            other=self.other.spoken,
            angle=in_degrees(self.turn),
            **more,
        )


def smooth_sentence(
    seam: Seam, turn: float, outcome: Blended, *, at_dart: bool, is_short: bool
) -> str:
    """Return what the drafter is told of a seam that was drawn smooth.

    Args:
        seam: the seam.
        turn: by how much it turned, in radians.
        outcome: the curve and how it differs from the exact seam.
        at_dart: whether it is at the mouth of a dart, else where one was closed.
        is_short: whether the curve is shorter than asked.
    """
    smooth = _(_SMOOTH[at_dart]).format(
        Seam=capital(seam.spoken),
        length=in_words(outcome.back + outcome.on),
        angle=in_degrees(turn),
    )
    beside = (
        _("It now lies at most {most} beside the exact seam and is {by} longer.")
        if outcome.change > 0.0
        else _("It now lies at most {most} beside the exact seam and is {by} shorter.")
    ).format(most=told_length(outcome.deviation, 2), by=told_length(abs(outcome.change), 2))
    told = [smooth, beside]
    if outcome.clipped:
        lost = _("Over a longer stretch it would lose more than {by} of its length, or its shape.")
        told.append(lost.format(by=in_words(LENGTH_KEPT)))
    elif is_short:
        told.append(_("A corner, another dart or the seam's end left no more room."))
    return " ".join(told)
