"""The table of commands: what the terminal, the dialogs, the help and the tests all read.

A new command is a row here, a job in `extension.commands.jobs`, a folder for what it does, and an
``.inx`` file for its dialog.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from lxml import etree

from extension.commands import jobs, machine_jobs
from extension.commands.asked import Asked, Run
from extension.options.options import (
    ARTWORK,
    AS_MADE,
    CLEANING,
    COMPARING,
    DPI,
    DRAWN,
    FINISHING,
    KEEP_GOING,
    MARKING,
    MOVING,
    NAMING,
    PAPER,
    PICKED,
    PLACE,
    SEWING,
    TOLD_IN,
    TOLD_IN_THE_DRAWINGS,
    UNITS,
    Option,
    output,
    report,
    select,
)


class Command(NamedTuple):
    """A command on a drawing, at the terminal and in the editor.

    Attributes:
        name: its name; in the editor its id is ``dartswing.`` and this.
        help: what it does, in a line.
        text: what its own help says first.
        options: what it can be asked for, in the order of its dialog.
        job: takes what is asked and returns what is done to a document.
        first_tab: the tab that its dialog shows first; empty where it has no tabs.
        read: reads what is named at the terminal as the drawing.
    """

    name: str
    help: str
    text: str
    options: tuple[Option, ...]
    job: Callable[[Asked], Run]
    first_tab: str = ""
    read: Callable[[Asked, str], etree._ElementTree] = jobs.open_drawing

    @property
    def writes_drawing(self) -> bool:
        """Whether a drawing comes out of it at the terminal."""
        return any(option.name == "output" for option in self.options)


class MachineCommand(NamedTuple):
    """A command of the terminal that is not about a drawing.

    Attributes:
        name: its name.
        help: what it does, in a line.
        text: what its own help says first.
        options: what it can be asked for.
        job: takes what is asked, does it, and returns the exit status.
    """

    name: str
    help: str
    text: str
    options: tuple[Option, ...]
    job: Callable[[Asked], int]


_LAYER = "where the drawing with its new layer goes; - for standard output"  # not read by drafters
_DRAFTED = select(  # not read by drafters
    "draft only the blocks that this object belongs to, as if it were selected in the editor "
    "(may be given several times; left out: all)"
)
_PRINTED = (  # not read by drafters
    output(
        "where the drawing with its pages goes; - for standard output (may be left out where a "
        "PDF is written)",
        is_required=False,
    ),
    select(
        "print only the piece that this object belongs to, as if it were selected in the editor "
        "(may be given several times; left out: all)"
    ),
)
_BALANCE = "write the balance to a file, as JSON"  # not read by drafters
_FOLDER = Option(
    "folder",
    "",
    "the folder for user extensions (left out: every editor is asked for its own)",
    value="FOLDER",
)
_EDITOR = Option(
    "editor", "", "only this editor, by its program (left out: every one)", value="PROGRAM"
)

# The command line's help is English, as its options are.
COMMANDS: tuple[Command | MachineCommand, ...] = (  # not read by drafters
    Command(
        "move",
        "move a dart, finish it, add allowances and marks",
        "Moves the dart of each marked block and adds a layer with the finished piece. The block "
        "needs an outline and an apex (objects with these labels), and a target mark or --to.",
        (
            *(*PICKED, *MOVING, *DRAWN, PLACE, KEEP_GOING, *FINISHING, *NAMING, *ARTWORK, UNITS),
            *(output(_LAYER), _DRAFTED, report(_BALANCE)),
        ),
        jobs.move_job,
        "place",
    ),
    Command(
        "allow",
        "finish darts where they are, add allowances and marks",
        "Finishes the darts of an outline where they are and adds seam allowances and marks: to a "
        "result that was reshaped by hand (redrawn in place), or to any block (as a new layer).",
        (
            *(AS_MADE, *DRAWN, PLACE, KEEP_GOING, *FINISHING, *NAMING, *ARTWORK, UNITS),
            *(output(_LAYER), _DRAFTED, report(_BALANCE)),
        ),
        jobs.allow_job,
        "dart",
    ),
    Command(
        "compare",
        "draw a block with its dart in several places on one page",
        "Draws one block with its dart in each of 2 to 6 places, side by side and reduced to fit "
        "on one page, with intake, fold, and for every cloth whether the excess is kept or trimmed "
        "and why. A sheet for teaching, not for cutting: a new layer to the right of everything "
        "that is drawn.",
        (
            *(*COMPARING, *DRAWN, *FINISHING, *NAMING, UNITS),
            *(output(_LAYER), _DRAFTED, report(_BALANCE, in_dialog=False)),
        ),
        jobs.compare_job,
        "place",
    ),
    Command(
        "balance",
        "compare the sewn lengths and notches of seams that are mates",
        "Compares seams that are sewn together: two seams marked with the same mate "
        '("seam side seam mate A"), in one block or in two. Nothing is changed.',
        (
            TOLD_IN_THE_DRAWINGS,
            report("write the comparison to a file, as JSON; - for output", in_dialog=False),
        ),
        jobs.balance_job,
    ),
    Command(
        "mark",
        "say what objects are",
        "Says what objects are (block outline, apex, target, seam name...) in their labels and "
        "attributes, and draws a small sign beside each; --role none takes it off.",
        (
            *(*MARKING, UNITS),
            output("where the marked drawing goes; - for standard output"),
            select(
                "the object, as if it were selected in the editor (may be given several times; "
                "left out: nothing is selected)"
            ),
        ),
        jobs.mark_job,
        "part",
    ),
    Command(
        "mark-block",
        "mark a block by its shape",
        "Marks closed paths as blocks: finds their darts, proposes the apex, names the seams by "
        'shape, and writes the marks into one layer "Marks", where they can be dragged, renamed '
        "or deleted.",
        (
            TOLD_IN_THE_DRAWINGS,
            output("where the marked drawing goes; - for standard output"),
            select(
                "the block's outline, as if it were selected in the editor (may be given several "
                "times; left out: nothing is selected)"
            ),
        ),
        jobs.mark_block_job,
    ),
    Command(
        "clean",
        "make a clean block of a scan",
        "Makes of traced lines, or of a scan's picture (PNG, JPEG, TIFF or BMP, where potrace is "
        "installed), the block that move wants: true to scale, upright, straight seams straight, "
        "curves smooth, with its dart, apex and seam names, on a layer of its own. The trace, or "
        "the picture, stays as it is.",
        (
            *(*CLEANING, DPI, UNITS),
            output("where the drawing with its clean block goes; - for standard output"),
            select(
                "clean up only this object, as if it were selected in the editor (may be given "
                "several times; left out: all)"
            ),
            report("write the report to a file, as JSON"),
        ),
        jobs.clean_job,
        "line",
        jobs.open_scan,
    ),
    Command(
        "paper",
        "print finished pieces on pages of true size",
        "Lays finished pieces (results of move or allow) on pages of true size, divided among "
        "sheets that are joined by marks or on a roll: pages of the editor on a layer of their "
        "own, and a PDF.",
        (*PAPER, UNITS, *_PRINTED),
        jobs.paper_job,
        "paper",
    ),
    Command(
        "sew-notes",
        "a page that tells how to sew each finished piece",
        "Draws a page for every finished piece: its darts numbered, for each where it is, which "
        "way it is folded and why, whether it is trimmed and why, and pictures of its own steps of "
        "sewing: pages of the editor on a layer of their own, and a PDF.",
        (*SEWING, TOLD_IN, *_PRINTED),
        jobs.sew_notes_job,
        "page",
    ),
    MachineCommand(
        "install",
        "put the extension into every editor",
        "Puts Dartswing into the folder for user extensions of every editor that can be reached "
        "and proves that it runs there.",
        (_FOLDER, _EDITOR),
        machine_jobs.install_job,
    ),
    MachineCommand(
        "uninstall",
        "take the extension out of every editor",
        "Takes Dartswing out of every editor's folder for user extensions.",
        (_FOLDER, _EDITOR),
        machine_jobs.uninstall_job,
    ),
    MachineCommand(
        "doctor",
        "check the installation, here and in every editor",
        "Says which versions are installed and where, here and in every editor that can be "
        "reached, what is missing and how to mend it, and whether a self-made move comes out as "
        "expected. Changes nothing. Exit status 1: something needs attention.",
        (),
        machine_jobs.doctor_job,
    ),
    MachineCommand(
        "package",
        "write the extension as a zip for installing by hand",
        "Writes a zip that is unpacked in the editor's folder for user extensions.",
        (Option("output", "dartswing.zip", "the zip to write", letter="o", value="FILE.zip"),),
        machine_jobs.package_job,
    ),
    MachineCommand(
        "demo",
        "move the dart of the sample front to three places",
        "Moves the dart of an invented sample front to the tip of the neckline at centre front "
        "and to the side seam, and refinishes it at the waist; writes the three drawings and says "
        "what becomes of the excess and why.",
        (Option("folder", ".", "where the three drawings go", value="FOLDER"),),
        machine_jobs.demo_job,
    ),
)


def command_named(name: str) -> Command | MachineCommand:
    """Return a command.

    Raises:
        KeyError: if there is none of that name.
    """
    return {command.name: command for command in COMMANDS}[name]
