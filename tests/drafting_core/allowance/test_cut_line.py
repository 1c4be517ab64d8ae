"""The cut line against independent references, and by the rules of the trade."""

from __future__ import annotations

import cmath
import math
import random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from drafting_core.allowance.cut_line import cut_line
from drafting_core.plane.crossings import crosses_itself
from drafting_core.plane.curves import Cubic, Line, Segment, cross, dot, rotation_about, turn
from drafting_core.plane.parallel import CUT_TOLERANCE
from drafting_core.text.errors import OutlineError
from tests.help.blocks.rings import (
    HALF_INCH,
    area,
    cut,
    front,
    polygon,
    reference,
    ring,
    star,
    wavy_ring,
)
from tests.help.depth import examples, some_quick


def corners(segments: list[Segment]) -> list[tuple[float, float]]:
    return [(round(s.start.real, 6), round(s.start.imag, 6)) for s in segments]


def assert_sound(result: list[Segment], stitch: list[Segment]) -> None:
    """Assert what holds for any cut line of any stitch line."""
    for one, following in zip(result, result[1:] + result[:1], strict=True):
        assert abs(one.end - following.start) < 1e-9
        assert one.length() >= 0.01
    assert crosses_itself(result) is None
    outer, inner = polygon(result, 60), polygon(stitch, 60)
    assert outer.is_valid
    # Flattening takes up to 0.05 mm off a bulge.
    assert inner.buffer(-0.05).difference(outer).area < 1e-6


@pytest.mark.parametrize("seed", some_quick(range(60), 20))
def test_one_width_against_a_union_of_polygons(seed: int) -> None:
    rng = random.Random(seed)
    stitch = star(rng, rng.randint(4, 14))
    while crosses_itself(stitch) is not None or not polygon(stitch).is_valid:
        stitch = star(rng, rng.randint(4, 14))
    width = rng.choice([3.0, 6.35, HALF_INCH, 20.0, 30.0, 40.0])
    result = cut(stitch, width)
    assert_sound(result, stitch)
    found, expected = polygon(result), reference(stitch, width)
    # The tolerance, and as much again for flattening both.
    assert found.exterior.hausdorff_distance(expected.exterior) < 2 * CUT_TOLERANCE
    assert found.symmetric_difference(expected).area < CUT_TOLERANCE * expected.length


widths = st.one_of(st.sampled_from([0.0, 6.35, HALF_INCH, 30.0]), st.floats(0.0, 40.0))


@settings(max_examples=examples(150), deadline=None)
@given(st.integers(0, 10**9), st.lists(widths, min_size=14, max_size=14), st.integers(3, 14))
def test_any_widths_give_a_sound_line(seed: int, each: list[float], count: int) -> None:
    stitch = star(random.Random(seed), count)
    assume(crosses_itself(stitch) is None and polygon(stitch, 60).is_valid)
    assert_sound(cut(stitch, *each[:count]), stitch)


def true_parallel(segment: Segment, width: float) -> LineString:
    """Return the parallel of a segment by its definition, with its straight extensions."""
    at = [k / 600 for k in range(601)]
    points = [segment.point(t) - 1j * segment.tangent(t) * width for t in at]
    points.insert(0, points[0] - 500 * segment.start_tangent())
    points.append(points[-1] + 500 * segment.end_tangent())
    return LineString([(z.real, z.imag) for z in points])


def assert_on_own_parallels(
    result: list[Segment], stitch: list[Segment], each: list[float]
) -> None:
    """Assert that every curve of a cut line lies on the true parallel of one seam."""
    true = [true_parallel(s, w) for s, w in zip(stitch, each, strict=False)]
    for piece in result:
        if isinstance(piece, Cubic):
            points = [piece.point(t) for t in (0.1, 0.37, 0.5, 0.81)]
            off = [max(line.distance(Point(z.real, z.imag)) for z in points) for line in true]
            assert min(off) < CUT_TOLERANCE


