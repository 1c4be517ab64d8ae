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


def no_dart_any_more(near: complex) -> DartError:
    """Return the refusal where a dart of a result was reshaped until it is none.

    Args:
        near: where its point was, or is.
    """
    return DartError(
        _(
            "the dart with its point near ({x:.1f}, {y:.1f}) mm is none any more: its two legs do "
            "not run from its mouth to one point."
        ).format(x=near.real, y=near.imag),
        remedy=_(
            'Undo that change; or, if the dart is to go, delete its "dart point" from the layer '
            "first."
        ),
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


def unlike_legs(point: complex, lengths: tuple[float, float], bow: float) -> DartError:
    """Return the refusal of legs that curve without being alike.

    Args:
        point: the dart point.
        lengths: how long the two legs are in mm.
        bow: how far they stray from straight lines at most, in mm.
    """
    return DartError(
        _(
            "the legs of the dart at ({x:.1f}, {y:.1f}) mm are {one} and {other} long and bow by "
            "{bow:.1f} mm: neither is the other turned about the dart point, nor its mirror image."
        ).format(
            x=point.real,
            y=point.imag,
            one=in_words(lengths[0]),
            other=in_words(lengths[1]),
            bow=bow,
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
            "the dart on {seam} cannot be moved: its legs bow by {bow:.1f} mm as mirror images of "
            "each other, and do not close by turning."
        ).format(seam=seam, bow=bow),
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
    return DartError(
        _(
            "the legs of the dart at ({x:.1f}, {y:.1f}) mm are unequal: {one} and {other} from "
            "the apex to the mouth."
        ).format(x=point.real, y=point.imag, one=in_words(radii[0]), other=in_words(radii[1])),
        remedy=_(
            "Move a mouth end or the apex until they differ by {by:.0f} mm at most, or have them "
            "made equal (--even-legs, in the dialog: Unequal legs)."
        ).format(by=most),
        place=point,
    )


def unequal_now(point: complex, legs: tuple[float, float]) -> DartError:
    """Return the refusal of a result's dart whose legs a hand has made unequal.

    Args:
        point: its dart point.
        legs: the lengths of the two legs in mm.
    """
    return DartError(
        _(
            "the legs of the dart at ({x:.1f}, {y:.1f}) mm have become unequal: {one} and {other}."
        ).format(x=point.real, y=point.imag, one=in_words(legs[0]), other=in_words(legs[1])),
        remedy=_("Move its point or a mouth end until they differ by 3 mm at most."),
        place=point,
    )


def doubtful_remark(point: complex, ends: tuple[complex, complex]) -> str:
    """Return the remark on what looks like a dart, but was taken as outline.

    Args:
        point: the inward corner.
        ends: where its sides end.
    """
    return _(
        "At ({x:.1f}, {y:.1f}) mm two lines of {one} and {other} meet like the legs of a dart: "
        "they were taken as outline. If it is a dart, draw its legs straight and equally long, and "
        "mark its apex."
    ).format(
        x=point.real,
        y=point.imag,
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
        "The legs of the dart on {seam} bowed by up to {bow:.1f} mm; they were made straight."
    ).format(seam=seam, bow=bow)


def evened_remark(seam: str, by: float) -> str:
    """Return the remark on curved legs that were made alike.

    Args:
        seam: what the dart's seam is called in a sentence.
        by: by how much they differed, in mm.
    """
    return _(
        "The curved legs of the dart on {seam} differed by up to {by:.1f} mm; one is now the "
        "other, turned about the dart point."
    ).format(seam=seam, by=by)


def no_seam_between(mouth: complex) -> DartError:
    """Return the refusal of two darts that meet at one mouth end."""
    return DartError(
        _("two darts meet at one mouth end."),
        remedy=_("Leave some seam between them."),
        place=mouth,
    )
