"""Openings that become no darts: gathers, ease, flare and tucks."""

from __future__ import annotations

import cmath
import itertools
import math
import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from drafting_core.block.block import Block, FullnessMark, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.block.seams import SeamMark
from drafting_core.finished.draft import add_allowances, move_dart
from drafting_core.finished.mated_seams import seams_with_mates
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.allowances import Allowances
from drafting_core.model.piece import DART, EASE, FLARE, GATHERS, TUCK
from drafting_core.model.seam_names import Seam, SeamLabel
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Cubic, Segment
from drafting_core.text.errors import DraftingError
from drafting_core.text.lengths import in_words
from extension.document.namespaces import ours
from extension.document.path_data import parse, path_data
from extension.drafting.move_and_allow import Outcome, Request, allow, move
from tests.drafting_core.move.test_move_cases import plain
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import blocks, core_block, drawn, segment
from tests.help.blocks.drawings import circle, marked_front, page, parts, root_of
from tests.help.blocks.fan_cases import a_place, angle_at, attempted, bent_slash, chain_length
from tests.help.depth import examples

FULL = Settings(clearance=0.0, ease_limit=500.0)


def made(
    source: random_blocks.Block,
    seed: int,
    kinds: list[str],
    bent: bool = False,
    chosen: Settings = FULL,
) -> Draft:
    rng = random.Random(seed)
    targets: list[Target] = []
    for kind in kinds:
        apart = tuple(target.at for target in targets if target.at is not None)
        place = a_place(source, rng, apart)
        slash = bent_slash(rng, place, source.apex) if bent else ()
        targets.append(Target(at=place, made=kind, slash=slash))
    return attempted(core_block(source), chosen, targets)


def turn_at(before: Segment, after: Segment) -> float:
    way_in = random_blocks.tangent(tuple(before), True)
    return cmath.phase(random_blocks.tangent(tuple(after), False) / way_in)


def path_of(draft: Draft) -> tuple[Segment, Segment, list[Segment]]:
    """Return what comes before the redrawn stretch in the stitch line, what comes after, and it."""
    (item,) = [item for item in draft.fullness if item.kind in (GATHERS, EASE)]
    path = list(item.paths[0])
    ring = list(draft.stitch_line)
    k = ring.index(path[0])
    assert [ring[(k + n) % len(ring)] for n in range(len(path))] == path
    return ring[k - 1], ring[(k + len(path)) % len(ring)], path


def walked(chain: list[Segment], to: complex) -> float:
    """Return how far along a chain the point nearest to a place lies, by many chords."""
    lengths, best = 0.0, (math.inf, 0.0)
    for part in chain:
        points = _fine(part)
        for a, b in itertools.pairwise(points):
            best = min(best, (abs(a - to), lengths))
            lengths += abs(b - a)
        best = min(best, (abs(points[-1] - to), lengths))
    return best[1]


def own_chain(draft: Draft, seam: Seam) -> list[Segment]:
    """Return a seam as one chain, wherever the outline's list of edges starts."""
    edges = list(draft.piece.edges())
    k = next(i for i, e in enumerate(edges) if e.seam is seam and edges[i - 1].seam is not seam)
    around = edges[k:] + edges[:k]
    return [e.segment for e in itertools.takewhile(lambda e: e.seam is seam, around)]


def swings(path: list[Segment]) -> int:
    """Return how often a chain changes the side to which it bends, by more than half a degree."""
    ways = [b - a for part in path for a, b in itertools.pairwise(_fine(part)[::40])]
    turns = [cmath.phase(b / a) for a, b in itertools.pairwise(ways)]
    found = [sum(group) for _, group in itertools.groupby(turns, lambda turn: turn > 0.0)]
    return len([swing for swing in found if abs(swing) > math.radians(0.5)]) - 1


