"""Targets by share and by width, in words and as labels; figures from outside the project."""

from __future__ import annotations

import cmath
import itertools
import math
import random
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from drafting_core.block.block import Block, DartMark, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.block.target_words import Conditions, conditions, targets_in_words
from drafting_core.finished.draft import move_dart
from drafting_core.model.piece import MADE_AS
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.text.errors import DraftingError
from drafting_core.text.lengths import INCH
from extension.commands.command_line import main
from extension.document.roles import TARGET, parse_label
from tests.drafting_core.move.test_move_cases import plain, square_front
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import blocks, core_block
from tests.help.blocks.drawings import circle, marked_front, page
from tests.help.blocks.fan_cases import EXACT, a_place, angle_at, attempted
from tests.help.depth import examples

WAIST = 2 * math.atan(20 / 160)

# By width.


@given(blocks(), st.integers(0, 10_000), st.floats(0.05, 0.98), st.booleans())
@settings(max_examples=examples(40))
def test_the_mouth_has_the_asked_width(
    source: random_blocks.Block, seed: int, part: float, two: bool
) -> None:
    rng = random.Random(seed)
    first = a_place(source, rng)
    second = a_place(source, rng, (first,))
    angle = source.angle * part * (0.5 if two else 1.0)
    goals = [
        Target(at=place, intake=2 * abs(place - source.apex) * math.sin(angle / 2))
        for place in ((first, second) if two else (first,))
    ]
    draft = attempted(core_block(source), EXACT, goals)
    by_number = {item.dart.opening.target: item.dart for item in draft.darts}
    for number, goal in enumerate(goals):
        ends = by_number[number].ends
        assert abs(ends[0] - ends[1]) == pytest.approx(goal.intake, abs=1e-6)
        assert angle_at(source.apex, ends) == pytest.approx(angle, abs=1e-8)
    # What no target took is still where it was.
    left = angle_at(source.apex, by_number[None].ends)
    assert left == pytest.approx(source.angle - angle * len(goals), abs=1e-8)


def test_a_width_is_taken_first_and_the_others_share_the_rest() -> None:
    goals = [
        Target(place="side seam:0.4", intake=12.0),
        Target(place="neckline:0.5"),
        Target(place="shoulder:0.5"),
    ]
    draft = move_dart(plain(), EXACT, goals)
    first, *others = (item.dart for item in draft.darts)
    assert abs(first.ends[0] - first.ends[1]) == pytest.approx(12.0, abs=1e-6)
    taken = angle_at(100 + 200j, first.ends)
    for dart in others:
        assert angle_at(100 + 200j, dart.ends) == pytest.approx((WAIST - taken) / 2, abs=1e-12)


def test_a_width_of_the_settings_is_that_of_targets_that_say_nothing() -> None:
    goals = [Target(place="side seam:0.4"), Target(place="neckline:0.5", share=0.25)]
    draft = move_dart(plain(), Settings(clearance=0.0, intake=15.0), goals)
    first, second, left = (item.dart for item in draft.darts)
    assert abs(first.ends[0] - first.ends[1]) == pytest.approx(15.0, abs=1e-6)
    assert angle_at(100 + 200j, second.ends) == pytest.approx(WAIST / 4, abs=1e-12)
    assert left.opening.source


@pytest.mark.parametrize(
    ("goals", "words"),
    [
        ([Target(place="side seam:0.4", intake=90.0)], "width of 90"),
        ([Target(place="side seam:0.4", intake=9000.0)], "width of 9000"),
        (
            [Target(place="side seam:0.4", intake=20.0), Target(place="neckline:0.5", intake=20.0)],
            "ask for more than the dart has",
        ),
        (
            [Target(place="side seam:0.4", intake=20.0), Target(place="neckline:0.5", share=0.5)],
            "ask for more than the dart has",
        ),
        (
            [Target(place="side seam:0.4", share=0.7), Target(place="neckline:0.5", share=0.4)],
            "sum to 1.1",
        ),
        (
            [Target(place="side seam:0.4", share=1.0), Target(place="neckline:0.5")],
            "nothing is left",
        ),
        ([Target(place="side seam:0.4", share=-0.1)], "sum to -0.1"),
        (
            [Target(place="side seam:0.4"), Target(place="side seam:0.405")],
            "less than 2 mm is one place",
        ),
        ([Target(place="waist"), Target(place="waist")], "two targets lie at one place"),
        ([Target(place="side seam:0.4", source="hem")], 'no seam is called "hem"'),
        ([Target(place="side seam:0.4", source="shoulder")], "no dart on the shoulder"),
    ],
)
def test_more_than_there_is_is_refused(goals: list[Target], words: str) -> None:
    with pytest.raises(DraftingError, match=words) as caught:
        move_dart(plain(), EXACT, goals)
    assert caught.value.remedy


