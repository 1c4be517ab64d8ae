"""Seams drawn smooth where a dart was closed, and across the mouth of a new one."""

from __future__ import annotations

import cmath
import itertools
import math
import random
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.finished.draft import move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import Edge, nearest_on
from drafting_core.model.piece import Opening, Piece
from drafting_core.model.seam_names import Seam
from drafting_core.model.settings import LENGTH_KEPT, Settings
from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.text.errors import DartError, DraftingError
from drafting_core.trueing.blending import SHAPE_KEPT, smooth_corner
from drafting_core.trueing.trueing import true_seams
from extension.commands.command_line import main
from extension.document.svg_document import read_document
from extension.drafting.done_lines import done_lines
from extension.drafting.move_and_allow import Request, allow
from extension.drafting.report import remarks, sentences
from extension.options.settings_text import settings_attributes, stored_settings
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import blocks, core_block
from tests.help.blocks.drawings import parts
from tests.help.blocks.refusals import no_case
from tests.help.depth import examples

SAMPLE = str(Path(__file__).parents[3] / "sample_svgs" / "front_straight_waist.svg")
OURS = "{urn:dartswing:1}"


def with_a_corner(source: random_blocks.Block, rng: random.Random) -> random_blocks.Block:
    """The block with its seam redrawn from each mouth end on, so that it turns when shut."""
    mouth, segments = source.mouth, list(source.segments)
    for index, end in ((mouth - 1, -1), (mouth + 2, 0)):
        index %= len(segments)
        points = segments[index].points
        node, other = (points[-1], points[0]) if end else (points[0], points[-1])
        if rng.random() < 0.4:
            segments[index] = replace(segments[index], points=(points[0], points[-1]))
            continue
        along = (other - node) * 0.35
        handle = node + along * cmath.rect(1, rng.uniform(-0.25, 0.25))
        far = other - along * cmath.rect(1, rng.uniform(-0.25, 0.25))
        inner = (far, handle) if end else (handle, far)
        segments[index] = replace(segments[index], points=(points[0], *inner, points[-1]))
    return replace(source, segments=tuple(segments))


@st.composite
def pairs(draw: st.DrawFn, /, **changes: Any) -> tuple[Draft, Draft]:
    """A moved dart, exact and trued."""
    rng = random.Random(draw(st.integers(0, 10_000)))
    source = with_a_corner(draw(blocks()), rng)
    target = Target(at=random_blocks.random_place(source, rng)[2])
    choice = Settings(share=changes.pop("share", 1.0), clearance=rng.choice((None, 0.0, 15.0)))
    try:
        exact = move_dart(core_block(source), choice, [target])
        return exact, move_dart(core_block(source), choice.but(**changes), [target])
    except DraftingError as error:
        no_case(error)


def middles(exact: Draft, trued: Draft) -> list[tuple[list[Segment], list[Segment]]]:
    """The segments of every run in which two pieces differ, same beginnings and ends left out."""
    found = []
    for one, other in zip(exact.piece.runs, trued.piece.runs, strict=True):
        old, new = [e.segment for e in one], [e.segment for e in other]
        while old and new and old[0] == new[0]:
            old, new = old[1:], new[1:]
        while old and new and old[-1] == new[-1]:
            old, new = old[:-1], new[:-1]
        found.append((old, new))
    return found


def line_of(segments: Sequence[Segment], steps: int = 3000) -> LineString:
    points = [s.point(k / steps) for s in segments for k in range(steps + 1)]
    return LineString([(z.real, z.imag) for z in points])


def long(segments: Sequence[Segment]) -> float:
    return sum(s.length() for s in segments)


