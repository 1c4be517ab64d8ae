#!/usr/bin/env python3
"""Compare seams: what the editor starts for Extensions > Dartswing > Compare seams."""

from __future__ import annotations

import gc
import sys
from pathlib import Path

if __name__ == "__main__":
    # A process of a tenth of a second: looking for cycles would take a tenth of that.
    gc.disable()
    # The editor starts this file by itself: the packages lie beside its folder.
    sys.path[0] = str(Path(__file__).resolve().parent.parent)

from extension.commands.editor_effect import DartswingEffect, start
from extension.comparing.write_seam_balance import write_seam_balance


class Balance(DartswingEffect):
    """The command ``balance`` in the editor."""

    def job(self) -> None:
        """Write the comparison into the drawing: a message would look like an error."""
        write_seam_balance(self.document.getroot())


if __name__ == "__main__":
    start(Balance)
