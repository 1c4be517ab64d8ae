"""The editor, its folders, and the Python that it starts its extensions with."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from drafting_core.errors import SettingError

EDITOR_TIMEOUT_S = 60
"""A first start fills caches and may be slow; an editor silent for longer is taken as stuck."""

_OLDEST_EDITOR = (1, 2)
_OLDEST_PYTHON = (3, 10)
_NEEDED_MODULES = ("lxml", "numpy", "inkex")

# Run by the editor's Python, which may be too old or too bare for anything else.
_PROBE = """
import sys
missing = ""
if sys.version_info >= {oldest}:
    for module in {modules}:
        try:
            __import__(module)
        except ImportError as fault:
            missing = getattr(fault, "name", None) or module
            break
sys.stdout.write("%d.%d %s" % (sys.version_info[0], sys.version_info[1], missing))
"""


@dataclass(frozen=True)
class Editor:
    """An installed editor.

    Attributes:
        command: the program.
        user_data: the folder of the user's own data, extensions among them.
        system_data: the folder of the data that came with the editor.
    """

    command: Path
    user_data: Path
    system_data: Path

    @property
    def user_extensions(self) -> Path:
        """The folder in which the editor looks for the user's extensions."""
        return self.user_data / "extensions"

    @property
    def system_extensions(self) -> Path:
        """The folder of the extensions that came with the editor, inkex among them."""
        return self.system_data / "extensions"


def find_editor(editor: str | None = None) -> Editor:
    """Return the editor and its folders, which it is asked for.

    Args:
        editor: the editor's program, as a path or a name on the search path; None to look in
            the usual places.

    Raises:
        SettingError: no editor there, or one that does not answer or is too old.
    """
    command = _command(editor)
    answered = _ask(command, "--version")
    version = re.search(r"(\d+)\.(\d+)", answered)
    if version and tuple(map(int, version.groups())) < _OLDEST_EDITOR:
        raise SettingError(
            f"the editor {command} is too old: it says “{answered}”.",
            remedy="Install Inkscape 1.2 or later, then run `dartswing install` again.",
        )
    return Editor(
        command,
        Path(_ask(command, "--user-data-directory")),
        Path(_ask(command, "--system-data-directory")),
    )


def interpreter(editor: Editor) -> Path:
    """Return the Python with which the editor starts an extension.

    The order is the editor's own: what its preferences name, then what lies beside it, then
    what is on the search path.

    Raises:
        SettingError: there is none.
    """
    search_path = environment(editor)["PATH"]
    preferred = _preferred_interpreter(editor.user_data / "preferences.xml")
    candidates = [preferred] if preferred else []
    if sys.platform == "darwin":
        contents = editor.command.resolve().parent.parent
        candidates += [
            str(contents / "Resources/bin/python3"),
            str(contents / "Frameworks/Python.framework/Versions/Current/bin/python3"),
        ]
    # On Windows the editor starts pythonw, the same Python without a console: python answers.
    candidates += ["python"] if sys.platform == "win32" else ["python3", "python"]
    for candidate in candidates:
        found = shutil.which(candidate, path=search_path)
        if found:
            return Path(found)
    raise SettingError(
        f"the editor {editor.command} finds no Python to start extensions with.",
        remedy="Install Python 3.10 or later, then run `dartswing install` again.",
    )


def environment(editor: Editor | None) -> dict[str, str]:
    """Return the environment variables with which the editor starts an extension.

    Without an editor: this process's own, so that its Python can stand in for the editor's.
    """
    variables: dict[str, str] = dict(os.environ)
    variables["PYTHONIOENCODING"] = "UTF-8"
    if editor is None:
        return variables
    # The editor puts its own folder first. A virtual environment this command may run in is
    # not there when the editor is started from the desktop.
    places = [str(editor.command.resolve().parent)]
    places += [place for place in _search_path(variables) if not _in_this_environment(place)]
    variables["PATH"] = os.pathsep.join(places)
    variables["PYTHONPATH"] = os.pathsep.join(
        [
            str(editor.user_extensions),
            str(editor.system_extensions),
            str(editor.system_extensions / "inkex" / "deprecated-simple"),
        ]
    )
    for name in ("VIRTUAL_ENV", "PYTHONHOME", "PYTHONSAFEPATH"):
        variables.pop(name, None)
    return variables


