"""Every installed editor that can be reached, and its folders, which each is asked for."""

from __future__ import annotations

import os
import re
import shutil
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from drafting_core.text.errors import SettingError
from drafting_core.text.words import N_, _
from extension.host.programs import is_program, last_line, run

_OLDEST_EDITOR = (1, 2)
_FLATPAK_ID = "org.inkscape.Inkscape"
_FLATPAK_TIMEOUT_S = 20
_REGISTERED = (
    r"SOFTWARE\Microsoft\Windows\CurrentVersion\App Paths\inkscape.exe"  # not read by drafters
)
_SNAP = Path("/snap/bin/inkscape")
_EVERYONES = "/opt"
_NAME_THE_FOLDER = N_(
    "Give the editor's program as `--editor PATH`, or the folder for extensions as "
    "`--folder PATH` (in Inkscape: Edit ▸ Preferences ▸ System, “User extensions”)."
)


@dataclass(frozen=True)
class Program:
    """A way to start an editor.

    Attributes:
        command: the program, and what comes before any argument.
        name: what a message calls it.
        python: how its Python is started where the editor lives in a box of its own;
            ``{PYTHONPATH}`` stands for that variable's value. Empty: looked for as the editor does.
        is_sealed: whether its Python cannot be started from outside at all.
    """

    command: tuple[str, ...]
    name: str
    python: tuple[str, ...] = ()
    is_sealed: bool = False


@dataclass(frozen=True)
class Editor:
    """An installed editor.

    Attributes:
        program: how it is started.
        version: what it says of its version.
        user_data: the folder of the user's own data, extensions among them.
        system_data: the folder of the data that came with the editor.
    """

    program: Program
    version: str
    user_data: Path
    system_data: Path

    @property
    def name(self) -> str:
        """What a message calls the editor."""
        return self.program.name

    @property
    def user_extensions(self) -> Path:
        """The folder in which the editor looks for the user's extensions."""
        return self.user_data / "extensions"

    @property
    def system_extensions(self) -> Path:
        """The folder of the extensions that came with the editor, inkex among them."""
        return self.system_data / "extensions"

    @property
    def folder(self) -> Path:
        """The folder of the program itself."""
        return Path(self.program.command[0]).resolve().parent


def find_editor(editor: str | None = None) -> Editor:
    """Return an editor and its folders, which it is asked for.

    Args:
        editor: the editor's program, as a path or a name on the search path; None for the first
            that answers.

    Raises:
        SettingError: no editor there, or one that does not answer or is too old.
    """
    failed: list[SettingError] = []
    for program in _asked_for(editor):
        try:
            return ask(program)
        except SettingError as fault:
            failed.append(fault)
    raise failed[0]


def find_editors(editor: str | None = None) -> tuple[list[Editor], list[SettingError]]:
    """Return every editor that answers, and what is wrong with those that do not.

    Args:
        editor: one editor's program; None to look for all.

    Raises:
        SettingError: there is none at all.
    """
    found: list[Editor] = []
    failed: list[SettingError] = []
    for program in _asked_for(editor):
        try:
            found.append(ask(program))
        except SettingError as fault:
            failed.append(fault)
    return found, failed


def ask(program: Program) -> Editor:
    """Return the editor behind a program.

    Raises:
        SettingError: it does not answer or is too old.
    """
    answered = _ask(program, "--version")
    version = re.search(r"(\d+)\.(\d+)", answered)
    if version and tuple(map(int, version.groups())) < _OLDEST_EDITOR:
        raise SettingError(
            _("the editor {editor} is too old: it says “{answer}”.").format(
                editor=program.name, answer=answered
            ),
            remedy=_("Install Inkscape 1.2 or later, then run `dartswing install` again."),
        )
    return Editor(
        program,
        answered,
        Path(_ask(program, "--user-data-directory")),
        Path(_ask(program, "--system-data-directory")),
    )


def programs() -> list[Program]:
    """Return the ways to start an editor on this machine, each program once."""
    places = [*_on_the_search_path(), *_in_the_registry(), *_in_the_usual_places()]
    found = [_program(place) for place in places if is_program(place)]
    once = {os.path.realpath(program.command[0]): program for program in reversed(found)}
    return [*reversed(once.values()), *_from_flatpak()]


