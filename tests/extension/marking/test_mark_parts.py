"""Mark parts: what is said is read back, on what it may be said, and how it is taken off."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from drafting_core.model.seam_names import SeamLabel
from drafting_core.text.errors import DraftingError
from extension.commands.command_line import main
from extension.document.roles import Role, role_of
from extension.document.shapes import box_of
from extension.drafting.move_and_allow import Request, move
from extension.marking.mark_parts import CARRIED, NONE, MarkRequest, mark_parts
from extension.options.options import MARKING
from extension.reading.read_blocks import read_drawing
from tests.help.blocks.drawings import NS, OUTLINE_DATA, SEAMS, layer, page, parts, root_of
from tests.help.editor.effects import run_effect

LABEL = f"{{{NS['inkscape']}}}label"
OURS = f"{{{NS['dartswing']}}}"
BODY = (
    f'<path id="block" d="{OUTLINE_DATA}"/><circle id="dot" cx="95" cy="260" r="2"/>'
    '<circle id="place" cx="236.5" cy="273" r="2"/><path id="line" d="M 20 150 V 300"/>'
    '<text id="words" x="120" y="100">hem</text>'
)
#: Roles that only a closed path can have.
CLOSED = {"outline": "block", "known rectangle": "block", "known grid": "block"}
#: Every role with what it may carry, as typed, and what a reader has to make of it.
SAYINGS = [
    ("outline", {}, "outline", Role("outline")),
    ("apex", {}, "apex", Role("apex")),
    ("hold", {}, "hold", Role("hold")),
    ("grain", {}, "grain", Role("grain")),
    ("notch", {}, "notch", Role("notch")),
    ("inner line", {}, "inner line", Role("inner line")),
    ("dart", {}, "dart", Role("dart")),
    ("dart", {"share": "0,5"}, "dart 0.5", Role("dart", share=0.5)),
    ("dart", {"share": "1"}, "dart 1.0", Role("dart", share=1.0)),
    ("target", {}, "target", Role("target")),
    ("target", {"share": ".25"}, "target 0.25", Role("target", share=0.25)),
    ("target", {"as": "tuck"}, "target as tuck", Role("target", made="tuck")),
    (
        "target",
        {"share": "0.6", "as": "ease"},
        "target 0.6 as ease",
        Role("target", share=0.6, made="ease"),
    ),
    ("known length", {"length": "4in"}, "known length 4in", Role("known length", length=101.6)),
    ("known length", {"length": "100"}, "known length 100mm", Role("known length", length=100.0)),
    (
        "known rectangle",
        {"length": "210x297mm"},
        "known rectangle 210x297mm",
        Role("known rectangle", sides=(210.0, 297.0)),
    ),
    ("known grid", {"length": "1in"}, "known grid 1in", Role("known grid", length=25.4)),
    ("known grid", {"length": "25"}, "known grid 25mm", Role("known grid", length=25.0)),
    ("style line", {}, "style line", Role("style line")),
    (
        "style line",
        {"name": "princess"},
        "style line princess",
        Role("style line", name="princess"),
    ),
]


def called(root: Any, identity: str) -> Any:
    return next(e for e in root.iter() if e.get("id") == identity)


def drawn(body: str = BODY) -> Any:
    return root_of(page(layer(body)))


def mark(root: Any, role: str, *select: str, unit: str = "mm", **carried: str) -> list[str]:
    given = {"as" if key == "made" else key: text for key, text in carried.items()}
    return mark_parts(root, MarkRequest(role, given, select, unit))


def read_all_ways(element: Any) -> list[Role | None]:
    """Read an object's role by label and attributes, by its label alone, and by attributes."""
    plain = etree.fromstring(etree.tostring(element))
    for key in [k for k in plain.attrib if str(k).startswith(OURS)]:
        del plain.attrib[key]
    bare = etree.fromstring(etree.tostring(element))
    del bare.attrib[LABEL]
    bare.set("id", "path7")
    return [role_of(element), role_of(plain), role_of(bare)]


@pytest.mark.parametrize(("word", "carried", "label", "role"), SAYINGS)
def test_what_is_said_is_read_back(
    word: str, carried: dict[str, str], label: str, role: Role
) -> None:
    root = drawn()
    identity = CLOSED.get(word, "line")
    mark_parts(root, MarkRequest(word, carried, [identity]))
    element = called(root, identity)
    assert element.get(LABEL) == label
    assert read_all_ways(element) == [role] * 3


