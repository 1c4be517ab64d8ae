"""The command line: ``dartswing COMMAND IN.svg -o OUT.svg``."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from lxml import etree

from drafting_core.text.errors import DraftingError, PlaceError, SettingError
from drafting_core.text.lengths import measuring_in
from drafting_core.text.words import _
from extension.commands.asked import Asked, Pages, carried_out
from extension.commands.command_parser import asked_for, parser
from extension.commands.command_table import Command, command_named
from extension.commands.unexpected import unexpected
from extension.document.svg_document import document_bytes
from extension.document.write_files import (
    NamedFile,
    check_targets,
    is_standard_output,
    write_files,
)
from extension.host.language import speak_the_drafters_language

#: The options that name a file to be written.
_WRITTEN = ("output", "report", "pdf")


class _UsageError(Exception):
    """An option whose value makes no sense, whatever the drawing."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit status: 0 done, 1 not drafted, 2 wrong usage."""
    speak_the_drafters_language()
    try:
        arguments = parser().parse_args(argv)
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else 2
    command, asked = command_named(arguments.command), asked_for(arguments)
    try:
        if isinstance(command, Command):
            with measuring_in(asked.unit):
                _run_on_drawing(command, asked, arguments.input)
            return 0
        return command.job(asked)
    except _UsageError as error:
        _fail(
            _("{fault} Try dartswing {command} --help.").format(fault=error, command=command.name)
        )
        return 2
    except DraftingError as error:
        return _fail(str(error))
    except BrokenPipeError:
        # The reader of a pipe went away: nothing is left to say to anyone.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except RecursionError:
        return _fail(_("The drawing is nested too deeply. Ungroup some of its groups."))
    except Exception as fault:  # a drafter is never shown a traceback
        return _fail(unexpected(fault))


def _fail(message: str) -> int:
    print(message[:1].upper() + message[1:], file=sys.stderr)
    return 1


def _run_on_drawing(command: Command, asked: Asked, drawing: str) -> None:
    """Do a command: all is checked before anything is read, and computed before it is written."""
    targets = {
        option.name: asked.text(option.name)
        for option in command.options
        if option.name in _WRITTEN and asked.text(option.name)
    }
    try:
        run = command.job(asked)
        _check_files(command, targets, drawing)
    except (PlaceError, SettingError) as error:
        raise _UsageError(str(error)) from None
    try:
        tree = command.read(asked, drawing)
    except SettingError as error:
        raise _UsageError(str(error)) from None
    root = tree.getroot()
    done = carried_out(run, root)
    files = []
    advice: list[str] = []
    if "output" in targets:
        files.append((targets["output"], document_bytes(tree)))
    if "report" in targets and done.report is not None:
        files.append((targets["report"], done.report()))
    if "pdf" in targets and done.pages is not None:
        pdf, advice = _pdf(root, done.pages, targets["pdf"])
        files.append((targets["pdf"], pdf))
    told = "\n".join([*done.told(), *advice])
    piped = any(is_standard_output(path) for path in targets.values())
    write_files(files)
    print(told, file=sys.stderr if piped else sys.stdout)


def _pdf(root: etree._Element, pages: Pages, target: str) -> tuple[bytes, list[str]]:
    """Return pages as a PDF, with title and layers where they can be had, and else how."""
    from extension.pages.export_pdf import pdf_of
    from extension.pages.size_layers import has_library, layered_pdf, library_advice

    drawn = (root, pages.layer, pages.mm_per_unit)
    if has_library():
        return layered_pdf(*drawn, pages.title, target), []
    return pdf_of(*drawn, target), [library_advice()]


def _check_files(command: Command, targets: dict[str, str], drawing: str) -> None:
    """Refuse files that would be written over one another, or over the drawing.

    The drawing itself may be named as output: it comes out with its new layer.

    Raises:
        SettingError: saying which.
    """
    if command.writes_drawing and not targets.keys() & {"output", "pdf"}:
        raise SettingError(
            _("nothing is written."), remedy=_("Name a drawing with -o, or a PDF with --pdf.")
        )
    takes_pdf = any(option.name == "pdf" for option in command.options)
    if takes_pdf and targets.get("output", "").lower().endswith(".pdf"):
        raise SettingError(
            _("-o writes a drawing, and no PDF."), remedy=_("Name the PDF with --pdf.")
        )
    said = {
        "output": _("the drawing"),
        "report": _("the report"),
        "pdf": _("the PDF"),
    }
    written = [NamedFile(said[name], path) for name, path in targets.items()]
    beside = [NamedFile(said[name], path) for name, path in targets.items() if name != "output"]
    check_targets(written)
    check_targets(beside, [NamedFile(_("the drawing that is read"), drawing)])


if __name__ == "__main__":
    sys.exit(main())
