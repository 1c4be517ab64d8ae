"""Moves of a plain front whose numbers are seen at once: shares, marks, refusals, warnings."""

from __future__ import annotations

import cmath
import math

import pytest
from shapely.geometry import Point

from drafting_core.block.block import Block, DartMark, InnerLine, seam_by_seam
from drafting_core.block.find_darts import Wedge
from drafting_core.block.places import Target
from drafting_core.block.seams import SeamMark
from drafting_core.finished.draft import add_allowances, move_dart
from drafting_core.model.allowances import Allowances
from drafting_core.model.seam_names import SeamLabel
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.text.errors import DraftingError


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


def with_side_dart() -> Block:
    """The plain front with a second dart on the side seam, lowered 30 mm truly toward the apex."""
    apex = 100 + 200j
    reach = 125.0
    first, second = (apex + cmath.rect(reach, math.radians(20 + side * 4)) for side in (-1, 1))
    middle = (first + second) / 2
    point = apex + (middle - apex) / abs(middle - apex) * 30
    parts = square_front()
    parts[3:4] = [
        ("side seam", Line(220 + 180j, first)),
        ("dart", Line(first, point)),
        ("dart", Line(point, second)),
        ("side seam", Line(second, 220 + 360j)),
    ]
    return Block(seam_by_seam(parts), apex=apex, dart_marks=[DartMark(100 + 360j)])


def test_a_dart_that_stays_turns_with_its_part_and_keeps_its_legs_equal() -> None:
    draft = move_dart(with_side_dart(), None, [Target(place="shoulder:0.5")])
    moved, kept = (item.dart for item in draft.darts)
    assert moved.seam.name == "shoulder"
    assert kept.clearance == pytest.approx(30.0, abs=1e-9)
    legs = [abs(end - kept.point) for end in kept.ends]
    assert legs[0] == pytest.approx(legs[1], abs=1e-6)
    middle = (kept.ends[0] + kept.ends[1]) / 2
    apex = 100 + 200j
    assert abs(cmath.phase((kept.point - apex) / (middle - apex))) < 1e-9
    # Its part has turned: the mouth is no longer where it was drawn.
    assert abs(cmath.phase(middle - apex) - math.radians(20)) > 0.1


def test_a_seam_alone_means_the_moved_dart_where_it_is() -> None:
    draft = move_dart(with_side_dart(), None, [Target(place="waist")])
    dart = draft.darts[0].dart
    assert dart.seam.name == "waist"
    assert dart.ends == pytest.approx((120 + 360j, 80 + 360j))
    # The side seam's own dart is not the one that is moved: the place is the seam's middle.
    there = move_dart(with_side_dart(), None, [Target(place="side seam")]).darts[0].dart
    assert abs(there.ends[0] - draft.darts[1].dart.ends[0]) > 5


@pytest.mark.parametrize("longer", [3.2, 20.0])
def test_a_second_dart_with_unequal_legs_is_refused_with_both_lengths(longer: float) -> None:
    block = two_darts()
    parts = list(block.outline)
    end = parts[2].segment.start
    apex = 100 + 200j
    shifted = end + (end - apex) / abs(end - apex) * longer
    parts[1] = parts[1]._replace(segment=Line(parts[1].segment.start, shifted))
    parts[2] = parts[2]._replace(segment=Line(shifted, parts[2].segment.end))
    with pytest.raises(DraftingError, match=r"unequal: [\d.]+ mm and [\d.]+ mm"):
        move_dart(Block(parts, apex=apex), None, [Target(place="side seam:0.4")])


def test_a_dart_mark_far_from_every_dart_is_refused() -> None:
    with pytest.raises(DraftingError, match="from the nearest dart"):
        move_dart(plain(dart_marks=[DartMark(20 + 100j)]), None, [Target(place="waist")])


def test_a_dart_in_a_fold_edge_is_warned_of() -> None:
    marks = [SeamMark(0 + 200j, SeamLabel("centre front", None, True))]
    draft = move_dart(plain(seam_marks=marks), None, [Target(place="centre front:0.4")])
    assert any("cannot lie on the fold" in text for text in draft.warnings)
    elsewhere = move_dart(plain(seam_marks=marks), None, [Target(place="side seam:0.4")])
    assert not any("fold" in text for text in elsewhere.warnings)


def test_a_mark_far_from_its_seam_is_warned_of() -> None:
    marks = [SeamMark(60 + 100j, SeamLabel("neckline", 5.0))]
    draft = move_dart(plain(seam_marks=marks), None, [Target(place="side seam:0.4")])
    assert any("mm from the seam" in text for text in draft.warnings)


def test_the_grain_of_a_divided_centre_follows_the_part_that_stays() -> None:
    draft = move_dart(plain(), None, [Target(place="centre front:0.5")])
    along = draft.grain.end - draft.grain.start
    still = [e.segment for e in draft.piece.edges() if e.seam.name == "centre front"]
    held = next(s for s in still if abs(s.start - 360j) < 1e-9 or abs(s.end - 60j) < 1e-9)
    assert abs(cmath.phase((held.start - held.end) / along)) < 1e-9


def test_a_drawn_grainline_is_kept_and_turns_with_its_part() -> None:
    drawn = Line(200 + 340j, 200 + 220j)
    draft = move_dart(plain(grain=drawn), None, [Target(place="side seam:0.1")])
    angle = cmath.phase((draft.grain.end - draft.grain.start) / -1j)
    assert abs(draft.grain.end - draft.grain.start) == pytest.approx(120.0)
    assert abs(abs(angle) - math.pi) == pytest.approx(2 * math.atan(20 / 160), abs=1e-9)


def test_a_trim_allowance_of_3_mm_or_more_is_taken_and_less_is_refused() -> None:
    draft = move_dart(plain(), Settings(excess="trim", trim_allowance=3.0), [Target(place="waist")])
    item = draft.darts[0]
    assert item.window is not None
    # The window's vertex is 3 mm from both legs, which stand at half an angle to its middle line.
    away = 3.0 / math.sin(item.dart.point_angle / 2)
    assert abs(item.window[0].start - item.dart.point) == pytest.approx(away, abs=1e-9)
    for narrow in (0.0, 2.9):
        with pytest.raises(DraftingError, match=r"The trim allowance: .*too narrow.*3 mm or more"):
            Settings(trim_allowance=narrow)


def test_notches_of_both_legs_meet_where_a_leg_runs_out_elsewhere() -> None:
    settings_with_hem = Settings(
        excess="keep", allowances=Allowances.parse("1/2in, waist=3in"), clearance=0.0
    )
    draft = move_dart(plain(), settings_with_hem, [Target(place="waist:0.93")])
    (dart,) = (item.dart for item in draft.darts)
    reach = []
    for notch, end in zip(draft.notches, dart.ends, strict=True):
        # Each on its leg, extended; folded shut, one on the other.
        along = (end - dart.point) / abs(end - dart.point)
        out = (notch.start - dart.point) / along
        assert out.imag == pytest.approx(0.0, abs=1e-9)
        reach.append(out.real)
        assert abs(notch.start - end) > 12.7
    assert reach[0] == pytest.approx(reach[1], abs=1e-9)


def test_an_inward_corner_that_ends_at_the_apex_is_no_dart_to_it() -> None:
    apex = 100 + 200j
    wedge = Wedge(3, 4, 120 + 150j, (apex, 160 + 200j))
    assert not wedge.points_at(apex)
