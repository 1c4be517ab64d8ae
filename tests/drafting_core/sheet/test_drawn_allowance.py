"""A cut line by shapely's offset is an allowance; a larger copy of the block is none."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union

from drafting_core.sheet.drawn_allowance import is_allowance, seam_widths
from tests.drafting_core.sheet.shapes import WITHOUT_DART, curved_block
from tests.help.depth import examples
from tests.help.scans.inked import Points, moved, polygon_of, ring_of

turns = st.floats(0, 7)


def positive(points: Points) -> Points:
    """Return a ring with its interior at 1j·direction."""
    area = Polygon([(z.real, z.imag) for z in points]).exterior
    return points if area.is_ccw else points[::-1]


def cut_line(ring: list[complex], widths: list[float]) -> Points:
    """Return the mitred cut line: the block and each seam's strip, straight lines that meet."""
    lines = []
    for k, start in enumerate(ring):
        way = ring[(k + 1) % len(ring)] - start
        out = -1j * way / abs(way) * widths[k]
        far = way / abs(way) * 400
        ends = (start + out - far, start + way + out + far)
        lines.append(LineString([(z.real, z.imag) for z in ends]))
    met = [lines[k - 1].intersection(lines[k]) for k in range(len(ring))]
    return np.array([complex(place.x, place.y) for place in met])


@pytest.mark.thorough
@settings(max_examples=examples(3), deadline=None)
@given(st.lists(st.floats(5, 40), min_size=4, max_size=4), turns, st.booleans())
def test_a_line_beside_each_seam_is_an_allowance(
    widths: list[float], turn: float, mirrored: bool
) -> None:
    cut = cut_line(WITHOUT_DART, widths)
    assert polygon_of(cut.tolist()).contains(polygon_of(WITHOUT_DART))
    stitch = positive(np.array(moved(WITHOUT_DART, turn, mirrored=mirrored)))
    around = positive(np.array(moved(cut.tolist(), turn, mirrored=mirrored)))
    assert is_allowance(stitch, around)
    found = sorted(seam.width for seam in seam_widths(stitch, around))
    assert found == pytest.approx(sorted(widths), abs=0.3)


@settings(max_examples=examples(3), deadline=None)
@given(st.floats(5, 25), turns, st.booleans())
def test_an_even_offset_of_a_curved_block_is_an_allowance(
    width: float, turn: float, mirrored: bool
) -> None:
    block = moved(curved_block(), turn, mirrored=mirrored)
    offset = polygon_of(block).buffer(width, join_style="mitre", mitre_limit=4)
    stitch = positive(np.array(block))
    assert is_allowance(stitch, positive(ring_of(offset.exterior.coords)))


@settings(max_examples=examples(3), deadline=None)
@given(st.floats(1.06, 1.2), turns, st.booleans())
def test_a_larger_copy_of_a_curved_block_is_none(scale: float, turn: float, mirrored: bool) -> None:
    stitch = positive(np.array(moved(curved_block(), turn, mirrored=mirrored)))
    larger = positive(np.array(moved(curved_block(scale), turn, mirrored=mirrored)))
    assert not is_allowance(stitch, larger)


def test_an_edge_on_the_fold_has_no_width() -> None:
    cut = cut_line(WITHOUT_DART, [10.0, 15.0, 30.0, 0.0])
    stitch = positive(np.array(WITHOUT_DART))
    assert is_allowance(stitch, positive(cut))
    assert min(seam.width for seam in seam_widths(stitch, positive(cut))) < 0.1
    # Two edges on the fold are no block's.
    both = positive(cut_line(WITHOUT_DART, [10.0, 0.0, 30.0, 0.0]))
    assert not is_allowance(stitch, both)
    assert unary_union([polygon_of(both.tolist())]).area > polygon_of(WITHOUT_DART).area
