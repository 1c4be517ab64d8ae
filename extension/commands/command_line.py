"""The command line: ``dartswing COMMAND IN.svg -o OUT.svg``."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from lxml import etree

from drafting_core.block.target_words import targets_in_words
from drafting_core.text.errors import DraftingError, PlaceError, SettingError
from drafting_core.text.words import _
from extension.commands.command_parser import parser
from extension.commands.drafting_effect import job_of
from extension.commands.editor_effect import unexpected
from extension.document.svg_document import (
    DocumentError,
    document_bytes,
    read_document,
    write_outputs,
)
from extension.drafting.move_and_allow import Request
from extension.drafting.report import terminal_balance
from extension.host.language import speak_the_drafters_language
from extension.options.printing_options import PAPER
from extension.options.settings_text import CLEANING, MAKING, MARKING, UNITS, read_settings

if TYPE_CHECKING:
    from extension.paper.paper import Printed
    from extension.sewing.notes import Notes


class _UsageError(Exception):
    """An option whose value makes no sense, whatever the drawing."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit status: 0 done, 1 not drafted, 2 wrong usage."""
    speak_the_drafters_language()
    try:
        arguments = parser().parse_args(argv)
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else 2
    try:
        return _COMMANDS[arguments.command](arguments) or 0
    except _UsageError as error:
        _fail(
            _("{fault} Try dartswing {command} --help.").format(
                fault=error, command=arguments.command
            )
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


def _request(arguments: argparse.Namespace) -> Request:
    values = vars(arguments)
    given = {
        name: values[name.replace("-", "_")]
        for name in (option.name for option in MAKING)
        if values.get(name.replace("-", "_")) is not None
    }
    return Request(
        given=given,
        to=values.get("to") or "",
        unit=values["unit"] or "mm",
        selection=[identity for part in values["select"] for identity in part.split(",")],
        name=values["name"] or "",
        size=values["size"] or "",
        as_made=values.get("as_made") != "no",
        page=values.get("page") or "A4",
        nest=values.get("nest") == "yes",
        keep_going=values.get("keep_going") == "yes",
    )


def _draft(arguments: argparse.Namespace) -> None:
    """Run a command that drafts: everything is computed before anything is written."""
    request = _request(arguments)
    try:
        read_settings(request.given, request.unit)
        targets_in_words(request.to)
    except (PlaceError, SettingError) as error:
        raise _UsageError(str(error)) from None
    tree = read_document(arguments.input)
    outcome = job_of(arguments.command)(tree.getroot(), request)
    if arguments.report == "-" and arguments.output == "-":
        raise _both_to_output()
    outputs = [(arguments.output, document_bytes(tree))]
    if arguments.report:
        outputs.append((arguments.report, outcome.report_file()))
    write_outputs(outputs)
    words = "\n".join([*outcome.notes, terminal_balance(outcome.drafts)])
    piped = "-" in (arguments.output, arguments.report)
    print(words, file=sys.stderr if piped else sys.stdout)


def _balance(arguments: argparse.Namespace) -> None:
    """Run ``balance``: the drawing is only read."""
    from extension.comparing.compare_seams import balance_lines, balance_report, compare_seams

    compared = compare_seams(read_document(arguments.input).getroot())
    if arguments.report:
        report = json.dumps(balance_report(compared), indent=2, ensure_ascii=False) + "\n"
        write_outputs([(arguments.report, report.encode("utf-8"))])
    piped = arguments.report == "-"
    print("\n".join(balance_lines(compared)), file=sys.stderr if piped else sys.stdout)


def _mark(arguments: argparse.Namespace) -> None:
    """Run ``mark`` or ``mark-block``."""
    selection = _selection(arguments)
    tree = read_document(arguments.input)
    if arguments.command == "mark":
        from extension.marking.mark_parts import mark_parts, request_from

        values = {option.name: getattr(arguments, option.field) for option in (*MARKING, UNITS)}
        told = mark_parts(tree.getroot(), request_from(values, selection))
    else:
        from extension.marking.mark_block import mark_block

        told = mark_block(tree.getroot(), selection)
    write_outputs([(arguments.output, document_bytes(tree))])
    print("\n".join(told), file=sys.stderr if arguments.output == "-" else sys.stdout)


def _clean(arguments: argparse.Namespace) -> None:
    """Run ``clean``: everything is computed before anything is written."""
    from extension.cleaning.clean import clean_up, request_from
    from extension.cleaning.clean_report import clean_lines, report_file
    from extension.cleaning.write_clean import write_clean

    selection = _selection(arguments)
    values = {o.name: getattr(arguments, o.field) for o in (*CLEANING, UNITS)}
    try:
        request = request_from(values, selection)
    except SettingError as error:
        raise _UsageError(str(error)) from None
    if arguments.report == "-" and arguments.output == "-":
        raise _both_to_output()
    tree = read_document(arguments.input)
    done = clean_up(tree.getroot(), request)
    write_clean(tree.getroot(), done)
    outputs = [(arguments.output, document_bytes(tree))]
    if arguments.report:
        outputs.append((arguments.report, report_file(done)))
    write_outputs(outputs)
    piped = "-" in (arguments.output, arguments.report)
    print("\n".join(clean_lines(done)), file=sys.stderr if piped else sys.stdout)


def _paper(arguments: argparse.Namespace) -> None:
    """Run ``paper``: everything is computed before anything is written."""
    from extension.paper.paper import make_paper, request_from

    values = {o.name: getattr(arguments, o.field) for o in (*PAPER, UNITS)}
    try:
        request = request_from(values, _selection(arguments))
    except SettingError as error:
        raise _UsageError(str(error)) from None
    _check_targets(arguments)
    tree = read_document(arguments.input)
    _write_pages(tree, make_paper(tree.getroot(), request), arguments)


def _sew_notes(arguments: argparse.Namespace) -> None:
    """Run ``sew-notes``: everything is computed before anything is written."""
    from extension.sewing.notes import sew_notes

    _check_targets(arguments)
    tree = read_document(arguments.input)
    notes = sew_notes(tree.getroot(), _selection(arguments), arguments.page)
    _write_pages(tree, notes, arguments)


def _check_targets(arguments: argparse.Namespace) -> None:
    if not arguments.output and not arguments.pdf:
        raise _UsageError(_("nothing is written: name a drawing with -o, or a PDF with --pdf."))
    if arguments.output == arguments.pdf:
        raise _UsageError(
            _("the drawing and the PDF cannot both go to {target}.").format(
                target=_("standard output") if arguments.pdf == "-" else arguments.pdf
            )
        )


def _write_pages(
    tree: etree._ElementTree, done: Printed | Notes, arguments: argparse.Namespace
) -> None:
    """Write a drawing with its new pages, their PDF, or both."""
    outputs = [(arguments.output, document_bytes(tree))] if arguments.output else []
    if arguments.pdf:
        from extension.pages.export_pdf import pdf_of

        pdf = pdf_of(tree.getroot(), done.layer, done.mm_per_unit, arguments.pdf)
        outputs.append((arguments.pdf, pdf))
    write_outputs(outputs)
    told = [*done.told]
    if not arguments.pdf:
        from extension.pages.editor_pages import shift_remark

        told += shift_remark(tree.getroot())
    piped = "-" in (arguments.output, arguments.pdf)
    print("\n".join(told), file=sys.stderr if piped else sys.stdout)


def _selection(arguments: argparse.Namespace) -> list[str]:
    return [identity for part in arguments.select for identity in part.split(",")]


def _both_to_output() -> DocumentError:
    return DocumentError(
        _("the drawing and the report cannot both go to standard output."),
        remedy=_("Give one of them a file."),
    )


def _install(arguments: argparse.Namespace) -> None:
    from extension.installing.install import install_each

    for done in install_each(_folder(arguments.folder), arguments.editor):
        print(done, flush=True)


def _uninstall(arguments: argparse.Namespace) -> None:
    from extension.installing.install import uninstall_each

    for done in uninstall_each(_folder(arguments.folder), arguments.editor):
        print(done, flush=True)


def _doctor(arguments: argparse.Namespace) -> int:
    from extension.installing.doctor_of_editors import check_everywhere

    text, is_well = check_everywhere()
    print(text)
    return 0 if is_well else 1


def _package(arguments: argparse.Namespace) -> None:
    from extension.installing.install import package

    written = package(Path(arguments.output))
    print(
        _(
            "{file} is written. Unpack it in the editor's folder for user extensions (Edit > "
            "Preferences > System shows it) and start the editor anew."
        ).format(file=written)
    )


def _demo(arguments: argparse.Namespace) -> None:
    from extension.commands.demo import demo

    print(demo(Path(arguments.folder)))


def _folder(text: str | None) -> Path | None:
    return Path(text) if text else None


_COMMANDS: dict[str, Callable[[argparse.Namespace], int | None]] = {
    **dict.fromkeys(("move", "allow", "compare"), _draft),
    "balance": _balance,
    **dict.fromkeys(("mark", "mark-block"), _mark),
    "clean": _clean,
    "paper": _paper,
    "sew-notes": _sew_notes,
    "install": _install,
    "uninstall": _uninstall,
    "doctor": _doctor,
    "package": _package,
    "demo": _demo,
}

if __name__ == "__main__":
    sys.exit(main())
