"""Random style lines across invented blocks, and what they have to become."""

from __future__ import annotations

import cmath
import math
import random
from collections.abc import Sequence
from dataclasses import dataclass

from hypothesis import strategies as st
from shapely.geometry import LineString, Point

from drafting_core.block.block import Block, StyleLine, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.finished.draft import move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.style.style_line import cut_in_two
from drafting_core.text.errors import DraftingError
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import core_block, drawn

NAME = "princess seam"


@dataclass(frozen=True)
class Case:
    """A block cut in two: what was drawn, where the line ends, and both pieces."""

    source: random_blocks.Block
    block: Block
    places: tuple[complex, complex]
    through: bool
    drafts: tuple[Draft, Draft]

    @property
    def is_hairpin(self) -> bool:
        """Whether the line comes back from the apex the way it went there."""
        (first, second), apex = self.places, self.source.apex
        return abs(cmath.phase((second - apex) / (apex - first))) > math.radians(75)

    @property
    def in_mouth(self) -> bool:
        """Whether the line ends in the mouth of the dart."""
        first, second = self.source.mouth_ends
        mouth = (first, second, (first + second) / 2)
        return min(abs(z - end) for z in self.places for end in mouth) < 1e-6


def path_through(rng: random.Random, *points: complex, curved: bool) -> list[Segment]:
    """A chain through three points: lines, or two curves that are smooth at the middle one."""
    start, middle, end = points
    if not curved:
        return [Line(start, middle), Line(middle, end)]
    along = (end - start) / abs(end - start) * cmath.exp(1j * rng.uniform(-0.3, 0.3))
    reach = min(abs(middle - start), abs(end - middle)) * rng.uniform(0.2, 0.4)
    first = start + (middle - start) * 0.4 * cmath.exp(1j * rng.uniform(-0.3, 0.3))
    last = end + (middle - end) * 0.4 * cmath.exp(1j * rng.uniform(-0.3, 0.3))
    return [
        Cubic(start, first, middle - along * reach, middle),
        Cubic(middle, middle + along * reach, last, end),
    ]


def drawn_line(
    rng: random.Random, source: random_blocks.Block, *, through: bool, loose: bool
) -> tuple[list[Segment], tuple[complex, complex]]:
    """A style line drawn from either end, and the two places on the outline."""
    mouth = source.mouth_ends
    first = random_blocks.random_place(source, rng)[2]
    if through and rng.random() < 0.3:
        second = rng.choice((mouth[0], mouth[1], (mouth[0] + mouth[1]) / 2))
    else:
        second = random_blocks.random_place(source, rng, apart=(first,))[2]
    aside = 0.0 if through else rng.uniform(1.0, 24.0)
    across = (second - first) / abs(second - first)
    if not through:
        # Square across the way from the apex to its dart, as a style line is drawn.
        across = (sum(mouth) / 2 - source.apex) / abs(sum(mouth) / 2 - source.apex) * 1j
    middle = source.apex + across * 1j * aside * rng.choice((-1, 1))
    path = path_through(rng, first, middle, second, curved=rng.random() < 0.7)
    if rng.random() < 0.5:
        path = [segment.reversed() for segment in reversed(path)]
        first, second = second, first
    if loose:
        by = rng.uniform(-5.0, 5.0)
        if by > 0:
            path.insert(0, Line(path[0].start - path[0].start_tangent() * by, path[0].start))
        else:
            path[0] = path[0].part(path[0].parameter_at(-by), 1.0)
    return path, (first, second)


def cut(
    seed: int, kind: str | None = None, *, through: bool, loose: bool = False,
    settings: Settings | None = None,
) -> Case:  # fmt: skip
    """A random block cut along a random style line.

    Raises:
        DraftingError: if that line cannot be followed.
    """
    rng = random.Random(seed)
    source = drawn(rng.randrange(10_000), kind)
    path, places = drawn_line(rng, source, through=through, loose=loose)
    block = core_block(source)._replace(style_line=StyleLine(tuple(path), NAME))
    passes = min(random_blocks.nearest(tuple(segment), source.apex)[1] for segment in path)
    return Case(source, block, places, passes <= 2.0, cut_in_two(block, settings))


def cases(**how: bool) -> st.SearchStrategy[Case]:
    """Blocks that were cut in two; lines that cannot be followed are left out."""

    def attempt(seed: int) -> list[Case]:
        try:
            through, loose = how.get("through", seed % 2 == 0), how.get("loose", False)
            return [cut(seed, through=through, loose=loose)]
        except DraftingError:
            return []

    return st.integers(0, 100_000).map(attempt).filter(bool).map(lambda found: found[0])


def side(draft: Draft, name: str = NAME) -> list[Segment]:
    """The new seam of a piece in order, its darts left out."""
    edges = list(draft.piece.edges())
    if edges[0].seam.name == name and edges[-1].seam.name == name:
        shift = next(k for k, edge in enumerate(edges) if edge.seam.name != name)
        edges = edges[shift:] + edges[:shift]
    return [edge.segment for edge in edges if edge.seam.name == name]


def span(chain: Sequence[Segment]) -> float:
    """The length of a chain, by many chords corrected for their own error (Richardson)."""
    total = 0.0
    for segment in chain:
        if isinstance(segment, Line):
            total += abs(segment.end - segment.start)
            continue
        coarse, fine = (
            sum(abs(segment.point((k + 1) / n) - segment.point(k / n)) for k in range(n))
            for n in (400, 800)
        )
        total += (4 * fine - coarse) / 3
    return total