@given(
    blocks(),
    st.integers(0, 10_000),
    st.sampled_from([GATHERS, EASE]),
    st.sampled_from([40.0, 100.0, 180.0, 2000.0]),
    st.booleans(),
    st.booleans(),
)
@settings(max_examples=examples(60))
def test_gathers_and_ease_are_spread_over_a_smooth_stretch_of_the_right_length(
    source: random_blocks.Block, seed: int, kind: str, over: float, two: bool, bent: bool
) -> None:
    chosen = FULL.but(gather_over=over)
    draft = made(source, seed, [kind, DART] if two else [kind], bent, chosen)
    (item,) = draft.fullness
    assert item.kind == kind
    before, after, path = path_of(draft)
    name = item.seam.name
    old = [segment(s.points) for s in source.segments if s.seam == name]
    sewn = chain_length(old, 400)
    # Another mouth, or a corner where a dart was closed, ends the stretch sooner.
    assert 10.0 - 1e-6 <= item.over <= min(over, sewn) + 1e-6
    is_whole = item.over == pytest.approx(min(over, sewn), abs=1e-6)
    assert item.over <= min(over, sewn) + 1e-6
    # Flat it is longer by the mouth that a dart would have there: by the chord of its angle.
    place = a_place(source, random.Random(seed))
    angle = source.angle / (2 if two else 1)
    mouth = 2 * abs(place - source.apex) * math.sin(angle / 2)
    assert chain_length(path, 400) == pytest.approx(item.over + mouth, abs=0.1)
    assert chain_length(path, 400) == pytest.approx(item.over + item.width, abs=1e-6)
    flat = chain_length([e.segment for e in draft.piece.edges() if e.seam.name == name], 400)
    assert flat - sewn == pytest.approx(item.width, abs=1e-6)
    # Half of it lies to each side of the place, unless the seam ends sooner.
    own = own_chain(draft, item.seam)
    lead = walked(own, path[0].start)
    is_one = len({s.run for s in source.segments if s.seam == name}) == 1
    if not two and is_whole and is_one and over < sewn / 2:
        wanted = max(0.0, min(walked(old, place) - item.over / 2, sewn - item.over))
        assert lead == pytest.approx(wanted, abs=0.5)
    # Smooth within, and where it leaves and joins its own seam.
    joints = list(itertools.pairwise(path))
    joints += [(before, path[0])] if before in own else []
    joints += [(path[-1], after)] if after in own else []
    assert all(abs(turn_at(*joint)) < math.radians(1.0) for joint in joints)
    assert swings(path) <= 4
    line = LineString([(z.real, z.imag) for part in path for z in _fine(part)[::20]])
    assert line.is_simple
    ring = Polygon([(z.real, z.imag) for part in draft.stitch_line for z in _fine(part)[:-1:20]])
    assert ring.is_valid
    # Two notches, at its ends.
    ends = [min(abs(notch.start - end) for notch in draft.notches) for end in item.ends]
    assert max(ends) < 2 * 12.7 + 1e-6 or item.seam.is_centre or name in ("hem", "wrist")
    assert len(draft.darts) == (1 if two else 0)


def _fine(part: Segment) -> list[complex]:
    return [random_blocks.at(tuple(part), k / 1000) for k in range(1001)]


@given(st.sampled_from(["side seam/waist", "armhole/side seam", "neckline/shoulder"]))
def test_at_a_corner_the_corner_stays_what_it_was(place: str) -> None:
    draft = move_dart(plain(), FULL, [Target(place=place, made=GATHERS)])
    (item,) = draft.fullness
    before, after, path = path_of(draft)
    turns = [turn_at(before, path[0]), turn_at(path[-1], after)]
    outline = [edge.segment for edge in plain().outline]
    names = [edge.label.name if edge.label else "" for edge in plain().outline]
    first, _, second = place.partition("/")
    k = next(i for i, n in enumerate(names) if (n, names[(i + 1) % len(names)]) == (first, second))
    corner = turn_at(outline[k], outline[(k + 1) % len(outline)])
    assert item.seam.name in (first, second)
    # Toward the other seam it turns as the drawn corner does.
    assert abs(corner) in [pytest.approx(abs(turn), abs=1e-9) for turn in turns]
    assert item.over == pytest.approx(100.0, abs=1e-6)
    assert chain_length(path, 400) == pytest.approx(item.over + item.width, abs=1e-6)


