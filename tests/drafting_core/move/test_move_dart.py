"""What must hold of any dart that is moved, on random blocks."""

from __future__ import annotations

import cmath
import itertools
import math
import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.finished.draft import move_dart
from drafting_core.finished.folded_shut import NotFoldedError
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import flattened, nearest_on
from drafting_core.model.piece import Piece
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Line, Segment
from drafting_core.text.errors import BalanceError, DraftingError, OutlineError, PlaceError
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import blocks, core_block, drawn
from tests.help.blocks.refusals import is_rightful, no_case
from tests.help.depth import examples

CHOICES = st.builds(
    lambda **chosen: Settings(**chosen),
    share=st.sampled_from([1.0, 0.5, 0.3]),
    clearance=st.sampled_from([None, 0.0]),
    cloth=st.sampled_from(["woven", "fine", "sheer", "knit"]),
)


def moved_anywhere(source: random_blocks.Block, seed: int, choices: Settings) -> Draft:
    """A block's dart moved to a random place."""
    place = random_blocks.random_place(source, random.Random(seed))[2]
    try:
        return move_dart(core_block(source), choices, [Target(at=place)])
    except DraftingError as error:
        no_case(error)


@st.composite
def drafts(draw: st.DrawFn) -> tuple[random_blocks.Block, Draft]:
    source = draw(blocks())
    return source, moved_anywhere(source, draw(st.integers(0, 10_000)), draw(CHOICES))


def test_a_balance_that_is_broken_now_and_then_is_no_refusal(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    measured = itertools.count()
    true_area = Piece.net_area

    def wrong_every_third_time(piece: Piece) -> float:
        return true_area(piece) * (1.001 if next(measured) % 3 == 0 else 1.0)

    monkeypatch.setattr(Piece, "net_area", wrong_every_third_time)
    with pytest.raises(BalanceError):
        moved_anywhere(drawn(1), 1, Settings())


@pytest.mark.parametrize(
    "fault",
    [
        BalanceError("the result does not balance.", remedy="Please report it."),
        NotFoldedError("the result does not fold shut.", remedy="Please report it."),
        OutlineError("The seam allowances do not fit round this outline.", remedy="Narrow them."),
        OutlineError("The stitch line does not close.", remedy="Close it."),
    ],
    ids=lambda fault: fault.what,
)
def test_errors_of_the_program_are_no_refusals(
    fault: DraftingError, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(*_: object) -> None:
        raise fault

    monkeypatch.setattr("drafting_core.finished.pattern_piece.balance", failing)
    with pytest.raises(type(fault), match=re.escape(fault.what)):
        moved_anywhere(drawn(1), 1, Settings())


def test_a_place_out_of_sight_is_a_refusal() -> None:
    assert is_rightful(PlaceError("the slash line from it to the apex lies outside.", remedy="-"))
    assert not is_rightful(OutlineError("the slash line from it to the apex.", remedy="-"))


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
        # No segment shorter than 0.01 mm is kept: where the seam's node lies as near as that to
        # the middle of the dart, the cap's corner is that node.
        half = cmath.rect(1, cmath.phase(leg) - way * dart.point_angle / 2)
        nodes = [(segment.end - dart.point) / half for segment in seam]
        close = 0.01 if any(abs(z.imag) < 0.01 and z.real > 0 for z in nodes) else 1e-6
        for share in (0.1, 0.3, 0.45, 0.6, 0.8):
            phi = share * dart.point_angle
            mirrored = phi if share <= 0.5 else dart.point_angle - phi
            out = cmath.rect(1, cmath.phase(leg) + way * phi)
            back = cmath.rect(1, cmath.phase(leg) - way * mirrored)
            on_cap = radii(cap, dart.point, out)
            on_seam = radii(seam, dart.point, back)
            # The first half of the seam that the cap copies is the first met from the mouth.
            assert any(abs(r - on_seam[0]) < close for r in on_cap)


def radii(chain: list[Segment], origin: complex, ray: complex) -> list[float]:
    found = []
    for segment in chain:
        for t in segment.on_ray(origin, ray):
            away = segment.point(t) - origin
            if (away * ray.conjugate()).real > 0:
                found.append(abs(away))
    return found


@given(drafts())
@settings(max_examples=examples(40))
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
    except DraftingError as error:
        no_case(error)
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
