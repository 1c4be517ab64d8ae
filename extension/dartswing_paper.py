#!/usr/bin/env python3
"""Print on paper: what the editor starts for Extensions > Dartswing > Print on paper."""

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

import inkex

from drafting_core.text.paper_sizes import NAMED
from extension.commands.editor_effect import DartswingEffect, start
from extension.options.printing_options import PAPER
from extension.options.settings_text import UNITS
from extension.paper.paper import make_paper, request_from


class Paper(DartswingEffect):
    """The command ``paper`` in the editor."""

    def add_arguments(self, pars: ArgumentParser) -> None:
        """Declare the command's options: the same as on the command line."""
        pars.add_argument("--tab", default="paper")
        for option in (*PAPER, UNITS):
            pars.add_argument(
                f"--{option.field}",
                default=option.default,
                # The dialog offers by name what the command line also takes as sides.
                choices=NAMED if option.name == "paper" else option.choices or None,
                help=option.help.replace("%", "%%"),
            )

    def job(self) -> None:
        """Add the pages of the selected pieces, or of all; what needs a look is told."""
        values = {o.name: str(getattr(self.options, o.field)) for o in (*PAPER, UNITS)}
        root = self.document.getroot()
        done = make_paper(root, request_from(values, list(self.options.ids)))
        self.write_pdf(done.layer, done.mm_per_unit)
        for remark in done.remarks:
            inkex.errormsg(remark)


if __name__ == "__main__":
    start(Paper)