def test_a_target_on_an_apex_that_lies_on_the_outline_is_refused() -> None:
    apex = 0 + 200j
    first = 120 + 360j
    second = apex + (first - apex) * cmath.rect(1.0, 0.2)
    parts = square_front()
    parts[5:8] = [
        ("dart", Line(first, apex)),
        ("dart", Line(apex, second)),
        ("waist", Line(second, 0 + 360j)),
    ]
    block = Block(seam_by_seam(parts), apex=apex)
    for intake in (None, 10.0):
        with pytest.raises(DraftingError, match="it lies on the apex"):
            move_dart(block, EXACT, [Target(at=apex, intake=intake)])


@pytest.mark.parametrize("goal", [Target(share=0.0), Target(intake=0.0)])
def test_a_move_of_nothing_is_refused(goal: Target) -> None:
    goal = goal._replace(place="side seam:0.4")
    with pytest.raises(DraftingError, match="nothing of the dart"):
        move_dart(plain(), EXACT, [goal])
    # Beside another target it only takes nothing.
    (item,) = move_dart(plain(), EXACT, [goal, Target(place="shoulder:0.5")]).darts
    assert item.dart.seam.name == "shoulder"


def test_the_most_that_a_dart_gives_is_named_and_can_be_asked_for() -> None:
    # On the side seam's lower corner, at 200 mm: a 3-4-5 triangle.
    most = 2 * 200.0 * math.sin(WAIST / 2)
    with pytest.raises(DraftingError, match=f"{most:.2f} mm"):
        move_dart(plain(), EXACT, [Target(place="side seam:1", intake=most + 0.01)])
    (item,) = move_dart(plain(), EXACT, [Target(place="side seam:1", intake=most)]).darts
    assert abs(item.dart.ends[0] - item.dart.ends[1]) == pytest.approx(most, abs=1e-6)


def test_a_width_where_part_of_the_dart_stays_counts_what_stands_there() -> None:
    marks = [DartMark(100 + 360j, 0.5)]
    goals = [Target(place="waist", intake=30.0), Target(place="side seam:0.4")]
    draft = move_dart(plain(dart_marks=marks), EXACT, goals)
    first, second = (item.dart for item in draft.darts)
    assert abs(first.ends[0] - first.ends[1]) == pytest.approx(30.0, abs=1e-6)
    total = sum(angle_at(100 + 200j, dart.ends) for dart in (first, second))
    assert total == pytest.approx(WAIST, abs=1e-12)
    with pytest.raises(DraftingError, match="less than the dart that stays"):
        move_dart(plain(dart_marks=marks), EXACT, [goals[0]._replace(intake=10.0), goals[1]])


# In words.

AMOUNTS = st.one_of(
    st.just(("", None, None)),
    st.integers(1, 99).map(lambda n: (f"0.{n:02d}", n / 100, None)),
    st.integers(1, 99).map(lambda n: (f",{n:02d}", n / 100, None)),
    st.sampled_from(
        [
            ("20mm", None, 20.0),
            ("2.5 cm", None, 25.0),
            ("1/2in", None, 12.7),
            ("1 1/4in", None, 31.75),
            ("1 1/4 in", None, 31.75),
            ('1/2"', None, 12.7),
            ("1.0", 1.0, None),
        ]
    ),
)
SOURCES = st.sampled_from(
    ["", "shoulder", "waist and shoulder", "waist:0.3", "centre front", "waist:0,3 + shoulder"]
)
SPELLINGS: list[Callable[[str], str]] = [str.lower, str.upper, str.title]
CASES = st.sampled_from(SPELLINGS)


@st.composite
def carried(draw: st.DrawFn) -> tuple[str, Conditions]:
    amount, share, intake = draw(AMOUNTS)
    made, source = draw(st.sampled_from(["", *MADE_AS])), draw(SOURCES)
    spelt = draw(CASES)
    words = [amount]
    words += [f"{spelt('as')} {spelt(made)}"] if made else []
    words += [f"{spelt('from')} {source}"] if source else []
    text = " ".join(word for word in words if word)
    return text, Conditions(share, intake, made, source)


