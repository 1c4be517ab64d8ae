"""A command in the editor: options of its dialog in, the job on its document, a quick end."""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser
from collections.abc import Sequence
from typing import Any

import inkex
from lxml import etree

from drafting_core.text.errors import DraftingError, PlaceError, SettingError
from drafting_core.text.lengths import measuring_in
from drafting_core.text.words import _
from extension.commands.asked import Asked, Done, carried_out
from extension.commands.command_table import Command, command_named
from extension.commands.unexpected import unexpected
from extension.document.namespaces import CHECK_KIND, ours
from extension.document.stored_values import UnusableAttributeError
from extension.document.svg_document import display_unit
from extension.host.language import speak_the_drafters_language
from extension.options.options import MARKS, NO_SEAM, SEAM, WORDS


class DartswingEffect(inkex.EffectExtension):
    """A command of the table as an extension of the editor."""

    def __init__(self, name: str) -> None:
        """Prepare a command by its name.

        Raises:
            KeyError: if there is no such command on a drawing.
        """
        command = command_named(name)
        if not isinstance(command, Command):
            raise KeyError(name)
        self._command = command
        self._is_naming_files = False
        super().__init__()

    def add_arguments(self, pars: ArgumentParser) -> None:
        """Declare the command's options: the same as on the command line."""
        pars.add_argument("--command", default=self._command.name)
        if self._command.first_tab:
            pars.add_argument("--tab", default=self._command.first_tab)
        for option in self._command.options:
            if option.in_dialog:
                pars.add_argument(
                    f"--{option.field}",
                    type=float if option.is_number else str,
                    default=float(option.default) if option.is_number else option.default,
                    choices=option.dialog_choices or option.choices or None,
                    help=option.help.replace("%", "%%"),
                )

    def effect(self) -> None:
        """Do the job, or say in one message why not.

        The document is then as it was; where the fault has a place, with a sign there.
        """
        speak_the_drafters_language()
        root = self.document.getroot()
        signs: Sequence[DraftingError] = ()
        try:
            signs = self._do(root).signs
        except DraftingError as error:
            if self._is_of_a_word(error):
                # The live preview runs with every letter: a window would stop the typing.
                from extension.commands.check_here import note_fault

                note_fault(root, error)
                return
            message = str(error)
            message = message[:1].upper() + message[1:]
            if _signed(root, error):
                # Without an abort, for the sign to be kept: the message is shown all the same.
                inkex.errormsg(message)
                return
            raise inkex.AbortExtension(message) from None
        except Exception as fault:  # a drafter is never shown a traceback
            raise inkex.AbortExtension(unexpected(fault)) from None
        if any(child.get(ours("sheet")) == CHECK_KIND for child in root):
            from extension.commands.check_here import take_signs_off

            take_signs_off(root)
        if signs:
            from extension.commands.check_here import sign_faults

            sign_faults(root, signs)

    def _is_of_a_word(self, error: DraftingError) -> bool:
        """Tell whether what was typed in the dialog is wrong, or not yet whole."""
        if isinstance(error, UnusableAttributeError) or self._is_naming_files:
            return False
        if not any(option.in_dialog for option in self._command.options):
            # Nothing is typed there: it is a label of the drawing.
            return False
        asked = self.options
        is_named = (
            getattr(asked, "to", "").strip()
            or getattr(asked, "target", MARKS) in (SEAM, WORDS)
            or (self._command.name == "move" and asked.seam != NO_SEAM)
        )
        return isinstance(error, SettingError) or bool(isinstance(error, PlaceError) and is_named)

    def _do(self, root: etree._Element) -> Done:
        """Do what the command does to the document, and return what came of it.

        Raises:
            DraftingError: if it cannot be done; the document is then as it was.
        """
        given = {
            option.name: str(getattr(self.options, option.field))
            for option in self._command.options
            if option.in_dialog
        }
        if "unit" not in given:
            given["unit"] = display_unit(root)
        asked = Asked(self._command.options, given, list(self.options.ids), in_dialog=True)
        with measuring_in(asked.unit):
            return self._carry_out(root, asked, given)

    def _carry_out(self, root: etree._Element, asked: Asked, given: dict[str, str]) -> Done:
        run = self._command.job(asked)
        self._is_naming_files = True
        targets = self._targets(given)
        self._is_naming_files = False
        # Held, or else each is made anew whenever it is looked at, which costs: a class of the
        # editor's library is chosen for it.
        held = list(root.iter())
        done = carried_out(run, root)
        held.clear()
        if targets:
            self._write(targets, done, root)
        for remark in done.remarks:
            inkex.errormsg(remark)
        return done

    def _targets(self, given: dict[str, str]) -> dict[str, str]:
        """Return where a report and a PDF go, if they are wanted.

        Raises:
            SettingError: if they would go to one place, or over the drawing.
        """
        targets = {
            name: self.absolute_href(path)
            for name, path in ((name, given.get(name, "").strip()) for name in ("report", "pdf"))
            if path
        }
        if targets:
            # Seldom wanted: its import is left to those who write files.
            from extension.document.write_files import NamedFile, check_targets

            said = {"report": _("the report"), "pdf": _("the PDF")}
            # The editor hands over a copy, and says where the drawing itself is.
            drawings = (self.document_path(), self.options.input_file)
            check_targets(
                [NamedFile(said[name], path) for name, path in targets.items()],
                [NamedFile(_("the drawing that is read"), path) for path in drawings if path],
            )
        return targets

    def _write(self, targets: dict[str, str], done: Done, root: etree._Element) -> None:
        """Write a report or a PDF.

        Raises:
            DraftingError: if one cannot be written.
        """
        from extension.document.write_files import write_files

        if "report" in targets and done.report is not None:
            write_files([(targets["report"], done.report())])
        if "pdf" in targets and done.pages is not None:
            # Starting another program is left to those who want it.
            from extension.pages.export_pdf import pdf_of

            pdf = pdf_of(root, done.pages.layer, done.pages.mm_per_unit, targets["pdf"])
            write_files([(targets["pdf"], pdf)])


def _signed(root: etree._Element, error: DraftingError) -> bool:
    """Put a sign where the fault lies, if it has a place."""
    if error.place is None:
        return False
    # Only faults need it.
    from extension.commands.check_here import sign_fault

    return sign_fault(root, error)


def start(name: str) -> None:
    """Run a command as the editor starts it, and end the process.

    Everything is written by then: taking the process's objects apart one by one would only keep
    the drafter waiting, for a sixth of the whole time.
    """
    status: Any = 0
    try:
        DartswingEffect(name).run()
    except SystemExit as leave:
        status = leave.code
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(status if isinstance(status, int) else 0 if status is None else 1)
