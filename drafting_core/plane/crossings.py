"""Where segments cross: all crossings of two segments, and rings that cross themselves."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from drafting_core.plane.bernstein import bernstein_roots
from drafting_core.plane.curves import Cubic, Line, Segment, cross, dot, unit

#: How far in parameter beyond its ends a segment still counts, against rounding.
_SLACK = 1e-10

#: Crossings nearer than this in both parameters are one.
_SAME = 1e-8

#: Points nearer than this in mm are one node.
_NODE = 1e-7

#: Hits nearer than this in mm to the node between two segments of a chain are that node.
_CHAIN_NODE = 0.01

#: Pairs of pieces looked at before two cubics are taken to lie on each other.
_MOST_PAIRS = 6000

_Hits = list[tuple[float, float]]


def segment_crossings(first: Segment, second: Segment) -> list[tuple[float, float]]:
    """Return all parameter pairs at which two segments have a point in common.

    Shared end points and touchings count. Segments that lie on each other for a stretch give
    the ends of that stretch.

    Returns:
        Pairs (parameter on the first, parameter on the second), ascending, to about 1e-12.
    """
    if isinstance(first, Line):
        if isinstance(second, Line):
            return _lines(first, second)
        return _line_cubic(first, second)
    if isinstance(second, Line):
        return sorted((t, u) for u, t in _line_cubic(second, first))
    return _cubics(first, second)


def _clamped(t: float) -> float | None:
    """Return a parameter kept within [0, 1], or None where it lies beyond."""
    if t < -_SLACK or t > 1.0 + _SLACK:
        return None
    return min(1.0, max(0.0, t))


def _lines(first: Line, second: Line) -> _Hits:
    p, q = first.end - first.start, second.end - second.start
    between = second.start - first.start
    under = cross(p, q)
    if abs(under) > 1e-14 * abs(p) * abs(q):
        t, u = _clamped(cross(between, q) / under), _clamped(cross(between, p) / under)
        return [] if t is None or u is None else [(t, u)]
    if abs(p) == 0.0 or abs(q) == 0.0 or abs(cross(p, between)) > 1e-9 * abs(p):
        return []
    # Parallel on one line: the ends of the common stretch.
    found = []
    for t, z in ((0.0, first.start), (1.0, first.end)):
        u = _clamped(dot(z - second.start, q) / dot(q, q))
        if u is not None:
            found.append((t, u))
    for u, z in ((0.0, second.start), (1.0, second.end)):
        t_on = _clamped(dot(z - first.start, p) / dot(p, p))
        if t_on is not None:
            found.append((t_on, u))
    return _distinct(found)


def _line_cubic(line: Line, cubic: Cubic) -> _Hits:
    along = line.end - line.start
    square = dot(along, along)
    if square == 0.0:
        return []
    heights = [cross(along, z - line.start) for z in cubic]
    # Ends that lie on the line but for rounding are on it.
    near = 1e-12 * math.sqrt(square)
    for end in (0, 3):
        if abs(heights[end]) < near:
            heights[end] = 0.0
    found = []
    for u in bernstein_roots(heights):
        t = _clamped(dot(cubic.point(u) - line.start, along) / square)
        if t is not None:
            found.append((t, u))
    return _distinct(found)


def _distinct(found: _Hits) -> _Hits:
    kept: _Hits = []
    for hit in sorted(found):
        if all(abs(hit[0] - t) > _SAME or abs(hit[1] - u) > _SAME for t, u in kept):
            kept.append(hit)
    return kept


def _newton(first: Cubic, second: Cubic, t: float, u: float) -> tuple[float, float] | None:
    """Return the common point near two parameters, or None where there is none."""
    size = 1e-13 * (1.0 + max(abs(first.start), abs(second.start)))
    for _ in range(30):
        apart = first.point(t) - second.point(u)
        p, q = first.derivative(t), second.derivative(u)
        under = cross(p, q)
        if abs(under) < 1e-12 * abs(p) * abs(q) or under == 0.0:
            break
        dt, du = -cross(apart, q) / under, cross(p, apart) / under
        if abs(dt) > 0.5 or abs(du) > 0.5:
            return None
        t, u = t + dt, u + du
        if abs(dt) < 1e-15 and abs(du) < 1e-15:
            break
    if not (-0.1 < t < 1.1 and -0.1 < u < 1.1):
        return None
    return (t, u) if abs(first.point(t) - second.point(u)) < max(1e-9, 10.0 * size) else None


def _bend(piece: Cubic) -> float:
    """Return a bound of how far a piece strays from its chord, in mm."""
    a, b, c, d = piece
    return max(abs(b - (2.0 * a + d) / 3.0), abs(c - (a + 2.0 * d) / 3.0))


def _cubics(first: Cubic, second: Cubic) -> _Hits:
    """Halve both cubics where their boxes meet, until Newton is sure of its one crossing."""
    found: _Hits = []
    todo = [(first, 0.0, 1.0, second, 0.0, 1.0, 0)]
    pairs = 0
    while todo:
        p, t0, t1, q, u0, u1, depth = todo.pop()
        if not _boxes_meet(p, q):
            continue
        pairs += 1
        if pairs > _MOST_PAIRS:
            return _overlap_ends(first, second)
        bend_p, bend_q = _bend(p), _bend(q)
        chord_p, chord_q = p.end - p.start, q.end - q.start
        size_p, size_q = abs(chord_p), abs(chord_q)
        if bend_p < 0.04 * size_p and bend_q < 0.04 * size_q:
            sine = abs(cross(chord_p, chord_q)) / (size_p * size_q)
            # The directions of a piece stray from its chord by less than 6 * bend / chord.
            if sine > 6.0 * (bend_p / size_p + bend_q / size_q):
                between = q.start - p.start
                under = cross(chord_p, chord_q)
                t = t0 + (t1 - t0) * cross(between, chord_q) / under
                u = u0 + (u1 - u0) * cross(between, chord_p) / under
                slack_t, slack_u = 0.2 * (t1 - t0), 0.2 * (u1 - u0)
                if t0 - slack_t < t < t1 + slack_t and u0 - slack_u < u < u1 + slack_u:
                    _keep(found, _newton(first, second, t, u))
                continue
        if depth >= 48 or (size_p + bend_p < 1e-9 and size_q + bend_q < 1e-9):
            # Touching, or leaving a common end in one direction: no better than half the digits.
            _keep(found, (_snapped(0.5 * (t0 + t1)), _snapped(0.5 * (u0 + u1))))
            continue
        if size_p + bend_p >= size_q + bend_q:
            middle = 0.5 * (t0 + t1)
            left, right = p.split(0.5)
            todo.append((left, t0, middle, q, u0, u1, depth + 1))
            todo.append((right, middle, t1, q, u0, u1, depth + 1))
        else:
            middle = 0.5 * (u0 + u1)
            left, right = q.split(0.5)
            todo.append((p, t0, t1, left, u0, middle, depth + 1))
            todo.append((p, t0, t1, right, middle, u1, depth + 1))
    return _distinct(found)


def _keep(found: _Hits, hit: tuple[float, float] | None) -> None:
    if hit is None:
        return
    t, u = _clamped(hit[0]), _clamped(hit[1])
    if t is not None and u is not None:
        found.append((t, u))


def _snapped(t: float) -> float:
    return 0.0 if t < 1e-6 else 1.0 if t > 1.0 - 1e-6 else t


def _boxes_meet(p: Cubic, q: Cubic) -> bool:
    a, b, c, d = p
    e, f, g, h = q
    margin = 1e-9
    ax, bx, cx, dx = a.real, b.real, c.real, d.real
    ex, fx, gx, hx = e.real, f.real, g.real, h.real
    if max(ax, bx, cx, dx) + margin < min(ex, fx, gx, hx):
        return False
    if max(ex, fx, gx, hx) + margin < min(ax, bx, cx, dx):
        return False
    ay, by, cy, dy = a.imag, b.imag, c.imag, d.imag
    ey, fy, gy, hy = e.imag, f.imag, g.imag, h.imag
    if max(ay, by, cy, dy) + margin < min(ey, fy, gy, hy):
        return False
    return max(ey, fy, gy, hy) + margin >= min(ay, by, cy, dy)


def _overlap_ends(first: Cubic, second: Cubic) -> _Hits:
    """Return the ends of the stretch on which two cubics lie on each other."""
    found: _Hits = []
    for t, z in ((0.0, first.start), (1.0, first.end)):
        u = second.nearest(z)
        if abs(second.point(u) - z) < 1e-6:
            found.append((t, u))
    for u, z in ((0.0, second.start), (1.0, second.end)):
        t = first.nearest(z)
        if abs(first.point(t) - z) < 1e-6:
            found.append((t, u))
    return _distinct(found)


def own_crossing(cubic: Cubic) -> tuple[float, float] | None:
    """Return the two parameters at which a single cubic crosses itself, or None.

    With P(t) = a t³ + b t² + c t + d, the difference of two points over that of their
    parameters is a (t1² + t1 t2 + t2²) + b (t1 + t2) + c: linear in the sum of the two
    parameters once crossed with a.
    """
    z0, z1, z2, z3 = cubic
    a, b, c = z3 - 3.0 * z2 + 3.0 * z1 - z0, 3.0 * (z2 - 2.0 * z1 + z0), 3.0 * (z1 - z0)
    under = cross(a, b)
    if under == 0.0 or a == 0.0:
        return None
    total = -cross(a, c) / under
    product = total * total + dot(b * total + c, a) / dot(a, a)
    root = total * total - 4.0 * product
    if root <= 1e-12:
        return None
    half = 0.5 * math.sqrt(root)
    low, high = 0.5 * total - half, 0.5 * total + half
    return (low, high) if low >= 0.0 and high <= 1.0 else None


def chain_crosses_itself(chain: Sequence[Segment]) -> complex | None:
    """Return a point at which an open chain crosses or touches itself, or None.

    Consecutive segments meet at their common node; that is no crossing.
    """
    for i, segment in enumerate(chain):
        if isinstance(segment, Cubic) and (own := own_crossing(segment)):
            return segment.point(own[0])
        for j in range(i + 1, len(chain)):
            for t, _ in segment_crossings(segment, chain[j]):
                if j > i + 1 or abs(segment.point(t) - segment.end) > _CHAIN_NODE:
                    return segment.point(t)
    return None


def crosses_itself(segments: Sequence[Segment]) -> complex | None:
    """Return a point where a closed ring properly crosses itself, or None.

    Touching in a point, lying on each other, and sharing an end are no crossings.
    """
    for _, _, _, _, place in ring_crossings(segments):
        return place
    return None


def ring_crossings(
    segments: Sequence[Segment],
) -> Iterator[tuple[int, float, int, float, complex]]:
    """Yield the proper crossings of a closed ring with itself.

    Yields:
        The index and parameter of the one branch, those of the other, and the place. A
        crossing at a node is given once, at the start (parameter 0) of the later segment.
    """
    for index, segment in enumerate(segments):
        if isinstance(segment, Cubic):
            own = own_crossing(segment)
            if own is not None and (len(segments) > 1 or own != (0.0, 1.0)):
                yield index, own[0], index, own[1], segment.point(own[0])
    seen: list[complex] = []
    for i, j in _candidates(segments):
        for t, u in segment_crossings(segments[i], segments[j]):
            one, other = _branch(segments, i, t), _branch(segments, j, u)
            if one[0] == other[0] and abs(one[1] - other[1]) < 1e-9:
                continue
            place = segments[i].point(t)
            at_node = one[1] == 0.0 or other[1] == 0.0
            if at_node and any(abs(place - z) < 1e-6 for z in seen):
                continue
            if _properly(segments, one, other, at_node):
                if at_node:
                    seen.append(place)
                yield one[0], one[1], other[0], other[1], place


def _branch(segments: Sequence[Segment], index: int, t: float) -> tuple[int, float]:
    """Return the branch through a parameter; at a node the later segment's start."""
    segment = segments[index]
    place = segment.point(t)
    if abs(place - segment.end) < _NODE and t > 0.5:
        return (index + 1) % len(segments), 0.0
    if abs(place - segment.start) < _NODE and t < 0.5:
        return index, 0.0
    return index, t