def _asked_for(editor: str | None) -> list[Program]:
    found = programs() if editor is None else [_named(editor)]
    if not found:
        raise SettingError(
            _("the editor Inkscape was not found."),
            remedy=_(
                "Install it, or say where it is with `--editor PATH`, or give the folder for "
                "extensions as `--folder PATH` (in Inkscape: Edit ▸ Preferences ▸ System, "
                "“User extensions”)."
            ),
        )
    return found


def _program(file: Path) -> Program:
    # Python is out of reach inside an AppImage, which is mounted only while it runs, inside a
    # snap, and in an app of the Microsoft Store, whose folder is closed to others.
    is_sealed = (
        file.suffix.casefold() == ".appimage"
        or Path(os.path.realpath(file)).name == "snap"
        or "WindowsApps" in file.parts
    )
    return Program((str(file),), str(file), is_sealed=is_sealed)


def _named(editor: str) -> Program:
    found = shutil.which(os.path.expanduser(editor))
    if not found:
        raise SettingError(
            _("there is no program “{program}”.").format(program=editor),
            remedy=_(_NAME_THE_FOLDER),
        )
    return _program(Path(found))


def _on_the_search_path() -> Iterator[Path]:
    for place in os.environ.get("PATH", os.defpath).split(os.pathsep):
        if place and sys.platform == "win32":
            yield _answering(Path(place, "inkscape.exe"))
        elif place:
            yield Path(place, "inkscape")


def _answering(program: Path) -> Path:
    """Return the program beside another that answers on the console, as the .exe does not."""
    console = program.with_suffix(".com")
    return console if console.is_file() else program


def _in_the_registry() -> Iterator[Path]:
    if sys.platform != "win32":
        return
    import winreg

    for root in (winreg.HKEY_CURRENT_USER, winreg.HKEY_LOCAL_MACHINE):
        try:
            yield _answering(Path(winreg.QueryValue(root, _REGISTERED).strip('"')))
        except OSError:
            continue


def _in_the_usual_places() -> Iterator[Path]:
    home = Path.home()
    if sys.platform == "win32":
        for variable in ("PROGRAMFILES", "PROGRAMW6432", "PROGRAMFILES(X86)"):
            if os.environ.get(variable):
                yield from _matching([os.environ[variable]], "Inkscape*/bin/inkscape.com")
    elif sys.platform == "darwin":
        folders = ["/Applications", home / "Applications"]
        yield from _matching(folders, "Inkscape*.app/Contents/MacOS/inkscape")
    else:
        yield _SNAP
        folders = [home / name for name in ("Applications", "Downloads", ".local/bin")]
        yield from _matching([*folders, _EVERYONES], "*nkscape*.[Aa]pp[Ii]mage")


def _matching(folders: Sequence[str | Path], pattern: str) -> Iterator[Path]:
    for folder in folders:
        try:
            yield from sorted(Path(folder).glob(pattern))
        except OSError:
            continue


def _from_flatpak() -> Iterator[Program]:
    if sys.platform in ("win32", "darwin"):
        return
    flatpak = shutil.which("flatpak")
    if flatpak is None:
        return
    try:
        if run([flatpak, "info", _FLATPAK_ID], timeout=_FLATPAK_TIMEOUT_S).returncode:
            return
    except (OSError, SettingError):
        return
    yield Program(
        (flatpak, "run", "--command=inkscape", _FLATPAK_ID),
        _("Inkscape from Flatpak"),
        python=(
            flatpak,
            "run",
            "--command=python3",
            # Flatpak does not hand these on by itself.
            "--env=PYTHONPATH={PYTHONPATH}",
            "--env=PYTHONIOENCODING=UTF-8",
            _FLATPAK_ID,
        ),
    )


def _ask(program: Program, question: str) -> str:
    try:
        answer = run([*program.command, question])
    except OSError as fault:
        raise SettingError(
            _("the editor {editor} cannot be started: {fault}.").format(
                editor=program.name, fault=fault.strerror
            ),
            remedy=_(
                "Give the editor's program as `--editor PATH`, or the folder for extensions as "
                "`--folder PATH`."
            ),
        ) from fault
    lines = [line.rstrip("\r") for line in answer.stdout.split("\n") if line.strip()]
    if answer.returncode or not lines:
        raise SettingError(
            _("the editor {editor} does not answer {question}: {answer}").format(
                editor=program.name, question=question, answer=last_line(answer.stderr)
            ),
            remedy=_(
                "Give the folder for extensions as `--folder PATH` (in Inkscape: Edit ▸ "
                "Preferences ▸ System, “User extensions”)."
            ),
        )
    return lines[-1]
