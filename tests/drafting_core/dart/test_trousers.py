"""Trousers: crotch seam and inseam, and a piece of which nobody can tell what it is."""

from __future__ import annotations

import pytest

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.dart.excess import KEEP, TRIM
from drafting_core.dart.folding import CENTRE, DOWN, SEAM
from drafting_core.finished.draft import add_allowances, move_dart
from drafting_core.model.piece_kinds import TROUSERS, piece_kind
from drafting_core.model.seam_names import seam_kind
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Cubic, Line, Segment
from extension.reading.piece_names import block_name

APEX = 60 + 100j


def trousers(
    way: int = 1, crotch: str = "crotch seam", inseam: str = "inseam", point: complex = APEX
) -> Block:
    """An invented trouser front, its crotch seam at the left, or at the right with ``way`` -1.

    The dart's mouth is 20 mm wide and lies between the crotch seam, at 0, and the middle of the
    piece, at 90: the mouth end toward the one is not that toward the other.
    """

    def z(x: float, y: float) -> complex:
        return complex(way * x, y)

    point = z(point.real, point.imag)
    ring: list[tuple[str, Segment]] = [
        ("waist", Line(z(0, 0), z(50, 0))),
        ("dart", Line(z(50, 0), point)),
        ("dart", Line(point, z(70, 0))),
        ("waist", Line(z(70, 0), z(200, 0))),
        ("side seam", Line(z(200, 0), z(210, 900))),
        ("hem", Line(z(210, 900), z(60, 900))),
        (inseam, Line(z(60, 900), z(-30, 260))),
        (crotch, Cubic(z(-30, 260), z(-10, 250), z(0, 200), z(0, 0))),
    ]
    return Block(seam_by_seam(ring), apex=z(APEX.real, APEX.imag))


@pytest.mark.parametrize("way", [1, -1])
@pytest.mark.parametrize("crotch", ["crotch seam", "Rise", "Seat seam", "CROTCH-SEAM"])
def test_a_waist_dart_is_folded_toward_the_crotch_seam(way: int, crotch: str) -> None:
    draft = add_allowances(trousers(way, crotch))
    (item,) = draft.darts
    fold = item.dart.fold
    assert (fold.way, fold.rule, fold.by_middle) == (CENTRE, SEAM, False)
    assert item.dart.ends[fold.leg] == complex(way * 50, 0)
    # The drafter's own spelling stays.
    assert crotch in [seam.name for seam in draft.piece.seams()]


def test_the_names_are_known_in_every_spelling() -> None:
    for spelling in ("crotch seam", "Crotch", "rise", "seat seam", "crotch_seam", "Schrittnaht"):
        assert seam_kind(spelling) == "crotch seam"
    for spelling in ("inseam", "Inseam", "entrepierna"):
        assert seam_kind(spelling) == "inseam"


@pytest.mark.parametrize("way", [1, -1])
def test_a_dart_on_inseam_or_crotch_seam_is_folded_down(way: int) -> None:
    for place, seam in (("inseam:0.1", "inseam"), ("crotch seam:0.5", "crotch seam")):
        (item,) = move_dart(trousers(way), None, [Target(place=place)]).darts
        fold = item.dart.fold
        assert (item.dart.seam.kind, fold.way, fold.rule) == (seam, DOWN, SEAM)
        assert item.dart.ends[fold.leg].imag == max(end.imag for end in item.dart.ends)


def test_the_inseam_counts_with_the_side_seam_for_the_excess() -> None:
    for cloth, wanted in (("woven", KEEP), ("fine", TRIM), ("knit", TRIM)):
        both = [
            move_dart(trousers(), Settings(cloth=cloth, trim_allowance=3.0), [Target(place=place)])
            .darts[0]
            .dart
            for place in ("side seam:0.1", "inseam:0.1")
        ]
        assert [dart.excess for dart in both] == [wanted, wanted]
        assert both[0].verdict.ground == both[1].verdict.ground


def test_the_crotch_seam_is_no_centre_for_the_part_that_stays() -> None:
    # From the apex to the side seam: the larger part, with the crotch seam or not, stays.
    draft = move_dart(trousers(), None, [Target(place="crotch seam:0.2")])
    (crotch_end,) = (e.segment.end for e in draft.piece.edges() if e.seam.kind == "hem")
    assert crotch_end == 60 + 900j
    waist = [e.segment for e in draft.piece.edges() if e.seam.kind == "waist"]
    # The small part with the upper crotch seam has turned to close the dart.
    assert min(abs(s.start - 0j) for s in waist) > 5.0


def test_seams_across_the_grain_are_measured_from_the_crotch_seam() -> None:
    for way in (1, -1):
        (item,) = move_dart(trousers(way), None, [Target(place="waist:0.9")]).darts
        # The waist is 180 long, the dart closed; from the crotch seam 0.9 is near the side seam.
        assert way * sum(end.real for end in item.dart.ends) / 2 > 150


def test_trousers_have_their_point_at_the_apex_and_their_name() -> None:
    draft = move_dart(trousers(), None, [Target(place="side seam:0.1")])
    assert piece_kind(draft.piece) == TROUSERS
    assert block_name(draft) == "Trousers"
    assert draft.darts[0].dart.clearance == pytest.approx(0.0, abs=1e-9)


def unknown(point: complex = APEX) -> Block:
    """The same piece, its seams called by names that no rule knows."""
    block = trousers(1, "one", "two", point)
    names = {"waist": "top", "hem": "bottom"}
    return block._replace(
        outline=[
            edge
            if edge.label is None
            else edge._replace(
                label=edge.label._replace(name=names.get(edge.label.name, edge.label.name))
            )
            for edge in block.outline
        ]
    )


def test_a_piece_of_unknown_kind_says_why_its_point_is_an_inch_short() -> None:
    for draft in (
        add_allowances(unknown()),
        move_dart(unknown(), None, [Target(place="bottom:0.5")]),
    ):
        (item,) = draft.darts
        assert item.dart.clearance == pytest.approx(25.4)
        (told,) = (note for note in draft.notes if "what kind of piece" in note)
        assert "25.4 mm short of the apex" in told


def test_no_word_where_the_clearance_is_set_or_drawn_or_the_kind_is_known() -> None:
    drawn_short = unknown(APEX - 25.4j)
    for draft in (
        add_allowances(unknown(), Settings(clearance=25.4)),
        add_allowances(drawn_short),
        add_allowances(trousers()),
    ):
        assert not [note for note in draft.notes if "what kind of piece" in note]
