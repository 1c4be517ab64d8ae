"""Numbers as a drafter reads them: with her language's decimal sign.

No text has a number's format in it: a number becomes a word here, or in `lengths`, and stands in
the text as a word.
"""

from __future__ import annotations

import math

from drafting_core.text.words import _


def decimal_number(value: float, places: int) -> str:
    """Return a number with this many decimals, a zero without a sign."""
    return as_spoken(plain_decimal(value, places))


def plain_decimal(value: float, places: int) -> str:
    """Return a number with this many decimals and a point, a zero without a sign."""
    # Rounded first: what is rounded to nothing is not "-0.0".
    return f"{round(value, places) + 0.0:.{places}f}"


def significant(value: float, figures: int) -> str:
    """Return a number with this many significant figures at most."""
    return as_spoken(f"{value:.{figures}g}")


def in_degrees(angle: float, places: int = 1) -> str:
    """Return an angle for a message, in degrees with its sign.

    Args:
        angle: the angle in radians.
        places: its decimals.
    """
    return f"{decimal_number(math.degrees(angle), places)}°"


def as_spoken(number: str) -> str:
    """Return a number as text with the decimal sign of the drafter's language for the point."""
    whole, point, decimals = number.partition(".")
    return _("{whole}.{decimals}").format(whole=whole, decimals=decimals) if point else number
