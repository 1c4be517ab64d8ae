"""Legs as drafters draw them: bowed, curved, unequal; and what only looks like a dart."""

from __future__ import annotations

import cmath
import math
import re
from itertools import pairwise
from typing import NamedTuple

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.even_legs import blended_to
from drafting_core.block.places import Target
from drafting_core.finished.draft import add_allowances, move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import OutlineEdge, nearest_on
from drafting_core.model.settings import Settings
from drafting_core.plane.crossings import crosses_itself
from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.text.errors import DartError, DraftingError
from drafting_core.text.lengths import in_words
from tests.drafting_core.block.test_small_slips import two_darts
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import blocks, core_block
from tests.help.depth import examples

#: The dart of the test's own front: its point, and the angle of each leg to the vertical.
POINT = 120 + 240j
HALF = math.radians(14.0)
LENGTH = 150.0
CLOTHS = ("woven", "fine", "sheer", "knit")


class Leg(NamedTuple):
    """How a leg is drawn from the mouth to the point.

    Attributes:
        bow: how far it strays to the left of the way from mouth to point.
        nodes: how many nodes it has inside.
        as_lines: whether it is drawn as straight pieces.
    """

    bow: float = 0.0
    nodes: int = 0
    as_lines: bool = False


def drawn(start: complex, end: complex, leg: Leg) -> list[Segment]:
    """A leg as one parabola, cut at its nodes: it strays most half-way, by just its bow."""
    along = end - start
    if not leg.bow and not leg.nodes:
        return [Line(start, end)]
    # A parabola's handles lie four thirds of its height off the chord.
    off = -1j * along / abs(along) * leg.bow * 4 / 3
    curve: Segment = Cubic(start, start + along / 3 + off, start + along * 2 / 3 + off, end)
    pieces: list[Segment] = []
    for left in range(leg.nodes, 0, -1):
        first, curve = curve.split(1 / (left + 1))
        pieces.append(first)
    pieces.append(curve)
    return [Line(piece.start, piece.end) for piece in pieces] if leg.as_lines else pieces


def front(
    first: Leg,
    second: Leg,
    *,
    apex: complex | None = POINT,
    longer: float = 0.0,
    half: float = HALF,
    label: str = "",
) -> Block:
    """A front with a waist dart whose waist runs through both mouth ends, square to the middle."""
    ends = [
        POINT + length * cmath.exp(1j * (math.pi / 2 + turned))
        for length, turned in ((LENGTH + longer, -half), (LENGTH, half))
    ]
    there = drawn(ends[0], POINT, first)
    back = [piece.reversed() for piece in reversed(drawn(ends[1], POINT, second))]
    outline = seam_by_seam(
        [
            ("neckline", Line(0 + 80j, 70 + 10j)),
            ("shoulder", Line(70 + 10j, 200 + 40j)),
            ("armhole", Line(200 + 40j, 240 + 200j)),
            ("side seam", Line(240 + 200j, 235 + 390j)),
            ("waist", Line(235 + 390j, ends[0])),
            *((label, piece) for piece in (*there, *back)),
            ("waist", Line(ends[1], 0 + 390j)),
            ("centre front", Line(0 + 390j, 0 + 80j)),
        ]
    )
    return Block(outline, apex=apex)


def standing(block: Block) -> Block:
    """The same as a result's stitch line."""
    return block._replace(standing=True)


TO_SIDE = [Target(place="side seam:0.4")]
NO_TRIM = Settings(drawn_short=0.0)

bows = st.floats(-2.9, 2.9).filter(lambda bow: abs(bow) > 0.06)
straight_nodes = st.sampled_from([(0, False), (1, False), (3, False), (3, True), (7, True)])


@settings(max_examples=examples(32))
@given(bows, bows, straight_nodes, straight_nodes, st.sampled_from(["", "dart"]))
def test_bowed_legs_are_made_straight_and_the_result_says_by_how_much(
    one: float, other: float, ones: tuple[int, bool], others: tuple[int, bool], label: str
) -> None:
    block = front(Leg(one, *ones), Leg(other, *others), label=label)
    said = f"bowed by up to {max(abs(one), abs(other)):.1f} mm; they were made straight."
    for draft in (move_dart(block, NO_TRIM, TO_SIDE), add_allowances(block, NO_TRIM)):
        found = [text for text in draft.warnings if "made straight" in text]
        assert len(found) == 1
        # Straight pieces have their nodes on the parabola: it strays most between two of them.
        if ones == (0, False) and others == (0, False):
            assert said in found[0]
            assert math.isclose(draft.straightened, max(abs(one), abs(other)), abs_tol=1e-9)
        (dart,) = (item.dart for item in draft.darts)
        assert dart.opening.sides is None
        assert math.isclose(dart.opening.angle, 2 * HALF, abs_tol=1e-9)
        assert not any(isinstance(segment, Cubic) for segment in draft.stitch_line)


