"""What `dartswing doctor` says: the check of this copy, and of the one in every editor."""

from __future__ import annotations

import re
from dataclasses import dataclass

from drafting_core.text.errors import SettingError
from drafting_core.text.words import _
from extension.host.editor_python import EditorPython, python_of
from extension.host.editors import Editor, find_editors
from extension.host.programs import last_line, printable, run
from extension.installing.doctor import Answer, Finding, check_here
from extension.installing.installed_files import FOLDER_NAME, damage, version, version_in


@dataclass(frozen=True)
class CheckedPlace:
    """What was found in one place.

    Attributes:
        title: the place.
        findings: what was found there.
    """

    title: str
    findings: tuple[Finding, ...]


#: The argument with which a copy's own check tells by its exit status whether all is well.
WITH_STATUS = "--exit-status"


def check_everywhere() -> tuple[str, bool]:
    """Check this copy and every editor that can be reached.

    Returns:
        The text to show, and whether all is well.
    """
    sections = [CheckedPlace(_("On the command line"), check_here().findings), *_editors()]
    whole = Answer(tuple(finding for section in sections for finding in section.findings))
    blocks = [
        "\n".join([section.title, *(f"  {finding.line()}" for finding in section.findings)])
        for section in sections
    ]
    return printable("\n\n".join([*blocks, whole.sum()])), whole.is_well


def _editors() -> list[CheckedPlace]:
    try:
        found, failed = find_editors()
    except SettingError as fault:
        return [CheckedPlace(_("In the editor"), (Finding(_sentence(fault)),))]
    sections = [
        CheckedPlace(
            _("In {version} ({editor})").format(version=editor.version, editor=editor.name),
            tuple(_in_editor(editor)),
        )
        for editor in found
    ]
    broken = tuple(Finding(_sentence(fault), is_wrong=True) for fault in failed)
    return [*sections, *([CheckedPlace(_("Editors that do not answer"), broken)] if broken else [])]


def _in_editor(editor: Editor) -> list[Finding]:
    target = editor.user_extensions / FOLDER_NAME
    theirs = version_in(target)
    words = {"version": theirs, "ours": version(), "folder": target}
    if not theirs:
        return [
            Finding(
                _("Dartswing is not installed in {folder}: run `dartswing install`.").format(
                    **words
                ),
                is_wrong=True,
            )
        ]
    if _numbers(theirs) < _numbers(version()):
        text = _(
            "Dartswing {version} in {folder} is older than this one ({ours}): run "
            "`dartswing install`."
        )
        return [Finding(text.format(**words), is_wrong=True), *_own_answer(editor)[1:]]
    if _numbers(theirs) > _numbers(version()):
        text = _("Dartswing {version} in {folder}, newer than this one ({ours})")
        return [Finding(text.format(**words)), *_own_answer(editor)[1:]]
    return _own_answer(editor)


def _own_answer(editor: Editor) -> list[Finding]:
    """Return what the copy in an editor says of itself, run as that editor runs it."""
    target = editor.user_extensions / FOLDER_NAME
    script, arguments = target / "extension" / "dartswing.py", ["--command=doctor"]
    older = script.with_name("dartswing_doctor.py")
    if older.is_file():
        # From before all entries had one script.
        script, arguments = older, []
    place = Finding(
        _("Dartswing {version} in {folder}").format(version=version_in(target), folder=target)
    )
    if not script.is_file() and "extension/dartswing.py" not in damage(target).missing:
        return [place]  # from before there was a check
    try:
        python = python_of(editor)
        if python is None:
            return [place, *_from_outside(editor)]
        return _lines(python, [str(script), *arguments]) or [place]
    except (OSError, SettingError) as fault:
        return [place, Finding(_sentence(fault), is_wrong=True)]


def _lines(python: EditorPython, script: list[str]) -> list[Finding]:
    answer = run([*python.command, *script, WITH_STATUS], variables=python.variables)
    lines = [line for line in answer.stderr.splitlines() if line.strip()]
    if answer.returncode not in (0, 1) or not lines:
        text = _("The check does not run there with {python}: {fault}").format(
            python=python.name, fault=last_line(answer.stderr)
        )
        return [Finding(text, is_wrong=True)]
    found = [Finding(re.sub("^! ", "", line), is_wrong=line.startswith("! ")) for line in lines]
    # Its last line is the sum, which is drawn for all places together; a lone line is no sum.
    return found[:-1] or found


def _from_outside(editor: Editor) -> list[Finding]:
    found = damage(editor.user_extensions / FOLDER_NAME)
    closed = Finding(
        _(
            "The Python inside {editor} cannot be reached from outside: Extensions ▸ Dartswing ▸ "
            "Check installation tells whether it runs there."
        ).format(editor=editor.name)
    )
    if found.missing or found.changed:
        text = _("Its files are not as they were installed: run `dartswing install`.")
        return [Finding(text, is_wrong=True), closed]
    return [closed]


def _numbers(version_text: str) -> list[int]:
    return [int(number) for number in re.findall(r"\d+", version_text)]


def _sentence(fault: Exception) -> str:
    text = str(fault)
    return text[:1].upper() + text[1:]
