"""Every option of every command, as the terminal and the dialogs both offer it.

A row of the table of commands (`extension.commands.command_table`) takes its options from here.
"""

from __future__ import annotations

from typing import NamedTuple

from drafting_core.model.allowances import DEFAULT_ALLOWANCE_TEXT
from drafting_core.model.piece import MADE_AS
from drafting_core.model.seam_names import SEAMS_IN_ORDER
from drafting_core.model.settings import CLOTHS, EXCESSES, FILLS, FOLDS
from drafting_core.text.paper_sizes import NAMED


class Option(NamedTuple):
    """One setting of the drafter's.

    Attributes:
        name: its name on the command line, without the dashes before it.
        default: its default, as text; an empty one is told of in the help's own words.
        help: what it does, in plain words.
        choices: the words that it takes, or none for a length, a number or a name.
        is_number: whether it is a plain number.
        is_switch: whether it is ``yes`` or ``no``; on the command line its name alone says yes.
        in_dialog: whether the dialog has it too; the editor itself answers some others.
        dialog_choices: the words that the dialog offers where the command line takes any text.
        is_required: whether the command line wants it said; a dialog always says something.
        may_repeat: whether it can be given several times.
        letter: its short form on the command line, if it has one.
        value: what its value is called in the help; else its name in capitals.
    """

    name: str
    default: str
    help: str
    choices: tuple[str, ...] = ()
    is_number: bool = False
    is_switch: bool = False
    in_dialog: bool = True
    dialog_choices: tuple[str, ...] = ()
    is_required: bool = False
    may_repeat: bool = False
    letter: str = ""
    value: str = ""

    @property
    def field(self) -> str:
        """Its name in a dialog and in Python."""
        return self.name.replace("-", "_")


def output(help_text: str, *, is_required: bool = True) -> Option:
    """Return the option that says where the drawing goes; in the editor it stays where it is."""
    return Option(
        "output",
        "",
        help_text,
        in_dialog=False,
        is_required=is_required,
        letter="o",
        value="OUT.svg",
    )


def select(help_text: str) -> Option:
    """Return the option that stands for what is selected in the editor."""
    return Option("select", "", help_text, in_dialog=False, may_repeat=True, value="ID")


def report(help_text: str, *, in_dialog: bool = True) -> Option:
    """Return the option that writes a report."""
    return Option(
        "report", "", f"{help_text} (left out: no file)", in_dialog=in_dialog, value="FILE"
    )


