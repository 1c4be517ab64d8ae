"""What must hold of any block that is cut in two along a style line."""

from __future__ import annotations

import cmath
import itertools
import math
import random
from collections.abc import Sequence

import pytest
from hypothesis import assume, given, reject, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from drafting_core.block.block import Block, DartMark, InnerLine, StyleLine
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Line, Segment, rotation_about
from drafting_core.style.style_line import cut_in_two
from drafting_core.text.errors import DraftingError
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import drawn
from tests.help.blocks.refusals import no_case
from tests.help.blocks.style_lines import (
    NAME,
    Case,
    cases,
    cut,
    matched,
    old_edges,
    sewn_places,
    shift_of,
    side,
    span,
    two_darts,
    ways_through,
)
from tests.help.depth import examples


def polygon(segments: Sequence[Segment], pieces: int = 60) -> Polygon:
    return Polygon([(z.real, z.imag) for s in segments for z in s.flattened(pieces)])


def lengths_of(edges: Sequence[tuple[str, Segment]]) -> dict[str, float]:
    total: dict[str, float] = {}
    for name, segment in edges:
        total[name] = total.get(name, 0.0) + span([segment])
    return total


def area_to_the_apex(draft: Draft) -> float:
    """The net area: the stitch line's, and of every dart what lies between point and apex."""
    area = sum(segment.area() for segment in draft.stitch_line)
    for item in draft.darts:
        first, second = item.dart.ends
        apex, point = item.dart.opening.apex, item.dart.point
        ring = [first, point, second, apex]
        area -= sum(
            (p.conjugate() * q).imag / 2 for p, q in zip(ring, ring[1:] + ring[:1], strict=True)
        )
    return area


@settings(max_examples=examples(30))
@given(cases())
def test_both_pieces_together_are_the_block(case: Case) -> None:
    before = lengths_of([(s.seam, edge.segment) for s, edge in zip(
        case.source.segments, case.block.outline, strict=True) if s.run >= 0])  # fmt: skip
    after = lengths_of(
        [(e.seam.name, e.segment) for draft in case.drafts for e in draft.piece.edges()]
    )
    del after[NAME]
    assert {name.split(" (")[0] for name in after} == set(before)
    for name, length in before.items():
        assert sum(v for k, v in after.items() if k == name) == pytest.approx(length, abs=1e-6)
    parts = [s.points for s in case.source.segments]
    mouth = case.source.mouth
    parts[mouth] = (parts[mouth][0], case.source.apex)
    parts[mouth + 1] = (case.source.apex, parts[mouth + 1][1])
    whole = sum(
        (Line(*p) if len(p) == 2 else type(case.block.outline[0].segment)(*p)).area()
        if len(p) == 2
        else sum(edge.segment.area() for edge in case.block.outline if edge.segment.start == p[0])
        for p in parts
    )
    assert sum(area_to_the_apex(d) for d in case.drafts) == pytest.approx(whole, rel=1e-6)


@settings(max_examples=examples(30))
@given(cases())
def test_every_part_is_rigid(case: Case) -> None:
    """Every old edge is the block's, turned about the apex with its part and shifted."""
    apex, angle = case.source.apex, case.source.angle
    # Along the centre, which runs up the left side of every block; down the page without one.
    centre = [s.points for s in case.source.segments if s.seam.startswith("centre")]
    down = centre[0][0] - centre[-1][-1] if centre else 1j
    shifts = []
    for draft, chain in zip(case.drafts, matched(case), strict=True):
        edges = old_edges(draft)
        assert len(edges) == len(chain)
        turns = []
        for old, new in zip(chain, edges, strict=True):
            turn = (new[-1] - new[0]) / (old[-1] - old[0])
            turns.append(cmath.phase(turn))
            assert abs(turn) == pytest.approx(1.0, abs=1e-9)
            for p, q in zip(old, new, strict=True):
                assert abs(new[0] + (p - old[0]) * turn - q) < 1e-9 * 1000
            # A turn about the apex leaves it where it is: the shift is the same for all.
            shifts.append((draft is case.drafts[0], new[0] - (apex + (old[0] - apex) * turn)))
            assert min(abs(turns[-1]), abs(abs(turns[-1]) - angle)) < 1e-8
        grain = cmath.phase((draft.grain.end - draft.grain.start) / down)
        assert min(abs(grain - turn) for turn in turns) < 1e-9
        changes = [abs(a - b) > 1e-8 for a, b in itertools.pairwise(turns)]
        assert sum(changes) <= 1
    assert max(abs(shift) for first, shift in shifts if first) < 1e-6
    beside = [shift for first, shift in shifts if not first]
    assert abs(beside[0]) > 10
    assert max(abs(shift - beside[0]) for shift in beside) < 1e-6


