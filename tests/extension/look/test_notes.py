"""Notes on the canvas are broken where a line of letters is full, not after a count of them."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pytest

from drafting_core.text.errors import DraftingError
from extension.commands.check_here import sign_fault
from extension.document.svg_document import read_document
from extension.drafting.move_and_allow import Request, move
from extension.marking.marks_layer import MarksWriter
from tests.conftest import require
from tests.help.blocks.drawings import marked_front, page, parts, root_of
from tests.help.blocks.samples import BLOCKS
from tests.help.contract.contract_model import SVG
from tests.help.texts.font_metrics import metrics, missing_fonts

#: Widths of columns in sizes of their letters: as wide as 56, 44 and 48 letters of common text.
NOTE, CHECK, FOUND = 29.5, 23.0, 25.0
#: A line may be this much wider than the font says before it is broken.
TOO_WIDE = 1.06


@pytest.fixture(autouse=True)
def _fonts() -> None:
    require(*missing_fonts())


def rows_of(text: Any) -> list[str]:
    return ["".join(row.itertext()) for row in text.findall(f"{SVG}tspan")]


def check_paragraph(rows: list[str], column: float) -> None:
    """Every row fits, and the next one's first word did not fit in it."""
    assert len(rows) > 1
    for row, following in itertools.pairwise(rows):
        assert metrics(row).width <= column
        assert metrics(f"{row} {following.split()[0]}").width * TOO_WIDE > column
    assert metrics(rows[-1]).width <= column


@pytest.mark.parametrize("sample", BLOCKS, ids=lambda path: path.stem)
def test_the_note_beside_a_piece_keeps_to_its_column(sample: Path) -> None:
    root = read_document(str(sample)).getroot()
    move(root, Request(name="WM WMWM MWMWMWMW MWMW MWMWMWMWMWMWMW MWM WMWMWMWMWMMMM MMMM"))
    for note in parts(root, "note"):
        rows = rows_of(note)
        if len(rows) > 4 and "" in rows:
            below = rows[rows.index("") :]
            assert len(below) > 4
            for row in filter(None, below):
                assert metrics(row).width <= NOTE, row


@pytest.mark.parametrize("letters", ["MW", "il", "Ag"])
def test_a_sentence_is_broken_by_its_letters(letters: str) -> None:
    sentence = " ".join([letters * 3] * 30)
    root = root_of(page(marked_front()))
    assert sign_fault(root, DraftingError(sentence, remedy=sentence, place=20 + 20j))
    check_paragraph(rows_of(root.find(f".//{SVG}text[@id='dartswing-check-here-words']")), CHECK)
    MarksWriter(root).note("front", sentence, 0j, 3.0)
    check_paragraph(rows_of(root.find(f".//{SVG}text[@id='dartswing-found']")), FOUND)
