"""What is said of a trace that is no sheet of pen lines."""

from __future__ import annotations

from drafting_core.text.errors import DraftingError, OutlineError
from drafting_core.text.words import _


def too_dark() -> DraftingError:
    """Return the error for a sheet that the threshold of its trace made dark."""
    return OutlineError(
        _("it is too dark: ink lies in areas over the sheet, not in lines."),
        thing=_("The trace"),
        remedy=_(
            "Trace again with a lower brightness threshold; where the sheet is darker on one "
            "side, scan it again with the lid closed."
        ),
    )


def too_many_nodes() -> DraftingError:
    """Return the error for a trace that no pen can have drawn."""
    return OutlineError(
        _("it has too many nodes for a pen line: the tracer followed every speck or grain."),
        thing=_("The trace"),
        remedy=_(
            "Trace again with a lower brightness threshold and with speckles suppressed, or scan "
            "at 300 dpi."
        ),
    )