@given(pairs(blend=40.0), st.sampled_from([40.0]))
@settings(max_examples=examples(60))
def test_only_the_blended_stretch_is_redrawn(case: tuple[Draft, Draft], blend: float) -> None:
    exact, trued = case
    assert not exact.blends
    differing = [pair for pair in middles(exact, trued) if pair[0] or pair[1]]
    assert len(differing) == len(trued.blends)
    for (old, new), item in zip(differing, trued.blends, strict=True):
        place = next(k for k, s in enumerate(new) if s == item.outcome.curve)
        # Beside the curve at most one segment is left over on each side, cut.
        assert place <= 1
        assert len(new) - place <= 2
        for cut, whole in ((new[:place], old[0]), (new[place + 1 :], old[-1])):
            for rest in cut:
                assert all(nearest_on([whole], rest.point(k / 8)).distance < 1e-9 for k in range(9))
        curve, outcome = new[place], item.outcome
        start, end = nearest_on(old, curve.start), nearest_on(old, curve.end)
        assert max(start.distance, end.distance) < 1e-9
        before = new[0].end_tangent() if place else old[0].start_tangent()
        after = new[-1].start_tangent() if len(new) > place + 1 else old[-1].end_tangent()
        assert abs(cmath.phase(curve.start_tangent() / before)) < 1e-9
        assert abs(cmath.phase(curve.end_tangent() / after)) < 1e-9
        assert max(outcome.back, outcome.on) < blend / 2 + 0.011
        assert long(new) - long(old) == pytest.approx(outcome.change, abs=1e-6)
        assert abs(outcome.change) <= LENGTH_KEPT
        assert long(old) - long([*new[:place], *new[place + 1 :]]) == pytest.approx(
            item.length, abs=1e-6
        )


@given(pairs(blend=40.0))
@settings(max_examples=examples(30))
@pytest.mark.thorough
def test_the_deviation_is_the_largest_distance(case: tuple[Draft, Draft]) -> None:
    exact, trued = case
    for item in trued.blends:
        pair = next(p for p in middles(exact, trued) if item.outcome.curve in p[1])
        old, new = (line_of(chain) for chain in pair)
        assert item.outcome.deviation == pytest.approx(old.hausdorff_distance(new), abs=1e-3)
        # The corner itself lies as far off as anything, or nearly.
        assert nearest_on(pair[1], item.at).distance <= item.outcome.deviation + 1e-9


@given(pairs(blend=40.0, true_mouth=True))
@settings(max_examples=examples(30))
def test_the_report_gives_the_trued_lengths(case: tuple[Draft, Draft]) -> None:
    exact, trued = case
    for before, after in zip(exact.balance.seams, trued.balance.seams, strict=True):
        changes = [b.outcome.change for b in trued.blends if b.seam is after.seam]
        assert before.before == after.before
        assert after.after == pytest.approx(before.after + sum(changes), abs=1e-6)
        assert abs(after.after - after.before) <= LENGTH_KEPT * len(changes) + 1e-6


@given(pairs(true_mouth=True) | pairs(true_mouth=True, share=0.5, blend=60.0))
@settings(max_examples=examples(60))
def test_a_trued_mouth_is_smooth_when_folded_shut(case: tuple[Draft, Draft]) -> None:
    exact, trued = case
    at_darts = [b for b in trued.blends if b.at_dart]
    for k, opening in enumerate(trued.piece.openings):
        old, ends = exact.piece.mouth(k), trued.piece.mouth(k)
        if not any(b.at == old[0] for b in at_darts):
            continue
        dart = next(item.dart for item in trued.darts if item.dart.opening == opening)
        point = opening.point
        first, second = (z - point for z in ends)
        assert abs(abs(first) - abs(second)) < 1e-9
        # The legs lie where they lay; only their length has changed.
        for leg, before in zip((first, second), old, strict=True):
            assert abs(cmath.phase(leg / (before - point))) < 1e-9
        fold = first / second
        before = trued.piece.runs[k][-1].segment.end_tangent()
        after = trued.piece.runs[(k + 1) % len(trued.piece.runs)][0].segment.start_tangent()
        shut = after * fold / abs(fold)
        assert abs(cmath.phase(shut / before)) < 1e-6
        assert dart.bend == 0.0


