"""Lines and cubics in the plane: the segments of which every outline is made.

Points are complex numbers ``x + iy`` in millimetres, y pointing down as in SVG; parameters
``t`` run from 0 at the start of a segment to 1 at its end. Segments are immutable; whatever
changes one gives a new one.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple, TypeVar

from drafting_core.plane.bernstein import bernstein_roots

PointMap = Callable[[complex], complex]

#: Lengths are integrated until two successive Gauss-Legendre estimates agree within this many
#: millimetres. Sewn lengths have to close within 1e-6 mm over a few dozen segments, so the
#: error of one of them must stay far below that.
LENGTH_TOLERANCE = 1e-10

#: A cubic whose control points stray less than this from its chord, in order along it, is a
#: line: a thousandth of a millimetre is a tenth of what the cut line may deviate.
STRAIGHT_TOLERANCE = 1e-3

# Nodes and weights of the 8-point Gauss-Legendre rule on [-1, 1] (Abramowitz and Stegun,
# table 25.4); numpy.polynomial.legendre.leggauss(8) gives the same and is checked in the tests.
_GAUSS = (
    (0.1834346424956498, 0.3626837833783620),
    (0.5255324099163290, 0.3137066458778873),
    (0.7966664774136267, 0.2223810344533745),
    (0.9602898564975363, 0.1012285362903763),
)


class Box(NamedTuple):
    """An axis-parallel rectangle, in millimetres.

    Attributes:
        left: the least x.
        top: the least y.
        right: the largest x.
        bottom: the largest y.
    """

    left: float
    top: float
    right: float
    bottom: float

    @property
    def centre(self) -> complex:
        """The middle of the box."""
        return complex(self.left + self.right, self.top + self.bottom) / 2

    @property
    def corners(self) -> tuple[complex, complex]:
        """Its upper left and its lower right corner."""
        return complex(self.left, self.top), complex(self.right, self.bottom)

    def meets(self, other: Box, margin: float = 0.0) -> bool:
        """Tell whether two boxes overlap or lie within ``margin`` of each other."""
        return (
            self.left <= other.right + margin
            and other.left <= self.right + margin
            and self.top <= other.bottom + margin
            and other.top <= self.bottom + margin
        )


def box_about(points: Iterable[complex]) -> Box:
    """Return the upright rectangle about points.

    Raises:
        ValueError: if there are none.
    """
    places = list(points)
    xs, ys = [z.real for z in places], [z.imag for z in places]
    return Box(min(xs), min(ys), max(xs), max(ys))


def cross(a: complex, b: complex) -> float:
    """Return the z component of the cross product of two vectors."""
    return a.real * b.imag - a.imag * b.real


def dot(a: complex, b: complex) -> float:
    """Return the scalar product of two vectors."""
    return a.real * b.real + a.imag * b.imag


def unit(vector: complex) -> complex:
    """Return the vector of length 1 in the same direction.

    Raises:
        ZeroDivisionError: for the zero vector, which has no direction.
    """
    return vector / abs(vector)


def turn(before: complex, after: complex) -> float:
    """Return the signed angle in radians, in (-pi, pi], that turns ``before`` into ``after``."""
    return math.atan2(cross(before, after), dot(before, after))


def rotation_about(centre: complex, angle: float) -> PointMap:
    """Return the map that turns points about ``centre`` by ``angle`` radians."""
    factor = complex(math.cos(angle), math.sin(angle))
    return lambda z: centre + (z - centre) * factor


def unmoved(z: complex) -> complex:
    """Return the point itself: the map that moves nothing."""
    return z


def chained(outer: PointMap, inner: PointMap) -> PointMap:
    """Return the map that does ``inner`` and then ``outer``."""
    return lambda z: outer(inner(z))


def reflection_in(start: complex, direction: complex) -> PointMap:
    """Return the map that mirrors points in the line through ``start`` along ``direction``."""
    factor = direction / direction.conjugate()
    return lambda z: start + (z - start).conjugate() * factor


class Line(NamedTuple):
    """A straight segment.

    Attributes:
        start: where it starts.
        end: where it ends.
    """

    start: complex
    end: complex

    def point(self, t: float) -> complex:
        """Return the point at parameter ``t``."""
        return self.start + (self.end - self.start) * t

    def derivative(self, t: float) -> complex:
        """Return the derivative by the parameter, in mm."""
        return self.end - self.start

    def second_derivative(self, t: float) -> complex:
        """Return the second derivative by the parameter, in mm."""
        return 0j

    def start_tangent(self) -> complex:
        """Return the unit vector along the segment at its start."""
        return unit(self.end - self.start)

    def end_tangent(self) -> complex:
        """Return the unit vector along the segment at its end."""
        return unit(self.end - self.start)

    def tangent(self, t: float) -> complex:
        """Return the unit vector along the segment at parameter ``t``."""
        return unit(self.end - self.start)

    def split(self, t: float) -> tuple[Line, Line]:
        """Cut the segment in two at parameter ``t``."""
        middle = self.point(t)
        return Line(self.start, middle), Line(middle, self.end)

    def part(self, t0: float, t1: float) -> Line:
        """Return the part from parameter ``t0`` to ``t1``."""
        return Line(
            self.start if t0 == 0.0 else self.point(t0), self.end if t1 == 1.0 else self.point(t1)
        )

    def mapped(self, to: PointMap) -> Line:
        """Return the segment with every control point sent through an affine map."""
        return Line(to(self.start), to(self.end))

    def reversed(self) -> Line:
        """Return the segment run through from end to start."""
        return Line(self.end, self.start)

    def length(self, t0: float = 0.0, t1: float = 1.0) -> float:
        """Return the length in mm between two parameters."""
        return abs(self.end - self.start) * (t1 - t0)

    def parameter_at(self, length: float) -> float:
        """Return the parameter at an arc length from the start."""
        whole = abs(self.end - self.start)
        return min(1.0, max(0.0, length / whole)) if whole else 0.0

    def area(self) -> float:
        """Return the signed area in mm² swept from the origin (a closed sum gives the area)."""
        return 0.5 * cross(self.start, self.end)

    def box(self) -> Box:
        """Return a box that contains the segment."""
        a, b = self.start, self.end
        return Box(
            min(a.real, b.real), min(a.imag, b.imag), max(a.real, b.real), max(a.imag, b.imag)
        )

    def extreme_points(self) -> list[complex]:
        """Return points that span the segment's exact box."""
        return [self.start, self.end]

    def is_straight(self, tolerance: float = STRAIGHT_TOLERANCE) -> bool:
        """Tell whether the segment is a line within a tolerance in mm: always."""
        return True

    def nearest(self, to: complex) -> float:
        """Return the parameter of the point nearest to ``to``."""
        along = self.end - self.start
        square = dot(along, along)
        return min(1.0, max(0.0, dot(to - self.start, along) / square)) if square else 0.0

    def flattened(self, pieces: int) -> Iterator[complex]:
        """Yield the points of a polyline along the segment, its end point left out."""
        yield self.start

    def on_ray(self, origin: complex, direction: complex) -> list[float]:
        """Return the parameters, ascending, at which the segment meets a line.

        The line runs through ``origin`` along ``direction`` both ways; the caller keeps the
        half that is wanted. A segment that lies on the line meets it at both its ends.
        """
        a = cross(direction, self.start - origin)
        b = cross(direction, self.end - origin)
        if a == b:
            return [0.0, 1.0] if a == 0.0 else []
        t = a / (a - b)
        return [t] if 0.0 <= t <= 1.0 else []


