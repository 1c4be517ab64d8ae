"""Finding the darts that a block's outline already has."""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Sequence
from typing import NamedTuple

from drafting_core.block.dart_words import (
    leg_not_straight,
    no_mouth,
    no_seam_between,
    not_found_again,
    unequal_radii,
)
from drafting_core.model.outline import SHORTEST_SEGMENT, OutlineEdge, encloses, with_ends
from drafting_core.model.piece import Opening, Sides, aimed, mouth_angle
from drafting_core.plane.curves import Cubic, backward, cross, dot, turn, unit

#: Mouth ends count as equally far from the apex within this (mm).
EQUAL_LEGS = 3.0
#: Beyond `EQUAL_LEGS` and up to this the dart is refused as unequal; further apart it is no dart.
UNEQUAL_LEGS = 25.0
#: An apex this near to a point or to the outline counts as on it (mm).
ON_APEX = 0.5
#: Legs that differ by at most this, from the apex and from the point, point truly (mm).
TRUE_DART = 0.1
#: Distances that differ by less are equal: rounding, not drafting (mm).
_EQUAL = 1e-9
#: A leg of several pieces, or drawn as a curve, strays at most this from its chord (mm).
LEG_STRAY = 0.3
#: The sharpest inward turn that is no dart point yet: between the legs it leaves 120°.
_POINT_TURN = -math.radians(60.0)
#: A leg ends where the outline turns by more than this.
_LEG_END_TURN = math.radians(30.0)
#: A dart without an apex of its own is narrower than this, and its closed mouth turns less than
#: `CLOSED_MOUTH_TURN`: a V-neck or a slit is no dart.
_LONE_DART_ANGLE = math.radians(75.0)
CLOSED_MOUTH_TURN = math.radians(45.0)


class Wedge(NamedTuple):
    """Two straight legs meeting in an inward corner of the outline.

    Attributes:
        first: the index of the first edge of the leg toward the point.
        last: the index of the last edge of the leg away from the point.
        point: where the legs meet.
        ends: the two mouth ends in the outline's direction.
        sides: the legs from the mouth to the point, where they are curved.
    """

    first: int
    last: int
    point: complex
    ends: tuple[complex, complex]
    sides: Sides | None = None

    def radii(self, apex: complex) -> tuple[float, float]:
        """Return the distances in mm of the two mouth ends from an apex."""
        return abs(self.ends[0] - apex), abs(self.ends[1] - apex)

    def points_at(self, apex: complex) -> bool:
        """Tell whether an apex lies on the wedge's point or beyond it, between its sides."""
        if abs(apex - self.point) <= ON_APEX:
            return True
        corners = (*self.ends, apex)
        if encloses(corners, self.point):
            return True
        return any(
            abs(end - apex) > ON_APEX
            and _distance_to_line(self.point, end, apex) <= ON_APEX
            and dot(self.point - end, apex - self.point) > 0
            for end in self.ends
        )


class DrawnWedge(NamedTuple):
    """How truly a dart as drawn points at its apex.

    Attributes:
        mouth: the mouth end that the outline meets first, as drawn.
        is_true: whether its mouth ends are equally far from the apex, and from its point.
    """

    mouth: complex
    is_true: bool


class FoundDarts(NamedTuple):
    """The outline taken apart: runs of seam edges and the darts between them.

    Attributes:
        runs: the seam edges, run by run.
        openings: the darts; ``openings[k]`` follows ``runs[k]``.
        uneven: by how much the mouth ends of a dart differed, in mm, dart by dart.
        drawn: how truly each dart points at its apex.
        doubtful: wedges like a dart, but with unequal legs, that were left as seams.
    """

    runs: tuple[tuple[OutlineEdge, ...], ...]
    openings: tuple[Opening, ...]
    uneven: tuple[float, ...]
    drawn: tuple[DrawnWedge, ...]
    doubtful: tuple[Wedge, ...] = ()


def _distance_to_line(point: complex, start: complex, end: complex) -> float:
    return abs(cross(unit(end - start), point - start))


