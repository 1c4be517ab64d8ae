"""What the editor runs: its options in, the job on its document, one message on a fault."""

from __future__ import annotations

from argparse import ArgumentParser

import inkex

from drafting_core.errors import DraftingError
from extension.jobs import Request, allow, move
from extension.settings_text import AS_MADE, FINISHING, KEEP_GOING, MOVING, NAMING, UNITS, Option

_JOBS = {"move": move, "allow": allow}


def options_of(command: str) -> tuple[Option, ...]:
    """Return the options of a command, in the order of its dialog."""
    own = MOVING if command == "move" else (AS_MADE,)
    return (*own, *FINISHING, *NAMING, KEEP_GOING, UNITS)


class DartswingEffect(inkex.EffectExtension):
    """A Dartswing command as an extension of the editor."""

    command = "move"

    def add_arguments(self, pars: ArgumentParser) -> None:
        """Declare the command's options: the same as on the command line."""
        pars.add_argument("--tab", default="place" if self.command == "move" else "dart")
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
            outcome = _JOBS[self.command](self.document.getroot(), self._request())
        except DraftingError as error:
            message = str(error)
            raise inkex.AbortExtension(message[:1].upper() + message[1:]) from None
        except Exception as fault:  # a drafter is never shown a traceback
            raise inkex.AbortExtension(unexpected(fault)) from None
        for left in outcome.left_out:
            inkex.errormsg(f"Left out: {left.message}")

    def _request(self) -> Request:
        values = {
            option.name: str(getattr(self.options, option.field))
            for option in options_of(self.command)
        }
        as_made = values.get(AS_MADE.name, "yes") == "yes"
        defaults = {option.name: option.default for option in FINISHING}
        given = {
            name: text
            for name, text in values.items()
            if (name in defaults or name == "share")
            # A dialog cannot tell a default from a choice: what is left at its default does not
            # speak against the settings that a result was made with.
            and not (self.command == "allow" and as_made and text == defaults.get(name))
        }
        return Request(
            given=given,
            to=values.get("to", ""),
            unit=values["unit"],
            selection=list(self.options.ids),
            name=values["name"],
            size=values["size"],
            as_made=as_made,
            nest=values.get("nest") == "yes",
            keep_going=values[KEEP_GOING.name] == "yes",
        )


def unexpected(fault: Exception) -> str:
    """Return what is said of a fault in the program itself."""
    return (
        f"Something went wrong inside Dartswing ({type(fault).__name__}: {fault}). Nothing was "
        "changed. Please report it together with the drawing."
    )
