"""What is said of a fault in the program itself."""

from __future__ import annotations

from drafting_core.text.words import _


def unexpected(fault: Exception) -> str:
    """Return what is said of a fault in the program itself."""
    return _(
        "Something went wrong inside Dartswing ({kind}: {fault}). Nothing was changed. Please "
        "report it together with the drawing."
    ).format(kind=type(fault).__name__, fault=fault)
