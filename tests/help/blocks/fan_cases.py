"""Random lists of openings on random blocks, and measuring that uses none of the project's own."""

from __future__ import annotations

import cmath
import itertools
import random
from collections.abc import Sequence
from typing import NamedTuple

from hypothesis import reject
from hypothesis import strategies as st

from drafting_core.block.block import Block, DartMark, seam_by_seam
from drafting_core.block.found_block import take_block
from drafting_core.block.places import Target
from drafting_core.finished.draft import move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.settings import Settings
from drafting_core.move.moving import Moved, turn_fan
from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.text.errors import DraftingError
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import blocks, core_block
from tests.help.blocks.refusals import no_case

Chain = tuple[Segment, ...]
EXACT = Settings(clearance=0.0)


class Case(NamedTuple):
    """A random block and where its dart is to go."""

    source: random_blocks.Block
    block: Block
    targets: list[Target]


def angle_at(apex: complex, ends: tuple[complex, complex]) -> float:
    """The angle at the apex from the first mouth end to the second, in radians."""
    return cmath.phase((ends[1] - apex) / (ends[0] - apex))


def bent_slash(rng: random.Random, start: complex, apex: complex) -> Chain:
    """A curved slash line: one cubic, the same in two pieces, or two cubics with a slight kink."""
    chord = apex - start
    first, second = (complex(1 / 3, rng.uniform(-0.12, 0.12)) for _ in range(2))
    whole = (start, start + chord * first, apex - chord * second, apex)
    if rng.random() < 0.4:
        return (Cubic(*whole),)
    before, after = random_blocks.split(whole, rng.uniform(0.4, 0.6))
    if rng.random() < 0.5:
        # The inner half's handle a little off the tangent: the angle there has to stay.
        handle = after[0] + (after[1] - after[0]) * cmath.rect(1.0, rng.uniform(-0.15, 0.15))
        after = (after[0], handle, *after[2:])
    return Cubic(*before), Cubic(*after)


@st.composite
def cases(draw: st.DrawFn, curved: bool | None = None, shares: bool = True) -> Case:
    """A block with one to four targets, with shares, widths or equal parts, straight or curved."""
    source = draw(blocks())
    rng = random.Random(draw(st.integers(0, 10_000)))
    count = draw(st.integers(1, 4))
    weights = [rng.uniform(0.2, 1.0) for _ in range(count)]
    whole = sum(weights) / rng.choice((1.0, 1.0, 0.8))
    targets: list[Target] = []
    apart: list[complex] = []
    for weight in weights:
        try:
            place = random_blocks.random_place(source, rng, apart=tuple(apart))[2]
        except RuntimeError:
            break
        apart.append(place)
        bent = rng.random() < 0.4 if curved is None else curved
        targets.append(
            Target(
                at=place,
                share=weight / whole if shares and rng.random() < 0.8 else None,
                slash=bent_slash(rng, place, source.apex) if bent else (),
            )
        )
    if not targets:
        reject()
    return Case(source, core_block(source), targets)


def attempted(block: Block, settings: Settings, targets: Sequence[Target]) -> Draft:
    """The draft of a block; what is rightly refused is no example."""
    try:
        return move_dart(block, settings, targets)
    except DraftingError as error:
        no_case(error)


def drafted(case: Case, settings: Settings = EXACT) -> Draft:
    """The draft of a case."""
    return attempted(case.block, settings, case.targets)


def a_place(
    source: random_blocks.Block, rng: random.Random, apart: tuple[complex, ...] = ()
) -> complex:
    """A random place for a target; a block without one is no example."""
    try:
        return random_blocks.random_place(source, rng, apart=apart)[2]
    except RuntimeError:
        reject()


def turned(case: Case, sources: dict[int, float] | None = None) -> Moved:
    """The bare move of a case."""
    read = take_block(case.block, equalise=True)
    try:
        return turn_fan(read.piece, case.targets, sources or {0: 1.0}, 1.0, read.down, None)
    except DraftingError as error:
        no_case(error)