@settings(max_examples=examples(60), deadline=None)
@given(st.integers(0, 10**9), st.lists(widths, min_size=9, max_size=9), st.integers(3, 9))
def test_every_curve_keeps_the_distance_of_its_own_seam(
    seed: int, each: list[float], count: int
) -> None:
    stitch = star(random.Random(seed), count)
    assume(crosses_itself(stitch) is None and polygon(stitch, 60).is_valid)
    assert_on_own_parallels(cut(stitch, *each[:count]), stitch, each)


@settings(max_examples=examples(60), deadline=None)
@given(st.integers(3, 9), st.integers(0, 10**9), st.lists(widths, min_size=9, max_size=9))
def test_convex_polygons_are_cut_by_half_planes(count: int, seed: int, each: list[float]) -> None:
    """With turns of more than 15° and no pointed corner it is the half-planes' intersection."""
    rng = random.Random(seed)
    angles = [math.tau * (k + rng.uniform(-0.2, 0.2)) / count for k in range(count)]
    points = [200 * cmath.exp(1j * a) for a in angles]
    stitch: list[Segment] = [
        Line(p, q) for p, q in zip(points, points[1:] + points[:1], strict=True)
    ]
    turns = [
        turn(a.end_tangent(), b.start_tangent())
        for a, b in zip(stitch, stitch[1:] + stitch[:1], strict=True)
    ]
    assume(all(math.radians(15) < angle < math.radians(140) for angle in turns))
    expected = Polygon([(-2000, -2000), (2000, -2000), (2000, 2000), (-2000, 2000)])
    for segment, width in zip(stitch, each, strict=False):
        way = segment.start_tangent()
        foot = segment.start - 1j * way * width
        corners_of_plane = [foot - 9e3 * way, foot + 9e3 * way]
        corners_of_plane += [z + 9e3j * way for z in reversed(corners_of_plane)]
        plane = Polygon([(z.real, z.imag) for z in corners_of_plane])
        expected = expected.intersection(plane)
    # Where a wide seam would be lost to its narrow neighbours, it keeps its width by steps.
    assume(len(expected.exterior.coords) == count + 1)
    result = polygon(cut(stitch, *each[:count]))
    assert result.symmetric_difference(expected).area < 1e-6 * expected.area


def with_cap(*cap: tuple[float, float]) -> list[Segment]:
    """Return a piece of 300 by 200 mm with a cap in the middle of its upper seam."""
    return ring((0, 0), *cap, (300, 0), (300, 200), (0, 200))


CAPS = {
    "slot": [(148, 0), (148, 5), (153, 5), (153, 0)],
    "deep slot": [(148, 0), (148, 50), (153, 50), (153, 0)],
    "undercut slot": [(148, 0), (147, 50), (154, 50), (153, 0)],
    "narrow V": [(145, 0), (150, 40), (155, 0)],
    "dip of 2 mm": [(147, 0), (150, 2), (153, 0)],
    "crooked dip": [(147, 0), (149, 2), (153, 0)],
    "dip with a floor": [(145, 0), (147, 3), (153, 3), (155, 0)],
}


@pytest.mark.parametrize("turned", [0.0, 0.3, 1.0, 2.5])
@pytest.mark.parametrize("name", CAPS)
def test_narrow_cap_pieces_vanish(name: str, turned: float) -> None:
    stitch = [s.mapped(lambda z: z * cmath.exp(1j * turned)) for s in with_cap(*CAPS[name])]
    result = cut(stitch, HALF_INCH)
    # As if the cap were not there.
    plain = [s.mapped(lambda z: z * cmath.exp(1j * turned)) for s in with_cap()]
    assert area(result) == pytest.approx(area(cut(plain, HALF_INCH)), abs=1e-6)
    assert len(result) <= 5


@pytest.mark.parametrize("width", [6.0, 30.0])
def test_a_narrow_cap_vanishes_at_its_own_width_too(width: float) -> None:
    stitch = with_cap((145, 0), (150, 40), (155, 0))
    result = cut(stitch, HALF_INCH, width, width, HALF_INCH, HALF_INCH, HALF_INCH, HALF_INCH)
    assert_sound(result, stitch)


