"""All lines of a sheet as one graph: dashes bridged, corners closed, and what was not drawn told.

What is drawn, and where it is not, is shapely's: pieces of a true line inked with a round pen.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPoint, Point, Polygon
from shapely.ops import polygonize, substring, unary_union

from drafting_core.ink.ink_graph import InkGraph, drawn_share, ink_graph
from drafting_core.ink.polylines import Points
from tests.help.depth import examples
from tests.help.scans.inked import (
    closed_line,
    contours_of,
    inked,
    line_string,
    moved,
    polygon_of,
    shapes_of,
)

PEN = 0.7
GAP = 5.0
#: A cell of the picture in which lines are thinned, and a part of the pen's round end (mm).
NEAR = 0.4
BLOCK = [0j, 150 - 8j, 170 + 120j, 12 + 130j]
turns = st.floats(0, 7)


def graph_of(
    contours: list[Points], strokes: list[Points] | None = None, gap: float = GAP
) -> InkGraph:
    found = ink_graph(contours, strokes or [], gap)
    assert found is not None
    return found


def pieces_of(line: LineString, dash: float, gap: float) -> list[LineString]:
    """Return the dashes of a line, the first and the last of them at its ends."""
    count = max(2, round((line.length + gap) / (dash + gap)))
    step = (line.length + gap) / count
    starts = [k * step for k in range(count)]
    return [substring(line, start, start + step - gap) for start in starts]


def contours(pieces: list[LineString], pen: float = PEN) -> list[Points]:
    ink = unary_union([piece.buffer(pen / 2) for piece in pieces])
    return contours_of(getattr(ink, "geoms", [ink]))


def course(bow: float, turn: float) -> LineString:
    along = np.linspace(0, 1, 301)
    points = np.exp(1j * turn) * (180 * along + 1j * bow * np.sin(np.pi * along))
    return line_string([complex(z) for z in points])


def faces_of(found: InkGraph) -> list[Polygon]:
    """Return what the lines of a graph go round, by shapely."""
    lines = [line_string(line.points) for line in found.graph.lines]
    return sorted(polygonize(unary_union(lines)), key=lambda face: -float(face.area))


def goes_round(found: InkGraph, ring: list[complex], within: float) -> bool:
    """Tell whether the largest face of a graph is a block's, its line as near as said."""
    faces = faces_of(found)
    return bool(faces) and bool(
        faces[0].exterior.hausdorff_distance(polygon_of(ring).exterior) <= within
    )


@settings(max_examples=examples(16), deadline=None)
@given(st.floats(5, 14), st.floats(0.3, 0.7), st.floats(-25, 25), turns)
def test_a_dashed_line_is_one_line_along_all_its_dashes(
    dash: float, part: float, bow: float, turn: float
) -> None:
    """Also where its gaps are wider than the gaps of lines that are closed."""
    true = course(bow, turn)
    pieces = pieces_of(true, dash, max(2.0, part * dash))
    found = graph_of(contours(pieces), gap=1.0)
    (only,) = found.graph.lines
    assert only.dashed
    assert found.graph.degrees() == [1, 1]
    assert line_string(only.points).hausdorff_distance(true) < 2 * NEAR
    assert len(found.chains) == 1
    assert found.pen == pytest.approx(PEN, abs=0.15)


@settings(max_examples=examples(16), deadline=None)
@given(st.floats(5, 14), st.floats(2.0, 4.5), st.floats(-25, 25), turns)
def test_undrawn_is_what_lies_between_the_dashes(
    dash: float, gap: float, bow: float, turn: float
) -> None:
    true = course(bow, turn)
    pieces = pieces_of(true, dash, gap)
    found = graph_of(contours(pieces))
    undrawn = MultiPoint([(z.real, z.imag) for z in found.undrawn])
    cores = unary_union([substring(piece, PEN, piece.length - PEN) for piece in pieces])
    # Every gap has its points; all lie on the line, and none within a dash.
    places = list(itertools.pairwise(pieces))
    for before, after in places:
        middle = LineString([before.coords[-1], after.coords[0]]).interpolate(0.5, normalized=True)
        assert undrawn.distance(middle) < gap / 8
    for point in undrawn.geoms:
        assert true.distance(point) < NEAR
        assert cores.distance(point) > PEN / 4
    # Points on the line are told by it: in the middle of a dash drawn, of a gap not.
    drawn: Points = np.array([complex(*piece.interpolate(0.5, normalized=True).coords[0])
                      for piece in pieces])  # fmt: skip
    between: Points = np.array([(complex(*before.coords[-1]) + complex(*after.coords[0])) / 2
                                for before, after in places])  # fmt: skip
    assert drawn_share(drawn, found.undrawn, 1.0).all()
    assert not drawn_share(between, found.undrawn, 1.0).any()


