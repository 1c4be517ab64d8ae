"""The jobs of commands that are not about a drawing: installing, checking, packing, showing.

A job is called with what is asked, prints what it does and returns the exit status.
"""

from __future__ import annotations

from pathlib import Path

from drafting_core.text.words import _
from extension.commands.asked import Asked


def install_job(asked: Asked) -> int:
    """Put the extension into every editor.

    Raises:
        DraftingError: if an editor, its Python or a folder is not as needed.
    """
    from extension.installing.install import install_each

    for done in install_each(_folder(asked), asked.text("editor") or None):
        print(done, flush=True)
    return 0


def uninstall_job(asked: Asked) -> int:
    """Take the extension out of every editor.

    Raises:
        DraftingError: if it cannot be taken out.
    """
    from extension.installing.install import uninstall_each

    for done in uninstall_each(_folder(asked), asked.text("editor") or None):
        print(done, flush=True)
    return 0


def doctor_job(_asked: Asked) -> int:
    """Check the installation, here and in every editor; 1 where something needs attention."""
    from extension.installing.doctor_of_editors import check_everywhere

    text, is_well = check_everywhere()
    print(text)
    return 0 if is_well else 1


def package_job(asked: Asked) -> int:
    """Write the extension as a zip.

    Raises:
        DraftingError: if it cannot be written.
    """
    from extension.installing.install import package

    written = package(Path(asked.text("output")))
    print(
        _(
            "{file} is written. Unpack it in the editor's folder for user extensions (Edit > "
            "Preferences > System shows it) and start the editor anew."
        ).format(file=written)
    )
    return 0


def demo_job(asked: Asked) -> int:
    """Move the dart of the sample front to three places.

    Raises:
        DraftingError: if a drawing cannot be read or written.
    """
    from extension.commands.demo import demo

    print(demo(Path(asked.text("folder"))))
    return 0


def _folder(asked: Asked) -> Path | None:
    return Path(asked.text("folder")) if asked.text("folder") else None
