"""Curved slash lines: the legs, caps and trim windows of their darts, and what is refused."""

from __future__ import annotations

import cmath
import itertools
import math
from typing import Any

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st
from shapely import unary_union
from shapely.geometry import LineString, Point

from drafting_core.block.places import Target
from drafting_core.finished.draft import move_dart
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.text.errors import DraftingError
from extension.document.path_data import parse
from extension.drafting.move_and_allow import Request, allow, move
from tests.drafting_core.move.test_fan import own_shoulder_dart
from tests.drafting_core.move.test_move_cases import plain, two_darts
from tests.help.blocks import random_blocks
from tests.help.blocks.drawings import marked_front, page, parts, root_of
from tests.help.blocks.fan_cases import (
    EXACT,
    Case,
    angle_at,
    best_turn,
    block_of,
    cases,
    chain_length,
    drafted,
    straight,
)
from tests.help.depth import examples

APEX = 100 + 200j
Chain = tuple[Segment, ...]


def fine(chain: Chain, pieces: int = 200) -> list[complex]:
    return [random_blocks.at(tuple(s), k / pieces) for s in chain for k in range(pieces)] + [
        chain[-1].end
    ]


def polyline(chain: Chain, pieces: int = 200) -> LineString:
    return LineString([(z.real, z.imag) for z in fine(chain, pieces)])


def joints(chain: Chain) -> list[float]:
    """The turns at the inner nodes of a chain, in radians."""
    return [
        cmath.phase(random_blocks.tangent(tuple(b), False) / random_blocks.tangent(tuple(a), True))
        for a, b in itertools.pairwise(chain)
    ]


@given(cases(curved=True))
@settings(max_examples=examples(40))
def test_drawn_to_the_apex_both_legs_are_the_drawn_line_turned(case: Case) -> None:
    draft, apex = drafted(case), case.source.apex
    for item in draft.darts:
        if item.dart.opening.target is None:
            continue
        slash = case.targets[item.dart.opening.target].slash
        drawn = [z for s in slash for z in s]
        for leg, end in zip(item.dart.legs, item.dart.ends, strict=True):
            assert leg[0].start == end
            assert abs(leg[-1].end - apex) < 1e-9
            found = [z for s in leg for z in s]
            factor = best_turn(drawn, found, apex)
            expected = [apex + (z - apex) * factor for z in drawn]
            assert max(abs(a - b) for a, b in zip(expected, found, strict=True)) < 1e-9


@given(cases(curved=True), st.floats(0.05, 0.6))
@settings(max_examples=examples(40))
def test_with_a_clearance_both_legs_stay_smooth_and_equally_long(case: Case, part: float) -> None:
    # At most a part of the shortest cut, so that the point stays inside every dart.
    shortest = min(abs(target.slash[0].start - case.source.apex) for target in case.targets)
    drawn_to_apex = drafted(case)
    draft = drafted(case, Settings(clearance=part * shortest * 0.5))
    assert len(draft.darts) == len(drawn_to_apex.darts)
    for item in draft.darts:
        dart = item.dart
        if dart.opening.target is None:
            continue
        slash = case.targets[dart.opening.target].slash
        assert abs(dart.point - case.source.apex) == pytest.approx(part * shortest * 0.5, abs=1e-9)
        sizes = []
        for leg, end in zip(dart.legs, dart.ends, strict=True):
            assert leg[0].start == end
            assert leg[-1].end == dart.point
            assert all(
                a.end == b.start or abs(a.end - b.start) < 1e-9 for a, b in itertools.pairwise(leg)
            )
            assert joints(leg) == pytest.approx(joints(slash), abs=1e-9)
            sizes.append(chain_length(leg, 100))
        assert sizes[0] == pytest.approx(sizes[1], abs=1e-9)


