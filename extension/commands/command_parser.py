"""What the command line understands, made of the table of commands."""

from __future__ import annotations

import argparse
import sys
from typing import Any, NoReturn

from drafting_core.model.seam_names import SEAMS_IN_ORDER, seam_kind
from extension.commands.asked import Asked
from extension.commands.command_table import COMMANDS, Command, command_named
from extension.document.write_files import STANDARD
from extension.options.options import Option

# The command line's help is English, as its options are.
_DESCRIPTION = """\
Moves darts on pattern blocks in SVG drawings, finishes them, adds seam allowances and marks.

  dartswing move front.svg --to "side seam:0.35" -o front_moved.svg
"""  # not read by drafters
_EPILOG = (  # not read by drafters
    "Lengths are written like 25.4mm, 2.5cm, 1in, 1/2in or 1 1/4in; a bare number is millimetres. "
    "Sew a trial in cheap cloth first, and measure the printed test square before cutting."
)


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
    for command in COMMANDS:
        on_drawing = isinstance(command, Command)
        made = commands.add_parser(
            command.name,
            help=command.help,
            description=command.text,
            epilog=_EPILOG if on_drawing else None,
        )
        if on_drawing:
            made.add_argument("input", metavar="IN.svg", help="the drawing; - for standard input")
        for option in command.options:
            _add(made, option)
    return top


def _add(to: argparse.ArgumentParser, option: Option) -> None:
    """Declare an option. Its default is only told here: what is not typed is not given."""
    told = option.help
    if option.is_required:
        told += " (required)"  # not read by drafters
    elif option.default:
        told += f" (default: {option.default})"  # not read by drafters
    names = [f"--{option.name}", *([f"-{option.letter}"] if option.letter else [])]
    value = option.value or (None if option.choices else option.name.upper())
    rest: dict[str, Any] = {}
    if option.may_repeat:
        rest["action"] = "append"
    else:
        rest["choices"] = option.choices or None
    if option.is_switch:
        rest |= {"nargs": "?", "const": "yes"}
    if set(SEAMS_IN_ORDER) <= set(option.choices):
        # A seam has its name in any language and spelling, as in a place in words.
        rest["type"] = _seam
    to.add_argument(
        *reversed(names),
        metavar=value,
        required=option.is_required,
        help=told.replace("%", "%%"),
        **rest,
    )


def _seam(text: str) -> str:
    kind = seam_kind(text)
    return kind if kind in SEAMS_IN_ORDER else text


def asked_for(arguments: argparse.Namespace) -> Asked:
    """Return what a command line asks for."""
    options = command_named(arguments.command).options
    typed = {option.name: getattr(arguments, option.field) for option in options}
    selection = [
        identity for part in typed.pop("select", None) or () for identity in part.split(",")
    ]
    drawing = getattr(arguments, "input", "")
    return Asked(
        options,
        {name: text for name, text in typed.items() if text is not None},
        selection,
        drawing="" if drawing == STANDARD else drawing,
    )
