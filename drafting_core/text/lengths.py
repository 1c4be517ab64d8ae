"""Lengths as a drafter writes and reads them: ``25.4mm``, ``2.5cm``, ``1in``, ``1 1/4in``.

She reads them in the unit that she chose for a run, which `measuring_in` sets, with her language's
decimal sign.
"""

from __future__ import annotations

import contextlib
import math
import re
from collections.abc import Callable, Iterator

from drafting_core.text.errors import SettingError
from drafting_core.text.figures import (
    as_spoken,
    decimal_number,
    plain_decimal,
    significant,
)
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
    "zoll": INCH,
    '"': INCH,
    "pt": INCH / 72,
    "px": INCH / 96,
}
#: Compiled where a text is first read, as a plain move reads none.
_LENGTH = (  # not read by drafters
    r"""\s*(?P<sign>[-+]?)\s*
        (?: (?:(?P<whole>\d+)\s+)? (?P<over>\d+)\s*/\s*(?P<under>\d+)
          | (?P<decimal>(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[-+]?\d+)?) )
        \s*(?P<unit>mm|cm|m|inch(?:es)?|in|zoll|"|pt|px)?\s*$"""
)
_INCHES = ("in", "zoll", '"')
#: What an inch is told in parts of: its sixteenths are marked on every tape.
SIXTEENTHS = 16
#: The decimals that lengths have first where they have to be told apart: a tenth of a millimetre,
#: or a little finer.
_FIRST_DECIMALS = {"mm": 1, "cm": 2, "in": 3}
#: Lengths beyond this (mm) are slips, told by their first figures.
_BEYOND_MEANING = 1e9
_MOST_DECIMALS = 9
#: Sixteenths of an inch tell a difference that is as near to them as this (mm).
_NEAR_ENOUGH = 0.1
#: Lengths that differ by less are equal: rounding, not drafting (mm).
_ROUNDING = 1e-6
#: The letters of a number that `parse_length` reads.
_READABLE = frozenset("0123456789.,/ -")
_unit = "mm"


def parse_length(text: str, bare_unit: str = "mm") -> float:
    """Read a length and return it in millimetres.

    Args:
        text: the length, as in ``1 1/4in``; a decimal comma is understood.
        bare_unit: the unit of a bare number.

    Raises:
        SettingError: if the text is no length.
    """
    found = re.match(_LENGTH, text, re.VERBOSE | re.IGNORECASE)
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
    length = inches(number) if unit.startswith(_INCHES) else number * _UNITS[unit]
    if not math.isfinite(length):
        raise SettingError(
            _('"{text}" is too large.').format(text=text.strip()),
            remedy=_("Write it like 12mm, 2.5cm, 1/2in or 1 1/4in."),
        )
    return -length if found["sign"] == "-" else length


def inches(number: float) -> float:
    """Return inches in mm: an inch and a half is the same number as 38.1."""
    return number * 254.0 / 10.0


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


@contextlib.contextmanager
def measuring_in(unit: str) -> Iterator[None]:
    """Let every length from here on be told in a unit, and in the earlier one afterwards.

    Args:
        unit: ``mm``, ``cm`` or ``in``.
    """
    global _unit
    before, _unit = _unit, unit
    try:
        yield
    finally:
        _unit = before


def unit_of_this_run() -> str:
    """Return the unit that lengths are told in: ``mm`` unless the drafter chose another."""
    return _unit


def in_words(millimetres: float) -> str:
    """Return a length for a message, as `told_length` does, whole millimetres without a decimal."""
    return told_length(millimetres, _decimals(millimetres))


def told_length(millimetres: float, decimals: int = 1) -> str:
    """Return a length for a message, in the unit of this run.

    Millimetres have the given decimals. Centimetres have one; what is shorter than a millimetre
    has as many as tell the same, so that a small difference can still be read. Inches go by
    sixteenths ("17 5/8 in"); what is shorter than one has thousandths ("0.020 in").

    Args:
        millimetres: the length.
        decimals: the decimals that it has in millimetres.
    """
    return _with_unit(_figure(millimetres, decimals))


def told_exactly(millimetres: float, figures: int) -> str:
    """Return a length with this many significant figures, in the unit of this run."""
    return _with_unit(significant(millimetres / _UNITS[_unit], figures))


