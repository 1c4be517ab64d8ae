"""Finding the darts that a block's outline already has."""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Sequence
from typing import NamedTuple

from drafting_core.block.dart_words import (
    no_dart_any_more,
    no_mouth,
    no_seam_between,
    not_found_again,
    unequal_now,
    unequal_radii,
    unlike_legs,
)
from drafting_core.block.leg_shapes import (
    ALIKE,
    HARDLY_BOWED,
    MIRRORED,
    MOST_BOW,
    TURNED,
    bow,
    likeness,
    runs_on,
    turned_alike,
)
from drafting_core.block.remembered import AT_NODE, KnownDart
from drafting_core.model.outline import SHORTEST_SEGMENT, OutlineEdge, encloses, with_ends
from drafting_core.model.piece import Opening, Sides, aimed, mouth_angle
from drafting_core.plane.curves import (
    Cubic,
    Segment,
    backward,
    chain_length,
    cross,
    dot,
    turn,
    unit,
)
from drafting_core.text.errors import DartError

#: Mouth ends count as equally far from the apex within this (mm).
EQUAL_LEGS = 3.0
#: Beside mouth ends that are made equal the seam gives way over this length (mm).
EVENED_OVER = 40.0
#: Beyond `EQUAL_LEGS` and up to this the dart is refused as unequal; further apart it is no dart.
UNEQUAL_LEGS = 25.0
#: An apex this near to a point or to the outline counts as on it (mm).
ON_APEX = 0.5
#: Legs that differ by at most this, from the apex and from the point, point truly (mm).
TRUE_DART = 0.1
#: Distances that differ by less are equal: rounding, not drafting (mm).
_EQUAL = 1e-9
#: A leg strays at most this from its chord where nothing but that says where it ends (mm).
LEG_STRAY = 0.3
#: The sharpest inward turn that is no dart point yet: between the legs it leaves 120°.
_POINT_TURN = -math.radians(60.0)
#: A leg ends where the outline turns by more than this.
_LEG_END_TURN = math.radians(30.0)
#: A dart without an apex of its own is narrower than this, and its closed mouth turns less than
#: `CLOSED_MOUTH_TURN`: a V-neck or a slit is no dart.
_LONE_DART_ANGLE = math.radians(75.0)
CLOSED_MOUTH_TURN = math.radians(45.0)
#: The turns from the seam into the one leg and out of the other sum to more than this: two nodes
#: inside of legs do not.
_MOUTH_TURN = math.radians(60.0)
#: Sides of an inward corner that differ by at most this share of the longer one may be legs.
_NEARLY_EQUAL = 0.25
#: Over this between the legs an inward corner is like no dart, and beyond the turn of its closed
#: mouth the seams beside it would not meet.
_WIDEST_DART = math.radians(120.0)
_SHARPEST_MEETING = math.radians(150.0)
#: Legs that curve and are not alike.
NEITHER = "neither"


