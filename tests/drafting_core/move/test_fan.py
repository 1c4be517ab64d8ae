"""One model for every move: openings of one angle sum about an apex, sectors that stay rigid."""

from __future__ import annotations

import cmath
import itertools
import math
import random

import pytest
from hypothesis import assume, given, reject, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, Polygon

from drafting_core.block.block import Block, DartMark, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.finished.draft import move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import flattened
from drafting_core.plane.curves import Line, Segment
from drafting_core.text.errors import DraftingError
from tests.drafting_core.move.test_move_cases import square_front, two_darts
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import core_block, segment
from tests.help.blocks.fan_cases import (
    EXACT,
    Case,
    a_place,
    angle_at,
    apart_up_to_motion,
    attempted,
    best_turn,
    block_of,
    cases,
    chain_length,
    drafted,
    farthest,
    mark_at,
    samples,
    turned,
)
from tests.help.depth import examples


@given(cases())
@settings(max_examples=examples(60))
def test_the_openings_sum_to_what_they_were(case: Case) -> None:
    # CITS Dress Making, Trade Theory, 2024, p. 180: the angle is the same wherever it stands.
    draft = drafted(case)
    before = angle_at(case.source.apex, case.source.mouth_ends)
    after = [angle_at(case.source.apex, item.dart.ends) for item in draft.darts]
    assert min(after) > 0
    assert math.fsum(after) == pytest.approx(before, abs=1e-12)
    moved = turned(case)
    for k, opening in enumerate(moved.turned.openings):
        measured = angle_at(case.source.apex, moved.turned.mouth(k))
        assert measured == pytest.approx(opening.angle, abs=1e-12)


@given(cases())
@settings(max_examples=examples(60))
def test_each_sector_is_its_original_turned_about_the_apex(case: Case) -> None:
    moved, apex = turned(case), case.source.apex
    still = 0
    for sector in moved.cut.sectors():
        before = [z for k in sector for edge in moved.cut.runs[k] for z in edge.segment]
        after = [z for k in sector for edge in moved.turned.runs[k] for z in edge.segment]
        sides = (sector[-1], 1), ((sector[0] - 1) % len(moved.cut.runs), 0)
        for k, side in sides:
            # Its edges along the cuts are part of it.
            old, new = (piece.openings[k].sides for piece in (moved.cut, moved.turned))
            if old is not None and new is not None:
                before += [z for s in old[1 - side] for z in s]
                after += [z for s in new[1 - side] for z in s]
        factor = best_turn(before, after, apex)
        expected = [apex + (z - apex) * factor for z in before]
        assert max(abs(a - b) for a, b in zip(expected, after, strict=True)) < 1e-9
        still += abs(cmath.phase(factor)) < 1e-14
        flat = Polygon(
            [
                (z.real, z.imag)
                for z in (
                    *flattened([e.segment for k in sector for e in moved.cut.runs[k]], 5),
                    before[-1],
                    apex,
                )
            ]
        )
        by_library = affinity.rotate(
            flat, cmath.phase(factor), origin=(apex.real, apex.imag), use_radians=True
        )
        ours = flattened([e.segment for k in sector for e in moved.turned.runs[k]], 5)
        for (x, y), z in zip(by_library.exterior.coords, ours, strict=False):
            assert abs(complex(x, y) - z) < 1e-9
    assert still >= 1
    # The cuts themselves change nothing: every edge lies on the drawn outline.
    drawn_edges = [segment(s.points) for s in case.source.segments if s.seam != "dart"]
    assert farthest(samples([e.segment for e in moved.cut.edges()], 3), drawn_edges) < 1e-6


