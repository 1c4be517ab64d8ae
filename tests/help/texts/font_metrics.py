"""What a wide common font says of its own letters: the reference for the measure of text."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import NamedTuple

from fontTools.ttLib import TTFont

_FOLDER = Path("/usr/share/fonts/truetype/dejavu")
_FILES = {False: _FOLDER / "DejaVuSans.ttf", True: _FOLDER / "DejaVuSans-Bold.ttf"}


class Metrics(NamedTuple):
    """A line of text set in a size of 1: its advance, and what its ink takes up and down."""

    width: float
    rise: float
    drop: float


def missing_fonts() -> list[str]:
    """The fonts that are not on this machine."""
    return [f"the font {path.name}" for path in _FILES.values() if not path.is_file()]


@functools.cache
def _font(bold: bool) -> TTFont:
    return TTFont(_FILES[bold])


@functools.cache
def _letter(letter: str, bold: bool) -> Metrics:
    font = _font(bold)
    name = font.getBestCmap()[ord(letter)]
    per_em, glyph = font["head"].unitsPerEm, font["glyf"][name]
    top, bottom = getattr(glyph, "yMax", 0), getattr(glyph, "yMin", 0)
    return Metrics(font["hmtx"][name][0] / per_em, top / per_em, -bottom / per_em)


def metrics(text: str, *, bold: bool = False) -> Metrics:
    """What the font says of a line; a letter that it does not have raises a KeyError."""
    letters = [_letter(letter, bold) for letter in text]
    return Metrics(
        sum(letter.width for letter in letters),
        max(letter.rise for letter in letters),
        max(letter.drop for letter in letters),
    )
