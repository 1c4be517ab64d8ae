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
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from PIL import ImageGrab

from extension.installing.install import package
from tests.help.editor.waiting import CEILING_S, is_idle, wait_idle, wait_until

TOOLS = ("inkscape", "Xvfb", "openbox", "xdotool", "xprop")
#: Names a folder with other programs of these names, such as those that ``.ci/editors`` makes.
OTHER_PROGRAMS = "DARTSWING_EDITOR_PROGRAMS"

#: So many times in a row a dialog has to be seen before it is taken for one that stays.
_LOOKS_AT_DIALOG = 5
#: And so many times before a run is given up: some editors open one for a while by themselves.
_LOOKS_AT_STUCK = 60
_SHORTCUT, _SHORTCUT_KEY = "&lt;Primary&gt;&lt;Shift&gt;F9", "ctrl+shift+F9"


class EditorStuckError(Exception):
    """The editor had to be ended: a dialog was waiting for an answer."""


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


class Screen(NamedTuple):
    """A virtual screen: its X display, such as ``:7``, and the process number of its server."""

    display: str
    server: int


@dataclass(frozen=True)
class RealEditor:
    """An editor with a profile of its own on a screen of its own.

    Attributes:
        screen: the screen.
        profile: the editor's profile folder; extensions are in ``profile/extensions``.
    """

    screen: Screen
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
            "DISPLAY": self.screen.display,
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
        dismiss: bool = False,
    ) -> EditorRun:
        """Open a drawing, run one action on it and save the outcome.

        Args:
            drawing: the SVG file to open; it is not changed.
            action: the action's name; an extension's id plus ``.noprefs`` runs it at once with
                the settings that the profile remembers, at first the defaults.
            out: the SVG file to save.
            select: the ids of the objects to select beforehand.
            dismiss: close dialogs that wait for an answer, as a drafter would by Escape.

        Raises:
            EditorStuckError: a dialog waited for an answer, and was not to be dismissed.
            TimeoutError: the editor did not come to an end.
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
                self._wait(started, dismiss=dismiss)
            finally:
                end_group(started)
            said.seek(0)
            complained.seek(0)
            return EditorRun(
                started.returncode,
                _without_chatter(said.read()),
                _without_chatter(complained.read()),
            )

    def terminal(self, *arguments: str) -> EditorRun:
        """Run a command line in the extension of the profile, with the editor's own Python.

        Args:
            arguments: the command and its options.
        """
        shared = self._answer(["inkscape", "--system-data-directory"]).stdout.strip()
        places = (self.profile / "extensions" / "dartswing", Path(shared, "extensions"))
        code = "import sys; from extension.commands.command_line import main; sys.exit(main())"
        done = self._answer(
            ["python3", "-c", code, *arguments],
            {"PYTHONPATH": os.pathsep.join(map(str, places)), "LC_ALL": "C.UTF-8"},
        )
        return EditorRun(done.returncode, done.stdout, done.stderr)

    def _answer(
        self, command: list[str], more: Mapping[str, str] | None = None
    ) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            command,
            env={**self.variables, **(more or {})},
            capture_output=True,
            text=True,
            timeout=CEILING_S,
            check=False,
        )

    def picture_dialog(self, drawing: Path, action: str, picture: Path, keys: str = "") -> None:
        """Take a picture of the screen after an action, such as a command with its dialog.

        Args:
            drawing: the SVG file to open.
            action: the action's name; an extension's id alone opens its dialog.
            picture: the PNG file to write.
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
            self.wait_open(drawing, started.pid)
            for key in [_SHORTCUT_KEY, *keys.split()]:
                self.xdotool("key", key)
                wait_idle(started.pid, self.screen.server)
            self.screenshot(picture)
        finally:
            end_group(started)

    def screenshot(self, picture: Path) -> None:
        """Take a picture of the whole screen."""
        ImageGrab.grab(xdisplay=self.screen.display).save(picture)

    def wait_open(self, drawing: Path, process: int) -> None:
        """Wait until an editor shows a drawing and listens to keys."""

        def in_front() -> bool:
            return drawing.name in self.xdotool("getactivewindow", "getwindowname")

        wait_until(in_front, f"{drawing.name} was not opened")
        wait_idle(process, self.screen.server)
        self.xdotool("mousemove", "5", "5")  # where it calls up no tooltip

    def xdotool(self, *arguments: str) -> str:
        """Run xdotool on the editor's screen and return what it says: nothing if it fails."""
        answer = self._answer(["xdotool", *arguments])
        return "" if answer.returncode else answer.stdout

    def _wait(self, started: subprocess.Popen[bytes], *, dismiss: bool) -> None:
        waits = 0

        def ended() -> bool:
            nonlocal waits
            if started.poll() is not None:
                return True
            asks = is_idle(started.pid, self.screen.server) and self._dialog_is_open()
            waits = waits + 1 if asks else 0
            if waits > (_LOOKS_AT_DIALOG if dismiss else _LOOKS_AT_STUCK):
                if not dismiss:
                    raise EditorStuckError("a dialog waits for an answer")
                # A key of the real keyboard: the editor ignores keys sent to a window.
                self.xdotool("key", "Escape")
                waits = 0
            return False

        wait_until(ended, "the editor did not end")

    def _dialog_is_open(self) -> bool:
        """Tell whether the window in front is a dialog: the editor's drawings have titles."""
        return self.xdotool("getactivewindow", "getwindowname").isspace()