def told_apart(*millimetres: float) -> tuple[str, ...]:
    """Return lengths for a message that says how they differ: different ones read differently.

    They read as `in_words` has them; where that would make two of them the same, all of them have
    decimals, as many as it takes to a millionth of a millimetre.
    """
    lengths = [round(length, 6) for length in millimetres]
    told = tuple(in_words(length) for length in lengths)
    decimals = _FIRST_DECIMALS[_unit]
    while len(set(told)) < len(set(lengths)) and decimals <= _MOST_DECIMALS:
        told = tuple(_with_unit(decimal_number(at / _UNITS[_unit], decimals)) for at in lengths)
        decimals += 1
    return told


def span_in_words(least: float, most: float) -> str:
    """Return the lengths between two for a message, roughly: "13 to 25 mm", "1/2 to 1 in"."""
    low, high = (_figure(length, 0) for length in (least, most))
    return _with_unit(_("{least} to {most}").format(least=low, most=high))


def shortest_told(millimetres: float) -> float:
    """Return the shortest length in mm that is told exactly and no shorter than the given one.

    In inches it is one of sixteenths, else one of whole millimetres.
    """
    step = INCH / SIXTEENTHS if _unit == "in" else 1.0
    return math.ceil(millimetres / step - 1e-9) * step


def least_in_words(millimetres: float) -> str:
    """Return a lower limit for a message: what is typed as it says is enough, and hardly more."""
    return _limit_in_words(millimetres, math.ceil)


def most_in_words(millimetres: float) -> str:
    """Return an upper limit for a message: what is typed as it says is not too much.

    In inches a limit that no tape has is told in thousandths ("0.118 in"): by sixteenths it would
    contradict what is taken.
    """
    return _limit_in_words(millimetres, math.floor)


def told_difference(millimetres: float, decimals: int | None = None) -> str:
    """Return by how much lengths differ: in inches by sixteenths only where that is near enough.

    What is told of a difference is compared with limits and with other differences.

    Args:
        millimetres: the difference.
        decimals: the decimals that it has in millimetres; None for those of `in_words`.
    """
    if _unit == "in" and not _is_sixteenths(millimetres, _NEAR_ENOUGH):
        return _with_unit(decimal_number(millimetres / INCH, _FIRST_DECIMALS["in"]))
    return told_length(millimetres, _decimals(millimetres) if decimals is None else decimals)


def told_with_difference(one: float, other: float) -> tuple[str, str, str]:
    """Return two lengths and by how much they differ, in figures that subtract.

    In inches they go by sixteenths only where those subtract and are near enough; else all three
    have thousandths.
    """
    between = abs(one - other)
    if _unit != "in":
        first, second = told_apart(one, other)
        return first, second, in_words(between)
    parts = [round(length / INCH * SIXTEENTHS) for length in (one, other, between)]
    # What is shorter than a sixteenth has thousandths anyhow.
    is_fine = any(_ROUNDING < at < INCH / SIXTEENTHS for at in (abs(one), abs(other), between))
    subtract = abs(parts[0] - parts[1]) == parts[2] and _is_sixteenths(between, _NEAR_ENOUGH)
    if subtract and not is_fine:
        return in_words(one), in_words(other), in_words(between)
    finely = [round(length / INCH, _FIRST_DECIMALS["in"]) for length in (one, other)]
    first, second, by = (
        _with_unit(decimal_number(number, _FIRST_DECIMALS["in"]))
        for number in (*finely, abs(finely[0] - finely[1]))
    )
    return first, second, by


def _is_sixteenths(millimetres: float, within: float) -> bool:
    """Tell whether a length is as near as that (mm) to one of sixteenths of an inch."""
    step = INCH / SIXTEENTHS
    return abs(millimetres - round(millimetres / step) * step) <= within


def _limit_in_words(millimetres: float, rounded: Callable[[float], int]) -> str:
    """Return a limit, rounded up or down to what can be told of it."""
    slack = _ROUNDING if rounded is math.floor else -_ROUNDING
    if _unit == "in":
        if _is_sixteenths(millimetres, _ROUNDING):
            return in_words(millimetres)
        number = rounded(millimetres / INCH * 1000.0 + slack) / 1000.0
        return _with_unit(decimal_number(number, _FIRST_DECIMALS["in"]))
    step = 1.0 if _unit == "cm" and millimetres >= 1.0 else 0.1
    return in_words(rounded(millimetres / step + slack) * step)


def place_in_words(place: complex, decimals: int = 1) -> str:
    """Return a place for a message: "(120.5, 48.0) mm", "(4 3/4, 1 7/8) in".

    Args:
        place: the place in mm.
        decimals: the decimals that it has in millimetres.
    """
    x, y = (_figure(along, decimals) for along in (place.real, place.imag))
    return _with_unit(_("({x}, {y})").format(x=x, y=y))


