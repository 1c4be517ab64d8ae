"""From an unmarked drawing to a result with a place picked: clicks counted, nothing typed."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from lxml import etree

from extension.commands.command_line import main
from tests.conftest import require
from tests.help.blocks.samples import SAMPLES
from tests.help.contract.contract_model import NS, SVG
from tests.help.editor.editor import RealEditor, Screen, unpack_package
from tests.help.editor.editor_session import Session, session
from tests.help.editor.waiting import wait_until
from tests.help.editor.words_on_screen import place_of_words

pytestmark = pytest.mark.thorough

SAMPLE = next(path for path in SAMPLES if path.stem == "front_one_path")
#: What a drafter puts up with.
MOST_CLICKS = 6


class Mouse:
    """A mouse that clicks at words, and counts."""

    def __init__(self, opened: Session) -> None:
        self._session = opened
        self.clicks = 0

    def click(self, *words: str) -> None:
        found: list[complex] = []

        def there() -> bool:
            place = place_of_words(self._session.picture(), *words)
            found[:] = [] if place is None else [place]
            return bool(found)

        wait_until(there, f"{' '.join(words)} is not on the screen")
        z = found[0]
        self._session.xdotool("mousemove", f"{z.real:.0f}", f"{z.imag:.0f}")
        self._session.wait_idle()
        self._session.xdotool("click", "1")
        self.clicks += 1
        self._session.wait_idle()


def unmarked(to: Path) -> Path:
    """The sample's lines as they may be drawn, without a mark or a label."""
    text = re.sub(r' (inkscape:label|dartswing:[a-z-]+)="[^"]*"', "", SAMPLE.read_text("utf-8"))
    root = etree.fromstring(text.encode())
    for element in list(root.iter(f"{SVG}circle", f"{SVG}text")):
        element.getparent().remove(element)
    to.write_bytes(etree.tostring(root))
    return to


def cut_line(file: Path) -> str:
    (found,) = [e for e in etree.parse(str(file)).iter() if e.get(NS + "part") == "cut-line"]
    return str(found.get("d"))


def test_six_clicks_and_no_typing(screen: Screen, packed: Path, tmp_path: Path) -> None:
    require(*[tool for tool in ("tesseract",) if not shutil.which(tool)])
    profile = tmp_path / "profile"
    profile.mkdir()
    unpack_package(profile, packed)
    drawing = unmarked(tmp_path / "front.svg")
    terminal = tmp_path / "terminal.svg"
    assert main(["move", str(drawing), "-o", str(terminal), "--seam", "armhole"]) == 0
    with session(RealEditor(screen, profile), drawing, {}) as opened:
        mouse = Mouse(opened)
        mouse.click("Extensions")
        mouse.click("Dartswing")
        mouse.click("Move", "dart")
        opened.wait_window("^Move dart$")
        mouse.click("none", "is", "picked")
        mouse.click("armhole")
        mouse.click("Apply")
        opened.wait_titles("*front.svg - Inkscape", "Move dart")
        opened.press("Escape")
        opened.save()
    assert mouse.clicks <= MOST_CLICKS
    assert cut_line(drawing) == cut_line(terminal)
