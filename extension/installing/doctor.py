"""Whether this installation is complete and works: an answer in every state it may be in.

Only the standard library is imported at the start; every look at something else is guarded.
"""

from __future__ import annotations

import os
import platform
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

try:
    from drafting_core.text.words import _, listed, ngettext
except Exception:  # drafting_core itself may be what is broken

    def _(text: str) -> str:
        """Return the English text."""
        return text

    def ngettext(one: str, many: str, number: int) -> str:
        """Return the English text that goes with a number."""
        return one if number == 1 else many

    def listed(names: Iterable[str]) -> str:
        """Return names as a list."""
        return ", ".join(names)


HOME = Path(__file__).resolve().parents[2]

_OLDEST_PYTHON = (3, 10)
_OLDEST_INKEX = (1, 2)
_PROBE_TIMEOUT_S = 30
_EDITOR_TIMEOUT_S = 10
_MOVE_TIMEOUT_S = 60
_NAMED = 5

# By the name that a distribution, or the one it descends from, gives itself.
_PACKAGE_COMMANDS = {
    "debian": "sudo apt install --reinstall",  # not read by drafters
    "ubuntu": "sudo apt install --reinstall",  # not read by drafters
    "fedora": "sudo dnf install",  # not read by drafters
    "suse": "sudo zypper install",  # not read by drafters
    "opensuse": "sudo zypper install",  # not read by drafters
    "arch": "sudo pacman -S",  # not read by drafters
}

# In a process of its own: a module built for another Python can end the process that loads it.
_PROBE = """
import sys
try:
    module = __import__(sys.argv[1])
    if sys.argv[1] == "lxml":
        import lxml.etree
except BaseException as fault:
    said = [getattr(fault, "name", "") or "", "%s: %s" % (type(fault).__name__, fault)]
else:
    said = [str(getattr(module, "__version__", "")), str(getattr(module, "__file__", ""))]
    said.insert(0, "+")
sys.stdout.write("\\t".join(said))
"""  # not read by drafters


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at.

    Attributes:
        text: what was found, and how to mend it, in plain words.
        is_wrong: whether it needs attention.
    """

    text: str
    is_wrong: bool = False

    def line(self) -> str:
        """Return the text, marked if it needs attention."""
        return f"! {self.text}" if self.is_wrong else self.text


@dataclass(frozen=True)
class Answer:
    """All that was found.

    Attributes:
        findings: every one of them, in the order in which it was looked for.
    """

    findings: tuple[Finding, ...]

    @property
    def is_well(self) -> bool:
        """Whether nothing needs attention."""
        return not any(finding.is_wrong for finding in self.findings)

    def text(self) -> str:
        """Return the findings, a line each, and the sum of them."""
        return "\n".join([*(finding.line() for finding in self.findings), self.sum()])

    def sum(self) -> str:
        """Return the last line: whether all is well."""
        wrong = sum(finding.is_wrong for finding in self.findings)
        if not wrong:
            return _("All is well.")
        return ngettext(
            "{n} thing needs attention: it is marked with ! above.",
            "{n} things need attention: they are marked with ! above.",
            wrong,
        ).format(n=wrong)


def answer_in_her_language() -> None:
    """Answer in the drafter's language, in English where its catalogue is broken."""
    try:
        from extension.host.language import speak_the_drafters_language

        speak_the_drafters_language()
        _("All is well.")
    except Exception:
        try:
            from drafting_core.text import words

            words.speak(None)
        except Exception:
            return


def check_here() -> Answer:
    """Look at the running copy, the Python that runs it and the editor that started it."""
    looks = (_dartswing, _python, _inkex, _lxml, _numpy, _editor, _files, _language, _move)
    return Answer(tuple(_guarded(look) for look in looks))


