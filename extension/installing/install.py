"""Putting the extension into every editor, taking it out, and packing it for others."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
import zipfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from drafting_core.text.errors import SettingError
from drafting_core.text.words import _, listed
from extension.host.editor_python import check_interpreter, python_of
from extension.host.editors import Editor, find_editor, find_editors
from extension.host.programs import last_line, printable, run
from extension.installing.installed_files import (
    FOLDER_NAME,
    foreign_files,
    installed_tree,
    is_ours,
    version,
    version_in,
)
from extension.installing.proof_drawing import PROOF_DRAWING, what_differs
from extension.installing.remembered import forget, key_bindings

_ZIP_TIME = (2020, 1, 1, 0, 0, 0)
"""One time for every entry, so that the same files give the same zip, byte by byte."""

_Place = tuple[Path, Sequence[Editor]]
"""A folder for extensions, and the editors that look there."""


def install_each(folder: Path | None = None, editor: str | None = None) -> Iterator[str]:
    """Put the extension into the folders for extensions and prove that it runs there.

    An older version is replaced as a whole or not at all. What fails in one place stops none of
    the others.

    Args:
        folder: the folder for extensions; None for those that the editors name.
        editor: the editor's program; None for every editor that can be reached.

    Yields:
        What was done in one place, in plain words.

    Raises:
        SettingError: at the end, if an editor, its Python or a folder is not as needed; says what
            to do.
    """
    yield from _each(_install_in, folder, editor)


def uninstall_each(folder: Path | None = None, editor: str | None = None) -> Iterator[str]:
    """Take the extension out of the folders for extensions.

    Args:
        folder: the folder for extensions; None for those that the editors name.
        editor: the editor's program; None for every editor that can be reached.

    Yields:
        What was done in one place, in plain words.

    Raises:
        SettingError: at the end, if an editor is not found, or a folder holds what is not
            Dartswing's.
    """
    yield from _each(_uninstall_from, folder, editor)


def package(zip_path: Path) -> Path:
    """Write the zip that a user can unpack by hand in the editor's folder for extensions.

    Args:
        zip_path: the file to write.

    Returns:
        The file written. The same files give the same zip, byte by byte.

    Raises:
        SettingError: the file cannot be written.
    """
    unfinished = zip_path.with_name(f".{zip_path.name}.unfinished")
    try:
        zip_path.parent.mkdir(parents=True, exist_ok=True)
        with zipfile.ZipFile(unfinished, "w") as pack:
            for name, content in installed_tree().items():
                entry = zipfile.ZipInfo(f"{FOLDER_NAME}/{name}", _ZIP_TIME)
                entry.compress_type = zipfile.ZIP_DEFLATED
                entry.create_system = 3  # so that the file rights below are read as such
                entry.external_attr = 0o100644 << 16
                pack.writestr(entry, content)
        os.replace(unfinished, zip_path)
    except OSError as fault:
        with contextlib.suppress(OSError):
            unfinished.unlink()
        raise SettingError(
            _("the package {file} cannot be written: {fault}.").format(
                file=zip_path, fault=fault.strerror
            ),
            remedy=_("Name a file in a folder that you may write to."),
        ) from fault
    return zip_path


def _each(
    job: Callable[[Path, Sequence[Editor]], Iterator[str]], folder: Path | None, editor: str | None
) -> Iterator[str]:
    """Do a job in each folder, and only then complain of what failed."""
    places, failed = _places(folder, editor)
    found = [an_editor for _target, editors in places for an_editor in editors]
    for target, editors in places:
        done = []
        try:
            for said in job(target, editors):
                done.append(said)
        except SettingError as fault:
            failed.append(fault)
        if done and len(found) > 1:
            names = listed([an_editor.name for an_editor in editors])
            done[0] = _("{editors}: {done}").format(editors=names, done=done[0])
        if done:
            yield printable(" ".join(done))
    _complain(failed)


def _complain(failed: Sequence[SettingError]) -> None:
    if len(failed) == 1:
        raise failed[0]
    if failed:
        messages = [str(fault) for fault in failed]
        raise SettingError(
            "\n".join(message[:1].upper() + message[1:] for message in messages), remedy=""
        )


def _places(folder: Path | None, editor: str | None) -> tuple[list[_Place], list[SettingError]]:
    """Return the folders to work in; several editors may share one."""
    if folder is not None:
        # The folder is known: without an editor this Python can prove the installation.
        editors = []
        try:
            editors = [find_editor(editor)]
        except SettingError:
            if editor is not None:
                raise
        return [(folder.expanduser().absolute() / FOLDER_NAME, editors)], []
    found, failed = find_editors(editor)
    shared: dict[str, list[Editor]] = {}
    for an_editor in found:
        shared.setdefault(os.path.realpath(an_editor.user_extensions), []).append(an_editor)
    return [
        (editors[0].user_extensions.absolute() / FOLDER_NAME, editors)
        for editors in shared.values()
    ], failed


def _install_in(target: Path, editors: Sequence[Editor]) -> Iterator[str]:
    yield _put(target)
    failed: list[SettingError] = []
    pretended: Sequence[Editor | None] = editors or [None]
    for an_editor in pretended:
        try:
            yield _proved(target, an_editor, by_name=len(editors) > 1)
        except SettingError as fault:
            failed.append(fault)
    _complain(failed)
    yield _("Start the editor again: the commands are under Extensions ▸ Dartswing.")


def _put(target: Path) -> str:
    """Copy the files and return what that did."""
    _refuse_what_is_not_ours(target)
    tree, older = installed_tree(), version_in(target)
    words = {"version": version(), "older": older, "folder": target}
    if _holds(target, tree):
        return _("Dartswing {version} was in {folder} already, file by file.").format(**words)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        # Beside the target: a rename is only whole within one file system.
        with tempfile.TemporaryDirectory(
            prefix=f".{FOLDER_NAME}-", dir=target.parent, ignore_cleanup_errors=True
        ) as workshop:
            fresh = Path(workshop, "fresh")
            for name, content in tree.items():
                file = fresh / name
                file.parent.mkdir(parents=True, exist_ok=True)
                file.write_bytes(content)
            _swap(fresh, target, Path(workshop, "older"))
    except OSError as fault:
        raise _folder_fault(target, fault) from fault
    if not older:
        return _("Dartswing {version} is installed in {folder}.").format(**words)
    if older == version():
        return _(
            "Dartswing {version} is installed in {folder}, in place of other files of the same "
            "version."
        ).format(**words)
    return _("Dartswing {version} is installed in {folder}, in place of version {older}.").format(
        **words
    )


def _holds(target: Path, tree: dict[str, bytes]) -> bool:
    try:
        return all((target / name).read_bytes() == content for name, content in tree.items())
    except OSError:
        return False


def _uninstall_from(target: Path, editors: Sequence[Editor]) -> Iterator[str]:
    there = os.path.lexists(target)
    if there:
        _refuse_what_is_not_ours(target)
        try:
            shutil.rmtree(target)
        except OSError as fault:
            raise _folder_fault(target, fault) from fault
        yield _("Dartswing is taken out of {folder}. Start the editor again.").format(
            folder=target.parent
        )
    else:
        yield _("Dartswing is not installed in {folder}: nothing to do.").format(
            folder=target.parent
        )
    for profile in dict.fromkeys(an_editor.user_data for an_editor in editors):
        if os.path.realpath(target.parent) != os.path.realpath(profile / "extensions"):
            continue
        if forget(profile / "preferences.xml"):
            yield _(
                "What its dialogs remembered is taken out of the editor's preferences too. If the "
                "editor is running, it writes that again when it ends: then close it and run "
                "`dartswing uninstall` once more."
            )
        if key_bindings(profile / "keys"):
            yield _(
                "Keys that you gave to its commands are left: take them off under Edit ▸ "
                "Preferences ▸ Interface ▸ Keyboard."
            )


def _refuse_what_is_not_ours(target: Path) -> None:
    if not os.path.lexists(target):
        return
    if not is_ours(target):
        raise SettingError(
            _("{folder} is there already and is not an installed Dartswing.").format(folder=target),
            remedy=_("Move or rename it, then try again: it was left as it is."),
        )
    strangers = foreign_files(target)
    if strangers:
        names = ", ".join(strangers[:3]) + (" …" if len(strangers) > 3 else ".")
        raise SettingError(
            _("{folder} holds what did not come with Dartswing: {names}").format(
                folder=target, names=names
            ),
            remedy=_("Move it elsewhere, then try again: nothing was changed."),
        )


def _swap(fresh: Path, target: Path, older: Path) -> None:
    """Put the fresh copy in the place of an older one, which comes back if that fails."""
    if target.exists():
        os.rename(target, older)
        try:
            os.rename(fresh, target)
        except OSError:
            os.rename(older, target)
            raise
    else:
        os.rename(fresh, target)


def _proved(target: Path, editor: Editor | None, *, by_name: bool) -> str:
    """Run the installed script as the editor does and return what that showed."""
    python = python_of(editor)
    if python is None and editor is not None:
        return _(
            "The Python inside {editor} cannot be reached from outside: Extensions ▸ Dartswing ▸ "
            "Check installation tells whether it runs there."
        ).format(editor=editor.name)
    assert python is not None
    check_interpreter(python)
    script = target / "extension" / "dartswing.py"
    # Beside the target, which an editor in a box of its own can see.
    with tempfile.TemporaryDirectory(
        prefix=f".{FOLDER_NAME}-", dir=target.parent, ignore_cleanup_errors=True
    ) as workshop:
        drawing = Path(workshop, "front.svg")
        drawing.write_text(PROOF_DRAWING, encoding="utf-8")
        answer = run(
            [*python.command, str(script), "--command=move", "--tab=place", str(drawing)],
            variables=python.variables,
            folder=script.parent,
        )
    failed = answer.returncode or answer.stderr.strip()
    fault = last_line(answer.stderr) if failed else what_differs(answer.stdout)
    if fault:
        raise SettingError(
            _(
                "Dartswing was copied to {folder}, but does not run there with {python}: {fault}"
            ).format(folder=target, python=python.name, fault=fault),
            remedy=_("Install the newest Dartswing; if that does not help, report this message."),
        )
    # Compiled once here, so that no start in the editor has to: where that cannot be, Python
    # does it by itself at the first start.
    run([*python.command, "-m", "compileall", "-q", str(target)], variables=python.variables)
    if editor is None:
        return _("Checked there: it moved a dart with this Python ({python}).").format(
            python=python.name
        )
    if by_name:
        return _("Checked there: it moved a dart with the Python of {editor} ({python}).").format(
            editor=editor.name, python=python.name
        )
    return _("Checked there: it moved a dart with the editor's Python ({python}).").format(
        python=python.name
    )


def _folder_fault(target: Path, fault: OSError) -> SettingError:
    return SettingError(
        _("{folder} cannot be changed: {fault}.").format(
            folder=target, fault=fault.strerror or fault
        ),
        remedy=_(
            "Close the editor and see that you may write to the folder, or give another as "
            "`--folder PATH`, then try again."
        ),
    )
