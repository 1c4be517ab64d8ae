"""What the editor starts: a job on its document, one message on a fault, and a quick end."""

from __future__ import annotations

import os
import sys
from typing import Any

import inkex
from lxml import etree

from drafting_core.text.errors import DraftingError
from drafting_core.text.words import _
from extension.document.namespaces import CHECK_SHEET, ours
from extension.host.language import speak_the_drafters_language


class DartswingEffect(inkex.EffectExtension):
    """A Dartswing command as an extension of the editor."""

    def effect(self) -> None:
        """Do the job, or say in one message why not.

        The document is then as it was; where the fault has a place, with a sign there.
        """
        speak_the_drafters_language()
        root = self.document.getroot()
        try:
            self.job()
        except DraftingError as error:
            message = str(error)
            message = message[:1].upper() + message[1:]
            if _signed(root, error):
                # Without an abort, for the sign to be kept: the message is shown all the same.
                inkex.errormsg(message)
                return
            raise inkex.AbortExtension(message) from None
        except Exception as fault:  # a drafter is never shown a traceback
            raise inkex.AbortExtension(unexpected(fault)) from None
        if any(child.get(ours("sheet")) == CHECK_SHEET for child in root):
            from extension.commands.check_here import take_signs_off

            take_signs_off(root)

    def job(self) -> None:
        """Do what the command does to the document: each command says what.

        Raises:
            DraftingError: if it cannot be done; the document is then as it was.
        """

    def write_pdf(self, layer: etree._Element, mm_per_unit: float) -> None:
        """Write a set of pages as a PDF, where the option ``pdf`` names a file.

        Args:
            layer: the layer of the pages.
            mm_per_unit: millimetres on paper to a unit of the root.

        Raises:
            DraftingError: if it cannot be written.
        """
        root = self.document.getroot()
        if not (pdf := str(self.options.pdf).strip()):
            return
        # Starting another program is left to those who want it.
        from extension.document.svg_document import write_outputs
        from extension.pages.export_pdf import pdf_of

        target = self.absolute_href(pdf)
        write_outputs([(target, pdf_of(root, layer, mm_per_unit, target))])


def _signed(root: etree._Element, error: DraftingError) -> bool:
    """Put a sign where the fault lies, if it has a place."""
    if error.place is None:
        return False
    # Only faults need it.
    from extension.commands.check_here import sign_fault

    return sign_fault(root, error)


def start(effect: type[DartswingEffect]) -> None:
    """Run a command as the editor starts it, and end the process.

    Everything is written by then: taking the process's objects apart one by one would only keep
    the drafter waiting, for a sixth of the whole time.
    """
    status: Any = 0
    try:
        effect().run()
    except SystemExit as leave:
        status = leave.code
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(status if isinstance(status, int) else 0 if status is None else 1)


def unexpected(fault: Exception) -> str:
    """Return what is said of a fault in the program itself."""
    return _(
        "Something went wrong inside Dartswing ({kind}: {fault}). Nothing was changed. Please "
        "report it together with the drawing."
    ).format(kind=type(fault).__name__, fault=fault)