def best_turn(before: Sequence[complex], after: Sequence[complex], centre: complex) -> complex:
    """The rotation (a unit number) about a centre that takes points best onto others."""
    total = sum((b - centre) * (a - centre).conjugate() for a, b in zip(before, after, strict=True))
    return total / abs(total)


def apart_up_to_motion(before: Sequence[complex], after: Sequence[complex]) -> float:
    """The largest distance between points of two closed rings after the best rigid motion.

    Either ring may start at any of its points.
    """
    assert len(before) == len(after)
    count = len(before)
    here, there = sum(before) / count, sum(after) / count
    flat = [z - here for z in before]
    best = float("inf")
    for shift in range(count):
        other = [after[(k + shift) % count] - there for k in range(count)]
        factor = sum(b * a.conjugate() for a, b in zip(flat, other, strict=True))
        if factor:
            factor /= abs(factor)
        best = min(best, max(abs(b - a * factor) for a, b in zip(flat, other, strict=True)))
    return best


def block_of(draft: Draft, **more: object) -> Block:
    """A block whose outline is a draft's stitch line, its seams and legs named."""
    parts: list[tuple[str, Segment]] = []
    curved: list[complex] = []
    for k, run in enumerate(draft.piece.runs):
        parts += [(edge.seam.name, edge.segment) for edge in run]
        opening = draft.piece.openings[k]
        there, back = opening.legs(draft.piece.mouth(k), opening.point)
        if opening.sides is not None:
            curved.append(opening.point)
        parts += [("dart" if opening.sides is None else "", segment) for segment in there]
        parts += [
            ("dart" if opening.sides is None else "", segment.reversed())
            for segment in reversed(back)
        ]
    apex, *others = draft.apexes
    return Block(
        seam_by_seam(parts),
        apex=apex,
        more_apexes=others,
        curved_darts=curved,
        **more,  # type: ignore[arg-type]
    )


def mark_at(ends: tuple[complex, complex], share: float = 1.0) -> DartMark:
    """A dart mark in the middle of a mouth."""
    return DartMark((ends[0] + ends[1]) / 2, share)


def samples(segments: Sequence[Segment], pieces: int = 8) -> list[complex]:
    """Points along segments, by Bernstein's or the line's formula."""
    return [random_blocks.at(tuple(s), k / pieces) for s in segments for k in range(pieces + 1)]


def farthest(points: Sequence[complex], segments: Sequence[Segment]) -> float:
    """The largest distance of points from a chain, by the tests' own projection."""
    chains = [tuple(segment) for segment in segments]
    worst = 0.0
    for z in points:
        # Most lie on a segment near by: bounding discs leave few to project on.
        order = sorted(chains, key=lambda c: min(abs(z - c[0]), abs(z - c[-1])))
        best = float("inf")
        for chain in order:
            reach = sum(abs(b - a) for a, b in itertools.pairwise(chain))
            if min(abs(z - chain[0]), abs(z - chain[-1])) > reach + best:
                continue
            best = min(best, random_blocks.nearest(chain, z)[1])
            if best < 1e-9:
                break
        worst = max(worst, best)
    return worst


def chain_length(segments: Sequence[Segment], pieces: int = 4000) -> float:
    """The length of a chain by Simpson's rule on the speed, without the project's own."""
    total = 0.0
    for segment in segments:
        points = tuple(segment)
        if len(points) == 2:
            total += abs(points[1] - points[0])
            continue
        speeds = [_speed(points, k / pieces) for k in range(pieces + 1)]
        total += (speeds[0] + speeds[-1] + 4 * sum(speeds[1:-1:2]) + 2 * sum(speeds[2:-1:2])) / (
            3 * pieces
        )
    return total


def _speed(points: tuple[complex, ...], t: float) -> float:
    a, b, c, d = points
    s = 1 - t
    return abs(3 * (s * s * (b - a) + 2 * s * t * (c - b) + t * t * (d - c)))


def straight(*points: complex) -> Chain:
    """A polyline as a chain."""
    return tuple(Line(a, b) for a, b in itertools.pairwise(points))
