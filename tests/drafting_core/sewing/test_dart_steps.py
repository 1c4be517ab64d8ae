"""What must hold of a dart's cloth while it is sewn: it is only ever folded, turned and cut."""

from __future__ import annotations

import cmath
import random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import split

from drafting_core.block.places import Target
from drafting_core.dart.excess import TRIM
from drafting_core.finished.draft import add_allowances, move_dart
from drafting_core.finished.pattern_piece import Draft, DrawnDart
from drafting_core.model.outline import flattened, nearest_on, signed_area
from drafting_core.model.piece import TUCK
from drafting_core.model.settings import CLOTHS, FOLDS, Settings
from drafting_core.plane.curves import Line, chain_length, reflection_in, rotation_about, turn, unit
from drafting_core.sewing.cloth_parts import cloth_of, parts_inside, with_window_filled
from drafting_core.sewing.dart_steps import (
    DartCloth,
    cut_away,
    dart_cloth,
    folded,
    half_of_excess,
    pressed,
    trimmed,
    tuck_cloth,
    whole_cut_line,
)
from drafting_core.text.errors import DraftingError
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import blocks, core_block
from tests.help.blocks.refusals import no_case

#: What is exact but for rounding (mm), and parts of an area.
EXACT, SAME_AREA = 1e-6, 1e-9
#: A window may reach beyond the cloth that a picture shows by a sliver of its mitre.
WINDOW_AREA = 2e-2

CHOICES = st.builds(
    lambda **chosen: Settings(**chosen),
    share=st.sampled_from([1.0, 0.5]),
    clearance=st.sampled_from([None, 0.0, 20.0]),
    cloth=st.sampled_from(CLOTHS),
    fold=st.sampled_from(FOLDS),
)


@st.composite
def drafts(draw: st.DrawFn) -> Draft:
    source = draw(blocks())
    rng = random.Random(draw(st.integers(0, 10_000)))
    place = random_blocks.random_place(source, rng)[2]
    try:
        return move_dart(core_block(source), draw(CHOICES), [Target(at=place)])
    except DraftingError as error:
        no_case(error)


def flat_darts(draft: Draft) -> list[tuple[DrawnDart, DartCloth]]:
    ring = whole_cut_line(draft)
    return [(item, dart_cloth(item, ring)) for item in draft.darts]


@given(drafts())
def test_folded_leg_lies_on_leg(draft: Draft) -> None:
    for _item, flat in flat_darts(draft):
        other, mine = flat.legs[1 - flat.fold_leg], flat.legs[flat.fold_leg]
        for k in range(9):
            there = flat.mirror(other[0].point(k / 8))
            assert nearest_on(mine, there).distance < EXACT
        assert abs(flat.mirror(flat.ends[1 - flat.fold_leg]) - flat.ends[flat.fold_leg]) < EXACT


@given(drafts())
def test_closed_the_mouth_ends_meet_and_the_legs_lie_on_one_another(draft: Draft) -> None:
    for _item, flat in flat_darts(draft):
        other, mine = 1 - flat.fold_leg, flat.fold_leg
        assert abs(flat.swing(flat.ends[other]) - flat.ends[mine]) < EXACT
        assert flat.swing(flat.point) == flat.point
        # The turn is by the angle between the legs, measured here anew.
        angle = abs(turn(flat.ends[0] - flat.point, flat.ends[1] - flat.point))
        turned = abs(cmath.phase((flat.swing(flat.point + 1) - flat.point) / 1))
        assert turned == pytest.approx(angle, abs=1e-9)


@given(drafts())
def test_what_is_folded_or_pressed_is_all_of_the_cloth(draft: Draft) -> None:
    for _item, flat in flat_darts(draft):
        lies = folded(flat)
        assert lies.upper.area + lies.under.area == pytest.approx(flat.whole.area, rel=SAME_AREA)
        out = pressed(flat)
        parts = (out.base, out.other, out.excess, out.lower)
        assert sum(part.area for part in parts) == pytest.approx(flat.whole.area, rel=SAME_AREA)