def test_every_role_of_the_dialog_is_tried_and_may_carry_what_it_says() -> None:
    (words,) = [set(option.choices) for option in MARKING if option.name == "role"]
    assert words == set(CARRIED)
    assert words - {NONE, "seam"} == {saying[0] for saying in SAYINGS}
    options = {option.name for option in MARKING}
    assert set(itertools.chain.from_iterable(CARRIED.values())) == options - {"role"}


@given(
    name=st.sampled_from(["waist", "side seam", "CF", "Left flank", "hem, inner", "Ärmelnaht"]),
    allowance=st.sampled_from(["", "12mm", "1/2in", "1 1/4in", "2,5cm", "20", "12pt", "1/3in"]),
    fold=st.booleans(),
    turned=st.booleans(),
    mate=st.sampled_from(["", "A", "b7"]),
    unit=st.sampled_from(["mm", "cm"]),
)
def test_all_that_is_said_of_a_seam_is_read_back(
    name: str, allowance: str, fold: bool, turned: bool, mate: str, unit: str
) -> None:
    root = drawn()
    carried = {"name": name, "allowance": allowance, "mate": mate}
    carried |= {"fold": "yes"} if fold else {}
    carried |= {"turned": "yes"} if turned else {}
    mark_parts(root, MarkRequest("seam", carried, ["dot"], unit))
    bare = 20.0 if unit == "mm" else 200.0
    widths = {"": None, "12mm": 12.0, "1/2in": 12.7, "1 1/4in": 31.75, "2,5cm": 25.0, "20": bare}
    widths |= {"12pt": 12 * 25.4 / 72, "1/3in": 25.4 / 3}
    for role in read_all_ways(called(root, "dot")):
        assert role is not None
        assert role.label is not None
        width = widths[allowance]
        assert role.label._replace(allowance=None) == SeamLabel(
            name, None, fold, turned, mate, None
        )
        assert role.label.allowance == (None if width is None else pytest.approx(width, abs=1e-6))


@pytest.mark.parametrize("name", ["seam 2", "hem fold", "x mate", "12mm", "left copy"])
def test_a_name_that_would_be_read_otherwise_is_refused(name: str) -> None:
    root = drawn()
    before = etree.tostring(root)
    with pytest.raises(DraftingError, match=r"read otherwise|width|mate"):
        mark(root, "seam", "dot", name=name)
    assert etree.tostring(root) == before


@pytest.mark.parametrize(
    ("role", "carried", "said"),
    [
        ("apex", {"name": "x"}, '"name" does not belong to the role "apex"'),
        ("target", {"fold": "yes"}, '"fold" does not belong'),
        ("known length", {}, "needs its length"),
        ("known length", {"length": "long"}, "not a length"),
        ("known rectangle", {}, "needs its two sides"),
        ("known rectangle", {"length": "210mm"}, "two sides of a rectangle"),
        ("known grid", {}, "needs the side of its squares"),
        ("known grid", {"length": "210x297mm"}, "not a length"),
        ("seam", {}, "nothing is said of the seam"),
        ("seam", {"seam": "waist", "name": "x"}, "both"),
        ("dart", {"share": "2"}, "from 0 to 1"),
        ("none", {"share": "1"}, "does not belong"),
    ],
)
def test_what_does_not_belong_or_is_missing_is_told(
    role: str, carried: dict[str, str], said: str
) -> None:
    root = drawn()
    with pytest.raises(DraftingError, match=said):
        mark_parts(root, MarkRequest(role, carried, ["line"]))


@pytest.mark.parametrize(
    ("role", "select", "said"),
    [
        ("apex", [], ["nothing is selected", "Mark a block"]),
        ("apex", ["front"], ['"Front" is a layer', "a layer has no role"]),
        ("apex", ["dot", "place"], ["one object", "2 are selected", '"dot"', '"place"']),
        ("outline", ["copy"], ["is a clone", "Unlink Clone"]),
        ("inner line", ["copy"], ["is a clone", "Unlink Clone"]),
        ("outline", ["words"], ["is a text", "Object to Path"]),
        ("outline", ["line"], ["is an open path, 150.0 mm long", "its ends lie", "node tool"]),
        ("outline", ["dot", "words"], ["closed shape, 4.0 mm high", "is a text"]),
        ("grain", ["dot"], ["a grainline is an open path", "pen tool"]),
        ("style line", ["words"], ["one open path across the block"]),
        ("known length", ["block"], ["400.0 mm high", "a known length is an open path"]),
        ("known grid", ["line"], ["a known grid is a closed path", "pen tool"]),
        ("inner line", ["words"], ["Object to Path"]),
        ("apex", ["nobody"], ['no object has the id "nobody"']),
    ],
)
def test_a_wrong_selection_is_told_of_and_mended(
    role: str, select: list[str], said: list[str]
) -> None:
    root = root_of(page(layer(f'{BODY}<use id="copy" href="#dot"/>', more='id="front"')))
    before = etree.tostring(root)
    carried = {"length": "10mm"} if role in ("known length", "known grid") else {}
    with pytest.raises(DraftingError) as refused:
        mark_parts(root, MarkRequest(role, carried, select))
    for words in said:
        assert words in str(refused.value)
    assert etree.tostring(root) == before


