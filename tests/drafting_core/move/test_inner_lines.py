"""Inner lines: each point goes where its part of the piece goes."""

from __future__ import annotations

import cmath
import itertools
import math
import random
from collections.abc import Callable

import pytest
from hypothesis import assume, given, reject, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from drafting_core.block.block import Block, InnerLine
from drafting_core.block.places import Target
from drafting_core.finished.draft import move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import flattened
from drafting_core.move.moving import Moved
from drafting_core.plane.curves import Cubic, Line, Segment
from tests.drafting_core.move.test_fan import own_shoulder_dart
from tests.drafting_core.move.test_move_cases import plain
from tests.help.blocks import random_blocks
from tests.help.blocks.fan_cases import (
    EXACT,
    Case,
    best_turn,
    cases,
    chain_length,
    drafted,
    farthest,
    samples,
    straight,
    turned,
)
from tests.help.depth import examples

Chain = tuple[Segment, ...]
APEX = 100 + 200j
WAIST = 2 * math.atan(20 / 160)


def polygon(ring: list[Segment] | Chain, pieces: int = 100) -> Polygon:
    return Polygon([(z.real, z.imag) for z in flattened(ring, pieces)])


def rotation(apex: complex, factor: complex) -> Callable[[complex], complex]:
    return lambda z: apex + (z - apex) * factor


def parts_of(moved: Moved) -> list[tuple[Polygon, Callable[[complex], complex]]]:
    """Every sector as it was cut, and where it went, by the best rotation of its outline."""
    apex = moved.apex
    found = []
    for sector in moved.cut.sectors():
        before = [z for k in sector for e in moved.cut.runs[k] for z in e.segment]
        after = [z for k in sector for e in moved.turned.runs[k] for z in e.segment]
        factor = best_turn(before, after, apex)

        shape = polygon(moved.cut.sector_ring(sector, apex))
        found.append((shape, rotation(apex, factor)))
    return found


def random_inner_line(case: Case, rng: random.Random) -> Chain:
    """A line, polyline or cubic inside the block."""
    shape = polygon([_segment(s.points) for s in case.source.segments], 24).buffer(
        -2.0 * case.source.scale
    )
    left, top, right, bottom = shape.bounds
    for _ in range(200):
        points = [complex(rng.uniform(left, right), rng.uniform(top, bottom)) for _ in range(4)]
        chain: Chain = rng.choice(
            ((Cubic(*points),), straight(*points), straight(*points[:3], points[0]))
        )
        line = LineString([(z.real, z.imag) for z in samples(chain, 30)])
        if shape.contains(line) and line.length > 20 * case.source.scale:
            return chain
    reject()


def _segment(points: tuple[complex, ...]) -> Segment:
    return Line(*points) if len(points) == 2 else Cubic(*points)


@given(cases(), st.integers(0, 10_000))
@settings(max_examples=examples(40))
def test_every_point_goes_where_its_part_goes(case: Case, seed: int) -> None:
    chain = random_inner_line(case, random.Random(seed))
    line = InnerLine((chain,), '"pocket"')
    draft = drafted(case._replace(block=case.block._replace(inner_lines=[line])))
    sectors = parts_of(turned(case))
    result = [s for found in draft.inner_lines for path in found.paths for s in path]
    expected, kept = [], 0.0
    for z in samples(chain, 12):
        place = Point(z.real, z.imag)
        for shape, to in sectors:
            if shape.buffer(-0.1).contains(place):
                expected.append(to(z))
    assert farthest(expected, result) < 1e-6
    fine = LineString([(z.real, z.imag) for z in samples(chain, 400)])
    kept = sum(fine.intersection(shape).length for shape, _ in sectors)
    # Only what lay inside the open dart is gone.
    assert chain_length(result, 400) == pytest.approx(kept, abs=0.05)
    lost = chain_length(chain, 400) - kept
    said = [note for note in draft.notes if '"pocket"' in note]
    if lost > 0.1:
        assert any("was left out" in note for note in said)
    if lost < 1e-3:
        assert not any("was left out" in note for note in said)
        # Simpson's rule is that good on a cubic with a cusp.
        assert chain_length(result, 400) == pytest.approx(chain_length(chain, 400), abs=1e-3)
    paths = [path for found in draft.inner_lines for path in found.paths]
    if len(paths) > 1:
        assert any("split" in note for note in said)
    for path in paths:
        for a, b in itertools.pairwise(path):
            assert abs(a.end - b.start) < 1e-9


