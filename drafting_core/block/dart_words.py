"""What the drafter is told of darts of an outline that cannot be read: each a refusal."""

from __future__ import annotations

from drafting_core.text.errors import DartError
from drafting_core.text.lengths import (
    in_words,
    most_in_words,
    place_in_words,
    told_length,
    told_with_difference,
)
from drafting_core.text.words import _


def not_found_again(near: complex) -> DartError:
    """Return the refusal where the corner of a dart with curved legs is gone."""
    return DartError(
        _("the dart with curved legs near {place} is no longer found.").format(
            place=place_in_words(near)
        ),
        remedy=_("Its legs have to meet in a sharp corner; undo that change."),
        place=near,
    )


def no_dart_any_more(near: complex) -> DartError:
    """Return the refusal where a dart of a result was reshaped until it is none.

    Args:
        near: where its point was, or is.
    """
    return DartError(
        _(
            "the dart with its point near {place} is none any more: its two legs do not run from "
            "its mouth to one point."
        ).format(place=place_in_words(near)),
        remedy=_(
            'Undo that change; or, if the dart is to go, delete its "dart point" from the layer '
            "first."
        ),
        place=near,
    )


def no_mouth(point: complex) -> DartError:
    """Return the refusal of curved legs that end nowhere on the outline."""
    return DartError(
        _("the curved legs of the dart at {place} have no mouth on the outline.").format(
            place=place_in_words(point)
        ),
        remedy=_("Undo the change that was made to them."),
        place=point,
    )


def unlike_legs(point: complex, lengths: tuple[float, float], bow: float) -> DartError:
    """Return the refusal of legs that curve without being alike.

    Args:
        point: the dart point.
        lengths: how long the two legs are in mm.
        bow: how far they stray from straight lines at most, in mm.
    """
    one, other, _by = told_with_difference(*lengths)
    return DartError(
        _(
            "the legs of the dart at {place} are {one} and {other} long and bow by {bow}: neither "
            "is the other turned about the dart point, nor its mirror image."
        ).format(
            place=place_in_words(point),
            one=one,
            other=other,
            bow=told_length(bow),
        ),
        remedy=_("Draw both as straight lines, or one as a copy of the other."),
        place=point,
    )


def mirrored_legs(seam: str, bow: float, point: complex) -> DartError:
    """Return the refusal to move a dart that does not close by turning.

    Args:
        seam: what its seam is called in a sentence.
        bow: how far its legs stray from straight lines, in mm.
        point: its dart point.
    """
    return DartError(
        _(
            "the dart on {seam} cannot be moved: its legs bow by {bow} as mirror images of each "
            "other, and do not close by turning."
        ).format(seam=seam, bow=told_length(bow)),
        remedy=_("Draw its legs straight, or leave it where it is and move another dart."),
        place=point,
    )


def unequal_radii(point: complex, radii: tuple[float, float], most: float) -> DartError:
    """Return the refusal of a dart whose mouth ends are not equally far from the apex.

    Args:
        point: its dart point.
        radii: the two distances in mm.
        most: by how many mm they may differ.
    """
    one, other, _by = told_with_difference(*radii)
    return DartError(
        _(
            "the legs of the dart at {place} are unequal: {one} and {other} from the apex to the "
            "mouth."
        ).format(place=place_in_words(point), one=one, other=other),
        remedy=_(
            "Move a mouth end or the apex until they differ by {by} at most, or have them made "
            "equal (--even-legs, in the dialog: Unequal legs)."
        ).format(by=most_in_words(most)),
        place=point,
    )


def too_unequal(
    point: complex, radii: tuple[float, float], limits: tuple[float, float]
) -> DartError:
    """Return the refusal of what points at the apex with legs too unequal to be made equal.

    Args:
        point: where its legs meet.
        radii: how far its mouth ends lie from the apex, in mm.
        limits: by how many mm they may differ, as they are and to be made equal.
    """
    one, other, _by = told_with_difference(*radii)
    return DartError(
        _(
            "the legs of the dart at {place} are too unequal: {one} and {other} from the apex to "
            "the mouth."
        ).format(place=place_in_words(point), one=one, other=other),
        remedy=_(
            "Move a mouth end or the apex until they differ by {least} at most, or by {most} at "
            "most and have them made equal (--even-legs, in the dialog: Unequal legs)."
        ).format(least=most_in_words(limits[0]), most=most_in_words(limits[1])),
        place=point,
    )


def unequal_now(point: complex, legs: tuple[float, float], most: float) -> DartError:
    """Return the refusal of a result's dart whose legs a hand has made unequal.

    Args:
        point: its dart point.
        legs: the lengths of the two legs in mm.
        most: by how many mm they may differ.
    """
    one, other, _by = told_with_difference(*legs)
    return DartError(
        _("the legs of the dart at {place} have become unequal: {one} and {other}.").format(
            place=place_in_words(point), one=one, other=other
        ),
        remedy=_("Move its point or a mouth end until they differ by {by} at most.").format(
            by=most_in_words(most)
        ),
        place=point,
    )


def doubtful_remark(point: complex, ends: tuple[complex, complex]) -> str:
    """Return the remark on what looks like a dart, but was taken as outline.

    Args:
        point: the inward corner.
        ends: where its sides end.
    """
    return _(
        "At {place} two lines of {one} and {other} meet like the legs of a dart: they were taken "
        "as outline. If it is a dart, draw its legs straight and equally long, and mark its apex."
    ).format(
        place=place_in_words(point),
        one=in_words(abs(ends[0] - point)),
        other=in_words(abs(ends[1] - point)),
    )


def straightened_remark(seam: str, bow: float) -> str:
    """Return the remark on legs that were made straight.

    Args:
        seam: what the dart's seam is called in a sentence.
        bow: by how much they bowed at most, in mm.
    """
    return _(
        "The legs of the dart on {seam} bowed by up to {bow}; they were made straight."
    ).format(seam=seam, bow=told_length(bow))


def evened_remark(seam: str, by: float) -> str:
    """Return the remark on curved legs that were made alike.

    Args:
        seam: what the dart's seam is called in a sentence.
        by: by how much they differed, in mm.
    """
    return _(
        "The curved legs of the dart on {seam} differed by up to {by}; one is now the other, "
        "turned about the dart point."
    ).format(seam=seam, by=told_length(by))


def no_seam_between(mouth: complex) -> DartError:
    """Return the refusal of two darts that meet at one mouth end."""
    return DartError(
        _("two darts meet at one mouth end."),
        remedy=_("Leave some seam between them."),
        place=mouth,
    )