def typed_in_words(text: str) -> str:
    """Return a typed length for a message, its number as it was typed: "3 1/4 in" of "3 1/4in".

    Raises:
        SettingError: if the text is no length.
    """
    length = parse_length(text)
    found = re.match(_LENGTH, text, re.VERBOSE | re.IGNORECASE)
    unit = (found["unit"] or "").lower() if found else ""
    unit = "in" if unit.startswith(_INCHES) else unit
    if unit not in _FIRST_DECIMALS:
        return in_words(length)
    figure = text[: -len(found["unit"])].strip() if found else text
    return _with_unit(as_spoken(figure.replace(",", ".")), unit)


def without_unit(millimetres: float, decimals: int, *, apart_from: float | None = None) -> str:
    """Return a length for a table whose heading names the unit of this run.

    Args:
        millimetres: the length.
        decimals: the decimals that it has in millimetres.
        apart_from: a length beside it, which reads differently where it differs by more than can
            be seen in millimetres.
    """
    told = _figure(millimetres, decimals)
    if apart_from is None or abs(apart_from - millimetres) < 10.0**-decimals / 2:
        return told
    other, finer = _figure(apart_from, decimals), _FIRST_DECIMALS[_unit]
    while told == other and finer <= _MOST_DECIMALS:
        told = decimal_number(millimetres / _UNITS[_unit], finer)
        other = decimal_number(apart_from / _UNITS[_unit], finer)
        finer += 1
    return told


def area_without_unit(area: float, places: int) -> str:
    """Return an area for a table: in square inches where lengths are in inches, else in cm².

    Args:
        area: the area in mm².
        places: its decimals.
    """
    return decimal_number(area / (INCH**2 if _unit == "in" else 100.0), places)


def as_typed(millimetres: float) -> str:
    """Return a length as `parse_length` reads it, with the figure of `in_words`: "12.5mm".

    The unit has the name that is typed in every language; a decimal sign that is not understood
    is a point.
    """
    figure = _plain_figure(millimetres, _decimals(millimetres))
    spoken = as_spoken(figure)
    return f"{spoken if _READABLE.issuperset(spoken) else figure}{_unit}"


def difference_as_typed(millimetres: float) -> str:
    """Return by how much lengths differ as `parse_length` reads it, as `told_difference` has it."""
    length = abs(millimetres)
    if _unit == "in" and not _is_sixteenths(length, _NEAR_ENOUGH):
        return f"{plain_decimal(length / INCH, _FIRST_DECIMALS['in'])}in"
    return as_typed(length)


def as_option(millimetres: float) -> str:
    """Return a length as `as_typed` does, for the command line: in quotes if there is a blank."""
    typed = as_typed(millimetres)
    return f'"{typed}"' if " " in typed else typed


def _decimals(millimetres: float) -> int:
    """Return the decimals in millimetres: one, none where the length is whole."""
    if not math.isfinite(millimetres):
        return 1
    rounded = round(millimetres, 1)
    return 0 if rounded == int(rounded) else 1


def _figure(millimetres: float, decimals: int) -> str:
    return as_spoken(_plain_figure(millimetres, decimals))


def _plain_figure(millimetres: float, decimals: int) -> str:
    """Return a length's number in the unit of this run, with a decimal point."""
    length = millimetres / _UNITS[_unit]
    if not abs(millimetres) < _BEYOND_MEANING:
        return f"{length:.4g}"
    # Nothing is told finely only where a fine length is asked for: "within 0.000 in".
    is_plain = round(abs(millimetres), 6) == 0.0 and decimals < 2
    if _unit == "mm":
        return plain_decimal(length, decimals)
    if _unit == "cm":
        is_short = abs(millimetres) < 1.0 and not is_plain
        return plain_decimal(length, max(decimals, 1) + 1 if is_short else 1)
    if abs(millimetres) < INCH / SIXTEENTHS and not is_plain:
        return plain_decimal(length, 3)
    sixteenths = round(abs(length) * SIXTEENTHS)
    whole, over = divmod(sixteenths, SIXTEENTHS)
    shared = math.gcd(over, SIXTEENTHS)
    parts = [f"{whole}"] if whole or not over else []
    parts += [f"{over // shared}/{SIXTEENTHS // shared}"] if over else []
    return f"{'-' if length < 0.0 and sixteenths else ''}{' '.join(parts)}"


def _with_unit(figure: str, unit: str = "") -> str:
    unit = unit or _unit
    if unit == "cm":
        return _("{length} cm").format(length=figure)
    if unit == "in":
        return _("{length} in").format(length=figure)
    return _("{length} mm").format(length=figure)
