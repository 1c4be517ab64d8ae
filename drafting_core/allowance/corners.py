"""Where the parallels of neighbouring seams meet: mitre, trim, square cut or step."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

from drafting_core.plane.crossings import own_crossing, segment_crossings
from drafting_core.plane.curves import Cubic, Line, Segment, cross, dot, unit
from drafting_core.plane.motions import STILL, Motion

#: On a joint that turns less than this (15 degrees), widths that differ make a step.
STEP_TURN = math.radians(15.0)

#: Widths that differ by less than this in mm are one.
SAME_WIDTH = 1e-9

#: Neighbours that have come to turn by nearly half a turn inward never meet.
_CLOSED = math.pi - 1e-3

#: A square cut at a fold edge that is further than so many longest mitres away is none.
_FAR_CUT = 2.0

#: Halvings of a parameter until rounding ends them.
_HALVINGS = 50

#: Length in mm of the straight extension of a parallel: beyond any drawing.
_FAR = 1e5


class Run:
    """A smooth run of parallel segments at one width, extended straight at both ends.

    A position on it is a number: below 0 the distance in mm before its start, negative; up to
    the number of segments the index of a segment plus the parameter on it; beyond, that number
    plus the distance in mm behind its end.

    Attributes:
        segments: the parallel, end to end; none where the parallel comes back from a cusp right
            at a corner, so that only its extensions are of use.
        width: its distance in mm from the stitch line.
        stitch_start: where the stitch line of the run starts.
        stitch_end: where it ends.
        start_tangent: its direction at the start.
        end_tangent: its direction at the end.
        turning: the signed angle in radians by which it turns.
        stitch: the segments of the stitch line.
        size: the length of the stitch line in mm, roughly.
        start: the first point of the parallel.
        end: its last point.
        is_fold: whether it is a fold edge, of width 0.
    """

    __slots__ = (
        "_lengths", "end", "end_tangent", "is_fold", "segments", "size", "start",
        "start_tangent", "stitch", "stitch_end", "stitch_start", "turning", "width",
    )  # fmt: skip

    def __init__(
        self,
        segments: list[Segment],
        width: float,
        stitch_start: complex,
        stitch_end: complex,
        start_tangent: complex,
        end_tangent: complex,
        turning: float,
        stitch: list[Segment],
        size: float,
        start: complex,
        end: complex,
        is_fold: bool = False,
    ) -> None:
        """Take the run as it is laid."""
        self.segments, self.width = segments, width
        self.stitch_start, self.stitch_end = stitch_start, stitch_end
        self.start_tangent, self.end_tangent = start_tangent, end_tangent
        self.turning, self.stitch, self.size = turning, stitch, size
        self.start, self.end, self.is_fold = start, end, is_fold
        self._lengths: list[float] = []

    def move(self, by: complex) -> None:
        """Shift the parallel, not its stitch line."""
        self.segments = [segment.mapped(lambda z: z + by) for segment in self.segments]
        self.start, self.end = self.start + by, self.end + by

    def moved(self, motion: Motion) -> Run:
        """Return the run in another frame."""
        if motion == STILL:
            return self
        return Run(
            [segment.mapped(motion) for segment in self.segments],
            self.width,
            motion(self.stitch_start),
            motion(self.stitch_end),
            motion.spin * self.start_tangent,
            motion.spin * self.end_tangent,
            self.turning,
            [segment.mapped(motion) for segment in self.stitch],
            self.size,
            motion(self.start),
            motion(self.end),
            self.is_fold,
        )

    def distance(self, position: float) -> float:
        """Return the length in mm, roughly, from the start of the run to a position."""
        if position <= 0.0:
            return position
        if not self._lengths:
            total = 0.0
            for segment in self.segments:
                self._lengths.append(total)
                total += rough_length(segment)
            self._lengths.append(total)
        index = int(position)
        if index >= len(self.segments):
            return self._lengths[-1] + position - len(self.segments)
        share = position - index
        return self._lengths[index] + share * (self._lengths[index + 1] - self._lengths[index])

    def piece(self, index: int) -> Segment:
        """Return a segment; index -1 gives the extension before, the count that behind.

        The extension before is directed like the run: it ends where the run starts.
        """
        if index < 0:
            return Line(self.start - _FAR * self.start_tangent, self.start)
        if index >= len(self.segments):
            return Line(self.end, self.end + _FAR * self.end_tangent)
        return self.segments[index]

    def position(self, index: int, t: float) -> float:
        """Return the position at a parameter of a piece."""
        if index < 0:
            return (t - 1.0) * _FAR
        if index >= len(self.segments):
            return len(self.segments) + t * _FAR
        return index + t

    def between(self, low: float, high: float, enter: complex, leave: complex) -> list[Segment]:
        """Return the run from one position to a later one, with the given end points."""
        count = len(self.segments)
        if high <= 0.0 or low >= count:
            return [Line(enter, leave)]
        parts: list[Segment] = []
        first, last = max(0, int(low)), min(count - 1, math.ceil(high) - 1)
        for index in range(first, last + 1):
            t0, t1 = max(0.0, low - index), min(1.0, high - index)
            if t1 > t0:
                parts.append(self.segments[index].part(t0, t1))
        if not parts:
            return [Line(enter, leave)]
        if low < 0.0 and isinstance(parts[0], Cubic):
            parts.insert(0, Line(enter, parts[0].start))
        else:
            parts[0] = parts[0]._replace(start=enter)
        if high > count and isinstance(parts[-1], Cubic):
            parts.append(Line(parts[-1].end, leave))
        else:
            parts[-1] = parts[-1]._replace(end=leave)
        return parts


class CutJoint(NamedTuple):
    """Where one run is left and the next entered.

    Attributes:
        before: the position on the run before.
        after: the position on the run behind.
        leave: the point at which the run before is left.
        enter: the point at which the run behind is entered; where the two differ, a straight
            edge joins them.
    """

    before: float
    after: float
    leave: complex
    enter: complex


def rough_length(segment: Segment) -> float:
    """Return the mean of the lengths of chord and control polygon, in mm."""
    chord = abs(segment.end - segment.start)
    if isinstance(segment, Line):
        return chord
    a, b, c, d = segment
    return 0.5 * (chord + abs(b - a) + abs(c - b) + abs(d - c))


def meet(
    a: Run, b: Run, corner: complex, net_turn: float, mitre_limit: float, *, neighbours: bool
) -> CutJoint | None:
    """Return where two runs meet.

    Args:
        a: the run before.
        b: the run behind.
        corner: where the stitch lines of the two meet, or the middle of what lay between.
        net_turn: the signed angle in radians from the end of the one to the start of the other,
            not reduced to half a turn; positive is outward.
        mitre_limit: the longest mitre, in widths.
        neighbours: whether the stitch lines of the two are neighbours.

    Returns:
        The joint, or None where the two do not meet.
    """
    widest = max(a.width, b.width)
    slight = abs(net_turn) < STEP_TURN
    unequal = abs(a.width - b.width) > SAME_WIDTH
    limit = mitre_limit * widest
    if a.is_fold != b.is_fold:
        return _meeting_on_fold(a, b, corner, net_turn, limit)
    if slight and unequal:
        return step(a, b)
    if net_turn <= -_CLOSED:
        return None
    hit = _nearest_hit(a, b, net_turn)
    # Up to a right angle a step can take the place of a meeting.
    can_step = abs(net_turn) < math.pi / 2
    if hit is None:
        if slight or (can_step and (neighbours or unequal)):
            return step(a, b)
        return _square_cut(a, b, corner, limit, None) if net_turn > 0.0 else None
    extended_a, extended_b = hit.before > len(a.segments), hit.after < 0.0
    far = abs(hit.leave - corner) > limit + 1e-9
    if extended_a and extended_b:
        if not far:
            return hit
        return step(a, b) if net_turn < STEP_TURN else _square_cut(a, b, corner, limit, hit)
    if not extended_a and not extended_b:
        return step(a, b) if slight and far and not neighbours else hit
    if can_step and (far or (neighbours and _runs_through(a, b, hit))):
        return step(a, b)
    return hit


def _meeting_on_fold(
    a: Run, b: Run, corner: complex, net_turn: float, limit: float
) -> CutJoint | None:
    """Return where a run meets a fold edge: extended or trimmed to its line, never by a step.

    Nothing of a piece lies beyond a fold edge.
    """
    if net_turn <= -_CLOSED:
        return None
    hit = _nearest_hit(a, b, net_turn)
    if hit is None:
        cut = _square_cut(a, b, corner, limit, None) if net_turn > 0.0 else None
        # All of the parallel lies beyond the fold, or nearly along it.
        return cut if cut is not None and abs(cut.leave - corner) <= _FAR_CUT * limit else None
    if hit.before > len(a.segments) and hit.after < 0.0:
        return _square_cut(a, b, corner, limit, hit) if net_turn > 0.0 else hit
    return hit


def _nearest_hit(a: Run, b: Run, net_turn: float) -> CutJoint | None:
    """Return the crossing of two extended runs that is nearest to their joint along them.

    At equal widths one is wanted that extends both at an outward corner, and trims both at an
    inward one; any other is second best.
    """
    equal, outward = abs(a.width - b.width) <= SAME_WIDTH, net_turn > 0.0
    count_a, count_b = len(a.segments), len(b.segments)
    last, first = a.piece(max(0, count_a - 1)), b.piece(0)
    if isinstance(last, Line) and isinstance(first, Line) and a is not b and count_a and count_b:
        quick = _line_hit(a, b, last, first)
        if quick is not None:
            return quick
    window = 1
    any_hit: CutJoint | None = None
    any_cost = math.inf
    while True:
        pieces_a = list(range(count_a, max(-1, count_a - window) - 1, -1))
        pieces_b = list(range(-1, min(count_b, window - 1) + 1))
        if window > count_a:
            pieces_a.append(-1)
        wanted: CutJoint | None = None
        cost = math.inf
        whole = a.distance(count_a)
        for i in pieces_a:
            piece_a = a.piece(i)
            for j in pieces_b:
                for t, u in _crossings(piece_a, b.piece(j)):
                    before, after = a.position(i, t), b.position(j, u)
                    if a is b and before <= after + 1e-9:
                        continue
                    way = abs(a.distance(before) - whole) + abs(b.distance(after))
                    point = piece_a.point(t) if 0 <= i < count_a else b.piece(j).point(u)
                    hit = CutJoint(before, after, point, point)
                    if way < any_cost:
                        any_cost, any_hit = way, hit
                    sides = (
                        (before >= count_a, after <= 0.0)
                        if outward
                        else (before <= count_a, after >= 0.0)
                    )
                    if way < cost and (not equal or all(sides)):
                        cost, wanted = way, hit
        if wanted is not None:
            return wanted
        if window > count_a and window > count_b:
            return any_hit
        window *= 4


def _crossings(first: Segment, second: Segment) -> list[tuple[float, float]]:
    if first is second:
        own = own_crossing(first) if isinstance(first, Cubic) else None
        return [] if own is None else [(own[1], own[0])]
    return segment_crossings(first, second)


def _line_hit(a: Run, b: Run, last: Line, first: Line) -> CutJoint | None:
    """Return the meeting of two straight ends, if it lies on these two pieces."""
    p, q = last.end - last.start, first.end - first.start
    under = cross(p, q)
    count_a = len(a.segments)
    if abs(under) < 1e-12 * abs(p) * abs(q):
        # On one line: they join half-way between their ends.
        if dot(p, q) > 0.0 and abs(cross(unit(p), first.start - last.end)) < 1e-6:
            point = 0.5 * (last.end + first.start)
            t = 1.0 + dot(point - last.end, p) / dot(p, p)
            u = dot(point - first.start, q) / dot(q, q)
            return CutJoint(_on_line(t, p, count_a), _on_line(u, q, 1), point, point)
        return None
    between = first.start - last.start
    t, u = cross(between, q) / under, cross(between, p) / under
    if (t < 0.0 and count_a > 1) or (u > 1.0 and len(b.segments) > 1):
        return None
    point = last.start + p * t if abs(t - 0.5) < abs(u - 0.5) else first.start + q * u
    return CutJoint(_on_line(t, p, count_a), _on_line(u, q, 1), point, point)


def _on_line(t: float, along: complex, count: int) -> float:
    """Return the position for a parameter, also beyond 0 and 1, on the last of ``count``."""
    if t > 1.0:
        return count + (t - 1.0) * abs(along)
    if t < 0.0:
        return t * abs(along)
    return count - 1 + t


def _runs_through(a: Run, b: Run, hit: CutJoint) -> bool:
    """Tell whether the straight extension up to a meeting runs through the stitch line."""
    if hit.before > len(a.segments):
        bridge, stitch = Line(a.end, hit.leave), b.stitch
        own_width = a.width
    else:
        bridge, stitch = Line(hit.leave, b.start), a.stitch
        own_width = b.width
    if abs(bridge.end - bridge.start) < 1e-9:
        return False
    for segment in stitch:
        if isinstance(segment, Cubic):
            for t, _ in segment_crossings(bridge, segment):
                # A width of 0 starts on the stitch line itself.
                at_start = t < 1e-9 if hit.before > len(a.segments) else t > 1.0 - 1e-9
                if not (own_width == 0.0 and at_start):
                    return True
    return False


def _square_cut(
    a: Run, b: Run, corner: complex, limit: float, hit: CutJoint | None
) -> CutJoint | None:
    """Return a straight edge across two extended runs, square to their corner's bisector."""
    if abs(a.end_tangent - b.start_tangent) < 1e-9:
        return None
    outward = unit(a.end_tangent - b.start_tangent)
    if hit is not None and dot(hit.leave - corner, outward) <= limit:
        return hit
    rise_a, rise_b = dot(a.end_tangent, outward), -dot(b.start_tangent, outward)
    if rise_a <= 1e-9 or rise_b <= 1e-9:
        return None
    ahead = max(0.0, (limit - dot(a.end - corner, outward)) / rise_a)
    behind = max(0.0, (limit - dot(b.start - corner, outward)) / rise_b)
    return CutJoint(
        len(a.segments) + ahead,
        -behind,
        a.end + ahead * a.end_tangent,
        b.start - behind * b.start_tangent,
    )


