#!/usr/bin/env python3
"""Mark a block: what the editor starts for Extensions > Dartswing > Mark a block."""

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
from extension.marking.mark_block import mark_block


class MarkBlock(DartswingEffect):
    """The command ``mark-block`` in the editor."""

    def add_arguments(self, pars: ArgumentParser) -> None:
        """Declare no options: the shape says everything."""

    def job(self) -> None:
        """Mark the selected blocks; what was found is told in the layer's description."""
        mark_block(self.document.getroot(), list(self.options.ids))


if __name__ == "__main__":
    start(MarkBlock)
