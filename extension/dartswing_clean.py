#!/usr/bin/env python3
"""Clean up a scan: what the editor starts for Extensions > Dartswing > Clean up a scan."""

from __future__ import annotations

import gc
import sys
from argparse import ArgumentParser
from pathlib import Path

if __name__ == "__main__":
    # A process of half a second: looking for cycles would take a tenth of that.
    gc.disable()
    # The editor starts this file by itself: the packages lie beside its folder.
    sys.path[0] = str(Path(__file__).resolve().parent.parent)

from extension.cleaning.clean import clean_up, request_from
from extension.cleaning.clean_report import report_file
from extension.cleaning.write_clean import write_clean
from extension.commands.editor_effect import DartswingEffect, start
from extension.document.svg_document import write_outputs
from extension.options.settings_text import CLEANING, UNITS


class Clean(DartswingEffect):
    """The command ``clean`` in the editor."""

    def add_arguments(self, pars: ArgumentParser) -> None:
        """Declare the command's options: the same as on the command line."""
        pars.add_argument("--tab", default="line")
        pars.add_argument("--report", default="")
        for option in (*CLEANING, UNITS):
            pars.add_argument(
                f"--{option.field}",
                default=option.default,
                choices=option.choices or None,
                help=option.help.replace("%", "%%"),
            )

    def job(self) -> None:
        """Make clean blocks of the selected trace; what was done is told on a layer of its own."""
        values = {o.name: str(getattr(self.options, o.field)) for o in (*CLEANING, UNITS)}
        root = self.document.getroot()
        done = clean_up(root, request_from(values, list(self.options.ids)))
        write_clean(root, done)
        if report := self.options.report:
            write_outputs([(self.absolute_href(report), report_file(done))])


if __name__ == "__main__":
    start(Clean)