def test_caps_that_stand_out_stay() -> None:
    tab = with_cap((148, 0), (148, -5), (153, -5), (153, 0))
    result = cut(tab, HALF_INCH)
    expected = reference(tab, HALF_INCH)
    assert polygon(result).symmetric_difference(expected).area < 0.01
    assert len(result) == 8


def test_a_square() -> None:
    square = ring((0, 0), (100, 0), (100, 100), (0, 100))
    assert corners(cut(square, 10.0)) == [(-10, -10), (110, -10), (110, 110), (-10, 110)]
    assert corners(cut(square, 10.0, 20.0, 30.0, 0.0)) == [
        (0, -10),
        (120, -10),
        (120, 130),
        (0, 130),
    ]
    assert cut(square, 0.0) == square


def test_straight_cubics_count_as_lines() -> None:
    square = ring((0, 0), (100, 0), (100, 100), (0, 100))
    cubics: list[Segment] = [Cubic(s.start, s.point(0.2), s.point(0.7), s.end) for s in square]
    assert cut(cubics, 10.0) == cut(square, 10.0)


@pytest.mark.parametrize("degrees", [16.0, 20.0, 35.0, -16.0, -20.0, -35.0])
def test_different_widths_meet_on_a_moderate_turn(degrees: float) -> None:
    """The one is extended, the other trimmed, to the meeting of two straight lines."""
    way = cmath.exp(1j * math.radians(degrees))
    end = 300 + 200 * way
    stitch: list[Segment] = [
        Line(0j, 300 + 0j),
        Line(300 + 0j, end),
        Line(end, end + 400j),
        Line(end + 400j, 400j),
        Line(400j, 0j),
    ]
    result = cut(stitch, HALF_INCH, 30.0, HALF_INCH, HALF_INCH, HALF_INCH)
    assert len(result) == 5
    # On the line y = -12.7, and 30 mm from the second seam's line.
    meeting = result[0].end
    assert meeting.imag == pytest.approx(-HALF_INCH, abs=1e-9)
    assert cross(way, meeting - 300) == pytest.approx(-30.0, abs=1e-9)
    assert (meeting.real > 300) == (degrees > 0)


@pytest.mark.parametrize("degrees", [0.0, 0.02, 5.0, 14.0, -5.0, -14.0])
def test_different_widths_step_on_a_slight_turn(degrees: float) -> None:
    way = cmath.exp(1j * math.radians(degrees))
    end = 300 + 200 * way
    stitch: list[Segment] = [
        Line(0j, 300 + 0j),
        Line(300 + 0j, end),
        Line(end, end + 400j),
        Line(end + 400j, 400j),
        Line(400j, 0j),
    ]
    for one, other in ((HALF_INCH, 30.0), (30.0, HALF_INCH)):
        result = cut(stitch, one, other, HALF_INCH, HALF_INCH, HALF_INCH)
        assert len(result) == 6
        step = result[1]
        wide_way = way if other > one else 1 + 0j
        assert abs(dot(step.end - step.start, wide_way)) < 1e-9
        # The wider seam keeps its width right to its end.
        wide = step.end if other > one else step.start
        assert abs(wide - (300 - 30j * wide_way)) < 1e-9
        narrow_way, narrow = (1 + 0j, step.start) if other > one else (way, step.end)
        assert cross(narrow_way, narrow - 300) == pytest.approx(-HALF_INCH, abs=1e-9)


def test_a_short_wide_seam_is_not_lost_to_a_narrow_one() -> None:
    way = cmath.exp(1j * math.radians(20.0))
    end = 300 + 40 * way
    stitch: list[Segment] = [
        Line(0j, 300 + 0j),
        Line(300 + 0j, end),
        Line(end, end + 400j),
        Line(end + 400j, 400j),
        Line(400j, 0j),
    ]
    result = cut(stitch, HALF_INCH, 30.0, HALF_INCH, HALF_INCH, HALF_INCH)
    distances = [cross(way, s.point(0.5) - 300) for s in result]
    assert any(abs(d + 30.0) < 1e-9 for d in distances)


