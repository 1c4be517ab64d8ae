"""The parallel curve of a segment: a few cubics within a hundredth of a millimetre.

With y pointing down, an outline of positive area has its inside at ``1j * tangent``; the outer
side, to which parallels are drawn, is ``-1j * tangent``.

A cubic has no cubic for a parallel, so one is fitted: end points and end tangents are exact, and
only the two handle lengths are free. Sources: W. Tiller and E. Hanson, "Offsets of
two-dimensional profiles" (1984); J. Hoschek, "Spline approximation of offset curves" (1988).
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from drafting_core.plane.curves import Cubic, Line, Segment, cross, turn

#: How far in mm a cut line may lie from the true parallel of its stitch line.
CUT_TOLERANCE = 0.01

#: A fit is taken when its largest measured deviation is below this share of the tolerance:
#: between two samples it can be a little larger than at either.
_ACCEPT = 0.75

#: More turning than this in one cubic (100 degrees) is never fitted well: split at once.
_MOST_TURNING = math.radians(100.0)

_MOST_HALVINGS = 12
_ROUNDS = 5
_BALANCINGS = 3

# Plain numbers throughout: importing numpy would take the editor's user longer than all the fits.
_FIT_AT = tuple((k + 0.5) / 12.0 for k in range(12))
# Beside even ones a few close to the ends, where a short handle lets the curve turn on the spot.
_NEAR_END = (1e-6, 1e-4, 1e-2)
_CHECK_AT = (*_NEAR_END, *(k / 32.0 for k in range(1, 32)), *(1.0 - t for t in _NEAR_END[::-1]))
_TURN_AT = tuple(k / 32.0 for k in range(33))


class ParallelStretch(NamedTuple):
    """A part of a parallel curve between two cusps.

    Attributes:
        start: the parameter on the source at which it starts.
        end: the parameter on the source at which it ends.
        forward: whether it runs the way of its source; behind a cusp, where the width exceeds
            the radius of an inward curve, it runs backward and is never part of a cut line.
        segments: the fitted segments, end to end.
        turning: the signed angle in radians by which the source turns along the stretch.
    """

    start: float
    end: float
    forward: bool
    segments: list[Segment]
    turning: float


def parallel(segment: Segment, distance: float, tolerance: float = CUT_TOLERANCE) -> list[Segment]:
    """Return the parallel curve of a segment, to its outer side.

    Args:
        segment: the source; a curve that stops and turns back on the way has no parallel there.
        distance: how far out the parallel lies, in mm; negative is inward.
        tolerance: the greatest allowed deviation from the true parallel, in mm.

    Returns:
        Segments end to end, with exact end points and end tangents. A line, also one drawn as
        a straight cubic, gives one line. Where the distance exceeds the radius of an inward
        curve, the true parallel runs backward between two cusps, and so does this one.
    """
    return [
        piece
        for part in parallel_stretches(segment, distance, tolerance)
        for piece in part.segments
    ]


def parallel_stretches(
    segment: Segment, distance: float, tolerance: float = CUT_TOLERANCE
) -> list[ParallelStretch]:
    """Return the parallel curve of a segment, cut at its cusps.

    The arguments are those of `parallel`; a line and a curve without cusps give one stretch.
    """
    if isinstance(segment, Line) or segment.is_straight():
        line = Line(segment.start, segment.end)
        out = -1j * line.start_tangent() * distance
        return [ParallelStretch(0.0, 1.0, True, [Line(line.start + out, line.end + out)], 0.0)]
    if distance == 0.0:
        return [ParallelStretch(0.0, 1.0, True, [segment], _turning(segment))]
    stops = [0.0, *cusps(segment, distance), 1.0]
    result = []
    for low, high in pairwise(stops):
        part = segment.part(low, high)
        before = segment.start_tangent() if low == 0.0 else segment.tangent(low)
        after = segment.end_tangent() if high == 1.0 else segment.tangent(high)
        forward = _speed_factor(part, 0.5, distance) > 0.0
        fitted: list[Segment] = []
        _fit(part, distance, tolerance, (before, after), forward, fitted, _MOST_HALVINGS)
        result.append(ParallelStretch(low, high, forward, fitted, _turning(part)))
    return result


def _speed_factor(source: Cubic, t: float, distance: float) -> float:
    """Return (1 + curvature * distance) times the cube of the source's speed."""
    along = source.derivative(t)
    return abs(along) ** 3 + distance * cross(along, source.second_derivative(t))