def find_wedges(
    ring: Sequence[OutlineEdge],
    curved: Sequence[complex] = (),
    caps: Sequence[tuple[complex, complex]] = (),
) -> list[Wedge]:
    """Return every inward corner with two straight legs, in the outline's order.

    Args:
        ring: the closed outline, interior at 1j·tangent.
        curved: points of darts whose legs are known to be curved.
        caps: the ends of caps that are part of the outline, none of whose corners is a dart.

    Raises:
        DartError: if edges that a label calls legs of a dart are not straight.
    """
    wedges: dict[int, Wedge] = {}
    for at in curved:
        index, wedge = _curved_wedge(ring, at, wedges)
        wedges[index] = wedge
    barred = {index for ends in caps for index in _corners_between(ring, *ends)}
    for index in range(len(ring)):
        if index in wedges or index in barred:
            continue
        if (straight := _straight_wedge(ring, index)) is not None:
            wedges[index] = straight
    return [wedges[index] for index in sorted(wedges)]


def _corners_between(ring: Sequence[OutlineEdge], first: complex, second: complex) -> list[int]:
    """Return the nodes from one place on an outline to another, the shorter way, both included."""
    count = len(ring)
    start, end = (
        min(range(count), key=lambda k: abs(ring[k].segment.start - z)) for z in (first, second)
    )
    ways = [
        [(a + step) % count for step in range((b - a) % count + 1)]
        for a, b in ((start, end), (end, start))
    ]
    return min(ways, key=lambda way: sum(ring[k].segment.length() for k in way[:-1]))


def _straight_wedge(ring: Sequence[OutlineEdge], index: int) -> Wedge | None:
    """Return the dart with straight legs whose point is where an edge starts, if it is one."""
    count = len(ring)
    before, after = ring[index - 1].segment, ring[index].segment
    if turn(before.end_tangent(), after.start_tangent()) > _POINT_TURN:
        return None
    if ring[index - 1].leg != ring[index].leg:
        return None
    back = _leg_size(ring, index, -1)
    ahead = _leg_size(ring, index, +1)
    if not back or not ahead or back + ahead >= count:
        return None
    first, last = (index - back) % count, (index + ahead - 1) % count
    ends = (ring[first].segment.start, ring[last].segment.end)
    if cross(ends[0] - after.start, ends[1] - after.start) <= 0:
        return None
    return Wedge(first, last, after.start, ends)


def _curved_wedge(
    ring: Sequence[OutlineEdge], at: complex, taken: Collection[int]
) -> tuple[int, Wedge]:
    """Return the dart with curved legs whose point is the inward corner nearest to a place.

    Where several darts end at one point, as at the apex itself, it is the next one whose legs
    do not read as straight.

    Args:
        ring: the closed outline, interior at 1j·tangent.
        at: the place.
        taken: the indices of the corners that are other curved darts.

    Returns:
        The index of the edge that starts at the corner, and the dart.

    Raises:
        DartError: if there is no such corner.
    """
    count = len(ring)
    turns = [
        turn(ring[index - 1].segment.end_tangent(), ring[index].segment.start_tangent())
        for index in range(count)
    ]
    inward = [k for k in range(count) if turns[k] <= _POINT_TURN and k not in taken]
    if not inward:
        raise not_found_again(at)
    near = min(abs(ring[k].segment.start - at) for k in inward)
    there_are = [k for k in inward if abs(ring[k].segment.start - at) < near + SHORTEST_SEGMENT]
    curved = [
        k
        for k in there_are
        if isinstance(ring[k].segment, Cubic) or _straight_wedge(ring, k) is None
    ]
    index = (curved or there_are)[0]
    back, ahead = _curved_leg_sizes(ring, index, turns)
    there = tuple(ring[index - back + step].segment for step in range(back))
    out = tuple(ring[(index + step) % count].segment for step in range(ahead))
    point = ring[index].segment.start
    ends = (there[0].start, out[-1].end)
    return index, Wedge(
        (index - back) % count,
        (index + ahead - 1) % count,
        point,
        ends,
        (there, backward(out)),
    )


