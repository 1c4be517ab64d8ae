"""The commands that draft, as the editor starts them: options in, the job on its document."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Callable

import inkex
from lxml import etree

from drafting_core.text.words import _
from extension.commands.editor_effect import DartswingEffect
from extension.document.svg_document import write_outputs
from extension.drafting.move_and_allow import Outcome, Request, allow, move
from extension.options.settings_text import (
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

_OWN = {"move": (*MOVING, KEEP_GOING), "allow": (AS_MADE, KEEP_GOING), "compare": COMPARING}

_REPORTED = ("move", "allow")


def options_of(command: str) -> tuple[Option, ...]:
    """Return the options of a command, in the order of its dialog."""
    return (*_OWN[command], *FINISHING, *NAMING, UNITS)


def job_of(command: str) -> Callable[[etree._Element, Request], Outcome]:
    """Return what a command does to a document."""
    if command == "compare":
        # Seldom used, and a tenth of the time of a move to import.
        from extension.comparing.compare_places import compare

        return compare
    return move if command == "move" else allow


class DraftingEffect(DartswingEffect):
    """A command that drafts: ``move``, ``allow`` or ``compare``."""

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
