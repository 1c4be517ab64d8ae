"""What a sign looked like when it was drawn, by which a later run sees what a hand did to it."""

from __future__ import annotations

import re
import zlib

from lxml import etree

from extension.document.namespaces import ours
from extension.document.roles import our_attributes

#: The attribute of a sign that says it: its size in mm, and a short mark of its look.
DRAWN = "sign-drawn"
_PLACED = ("d", "x", "y", "transform")


def note_drawn(sign: etree._Element, size: float) -> None:
    """Write on a sign how it is drawn: how large in mm, and its look."""
    sign.set(ours(DRAWN), f"{size!r} {_look(sign)}")


def was_changed(sign: etree._Element) -> bool:
    """Tell whether a hand has changed a sign, other than by moving it as a whole."""
    words = our_attributes(sign).get(DRAWN, "").split()
    return len(words) == 2 and words[1] != _look(sign)


def drawn_size(sign: etree._Element) -> float | None:
    """Return the size in mm at which a sign was drawn, or None where it does not say."""
    words = our_attributes(sign).get(DRAWN, "").split()
    try:
        size = float(words[0]) if len(words) == 2 else 0.0
    except ValueError:
        return None
    return size if 0.0 < size < 1000.0 else None


def _look(sign: etree._Element) -> str:
    """Return a short mark of a sign's parts, in its own coordinates, and of their style."""
    said = [_style(sign)]
    for part in sign:
        if isinstance(part.tag, str):
            said += [
                etree.QName(part).localname,
                _style(part),
                *(str(part.attrib.get(name)) for name in _PLACED),
            ]
            said.append(" ".join("".join(part.itertext()).split()))
    return f"{zlib.crc32('|'.join(said).encode('utf-8')):08x}"


def _style(element: etree._Element) -> str:
    """Return a style, whatever order and blanks an editor gives it."""
    parts = re.sub(r"\s+", "", str(element.attrib.get("style") or "")).split(";")
    return ";".join(sorted(filter(None, parts)))
