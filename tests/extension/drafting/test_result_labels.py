"""Labels of results' layers: first what tells them apart, then the piece."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drafting_core.text.errors import DraftingError
from extension.document.namespaces import LABEL, ours
from extension.drafting.move_and_allow import Request, move
from extension.drafting.result_labels import apart
from extension.options.settings_text import settings_attributes
from tests.help.blocks.drawings import marked_front, page, root_of

PLACES = {
    "side seam:0.35": "Dart at side seam 35%, Front",
    "side seam:80mm": "Dart at side seam 80mm, Front",
    "side seam: 3  1/4 IN": "Dart at side seam 3 1/4in, Front",
    "side seam:7,5 cm": "Dart at side seam 7.5cm, Front",
    "side seam:0.5mm": "Dart at corner of armhole and side seam, Front",
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


@pytest.mark.parametrize(
    ("given", "differs"),
    [
        ({"cloth": "sheer"}, "sheer"),
        ({"share": "0.5"}, "half"),
        ({"share": "0.35", "cloth": "knit"}, "35%, knit"),
        ({"intake": "12mm", "share": "0.5", "cloth": "sheer"}, "half, 12mm wide"),
        ({"excess": "keep"}, "excess kept"),
        ({"fold": "side"}, "folded side"),
        ({"clearance": "1/2in"}, "12.7mm short"),
        ({"blend": "40mm"}, "blend 40mm"),
        ({"allowance": "10mm, hem=30mm"}, "allowance 10mm hem=30mm"),
    ],
)
def test_a_second_one_begins_with_what_differs(given: dict[str, str], differs: str) -> None:
    root = root_of(page(marked_front()))
    labels = ["Dart at side seam 40%, Front", f"Dart at side seam 40%, {differs}, Front"]
    for asked in ({}, given, given, {}):
        # Each again is the same one again, and takes the place of itself.
        move(root, Request(to="side seam:0.4", given=asked))
        there = [str(layer.get(LABEL)) for layer in root if layer.get(ours("result"))]
        assert sorted(there) == sorted(labels[: len(there)])
    assert len(there) == 2


def test_of_results_with_one_name_each_is_found_again_by_its_settings() -> None:
    # As drawings have them in which such results were told apart by a number alone.
    name = "Dart at neckline tip, Front"
    drafts = [
        move(
            root_of(page(marked_front())),
            Request(to="neckline/centre front", given={"cloth": cloth}),
        ).drafts[0]
        for cloth in ("woven", "sheer", "knit")
    ]
    made_with = {name: [settings_attributes(draft.settings) for draft in drafts[:2]]}
    called = [apart(name, draft, made_with) for draft in drafts]
    assert called == [name, name, "Dart at neckline tip, knit, Front"]


def test_what_first_was_told_apart_is_found_again_without_the_other() -> None:
    root = root_of(page(marked_front()))
    for asked in ({}, {"cloth": "sheer"}):
        move(root, Request(to="neckline/centre front", given=asked))
    first, second = (layer for layer in root if layer.get(ours("result")))
    root.remove(first)
    move(root, Request(to="neckline/centre front", given={"cloth": "sheer"}))
    there = [layer.get(LABEL) for layer in root if layer.get(ours("result"))]
    assert there == [second.get(LABEL)] == ["Dart at neckline tip, sheer, Front"]
    move(root, Request(to="neckline/centre front"))
    again = [layer.get(LABEL) for layer in root if layer.get(ours("result"))]
    assert again == [*there, "Dart at neckline tip, Front"]


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