@given(cases())
@settings(max_examples=examples(30))
def test_sewn_lengths_and_net_area_are_what_was_drawn(case: Case) -> None:
    draft = drafted(case)
    before: dict[str, float] = {}
    for part in case.source.segments:
        if part.seam != "dart":
            size = chain_length([segment(part.points)], 400)
            before[part.seam] = before.get(part.seam, 0.0) + size
    after: dict[str, float] = {}
    for edge in draft.piece.edges():
        size = chain_length([edge.segment], 400)
        after[edge.seam.name] = after.get(edge.seam.name, 0.0) + size
    assert after.keys() == before.keys()
    for name, length in before.items():
        assert after[name] == pytest.approx(length, abs=1e-6)
    # Curved cuts give on one side what they take on the other: the area is that of the draft's
    # own ring with its curved legs, by Green's theorem on fine chords.
    legs = [Line(case.source.mouth_ends[0], case.source.apex)]
    legs.append(Line(case.source.apex, case.source.mouth_ends[1]))
    seams = [segment(s.points) for s in case.source.segments if s.seam != "dart"]
    first = next(i for i, s in enumerate(seams) if abs(s.start - case.source.mouth_ends[1]) < 1e-12)
    original = exact_area([*seams[first:], *seams[:first], *legs])
    assert exact_area(draft.stitch_line) == pytest.approx(original, rel=1e-6)


def exact_area(ring: list[Segment] | tuple[Segment, ...]) -> float:
    """The area of a closed ring in mm², by Simpson's rule on x dy - y dx (exact for cubics)."""
    total = 0.0
    for part in ring:
        points = tuple(part)
        # The integrand of a cubic is of degree 5: three points of Gauss's rule are exact.
        for node, weight in ((-math.sqrt(0.6), 5 / 18), (0.0, 8 / 18), (math.sqrt(0.6), 5 / 18)):
            t = 0.5 + node / 2
            z = random_blocks.at(points, t)
            if len(points) == 2:
                way = points[1] - points[0]
            else:
                a, b, c, d = points
                way = 3 * ((1 - t) ** 2 * (b - a) + 2 * t * (1 - t) * (c - b) + t * t * (d - c))
            total += weight * (z.conjugate() * way).imag / 2
    return total


@given(cases())
@settings(max_examples=examples(40))
def test_moved_away_in_parts_and_all_moved_back_is_the_original(case: Case) -> None:
    there = drafted(case)
    bare = turned(case)
    home = bare.turned.mouth(next(k for k, o in enumerate(bare.turned.openings) if o.source))
    marks = [mark_at(item.dart.ends) for item in there.darts if not item.dart.opening.source]
    block = block_of(there, dart_marks=marks)
    back = move_dart(block, EXACT, [Target(at=home[0])])
    assert len(back.darts) == 1
    seams = [segment(s.points) for s in case.source.segments if s.seam != "dart"]
    returned = [edge.segment for edge in back.piece.edges()]
    assert farthest(samples(returned, 4), seams) < 1e-6
    assert farthest(samples(seams, 2), returned) < 1e-6
    for end, drawn_end in zip(back.darts[0].dart.ends, case.source.mouth_ends, strict=True):
        assert abs(end - drawn_end) < 1e-6


# Two darts of one apex: combined, swapped, one kept.

WAIST = 2 * math.atan(20 / 160)
SHOULDER = 0.1


def angles(draft: Draft) -> dict[str, float]:
    apex = draft.apexes[0]
    return {item.dart.seam.name: angle_at(apex, item.dart.ends) for item in draft.darts}


def test_two_darts_are_combined_into_one() -> None:
    block = two_darts()
    marks = [DartMark(100 + 360j), DartMark(117 + 15j)]
    draft = move_dart(block._replace(dart_marks=marks), EXACT, [Target(place="side seam:0.3")])
    assert angles(draft) == pytest.approx({"side seam": WAIST + SHOULDER}, abs=1e-12)
    named = move_dart(block, EXACT, [Target(place="side seam:0.3", source="waist and shoulder")])
    assert (
        apart_up_to_motion(
            [s.start for s in draft.stitch_line], [s.start for s in named.stitch_line]
        )
        < 1e-9
    )


def test_one_dart_is_combined_into_the_other() -> None:
    into = move_dart(two_darts(), EXACT, [Target(place="waist", source="waist and shoulder")])
    assert angles(into) == pytest.approx({"waist": WAIST + SHOULDER}, abs=1e-12)
    ends = into.darts[0].dart.ends
    assert abs(ends[0] - 100 - 200j) == pytest.approx(abs(20 + 160j), abs=1e-9)


