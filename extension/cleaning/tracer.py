"""The tracer: another program that follows the edges of ink. It is started, given a bitmap, ended.

It is `potrace`, which the editor's own *Trace Bitmap* has inside, too.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

import numpy as np
from lxml import etree

from drafting_core.ink.ink_of_picture import Mask
from drafting_core.text.errors import DraftingError
from drafting_core.text.words import _
from extension.document.svg_document import DocumentError, parse_document
from extension.host.programs import last_line, run

_PROGRAM = "potrace"
#: An editor that is started from a menu of macOS does not know where its packages lie.
_MORE_FOLDERS = ("/opt/homebrew/bin", "/usr/local/bin", "/opt/local/bin")
#: A picture full of specks is followed no longer (s).
_TIMEOUT_S = 60
#: Spots of so many dots or fewer are not followed.
_SPECK = 4


def tracer() -> str:
    """Return the tracer's path.

    Raises:
        DraftingError: if it is not installed.
    """
    folders = os.pathsep.join([os.environ.get("PATH", os.defpath), *_MORE_FOLDERS])
    found = shutil.which(_PROGRAM, path=folders)
    if found is None:
        raise DocumentError(
            _("potrace, the program that follows the lines of a picture, is not installed."),
            remedy=_(
                "Install it (Debian, Ubuntu: apt install potrace; elsewhere put the program on the "
                "PATH), or trace by hand: in the editor Path > Trace Bitmap, single scan, "
                "brightness cutoff, and clean up the path that this makes."
            ),
        )
    return found


def traced(ink: Mask) -> etree._Element:
    """Return the edges of ink as a drawing whose units are dots, y pointing down.

    Args:
        ink: True where there is ink, rows first.

    Raises:
        DraftingError: if the tracer is not installed, or does not do it.
    """
    program = tracer()
    height, width = ink.shape
    with tempfile.TemporaryDirectory(prefix="dartswing-") as name:
        bitmap, drawing = Path(name, "ink.pbm"), Path(name, "ink.svg")
        head = f"P4\n{width} {height}\n".encode("ascii")
        try:
            bitmap.write_bytes(head + np.packbits(ink, axis=1).tobytes())
            answer = run(
                [program, "-s", "-t", str(_SPECK), "-o", str(drawing), str(bitmap)],
                timeout=_TIMEOUT_S,
            )
            if answer.returncode or not drawing.is_file():
                raise _failed(last_line(answer.stderr))
            return parse_document(drawing.read_bytes()).getroot()
        except OSError as fault:
            raise _failed(fault.strerror or str(fault)) from None


def _failed(reason: str) -> DraftingError:
    return DocumentError(
        _("potrace did not trace the picture ({reason}).").format(reason=reason),
        remedy=_("See whether potrace runs by itself, and whether there is room on the disk."),
    )
