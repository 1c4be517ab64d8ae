"""What the editor runs: its options in, the job on its document, one message on a fault."""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser
from collections.abc import Callable
from typing import Any

import inkex
from lxml import etree

from drafting_core.errors import DraftingError
from drafting_core.words import _
from extension.jobs import Outcome, Request, allow, move
from extension.language import speak_the_drafters_language
from extension.namespaces import CHECK_SHEET, ours
from extension.settings_text import (
    AS_MADE,
    COMPARING,
    FINISHING,
    KEEP_GOING,
    MAKING,
    MOVING,
    NAMING,
    UNITS,
    Option,
)
from extension.svg_document import write_outputs

_OWN = {"move": (*MOVING, KEEP_GOING), "allow": (AS_MADE, KEEP_GOING), "compare": COMPARING}

_REPORTED = ("move", "allow")


def options_of(command: str) -> tuple[Option, ...]:
    """Return the options of a command, in the order of its dialog."""
    return (*_OWN[command], *FINISHING, *NAMING, UNITS)


def job_of(command: str) -> Callable[[etree._Element, Request], Outcome]:
    """Return what a command does to a document."""
    if command == "compare":
        # Seldom used, and a tenth of the time of a move to import.
        from extension.compare import compare

        return compare
    return move if command == "move" else allow


class DartswingEffect(inkex.EffectExtension):
    """A Dartswing command as an extension of the editor."""

    command = "move"

    def add_arguments(self, pars: ArgumentParser) -> None:
        """Declare the command's options: the same as on the command line."""
        pars.add_argument("--tab", default="dart" if self.command == "allow" else "place")
        if self.command in _REPORTED:
            pars.add_argument("--report", default="")
        for option in options_of(self.command):
            pars.add_argument(
                f"--{option.field}",
                type=float if option.is_number else str,
                default=float(option.default) if option.is_number else option.default,
                choices=option.choices or None,
                help=option.help.replace("%", "%%"),
            )

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
            from extension.check_here import take_signs_off

            take_signs_off(root)

    def job(self) -> None:
        """Do what the command does to the document."""
        outcome = job_of(self.command)(self.document.getroot(), self._request())
        if report := getattr(self.options, "report", ""):
            file = self.absolute_href(report)
            write_outputs([(file, outcome.report_file())])
        for left in outcome.left_out:
            inkex.errormsg(_("Left out: {message}").format(message=left.message))

    def _request(self) -> Request:
        values = {
            option.name: str(getattr(self.options, option.field))
            for option in options_of(self.command)
        }
        as_made = values.get(AS_MADE.name, "yes") == "yes"
        defaults = {option.name: option.default for option in MAKING}
        given = {
            name: text
            for name, text in values.items()
            if name in defaults
            # A dialog cannot tell a default from a choice: what is left at its default does not
            # speak against the settings that a result was made with.
            and not (as_made and text == defaults.get(name))
        }
        return Request(
            given=given,
            to=values.get("to", ""),
            unit=values["unit"],
            selection=list(self.options.ids),
            name=values["name"],
            size=values["size"],
            as_made=as_made,
            page=values.get("page", "A4"),
            nest=values.get("nest") == "yes",
            keep_going=values.get(KEEP_GOING.name) == "yes",
        )


def _signed(root: etree._Element, error: DraftingError) -> bool:
    """Put a sign where the fault lies, if it has a place."""
    if error.place is None:
        return False
    # Only faults need it.
    from extension.check_here import sign_fault

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
