"""Headings of a comparison: places in words, and no two alike."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drafting_core.block.places import Target
from drafting_core.block.seam_place import ALONG, CENTRE, UPPER, SeamPlace
from drafting_core.model.seam_names import Seam, seam_kind
from extension.comparing.place_titles import place_titles

#: The parts of a seam that have words, as a reader counts them.
WORDS = {
    "a quarter": 0.25,
    "a third": 1 / 3,
    "halfway": 0.5,
    "two thirds": 2 / 3,
    "three quarters": 0.75,
}


def seam(name: str) -> Seam:
    return Seam(name, seam_kind(name), named=True)


def titles(*places: SeamPlace) -> list[str]:
    return place_titles(places, [Target(place=f"place {k}") for k in range(len(places))])


@pytest.mark.parametrize(
    ("place", "title"),
    [
        (SeamPlace((seam("side seam"),), 0.35), "Side seam, a third of the way down"),
        (SeamPlace((seam("armhole"),), 0.5), "Armhole, halfway down"),
        (SeamPlace((seam("side seam"),), 0.5, length="3 1/4in"), "Side seam, 3 1/4 in down"),
        (
            SeamPlace((seam("waist"),), 0.5, measured_from=CENTRE, length="7.5cm"),
            "Waist, 7.5 cm from the centre",
        ),
        (SeamPlace((seam("hem"),), 0.5, measured_from=ALONG, length="80mm"), "Hem, 80 mm along"),
        (
            SeamPlace((seam("waist"),), 0.4, measured_from=CENTRE),
            "Waist, 40 % of the way from the centre",
        ),
        (SeamPlace((seam("hem"),), 0.25, measured_from=ALONG), "Hem, a quarter of the way along"),
        (SeamPlace((seam("waist"),), 0.4, is_mouth=True), "Waist, where the dart is"),
        (SeamPlace((seam("centre front"), seam("neckline"))), "Neckline tip"),
        (
            SeamPlace((seam("shoulder"), seam("armhole"))),
            "Corner of shoulder and armhole",
        ),
    ],
)
def test_a_place_is_told_in_words(place: SeamPlace, title: str) -> None:
    assert titles(place) == [title]


@given(st.lists(st.floats(0.0, 1.0), min_size=2, max_size=6, unique=True))
def test_no_two_read_alike_and_none_reads_wrong(fractions: list[float]) -> None:
    side = seam("side seam")
    said = titles(*(SeamPlace((side,), fraction, measured_from=UPPER) for fraction in fractions))
    assert len(set(said)) == len(said)
    for title, fraction in zip(said, fractions, strict=True):
        part = next((share for words, share in WORDS.items() if f", {words}" in title), None)
        if part is None:
            part = float(title.split(", ")[1].split(" %")[0]) / 100
            assert part == pytest.approx(fraction, abs=0.00051)
        else:
            assert part == pytest.approx(fraction, abs=0.0201)
