#!/usr/bin/env python3
"""Check installation: what the editor starts for Extensions > Dartswing > Check installation.

The editor shows in a window what comes on standard error; it gets no drawing back and so changes
none. This answers even where half of the installation is gone.
"""

from __future__ import annotations

import sys
from pathlib import Path

if __name__ == "__main__":
    # The editor starts this file by itself: the packages lie beside its folder.
    sys.path[0] = str(Path(__file__).resolve().parent.parent)

WITH_STATUS = "--exit-status"
"""The argument with which the exit status tells whether all is well: in the editor it is 0."""


def main() -> int:
    """Write the answer to standard error."""
    try:
        from extension.installing.doctor import check_here, speak

        speak()
        answer = check_here()
        text, status = answer.text(), int(not answer.is_well)
    except Exception as fault:  # the answer to a broken installation
        home = Path(__file__).resolve().parent.parent
        text = (
            f"! The files of Dartswing in {home} are not complete "  # not read by drafters
            f"({type(fault).__name__}: {fault}). "
            "Install Dartswing again."  # not read by drafters
        )
        status = 1
    sys.stderr.buffer.write(text.encode("utf-8", "replace") + b"\n")
    sys.stderr.flush()
    return status if WITH_STATUS in sys.argv else 0


if __name__ == "__main__":
    sys.exit(main())