@pytest.mark.parametrize("at", [0.02, 0.2, 0.5, 0.8, 0.98])
@pytest.mark.parametrize("over", [60.0, 100.0, 1000.0])
def test_near_a_corner_the_stretch_is_shifted(at: float, over: float) -> None:
    chosen = FULL.but(gather_over=over)
    draft = move_dart(plain(), chosen, [Target(place=f"shoulder:{at}", made=GATHERS, share=0.3)])
    (item,) = draft.fullness
    _before, _after, path = path_of(draft)
    own = own_chain(draft, item.seam)
    sewn = chain_length(own, 400) - item.width
    lead = walked(own, path[0].start)
    rest = chain_length(own, 400) - walked(own, path[-1].end)
    assert item.over == pytest.approx(min(over, sewn), abs=1e-6)
    wanted = min(max(0.0, at * sewn - over / 2), sewn - item.over)
    assert min(abs(lead - wanted), abs(rest - wanted)) < 1e-3
    assert lead + rest == pytest.approx(sewn - item.over, abs=1e-3)


@given(st.floats(0.1, 0.9), st.floats(0.1, 0.6), st.floats(30.0, 300.0))
@settings(max_examples=examples(30))
def test_a_gathered_seam_is_as_long_as_its_mate(at: float, share: float, over: float) -> None:
    marks = [SeamMark(235 + 300j, SeamLabel("side seam", mate="A"))]
    chosen = FULL.but(gather_over=over)
    target = Target(place=f"side seam:{at}", made=GATHERS, share=share)
    draft = move_dart(plain(seam_marks=marks), chosen, [target])
    (item,) = draft.fullness
    (measured,) = seams_with_mates(
        draft.piece, "Front", 1j, [], notched_darts=False, fullness=draft.fullness
    )
    drawn_edges = [e for e in plain().outline if e.label and e.label.name == "side seam"]
    sewn = chain_length([e.segment for e in drawn_edges], 400)
    assert measured.length == pytest.approx(sewn, abs=1e-6)
    # The two notches are as far apart as it is sewn between them.
    first, second = measured.notches
    assert second - first == pytest.approx(item.over, abs=1e-6)
    assert item.over == pytest.approx(min(over, sewn), abs=1e-6)
    middle = min(max(at * measured.length, item.over / 2), measured.length - item.over / 2)
    assert min(abs((first + second) / 2 - z) for z in (middle, measured.length - middle)) < 1e-3


def test_into_a_seam_that_is_too_short_nothing_is_gathered() -> None:
    # Darts beside the place leave little of the shoulder, or too little.
    draft = move_dart(
        plain(), FULL, [Target(place="shoulder:0.5", made=GATHERS), Target(place="shoulder:0.45")]
    )
    (item,) = draft.fullness
    assert item.over < 100.0
    with pytest.raises(DraftingError, match="cannot be taken into the shoulder") as caught:
        move_dart(
            plain(),
            FULL,
            [
                Target(place="shoulder:0.5", made=GATHERS),
                Target(place="shoulder:0.47"),
                Target(place="shoulder:0.53"),
            ],
        )
    assert "is there to take it in" in str(caught.value)
    assert caught.value.place is not None


def test_ease_beyond_the_limit_is_refused_with_both_lengths() -> None:
    goal = [Target(place="armhole:0.6", made=EASE, share=0.3), Target(place="shoulder:0.5")]
    (item,) = move_dart(plain(), FULL, goal).fullness
    limit = Settings(clearance=0.0, ease_limit=item.intake)
    (same,) = move_dart(plain(), limit, goal).fullness
    assert same.width == item.width
    with pytest.raises(DraftingError, match="cannot be eased") as caught:
        move_dart(plain(), Settings(clearance=0.0, ease_limit=item.intake - 1e-6), goal)
    with pytest.raises(DraftingError, match="cannot be eased") as clear:
        move_dart(plain(), Settings(clearance=0.0, ease_limit=2.0), goal)
    assert in_words(item.intake) in str(clear.value)
    assert in_words(2.0) in str(clear.value)
    assert caught.value.place is not None


def test_a_flare_is_only_at_a_hem_or_wrist() -> None:
    skirt = drawn(3, "skirt")
    rng = random.Random(5)
    hem = random_blocks.random_place(skirt, rng, ("hem",))[2]
    draft = move_dart(core_block(skirt), FULL, [Target(at=hem, made=FLARE)])
    (item,) = draft.fullness
    assert (item.kind, item.seam.name) == (FLARE, "hem")
    assert angle_at(skirt.apex, item.ends) == pytest.approx(skirt.angle, abs=1e-9)
    assert not draft.notches  # a flare is not marked
    sleeve = drawn(4, "sleeve")
    wrist = random_blocks.random_place(sleeve, rng, ("wrist",))[2]
    (cuff,) = move_dart(core_block(sleeve), FULL, [Target(at=wrist, made=FLARE)]).fullness
    assert cuff.seam.name == "wrist"
    for place in ("waist:0.2", "side seam:0.5", "neckline:0.5"):
        with pytest.raises(DraftingError, match="at a hem or wrist") as caught:
            move_dart(plain(), FULL, [Target(place=place, made=FLARE)])
        assert caught.value.place is not None


