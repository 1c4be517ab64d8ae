"""What must hold of any dart that is moved, on random blocks."""

from __future__ import annotations

import cmath
import math
import random

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Point, Polygon

from drafting_core.block import Block, DartMark, InnerLine, seam_by_seam
from drafting_core.curves import Cubic, Line, Segment
from drafting_core.draft import Draft, add_allowances, move_dart
from drafting_core.errors import DraftingError
from drafting_core.outline import flattened, nearest_on
from drafting_core.places import Target
from drafting_core.settings import Settings
from tests import random_blocks
from tests.core_blocks import blocks, core_block

CHOICES = st.builds(
    Settings,
    share=st.sampled_from([1.0, 0.5, 0.3]),
    clearance=st.sampled_from([None, 0.0]),
    cloth=st.sampled_from(["woven", "fine", "sheer", "knit"]),
)


@st.composite
def drafts(draw: st.DrawFn) -> tuple[random_blocks.Block, Draft]:
    source = draw(blocks())
    rng = random.Random(draw(st.integers(0, 10_000)))
    place = random_blocks.random_place(source, rng)[2]
    try:
        return source, move_dart(core_block(source), draw(CHOICES), [Target(at=place)])
    except DraftingError:
        reject()


def polygon(segments: tuple[Segment, ...] | list[Segment], pieces: int = 48) -> Polygon:
    return Polygon([(z.real, z.imag) for z in flattened(segments, pieces)])


@given(drafts())
def test_the_openings_sum_to_the_same_angle(case: tuple[random_blocks.Block, Draft]) -> None:
    # CITS Dress Making, Trade Theory, 2024, p. 180: the angle is the same wherever it stands.
    source, draft = case
    total = sum(item.dart.opening.angle for item in draft.darts)
    measured = 0.0
    for item in draft.darts:
        first, second = (end - item.dart.opening.apex for end in item.dart.ends)
        measured += cmath.phase(second / first)
    assert total == pytest.approx(source.angle, abs=1e-9)
    assert measured == pytest.approx(source.angle, abs=1e-9)


@given(drafts())
def test_sewn_lengths_and_net_area_stay(case: tuple[random_blocks.Block, Draft]) -> None:
    source, draft = case
    drawn_lengths: dict[str, float] = {}
    for piece in source.segments:
        if piece.seam != "dart":
            size = sum(
                abs(
                    random_blocks.at(piece.points, (k + 1) / 2000)
                    - random_blocks.at(piece.points, k / 2000)
                )
                for k in range(2000)
            )
            drawn_lengths[piece.seam] = drawn_lengths.get(piece.seam, 0.0) + size
    after: dict[str, float] = {}
    for entry in draft.balance.seams:
        assert abs(entry.before - entry.after) < 1e-6
        after[entry.seam.name] = after.get(entry.seam.name, 0.0) + entry.after
    for name, size in drawn_lengths.items():
        # Mouth ends that differ from the apex are brought to their mean.
        assert after[name] == pytest.approx(size, abs=1e-3 + 2e-6 * size)
    ring = [piece.points for piece in source.segments]
    shape = Polygon([(z.real, z.imag) for z in random_blocks.flatten(ring, 400)])
    if abs(source.segments[source.mouth].points[-1] - source.apex) < 1e-9:
        assert draft.balance.area_after == pytest.approx(shape.area, rel=1e-4)


@given(drafts())
def test_every_part_is_its_original_turned(case: tuple[random_blocks.Block, Draft]) -> None:
    source, draft = case
    after = [edge.segment for edge in draft.piece.edges()]
    # Cut as the draft was cut, each original is looked for among the results by its shape.
    before = [edge.segment for edge in draft.before.edges()]
    assert len(before) == len(after)
    apex = source.apex
    starts = {complex(round(s.start.real, 6), round(s.start.imag, 6)) for s in before}
    assert len(starts) == len(before)
    turns = set()
    pool = list(after)
    for original in before:
        reach = [abs(z - apex) for z in original]
        found = next(
            candidate
            for candidate in pool
            if len(candidate) == len(original)
            and max(abs(abs(z - apex) - r) for z, r in zip(candidate, reach, strict=True)) < 1e-8
        )
        pool.remove(found)
        angle = cmath.phase((found.start - apex) / (original.start - apex))
        turned = affinity.rotate(
            Polygon([(z.real, z.imag) for z in (*original, apex, apex + 1)]),
            angle,
            origin=(apex.real, apex.imag),
            use_radians=True,
        )
        corners = [complex(x, y) for x, y in turned.exterior.coords][: len(original)]
        assert max(abs(a - b) for a, b in zip(corners, found, strict=True)) < 1e-9
        turns.add(round(angle, 7))
    openings = [item.dart.opening.angle for item in draft.darts]
    assert 0.0 in {abs(angle) for angle in turns}
    assert len(turns) <= len(openings) + 1


