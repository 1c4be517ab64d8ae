"""A traced ring as seams: each fitted by itself, and corners where neighbours meet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drafting_core.ink.pen_line import Ring
from drafting_core.ink.polylines import Flags, Points, diagonal, fit_line, polyline_crossings
from drafting_core.ink.trace_corners import ROUNDED, find_corners, size_factor
from drafting_core.plane.curves import Line, Segment, dot, pairs_around, turn
from drafting_core.trace.fit_seams import (
    Ends,
    Fitted,
    bulge,
    fitted_curve,
    fitted_line,
    offsets,
    smoothed,
    wobble_of,
)

#: A seam is straight if its shape, without a hand's wobble, strays from a line by no more than
#: this part of the tolerance …
STRAIGHT_PART = 0.4
#: … or, if it is short, by what a wobbling hand makes of a straight line: so many times the
#: wobble (the distances of points to curves fitted to them, root mean square), …
_BOWED_BY_WOBBLE = 4.4
#: … on seams of this length (mm), less on longer ones …
_BOWED_LENGTH = 90.0
#: … and never by more than this part of the tolerance.
_MOST_BOWED = 0.8
#: Fewer points than this tell nothing of a seam.
_FEW = 5
#: A dart's leg may seem to stray by so many tolerances: a leg is straight.
_LEG = 2.0
#: Two legs of a dart meet at less than this, and the shorter is at least this part of the other.
WIDEST_DART = math.radians(80.0)
_LEGS_ALIKE = 0.8
#: Legs that differ by more than this (mm) were not meant to be equal; by less they are made so.
UNEQUAL_LEGS = 3.0
#: Two fitted seams whose ends turn by less than this are one (radians).
_LEAST_FITTED_TURN = math.radians(16.0)
#: At first a seam keeps so many times further away from its corners than need be.
_FIRST_TIME = 3.0
#: At a corner a seam is lengthened by at most this (mm), the rounding of a pen and a gap taken
#: together.
_LONGEST_EXTENSION = 25.0
#: … but two legs of a dart by this part of their length.
_LEG_EXTENSION = 0.6
#: How truly a drawn line ends at a dart's point (mm): a hand's wobble. The meeting of two legs is
#: known worse the narrower the dart.
_TRUE_END = 0.2
#: Both contradict each other if they differ by more and so many deviations of the meeting.
_CONTRADICTS = 3.0
#: A line into which a dart's legs run together begins this near to the outline's corner (mm), …
_AT_TIP = 3.0
#: … and the legs cannot have met so far before it (mm).
_STILL_APART = 3.0
#: Where a silhouette's edges come nearer to each other than twice this (mm), a scanner shows none:
#: there a dart ends before its point.
_CLOSED = 0.1
#: A sign on a dart's point, such as a dot or a cross, reaches no further from it (mm) …
_LARGEST_SIGN = 5.0
#: … and stands out from the lines by this part of the pen's width.
_BESIDE = 0.4
#: A hand's wobble goes to and fro over about this length (mm): so many independent readings of
#: a line there are.
_WOBBLE_LENGTH = 12.0


@dataclass
class SeamRun:
    """The part of a ring between two corners.

    Attributes:
        points: as traced, from corner to corner, evenly spread; shape (n,).
        known: which of them were drawn.
        inner: the number of the first and the last that lie clear of the rounded corners.
        fit: the line or curve that fits them.
        leg: whether it is a leg of a dart.
    """

    points: Points
    known: Flags
    inner: tuple[int, int]
    fit: Fitted
    leg: bool = False

    @property
    def clear(self) -> Points:
        """The drawn points clear of the corners."""
        part = slice(self.inner[0], self.inner[1] + 1)
        return self.points[part][self.known[part]]

    @property
    def fitting(self) -> Points:
        """The points to fit to: those clear of the corners, or all where there are hardly any."""
        clear = self.clear
        return clear if len(clear) >= _FEW else self.points

    @property
    def drawn(self) -> Points:
        """All drawn points."""
        return self.points[self.known]

    @property
    def segments(self) -> tuple[Segment, ...]:
        """The line, or the cubics."""
        return self.fit.segments

    @property
    def start(self) -> complex:
        """Where its fit starts."""
        return self.fit.segments[0].start

    @property
    def end(self) -> complex:
        """Where its fit ends."""
        return self.fit.segments[-1].end


@dataclass
class DartPoint:
    """A dart found on a ring.

    Attributes:
        first: the number of its first leg among the runs; the second follows.
        uneven: by how much its legs differed, in mm.
        equal: whether they were made equal.
    """

    first: int
    uneven: float
    equal: bool


def seam_runs(ring: Ring, tolerance: float) -> list[SeamRun]:
    """Take a ring apart at its corners and fit each part by itself.

    Args:
        ring: the traced ring, its interior at 1j·tangent.
        tolerance: how far a seam may stray from the trace, in mm.

    Returns:
        Its parts in order, none where it has fewer than two corners.
    """
    points = ring.points
    step = float(abs(points[1] - points[0]))
    size = diagonal(points)
    corners = find_corners(points, step, size)
    while len(corners) >= 2:
        runs = []
        for first, last in pairs_around(corners):
            count = (last - first) % len(points) + 1
            numbers = (first + np.arange(count)) % len(points)
            runs.append(_run(points[numbers], ring.known[numbers]))
        _fit_clear_of_corners(runs, ring.pen, step, size, tolerance)
        bends = [
            abs(turn(runs[k - 1].segments[-1].end_tangent(), runs[k].segments[0].start_tangent()))
            for k in range(len(runs))
        ]
        weakest = min(range(len(bends)), key=bends.__getitem__)
        if bends[weakest] >= _LEAST_FITTED_TURN or len(corners) == 2:
            return runs
        # Fitted, its two sides go on in one line: a step where strokes were joined, not a corner.
        del corners[weakest]
    return []


def _run(points: Points, known: Flags) -> SeamRun:
    return SeamRun(points, known, (0, len(points) - 1), fitted_line(points))


def _fit_clear_of_corners(
    runs: list[SeamRun], pen: float, step: float, size: float, tolerance: float
) -> None:
    """Fit every run by itself, clear of the corners: farther the sharper they are.

    A corner's place is known only when its seams are fitted: at first they keep well away from
    where the line turns most, then only from where they were seen to meet.
    """
    rounded = ROUNDED * size_factor(size)
    count = len(runs)
    merged = []
    for k, run in enumerate(runs):
        before, after = _ways(runs[k - 1], step, size)[1], _ways(run, step, size)[0]
        inner_angle = math.pi - abs(float(np.angle(after / before)))
        merged.append(pen / 2 / math.tan(max(inner_angle, 0.05) / 2))
    corners = [complex(run.points[0]) for run in runs]
    wobble = _wobble(runs)
    for skipped in (_FIRST_TIME * rounded, rounded):
        for k, run in enumerate(runs):
            following = (k + 1) % count
            longest = step * len(run.points) * 0.3
            first = _last_within(
                run.points, corners[k], min(skipped + pen / 2 + merged[k], longest)
            )
            last = _last_within(
                run.points[::-1],
                corners[following],
                min(skipped + pen / 2 + merged[following], longest),
            )
            run.inner = (first, max(first, len(run.points) - 1 - last))
            if len(run.clear) < _FEW:
                run.inner = (0, len(run.points) - 1)
            run.fit = _fitted(run.clear if len(run.clear) >= 5 else run.points, tolerance, wobble)
        for k, run in enumerate(runs):
            meeting = meeting_of(runs[k - 1], run)
            if abs(meeting - run.points[0]) <= _FIRST_TIME * rounded + pen / 2 + merged[k]:
                corners[k] = meeting


def _last_within(points: Points, corner: complex, reach: float) -> int:
    """Return how many points at the start of a run lie at its corner, or before it."""
    away = np.abs(points[: max(2, len(points) // 2)] - corner)
    near = np.flatnonzero(away <= max(reach, float(away.min()) + 1e-9))
    return min(int(near[-1]) + 1, len(points) // 3)


def _ways(run: SeamRun, step: float, size: float) -> tuple[complex, complex]:
    """Return the directions in which a run leaves its first corner and arrives at its last."""
    reach = max(2, min(round(10.0 * size_factor(size) / step), len(run.points) - 1))
    skip = min(round(ROUNDED * size_factor(size) / step), reach - 1)
    leaving = run.points[reach] - run.points[skip]
    arriving = run.points[-1 - skip] - run.points[-1 - reach]
    return complex(leaving) or 1.0, complex(arriving) or 1.0


def _fitted(points: Points, tolerance: float, wobble: float) -> Fitted:
    if is_straight(points, tolerance, wobble):
        return fitted_line(points)
    return fitted_curve(points, tolerance)


def _wobble(runs: Sequence[SeamRun]) -> float:
    """Return a hand's wobble in mm: the usual distance of the longer runs to a smooth line."""
    clear = sorted((run.fitting for run in runs), key=len)[len(runs) // 2 :]
    return float(np.median([wobble_of(part) for part in clear if len(part) >= _FEW] or [0.0]))


def is_straight(points: Points, tolerance: float, wobble: float) -> bool:
    """Tell whether traced points are those of a straight seam.

    Args:
        points: evenly spread along it, shape (n,).
        tolerance: how far a seam may stray from the trace, in mm.
        wobble: the hand's wobble, root mean square, in mm.
    """
    line = fit_line(points)
    length = abs(line.end - line.start)
    way = float(np.abs(np.diff(points)).sum())
    bowed = _BOWED_BY_WOBBLE * wobble * min(1.0, _BOWED_LENGTH / max(length, 1e-9))
    most = min(max(STRAIGHT_PART * tolerance, bowed), _MOST_BOWED * tolerance)
    if way > 1.05 * length + tolerance or bulge(points) > most:
        return False
    step = way / max(1, len(points) - 1)
    away = smoothed(offsets(points, (line,)), step, length)
    return float(np.abs(away).max()) <= 2.0 * tolerance


def dart_runs(runs: Sequence[SeamRun], tolerance: float) -> list[int]:
    """Return the numbers of the runs that are first legs of darts, and fit legs as lines."""
    found: list[int] = []
    for k, run in enumerate(runs):
        following = runs[(k + 1) % len(runs)]
        if len(runs) < 4 or (found and found[-1] == k - 1):
            continue
        lines = [fit_line(part.fitting) for part in (run, following)]
        ways = [line.end - line.start for line in lines]
        bend = float(np.angle(ways[1] / ways[0]))
        # The interior lies at 1j·tangent: a dart's point turns against it, nearly back.
        if not math.pi - WIDEST_DART <= -bend <= math.pi:
            continue
        lengths = sorted(_length(part) for part in (run, following))
        if lengths[0] < _LEGS_ALIKE * lengths[1]:
            continue
        if any(bulge(part.fitting) > _LEG * tolerance for part in (run, following)):
            continue
        found.append(k)
        for part, line in zip((run, following), lines, strict=True):
            part.leg = True
            part.fit = fitted_line(part.fitting, line)
    return found


def _length(run: SeamRun) -> float:
    return float(abs(run.points[-1] - run.points[0]))


def extended(segments: Sequence[Segment], *, forward: bool, by: float) -> Points:
    """Return points along the end of a chain and straight on past it.

    A polynomial that goes on past its points is bent by the wobble of its last few: over the
    width of a pen a straight line is nearer to the truth.

    Args:
        segments: the chain.
        forward: past its last point, or else back past its first.
        by: how far on, in mm.
    """
    last = segments[-1] if forward else segments[0].reversed()
    if isinstance(last, Line):
        way = (last.end - last.start) / (abs(last.end - last.start) or 1.0)
        return np.array([last.start, last.end + way * by])
    along = [last.point(t) for t in np.linspace(0.6, 1.0, 60)]
    return np.array([*along, last.end + last.end_tangent() * by])


def meeting_of(run: SeamRun, following: SeamRun) -> complex:
    """Return where two neighbouring seams meet: the corner between them."""
    near = complex(run.points[-1])
    by = _LONGEST_EXTENSION
    if run.leg and following.leg:
        # Thick lines of a narrow dart run together long before its point.
        by = max(by, _LEG_EXTENSION * min(abs(leg.end - leg.start) for leg in (run, following)))
    one = extended(run.segments, forward=True, by=by)
    other = extended(following.segments, forward=False, by=by)
    places = [place for _i, _j, place in polyline_crossings(one, other)]
    if not places:
        return (run.end + following.start) / 2
    return min(places, key=lambda z: abs(z - near))


def traced_dart_point(run: SeamRun, following: SeamRun, ring: Ring) -> complex:
    """Return a dart's point: where its legs meet, and where its drawn lines end.

    Legs of a narrow dart meet at a place that is known badly along the dart's middle, while the
    pen's lines end there within the hand's wobble; both count by how well they are known. Where
    they contradict, the legs were drawn past the point, or short of it: then they alone tell.

    Args:
        run: its first leg.
        following: its second.
        ring: the ring that both are of.
    """
    meeting = meeting_of(run, following)
    first = run.segments[0].end - run.segments[0].start
    second = following.segments[0].start - following.segments[0].end
    middle = first / abs(first) + second / abs(second)
    half_sine = abs((first / abs(first)) - (second / abs(second))) / 2
    if abs(middle) < 0.2 or half_sine <= 0.0:
        return meeting
    middle /= abs(middle)
    beyond = _end_beyond(meeting, middle, ring, run)
    if beyond is not None:
        return beyond
    drawn = _drawn_end(meeting, middle, half_sine, ring, run, following)
    if drawn is None:
        return meeting
    unsure = 0.0
    for leg in (run, following):
        readings = max(3.0, len(leg.clear) * abs(leg.points[1] - leg.points[0]) / _WOBBLE_LENGTH)
        unsure += (2.0 * max(leg.fit.rms, 0.005) / math.sqrt(readings)) ** 2
    crossed = unsure / 4 / half_sine**2
    end = _TRUE_END
    if ring.pen <= 0.0 and dot(middle, drawn - meeting) < 0.0:
        end = math.hypot(end, _CLOSED / half_sine)
    if abs(dot(middle, drawn - meeting)) > _CONTRADICTS * math.sqrt(crossed) + end:
        return meeting
    share = crossed / (crossed + end**2)
    return meeting + middle * share * dot(middle, drawn - meeting)


def _end_beyond(meeting: complex, middle: complex, ring: Ring, run: SeamRun) -> complex | None:
    """Return the end of the line into which legs run together past where they seem to meet.

    They cannot have met where they are still apart: something else touches them, and only their
    common end tells.
    """
    if ring.pen <= 0.0:
        return None
    tip = complex(run.points[-1])
    tails = [spike for spike in ring.spikes if abs(complex(spike[0]) - tip) <= _AT_TIP]
    if len(tails) != 1 or dot(middle, complex(tails[0][0]) - meeting) < _STILL_APART:
        return None
    way = complex(tails[0][-1] - tails[0][0])
    if abs(way) <= ring.pen or dot(middle, way) < 0.9 * abs(way):
        return None
    return complex(tails[0][-1]) - way / abs(way) * ring.pen / 2


def _drawn_end(
    meeting: complex,
    middle: complex,
    half_sine: float,
    ring: Ring,
    run: SeamRun,
    following: SeamRun,
) -> complex | None:
    """Return the end of the drawn lines at a dart's point, or None where it cannot be told."""
    reach = _LONGEST_EXTENSION * 0.6
    spikes = [spike for spike in ring.spikes if np.abs(spike - meeting).min() <= reach]
    if not spikes:
        if ring.pen > 0.0 or not (run.known[-3:].all() and following.known[:3].all()):
            return None
        near = ring.points[np.abs(ring.points - meeting) <= reach]
        if not len(near):
            return None
        end = near[int(np.argmax((near * np.conj(middle)).real))]
        return complex(end)
    spike = min(spikes, key=lambda part: np.abs(part - meeting).min())
    away = (spike - meeting) * np.conj(middle)
    half_angle = math.asin(min(1.0, half_sine))
    # What the two lines themselves cover, half as wide again: anything more is a sign.
    strip = np.maximum(-away.real, 0.0) * math.tan(half_angle) + ring.pen / 2
    beside = (np.abs(away.imag) > strip + _BESIDE * ring.pen) & (np.abs(away.real) <= _LARGEST_SIGN)
    sides = [np.abs(away.imag[beside & (side * away.imag > 0)]) for side in (1, -1)]
    if all(map(len, sides)):
        reach_of_sign = sorted(float(side.max()) for side in sides)
        if reach_of_sign[1] <= min(_LARGEST_SIGN, 1.5 * reach_of_sign[0]):
            # A dot, a cross or a ring reaches equally far all round its centre.
            sign = away[beside | (away.real > ring.pen)]
            places = np.linspace(-_LARGEST_SIGN, _LARGEST_SIGN, 201)
            farthest_of = np.abs(sign[None, :] - places[:, None]).max(axis=1)
            return meeting + middle * float(places[int(np.argmin(farthest_of))])
    end = meeting + middle * (float(away.real.max()) - ring.pen / 2)
    return end if abs(end - meeting) <= reach else None


def with_fixed_ends(run: SeamRun, start: complex, end: complex, tolerance: float) -> None:
    """Fit a run anew between its corners."""
    if run.fit.is_straight:
        line = Line(start, end)
        run.fit = measured([line], run)
        return
    fit = fitted_curve(run.fitting, tolerance, Ends(start, end))
    run.fit = measured(fit.segments, run)


def measured(segments: Sequence[Segment], run: SeamRun) -> Fitted:
    """Return a chain with its distances to all that was drawn of a run."""
    points = run.drawn if len(run.drawn) else run.points
    away = offsets(points, segments)
    return Fitted(tuple(segments), float(np.sqrt(np.mean(away**2))), float(np.abs(away).max()))