@settings(max_examples=examples(12), deadline=None)
@given(st.lists(st.floats(0.8, 1.8), min_size=4, max_size=4), turns, st.booleans())
def test_open_corners_are_closed_where_the_lines_meet(
    short: list[float], turn: float, mirrored: bool
) -> None:
    """Every side stops short of its two corners by what its place in the list says."""
    ring = moved(BLOCK, turn, mirrored=mirrored)
    sides = []
    for k, start in enumerate(ring):
        end = ring[(k + 1) % len(ring)]
        way = (end - start) / abs(end - start)
        sides.append([start + way * short[k], end - way * short[k]])
    shapes = shapes_of(sides, PEN)
    assert len(shapes) == len(ring)
    found = graph_of(contours_of(shapes))
    assert goes_round(found, ring, 2 * NEAR)
    assert all(degree == 2 for degree in found.graph.degrees())
    assert len(found.bridges) == len(ring)
    corners = MultiPoint([(z.real, z.imag) for z in ring])
    reach = max(short) + PEN
    for z in found.undrawn:
        assert corners.distance(Point(z.real, z.imag)) < reach
    for corner in ring:
        assert np.abs(found.undrawn - corner).min() < NEAR


@pytest.mark.parametrize("opening", [4.0, 12.0])
def test_a_gap_that_is_wider_than_said_stays_open(opening: float) -> None:
    way = (BLOCK[1] - BLOCK[0]) / abs(BLOCK[1] - BLOCK[0])
    middle = (BLOCK[0] + BLOCK[1]) / 2
    ends = (middle + way * opening / 2, middle - way * opening / 2)
    found = graph_of(inked([[ends[0], *BLOCK[1:], BLOCK[0], ends[1]]], PEN))
    is_closed = opening - PEN < GAP
    assert goes_round(found, BLOCK, 2 * NEAR) == is_closed
    assert bool(found.bridges) == is_closed
    assert bool(len(found.undrawn)) == is_closed
    assert sorted(found.graph.degrees())[:1] == ([2] if is_closed else [1])


@settings(max_examples=examples(8), deadline=None)
@given(st.floats(6, 10), st.floats(2.0, 3.5), turns, st.booleans())
def test_a_dashed_block_is_closed_at_its_corners(
    dash: float, gap: float, turn: float, mirrored: bool
) -> None:
    """Its sides are dashed one by one, so that a dash ends at every corner."""
    ring = moved(BLOCK, turn, mirrored=mirrored)
    sides = [line_string([z, ring[(k + 1) % len(ring)]]) for k, z in enumerate(ring)]
    pieces = [piece for side in sides for piece in pieces_of(side, dash, gap)]
    found = graph_of(contours(pieces))
    assert goes_round(found, ring, 2 * NEAR)
    assert all(line.dashed for line in found.graph.lines if line.length > 2 * (dash + gap))


@pytest.mark.parametrize("turn", [0.0, 0.5, 2.0])
@pytest.mark.parametrize("shift", [0.0, 2.0, 4.0, 6.0])
def test_a_dash_that_goes_round_a_corner_is_part_of_the_line(turn: float, shift: float) -> None:
    """The whole block is dashed in one go: dashes begin anywhere, some bend round a corner."""
    ring = moved(BLOCK, turn)
    start = (ring[0] + ring[1]) / 2
    way = (ring[1] - ring[0]) / abs(ring[1] - ring[0])
    whole = line_string([start + way * shift, *ring[1:], ring[0], start + way * shift])
    pieces = pieces_of(whole, 8.0, 3.0)
    # The first and the last dash meet: they are one.
    found = graph_of(contours(pieces[:-1]), gap=1.0)
    bent = [piece for piece in pieces if len(piece.coords) > 2]
    assert bent
    middles = unary_union([line_string(line.points) for line in found.graph.lines])
    for piece in bent:
        assert piece.hausdorff_distance(piece.intersection(middles.buffer(2 * NEAR))) < 2 * NEAR


@pytest.mark.parametrize("turn", [0.0, 0.5, 2.0])
def test_a_side_of_two_dashes_is_part_of_a_dashed_block(turn: float) -> None:
    """Too few dashes for a chain between two corners, but like those of the other sides."""
    ring = moved([0j, 150 + 0j, 150 + 19j, 0 + 19j], turn)
    sides = [line_string([z, ring[(k + 1) % len(ring)]]) for k, z in enumerate(ring)]
    pieces = [piece for side in sides for piece in pieces_of(side, 8.0, 3.0)]
    found = graph_of(contours(pieces), gap=3.5)
    assert goes_round(found, ring, 2 * NEAR)


@pytest.mark.parametrize("short", [6.5, 8.0])
def test_a_dashed_line_may_stop_short_by_its_period(short: float) -> None:
    """A solid one that stops so far from another does not meet it."""
    at = (BLOCK[0] + BLOCK[1]) / 2
    square = 1j * (BLOCK[1] - BLOCK[0]) / abs(BLOCK[1] - BLOCK[0])
    line = line_string([at + square * short, at + square * 90])
    for pieces in (pieces_of(line, 8.0, 3.0), [line]):
        found = graph_of(contours([line_string(closed_line(BLOCK)), *pieces]))
        meets = any(abs(node - at) < 1.0 for node in found.graph.nodes)
        assert meets == (len(pieces) > 1)


