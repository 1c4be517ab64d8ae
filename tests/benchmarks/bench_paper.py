"""What a nest on paper costs, from reading to writing, without the editor's export."""

from __future__ import annotations

import time
from pathlib import Path
from statistics import median

import pytest

from extension.document.svg_document import document_bytes, parse_document
from extension.drafting.move_and_allow import Request, move
from extension.options.options import PAPER, UNITS
from extension.paper.paper import make_paper, paper_request

SAMPLE = Path(__file__).parents[2] / "sample_svgs" / "front_nest.svg"
DEFAULTS = {option.name: option.default for option in (*PAPER, UNITS)}
#: The goal for eight sizes on A4 (s).
LIMIT = 2.0


def moved() -> bytes:
    tree = parse_document(SAMPLE.read_bytes())
    move(tree.getroot(), Request(nest=True))
    return document_bytes(tree)


def seconds(drawing: bytes, **values: str) -> float:
    start = time.perf_counter()
    tree = parse_document(drawing)
    make_paper(tree.getroot(), paper_request({**DEFAULTS, **values}, []))
    document_bytes(tree)
    return time.perf_counter() - start


@pytest.mark.parametrize(
    "values", [{}, {"apart": "yes", "unfold": "yes"}], ids=["nested", "apart and opened out"]
)
def bench_eight_sizes_on_a4(values: dict[str, str]) -> None:
    drawing = moved()
    taken = median(seconds(drawing, **values) for _ in range(5))
    print(f"\n8 sizes on A4, {values or 'nested'}: {taken:.2f} s")
    assert taken <= LIMIT