@contextlib.contextmanager
def virtual_screen() -> Iterator[Screen]:
    """Start a virtual screen with a window manager on a free display, and end both after.

    Yields:
        The screen.
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
        manager = _manager_on(display)

        def runs() -> bool:
            nonlocal manager
            if manager is not None and manager.poll() is not None:
                # It came before the screen took anyone in, and went again.
                manager = _manager_on(display)
            return _manager_runs(display)

        wait_until(runs, "the window manager did not start")
        yield Screen(display, screen.pid)
    finally:
        for process in (manager, screen):
            if process is not None:
                end_group(process)


def _manager_on(display: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        ["openbox", "--sm-disable"],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=os.environ | {"DISPLAY": display, "PATH": _search_path()},
        start_new_session=True,
    )


def unpack_package(profile: Path, packed: Path | None = None) -> None:
    """Put the extension into a profile as a user does by hand: pack it, unpack the zip.

    Args:
        profile: the profile's folder.
        packed: the zip, where it is packed already.
    """
    extensions = profile / "extensions"
    extensions.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as workshop,
        zipfile.ZipFile(packed or package(Path(workshop, "dartswing.zip"))) as pack,
    ):
        pack.extractall(extensions)


def path_numbers(path_data: str) -> tuple[list[str], list[float]]:
    """Split path data into its command letters and its numbers."""
    letters = re.findall(r"[MmLlHhVvCcSsQqTtAaZz]", path_data)
    numbers = re.findall(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", path_data)
    return letters, [float(number) for number in numbers]


def _search_path() -> str:
    # The system's own folder first: the editor's Python is to be the one that it shipped with.
    # Before it, where there is such a folder, the programs of another system than this one.
    others = os.environ.get(OTHER_PROGRAMS, "")
    folders = [others, "/usr/bin", os.environ.get("PATH", os.defpath)]
    return os.pathsep.join(filter(None, folders))


def _manager_runs(display: str) -> bool:
    """Tell whether a window manager has announced itself, as its standard (EWMH) wants it."""
    announced = re.search(r"0x[0-9a-f]+", _check_window(display, "-root"))
    return announced is not None and announced[0] in _check_window(display, "-id", announced[0])


def _check_window(display: str, *of: str) -> str:
    """Return what a window says of the one by which the window manager is known."""
    answer = subprocess.run(
        ["xprop", *of, "_NET_SUPPORTING_WM_CHECK"],
        env=os.environ | {"DISPLAY": display, "PATH": _search_path()},
        capture_output=True,
        text=True,
        timeout=CEILING_S,
        check=False,
    )
    return answer.stdout


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
    chatter = re.compile(
        r"^\s*$|^\*\* ?\(|^\(\S+:\d+\): |WARNING \*\*|^\*\* Message"
        # Keys of the profile, colour profiles that came with other programs.
        r"|^Shortcut::add_shortcut: "
        r"|^CMSSystem::load_profiles: |^\s+/\S+\.ic[cm]$"
        # What reads pictures, inside another system than its own.
        r"|^WARNING: Glycin running without sandbox\."
    )
    return "\n".join(line for line in text.splitlines() if not chatter.search(line))


def _picture(drawing: str, action: str, picture: str, *keys: str) -> None:
    with tempfile.TemporaryDirectory() as profile, virtual_screen() as screen:
        unpack_package(Path(profile))
        editor = RealEditor(screen, Path(profile))
        editor.picture_dialog(Path(drawing), action, Path(picture), keys=" ".join(keys))


if __name__ == "__main__":
    _picture(*sys.argv[1:])