def test_a_line_that_is_drawn_whole_has_nothing_undrawn() -> None:
    found = graph_of(inked([closed_line(BLOCK)], PEN))
    assert goes_round(found, BLOCK, NEAR)
    assert len(found.undrawn) == len(found.bridges) == len(found.chains) == 0
    assert not any(line.dashed for line in found.graph.lines)
    places = found.graph.lines[0].points
    assert drawn_share(places, found.undrawn, 3.0).all()


def test_solid_and_dashed_lines_are_told_apart() -> None:
    """A dashed line runs from side to side of a block of solid ones, and ends upon them."""
    across = [line_string([75 - 4j, 85 + 125j])]
    dashes = [piece for line in across for piece in pieces_of(line, 8.0, 3.0)]
    solid = [line_string(closed_line(BLOCK))]
    found = graph_of(contours([*solid, *dashes]))
    assert len(faces_of(found)) == 2
    for line in found.graph.lines:
        middle = line.points[len(line.points) // 2]
        on_solid = solid[0].distance(Point(middle.real, middle.imag)) < 2.0
        assert line.dashed != on_solid


@settings(max_examples=examples(12), deadline=None)
@given(st.floats(math.radians(35), math.radians(145)), turns)
def test_lines_meet_where_they_cross(between: float, turn: float) -> None:
    at = 20 + 30j
    ways = [complex(np.exp(1j * angle)) for angle in (turn, turn + between)]
    found = graph_of(inked([[at - way * 60, at + way * 60] for way in ways], PEN))
    degrees = np.array(found.graph.degrees())
    # Two lines that cross are one meeting of four ends, or two of three within their common ink.
    assert sorted(degrees) in ([1, 1, 1, 1, 4], [1, 1, 1, 1, 3, 3])
    reach = PEN / 2 / math.sin(min(between, math.pi - between) / 2)
    assert np.abs(found.graph.nodes[degrees > 1] - at).max() < reach + NEAR / 2


@pytest.mark.parametrize("turn", [0.0, 0.3, 1.0])
def test_lines_that_cross_nearly_square_meet_once(turn: float) -> None:
    for between in np.radians(np.arange(75, 106, 5)):
        ways = [complex(np.exp(1j * angle)) for angle in (turn, turn + between)]
        found = graph_of(inked([[-way * 60, way * 60] for way in ways], PEN))
        assert sorted(found.graph.degrees()) == [1, 1, 1, 1, 4]


@pytest.mark.parametrize("side", [5.0, 7.0, 9.0])
def test_a_small_hole_between_lines_is_a_hole(side: float) -> None:
    """Three long lines leave a white triangle no larger than a letter."""
    corners = [side * complex(np.exp(1j * math.pi * k / 1.5)) / math.sqrt(3) for k in range(3)]
    lines = []
    for k, z in enumerate(corners):
        way = (corners[(k + 1) % 3] - z) / side
        lines.append([z - 40 * way, corners[(k + 1) % 3] + 40 * way])
    found = graph_of(inked(lines, PEN))
    (face,) = faces_of(found)
    assert face.exterior.hausdorff_distance(polygon_of(corners).exterior) < 2 * NEAR


def test_lines_without_ink_are_lines_beside_those_with() -> None:
    """A trace may have both; what has no ink meets what has."""
    stroke = np.array([75 - 4j, 85 + 125j])
    found = graph_of(inked([closed_line(BLOCK)], PEN), [stroke])
    halves = faces_of(found)
    assert len(halves) == 2
    whole = polygon_of(BLOCK)
    cut = line_string([75 - 4j, 85 + 125j])
    for half in halves:
        assert half.exterior.distance(cut) < NEAR
    assert sum(half.area for half in halves) == pytest.approx(whole.area, rel=0.01)


def test_where_nothing_is_a_line_there_is_no_graph() -> None:
    assert ink_graph([], [], GAP) is None
    letter = [[0j, 1.5 + 4j, 3 + 0j], [0.7 + 1.6j, 2.3 + 1.6j]]
    assert ink_graph(inked(letter, 0.5), [], GAP) is None


def test_letters_are_left_out_beside_lines() -> None:
    letter = [[60 + 60j, 61.5 + 64j, 63 + 60j], [60.7 + 61.6j, 62.3 + 61.6j]]
    plain = graph_of(inked([closed_line(BLOCK)], PEN))
    found = graph_of(inked([closed_line(BLOCK), *letter], PEN))
    assert len(found.graph.lines) == len(plain.graph.lines)
    within = polygon_of(BLOCK).buffer(-5)
    assert not any(within.intersects(line_string(line.points)) for line in found.graph.lines)
