"""A reshaped outline laid along what it was: every node that is left is found again."""

from __future__ import annotations

import cmath
import itertools
import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting_core.block.remembered import KnownDart, KnownSeam, Remembered, followed
from drafting_core.block.reshaped import Reshaped
from drafting_core.model.outline import OutlineEdge
from drafting_core.model.seam_names import SeamLabel
from drafting_core.plane.curves import Line, Segment, backward
from tests.help.depth import examples

FRONT = [0j, 70 - 76j, 190 - 40j, 175 + 60j, 238 + 130j, 230 + 240j, 110 + 200j, 215 + 280j,
         175 + 335j, 90 + 322j, 0 + 324j]
"""A front with a dart in its side seam: mouth ends 5 and 7, point 6."""


def ring(nodes: list[complex]) -> list[Segment]:
    return [Line(a, b) for a, b in zip(nodes, [*nodes[1:], nodes[0]], strict=True)]


def edges(nodes: list[complex]) -> list[OutlineEdge]:
    return [OutlineEdge(segment) for segment in ring(nodes)]


@settings(max_examples=examples(60), deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 10), st.floats(0.0, 12.0))
def test_nodes_that_were_moved_are_found_in_order(seed: int, shift: int, far: float) -> None:
    rng = random.Random(seed)
    moved = [z + cmath.rect(far * rng.random(), math.tau * rng.random()) for z in FRONT]
    turned = [*moved[shift:], *moved[:shift]]
    reshaped = Reshaped(ring(FRONT), ring(turned))
    for was, now in zip(FRONT, moved, strict=True):
        assert reshaped.place_of(was) == now


@settings(max_examples=examples(60), deadline=None)
@given(st.integers(0, 10_000), st.floats(5.0, 300.0))
def test_a_piece_that_was_lengthened_keeps_its_corners(seed: int, by: float) -> None:
    rng = random.Random(seed)
    moved = [z + by * 1j if z.imag > 300 else z for z in FRONT]
    # A node more in one of the seams that stayed as they were.
    at = rng.choice((1, 2, 3))
    extra = 0.5 * (moved[at] + moved[at + 1]) + 3j * rng.random()
    reshaped = Reshaped(ring(FRONT), ring([*moved[: at + 1], extra, *moved[at + 1 :]]))
    for was, now in zip(FRONT, moved, strict=True):
        assert reshaped.place_of(was) == now


@pytest.mark.parametrize("gone", range(len(FRONT)))
def test_a_node_that_was_deleted_leaves_the_others_theirs(gone: int) -> None:
    left = [z for k, z in enumerate(FRONT) if k != gone]
    reshaped = Reshaped(ring(FRONT), ring(left))
    for z in left:
        assert reshaped.place_of(z) == z
    # What it was lies on the outline all the same.
    place = reshaped.place_of(FRONT[gone])
    assert min(
        abs(place - a - (b - a) * min(1.0, max(0.0, ((place - a) / (b - a)).real)))
        for a, b in itertools.pairwise([*left, left[0]])
    ) < 1e-9


def test_of_a_corner_that_was_cut_off_the_sharper_node_is_the_corner() -> None:
    """The corner at node 4 is redrawn with two nodes: one turns more than the other."""
    redrawn = [*FRONT[:4], 228 + 118j, 236.5 + 150j, *FRONT[5:]]
    assert Reshaped(ring(FRONT), ring(redrawn)).place_of(FRONT[4]) == 228 + 118j


def remembered(nodes: list[complex]) -> Remembered:
    seams = [
        KnownSeam(nodes[1], nodes[2], SeamLabel("shoulder")),
        KnownSeam(nodes[2], nodes[4], SeamLabel("armhole", 10.0)),
        KnownSeam(nodes[4], nodes[8], SeamLabel("side seam", 25.0)),
        KnownSeam(nodes[8], nodes[10], SeamLabel("waist")),
        KnownSeam(nodes[10], nodes[0], SeamLabel("centre front", None, True)),
        KnownSeam(nodes[0], nodes[1], SeamLabel("neckline", 6.35)),
    ]
    dart = KnownDart((nodes[5], nodes[7]), nodes[6], 90 + 190j)
    return Remembered(ring(nodes), seams, [dart])


def test_seams_and_darts_follow() -> None:
    moved = [z + 40j if z.imag > 300 else z for z in FRONT]
    moved[6] += 2 + 1j
    way = followed(remembered(FRONT), edges(moved))
    assert [seam.start for seam in way.seams] == [moved[k] for k in (1, 2, 4, 8, 10, 0)]
    assert [seam.label.name for seam in way.seams][2] == "side seam"
    assert way.darts[0].mouth == (moved[5], moved[7])
    assert way.darts[0].point == moved[6]
    assert not way.lost


def test_what_was_mirrored_is_followed_the_other_way_round() -> None:
    flipped = [-z.conjugate() for z in FRONT]
    memory = remembered(FRONT)
    mirrored = Remembered(
        ring(flipped),
        [
            KnownSeam(-seam.start.conjugate(), -seam.end.conjugate(), seam.label)
            for seam in memory.seams
        ],
        [KnownDart((flipped[5], flipped[7]), flipped[6])],
    )
    now = [OutlineEdge(segment) for segment in backward(ring(flipped))]
    way = followed(mirrored, now)
    named = {seam.label.name: (seam.start, seam.end) for seam in way.seams}
    assert named["shoulder"] == (flipped[2], flipped[1])
    assert way.darts[0].mouth == (flipped[7], flipped[5])


def test_a_place_without_a_node_gets_one() -> None:
    """Where a seam's end was deleted the outline is parted at the nearest place."""
    left = [z for k, z in enumerate(FRONT) if k != 3]
    left.remove(FRONT[2])
    way = followed(remembered(FRONT), edges(left))
    starts = {seam.label.name: seam.start for seam in way.seams}
    assert starts["armhole"] in [edge.segment.start for edge in way.ring]
    assert len(way.ring) == len(left) + 1


def test_a_seam_whose_ends_became_one_node_is_lost() -> None:
    left = [z for k, z in enumerate(FRONT) if k not in (9, 10)]
    left[-1] = FRONT[8]
    nodes = [*FRONT[:9]]
    memory = remembered(FRONT)
    way = followed(memory, edges(nodes))
    assert {seam.label.name for seam in way.lost} | {seam.label.name for seam in way.seams} == {
        seam.label.name for seam in memory.seams
    }
    ends = [(seam.start, seam.end) for seam in way.seams]
    assert all(abs(a - b) > 1e-6 for a, b in ends)