@given(pairs(true_mouth=True))
@settings(max_examples=examples(40))
def test_the_folded_cap_lies_on_the_trued_seam(case: tuple[Draft, Draft]) -> None:
    trued = case[1]
    for k, opening in enumerate(trued.piece.openings):
        dart = next(item.dart for item in trued.darts if item.dart.opening == opening)
        if not dart.trued or "another dart" in dart.why:
            continue
        runs = trued.piece.runs
        side = runs[k] if dart.fold.leg == 0 else runs[(k + 1) % len(runs)]
        leg = dart.ends[dart.fold.leg] - dart.point
        seam = [edge.segment for edge in side]
        for edge in dart.cap:
            for step in range(9):
                away = edge.segment.point(step / 8) - dart.point
                if abs(cmath.phase(away / leg)) > dart.point_angle / 2:
                    continue
                mirrored = dart.point + (away / leg).conjugate() * leg
                assert nearest_on(seam, mirrored).distance < 1e-6


@given(st.floats(0.02, math.radians(60)), st.floats(1.0, 80.0), st.floats(0.2, 1.0), st.booleans())
def test_a_straight_corner_gets_one_curve_that_bends_one_way(
    angle: float, reach: float, ratio: float, left: bool
) -> None:
    on = cmath.rect(1, angle if left else -angle)
    done = smooth_corner([Line(-100 + 0j, 0j)], [Line(0j, 100 * on)], reach, reach * ratio)
    assert -LENGTH_KEPT <= done.change <= 0.0
    bends = []
    for k in range(101):
        speed, bend = done.curve.derivative(k / 100), done.curve.second_derivative(k / 100)
        bends.append((speed.conjugate() * bend).imag * (1 if left else -1))
    assert min(bends) >= -1e-9
    if done.clipped:
        # Nothing longer would have kept the length: it uses all of what it may lose.
        assert done.change == pytest.approx(-LENGTH_KEPT, abs=1e-3)
    else:
        assert (done.back, done.on) == pytest.approx((reach, reach * ratio))


@given(st.floats(0.02, 0.35), st.floats(2.0, 20.0))
def test_the_softest_curve_is_a_parabola(angle: float, reach: float) -> None:
    # Handles of two thirds raise a quadratic: the arc of a parabola between the slopes -m and m
    # over the base 2a is a (sqrt(1 + m²) + asinh(m) / m) long.
    on = cmath.rect(1, angle)
    done = smooth_corner([Line(-90 + 0j, 0j)], [Line(0j, 90 * on)], reach, reach)
    a, m = reach * math.cos(angle / 2), math.tan(angle / 2)
    length = a * (math.sqrt(1 + m * m) + math.asinh(m) / m)
    if 2 * reach - length < LENGTH_KEPT - 1e-5:
        assert done.change == pytest.approx(length - 2 * reach, abs=1e-9)
        # It passes half-way between the corner and the chord of its ends.
        assert done.deviation == pytest.approx(reach * math.sin(angle / 2) / 2, abs=1e-3)


def test_a_small_corner_in_a_curved_seam_keeps_the_seams_shape() -> None:
    # Half circles of 25 mm radius that bend against each other, and a corner of 5° between them.
    arc = 4 / 3 * math.tan(math.pi / 8) * 25
    quarter = Cubic(0j, complex(arc, 0), complex(25, 25 - arc), 25 + 25j)
    half = [quarter, quarter.mapped(lambda z: 25 + 25j + (z * 1j))]
    end, way = half[-1].end, half[-1].end_tangent()
    onto = way * cmath.rect(1, math.radians(5))
    other = [s.mapped(lambda z: end + z.conjugate() * onto) for s in half]
    done = smooth_corner(half, other, 60.0, 60.0)
    assert done.clipped
    assert abs(done.change) <= LENGTH_KEPT
    assert done.deviation < SHAPE_KEPT + 60 * math.sin(math.radians(2.5)) / 2 + 0.1
    assert done.back == pytest.approx(done.on)
    assert done.back > 10.0


def test_a_mouth_that_turns_too_far_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["move", SAMPLE, "-o", str(tmp_path / "out.svg"), "--clearance", "120mm"]
    assert main(asked) == 0
    assert main([*asked, "--true-mouth"]) == 1
    words = capsys.readouterr().err
    assert re.search(r"the side seam turns by \d+\.\d° at the dart; over 60°", words)


def chain(seam: Seam, *nodes: complex) -> tuple[Edge, ...]:
    return tuple(Edge(Line(a, b), seam) for a, b in itertools.pairwise(nodes))