@given(blocks(), st.integers(0, 10_000), st.booleans(), st.floats(5.0, 30.0))
@settings(max_examples=examples(30))
def test_a_tuck_is_stitched_along_its_legs_for_the_asked_length(
    source: random_blocks.Block, seed: int, bent: bool, length: float
) -> None:
    rng = random.Random(seed)
    place = a_place(source, rng)
    slash = bent_slash(rng, place, source.apex) if bent else ()
    chosen = Settings(clearance=0.0, made=TUCK, tuck_length=length)
    draft = attempted(core_block(source), chosen, [Target(at=place, slash=slash)])
    (item,), (drawn_dart,) = draft.fullness, draft.darts
    assert item.kind == TUCK
    dart = drawn_dart.dart
    assert dart.excess == "keep"
    for path, leg, end in zip(item.paths[:2], dart.legs, dart.ends, strict=True):
        assert path[0].start == end
        assert chain_length(path, 400) == pytest.approx(length, abs=1e-6)
        line = LineString([(z.real, z.imag) for part in leg for z in _fine(part)])
        for part in path:
            for z in _fine(part)[::100]:
                assert line.distance(Point(z.real, z.imag)) < 1e-3
    # The stitch line follows the cap and has no point at the apex.
    ring = list(draft.stitch_line)
    cap = [edge.segment for edge in dart.cap if edge.segment.length() > 0]
    k = ring.index(cap[0])
    assert [ring[(k + n) % len(ring)] for n in range(len(cap))] == cap
    nodes = [z for s in ring for z in (s.start, s.end)]
    assert min(abs(z - dart.point) for z in nodes) > 1.0
    assert item.width == pytest.approx(abs(dart.ends[0] - dart.ends[1]), abs=1e-9)


@given(blocks(), st.integers(0, 10_000))
@settings(max_examples=examples(60))
def test_the_seam_across_a_tuck_is_no_dart_when_it_is_read_again(
    source: random_blocks.Block, seed: int
) -> None:
    place = a_place(source, random.Random(seed))
    # Narrow allowances: this is about the seam.
    narrow = Allowances.parse("3mm, hem=3mm, neckline=3mm")
    chosen = Settings(made=TUCK, tuck_length=10.0, allowances=narrow)
    draft = attempted(core_block(source), chosen, [Target(at=place)])
    shape = Polygon([(z.real, z.imag) for s in draft.stitch_line for z in _fine(s)[:-1:50]])
    assert shape.buffer(0).area == pytest.approx(abs(shape.area), rel=1e-6)
    (item,) = draft.fullness
    parts_found = [(e.seam.name, e.segment) for e in draft.piece.runs[0]]
    parts_found += [(e.seam.name, e.segment) for e in draft.darts[0].dart.cap]
    standing = Block(
        seam_by_seam(parts_found),
        apex=draft.apexes[0],
        standing=True,
        fullness=[FullnessMark(TUCK, item.paths)],
    )
    again = add_allowances(standing, chosen)
    assert not again.darts
    assert [same.width for same in again.fullness] == pytest.approx([item.width], abs=1e-6)


def test_a_tuck_longer_than_its_legs_is_refused() -> None:
    legs = abs(100 + 200j - (220 + 300j))
    target = [Target(at=220 + 300j, made=TUCK)]
    for length, fits in ((legs - 0.01, True), (legs + 0.01, False)):
        chosen = Settings(clearance=0.0, tuck_length=length)
        if fits:
            assert move_dart(plain(), chosen, target).fullness[0].kind == TUCK
            continue
        with pytest.raises(DraftingError, match=r"only 156\.20 mm long"):
            move_dart(plain(), chosen, target)


