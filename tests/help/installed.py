"""Installing and uninstalling everywhere, with all that is said of it in one text."""

from __future__ import annotations

from pathlib import Path

from extension.installing.install import install_each, uninstall_each


def install(folder: Path | None = None, editor: str | None = None) -> str:
    """Install, and return what was done, a line for each place."""
    return "\n".join(install_each(folder, editor))


def uninstall(folder: Path | None = None, editor: str | None = None) -> str:
    """Uninstall, and return what was done, a line for each place."""
    return "\n".join(uninstall_each(folder, editor))