@given(drafts())
def test_legs_are_equal_and_the_point_lies_on_the_bisector(
    case: tuple[random_blocks.Block, Draft],
) -> None:
    for item in case[1].darts:
        dart = item.dart
        first, second = (end - dart.point for end in dart.ends)
        assert abs(first) == pytest.approx(abs(second), abs=1e-8)
        apex = dart.opening.apex
        radius = abs(dart.ends[0] - apex)
        assert dart.intake == pytest.approx(2 * radius * math.sin(dart.opening.angle / 2), abs=1e-8)
        if dart.clearance > 1e-6:
            middle = (dart.ends[0] + dart.ends[1]) / 2
            assert abs(cmath.phase((dart.point - apex) / (middle - apex))) < 1e-8
        assert dart.point_angle == pytest.approx(cmath.phase(second / first), abs=1e-9)


@given(drafts())
def test_the_cap_mirrors_the_seam_and_turns_it(case: tuple[random_blocks.Block, Draft]) -> None:
    draft = case[1]
    for k, opening in enumerate(draft.piece.openings):
        dart = next(item.dart for item in draft.darts if item.dart.opening == opening)
        if "another dart" in dart.why:
            continue
        cap = [edge.segment for edge in dart.cap]
        assert abs(cap[0].start - dart.ends[0]) < 1e-9
        assert abs(cap[-1].end - dart.ends[1]) < 1e-9
        leg = dart.ends[dart.fold.leg] - dart.point
        way = 1 if dart.fold.leg == 0 else -1
        if dart.fold.leg == 0:
            seam = [e.segment.reversed() for e in reversed(draft.piece.runs[k])]
        else:
            seam = [e.segment for e in draft.piece.runs[(k + 1) % len(draft.piece.runs)]]
        for share in (0.1, 0.3, 0.45, 0.6, 0.8):
            phi = share * dart.point_angle
            mirrored = phi if share <= 0.5 else dart.point_angle - phi
            out = cmath.rect(1, cmath.phase(leg) + way * phi)
            back = cmath.rect(1, cmath.phase(leg) - way * mirrored)
            on_cap = radii(cap, dart.point, out)
            on_seam = radii(seam, dart.point, back)
            # The first half of the seam that the cap copies is the first met from the mouth.
            assert any(abs(r - on_seam[0]) < 1e-6 for r in on_cap)


def radii(chain: list[Segment], origin: complex, ray: complex) -> list[float]:
    found = []
    for segment in chain:
        for t in segment.on_ray(origin, ray):
            away = segment.point(t) - origin
            if (away * ray.conjugate()).real > 0:
                found.append(abs(away))
    return found


@given(drafts())
@settings(max_examples=40)
def test_the_cut_line_encloses_the_stitch_line(case: tuple[random_blocks.Block, Draft]) -> None:
    draft = case[1]
    windows = [polygon(item.window) for item in draft.darts if item.window]
    cut = polygon(draft.cut_line).buffer(1e-3)
    assert polygon(draft.cut_line).is_valid
    for window in windows:
        cut = cut.union(window.buffer(1e-3))
    assert cut.contains(polygon(draft.stitch_line, 24))


@given(drafts())
def test_windows_keep_the_trim_allowance_from_both_legs(
    case: tuple[random_blocks.Block, Draft],
) -> None:
    for item in case[1].darts:
        if item.window is None:
            assert item.dart.excess == "keep"
            continue
        assert item.dart.excess == "trim"
        for z in flattened(item.window, 12):
            for end in item.dart.ends:
                leg = (end - item.dart.point) / abs(end - item.dart.point)
                assert abs(((z - item.dart.point) * leg.conjugate()).imag) >= 12.7 - 1e-6


@given(blocks(), st.integers(0, 10_000))
def test_there_and_back_again_is_the_original(source: random_blocks.Block, seed: int) -> None:
    block = core_block(source)
    place = random_blocks.random_place(source, random.Random(seed))[2]
    exact = Settings(clearance=0.0)
    try:
        there = move_dart(block, exact, [Target(at=place)])
    except DraftingError:
        reject()
    parts: list[tuple[str, Segment]] = []
    for k, run in enumerate(there.piece.runs):
        parts += [(edge.seam.name, edge.segment) for edge in run]
        first, second = there.piece.mouth(k)
        parts += [("dart", Line(first, source.apex)), ("dart", Line(source.apex, second))]
    # The shut mouth is the node at the source's distance from the apex on its seam.
    radius = sum(abs(end - source.apex) for end in source.mouth_ends) / 2
    candidates = [
        segment.end
        for name, segment in parts
        if name == source.source_seam and abs(abs(segment.end - source.apex) - radius) < 1e-7
    ]
    back = None
    for node in candidates:
        try:
            back = move_dart(Block(seam_by_seam(parts), apex=source.apex), exact, [Target(at=node)])
        except DraftingError:
            continue
        if len(back.darts) == 1 and hausdorff(back, there) < 1e-6:
            break
    assert back is not None
    assert hausdorff(back, there) < 1e-6


