"""What tests of printing share: results to print, the job, and how it refuses."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from shapely.geometry import Polygon

from drafting_core.text.errors import DraftingError
from extension.drafting.move_and_allow import Request, move
from extension.options.options import PAPER, UNITS
from extension.paper.paper import Printed, make_paper, paper_request
from tests.help.blocks.drawings import marked_front, page, seam_marks
from tests.help.printing.printed_pages import (
    Page,
    lines_on_sheet,
    parsed,
)

SAMPLES = Path(__file__).parents[3] / "sample_svgs"
DEFAULTS = {option.name: option.default for option in (*PAPER, UNITS)}


def paper(root: Any, *selection: str, **values: str) -> Printed:
    given = {name.replace("_", "-"): value for name, value in values.items()}
    return make_paper(root, paper_request({**DEFAULTS, **given}, selection))


@functools.cache
def moved_bytes(sample: str, to: str, given: tuple[tuple[str, str], ...]) -> bytes:
    root = parsed((SAMPLES / f"{sample}.svg").read_bytes())
    nest = "nest" in sample
    move(root, Request(to=to, given=dict(given), nest=nest))
    return bytes(etree.tostring(root))


def moved(sample: str = "front_one_path", to: str = "", **given: str) -> Any:
    return parsed(moved_bytes(sample, to, tuple(given.items())))


def front(more: str = "", attributes: str | None = None, seams: str | None = None) -> Any:
    text = marked_front(more=more, seams=seams)
    root = parsed(page(text) if attributes is None else page(text, attributes))
    move(root, Request())
    return root


def refusal(root: Any, *selection: str, **values: str) -> str:
    before = etree.tostring(root)
    with pytest.raises(DraftingError) as refused:
        paper(root, *selection, **values)
    assert etree.tostring(root) == before
    message = str(refused.value)
    assert message.count("\n") == 0
    return message


def polygons(pages: list[Page], kind: str = "cut-line") -> list[Polygon]:
    """The rings of one kind as they lie on the sheet."""
    return [
        Polygon([(z.real, z.imag) for z in line.points])
        for line in lines_on_sheet(pages).values()
        if line.kind == kind
    ]


def on_the_fold(more: str = "") -> Any:
    seams = seam_marks().replace("seam centre front", "seam centre front fold")
    return front(more, seams=seams)
