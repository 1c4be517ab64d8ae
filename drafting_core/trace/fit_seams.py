"""Lines and cubics fitted to the points of a seam, by least squares.

A curved seam becomes a cubic B-spline of as few even spans as serve, run through by arc length.
Its spans meet with the same tangent and the same curvature, so that it cannot bump where two
cubics join, and between them nothing bends that the points do not bend as a whole: the freedom
of a distance fit, from which bumps come, is not there. Points may slide along the curve while it
is fitted: distances along its tangents hardly count (tangent distance minimization with a
damping term: Wang, Pottmann and Liu, ACM Transactions on Graphics 25, 2006).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drafting_core.ink.polylines import Numbers, Points, arc_lengths, fit_line
from drafting_core.plane.curves import Cubic, Line, Segment

#: Times that the nearest places are found anew. After these the curve changes by less than a
#: hundredth of a millimetre on seams as they occur.
_ROUNDS = 6
#: Places that slide by less than this along the curve (mm) are found.
_STILL = 0.02
#: Weight of a distance along the tangent beside one across it, but for the first and last point.
_SLIDING = 0.01
#: Weight of a curve's third differences beside a distance: far less than a hundredth of a
#: millimetre on seams as they occur.
_AGAINST_FOLDS = 5e-4
#: More cubics than this are not tried on one seam.
MOST_SPANS = 12
#: A parabola, which bends least, serves if its distances are by no more than this larger.
STIFF_ENOUGH = 1.1
#: One more cubic has to bring the largest distance down to this part of it.
_WORTH_A_SPAN = 0.85
#: A hand's wobble is told from the shape of a seam by averaging over this part of its length …
_WOBBLE_PART = 1 / 6
#: … but over no more than this (mm).
_WOBBLE_LONGEST = 25.0
#: Distances are measured to a cubic's chords, so many of them …
_CHORDS = 48
#: … and so many pairs of a point and a chord at a time.
_MOST_AT_ONCE = 200_000
_T = np.arange(_CHORDS) / _CHORDS
#: The weights of a cubic's four points at the starts of its chords, shape (4, n).
_WEIGHTS = np.array([(1 - _T) ** 3, 3 * _T * (1 - _T) ** 2, 3 * _T**2 * (1 - _T), _T**3])


class Fitted(NamedTuple):
    """A seam as fitted by itself.

    Attributes:
        segments: a line, or cubics that join smoothly, one after the other.
        rms: the root mean square of the distances of its points, in mm.
        largest: the largest of them, in mm.
    """

    segments: tuple[Segment, ...]
    rms: float
    largest: float

    @property
    def is_straight(self) -> bool:
        """Whether it is a line."""
        return len(self.segments) == 1 and isinstance(self.segments[0], Line)


def bulge(points: Points) -> float:
    """Return how far a smooth curve through points strays from their line, in mm.

    A hand's wobble is averaged away: what is left is a polynomial of the third degree in the
    way along the line.
    """
    line = fit_line(points)
    chord = line.end - line.start
    size = abs(chord) or 1.0
    away = (points - line.start) * np.conj(chord / size)
    heights = np.polynomial.legendre.legfit(away.real / size * 2 - 1, away.imag, 3)
    places = np.linspace(-1.0, 1.0, 33)
    return float(np.abs(np.polynomial.legendre.legval(places, heights)).max())


def wobble_of(points: Points) -> float:
    """Return how far a hand strays from a smooth line along points, root mean square, in mm.

    The line is a polynomial of the fifth degree in the way along it: no wobble of the usual
    length (14 to 70 mm) is that smooth over a seam.

    Args:
        points: evenly spread along it, shape (n,).
    """
    basis = np.polynomial.legendre.legvander(np.linspace(-1.0, 1.0, len(points)), 5)
    smooth = basis @ np.linalg.lstsq(basis, points, rcond=None)[0]
    along = np.gradient(smooth)
    across = ((points - smooth) * np.conj(along)).imag / np.maximum(np.abs(along), 1e-12)
    return float(np.sqrt(np.mean(across**2)))


@lru_cache(maxsize=64)
def _span_matrix(spans: int) -> NDArray[np.float64]:
    """Return the Bézier points of each span from the spline's, shape (spans, 4, spans + 3).

    The knots are 0 … spans, the outer ones fourfold; the points come from inserting each inner
    knot twice more (Boehm 1980).
    """
    knots = [0.0] * 4 + [float(k) for k in range(1, spans)] + [float(spans)] * 4
    points = np.eye(spans + 3)
    for knot in range(1, spans):
        for _ in range(2):
            at = max(k for k, value in enumerate(knots) if value <= knot)
            new = []
            for i in range(len(points) + 1):
                if i <= at - 3:
                    new.append(points[i])
                elif i > at:
                    new.append(points[i - 1])
                else:
                    wide = knots[i + 3] - knots[i]
                    share = (knot - knots[i]) / wide if wide else 0.0
                    low = points[i - 1] if i else points[0]
                    high = points[i] if i < len(points) else points[-1]
                    new.append((1 - share) * low + share * high)
            points = np.array(new)
            knots.insert(at + 1, float(knot))
    return np.array([points[3 * k : 3 * k + 4] for k in range(spans)])


def _basis(places: Numbers, spans: int) -> NDArray[np.float64]:
    """Return the weights of the spline's points at places from 0 to ``spans``.

    Shape (n, spans + 3).
    """
    number = np.clip(np.floor(places).astype(np.int64), 0, spans - 1)
    t = places - number
    s = 1.0 - t
    bernstein = np.stack([s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t], axis=1)
    return np.asarray(np.einsum("ni,nij->nj", bernstein, _span_matrix(spans)[number]))


class Ends(NamedTuple):
    """What is fixed of a curve.

    Attributes:
        start: its first point, or None.
        end: its last point, or None.
        leaving: the direction in which it leaves, or None.
        arriving: the direction in which it arrives, or None.
    """

    start: complex | None = None
    end: complex | None = None
    leaving: complex | None = None
    arriving: complex | None = None


#: Nothing is fixed.
FREE = Ends()


def _solved(
    points: Points,
    basis: NDArray[np.float64],
    ends: Ends,
    tangents: Points | None = None,
    *,
    stiff: bool = False,
) -> Points:
    """Return the spline's points that fit best, with its ends as they are fixed.

    Args:
        points: shape (n,).
        basis: the weights of the spline's points at each of them.
        ends: what is fixed.
        tangents: unit vectors along the curve at each point, or None at first.
        stiff: whether the curve is to be a parabola.
    """
    count = basis.shape[1]
    # Unknowns are real: x and y of every free point, or the way along a fixed direction.
    columns: list[tuple[int, complex]] = []
    fixed = np.zeros(count, dtype=np.complex128)
    if ends.start is not None:
        fixed[0] = ends.start
    if ends.end is not None:
        fixed[-1] = ends.end
    for k in range(count):
        if (k == 0 and ends.start is not None) or (k == count - 1 and ends.end is not None):
            continue
        if k == 1 and ends.leaving is not None and ends.start is not None:
            fixed[1] = ends.start
            columns.append((k, ends.leaving))
        elif k == count - 2 and ends.arriving is not None and ends.end is not None:
            fixed[-2] = ends.end
            columns.append((k, -ends.arriving))
        else:
            columns += [(k, 1.0 + 0j), (k, 1j)]
    base = fixed.copy()
    if tangents is None:
        frame, sliding = np.ones(len(points), dtype=np.complex128), np.ones(len(points))
    else:
        frame, sliding = np.conj(tangents), np.full(len(points), _SLIDING)
        sliding[0] = sliding[-1] = 1.0
    left = (points - basis @ fixed) * frame
    turned = np.stack([basis[:, k] * (frame * way) for k, way in columns], axis=1)
    matrix = np.concatenate([turned.real * sliding[:, None], turned.imag])
    wanted = np.concatenate([left.real * sliding, left.imag])
    # A cubic with no third difference is a parabola; a little of that weight keeps the ends of
    # a curve from folding back on themselves, where points may slide along it.
    weight = (1e3 if stiff else _AGAINST_FOLDS) * math.sqrt(len(points))
    rows, rest = [], []
    for first in range(count - 3):
        third = np.zeros(count)
        third[first : first + 4] = (-weight, 3 * weight, -3 * weight, weight)
        across = np.array([third[k] * way for k, way in columns])
        rows += [across.real, across.imag]
        left_over = -complex(third @ base)
        rest += [left_over.real, left_over.imag]
    matrix = np.concatenate([matrix, np.array(rows)])
    wanted = np.concatenate([wanted, np.array(rest)])
    # Normal equations: a handful of unknowns that are known well.
    found = np.linalg.lstsq(matrix.T @ matrix, matrix.T @ wanted, rcond=None)[0]
    for (k, way), amount in zip(columns, found, strict=True):
        fixed[k] += amount * way
    return fixed


def _projected(
    places: Numbers, points: Points, control: Points, spans: int
) -> tuple[Numbers, Points]:
    """Return the places nearest to the points, a Newton step on, and the tangents there."""
    pieces = np.einsum("kij,j->ki", _span_matrix(spans), control)
    number = np.clip(np.floor(places).astype(np.int64), 0, spans - 1)
    t = places - number
    a, b, c, d = pieces[number].T
    s = 1.0 - t
    at = s * s * s * a + 3 * s * s * t * b + 3 * s * t * t * c + t * t * t * d
    along = 3 * (s * s * (b - a) + 2 * s * t * (c - b) + t * t * (d - c))
    bend = 6 * (s * (c - 2 * b + a) + t * (d - 2 * c + b))
    away = at - points
    slope = np.abs(along) ** 2 + (away * np.conj(bend)).real
    step = (away * np.conj(along)).real / np.where(slope > 1e-12, slope, np.inf)
    moved = np.clip(places - np.clip(step, -0.2, 0.2), 0.0, float(spans))
    tangents = along + np.clip(moved - places, -0.2, 0.2) * bend
    return moved, tangents / np.maximum(np.abs(tangents), 1e-12)


def fit_spline(
    points: Points, spans: int, ends: Ends = FREE, *, stiff: bool = False
) -> tuple[Cubic, ...]:
    """Return a smooth curve of so many cubics that points stray from least.

    Args:
        points: in order along it, shape (n,).
        spans: how many cubics.
        ends: what is fixed of it.
        stiff: whether one cubic is to be a parabola.
    """
    whole = points
    if ends.start is not None:
        whole = np.concatenate([[ends.start], whole])
    if ends.end is not None:
        whole = np.concatenate([whole, [ends.end]])
    along = arc_lengths(whole)
    places = along / along[-1] * spans
    if ends.start is not None:
        places = places[1:]
    if ends.end is not None:
        places = places[:-1]
    control = _solved(points, _basis(places, spans), ends, stiff=stiff)
    still = _STILL * spans / along[-1]
    for _ in range(_ROUNDS):
        before = places
        places, tangents = _projected(places, points, control, spans)
        control = _solved(points, _basis(places, spans), ends, tangents, stiff=stiff)
        if np.abs(places - before).max() <= still:
            break
    pieces = np.einsum("kij,j->ki", _span_matrix(spans), control)
    cubics = [Cubic(*(complex(z) for z in piece)) for piece in pieces]
    # Ends that are one point are one number too.
    return tuple(
        cubic._replace(start=cubics[k - 1].end) if k else cubic for k, cubic in enumerate(cubics)
    )


def offsets(points: Points, segments: Sequence[Segment]) -> Numbers:
    """Return how far points, in order along a chain, lie to the side of it, in mm.

    Args:
        points: shape (n,).
        segments: the chain.

    Returns:
        Signed distances, positive toward 1j·tangent; shape (n,).
    """
    chain = np.concatenate([*map(_followed, segments), [segments[-1].end]])
    along = np.diff(chain)
    starts, along = chain[:-1][along != 0], along[along != 0]
    if not len(along) or not len(points):
        return np.asarray(np.abs(points - chain[0]))
    sizes = np.abs(along)
    most = max(1, _MOST_AT_ONCE // len(starts))
    parts = [points[k : k + most] for k in range(0, len(points), most)]
    return np.concatenate([_offsets(part, starts, along / sizes, sizes) for part in parts])


def _followed(segment: Segment) -> Points:
    """Return points along a segment, its last left out."""
    if isinstance(segment, Line):
        return np.array([segment.start])
    return np.asarray(np.array(segment) @ _WEIGHTS)


def _offsets(points: Points, starts: Points, ways: Points, sizes: Numbers) -> Numbers:
    """Return the signed distances of points to the nearest of some chords."""
    away = (points[:, None] - starts) * np.conj(ways)
    over = away.real - np.minimum(np.maximum(away.real, 0.0), sizes)
    squares = over * over + away.imag * away.imag
    nearest = squares.argmin(axis=1)
    rows = np.arange(len(points))
    return np.asarray(np.copysign(np.sqrt(squares[rows, nearest]), away.imag[rows, nearest]))


def smoothed(values: Numbers, step: float, length: float) -> Numbers:
    """Return the shape in values without a hand's wobble: a running mean.

    Args:
        values: one for every step along a seam, shape (n,).
        step: in mm.
        length: of the seam, in mm.
    """
    half = round(min(_WOBBLE_LONGEST, length * _WOBBLE_PART) / step / 2)
    if half < 1:
        return values
    sums = np.concatenate([[0.0], np.cumsum(values)])
    numbers = np.arange(len(values))
    # Toward the ends the mean is taken over less, even on both sides.
    reach = np.minimum(half, np.minimum(numbers, len(values) - 1 - numbers))
    return np.asarray((sums[numbers + reach + 1] - sums[numbers - reach]) / (2 * reach + 1))


def fitted_curve(points: Points, tolerance: float, ends: Ends = FREE, spans: int = 0) -> Fitted:
    """Return the smooth curve of fewest cubics within a tolerance.

    Args:
        points: evenly spread along the seam, shape (n,).
        tolerance: how far the seam's shape, without a hand's wobble, may stray from it (mm).
        ends: what is fixed of it.
        spans: how many cubics, where that is known; else 0.
    """
    step = float(np.abs(np.diff(points)).mean())
    length = step * len(points)
    best: tuple[Segment, ...] = ()
    away = np.zeros(len(points))
    worst, idle = math.inf, 0
    for count in [spans] if spans else range(1, MOST_SPANS + 1):
        if count > 1 and len(points) < 4 * count:
            break
        segments = fit_spline(points, count, ends)
        beside = offsets(points, segments)
        stray = float(np.abs(smoothed(beside, step, length)).max())
        if stray < worst * _WORTH_A_SPAN:
            best, away, worst, idle = segments, beside, stray, 0
        else:
            idle += 1
        if worst <= tolerance or idle == 2:
            break
    rms = float(np.sqrt(np.mean(away**2)))
    if len(best) == 1 and not spans:
        # A parabola has less freedom to follow a wobbling hand at its ends.
        segments = fit_spline(points, 1, ends, stiff=True)
        beside = offsets(points, segments)
        if float(np.sqrt(np.mean(beside**2))) <= STIFF_ENOUGH * rms + 1e-3:
            best, away = segments, beside
            rms = float(np.sqrt(np.mean(away**2)))
    return Fitted(best, rms, float(np.abs(away).max()))


def fitted_line(points: Points, line: Line | None = None) -> Fitted:
    """Return the line that fits points, or how well the given one does."""
    segment = fit_line(points) if line is None else line
    away = offsets(points, (segment,))
    return Fitted((segment,), float(np.sqrt(np.mean(away**2))), float(np.abs(away).max()))