def hausdorff(back: Draft, there: Draft) -> float:
    """The largest distance between the original's seams and those that came back."""
    original = [edge.segment for edge in there.before.edges()]
    returned = [edge.segment for edge in back.piece.edges()]
    samples = [s.point(k / 8) for s in returned for k in range(9)]
    return max(nearest_on(original, z).distance for z in samples)


def square_front() -> list[tuple[str, Segment]]:
    """An invented front so plain that its numbers are seen at once: apex at (100, 200)."""
    return [
        ("neckline", Cubic(0 + 60j, 35 + 60j, 60 + 35j, 60 + 0j)),
        ("shoulder", Line(60 + 0j, 180 + 40j)),
        ("armhole", Cubic(180 + 40j, 165 + 110j, 175 + 180j, 220 + 180j)),
        ("side seam", Line(220 + 180j, 220 + 360j)),
        ("waist", Line(220 + 360j, 120 + 360j)),
        ("dart", Line(120 + 360j, 100 + 200j)),
        ("dart", Line(100 + 200j, 80 + 360j)),
        ("waist", Line(80 + 360j, 0 + 360j)),
        ("centre front", Line(0 + 360j, 0 + 60j)),
    ]


def plain(**more: object) -> Block:
    return Block(seam_by_seam(square_front()), apex=100 + 200j, **more)  # type: ignore[arg-type]


def test_two_targets_share_the_angle() -> None:
    draft = move_dart(
        plain(),
        Settings(),
        [Target(place="side seam:0.4", share=0.6), Target(place="neckline:0.5")],
    )
    whole = 2 * math.atan(20 / 160)
    angles = [item.dart.opening.angle for item in draft.darts]
    assert angles == pytest.approx([0.6 * whole, 0.4 * whole], abs=1e-12)
    assert [item.dart.seam.name for item in draft.darts] == ["side seam", "neckline"]


def test_a_dart_marks_share_and_the_moves_share_multiply() -> None:
    block = plain(dart_marks=[DartMark(100 + 360j, 0.5)])
    draft = move_dart(block, Settings(share=0.5), [Target(place="side seam:0.4")])
    whole = 2 * math.atan(20 / 160)
    moved, left = (item.dart.opening for item in draft.darts)
    assert moved.angle == pytest.approx(whole / 4)
    assert left.angle == pytest.approx(3 * whole / 4)
    assert left.source
    assert left.share == pytest.approx(0.75)


def test_the_part_with_the_hold_mark_stays() -> None:
    outer = 210 + 300j
    for hold, at_rest in ((None, 0 + 60j), (outer, 220 + 360j)):
        draft = move_dart(plain(hold=hold), None, [Target(place="side seam:0.2")])
        ends = [z for edge in draft.piece.edges() for z in (edge.segment.start, edge.segment.end)]
        assert min(abs(z - at_rest) for z in ends) < 1e-12
        moved = 220 + 360j if hold is None else 0 + 60j
        assert min(abs(z - moved) for z in ends) > 1.0


def test_a_target_near_a_corner_goes_onto_it_and_says_so() -> None:
    draft = move_dart(plain(), None, [Target(at=219.2 + 358.6j)])
    ends = draft.darts[0].dart.ends
    corner = 220 + 360j
    reach = abs(corner - (100 + 200j))
    assert [abs(end - (100 + 200j)) for end in ends] == pytest.approx([reach, reach], abs=1e-9)
    assert any("corner" in note for note in draft.notes)


def test_uneven_mouth_ends_meet_at_the_mean_and_only_they_give_way() -> None:
    parts = square_front()
    apex, longer = 100 + 200j, 120 + 360j + 0.02 * (20 + 160j) / 1.6125
    parts[4] = ("waist", Line(220 + 360j, longer))
    parts[5] = ("dart", Line(longer, apex))
    draft = move_dart(Block(seam_by_seam(parts), apex=apex), None, [Target(place="waist")])
    mean = (abs(longer - apex) + abs(80 + 360j - apex)) / 2
    ends = draft.darts[0].dart.ends
    assert [abs(end - apex) for end in ends] == pytest.approx([mean, mean], abs=1e-9)
    assert any("differed" in text for text in draft.warnings)


