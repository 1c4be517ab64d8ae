"""A command in the editor: options of its dialog in, the job on its document, a quick end."""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser
from collections.abc import Sequence
from typing import Any

import inkex
from lxml import etree

from drafting_core.text.errors import DraftingError, SettingError
from drafting_core.text.lengths import measuring_in
from drafting_core.text.words import _
from extension.commands.asked import Asked, Done, carried_out
from extension.commands.command_table import Command, command_named
from extension.document.namespaces import CHECK_KIND, ours
from extension.document.svg_document import display_unit
from extension.host.language import speak_the_drafters_language

#: Files that a dialog is told of, and how their names end.
_ENDINGS = {"report": ".json", "pdf": ".pdf"}


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
        self._is_about_files = False
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
        asked = self._asked(root)
        signs: Sequence[DraftingError] = ()
        try:
            with measuring_in(asked.unit):
                signs = self._do(root, asked).signs
        except DraftingError as error:
            if self._is_of_a_word(error, asked, root):
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
            from extension.commands.unexpected import unexpected

            raise inkex.AbortExtension(unexpected(fault)) from None
        if any(child.get(ours("sheet")) == CHECK_KIND for child in root):
            from extension.commands.check_here import take_signs_off

            take_signs_off(root)
        if signs:
            from extension.commands.check_here import sign_faults

            sign_faults(root, signs)

    def _asked(self, root: etree._Element) -> Asked:
        given = {
            option.name: str(getattr(self.options, option.field))
            for option in self._command.options
            if option.in_dialog
        }
        if "unit" not in given:
            given["unit"] = display_unit(root)
        return Asked(
            self._command.options,
            given,
            list(self.options.ids),
            in_dialog=True,
            drawing=self.document_path() or "",
        )

    def _is_of_a_word(self, error: DraftingError, asked: Asked, root: etree._Element) -> bool:
        """Tell whether what the dialog says is wrong, or not yet whole."""
        if self._is_about_files:
            return False
        # Only faults need to be told apart.
        from extension.commands.fault_of_word import is_of_a_word

        with measuring_in(asked.unit):
            return is_of_a_word(self._command.job, asked, error, root)

    def _do(self, root: etree._Element, asked: Asked) -> Done:
        """Do what the command does to the document, and return what came of it.

        Raises:
            DraftingError: if it cannot be done; the document is then as it was.
        """
        run = self._command.job(asked)
        targets = self._targets(asked)
        # Held, or else each is made anew whenever it is looked at, which costs: a class of the
        # editor's library is chosen for it.
        held = list(root.iter())
        done = carried_out(run, root)
        held.clear()
        if targets:
            self._is_about_files = True
            self._write(targets, done, root)
        for remark in done.remarks:
            inkex.errormsg(remark)
        return done

    def _targets(self, asked: Asked) -> dict[str, str]:
        """Return where a report and a PDF go, if they are wanted.

        Raises:
            SettingError: if a name is not whole; if they would go to one place, or over the
                drawing.
        """
        targets = {
            name: self.absolute_href(asked.given[name].strip())
            for name in _ENDINGS
            if asked.given.get(name, "").strip()
        }
        if not targets:
            return targets
        said = {"report": _("the report"), "pdf": _("the PDF")}
        for name, path in targets.items():
            # With the live preview every letter would leave a file, or be written over one.
            if not path.casefold().endswith(_ENDINGS[name]):
                what = _('{file} would go to "{path}": that is not yet the name of such a file.')
                raise SettingError(
                    what.format(file=said[name], path=path),
                    remedy=_('End the name with "{ending}".').format(ending=_ENDINGS[name]),
                )
        # Seldom wanted: its import is left to those who write files.
        from extension.document.write_files import NamedFile, check_targets

        self._is_about_files = True
        # The editor hands over a copy, and says where the drawing itself is.
        drawings = (self.document_path(), self.options.input_file)
        check_targets(
            [NamedFile(said[name], path) for name, path in targets.items()],
            [NamedFile(_("the drawing that is read"), path) for path in drawings if path],
        )
        self._is_about_files = False
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