def with_lines(*chains: Chain, **more: object) -> Block:
    lines = [InnerLine((chain,), f'"line {n}"') for n, chain in enumerate(chains)]
    return plain(inner_lines=lines, **more)


SIDE = [Target(place="side seam:0.5")]


def moved(block: Block, targets: list[Target] | None = None) -> Draft:
    return move_dart(block, EXACT, targets or SIDE)


def test_a_line_across_a_cut_is_split_and_named() -> None:
    # Upright across the cut from the apex to (220, 270), and one that is crossed by nothing.
    across, free = straight(180 + 200j, 180 + 330j), straight(20 + 100j, 60 + 100j)
    draft = moved(with_lines(across, free))
    first, second = draft.inner_lines
    assert second.paths == (free,)
    upper, lower = first.paths
    meeting = 180 + (200 + 80 * 70 / 120) * 1j
    assert chain_length(upper) + chain_length(lower) == pytest.approx(130.0, abs=1e-9)
    lengths = sorted(chain_length(path) for path in first.paths)
    assert lengths == pytest.approx(sorted([meeting.imag - 200, 330 - meeting.imag]), abs=1e-9)
    # The centre's part stays; the lower part closes the waist dart: it turns by its angle.
    turns = sorted(abs(cmath.phase((path[-1].end - path[0].start) / 1j)) for path in first.paths)
    assert turns == pytest.approx([0.0, WAIST], abs=1e-9)
    said = [note for note in draft.notes if "inner line" in note]
    assert len(said) == 1
    assert '"line 0"' in said[0]
    assert "split" in said[0]


def test_what_lies_inside_the_dart_is_left_out() -> None:
    # Across the waist dart, whose legs lie 15 mm to each side there.
    across = straight(60 + 320j, 140 + 320j)
    draft = moved(with_lines(across))
    (line,) = draft.inner_lines
    assert sum(chain_length(path) for path in line.paths) == pytest.approx(80.0 - 30.0, abs=1e-9)
    # The two ends meet on the shut dart.
    ends = [z for path in line.paths for z in (path[0].start, path[-1].end)]
    apart = sorted(abs(a - b) for i, a in enumerate(ends) for b in ends[i + 1 :])
    assert apart[0] < 1e-9
    assert any("left out" in note for note in draft.notes)
    inside = straight(95 + 340j, 105 + 340j)
    gone = moved(with_lines(inside))
    assert not gone.inner_lines
    assert any("left out" in note for note in gone.notes)


def rhombus(centre: complex, width: float, height: float) -> Chain:
    """A dart with two points inside the piece, as a closed shape."""
    a, b = centre - 1j * height / 2, centre + 1j * height / 2
    return straight(a, centre + width / 2, b, centre - width / 2, a)


@given(st.floats(175, 200), st.floats(300, 330), st.floats(2, 12), st.floats(10, 40))
@settings(max_examples=examples(25))
def test_a_dart_with_two_points_travels_as_one(
    x: float, y: float, width: float, height: float
) -> None:
    shape = rhombus(complex(x, y), width, height)
    assume(y - height / 2 > 200 + (x - 100) * 70 / 120 + 15)
    draft = moved(with_lines(shape))
    ((path,),) = (line.paths for line in draft.inner_lines)
    assert len(path) == 4
    assert abs(path[0].start - path[-1].end) < 1e-12
    factor = best_turn([s.start for s in shape], [s.start for s in path], APEX)
    assert abs(cmath.phase(factor)) == pytest.approx(WAIST, abs=1e-9)
    for old, new in zip(shape, path, strict=True):
        assert abs(APEX + (old.start - APEX) * factor - new.start) < 1e-9
    assert not any("inner line" in note for note in draft.notes)


