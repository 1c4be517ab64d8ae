"""Outlines that cross, each followed straight on."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting_core.ink.ink_graph import ink_graph
from drafting_core.ink.plane_faces import without_loose_ends
from drafting_core.sheet.crossing_lines import closed_by_crossings
from tests.help.depth import examples
from tests.help.scans.inked import closed_line, inked, polygon_of


def crossed(rings: list[list[complex]]) -> list[float] | None:
    """Return the areas of the closed lines into which the ink of rings falls, or None."""
    ink = ink_graph(inked([closed_line(ring) for ring in rings]), [], 3.0)
    assert ink is not None
    found = closed_by_crossings(without_loose_ends(ink.graph), ink.pen)
    return None if found is None else sorted(polygon_of(r.tolist()).area for r in found)


def box(width: float, height: float, turn: float) -> list[complex]:
    way = complex(np.exp(1j * turn)) / 2
    return [way * complex(x * width, y * height) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))]


@settings(max_examples=examples(16), deadline=None)
@given(st.floats(0, 7), st.floats(60, 90), st.floats(130, 200), st.floats(-0.15, 0.15))
def test_two_rings_that_cross_fall_into_two(
    turn: float, small: float, large: float, skew: float
) -> None:
    rings = [box(large, small, turn), box(small + 7, large, turn + skew)]
    true = [polygon_of(ring) for ring in rings]
    found = crossed(rings)
    assert found == pytest.approx(
        sorted(shape.area for shape in true), abs=0.1 * max(shape.length for shape in true)
    )


def test_a_line_that_ends_at_another_does_not_cross_it() -> None:
    ring = box(160, 120, 0.3)
    ink = ink_graph(inked([closed_line(ring), [(ring[0] + ring[1]) / 2, ring[2]]]), [], 3.0)
    assert ink is not None
    assert closed_by_crossings(without_loose_ends(ink.graph), ink.pen) is None
