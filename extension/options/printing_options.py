"""What the commands that print can be asked for."""

from __future__ import annotations

from extension.options.settings_text import Option

#: What the pages of a pattern have.
PAPER = (
    Option(
        "paper",
        "A4",
        "the paper: A4, A3, A2, A1, A0, Letter, Legal, Tabloid, a size of your own like 300x450mm, "
        "or a roll like roll 900mm (custom and roll: with their sides in width and height)",
    ),
    Option("width", "", "the width of a custom paper or of a roll"),
    Option("height", "", "the height of a custom paper"),
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
        "said",
        "how often a piece is printed: as its title says, a piece that is cut "
        "twice with its mirrored twin; or once",
        ("said", "once"),
    ),
    Option("sizes", "", "the sizes of a nest that are printed, like 36, 40 (left out: all)"),
    Option(
        "unfold",
        "no",
        "whether a piece that is cut on the fold is printed whole, opened out",
        ("yes", "no"),
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
    Option("pdf", "", "also write the pages as a PDF to this file"),
)
#: What sewing notes have.
SEWING = (
    Option("page", "A4", "the page that the notes are drawn for", ("A4", "Letter")),
    Option("pdf", "", "also write the pages as a PDF to this file"),
)