def step(a: Run, b: Run) -> CutJoint | None:
    """Return a step from one run to the other, square to the wider seam at its end."""
    count = len(a.segments)
    if a.width >= b.width:
        places = _on_normal(b, range(-1, len(b.segments) + 1), a.stitch_end, a.end_tangent)
        if not places:
            return None
        after, point = min(places, key=lambda place: abs(b.distance(place[0])))
        return CutJoint(float(count), after, a.end, point)
    places = _on_normal(a, range(-1, count + 1), b.stitch_start, b.start_tangent)
    if not places:
        return None
    whole = a.distance(count)
    before, point = min(places, key=lambda place: abs(a.distance(place[0]) - whole))
    return CutJoint(before, 0.0, point, b.start)


def step_beside_curve(a: Run, b: Run, foot: complex) -> CutJoint | None:
    """Return a step where the end of a curved seam's parallel has vanished.

    It lies on the line from the end of the wider seam to the place on that seam's parallel that
    is as far from it as the seam is wide: all that is nearer to the seam than its allowance, but
    nearest to that end, is on the line's other side.

    Args:
        a: the run before.
        b: the run behind.
        foot: where the wider seam ends.

    Returns:
        The joint, or None where there is no such place, or the narrower run does not pass it.
    """
    is_behind = b.width > a.width
    wide, narrow = (b, a) if is_behind else (a, b)
    place = _at_width(wide, foot, at_start=is_behind)
    if place is None:
        return None
    position, point = place
    way = unit(point - foot)
    count = len(narrow.segments)
    whole = narrow.distance(count) if is_behind else 0.0
    meets = [
        (abs(narrow.distance(at) - whole), at, z)
        for at, z in _on_normal(narrow, range(-1, count + 1), foot, -1j * way)
        if 0.0 <= dot(z - foot, way) <= wide.width
    ]
    if not meets:
        return None
    _, at, z = min(meets, key=lambda found: found[0])
    return CutJoint(at, position, z, point) if is_behind else CutJoint(position, at, point, z)


