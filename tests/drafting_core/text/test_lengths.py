"""Lengths and allowances as drafters write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drafting_core.model.allowances import Allowances
from drafting_core.model.seam_names import Seam, seam_kind
from drafting_core.text.errors import SettingError
from drafting_core.text.lengths import parse_length

# CSS Values and Units 3: 1in = 2.54cm = 25.4mm.
KNOWN = [
    ("25.4mm", 25.4),
    ("2.5cm", 25.0),
    ("1in", 25.4),
    ("1/2in", 12.7),
    ("1 1/4in", 31.75),
    ('3/8"', 9.525),
    ("12", 12.0),
    ("1,5 cm", 15.0),
    (" .5 IN ", 12.7),
    ("-3mm", -3.0),
]


@pytest.mark.parametrize(("text", "millimetres"), KNOWN)
def test_known_lengths(text: str, millimetres: float) -> None:
    assert parse_length(text) == pytest.approx(millimetres, abs=1e-12)


@pytest.mark.parametrize("text", ["", "wide", "1/0in", "12 feet", "1 2 3", "1e400", "nan", "mm"])
def test_what_is_no_length_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(SettingError, match="1/2in"):
        parse_length(text)


@given(st.integers(0, 40), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_fractions_of_an_inch(whole: int, over: int, under: int) -> None:
    inches = whole + over / under
    assert parse_length(f"{whole} {over}/{under}in") == pytest.approx(25.4 * inches)
    assert parse_length(f"{over}/{under}", "in") == pytest.approx(25.4 * over / under)


def seam(kind: str, allowance: float | None = None, fold: bool = False) -> Seam:
    return Seam(kind, seam_kind(kind), allowance, fold)


def test_the_default_is_the_trades() -> None:
    # Common practice: neckline 1/4 in, other seams 1/2 in, nothing on a fold.
    widths = Allowances()
    assert widths.width(seam("Neck")) == pytest.approx(6.35)
    assert widths.width(seam("side")) == pytest.approx(12.7)
    assert widths.width(seam("CF", fold=True)) == 0.0


def test_a_seams_own_width_wins_but_not_over_the_fold() -> None:
    widths = Allowances.parse("1cm, hem=30mm; centre front=2cm")
    assert widths.width(seam("armscye")) == pytest.approx(10.0)
    assert widths.width(seam("neckline")) == pytest.approx(10.0)
    assert widths.width(seam("Hem")) == pytest.approx(30.0)
    assert widths.width(seam("hem", allowance=40.0)) == pytest.approx(40.0)
    assert widths.width(seam("center front", allowance=40.0, fold=True)) == 0.0


@given(
    st.floats(0, 100, allow_subnormal=False),
    st.dictionaries(st.sampled_from(["hem", "waist", "yoke"]), st.floats(0.001, 100)),
)
def test_a_setting_survives_being_stored(default: float, widths: dict[str, float]) -> None:
    stored = Allowances(round(default, 6), {k: round(v, 6) for k, v in widths.items()})
    again = Allowances.parse(str(stored))
    assert (again.default, dict(again.by_seam)) == (stored.default, dict(stored.by_seam))


@pytest.mark.parametrize("text", ["1cm, 2cm", "hem", "hem=-3mm", "=3mm"])
def test_unreadable_allowances_are_refused(text: str) -> None:
    with pytest.raises(SettingError, match="allowance"):
        Allowances.parse(text)


@pytest.mark.parametrize(
    ("spelling", "kind"),
    [
        ("Center Front", "centre front"),
        ("CF", "centre front"),
        ("centre-back", "centre back"),
        ("Neck", "neckline"),
        ("ARMSCYE", "armhole"),
        ("side", "side seam"),
        ("Elbow", "underarm seam"),
        ("shoulder seam", "shoulder"),
        ("Yoke", "yoke"),
    ],
)
def test_spellings_of_a_seam(spelling: str, kind: str) -> None:
    assert seam_kind(spelling) == kind