def cusps(source: Cubic, distance: float) -> list[float]:
    """Return the parameters at which the parallel at a distance has a cusp, ascending.

    There 1 + curvature * distance changes its sign. Found by sampling, more finely about every
    lowest sample, and bisected to the last bits.
    """
    # A handle of length 0 gives no direction at an end: look a little inside.
    at = [1e-6, *_TURN_AT[1:-1], 1.0 - 1e-6]
    factors = [_speed_factor(source, t, distance) for t in at]
    lowest = [
        k
        for k in range(1, len(at) - 1)
        if factors[k] <= factors[k - 1] and factors[k] <= factors[k + 1]
    ]
    if not lowest and min(factors) > 0.0:
        return []
    if lowest:
        finer = {at[k - 1] + (at[k + 1] - at[k - 1]) * j / 16.0 for k in lowest for j in range(17)}
        at = sorted(finer.union(at))
        factors = [_speed_factor(source, t, distance) for t in at]
    found = []
    for k in range(len(at) - 1):
        above = factors[k] > 0.0
        if above == (factors[k + 1] > 0.0):
            continue
        low, high = at[k], at[k + 1]
        while True:
            middle = 0.5 * (low + high)
            if middle in (low, high):
                break
            if (_speed_factor(source, middle, distance) > 0.0) == above:
                low = middle
            else:
                high = middle
        if 1e-9 < low < 1.0 - 1e-9:
            found.append(low)
    return found


def _turning(source: Cubic) -> float:
    """Return the signed angle by which a cubic turns, also beyond half a turn."""
    a, b, c, d = source
    legs = [leg for leg in (b - a, c - b, d - c) if abs(leg) > 1e-9]
    return sum(turn(one, next_one) for one, next_one in pairwise(legs))


def _fit(
    source: Cubic,
    distance: float,
    tolerance: float,
    tangents: tuple[complex, complex],
    forward: bool,
    into: list[Segment],
    halvings: int,
) -> None:
    """Append cubics for the parallel of a source without cusps inside."""
    before, after = tangents
    fitted, deviation = _fit_one(source, distance, tangents, forward, tolerance)
    if deviation <= _ACCEPT * tolerance or halvings == 0:
        into.append(fitted)
        return
    t = _at_turning(source, 0.5)
    for _ in range(_BALANCINGS):
        middle = source.tangent(t)
        left, right = source.split(t)
        one, one_off = _fit_one(left, distance, (before, middle), forward, tolerance)
        other, other_off = _fit_one(right, distance, (middle, after), forward, tolerance)
        if max(one_off, other_off) <= _ACCEPT * tolerance:
            into += [one, other]
            return
        if min(one_off, other_off) > _ACCEPT * tolerance:
            break
        # The deviation grows with about the sixth power of the length: balance the two.
        ratio = min(2.0, max(0.5, (max(other_off, 1e-9) / max(one_off, 1e-9)) ** (1.0 / 6.0)))
        t = t * ratio / (t * ratio + 1.0 - t)
    if one_off + other_off < 20.0 * tolerance:
        # Four would be more than is needed: try three.
        thirds = (0.0, _at_turning(source, 1 / 3), _at_turning(source, 2 / 3), 1.0)
        ways = [before, source.tangent(thirds[1]), source.tangent(thirds[2]), after]
        three: list[Segment] = []
        for k in range(3):
            part = source.part(thirds[k], thirds[k + 1])
            piece, off = _fit_one(part, distance, (ways[k], ways[k + 1]), forward, tolerance)
            if off > _ACCEPT * tolerance:
                break
            three.append(piece)
        else:
            into += three
            return
    _fit(left, distance, tolerance, (before, middle), forward, into, halvings - 1)
    _fit(right, distance, tolerance, (middle, after), forward, into, halvings - 1)


