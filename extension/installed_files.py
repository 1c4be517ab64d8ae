"""The files of the extension as the editor's users have them: which they are, and whose."""

from __future__ import annotations

import importlib.metadata
from pathlib import Path

FOLDER_NAME = "dartswing"
"""The folder that holds the extension, inside the editor's folder for extensions."""

LIST_NAME = "dartswing-files.txt"
"""The list that an installed copy carries of its own files: what it names may be removed."""

_PACKAGES = ("drafting_core", "extension")
_SUFFIXES = {".py", ".inx", ".svg", ".json", ".txt", ".css", ".csv", ".png", ".mo"}
_LIST_HEAD = "Files of this extension, one a line. Uninstalling removes these and nothing else."


def version() -> str:
    """Return the version of the running copy, or "unversioned" where nothing tells it."""
    home = _home()
    try:
        title = (home / LIST_NAME).read_text(encoding="utf-8").splitlines()[0]
        return title.split()[-1]
    except (OSError, IndexError):
        pass
    try:
        return importlib.metadata.version("dartswing")
    except importlib.metadata.PackageNotFoundError:
        return "unversioned"


def installed_tree() -> dict[str, bytes]:
    """Return the files to install: path inside the folder, with forward slashes, to content.

    The order is the same on every machine.
    """
    home = _home()
    tree: dict[str, bytes] = {}
    for package in _PACKAGES:
        for file in (home / package).rglob("*"):
            if file.suffix in _SUFFIXES and file.is_file() and "__pycache__" not in file.parts:
                tree[file.relative_to(home).as_posix()] = file.read_bytes()
    tree["LICENSE"] = _licence()
    listed = "\n".join([f"Dartswing {version()}", _LIST_HEAD, *sorted([*tree, LIST_NAME]), ""])
    tree[LIST_NAME] = listed.encode("utf-8")
    return dict(sorted(tree.items()))


def is_ours(folder: Path) -> bool:
    """Tell whether a folder is an installed copy of this extension."""
    try:
        title = (folder / LIST_NAME).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return False
    return not folder.is_symlink() and title.startswith("Dartswing ")


def foreign_files(folder: Path) -> list[str]:
    """Return what lies in an installed copy and did not come with it, as paths inside it."""
    listed = (folder / LIST_NAME).read_text(encoding="utf-8").splitlines()[2:]
    return sorted(
        file.relative_to(folder).as_posix()
        for file in folder.rglob("*")
        if not (file.is_dir() and not file.is_symlink())
        and file.relative_to(folder).as_posix() not in listed
        and not (file.suffix == ".pyc" and file.parent.name == "__pycache__")
    )


def _home() -> Path:
    return Path(__file__).resolve().parent.parent


def _licence() -> bytes:
    """Return the licence's text, which a package manager keeps with the package's description.

    That comes first: what lies beside the packages may then be some other package's licence.
    """
    try:
        for file in importlib.metadata.files("dartswing") or []:
            if file.name == "LICENSE":
                return file.read_binary()
    except (importlib.metadata.PackageNotFoundError, OSError):
        pass
    return (_home() / "LICENSE").read_bytes()