def _properly(
    segments: Sequence[Segment], one: tuple[int, float], other: tuple[int, float], at_node: bool
) -> bool:
    """Tell whether two branches through a point change sides there."""
    if not at_node:
        p, q = segments[one[0]].tangent(one[1]), segments[other[0]].tangent(other[1])
        if abs(cross(p, q)) > 1e-6:
            return True
    back_p, on_p = _ways(segments, *one)
    back_q, on_q = _ways(segments, *other)
    # The other branch crosses if exactly one of its two ways lies in the angle from the first
    # branch's way on to its way back.
    opening = _angle(on_p, back_p)
    sides = []
    for way in (back_q, on_q):
        angle = _angle(on_p, way)
        if min(angle, math.tau - angle, abs(angle - opening)) < 1e-7:
            return False
        sides.append(angle < opening)
    return sides[0] != sides[1]


def _ways(segments: Sequence[Segment], index: int, t: float) -> tuple[complex, complex]:
    """Return the directions from a point back along its branch and on along it."""
    segment = segments[index]
    before = segments[index - 1] if t == 0.0 else segment
    at_before = 1.0 if t == 0.0 else t
    step = 1e-3
    back = before.point(max(0.0, at_before - step)) - before.point(at_before)
    on = segment.point(min(1.0, t + step)) - segment.point(t)
    return back or 1 + 0j, on or 1 + 0j