@given(carried())
@settings(max_examples=examples(150))
def test_what_a_target_carries_is_read_in_every_form(case: tuple[str, Conditions]) -> None:
    text, meant = case
    read = conditions(text)
    assert (read.share, read.made, read.source) == (meant.share, meant.made, meant.source)
    assert read.intake == (None if meant.intake is None else pytest.approx(meant.intake))
    role = parse_label(f"target {text}".strip())
    assert role is not None
    assert role.word == TARGET
    assert Conditions(role.share, role.intake, role.made, role.source) == read


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["side seam:0.35", "neckline/centre front", "waist", "hem : ,5"]),
            carried(),
        ),
        min_size=1,
        max_size=4,
    )
)
@settings(max_examples=examples(100))
def test_lists_of_targets_are_read_in_order(
    parts: list[tuple[str, tuple[str, Conditions]]],
) -> None:
    texts = []
    for place, (text, meant) in parts:
        has_amount = meant.share is not None or meant.intake is not None
        texts.append(f"{place}={text}" if has_amount else f"{place} {text}")
    read = targets_in_words(" ; ".join(texts) + ";")
    assert len(read) == len(parts)
    for target, (place, (text, _)) in zip(read, parts, strict=True):
        assert target.place == place
        found = Conditions(target.share, target.intake, target.made, target.source)
        assert found == conditions(text)


def test_a_bare_number_is_a_width_only_where_the_unit_is_known() -> None:
    assert conditions("20", "mm") == Conditions(intake=20.0)
    assert conditions("2", "in") == Conditions(intake=50.8)
    with pytest.raises(DraftingError, match="neither a share nor a width"):
        conditions("20")


WRONG = [
    ("side seam:0.35=most", "most"),
    ("side seam:0.35=20", "neither a share nor a width"),
    ("side seam:0.35=1.5", "neither a share nor a width"),
    ("side seam:0.35=0.5 as ruffle", "as ruffle"),
    ("=0.5", "names no place"),
    ("side seam:0.35=-20mm", "-20"),
]


@pytest.mark.parametrize(("text", "words"), WRONG)
def test_wrong_words_are_said(text: str, words: str) -> None:
    with pytest.raises(DraftingError, match=words) as caught:
        targets_in_words(text)
    assert caught.value.remedy