@given(cases(curved=True), st.sampled_from([0.0, 12.0]), st.sampled_from(["keep", "trim"]))
@settings(max_examples=examples(40))
def test_the_cap_is_that_of_a_straight_dart(case: Case, clearance: float, excess: str) -> None:
    choice = Settings(clearance=clearance, excess=excess)
    bent = drafted(case, choice)
    plain_case = case._replace(targets=[target._replace(slash=()) for target in case.targets])
    even = drafted(plain_case, choice)
    for one, other in zip(bent.darts, even.darts, strict=True):
        if max(abs(a - b) for a, b in zip(one.dart.ends, other.dart.ends, strict=True)) > 1e-9:
            reject()  # Another part of a piece without a centre stayed put.
        assert abs(one.dart.point - other.dart.point) < 1e-9
        assert one.dart.fold == other.dart.fold
        caps = [[z for e in item.dart.cap for z in e.segment] for item in (one, other)]
        assert max(abs(a - b) for a, b in zip(*caps, strict=True)) < 1e-9


@given(cases(curved=True), st.sampled_from([4.0, 8.0, 12.7]))
@settings(max_examples=examples(40))
def test_a_trim_window_keeps_its_allowance_from_curved_legs(case: Case, allowance: float) -> None:
    draft = drafted(case, Settings(clearance=5.0, excess="trim", trim_allowance=allowance))
    for item in draft.darts:
        dart = item.dart
        if item.window is None or dart.opening.sides is None:
            continue
        # Beyond the mouth the legs go on straight.
        reach = 5 * chain_length(dart.legs[0], 50)
        lines = []
        for leg in dart.legs:
            out = -random_blocks.tangent(tuple(leg[0]), False)
            lines.append(polyline((Line(leg[0].start + out * reach, leg[0].start), *leg), 300))
        for z in fine(item.window, 24):
            apart = [line.distance(Point(z.real, z.imag)) for line in lines]
            assert min(apart) > allowance - 0.02
        # Its sides run out from the vertex at the allowance from their own leg.
        vertex = item.window[0].start
        assert abs(vertex - item.window[-1].end) < 1e-9
        for line, edge in zip(lines, (item.window[0], item.window[-1]), strict=True):
            for z in fine((edge,), 24):
                assert abs(line.distance(Point(z.real, z.imag)) - allowance) < 0.02
        sides = dart.window_sides
        assert sides is not None
        for side, line in zip(sides, lines, strict=True):
            assert abs(side[0].start - vertex) < 1e-9
            kinked = max(map(abs, joints(dart.legs[0])), default=0.0) > 1e-6
            for z in fine(side, 24):
                off = line.distance(Point(z.real, z.imag)) - allowance
                # Only a mitre, across a kink of the leg, lies further out.
                assert -0.02 < off < (0.2 if kinked else 0.02)


def test_a_slash_line_is_carried_along_by_a_move_about_another_apex() -> None:
    # The shoulder's own dart goes to the armhole; its part of the piece has turned by then.
    block = own_shoulder_dart()
    point = block.more_apexes[0]
    shoulder = block.outline[4].segment
    place = shoulder.start + 0.6 * (shoulder.end - shoulder.start)
    slash: Chain = (Cubic(place, place - 8 + 20j, point + 25 + 12j, point),)
    goals = [Target(place="neckline:0.5", source="waist"), Target(at=place, slash=slash)]
    goals[1] = goals[1]._replace(source="shoulder")
    draft = move_dart(block, EXACT, goals)
    found = {item.dart.opening.target: item.dart for item in draft.darts}
    assert abs(draft.apexes[1] - point) > 1.0
    for leg in found[1].legs:
        assert abs(leg[-1].end - draft.apexes[1]) < 1e-9
        shape = [(z - leg[-1].end) / (leg[0].start - leg[-1].end) for z in leg[0]]
        drawn = [(z - point) / (place - point) for z in slash[0]]
        assert max(abs(a - b) for a, b in zip(shape, drawn, strict=True)) < 1e-12
        assert abs(leg[0].start - leg[-1].end) == pytest.approx(abs(place - point), abs=1e-9)


# What is refused, with the place.


def curve(start: complex, first: complex, second: complex) -> Chain:
    return (Cubic(start, first, second, APEX),)


SIDE = 220 + 300j