def _angle(start: complex, to: complex) -> float:
    """Return the angle from one direction to another, in [0, 2 pi)."""
    angle = math.atan2(cross(start, to), dot(start, to))
    return angle if angle >= 0.0 else angle + math.tau


def _candidates(segments: Sequence[Segment]) -> list[tuple[int, int]]:
    """Return the pairs of segments that may cross: whose boxes meet, and more than at a node."""
    count = len(segments)
    if count < 2:
        return []
    boxes = [segment.box() for segment in segments]
    # Swept from left to right: only boxes that share some x are compared.
    order = sorted(range(count), key=lambda index: boxes[index].left)
    margin = 1e-9
    pairs: list[tuple[int, int]] = []
    active: list[int] = []
    for index in order:
        box = boxes[index]
        active = [other for other in active if boxes[other].right + margin >= box.left]
        for other in active:
            beside = boxes[other]
            if beside.top <= box.bottom + margin and box.top <= beside.bottom + margin:
                pairs.append((index, other) if index < other else (other, index))
        active.append(index)
    pairs.sort()
    apart = _part_at_node(segments)
    return [
        (i, j)
        for i, j in pairs
        if not (j == i + 1 and apart[i] and count > 2)
        and not (i == 0 and j == count - 1 and apart[j] and count > 2)
        and not _hulls_apart(segments[i], segments[j])
    ]


