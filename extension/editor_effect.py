"""What the editor runs: its options in, the job on its document, one message on a fault."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Callable
from typing import TYPE_CHECKING

import inkex
from lxml import etree

from drafting_core.errors import DraftingError
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

if TYPE_CHECKING:
    from extension.jobs import Outcome, Request

_OWN = {"move": (*MOVING, KEEP_GOING), "allow": (AS_MADE, KEEP_GOING), "compare": COMPARING}


def options_of(command: str) -> tuple[Option, ...]:
    """Return the options of a command, in the order of its dialog."""
    return (*_OWN[command], *FINISHING, *NAMING, UNITS)


def job_of(command: str) -> Callable[[etree._Element, Request], Outcome]:
    """Return what a command does to a document."""
    if command == "compare":
        # Seldom used, and a tenth of the time of a move to import.
        from extension.compare import compare

        return compare
    # Not every command drafts: the others do without the time that this import takes.
    from extension.jobs import allow, move

    return move if command == "move" else allow


class DartswingEffect(inkex.EffectExtension):
    """A Dartswing command as an extension of the editor."""

    command = "move"

    def add_arguments(self, pars: ArgumentParser) -> None:
        """Declare the command's options: the same as on the command line."""
        pars.add_argument("--tab", default="dart" if self.command == "allow" else "place")
        for option in options_of(self.command):
            pars.add_argument(
                f"--{option.field}",
                type=float if option.is_number else str,
                default=float(option.default) if option.is_number else option.default,
                choices=option.choices or None,
                help=option.help.replace("%", "%%"),
            )

    def effect(self) -> None:
        """Do the job, or say in one message why not and leave the document as it was."""
        try:
            self.job()
        except DraftingError as error:
            message = str(error)
            raise inkex.AbortExtension(message[:1].upper() + message[1:]) from None
        except Exception as fault:  # a drafter is never shown a traceback
            raise inkex.AbortExtension(unexpected(fault)) from None

    def job(self) -> None:
        """Do what the command does to the document."""
        outcome = job_of(self.command)(self.document.getroot(), self._request())
        for left in outcome.left_out:
            inkex.errormsg(f"Left out: {left.message}")

    def _request(self) -> Request:
        from extension.jobs import Request

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


def unexpected(fault: Exception) -> str:
    """Return what is said of a fault in the program itself."""
    return (
        f"Something went wrong inside Dartswing ({type(fault).__name__}: {fault}). Nothing was "
        "changed. Please report it together with the drawing."
    )