def laid(first: Sequence[Segment], second: Sequence[Segment]) -> float:
    """How far two stretches lie apart at most, when their ends are laid on each other."""
    start, end = first[0].start, first[-1].end
    turn = (end - start) / (second[-1].end - second[0].start)
    assert abs(turn) == pytest.approx(1.0, abs=1e-9)
    origin = second[0].start
    moved = [segment.mapped(lambda z: start + (z - origin) * turn) for segment in second]
    points = [segment.point(k / 24) for segment in first for k in range(25)]
    return max(min(random_blocks.nearest(tuple(s), z)[1] for s in moved) for z in points)


@settings(max_examples=examples(30))
@given(cases())
def test_the_two_sides_of_the_seam_are_congruent(case: Case) -> None:
    one, other = (side(draft) for draft in case.drafts)
    assert span(one) == pytest.approx(span(other), abs=1e-6)
    joined = [draft.joined for draft in case.drafts]
    assert [j.length for j in joined if j] == pytest.approx([span(one)] * 2, abs=1e-6)
    assert [j.name for j in joined if j] == [NAME] * 2
    if case.through:
        # On each piece the line up to the apex, and beyond it: as rigid as the parts.
        apex = [case.source.apex, case.source.apex + shift_of(case)]
        stretches = [_at(one, apex[0]), _at(other, apex[1])]
        stretches[1] = [[s.reversed() for s in reversed(c)] for c in reversed(stretches[1])]
        for first, second in zip(*stretches, strict=True):
            assert laid(first, second) < 1e-6
        return
    # Beside the apex the near piece has a short dart; with it closed there is one line.
    flat = []
    for draft in case.drafts:
        chain = side(draft)
        for item in draft.darts:
            (start, end), opening = item.dart.ends, item.dart.opening
            if not any(abs(segment.end - start) < 1e-9 for segment in chain):
                continue
            shut = rotation_about(
                opening.apex, cmath.phase((start - opening.apex) / (end - opening.apex))
            )
            at = next(k for k, s in enumerate(chain) if abs(s.end - start) < 1e-9)
            chain[at + 1 :] = [segment.mapped(shut) for segment in chain[at + 1 :]]
            assert abs(chain[at].end - chain[at + 1].start) < 1e-6
        flat.append(chain)
    assert laid(flat[0], [s.reversed() for s in reversed(flat[1])]) < 1e-6


def _at(chain: list[Segment], apex: complex) -> list[list[Segment]]:
    k = next(k for k, segment in enumerate(chain) if abs(segment.end - apex) < 1e-6)
    return [chain[: k + 1], chain[k + 1 :]]


def angle_at(chains: Sequence[Sequence[Segment]]) -> float:
    """The angle in radians that a piece has at the apex, between the two stretches of its seam."""
    before, after = chains[0][-1].end_tangent(), chains[1][0].start_tangent()
    return math.pi - cmath.phase(after / before)


@settings(max_examples=examples(30))
@given(cases(through=True))
def test_what_is_left_about_the_apex(case: Case) -> None:
    # CITS Dress Making, Trade Theory, 2024, p. 180: the angle is the same wherever it stands.
    apexes = (case.source.apex, case.source.apex + shift_of(case))
    angles = [
        angle_at(_at(side(draft), apex)) for draft, apex in zip(case.drafts, apexes, strict=True)
    ]
    assert not any(item.dart.opening.in_fan for draft in case.drafts for item in draft.darts)
    assert sum(angles) == pytest.approx(math.tau - case.source.angle, abs=1e-9)


@settings(max_examples=examples(30))
@given(cases(loose=True))
def test_notches_match(case: Case) -> None:
    # In a hairpin a notch on the one side points at the other.
    assume(not case.is_hairpin)
    one, other = case.drafts
    length = span(side(one))
    first = sewn_places(one)
    second = sorted(length - place for place in sewn_places(other))
    if case.through or len(first) == len(second):
        assert first == pytest.approx(second, abs=1e-6)
    else:
        # At an inward corner beside the apex the corner itself meets the other's short dart.
        few, many = sorted((first, second), key=len)
        assert len(many) == len(few) + 1
        assert sum(all(abs(a - b) > 1e-6 for a in few) for b in many) == 1
    for draft in case.drafts:
        chain = side(draft)
        walked = 0.0
        for before, after in itertools.pairwise(chain):
            walked += span([before])
            bend = abs(cmath.phase(after.start_tangent() / before.end_tangent()))
            if case.through and bend > math.radians(15):
                assert all(abs(walked - place) > 40 for place in sewn_places(draft))


