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

#: Distance of base lines on the canvas, in sizes: there it is part of the text's style.
CANVAS_LEADING = 1.25
#: What letters with an accent take above their base line, in sizes.
ACCENTED_RISE = 0.94

# Advance widths in thousandths of the size, not below those of DejaVu Sans and at most a
# twentieth above them: among the common sans-serif fonts it is about the widest, so that lines
# fit in another one too. A letter with an accent is as wide as without.
_PLAIN = {
    278: "'ijl",
    295: "IJ",
    318: " ,.·‘’‚",
    337: "/:;\\|",
    361: "-f",
    393: "()[]t",
    412: "!r¡²³",
    460: '"',
    521: "*_`s§°–“”„▸",
    550: "?cz¿",
    580: "FLk",
    616: "PTYaeovxy«»ø•",
    656: "$0123456789EKSbdghnpqu{}ß€",
    695: "ABRVXZ",
    732: "CU",
    775: "DGHNẞ",
    818: "&OQwØ",
    863: "#+<=>M^~±×←→−",
    951: "%",
    1000: "@Wm¼½¾Ææ—…",
    1070: "Œœ",
}
_BOLD = {
    307: "'",
    349: " ijl",
    380: ",./IJ\\|·‘’‚",
    416: "-:;",
    436: "f",
    458: "!()[]¡²³",
    494: "rt",
    523: '"*_`§°–▸',
    596: "?csz¿",
    658: "Lvxy«»“”„•",
    696: "$0123456789EFTaekoø€",
    734: "CPSYZbdghnpqu{}ß",
    775: "ABKRVX",
    831: "DGU",
    873: "#&+<=>HNOQ^~±×Ø←→−",
    924: "wẞ",
    996: "M",
    1048: "%@m¼½¾æ—…",
    1104: "WÆœ",
    1167: "Œ",
}
_ADVANCE = {
    bold: {letter: width / 1000 for width, letters in table.items() for letter in letters}
    for bold, table in ((False, _PLAIN), (True, _BOLD))
}
#: A letter of another script: as wide as most capitals there.
_ELSE = {False: 0.85, True: 0.95}


class Room(NamedTuple):
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

    def box(self) -> Room:
        """Return the room that it takes."""
        width = max(text_width(line, self.size, bold=self.bold) for line in self.lines)
        height = (RISE + DROP + LEADING * (len(self.lines) - 1)) * self.size
        return Room(self.at.real, self.at.imag - RISE * self.size, width, height)


@functools.cache
def _advance(letter: str, bold: bool) -> float:
    if unicodedata.combining(letter):
        return 0.0
    if unicodedata.east_asian_width(letter) in "WF":
        return 1.0
    return _ADVANCE[bold].get(_without_accent(letter), _ELSE[bold])


def _without_accent(letter: str) -> str:
    return unicodedata.normalize("NFD", letter)[0]


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the width of a line of text, rather too much than too little."""
    return sum([_advance(letter, bold) for letter in text]) * size


def text_rise(text: str, size: float) -> float:
    """Return what a line of text takes above its base line, its accents included."""
    if text.isascii() or all(letter == _without_accent(letter) for letter in text):
        return RISE * size
    return ACCENTED_RISE * size


def wrapped(text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """Break a text into lines no wider than a column; a word that is too long is cut in two."""
    lines = [""]
    used = 0.0
    space = text_width(" ", size, bold=bold)
    for word in _words(text):
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


def _words(text: str) -> list[str]:
    """Return the words of a text, a number with its fraction as one: "17 5/8"."""
    words: list[str] = []
    for word in text.split():
        over, slash, under = word.partition("/")
        if words and slash and over.isdigit() and under[:1].isdigit() and words[-1][-1].isdigit():
            words[-1] += f" {word}"
        else:
            words.append(word)
    return words


def _cut_to(word: str, width: float, size: float, bold: bool) -> list[str]:
    """Cut a word that is wider than its column into pieces that are not."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and text_width(pieces[-1] + letter, size, bold=bold) > width + ROUNDING:
            pieces.append("")
        pieces[-1] += letter
    return pieces
