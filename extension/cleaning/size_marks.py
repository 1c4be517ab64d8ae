"""Marks that name the sizes on a sheet: objects labelled like "size 38" on their lines."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import numpy as np
from lxml import etree

from drafting_core.ink.polylines import Points, inside
from drafting_core.text.errors import SettingError
from drafting_core.text.words import _
from extension.document import roles
from extension.document.namespaces import LABEL, svg
from extension.document.shapes import NOT_DRAWN, box_of

#: What is larger (mm) is no mark, but the line of the size itself.
_LARGEST_MARK = 40.0
#: A mark lies this near to the line of its size (mm), and so much nearer than to any other.
_ON_LINE, _NEARER = 6.0, 1.5
_SIZE = r"(?i)\s*size[\s:]+(\S.{0,23}?)\s*"  # not read by drafters


def size_said(element: etree._Element) -> str:
    """Return the size that an object's label names, or an empty string."""
    label = element.get(LABEL) or ""
    if label.lstrip()[:4].casefold() != "size":  # not read by drafters
        return ""
    found = re.fullmatch(_SIZE, label)
    return " ".join(found.group(1).split()) if found else ""


def is_size_mark(element: etree._Element, mm: float) -> bool:
    """Tell whether an object names a size by its place: a small one, not the size's own line.

    Args:
        element: the object.
        mm: mm to a unit of the root.
    """
    if not size_said(element) or roles.is_layer(element) or _is_empty(element):
        return False
    box = box_of(element)
    return bool(np.hypot(box.right - box.left, box.bottom - box.top) * mm < _LARGEST_MARK)


def _is_empty(element: etree._Element) -> bool:
    """Tell whether an object is a group in which nothing is drawn: it has no place."""
    return element.tag == svg("g") and not any(
        part.tag not in (*NOT_DRAWN, svg("g")) for part in element.iter("{*}*")
    )


def sizes_named(
    marks: Sequence[tuple[etree._Element, complex]],
    rings: Sequence[Points],
    owners: Sequence[Sequence[etree._Element]],
    numbers: Sequence[int],
    *,
    is_part: bool = False,
) -> list[str]:
    """Return for every block the name of its size: the drafter's, else its number, if it has one.

    Args:
        marks: the objects that name sizes, and their places in true mm.
        rings: the blocks' lines, each closed, of shape (n,), in true mm.
        owners: the objects that each block's line was traced in.
        numbers: the blocks' numbers among nested sizes, 0 where they are alone.
        is_part: whether a part of the sheet was chosen: marks may be those of other sizes.

    Raises:
        SettingError: if it cannot be told which size is meant, or two marks contradict each other.
    """
    names = [""] * len(rings)
    if is_part:
        marks = _on_lines(marks, rings)
    said = [*_by_line(owners), *((_meant(mark, at, rings), mark) for mark, at in marks)]
    for number, mark in said:
        name = size_said(mark)
        if names[number] not in ("", name):
            raise SettingError(
                _('it names a size that is named "{name}" already.').format(name=names[number]),
                thing=roles.name_of(mark),
                remedy=_("Keep one mark for each size."),
            )
        if name in names[:number] + names[number + 1 :]:
            raise SettingError(
                _('another size is named "{name}" too.').format(name=name),
                thing=roles.name_of(mark),
                remedy=_("Give each size a name of its own."),
            )
        names[number] = name
    numbered = [str(number) if number else "" for number in numbers]
    unnamed = {number for number, name in zip(numbered, names, strict=True) if not name}
    for _number, mark in said:
        if size_said(mark) in unnamed:
            raise SettingError(
                _('another size, which no mark names, has the number "{name}".').format(
                    name=size_said(mark)
                ),
                thing=roles.name_of(mark),
                remedy=_("Name that size, too."),
            )
    return [name or number for name, number in zip(names, numbered, strict=True)]


def _on_lines(
    marks: Sequence[tuple[etree._Element, complex]], rings: Sequence[Points]
) -> list[tuple[etree._Element, complex]]:
    """Return the marks that lie on lines: of all those beside one line the nearest ones."""
    away = np.array([[np.abs(ring - at).min() for ring in rings] for _mark, at in marks])
    if not len(marks):
        return []
    first = away.argmin(axis=1)
    least = away.min(axis=1)
    return [
        mark
        for mark, ring, distance in zip(marks, first, least, strict=True)
        if distance <= min(_ON_LINE, least[first == ring].min() + _NEARER)
    ]


def _by_line(
    owners: Sequence[Sequence[etree._Element]],
) -> Iterator[tuple[int, etree._Element]]:
    """Yield the blocks whose own line names their size."""
    said = {k: [e for e in its if size_said(e)] for k, its in enumerate(owners)}
    # Where sizes lie near each other a block may seem to be made of another one's line too.
    while lone := [(number, its[0]) for number, its in said.items() if len(its) == 1]:
        yield lone[0]
        number, element = lone[0]
        del said[number]
        said = {k: [e for e in its if e is not element] for k, its in said.items()}


def _meant(mark: etree._Element, at: complex, rings: Sequence[Points]) -> int:
    """Return the number of the block that a mark means.

    Raises:
        SettingError: if it cannot be told.
    """
    if len(rings) == 1:
        return 0
    away = [float(np.abs(ring - at).min()) for ring in rings]
    order = sorted(range(len(rings)), key=away.__getitem__)
    first, second = order[:2]
    if away[first] <= _ON_LINE and away[second] - away[first] >= _NEARER:
        return first
    within = [k for k, ring in enumerate(rings) if inside(ring, np.array([at])).all()]
    if away[first] > _ON_LINE and len(within) == 1:
        return within[0]
    raise SettingError(
        _("it names a size, and it cannot be told whose line it means."),
        thing=roles.name_of(mark),
        remedy=_("Move it onto the line of its size, to where no other runs beside it."),
    )