@settings(max_examples=examples(30))
@given(cases())
def test_the_cut_line_lies_outside_the_stitch_line(case: Case) -> None:
    for draft in case.drafts:
        cut_line, stitched = polygon(draft.cut_line), polygon(draft.stitch_line)
        assert cut_line.is_valid
        assert stitched.is_valid
        assert cut_line.buffer(1e-3).contains(stitched)
    outer = [polygon(draft.cut_line) for draft in case.drafts]
    assert not outer[0].envelope.intersects(outer[1].envelope)


@st.composite
def with_two_darts(draw: st.DrawFn) -> tuple[Block, tuple[complex, complex], float]:
    """A front with two darts at its apex, a style line through it, and the darts' whole angle."""
    seed = draw(st.integers(0, 10_000))
    try:
        block, mouths = two_darts(seed)
        block = ways_through(block, draw(st.integers(0, 10_000)))
        cut_in_two(block)
    except DraftingError as error:
        no_case(error, or_place="from the nearest seam")
    return block, mouths, drawn(seed, "front").angle


def left_open(drafts: Sequence[Draft]) -> list[float]:
    """The angles of the darts that both pieces still have, measured on their mouths."""
    found = []
    for draft in drafts:
        for item in draft.darts:
            first, second = (end - item.dart.opening.apex for end in item.dart.ends)
            found.append(cmath.phase(second / first))
    return sorted(found)


@settings(max_examples=examples(20))
@given(with_two_darts(), st.sampled_from([(1.0, 1.0), (1.0, 0.0), (0.0, 1.0), (0.4, 0.7)]))
def test_marks_choose_what_goes_into_the_seam(
    case: tuple[Block, tuple[complex, complex], float], shares: tuple[float, float]
) -> None:
    block, mouths, whole = case
    marks = [DartMark(at, share) for at, share in zip(mouths, shares, strict=True)]
    try:
        drafts = cut_in_two(block._replace(dart_marks=marks))
    except DraftingError as error:
        along = "runs along a dart" in str(error) and min(shares) < 1
        # A short dart kept 1 in short of the apex may open too widely to be folded.
        if not along and "cannot be folded" not in str(error):
            raise
        reject()
    # The dart was shared out in halves.
    want = sorted(whole / 2 * (1 - share) for share in shares if share < 1)
    assert left_open(drafts) == pytest.approx(want, abs=1e-9)
    sides = [span(side(draft)) for draft in drafts]
    assert sides[0] == pytest.approx(sides[1], abs=1e-6)


@settings(max_examples=examples(20))
@given(st.integers(0, 100_000), st.sampled_from([0.3, 0.5]))
def test_a_part_of_the_dart_stays_a_finished_dart(seed: int, share: float) -> None:
    try:
        case = cut(seed, through=True, settings=Settings(share=share))
    except DraftingError as error:
        assume("along a dart" in str(error))
        assert cut(seed, through=True).in_mouth
        return
    assert left_open(case.drafts) == pytest.approx([case.source.angle * (1 - share)], abs=1e-9)
    (item,) = (item for draft in case.drafts for item in draft.darts)
    assert item.dart.point != item.dart.opening.apex or case.source.kind in (
        "back",
        "skirt",
        "sleeve",
    )
    apexes = (case.source.apex, case.source.apex + shift_of(case))
    angles = [angle_at(_at(side(d), apex)) for d, apex in zip(case.drafts, apexes, strict=True)]
    assert sum(angles) == pytest.approx(math.tau - case.source.angle * share, abs=1e-9)


@settings(max_examples=examples(20))
@given(cases(through=False))
def test_ease_is_what_the_short_dart_would_take(case: Case) -> None:
    assume(not case.through)
    eased = cut_in_two(case.block, Settings(made="ease", ease_limit=100.0))
    assert not any(item.dart.opening.in_fan for draft in eased for item in draft.darts)
    lengths = [span(side(draft)) for draft in eased]
    mouths = [abs(i.dart.ends[0] - i.dart.ends[1]) for d in case.drafts for i in d.darts]
    joined = [draft.joined for draft in eased if draft.joined]
    # The seam is redrawn smooth about the mouth, longer by as much as that is wide.
    eased_in = max(j.fullness for j in joined)
    assert eased_in == pytest.approx(sum(mouths), abs=0.1)
    assert abs(lengths[0] - lengths[1]) == pytest.approx(eased_in, abs=1e-6)
    assert min(j.fullness for j in joined) == 0
    assert [j.length for j in joined] == pytest.approx([min(lengths)] * 2, abs=1e-6)


