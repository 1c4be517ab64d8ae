"""What many tests look at is made once, for all processes that run tests side by side."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from filelock import FileLock


def shared_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the temporary folder of this run, the same one for all its processes."""
    folder = tmp_path_factory.getbasetemp()
    return folder.parent if os.environ.get("PYTEST_XDIST_WORKER") else folder


def made_once(folder: Path, make: Callable[[Path], object]) -> Path:
    """Return a folder with something in it; the first process that asks makes it.

    Args:
        folder: where it is to lie; what is next to it is left alone but for a lock.
        make: fills the empty folder that it is given. That folder is renamed afterwards: what is
            written may hold no path of it. Where it fails, the next one who asks tries again.
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    with FileLock(folder.with_name(f"{folder.name}.lock")):
        if not folder.exists():
            unfinished = folder.with_name(f"{folder.name}.unfinished")
            shutil.rmtree(unfinished, ignore_errors=True)
            unfinished.mkdir()
            make(unfinished)
            unfinished.rename(folder)
    return folder
