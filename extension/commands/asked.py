"""What passes between a command and whoever gives it: the terminal, or a dialog of the editor."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from lxml import etree

from drafting_core.text.errors import DraftingError
from extension.document.namespaces import ours
from extension.options.options import UNITS, Option


class Asked(NamedTuple):
    """What a command is asked for.

    Attributes:
        options: the command's options.
        given: texts by the option's name: from the terminal what was typed, from a dialog all
            that it shows.
        selection: the ids of the selected objects.
        in_dialog: whether a dialog asks.
        drawing: the file of the drawing; empty if it has none, or it is standard input.
    """

    options: Sequence[Option]
    given: Mapping[str, str]
    selection: Sequence[str] = ()
    in_dialog: bool = False
    drawing: str = ""

    def text(self, name: str) -> str:
        """Return an option's value: as given, or its default."""
        if name in self.given:
            return self.given[name]
        return next(option.default for option in self.options if option.name == name)

    def says(self, name: str) -> bool:
        """Tell whether a switch is on; one that the command does not have is off."""
        return self.given.get(name) == "yes"

    @property
    def unit(self) -> str:
        """The unit in which lengths are told, and are meant where they name none."""
        return self.given.get("unit", UNITS.default)

    def values(self) -> dict[str, str]:
        """Return all values, the defaults among them."""
        return {option.name: self.text(option.name) for option in self.options}


class Pages(NamedTuple):
    """Pages that were added to a document.

    Attributes:
        layer: their layer.
        mm_per_unit: millimetres on paper to a unit of the root.
        title: what a PDF of them is called.
    """

    layer: etree._Element
    mm_per_unit: float
    title: str


def _nothing() -> Sequence[str]:
    return ()


class Done(NamedTuple):
    """What came of a command on a document.

    Attributes:
        told: gives the lines that the terminal prints.
        remarks: what the drafter at the editor has to look at.
        report: gives the report as a file's content, where there is one.
        pages: pages that may be written as a PDF too.
        signs: what the drafter at the editor finds signed on the canvas, without a window.
    """

    told: Callable[[], Sequence[str]] = _nothing
    remarks: Sequence[str] = ()
    report: Callable[[], bytes] | None = None
    pages: Pages | None = None
    signs: Sequence[DraftingError] = ()


#: What a command does to a document.
#:
#: Raises:
#:     DraftingError: if it cannot be done; the document is then as it was.
Run = Callable[[etree._Element], Done]


def carried_out(run: Run, root: etree._Element) -> Done:
    """Do a command to a document; the signs beside marks then follow those that were moved.

    Raises:
        DraftingError: if it cannot be done; the document is then as it was.
    """
    done = run(root)
    if any(child.get(ours("marks")) for child in root):
        # Only drawings with marks need it.
        from extension.marking.marks_layer import signs_follow

        signs_follow(root)
    return done