@settings(max_examples=examples(20))
@given(cases(), st.integers(0, 1000))
def test_notches_and_inner_lines_go_with_their_piece(case: Case, seed: int) -> None:
    """Points on both sides of the line: each is found once, where its part went."""
    rng = random.Random(seed)
    apex = case.source.apex
    shape = polygon([edge.segment for edge in case.block.outline]).buffer(-2)
    line = LineString([(z.real, z.imag) for s in (case.block.style_line or StyleLine(())).path
                       for z in (*s.flattened(40), s.end)])  # fmt: skip
    box = shape.bounds
    # What lies between a dart's own point and the apex is inside the dart when it is closed.
    wedge = Polygon([(z.real, z.imag) for z in (*case.source.mouth_ends, apex)])
    # Past the apex the dart opens again along the way from the line to the apex.
    level = line.interpolate(line.project(Point(apex.real, apex.imag)))
    reopened = LineString([(apex.real, apex.imag), (level.x, level.y)])
    shape = shape.difference(wedge.buffer(0.5)).difference(reopened.buffer(2))
    dots: list[complex] = []
    while len(dots) < 6:
        z = complex(rng.uniform(box[0], box[2]), rng.uniform(box[1], box[3]))
        mark = LineString([(z.real, z.imag), (z.real + 1, z.imag)])
        if shape.contains(mark) and line.distance(mark) > 2 and abs(z - apex) > 3:
            dots.append(z)
    block = case.block._replace(
        inner_lines=[InnerLine(((Line(z, z + 1),),), f"dot {n}") for n, z in enumerate(dots)],
        notches=[s.points[0] + (s.points[-1] - s.points[0]) * 0 for s in case.source.segments
                 if s.run >= 0][:1],
    )  # fmt: skip
    drafts = cut_in_two(block)
    seen = [inner.thing for draft in drafts for inner in draft.inner_lines]
    assert sorted(seen) == sorted(f"dot {n}" for n in range(6))
    pivots = (apex, apex + shift_of(case))
    for draft, pivot in zip(drafts, pivots, strict=True):
        inside = polygon(draft.stitch_line).buffer(0.05)
        for inner in draft.inner_lines:
            (mark,) = (path[0] for path in inner.paths)
            z = dots[int(inner.thing[4:])]
            assert inside.contains(Point(mark.start.real, mark.start.imag))
            # A part only turns about the apex: the mark's distance from it stays.
            assert abs(mark.start - pivot) == pytest.approx(abs(z - apex), abs=1e-6)
            assert abs(mark.end - mark.start) == pytest.approx(1.0, abs=1e-9)
    notches = [len(draft.seam_notches) for draft in cut_in_two(case.block)]
    assert sum(len(draft.seam_notches) for draft in drafts) >= sum(notches)


@settings(max_examples=examples(20))
@given(cases())
def test_a_crossed_inner_line_is_split(case: Case) -> None:
    first, apex = case.places[0], case.source.apex
    at = first + (apex - first) * 0.4
    style = (case.block.style_line or StyleLine(())).path
    near = min((s for s in style), key=lambda s: random_blocks.nearest(tuple(s), at)[1])
    t = random_blocks.nearest(tuple(near), at)[0]
    middle, way = near.point(t), near.tangent(t) * 1j
    crossing = Line(middle - way * 3, middle + way * 3)
    shape = polygon([edge.segment for edge in case.block.outline])
    drawn_crossing = LineString([(z.real, z.imag) for z in (crossing.start, crossing.end)])
    # In the mouth of its dart the line runs along the legs, wherever it was drawn.
    assume(0.05 < t < 0.95 and abs(middle - apex) > 30 and not case.in_mouth)
    assume(shape.buffer(-0.1).contains(drawn_crossing))
    line = LineString([(z.real, z.imag) for s in style for z in (*s.flattened(60), s.end)])
    assume(isinstance(line.intersection(drawn_crossing), Point))
    drafts = cut_in_two(
        case.block._replace(inner_lines=[InnerLine(((crossing,),), "balance line")])
    )
    lengths = [span(path) for d in drafts for inner in d.inner_lines for path in inner.paths]
    # A line that passes the apex a little is led through it: 3 mm on each side, or nearly.
    assert len(lengths) == 2
    assert min(lengths) > 0.5
    assert sum(lengths) == pytest.approx(6.0, abs=1e-6)
    assert all(any("balance line" in note for note in draft.notes) for draft in drafts)