#: What says how the darts of a block were drawn.
DRAWN = (
    Option(
        "drawn-short",
        "",
        "by how much a front's dart that is drawn to its apex was drawn short of the true one, "
        "like 1in; 0 says that it was not (left out: as drawn, and the message asks)",
    ),
    Option(
        "even-legs",
        "no",
        "whether mouth ends up to 25 mm apart in their distance from the apex are brought "
        "together, the seams beside them drawn anew over 40 mm",
        ("yes", "no"),
        is_switch=True,
    ),
)
#: What says how a dart is finished: the same for every command.
FINISHING = (
    Option(
        "clearance",
        "",
        "how far short of the apex the dart point lies, like 1in or 25mm (left out: 1in on a "
        "bodice front or a piece of unknown kind, else 0)",
    ),
    Option("cloth", "woven", "the cloth; fine means silky or slippery", CLOTHS),
    Option(
        "fold",
        "auto",
        "which way the excess is folded; auto goes by the seam that the dart is on",
        FOLDS,
    ),
    Option(
        "excess",
        "auto",
        "whether the folded excess stays or is cut away; auto goes by place, size and cloth",
        EXCESSES,
    ),
    Option("trim-allowance", "1/2in", "what a trimmed dart keeps beside each leg"),
    Option("wide", "75mm", "the intake beyond which a dart counts as wide"),
    Option("drill-hole", "1/2in", "how far short of the dart point the drill hole is"),
    Option(
        "allowance",
        DEFAULT_ALLOWANCE_TEXT,
        'the seam allowances, like "1/2in, neckline=1/4in, hem=40mm turned"; turned: folded back '
        "on the piece, its ends mirrored to lie flat",
    ),
)
#: What the traced line of a clean-up is.
STITCH_EDGE, CUT_EDGE = "stitch", "cut"
#: What a clean-up of a trace has.
LEAVE, KEEP = "leave", "keep"
CLEANING = (
    Option("gap", "5mm", "the largest gap that is closed, and the largest overshoot that is cut"),
    Option("tolerance", "0.5mm", "how far a seam may stray from the trace"),
    Option(
        "upright",
        "yes",
        "whether the block is turned so that its straight centre seam, or a grain mark, is "
        "vertical",
        ("yes", "no"),
    ),
    Option(
        "square",
        "yes",
        "whether angles within 1.5 degrees of square are made square where neckline, waist and "
        "hem meet the centre",
        ("yes", "no"),
    ),
    Option(
        "half",
        "no",
        "whether a whole piece that was traced unfolded becomes its half: the left one, the "
        "right one, or their mean",
        ("no", "left", "right", "mean"),
    ),
    Option(
        "edge",
        STITCH_EDGE,
        "what the traced line is, such as the edge of a template of card: the stitch line, or the "
        "cut line, whose allowance (see --allowance) is then taken off",
        (STITCH_EDGE, CUT_EDGE),
    ),
    Option(
        "allowance",
        "",
        'how wide the allowance within a cut line is, like 10mm or "10mm, hem=40mm" (left out: as '
        "the marks on the seams say)",
    ),
    Option(
        "inner",
        LEAVE,
        "whether lines that are drawn on the block, such as pockets, buttons, balance lines and "
        "grain arrows, are left out and counted, or kept as inner lines",
        (LEAVE, KEEP),
    ),
)
#: How large a picture is that is cleaned up from its file; in the editor its size there counts.
DPI = Option(
    "dpi",
    "",
    "of a picture: its dots to the inch, as the scanner was set (left out: as the picture says)",
    in_dialog=False,
)
#: Where the place of a move can come from.
AUTO, MARKS, SEAM, WORDS = "auto", "marks", "seam", "words"
#: No seam is picked.
NO_SEAM = "none"
#: How a number says how far along a seam.
PERCENT, LENGTH = "percent", "length"
#: A place that is picked, not typed.
PICKED = (
    Option(
        "target",
        AUTO,
        "where the place comes from: the target marks, the seam that is picked with --seam, or the "
        "words of --to; auto: the words where there are any, else the seam where one is picked, "
        "else the marks",
        (AUTO, MARKS, SEAM, WORDS),
    ),
    Option("seam", NO_SEAM, "the seam where the dart goes", (NO_SEAM, *SEAMS_IN_ORDER)),
    Option(
        "other-seam",
        NO_SEAM,
        "the other seam of a corner where the dart goes; none: along the seam alone",
        (NO_SEAM, *SEAMS_IN_ORDER),
    ),
    Option(
        "along",
        "50.0",
        "how far along the seam the dart goes, from its upper end (from its centre end where it "
        'runs across the grain): per cent like 35%, a length like 80mm or "2 1/2in", or a number '
        "of what --along-as says",
        is_number=True,
    ),
    Option(
        "along-as",
        PERCENT,
        "what a bare number of --along is: per cent of the seam's length, or a length in the unit "
        "of --unit",
        (PERCENT, LENGTH),
    ),
)
#: What a move has beside the finishing options.
MOVING = (
    Option(
        "to",
        "",
        'where the dart goes, like "side seam:0.35", "side seam:80mm", "neckline/centre front" or '
        '"waist"; several places with their shares like "side seam:0.35=0.6; neckline:0.5=0.4"; '
        'each may end in "as gathers" or "from shoulder" (left out: to the target marks)',
    ),
    Option("share", "1.0", "how much of the dart is moved, from 0 to 1", is_number=True),
    Option(
        "intake",
        "",
        "the width that the mouth at the target is to have, like 20mm; the rest of the dart stays "
        "(left out: by share)",
    ),
    Option(
        "as",
        "dart",
        "what becomes of the opening: a finished dart, gathers, ease, a tuck or a flare",
        MADE_AS,
    ),
    Option("ease-limit", "12mm", "the most that can be eased into a seam"),
    Option("tuck-length", "50mm", "how far a tuck is stitched from the seam"),
    Option(
        "gather-over",
        "100mm",
        "the length of the seam over which gathers or ease are spread, half of it to each side of "
        "the place; at most the seam's own",
    ),
    Option(
        "blend",
        "0",
        "the length over which a seam is drawn smooth where a dart was closed, half of it to each "
        "side, like 40mm; 0 leaves the seam exact, with its corner",
    ),
    Option(
        "true-mouth",
        "no",
        "whether the seam is drawn smooth across the new dart, as it lies folded shut, over the "
        "length of blend (40mm where that is 0)",
        ("yes", "no"),
        is_switch=True,
    ),
    Option(
        "nest",
        "no",
        "whether blocks without an apex, target or seam names of their own take them from the "
        "one block that has a target",
        ("yes", "no"),
        is_switch=True,
    ),
)
#: What of the block's look comes along.
ARTWORK = (
    Option(
        "artwork",
        "no",
        "whether what else is drawn on the block comes along: prints, pockets, texts, pictures, "
        "cut and turned with the parts of the piece",
        ("yes", "no"),
        is_switch=True,
    ),
    Option(
        "fill", "none", "what fills the piece: nothing, or what the block is filled with", FILLS
    ),
)
#: What says how a result was made; all of it is kept with the result.
MAKING = (
    *(option for option in MOVING if option.name not in ("to", "nest")),
    *(*DRAWN, *ARTWORK, *FINISHING),
)
#: What a comparison has beside the finishing options.
COMPARING = (
    Option(
        "to",
        "",
        'the places to compare, as in "neckline/centre front; side seam:0.35; waist" (left out: '
        "the target marks)",
    ),
    Option("page", "A4", "the page that the sheet is drawn for", ("A4", "Letter")),
)
#: What names the piece.
NAMING = (
    Option("name", "", "the piece's name (left out: that of its layer or group)"),
    Option("size", "", "the piece's size, written under its name (left out: none)"),
)
#: What an allowance run does with a result's own settings.
AS_MADE = Option(
    "as-made",
    "yes",
    "whether a result keeps the settings it was made with where no others are given",
    ("yes", "no"),
    is_switch=True,
)
#: What becomes of the other blocks where one cannot be drafted.
KEEP_GOING = Option(
    "keep-going",
    "no",
    "whether blocks that cannot be drafted are left out, and the others written",
    ("yes", "no"),
    is_switch=True,
)
#: Where a new result goes.
PLACE = Option(
    "place",
    "auto",
    "where a new result goes: over its block; beside all that is drawn; or over it unless another "
    "result lies there",
    ("auto", "over", "beside"),
)
#: What marking parts has: the role and what it carries.
MARKING = (
    Option(
        "role",
        "outline",
        "what the selected objects are; none takes their role off",
        (
            "outline",
            "apex",
            "target",
            "seam",
            "hold",
            "dart",
            "grain",
            "notch",
            "known length",
            "known rectangle",
            "known grid",
            "inner line",
            "style line",
            "none",
        ),
        is_required=True,
    ),
    Option(
        "seam",
        "other",
        "the seam that a seam mark names; other: as --name says",
        ("other", *SEAMS_IN_ORDER),
    ),
    Option(
        "name",
        "",
        "the name of a seam in your own words, or of a style line's seam (left out: no name)",
    ),
    Option(
        "allowance",
        "",
        "the seam allowance of a seam, like 12mm or 1/2in (left out: as the settings say)",
    ),
    Option(
        "fold",
        "no",
        "whether a seam lies on the fold of the cloth",
        ("yes", "no"),
        is_switch=True,
    ),
    Option(
        "turned",
        "no",
        "whether a seam's allowance is turned back on the piece, as a hem is",
        ("yes", "no"),
        is_switch=True,
    ),
    Option(
        "mate",
        "",
        "the one word that a seam shares with the seam it is sewn to (left out: no mate)",
    ),
    Option(
        "share",
        "",
        "the share of a target or of a dart, from 0 to 1 (left out: an equal part, or the whole "
        "dart)",
    ),
    Option(
        "length",
        "",
        "the true length of a known length, like 100mm, the sides of a known rectangle, like "
        "210x297mm or A4, or the side of a known grid's squares, like 25mm (left out: none; these "
        "three roles need it)",
    ),
    Option(
        "as",
        "any",
        "what becomes of the opening at a target; any: as the command says that moves the dart",
        ("any", *MADE_AS),
    ),
)
#: The unit that a bare number has, and in which lengths are told.
UNITS = Option(
    "unit", "mm", "the unit of lengths that name none, and of all that are told", ("mm", "cm", "in")
)
#: The unit of lengths that are told, for a command to which none is typed.
TOLD_IN = Option("unit", "mm", "the unit of the lengths that are told", ("mm", "cm", "in"))
#: The same for a command without a dialog: in the editor it is the drawing's own.
TOLD_IN_THE_DRAWINGS = TOLD_IN._replace(in_dialog=False)
#: Where the pages go beside the drawing.
PDF = Option(
    "pdf", "", "also write the pages as a PDF to this file (left out: no PDF)", value="FILE"
)
#: What the pages of a pattern have.
PAPER = (
    Option(
        "paper",
        "A4",
        "the paper: A4, A3, A2, A1, A0, Letter, Legal, Tabloid, a size of your own like 300x450mm, "
        "or a roll like roll 900mm (custom and roll: with their sides in width and height)",
        dialog_choices=NAMED,
    ),
    Option(
        "width",
        "",
        "the width of a custom paper or of a roll (left out: as --paper says)",
    ),
    Option("height", "", "the height of a custom paper (left out: as --paper says)"),
    Option("margin", "10mm", "what stays free on every side of a page"),
    Option("overlap", "10mm", "the strip that neighbouring pages share"),
    Option(
        "inside",
        "no",
        "whether empty pages that lie wholly inside a piece are printed too, to glue the rest to",
        ("yes", "no"),
        is_switch=True,
    ),
    Option(
        "copies",
        "once",
        "how often a piece is printed: once, its title says how often it is cut; or as it says, a "
        "piece that is cut twice with its mirrored twin, for single layers",
        ("once", "said"),
    ),
    Option(
        "each-apart",
        "no",
        "whether every piece has pages of its own",
        ("yes", "no"),
        is_switch=True,
    ),
    Option("sizes", "", "the sizes of a nest that are printed, like 36, 40 (left out: all)"),
    Option(
        "unfold",
        "auto",
        "whether a piece that is cut on the fold is printed whole, opened out (auto: for a cutting "
        "machine alone)",
        ("auto", "yes", "no"),
        is_switch=True,
    ),
    Option(
        "apart",
        "no",
        "whether sizes that are drawn on one another are laid beside one another",
        ("yes", "no"),
        is_switch=True,
    ),
    Option("cut", "yes", "whether the cut line is printed", ("yes", "no")),
    Option("stitch", "yes", "whether the stitch line is printed", ("yes", "no")),
    Option("dart", "yes", "whether the darts are printed: legs, fold, cap, point", ("yes", "no")),
    Option("window", "yes", "whether trim windows are printed", ("yes", "no")),
    Option(
        "marks",
        "yes",
        "whether notches, drill holes, apex, grainline and inner lines are printed",
        ("yes", "no"),
    ),
    Option("names", "yes", "whether names and titles are printed", ("yes", "no")),
    Option(
        "cut-only",
        "no",
        "whether only what a cutting machine follows is written: cut lines, "
        "notches and drill holes as hairlines, no text",
        ("yes", "no"),
        is_switch=True,
    ),
    PDF,
)
#: What sewing notes have.
SEWING = (
    Option("page", "A4", "the page that the notes are drawn for", ("A4", "Letter")),
    PDF,
)