def _guarded(look: Callable[[], Finding]) -> Finding:
    try:
        return look()
    except Exception as fault:
        return Finding(
            _("A part of the check failed ({fault}): install Dartswing again.").format(
                fault=f"{type(fault).__name__}: {fault}"
            ),
            is_wrong=True,
        )


def _dartswing() -> Finding:
    from extension.installing.installed_files import version

    return Finding(_("Dartswing {version} in {folder}").format(version=version(), folder=HOME))


def _python() -> Finding:
    words = {"version": platform.python_version(), "program": sys.executable}
    if sys.version_info < _OLDEST_PYTHON:
        return Finding(
            _(
                "Python {version} ({program}) is too old: 3.10 or later is needed. Install a newer "
                "Python, or a newer Inkscape, which brings its own."
            ).format(**words),
            is_wrong=True,
        )
    return Finding(_("Python {version} ({program}): as needed").format(**words))


def _inkex() -> Finding:
    return _module("inkex", oldest=_OLDEST_INKEX)


def _lxml() -> Finding:
    return _module("lxml")


def _numpy() -> Finding:
    return _module("numpy")


def _module(name: str, oldest: tuple[int, int] = (0, 0)) -> Finding:
    answer = _run([sys.executable, "-c", _PROBE, name], timeout=_PROBE_TIMEOUT_S)
    said = answer.stdout.split("\t")
    if said[0] == "+":
        numbers = re.match(r"(\d+)\.(\d+)", said[1])
        words = {"module": name, "version": said[1], "place": os.path.dirname(said[2])}
        if numbers and tuple(map(int, numbers.groups())) < oldest:
            return Finding(
                _("{module} {version} ({place}) is too old: install Inkscape 1.2 or later.").format(
                    **words
                ),
                is_wrong=True,
            )
        return Finding(_("{module} {version} ({place}): as needed").format(**words))
    missing, fault = said if len(said) == 2 else ("", _("it ends the Python that loads it"))
    return Finding(
        _("{module} cannot be used ({fault}). {remedy}").format(
            module=name, fault=fault, remedy=_remedy(missing.split(".")[0] or name)
        ),
        is_wrong=True,
    )


def _remedy(module: str) -> str:
    """Return how to get a Python module that is missing, which depends on the system."""
    if os.path.exists("/.flatpak-info"):
        return _(
            "It comes with Inkscape: install it again "
            "(`flatpak install --reinstall flathub org.inkscape.Inkscape`)."
        )
    if os.environ.get("APPIMAGE"):
        return _("It comes with Inkscape: download the AppImage again.")
    if sys.platform in ("win32", "darwin") or os.environ.get("SNAP"):
        return _("It comes with Inkscape: install Inkscape again.")
    kinds = _distribution()
    package = "inkscape" if module == "inkex" else f"python3-{module}"
    for kind, command in _PACKAGE_COMMANDS.items():
        if kind in kinds:
            package = package.replace("python3-", "python-") if kind == "arch" else package
            return _("Install it: `{command}`.").format(command=f"{command} {package}")
    return _(
        "Install the package {package} of your system, which may be called a little differently."
    ).format(package=package)


def _distribution() -> list[str]:
    try:
        release = platform.freedesktop_os_release()
    except OSError:
        return []
    return [release.get("ID", ""), *release.get("ID_LIKE", "").split()]


def _editor() -> Finding:
    for program in _editor_programs():
        try:
            answer = _run([program, "--version"], timeout=_EDITOR_TIMEOUT_S)
        except (OSError, subprocess.SubprocessError):
            continue
        lines = [line for line in answer.stdout.splitlines() if line.startswith("Inkscape")]
        if lines:
            return Finding(_("{editor} ({program})").format(editor=lines[-1], program=program))
    return Finding(_("The editor's version cannot be told from here."))


def _editor_programs() -> Iterable[str]:
    """Yield where the editor may be: beside the Python that it ships, or on the search path.

    The editor puts its own folder first on the search path of what it starts.
    """
    for folder in Path(sys.executable).parents:
        for name in ("inkscape.com", "MacOS/inkscape"):
            if (folder / name).is_file():
                yield str(folder / name)
    on_path = shutil.which("inkscape")
    if on_path:
        yield on_path