@pytest.mark.parametrize(("text", "words"), WRONG)
def test_wrong_words_on_the_command_line_end_with_2(
    text: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source, result = tmp_path / "in.svg", tmp_path / "out.svg"
    source.write_text(page(marked_front()), encoding="utf-8")
    assert main(["move", str(source), "-o", str(result), "--to", text]) == 2
    assert words in capsys.readouterr().err
    assert not result.exists()


def test_a_place_that_the_block_does_not_have_ends_with_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source, result = tmp_path / "in.svg", tmp_path / "out.svg"
    source.write_text(page(marked_front()), encoding="utf-8")
    assert main(["move", str(source), "-o", str(result), "--to", "cuff:0.5"]) == 1
    assert "cuff" in capsys.readouterr().err
    bad = page(marked_front(target=circle("target 0.5 as ruffle", 236.5, 273)))
    source.write_text(bad, encoding="utf-8")
    assert main(["move", str(source), "-o", str(result)]) == 1
    assert "as ruffle" in capsys.readouterr().err
    assert not result.exists()


# Figures from outside.


def test_the_waist_cluster() -> None:
    # CITS Dress Making, Trade Theory, 2024, p. 184: slash lines 1 in from the legs, the centre
    # point 1 1/2 in below the bust point, all legs made equal.
    goals = [
        Target(place="waist"),
        Target(at=complex(120 + INCH, 360)),
        Target(at=complex(80 - INCH, 360)),
    ]
    draft = move_dart(plain(), Settings(clearance=1.5 * INCH), goals)
    darts = [item.dart for item in draft.darts]
    apex = 100 + 200j
    for dart in darts:
        assert dart.seam.name == "waist"
        assert abs(dart.point - apex) == pytest.approx(38.1, abs=1e-9)
        legs = [abs(end - dart.point) for end in dart.ends]
        assert legs[0] == pytest.approx(legs[1], abs=1e-9)
        assert angle_at(apex, dart.ends) == pytest.approx(WAIST / 3, abs=1e-12)
    # The centre point lies toward the waist, between the other two.
    turns = [cmath.phase((dart.point - apex) / (darts[0].point - apex)) for dart in darts]
    assert turns[1] * turns[2] < 0
    assert darts[0].point.imag > apex.imag + 35
    total = math.fsum(angle_at(apex, dart.ends) for dart in darts)
    assert total == pytest.approx(WAIST, abs=1e-12)


def test_two_small_darts_for_one_deep_one() -> None:
    # CITS Dress Making, Trade Practical, p. 185: a deep intake is slashed and pressed open; two
    # small darts rather than one large.
    deep = disc(200.0, math.radians(24))
    goals = [Target(at=cmath.rect(200.0, a)) for a in (2.0, 2.6)]
    one = move_dart(deep, EXACT, goals[:1])
    two = move_dart(deep, EXACT, goals)
    (large,), small = ([item.dart for item in draft.darts] for draft in (one, two))
    assert large.excess == "trim"
    assert [dart.excess for dart in small] == ["keep", "keep"]
    for dart in small:
        assert angle_at(0j, dart.ends) == pytest.approx(math.radians(12), abs=1e-9)
        assert abs(dart.ends[0] - dart.ends[1]) < 75.0 < abs(large.ends[0] - large.ends[1])


def disc(radius: float, wedge: float) -> Block:
    """A disc about 0 of four cubics, with a wedge of an angle in radians cut out about angle 0."""
    edges: list[tuple[str, Segment]] = []
    sweep = (2 * math.pi - wedge) / 4
    handle = 4 / 3 * math.tan(sweep / 4) * radius * 1j
    for k in range(4):
        a, b = (cmath.rect(1.0, wedge / 2 + sweep * n) for n in (k, k + 1))
        edges.append(
            ("hem", Cubic(a * radius, a * (radius + handle), b * (radius - handle), b * radius))
        )
    edges += [("dart", Line(edges[-1][1].end, 0j)), ("dart", Line(0j, edges[0][1].start))]
    return Block(seam_by_seam(edges), apex=0j)


CONE = 2 * math.pi * (1 - math.sin(math.radians(45)))


@given(st.lists(st.floats(0.95, 5.3), min_size=1, max_size=3))
@settings(max_examples=examples(25))
def test_a_cone_keeps_its_wedge_wherever_it_is_cut(places: list[float]) -> None:
    # Any sheet-metal handbook: a cone of 90 degrees at its point develops to 360 sin 45 degrees,
    # which is 254.6, so the removed wedge is 105.4.
    assert math.degrees(CONE) == pytest.approx(105.4, abs=0.05)
    places.sort()
    assume(all(b - a > 0.02 for a, b in itertools.pairwise(places)))
    goals = [Target(at=cmath.rect(150.0, place)) for place in places]
    draft = move_dart(disc(150.0, CONE), EXACT, goals)
    wedge = math.fsum(angle_at(0j, item.dart.ends) for item in draft.darts)
    assert math.degrees(wedge) == pytest.approx(105.4, abs=0.05)
    assert wedge == pytest.approx(CONE, abs=1e-12)
    developed = 0.0
    for edge in draft.piece.edges():
        for k in range(8):
            a, b = (random_blocks.at(tuple(edge.segment), n / 8) for n in (k, k + 1))
            developed += cmath.phase(b / a)
    assert math.degrees(developed) == pytest.approx(254.6, abs=0.05)


@pytest.mark.parametrize(
    ("degrees", "radius", "chord"),
    [(30, 17, 8.800), (30, 26, 13.459), (40, 12, 8.208), (40, 25, 17.101), (20, 16, 5.557)],
)
def test_intakes_at_distances(degrees: int, radius: int, chord: float) -> None:
    # The chord 2 r sin(theta / 2), computed; here in cm.
    block = disc(radius * 10.0, math.radians(degrees))
    (item,) = move_dart(block, EXACT, [Target(at=complex(-radius * 10.0, 3.0))]).darts
    assert abs(item.dart.ends[0] - item.dart.ends[1]) / 10 == pytest.approx(chord, abs=1.2e-2)
    # Exact at the place itself, whose distance a cubic keeps within 3 in 10 000 of the circle.
    reach = abs(item.dart.ends[0])
    assert abs(item.dart.ends[0] - item.dart.ends[1]) == pytest.approx(
        chord * reach / radius, abs=reach * 1e-4
    )
    asked = Target(at=complex(-radius * 10.0, 3.0), intake=chord * 10.0 * 0.5)
    half = move_dart(block, EXACT, [asked]).darts[0].dart
    assert abs(half.ends[0] - half.ends[1]) == pytest.approx(chord * 5.0, abs=1e-6)
