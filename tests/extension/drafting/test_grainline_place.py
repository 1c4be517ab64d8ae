"""The grainline keeps clear of apex and darts, as another library reads the written lines."""

from __future__ import annotations

import random
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from shapely.ops import unary_union

from drafting_core.text.errors import DraftingError
from extension.document.svg_document import parse_document
from extension.drafting.move_and_allow import Request, move
from tests.help.blocks import random_blocks, random_drawings
from tests.help.blocks.core_blocks import drawn
from tests.help.contract.contract_model import NS, SVG
from tests.help.depth import examples
from tests.help.texts.written_results import drawn_line

#: An eye tells two lines apart that are so far from one another (mm).
CLEAR = 3.0


def lines(root: Any, *wanted: str) -> Any:
    found = [e for e in root.iter(f"{SVG}path") if e.get(NS + "part") in wanted]
    return unary_union([line for element in found for line in drawn_line(element)])


@settings(max_examples=examples(80))
@given(st.integers(0, 10**6))
def test_it_keeps_clear_of_apex_and_darts(seed: int) -> None:
    rng = random.Random(seed)
    block = drawn(seed)
    try:
        segment, _, place = random_blocks.random_place(block, rng)
    except RuntimeError:
        return  # no place for a target on this one
    target = random_drawings.Target(segment, place)
    drawing = random_drawings.to_svg(block, rng, targets=(target,))
    root = parse_document(drawing.text.encode()).getroot()
    try:
        move(root, Request())
    except DraftingError:
        return  # some random blocks are not to be moved
    written = etree.fromstring(etree.tostring(root))
    grain = lines(written, "grainline")
    others = lines(written, "apex", "dart-leg", "dart-fold", "fold-arrow")
    size = min(1.0, block.scale)
    assert grain.distance(others) * drawing.mm_per_unit >= CLEAR * size