def refused(slash: Chain, words: str, *others: Target) -> complex:
    targets = [Target(at=slash[0].start, slash=slash), *others]
    with pytest.raises(DraftingError, match=words) as caught:
        move_dart(two_darts(), EXACT, targets)
    assert caught.value.remedy
    assert caught.value.place is not None
    # The message says the same place.
    place = caught.value.place
    assert f"({place.real:.1f}, {place.imag:.1f})" in str(caught.value)
    return place


def crossing_points(one: LineString, other: LineString) -> list[complex]:
    met = one.intersection(other)
    found = getattr(met, "geoms", [met])
    return [complex(p.x, p.y) for p in found if p.geom_type == "Point"]


@pytest.mark.parametrize(
    "slash",
    [
        curve(SIDE, 300 + 290j, 260 + 160j),
        curve(SIDE, 240 + 420j, 150 + 440j),
        curve(200 + 360j, 220 + 380j, 260 + 240j),
    ],
)
def test_a_slash_line_that_leaves_the_block(slash: Chain) -> None:
    place = refused(slash, "crosses the outline")
    outline = polyline(tuple(edge.segment for edge in two_darts().outline))
    points = [z for z in crossing_points(polyline(slash), outline) if abs(z - slash[0].start) > 0.5]
    assert min(abs(z - place) for z in points) < 0.05


def test_a_slash_line_that_crosses_a_dart() -> None:
    slash = curve(SIDE, 60 + 340j, 60 + 260j)
    place = refused(slash, "crosses the outline")
    legs = [edge.segment for edge in two_darts().outline if edge.leg]
    points = [z for leg in legs for z in crossing_points(polyline(slash), polyline((leg,)))]
    assert min(abs(z - place) for z in points) < 0.05


def test_a_slash_line_that_meets_another_cut() -> None:
    slash = curve(220 + 250j, 150 + 300j, 130 + 260j)
    for other in (
        Target(at=220 + 300j),
        Target(at=SIDE, slash=curve(SIDE, 170 + 240j, 130 + 200j)),
    ):
        place = refused(slash, "meets the cut", other)
        cut = other.slash or straight(220 + 300j, APEX)
        points = crossing_points(polyline(slash), polyline(cut))
        points = [z for z in points if abs(z - APEX) > 0.5]
        assert min(abs(z - place) for z in points) < 0.05


@pytest.mark.parametrize(
    "slash",
    [
        curve(SIDE, -26 + 86j, 314 + 116j),
        (Line(SIDE, 130 + 240j), Line(130 + 240j, 160 + 220j), Line(160 + 220j, 160 + 300j),
         Line(160 + 300j, APEX)),
        (Line(SIDE, 150 + 300j), *straight(150 + 300j, 200 + 240j, 210 + 320j, APEX)),
    ],
)  # fmt: skip
def test_a_slash_line_that_crosses_itself(slash: Chain) -> None:
    place = refused(slash, "crosses itself")
    noded = unary_union(polyline(slash, 400))
    ends = [complex(*c) for part in noded.geoms for c in (part.coords[0], part.coords[-1])]
    doubled = [z for z in ends if sum(abs(z - other) < 1e-6 for other in ends) >= 3]
    assert doubled
    assert min(abs(z - place) for z in doubled) < 0.05


def test_a_slash_line_off_the_outline_or_the_apex() -> None:
    off = (Cubic(210 + 300j, 180 + 240j, 150 + 280j, APEX),)
    with pytest.raises(DraftingError, match="starts 10 mm from the outline") as caught:
        move_dart(plain(), EXACT, [Target(at=off[0].start, slash=off)])
    assert caught.value.place == off[0].start
    short = (Cubic(SIDE, 180 + 240j, 150 + 280j, 110 + 200j),)
    with pytest.raises(DraftingError, match="ends 10 mm from the apex") as caught:
        move_dart(plain(), EXACT, [Target(at=SIDE, slash=short)])
    assert caught.value.place == 110 + 200j
    # A little off is drawn onto both as a whole: turned and scaled.
    near = (Cubic(217 + 300j, 180 + 240j, 150 + 280j, 102 + 201j),)
    (item,) = move_dart(plain(), EXACT, [Target(at=near[0].start, slash=near)]).darts
    for leg in item.dart.legs:
        assert abs(leg[-1].end - APEX) < 1e-9
        shape = [(z - leg[0].start) / (leg[0].end - leg[0].start) for z in leg[0]]
        drawn = [(z - near[0].start) / (near[0].end - near[0].start) for z in near[0]]
        assert max(abs(a - b) for a, b in zip(shape, drawn, strict=True)) < 1e-12