def old_chains(case: Case) -> list[list[random_blocks.Points]]:
    """The block's seams as cut at the two ends of the style line, each stretch in order."""
    found: list[list[random_blocks.Points]] = [[]]
    for segment in case.source.segments:
        if segment.run < 0:
            continue
        rest, start = segment.points, 0.0
        cuts = sorted(
            t
            for t, off in (random_blocks.nearest(segment.points, z) for z in case.places)
            if off < 1e-6 and 1e-9 < t < 1 - 1e-9
        )
        for t in cuts:
            head, rest = random_blocks.split(rest, (t - start) / (1 - start))
            start = t
            found[-1].append(head)
            found.append([])
        found[-1].append(rest)
        at_mouth = case.in_mouth and segment == case.source.segments[case.source.mouth - 1]
        if at_mouth or any(abs(z - rest[-1]) < 1e-6 for z in case.places):
            found.append([])
    if len(found) == 3:
        found[0] = found.pop() + found[0]
    return found


def matched(case: Case) -> list[list[random_blocks.Points]]:
    """The stretches of the block from which the two pieces were made, in their order."""
    chains = old_chains(case)
    edges = [old_edges(draft) for draft in case.drafts]

    def fits(stretches: Sequence[Sequence[random_blocks.Points]]) -> bool:
        return all(
            len(olds) == len(news)
            and all(
                abs(abs(new[-1] - new[0]) - abs(old[-1] - old[0])) < 1e-6
                for old, new in zip(olds, news, strict=True)
            )
            for olds, news in zip(stretches, edges, strict=True)
        )

    return next(order for order in (chains, chains[::-1]) if fits(order))


def shift_of(case: Case) -> complex:
    """How far the second piece was drawn from its place, beside what it turned about the apex."""
    old, new = matched(case)[1][0], old_edges(case.drafts[1])[0]
    turn = (new[-1] - new[0]) / (old[-1] - old[0])
    return new[0] - (case.source.apex + (old[0] - case.source.apex) * turn)


def old_edges(draft: Draft, name: str = NAME) -> list[random_blocks.Points]:
    """The seams that a piece has from its block, in order from its new seam on."""
    edges = list(draft.piece.edges())
    new = [edge.seam.name == name for edge in edges]
    first = next(k for k in range(len(edges)) if new[k - 1] and not new[k])
    return [tuple(e.segment) for e in edges[first:] + edges[:first] if e.seam.name != name]


def sewn_places(draft: Draft, name: str = NAME) -> list[float]:
    """How far along the new seam each notch on it lies, darts closed, measured on its own."""
    chain = side(draft, name)
    mouths = {end for item in draft.darts for end in item.dart.ends}
    found = []
    for notch in draft.seam_notches:
        # A notch is square to the seam: straight on from it lies its place.
        ray = (notch.end - notch.start) / abs(notch.end - notch.start)
        walked, best = 0.0, (math.inf, 0.0)
        for segment in chain:
            for t in (*segment.on_ray(notch.start, ray), 0.0, 1.0):
                away = (segment.point(t) - notch.start) * ray.conjugate()
                if away.real > 0 and abs(away.imag) < 1e-6:
                    best = min(best, (away.real, walked + span([segment.part(0.0, t)])))
            walked += span([segment])
        found.append(best[1])
    walked = 0.0
    for segment in chain[:-1]:
        walked += span([segment])
        if segment.end in mouths:
            found.append(walked)
    return sorted(found)


def two_darts(seed: int, share: float = 0.5) -> tuple[Block, tuple[complex, complex]]:
    """A front with two darts drawn to its apex, and the middles of their mouths."""
    source = drawn(seed, "front")
    rng = random.Random(seed)
    place = random_blocks.random_place(source, rng)[2]
    moved = move_dart(core_block(source), Settings(share=share, clearance=0.0), [Target(at=place)])
    named: list[tuple[str, Segment]] = []
    mouths = []
    for k, run in enumerate(moved.piece.runs):
        named += [(edge.seam.name, edge.segment) for edge in run]
        first, second = moved.piece.mouth(k)
        named += [("dart", Line(first, source.apex)), ("dart", Line(source.apex, second))]
        mouths.append((first + second) / 2)
    return Block(seam_by_seam(named), apex=source.apex, name="Front"), (mouths[0], mouths[1])


def ways_through(block: Block, seed: int) -> Block:
    """The block with a straight style line through its apex, from outline to outline."""
    rng = random.Random(seed)
    apex = block.apex or 0j
    way = cmath.exp(1j * rng.uniform(0.0, math.pi)) * 2000
    ring = LineString(
        [(z.real, z.imag) for e in block.outline for z in (*e.segment.flattened(40), e.segment.end)]
    )
    ends = []
    for sign in (1, -1):
        ray = LineString(
            [(apex.real, apex.imag), ((apex + way * sign).real, (apex + way * sign).imag)]
        )
        hit = ray.difference(ray.intersection(ring).buffer(1e-6))
        parts = [p for p in getattr(hit, "geoms", [hit]) if p.length > 5]
        near = min(parts, key=lambda p: p.distance(Point(apex.real, apex.imag)))
        ends.append(max((complex(*z) for z in near.coords), key=lambda z: abs(z - apex)))
    return block._replace(style_line=StyleLine((Line(ends[0], apex), Line(apex, ends[1])), NAME))
