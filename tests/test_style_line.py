"""What must hold of any block that is cut in two along a style line."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import cast

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from drafting_core.curves import Line, Segment
from drafting_core.outline import OutlineEdge
from drafting_core.pattern_piece import Draft
from drafting_core.settings import Settings
from tests import random_blocks
from tests.style_lines import NAME, Case, cases, cut, old_chains, old_edges, sewn_places, side, span


def polygon(segments: Sequence[Segment], pieces: int = 60) -> Polygon:
    return Polygon([(z.real, z.imag) for s in segments for z in s.flattened(pieces)])


def lengths_of(edges: Sequence[tuple[str, Segment]]) -> dict[str, float]:
    total: dict[str, float] = {}
    for name, segment in edges:
        total[name] = total.get(name, 0.0) + span([segment])
    return total


def area_to_the_apex(draft: Draft) -> float:
    """The net area: the stitch line's, and of every dart what lies between point and apex."""
    area = sum(segment.area() for segment in draft.stitch_line)
    for item in draft.darts:
        first, second = item.dart.ends
        apex, point = item.dart.opening.apex, item.dart.point
        ring = [first, point, second, apex]
        area -= sum(
            (p.conjugate() * q).imag / 2 for p, q in zip(ring, ring[1:] + ring[:1], strict=True)
        )
    return area


@settings(max_examples=40)
@given(cases())
def test_both_pieces_together_are_the_block(case: Case) -> None:
    before = lengths_of([(s.seam, edge.segment) for s, edge in zip(
        case.source.segments, case.block.outline, strict=True) if s.run >= 0])  # fmt: skip
    after = lengths_of(
        [(e.seam.name, e.segment) for draft in case.drafts for e in draft.piece.edges()]
    )
    del after[NAME]
    assert {name.split(" (")[0] for name in after} == set(before)
    for name, length in before.items():
        assert sum(v for k, v in after.items() if k == name) == pytest.approx(length, abs=1e-6)
    parts = [s.points for s in case.source.segments]
    mouth = case.source.mouth
    parts[mouth] = (parts[mouth][0], case.source.apex)
    parts[mouth + 1] = (case.source.apex, parts[mouth + 1][1])
    whole = sum(
        (Line(*p) if len(p) == 2 else type(case.block.outline[0].segment)(*p)).area()
        if len(p) == 2
        else sum(edge.segment.area() for edge in case.block.outline if edge.segment.start == p[0])
        for p in parts
    )
    assert sum(area_to_the_apex(d) for d in case.drafts) == pytest.approx(whole, rel=1e-6)


@settings(max_examples=40)
@given(cases())
def test_every_part_is_rigid(case: Case) -> None:
    """Every old edge is the block's, turned about the apex with its part and shifted."""
    apex, angle = case.source.apex, case.source.angle
    chains = old_chains(case)
    drafts = case.drafts
    if len(chains[0]) == len(chains[1]):
        # Which is which is told by the seam on which each of them starts.
        starts = [abs(old_edges(draft)[0][0] - chains[0][0][0]) for draft in case.drafts]
        assume(min(starts) < 1e-6)
        chains = chains if starts[0] < starts[1] else chains[::-1]
    elif len(old_edges(drafts[0])) != len(chains[0]):
        chains = chains[::-1]
    shifts = []
    for draft, chain in zip(drafts, chains, strict=True):
        edges = old_edges(draft)
        assert len(edges) == len(chain)
        turns = []
        for old, new in zip(chain, edges, strict=True):
            turn = (new[-1] - new[0]) / (old[-1] - old[0])
            turns.append(cmath.phase(turn))
            assert abs(turn) == pytest.approx(1.0, abs=1e-9)
            for p, q in zip(old, new, strict=True):
                assert abs(new[0] + (p - old[0]) * turn - q) < 1e-9 * 1000
            # A turn about the apex leaves it where it is: the shift is the same for all.
            shifts.append((draft is drafts[0], new[0] - (apex + (old[0] - apex) * turn)))
            assert min(abs(turns[-1]), abs(abs(turns[-1]) - angle)) < 1e-8
        changes = [abs(a - b) > 1e-8 for a, b in zip(turns, turns[1:], strict=False)]
        assert sum(changes) <= 1
    assert max(abs(shift) for first, shift in shifts if first) < 1e-6
    beside = [shift for first, shift in shifts if not first]
    assert abs(beside[0]) > 10 and max(abs(shift - beside[0]) for shift in beside) < 1e-6


def halves_of(case: Case) -> tuple[list[list[Segment]], list[list[Segment]]]:
    """Both sides of the new seam in stretches up to the level of the apex and beyond it.

    The second side is run through the other way, so that the stretches lie on each other.
    """
    one, other = (side(draft) for draft in case.drafts)
    other = [segment.reversed() for segment in reversed(other)]
    mouths = [end for d in case.drafts for item in d.darts for end in item.dart.ends]

    def parted(chain: list[Segment]) -> list[list[Segment]]:
        for k, (a, b) in enumerate(zip(chain, chain[1:], strict=False)):
            if abs(a.end - b.start) > 1e-6 or any(abs(a.end - z) < 1e-9 for z in mouths):
                return [chain[: k + 1], chain[k + 1 :]]
        return [chain]

    return parted(one), parted(other)


