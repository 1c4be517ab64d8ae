"""A wrong selection: what was understood, what is missing, and which menu entry mends it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.help.blocks.drawings import OUTLINE_DATA, layer, marked_front, page
from tests.help.editor.effects import run_effect

PLAIN = f'<path id="front" d="{OUTLINE_DATA}"/>'
LINE = '<path id="line" d="M 5,5 L 90,5"/>'
TEXT = '<text id="words" x="3" y="9">front</text>'
CLONE = '<use id="twin" xlink:href="#front" xmlns:xlink="http://www.w3.org/1999/xlink"/>'
DOTS = "".join(f'<circle id="dot{i}" cx="{20 * i}" cy="30" r="1"/>' for i in range(8))
#: Drawing, command, what is selected; what the message says.
CASES = {
    "a plain path": (
        PLAIN,
        "move",
        ["front"],
        ["closed path of 9 nodes, 400.0 mm high and 240.0 mm wide", "no outline", "Mark a block"],
    ),
    "an open line": (PLAIN + LINE, "move", ["line"], ["an open path, 85.0 mm long", "outline"]),
    "a text": (PLAIN + TEXT, "allow", ["words"], ["a text", "outline", "Mark a block"]),
    "a clone": (PLAIN + CLONE, "move", ["twin"], ["a clone", "outline"]),
    "two of three": (PLAIN + LINE, "move", ["front", "line"], ["closed path", "open path"]),
    "far too many": (PLAIN + DOTS, "move", [f"dot{i}" for i in range(8)], ["And 2 more objects"]),
    "something beside the block": (
        marked_front() + TEXT,
        "move",
        ["words"],
        ["a text", "touches no block", "Mark a block", "400.0 mm high and 240.0 mm wide"],
    ),
    "nothing, and no outline": (PLAIN, "move", [], ["no outline", "Mark a block"]),
    "nothing, and no target": (marked_front(target=""), "move", [], ["no target", "Mark parts"]),
    "nothing, and no apex": (marked_front(apex=""), "move", [], ["no apex", "Mark a block"]),
    "a layer without a block": (
        marked_front() + layer(TEXT, "Notes", 'id="notes"'),
        "move",
        ["notes"],
        ["a layer", "touches no block"],
    ),
    "nothing to mark": (TEXT, "mark-block", [], ["Nothing is selected", "closed path"]),
    "a text as a block": (TEXT + PLAIN, "mark-block", ["words"], ["a text", "missing"]),
}


@pytest.mark.parametrize("name", CASES)
def test_the_message_says_what_was_understood_and_what_mends_it(name: str, tmp_path: Path) -> None:
    body, command, selection, words = CASES[name]
    drawing = tmp_path / "drawing.svg"
    drawing.write_text(page(body), encoding="utf-8")
    answer = run_effect(command, drawing, *(f"--id={identity}" for identity in selection))
    assert (answer.status != 0, answer.document) == (True, "")
    for part in words:
        assert part in answer.said
    assert answer.said.strip().count("\n") == 0
    assert answer.said[0].isupper()
