"""Sizes of paper, against the standards' figures."""

from __future__ import annotations

import math

import pytest

from drafting_core.text.errors import SettingError
from drafting_core.text.paper_sizes import NAMED, SHEETS, paper_named

#: ISO 216, series A, in mm.
ISO_216 = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A2": (420.0, 594.0),
    "A1": (594.0, 841.0),
    "A0": (841.0, 1189.0),
}
#: ANSI/ASME Y14.1, sizes A and B, in inches; Legal is common practice in offices.
INCHES = {"Letter": (8.5, 11.0), "Tabloid": (11.0, 17.0), "Legal": (8.5, 14.0)}


@pytest.mark.parametrize("name", ISO_216)
def test_sheets_of_series_a_are_those_of_iso_216(name: str) -> None:
    paper = paper_named(name)
    assert (paper.width, paper.height) == ISO_216[name]


@pytest.mark.parametrize("name", INCHES)
def test_sheets_in_inches_are_those_of_ansi(name: str) -> None:
    paper = paper_named(name)
    assert [paper.width, paper.height] == pytest.approx([25.4 * side for side in INCHES[name]])


def test_every_named_sheet_has_a_standard() -> None:
    assert set(SHEETS) == set(ISO_216) | set(INCHES) | {"A4 and Letter"}
    assert set(NAMED) == set(SHEETS) | {"custom", "roll"}


def test_what_prints_on_a4_and_on_letter_is_no_larger_than_either() -> None:
    both = paper_named("A4 and Letter")
    for side, a4, letter in zip(both[1:], ISO_216["A4"], INCHES["Letter"], strict=True):
        assert side == pytest.approx(min(a4, 25.4 * letter))


def test_series_a_halves_and_keeps_its_shape() -> None:
    # ISO 216: each sheet is the one before cut in half, sides rounded down to whole mm.
    for larger, smaller in (("A0", "A1"), ("A1", "A2"), ("A2", "A3"), ("A3", "A4")):
        assert SHEETS[smaller] == (SHEETS[larger][1] // 2, SHEETS[larger][0])
        assert SHEETS[smaller][1] / SHEETS[smaller][0] == pytest.approx(math.sqrt(2), rel=0.004)


@pytest.mark.parametrize("text", ["a4", "  A4 ", "LETTER", "tabloid"])
def test_names_ignore_case_and_blanks(text: str) -> None:
    assert paper_named(text).name.casefold() == text.strip().casefold()


@pytest.mark.parametrize(
    ("text", "sides"),
    [
        ("300x450mm", (300.0, 450.0)),
        ("450 x 300", (300.0, 450.0)),
        ("11x14in", (279.4, 355.6)),
        ("30cm×45cm", (300.0, 450.0)),
    ],
)
def test_a_size_of_ones_own_is_read(text: str, sides: tuple[float, float]) -> None:
    paper = paper_named(text)
    assert (paper.width, paper.height) == pytest.approx(sides)
    assert not paper.is_roll


def test_sides_given_apart_and_units() -> None:
    assert paper_named("custom", "14", "11", "in")[1:] == pytest.approx((279.4, 355.6))
    assert paper_named("11x14", unit="in")[1:] == pytest.approx((279.4, 355.6))
    for paper in (paper_named("roll", "36in"), paper_named("roll 36in"), paper_named("Roll 914.4")):
        assert paper.width == pytest.approx(914.4)
        assert paper.is_roll


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("B4",), ("B4", "A3, A2, A1, A0, Letter, A4 and Letter, Legal, Tabloid", "roll 900mm")),
        (("",), ("not known", "A4")),
        (("roll",), ("width of the roll", "900mm")),
        (("custom", "300"), ("height of the paper",)),
        (("custom", "x", "3"), ("width of the paper", "not a length")),
        (("300x",), ("The paper", "two sides")),
        (("0x10mm",), ("The paper", "20 mm")),
        (("900x900m",), ("The paper", "10000 mm", "unit")),
        (("roll -9mm",), ("width of the roll", "negative")),
    ],
)
def test_what_is_no_paper_is_told_in_one_sentence(
    arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    with pytest.raises(SettingError) as refused:
        paper_named(*arguments)
    message = str(refused.value)
    for word in words:
        assert word in message