class Wedge(NamedTuple):
    """Two legs meeting in an inward corner of the outline.

    Attributes:
        first: the index of the first edge of the leg toward the point.
        last: the index of the last edge of the leg away from the point.
        point: where the legs meet.
        ends: the two mouth ends in the outline's direction.
        sides: the legs from the mouth to the point, where they stay curved.
        drawn: the legs from the mouth to the point as they were drawn.
        alike: how curved legs are alike: turned, mirrored or `NEITHER`; empty where they are
            straight, or are made so.
        is_half_said: whether a label calls only one of the legs a leg.
        known: what a result knows of it, where it is a dart of one.
    """

    first: int
    last: int
    point: complex
    ends: tuple[complex, complex]
    sides: Sides | None = None
    drawn: Sides | None = None
    alike: str = ""
    is_half_said: bool = False
    known: KnownDart | None = None

    @property
    def bow(self) -> float:
        """How far the legs, as drawn, stray from their chords at most, in mm."""
        return 0.0 if self.drawn is None else max(map(bow, self.drawn))

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
        straightened: by how much its legs bowed that were made straight, in mm; else 0.
        evened: by how much its curved legs differed that were made alike, in mm; else 0.
    """

    mouth: complex
    is_true: bool
    straightened: float = 0.0
    evened: float = 0.0


class TooUnequal(NamedTuple):
    """What points at an apex with legs so unequal that it was taken as outline.

    Attributes:
        point: where its legs meet.
        radii: how far its mouth ends lie from the apex, in mm.
    """

    point: complex
    radii: tuple[float, float]


class FoundDarts(NamedTuple):
    """The outline taken apart: runs of seam edges and the darts between them.

    Attributes:
        runs: the seam edges, run by run.
        openings: the darts; ``openings[k]`` follows ``runs[k]``.
        uneven: by how much the mouth ends of a dart differed, in mm, dart by dart.
        drawn: how truly each dart points at its apex.
        doubtful: wedges like a dart that were left as seams.
        too_unequal: what points at an apex with legs too unequal to be made equal.
    """

    runs: tuple[tuple[OutlineEdge, ...], ...]
    openings: tuple[Opening, ...]
    uneven: tuple[float, ...]
    drawn: tuple[DrawnWedge, ...]
    doubtful: tuple[Wedge, ...] = ()
    too_unequal: tuple[TooUnequal, ...] = ()


def _distance_to_line(point: complex, start: complex, end: complex) -> float:
    return abs(cross(unit(end - start), point - start))


def find_wedges(
    ring: Sequence[OutlineEdge],
    curved: Sequence[complex] = (),
    caps: Sequence[tuple[complex, complex]] = (),
    known: Sequence[KnownDart] = (),
) -> list[Wedge]:
    """Return every inward corner with two sides that may be legs, in the outline's order.

    Args:
        ring: the closed outline, interior at 1j·tangent.
        curved: points of darts whose legs are known to be curved.
        caps: the ends of caps that are part of the outline, none of whose corners is a dart.
        known: the darts of a result, by nodes of its outline.

    Raises:
        DartError: if a dart whose legs are known to be curved, or one of a result, is no longer
            found.
    """
    wedges: dict[int, Wedge] = {}
    barred = {index for ends in caps for index in _corners_between(ring, *ends)}
    for dart in known:
        if dart.may_go and not _is_still_there(ring, dart):
            continue
        index, back, ahead = _known_legs(ring, dart)
        wedge = _wedge_of(ring, index, back, ahead)
        if wedge is None:
            raise no_dart_any_more(dart.point if dart.was is None else dart.was)
        wedges[index] = wedge._replace(known=dart, is_half_said=False)
        barred |= {(index + step) % len(ring) for step in range(-back, ahead + 1)}
    for at in () if known else curved:
        index, wedge = _curved_wedge(ring, at, wedges)
        wedges[index] = wedge
    for index in range(len(ring)):
        if index in wedges or index in barred:
            continue
        if (found := _wedge_at(ring, index)) is not None:
            wedges[index] = found
    return [wedges[index] for index in sorted(wedges)]


def _is_still_there(ring: Sequence[OutlineEdge], dart: KnownDart) -> bool:
    """Tell whether the outline still has a dart whose point was deleted."""
    try:
        wedge = _wedge_of(ring, *_known_legs(ring, dart))
    except DartError:
        return False
    if wedge is None or wedge.alike == NEITHER:
        return False
    return _difference(wedge, wedge.point) <= EQUAL_LEGS


def _known_legs(ring: Sequence[OutlineEdge], dart: KnownDart) -> tuple[int, int, int]:
    """Return the node of a known dart's point, and how many edges its legs have before and behind.

    Raises:
        DartError: if its point and mouth ends are no three nodes in that order.
    """
    count = len(ring)
    nodes = []
    for z in (dart.mouth[0], dart.point, dart.mouth[1]):
        node = next((k for k in range(count) if abs(ring[k].segment.start - z) <= AT_NODE), None)
        if node is None:
            raise no_dart_any_more(dart.point if dart.was is None else dart.was)
        nodes.append(node)
    first, index, last = nodes
    back, ahead = (index - first) % count, (last - index) % count
    if not back or not ahead or back + ahead >= count:
        raise no_dart_any_more(dart.point if dart.was is None else dart.was)
    return index, back, ahead


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


def _wedge_at(ring: Sequence[OutlineEdge], index: int) -> Wedge | None:
    """Return what may be a dart whose point is where an edge starts.

    Its legs lead to the next corner on both sides. Where that makes no legs, since one of them
    meets its seam at a slant, they end at the two nodes at which the outline turns most and that
    are equally far from the point.
    """
    before, after = ring[index - 1].segment, ring[index].segment
    if turn(before.end_tangent(), after.start_tangent()) > _POINT_TURN:
        return None
    back, ahead = (_side_size(ring, index, step) for step in (-1, 1))
    whole = _wedge_of(ring, index, back, ahead) if back + ahead < len(ring) else None
    is_sure = back == ahead == 1 or _are_even(ring, index, back, ahead)
    is_mouth = _is_mouth(ring, index - back, index + ahead - 1)
    if whole is not None and whole.alike != NEITHER and is_sure and is_mouth:
        return whole
    tried = [
        wedge
        for n in range(1, back + 1)
        for m in range(1, ahead + 1)
        if n + m < len(ring)
        and _are_even(ring, index, n, m)
        and _is_mouth(ring, index - n, index + m - 1)
        and (wedge := _wedge_of(ring, index, n, m)) is not None
        and wedge.alike != NEITHER
    ]
    if tried:
        return max(tried, key=lambda wedge: _mouth_turn(ring, wedge.first, wedge.last))
    straight = _straight_wedge(ring, index)
    if straight is None or whole is None:
        return straight or whole
    if not _is_mouth(ring, straight.first, straight.last):
        return whole
    return min((straight, whole), key=lambda wedge: _difference(wedge, wedge.point))


def _side_size(ring: Sequence[OutlineEdge], index: int, step: int) -> int:
    """Return how many edges lead from a dart point, one way, to the next corner."""
    count = len(ring)
    position = index if step > 0 else index - 1
    labelled = ring[position % count].leg
    size = 0
    while size < count - 1:
        this, following = ring[position % count], ring[(position + step) % count]
        size += 1
        position += step
        ways = (this, following) if step > 0 else (following, this)
        if (
            following.leg != labelled
            or abs(turn(ways[0].segment.end_tangent(), ways[1].segment.start_tangent()))
            > _LEG_END_TURN
        ):
            break
    return size


def _are_even(ring: Sequence[OutlineEdge], index: int, back: int, ahead: int) -> bool:
    """Tell whether two nodes are equally far from a dart point."""
    point = ring[index].segment.start
    ends = ring[index - back].segment.start, ring[(index + ahead) % len(ring)].segment.start
    return abs(abs(ends[0] - point) - abs(ends[1] - point)) <= EQUAL_LEGS


def _mouth_turn(ring: Sequence[OutlineEdge], first: int, last: int) -> float:
    """Return the sum of the turns from the seam into a leg, and out of the other.

    Args:
        ring: the closed outline.
        first: the index of the first edge of the one leg.
        last: the index of the last edge of the other.
    """
    count = len(ring)
    joints = ((first - 1) % count, first % count), (last % count, (last + 1) % count)
    return sum(
        turn(ring[k].segment.end_tangent(), ring[n].segment.start_tangent()) for k, n in joints
    )


def _is_mouth(ring: Sequence[OutlineEdge], first: int, last: int) -> bool:
    return _mouth_turn(ring, first, last) > _MOUTH_TURN


def _wedge_of(ring: Sequence[OutlineEdge], index: int, back: int, ahead: int) -> Wedge | None:
    """Return the wedge with legs of so many edges, or None where they are none."""
    count = len(ring)
    first, last = (index - back) % count, (index + ahead - 1) % count
    there = tuple(ring[(first + step) % count].segment for step in range(back))
    out = tuple(ring[(index + step) % count].segment for step in range(ahead))
    point, ends = out[0].start, (there[0].start, out[-1].end)
    if cross(ends[0] - point, ends[1] - point) <= 0:
        return None
    legs = there, backward(out)
    is_half_said = ring[index - 1].leg != ring[index].leg
    drawn = Wedge(first, last, point, ends, drawn=legs, is_half_said=is_half_said)
    if all(len(leg) == 1 and not isinstance(leg[0], Cubic) for leg in legs):
        return drawn
    if drawn.bow <= MOST_BOW and all(map(_leads_on, legs)):
        return drawn
    radii = drawn.radii(point)
    is_like_legs = abs(radii[0] - radii[1]) <= EQUAL_LEGS
    return drawn._replace(alike=_kind(legs) if is_like_legs else NEITHER)


def _leads_on(leg: Sequence[Segment]) -> bool:
    """Tell whether the nodes of a leg come nearer and nearer to its end."""
    along = unit(leg[-1].end - leg[0].start)
    return runs_on(leg) and all(dot(along, segment.end - segment.start) > 0 for segment in leg)


def _kind(legs: Sides) -> str:
    alike, difference = likeness(legs)
    return alike if difference <= ALIKE else NEITHER


def _straight_wedge(ring: Sequence[OutlineEdge], index: int) -> Wedge | None:
    """Return the wedge whose sides go on as long as they are straight, if it has any."""
    count = len(ring)
    back = _leg_size(ring, index, -1)
    ahead = _leg_size(ring, index, +1)
    if not back or not ahead or back + ahead >= count:
        return None
    return _wedge_of(ring, index, back, ahead)


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
    legs = there, backward(out)
    wedge = Wedge(
        (index - back) % count,
        (index + ahead - 1) % count,
        ring[index].segment.start,
        (there[0].start, out[-1].end),
        drawn=legs,
    )
    alike = _kind(legs)
    # Legs that bow less are no curved dart unless they turn: they may have been bent by hand.
    is_curved = wedge.bow > MOST_BOW or alike == TURNED
    return index, wedge._replace(alike=alike if is_curved else "")


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
    known: Sequence[KnownDart] = (),
    caps: Sequence[tuple[complex, complex]] = (),
    even_legs: bool = False,
    as_drawn: bool | Collection[complex] = False,
) -> FoundDarts:
    """Take the darts out of an outline.

    Args:
        ring: the closed outline, interior at 1j·tangent.
        apexes: the pivots; a dart that points at none of them turns about its own point.
        equalise: whether mouth ends that differ are brought to the mean of their radii.
        own: first mouth ends of darts that turn about themselves though they point at an apex.
        curved: points of darts whose legs are known to be curved.
        known: the darts of a result, by nodes of its outline.
        caps: the ends of caps that are part of the outline.
        even_legs: whether mouth ends further apart may be brought together too.
        as_drawn: whether legs stay as they were drawn; or the first mouth ends of darts whose
            legs do.

    Raises:
        DartError: if a dart that points at the apex has unequal legs, or a dart legs that curve
            and are not alike.
    """
    limit = UNEQUAL_LEGS if even_legs and equalise else EQUAL_LEGS
    found = _sorted(ring, find_wedges(ring, curved, caps, known), apexes, own, limit)
    _check_equal_legs(ring, found, apexes)
    wedges = sorted([*found.fan, *found.others], key=lambda wedge: wedge.first)
    left = tuple(found.doubtful), tuple(found.too_unequal)
    if not wedges:
        return FoundDarts((tuple(ring),), (), (), (), *left)
    legs = [_legs_of(wedge, _stays(wedge, as_drawn)) for wedge in wedges]
    openings = [
        _opening_of(wedge._replace(sides=sides), found.fan.get(wedge), apexes, k)
        for k, (wedge, sides) in enumerate(zip(wedges, legs, strict=True))
    ]
    runs = _runs_between(ring, wedges)
    if not all(runs):
        raise no_seam_between(wedges[0].ends[0])
    uneven = []
    drawn = []
    for wedge, opening, sides in zip(wedges, openings, legs, strict=True):
        differences = [abs(a - b) for a, b in map(wedge.radii, (opening.apex, wedge.point))]
        uneven.append(differences[0])
        straightened = wedge.bow if sides is None and wedge.bow > HARDLY_BOWED else 0.0
        made_alike = wedge.drawn is not None and sides not in (None, wedge.drawn)
        evened = likeness(wedge.drawn)[1] if made_alike and wedge.drawn is not None else 0.0
        is_true = max(differences) <= TRUE_DART
        if differences[0] > EQUAL_LEGS:
            # Mouth ends that are made equal are as far from the apex as they will be.
            first, second = _at_one_radius(wedge.ends, opening.apex)
            is_true = abs(abs(first - wedge.point) - abs(second - wedge.point)) <= TRUE_DART
        drawn.append(DrawnWedge(wedge.ends[0], is_true, straightened, evened))
    if equalise:
        runs = _equalised(runs, openings)
    return FoundDarts(tuple(runs), tuple(openings), tuple(uneven), tuple(drawn), *left)


def _stays(wedge: Wedge, as_drawn: bool | Collection[complex]) -> bool:
    """Tell whether the legs of a wedge stay as they were drawn."""
    if isinstance(as_drawn, bool):
        return as_drawn
    return any(abs(wedge.ends[0] - mouth) < SHORTEST_SEGMENT for mouth in as_drawn)


def _legs_of(wedge: Wedge, stays: bool) -> Sides | None:
    """Return the legs of a dart where they do not become straight.

    Raises:
        DartError: if they curve and are not alike.
    """
    if wedge.drawn is None:
        return None
    if wedge.alike == NEITHER:
        first, second = (chain_length(leg) for leg in wedge.drawn)
        raise unlike_legs(wedge.point, (first, second), wedge.bow)
    if stays:
        return wedge.drawn if wedge.bow > _EQUAL else None
    if not wedge.alike:
        return None
    return turned_alike(wedge.drawn) if wedge.alike == TURNED else wedge.drawn


class _Sorted(NamedTuple):
    """Wedges sorted by what they are.

    Attributes:
        fan: the darts that turn about an apex, each with the apex's number.
        others: the darts that turn about their own point.
        unequal: what points at an apex with legs too unequal for a dart, each with its number.
        doubtful: what looks like a dart of its own but is none.
        too_unequal: what points at an apex with legs that cannot be made equal.
    """

    fan: dict[Wedge, int]
    others: list[Wedge]
    unequal: dict[Wedge, int]
    doubtful: list[Wedge]
    too_unequal: list[TooUnequal]


def _sorted(
    ring: Sequence[OutlineEdge],
    wedges: Sequence[Wedge],
    apexes: Sequence[complex],
    own: Sequence[complex],
    limit: float,
) -> _Sorted:
    """Tell what each wedge is: a dart about an apex, one about its own point, or in doubt.

    Args:
        ring: the closed outline.
        wedges: the wedges in it.
        apexes: the pivots.
        own: first mouth ends of darts that turn about themselves though they point at an apex.
        limit: by how many mm the mouth ends of a dart may differ.
    """
    found = _Sorted({}, [], {}, [], [])
    for wedge in wedges:
        if any(abs(wedge.ends[0] - mouth) < SHORTEST_SEGMENT for mouth in own):
            found.others.append(wedge)
            continue
        if wedge.known is not None:
            _sort_known(found, wedge, wedge.known, apexes, limit)
            continue
        if wedge.is_half_said:
            if _looks_like_dart(ring, wedge):
                found.doubtful.append(wedge)
            continue
        pointed = [n for n, apex in enumerate(apexes) if wedge.points_at(apex)]
        number = min(pointed, key=lambda n: abs(apexes[n] - wedge.point), default=None)
        difference = math.inf if number is None else _difference(wedge, apexes[number])
        has_own_point = all(abs(wedge.point - apex) > ON_APEX for apex in apexes)
        if number is not None and difference <= limit:
            found.fan[wedge] = number
        elif _is_lone_dart(ring, wedge, limit) and has_own_point:
            found.others.append(wedge)
        elif number is not None and difference <= UNEQUAL_LEGS:
            found.unequal[wedge] = number
        else:
            if _is_lone_dart(ring, wedge, UNEQUAL_LEGS) or _looks_like_dart(ring, wedge):
                found.doubtful.append(wedge)
            if number is not None:
                radii = wedge.radii(apexes[number])
                found.too_unequal.append(TooUnequal(wedge.point, radii))
    return found


def _sort_known(
    found: _Sorted, wedge: Wedge, known: KnownDart, apexes: Sequence[complex], limit: float
) -> None:
    """Take a dart of a result for what it was made as.

    Raises:
        DartError: if its legs have become unequal.
    """
    if _difference(wedge, wedge.point) > limit:
        raise unequal_now(wedge.point, wedge.radii(wedge.point), EQUAL_LEGS)
    number = None
    if known.apex is not None and apexes:
        apex = known.apex
        number = min(range(len(apexes)), key=lambda n: abs(apexes[n] - apex))
    if number is None or _difference(wedge, apexes[number]) > limit:
        found.others.append(wedge)
    else:
        found.fan[wedge] = number


def _looks_like_dart(ring: Sequence[OutlineEdge], wedge: Wedge) -> bool:
    """Tell whether a drafter may have meant a wedge as a dart.

    Its sides are nearly equal, and the seams beside it go on in each other when it is closed, or
    meet in an outward corner.
    """
    radii = wedge.radii(wedge.point)
    difference = abs(radii[0] - radii[1])
    angle = mouth_angle(*wedge.ends, wedge.point)
    if difference > min(UNEQUAL_LEGS, _NEARLY_EQUAL * max(radii)) or not 0 < angle <= _WIDEST_DART:
        return False
    return -CLOSED_MOUTH_TURN < _closed_turn(ring, wedge, angle) < _SHARPEST_MEETING


def _closed_turn(ring: Sequence[OutlineEdge], wedge: Wedge, angle: float) -> float:
    """Return the turn from the seam before a wedge into that behind it, closed by its angle."""
    before = ring[wedge.first - 1].segment.end_tangent()
    after = ring[(wedge.last + 1) % len(ring)].segment.start_tangent()
    return turn(before, after * complex(math.cos(angle), -math.sin(angle)))


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
    mirrored = sides is not None and wedge.alike == MIRRORED
    return Opening(pivot, wedge.point, angle, fan, sides=sides, number=number, is_mirrored=mirrored)


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
    return abs(_closed_turn(ring, wedge, angle)) < CLOSED_MOUTH_TURN


def _at_one_radius(ends: tuple[complex, complex], apex: complex) -> tuple[complex, complex]:
    """Return mouth ends on their own rays, at the mean of their distances from an apex."""
    mean = sum(abs(end - apex) for end in ends) / 2
    first, second = (apex + unit(end - apex) * mean for end in ends)
    return first, second


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
        first, second = _at_one_radius((ends[0], ends[1]), opening.apex)
        if abs(radii[0] - radii[1]) > EQUAL_LEGS:
            # Seldom used: its import is left to those who use it.
            from drafting_core.block.even_legs import blended_to

            result[k] = blended_to(before, first, EVENED_OVER, at_end=True)
            behind = result[(k + 1) % count]
            result[(k + 1) % count] = blended_to(behind, second, EVENED_OVER, at_end=False)
            continue
        last, head = before[-1], after[0]
        before[-1] = last._replace(segment=with_ends(last.segment, last.segment.start, first))
        head = after[0]
        after[0] = head._replace(segment=with_ends(head.segment, second, head.segment.end))
    return [tuple(run) for run in result]