@settings(max_examples=examples(32))
@given(
    st.sampled_from([-9.0, -4.0, 3.6, 6.0, 12.0]),
    st.sampled_from([(0, False), (1, False), (3, False), (3, True)]),
)
def test_turned_legs_move_exactly_and_are_trimmed_in_every_cloth(
    bow: float, nodes: tuple[int, bool]
) -> None:
    block = front(Leg(bow, *nodes), Leg(bow, *nodes))
    draft = move_dart(block, NO_TRIM, TO_SIDE)
    straight = move_dart(front(Leg(), Leg()), NO_TRIM, TO_SIDE)
    for one, other in (
        (draft.stitch_line, straight.stitch_line),
        (draft.cut_line, straight.cut_line),
    ):
        for a, b in zip(one, other, strict=True):
            assert max(abs(p - q) for p, q in zip(a, b, strict=True)) < 1e-6
    assert draft.straightened == 0.0
    (dart,) = (item.dart for item in draft.darts)
    assert math.isclose(dart.opening.angle, 2 * HALF, abs_tol=1e-9)
    for cloth in CLOTHS:
        for made in (
            add_allowances(block, Settings(cloth=cloth, drawn_short=0.0)),
            move_dart(block, Settings(cloth=cloth, share=0.5, drawn_short=0.0), TO_SIDE),
        ):
            (at_waist,) = (item.dart for item in made.darts if item.dart.seam.name == "waist")
            assert at_waist.excess == "trim"
            assert at_waist.opening.sides is not None


@pytest.mark.parametrize("by", [0.3, 0.9])
def test_turned_legs_within_1_mm_of_each_other_are_made_alike(by: float) -> None:
    draft = move_dart(front(Leg(6.0), Leg(6.0 + by)), NO_TRIM, TO_SIDE)
    assert any(f"differed by up to {by:.1f} mm" in text for text in draft.warnings)


@settings(max_examples=examples(30))
@given(st.sampled_from([-9.0, -4.0, 3.5, 6.0]), st.sampled_from([0, 1, 3]))
def test_mirrored_legs_stay_as_drawn_but_do_not_move(bow: float, nodes: int) -> None:
    block = front(Leg(bow, nodes), Leg(-bow, nodes))
    settings_of_woven = Settings(clearance=0.0, drawn_short=0.0)
    draft = add_allowances(block, settings_of_woven)
    (dart,) = (item.dart for item in draft.darts)
    assert dart.opening.is_mirrored
    # It is folded on its straight middle, which is upright here.
    assert [type(piece) for piece in dart.centre_line] == [Line]
    assert math.isclose(dart.centre_line[0].end.real, POINT.real, abs_tol=1e-9)
    # By the table: a waist dart of 72 mm in a woven cloth is kept.
    assert dart.excess == "keep"
    legs = {segment for edge in block.outline if isinstance(segment := edge.segment, Cubic)}
    for leg in legs:
        assert any(
            max(abs(a - b) for a, b in zip(leg, segment, strict=True)) < 1e-9
            for segment in draft.stitch_line
            if isinstance(segment, Cubic)
        )
    with pytest.raises(DartError, match=rf"bow by {abs(bow):.1f} mm as mirror images"):
        move_dart(block, NO_TRIM, TO_SIDE)


@settings(max_examples=examples(32))
@given(st.floats(3.2, 12.0), st.floats(-12.0, 12.0), st.booleans())
def test_legs_that_are_neither_are_refused_with_lengths_and_bow(
    one: float, other: float, swap: bool
) -> None:
    if min(abs(one - other), abs(one + other)) < 1.2:
        return
    pair = [Leg(one), Leg(other)]
    first, second = reversed(pair) if swap else pair
    block = front(first, second)
    lengths = [
        sum(piece.length() for piece in drawn(0j, LENGTH + 0j, leg)) for leg in (first, second)
    ]
    said = f"are {in_words(lengths[0])} and {in_words(lengths[1])} long and bow by "
    with pytest.raises(DartError) as raised:
        move_dart(block, NO_TRIM, TO_SIDE)
    assert said in str(raised.value)
    bow = float(str(raised.value).split(said)[1].split(" mm")[0])
    assert bow == pytest.approx(max(abs(one), abs(other)), abs=0.051)
    for apex in (POINT, None):
        with pytest.raises(DartError) as raised:
            add_allowances(block._replace(apex=apex), NO_TRIM)
        assert said in str(raised.value)


