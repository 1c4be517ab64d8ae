"""Every command in whatever editor there is: results as the terminal's, dialogs that open whole.

``.ci/editors`` runs these in the editors of other systems than this one.
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import pytest
from lxml import etree

from tests.extension.commands.test_editor import on_the_command_line
from tests.help.blocks.drawings import circle, marked_front, page
from tests.help.editor.dialogs import DIALOGS, open_dialog
from tests.help.editor.editor import RealEditor, Screen, unpack_package
from tests.help.editor.editor_session import session
from tests.help.editor.effects import run_effect

#: Each of them takes seconds.
pytestmark = pytest.mark.thorough

ROOT = Path(__file__).parents[3]
SAMPLES = ROOT / "sample_svgs"
FRONT = SAMPLES / "front_one_path.svg"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
KEY, BINDING = "ctrl+alt+b", "<Primary><Alt>b"
#: What the editor adds, or puts elsewhere, when it opens a drawing.
_UNDRAWN = ("defs", "metadata", "title")
#: Where pictures of the dialogs are to be kept; else they go where tests leave their files.
PICTURES = "DARTSWING_DIALOG_PICTURES"


class Action(NamedTuple):
    """A command with something to do.

    Attributes:
        drawing: the sample that it works on, or the text of a drawing.
        first: what the terminal does to the sample beforehand.
        select: the ids of what is selected.
        more: what the terminal has to be told, which the dialog says by itself.
        is_same_elsewhere: whether another Python gives the same digits: not where many numbers
            are added up, nor where numpy's last digits decide when a fit is good enough.
    """

    drawing: Path | str
    first: Sequence[str] = ()
    select: Sequence[str] = ()
    more: Sequence[str] = ()
    is_same_elsewhere: bool = True


_TWO_PLACES = page(marked_front(more=circle("target", 125, 20)))
_PLAIN = page(re.sub(r"<circle[^>]*>", "", marked_front()).replace("outline", "front"))
_MOVED = ("move",)
ACTIONS = {
    "dartswing.move": Action(FRONT),
    "dartswing.allow": Action(FRONT, _MOVED),
    "dartswing.mark-block": Action(_PLAIN, select=["block"]),
    "dartswing.mark": Action(_PLAIN, select=["block"], more=["--role", "outline"]),
    "dartswing.clean": Action(SAMPLES / "scanned_front.svg", is_same_elsewhere=False),
    "dartswing.paper": Action(FRONT, _MOVED, is_same_elsewhere=False),
    "dartswing.sew-notes": Action(FRONT, _MOVED, is_same_elsewhere=False),
    "dartswing.compare": Action(_TWO_PLACES),
    "dartswing.balance": Action(SAMPLES / "front_and_back_mates.svg"),
}
#: At the terminal this one writes no drawing; this one needs none.
_TOLD, _OF_THE_MACHINE = "dartswing.balance", "dartswing.doctor"


@pytest.fixture
def pictures(tmp_path: Path) -> Path:
    return Path(os.environ.get(PICTURES) or tmp_path)


def prepared(action: Action, folder: Path) -> Path:
    """Write the drawing that a command is given."""
    drawing = folder / "drawing.svg"
    text = action.drawing if isinstance(action.drawing, str) else action.drawing.read_text("utf-8")
    drawing.write_text(text, encoding="utf-8")
    if action.first:
        answer = on_the_command_line(*action.first, str(drawing), "-o", str(drawing))
        assert answer.returncode == 0, answer.stderr
    return drawing


def shapes(drawing: Path) -> list[tuple[str, ...]]:
    """Return all that is drawn, in its order and to the last digit, ids aside."""
    shown = ("d", "x", "y", "cx", "cy", "r", "width", "height", "points", "transform", LABEL)
    found = []
    for element in etree.parse(str(drawing)).getroot().iterdescendants(etree.Element):
        name = etree.QName(element)
        if name.namespace == "http://www.w3.org/2000/svg" and name.localname not in _UNDRAWN:
            of_element = [f"{key}={element.get(key)}" for key in shown if element.get(key)]
            found.append((name.localname, *of_element, (element.text or "").strip()))
    return found


def differing(
    one: list[tuple[str, ...]], other: list[tuple[str, ...]]
) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    """Return the first few shapes that differ: a test that fails is to be read."""
    assert len(one) == len(other)
    return [pair for pair in zip(one, other, strict=True) if pair[0] != pair[1]][:3]


def test_every_command_of_the_menu_is_tried() -> None:
    assert {*ACTIONS, _OF_THE_MACHINE} == set(DIALOGS)


@pytest.mark.parametrize("name", sorted(ACTIONS))
def test_the_editor_draws_what_the_terminal_draws_to_the_last_digit(
    editor: RealEditor, tmp_path: Path, name: str
) -> None:
    action, command = ACTIONS[name], name.removeprefix("dartswing.")
    drawing = prepared(action, tmp_path)
    in_editor = tmp_path / "in editor.svg"
    run = editor.run_action(drawing, f"{name}.noprefs", in_editor, select=action.select)
    assert (run.status, run.stderr) == (0, "")
    drawn, before = shapes(in_editor), shapes(drawing)
    assert drawn != before
    if name == _TOLD:
        in_dialog = tmp_path / "in dialog.svg"
        in_dialog.write_text(run_effect(command, drawing).document, encoding="utf-8")
        assert drawn == shapes(in_dialog)
        return
    selected = [word for one in action.select for word in ("--select", one)]
    arguments = (command, str(drawing), *action.more, *selected, "-o")
    there, here = tmp_path / "its terminal.svg", tmp_path / "this terminal.svg"
    told = editor.terminal(*arguments, str(there))
    assert told.status == 0, told.stderr
    assert differing(drawn, shapes(there)) == []
    if action.is_same_elsewhere:
        answer = on_the_command_line(*arguments, str(here))
        assert answer.returncode == 0, answer.stderr
        assert differing(drawn, shapes(here)) == []


@pytest.mark.parametrize("name", sorted(name for name, dialog in DIALOGS.items() if dialog.opens))
def test_every_tab_of_every_dialog_is_shown_whole(
    screen: Screen, packed: Path, tmp_path: Path, pictures: Path, name: str
) -> None:
    # Nothing is remembered: the first tab comes first.
    profile = tmp_path / "profile"
    unpack_package(profile, packed)
    dialog = DIALOGS[name]
    drawing = prepared(ACTIONS[name], tmp_path)
    seen = []
    with session(RealEditor(screen, profile), drawing, {name: BINDING}) as opened:
        window = open_dialog(opened, dialog, KEY)
        opened.press("Tab")
        for number, _tab in enumerate(dialog.tabs, start=1):
            picture = opened.window_picture(window).convert("RGB")
            picture.save(pictures / f"{name} {number}.png")
            # All of it is on the screen.
            assert min(picture.size) > 300
            assert picture.height < opened.picture().height
            # The tab's own picture: a broad field of white in any theme.
            seen.append(picture.tobytes())
            assert sum(value > 250 for value in picture.convert("L").tobytes()) > 20_000
            opened.press("ctrl+Page_Down")
        opened.press("Escape")
        opened.wait_titles(f"{drawing.name} - Inkscape")
    assert len(set(seen)) == len(dialog.tabs) > 1


def test_what_the_installation_is_like_is_told_in_a_window(
    screen: Screen, packed: Path, tmp_path: Path, pictures: Path
) -> None:
    # A profile of its own: what others share has no keys.
    profile = tmp_path / "profile"
    unpack_package(profile, packed)
    drawing = prepared(ACTIONS["dartswing.move"], tmp_path)
    with session(RealEditor(screen, profile), drawing, {_OF_THE_MACHINE: BINDING}) as opened:
        opened.press(KEY)
        opened.wait_message()
        opened.picture().save(pictures / f"{_OF_THE_MACHINE}.png")
        opened.press("Escape")
        opened.wait_titles(f"{drawing.name} - Inkscape")