def test_a_lowered_dart_is_measured_at_the_apex() -> None:
    parts = square_front()
    lowered = 100 + 225j
    parts[5] = ("dart", Line(120 + 360j, lowered))
    parts[6] = ("dart", Line(lowered, 80 + 360j))
    block = Block(seam_by_seam(parts), apex=100 + 200j)
    draft = move_dart(block, None, [Target(place="side seam:0.4")])
    assert draft.darts[0].dart.opening.angle == pytest.approx(2 * math.atan(20 / 160))


def test_of_two_darts_the_one_with_its_point_nearest_the_apex_is_closed() -> None:
    block = two_darts()
    draft = move_dart(block, None, [Target(place="side seam:0.4")])
    names = [item.dart.seam.name for item in draft.darts]
    assert names == ["side seam", "shoulder"]
    kept = draft.darts[1].dart
    assert kept.clearance == pytest.approx(30.0, abs=1e-6)
    chosen = move_dart(
        Block(block.outline, apex=block.apex, dart_marks=[DartMark(117 + 15j)]),
        None,
        [Target(place="side seam:0.4")],
    )
    assert [item.dart.seam.name for item in chosen.darts] == ["side seam", "waist"]


def two_darts() -> Block:
    """The plain front with a second dart on the shoulder, its point 30 mm above the apex."""
    apex = 100 + 200j
    middle = 120 + 20j
    reach = abs(middle - apex)
    first, second = (
        apex + cmath.rect(reach, cmath.phase(middle - apex) + side * 0.05) for side in (-1, 1)
    )
    point = apex + (middle - apex) / reach * 30
    parts = square_front()
    parts[1:2] = [
        ("shoulder", Line(60 + 0j, first)),
        ("dart", Line(first, point)),
        ("dart", Line(point, second)),
        ("shoulder", Line(second, 180 + 40j)),
    ]
    return Block(seam_by_seam(parts), apex=apex)


def test_allowances_leave_a_lowered_point_where_it_is() -> None:
    draft = add_allowances(two_darts())
    points = {item.dart.seam.name: item.dart.clearance for item in draft.darts}
    assert points["shoulder"] == pytest.approx(30.0, abs=1e-6)
    assert points["waist"] == pytest.approx(25.4)
    explicit = add_allowances(two_darts(), Settings(clearance=10.0))
    assert [item.dart.clearance for item in explicit.darts] == pytest.approx([10.0, 10.0])


def test_the_bend_is_what_the_legs_open_more_at_the_point() -> None:
    draft = move_dart(plain(), None, [Target(place="waist")])
    dart = draft.darts[0].dart
    # tan of the half angles: 20 mm aside on 160 mm, and on what the clearance leaves of it.
    depth = abs((120 + 360j) - (100 + 200j)) * math.cos(math.atan(20 / 160))
    at_point = 2 * math.atan(20 / (depth - 25.4))
    assert dart.bend == pytest.approx(at_point - 2 * math.atan(20 / 160), abs=1e-9)


@pytest.mark.parametrize(
    ("change", "target", "word"),
    [
        ({"apex": None}, "waist", "apex"),
        ({"apex": 400 + 200j}, "waist", "outside"),
        ({}, "cuff", "cuff"),
        ({}, "waist/armhole", "meet"),
        ({}, "side seam:1.5", "beyond"),
        ({"hold": 500 + 0j}, "side seam:0.4", "off the piece"),
    ],
)
def test_what_cannot_be_drafted_is_said_in_words(
    change: dict[str, object], target: str, word: str
) -> None:
    values: dict[str, object] = {"apex": 100 + 200j, **change}
    with pytest.raises(DraftingError, match=word) as caught:
        move_dart(
            Block(seam_by_seam(square_front()), **values),  # type: ignore[arg-type]
            None,
            [Target(place=target)],
        )
    assert caught.value.remedy


def test_inner_lines_and_notches_travel_with_their_part() -> None:
    pocket = InnerLine(((Line(180 + 300j, 200 + 300j),),))
    block = plain(inner_lines=[pocket], notches=[220 + 330j])
    draft = move_dart(block, None, [Target(place="side seam:0.2")])
    line = draft.inner_lines[0].paths[0][0]
    apex = 100 + 200j
    angle = cmath.phase((line.start - apex) / (180 + 300j - apex))
    assert abs(angle) == pytest.approx(2 * math.atan(20 / 160))
    assert abs(line.end - (apex + (200 + 300j - apex) * cmath.rect(1, angle))) < 1e-9
    notched = apex + (220 + 330j - apex) * cmath.rect(1, angle)
    distances = [
        Point(notch.start.real, notch.start.imag).distance(Point(notched.real, notched.imag))
        for notch in draft.seam_notches
    ]
    assert min(distances) == pytest.approx(12.7, abs=1e-6)