def _curved_leg_sizes(
    ring: Sequence[OutlineEdge], index: int, turns: Sequence[float]
) -> tuple[int, int]:
    """Return how many edges back and ahead from a dart point form its two curved legs.

    Where a cut meets a seam, the turns into the one leg and out of the other sum to half a turn,
    however slanting the cut; at a node inside a leg they cancel, the legs being alike. The legs
    end at the first such pair of nodes that is equally far from the point.

    Raises:
        DartError: if no two nodes look like the ends of a mouth.
    """
    count = len(ring)
    point = ring[index].segment.start

    def is_mouth(back: int, ahead: int) -> bool:
        return turns[(index - back) % count] + turns[(index + ahead) % count] > math.pi / 2

    def is_even(back: int, ahead: int) -> bool:
        ends = [ring[(index + step) % count].segment.start for step in (-back, ahead)]
        return abs(abs(ends[0] - point) - abs(ends[1] - point)) <= EQUAL_LEGS

    # As they were made, both legs have the same nodes; by hand one may have got more.
    unequal = next(((n, n) for n in range(1, (count + 1) // 2) if is_mouth(n, n)), None)
    if unequal is not None and is_even(*unequal):
        return unequal
    for size in range(2, count):
        for back in range(1, size):
            if is_mouth(back, size - back) and is_even(back, size - back):
                return back, size - back
    if unequal is None:
        raise no_mouth(point)
    return unequal


def _leg_size(ring: Sequence[OutlineEdge], index: int, step: int) -> int:
    """Return how many edges from a dart point on, one way, form a straight leg."""
    count = len(ring)
    position = index if step > 0 else index - 1
    labelled = ring[position % count].leg
    point = ring[index % count].segment.start
    passed: list[complex] = []
    size = 0
    previous = None
    while size < count - 1:
        edge = ring[position % count]
        if edge.leg != labelled:
            break
        segment = edge.segment if step > 0 else edge.segment.reversed()
        if previous is not None and abs(turn(previous, segment.start_tangent())) > _LEG_END_TURN:
            break
        far = segment.end
        along = unit(far - point)
        heights = [dot(along, z - point) for z in [*passed, far]]
        straight = (
            segment.is_straight(LEG_STRAY)
            and all(abs(cross(along, z - point)) <= LEG_STRAY for z in passed)
            and all(a < b for a, b in itertools.pairwise(heights))
        )
        if not straight:
            if labelled:
                raise leg_not_straight(point)
            break
        passed.append(far)
        previous = segment.end_tangent()
        size += 1
        position += step
    return size


def take_apart(
    ring: Sequence[OutlineEdge],
    apexes: Sequence[complex],
    *,
    equalise: bool,
    own: Sequence[complex] = (),
    curved: Sequence[complex] = (),
    caps: Sequence[tuple[complex, complex]] = (),
) -> FoundDarts:
    """Take the darts out of an outline.

    Args:
        ring: the closed outline, interior at 1j·tangent.
        apexes: the pivots; a dart that points at none of them turns about its own point.
        equalise: whether mouth ends that differ are brought to the mean of their radii.
        own: first mouth ends of darts that turn about themselves though they point at an apex.
        curved: points of darts whose legs are known to be curved.
        caps: the ends of caps that are part of the outline.

    Raises:
        DartError: if a dart that points at the apex has unequal legs.
    """
    found = _sorted(ring, find_wedges(ring, curved, caps), apexes, own)
    _check_equal_legs(ring, found, apexes)
    wedges = sorted([*found.fan, *found.others], key=lambda wedge: wedge.first)
    if not wedges:
        return FoundDarts((tuple(ring),), (), (), (), tuple(found.doubtful))
    openings = [
        _opening_of(wedge, found.fan.get(wedge), apexes, k) for k, wedge in enumerate(wedges)
    ]
    runs = _runs_between(ring, wedges)
    if not all(runs):
        raise no_seam_between(wedges[0].ends[0])
    uneven = []
    drawn = []
    for wedge, opening in zip(wedges, openings, strict=True):
        differences = [abs(a - b) for a, b in map(wedge.radii, (opening.apex, wedge.point))]
        uneven.append(differences[0])
        drawn.append(DrawnWedge(wedge.ends[0], max(differences) <= TRUE_DART))
    if equalise:
        runs = _equalised(runs, openings)
    return FoundDarts(
        tuple(runs), tuple(openings), tuple(uneven), tuple(drawn), tuple(found.doubtful)
    )


class _Sorted(NamedTuple):
    """Wedges sorted by what they are.

    Attributes:
        fan: the darts that turn about an apex, each with the apex's number.
        others: the darts that turn about their own point.
        unequal: what points at an apex with legs too unequal for a dart, each with its number.
        doubtful: what looks like a dart of its own but for its unequal legs.
    """

    fan: dict[Wedge, int]
    others: list[Wedge]
    unequal: dict[Wedge, int]
    doubtful: list[Wedge]


def _sorted(
    ring: Sequence[OutlineEdge],
    wedges: Sequence[Wedge],
    apexes: Sequence[complex],
    own: Sequence[complex],
) -> _Sorted:
    """Tell what each wedge is: a dart about an apex, one about its own point, or in doubt."""
    found = _Sorted({}, [], {}, [])
    for wedge in wedges:
        if any(abs(wedge.ends[0] - mouth) < SHORTEST_SEGMENT for mouth in own):
            found.others.append(wedge)
            continue
        pointed = [n for n, apex in enumerate(apexes) if wedge.points_at(apex)]
        number = min(pointed, key=lambda n: abs(apexes[n] - wedge.point), default=None)
        difference = math.inf if number is None else _difference(wedge, apexes[number])
        has_own_point = all(abs(wedge.point - apex) > ON_APEX for apex in apexes)
        if number is not None and difference <= EQUAL_LEGS:
            found.fan[wedge] = number
        elif _is_lone_dart(ring, wedge, EQUAL_LEGS) and has_own_point:
            found.others.append(wedge)
        elif number is not None and difference <= UNEQUAL_LEGS:
            found.unequal[wedge] = number
        elif _is_lone_dart(ring, wedge, UNEQUAL_LEGS):
            found.doubtful.append(wedge)
    return found


def _difference(wedge: Wedge, apex: complex) -> float:
    first, second = wedge.radii(apex)
    return abs(first - second)


def _check_equal_legs(
    ring: Sequence[OutlineEdge], found: _Sorted, apexes: Sequence[complex]
) -> None:
    """Refuse a dart with unequal legs, unless it may be no dart and there are others.

    Raises:
        DartError: with both distances.
    """
    like_darts = [wedge for wedge in found.unequal if _is_lone_dart(ring, wedge, UNEQUAL_LEGS)]
    for wedge in like_darts or ([] if found.fan else found.unequal):
        apex = apexes[found.unequal[wedge]]
        raise unequal_radii(wedge.point, wedge.radii(apex), EQUAL_LEGS)


def _opening_of(wedge: Wedge, fan: int | None, apexes: Sequence[complex], number: int) -> Opening:
    """Return a dart as an opening about its apex, or about its own point where it is in no fan."""
    pivot = wedge.point if fan is None else apexes[fan]
    sides = None
    if wedge.sides is not None:
        there, back = wedge.sides
        sides = aimed(there, wedge.ends[0], pivot), aimed(back, wedge.ends[1], pivot)
    angle = mouth_angle(*wedge.ends, pivot)
    return Opening(pivot, wedge.point, angle, fan, sides=sides, number=number)


def _runs_between(
    ring: Sequence[OutlineEdge], wedges: Sequence[Wedge]
) -> list[tuple[OutlineEdge, ...]]:
    """Return the run of seam before each dart."""
    count = len(ring)
    runs = []
    for before, this in zip([wedges[-1], *wedges[:-1]], wedges, strict=True):
        size = (this.first - before.last - 1) % count
        runs.append(tuple(ring[(before.last + 1 + step) % count] for step in range(size)))
    return runs


def _is_lone_dart(ring: Sequence[OutlineEdge], wedge: Wedge, difference: float) -> bool:
    """Tell whether a wedge that points at no apex is a dart, its legs equal within a difference."""
    first, second = wedge.radii(wedge.point)
    angle = mouth_angle(*wedge.ends, wedge.point)
    if abs(first - second) > difference or not 0 < angle < _LONE_DART_ANGLE:
        return False
    before = ring[wedge.first - 1].segment.end_tangent()
    after = ring[(wedge.last + 1) % len(ring)].segment.start_tangent()
    closed = after * complex(math.cos(angle), -math.sin(angle))
    return abs(turn(before, closed)) < CLOSED_MOUTH_TURN


def _equalised(
    runs: Sequence[tuple[OutlineEdge, ...]], openings: Sequence[Opening]
) -> list[tuple[OutlineEdge, ...]]:
    """Bring the mouth ends of every dart to the mean of their distances from its apex."""
    result = [list(run) for run in runs]
    count = len(result)
    for k, opening in enumerate(openings):
        before, after = result[k], result[(k + 1) % count]
        ends = before[-1].segment.end, after[0].segment.start
        radii = [abs(end - opening.apex) for end in ends]
        if abs(radii[0] - radii[1]) < _EQUAL:
            continue
        mean = sum(radii) / 2
        first, second = (opening.apex + unit(end - opening.apex) * mean for end in ends)
        last, head = before[-1], after[0]
        before[-1] = last._replace(segment=with_ends(last.segment, last.segment.start, first))
        head = after[0]
        after[0] = head._replace(segment=with_ends(head.segment, second, head.segment.end))
    return [tuple(run) for run in result]
