"""A wide allowance along a hollow curve beside a narrow one: it is not lost to the narrow one."""

from __future__ import annotations

import cmath
import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point

from drafting_core.allowance.cut_line import Strip, cut_line
from drafting_core.plane.curves import Cubic, Line, Segment
from tests.help.blocks.rings import polygon
from tests.help.depth import examples

NARROW = 8.0


def hollow(radius: float, sweep: float, turn: float) -> list[Segment]:
    """A piece with an armhole of an arc, sharply hollow down to the side seam's end at 0.

    Args:
        radius: of the arc, in mm.
        sweep: the angle of the arc, in radians.
        turn: by how much the outline turns from the armhole to the side seam.
    """
    # The armhole ends at 0 along a direction; the side seam goes straight down.
    along = 1j * cmath.rect(1.0, -turn)
    centre = -1j * along * radius
    start = centre - centre * cmath.rect(1.0, sweep)
    handle = 4 / 3 * math.tan(sweep / 4) * radius
    leaving = along * cmath.rect(1.0, sweep)
    arc = Cubic(start, start + handle * leaving, -handle * along, 0j)
    top = start - 150 * leaving
    far = min(top.real, start.real, 0.0) - 300
    corners = [0j, 300j, far + 300j, complex(far, min(top.imag, start.imag) - 50), top]
    sides: list[Segment] = [Line(a, b) for a, b in itertools.pairwise(corners)]
    return [Line(top, start), arc, *sides]


@settings(max_examples=examples(60), deadline=None)
@given(st.floats(0.55, 0.95), st.floats(0.6, 1.1), st.floats(0.7, 1.2), st.floats(30.0, 60.0))
def test_no_place_of_the_hollow_is_nearer_to_the_raw_edge_than_its_allowance(
    tightness: float, sweep: float, turn: float, width: float
) -> None:
    stitch = hollow(tightness * width, sweep, turn)
    widths = [width, width, *[NARROW] * (len(stitch) - 2)]
    ring = cut_line([Strip(s, w) for s, w in zip(stitch, widths, strict=True)])
    arm = [stitch[1].point(k / 400) for k in range(401)]
    line = LineString([(z.real, z.imag) for z in arm])
    assert polygon(stitch, 60).buffer(-0.05).difference(polygon(ring, 60)).area < 1e-6
    for segment in ring:
        for k in range(41):
            z = segment.point(k / 40)
            place = Point(z.real, z.imag)
            foot = line.project(place)
            # What lies nearest to an end of the armhole is the neighbour's.
            if 0.5 < foot < line.length - 0.5:
                assert line.distance(place) > width - 0.05


def test_without_a_hollow_the_narrow_one_is_extended_to_the_wide_one() -> None:
    stitch = hollow(200.0, 0.6, 0.9)
    widths = [30.0, 30.0, *[NARROW] * (len(stitch) - 2)]
    ring = cut_line([Strip(s, w) for s, w in zip(stitch, widths, strict=True)])
    side = next(s for s in ring if abs(s.end.real - NARROW) < 1e-9 and s.end.imag > 200)
    assert side.start.real == pytest.approx(NARROW, abs=1e-9)
    assert side.start.imag < -20