def test_what_a_target_says_wins_over_the_setting() -> None:
    goals = [
        Target(place="side seam:0.5"),
        Target(place="shoulder:0.5", made=DART),
        Target(place="neckline:0.5", made=TUCK),
    ]
    draft = move_dart(plain(), Settings(clearance=0.0, made=GATHERS, tuck_length=20.0), goals)
    assert sorted(item.kind for item in draft.fullness) == [GATHERS, TUCK]
    assert [item.dart.opening.made for item in draft.darts] == [DART, TUCK]
    half = move_dart(plain(), Settings(clearance=0.0, made=GATHERS, share=0.5), goals[:1])
    # What stays at the source stays a dart.
    assert [item.dart.opening.made for item in half.darts] == [DART]


@pytest.mark.parametrize("kind", [GATHERS, EASE])
def test_a_fold_edge_that_is_gathered_or_eased_is_warned_of(kind: str) -> None:
    marks = [SeamMark(0 + 200j, SeamLabel("centre front", None, True))]
    chosen = Settings(clearance=0.0, ease_limit=500.0, made=kind)
    draft = move_dart(plain(seam_marks=marks), chosen, [Target(place="centre front:0.4")])
    assert sum("cannot lie on the fold" in text for text in draft.warnings) == 1
    elsewhere = move_dart(plain(seam_marks=marks), chosen, [Target(place="side seam:0.4")])
    assert not any("fold" in text for text in elsewhere.warnings)


def test_the_bend_at_a_tuck_is_said_of_a_tuck() -> None:
    def bends(kind: str) -> list[str]:
        chosen = Settings(clearance=50.0, made=kind, tuck_length=10.0)
        draft = move_dart(plain(), chosen, [Target(place="waist")])
        return [text for text in draft.warnings if "sewn seam bends" in text]

    (of_tuck,), (of_dart,) = bends(TUCK), bends(DART)
    assert "at the tuck on the waist" in of_tuck
    assert "dart" not in of_tuck
    assert "at the dart on the waist" in of_dart


# Through drawings: allowances again, also after the seam was reshaped by hand.

PLACE = circle("target as gathers", 236.5, 273)


def gathered(target: str = PLACE, given: dict[str, str] | None = None) -> tuple[Any, Outcome]:
    root = root_of(page(marked_front(target=target)))
    return root, move(root, Request(given=given or {"ease-limit": "80mm"}))


def notch_places(root: Any) -> list[complex]:
    found = []
    for element in parts(root, "notch"):
        line = parse(element.get("d"))[0].segments[0]
        found += [line.start]
    return sorted(found, key=lambda z: (round(z.real, 6), round(z.imag, 6)))


@pytest.mark.parametrize(("label", "kind"), [("gathers", GATHERS), ("ease", EASE), ("tuck", TUCK)])
def test_allowances_again_keep_what_was_made(label: str, kind: str) -> None:
    root, outcome = gathered(circle(f"target as {label}", 236.5, 273))
    (item,) = outcome.drafts[0].fullness
    before, cut = notch_places(root), parts(root, "cut-line")[0].get("d")
    assert len(before) == 2
    again = allow(root, Request())
    (same,) = again.drafts[0].fullness
    assert (same.kind, same.seam.name) == (kind, "side seam")
    assert same.width == pytest.approx(item.width, abs=1e-6)
    after = notch_places(root)
    assert len(after) == 2
    assert max(abs(a - b) for a, b in zip(before, after, strict=True)) < 1e-6
    old, new = (
        [z for s in parse(text)[0].segments for z in s]
        for text in (cut, parts(root, "cut-line")[0].get("d"))
    )
    assert max(abs(a - b) for a, b in zip(old, new, strict=True)) < 1e-6


def test_a_seam_reshaped_by_hand_keeps_its_gathers() -> None:
    root, outcome = gathered()
    (item,) = outcome.drafts[0].fullness
    bridge = next(part for part in item.paths[0] if isinstance(part, Cubic))
    stitch = parts(root, "stitch-line")[0]
    segments = parse(stitch.get("d"))[0].segments
    k = min(range(len(segments)), key=lambda i: abs(segments[i].start - bridge.start))
    fuller = bridge._replace(
        control1=bridge.control1 + 1.5 - 3j, control2=bridge.control2 + 1.5 + 3j
    )
    more = chain_length([fuller]) - chain_length([bridge])
    segments = [*segments[:k], fuller, *segments[k + 1 :]]
    stitch.set("d", path_data(segments, closed=True))
    again = allow(root, Request())
    (same,) = again.drafts[0].fullness
    assert same.kind == GATHERS
    assert same.over == pytest.approx(item.over, abs=1e-9)
    assert same.width == pytest.approx(item.width + more, abs=1e-6)
    assert more > 0.1
    flat = again.drafts[0].piece.seam_lengths()[same.seam]
    # What is sewn is the side seam as it was drawn.
    assert flat - same.width == pytest.approx(_sewn_side_seam(), abs=1e-6)
    starts = notch_places(root)
    assert len(starts) == 2
    for end in same.ends:
        assert min(abs(z - end) for z in starts) < 2 * 12.7
    texts = [element.get(ours("as")) for element in parts(root, GATHERS)]
    assert texts == [GATHERS]


