"""What the command line understands: its commands, their options and their help."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import Any, NoReturn

from extension.commands.drafting_effect import options_of
from extension.options.printing_options import PAPER, SEWING
from extension.options.settings_text import CLEANING, MARKING, UNITS, Option

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
_CLEAN_SHORT = "make a clean block of a traced scan"  # not read by drafters
_CLEAN_HELP = """\
Makes of traced lines the block that move wants: true to scale, upright, straight seams straight,
curves smooth, with its dart, apex and seam names, on a layer of its own. The trace stays as it is.
"""  # not read by drafters


_PAPER_SHORT = "print finished pieces on pages of true size"  # not read by drafters
_PAPER_HELP = """\
Lays finished pieces (results of move or allow) on pages of true size, divided among sheets that
are joined by marks or on a roll: pages of the editor on a layer of their own, and a PDF.
"""  # not read by drafters
_SEWING_SHORT = "a page that tells how to sew each finished piece"  # not read by drafters
_SEWING_HELP = """\
Draws a page for every finished piece: its darts numbered, for each where it is, which way it is
folded and why, whether it is trimmed and why, and pictures of its own steps of sewing: pages of the
editor on a layer of their own, and a PDF.
"""  # not read by drafters


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
    _add_cleaning(commands)
    _add_printing(commands)
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
    for name, short, text, options in (
        ("mark", _MARK_SHORT, _MARK_HELP, (*MARKING, UNITS)),
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


def _add_cleaning(commands: Any) -> None:
    """Declare the command that cleans up a scan."""
    command = commands.add_parser(
        "clean", help=_CLEAN_SHORT, description=_CLEAN_HELP, epilog=_EPILOG
    )
    command.add_argument("input", metavar="IN.svg", help="the drawing; - for standard input")
    command.add_argument(
        "-o",
        "--output",
        required=True,
        metavar="OUT.svg",
        help="where the drawing with its clean block goes; - for standard output",
    )
    for option in (*CLEANING, UNITS):
        command.add_argument(
            f"--{option.name}",
            choices=option.choices or None,
            default=option.default,
            metavar=None if option.choices else option.name.upper(),
            help=f"{option.help} (default: {option.default})".replace("%", "%%"),
        )
    command.add_argument(
        "--select",
        action="append",
        default=[],
        metavar="ID",
        help="clean up only this object, as if it were selected in the editor (may be given "
        "several times)",
    )
    command.add_argument("--report", metavar="FILE", help="write the report to a file, as JSON")


def _add_printing(commands: Any) -> None:
    """Declare the commands that print."""
    for name, short, text, options in (
        ("paper", _PAPER_SHORT, _PAPER_HELP, (*PAPER, UNITS)),
        ("sew-notes", _SEWING_SHORT, _SEWING_HELP, SEWING),
    ):
        command = commands.add_parser(name, help=short, description=text, epilog=_EPILOG)
        _add_pages(command, options)


def _add_pages(command: argparse.ArgumentParser, options: Sequence[Option]) -> None:
    command.add_argument("input", metavar="IN.svg", help="the drawing; - for standard input")
    command.add_argument(
        "-o",
        "--output",
        metavar="OUT.svg",
        help="where the drawing with its pages goes; - for standard output (may be left out "
        "where a PDF is written)",
    )
    for option in options:
        help_text = option.help
        if option.default:
            help_text += f" (default: {option.default})"  # not read by drafters
        command.add_argument(
            f"--{option.name}",
            choices=option.choices or None,
            nargs="?" if option.is_switch else None,
            const="yes" if option.is_switch else None,
            default=option.default,
            metavar=None if option.choices else option.name.upper(),
            help=help_text.replace("%", "%%"),
        )
    command.add_argument(
        "--select",
        action="append",
        default=[],
        metavar="ID",
        help="print only the piece that this object belongs to, as if it were selected in the "
        "editor (may be given several times)",
    )
