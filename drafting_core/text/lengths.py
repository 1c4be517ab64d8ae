"""Lengths as a drafter writes them: ``25.4mm``, ``2.5cm``, ``1in``, ``1/2in``, ``1 1/4in``."""

from __future__ import annotations

import math
import re

from drafting_core.text.errors import SettingError
from drafting_core.text.words import _

#: Millimetres in an inch (CSS Values and Units 3: 1in = 2.54cm).
INCH = 25.4

#: The sheets A0 to A6 in millimetres (ISO 216).
ISO_SHEETS = (
    (841.0, 1189.0),
    (594.0, 841.0),
    (420.0, 594.0),
    (297.0, 420.0),
    (210.0, 297.0),
    (148.0, 210.0),
    (105.0, 148.0),
)

_UNITS = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": INCH,
    '"': INCH,
    "pt": INCH / 72,
    "px": INCH / 96,
}
_LENGTH = re.compile(
    r"""\s*(?P<sign>[-+]?)\s*
        (?: (?:(?P<whole>\d+)\s+)? (?P<over>\d+)\s*/\s*(?P<under>\d+)
          | (?P<decimal>(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[-+]?\d+)?) )
        \s*(?P<unit>mm|cm|m|inch(?:es)?|in|"|pt|px)?\s*$""",
    re.VERBOSE | re.IGNORECASE,
)


def parse_length(text: str, bare_unit: str = "mm") -> float:
    """Read a length and return it in millimetres.

    Args:
        text: the length, as in ``1 1/4in``; a decimal comma is understood.
        bare_unit: the unit of a bare number.

    Raises:
        SettingError: if the text is no length.
    """
    found = _LENGTH.match(text)
    if not found or (found["under"] and int(found["under"]) == 0):
        raise SettingError(
            _('"{text}" is not a length.').format(text=text.strip()),
            remedy=_("Write it like 12mm, 2.5cm, 1/2in or 1 1/4in."),
        )
    if found["under"]:
        number = int(found["over"]) / int(found["under"]) + int(found["whole"] or 0)
    else:
        number = float(found["decimal"].replace(",", "."))
    unit = (found["unit"] or bare_unit).lower()
    length = number * _UNITS["in" if unit.startswith("inch") else unit]
    if not math.isfinite(length):
        raise SettingError(
            _('"{text}" is too large.').format(text=text.strip()),
            remedy=_("Write it like 12mm, 2.5cm, 1/2in or 1 1/4in."),
        )
    return -length if found["sign"] == "-" else length


def parse_measure(text: str, what: str, bare_unit: str = "mm") -> float:
    """Read a length that cannot be negative.

    Args:
        text: the length.
        what: what it is the length of, in the drafter's language, for messages.
        bare_unit: the unit of a bare number.

    Raises:
        SettingError: if the text is no length, or a negative one.
    """
    try:
        length = parse_length(text, bare_unit)
    except SettingError as error:
        raise error.about(what) from None
    if length < 0:
        raise SettingError(
            _('"{text}" is negative.').format(text=text.strip()),
            thing=what,
            remedy=_("Write a length of 0 or more."),
        )
    return length


def parse_sides(text: str, bare_unit: str = "mm") -> tuple[float, float]:
    """Read the two sides of a rectangle, like ``210x297mm`` or ``A4``, in millimetres.

    A side without a unit has the other one's, or else the given one. Sheets: ISO 216, series A.

    Raises:
        SettingError: if the text is no two lengths.
    """
    if re.fullmatch(r"\s*[Aa][0-6]\s*", text):
        return ISO_SHEETS[int(text.strip()[1])]
    parts = re.split(r"\s*[x×*]\s*", text.strip(), flags=re.IGNORECASE)
    if len(parts) != 2 or not all(parts):
        raise SettingError(
            _('"{text}" does not say the two sides of a rectangle.').format(text=text.strip()),
            remedy=_("Write them like 210x297mm or 8 1/2x11in, or a sheet like A4."),
        )
    units = [found[1] for part in parts if (found := re.search(r"([a-z\"]+)\s*$", part, re.I))]
    unit = units[-1].lower() if units and units[-1].lower() in _UNITS else bare_unit
    first, second = (parse_measure(part, _("The rectangle's side"), unit) for part in parts)
    return first, second


def in_words(millimetres: float) -> str:
    """Return a length for a message: millimetres with one decimal, none where it is whole."""
    rounded = round(millimetres, 1)
    if rounded == int(rounded):
        return _("{length:.0f} mm").format(length=rounded)
    return _("{length:.1f} mm").format(length=rounded)


def as_typed(millimetres: float) -> str:
    """Return a length as `parse_length` reads it, to the decimal of `in_words`: "12.5mm"."""
    rounded = round(millimetres, 1)
    return f"{rounded:.0f}mm" if rounded == int(rounded) else f"{rounded:.1f}mm"
