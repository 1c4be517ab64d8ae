"""Results in the real editor: saved there they are as drawn, touched there they are hers."""

from __future__ import annotations

import itertools
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from extension.document.namespaces import LABEL, ours
from tests.help.editor.drafters_hand import Hand, hand_on, spots_layer
from tests.help.editor.editor import RealEditor

#: Each of them takes seconds.
pytestmark = pytest.mark.thorough

SAMPLE = Path(__file__).parents[3] / "sample_svgs" / "front_one_path.svg"
MOVE, MOVE_KEY = "dartswing.move.noprefs", "ctrl+alt+m"
LAYER, GRAIN, CUT = "dartswing-1", "dartswing-1-grainline", "dartswing-1-cut-line"
NOTCH = "dartswing-1-notch"


def layers(root: Any) -> list[Any]:
    return [child for child in root if child.get(ours("result"))]


def test_a_result_that_the_editor_saved_is_taken_the_place_of(
    editor: RealEditor, tmp_path: Path
) -> None:
    drawings = [SAMPLE, *(tmp_path / f"{name}.svg" for name in ("once", "twice", "thrice"))]
    for drawing, out in itertools.pairwise(drawings):
        assert editor.run_action(drawing, MOVE, out).stderr == ""
    found = [layers(etree.parse(str(path)).getroot()) for path in drawings[1:]]
    assert [len(each) for each in found] == [1, 1, 1]
    assert len({each[0].get(LABEL) for each in found}) == 1


def untouched(hand: Hand) -> None:
    hand.pick(CUT)
    hand.press("Right", "Left", "ctrl+z", "ctrl+z", "Escape")


def grainline_moved(hand: Hand) -> None:
    hand.pick(GRAIN)
    hand.press("shift+Right")


def cut_line_hidden(hand: Hand) -> None:
    hand.pick(CUT)
    hand.press("ctrl+shift+alt+z")


def notch_raised(hand: Hand) -> None:
    hand.pick(NOTCH)
    hand.press("Home")


@pytest.mark.parametrize(
    ("edit", "count"),
    [(untouched, 1), (grainline_moved, 2), (cut_line_hidden, 2), (notch_raised, 2)],
)
def test_what_is_touched_in_the_editor_stays(
    edit: Callable[[Hand], None], count: int, editor: RealEditor, tmp_path: Path
) -> None:
    drawing = Path(shutil.copy(SAMPLE, tmp_path / "front.svg"))
    text = drawing.read_text(encoding="utf-8")
    last = text.rindex("</svg>")
    drawing.write_text(text[:last] + spots_layer() + text[last:], encoding="utf-8")
    picks = [(CUT,), (GRAIN,), (NOTCH,)]
    actions = {MOVE: "<Primary><Alt>m", "selection-hide": "<Primary><Shift><Alt>z"}

    def saved(hand: Hand) -> Any:
        return etree.fromstring(hand.session.save().encode("utf-8"))

    with hand_on(editor, drawing, picks, actions) as hand:
        hand.press("Escape", MOVE_KEY)
        assert len(layers(saved(hand))) == 1
        edit(hand)
        hand.press("Escape")
        before = saved(hand)
        hand.press(MOVE_KEY)
        after = saved(hand)
    assert len(layers(after)) == count
    if count == 2:
        (was,), (mine, _new) = layers(before), layers(after)
        assert etree.tostring(mine, with_tail=False) == etree.tostring(was, with_tail=False)
