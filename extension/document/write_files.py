"""Files written whole or not at all, and never two of them to one place."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import sys
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NamedTuple

from lxml import etree

from drafting_core.text.errors import SettingError
from drafting_core.text.words import _
from extension.document.svg_document import DocumentError, document_bytes

#: What stands for standard input and output.
STANDARD = "-"
#: Where the system keeps its devices and what a process has open: nothing there is replaced.
_SYSTEM_FOLDERS = ("/dev/", "/proc/")


class NamedFile(NamedTuple):
    """A file that a command is told of.

    Attributes:
        said: what it is for, as the drafter knows it: ``--report``, say.
        path: its path, or ``-`` for standard input or output.
    """

    said: str
    path: str


def check_targets(written: Sequence[NamedFile], read: Sequence[NamedFile] = ()) -> None:
    """Refuse to write two files to one place, or a file over what is read.

    Links are followed: two names of one file are one place.

    Args:
        written: what is to be written.
        read: what is read and must stay.

    Raises:
        SettingError: naming both.
    """
    for number, file in enumerate(written):
        for other in written[:number]:
            if _is_one_place(file.path, other.path):
                raise SettingError(
                    _("{one} and {other} cannot both go to {target}.").format(
                        one=other.said, other=file.said, target=_spoken(file.path)
                    ),
                    remedy=_("Give one of them a file of its own."),
                )
        for other in read:
            if STANDARD not in (file.path, other.path) and _is_one_place(file.path, other.path):
                raise SettingError(
                    _("{one} would be written over {other}, {target}.").format(
                        one=file.said, other=other.said, target=_spoken(file.path)
                    ),
                    remedy=_("Give it a file of its own."),
                )


def is_standard_output(path: str) -> bool:
    """Tell whether a file is standard output, also under the name of a device."""
    if path == STANDARD:
        return True
    try:
        return os.path.samestat(os.stat(path), os.fstat(sys.stdout.fileno())) and _is_systems(path)
    except (OSError, ValueError):
        return False


def write_document(tree: etree._ElementTree, destination: str) -> None:
    """Write a document to a file, or to standard output for ``-``; whole or not at all.

    Raises:
        DocumentError: if the file cannot be written.
    """
    write_files([(destination, document_bytes(tree))])


def write_files(files: Iterable[tuple[str, bytes]]) -> None:
    """Write several files, or standard output for ``-``: all of them whole, or none.

    Each is written to a temporary file beside it first; only when all are complete are they
    renamed. A link stays a link: the file that it names is written. What is no plain file (a
    pipe, a terminal, a device that takes a stream) is written through, last.

    Raises:
        DocumentError: if one cannot be written; older files then stay as they were.
    """
    streams: list[tuple[str, bytes]] = []
    ready: list[tuple[str, Path]] = []
    try:
        for destination, data in files:
            if destination == STANDARD or _is_stream(destination):
                streams.append((destination, data))
            else:
                path = _followed(destination)
                ready.append((_written_beside(path, data), path))
        for temporary, path in ready:
            _put_in_place(temporary, path)
    finally:
        for temporary, _path in ready:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
    for destination, data in streams:
        _write_through(destination, data)


def _is_one_place(one: str, other: str) -> bool:
    if all(_is_nowhere(path) for path in (one, other)):
        return False
    if STANDARD in (one, other):
        return one == other or (is_standard_output(one) and is_standard_output(other))
    try:
        return os.path.samefile(one, other)
    except OSError:
        # One of them is not there yet.
        return os.path.realpath(one) == os.path.realpath(other)


def _is_nowhere(path: str) -> bool:
    """Tell whether what is written there is meant to be lost."""
    try:
        return os.path.samefile(path, os.devnull)
    except OSError:
        return False


def _spoken(path: str) -> str:
    return _("standard output") if path == STANDARD else f'"{path}"'


def _is_systems(path: str) -> bool:
    return os.path.abspath(path).startswith(_SYSTEM_FOLDERS)


def _is_stream(path: str) -> bool:
    """Tell whether a path is written through: it is no plain file, and takes a stream.

    Raises:
        DocumentError: if it is neither.
    """
    try:
        mode = os.stat(path).st_mode
    except OSError:
        return False
    if stat.S_ISFIFO(mode) or stat.S_ISCHR(mode):
        return True
    if stat.S_ISDIR(mode):
        raise _unwritable(path, IsADirectoryError(errno.EISDIR, _("it is a folder")))
    if not stat.S_ISREG(mode):
        raise _unwritable(path, OSError(errno.ENODEV, _("it is no file but a device")))
    return _is_systems(path)


def _followed(path: str) -> Path:
    """Return the file that a path names, behind all links.

    Raises:
        DocumentError: if the links run in a circle.
    """
    try:
        return Path(path).resolve()
    except (OSError, RuntimeError):
        raise _unwritable(path, OSError(errno.ELOOP, os.strerror(errno.ELOOP))) from None


def _written_beside(path: Path, data: bytes) -> str:
    temporary = ""
    try:
        if path.exists() and not os.access(path, os.W_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        # A name of its own: beside the longest that there can be, there is no longer one.
        handle, temporary = tempfile.mkstemp(dir=path.parent or ".", prefix=".dartswing-")
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.chmod(temporary, path.stat().st_mode if path.exists() else 0o666 & ~_umask())
    except OSError as error:
        with contextlib.suppress(OSError):
            if temporary:
                os.unlink(temporary)
        raise _unwritable(path, error) from None
    return temporary


def _put_in_place(temporary: str, path: Path) -> None:
    try:
        os.replace(temporary, path)
    except OSError as error:
        raise _unwritable(path, error) from None


def _write_through(destination: str, data: bytes) -> None:
    if destination == STANDARD:
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    try:
        with open(destination, "wb") as stream:
            stream.write(data)
    except BrokenPipeError:
        raise
    except OSError as error:
        raise _unwritable(destination, error) from None


def _unwritable(path: str | Path, error: OSError) -> DocumentError:
    return DocumentError(
        _("the file cannot be written ({reason}).").format(reason=error.strerror or error),
        thing=f'"{path}"',
        remedy=_("Check that the folder exists and may be written to."),
    )


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
