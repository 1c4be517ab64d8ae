"""A drafter at the real editor: a drawing open, keys pressed, dialogs looked at, the file saved."""

from __future__ import annotations

import contextlib
import subprocess
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageGrab

from tests.help.editor.editor import RealEditor, end_group
from tests.help.editor.waiting import CEILING_S, wait_idle, wait_until

_TITLE_BAR = 20
#: So many times the keys that save are pressed.
_TRIES = 3


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
            self.wait_idle()

    def type(self, text: str) -> None:
        """Type a text into the field that has the focus."""
        self.xdotool("type", text)
        self.wait_idle()

    def save(self) -> str:
        """Save the drawing and return its text; of a drawing without changes the text it has."""
        tries = 0
        while tries < _TRIES and any(title.startswith("*") for title in self.titles()):
            # A dialog that is just closing takes the keys for itself.
            self.press("ctrl+s")
            tries += 1
        if tries:
            self.wait_titles(f"{self.drawing.name} - Inkscape")
        return self.drawing.read_text(encoding="utf-8")

    def quit(self) -> None:
        """Leave the editor by its own menu, upon which it keeps what it remembers."""
        self.xdotool("key", "ctrl+q")
        self.process.wait(timeout=CEILING_S)

    def wait_idle(self) -> None:
        """Wait until the editor has done what it was asked for, and no extension runs."""
        wait_idle(self.process.pid, self.editor.screen.server)

    def wait_window(self, title: str) -> str:
        """Wait for a window with a title and return its number."""
        found: list[str] = []

        def there() -> bool:
            found[:] = self.xdotool("search", "--onlyvisible", "--name", title).split()
            return bool(found)

        wait_until(there, f"there is no window {title}")
        # It is there before it is drawn and listens.
        self.wait_idle()
        return found[-1]

    def wait_message(self) -> None:
        """Wait until a message stands in front: a window without a title."""
        wait_until(
            lambda: self.xdotool("getactivewindow", "getwindowname").isspace(),
            "there is no message",
        )
        self.wait_idle()

    def wait_titles(self, *titles: str) -> None:
        """Wait until the windows that are open have these titles, and no others.

        The editor puts a star before the title of a drawing that can be undone to what is saved.
        What is to show that nothing was changed shows it when the editor is idle.
        """
        self.wait_idle()
        with contextlib.suppress(TimeoutError):
            wait_until(lambda: self.titles() == list(titles), "other titles")
        assert self.titles() == list(titles)

    def titles(self) -> list[str]:
        """Return the titles of the windows that are open."""
        numbers = self.xdotool("search", "--onlyvisible", "--name", ".").split()
        return [self.xdotool("getwindowname", number).strip() for number in numbers]

    def picture(self) -> Image.Image:
        """Return the whole screen."""
        return ImageGrab.grab(xdisplay=self.editor.screen.display)

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
        return self.editor.xdotool(*arguments)


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
        editor.wait_open(drawing, process.pid)
        yield opened
    finally:
        end_group(process)
