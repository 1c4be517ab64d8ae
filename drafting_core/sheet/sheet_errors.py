"""What is said of sheets on which lines of several blocks or sizes cannot be told apart."""

from __future__ import annotations

from drafting_core.text.errors import OutlineError
from drafting_core.text.words import _


def crossing_blocks(place: complex) -> OutlineError:
    """Return the error for two blocks whose outlines cross."""
    return OutlineError(
        _("two blocks cross or touch each other: which line belongs to which cannot be told."),
        remedy=_("Scan them apart, or delete the one that is not wanted there from the trace."),
        place=place,
    )


def several_sizes(place: complex) -> OutlineError:
    """Return the error for sizes whose outlines cannot be told apart."""
    return OutlineError(
        _(
            "lines run beside each other here, as several sizes do, or a stitch line and a cut "
            "line: which is whose cannot be told."
        ),
        remedy=_(
            "Delete from the trace what belongs to the others, or draw one of them over, all "
            "round, and select that line alone."
        ),
        place=place,
    )
