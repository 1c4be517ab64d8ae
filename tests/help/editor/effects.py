"""A command as the editor starts it, but inside the tests' own process."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path
from typing import NamedTuple

from extension.commands.editor_effect import DartswingEffect


class Answer(NamedTuple):
    """What the editor gets back.

    Attributes:
        status: the script's exit status.
        document: the document, or empty where the editor is to keep the one that it has.
        said: what the editor shows in a window.
    """

    status: int
    document: str
    said: str


def run_effect(command: str, drawing: Path, *arguments: str) -> Answer:
    """Run a command on a drawing as the editor does."""
    output, said, status = io.BytesIO(), io.StringIO(), 0
    with contextlib.redirect_stderr(said):
        try:
            DartswingEffect(command).run([*arguments, str(drawing)], output=output)
        except SystemExit as leave:
            status = int(leave.code or 0)
    return Answer(status, output.getvalue().decode("utf-8"), said.getvalue())