@settings(max_examples=examples(32))
@given(bows, bows)
def test_on_a_result_the_legs_stay_as_they_were_drawn(one: float, other: float) -> None:
    block = standing(front(Leg(one), Leg(other)))
    draft = add_allowances(block, Settings(excess="keep"))
    assert not any("made straight" in text for text in draft.warnings)
    assert draft.straightened == 0.0
    kept = [segment for segment in draft.stitch_line if isinstance(segment, Cubic)]
    drawn_curves = [edge.segment for edge in block.outline if isinstance(edge.segment, Cubic)]
    assert len(kept) == len(drawn_curves) == 2
    for one_curve in drawn_curves:
        assert any(
            max(abs(a - b) for a, b in zip(one_curve, found, strict=True)) < 1e-9 for found in kept
        )


@pytest.mark.parametrize("more", [(3.2, 3.2), (0.4, 0.4), (-0.4, 0.4)])
def test_a_second_dart_that_bows_is_no_outline(more: tuple[float, float]) -> None:
    """The second dart points at no apex, and bows as a quick hand draws it."""
    block = front(Leg(more[0]), Leg(more[1]), apex=None)
    draft = add_allowances(block, NO_TRIM)
    assert [item.dart.seam.name for item in draft.darts] == ["waist"]


@pytest.mark.parametrize("slant", [12.0, 20.0, 28.0])
@pytest.mark.parametrize("bow", [0.0, 1.5, -1.5])
def test_a_leg_that_meets_its_seam_at_a_slant_ends_there(slant: float, bow: float) -> None:
    """The side seam goes on nearly as the leg does: no corner says where the leg ends."""
    reach, half = 110.0, math.radians(9.0)
    mouths = [POINT + reach * cmath.exp(1j * turned) for turned in (-half, half)]
    away = (mouths[0] - POINT) / reach
    up = mouths[0] + 80 * away * cmath.exp(-1j * math.radians(slant))
    out = (mouths[1] - POINT) / reach
    # Closed, both halves of the seam are one line.
    down = mouths[1] - 90 * out * cmath.exp(-1j * math.radians(slant))
    outline = [
        OutlineEdge(segment)
        for segment in (
            Line(up, mouths[0]),
            *drawn(mouths[0], POINT, Leg(bow)),
            *(piece.reversed() for piece in reversed(drawn(mouths[1], POINT, Leg(bow)))),
            Line(mouths[1], down),
            Line(down, down - 60 + 60j),
            Line(down - 60 + 60j, 0 + 380j),
            Line(0 + 380j, 0 + 10j),
            Line(0 + 10j, up),
        )
    ]
    draft = add_allowances(Block(outline, apex=POINT), Settings(excess="trim"))
    (dart,) = (item.dart for item in draft.darts)
    assert sorted(abs(end - mouth) < 1e-9 for end in dart.ends for mouth in mouths) == [
        False,
        False,
        True,
        True,
    ]


@settings(max_examples=examples(32))
@given(st.floats(3.1, 24.0), st.sampled_from([0.0, 1.0, 2.0]))
def test_unequal_legs_are_made_equal_where_that_is_asked_for(longer: float, bow: float) -> None:
    block = front(Leg(bow), Leg(bow), longer=longer)
    with pytest.raises(DartError, match=r"unequal: [\d.]+ mm and [\d.]+ mm"):
        add_allowances(block, NO_TRIM)
    even = Settings(even_legs=True, clearance=0.0, drawn_short=0.0)
    draft = add_allowances(block, even)
    assert any(f"differed by {longer:.1f} mm" in text for text in draft.warnings)
    (dart,) = (item.dart for item in draft.darts)
    mean = LENGTH + longer / 2
    for end, turned in zip(dart.ends, (-HALF, HALF), strict=True):
        ray = cmath.exp(1j * (math.pi / 2 + turned))
        assert abs(end - (POINT + mean * ray)) < 1e-9
    # Further than 40 mm from the mouth ends the seams are the old ones, and no corner is new.
    waist = [edge.segment for edge in draft.piece.edges() if edge.seam.name == "waist"]
    curves = [segment for segment in waist if isinstance(segment, Cubic)]
    assert len(curves) == 2
    for old in _old_waists(longer):
        curve = min(curves, key=lambda curve: abs(curve.point(0.5) - old[0]))
        inner = min((curve.start, curve.end), key=lambda z: min(abs(z - e) for e in dart.ends))
        outer = curve.end if inner == curve.start else curve.start
        assert math.isclose(abs(outer - old[0]), 40.0, abs_tol=1e-6)
        assert abs(((outer - old[0]) * (old[1] - old[0]).conjugate()).imag) < 1e-6
        tangent = curve.start_tangent() if outer == curve.start else curve.end_tangent()
        assert abs((tangent * (old[1] - old[0]).conjugate()).imag) < 1e-6


