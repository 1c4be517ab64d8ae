"""A drafter at the real editor: a drawing open, keys pressed, dialogs looked at, the file saved."""

from __future__ import annotations

import contextlib
import subprocess
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageGrab

from tests.help.editor.editor import RealEditor, children_of, end_group

START_S = 30.0
ANSWER_S = 15.0
_TITLE_BAR = 20


@dataclass
class Session:
    """An open editor.

    Attributes:
        editor: the editor, with its profile and its screen.
        drawing: the file that is open; saving writes it.
        process: the running program.
    """

    editor: RealEditor
    drawing: Path
    process: subprocess.Popen[bytes]

    def press(self, *keys: str) -> None:
        """Press keys, as xdotool names them, and wait until what they start is done."""
        for key in keys:
            self.xdotool("key", key)
            time.sleep(0.7)
            self.wait_idle()

    def save(self) -> str:
        """Save the drawing and return its text; of a drawing without changes the text it has."""
        before = self.drawing.stat().st_mtime_ns
        self.xdotool("key", "ctrl+s")
        with contextlib.suppress(TimeoutError):
            _until(lambda: self.drawing.stat().st_mtime_ns != before, 3.0)
            time.sleep(0.3)
        return self.drawing.read_text(encoding="utf-8")

    def quit(self) -> None:
        """Leave the editor by its own menu, upon which it keeps what it remembers."""
        self.xdotool("key", "ctrl+q")
        self.process.wait(timeout=ANSWER_S)

    def wait_idle(self) -> None:
        """Wait until no extension runs."""
        _until(lambda: not children_of(self.process.pid), ANSWER_S)
        time.sleep(0.3)

    def wait_window(self, title: str) -> str:
        """Wait for a window with a title and return its number."""
        found: list[str] = []

        def there() -> bool:
            found[:] = self.xdotool("search", "--onlyvisible", "--name", title).split()
            return bool(found)

        _until(there, ANSWER_S)
        return found[-1]

    def titles(self) -> list[str]:
        """Return the titles of the windows that are open."""
        numbers = self.xdotool("search", "--onlyvisible", "--name", ".").split()
        return [self.xdotool("getwindowname", number).strip() for number in numbers]

    def picture(self) -> Image.Image:
        """Return the whole screen."""
        return ImageGrab.grab(xdisplay=self.editor.display)

    def window_picture(self, number: str) -> Image.Image:
        """Return what the screen shows of one window and its title bar."""
        shape = dict(
            line.split("=", 1)
            for line in self.xdotool("getwindowgeometry", "--shell", number).splitlines()
            if "=" in line
        )
        x, y, width, height = (int(shape[key]) for key in ("X", "Y", "WIDTH", "HEIGHT"))
        # The place is given one title bar too low; the window's own one is to be in the picture.
        top = y - 2 * _TITLE_BAR
        return self.picture().crop((x - 1, top, x + width + 1, y - _TITLE_BAR + height))

    def xdotool(self, *arguments: str) -> str:
        """Run xdotool on the editor's screen and return what it says."""
        answer = subprocess.run(
            ["xdotool", *arguments],
            env=self.editor.variables,
            capture_output=True,
            text=True,
            timeout=ANSWER_S,
            check=False,
        )
        return answer.stdout


@contextlib.contextmanager
def session(
    editor: RealEditor,
    drawing: Path,
    keys: Mapping[str, str],
    variables: Mapping[str, str] | None = None,
) -> Iterator[Session]:
    """Open a drawing in the editor, with actions bound to keys, and close it without saving.

    Args:
        editor: the editor.
        drawing: the file to open.
        keys: actions such as ``dartswing.move.noprefs`` and their keys, as the editor's file of
            shortcuts names them.
        variables: environment variables that differ, such as the language.

    Yields:
        The session.
    """
    binds = "".join(
        f'<bind gaction="app.{action}" keys="{key.replace("<", "&lt;").replace(">", "&gt;")}"/>'
        for action, key in keys.items()
    )
    shortcuts = editor.profile / "keys" / "default.xml"
    shortcuts.parent.mkdir(parents=True, exist_ok=True)
    shortcuts.write_text(f'<keys name="tests">{binds}</keys>', encoding="utf-8")
    process = subprocess.Popen(
        ["inkscape", str(drawing)],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env={**editor.variables, **(variables or {})},
        start_new_session=True,
    )
    opened = Session(editor, drawing, process)
    try:
        find = ("search", "--onlyvisible", "--name", drawing.name)
        _until(lambda: bool(opened.xdotool(*find)), START_S)
        # The window is there before it listens to keys.
        time.sleep(2.0)
        opened.wait_idle()
        opened.xdotool("mousemove", "5", "5")
        yield opened
    finally:
        end_group(process)


def _until(done: Callable[[], bool], seconds: float) -> None:
    end = time.monotonic() + seconds
    while not done():
        if time.monotonic() > end:
            raise TimeoutError(f"the editor did not get there within {seconds:g} s")
        time.sleep(0.1)
