"""Putting the extension into the editor, taking it out, and packing it for others."""

from __future__ import annotations

import contextlib
import os
import shutil
import sys
import tempfile
import zipfile
from pathlib import Path

from drafting_core.errors import SettingError
from extension.editor_python import (
    Editor,
    check_interpreter,
    environment,
    find_editor,
    interpreter,
    last_line,
    run,
)
from extension.installed_files import (
    FOLDER_NAME,
    foreign_files,
    installed_tree,
    is_ours,
    version,
)
from extension.proof_drawing import PROOF_DRAWING, has_result

_ZIP_TIME = (2020, 1, 1, 0, 0, 0)
"""One time for every entry, so that the same files give the same zip, byte by byte."""


def user_extensions_folder(editor: str | None = None) -> Path:
    """Return the editor's folder for the user's extensions, which the editor is asked for.

    Args:
        editor: the editor's program; None to look in the usual places.

    Raises:
        SettingError: no editor there, or one that does not answer or is too old.
    """
    return find_editor(editor).user_extensions


def install(folder: Path | None = None, editor: str | None = None) -> str:
    """Put the extension into a folder for extensions and prove that it runs there.

    An older version is replaced as a whole or not at all.

    Args:
        folder: the folder for extensions; None for the one that the editor names.
        editor: the editor's program; None to look in the usual places.

    Returns:
        What was done, in plain words.

    Raises:
        SettingError: the editor, its Python or the folder is not as needed; says what to do.
    """
    found = _editor_if_needed(folder, editor)
    target = _target(folder, found)
    _refuse_what_is_not_ours(target)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        # Beside the target: a rename is only whole within one file system.
        with tempfile.TemporaryDirectory(
            prefix=f".{FOLDER_NAME}-", dir=target.parent, ignore_cleanup_errors=True
        ) as workshop:
            fresh = Path(workshop, "fresh")
            for name, content in installed_tree().items():
                file = fresh / name
                file.parent.mkdir(parents=True, exist_ok=True)
                file.write_bytes(content)
            _swap(fresh, target, Path(workshop, "older"))
    except OSError as fault:
        raise _folder_fault(target, fault) from fault
    python = _prove(target, found)
    whose = "the editor's" if found else "this"
    return (
        f"Dartswing {version()} is installed in {target}. Checked there: it moved a dart with "
        f"{whose} Python ({python}). Start the editor again: the commands are under Extensions "
        "▸ Dartswing."
    )


def uninstall(folder: Path | None = None, editor: str | None = None) -> str:
    """Take the extension out of a folder for extensions.

    Args:
        folder: the folder for extensions; None for the one that the editor names.
        editor: the editor's program; None to look in the usual places.

    Returns:
        What was done, in plain words.

    Raises:
        SettingError: the editor is not found, or the folder holds what is not Dartswing's.
    """
    found = None if folder else find_editor(editor)
    target = _target(folder, found)
    if not os.path.lexists(target):
        return f"Dartswing is not installed in {target.parent}: nothing to do."
    _refuse_what_is_not_ours(target)
    try:
        shutil.rmtree(target)
    except OSError as fault:
        raise _folder_fault(target, fault) from fault
    return f"Dartswing is taken out of {target.parent}. Start the editor again."


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
            f"the package {zip_path} cannot be written: {fault.strerror}.",
            remedy="Name a file in a folder that you may write to.",
        ) from fault
    return zip_path


def _editor_if_needed(folder: Path | None, editor: str | None) -> Editor | None:
    """Return the editor; where a folder is given, the editor may be out of reach."""
    try:
        return find_editor(editor)
    except SettingError:
        if folder is None or editor is not None:
            raise
        return None


def _target(folder: Path | None, editor: Editor | None) -> Path:
    if folder is not None:
        return folder.expanduser().absolute() / FOLDER_NAME
    if editor is None:
        raise SettingError(
            "no folder for extensions is known.",
            remedy="Give it as `--folder PATH`.",
        )
    return editor.user_extensions.absolute() / FOLDER_NAME


def _refuse_what_is_not_ours(target: Path) -> None:
    if not os.path.lexists(target):
        return
    if not is_ours(target):
        raise SettingError(
            f"{target} is there already and is not an installed Dartswing.",
            remedy="Move or rename it, then try again: it was left as it is.",
        )
    strangers = foreign_files(target)
    if strangers:
        raise SettingError(
            f"{target} holds what did not come with Dartswing: {', '.join(strangers[:3])}"
            f"{' …' if len(strangers) > 3 else '.'}",
            remedy="Move it elsewhere, then try again: nothing was changed.",
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


def _prove(target: Path, editor: Editor | None) -> Path:
    """Run the installed script as the editor does and return the Python that ran it."""
    variables = environment(editor)
    python = interpreter(editor) if editor else Path(sys.executable)
    check_interpreter(python, variables)
    script = target / "extension" / "dartswing_move.py"
    with tempfile.TemporaryDirectory(prefix=f"{FOLDER_NAME}-") as workshop:
        drawing = Path(workshop, "front.svg")
        drawing.write_text(PROOF_DRAWING, encoding="utf-8")
        answer = run(
            [str(python), script.name, "--tab=place", str(drawing)],
            variables=variables,
            folder=script.parent,
        )
    if answer.returncode or answer.stderr.strip() or not has_result(answer.stdout):
        raise SettingError(
            f"Dartswing was copied to {target}, but does not run there with {python}: "
            f"{last_line(answer.stderr)}",
            remedy="Install the newest Dartswing; if that does not help, report this message.",
        )
    # Compiled once here, so that no start in the editor has to: where that cannot be, Python
    # does it by itself at the first start.
    run([str(python), "-m", "compileall", "-q", str(target)], variables=variables)
    return python


def _folder_fault(target: Path, fault: OSError) -> SettingError:
    return SettingError(
        f"{target} cannot be changed: {fault.strerror or fault}.",
        remedy="Close the editor and see that you may write to the folder, or give another as "
        "`--folder PATH`, then try again.",
    )
