"""Sizes of paper: the standard sheets, sheets of one's own, and rolls."""

from __future__ import annotations

import math
import re
from typing import NamedTuple

from drafting_core.text.errors import SettingError
from drafting_core.text.lengths import (
    INCH,
    ISO_SHEETS,
    parse_measure,
    parse_sides,
    told_apart,
)
from drafting_core.text.words import _

#: Width and height in mm of the sheets that have a name, held upright. A4 to A0: ISO 216. Letter
#: (8.5 by 11 in, size A) and Tabloid (11 by 17 in, size B): ANSI/ASME Y14.1. Legal (8.5 by 14 in)
#: is in no such series: common practice.
SHEETS = {f"A{number}": ISO_SHEETS[number] for number in (4, 3, 2, 1, 0)} | {
    "Letter": (8.5 * INCH, 11 * INCH),
    # What both have, for pages that anyone can print at 100 %.
    "A4 and Letter": (ISO_SHEETS[4][0], 11 * INCH),  # not read by drafters: typed in any language
    "Legal": (8.5 * INCH, 14 * INCH),
    "Tabloid": (11 * INCH, 17 * INCH),
}
#: The pages of teaching sheets and sewing notes: what every desk printer takes.
DESK_PAGES = {name: SHEETS[name] for name in ("A4", "Letter")}
CUSTOM = "custom"
ROLL = "roll"
#: Every paper that has a name.
NAMED = (*SHEETS, CUSTOM, ROLL)
#: A side longer than this is a slip of unit (mm): no printer and no table takes it.
LONGEST_SIDE = 10_000.0
#: A side shorter than this is one too.
SHORTEST_SIDE = 20.0


class Paper(NamedTuple):
    """A sheet held upright, or a roll.

    Attributes:
        name: what it is called, as the drafter may type it.
        width: its shorter side, or the width of a roll, in mm.
        height: its longer side in mm; infinite for a roll.
    """

    name: str
    width: float
    height: float

    @property
    def is_roll(self) -> bool:
        """Whether it is a roll, of which a page takes as much as it needs."""
        return math.isinf(self.height)


def paper_named(text: str, width: str = "", height: str = "", unit: str = "mm") -> Paper:
    """Return the paper that words name.

    Args:
        text: the name of a sheet; two sides like ``300x450mm``; ``custom``, with its sides
            given apart; ``roll``, with its width given apart or behind it, as in ``roll 900mm``.
        width: the width of a sheet of one's own, or of a roll.
        height: the height of a sheet of one's own.
        unit: the unit of a bare number.

    Raises:
        SettingError: if no paper has that name, or a side makes no sense.
    """
    said = " ".join(text.split())
    for name, sides in SHEETS.items():
        if re.fullmatch(rf"(?:(?:din|iso)\s)?{name}", said, re.IGNORECASE):
            return Paper(name, *sides)
    word, _space, rest = said.partition(" ")
    if word.casefold() == ROLL:
        across = _side(rest or width, _("The width of the roll"), unit)
        return Paper(ROLL, across, math.inf)
    if said.casefold() == CUSTOM:
        sides = (
            _side(width, _("The width of the paper"), unit),
            _side(height, _("The height of the paper"), unit),
        )
        return Paper(CUSTOM, min(sides), max(sides))
    if re.match(r"[\d.,]", said):
        try:
            sides = parse_sides(said, unit)
        except SettingError as error:
            raise error.about(_("The paper")) from None
        for side in sides:
            _check(side, _("The paper"))
        return Paper(CUSTOM, min(sides), max(sides))
    raise SettingError(
        _('"{text}" is not known.').format(text=said),
        thing=_("The paper"),
        remedy=_(
            "Use one of {sheets}; or a size of your own like 300x450mm, or a roll like roll 900mm."
        ).format(sheets=", ".join(SHEETS)),
    )


def _side(text: str, what: str, unit: str) -> float:
    if not text.strip():
        raise SettingError(
            _("no length is given."),
            thing=what,
            remedy=_("Write a length, like 900mm or 36in."),
        )
    side = parse_measure(text, what, unit)
    _check(side, what)
    return side


def _check(side: float, what: str) -> None:
    if not SHORTEST_SIDE <= side <= LONGEST_SIDE:
        told, least, most = told_apart(side, SHORTEST_SIDE, LONGEST_SIDE)
        raise SettingError(
            _("{side} is not between {least} and {most}.").format(
                side=told, least=least, most=most
            ),
            thing=what,
            remedy=_("See that the unit is right."),
        )
