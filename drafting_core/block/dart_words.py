"""What the drafter is told of darts of an outline that cannot be read: each a refusal."""

from __future__ import annotations

from drafting_core.text.errors import DartError
from drafting_core.text.lengths import in_words
from drafting_core.text.words import _


def not_found_again(near: complex) -> DartError:
    """Return the refusal where the corner of a dart with curved legs is gone."""
    return DartError(
        _("the dart with curved legs near ({x:.1f}, {y:.1f}) mm is no longer found.").format(
            x=near.real, y=near.imag
        ),
        remedy=_("Its legs have to meet in a sharp corner; undo that change."),
        place=near,
    )


def no_mouth(point: complex) -> DartError:
    """Return the refusal of curved legs that end nowhere on the outline."""
    return DartError(
        _(
            "the curved legs of the dart at ({x:.1f}, {y:.1f}) mm have no mouth on the outline."
        ).format(x=point.real, y=point.imag),
        remedy=_("Undo the change that was made to them."),
        place=point,
    )


def leg_not_straight(point: complex) -> DartError:
    """Return the refusal of a marked leg that is no straight line."""
    return DartError(
        _("a leg of the dart at ({x:.1f}, {y:.1f}) mm is not straight.").format(
            x=point.real, y=point.imag
        ),
        remedy=_("Draw both legs as straight lines to the dart point."),
        place=point,
    )


def unequal_radii(point: complex, radii: tuple[float, float], most: float) -> DartError:
    """Return the refusal of a dart whose mouth ends are not equally far from the apex.

    Args:
        point: its dart point.
        radii: the two distances in mm.
        most: by how many mm they may differ.
    """
    return DartError(
        _(
            "the legs of the dart at ({x:.1f}, {y:.1f}) mm are unequal: {one} and {other} from "
            "the apex to the mouth."
        ).format(x=point.real, y=point.imag, one=in_words(radii[0]), other=in_words(radii[1])),
        remedy=_("Move a mouth end or the apex until they differ by {by:.0f} mm at most.").format(
            by=most
        ),
        place=point,
    )


def no_seam_between(mouth: complex) -> DartError:
    """Return the refusal of two darts that meet at one mouth end."""
    return DartError(
        _("two darts meet at one mouth end."),
        remedy=_("Leave some seam between them."),
        place=mouth,
    )