def _old_waists(longer: float) -> list[tuple[complex, complex]]:
    """The waist before and behind the dart, each from its mouth end outward."""
    first = POINT + (LENGTH + longer) * cmath.exp(1j * (math.pi / 2 - HALF))
    second = POINT + LENGTH * cmath.exp(1j * (math.pi / 2 + HALF))
    return [(first, 235 + 390j), (second, 0 + 390j)]


@pytest.mark.parametrize("longer", [26.0, 40.0])
def test_legs_too_unequal_are_not_made_equal(longer: float) -> None:
    block = front(Leg(), Leg(), longer=longer, apex=None)
    draft = add_allowances(block, Settings(even_legs=True))
    assert not draft.darts
    # At an apex it is a dart to whoever would move it: the lengths are said, and the limits.
    for even_legs in (False, True):
        with pytest.raises(DartError, match="too unequal") as refused:
            move_dart(
                block._replace(apex=POINT),
                Settings(even_legs=even_legs),
                [Target(place="side seam:0.4")],
            )
        said = re.search(r": ([\d.]+) mm and ([\d.]+) mm from", refused.value.what)
        assert said is not None
        assert abs(float(said[1]) - float(said[2])) == pytest.approx(longer, abs=0.11)
        assert refused.value.place == POINT
        assert re.findall(r"by (\d+ mm) at most", refused.value.remedy) == ["3 mm", "25 mm"]


@pytest.mark.parametrize(
    ("block", "apex"),
    [
        (front(Leg(), Leg(), half=math.radians(42.0)), None),
        (front(Leg(), Leg(), longer=8.0), None),
        (front(Leg(5.0), Leg(-3.0), longer=8.0), None),
    ],
    ids=["too wide", "unequal", "unequal and curved"],
)
def test_what_only_looks_like_a_dart_is_never_outline_in_silence(
    block: Block, apex: complex | None
) -> None:
    draft = add_allowances(block._replace(apex=apex), Settings())
    assert not draft.darts
    found = [text for text in draft.warnings if "were taken as outline" in text]
    assert len(found) == 1
    assert f"At ({POINT.real:.1f}, {POINT.imag:.1f}) mm" in found[0]


def test_a_dart_at_a_corner_without_an_apex_is_told() -> None:
    """Closed, the seams beside it meet in a corner, so that nothing says that it is a dart."""
    tip, angle = 70 + 10j, math.radians(12.0)
    ends = [POINT + (tip - POINT) * cmath.exp(1j * turned) for turned in (-angle, angle)]
    segments = [
        Line(0 + 80j, ends[0]),
        Line(ends[0], POINT),
        Line(POINT, ends[1]),
        *(
            Line(one, other)
            for one, other in (
                (ends[1], 230 + 60j),
                (230 + 60j, 240 + 390j),
                (240 + 390j, 0 + 390j),
                (0 + 390j, 0 + 80j),
            )
        ),
    ]
    block = Block([OutlineEdge(segment) for segment in segments])
    draft = add_allowances(block, Settings())
    told = bool(draft.darts) or any("were taken as outline" in text for text in draft.warnings)
    assert told
    assert len(add_allowances(block._replace(apex=POINT), NO_TRIM).darts) == 1