def test_the_meeting_is_with_the_curve_not_its_tangent() -> None:
    """A narrow straight seam runs on until it meets the wide, curved one."""
    stitch: list[Segment] = [
        Line(0j, 200 + 0j),
        Cubic(200 + 0j, 260 + 25j, 330 + 60j, 350 + 200j),
        Line(350 + 200j, 200j),
        Line(200j, 0j),
    ]
    result = cut(stitch, HALF_INCH, 30.0, HALF_INCH, HALF_INCH)
    meeting = result[0].end
    assert meeting.imag == pytest.approx(-HALF_INCH, abs=1e-9)
    assert meeting.real > 200
    curve = stitch[1]
    foot = curve.point(curve.nearest(meeting))
    assert abs(abs(meeting - foot) - 30.0) < CUT_TOLERANCE


@pytest.mark.parametrize("half_angle", [5.0, 10.0, 14.0, 15.0, 20.0])
def test_long_mitres_are_cut_square(half_angle: float) -> None:
    """A mitre is 1 / sin(half the angle between the seams) widths long: 4 at 14.4775°."""
    slope = math.tan(math.radians(half_angle))
    wedge = ring((0, -300 * slope), (300, 0), (0, 300 * slope))
    result = cut(wedge, HALF_INCH)
    length = HALF_INCH / math.sin(math.radians(half_angle))
    tips = [s for s in result if s.start.real > 301]
    if length > 4 * HALF_INCH:
        assert len(tips) == 2
        for s in tips:
            assert s.start.real == pytest.approx(300 + 4 * HALF_INCH, abs=1e-9)
    else:
        assert len(tips) == 1
        assert abs(tips[0].start - (300 + length)) < 1e-9


def test_smooth_joints_stay_smooth_without_a_node_more() -> None:
    handle = 100 * 4 / 3 * math.tan(math.pi / 8)
    quarter = Cubic(100 + 0j, complex(100, handle), complex(handle, 100), 100j)
    circle: list[Segment] = [quarter.mapped(rotation_about(0j, k * math.pi / 2)) for k in range(4)]
    result = cut(circle, HALF_INCH)
    assert len(result) == 4
    for one, following in zip(result, result[1:] + result[:1], strict=True):
        assert one.end == following.start
        assert abs(turn(one.end_tangent(), following.start_tangent())) < 1e-9
        # The quarter's own error at 100 mm is 0.03 mm.
        assert all(abs(abs(one.point(t)) - 112.7) < 0.04 for t in (0.0, 0.2, 0.5, 0.7))


def test_a_seam_tighter_than_its_allowance() -> None:
    """An armhole of radius 15 with 30 mm: both ends run on to their meeting, no swallowtail."""
    handle = 15 * 4 / 3 * math.tan(math.pi / 8)
    scoop: list[Segment] = [
        Line(0j, 85 + 0j),
        Cubic(85 + 0j, complex(85, handle), complex(100 - handle, 15), 100 + 15j),
        Cubic(100 + 15j, complex(100 + handle, 15), complex(115, handle), 115 + 0j),
        Line(115 + 0j, 200 + 0j),
        Line(200 + 0j, 200 + 100j),
        Line(200 + 100j, 100j),
        Line(100j, 0j),
    ]
    result = cut(scoop, 30.0)
    assert_sound(result, scoop)
    assert area(result) == pytest.approx(260 * 160, abs=1e-6)


def test_a_front() -> None:
    stitch, each = front()
    result = cut(stitch, *each)
    assert_sound(result, stitch)
    curves = [s for s in result if isinstance(s, Cubic)]
    assert len(curves) <= 2 * sum(isinstance(s, Cubic) for s in stitch)
    # The fold stays where it is.
    fold = max(result, key=lambda s: abs(s.end - s.start) if isinstance(s, Line) else 0.0)
    assert fold.start.real == pytest.approx(0.0, abs=1e-9)
    assert fold.end.real == pytest.approx(0.0, abs=1e-9)
    assert_on_own_parallels(result, stitch, each)
    # Smooth at the hem's middle and in the armhole, where the stitch line is.
    smooth = [
        one.end
        for one, following in zip(result, result[1:] + result[:1], strict=True)
        if abs(turn(one.end_tangent(), following.start_tangent())) < 1e-6
    ]
    assert any(abs(place - (120 + 462j)) < 1e-6 for place in smooth)