def test_a_closed_shape_across_a_cut_becomes_two_lines() -> None:
    # Its start lies in the middle of one of the two: that part stays in one piece.
    centre = 180 + (200 + 80 * 70 / 120) * 1j
    for start in range(4):
        corners = [s.start for s in rhombus(centre, 20.0, 40.0)]
        corners = [*corners[start:], *corners[:start]]
        draft = moved(with_lines(straight(*corners, corners[0])))
        (line,) = draft.inner_lines
        assert len(line.paths) == 2
        total = sum(chain_length(path) for path in line.paths)
        assert total == pytest.approx(4 * abs(10 + 20j), abs=1e-9)
        for path in line.paths:
            for a, b in itertools.pairwise(path):
                assert abs(a.end - b.start) < 1e-9


def test_a_ring_about_the_apex_is_opened_where_the_dart_opens() -> None:
    ring = tuple(
        Line(APEX + cmath.rect(40.0, a), APEX + cmath.rect(40.0, b))
        for a, b in ((math.radians(10 * n), math.radians(10 * n + 10)) for n in range(36))
    )
    draft = moved(with_lines(ring))
    (line,) = draft.inner_lines
    assert len(line.paths) == 2
    for path in line.paths:
        for z in samples(path, 4):
            assert 39.8 < abs(z - APEX) < 40.0 + 1e-9
    swept = sum(cmath.phase((s.end - APEX) / (s.start - APEX)) for path in line.paths for s in path)
    assert swept == pytest.approx(2 * math.pi - WAIST, abs=1e-9)


def test_along_a_curved_cut_each_side_keeps_its_own() -> None:
    slash = (Cubic(220 + 300j, 180 + 240j, 150 + 280j, APEX),)
    # 1 mm to each side of the cut, along most of it.
    beside = []
    for side in (1, -1):
        points = []
        for n in range(2, 18):
            t = n / 20
            a, b = (random_blocks.at(tuple(slash[0]), u) for u in (t - 1e-4, t + 1e-4))
            points.append((a + b) / 2 + side * 1j * (b - a) / abs(b - a))
        beside.append(straight(*points))
    draft = moved(with_lines(*beside), [Target(at=220 + 300j, slash=slash)])
    turns = []
    for line, drawn_line in zip(draft.inner_lines, beside, strict=True):
        (path,) = line.paths
        before = [z for s in drawn_line for z in s]
        after = [z for s in path for z in s]
        factor = best_turn(before, after, APEX)
        residue = [abs(APEX + (a - APEX) * factor - b) for a, b in zip(before, after, strict=True)]
        assert max(residue) < 1e-9
        turns.append(abs(cmath.phase(factor)))
    assert sorted(turns) == pytest.approx([0.0, WAIST], abs=1e-9)
    assert not any("inner line" in note for note in draft.notes)


def test_a_line_turns_about_both_apexes_in_turn() -> None:
    # Between the two cuts' outer sides, so that both moves take it along.
    block = own_shoulder_dart()._replace(inner_lines=[InnerLine(((Line(170 + 55j, 162 + 90j),),))])
    goals = [Target(place="armhole:0.4", apex=1), Target(place="neckline:0.5", apex=0)]
    draft = move_dart(block, EXACT, goals)
    ((path,),) = (found.paths for found in draft.inner_lines)
    assert chain_length(path) == pytest.approx(abs(8 - 35j), abs=1e-9)
    turn = cmath.phase((path[0].end - path[0].start) / (-8 + 35j))
    assert abs(turn) > 1e-3
    # It keeps its distances from the shoulder's outer end, which travels with it.
    tips = [e.segment.end for e in draft.piece.edges() if e.seam.name == "shoulder"]
    assert min(abs(abs(tip - path[0].start) - abs(180 + 40j - 170 - 55j)) for tip in tips) < 1e-9