def test_two_darts_are_swapped() -> None:
    draft = move_dart(
        two_darts(),
        EXACT,
        [Target(place="shoulder", source="waist"), Target(place="waist", source="shoulder")],
    )
    assert angles(draft) == pytest.approx({"shoulder": WAIST, "waist": SHOULDER}, abs=1e-12)
    assert [item.dart.seam.name for item in draft.darts] == ["shoulder", "waist"]
    # Each stands where the other stood: as far from the apex along its seam.
    assert draft.balance.seams[0].before == pytest.approx(draft.balance.seams[0].after, abs=1e-9)


def test_a_dart_marked_with_share_0_is_kept() -> None:
    block = two_darts()
    for at, kept, gone in ((100 + 360j, "waist", "shoulder"), (117 + 15j, "shoulder", "waist")):
        draft = move_dart(
            block._replace(dart_marks=[DartMark(at, 0.0)]), None, [Target(place="side seam:0.3")]
        )
        sizes = {"waist": WAIST, "shoulder": SHOULDER}
        assert angles(draft) == pytest.approx(
            {"side seam": sizes[gone], kept: sizes[kept]}, abs=1e-12
        )
    both = [DartMark(100 + 360j, 0.0), DartMark(117 + 15j, 0.0)]
    with pytest.raises(DraftingError, match="to be kept"):
        move_dart(block._replace(dart_marks=both), None, [Target(place="side seam:0.3")])


def test_no_note_speaks_of_a_dart_that_was_not_moved() -> None:
    parts = [
        (name, Line(s.start, 100 + 200j) if name == "dart" and i == 2 else s)
        for i, (name, s) in enumerate((e, s) for e, s in _named(two_darts()))
    ]
    parts[3] = ("dart", Line(100 + 200j, parts[3][1].end))
    block = Block(seam_by_seam(parts), apex=100 + 200j)
    plain = move_dart(block, None, [Target(place="side seam:0.3")])
    assert any("the widest, on the waist, was closed" in note for note in plain.notes)
    named = move_dart(block, None, [Target(place="side seam:0.3", source="shoulder")])
    assert {item.dart.seam.name for item in named.darts} == {"side seam", "waist"}
    assert not any("the widest" in note for note in named.notes)


def _named(block: Block) -> list[tuple[str, Segment]]:
    return [
        ("dart" if edge.leg else edge.label.name if edge.label else "", edge.segment)
        for edge in block.outline
    ]


# Two apexes: each dart turns about its own.


def two_apexes(seed: int) -> tuple[random_blocks.Block, Block, tuple[complex, complex], complex]:
    """A random block with a second dart to a point of its own, both points marked as apexes."""
    rng = random.Random(seed)
    source = random_blocks.random_block(rng, rng.choice(("front", "back")))
    second = random_blocks.with_second_dart(source, rng)
    if second is None:
        reject()
    legs = [i for i, s in enumerate(second.segments) if s.seam == "dart"]
    leg = next(i for i in legs if i not in (second.mouth, second.mouth + 1))
    ends = second.segments[leg].points[0], second.segments[leg + 1].points[-1]
    point = second.segments[leg].points[-1]
    return second, core_block(second)._replace(more_apexes=[point]), ends, point


def about(ends: tuple[complex, complex], apex: complex) -> tuple[float, float, float]:
    return abs(ends[0] - apex), abs(ends[1] - apex), angle_at(apex, ends)


@given(st.integers(0, 10_000))
@settings(max_examples=examples(25))
def test_a_dart_of_another_apex_travels_unchanged(seed: int) -> None:
    source, block, ends, point = two_apexes(seed)
    rng = random.Random(seed)
    place = a_place(source, rng, ends)
    draft = attempted(block, EXACT, [Target(at=place, apex=0)])
    (kept,) = (item.dart for item in draft.darts if item.dart.opening.fan == 1)
    assert about(kept.ends, kept.point) == pytest.approx(about(ends, point), abs=1e-9)
    assert abs(draft.apexes[1] - kept.point) < 1e-9
    (new,) = (item.dart for item in draft.darts if item.dart.opening.fan == 0)
    assert angle_at(source.apex, new.ends) == pytest.approx(source.angle, abs=1e-12)
    # And the other way round: the second moves, the first stays as it is.
    other = attempted(block, EXACT, [Target(at=place, apex=1)])
    (still,) = (item.dart for item in other.darts if item.dart.opening.fan == 0)
    first = about(source.mouth_ends, source.apex)
    assert about(still.ends, still.opening.apex) == pytest.approx(first, abs=1e-9)
    (gone,) = (item.dart for item in other.darts if item.dart.opening.fan == 1)
    assert angle_at(point, gone.ends) == pytest.approx(angle_at(point, ends), abs=1e-12)