@given(drafts())
def test_nothing_of_the_folded_upper_side_lies_beyond_the_fold(draft: Draft) -> None:
    for _item, flat in flat_darts(draft):
        lies = folded(flat)
        side = flat.ends[flat.fold_leg]
        for part in (lies.upper, lies.under):
            for bound in part.bounds:
                way = (bound.segment.start - flat.point) / flat.axis
                mine = (side - flat.point) / flat.axis
                assert way.imag * mine.imag > -1e-6 * abs(mine)


@given(drafts())
def test_the_cap_falls_on_its_seam(draft: Draft) -> None:
    """Half of it by reflection in the leg, half by the turn that shuts the dart."""
    edges = [edge.segment for edge in draft.piece.edges()]
    for item, flat in flat_darts(draft):
        if "mouth of another dart" in item.dart.why:
            continue
        uneven = abs(abs(flat.ends[0] - flat.point) - abs(flat.ends[1] - flat.point))
        leg = unit(flat.ends[flat.fold_leg] - flat.point)
        over = reflection_in(flat.point, leg)
        for edge in item.dart.cap:
            for k in range(9):
                z = edge.segment.point(k / 8)
                from_leg = abs(turn(leg, z - flat.point))
                lies = over(z) if from_leg < flat.angle / 2 else flat.swing(z)
                if abs(from_leg - flat.angle / 2) > 1e-6:
                    assert nearest_on(edges, lies).distance < EXACT + uneven


@given(drafts())
def test_the_stitching_is_as_long_as_the_leg(draft: Draft) -> None:
    for item, flat in flat_darts(draft):
        assert chain_length(flat.stitched) == pytest.approx(
            abs(item.dart.ends[flat.fold_leg] - item.dart.point), abs=EXACT
        )
        assert flat.stitched[0].start == item.dart.ends[item.dart.fold.leg]
        assert flat.stitched[-1].end == item.dart.point


@given(drafts())
def test_trimming_leaves_its_allowance_and_stops_on_the_fold(draft: Draft) -> None:
    for item, flat in flat_darts(draft):
        assert (flat.window is not None) == (item.dart.excess == TRIM)
        if flat.window is None:
            assert flat.stop == 0.0
            continue
        allowance = item.dart.trim_allowance
        vertex = flat.window[0].start
        # On the middle of the dart, where its distance to both legs is the trim allowance: the
        # stop follows from the angle alone.
        assert abs(cmath.phase((vertex - flat.point) / flat.axis)) < 1e-6
        expected = allowance / abs(cmath.sin(flat.angle / 2))
        assert flat.stop == pytest.approx(expected, abs=1e-6)
        left = 0.0
        for leg in (0, 1):
            half = half_of_excess(flat, leg)
            kept, gone = trimmed(flat, half, leg), cut_away(flat, half, leg)
            assert kept.area + gone.area == pytest.approx(half.area, rel=SAME_AREA)
            left += gone.area
            line = LineString(
                [(z.real, z.imag) for z in (flat.point, flat.ends[leg] * 50 - flat.point * 49)]
            )
            for bound in kept.bounds:
                z = bound.segment.start
                assert line.distance(Point(z.real, z.imag)) < allowance + 1e-6
        window = abs(signed_area(flat.window))
        assert left <= window * (1 + 1e-9)
        assert left == pytest.approx(window, rel=WINDOW_AREA)


@given(drafts())
def test_with_its_windows_filled_the_cut_line_is_the_one_of_a_piece_that_keeps_all(
    draft: Draft,
) -> None:
    ring = whole_cut_line(draft)
    windows = sum(abs(signed_area(item.window)) for item in draft.darts if item.window is not None)
    assert signed_area(ring) == pytest.approx(signed_area(draft.cut_line) + windows, rel=SAME_AREA)
    if windows:
        with pytest.raises(ValueError, match="not that of the cut line"):
            with_window_filled(ring, next(i.window for i in draft.darts if i.window) or ())


