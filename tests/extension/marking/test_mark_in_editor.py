"""Marking in the real editor: marks made there, dragged, renamed, undone, and drafted from."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from extension.document.roles import role_of
from extension.document.shapes import box_of
from extension.document.svg_document import units
from extension.marking.mark_block import mark_block
from tests.extension.marking.test_mark_block import (
    LABEL,
    SAMPLES,
    marks_of,
    stitch_line,
    text_of,
    without_marks,
)
from tests.help.editor.editor import RealEditor
from tests.help.editor.editor_session import session

#: Each of them takes seconds.
pytestmark = pytest.mark.thorough

MARK_BLOCK = "dartswing.mark-block.noprefs"


@pytest.fixture
def unmarked_front(tmp_path: Path) -> Path:
    root = without_marks((SAMPLES / "front_one_path.svg").read_text(encoding="utf-8"))
    file = tmp_path / "front.svg"
    file.write_bytes(text_of(root))
    return file


def tree(file: Path) -> Any:
    return etree.parse(str(file)).getroot()


def apex_of(file: Path) -> complex:
    root = tree(file)
    box = box_of(marks_of(root, "apex")[0])
    return complex(box.left + box.right, box.top + box.bottom) / 2 * units(root)


def marked(editor: RealEditor, drawing: Path, out: Path) -> Path:
    run = editor.run_action(drawing, MARK_BLOCK, out, select=["block"])
    assert (run.status, run.stderr) == (0, "")
    return out


def test_marks_made_in_the_editor_are_dragged_and_renamed_there(
    editor: RealEditor, unmarked_front: Path, tmp_path: Path
) -> None:
    first = marked(editor, unmarked_front, tmp_path / "first.svg")
    root = tree(first)
    assert {mark.get(LABEL) for mark in marks_of(root, "seam")} >= {"seam waist", "seam shoulder"}
    assert stitch_line(root, "side seam:0.35")
    # Run again, it adds nothing.
    again = tree(marked(editor, first, tmp_path / "again.svg"))
    assert sum(1 for _ in again.iter()) == sum(1 for _ in root.iter())
    (apex,) = marks_of(root, "apex")
    dragged = tmp_path / "dragged.svg"
    steps = "transform-translate:0,-20"
    run = editor.run_action(first, steps, dragged, select=[str(apex.get("id"))])
    assert run.status == 0
    moved = apex_of(dragged) - apex_of(first)
    assert abs(moved) > 5
    assert stitch_line(tree(dragged), "side seam:0.35") != stitch_line(root, "side seam:0.35")
    (waist,) = [m for m in marks_of(root, "seam") if m.get(LABEL) == "seam waist"]
    renamed = tmp_path / "renamed.svg"
    steps = "object-set-attribute:inkscape:label,seam hem"
    editor.run_action(first, steps, renamed, select=[str(waist.get("id"))])
    (mark,) = [m for m in tree(renamed).iter() if m.get("id") == waist.get("id")]
    role = role_of(mark)
    assert role is not None
    assert role.label is not None
    assert role.label.name == "hem"


def test_one_undo_takes_all_marks_back(editor: RealEditor, unmarked_front: Path) -> None:
    with session(editor, unmarked_front, {MARK_BLOCK: "<Primary><Shift><Alt>b"}) as opened:
        # All that is drawn: the front alone.
        opened.press("ctrl+alt+a")
        opened.press("ctrl+shift+alt+b")
        opened.wait_titles("*front.svg - Inkscape")
        # One step back is all the way back.
        opened.press("ctrl+z")
        opened.wait_titles("front.svg - Inkscape")
        opened.press("ctrl+shift+z")
        opened.wait_titles("*front.svg - Inkscape")
        assert "dartswing-marks" in opened.save()


def test_a_block_that_is_marked_already_adds_no_step(
    editor: RealEditor, unmarked_front: Path
) -> None:
    root = tree(unmarked_front)
    mark_block(root, ["block"])
    unmarked_front.write_bytes(text_of(root))
    with session(editor, unmarked_front, {MARK_BLOCK: "<Primary><Shift><Alt>b"}) as opened:
        # Selected are the front and all its marks.
        opened.press("ctrl+alt+a")
        opened.press("ctrl+shift+alt+b")
        assert opened.xdotool("getactivewindow", "getwindowname").strip() != "", "no message"
        # No star: nothing to undo.
        opened.wait_titles("front.svg - Inkscape")


def test_a_wrong_selection_is_one_message_and_no_step(
    editor: RealEditor, unmarked_front: Path
) -> None:
    with session(editor, unmarked_front, {MARK_BLOCK: "<Primary><Shift><Alt>b"}) as opened:
        opened.press("Escape")
        opened.press("ctrl+shift+alt+b")
        opened.wait_message()
        opened.press("Escape")
        opened.wait_titles("front.svg - Inkscape")
