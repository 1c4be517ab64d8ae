"""The blocks among all lines of a sheet: with cut lines, nested, dashed."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.ops import substring

from drafting_core.sheet.drawn_blocks import drawn_blocks
from drafting_core.text.errors import OutlineError
from tests.drafting_core.sheet.shapes import WITH_DART, WITHOUT_DART, curved_block, dart_lines
from tests.help.depth import examples
from tests.help.scans.inked import closed_line, inked, line_string, moved, polygon_of, ring_of

turns = st.floats(0, 7)


@pytest.mark.thorough
@settings(max_examples=examples(3), deadline=None)
@given(turns, st.booleans(), st.floats(6, 25))
def test_a_stitch_line_has_its_cut_line(turn: float, mirrored: bool, width: float) -> None:
    stitch = polygon_of(WITH_DART)
    cut = polygon_of(WITHOUT_DART).buffer(width, join_style="mitre", mitre_limit=4)
    around = ring_of(cut.exterior.coords).tolist()
    lines = [closed_line(WITH_DART), closed_line(around), *dart_lines()]
    turned = [moved(line, turn, mirrored=mirrored) for line in lines]
    (block,) = drawn_blocks(inked(turned), [], 3.0, 40.0)
    assert block.size == 0
    assert block.cut_line is not None
    area = polygon_of(block.ring.points.tolist()).area
    assert area == pytest.approx(stitch.area, abs=0.1 * stitch.length)
    assert polygon_of(block.cut_line.tolist()).area == pytest.approx(cut.area, abs=0.1 * cut.length)


@settings(max_examples=examples(3), deadline=None)
@given(turns, st.booleans())
def test_a_dashed_outline_is_a_block(turn: float, mirrored: bool) -> None:
    ring = moved(WITHOUT_DART, turn, mirrored=mirrored)
    line = line_string(closed_line(ring))
    count = round(line.length / 12)
    pieces = [substring(line, line.length * k / count, line.length * k / count + 7)
              for k in range(count)]  # fmt: skip
    contours = [ring_of(piece.buffer(0.35).exterior.coords) for piece in pieces]
    (block,) = drawn_blocks(contours, [], 3.0, 40.0)
    assert block.dashed
    true = polygon_of(ring)
    found = polygon_of(block.ring.points.tolist())
    assert found.area == pytest.approx(true.area, abs=0.3 * true.length)


def test_two_pieces_side_by_side_are_two_blocks() -> None:
    apart = [z + 400 for z in WITH_DART]
    lines = [closed_line(WITH_DART), *dart_lines(), closed_line(apart)]
    blocks = drawn_blocks(inked(lines), [], 3.0, 40.0)
    assert [block.size for block in blocks] == [0, 0]
    assert all(block.cut_line is None for block in blocks)


def test_a_line_that_runs_on_beside_an_outline_is_refused() -> None:
    block = curved_block()
    beside = ring_of(polygon_of(block).buffer(9, join_style="mitre").exterior.coords).tolist()
    part = beside[: len(beside) * 2 // 3]
    with pytest.raises(OutlineError, match="beside each other"):
        drawn_blocks(inked([closed_line(block), part]), [], 3.0, 40.0)
