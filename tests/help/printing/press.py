"""Drawings printed by the command paper, each once for all tests that look at it."""

from __future__ import annotations

import contextlib
import io
import re
from pathlib import Path
from typing import Any, NamedTuple

from lxml import etree

from extension.commands.command_line import main
from extension.document.namespaces import INKSCAPE, svg
from extension.document.svg_document import parse_document
from extension.pages.export_pdf import pdf_of
from tests.help.blocks.drawings import NS
from tests.help.once import made_once
from tests.help.printing.pdf_pages import page_sizes

SAMPLES = Path(__file__).parents[3] / "sample_svgs"


class Printed(NamedTuple):
    """A run of the command: the drawing with its pages, the PDF, and what was said."""

    drawing: Path
    pdf: Path
    said: str

    @property
    def root(self) -> Any:
        """The drawing's root."""
        return etree.parse(str(self.drawing)).getroot()

    def sheet_pages(self) -> list[Any]:
        """The editor's pages of the set."""
        pages = self.root.iter(f"{{{INKSCAPE}}}page")
        return [one for one in pages if re.search(r"-page-\d+$", str(one.get("id")))]


class Press:
    """Prints drawings; what was printed once is kept, for all processes that run tests."""

    def __init__(self, folder: Path, own: Path) -> None:
        """Make what tests print.

        That is a pair with trim windows, a nest of eight sizes, and one size of it.

        Args:
            folder: where drawings and what is printed of them lie; other processes use it too.
            own: a folder of this process alone.
        """
        self.folder, self.own = folder, own
        front, nest = str(SAMPLES / "front_one_path.svg"), str(SAMPLES / "front_nest.svg")
        self.make("pair", "move", front, "--to", "neckline/centre front")
        self.make("nest", "move", nest, "--nest")
        self.make("one size", "move", nest)

    def make(self, name: str, *command: str) -> Path:
        """Make a drawing by a command, and keep it under a name."""

        def make(folder: Path) -> None:
            _said(command[0], command[1], "-o", str(folder / "made.svg"), *command[2:])

        return made_once(self.folder / name, make) / "made.svg"

    def keep(self, name: str, text: str) -> Path:
        """Write a drawing."""
        drawing = self.own / f"{name}.svg"
        drawing.write_text(text, encoding="utf-8")
        return drawing

    def __call__(self, name: str, *options: str) -> Printed:
        """Print a drawing that was made; of a pair both pieces, unless the options say how many."""
        if name == "pair" and not any(option.startswith("--copies") for option in options):
            options = ("--copies=said", *options)

        def print_it(folder: Path) -> None:
            out, pdf = folder / "pages.svg", folder / "pages.pdf"
            drawing = self.folder / name / "made.svg"
            said = _said("paper", str(drawing), "-o", str(out), "--pdf", str(pdf), *options)
            (folder / "said.txt").write_text(said, encoding="utf-8")

        kind = re.sub(r"[^\w=-]+", " ", " ".join((name, "printed", *options)))
        folder = made_once(self.folder / kind, print_it)
        said = (folder / "said.txt").read_text(encoding="utf-8")
        return Printed(folder / "pages.svg", folder / "pages.pdf", said)


def _said(*command: str) -> str:
    said, complained = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(complained):
        status = main(list(command))
    assert status == 0, complained.getvalue()
    return said.getvalue() + complained.getvalue()


def groups_of(root: Any, part: str) -> list[Any]:
    """Return the groups of the pages that have a part's name."""
    named = re.compile(rf".*-{part}(-\d+)?")
    return [group for group in root.iter(svg("g")) if named.fullmatch(str(group.get("id")))]


def without_pattern(printed: Printed) -> Path:
    """Export the same pages with all that they show but the pattern, and return the PDF."""

    def export(folder: Path) -> None:
        root = parse_document(printed.drawing.read_bytes()).getroot()
        for group in groups_of(root, "pattern"):
            for child in list(group):
                group.remove(child)
        (sheet,) = (child for child in root if child.get(f"{{{NS['dartswing']}}}sheet"))
        mm_per_unit = page_sizes(printed.pdf)[0][0] / float(printed.sheet_pages()[0].get("width"))
        (folder / "bare.pdf").write_bytes(pdf_of(root, sheet, mm_per_unit))

    return made_once(printed.pdf.parent / "bare", export) / "bare.pdf"