@pytest.mark.parametrize("number", [0, 1])
def test_a_dart_of_which_only_one_leg_is_labelled_is_told(number: int) -> None:
    block = front(Leg(), Leg())
    legs = [k for k, edge in enumerate(block.outline) if POINT in edge.segment]
    outline = list(block.outline)
    outline[legs[number]] = outline[legs[number]]._replace(leg=True)
    draft = add_allowances(Block(outline, apex=POINT), Settings())
    assert not draft.darts
    assert any("were taken as outline" in text for text in draft.warnings)


@settings(max_examples=examples(32))
@given(st.floats(5.0, 40.0), st.floats(8.0, 16.0))
def test_what_a_dart_was_drawn_short_is_made_up(short: float, degrees: float) -> None:
    """School geometry: a dart of some angle, its point drawn lower, is that dart again."""
    half = math.radians(degrees) / 2
    apex = POINT - 1j * short
    # The mouth ends of a dart of that angle at the true apex, on the waist as drawn.
    depth = LENGTH * math.cos(half)
    width = depth * math.tan(half)
    drawn_half = math.atan2(width, depth - short)
    length = math.hypot(width, depth - short)
    ends = [
        POINT + length * cmath.exp(1j * (math.pi / 2 + turned))
        for turned in (-drawn_half, drawn_half)
    ]
    outline = front(Leg(), Leg(), half=drawn_half).outline
    olds = [
        POINT + LENGTH * cmath.exp(1j * (math.pi / 2 + turned))
        for turned in (-drawn_half, drawn_half)
    ]
    moved = dict(zip(olds, ends, strict=True))
    outline = [
        edge._replace(
            segment=Line(
                moved.get(edge.segment.start, edge.segment.start),
                moved.get(edge.segment.end, edge.segment.end),
            )
        )
        for edge in outline
    ]
    block = Block(outline, apex=POINT)
    asked = move_dart(block, Settings(), TO_SIDE)
    assert math.isclose(asked.darts[0].dart.opening.angle, 2 * drawn_half, abs_tol=1e-9)
    assert sum("--drawn-short" in text for text in asked.warnings) == 1
    told = move_dart(block, Settings(drawn_short=short), TO_SIDE)
    assert not any("--drawn-short" in text for text in told.warnings)
    (dart,) = (item.dart for item in told.darts)
    assert math.isclose(dart.opening.angle, 2 * half, abs_tol=1e-9)
    assert abs(dart.opening.apex - apex) < 1e-9
    radius = abs(dart.ends[0] - apex)
    assert math.isclose(dart.intake, 2 * radius * math.sin(half), abs_tol=1e-9)
    # Where it stays, its point stays where it was drawn.
    stays = add_allowances(block, Settings(drawn_short=short))
    assert abs(stays.darts[0].dart.point - POINT) < 1e-9


def test_the_answer_that_it_was_not_lowered_ends_the_word() -> None:
    block = front(Leg(), Leg())
    draft = move_dart(block, Settings(drawn_short=0.0), TO_SIDE)
    plain = move_dart(block, Settings(), TO_SIDE)
    assert not any("--drawn-short" in text for text in draft.warnings)
    assert draft.stitch_line == plain.stitch_line


def test_a_number_that_was_not_used_is_told() -> None:
    block = front(Leg(), Leg(), apex=POINT - 20j)
    assert not any("--drawn-short" in text for text in move_dart(block, None, TO_SIDE).warnings)
    draft = move_dart(block, Settings(drawn_short=25.4), TO_SIDE)
    assert sum("--drawn-short was not used" in text for text in draft.warnings) == 1


@pytest.mark.parametrize("bow", [-1.5, 0.5, 2.5])
def test_a_dart_of_a_result_that_does_not_move_keeps_its_legs(bow: float) -> None:
    whole = two_darts(clearance=25.4)
    at_shoulder = [k for k, edge in enumerate(whole.outline) if edge.leg][:2]
    outline: list[OutlineEdge] = []
    for k, edge in enumerate(whole.outline):
        if k not in at_shoulder:
            outline.append(edge)
            continue
        start, end = edge.segment.start, edge.segment.end
        inward = k == at_shoulder[0]
        (leg,) = drawn(start, end, Leg(bow)) if inward else drawn(end, start, Leg(bow))
        outline.append(edge._replace(segment=leg if inward else leg.reversed()))
    targets = [Target(place="side seam:0.4", source="waist")]
    for is_result in (True, False):
        block = whole._replace(outline=outline, standing=is_result)
        draft = move_dart(block, None, targets)
        (kept,) = (item.dart for item in draft.darts if item.dart.seam.name == "shoulder")
        assert (kept.opening.sides is not None) is is_result
        assert any("made straight" in text for text in draft.warnings) is not is_result
        if kept.opening.sides is not None:
            assert math.isclose(max(map(bow_of, kept.legs)), abs(bow), abs_tol=1e-6)


