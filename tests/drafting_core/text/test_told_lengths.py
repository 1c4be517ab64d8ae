"""Lengths, angles and places as a drafter reads them, in her unit and her language."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drafting_core.model.allowances import Allowances
from drafting_core.text.errors import SettingError
from drafting_core.text.figures import decimal_number, in_degrees, significant
from drafting_core.text.lengths import (
    INCH,
    area_without_unit,
    as_typed,
    difference_as_typed,
    in_words,
    inches,
    least_in_words,
    measuring_in,
    most_in_words,
    parse_length,
    place_in_words,
    shortest_told,
    span_in_words,
    told_apart,
    told_difference,
    told_exactly,
    told_length,
    told_with_difference,
    typed_in_words,
    unit_of_this_run,
    without_unit,
)
from tests.help.texts.speaking import SPOKEN, speaking

UNITS = ("mm", "cm", "in")
LENGTHS = st.floats(-3000.0, 3000.0)
MILLIONTHS = st.lists(st.integers(-(10**9), 10**9).map(lambda n: n / 1e6), min_size=2, max_size=3)
#: Half of the last digit that is told: millimetres with a decimal, centimetres with one, an inch's
#: sixteenths. What is shorter than a millimetre or a sixteenth is told more finely.
HALF_STEP = {"mm": 0.05, "cm": 0.5, "in": INCH / 32}
HALF_STEP_OF_SHORT = {"mm": 0.05, "cm": 0.05, "in": INCH / 2000}
SHORT = {"mm": 1.0, "cm": 1.0, "in": INCH / 16}


@pytest.mark.parametrize("language", SPOKEN)
@pytest.mark.parametrize("unit", UNITS)
@given(length=LENGTHS | st.floats(-3.0, 3.0))
def test_what_is_told_is_read_back_within_half_a_step(
    unit: str, language: str, length: float
) -> None:
    short = abs(length) < SHORT[unit]
    half = (HALF_STEP_OF_SHORT if short else HALF_STEP)[unit] + 1e-6
    with speaking(language), measuring_in(unit):
        for told in (in_words(length), told_length(length), as_typed(length)):
            assert parse_length(told) == pytest.approx(length, abs=half), told
        fine = parse_length(told_length(length, 2))
        assert fine == pytest.approx(length, abs=0.005 + 1e-6 if unit == "mm" else half)
        assert parse_length(told_exactly(length, 5)) == pytest.approx(length, rel=1e-4, abs=1e-9)


@pytest.mark.parametrize("language", ["de", "es"])
@pytest.mark.parametrize("unit", UNITS)
@given(length=LENGTHS)
def test_a_decimal_comma_in_german_and_spanish(unit: str, language: str, length: float) -> None:
    with speaking(language), measuring_in(unit):
        told = [
            in_words(length),
            told_length(length, 2),
            told_exactly(length, 3),
            as_typed(length),
            place_in_words(complex(length, 0.4 * length)),
            in_degrees(length / 1000.0),
            significant(length, 4),
            area_without_unit(length * length, 2),
            *told_apart(length, length + 0.01),
        ]
    assert not any(re.search(r"\d\.\d", text) for text in told), told


# An inch is 25.4 mm by definition; the fractions are written as on a tape.
TOLD = [
    (25.4 * 17.625, "447.7 mm", "44.8 cm", "17 5/8 in"),
    (25.4, "25.4 mm", "2.5 cm", "1 in"),
    (12.7, "12.7 mm", "1.3 cm", "1/2 in"),
    (0.0, "0 mm", "0.0 cm", "0 in"),
    (30.0, "30 mm", "3.0 cm", "1 3/16 in"),
    (-50.8, "-50.8 mm", "-5.1 cm", "-2 in"),
    (0.508, "0.5 mm", "0.05 cm", "0.020 in"),
    (25.4 * 0.99, "25.1 mm", "2.5 cm", "1 in"),
]


@pytest.mark.parametrize(("length", "mm", "cm", "inch"), TOLD)
def test_known_lengths_in_every_unit(length: float, mm: str, cm: str, inch: str) -> None:
    for unit, told in zip(UNITS, (mm, cm, inch), strict=True):
        with measuring_in(unit):
            assert in_words(length) == told


def test_a_small_difference_can_be_read_in_every_unit() -> None:
    told = []
    for unit in UNITS:
        with measuring_in(unit):
            told.append(told_length(0.02, 2))
    assert told == ["0.02 mm", "0.002 cm", "0.001 in"]


@pytest.mark.parametrize("unit", UNITS)
@given(
    lengths=st.lists(st.integers(-(10**9), 10**9).map(lambda n: n / 1e6), min_size=2, max_size=3)
)
def test_lengths_that_differ_are_told_apart(unit: str, lengths: list[float]) -> None:
    with measuring_in(unit):
        told = told_apart(*lengths)
        assert len(set(told)) == len(set(lengths))
        # In the same order as the lengths are.
        read = [parse_length(text) for text in told]
    by_read = sorted(range(len(lengths)), key=lambda n: (read[n], lengths[n]))
    assert [lengths[n] for n in by_read] == sorted(lengths)


@pytest.mark.parametrize("unit", UNITS)
@given(length=st.floats(1.0, 900.0), by=st.floats(-0.6, 0.6))
def test_a_table_tells_apart_what_can_be_seen(unit: str, length: float, by: float) -> None:
    with measuring_in(unit):
        one = without_unit(length, 2, apart_from=length + by)
        other = without_unit(length + by, 2, apart_from=length)
    assert (one != other) or abs(by) < 0.01
    if unit == "in" and abs(by) < 0.004:
        assert re.fullmatch(r"[\d/ ]+|\d\.\d{3}", one)


@pytest.mark.parametrize("unit", UNITS)
@given(limit=st.floats(0.5, 500.0))
def test_a_limit_as_it_is_told_is_not_refused_again(unit: str, limit: float) -> None:
    # Limits are whole tenths of a millimetre; from a millimetre up, of what a centimetre shows.
    limit = round(limit, 0 if unit == "cm" and limit >= 1.0 else 1)
    with measuring_in(unit):
        least, most = parse_length(least_in_words(limit)), parse_length(most_in_words(limit))
        exact = shortest_told(limit)
        assert parse_length(in_words(exact)) == pytest.approx(exact, abs=1e-9)
    assert least >= limit - 1e-9
    assert exact >= limit - 1e-9
    assert exact - limit < (INCH / 16 if unit == "in" else 1.0)
    assert most <= limit + 1e-9
    # What is taken beyond the limit as it is told cannot be seen on a tape.
    assert max(least - limit, limit - most) <= INCH / 1000 + 1e-9


def _told_number(text: str) -> Fraction:
    """Return the number of a told length exactly as it reads."""
    return sum((Fraction(part) for part in text.split()[:-1]), Fraction(0))


@given(
    one=st.floats(0.0, 900.0),
    by=st.one_of(st.floats(-30.0, 30.0), st.sampled_from([INCH / 16, -INCH / 8, 3.0, 2.54])),
)
def test_lengths_and_their_difference_subtract_as_they_are_told_in_inches(
    one: float, by: float
) -> None:
    other = abs(one + by)
    with measuring_in("in"):
        told = told_with_difference(one, other)
        read = [_told_number(text) for text in told]
    assert abs(read[0] - read[1]) == read[2]
    assert float(read[2]) * INCH == pytest.approx(abs(one - other), abs=0.11)
    assert max(abs(float(read[0]) * INCH - one), abs(float(read[1]) * INCH - other)) <= INCH / 31


@pytest.mark.parametrize("unit", UNITS)
def test_a_typed_length_is_told_back_as_it_was_typed(unit: str) -> None:
    typed = ["80mm", "3 1/4in", '3 1/4"', "7.5cm", "2,5zoll"]
    with measuring_in(unit):
        told = [typed_in_words(text) for text in typed]
        assert told == ["80 mm", "3 1/4 in", "3 1/4 in", "7.5 cm", "2.5 in"]
        # What no tape has is told in the unit of the run.
        assert typed_in_words("0.254m") == in_words(254.0)
    with speaking("de"):
        assert typed_in_words("7.5cm") == "7,5 cm"


def test_a_difference_never_reads_as_a_limit_that_it_exceeds() -> None:
    with measuring_in("in"):
        assert most_in_words(3.0) == "0.118 in"
        assert told_with_difference(60.0, 64.0) == ("2.362 in", "2.520 in", "0.158 in")
        assert told_with_difference(INCH, 1.125 * INCH) == ("1 in", "1 1/8 in", "1/8 in")
        assert told_difference(2.54) == "0.100 in"
        assert (difference_as_typed(-4.0), difference_as_typed(INCH / 4)) == ("0.157in", "1/4in")
    assert told_difference(4.0) == "4 mm"


def test_spans_and_places_name_their_unit_once() -> None:
    told = {}
    for unit in UNITS:
        with measuring_in(unit):
            told[unit] = span_in_words(12.7, 25.4), place_in_words(111.125 + 47.625j)
    assert told == {
        "mm": ("13 to 25 mm", "(111.1, 47.6) mm"),
        "cm": ("1.3 to 2.5 cm", "(11.1, 4.8) cm"),
        "in": ("1/2 to 1 in", "(4 3/8, 1 7/8) in"),
    }
    with speaking("de"), measuring_in("cm"):
        # A comma between two numbers with decimal commas would be a riddle.
        assert place_in_words(111.125 + 47.625j) == "(11,1; 4,8) cm"


def test_a_unit_holds_for_one_run_and_no_longer() -> None:
    assert unit_of_this_run() == "mm"
    with measuring_in("in"):
        with measuring_in("cm"):
            assert in_words(25.4) == "2.5 cm"
        assert in_words(25.4) == "1 in"
        with pytest.raises(SettingError), measuring_in("cm"):
            parse_length("wide")
        assert unit_of_this_run() == "in"
    assert in_words(25.4) == "25.4 mm"


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("length", [math.inf, -math.inf, math.nan, 1e300])
def test_what_is_no_length_is_told_without_a_fault(unit: str, length: float) -> None:
    with measuring_in(unit):
        for told in (in_words(length), told_length(length, 2), *told_apart(length, 3.0)):
            assert told.endswith(unit)
            assert len(told) < 20


def test_an_angle_has_its_sign_and_no_negative_nothing() -> None:
    assert in_degrees(math.pi / 8) == "22.5°"
    assert in_degrees(-1e-9) == "0.0°"
    assert in_degrees(math.pi / 2, 0) == "90°"
    assert decimal_number(-0.0, 2) == "0.00"


@given(st.integers(0, 4000))
def test_inches_with_few_decimals_are_the_millimetres_that_one_writes(eighths: int) -> None:
    """The dialogs write in mm what the terminal's defaults say in inches: no bit may differ."""
    written = f"{eighths * 25.4 / 8:.4f}mm"
    assert parse_length(f"{eighths}/8in") == parse_length(written) == inches(eighths / 8)


ALLOWANCES = st.lists(
    st.tuples(st.sampled_from(["waist", "hem", "side seam"]), st.integers(1, 399)), max_size=3
)


@given(ALLOWANCES, st.integers(1, 399), st.booleans())
def test_a_comma_between_digits_is_a_decimal_comma(
    named: list[tuple[str, int]], first: int, tight: bool
) -> None:
    """As long as no blank stands behind it; every other comma parts one width from the next."""
    parts = [f"{first // 10},{first % 10}mm"]
    parts += [f"{name}={tenths // 10},{tenths % 10}mm" for name, tenths in named]
    read = Allowances.parse(("," if tight else ", ").join(parts))
    assert read.default == pytest.approx(first / 10)
    assert read.by_seam == pytest.approx({name: tenths / 10 for name, tenths in named})


def test_bare_numbers_of_an_allowance_may_have_decimal_commas() -> None:
    read = Allowances.parse("1,5, hem=4,2", "cm")
    assert (read.default, read.by_seam["hem"]) == pytest.approx((15.0, 42.0))