def _files() -> Finding:
    from extension.installing.installed_files import LIST_NAME, damage

    if not (HOME / LIST_NAME).is_file():
        return Finding(_("Files: this copy is not in an editor and has no list to compare with."))
    found = damage(HOME)
    if found.missing:
        return Finding(
            _("Files missing: {names}. Install Dartswing again.").format(
                names=_some(found.missing)
            ),
            is_wrong=True,
        )
    if found.changed:
        return Finding(
            _(
                "Files that are not as they were installed: {names}. Install Dartswing again."
            ).format(names=_some(found.changed)),
            is_wrong=True,
        )
    if found.foreign:
        return Finding(
            _("Files: all {n} are there. These came from elsewhere: {names}").format(
                n=found.total, names=_some(found.foreign)
            )
        )
    return Finding(_("Files: all {n} are there and as they were installed").format(n=found.total))


def _some(names: list[str]) -> str:
    shown = names[:_NAMED]
    return listed(shown) if len(shown) == len(names) else ", ".join([*shown, "…"])


def _language() -> Finding:
    from extension.host import language

    wanted, file = language.language(), language.catalogue_file()
    if file is None:
        if wanted in ("", "C", "POSIX") or wanted.startswith("en"):
            return Finding(_("Language: English"))
        return Finding(
            _("Language: English, for there is no translation for {language}").format(
                language=wanted
            )
        )
    import gettext

    try:
        with open(file, "rb") as content:
            gettext.GNUTranslations(content)
    except Exception as fault:
        return Finding(
            _("The translation {file} cannot be read ({fault}). Install Dartswing again.").format(
                file=file, fault=fault
            ),
            is_wrong=True,
        )
    return Finding(_("Language: {language} ({file})").format(language=wanted, file=file))


def _move() -> Finding:
    """Let the installed script move a dart, in a process of its own as the editor does."""
    script = HOME / "extension" / "dartswing.py"
    from drafting_core.text.figures import decimal_number
    from drafting_core.text.lengths import told_length
    from extension.installing import proof_drawing

    with tempfile.TemporaryDirectory(prefix="dartswing-") as workshop:
        drawing = Path(workshop, "front.svg")
        drawing.write_text(proof_drawing.PROOF_DRAWING, encoding="utf-8")
        answer = _run(
            [sys.executable, str(script), "--command=move", "--tab=place", str(drawing)],
            folder=script.parent,
            timeout=_MOVE_TIMEOUT_S,
        )
    said = [line.strip() for line in answer.stderr.splitlines() if line.strip()]
    if answer.returncode or said:
        fault = said[-1] if said else _("it ended without a message")
        return Finding(_("Self-made move failed: {fault}").format(fault=fault), is_wrong=True)
    differs = proof_drawing.what_differs(answer.stdout)
    if differs:
        return Finding(
            _("Self-made move not as expected. {what} Install Dartswing again.").format(
                what=differs
            ),
            is_wrong=True,
        )
    start, end = proof_drawing.expected_mouth()
    return Finding(
        _(
            "Self-made move: as expected (a waist dart of {angle} came out at the side seam with "
            "the same angle, {intake} wide)"
        ).format(
            angle=f"{decimal_number(proof_drawing.PROOF_ANGLE, 2)}°",
            intake=told_length(abs(end - start)),
        )
    )


def _run(
    command: list[str], *, timeout: float, folder: Path | None = None
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        errors="replace",
        env={
            **os.environ,
            "PYTHONIOENCODING": "UTF-8",
            "SELF_CALL": "true",
            "DARTSWING_CHECKING": "1",
        },
        cwd=folder,
        timeout=timeout,
        check=False,
        creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
    )