WAIST = Seam("waist", "waist")


def test_two_darts_closed_near_each_other_share_the_seam_between() -> None:
    piece = Piece((chain(WAIST, 0j, 100 + 0j, 130 + 3j, 230 + 25j),))
    trued = true_seams(piece, [(0, 1), (0, 2)], [], 60.0)
    half = abs(30 + 3j) / 2
    assert [b.outcome.on for b in trued.blends[:1]] == pytest.approx([half])
    assert [b.outcome.back for b in trued.blends[1:]] == pytest.approx([half])
    assert [b.outcome.back for b in trued.blends[:1]] == pytest.approx([30.0])
    run = [edge.segment for edge in trued.piece.runs[0]]
    assert [type(s) for s in run] == [Line, Cubic, Cubic, Line]
    for one, other in itertools.pairwise(run):
        assert abs(one.end - other.start) < 1e-9
        assert abs(cmath.phase(other.start_tangent() / one.end_tangent())) < 1e-9
    assert true_seams(piece, [(0, 1), (0, 2)], [], 0.0).piece == piece


def test_a_stretch_ends_at_a_corner_and_at_the_seams_end() -> None:
    side = Seam("side seam", "side seam")
    nodes = (0j, 90 + 0j, 100 + 8j, 110 + 18j)
    piece = Piece(((*chain(WAIST, *nodes), *chain(side, nodes[-1], 125 + 90j)),))
    (blend,) = true_seams(piece, [(0, 2)], [], 80.0).blends
    assert blend.outcome.back == pytest.approx(abs(10 + 8j))
    assert blend.outcome.on == pytest.approx(abs(10 + 10j))
    assert "left no more room" in blend.sentence


def test_a_sharp_turn_is_refused_and_two_seams_are_left() -> None:
    sharp = Piece((chain(WAIST, 0j, 100 + 0j, 130 + 80j),))
    with pytest.raises(DartError, match=r"the waist turns by 69\.4° where the dart was closed"):
        true_seams(sharp, [(0, 1)], [], 40.0)
    assert true_seams(sharp, [(0, 1)], [], 0.0).notes == ()
    other = Seam("hem", "hem")
    piece = Piece(((*chain(WAIST, 0j, 100 + 0j), *chain(other, 100 + 0j, 200 + 40j)),))
    trued = true_seams(piece, [(0, 1)], [], 40.0)
    assert trued.piece == piece
    assert trued.notes == (
        "The corner of the waist and the hem where the dart was closed is kept: there one seam "
        "ends and another begins.",
    )


def test_a_corner_of_the_block_at_a_dart_is_left() -> None:
    apex, half = 100 + 100j, 0.2
    first, second = (apex - 100j * cmath.rect(1, way * half) for way in (-1, 1))
    # Shut about the apex the two sides meet at 40°: a corner of the block itself.
    along = 1j * (first - apex) / 100 * cmath.rect(1, -math.radians(20))
    onward = 1j * (second - apex) / 100 * cmath.rect(1, math.radians(20))
    run = chain(WAIST, second, second + 60 * onward, 100 + 300j, first - 60 * along, first)
    piece = Piece((run,), (Opening(apex, apex - 20j, 2 * half, True, target=0),))
    trued = true_seams(piece, [], [0], 40.0)
    assert trued.piece == piece
    assert trued.mouths == frozenset()
    assert "a corner of the block itself" in trued.notes[0]


def test_a_closed_dart_that_leaves_a_corner_is_offered_a_blend(tmp_path: Path) -> None:
    out = str(tmp_path / "out.svg")
    assert main(["move", SAMPLE, "-o", out]) == 0
    note = " ".join(t for e in parts(read_document(out).getroot(), "note") for t in e.itertext())
    # tan of the half dart is 26/149; the waist runs 1 in 69 and 7 in 104 off the level.
    turn = 2 * math.atan(26 / 149) - math.atan(7 / 104) + math.atan(1 / 69)
    assert f"leaves a corner of {math.degrees(turn):.1f}° in the waist; --blend 40mm" in note
    assert main(["move", SAMPLE, "-o", out, "--blend", "40mm"]) == 0
    note = " ".join(t for e in parts(read_document(out).getroot(), "note") for t in e.itertext())
    assert "drawn smooth over 40 mm" in note


