#!/usr/bin/env python3
"""Compare places: what the editor starts for Extensions > Dartswing > Compare places."""

from __future__ import annotations

import gc
import sys
from pathlib import Path

if __name__ == "__main__":
    # A process of a tenth of a second: looking for cycles would take a tenth of that.
    gc.disable()
    # The editor starts this file by itself: the packages lie beside its folder.
    sys.path[0] = str(Path(__file__).resolve().parent.parent)

from extension.commands.drafting_effect import DraftingEffect
from extension.commands.editor_effect import start


class Compare(DraftingEffect):
    """The command ``compare`` in the editor."""

    command = "compare"


if __name__ == "__main__":
    start(Compare)
