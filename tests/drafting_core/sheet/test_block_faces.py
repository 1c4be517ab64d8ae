"""Which faces are a block's: what is drawn in its dart, and across it, changes nothing."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting_core.ink.ink_graph import ink_graph
from drafting_core.ink.plane_faces import PlaneFaces, without_loose_ends
from drafting_core.ink.polylines import resampled
from drafting_core.sheet.block_faces import is_dart_chain, nested_outlines, top_components
from tests.drafting_core.sheet.shapes import APEX, MOUTH, WITH_DART, WITHOUT_DART, dart_lines
from tests.help.depth import examples
from tests.help.scans.inked import closed_line, inked, moved, polygon_of

turns = st.floats(0, 7)


def outline_areas(lines: list[list[complex]], turn: float, *, mirrored: bool) -> list[float]:
    """Return the areas of a drawing's nested outlines, the drawing turned and mirrored."""
    ink = ink_graph(inked([moved(line, turn, mirrored=mirrored) for line in lines]), [], 3.0)
    assert ink is not None
    plane = PlaneFaces(without_loose_ends(ink.graph))
    (number,) = top_components(plane, 40.0)
    return [polygon_of(one.points.tolist()).area for one in nested_outlines(plane, number)]


@settings(max_examples=examples(3), deadline=None)
@given(turns, st.booleans(), st.integers(0, 5))
def test_whatever_is_drawn_in_a_dart_it_is_taken_out(
    turn: float, mirrored: bool, count: int
) -> None:
    lines = [closed_line(WITH_DART), *dart_lines()[:count]]
    (area,) = outline_areas(lines, turn, mirrored=mirrored)
    true = polygon_of(WITH_DART)
    assert area == pytest.approx(true.area, abs=0.1 * true.length)


@settings(max_examples=examples(8), deadline=None)
@given(turns, st.floats(0.25, 0.75), st.floats(-1.9, 1.9), st.floats(1.2, 2.2), st.booleans())
def test_a_letter_across_a_leg_bends_no_leg(
    turn: float, share: float, beside: float, radius: float, has_mouth: bool
) -> None:
    """A round letter wherever it lies across a leg: the outline goes on along the leg."""
    way = (APEX - MOUTH[0]) / abs(APEX - MOUTH[0])
    middle = MOUTH[0] + (APEX - MOUTH[0]) * share + 1j * way * beside
    letter = [middle + radius * np.exp(2j * np.pi * k / 24) for k in range(25)]
    drawn = [closed_line(WITH_DART), letter, *([list(MOUTH)] if has_mouth else [])]
    lines = [moved(line, turn) for line in drawn]
    ink = ink_graph(inked(lines), [], 3.0)
    assert ink is not None
    plane = PlaneFaces(without_loose_ends(ink.graph))
    (number,) = top_components(plane, 40.0)
    (outline,) = nested_outlines(plane, number)
    true = polygon_of(moved(WITH_DART, turn)).exterior
    off = shapely.hausdorff_distance(polygon_of(outline.points.tolist()).exterior, true)
    # At the dart's point, where the legs' ink is one, the middle ends before it.
    assert off <= 3.5
    spots = [shapely.Point(z.real, z.imag) for z in outline.points.tolist()]
    tip = moved([APEX], turn)[0]
    assert all(spot.distance(true) <= 1.2 for spot in spots
               if abs(complex(spot.x, spot.y) - tip) > 8.0)  # fmt: skip


@settings(max_examples=examples(3), deadline=None)
@given(turns, st.booleans(), st.floats(60, 160))
def test_a_line_across_a_block_cuts_nothing_off(turn: float, mirrored: bool, height: float) -> None:
    across = [complex(-4, height), complex(220, height)]
    (area,) = outline_areas([closed_line(WITHOUT_DART), across], turn, mirrored=mirrored)
    true = polygon_of(WITHOUT_DART)
    assert area == pytest.approx(true.area, abs=0.1 * true.length)


@settings(max_examples=examples(60), deadline=None)
@given(turns, st.booleans(), st.floats(60, 180) | st.floats(205, 270), st.booleans())
def test_a_line_across_a_block_with_a_dart_leaves_its_dart(
    turn: float, mirrored: bool, height: float, has_mouth: bool
) -> None:
    """Beside the dart's point or through the dart, which may lie in the smaller part."""
    across = [complex(-4, height), complex(220, height)]
    drawn = [closed_line(WITH_DART), across, *([list(MOUTH)] if has_mouth else [])]
    (area,) = outline_areas(drawn, turn, mirrored=mirrored)
    true = polygon_of(WITH_DART)
    assert area == pytest.approx(true.area, abs=0.1 * true.length)


@given(turns, st.booleans(), st.floats(0.8, 1.25))
def test_two_legs_to_a_point_are_a_dart(turn: float, mirrored: bool, longer: float) -> None:
    legs = np.array(moved([APEX + (MOUTH[0] - APEX) * longer, APEX, MOUTH[1]], turn,
                          mirrored=mirrored))  # fmt: skip
    assert is_dart_chain(resampled(legs, 0.5, closed=False))
    assert is_dart_chain(resampled(legs[::-1], 0.5, closed=False))


@given(turns, st.floats(math.radians(95), math.radians(170)), st.floats(30, 120))
def test_a_wide_corner_or_an_arc_is_none(turn: float, between: float, size: float) -> None:
    way = complex(np.exp(1j * turn))
    corner = np.array([way * size, 0j, way * size * np.exp(1j * between)])
    assert not is_dart_chain(resampled(corner, 0.5, closed=False))
    arc = way * size * np.exp(1j * np.linspace(0, between, 200))
    assert not is_dart_chain(resampled(arc, 0.5, closed=False))
