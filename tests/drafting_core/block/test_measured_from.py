"""From which end a seam across the grain is measured where no seam is called a centre."""

from __future__ import annotations

import cmath
import math

import pytest

from drafting_core.block.block import Block
from drafting_core.block.places import Target
from drafting_core.block.seams import SeamMark
from drafting_core.finished.draft import move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import OutlineEdge
from drafting_core.model.seam_names import SeamLabel
from drafting_core.plane.curves import Line

#: A skirt's half with a waist dart, no side of it called a centre; and where its seams are marked.
CORNERS = (0j, 100 + 0j, 112 + 110j, 124 + 0j, 220 - 10j, 240 + 500j, 500j)
SIDE, HEM, WAIST = 230 + 245j, 120 + 500j, 50 + 0j


def half(names: dict[complex, str], *, mirrored: bool, turned: float) -> Block:
    """The half as drawn, or mirrored, or turned on the page by an angle in degrees."""

    def on_page(z: complex) -> complex:
        z = complex(-z.real, z.imag) if mirrored else z
        return z * cmath.rect(1.0, math.radians(turned))

    corners = [on_page(z) for z in CORNERS]
    lines = [Line(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)]
    marks = [SeamMark(on_page(z), SeamLabel(name)) for z, name in names.items()]
    outline = [OutlineEdge(line) for line in lines]
    held = on_page(20 + 300j)
    return Block(outline, apex=on_page(112 + 120j), seam_marks=marks, hold=held)


def to_mouth(draft: Draft, end: complex) -> float:
    """How far the dart's mouth lies from a corner of the piece, in mm."""
    (item,) = draft.darts
    return min(abs(z - end) for z in item.dart.ends)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("turned", [0.0, 7.0, -7.0])
def test_it_is_the_end_away_from_the_side_seam(mirrored: bool, turned: float) -> None:
    names = {SIDE: "side seam", HEM: "hem", WAIST: "waist"}
    block = half(names, mirrored=mirrored, turned=turned)
    draft = move_dart(block, None, [Target(place="hem:0.2")])
    away = block.outline[-1].segment.start
    assert to_mouth(draft, away) == pytest.approx(0.2 * 240, abs=1e-6)
    (said,) = (note for note in draft.notes if "runs across the grain" in note)
    assert "no seam of this piece is called a centre" in said


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("to", ["hem:0.5", "waist"])
def test_where_both_ends_say_the_same_nothing_is_said(mirrored: bool, to: str) -> None:
    names = {SIDE: "side seam", HEM: "hem", WAIST: "waist"}
    draft = move_dart(half(names, mirrored=mirrored, turned=0.0), None, [Target(place=to)])
    assert not any("runs across the grain" in note for note in draft.notes)


def test_with_a_centre_it_is_the_centre_end_and_needs_no_word() -> None:
    names = {SIDE: "side seam", HEM: "hem", WAIST: "waist", 250j: "centre back"}
    block = half(names, mirrored=False, turned=0.0)
    draft = move_dart(block, None, [Target(place="hem:0.2")])
    assert to_mouth(draft, 500j) == pytest.approx(0.2 * 240, abs=1e-6)
    assert not any("runs across the grain" in note for note in draft.notes)


@pytest.mark.parametrize("mirrored", [False, True])
def test_without_a_side_seam_it_is_the_same_end_however_the_piece_lies(mirrored: bool) -> None:
    names = {HEM: "hem", WAIST: "waist"}
    block = half(names, mirrored=mirrored, turned=0.0)
    draft = move_dart(block, None, [Target(place="hem:0.2")])
    near = block.outline[-1].segment.start
    assert to_mouth(draft, near) == pytest.approx(0.2 * 240, abs=1e-6)
    assert any("it was measured from its end at" in note for note in draft.notes)