def check_interpreter(python: Path, variables: Mapping[str, str]) -> None:
    """Check that a Python has all that a move needs.

    Args:
        python: the interpreter.
        variables: the environment to start it in.

    Raises:
        SettingError: it is too old, lacks a module or does not start; says how to mend it.
    """
    probe = _PROBE.format(oldest=_OLDEST_PYTHON, modules=_NEEDED_MODULES)
    try:
        answer = run([str(python), "-c", probe], variables=variables)
    except OSError as fault:
        raise SettingError(
            f"the editor's Python ({python}) cannot be started: {fault.strerror}.",
            remedy="Mend or replace it, then run `dartswing install` again.",
        ) from fault
    found = re.fullmatch(r"(\d+)\.(\d+) (\S*)", answer.stdout.strip("\r\n"))
    if answer.returncode or not found:
        raise SettingError(
            f"the editor's Python ({python}) does not run: {last_line(answer.stderr)}",
            remedy="Mend or replace it, then run `dartswing install` again.",
        )
    major, minor, missing = int(found[1]), int(found[2]), found[3]
    if (major, minor) < _OLDEST_PYTHON:
        raise SettingError(
            f"the editor's Python ({python}) is {major}.{minor}, but 3.10 or later is needed:",
            remedy="install a newer Python or a newer Inkscape, which brings its own, then run "
            "`dartswing install` again.",
        )
    if missing == "inkex":
        raise SettingError(
            f"the editor's Python ({python}) lacks inkex, which comes with the editor:",
            remedy="install Inkscape again with its extensions, then run `dartswing install` "
            "again.",
        )
    if missing:
        raise SettingError(
            f"the editor's Python ({python}) lacks {missing}:",
            remedy=f"install it (on Debian or Ubuntu `sudo apt install python3-{missing}`, "
            f"elsewhere `{python} -m pip install {missing}`), then run `dartswing install` "
            "again.",
        )


def run(
    command: list[str], *, variables: Mapping[str, str] | None = None, folder: Path | None = None
) -> subprocess.CompletedProcess[str]:
    """Run a program with a time limit and return its answer as text.

    Args:
        command: the program and its arguments.
        variables: its environment variables; None for this process's own.
        folder: the folder to run it in; None for the current one.

    Raises:
        OSError: it cannot be started.
        SettingError: it does not end in time.
    """
    try:
        return subprocess.run(
            command,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            encoding="utf-8",
            errors="replace",
            env=variables,
            cwd=folder,
            timeout=EDITOR_TIMEOUT_S,
            check=False,
        )
    except subprocess.TimeoutExpired as fault:
        raise SettingError(
            f"{command[0]} did not answer within {EDITOR_TIMEOUT_S} s.",
            remedy="See whether it starts by itself, then try again.",
        ) from fault


def last_line(text: str) -> str:
    """Return the last line that says something, or "no message"."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    return lines[-1] if lines else "no message"


def _command(editor: str | None) -> Path:
    if editor is not None:
        found = shutil.which(os.path.expanduser(editor))
        if not found:
            raise SettingError(
                f"there is no program “{editor}”.",
                remedy="Give the editor's program as `--editor PATH`, or the folder for "
                "extensions as `--folder PATH` (in Inkscape: Edit ▸ Preferences ▸ System, "
                "“User extensions”).",
            )
        return Path(found)
    usual = [shutil.which("inkscape")]
    if sys.platform == "darwin":
        usual.append(shutil.which("/Applications/Inkscape.app/Contents/MacOS/inkscape"))
    if sys.platform == "win32":
        # The .com program answers on the console, the .exe does not.
        programs = os.environ.get("PROGRAMFILES", r"C:\Program Files")
        usual.insert(0, shutil.which(str(Path(programs, "Inkscape", "bin", "inkscape.com"))))
    for place in usual:
        if place:
            return Path(place)
    raise SettingError(
        "the editor Inkscape was not found.",
        remedy="Install it, or say where it is with `--editor PATH`, or give the folder for "
        "extensions as `--folder PATH` (in Inkscape: Edit ▸ Preferences ▸ System, "
        "“User extensions”).",
    )


def _ask(command: Path, question: str) -> str:
    try:
        answer = run([str(command), question])
    except OSError as fault:
        raise SettingError(
            f"the editor {command} cannot be started: {fault.strerror}.",
            remedy="Give the editor's program as `--editor PATH`, or the folder for extensions "
            "as `--folder PATH`.",
        ) from fault
    text = last_line(answer.stdout)
    if answer.returncode or not answer.stdout.strip():
        raise SettingError(
            f"the editor {command} does not answer {question}: {last_line(answer.stderr)}",
            remedy="Give the folder for extensions as `--folder PATH` (in Inkscape: Edit ▸ "
            "Preferences ▸ System, “User extensions”).",
        )
    return text


def _preferred_interpreter(preferences: Path) -> str | None:
    try:
        root = ElementTree.parse(preferences).getroot()
    except (OSError, ElementTree.ParseError):
        return None
    for group in root.findall(".//{*}group"):
        if group.get("id") == "extensions" and group.get("python-interpreter"):
            return group.get("python-interpreter")
    return None


def _search_path(variables: Mapping[str, str]) -> list[str]:
    return [place for place in variables.get("PATH", os.defpath).split(os.pathsep) if place]


def _in_this_environment(place: str) -> bool:
    if sys.prefix == sys.base_prefix:
        return False
    return Path(place).resolve().is_relative_to(Path(sys.prefix).resolve())
