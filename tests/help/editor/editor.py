"""The real editor on a virtual screen, for tests and for people who want to see a dialog.

``python -m tests.help.editor.editor DRAWING.svg dartswing.move PICTURE.png`` opens a drawing,
starts the command with its dialog, and takes a picture of the screen.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from extension.installing.install import package

TOOLS = ("inkscape", "Xvfb", "openbox", "xdotool")
START_S = 20.0

_SHORTCUT, _SHORTCUT_KEY = "&lt;Primary&gt;&lt;Shift&gt;F9", "ctrl+shift+F9"


class EditorStuckError(Exception):
    """The editor had to be ended: most likely a dialog was waiting for an answer."""


@dataclass(frozen=True)
class EditorRun:
    """What a run of the editor left.

    Attributes:
        status: exit status.
        stdout: standard output, without the editor's own chatter about its profile.
        stderr: standard error, likewise.
    """

    status: int
    stdout: str
    stderr: str


def missing_tools() -> list[str]:
    """Return the programs that tests in the editor need and that are not there."""
    return [tool for tool in TOOLS if not shutil.which(tool, path=_search_path())]


@dataclass(frozen=True)
class RealEditor:
    """An editor with a profile of its own on a screen of its own.

    Attributes:
        display: the X display, such as ``:7``.
        profile: the editor's profile folder; extensions are in ``profile/extensions``.
    """

    display: str
    profile: Path

    @property
    def variables(self) -> dict[str, str]:
        """The environment variables to start the editor with."""
        keep = {
            name: value
            for name, value in os.environ.items()
            if not name.startswith(("PYTHON", "INKSCAPE", "INKEX", "VIRTUAL_ENV", "WAYLAND"))
        }
        return keep | {
            "DISPLAY": self.display,
            "INKSCAPE_PROFILE_DIR": str(self.profile),
            "PATH": _search_path(),
            "GDK_BACKEND": "x11",
            "NO_AT_BRIDGE": "1",
            # Apart from the editor that a developer may have open, and from its recent files.
            "DBUS_SESSION_BUS_ADDRESS": "disabled:",
            "XDG_DATA_HOME": str(self.profile / "data"),
        }

    def run_action(
        self,
        drawing: Path,
        action: str,
        out: Path,
        *,
        select: Sequence[str] = (),
        timeout: float = 60.0,
        dismiss: bool = False,
    ) -> EditorRun:
        """Open a drawing, run one action on it and save the outcome.

        Args:
            drawing: the SVG file to open; it is not changed.
            action: the action's name; an extension's id plus ``.noprefs`` runs it at once with
                the settings that the profile remembers, at first the defaults.
            out: the SVG file to save.
            select: the ids of the objects to select beforehand.
            timeout: seconds after which the editor and all that it started are ended.
            dismiss: close dialogs that wait for an answer, as a drafter would by Escape.

        Raises:
            EditorStuckError: the time was up.
        """
        steps = [f"select-by-id:{','.join(select)}"] if select else []
        steps += [action, f"export-filename:{out}", "export-do"]
        command = ["inkscape", "--batch-process", str(drawing), f"--actions={';'.join(steps)}"]
        with tempfile.TemporaryFile("w+") as said, tempfile.TemporaryFile("w+") as complained:
            started = subprocess.Popen(
                command,
                stdin=subprocess.DEVNULL,
                stdout=said,
                stderr=complained,
                env=self.variables,
                start_new_session=True,
            )
            try:
                self._wait(started, timeout, dismiss=dismiss)
            finally:
                end_group(started)
            said.seek(0)
            complained.seek(0)
            return EditorRun(
                started.returncode,
                _without_chatter(said.read()),
                _without_chatter(complained.read()),
            )

    def picture_dialog(
        self, drawing: Path, action: str, picture: Path, wait: float = 6.0, keys: str = ""
    ) -> None:
        """Take a picture of the screen after an action, such as a command with its dialog.

        Args:
            drawing: the SVG file to open.
            action: the action's name; an extension's id alone opens its dialog.
            picture: the PNG file to write.
            wait: seconds until the editor is up.
            keys: keys to press in the dialog, with blanks between, as xdotool names them.
        """
        # Asked for on the command line the dialog would close again at once.
        shortcuts = self.profile / "keys" / "default.xml"
        shortcuts.parent.mkdir(parents=True, exist_ok=True)
        shortcuts.write_text(
            f'<keys name="one"><bind gaction="app.{action}" keys="{_SHORTCUT}"/></keys>',
            encoding="utf-8",
        )
        started = subprocess.Popen(
            ["inkscape", str(drawing)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env=self.variables,
            start_new_session=True,
        )
        try:
            time.sleep(wait)
            self._xdotool("mousemove", "5", "5")  # where it calls up no tooltip
            for key in [_SHORTCUT_KEY, *keys.split()]:
                self._xdotool("key", key)
                time.sleep(1.0)
            self.screenshot(picture)
        finally:
            end_group(started)

    def screenshot(self, picture: Path) -> None:
        """Take a picture of the whole screen (needs ImageMagick's ``import``)."""
        subprocess.run(
            ["import", "-window", "root", str(picture)],
            env=self.variables,
            timeout=START_S,
            check=True,
        )

    def _wait(self, started: subprocess.Popen[bytes], timeout: float, *, dismiss: bool) -> None:
        end = time.monotonic() + timeout
        idle_since = time.monotonic()
        while started.poll() is None:
            if time.monotonic() > end:
                raise EditorStuckError(f"the editor did not end within {timeout:g} s")
            time.sleep(0.1)
            if children_of(started.pid) or not self._dialog_is_open():
                idle_since = time.monotonic()
            elif dismiss and time.monotonic() - idle_since > 1.0:
                # A key of the real keyboard: the editor ignores keys sent to a window.
                self._xdotool("key", "Escape")
                idle_since = time.monotonic()

    def _dialog_is_open(self) -> bool:
        """Tell whether the window in front is a dialog: the editor's drawings have titles."""
        title = self._xdotool("getactivewindow", "getwindowname")
        return title is not None and not title.strip()

    def _xdotool(self, *arguments: str) -> str | None:
        answer = subprocess.run(
            ["xdotool", *arguments],
            env=self.variables,
            capture_output=True,
            text=True,
            timeout=START_S,
            check=False,
        )
        return None if answer.returncode else answer.stdout


@contextlib.contextmanager
def virtual_screen() -> Iterator[str]:
    """Start a virtual screen with a window manager on a free display, and end both after.

    Yields:
        The display, such as ``:7``.
    """
    readable, writable = os.pipe()
    screen = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writable), "-screen", "0", "1280x1024x24", "-nolisten", "tcp"],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        pass_fds=[writable],
        env=os.environ | {"PATH": _search_path()},
        start_new_session=True,
    )
    os.close(writable)
    manager: subprocess.Popen[bytes] | None = None
    try:
        with os.fdopen(readable) as answer:
            number = answer.readline().strip()
        if not number:
            raise RuntimeError("the virtual screen did not start")
        display = f":{number}"
        manager = subprocess.Popen(
            ["openbox", "--sm-disable"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env=os.environ | {"DISPLAY": display, "PATH": _search_path()},
            start_new_session=True,
        )
        _wait_until(lambda: _manager_runs(display), "the window manager did not start")
        yield display
    finally:
        for process in (manager, screen):
            if process is not None:
                end_group(process)


def unpack_package(profile: Path) -> None:
    """Put the extension into a profile as a user does by hand: pack it, unpack the zip."""
    extensions = profile / "extensions"
    extensions.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as workshop,
        zipfile.ZipFile(package(Path(workshop, "dartswing.zip"))) as pack,
    ):
        pack.extractall(extensions)


