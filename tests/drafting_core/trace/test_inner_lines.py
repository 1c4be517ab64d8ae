"""What is drawn on a block is kept as it was drawn, and nothing that is the block's own."""

from __future__ import annotations

import cmath

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString

from drafting_core.model.outline import flattened
from drafting_core.plane.curves import Line
from drafting_core.sheet.trace_sheet import read_sheet
from drafting_core.trace.inner_lines import KeptLine, inner_lines
from tests.drafting_core.sheet.shapes import WITH_DART, WITHOUT_DART, dart_lines
from tests.help.depth import examples
from tests.help.scans.inked import (
    closed_line,
    inked,
    line_string,
    moved,
    polygon_of,
)

PEN, GAP = 0.7, 3.0
POCKET = [60 + 90j, 120 + 96j, 115 + 150j, 58 + 145j]
BALANCE = [40 + 200j, 150 + 204j]
HIP = [20 + 250j - 18j * np.sin(np.pi * k / 30) + 150 * k / 30 for k in range(31)]
turns = st.floats(0, 7)


def kept(
    outlines: list[list[complex]], others: list[list[complex]], signs: list[complex]
) -> list[list[KeptLine]]:
    """Return what is kept of lines drawn beside outlines, per block from left to right."""
    contours = inked([*map(closed_line, outlines), *others], PEN)
    blocks = sorted(
        read_sheet(contours, [], GAP).blocks, key=lambda block: float(block.ring.points.real.min())
    )
    assert len(blocks) == len(outlines)
    return inner_lines(contours, [], GAP, blocks, signs)


def shown(line: KeptLine) -> LineString:
    return line_string([*flattened(line.segments, 40), line.segments[-1].end])


def off(line: KeptLine, drawn: list[complex]) -> float:
    """Return how far a kept line and a drawn one lie apart at most, both ways (mm)."""
    true, found = line_string(drawn), shown(line)
    return float(max(true.hausdorff_distance(found), found.hausdorff_distance(true)))


@settings(max_examples=examples(16), deadline=None)
@given(turns, st.booleans())
def test_lines_on_a_block_are_kept_where_they_are(turn: float, mirrored: bool) -> None:
    def to(line: list[complex]) -> list[complex]:
        return moved(line, turn, mirrored=mirrored)

    drawn = [to(closed_line(POCKET)), to(BALANCE), to(HIP)]
    (lines,) = kept([to(WITHOUT_DART)], drawn, [])
    assert len(lines) == len(drawn)
    for true in drawn:
        away = [off(line, true) for line in lines]
        assert min(away) <= 0.5
        assert lines[away.index(min(away))].closed == (true[0] == true[-1])


def test_a_pocket_has_its_four_edges_and_its_corners() -> None:
    (lines,) = kept([WITHOUT_DART], [closed_line(POCKET)], [])
    (pocket,) = lines
    assert pocket.closed
    # Where its ink was entered a straight edge may be two pieces.
    assert all(isinstance(segment, Line) for segment in pocket.segments)
    corners = [segment.start for segment in pocket.segments]
    for corner in POCKET:
        assert min(abs(corner - found) for found in corners) <= 0.3
    for before, after in zip(pocket.segments, pocket.segments[1:], strict=False):
        assert before.end == after.start
    assert pocket.segments[-1].end == pocket.segments[0].start


def test_a_straight_line_is_one_line_and_as_long_as_it_was_drawn() -> None:
    (lines,) = kept([WITHOUT_DART], [BALANCE], [])
    ((segment,),) = (line.segments for line in lines)
    assert isinstance(segment, Line)
    # A round pen makes the ink longer by half its width at each end.
    assert abs(segment.end - segment.start) == pytest.approx(
        abs(BALANCE[1] - BALANCE[0]), abs=PEN + 0.3
    )


def test_a_curve_is_a_few_smooth_pieces() -> None:
    (lines,) = kept([WITHOUT_DART], [HIP], [])
    (curve,) = lines
    assert len(curve.segments) <= 4
    for before, after in zip(curve.segments, curve.segments[1:], strict=False):
        turned = cmath.phase(after.tangent(0.0) / before.tangent(1.0))
        assert abs(turned) <= 0.02


def test_a_line_from_seam_to_seam_is_kept_between_them() -> None:
    across = [0 + 150j, 207.5 + 150j]
    (lines,) = kept([WITHOUT_DART], [across], [])
    (line,) = lines
    block = polygon_of(WITHOUT_DART)
    assert block.buffer(PEN / 2).contains(shown(line))
    clear = line_string(across).intersection(block.buffer(-3.0))
    assert clear.hausdorff_distance(shown(line)) <= 3.0
    assert clear.difference(shown(line).buffer(0.5)).is_empty


@pytest.mark.parametrize(
    "other",
    [
        pytest.param([100 + 100j, 104 + 100j], id="a letter's stroke"),
        pytest.param([240 + 50j, 240 + 200j], id="beside the block"),
    ],
)
def test_what_is_too_short_or_off_the_block_is_none(other: list[complex]) -> None:
    (lines,) = kept([WITHOUT_DART], [other, BALANCE], [])
    (line,) = lines
    assert off(line, BALANCE) <= 0.5


def test_the_outline_and_what_is_drawn_in_its_dart_are_none() -> None:
    (lines,) = kept([WITH_DART], dart_lines(), [])
    assert lines == []


def test_a_cut_line_is_none() -> None:
    cut = polygon_of(WITHOUT_DART).buffer(15, join_style="mitre").exterior.coords
    around = [complex(x, y) for x, y in cut]
    contours = inked([closed_line(WITHOUT_DART), around, BALANCE], PEN)
    blocks = read_sheet(contours, [], GAP).blocks
    assert [block.cut_line is not None for block in blocks] == [True]
    (lines,) = inner_lines(contours, [], GAP, blocks, [])
    (line,) = lines
    assert off(line, BALANCE) <= 0.5


def test_each_block_has_its_own() -> None:
    right = [z + 300 for z in WITHOUT_DART]
    far = [z + 300 for z in HIP]
    first, second = kept([WITHOUT_DART, right], [BALANCE, far], [])
    assert [off(line, BALANCE) <= 0.5 for line in first] == [True]
    assert [off(line, far) <= 0.5 for line in second] == [True]


def test_a_small_sign_becomes_a_cross_on_its_block() -> None:
    right = [z + 300 for z in WITHOUT_DART]
    at = 400 + 120j
    first, second = kept([WITHOUT_DART, right], [], [at, 250 + 120j])
    assert first == []
    upright, level = (shown(line) for line in second)
    assert upright.crosses(level)
    met = upright.intersection(level)
    assert complex(met.x, met.y) == pytest.approx(at)
    assert upright.length == pytest.approx(level.length)


def test_a_line_that_was_drawn_with_a_gap_is_one_line() -> None:
    """Its gap is closed like one of an outline."""
    middle = (BALANCE[0] + BALANCE[1]) / 2
    way = (BALANCE[1] - BALANCE[0]) / abs(BALANCE[1] - BALANCE[0])
    parts = [BALANCE[0], middle - way * 1.2], [middle + way * 1.2, BALANCE[1]]
    (lines,) = kept([WITHOUT_DART], [list(part) for part in parts], [])
    (line,) = lines
    assert off(line, BALANCE) <= 0.5
