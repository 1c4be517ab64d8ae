"""A place picked from lists is the place that words or a mark say."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from drafting_core.text.errors import DraftingError, PlaceError
from drafting_core.text.lengths import measuring_in
from extension.commands.asked import Asked, Done
from extension.commands.command_table import Command, command_named
from extension.document.namespaces import CHECK_KIND, LABEL, ours, svg
from extension.options import picked_place
from extension.options.options import PICKED
from extension.options.picked_place import place_asked_for
from tests.help.blocks.drawings import (
    OUTLINE_DATA,
    TARGET,
    circle,
    marked_front,
    outline,
    page,
    parts,
    root_of,
)
from tests.help.editor.effects import run_effect

DEFAULTS = {option.name: option.default for option in PICKED} | {"to": "", "unit": "mm"}
SEAM = {"seam": "side seam"}


def asked(**values: str) -> str:
    named = {name.replace("_", "-"): text for name, text in values.items()}
    return place_asked_for(DEFAULTS | named)


def moved(root: Any, **values: str) -> Done:
    command = command_named("move")
    assert isinstance(command, Command)
    given = {name.replace("_", "-"): text for name, text in values.items()}
    return command.job(Asked(command.options, given))(root)


@pytest.mark.parametrize(
    ("values", "place"),
    [
        ({}, ""),
        ({"to": "waist"}, "waist"),
        ({"to": "waist", "target": "marks"}, ""),
        ({**SEAM, "target": "marks"}, ""),
        (SEAM, "side seam:50%"),
        ({**SEAM, "along": "35"}, "side seam:35%"),
        ({**SEAM, "along": "80.5", "along_as": "length"}, "side seam:80.5mm"),
        ({**SEAM, "along": "3", "along_as": "length", "unit": "in"}, "side seam:3in"),
        ({**SEAM, "along": "80mm"}, "side seam:80mm"),
        ({**SEAM, "along": "2 1/2in", "along_as": "length"}, "side seam:2 1/2in"),
        ({**SEAM, "along": '2 1/2"'}, 'side seam:2 1/2"'),
        ({**SEAM, "along": "7,5 cm"}, "side seam:7,5 cm"),
        ({**SEAM, "along": "1/2", "along_as": "length", "unit": "in"}, "side seam:1/2in"),
        ({**SEAM, "along": "35%"}, "side seam:35%"),
        ({**SEAM, "along": "35 %", "along_as": "length"}, "side seam:35%"),
        ({**SEAM, "along": "4.75", "along_as": "length", "unit": "in"}, "side seam:4.75in"),
        ({**SEAM, "other_seam": "armhole", "along": "20"}, "side seam/armhole"),
        ({**SEAM, "to": "waist", "target": "words"}, "waist"),
        ({**SEAM, "to": "waist", "target": "seam"}, "side seam:50%"),
    ],
)
def test_where_the_place_comes_from(values: dict[str, str], place: str) -> None:
    assert asked(**values) == place


@pytest.mark.parametrize(
    "values",
    [
        {**SEAM, "to": "waist"},
        {"target": "seam"},
        {"target": "words"},
        {"target": "words", "seam": "waist"},
        {"other_seam": "waist"},
        {"other_seam": "waist", "to": "armhole"},
        {**SEAM, "other_seam": "side seam"},
        {**SEAM, "along": "101"},
        {**SEAM, "along": "-1"},
        {**SEAM, "along": "nan"},
        {**SEAM, "along": "some"},
        {**SEAM, "along": "1/2"},
        {**SEAM, "along": "1/0in"},
        {**SEAM, "along": "-3mm"},
        {**SEAM, "along": "-3", "along_as": "length"},
        {**SEAM, "along": "1/2%"},
        {**SEAM, "along": "200%", "along_as": "length"},
        {**SEAM, "along": ""},
    ],
)
def test_two_places_or_none_are_refused(values: dict[str, str]) -> None:
    with pytest.raises(PlaceError) as refused:
        asked(**values)
    assert refused.value.remedy
    if "along" in values:
        # What was typed is named.
        assert values["along"].removesuffix("%") in refused.value.what


@pytest.mark.parametrize("option", ["along", "along-as"])
def test_how_far_along_no_seam_is_refused_where_it_was_typed(option: str) -> None:
    values = DEFAULTS | {"along": "30"}
    with pytest.raises(PlaceError, match="no seam is picked"):
        place_asked_for(values, [option])
    # A dialog shows what was said of an earlier run.
    assert place_asked_for(values) == ""
    assert place_asked_for(values | {"target": "marks"}, [option]) == ""
    assert place_asked_for(values | SEAM, [option]) == "side seam:30%"
    with pytest.raises(PlaceError, match="no seam is picked"):
        moved(root_of(page(marked_front())), **{option.replace("-", "_"): values[option]})


@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
def test_the_most_that_is_said_of_a_seam_too_short_is_taken(unit: str) -> None:
    root = root_of(page(marked_front(target="")))
    with pytest.raises(PlaceError, match="beyond the seam") as refused, measuring_in(unit):
        moved(root, seam="side seam", along="700mm")
    most = re.search(r"at most ([\d ./]+(?:mm|cm|in))", refused.value.remedy)
    assert most is not None
    assert "fraction" not in refused.value.remedy
    moved(root, seam="side seam", along=most[1])
    assert parts(root, "cut-line")


@given(st.integers(5, 95))
def test_a_picked_place_is_the_one_in_words(share: int) -> None:
    roots = [root_of(page(marked_front(target=""))) for _ in range(2)]
    try:
        moved(roots[0], to=f"armhole:{share / 100}")
    except DraftingError:
        with pytest.raises(DraftingError):
            moved(roots[1], seam="armhole", along=str(share))
        return
    moved(roots[1], seam="armhole", along=str(share))
    lines = [parts(root, "cut-line")[0].get("d") for root in roots]
    assert lines[0] == lines[1]


def unmarked(more: str = "") -> Any:
    bare = outline(OUTLINE_DATA).replace('inkscape:label="outline"', "")
    return root_of(page(bare + more))


def test_an_unmarked_block_is_marked_by_its_shape_first_and_that_is_said() -> None:
    root = unmarked()
    done = moved(root, seam="side seam", along="35")
    assert any("marked by its shape" in line for line in done.told())
    assert [child.get(LABEL) for child in root][-2:] == ["Marks", "Dart at side seam 35%, Front"]
    by_hand = unmarked()
    marking = command_named("mark-block")
    assert isinstance(marking, Command)
    marking.job(Asked(marking.options, {}, ("block",)))(by_hand)
    moved(by_hand, seam="side seam", along="35")
    assert parts(root, "cut-line")[0].get("d") == parts(by_hand, "cut-line")[0].get("d")


@pytest.mark.parametrize("values", [{}, {"seam": "hem"}, {"to": "nowhere:0.5"}])
def test_where_it_cannot_be_moved_nothing_is_marked(values: dict[str, str]) -> None:
    root = unmarked()
    before = etree.tostring(root)
    with pytest.raises(DraftingError):
        moved(root, **values)
    assert etree.tostring(root) == before


def test_two_unmarked_paths_are_not_guessed_at() -> None:
    root = unmarked(outline(OUTLINE_DATA).replace('id="block"', "").replace("outline", "sketch"))
    with pytest.raises(DraftingError, match="no outline"):
        moved(root, seam="waist")


def signs(root: Any) -> list[str]:
    return [
        " ".join("".join(row.itertext()) for row in text)
        for layer in root
        if layer.get(ours("sheet")) == CHECK_KIND
        for text in layer.iter(svg("text"))
    ]


def test_a_new_mark_is_pointed_out_where_a_remembered_word_beats_it(tmp_path: Path) -> None:
    file, drawing = tmp_path / "front.svg", page(marked_front(target=""))
    said: list[list[str]] = []
    for mark in ("", TARGET, TARGET, circle("target", 125, 20)):
        root = root_of(drawing)
        if mark:
            root.append(root_of(page(mark))[0])
        file.write_bytes(etree.tostring(root))
        answer = run_effect("move", file, "--to", "armhole:0.5")
        assert (answer.status, answer.said) == (0, "")
        root = root_of(answer.document)
        said.append(signs(root))
        for element in [e for e in root if str(e.get(LABEL)) in ("target", "Check here")]:
            root.remove(element)
        drawing = etree.tostring(root).decode()
    first, new, seen, other = said
    assert first == [] == seen
    for signed in (new, other):
        assert len(signed) == 1
        assert "was not used" in signed[0]


def test_the_dialogs_field_shows_what_is_typed_in_inches() -> None:
    dialog = etree.parse(Path(picked_place.__file__).parents[1] / "dartswing_move.inx")
    fields = [field for field in dialog.iter("{*}param") if field.get("name") == "along"]
    assert [field.get("precision") for field in fields] == ["3"]
