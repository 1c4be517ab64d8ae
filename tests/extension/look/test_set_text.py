"""The measure of text against a font's own tables."""

from __future__ import annotations

import string
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from extension.look.set_text import DROP, RISE, text_rise, text_width
from tests.conftest import require
from tests.help.texts.font_metrics import metrics, missing_fonts

LOCALE = Path(__file__).parents[3] / "extension" / "locale"
#: By how much of itself a line may be measured too wide.
TOO_WIDE = 0.08
#: Letters of names that drafters give, beside those of the catalogues.
OF_NAMES = "ÄÖÜäöüßÁÉÍÓÚÑáéíóúñ¿¡ÀÂÇÈÊËÎÏÔÙÛàâçèêëîïôùûåÅæÆøØœŒ–—„“”‚‘’«»…½¼¾×−°²³§±→•€"


def said() -> Iterator[str]:
    """Everything that the catalogues say, in English, German and Spanish."""
    files = sorted(LOCALE.glob("*/LC_MESSAGES/*.po")) or sorted(LOCALE.rglob("*.po"))
    assert len(files) > 1
    for file in files:
        with file.open("rb") as stream:
            for message in read_po(stream):
                for part in (message.id, message.string):
                    for text in part if isinstance(part, list | tuple) else (part,):
                        yield from (text or "").splitlines()


@pytest.fixture(autouse=True)
def _fonts() -> None:
    require(*missing_fonts())


@pytest.mark.parametrize("bold", [False, True], ids=["plain", "bold"])
def test_no_letter_is_measured_narrower_than_it_is_nor_much_wider(bold: bool) -> None:
    printable = string.ascii_letters + string.digits + string.punctuation + " "
    letters = {letter for text in said() for letter in text} | {*printable, *OF_NAMES}
    assert {*"äöüßñáéíóú"} <= letters
    for letter in sorted(letters):
        true = metrics(letter, bold=bold).width
        measured = text_width(letter, 1.0, bold=bold)
        assert true <= measured <= (1 + TOO_WIDE) * true, letter


@pytest.mark.parametrize("bold", [False, True], ids=["plain", "bold"])
@pytest.mark.parametrize("size", [1.0, 2.8, 10.8])
def test_no_line_is_measured_narrower_than_it_is_nor_much_wider(bold: bool, size: float) -> None:
    lines = {line for line in said() if line}
    assert len(lines) > 1000
    for line in sorted(lines):
        true = metrics(line, bold=bold).width * size
        assert true <= text_width(line, size, bold=bold) <= (1 + TOO_WIDE) * true, line


@pytest.mark.parametrize("bold", [False, True], ids=["plain", "bold"])
def test_capitals_are_as_wide_as_they_are(bold: bool) -> None:
    """Fourteen of the widest: by a mean letter they would reach over an armhole."""
    true = metrics("MWMWMWMWMWMWMW", bold=bold).width
    assert true <= text_width("MWMWMWMWMWMWMW", 1.0, bold=bold) <= (1 + TOO_WIDE) * true


def test_an_accent_of_its_own_takes_no_width() -> None:
    for text in ("Ñandú", "Überärmel", "Línea de la sisa"):
        apart = unicodedata.normalize("NFD", text)
        assert len(apart) > len(text)
        assert text_width(apart, 3.0) == pytest.approx(text_width(text, 3.0), rel=1e-12)


@pytest.mark.parametrize("bold", [False, True], ids=["plain", "bold"])
def test_letters_rise_and_drop_no_further_than_is_kept_for_them(bold: bool) -> None:
    for line in {*said(), *OF_NAMES, *string.printable.split(), "ÄÖÜ", "sisa Ñ"} - {""}:
        true = metrics(line, bold=bold)
        assert true.rise <= text_rise(line, 1.0), line
        assert true.drop <= DROP, line
    assert text_rise("armhole", 1.0) == RISE


def test_letters_of_other_scripts_have_a_width() -> None:
    """A name may be in any script."""
    for text in ("ПЕРЕД", "спинка", "ΜΠΡΟΣΤΑ"):
        for bold in (False, True):
            assert metrics(text, bold=bold).width <= text_width(text, 1.0, bold=bold)
    assert text_width("前身頃", 2.0) == 6.0
