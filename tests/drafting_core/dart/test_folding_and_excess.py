"""Which way a dart folds and whether its excess stays: the trade's rules, with their sources."""

from __future__ import annotations

import math

import pytest

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.block.seams import SeamMark
from drafting_core.dart.finish_words import fold_sentence
from drafting_core.dart.folding import CENTRE, COURSE, DOWN, SEAM, SET, SIDE
from drafting_core.finished.draft import move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.seam_names import SeamLabel
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.text.errors import DraftingError

APEX = 100 + 200j


def front(fold: bool = False, renamed: dict[str, str] | None = None) -> Block:
    """An invented front, its waist dart 60 mm wide."""
    parts: list[tuple[str, Segment]] = [
        ("neckline", Cubic(0 + 60j, 35 + 60j, 60 + 35j, 60 + 0j)),
        ("shoulder", Line(60 + 0j, 180 + 40j)),
        ("armhole", Cubic(180 + 40j, 165 + 110j, 175 + 180j, 220 + 180j)),
        ("side seam", Line(220 + 180j, 220 + 360j)),
        ("waist", Line(220 + 360j, 130 + 360j)),
        ("dart", Line(130 + 360j, APEX)),
        ("dart", Line(APEX, 70 + 360j)),
        ("waist", Line(70 + 360j, 0 + 360j)),
        ("centre front", Line(0 + 360j, 0 + 60j)),
    ]
    marks = [SeamMark(0 + 200j, SeamLabel("centre front", None, True))] if fold else []
    parts = [((renamed or {}).get(name, name), segment) for name, segment in parts]
    return Block(seam_by_seam(parts), apex=APEX, seam_marks=marks)


def moved(place: str, fold_edge: bool = False, **choices: object) -> Draft:
    return move_dart(
        front(fold_edge),
        Settings(**choices),  # type: ignore[arg-type]
        [Target(place=place)],
    )


@pytest.mark.parametrize(
    ("place", "way"),
    [
        # Oregon State University Extension, 4-H 92132, How to Construct Darts, 1994 (the same in
        # CITS Dress Making, Trade Practical, ex. 48, p. 185): upright darts toward the centre,
        # crosswise darts down.
        ("shoulder:0.5", "centre"),
        ("waist", "centre"),
        ("side seam:0.4", "down"),
        # Common practice: neck darts toward the centre front, armhole darts down.
        ("neckline:0.5", "centre"),
        ("neckline/centre front", "centre"),
        ("armhole:0.5", "down"),
        ("centre front:0.4", "down"),
    ],
)
def test_the_way_of_the_fold(place: str, way: str) -> None:
    dart = moved(place).darts[0].dart
    assert dart.fold.way == way
    folded, other = dart.ends[dart.fold.leg], dart.ends[1 - dart.fold.leg]
    if way == "down":
        assert folded.imag > other.imag
    elif "centre front" not in place:
        assert folded.real < other.real


@pytest.mark.parametrize("way", ["centre", "side", "down", "up"])
def test_a_forced_fold_is_obeyed(way: str) -> None:
    dart = moved("shoulder:0.5", fold=way).darts[0].dart
    assert dart.fold.way == way
    opposite = {"centre": "side", "side": "centre", "down": "up", "up": "down"}[way]
    assert moved("shoulder:0.5", fold=opposite).darts[0].dart.fold.leg == 1 - dart.fold.leg


@pytest.mark.parametrize(
    ("renamed", "place", "choices", "told"),
    [
        ({}, "waist", {}, (CENTRE, SEAM, False)),
        ({}, "side seam:0.4", {}, (DOWN, SEAM, False)),
        ({}, "waist", {"fold": "side"}, (SIDE, SET, False)),
        ({"centre front": "edge"}, "waist", {}, (CENTRE, SEAM, True)),
        ({"centre front": "edge"}, "waist", {"fold": "side"}, (SIDE, SET, True)),
        # Down needs no centre, so it is nothing to the fold that none is named.
        ({"centre front": "edge"}, "side seam:0.4", {}, (DOWN, SEAM, False)),
        ({"waist": "belt"}, "belt", {}, (CENTRE, COURSE, False)),
        ({"side seam": "flank"}, "flank:0.2", {}, (DOWN, COURSE, False)),
        ({"waist": "belt", "centre front": "edge"}, "belt", {}, (CENTRE, COURSE, True)),
    ],
)
def test_a_fold_knows_what_decided_it(
    renamed: dict[str, str], place: str, choices: dict[str, str], told: tuple[str, str, bool]
) -> None:
    settings = Settings(**choices)  # type: ignore[arg-type]
    draft = move_dart(front(renamed=renamed), settings, [Target(place=place)])
    fold = draft.darts[0].dart.fold
    assert (fold.way, fold.rule, fold.by_middle) == told
    assert fold.seam == place.partition(":")[0]
    # And its sentence says so.
    sentence = fold_sentence(fold)
    assert ("middle of the piece" in sentence) == fold.by_middle
    assert ("as set" in sentence) == (fold.rule == SET)
    assert ("no rule names" in sentence) == (fold.rule == COURSE)


