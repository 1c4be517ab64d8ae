"""Drill holes: short of the dart point, clear of the stitching, not out at the mouth."""

from __future__ import annotations

import cmath
import math

import pytest
from shapely.geometry import LineString, Point

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.finished.draft import add_allowances
from drafting_core.finished.pattern_piece import Draft, DrawnDart
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Line
from drafting_core.sewing.dart_steps import dart_cloth
from extension.sewing.steps import dart_steps


def waist_dart(degrees: float, depth: float) -> Block:
    """A skirt front with a dart from the waist, so wide at its point and so deep."""
    point = complex(120.0, depth)
    out = depth * math.tan(math.radians(degrees / 2))
    left, right = 120.0 - out + 0j, 120.0 + out + 0j
    return Block(
        seam_by_seam(
            [
                ("waist", Line(0j, left)),
                ("dart", Line(left, point)),
                ("dart", Line(point, right)),
                ("waist", Line(right, 240 + 0j)),
                ("side seam", Line(240 + 0j, 250 + 600j)),
                ("hem", Line(250 + 600j, 600j)),
                ("centre front", Line(600j, 0j)),
            ]
        ),
        apex=point,
        name="Skirt front",
    )


def only_dart(draft: Draft) -> DrawnDart:
    (found,) = draft.darts
    return found


def finished(degrees: float, depth: float, short: float = 12.7) -> Draft:
    return add_allowances(waist_dart(degrees, depth), Settings(drill_hole=short, clearance=0.0))


@pytest.mark.parametrize("degrees", [4.0, 6.0, 8.0, 10.0, 15.0, 17.0, 19.0, 25.0, 40.0])
def test_the_hole_keeps_two_millimetres_from_each_leg(degrees: float) -> None:
    item = only_dart(finished(degrees, 130.0))
    assert item.drill_hole is not None
    hole = Point(item.drill_hole.real, item.drill_hole.imag)
    # School geometry: so far from a leg is what lies 12.7 mm from the point on the centre.
    aside = 12.7 * math.sin(math.radians(degrees) / 2)
    wanted = 12.7 if aside >= 2.0 else 2.0 / math.sin(math.radians(degrees) / 2)
    assert abs(item.drill_hole - item.dart.point) == pytest.approx(wanted, abs=1e-9)
    for end in item.dart.ends:
        leg = LineString([(z.real, z.imag) for z in (end, item.dart.point)])
        assert leg.distance(hole) == pytest.approx(max(aside, 2.0), abs=1e-9)
    way = (item.drill_hole - item.dart.point) / (sum(item.dart.ends) / 2 - item.dart.point)
    assert abs(cmath.phase(way)) < 1e-9


@pytest.mark.parametrize(
    ("degrees", "depth", "short"), [(6.0, 76.0, 12.7), (21.0, 25.0, 12.7), (20.0, 100.0, 50.5)]
)
def test_past_half_the_depth_it_is_left_out_and_said(
    degrees: float, depth: float, short: float
) -> None:
    # Just past half, by trigonometry.
    assert max(short, 2.0 / math.sin(math.radians(degrees) / 2)) > depth / 2
    draft = finished(degrees, depth, short)
    assert only_dart(draft).drill_hole is None
    assert any("no drill hole" in text and "the waist" in text for text in draft.warnings)


def test_up_to_half_the_depth_it_is_there() -> None:
    draft = finished(6.0, 77.0)
    assert 2.0 / math.sin(math.radians(3.0)) < 77.0 / 2
    assert only_dart(draft).drill_hole is not None
    assert not any("drill hole" in text for text in draft.warnings)


def test_sewing_notes_give_its_own_distance() -> None:
    draft = finished(8.0, 130.0)
    item = only_dart(draft)
    caption = dart_steps(item, dart_cloth(item, draft.cut_line), draft)[0].caption
    # 2 mm / sin 4° = 28.67 mm.
    assert "28.7 mm short of the point" in caption


@pytest.mark.parametrize("degrees", [6.0, 18.0, 20.0, 25.0, 30.0, 40.0, 60.0])
@pytest.mark.parametrize("depth", [20.0, 25.0, 30.0, 40.0, 76.0])
def test_a_dart_square_to_a_straight_waist_is_drafted_at_any_round_figure(
    degrees: float, depth: float
) -> None:
    # Both parallels of the waist end on the leg, extended: rounding decides for none of them.
    draft = finished(degrees, depth)
    half = math.radians(degrees) / 2
    if 12.7 * math.tan(half) < depth * math.tan(half):
        for notch in draft.notches:
            reach = min(abs(notch.start - end) for end in only_dart(draft).dart.ends)
            assert reach == pytest.approx(12.7 / math.cos(half), abs=0.01)