class Cubic(NamedTuple):
    """A cubic Bézier segment.

    Attributes:
        start: where it starts.
        control1: the end of the handle at its start.
        control2: the end of the handle at its end.
        end: where it ends.
    """

    start: complex
    control1: complex
    control2: complex
    end: complex

    def point(self, t: float) -> complex:
        """Return the point at parameter ``t``."""
        a, b, c, d = self
        s = 1.0 - t
        return s * s * (s * a + 3.0 * t * b) + t * t * (3.0 * s * c + t * d)

    def derivative(self, t: float) -> complex:
        """Return the derivative by the parameter, in mm."""
        a, b, c, d = self
        s = 1.0 - t
        return 3.0 * (s * s * (b - a) + 2.0 * s * t * (c - b) + t * t * (d - c))

    def second_derivative(self, t: float) -> complex:
        """Return the second derivative by the parameter, in mm."""
        a, b, c, d = self
        return 6.0 * ((1.0 - t) * (c - 2.0 * b + a) + t * (d - 2.0 * c + b))

    def start_tangent(self) -> complex:
        """Return the unit vector along the segment at its start, past coinciding handles."""
        a = self.start
        for other in self[1:]:
            if abs(other - a) > 1e-9:
                return unit(other - a)
        return unit(self.end - a)

    def end_tangent(self) -> complex:
        """Return the unit vector along the segment at its end, past coinciding handles."""
        d = self.end
        for other in (self.control2, self.control1, self.start):
            if abs(d - other) > 1e-9:
                return unit(d - other)
        return unit(d - self.start)

    def tangent(self, t: float) -> complex:
        """Return the unit vector along the segment at parameter ``t``."""
        along = self.derivative(t)
        if abs(along) > 1e-9:
            return unit(along)
        return self.start_tangent() if t < 0.5 else self.end_tangent()

    def split(self, t: float) -> tuple[Cubic, Cubic]:
        """Cut the segment in two at parameter ``t``, exactly (de Casteljau)."""
        a, b, c, d = self
        ab, bc, cd = a + (b - a) * t, b + (c - b) * t, c + (d - c) * t
        abc, bcd = ab + (bc - ab) * t, bc + (cd - bc) * t
        middle = abc + (bcd - abc) * t
        return Cubic(a, ab, abc, middle), Cubic(middle, bcd, cd, d)

    def part(self, t0: float, t1: float) -> Cubic:
        """Return the part from parameter ``t0`` to ``t1``."""
        piece = self if t1 == 1.0 else self.split(t1)[0]
        return piece if t0 == 0.0 else piece.split(t0 / t1)[1]

    def mapped(self, to: PointMap) -> Cubic:
        """Return the segment with every control point sent through an affine map."""
        return Cubic(to(self.start), to(self.control1), to(self.control2), to(self.end))

    def reversed(self) -> Cubic:
        """Return the segment run through from end to start."""
        return Cubic(self.end, self.control2, self.control1, self.start)

    def _gauss(self, t0: float, t1: float) -> float:
        half, middle = 0.5 * (t1 - t0), 0.5 * (t0 + t1)
        a, b, c, d = self
        u, v, w = b - a, 2.0 * (c - b), d - c
        total = 0.0
        for node, weight in _GAUSS:
            for t in (middle - half * node, middle + half * node):
                s = 1.0 - t
                total += weight * abs(s * (s * u + t * v) + t * t * w)
        return 3.0 * half * total

    def _length(self, t0: float, t1: float, whole: float, depth: int) -> float:
        middle = 0.5 * (t0 + t1)
        left, right = self._gauss(t0, middle), self._gauss(middle, t1)
        if depth == 0 or abs(left + right - whole) < LENGTH_TOLERANCE:
            return left + right
        return self._length(t0, middle, left, depth - 1) + self._length(
            middle, t1, right, depth - 1
        )

    def length(self, t0: float = 0.0, t1: float = 1.0) -> float:
        """Return the length in mm between two parameters (adaptive Gauss-Legendre)."""
        a, b, c, d = self
        u, v, w = b - a, c - b, d - c
        if dot(u, v) > 0.0 and dot(v, w) > 0.0 and dot(u, w) > 0.0:
            return self._length(t0, t1, self._gauss(t0, t1), 20)
        # Only where its legs turn by a right angle or more can a curve come near to standing
        # still. Its speed then has a kink, about which estimates converge slowly and may agree
        # by chance: kinks lie where the speed is least, so it is cut there.
        stops = bernstein_roots(
            [
                dot(u, v - u),
                (dot(u, w - v) + 2.0 * dot(v, v - u)) / 3.0,
                (2.0 * dot(v, w - v) + dot(w, v - u)) / 3.0,
                dot(w, w - v),
            ]
        )
        steps = [t0, *(t for t in stops if t0 < t < t1), t1]
        return sum(
            self._length(low, high, self._gauss(low, high), 20)
            for low, high in itertools.pairwise(steps)
        )

    def parameter_at(self, length: float) -> float:
        """Return the parameter at an arc length from the start (Newton, kept in brackets)."""
        whole = self.length()
        if length <= 0.0:
            return 0.0
        if length >= whole:
            return 1.0
        low, high, t = 0.0, 1.0, length / whole
        for _ in range(60):
            error = self.length(0.0, t) - length
            if abs(error) < LENGTH_TOLERANCE:
                break
            if error > 0.0:
                high = t
            else:
                low = t
            speed = abs(self.derivative(t))
            step = t - error / speed if speed > 0.0 else low
            t = step if low < step < high else 0.5 * (low + high)
        return t

    def area(self) -> float:
        """Return the signed area in mm² swept from the origin (a closed sum gives the area)."""
        a, b, c, d = self
        return (
            6.0 * cross(a, b)
            + 3.0 * cross(a, c)
            + cross(a, d)
            + 3.0 * cross(b, c)
            + 3.0 * cross(b, d)
            + 6.0 * cross(c, d)
        ) / 20.0

    def box(self) -> Box:
        """Return a box that contains the segment: that of its control points."""
        return box_about(self)

    def extreme_points(self) -> list[complex]:
        """Return points that span the segment's exact box: its ends, and where it turns back."""
        a, b, c, d = self
        points = [a, d]
        steps = (b - a, c - b, d - c)
        for u, v, w in ([z.real for z in steps], [z.imag for z in steps]):
            # The derivative over 3: u (1-t)² + 2 v t (1-t) + w t².
            p, q = u - 2.0 * v + w, v - u
            under = q * q - p * u
            if under < 0.0:
                continue
            # Of the two ways to write a root the one in which nothing cancels: a raised quadratic
            # has a p of a few last bits.
            far = -(q + math.copysign(math.sqrt(under), q))
            stops = ([far / p] if p else []) + ([u / far] if far else [])
            points += [self.point(t) for t in stops if 0.0 < t < 1.0]
        return points

    def is_straight(self, tolerance: float = STRAIGHT_TOLERANCE) -> bool:
        """Tell whether the segment is a line within a tolerance in mm."""
        a, b, c, d = self
        chord = d - a
        size = abs(chord)
        if size <= tolerance:
            return max(abs(b - a), abs(c - a)) <= tolerance
        along = chord / size
        if abs(cross(along, b - a)) > tolerance or abs(cross(along, c - a)) > tolerance:
            return False
        first, second = dot(along, b - a), dot(along, c - a)
        return first >= -tolerance and second <= size + tolerance and first <= second + tolerance

    def nearest(self, to: complex) -> float:
        """Return the parameter of the point nearest to ``to`` (samples, then Newton)."""
        steps = 16
        best, best_distance = 0.0, math.inf
        for k in range(steps + 1):
            distance = abs(self.point(k / steps) - to)
            if distance < best_distance:
                best, best_distance = k / steps, distance
        t, low, high = best, max(0.0, best - 1 / steps), min(1.0, best + 1 / steps)
        for _ in range(20):
            away, along, bend = self.point(t) - to, self.derivative(t), self.second_derivative(t)
            slope = dot(along, along) + dot(away, bend)
            if slope <= 0.0:
                break
            step = min(high, max(low, t - dot(away, along) / slope))
            if abs(step - t) < 1e-15:
                break
            t = step
        return t if abs(self.point(t) - to) <= best_distance else best

    def flattened(self, pieces: int) -> Iterator[complex]:
        """Yield the points of a polyline of ``pieces`` chords, the end point left out."""
        for k in range(pieces):
            yield self.point(k / pieces)

    def on_ray(self, origin: complex, direction: complex) -> list[float]:
        """Return the parameters, ascending, at which the segment meets a line.

        The line runs through ``origin`` along ``direction`` both ways; the caller keeps the
        half that is wanted.
        """
        heights = [cross(direction, z - origin) for z in self]
        return bernstein_roots(heights)


Segment = Line | Cubic

_Item = TypeVar("_Item")


def backward(chain: Iterable[Segment]) -> tuple[Segment, ...]:
    """Return a chain of segments run through the other way."""
    return tuple(segment.reversed() for segment in reversed(tuple(chain)))


def chain_length(chain: Iterable[Segment]) -> float:
    """Return the length of a chain of segments in mm."""
    return sum(segment.length() for segment in chain)


def pairs_around(items: Sequence[_Item]) -> Iterator[tuple[_Item, _Item]]:
    """Yield every item of a ring with the one that follows it, the last with the first."""
    return zip(items, [*items[1:], *items[:1]], strict=True)
