"""Text set in lines: its width, its breaks, the room that it takes. Lengths are mm on paper."""

from __future__ import annotations

import functools
import unicodedata
from typing import NamedTuple

#: The smallest letters that are read with ease on paper (mm).
SMALLEST_TEXT = 2.8
#: Distance of base lines, and what a letter takes above and below its base line, in sizes.
LEADING = 1.28
RISE = 0.8
DROP = 0.26
#: A column as wide as its widest line holds it, whatever the last bits of the sum (mm).
ROUNDING = 1e-9

# Advance widths in thousandths of the size, rounded up from DejaVu Sans: among the common
# sans-serif fonts it is about the widest, so that lines fit in another one too.
_WIDTHS = {
    280: "ijlI'",
    320: " .,",
    345: "fJ/:;|\\",
    395: "()[]t-",
    420: "r",
    465: '"',
    530: "sz°?*",
    560: "c",
    595: "kvxyFL",
    620: "aoeTYS",
    640: "bdghnpqu0123456789_",
    690: "ABEKPRVXZ",
    740: "CDHNUG",
    790: "OQ",
    820: "w#<>=+",
    870: "M",
    980: "mW@%&",
}
_ADVANCE = {letter: width / 1000 for width, letters in _WIDTHS.items() for letter in letters}
_ELSE = 0.7
_BOLD = 1.16


class Box(NamedTuple):
    """An upright rectangle: its upper left corner, width and height.

    Attributes:
        x: the corner's x.
        y: the corner's y.
        width: its width.
        height: its height.
    """

    x: float
    y: float
    width: float
    height: float


class SetText(NamedTuple):
    """Lines of text in place: the left end of the first base line, the letters' size.

    Attributes:
        at: the left end of the first base line.
        lines: the lines, from the top.
        size: the letters' size, in the unit of the place.
        bold: whether the letters are bold.
    """

    at: complex
    lines: tuple[str, ...]
    size: float
    bold: bool = False

    def moved(self, by: complex) -> SetText:
        """Return the text at another place."""
        return self._replace(at=self.at + by)

    def box(self) -> Box:
        """Return the room that it takes."""
        width = max(text_width(line, self.size, bold=self.bold) for line in self.lines)
        height = (RISE + DROP + LEADING * (len(self.lines) - 1)) * self.size
        return Box(self.at.real, self.at.imag - RISE * self.size, width, height)


@functools.cache
def _advance(letter: str) -> float:
    if unicodedata.combining(letter):
        return 0.0
    if unicodedata.east_asian_width(letter) in "WF":
        return 1.0
    return _ADVANCE.get(unicodedata.normalize("NFD", letter)[0], _ELSE)


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the width of a line of text, rather too much than too little."""
    return sum(map(_advance, text)) * size * (_BOLD if bold else 1.0)


def wrapped(text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """Break a text into lines no wider than a column; a word that is too long is cut in two."""
    lines = [""]
    used = 0.0
    space = text_width(" ", size, bold=bold)
    for word in text.split():
        wanted = text_width(word, size, bold=bold)
        if not lines[-1]:
            lines[-1], used = word, wanted
        elif used + space + wanted <= width + ROUNDING:
            lines[-1], used = f"{lines[-1]} {word}", used + space + wanted
        else:
            lines.append(word)
            used = wanted
        if used > width + ROUNDING:
            cut = _cut_to(lines.pop(), width, size, bold)
            lines += cut
            used = text_width(cut[-1], size, bold=bold)
    return lines


def _cut_to(word: str, width: float, size: float, bold: bool) -> list[str]:
    """Cut a word that is wider than its column into pieces that are not."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and text_width(pieces[-1] + letter, size, bold=bold) > width + ROUNDING:
            pieces.append("")
        pieces[-1] += letter
    return pieces