@pytest.mark.parametrize("as_made", [True, False])
def test_a_result_says_how_it_was_trued_and_keeps_it(tmp_path: Path, as_made: bool) -> None:
    out = str(tmp_path / "out.svg")
    assert main(["move", SAMPLE, "-o", out, "--blend", "38mm", "--true-mouth"]) == 0
    tree = read_document(out)
    (line,) = parts(tree.getroot(), "stitch-line")
    drawn = line.get("d")
    draft = allow(tree.getroot(), Request(given={"cloth": "knit"}, as_made=as_made)).drafts[0]
    # Its seam still runs smooth across the dart: nothing is said of a bend.
    assert not any("bends" in warning for warning in draft.warnings)
    (line,) = parts(tree.getroot(), "stitch-line")
    assert line.get("d") == drawn
    assert (line.get(f"{OURS}blend"), line.get(f"{OURS}true-mouth")) == ("38.0mm", "yes")


@given(st.floats(0, 500), st.booleans())
def test_the_settings_come_back_from_their_attributes(blend: float, true_mouth: bool) -> None:
    made = Settings(share=0.25, blend=blend, true_mouth=true_mouth)
    assert stored_settings(settings_attributes(made)) == made


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--blend=-1mm"], "negative"),
        (["--blend", "wide"], "is not a length"),
        (["--true-mouth", "perhaps"], "invalid choice"),
    ],
)
def test_options_that_make_no_sense(
    options: list[str], words: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main(["move", SAMPLE, "-o", str(tmp_path / "out.svg"), *options]) == 2
    assert words in capsys.readouterr().err


def with_mouth(half: float) -> Block:
    """A front with a level waist and a dart in it, so many mm wide to each side of its middle."""
    apex = 100 + 200j
    return Block(
        seam_by_seam(
            [
                ("neckline", Cubic(0 + 60j, 35 + 60j, 60 + 35j, 60 + 0j)),
                ("shoulder", Line(60 + 0j, 180 + 40j)),
                ("armhole", Cubic(180 + 40j, 165 + 110j, 175 + 180j, 220 + 180j)),
                ("side seam", Line(220 + 180j, 220 + 360j)),
                ("waist", Line(220 + 360j, 100 + half + 360j)),
                ("dart", Line(100 + half + 360j, apex)),
                ("dart", Line(apex, 100 - half + 360j)),
                ("waist", Line(100 - half + 360j, 0 + 360j)),
                ("centre front", Line(0 + 360j, 0 + 60j)),
            ]
        ),
        apex=apex,
    )


@pytest.mark.parametrize("half", [20.0, 10.0])
def test_a_corner_over_10_degrees_is_said_in_the_first_two_lines(half: float) -> None:
    draft = move_dart(with_mouth(half), None, [Target(place="side seam:0.4")])
    turn = math.degrees(2 * math.atan(half / 160))
    told = f"leaves a corner of {turn:.1f}° in the waist; --blend 40mm"
    for lines in (sentences(draft), done_lines(draft)):
        assert (told in lines[1]) == (turn > 10.0), lines
        assert not any(told in line for line in (lines[0], *lines[2:]))
    # It is told once, in the report too, and the seam is exact all the same.
    assert sum(told in remark for remark in remarks(draft)) == (turn > 10.0)
    assert any(f"waist turns by {turn:.1f}°" in note for note in draft.notes) == (turn < 10.0)
    waist = [edge.segment for edge in draft.piece.edges() if edge.seam.kind == "waist"]
    assert [segment.length() for segment in waist] == pytest.approx([120 - half, 100 - half])


def test_no_corner_is_left_where_it_is_blended_or_the_dart_stays_open() -> None:
    for chosen in (Settings(blend=40.0), Settings(share=0.5)):
        draft = move_dart(with_mouth(20.0), chosen, [Target(place="side seam:0.4")])
        assert draft.corners_left == ()
        assert "corner" not in "".join(sentences(draft)[:2])
