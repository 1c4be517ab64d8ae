"""Attributes of ours that no longer say what they did: one message with object and attribute."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from lxml import etree

from drafting_core.text.errors import DraftingError
from drafting_core.text.paper_sizes import paper_named
from extension.comparing.compare_places import compare
from extension.comparing.compare_seams import compare_seams
from extension.document.namespaces import ours
from extension.drafting.move_and_allow import Request, allow, move
from extension.marking.mark_block import mark_block
from extension.paper import paper
from extension.paper.printed_lines import Choice
from extension.sewing.notes import sew_notes
from tests.help.blocks.drawings import marked_front, outline, page, parts, root_of

NO_NUMBER = ("abc", "nan", "1,2,3", "1e", "½")
COMMANDS: dict[str, Callable[[Any, list[str]], object]] = {
    "move": lambda root, ids: move(root, Request(to="shoulder:0.5", selection=ids)),
    "allow": lambda root, ids: allow(root, Request(selection=ids)),
    "paper": lambda root, ids: paper.make_paper(
        root,
        paper.PaperRequest(paper_named("A4", "", "", "mm"), 10.0, 10.0, Choice(), selection=ids),
    ),
    "sew-notes": lambda root, ids: sew_notes(root, ids, "A4"),
    "compare": lambda root, ids: compare(root, Request(to="shoulder; neckline", selection=ids)),
    "balance": lambda root, ids: compare_seams(root),
}
#: What the stitch line of a result keeps of its block, which every command reads.
OF_THE_BLOCK = {
    "true-scale": (*NO_NUMBER, "0", "-1", "inf", ""),
    "hold": (*NO_NUMBER, "0", "-1", "inf", "", "1,inf", "1,2 3,4"),
    "seam-ends": (*NO_NUMBER, "0", "-1", "inf", "1,2 3", "1,2 nan,4"),
    "seam-corners": (*NO_NUMBER, "0", "-1", "inf", "1,2 3", "1,2 nan,4"),
    "curved-darts": (*NO_NUMBER, "0", "-1", "inf", "1,2 3", "1,2 nan,4"),
    # What it was when it was drawn, its seams and darts.
    "drawn": ("", "abc", "M 0,0", "M 0,0 L 1", "M 0,0 L nan,2 3,4 Z", "M 0,0 9,0 Z M 5,5 6,6 Z"),
    "seam-1": ("", "abc", "1,2 3,4", "1,2 3,4 x - - - - - waist", "1,2 3,4 5 -1 - - - - waist",
               "1,2 nan,4 5 - - - - - waist", "1,2 3,4 5 - - - - -", "1,2 3,4 inf - - - - - waist"),
    "dart-1": ("", *NO_NUMBER, "1,2 3,4", "1,2 3,4 5,6 7,8 9,10", "1,2 3,4 nan,6"),
}
NO_LENGTH = (*NO_NUMBER, "-1", "-1mm", "inf", "5furlong", "1e999")
NO_WORD = ("abc", "1", "")
#: What it keeps of the settings. An empty clearance or intake is the automatic one.
OF_THE_SETTINGS = {
    "share": (*NO_NUMBER, "0", "-1", "2", "inf", ""),
    "clearance": NO_LENGTH,
    "intake": NO_LENGTH,
    "drawn-short": NO_LENGTH,
    **dict.fromkeys(
        (
            *("ease-limit", "tuck-length", "gather-over", "blend"),
            *("trim-allowance", "wide", "drill-hole"),
        ),
        (*NO_LENGTH, ""),
    ),
    "allowance": (*NO_LENGTH, "neckline=", "=5mm", "5mm turned", "1mm, 2mm"),
    **dict.fromkeys(("cloth", "fold", "excess", "as", "true-mouth", "even-legs"), NO_WORD),
}
#: What marks in a result carry: the role, the attribute, what it cannot say.
OF_MARKS = {
    ("seam", "allowance"): (*NO_LENGTH, ""),
    ("seam", "ease"): (*NO_LENGTH, ""),
    ("target", "share"): (*NO_NUMBER, "-1", "2", "inf", ""),
    ("target", "intake"): (*NO_LENGTH, ""),
    ("target", "as"): NO_WORD,
    ("dart", "share"): (*NO_NUMBER, "-1", "2", "inf", ""),
}


@pytest.fixture(scope="module")
def result() -> Any:
    """A drawing with a result, of which a seam has a mate."""
    root = root_of(page(marked_front()))
    move(root, Request())
    waist = next(mark for mark in parts(root, "seam-name") if mark.get(ours("name")) == "waist")
    waist.set(ours("mate"), "A")
    return root


def cases() -> Iterator[tuple[str, str, str]]:
    for attribute, texts in OF_THE_BLOCK.items():
        yield from ((command, attribute, text) for command in COMMANDS for text in texts)
    for attribute, texts in OF_THE_SETTINGS.items():
        for command in ("move", "allow", "paper", "sew-notes"):
            yield from ((command, attribute, text) for text in texts)


def refusal(command: str, root: Any) -> str:
    """Return what a command says that refuses a drawing, and leaves it as it was."""
    before = etree.tostring(root)
    identity = parts(root, "stitch-line")[0].get("id")
    with pytest.raises(DraftingError) as raised:
        COMMANDS[command](root, [identity])
    assert etree.tostring(root) == before
    return str(raised.value)


@pytest.mark.parametrize(("command", "attribute", "text"), list(cases()))
def test_stitch_line_says_what_cannot_be_used(
    command: str, attribute: str, text: str, result: Any
) -> None:
    root = copy.deepcopy(result)
    parts(root, "stitch-line")[0].set(ours(attribute), text)
    said = refusal(command, root)
    assert said.startswith('"outline" (id dartswing-1-stitch-line): its attribute')
    assert f'dartswing:{attribute} says "{text}", which cannot be used. ' in said
    remedy = said.partition("cannot be used. ")[2]
    assert remedy.startswith(("Write ", "Use ", "Say ", "Name "))


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    ("word", "attribute", "text"),
    [(*key, text) for key, texts in OF_MARKS.items() for text in texts],
)
def test_mark_in_a_result_says_what_cannot_be_used(
    command: str, word: str, attribute: str, text: str, result: Any
) -> None:
    root = copy.deepcopy(result)
    mark = next(e for e in parts(root, "seam-name") if e.get(ours("name")) == "waist")
    mark.set(ours("role"), word)
    mark.set(ours(attribute), text)
    said = refusal(command, root)
    assert said.startswith('"seam waist": ')
    assert f'its attribute dartswing:{attribute} says "{text}", which cannot be used. ' in said


@pytest.mark.parametrize("command", ["move", "allow", "paper", "sew-notes", "compare"])
def test_empty_lists_are_no_fault(command: str, result: Any) -> None:
    root = copy.deepcopy(result)
    stitch = parts(root, "stitch-line")[0]
    for attribute in ("seam-corners", "curved-darts"):
        stitch.set(ours(attribute), "")
    for attribute in ("clearance", "intake"):
        stitch.set(ours(attribute), "")
    assert COMMANDS[command](root, [stitch.get("id")]) is not None


@pytest.mark.parametrize("text", [*NO_NUMBER, "0", "inf", "1,nan", ""])
def test_apex_that_no_longer_says_where_it_was_put(text: str) -> None:
    root = root_of(page(outline()))
    mark_block(root, ["block"])
    apex = next(e for e in root.iter() if e.get(ours("role")) == "apex")
    apex.set(ours("put"), text)
    with pytest.raises(DraftingError) as raised:
        mark_block(root, ["block"])
    assert f'its attribute dartswing:put says "{text}", which cannot be used. ' in str(raised.value)
    assert str(apex.get("id")) in str(raised.value)