def _sewn_side_seam() -> float:
    return abs((230 + 390j) - (240 + 210j))


def test_the_length_to_gather_over_is_kept_with_the_result() -> None:
    root, outcome = gathered(given={"gather-over": "60mm"})
    (item,) = outcome.drafts[0].fullness
    assert item.over == pytest.approx(60.0, abs=1e-9)
    again = allow(root, Request())
    assert again.drafts[0].settings.gather_over == 60.0
    (same,) = again.drafts[0].fullness
    assert (same.over, same.width) == pytest.approx((item.over, item.width), abs=1e-6)
    assert f"gather {in_words(item.over + item.width)} to 60 mm" in note_of(root)


def note_of(root: Any) -> str:
    text = " ".join(" ".join(note.itertext()) for note in parts(root, "note"))
    return " ".join(text.split())


def test_a_mirrored_result_keeps_its_gathers() -> None:
    root, outcome = gathered()
    (item,) = outcome.drafts[0].fullness
    root[-1].set("transform", "translate(300,0) scale(-1,1)")
    (same,) = allow(root, Request()).drafts[0].fullness
    assert same.width == pytest.approx(item.width, abs=1e-6)
    assert len(notch_places(root)) == 2


def test_gathers_at_a_corner_stay_on_their_seam() -> None:
    # Where side seam and waist meet, and where armhole and side seam meet.
    for x, y in ((230, 390), (240, 210)):
        root, outcome = gathered(circle("target as gathers", x, y))
        (item,) = outcome.drafts[0].fullness
        (same,) = allow(root, Request()).drafts[0].fullness
        assert same.seam.name == item.seam.name
        assert same.width == pytest.approx(item.width, abs=1e-6)


def test_a_result_with_gathers_is_moved_again() -> None:
    goals = "side seam:0.35=0.5 as gathers; shoulder:0.5=0.5"
    root = root_of(page(marked_front()))
    (first,) = move(root, Request(to=goals)).drafts
    layer = root[-1].get("id")
    (second,) = move(root, Request(to="neckline:0.5", selection=[layer])).drafts
    (item,), (same,) = first.fullness, second.fullness
    assert same.kind == GATHERS
    assert same.width == pytest.approx(item.width, abs=1e-6)
    whole = 2 * math.atan(15 / 140)
    assert angle_at(second.apexes[0], second.darts[0].dart.ends) == pytest.approx(
        whole / 2, abs=1e-9
    )


def test_a_cut_through_gathers_leaves_them_what_they_are() -> None:
    root = root_of(page(marked_front()))
    (first,) = move(root, Request(to="side seam:0.5=0.3 as gathers; shoulder:0.5=0.7")).drafts
    layer = root[-1].get("id")
    (second,) = move(root, Request(to="side seam:0.55", selection=[layer])).drafts
    (item,), (same,) = first.fullness, second.fullness
    assert (same.over, same.width) == pytest.approx((item.over, item.width), abs=1e-6)
    sewn = second.piece.seam_lengths()[same.seam] - same.width
    assert sewn == pytest.approx(_sewn_side_seam(), abs=1e-6)
    (third,) = allow(root, Request(selection=[root[-1].get("id")])).drafts
    assert third.fullness[0].width == pytest.approx(item.width, abs=1e-6)


def test_to_gather_over_next_to_nothing_is_refused() -> None:
    assert Settings(gather_over=10.0).gather_over == 10.0
    for length in (0.0, 9.99):
        with pytest.raises(DraftingError, match="length to gather over") as caught:
            Settings(gather_over=length)
        assert "10 mm or more" in str(caught.value)
