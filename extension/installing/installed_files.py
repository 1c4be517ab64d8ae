"""The files of the extension as the editor's users have them: which they are, and whose."""

from __future__ import annotations

import hashlib
import importlib.metadata
import re
from dataclasses import dataclass
from pathlib import Path

FOLDER_NAME = "dartswing"
"""The folder that holds the extension, inside the editor's folder for extensions."""

LIST_NAME = "dartswing-files.txt"
"""The list that an installed copy carries of its own files: what it names may be removed."""

SUMS_NAME = "dartswing-sha256.txt"
"""A checksum for every other file, as ``sha256sum --check`` reads them."""

_PACKAGES = ("drafting_core", "extension")
_SUFFIXES = {".py", ".inx", ".svg", ".json", ".txt", ".css", ".csv", ".png", ".mo"}
_LIST_HEAD = (
    "Files of this extension, one a line. "  # not read by drafters
    "Uninstalling removes these and nothing else."
)


@dataclass(frozen=True)
class Damage:
    """How an installed copy differs from what was installed, as paths inside it.

    Attributes:
        missing: what is listed and not there.
        changed: what is not as it was. Empty for a copy from before there were checksums.
        foreign: what is there and did not come with it.
        total: how many files are listed.
    """

    missing: list[str]
    changed: list[str]
    foreign: list[str]
    total: int


def home() -> Path:
    """Return the folder of the running copy."""
    return Path(__file__).resolve().parents[2]


def version() -> str:
    """Return the version of the running copy, or "unversioned" where nothing tells it."""
    listed = version_in(home()) or _version_of_the_project()
    if listed:
        return listed
    try:
        return importlib.metadata.version("dartswing")
    except importlib.metadata.PackageNotFoundError:
        return "unversioned"


def version_in(folder: Path) -> str:
    """Return the version of an installed copy, or an empty string where none is installed."""
    try:
        title = (folder / LIST_NAME).read_text(encoding="utf-8").splitlines()[0]
        return title.split()[-1]
    except (OSError, UnicodeDecodeError, IndexError):
        return ""


def installed_tree() -> dict[str, bytes]:
    """Return the files to install: path inside the folder, with forward slashes, to content.

    The order is the same on every machine.
    """
    tree: dict[str, bytes] = {}
    for package in _PACKAGES:
        for file in (home() / package).rglob("*"):
            if file.suffix in _SUFFIXES and file.is_file() and "__pycache__" not in file.parts:
                tree[file.relative_to(home()).as_posix()] = file.read_bytes()
    tree["LICENSE"] = _licence()
    names = sorted([*tree, LIST_NAME, SUMS_NAME])
    title = f"Dartswing {version()}"  # not read by drafters
    tree[LIST_NAME] = "\n".join([title, _LIST_HEAD, *names, ""]).encode("utf-8")
    sums = [f"{_checksum(content)}  {name}\n" for name, content in sorted(tree.items())]
    tree[SUMS_NAME] = "".join(sums).encode("utf-8")
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
    listed = set(_listed(folder))
    return sorted(
        file.relative_to(folder).as_posix()
        for file in folder.rglob("*")
        if not (file.is_dir() and not file.is_symlink())
        and file.relative_to(folder).as_posix() not in listed
        and not (file.suffix == ".pyc" and file.parent.name == "__pycache__")
    )


def damage(folder: Path) -> Damage:
    """Compare an installed copy with its own list and checksums.

    Raises:
        OSError: the list cannot be read.
    """
    listed = _listed(folder)
    missing = [name for name in listed if not (folder / name).is_file()]
    changed = [
        name
        for name, checksum in _checksums(folder).items()
        if (folder / name).is_file() and _checksum((folder / name).read_bytes()) != checksum
    ]
    return Damage(missing, changed, foreign_files(folder), len(listed))


def _version_of_the_project() -> str:
    """Return the version of the sources that run, whatever else may be installed."""
    try:
        text = (home() / "pyproject.toml").read_text(encoding="utf-8")
    except OSError:
        return ""
    found = re.search(r'^name = "dartswing"\nversion = "([^"]+)"', text, re.MULTILINE)
    return found[1] if found else ""


def _listed(folder: Path) -> list[str]:
    lines = (folder / LIST_NAME).read_text(encoding="utf-8").splitlines()[2:]
    return [line for line in lines if line]


def _checksums(folder: Path) -> dict[str, str]:
    try:
        lines = (folder / SUMS_NAME).read_text(encoding="utf-8").splitlines()
    except OSError:
        return {}
    split = (line.partition("  ") for line in lines)
    return {name: checksum for checksum, blanks, name in split if blanks}


def _checksum(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


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
    return (home() / "LICENSE").read_bytes()