@given(blocks(), st.floats(0.25, 0.6), st.floats(15.0, 60.0))
def test_a_tuck_is_folded_line_on_line(
    source: random_blocks.Block, share: float, length: float
) -> None:
    settings = Settings(made=TUCK, share=share, tuck_length=length)
    place = random_blocks.random_place(source, random.Random(round(length * 1000)))[2]
    try:
        draft = move_dart(core_block(source), settings, [Target(at=place)])
    except DraftingError as error:
        no_case(error)
    tucks = [item for item in draft.fullness if item.kind == TUCK]
    assume(bool(tucks))
    (tuck,) = tucks
    flat = tuck_cloth(tuck, whole_cut_line(draft))
    assert flat.is_tuck
    assert chain_length(flat.stitched) == pytest.approx(length, abs=EXACT)
    other, mine = flat.legs[1 - flat.fold_leg], flat.legs[flat.fold_leg]
    for k in range(9):
        there = flat.mirror(other[0].point(k / 8))
        assert nearest_on(mine, there).distance < 1e-4
        assert nearest_on(mine, flat.swing(other[0].point(k / 8))).distance < 1e-4
    # The arrow of the draft points to the same side.
    folds = {item.dart.opening: item.dart.fold.leg for item in draft.darts}
    assert flat.fold_leg == folds[tuck.opening] if tuck.opening else True


@given(
    blocks(),
    st.floats(-1.5, 1.5),
    st.floats(0.2, 0.8),
    st.booleans(),
)
def test_a_cloth_cut_along_a_line_is_what_another_library_cuts(
    source: random_blocks.Block, angle: float, where: float, left: bool
) -> None:
    draft = add_allowances(core_block(source), Settings(excess="keep", clearance=0.0))
    ring = draft.cut_line
    cloth = cloth_of(ring)
    assert cloth.area == pytest.approx(signed_area(ring))
    xs = [segment.start for segment in ring]
    middle = sum(xs) / len(xs)
    way = cmath.exp(1j * angle)
    at = middle + way * 1j * 60.0 * (where - 0.5)
    chain = [Line(at - way * 5000, at), Line(at, at + way * cmath.exp(0.3j) * 5000)]
    part = cloth.beside(chain, left=left)
    polygon = Polygon([(z.real, z.imag) for z in flattened(ring, 64)])
    line = LineString([(z.real, z.imag) for z in (chain[0].start, at, chain[1].end)])
    pieces = []
    for piece in split(polygon, line).geoms:
        inside = piece.representative_point()
        found = nearest_on(chain, complex(inside.x, inside.y))
        tangent = chain[found.segment].tangent(found.t)
        is_left = ((complex(inside.x, inside.y) - found.point) / tangent).imag < 0
        if is_left == left:
            pieces.append(piece.area)
    assert part.area == pytest.approx(sum(pieces), rel=1e-3, abs=1.0)


def test_of_a_cloth_cut_in_two_only_its_own_edges_are_edges() -> None:
    corners = [0j, 10 + 0j, 10 + 10j, 10j]
    square = cloth_of(Line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    half = square.beside([Line(5 - 20j, 5 + 20j)], left=False)
    assert half.area == pytest.approx(50.0)
    (edge,) = half.edges
    assert chain_length(edge) == pytest.approx(20.0)
    (inside,) = parts_inside([Line(-5 + 5j, 25 + 5j)], half)
    assert chain_length(inside) == pytest.approx(5.0)
    turned = half.mapped(rotation_about(3 + 1j, 1.0))
    assert turned.area == pytest.approx(50.0)
    assert square.beside([Line(50 - 20j, 50 + 20j)], left=True).bounds == ()


def test_a_second_row_runs_inside_the_dart() -> None:
    source = random_blocks.random_block(random.Random(3), "front", "waist")
    draft = add_allowances(core_block(source), Settings(cloth="sheer"))
    ((_item, flat), *_rest) = flat_darts(draft)
    row = flat.second_row(flat.fold_leg)
    leg = list(flat.stitched)
    away = [nearest_on(leg, segment.point(k / 4)).distance for segment in row for k in range(5)]
    assert max(away) == pytest.approx(3.0, abs=0.01)
    assert all(
        abs(turn(flat.axis, segment.point(k / 4) - flat.point)) < flat.angle / 2 + 1e-9
        for segment in row
        for k in range(5)
    )
