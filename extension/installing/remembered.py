"""What an editor remembers of the extension in its own files, and taking that out again."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
from pathlib import Path
from xml.etree import ElementTree

_OURS = re.compile(r"""\s+dartswing\.[\w.-]+\s*=\s*(?:"[^"]*"|'[^']*')""")
_GROUP = re.compile(r"""<group\b(?:[^>"']|"[^"]*"|'[^']*')*>""")
_PREFIX = "dartswing."


def forget(preferences: Path) -> bool:
    """Take the values that the dialogs remembered out of an editor's preferences.

    All else stays byte by byte; the file is replaced as a whole, and only if what is left reads as
    the same preferences without those values.

    Returns:
        Whether there were any and they are gone.
    """
    preferences = Path(os.path.realpath(preferences))
    unfinished = preferences.with_name(f".{preferences.name}.dartswing")
    try:
        before = preferences.read_bytes().decode("utf-8")
        after = _GROUP.sub(lambda tag: _OURS.sub("", tag[0]), before)
        if after == before or _known(before, without_ours=True) != _known(after):
            return False
        unfinished.write_bytes(after.encode("utf-8"))
        shutil.copymode(preferences, unfinished)
        os.replace(unfinished, preferences)
    except (OSError, UnicodeDecodeError, ElementTree.ParseError):
        with contextlib.suppress(OSError):
            unfinished.unlink()
        return False
    return True


def key_bindings(keys: Path) -> bool:
    """Tell whether the user has given keys to commands of the extension."""
    for file in keys.glob("*.xml"):
        with contextlib.suppress(OSError):
            if b"dartswing." in file.read_bytes():
                return True
    return False


def _known(text: str, *, without_ours: bool = False) -> list[tuple[str, dict[str, str]]]:
    """Return all elements with their attributes, in order."""
    return [
        (
            element.tag,
            {
                name: value
                for name, value in element.attrib.items()
                if not (without_ours and element.tag.endswith("group") and name.startswith(_PREFIX))
            },
        )
        for element in ElementTree.fromstring(text.encode("utf-8")).iter()
    ]
