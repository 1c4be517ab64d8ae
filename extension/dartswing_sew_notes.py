#!/usr/bin/env python3
"""Sewing notes: what the editor starts for Extensions > Dartswing > Sewing notes."""

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

from extension.commands.editor_effect import DartswingEffect, start
from extension.options.printing_options import SEWING
from extension.sewing.notes import sew_notes


class SewNotes(DartswingEffect):
    """The command ``sew-notes`` in the editor."""

    def add_arguments(self, pars: ArgumentParser) -> None:
        """Declare the command's options: the same as on the command line."""
        pars.add_argument("--tab", default="page")
        for option in SEWING:
            pars.add_argument(
                f"--{option.field}",
                default=option.default,
                choices=option.choices or None,
                help=option.help.replace("%", "%%"),
            )

    def job(self) -> None:
        """Add the pages, and write them as a PDF where a file is named."""
        root = self.document.getroot()
        notes = sew_notes(root, list(self.options.ids), self.options.page)
        self.write_pdf(notes.layer, notes.mm_per_unit)
        for remark in notes.remarks:
            inkex.errormsg(remark)


if __name__ == "__main__":
    start(SewNotes)