@settings(max_examples=examples(30), deadline=None)
@given(st.floats(0, math.tau), st.floats(-500, 500), st.floats(-500, 500))
def test_moving_a_piece_moves_its_cut_line(angle: float, x: float, y: float) -> None:
    factor, by = cmath.exp(1j * angle), complex(x, y)
    stitch, each = front()
    moved = cut([s.mapped(lambda z: z * factor + by) for s in stitch], *each)
    expected = [s.mapped(lambda z: z * factor + by) for s in cut(stitch, *each)]
    assert len(moved) == len(expected)
    for one, other in zip(moved, expected, strict=True):
        assert abs(one.start - other.start) < 1e-6


def test_many_nodes() -> None:
    stitch = wavy_ring(800)
    result = cut(stitch, HALF_INCH)
    assert_sound(result, stitch)
    expected = reference(stitch, HALF_INCH)
    assert polygon(result).exterior.hausdorff_distance(expected.exterior) < CUT_TOLERANCE


DEGENERATE: dict[str, list[Segment]] = {
    "drop": [Cubic(0j, 150 - 150j, 150 + 150j, 0j)],
    "lens": [
        Cubic(0j, 50 - 60j, 150 - 60j, 200 + 0j),
        Cubic(200 + 0j, 150 + 60j, 50 + 60j, 0j),
    ],
    "crescent": [
        Cubic(0j, 50 - 100j, 150 - 100j, 200 + 0j),
        Cubic(200 + 0j, 150 - 60j, 50 - 60j, 0j),
    ],
    "retracted handles": [
        Cubic(0j, 0j, 70 - 40j, 100 + 0j),
        Line(100 + 0j, 100 + 100j),
        Cubic(100 + 100j, 60 + 140j, 0 + 100j, 0 + 100j),
        Line(0 + 100j, 0j),
    ],
    "both handles retracted": [
        Cubic(0j, 0j, 100 + 0j, 100 + 0j),
        *ring((0, 0), (100, 0), (100, 100), (0, 100))[1:],
    ],
    "segment of 5 micrometres": ring(
        (0, 0), (50, 0), (50.004, 0.003), (100, 0), (100, 100), (0, 100)
    ),
    "segments of 20 micrometres": ring(
        (0, 0), (50, 0), (50.02, 0), (50.03, 0.01), (100, 0), (100, 100), (0, 100)
    ),
    "sliver": ring((0, 0), (200, 10), (0, 20)),
    "slit": ring((0, 0), (100, 0), (100.5, 80), (101, 0), (200, 0), (200, 150), (0, 150)),
}


@pytest.mark.parametrize("width", [3.0, HALF_INCH, 40.0])
@pytest.mark.parametrize("name", DEGENERATE)
def test_degenerate_rings(name: str, width: float) -> None:
    stitch = DEGENERATE[name]
    result = cut(stitch, width)
    assert_sound(result, stitch)
    found, expected = polygon(result), reference(stitch, width)
    assert found.exterior.hausdorff_distance(expected.exterior) < 2 * CUT_TOLERANCE


def test_what_is_no_ring_is_refused() -> None:
    square = ring((0, 0), (100, 0), (100, 100), (0, 100))
    with pytest.raises(OutlineError, match="empty"):
        cut_line([])
    with pytest.raises(OutlineError, match="does not close"):
        cut(square[:3], 5.0)
    with pytest.raises(OutlineError, match="wrong way"):
        cut([s.reversed() for s in reversed(square)], 5.0)
    with pytest.raises(OutlineError, match="cannot be added"):
        cut(square, 5.0, -1.0, 5.0, 5.0)