def own_shoulder_dart() -> Block:
    """The plain front with a shoulder dart to a point of its own, 60 mm deep."""
    point = 120 + 80j
    first, second = (point + cmath.rect(60.0, math.radians(270 + side * 4)) for side in (-1, 1))
    parts = square_front()
    parts[1:2] = [
        ("shoulder", Line(60 + 0j, first)),
        ("dart", Line(first, point)),
        ("dart", Line(point, second)),
        ("shoulder", Line(second, 180 + 40j)),
    ]
    return Block(seam_by_seam(parts), apex=100 + 200j, more_apexes=[point])


def test_darts_of_two_apexes_change_seams_whichever_is_named_first() -> None:
    goals = [
        Target(place="shoulder:0.2", source="waist"),
        Target(place="waist:0.8", source="shoulder"),
    ]
    rings = []
    for order in (goals, goals[::-1]):
        draft = move_dart(own_shoulder_dart(), EXACT, order)
        found = {item.dart.seam.name: item.dart for item in draft.darts}
        new, other = found["shoulder"], found["waist"]
        assert (new.opening.fan, other.opening.fan) == (0, 1)
        assert angle_at(draft.apexes[0], new.ends) == pytest.approx(WAIST, abs=1e-12)
        assert angle_at(draft.apexes[1], other.ends) == pytest.approx(math.radians(8), abs=1e-12)
        rings.append([s.start for s in draft.stitch_line])
    assert apart_up_to_motion(*rings) < 1e-9


@given(st.integers(0, 10_000))
@settings(max_examples=examples(25))
def test_the_order_of_moves_about_two_apexes_does_not_matter(seed: int) -> None:
    source, block, ends, point = two_apexes(seed)
    rng = random.Random(seed)
    one = a_place(source, rng, ends)
    two = a_place(source, rng, (*ends, one))
    # Where a cut crosses what the other move opens or shuts, the order does matter.
    first, second = source.mouth_ends
    here, there = (
        LineString([(z.real, z.imag) for z in chain])
        for chain in (
            (one, source.apex, first, second, source.apex),
            (two, point, *ends, point),
        )
    )
    assume(not here.intersects(there))
    goals = [Target(at=one, apex=0), Target(at=two, apex=1)]
    at_once = attempted(block, EXACT, goals)
    # The second alone, then the first on what came out.
    after = attempted(block, EXACT, [goals[1]])
    in_turn = attempted(block_of(after), EXACT, [Target(at=carried(after, one), apex=0)])
    rings = [[s.start for s in draft.stitch_line] for draft in (at_once, in_turn)]
    assert apart_up_to_motion(*rings) < 1e-6


def carried(draft: Draft, place: complex) -> complex:
    """Where a place on a seam went: its edge of the cut block is an edge of the moved piece."""
    old, new = [e.segment for e in draft.before.edges()], [e.segment for e in draft.piece.edges()]
    best = min(range(len(old)), key=lambda k: random_blocks.nearest(tuple(old[k]), place)[1])
    t = random_blocks.nearest(tuple(old[best]), place)[0]
    original = tuple(old[best])
    sizes = [abs(a - b) for a, b in itertools.combinations(original, 2)]
    for candidate in new:
        if len(candidate) == len(original) and sizes == pytest.approx(
            [abs(a - b) for a, b in itertools.combinations(tuple(candidate), 2)], abs=1e-8
        ):
            return random_blocks.at(tuple(candidate), t)
    raise AssertionError("an edge was lost")