def _at_width(run: Run, foot: complex, *, at_start: bool) -> tuple[float, complex] | None:
    """Return the place nearest to an end of a run that is its width away from a foot."""
    count = len(run.segments)
    end, way = (run.start, -run.start_tangent) if at_start else (run.end, run.end_tangent)
    along, across = dot(foot - end, way), cross(foot - end, way)
    if abs(end - foot) > run.width and abs(across) < run.width:
        ahead = along - math.sqrt(run.width**2 - across**2)
        return (-ahead if at_start else count + ahead), end + ahead * way
    for index in range(count) if at_start else range(count - 1, -1, -1):
        piece = run.segments[index]
        near, far = (0.0, 1.0) if at_start else (1.0, 0.0)
        if abs(piece.point(far) - foot) < run.width:
            continue
        for _ in range(_HALVINGS):
            middle = 0.5 * (near + far)
            if abs(piece.point(middle) - foot) < run.width:
                near = middle
            else:
                far = middle
        return index + far, piece.point(far)
    return None


def _on_normal(
    run: Run, pieces: Iterable[int], foot: complex, tangent: complex
) -> list[tuple[float, complex]]:
    """Return the positions and points at which a run crosses the normal of a seam's end."""
    found = []
    for index in pieces:
        piece = run.piece(index)
        for t in piece.on_ray(foot, 1j * tangent):
            found.append((run.position(index, t), piece.point(t)))
    return found
