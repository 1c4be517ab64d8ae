"""Sizes nested in one another, read from a whole sheet."""

from __future__ import annotations

import pytest

from drafting_core.sheet.trace_sheet import read_sheet
from tests.drafting_core.sheet.shapes import curved_block
from tests.help.depth import some_quick
from tests.help.scans.inked import closed_line, inked, moved, polygon_of


def check_sizes(rings: list[list[complex]]) -> None:
    """Check that rings, from small to large, are read as so many sizes."""
    sheet = read_sheet(inked([closed_line(ring) for ring in rings]), [], 3.0)
    blocks = sorted(sheet.blocks, key=lambda block: block.size)
    assert [block.size for block in blocks] == list(range(1, len(rings) + 1))
    for block, ring in zip(blocks, rings, strict=True):
        assert block.cut_line is None
        true = polygon_of(ring)
        found = polygon_of(block.ring.points.tolist())
        assert found.area == pytest.approx(true.area, abs=0.15 * true.length)


@pytest.mark.parametrize(
    ("turn", "mirrored", "step"),
    some_quick([(0.4, False, 0.06), (2.5, True, 0.09), (4.0, False, 0.05)], 1),
)
def test_three_sizes_apart_are_three(turn: float, mirrored: bool, step: float) -> None:
    check_sizes([moved(curved_block(1 + k * step), turn, mirrored=mirrored) for k in range(3)])


@pytest.mark.parametrize(
    ("turn", "mirrored", "step"),
    some_quick([(0.4, False, 0.06), (2.5, True, 0.09), (4.0, False, 0.05)], 1),
)
def test_three_sizes_that_share_a_corner_are_three(
    turn: float, mirrored: bool, step: float
) -> None:
    """Two edges of all are drawn once, from the corner that they share."""
    corner = curved_block()[-1]
    rings = [[(z - corner) * (1 + k * step) for z in curved_block()] for k in range(3)]
    check_sizes([moved(ring, turn, mirrored=mirrored) for ring in rings])
