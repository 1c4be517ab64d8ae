"""Every command at the real editor, as a drafter meets it: menu names, dialogs, undo, repeating."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from PIL import Image, ImageOps

from tests.conftest import require
from tests.help.editor.editor import RealEditor, Screen, unpack_package
from tests.help.editor.editor_session import session
from tests.help.texts.catalogues import LANGUAGES, read_catalogue

#: Each of them takes seconds.
pytestmark = pytest.mark.thorough

ROOT = Path(__file__).parents[3]
SAMPLE = ROOT / "sample_svgs" / "front_one_path.svg"
INX = "{http://www.inkscape.org/namespace/inkscape/extension}"
DIALOGS = {
    str(root.findtext(f"{INX}id")): root
    for root in (etree.parse(str(file)).getroot() for file in sorted(ROOT.glob("extension/*.inx")))
}
WITH_TABS = sorted(name for name, root in DIALOGS.items() if root.find(f".//{INX}page") is not None)
LETTERS = "abcdefghijklmnopqrstuvwxyz"
#: A key for every command: its dialog, or the command itself where it has none.
KEYS = {name: f"<Primary><Alt>{LETTERS[i]}" for i, name in enumerate(sorted(DIALOGS))}
#: The same run at once, with the settings that are remembered.
AT_ONCE = {
    f"{name}.noprefs": f"<Primary><Shift><Alt>{LETTERS[i]}"
    for i, name in enumerate(sorted(DIALOGS))
}


def key(name: str) -> str:
    """Return the key of a command as xdotool names it."""
    text = (KEYS | AT_ONCE)[name]
    return text.replace("<Primary>", "ctrl+").replace("<Shift>", "shift+").replace("<Alt>", "alt+")


@pytest.fixture(scope="module")
def profile(screen: Screen, packed: Path, tmp_path_factory: pytest.TempPathFactory) -> RealEditor:
    """An editor with a profile of its own: what one test remembers, the next one finds."""
    require(*[tool for tool in ("tesseract",) if not shutil.which(tool)])
    folder = tmp_path_factory.mktemp("drafter") / "Größe und Maß"
    unpack_package(folder, packed)
    return RealEditor(screen, folder)


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    return Path(shutil.copy(SAMPLE, tmp_path / "front.svg"))


def words(picture: Image.Image, language: str = "eng") -> str:
    """Return what can be read in a picture of a window, light on dark or dark on light."""
    large = ImageOps.autocontrast(picture.convert("L"))
    if sum(large.histogram()[:128]) > sum(large.histogram()[128:]):
        large = ImageOps.invert(large)
    large = large.resize((large.width * 3, large.height * 3))
    large.save(folder := Path(picture.info["file"]).with_suffix(".large.png"))
    answer = subprocess.run(
        ["tesseract", str(folder), "-", "--psm", "6", "-l", language],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    return " ".join(answer.stdout.split())


def kept(picture: Image.Image, file: Path) -> Image.Image:
    picture.save(file)
    picture.info["file"] = str(file)
    return picture


def tabs(root: Any) -> list[str]:
    return [str(page.get("gui-text")) for page in root.iter(f"{INX}page")]


def test_every_dialog_opens_with_all_its_tabs(
    profile: RealEditor, drawing: Path, tmp_path: Path
) -> None:
    assert len(WITH_TABS) >= 3
    with session(profile, drawing, KEYS) as opened:
        for name in WITH_TABS:
            title = str(DIALOGS[name].findtext(f"{INX}name"))
            opened.press(key(name))
            window = opened.wait_window(f"^{title}$")
            picture = kept(opened.window_picture(window), tmp_path / f"{name}.png")
            assert min(picture.size) > 300
            assert len(picture.convert("L").getcolors() or []) > 30, "an empty window"
            read = words(picture)
            for tab in tabs(DIALOGS[name]):
                assert tab in read, read
            # The picture of the first tab: a broad white field on any theme.
            assert sum(1 for value in picture.convert("L").tobytes() if value > 250) > 30_000
            opened.press("Escape")
            # Nothing was changed.
            opened.wait_titles("front.svg - Inkscape")
        assert opened.drawing.read_bytes() == SAMPLE.read_bytes()
    log = profile.profile / "extension-errors.log"
    assert "dartswing" not in (log.read_text(encoding="utf-8") if log.exists() else "").casefold()


def test_one_undo_takes_a_whole_command_back_and_the_key_repeats_it(
    profile: RealEditor, drawing: Path
) -> None:
    with session(profile, drawing, AT_ONCE) as opened:
        for name in ("dartswing.move", "dartswing.allow"):
            opened.wait_titles("front.svg - Inkscape")
            opened.press(key(f"{name}.noprefs"))
            opened.wait_titles("*front.svg - Inkscape")
            # One step is all the way back.
            opened.press("ctrl+z")
            opened.wait_titles("front.svg - Inkscape")
        # The editor's "previous extension" runs the last one again.
        opened.press("alt+q")
        opened.wait_titles("*front.svg - Inkscape")
        opened.press("alt+q")
        saved = opened.save()
    # The second run finds the first one's result and draws it anew, in place.
    assert saved.count('dartswing:result="1"') == 1
    assert 'inkscape:label="Seam allowances, Lamplighter front"' in saved


@pytest.mark.parametrize("name", ["dartswing.doctor", "dartswing.balance"])
def test_a_command_that_changes_nothing_adds_no_step(
    name: str, profile: RealEditor, drawing: Path
) -> None:
    # Without mates there is nothing to compare: a message, and the drawing as it was.
    with session(profile, drawing, AT_ONCE) as opened:
        opened.press(key(f"{name}.noprefs"))
        opened.wait_message()
        opened.press("Escape")
        # No star: nothing to undo.
        opened.wait_titles("front.svg - Inkscape")


def test_what_was_set_is_remembered(profile: RealEditor, drawing: Path) -> None:
    preferences = profile.profile / "preferences.xml"
    with session(profile, drawing, KEYS) as opened:
        opened.press(key("dartswing.move"))
        opened.wait_window("^Move dart$")
        # First the row of tabs, then what stands on the tab: five fields, and "In words".
        opened.press(*["Tab"] * 7)
        opened.type("waist")
        opened.press("alt+a")
        opened.wait_titles("*front.svg - Inkscape", "Move dart")
        opened.press("Escape")
        assert 'inkscape:label="Dart at waist ' in opened.save()
        opened.quit()
    assert 'dartswing.move.to="waist"' in preferences.read_text(encoding="utf-8")


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_editors_language_picks_the_catalogue(
    language: str, profile: RealEditor, drawing: Path, tmp_path: Path
) -> None:
    translated = {
        message.id: message.string
        for message in read_catalogue(language)
        if isinstance(message.id, str)
    }
    title = translated["Move dart"]
    assert title not in ("", "Move dart")
    with session(profile, drawing, KEYS | AT_ONCE, {"LANGUAGE": language}) as opened:
        opened.press(key("dartswing.move"))
        picture = kept(
            opened.window_picture(opened.wait_window(f"^{title}$")), tmp_path / "dialog.png"
        )
        read = words(picture)
        plain = [str(translated[tab]) for tab in tabs(DIALOGS["dartswing.move"])]
        assert all(tab in read for tab in plain if tab.isascii()), read
        opened.press("Escape")
        opened.press(key("dartswing.move.noprefs"))
        opened.wait_titles("*front.svg - Inkscape")
        saved = opened.save()
    # What was done is told in that language too, beside the piece.
    reminder = "Measure the 50 mm square before cutting, and sew a trial in cheap cloth first."
    assert str(translated[reminder]).split(",")[0][:20] in saved
    assert reminder[:20] not in saved
