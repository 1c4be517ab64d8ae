#!/usr/bin/env python3
"""Add allowances: what the editor starts for Extensions > Dartswing > Allowances."""

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


class Allow(DraftingEffect):
    """The command ``allow`` in the editor."""

    command = "allow"


if __name__ == "__main__":
    start(Allow)
