"""What lines enclose: Euler's formula, and shapely's polygons between the same lines."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon
from shapely.ops import polygonize, unary_union

from drafting_core.ink.centre_lines import centre_lines, edge_points
from drafting_core.ink.line_graph import InkLine, LineGraph
from drafting_core.ink.plane_faces import PlaneFaces, without_loose_ends
from drafting_core.ink.polylines import area_of, resampled
from drafting_core.ink.skeleton import filled, grid_over
from tests.help.depth import examples
from tests.help.scans.inked import contours_of, polygon_of

seeds = st.integers(0, 10**6)
PEN = 0.7


def random_lines(seed: int, count: int) -> list[LineString]:
    rng = np.random.default_rng(seed)
    ends = rng.uniform(0, 150, (count, 2, 2))
    return [LineString(pair.tolist()) for pair in ends]


def noded(lines: list[LineString]) -> list[LineString]:
    found = unary_union(lines)
    return list(getattr(found, "geoms", [found]))


def graph_of(pieces: list[LineString]) -> LineGraph:
    """Return shapely's noded lines as a graph."""
    places: dict[tuple[float, float], int] = {}
    lines = []
    for piece in pieces:
        ends = [places.setdefault((x, y), len(places)) for x, y in
                (piece.coords[0], piece.coords[-1])]  # fmt: skip
        points = np.array([complex(x, y) for x, y in piece.coords])
        way = float(np.angle(points[-1] - points[0]))
        even = resampled(points, 0.5, closed=False)
        back = float(np.angle(points[0] - points[-1]))
        lines.append(InkLine(even, ends[0], ends[1], leaves=(way, back)))
    return LineGraph(np.array([complex(x, y) for x, y in places]), lines)


def parts_of(graph: LineGraph) -> int:
    """Count what hangs together."""
    of = list(range(len(graph.nodes)))
    for line in graph.lines:
        one, other = of[line.start], of[line.end]
        of = [one if number == other else number for number in of]
    return len(set(of))


def signed(graph: LineGraph) -> int:
    """Return V - E, which is 1 + C - F with the outside among the faces F."""
    return len(graph.nodes) - len(graph.lines)


@settings(max_examples=examples(40), deadline=None)
@given(seeds, st.integers(1, 14))
def test_faces_are_as_many_as_euler_says_and_as_large_as_shapely_says(
    seed: int, count: int
) -> None:
    pieces = noded(random_lines(seed, count))
    graph = graph_of(pieces)
    plane = PlaneFaces(graph)
    assert signed(graph) + len(plane.faces) + 1 == 1 + parts_of(graph)
    true = sorted(Polygon(polygon.exterior).area for polygon in polygonize(pieces))
    assert sorted(face.area for face in plane.faces) == pytest.approx(true, abs=1e-6)
    assert sum(len(part.faces) for part in plane.components) == len(plane.faces)
    for number, face in enumerate(plane.faces):
        assert all(plane.left_of(half) == number for half in face.halves)
        assert area_of(face.points) == pytest.approx(face.area)


@settings(max_examples=examples(24), deadline=None)
@given(seeds)
def test_faces_together_have_the_outline_of_their_union(seed: int) -> None:
    graph = graph_of(noded(random_lines(seed, 12)))
    plane = PlaneFaces(without_loose_ends(graph))
    for component in plane.components:
        if not component.faces:
            continue
        shapes = [polygon_of(plane.faces[k].points.tolist()) for k in component.faces]
        true = unary_union([shape.buffer(0) for shape in shapes])
        assert component.area == pytest.approx(true.area, rel=1e-6)
        # Two neighbours are one shape without the line between them.
        face = component.faces[0]
        for other, _length in plane.neighbours(face):
            if other >= 0 and other != face:
                both = plane.boundary({face, other})
                area = sum(area_of(points) for _cycle, points in both)
                assert area == pytest.approx(plane.faces[face].area + plane.faces[other].area)


@settings(max_examples=examples(16), deadline=None)
@given(seeds)
def test_ink_encloses_what_its_lines_do(seed: int) -> None:
    """Every hole in shapely's ink is a face: half a pen larger all round."""
    rng = np.random.default_rng(seed)
    across = np.sort(rng.uniform(0, 120, 3)) + np.array([0, 15, 30])
    down = np.sort(rng.uniform(0, 90, 3)) + np.array([0, 15, 30])
    lines = [LineString([(x + rng.uniform(-5, 5), -20), (x, 160)]) for x in across]
    lines += [LineString([(-20, y), (190, y + rng.uniform(-5, 5))]) for y in down]
    ink = unary_union([line.buffer(PEN / 2) for line in lines])
    contours = contours_of([ink])
    grid = grid_over(contours, 0.15)
    graph = centre_lines(filled(contours, grid), grid, edge_points(contours, PEN), PEN)
    plane = PlaneFaces(without_loose_ends(graph))
    assert len(plane.faces) == len(ink.interiors) == 4
    assert signed(plane.graph) + len(plane.faces) + 1 == 1 + parts_of(plane.graph)
    true = sorted(polygonize(unary_union(lines)), key=lambda polygon: float(polygon.area))
    for face, polygon in zip(sorted(plane.faces, key=lambda f: f.area), true, strict=True):
        assert face.area == pytest.approx(polygon.area, abs=0.06 * polygon.length)
        assert polygon_of(face.points.tolist()).hausdorff_distance(polygon) < 1.5 * PEN


def test_a_ring_lies_within_the_face_about_it() -> None:
    def ring(size: float, at: complex) -> list[LineString]:
        corners = [at + size * way for way in (1 + 1j, -1 + 1j, -1 - 1j, 1 - 1j, 1 + 1j)]
        return [LineString([(a.real, a.imag), (b.real, b.imag)]) for a, b in pairwise(corners)]

    plane = PlaneFaces(graph_of([*ring(10, 0j), *ring(40, 0j), *ring(10, 100 + 0j)]))
    areas = [round(part.area) for part in plane.components]
    assert areas == [6400, 400, 400]
    within = [part.within for part in plane.components]
    (large,) = plane.components[0].faces
    assert within[0] == -1
    assert sorted(within[1:]) == [-1, large]