@pytest.mark.parametrize("word", ["apex", "target", "hold", "dart", "notch"])
def test_a_clone_can_be_marked_and_has_a_sign_beside_it(word: str) -> None:
    body = BODY + '<use id="copy" href="#dot" transform="translate(20,0) scale(1.5)"/>'
    root = drawn(body)
    mark(root, word, "copy")
    assert role_of(called(root, "dot")) is None
    assert called(root, "copy").get(LABEL) == word
    box, own = box_of(signs(root)["copy"]), box_of(called(root, "copy"))
    assert own.right < box.right < own.right + 30
    mark(root, "none", "copy")
    assert role_of(called(root, "copy")) is None
    assert not signs(root)


def signs(root: Any) -> dict[str, Any]:
    found = root.iterfind(".//*[@dartswing:sign-of]", NS)
    return {str(sign.get(f"{OURS}sign-of")): sign for sign in found}


@pytest.mark.parametrize(("word", "carried", "label", "role"), SAYINGS)
def test_a_sign_stands_beside_the_object_and_is_no_mark(
    word: str, carried: dict[str, str], label: str, role: Role
) -> None:
    root = drawn()
    identity = CLOSED.get(word, "line")
    looks = called(root, identity).get("d")
    mark_parts(root, MarkRequest(word, carried, [identity]))
    (sign,) = signs(root).values()
    assert sign.getparent().get("id") == "dartswing-marks"
    assert sign.get(f"{OURS}self") == sign.get("id")
    assert "".join(sign.itertext()) == label
    assert all(role_of(element) is None for element in sign.iter())
    box, own = box_of(sign), box_of(called(root, identity))
    glyph = box_of(sign[0])
    assert 3 <= max(glyph.right - glyph.left, glyph.bottom - glyph.top) + 1e-6 <= 8.1
    assert abs(complex(box.left, box.top) - complex(own.left, own.top)) < 30
    assert called(root, identity).get("d") == looks
    # Of a plain copy, where labels are lost and ids count, it is no mark either.
    for element in sign.iter():
        element.attrib.pop(LABEL, None)
    assert all(role_of(element) is None for element in sign.iter())
    assert len(read_drawing(root).blocks) == (1 if word == "outline" else 0)


@pytest.mark.parametrize(("word", "carried", "label", "role"), SAYINGS)
def test_said_again_nothing_changes(
    word: str, carried: dict[str, str], label: str, role: Role
) -> None:
    root = drawn()
    request = MarkRequest(word, carried, [CLOSED.get(word, "line")])
    mark_parts(root, request)
    once = etree.tostring(root)
    mark_parts(root, request)
    assert etree.tostring(root) == once


def test_a_sign_follows_its_object_and_goes_with_it() -> None:
    root = drawn()
    mark(root, "apex", "dot")
    mark(root, "target", "place")
    before = box_of(signs(root)["dot"])
    called(root, "dot").set("cy", "270")
    called(root, "place").getparent().remove(called(root, "place"))
    mark(root, "apex", "dot")
    assert set(signs(root)) == {"dot"}
    assert box_of(signs(root)["dot"]).top == pytest.approx(before.top + 10)


@pytest.mark.parametrize("own", ["", "my own words"])
def test_a_role_that_is_taken_off_leaves_the_object_as_it_was(own: str) -> None:
    labelled = BODY.replace('id="dot"', f'id="dot" inkscape:label="{own}"') if own else BODY
    root = drawn(labelled)
    attributes = dict(called(root, "dot").attrib)
    mark(root, "seam", "dot", seam="waist", allowance="12mm", fold="yes")
    mark(root, "apex", "dot")
    assert called(root, "dot").get(LABEL) == "apex"
    mark(root, "none", "dot")
    assert dict(called(root, "dot").attrib) == attributes
    assert not signs(root)


def test_a_role_said_by_an_id_can_be_taken_off() -> None:
    root = drawn('<circle id="apex" cx="95" cy="260" r="2"/>')
    mark(root, "none", "apex")
    assert role_of(called(root, "apex")) is None