def laid(first: Sequence[Segment], second: Sequence[Segment]) -> float:
    """How far two stretches lie apart at most, when their ends are laid on each other."""
    start, end = first[0].start, first[-1].end
    turn = (end - start) / (second[-1].end - second[0].start)
    assert abs(turn) == pytest.approx(1.0, abs=1e-9)
    origin = second[0].start
    moved = [segment.mapped(lambda z: start + (z - origin) * turn) for segment in second]
    points = [tuple(segment.point(k / 24)) if False else segment.point(k / 24)
              for segment in first for k in range(25)]  # fmt: skip
    return max(min(random_blocks.nearest(tuple(s), z)[1] for s in moved) for z in points)


@settings(max_examples=40)
@given(cases())
def test_the_two_sides_of_the_seam_are_congruent(case: Case) -> None:
    one, other = (side(draft) for draft in case.drafts)
    assert span(one) == pytest.approx(span(other), abs=1e-6)
    joined = [draft.joined for draft in case.drafts]
    assert [j.length for j in joined if j] == pytest.approx([span(one)] * 2, abs=1e-6)
    assert [j.name for j in joined if j] == [NAME] * 2
    if case.through:
        # On each piece the line up to the apex, and beyond it: as rigid as the parts.
        apex = [case.source.apex, case.source.apex + _shift(case)]
        stretches = [_at(one, apex[0]), _at(other, apex[1])]
        stretches[1] = [[s.reversed() for s in reversed(c)] for c in reversed(stretches[1])]
        for first, second in zip(*stretches, strict=True):
            assert laid(first, second) < 1e-6
        return
    # Beside the apex the near piece has a short dart; with it closed there is one line.
    flat = []
    for draft in case.drafts:
        chain = side(draft)
        for item in draft.darts:
            (start, end), opening = item.dart.ends, item.dart.opening
            if not any(abs(segment.end - start) < 1e-9 for segment in chain):
                continue
            turn = (start - opening.apex) / (end - opening.apex)
            at = next(k for k, s in enumerate(chain) if abs(s.end - start) < 1e-9)
            chain[at + 1 :] = [
                s.mapped(lambda z, o=opening.apex, t=turn: o + (z - o) * t)
                for s in chain[at + 1 :]
            ]
            assert abs(chain[at].end - chain[at + 1].start) < 1e-6
        flat.append(chain)
    assert laid(flat[0], [s.reversed() for s in reversed(flat[1])]) < 1e-6


def _shift(case: Case) -> complex:
    apexes = case.drafts[1].apexes
    return apexes[0] - case.source.apex if apexes else _fitted(case)


def _fitted(case: Case) -> complex:
    """The shift of the second piece: the place on its seam nearest to its block's apex."""
    # The turn about the apex leaves it where it is, so the distances to the seam's ends tell.
    chain = side(case.drafts[1])
    radii = sorted(abs(z - case.source.apex) for z in case.places)
    best = min(
        (s.end for s in chain[:-1]),
        key=lambda z: abs(min(abs(chain[0].start - z), abs(chain[-1].end - z)) - radii[0]),
    )
    return best - case.source.apex


def _at(chain: list[Segment], apex: complex) -> list[list[Segment]]:
    k = next(k for k, segment in enumerate(chain) if abs(segment.end - apex) < 1e-6)
    return [chain[: k + 1], chain[k + 1 :]]


def angle_at(chains: Sequence[Sequence[Segment]]) -> float:
    """The angle in radians that a piece has at the apex, between the two stretches of its seam."""
    before, after = chains[0][-1].end_tangent(), chains[1][0].start_tangent()
    return math.pi - cmath.phase(after / before)


@settings(max_examples=40)
@given(cases(through=True))
def test_what_is_left_about_the_apex(case: Case) -> None:
    # CITS Dress Making, Trade Theory, 2024, p. 180: the angle is the same wherever it stands.
    apexes = (case.source.apex, case.source.apex + _shift(case))
    angles = [
        angle_at(_at(side(draft), apex)) for draft, apex in zip(case.drafts, apexes, strict=True)
    ]
    assert not any(item.dart.opening.in_fan for draft in case.drafts for item in draft.darts)
    assert sum(angles) == pytest.approx(math.tau - case.source.angle, abs=1e-9)


@settings(max_examples=40)
@given(cases(loose=True))
def test_notches_match(case: Case) -> None:
    # In a hairpin a notch on the one side points at the other.
    assume(not case.is_hairpin)
    one, other = case.drafts
    length = span(side(one))
    first = sewn_places(one)
    second = sorted(length - place for place in sewn_places(other))
    if case.through or len(first) == len(second):
        assert first == pytest.approx(second, abs=1e-6)
    else:
        # At an inward corner beside the apex the corner itself meets the other's short dart.
        few, many = sorted((first, second), key=len)
        assert len(many) == len(few) + 1
        assert sum(all(abs(a - b) > 1e-6 for a in few) for b in many) == 1
    for draft in case.drafts:
        chain = side(draft)
        walked = 0.0
        for before, after in zip(chain, chain[1:], strict=False):
            walked += span([before])
            bend = abs(cmath.phase(after.start_tangent() / before.end_tangent()))
            if case.through and bend > math.radians(15):
                assert all(abs(walked - place) > 40 for place in sewn_places(draft))


@settings(max_examples=40)
@given(cases())
def test_the_cut_line_lies_outside_the_stitch_line(case: Case) -> None:
    for draft in case.drafts:
        cut_line, stitched = polygon(draft.cut_line), polygon(draft.stitch_line)
        assert cut_line.is_valid and stitched.is_valid
        assert cut_line.buffer(1e-3).contains(stitched)
    outer = [polygon(draft.cut_line) for draft in case.drafts]
    assert not outer[0].envelope.intersects(outer[1].envelope)