def _part_at_node(segments: Sequence[Segment]) -> list[bool]:
    """Tell of each segment whether a line through its end parts it from the next segment.

    Then the two have nothing but their node in common.
    """
    result = []
    for index, segment in enumerate(segments):
        following = segments[(index + 1) % len(segments)]
        node = segment.end
        if isinstance(segment, Line) and isinstance(following, Line):
            p, q = segment.end - segment.start, following.end - following.start
            result.append(abs(cross(p, q)) > 1e-9 * abs(p) * abs(q) or dot(p, q) > 0.0)
            continue
        p, q = segment.end_tangent(), following.start_tangent()
        way = unit(p + q) if abs(p + q) > 1e-3 else 1j * p
        result.append(
            all(dot(z - node, way) <= 1e-9 for z in segment[:-1])
            and all(dot(z - node, way) > 1e-9 for z in following[-1:])
            and all(dot(z - node, way) >= -1e-9 for z in following[1:])
        )
    return result


def _hulls_apart(first: Segment, second: Segment) -> bool:
    """Tell whether one segment lies clearly to one side of the other's chord and bulge."""
    for one, other in ((first, second), (second, first)):
        base = one.start
        chord = one.end - base
        size = abs(chord)
        if size == 0.0:
            continue
        along = chord / size
        own = [cross(along, z - base) for z in one]
        theirs = [cross(along, z - base) for z in other]
        if min(theirs) > max(own) + 1e-9 or max(theirs) < min(own) - 1e-9:
            return True
    return False
