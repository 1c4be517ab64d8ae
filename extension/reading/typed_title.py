"""A result's title that the drafter typed anew: its name, its size, how often it is cut."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from lxml import etree

from drafting_core.text.words import N_
from extension.document.roles import our_attributes
from extension.host.language import in_every_language

#: How a title says its size.
SIZE_LINE = N_("Size {size}")
#: The attributes of a title: all of it as written, and its lines below the name.
SHOWN, SIZE_SHOWN, CUT_SHOWN = "shown", "shown-size", "shown-cut"


class TypedTitle(NamedTuple):
    """What a title says now, where that is other than it was written.

    Attributes:
        name: the piece's name.
        size: its size.
        cut: the line that says how often it is cut.
    """

    name: str
    size: str
    cut: str


def typed_title(element: etree._Element) -> TypedTitle | None:
    """Return what a title says, or None where it was not typed anew."""
    attributes = our_attributes(element)
    if SHOWN not in attributes:
        return None
    rows = [_plain(row) for row in element if isinstance(row.tag, str)] or [_plain(element)]
    rows = [row for row in rows if row]
    if not rows or " ".join(rows) == attributes[SHOWN]:
        return None
    cut = _taken(rows, attributes.get(CUT_SHOWN, ""))
    size_line = attributes.get(SIZE_SHOWN, "")
    size = _taken(rows, size_line) if size_line else _new_size(rows)
    return TypedTitle(" ".join(rows), _size(size), cut)


def _plain(element: etree._Element) -> str:
    return " ".join("".join(element.itertext()).split())


def _taken(rows: list[str], written: str) -> str:
    """Take the line out that is as it was written, or else the last one below the name."""
    if written in rows[1:]:
        rows.remove(written)
        return written
    return rows.pop() if len(rows) > 1 else written


def _new_size(rows: list[str]) -> str:
    """Take the line out that says a size, where the title had none."""
    for row in rows[1:]:
        if _size(row) != row:
            rows.remove(row)
            return row
    return ""


def _size(line: str) -> str:
    for said in in_every_language(SIZE_LINE):
        found = re.fullmatch(re.escape(said).replace(r"\{size\}", "(.+)"), line, re.IGNORECASE)
        if found:
            return found[1]
    return line


def title_attributes(lines: Sequence[str], size_line: str, cut_line: str) -> dict[str, str]:
    """Return the attributes by which a title knows what it said.

    Args:
        lines: its lines as they are written.
        size_line: the one that says the size, or an empty string.
        cut_line: the one that says how often it is cut.
    """
    said = {SHOWN: " ".join(" ".join(lines).split()), CUT_SHOWN: cut_line}
    return {**said, SIZE_SHOWN: size_line} if size_line else said