def path_numbers(path_data: str) -> tuple[list[str], list[float]]:
    """Split path data into its command letters and its numbers."""
    letters = re.findall(r"[MmLlHhVvCcSsQqTtAaZz]", path_data)
    numbers = re.findall(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", path_data)
    return letters, [float(number) for number in numbers]


def _search_path() -> str:
    # The system's own folder first: the editor's Python is to be the one that it shipped with.
    return os.pathsep.join(["/usr/bin", os.environ.get("PATH", os.defpath)])


def _manager_runs(display: str) -> bool:
    answer = subprocess.run(
        ["xdotool", "get_num_desktops"],
        env=os.environ | {"DISPLAY": display, "PATH": _search_path()},
        capture_output=True,
        timeout=START_S,
        check=False,
    )
    return answer.returncode == 0


def _wait_until(done: Callable[[], bool], complaint: str) -> None:
    end = time.monotonic() + START_S
    while not done():
        if time.monotonic() > end:
            raise RuntimeError(complaint)
        time.sleep(0.1)


def children_of(pid: int) -> bool:
    """Tell whether a process has started others that still run."""
    children = Path(f"/proc/{pid}/task/{pid}/children")
    try:
        return bool(children.read_text().strip())
    except OSError:
        return False


def end_group(process: subprocess.Popen[bytes]) -> None:
    """End a process and all that it started: it leads a group of its own."""
    for signal_number in (signal.SIGTERM, signal.SIGKILL):
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal_number)
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(timeout=3)
            return


def _without_chatter(text: str) -> str:
    """Drop the editor's own remarks (GTK warnings, files of its profile), keep all else."""
    chatter = re.compile(r"^\s*$|^\*\* ?\(|^\(\S+:\d+\): |WARNING \*\*|^\*\* Message")
    return "\n".join(line for line in text.splitlines() if not chatter.search(line))


def _picture(drawing: str, action: str, picture: str, *keys: str) -> None:
    with tempfile.TemporaryDirectory() as profile, virtual_screen() as display:
        unpack_package(Path(profile))
        editor = RealEditor(display, Path(profile))
        editor.picture_dialog(Path(drawing), action, Path(picture), keys=" ".join(keys))


if __name__ == "__main__":
    _picture(*sys.argv[1:])