def _fit_one(
    source: Cubic,
    distance: float,
    tangents: tuple[complex, complex],
    forward: bool,
    tolerance: float,
) -> tuple[Cubic, float]:
    """Fit one cubic and return it with its largest measured deviation in mm."""
    before, after = tangents
    turning = _turning(source)
    start, end = source.start - 1j * before * distance, source.end - 1j * after * distance
    if abs(turning) > _MOST_TURNING:
        return Cubic(start, start, end, end), math.inf
    way = 1.0 if forward else -1.0
    # The offset vector sweeps an arc: first guess from the handle of that arc.
    arc = distance * 4.0 / 3.0 * math.tan(0.25 * turning)
    first = way * (abs(source.control1 - source.start) + arc)
    last = way * (abs(source.end - source.control2) + arc)
    least = 0.01 * abs(end - start)
    u, v = way * before, way * after
    true, facing = _true_parallel(source, distance, _FIT_AT)
    towards_u = [3.0 * (z * u).real for z in facing]
    towards_v = [-3.0 * (z * v).real for z in facing]
    at: Sequence[float] = _FIT_AT
    best: Cubic | None = None
    best_error = math.inf
    for attempt in range(_ROUNDS):
        first, last = max(first, least), max(last, least)
        candidate = Cubic(start, start + first * u, end - last * v, end)
        at, error = _deviations(candidate, true, facing, at, 2)
        size = max(map(abs, error))
        if size < best_error:
            best, best_error = candidate, size
        elif attempt > 2:
            break
        if size < 0.3 * tolerance or attempt == _ROUNDS - 1 or size > 1e3:
            break
        # A little damping keeps the two handles apart where they do nearly the same.
        aa, ab, bb, ra, rb = 1e-12, 0.0, 1e-12, 0.0, 0.0
        for t, off, toward_u, toward_v in zip(at, error, towards_u, towards_v, strict=True):
            weight = (1.0 - t) * t
            by_first, by_last = weight * (1.0 - t) * toward_u, weight * t * toward_v
            aa += by_first * by_first
            ab += by_first * by_last
            bb += by_last * by_last
            ra += by_first * off
            rb += by_last * off
        aa, bb = aa * (1.0 + 1e-9), bb * (1.0 + 1e-9)
        under = aa * bb - ab * ab
        if not under > 0.0:
            break
        first -= (ra * bb - rb * ab) / under
        last -= (rb * aa - ra * ab) / under
    if best is None:
        return Cubic(start, start + least * u, end - least * v, end), math.inf
    if best_error > _ACCEPT * tolerance:
        return best, best_error
    true, facing = _true_parallel(source, distance, _CHECK_AT)
    at, error = _deviations(best, true, facing, _CHECK_AT, 3)
    if any(after < before for before, after in pairwise(at)):
        return best, math.inf
    return best, max(map(abs, error))


def _true_parallel(
    source: Cubic, distance: float, at: Sequence[float]
) -> tuple[list[complex], list[complex]]:
    """Return points of the true parallel, and the conjugates of the unit normals there."""
    a, b, c, d = source
    u, v, w = b - a, 2.0 * (c - b), d - c
    b, c = 3.0 * b, 3.0 * c
    points, facing = [], []
    for t in at:
        s = 1.0 - t
        along = s * (s * u + t * v) + t * t * w
        normal = -1j * along / (abs(along) or 1e-300)
        points.append(s * s * (s * a + t * b) + t * t * (s * c + t * d) + distance * normal)
        facing.append(normal.conjugate())
    return points, facing


def _deviations(
    candidate: Cubic,
    true: Sequence[complex],
    facing: Sequence[complex],
    guess: Sequence[float],
    steps: int,
) -> tuple[list[float], list[float]]:
    """Return where the candidate crosses the normals of the true curve, and how far off, in mm.

    Newton steps along the candidate, from guessed parameters; ``facing`` are the conjugates of
    the true normals.
    """
    a, b, c, d = candidate
    # Powers of the parameter, from the highest.
    p, q, r = d - a + 3.0 * (b - c), 3.0 * (a - 2.0 * b + c), 3.0 * (b - a)
    p3, q2 = 3.0 * p, 2.0 * q
    at, error = [], []
    for z, face, t in zip(true, facing, guess, strict=True):
        from_true = a - z
        away = along = 0j
        step = 0.0
        for _ in range(steps):
            # Relative to the direction of the normal, the real part is the deviation and the
            # imaginary part the distance from the normal's line.
            away = (((p * t + q) * t + r) * t + from_true) * face
            along = ((p3 * t + q2) * t + r) * face
            pace = along.imag
            step = away.imag / (pace if abs(pace) >= 1e-12 else 1e-12)
            t = min(max(t - step, 0.0), 1.0)
        at.append(t)
        # To first order the last step moves the point along the candidate.
        error.append(away.real - step * along.real)
    return at, error


def _at_turning(source: Cubic, share: float) -> float:
    """Return the parameter at a share of the turning, inflections counted both ways."""
    ways = [source.derivative(t) for t in _TURN_AT]
    if min(map(abs, ways)) <= 1e-12:
        return share
    turned = [0.0]
    for before, after in pairwise(ways):
        turned.append(turned[-1] + abs(turn(before, after)))
    if turned[-1] < 1e-6:
        return share
    goal = share * turned[-1]
    k = min(len(turned) - 1, max(1, bisect.bisect_left(turned, goal)))
    step = turned[k] - turned[k - 1]
    part = (goal - turned[k - 1]) / step if step > 0.0 else 0.0
    at = _TURN_AT[k - 1] + (_TURN_AT[k] - _TURN_AT[k - 1]) * part
    return min(0.95, max(0.05, at))
