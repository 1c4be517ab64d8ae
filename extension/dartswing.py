#!/usr/bin/env python3
"""What the editor starts for every entry of Extensions > Dartswing.

``--command`` says which entry: each dialog has it as a hidden parameter. The check of the
installation answers even where half of the installation is gone. It writes to standard error,
which the editor shows in a window; the editor gets no drawing back and so changes none.
"""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path

_HERE = Path(__file__).resolve()

if __name__ == "__main__":
    # A process of a tenth of a second: looking for cycles would take a tenth of that.
    gc.disable()
    # The editor's library brings numpy: its threads would only get in one another's way.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # The editor starts this file by itself: the packages lie beside its folder.
    sys.path[0] = str(_HERE.parent.parent)

_COMMAND = "--command="
#: With this argument the check tells by its exit status whether all is well: in the editor it is 0.
_WITH_STATUS = "--exit-status"
#: Set where the check itself starts a move: what fails there must not start another check.
_CHECKING = "DARTSWING_CHECKING"


def main() -> int:
    """Run the command that the arguments name, or the check of the installation."""
    named = [word[len(_COMMAND) :] for word in sys.argv[1:] if word.startswith(_COMMAND)]
    command = named[-1] if named else ""
    if command != "doctor":
        try:
            from extension.commands.editor_effect import start

            start(command)
        except (ImportError, KeyError):
            if _CHECKING in os.environ:
                raise
            # Half of the installation is gone, or a dialog is of another one: the check says what.
            pass
    is_well = _check()
    return 1 if _WITH_STATUS in sys.argv and not is_well else 0


def _check() -> bool:
    """Write what is to be said of the installation to standard error; tell whether it is well."""
    try:
        from extension.installing.doctor import answer_in_her_language, check_here

        answer_in_her_language()
        answer = check_here()
        text, is_well = answer.text(), answer.is_well
    except Exception as fault:  # the answer to a broken installation
        text = (
            f"! The files of Dartswing in {_HERE.parent.parent} are not "  # not read by drafters
            f"complete ({type(fault).__name__}: {fault}). "
            "Install Dartswing again."  # not read by drafters
        )
        is_well = False
    sys.stderr.buffer.write(text.encode("utf-8", "replace") + b"\n")
    sys.stderr.flush()
    return is_well


if __name__ == "__main__":
    sys.exit(main())