TABLE = [
    # The contract's table (common practice of the trade): place, then woven, fine, sheer, knit.
    ("neckline/centre front", "trim", "trim", "trim", "trim"),
    ("neckline:0.5", "keep", "trim", "trim", "trim"),
    ("shoulder:0.5", "keep", "trim", "trim", "trim"),
    ("armhole:0.5", "keep", "trim", "trim", "trim"),
    ("side seam:0.4", "keep", "trim", "trim", "trim"),
    ("waist", "keep", "keep", "trim", "trim"),
]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row[0])
@pytest.mark.parametrize(
    ("column", "cloth"), list(enumerate(["woven", "fine", "sheer", "knit"], 1))
)
def test_keep_or_trim_by_place_and_cloth(row: tuple[str, ...], column: int, cloth: str) -> None:
    item = moved(row[0], cloth=cloth, wide=500.0).darts[0]
    assert item.dart.excess == row[column]
    assert item.dart.why.count(".") >= 1
    assert ("clean finish" in item.dart.why) == (item.dart.excess == "trim")
    assert (item.window is not None) == (item.dart.excess == "trim")


@pytest.mark.parametrize(
    ("place", "cloth", "excess"),
    [
        ("shoulder:0.5", "woven", "trim"),
        ("waist", "woven", "trim"),
        ("waist", "fine", "trim"),
        ("side seam:0.4", "woven", "keep"),
    ],
)
def test_a_wide_dart_is_trimmed_where_the_trade_does(place: str, cloth: str, excess: str) -> None:
    # CITS Dress Making, Trade Practical, p. 185: a deep intake is slashed, its edges neatened.
    dart = moved(place, cloth=cloth, wide=40.0).darts[0].dart
    assert dart.intake > 40
    assert dart.excess == excess
    if place == "waist":
        assert "may also be kept" in dart.why


def test_forcing_wins_over_the_table() -> None:
    assert moved("neckline/centre front", excess="keep").darts[0].dart.excess == "keep"
    assert moved("waist", excess="trim").darts[0].dart.excess == "trim"


def test_a_dart_too_narrow_to_trim_keeps_its_excess_and_says_so() -> None:
    narrow = moved("side seam:0.4", share=0.2, cloth="knit").darts[0]
    assert narrow.dart.excess == "keep"
    assert narrow.window is None
    assert "too narrow" in narrow.dart.why


def test_excess_that_would_end_on_the_fold_is_trimmed() -> None:
    # Near the centre the cap runs round the corner and copies the fold edge, which no seam catches.
    item = moved("waist", fold_edge=True, excess="auto").darts[0]
    assert item.dart.excess == "keep"
    kept = moved("neckline/centre front", fold_edge=True, excess="keep")
    assert any("fold of the cloth" in text for text in kept.warnings)
    auto = moved("neckline/centre front", fold_edge=True)
    assert auto.darts[0].dart.excess == "trim"


def test_the_window_starts_where_both_legs_are_a_trim_allowance_away() -> None:
    # ICAR eCourse, General rules for stitching a dart, 2011: slashed darts stop 1/2 to 1 in short
    # of the point; at 1/2 in from both legs the vertex is never nearer to it than that.
    item = moved("shoulder:0.5", cloth="knit").darts[0]
    assert item.window is not None
    vertex = item.window[0].start
    assert abs(vertex - item.dart.point) == pytest.approx(
        12.7 / math.sin(item.dart.point_angle / 2), abs=1e-9
    )
    assert abs(vertex - item.dart.point) > 12.7


def test_the_default_clearance_is_an_inch_on_a_front() -> None:
    # Threads no. 181, 2015: 1 in from the apex for a small bust, never past it.
    assert moved("waist").darts[0].dart.clearance == pytest.approx(25.4)


def test_more_than_120_degrees_cannot_be_folded() -> None:
    with pytest.raises(DraftingError, match="120"):
        moved("waist", clearance=155.0)


def test_the_cone_of_a_right_angle() -> None:
    # Cone development, any sheet-metal handbook: a cone of 90° at its point develops to 254.6°,
    # so the wedge that is taken out is 105.4°, that is 360·(1 - sin 45°).
    assert 360 * (1 - math.sin(math.radians(45))) == pytest.approx(105.44, abs=0.005)
    wedge = math.radians(105.44)
    apex, radius = 0j, 100.0
    start, end = (radius * complex(math.sin(s * wedge / 2), -math.cos(wedge / 2)) for s in (-1, 1))
    ring: list[tuple[str, Segment]] = [
        ("dart", Line(start, apex)),
        ("dart", Line(apex, end)),
        ("hem", Line(end, 120 + 100j)),
        ("hem", Line(120 + 100j, -120 + 100j)),
        ("hem", Line(-120 + 100j, start)),
    ]
    block = Block(seam_by_seam(ring), apex=apex)
    draft = move_dart(block, Settings(clearance=0.0), [Target(at=0 + 100j, share=0.5)])
    assert sum(item.dart.opening.angle for item in draft.darts) == pytest.approx(wedge, abs=1e-9)
