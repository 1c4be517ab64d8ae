"""The command line: ``dartswing COMMAND IN.svg -o OUT.svg``."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn

from drafting_core.errors import DraftingError, PlaceError, SettingError
from drafting_core.target_words import targets_in_words
from drafting_core.words import _
from extension.drafting_effect import job_of, options_of
from extension.editor_effect import unexpected
from extension.jobs import Request
from extension.language import speak_the_drafters_language
from extension.report import terminal_balance
from extension.settings_text import MAKING, read_settings
from extension.svg_document import (
    DocumentError,
    document_bytes,
    read_document,
    write_outputs,
)

# The command line's help is English, as its options are.
_DESCRIPTION = """\
Moves darts on pattern blocks in SVG drawings, finishes them, adds seam allowances and marks.

  dartswing move front.svg --to "side seam:0.35" -o front_moved.svg
"""  # not read by drafters
_EPILOG = (  # not read by drafters
    "Lengths are written like 25.4mm, 2.5cm, 1in, 1/2in or 1 1/4in; a bare number is millimetres. "
    "Sew a trial in cheap cloth first, and measure the printed test square before cutting."
)
_MOVE_SHORT = "move a dart, finish it, add allowances and marks"  # not read by drafters
_MOVE_HELP = """\
Moves the dart of each marked block and adds a layer with the finished piece. The block needs an
outline and an apex (objects with these labels), and a target mark or --to.
"""  # not read by drafters
_ALLOW_SHORT = "finish darts where they are, add allowances and marks"  # not read by drafters
_ALLOW_HELP = """\
Finishes the darts of an outline where they are and adds seam allowances and marks: to a result
that was reshaped by hand (redrawn in place), or to any block (as a new layer).
"""  # not read by drafters
_BALANCE_HELP = """\
Compares seams that are sewn together: two seams marked with the same mate ("seam side seam mate
A"), in one block or in two. Nothing is changed.
"""  # not read by drafters
_COMPARE_SHORT = "draw a block with its dart in several places on one page"  # not read by drafters
_COMPARE_HELP = """\
Draws one block with its dart in each of 2 to 6 places, side by side and reduced to fit on one
page, with intake, fold, and for every cloth whether the excess is kept or trimmed and why. A
sheet for teaching, not for cutting: a new layer to the right of everything that is drawn.
"""  # not read by drafters
_MARK_SHORT = "say what objects are"  # not read by drafters
_MARK_HELP = """\
Says what objects are (block outline, apex, target, seam name...) in their labels and attributes,
and draws a small sign beside each; --role none takes it off.
"""  # not read by drafters
_MARK_BLOCK_SHORT = "mark a block by its shape"  # not read by drafters
_MARK_BLOCK_HELP = """\
Marks closed paths as blocks: finds their darts, proposes the apex, names the seams by shape, and
writes the marks into one layer "Marks", where they can be dragged, renamed or deleted.
"""  # not read by drafters


class _UsageError(Exception):
    """An option whose value makes no sense, whatever the drawing."""


class _Parser(argparse.ArgumentParser):
    def __init__(self, **how: Any) -> None:
        # An option is written in full: "--as" must not be taken for another that starts so.
        super().__init__(**{**how, "allow_abbrev": False})

    def error(self, message: str) -> NoReturn:
        # English, as what argparse says is.
        said = f"{self.prog}: {message}. Try {self.prog} --help."  # not read by drafters
        print(said, file=sys.stderr)
        sys.exit(2)


def parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    top = _Parser(
        prog="dartswing",
        description=_DESCRIPTION,
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = top.add_subparsers(
        dest="command", required=True, metavar="COMMAND", parser_class=_Parser
    )
    for name, short, text in (
        ("move", _MOVE_SHORT, _MOVE_HELP),
        ("allow", _ALLOW_SHORT, _ALLOW_HELP),
        ("compare", _COMPARE_SHORT, _COMPARE_HELP),
    ):
        command = commands.add_parser(name, help=short, description=text, epilog=_EPILOG)
        command.add_argument("input", metavar="IN.svg", help="the drawing; - for standard input")
        command.add_argument(
            "-o",
            "--output",
            required=True,
            metavar="OUT.svg",
            help="where the drawing with its new layer goes; - for standard output",
        )
        for option in options_of(name):
            help_text = option.help
            if option.default:
                help_text += f" (default: {option.default})"  # not read by drafters
            command.add_argument(
                f"--{option.name}",
                choices=option.choices or None,
                nargs="?" if option.is_switch else None,
                const="yes" if option.is_switch else None,
                metavar=None if option.choices else option.name.upper(),
                help=help_text.replace("%", "%%"),
            )
        command.add_argument(
            "--select",
            action="append",
            default=[],
            metavar="ID",
            help="draft only the blocks that this object belongs to, as if it were selected in "
            "the editor (may be given several times)",
        )
        command.add_argument(
            "--report", metavar="FILE", help="write the balance to a file, as JSON"
        )
    compared = commands.add_parser(
        "balance",
        help="compare the sewn lengths and notches of seams that are mates",
        description=_BALANCE_HELP,
    )
    compared.add_argument("input", metavar="IN.svg", help="the drawing; - for standard input")
    compared.add_argument(
        "--report", metavar="FILE", help="write the comparison to a file, as JSON; - for output"
    )
    _add_marking(commands)
    install = commands.add_parser(
        "install",
        help="put the extension into every editor",
        description="Puts Dartswing into the folder for user extensions of every editor that can "
        "be reached and proves that it runs there.",
    )
    uninstall = commands.add_parser(
        "uninstall",
        help="take the extension out of every editor",
        description="Takes Dartswing out of every editor's folder for user extensions.",
    )
    for command in (install, uninstall):
        command.add_argument(
            "--folder",
            metavar="FOLDER",
            help="the folder for user extensions (left out: every editor is asked for its own)",
        )
        command.add_argument("--editor", metavar="PROGRAM", help="only this editor, by its program")
    commands.add_parser(
        "doctor",
        help="check the installation, here and in every editor",
        description="Says which versions are installed and where, here and in every editor that "
        "can be reached, what is missing and how to mend it, and whether a self-made move comes "
        "out as expected. Changes nothing. Exit status 1: something needs attention.",
    )
    package = commands.add_parser(
        "package",
        help="write the extension as a zip for installing by hand",
        description="Writes a zip that is unpacked in the editor's folder for user extensions.",
    )
    package.add_argument(
        "-o",
        "--output",
        default="dartswing.zip",
        metavar="FILE.zip",
        help="the zip to write (default: dartswing.zip)",
    )
    demo = commands.add_parser(
        "demo",
        help="move the dart of the sample front to three places",
        description="Moves the dart of an invented sample front to the tip of the neckline at "
        "centre front and to the side seam, and refinishes it at the waist; writes the three "
        "drawings and says what becomes of the excess and why.",
    )
    demo.add_argument(
        "--folder",
        default=".",
        metavar="FOLDER",
        help="where the three drawings go (default: the current folder)",
    )
    return top


def _add_marking(commands: Any) -> None:
    """Declare the commands that mark."""
    from extension.mark_request import marking_options

    for name, short, text, options in (
        ("mark", _MARK_SHORT, _MARK_HELP, marking_options()),
        ("mark-block", _MARK_BLOCK_SHORT, _MARK_BLOCK_HELP, ()),
    ):
        command = commands.add_parser(name, help=short, description=text, epilog=_EPILOG)
        command.add_argument("input", metavar="IN.svg", help="the drawing; - for standard input")
        command.add_argument(
            "-o",
            "--output",
            required=True,
            metavar="OUT.svg",
            help="where the marked drawing goes; - for standard output",
        )
        for option in options:
            command.add_argument(
                f"--{option.name}",
                choices=option.choices or None,
                nargs="?" if option.is_switch else None,
                const="yes" if option.is_switch else None,
                metavar=None if option.choices else option.name.upper(),
                required=option.name == "role",
                default=option.default,
                help=option.help.replace("%", "%%"),
            )
        command.add_argument(
            "--select",
            action="append",
            default=[],
            metavar="ID",
            help="the object, as if it were selected in the editor (may be given several times)",
        )


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
        raise DocumentError(
            _("the drawing and the report cannot both go to standard output."),
            remedy=_("Give one of them a file."),
        )
    outputs = [(arguments.output, document_bytes(tree))]
    if arguments.report:
        outputs.append((arguments.report, outcome.report_file()))
    write_outputs(outputs)
    words = "\n".join([*outcome.notes, terminal_balance(outcome.drafts)])
    piped = "-" in (arguments.output, arguments.report)
    print(words, file=sys.stderr if piped else sys.stdout)


def _balance(arguments: argparse.Namespace) -> None:
    """Run ``balance``: the drawing is only read."""
    from extension.compare_seams import balance_lines, balance_report, compare_seams

    compared = compare_seams(read_document(arguments.input).getroot())
    if arguments.report:
        report = json.dumps(balance_report(compared), indent=2, ensure_ascii=False) + "\n"
        write_outputs([(arguments.report, report.encode("utf-8"))])
    piped = arguments.report == "-"
    print("\n".join(balance_lines(compared)), file=sys.stderr if piped else sys.stdout)


def _mark(arguments: argparse.Namespace) -> None:
    """Run ``mark`` or ``mark-block``."""
    selection = [identity for part in arguments.select for identity in part.split(",")]
    tree = read_document(arguments.input)
    if arguments.command == "mark":
        from extension.mark_parts import mark_parts
        from extension.mark_request import marking_options, request_from

        values = {option.name: getattr(arguments, option.field) for option in marking_options()}
        told = mark_parts(tree.getroot(), request_from(values, selection))
    else:
        from extension.mark_block import mark_block

        told = mark_block(tree.getroot(), selection)
    write_outputs([(arguments.output, document_bytes(tree))])
    print("\n".join(told), file=sys.stderr if arguments.output == "-" else sys.stdout)


def _install(arguments: argparse.Namespace) -> None:
    from extension.install import install_each

    for done in install_each(_folder(arguments.folder), arguments.editor):
        print(done, flush=True)


def _uninstall(arguments: argparse.Namespace) -> None:
    from extension.install import uninstall_each

    for done in uninstall_each(_folder(arguments.folder), arguments.editor):
        print(done, flush=True)


def _doctor(arguments: argparse.Namespace) -> int:
    from extension.doctor_of_editors import check_everywhere

    text, is_well = check_everywhere()
    print(text)
    return 0 if is_well else 1


def _package(arguments: argparse.Namespace) -> None:
    from extension.install import package

    written = package(Path(arguments.output))
    print(
        _(
            "{file} is written. Unpack it in the editor's folder for user extensions (Edit > "
            "Preferences > System shows it) and start the editor anew."
        ).format(file=written)
    )


def _demo(arguments: argparse.Namespace) -> None:
    from extension.demo import demo

    print(demo(Path(arguments.folder)))


def _folder(text: str | None) -> Path | None:
    return Path(text) if text else None


_COMMANDS: dict[str, Callable[[argparse.Namespace], int | None]] = {
    **dict.fromkeys(("move", "allow", "compare"), _draft),
    "balance": _balance,
    **dict.fromkeys(("mark", "mark-block"), _mark),
    "install": _install,
    "uninstall": _uninstall,
    "doctor": _doctor,
    "package": _package,
    "demo": _demo,
}

if __name__ == "__main__":
    sys.exit(main())