# A result with curved legs is an input again.


@pytest.mark.parametrize("slant", [0.1, 0.45, 0.8])
def test_curved_legs_are_found_again_however_slanting_the_cut(slant: float) -> None:
    place = 220 + 300j
    # Nearly along the side seam at first.
    slash = curve(place, place + cmath.rect(40.0, -math.pi / 2 - slant), 140 + 215j)
    draft = move_dart(plain(), EXACT, [Target(at=place, slash=slash)])
    back = move_dart(block_of(draft), EXACT, [Target(place="waist:0.5")])
    (item,) = back.darts
    assert angle_at(APEX, item.dart.ends) == pytest.approx(2 * math.atan(20 / 160), abs=1e-9)


def test_the_window_of_a_dart_with_a_sharp_kink_in_its_legs() -> None:
    # A slash line drawn with straight strokes, 40 degrees at its corner.
    slash = straight(SIDE, 160 + 270j, APEX)
    (turn,) = joints(slash)
    assert math.degrees(abs(turn)) > 20
    settled = Settings(clearance=0.0, excess="trim", trim_allowance=5.0)
    (item,) = move_dart(plain(), settled, [Target(at=SIDE, slash=slash)]).darts
    assert item.window is not None
    legs = [polyline(leg) for leg in item.dart.legs]
    for z in fine(item.window):
        assert min(leg.distance(Point(z.real, z.imag)) for leg in legs) > 5.0 - 1e-9


def test_straight_and_curved_darts_that_all_end_at_the_apex_are_told_apart() -> None:
    goals = [
        Target(place="shoulder:0.5"),
        Target(at=SIDE, slash=curve(SIDE, 180 + 240j, 150 + 280j)),
        Target(place="neckline:0.4"),
    ]
    draft = move_dart(plain(), EXACT, goals)
    again = block_of(draft)
    assert again.curved_darts == [APEX]
    back = move_dart(again, EXACT, [Target(place="waist:0.2", source="side seam")])
    assert sorted(item.dart.seam.name for item in back.darts) == ["neckline", "shoulder", "waist"]
    assert all(item.dart.opening.sides is None for item in back.darts)


STROKES = '<path inkscape:label="target" d="M 236.5,273 L 200,320 L 95,260"/>'
SLASH = '<path inkscape:label="target" d="M 236.5,273 C 190,310 150,230 95,260"/>'


def data(root: Any, part: str) -> list[complex]:
    return [
        z
        for element in parts(root, part)
        for path in parse(element.get("d"))
        for s in path.segments
        for z in s
    ]


@pytest.mark.parametrize(
    "given", [{}, {"clearance": "0"}, {"excess": "trim", "trim-allowance": "4mm"}]
)
@pytest.mark.parametrize("slash", [SLASH, STROKES], ids=["curve", "strokes"])
def test_allowances_again_on_curved_legs_draw_the_same(given: dict[str, str], slash: str) -> None:
    root = root_of(page(marked_front(target=slash)))
    move(root, Request(given=given))
    names = ("stitch-line", "cap", "cut-line", "trim-window", "dart-leg", "dart-fold")
    before = {name: data(root, name) for name in names}
    assert len(before["dart-leg"]) == 8
    assert bool(before["trim-window"]) == ("excess" in given)
    allow(root, Request())
    for name in names:
        after = data(root, name)
        assert len(after) == len(before[name]), name
        if after:
            assert max(abs(a - b) for a, b in zip(before[name], after, strict=True)) < 1e-6