def test_a_seam_and_a_leg_can_be_said_of_a_part_of_an_outline_and_nothing_else() -> None:
    pieces = '<path id="a" d="M 0 0 H 100"/><path id="b" d="M 100 0 V 100 L 0 0"/>'
    root = drawn(f'<g id="block" inkscape:label="outline">{pieces}</g>')
    mark(root, "seam", "a", seam="hem")
    (block,) = read_drawing(root).blocks
    from extension.reading.read_outline import outline_edges

    names = [edge.label.name for edge in outline_edges(block) if edge.label]
    assert names == ["hem"]
    mark(root, "dart", "a")
    (block,) = read_drawing(root).blocks
    assert [edge.leg for edge in outline_edges(block)].count(True) == 1
    with pytest.raises(DraftingError, match="part of the outline"):
        mark(root, "apex", "a")


def test_what_a_result_drew_is_not_marked() -> None:
    root = drawn()
    mark(root, "outline", "block")
    mark(root, "apex", "dot")
    mark(root, "target", "place")
    move(root, Request())
    (line,) = parts(root, "cut-line")
    with pytest.raises(DraftingError, match="drawn by Dartswing"):
        mark(root, "outline", str(line.get("id")))


def test_a_drawing_marked_without_typing_is_drafted() -> None:
    root = drawn()
    places = "".join(
        f'<circle id="s{n}" cx="{x}" cy="{y}" r="1"/>' for n, (x, y) in enumerate(SEAMS.values())
    )
    called(root, "block").getparent().extend(list(root_of(page(places))))
    mark(root, "outline", "block")
    mark(root, "apex", "dot")
    mark(root, "target", "place", share="0.5")
    for number, name in enumerate(SEAMS):
        mark(root, "seam", f"s{number}", seam=name)
    outcome = move(root, Request())
    report: Any = outcome.report
    (block,) = report["blocks"]
    assert [opening["seam"] for opening in block["openings"]] == ["side seam", "waist"]
    assert block["name"] == "Front"


@pytest.mark.parametrize(
    ("command", "options"),
    [("mark", ["--role=apex", "--id=dot"]), ("mark-block", ["--id=block"])],
)
def test_the_editor_and_the_command_line_do_the_same(
    tmp_path: Path, command: str, options: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    given, made = tmp_path / "in.svg", tmp_path / "out.svg"
    given.write_text(page(layer(BODY)), encoding="utf-8")
    answer = run_effect(command, given, *options)
    assert (answer.status, answer.said) == (0, "")
    line = [part.replace("--id=", "--select=") for part in options]
    assert main([command, str(given), "-o", str(made), *line]) == 0
    assert "dot" in capsys.readouterr().out or command == "mark-block"
    plain = [etree.canonicalize(text) for text in (answer.document, made.read_text("utf-8"))]
    assert plain[0] == plain[1]
    # Run again, the editor is given nothing new, and adds no step to undo.
    made.write_text(answer.document, encoding="utf-8")
    assert run_effect(command, made, *options).document == ""


def test_the_command_line_takes_every_option(tmp_path: Path) -> None:
    given, made = tmp_path / "in.svg", tmp_path / "out.svg"
    given.write_text(page(layer(BODY)), encoding="utf-8")
    line = ["mark", str(given), "-o", str(made), "--select", "dot", "--role", "seam"]
    more = ["--name", "hem", "--allowance", "4", "--unit", "cm", "--turned", "--mate", "A"]
    assert main([*line, *more, "--fold", "no"]) == 0
    root = etree.parse(str(made)).getroot()
    role = role_of(called(root, "dot"))
    assert role is not None
    assert role.label == SeamLabel("hem", 40.0, False, True, "A")


@pytest.mark.parametrize(
    ("remembered", "label"),
    [
        (["--role=apex", "--seam=waist", "--fold=yes", "--length=100mm"], "apex"),
        (["--role=seam", "--seam=waist", "--name=collar stand", "--share=0.5"], "seam waist"),
        (["--role=target", "--seam=hem", "--share=0.5", "--mate=A"], "target 0.5"),
    ],
)
def test_what_a_dialog_remembers_from_another_mark_does_no_harm(
    remembered: list[str], label: str, tmp_path: Path
) -> None:
    drawing = tmp_path / "front.svg"
    drawing.write_text(page('<circle id="dot" cx="9" cy="9" r="1"/>'), encoding="utf-8")
    answer = run_effect("mark", drawing, *remembered, "--id=dot")
    assert (answer.status, answer.said) == (0, "")
    assert f'inkscape:label="{label}"' in answer.document
