"""Labels of results' layers: first what tells them apart, then the piece."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drafting_core.text.errors import DraftingError
from extension.document.namespaces import LABEL
from extension.drafting.move_and_allow import Request, move
from tests.help.blocks.drawings import marked_front, page, root_of

PLACES = {
    "side seam:0.35": "Dart at side seam 35%, Front",
    "side seam:80mm": "Dart at side seam 44.4%, Front",
    "SIDE SEAM : 35%": "Dart at side seam 35%, Front",
    "neckline/centre front": "Dart at neckline tip, Front",
    "centre front/neckline": "Dart at neckline tip, Front",
    "shoulder/armhole": "Dart at corner of shoulder and armhole, Front",
    "armhole": "Dart at armhole 50%, Front",
    "side seam:0.35=0.5; neckline:0.4=0.5": "Darts at side seam 35% and neckline 40%, Front",
    "armhole:0.5 as gathers": "Gathers at armhole 50%, Front",
    "side seam:0.35=0.5; shoulder:0.5=0.5 as gathers":
        "Dart at side seam 35% and gathers at shoulder 50%, Front",
}


def label(place: str) -> str:
    root = root_of(page(marked_front()))
    move(root, Request(to=place))
    return str(root[-1].get(LABEL))


@pytest.mark.parametrize("place", PLACES)
def test_a_label_says_the_place_as_it_is_asked_for(place: str) -> None:
    assert label(place) == PLACES[place]


def test_a_second_one_has_a_number_behind_it() -> None:
    root = root_of(page(marked_front()))
    move(root, Request(to="neckline/centre front"))
    move(root, Request(to="neckline/centre front", given={"cloth": "sheer"}))
    assert [str(layer.get(LABEL)) for layer in root[-2:]] == [
        "Dart at neckline tip, Front",
        "Dart at neckline tip, Front (2)",
    ]


@given(
    st.sampled_from(("side seam", "armhole", "shoulder", "neckline")),
    st.integers(100, 900),
    st.integers(100, 900),
)
def test_places_that_differ_read_differently(seam: str, one: int, other: int) -> None:
    assume(one != other)
    try:
        first, second = (label(f"{seam}:{share / 1000}") for share in (one, other))
    except DraftingError:
        return  # some places cannot be reached by a straight slash
    assert first != second
    said = first.split(f"{seam} ")[1].split("%")[0]
    assert float(said) == pytest.approx(one / 10, abs=0.051)