def bow_of(leg: tuple[Segment, ...]) -> float:
    """How far a leg strays half-way from its chord."""
    middle = leg[0].point(0.5)
    along = (leg[-1].end - leg[0].start) / abs(leg[-1].end - leg[0].start)
    return abs(((middle - leg[0].start) * along.conjugate()).imag)


@settings(max_examples=examples(60))
@given(
    st.integers(1, 6),
    st.floats(20.0, 200.0),
    st.floats(-0.5, 0.5),
    st.complex_numbers(min_magnitude=1.5, max_magnitude=12.5),
    st.booleans(),
)
def test_a_seam_gives_way_smoothly(
    pieces: int, length: float, bend: float, shift: complex, at_end: bool
) -> None:
    curve: Segment = Cubic(
        0j, length / 3 * cmath.exp(1j * bend), length * 2 / 3 + 10j * bend, length + 0j
    )
    run = []
    for left in range(pieces, 1, -1):
        first, curve = curve.split(1 / left)
        run.append(OutlineEdge(first))
    run.append(OutlineEdge(curve))
    place = run[-1].segment.end if at_end else run[0].segment.start
    moved = [edge.segment for edge in blended_to(run, place + shift, 40.0, at_end=at_end)]
    ends = (moved[0].start, moved[-1].end)
    assert abs(ends[1 if at_end else 0] - (place + shift)) < 1e-9
    assert abs(ends[0 if at_end else 1] - (0j if at_end else length + 0j)) < 1e-9
    for before, after in pairwise(moved):
        assert before.end == after.start
        assert abs(cmath.phase(after.start_tangent() / before.end_tangent())) < 1e-6
    # Beyond 40 mm it is the old seam, and nowhere has it gone further than its end.
    old = [edge.segment for edge in run]
    for segment in moved:
        for t in (0.0, 0.25, 0.5, 0.75, 1.0):
            z = segment.point(t)
            found = nearest_on(old, z)
            assert found.distance < abs(shift) + 1e-9
            if abs(z - place) > 40.0 + abs(shift):
                assert found.distance < 1e-6


def test_a_corner_beside_an_uneven_mouth_stays() -> None:
    run = [
        OutlineEdge(Line(0j, 15 + 0j)),
        OutlineEdge(Line(15 + 0j, 15 + 60j)),
    ]
    first, second = (edge.segment for edge in blended_to(run, -3j, 40.0, at_end=False))
    assert first.end == second.start == 15 + 0j
    assert second == run[1].segment


@settings(max_examples=examples(80))
@given(blocks(), bows, bows, straight_nodes.filter(lambda drawn_as: not drawn_as[1]), st.booleans())
def test_of_a_block_with_bowed_legs_the_same_is_made_as_with_straight_ones(
    plain: random_blocks.Block,
    one: float,
    other: float,
    nodes: tuple[int, bool],
    is_labelled: bool,
) -> None:
    block = core_block(plain)
    outline: list[OutlineEdge] = []
    bent = iter((Leg(one, *nodes), Leg(other, *nodes)))
    for edge in block.outline:
        if not edge.leg:
            outline.append(edge)
            continue
        start, end = edge.segment.start, edge.segment.end
        outline += [OutlineEdge(piece, leg=is_labelled) for piece in drawn(start, end, next(bent))]
    # Bowed legs of a narrow dart may cross near its point: no such outline is drawn.
    assume(crosses_itself([edge.segment for edge in outline]) is None)
    straight = _drafted(block)
    bowed = _drafted(block._replace(outline=outline))
    assert isinstance(straight, str) == isinstance(bowed, str)
    if not isinstance(straight, str) and not isinstance(bowed, str):
        assert len(straight.cut_line) == len(bowed.cut_line)
        for a, b in zip(straight.cut_line, bowed.cut_line, strict=True):
            assert max(abs(p - q) for p, q in zip(a, b, strict=True)) < 1e-6
        assert bowed.straightened > 0.0


def _drafted(block: Block) -> Draft | str:
    """What is made of a block, or why it is refused."""
    try:
        return add_allowances(block, NO_TRIM)
    except DraftingError as refusal:
        return str(refusal)
