#!/usr/bin/env python3
"""Mark parts: what the editor starts for Extensions > Dartswing > Mark parts."""

from __future__ import annotations

import gc
import sys
from argparse import ArgumentParser
from pathlib import Path

if __name__ == "__main__":
    # A process of a tenth of a second: looking for cycles would take a tenth of that.
    gc.disable()
    # The editor starts this file by itself: the packages lie beside its folder.
    sys.path[0] = str(Path(__file__).resolve().parent.parent)

from extension.commands.editor_effect import DartswingEffect, start
from extension.marking.mark_parts import as_the_dialog_means, mark_parts, request_from
from extension.options.settings_text import MARKING, UNITS


class Mark(DartswingEffect):
    """The command ``mark`` in the editor."""

    def add_arguments(self, pars: ArgumentParser) -> None:
        """Declare the command's options: the same as on the command line."""
        pars.add_argument("--tab", default="part")
        for option in (*MARKING, UNITS):
            pars.add_argument(
                f"--{option.field}",
                default=option.default,
                choices=option.choices or None,
                help=option.help.replace("%", "%%"),
            )

    def job(self) -> None:
        """Give the selected objects their role; that it is done is seen in the drawing."""
        values = {o.name: str(getattr(self.options, o.field)) for o in (*MARKING, UNITS)}
        request = request_from(values, list(self.options.ids))
        mark_parts(self.document.getroot(), as_the_dialog_means(request))


if __name__ == "__main__":
    start(Mark)
