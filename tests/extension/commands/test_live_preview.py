"""Typing with the live preview on, at any pace: no window, and the word arrives whole."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from lxml import etree

from tests.extension.commands.test_editor import LABEL, on_the_command_line, result_layers
from tests.help.editor.dialogs import DIALOGS, open_dialog, previewed_field, type_slowly
from tests.help.editor.editor import RealEditor, Screen, unpack_package
from tests.help.editor.editor_session import Session, session
from tests.help.editor.effects import run_effect
from tests.help.editor.waiting import wait_until

ROOT = Path(__file__).parents[3]
SAMPLE = ROOT / "sample_svgs" / "front_one_path.svg"
PLACE = "side seam:0.35"
KEY, BINDING = "ctrl+alt+b", "<Primary><Alt>b"
CHANGED, SAVED = "*front.svg - Inkscape", "front.svg - Inkscape"


@pytest.fixture
def fresh(screen: Screen, packed: Path, tmp_path: Path) -> RealEditor:
    """An editor whose dialogs remember nothing."""
    profile = tmp_path / "profile"
    unpack_package(profile, packed)
    return RealEditor(screen, profile)


@contextlib.contextmanager
def typed(
    editor: RealEditor, drawing: Path, command: str, field: str, text: str, pace_ms: int
) -> Iterator[Session]:
    """Type a text into a field of a dialog with the preview on, and see that nothing opened."""
    dialog = DIALOGS[f"dartswing.{command}"]
    with session(editor, drawing, {dialog.action: BINDING}) as opened:
        window = open_dialog(opened, dialog, KEY)
        before = canvas(opened)
        previewed_field(opened, dialog, window, field)
        type_slowly(opened, text, pace_ms)
        wait_until(lambda: bool((canvas(opened) != before).any()), "nothing was previewed")
        opened.wait_idle()
        # While it only previews, one editor says that the drawing was changed and another not.
        assert [title.lstrip("*") for title in opened.titles()] == [SAVED, dialog.title]
        yield opened


def canvas(opened: Session) -> np.ndarray:
    """Return what is seen of the drawing beside the dialog."""
    return np.asarray(opened.picture().convert("RGB"))[160:880, 60:760].astype(int)


def applied(opened: Session, title: str) -> str:
    """Apply, close the dialog, save, and leave the editor, which then writes what it remembers."""
    opened.press("alt+a")
    opened.wait_titles(CHANGED, title)
    opened.press("Escape")
    opened.wait_titles(CHANGED)
    saved = opened.save()
    opened.quit()
    return saved


def remembered(editor: RealEditor, command: str, field: str) -> str:
    """Return what the editor remembers of a field: what arrived in it."""
    root = etree.parse(str(editor.profile / "preferences.xml")).getroot()
    (found,) = root.xpath(
        "//group[@id='extensions']/@*[name()=$name]", name=f"dartswing.{command}.{field}"
    )
    return str(found)


def lines(drawing: Path) -> list[str]:
    """Return the path data of all results in a drawing."""
    return [str(e.get("d")) for layer in result_layers(drawing) for e in layer.iter() if e.get("d")]


def noted(text: str) -> list[str]:
    """Return all that is said on the canvas by *Check here*."""
    return [
        " ".join(" ".join(element.itertext()).split())
        for layer in etree.fromstring(text.encode("utf-8"))
        if layer.get(LABEL) == "Check here"
        for element in layer.iter("{http://www.w3.org/2000/svg}text")
    ]


def by_the_terminal(drawing: Path, command: str, *words: str) -> list[str]:
    out = drawing.with_name("by the terminal.svg")
    answer = on_the_command_line(command, str(SAMPLE), *words, "-o", str(out))
    assert answer.returncode == 0, answer.stderr
    return lines(out)


@pytest.mark.thorough
@pytest.mark.parametrize("pace_ms", [150, 400, 600, 1000])
def test_a_place_typed_at_any_pace_arrives_whole(
    fresh: RealEditor, tmp_path: Path, pace_ms: int
) -> None:
    drawing = Path(shutil.copy(SAMPLE, tmp_path / "front.svg"))
    with typed(fresh, drawing, "move", "to", PLACE, pace_ms) as opened:
        saved = applied(opened, "Move dart")
    assert remembered(fresh, "move", "to") == PLACE
    # No note of a word that was not whole; that the sample's own target is not used is shown.
    looks = noted(run_effect("move", SAMPLE, f"--to={PLACE}").document)
    assert noted(saved) == looks
    assert len(looks) == 1
    assert "it was not used" in looks[0]
    assert lines(drawing) == by_the_terminal(drawing, "move", "--to", PLACE) != []


#: Fields for lengths, and what is typed there.
LENGTHS = [
    ("move", "clearance", "1 1/4in"),
    ("move", "allowance", "16mm, hem=40mm turned"),
    ("move", "tuck_length", "50mm"),
    ("allow", "clearance", "12.7mm"),
    ("allow", "allowance", "16mm, waist=25mm"),
]


@pytest.mark.thorough
@pytest.mark.parametrize(("command", "field", "text"), LENGTHS)
def test_a_length_typed_letter_by_letter_arrives_whole(
    fresh: RealEditor, tmp_path: Path, command: str, field: str, text: str
) -> None:
    drawing = Path(shutil.copy(SAMPLE, tmp_path / "front.svg"))
    with typed(fresh, drawing, command, field, text, 200) as opened:
        saved = applied(opened, DIALOGS[f"dartswing.{command}"].title)
    assert remembered(fresh, command, field) == text
    assert noted(saved) == []
    option = f"--{field.replace('_', '-')}"
    assert lines(drawing) == by_the_terminal(drawing, command, option, text) != []


@pytest.mark.parametrize(
    ("command", "field", "text", "more"),
    [
        *((*row, ()) for row in LENGTHS),
        ("move", "to", PLACE, ()),
        pytest.param(
            *("move", "to", "side seam:80mm=20mm; neckline/centre front", ()),
            marks=pytest.mark.thorough,
        ),
        ("move", "intake", "12.5mm", ("--target=seam", "--seam=armhole")),
        ("move", "clearance", "30mm", ("--seam=side seam", "--along=120", "--along_as=length")),
        ("move", "gather_over", "120mm", ("--seam=armhole", "--as=ease", "--share=0.1")),
        pytest.param(
            *("compare", "to", "neckline:40%; side seam:80mm; waist", ()),
            marks=pytest.mark.thorough,
        ),
    ],
)
def test_no_beginning_of_a_text_opens_a_window(
    command: str, field: str, text: str, more: tuple[str, ...]
) -> None:
    for end in range(1, len(text) + 1):
        answer = run_effect(command, SAMPLE, *more, f"--{field}={text[:end]}")
        assert (answer.status, answer.said) == (0, ""), text[:end]
    assert "dartswing:result" in answer.document or command == "compare"


def is_noted(opened: Session) -> bool:
    """Tell whether there are words in the colour of a note, which nothing else there has."""
    picture = canvas(opened)
    return int((picture[..., 0] - picture[..., 2] > 30).sum()) > 20


@pytest.mark.thorough
@pytest.mark.parametrize("pace_ms", [150, 600])
def test_notes_come_and_go_with_the_letters_and_never_pile_up(
    fresh: RealEditor, tmp_path: Path, pace_ms: int
) -> None:
    drawing = Path(shutil.copy(SAMPLE, tmp_path / "front.svg"))
    with typed(fresh, drawing, "move", "to", "side sea", pace_ms) as opened:
        wait_until(lambda: is_noted(opened), "the note is not on the canvas")
        # Nothing of a result, and one note, whatever stood there before.
        opened.press("alt+a")
        opened.press("Escape")
        saved = opened.save()
        opened.quit()
    layers = [layer.get(LABEL) for layer in etree.fromstring(saved.encode("utf-8"))]
    assert layers.count("Check here") == 1
    assert result_layers(drawing) == []


@pytest.mark.thorough
def test_closing_takes_the_preview_and_its_note_away(fresh: RealEditor, tmp_path: Path) -> None:
    drawing = Path(shutil.copy(SAMPLE, tmp_path / "front.svg"))
    with typed(fresh, drawing, "move", "to", "side se", 400) as opened:
        wait_until(lambda: is_noted(opened), "the note is not on the canvas")
        opened.press("Escape")
        wait_until(lambda: not is_noted(opened), "the note stays")
        saved = opened.save()
    assert noted(saved) == []
    assert result_layers(drawing) == []
