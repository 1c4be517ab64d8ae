"""The Python that an editor starts its extensions with, and whether it is as needed."""

from __future__ import annotations

import os
import re
import shutil
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from drafting_core.text.errors import SettingError
from drafting_core.text.words import _
from extension.host.editors import Editor
from extension.host.programs import last_line, run

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
"""  # not read by drafters


@dataclass(frozen=True)
class EditorPython:
    """A Python as an editor starts it.

    Attributes:
        command: the interpreter, and what starts it inside a box.
        variables: the environment variables to start it with.
    """

    command: tuple[str, ...]
    variables: Mapping[str, str]

    @property
    def name(self) -> str:
        """What a message calls it."""
        return " ".join(part for part in self.command if not part.startswith("--env="))


def python_of(editor: Editor | None) -> EditorPython | None:
    """Return the Python of an editor; without an editor this one, which can stand in for it.

    None where it cannot be started from outside.

    Raises:
        SettingError: the editor finds no Python.
    """
    variables = environment(editor)
    if editor is None:
        return EditorPython((sys.executable,), variables)
    if editor.program.is_sealed:
        return None
    if editor.program.python:
        path = _python_path(editor)
        boxed = (part.replace("{PYTHONPATH}", path) for part in editor.program.python)
        return EditorPython(tuple(boxed), dict(os.environ))
    return EditorPython((str(interpreter(editor)),), variables)


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
        contents = editor.folder.parent
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
        _("the editor {editor} finds no Python to start extensions with.").format(
            editor=editor.name
        ),
        remedy=_("Install Python 3.10 or later, then run `dartswing install` again."),
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
    places = [str(editor.folder)]
    places += [place for place in _search_path(variables) if not _in_this_environment(place)]
    variables["PATH"] = os.pathsep.join(places)
    variables["PYTHONPATH"] = _python_path(editor)
    for name in ("VIRTUAL_ENV", "PYTHONHOME", "PYTHONSAFEPATH"):
        variables.pop(name, None)
    return variables


def check_interpreter(python: EditorPython) -> None:
    """Check that a Python has all that a move needs.

    Raises:
        SettingError: it is too old, lacks a module or does not start; says how to mend it.
    """
    probe = _PROBE.format(oldest=_OLDEST_PYTHON, modules=_NEEDED_MODULES)
    try:
        answer = run([*python.command, "-c", probe], variables=python.variables)
    except OSError as fault:
        raise SettingError(
            _("the editor's Python ({python}) cannot be started: {fault}.").format(
                python=python.name, fault=fault.strerror
            ),
            remedy=_("Mend or replace it, then run `dartswing install` again."),
        ) from fault
    found = re.fullmatch(r"(\d+)\.(\d+) (\S*)", answer.stdout.strip("\r\n"))
    if answer.returncode or not found:
        raise SettingError(
            _("the editor's Python ({python}) does not run: {answer}").format(
                python=python.name, answer=last_line(answer.stderr)
            ),
            remedy=_("Mend or replace it, then run `dartswing install` again."),
        )
    major, minor, missing = int(found[1]), int(found[2]), found[3]
    if (major, minor) < _OLDEST_PYTHON:
        raise SettingError(
            _("the editor's Python ({python}) is {version}, but 3.10 or later is needed:").format(
                python=python.name, version=f"{major}.{minor}"
            ),
            remedy=_(
                "install a newer Python or a newer Inkscape, which brings its own, then run "
                "`dartswing install` again."
            ),
        )
    if missing == "inkex":
        raise SettingError(
            _("the editor's Python ({python}) lacks inkex, which comes with the editor:").format(
                python=python.name
            ),
            remedy=_(
                "install Inkscape again with its extensions, then run `dartswing install` again."
            ),
        )
    if missing:
        raise SettingError(
            _("the editor's Python ({python}) lacks {module}:").format(
                python=python.name, module=missing
            ),
            remedy=_(
                "install it (on Debian or Ubuntu `sudo apt install python3-{module}`, elsewhere "
                "`{python} -m pip install {module}`), then run `dartswing install` again."
            ).format(python=python.name, module=missing),
        )


def _preferred_interpreter(preferences: Path) -> str | None:
    try:
        root = ElementTree.parse(preferences).getroot()
    except (OSError, ElementTree.ParseError):
        return None
    for group in root.findall(".//{*}group"):
        if group.get("id") == "extensions" and group.get("python-interpreter"):
            return group.get("python-interpreter")
    return None


def _python_path(editor: Editor) -> str:
    # Inside a box the separator is the box's, which is this system's: only Linux has such boxes.
    return os.pathsep.join(
        [
            str(editor.user_extensions),
            str(editor.system_extensions),
            str(editor.system_extensions / "inkex" / "deprecated-simple"),
        ]
    )


def _search_path(variables: Mapping[str, str]) -> list[str]:
    return [place for place in variables.get("PATH", os.defpath).split(os.pathsep) if place]


def _in_this_environment(place: str) -> bool:
    if sys.prefix == sys.base_prefix:
        return False
    return Path(place).resolve().is_relative_to(Path(sys.prefix).resolve())
