"""What a nest on paper costs, without the editor's export, and how many pages pieces take."""

from __future__ import annotations

import math
import time
from pathlib import Path
from statistics import median
from typing import Any

import pytest
import shapely

from extension.document.svg_document import document_bytes, parse_document
from extension.drafting.move_and_allow import Request, move
from extension.options.options import PAPER, UNITS
from extension.paper.paper import make_paper, paper_request
from tests.help.printing.printed_pages import pages_of
from tests.help.printing.printing import polygons

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


#: What a page of A4 shows with the usual margins (mm).
SHOWN = (190.0, 277.0)


def at_least(root: Any) -> int:
    """Return how many pages of A4 pieces need at least: by their area, and by the widest one.

    A page shows so much at the most; a piece reaches over as many as its box needs where every page
    lies along it with its longer side.
    """
    cut = polygons(pages_of(root))
    # Sizes of a nest lie on one another.
    area = float(shapely.unary_union(cut).area) / (SHOWN[0] * SHOWN[1])
    sides = [(box[2] - box[0], box[3] - box[1]) for box in (polygon.bounds for polygon in cut)]
    narrow = max(math.ceil(min(side) / SHOWN[1]) for side in sides)
    long = max(math.ceil(max(side) / SHOWN[1]) for side in sides)
    return int(max(math.ceil(area), narrow * long))


@pytest.mark.parametrize(
    ("name", "to", "values", "most"),
    [
        ("front_one_path", "neckline/centre front", {}, 4),
        ("front_french_dart", "neckline/centre front", {}, 4),
        ("front_nest", "", {"sizes": "34, 36, 38, 40, 42, 44"}, 4),
        ("front_and_back_mates", "", {}, 3),
    ],
)
def bench_pages_of_a4(name: str, to: str, values: dict[str, str], most: int) -> None:
    tree = parse_document((SAMPLE.parent / f"{name}.svg").read_bytes())
    root = tree.getroot()
    move(root, Request(to=to, nest="nest" in name))
    make_paper(root, paper_request({**DEFAULTS, **values}, []))
    taken, least = len(pages_of(root)), at_least(root)
    print(f"\n{name}: {taken} pages of A4, at least {least}")
    assert least <= taken <= most
