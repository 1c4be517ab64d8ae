"""Cloth taken apart along a line: which part of a closed ring lies on which side of a chain."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from drafting_core.model.outline import Nearest, encloses, flattened, nearest_on, signed_area
from drafting_core.plane.crossings import segment_crossings
from drafting_core.plane.curves import Line, PointMap, Segment, backward, cross, pairs_around

#: A part of an edge shorter than this is rounding (mm).
_NOTHING = 1e-7


class Bound(NamedTuple):
    """A segment of the boundary of a part of cloth.

    Attributes:
        segment: the line or curve, in mm.
        is_edge: whether it is an edge of the cloth; what is not is only where the part was taken
            out of the whole.
    """

    segment: Segment
    is_edge: bool = True


class Cloth(NamedTuple):
    """A part of a piece of cloth lying flat: its closed boundary, in mm.

    Attributes:
        bounds: the boundary's segments in order, and what each of them is.
    """

    bounds: tuple[Bound, ...]

    @property
    def ring(self) -> tuple[Segment, ...]:
        """The closed boundary."""
        return tuple(bound.segment for bound in self.bounds)

    @property
    def edges(self) -> tuple[tuple[Segment, ...], ...]:
        """The chains of its boundary that are edges of the cloth."""
        chains: list[list[Segment]] = []
        is_on = False
        for bound in self.bounds:
            if bound.is_edge:
                if not is_on:
                    chains.append([])
                chains[-1].append(bound.segment)
            is_on = bound.is_edge
        if len(chains) > 1 and self.bounds[0].is_edge and self.bounds[-1].is_edge:
            chains[0] = chains.pop() + chains[0]
        return tuple(tuple(chain) for chain in chains)

    @property
    def area(self) -> float:
        """The area in mm², whichever way round the boundary runs."""
        return abs(signed_area(self.ring))

    def mapped(self, to: PointMap) -> Cloth:
        """Return it sent through an affine map, such as turned or reflected."""
        return Cloth(tuple(Bound(b.segment.mapped(to), b.is_edge) for b in self.bounds))

    def beside(self, chain: Sequence[Segment], *, left: bool) -> Cloth:
        """Return the part of it that lies on one side of a chain.

        Args:
            chain: the chain, which has to begin and end outside it.
            left: whether the part on the side of ``-1j`` times the chain's direction is wanted,
                which is its left as seen on the page (y points down), else the one on its right.

        Returns:
            The part; where the chain cuts it into several, all of them, with doubled lines along
            the chain between.
        """
        kept: list[Bound] = []
        for bound in self.bounds:
            for part in _parted(bound.segment, chain):
                if _is_left(part.point(0.5), chain) == left:
                    kept.append(Bound(part, bound.is_edge))
        if not kept:
            return Cloth(())
        closed: list[Bound] = []
        for bound, following in pairs_around(kept):
            closed.append(bound)
            if abs(following.segment.start - bound.segment.end) >= _NOTHING:
                bridge = between(chain, bound.segment.end, following.segment.start)
                closed += [Bound(segment, is_edge=False) for segment in bridge]
        return Cloth(tuple(closed))


def cloth_of(ring: Iterable[Segment]) -> Cloth:
    """Return the cloth within a closed ring, all of whose boundary is its edge."""
    return Cloth(tuple(Bound(segment) for segment in ring))


def _parted(segment: Segment, chain: Sequence[Segment]) -> list[Segment]:
    """Return a segment cut where it meets a chain."""
    stops = {t for part in chain for t, _u in segment_crossings(segment, part)}
    steps = [0.0, *sorted(t for t in stops if 1e-9 < t < 1.0 - 1e-9), 1.0]
    return [segment.part(a, b) for a, b in pairwise(steps)]


def _is_left(point: complex, chain: Sequence[Segment]) -> bool:
    found = nearest_on(chain, point)
    return cross(chain[found.segment].tangent(found.t), point - found.point) < 0.0


def between(chain: Sequence[Segment], start: complex, end: complex) -> list[Segment]:
    """Return the part of a chain between two points on it, from the first to the second."""
    one, other = nearest_on(chain, start), nearest_on(chain, end)
    if _order(one) > _order(other):
        return list(backward(between(chain, end, start)))
    parts: list[Segment]
    if one.segment == other.segment:
        parts = [chain[one.segment].part(one.t, other.t)]
    else:
        parts = [
            chain[one.segment].part(one.t, 1.0),
            *chain[one.segment + 1 : other.segment],
            chain[other.segment].part(0.0, other.t),
        ]
    kept = [part for part in parts if part.length() >= _NOTHING] or [Line(start, end)]
    kept[0] = kept[0]._replace(start=start)
    kept[-1] = kept[-1]._replace(end=end)
    return kept


def _order(place: Nearest) -> tuple[int, float]:
    return place.segment, place.t


def with_window_filled(
    cut_line: Sequence[Segment], window: Sequence[Segment]
) -> tuple[Segment, ...]:
    """Return a cut line with a trim window put back that was taken out of it.

    Args:
        cut_line: the closed cut line.
        window: the window's closed ring, its sides being parts of the cut line run the other way.

    Raises:
        ValueError: if the window's sides are no part of the cut line.
    """
    sides = {segment.reversed() for segment in window}
    is_side = [segment in sides for segment in cut_line]
    removed = [segment for segment in window if segment.reversed() not in set(cut_line)]
    starts = [k for k, side in enumerate(is_side) if side and not is_side[k - 1]]
    if len(starts) != 1 or not removed:
        raise ValueError("the window is not that of the cut line")
    first = starts[0]
    turned = [*cut_line[first:], *cut_line[:first]]
    left = turned[sum(is_side) :]
    return (*removed, *left)


def parts_inside(chain: Sequence[Segment], cloth: Cloth) -> list[tuple[Segment, ...]]:
    """Return the parts of an open chain that lie inside a cloth or on its boundary."""
    polygon = flattened(cloth.ring, 24)
    if not polygon:
        return []
    found: list[list[Segment]] = []
    is_on = False
    for segment in chain:
        for part in _parted(segment, cloth.ring):
            was_on = is_on
            is_on = encloses(polygon, part.point(0.5))
            if is_on and not was_on:
                found.append([])
            if is_on:
                found[-1].append(part)
    return [tuple(part) for part in found]
