"""Other programs started and listened to, with a time limit."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

from drafting_core.text.errors import SettingError
from drafting_core.text.figures import significant
from drafting_core.text.words import _

TIMEOUT_S = 60
"""A first start fills caches and may be slow; a program silent for longer is taken as stuck."""


def run(
    command: Sequence[str],
    *,
    variables: Mapping[str, str] | None = None,
    folder: Path | None = None,
    timeout: float = TIMEOUT_S,
) -> subprocess.CompletedProcess[str]:
    """Run a program with a time limit and return its answer as text.

    Bytes that are no UTF-8 come as `os.fsdecode` would give them, so that a path stays a path.

    Args:
        command: the program and its arguments.
        variables: its environment variables; None for this process's own.
        folder: the folder to run it in; None for the current one.
        timeout: seconds after which it is ended.

    Raises:
        OSError: it cannot be started.
        SettingError: it does not end in time.
    """
    try:
        return subprocess.run(
            command,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            encoding="utf-8",
            errors="replace" if sys.platform == "win32" else "surrogateescape",
            env=variables,
            cwd=folder,
            timeout=timeout,
            check=False,
            # The editor's Python on Windows has no console: each program would open one.
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
    except subprocess.TimeoutExpired as fault:
        raise SettingError(
            _("{program} did not answer within {seconds} s.").format(
                program=command[0], seconds=significant(timeout, 6)
            ),
            remedy=_("See whether it starts by itself, then try again."),
        ) from fault


def last_line(text: str) -> str:
    """Return the last line that says something, or "no message"."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    return printable(lines[-1]) if lines else _("no message")


def printable(text: str) -> str:
    """Return a text that any UTF-8 output takes, whatever bytes a path in it has."""
    return text.encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def is_program(file: str | os.PathLike[str]) -> bool:
    """Tell whether a file can be started.

    An alias of the Microsoft Store counts too, though there is no file to look into.
    """
    return os.path.lexists(file) and not os.path.isdir(file) and os.access(file, os.X_OK)
