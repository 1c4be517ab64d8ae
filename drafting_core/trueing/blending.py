"""One smooth curve in place of the corner where two stretches of a seam meet."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

from drafting_core.model.outline import SHORTEST_SEGMENT, nearest_on
from drafting_core.model.settings import LENGTH_KEPT
from drafting_core.plane.curves import Cubic, Segment, turn

#: It lies no further from the exact seam than a straight corner's curve would, and this (mm):
#: a single curve over too long a stretch would lose the seam's own shape.
SHAPE_KEPT = 0.5
#: Handles of this share of their side are those of an arc, the smoothest curve there is ...
SOFTEST_HANDLES = 2.0 / 3.0
#: ... and these reach nearly to the corner, where the curve is the longest that still bends
#: one way only: at 1 it would run straight at its ends, beyond it it would bend back.
LONGEST_HANDLES = 0.95

# The length is looked up by halving; so much stays free for its last step (mm).
_MARGIN = 1e-6
_HALVINGS = 24
#: Pieces in which a segment is looked over for its largest distance from others, and in which
#: a stretch is looked over while its length is still sought.
_SAMPLES = 48
_ROUGH_SAMPLES = 8


class Stop(NamedTuple):
    """A place on a chain of segments: a segment's number and the parameter on it.

    Attributes:
        segment: the number of the segment.
        t: the parameter on it, from 0 to 1.
    """

    segment: int
    t: float


class Blended(NamedTuple):
    """A corner that was made smooth. Lengths in mm.

    Attributes:
        curve: the cubic in the corner's place.
        start: where it leaves the chain before the corner.
        end: where it joins the chain behind it.
        back: the length that it replaces before the corner.
        on: the length that it replaces behind it.
        change: by how much it is longer than what it replaces.
        deviation: the largest distance between it and what it replaces.
        clipped: whether it was made shorter than asked, to keep the seam's length and shape.
    """

    curve: Cubic
    start: Stop
    end: Stop
    back: float
    on: float
    change: float
    deviation: float
    clipped: bool


class _Stretch(NamedTuple):
    """What a blend replaces: the chains on both sides of the corner, and their outer ends."""

    before: list[Segment]
    after: list[Segment]
    start: Stop
    end: Stop
    back: float
    on: float
    tangents: tuple[complex, complex]


def smooth_corner(
    before: Sequence[Segment], after: Sequence[Segment], back: float, on: float
) -> Blended:
    """Replace the corner where two chains meet by one cubic that leaves and joins them smoothly.

    The cubic's handles are the same share of the two sides, the least from `SOFTEST_HANDLES` to
    `LONGEST_HANDLES` that keeps the length within `LENGTH_KEPT`: a curve inside the corner is
    always shorter than its two sides, and the less so the further its handles reach. Where no
    handles will do, or the curve would lose the seam's shape (`SHAPE_KEPT`), the stretch is
    shortened from its longer side until it does not.

    Args:
        before: the chain that ends at the corner.
        after: the chain that starts there.
        back: how much of the first chain may be replaced, in mm; above 0.
        on: how much of the second.

    Raises:
        ValueError: if no stretch is short enough to be blended.
    """
    angle = abs(turn(before[-1].end_tangent(), after[0].start_tangent()))

    def tried(reach: float) -> tuple[_Stretch, Cubic | None]:
        stretch = _stretch(before, after, min(back, reach), min(on, reach))
        curve = _fitted(stretch)
        # A parabola in a straight corner lies half-way between the corner and its chord.
        allowed = SHAPE_KEPT + reach * math.sin(angle / 2) / 2
        fits = curve is not None and _rough_distance(curve, stretch) <= allowed
        return stretch, curve if fits else None

    low, high = 0.0, max(back, on)
    stretch, curve = tried(high)
    clipped = curve is None
    for _ in range(_HALVINGS if clipped else 0):
        middle = 0.5 * (low + high)
        shorter, found = tried(middle)
        if found is None:
            high = middle
        else:
            low, stretch, curve = middle, shorter, found
    if curve is None:
        raise ValueError("a corner of which no stretch is short enough to be blended")
    exact = [*stretch.before, *stretch.after]
    return Blended(
        curve,
        stretch.start,
        stretch.end,
        stretch.back,
        stretch.on,
        _change(curve, stretch),
        largest_distance([curve], exact),
        clipped,
    )


def largest_distance(one: Sequence[Segment], other: Sequence[Segment]) -> float:
    """Return the largest distance in mm of any point of either chain from the other chain."""
    return max(_furthest(one, other), _furthest(other, one))


def _stretch(
    before: Sequence[Segment], after: Sequence[Segment], back: float, on: float
) -> _Stretch:
    start, left_out = _stop(
        [(j, before[j].length()) for j in reversed(range(len(before)))],
        back,
        lambda j, length, left: before[j].parameter_at(length - left),
        0.0,
    )
    end, left_out_on = _stop(
        [(j, segment.length()) for j, segment in enumerate(after)],
        on,
        lambda j, _, left: after[j].parameter_at(left),
        1.0,
    )
    first, last = before[start.segment], after[end.segment]
    return _Stretch(
        [first.part(start.t, 1.0), *before[start.segment + 1 :]],
        [*after[: end.segment], last.part(0.0, end.t)],
        start,
        end,
        back - left_out,
        on - left_out_on,
        (
            first.start_tangent() if start.t == 0.0 else first.tangent(start.t),
            last.end_tangent() if end.t == 1.0 else last.tangent(end.t),
        ),
    )


def _stop(
    lengths: Sequence[tuple[int, float]],
    reach: float,
    parameter: Callable[[int, float, float], float],
    far_end: float,
) -> tuple[Stop, float]:
    """Return where a walk along numbered lengths ends, and what of its reach is left then.

    It ends at a node where a piece shorter than `SHORTEST_SEGMENT` would be left over.
    """
    left = reach
    number = lengths[0][0]
    for number, length in lengths:
        if left < length - SHORTEST_SEGMENT:
            return Stop(number, parameter(number, length, left)), 0.0
        left -= length
        if left < SHORTEST_SEGMENT:
            break
    return Stop(number, far_end), left


def _fitted(stretch: _Stretch) -> Cubic | None:
    """Return the softest cubic that keeps the stretch's length, or None."""
    allowed = LENGTH_KEPT - _MARGIN
    soft = _cubic(stretch, SOFTEST_HANDLES)
    change = _change(soft, stretch)
    if abs(change) <= allowed:
        return soft
    best = _cubic(stretch, LONGEST_HANDLES)
    if change > 0.0 or _change(best, stretch) < -allowed:
        return None
    low, high = SOFTEST_HANDLES, LONGEST_HANDLES
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        curve = _cubic(stretch, middle)
        if _change(curve, stretch) < -allowed:
            low = middle
        else:
            high, best = middle, curve
    return best


def _cubic(stretch: _Stretch, handles: float) -> Cubic:
    start, end = stretch.before[0].start, stretch.after[-1].end
    first, last = stretch.tangents
    return Cubic(
        start, start + first * handles * stretch.back, end - last * handles * stretch.on, end
    )


def _change(curve: Cubic, stretch: _Stretch) -> float:
    return curve.length() - stretch.back - stretch.on


def _rough_distance(curve: Cubic, stretch: _Stretch) -> float:
    """Return how far a stretch lies from a curve, looked at in a few places."""
    return max(
        nearest_on([curve], segment.point(k / _ROUGH_SAMPLES)).distance
        for segment in (*stretch.before, *stretch.after)
        for k in range(_ROUGH_SAMPLES)
    )


def _furthest(chain: Sequence[Segment], other: Sequence[Segment]) -> float:
    """Return the largest distance of a point of a chain from another chain."""

    def distance(segment: Segment, t: float) -> float:
        return nearest_on(other, segment.point(t)).distance

    samples = [[distance(segment, k / _SAMPLES) for k in range(_SAMPLES + 1)] for segment in chain]
    best = highest = max(max(heights) for heights in samples)
    for segment, heights in zip(chain, samples, strict=True):
        for k in range(1, _SAMPLES):
            if heights[k] == max(heights[k - 1 : k + 2]) and heights[k] > 0.9 * highest:
                top = partial(distance, segment)
                best = max(best, _top(top, (k - 1) / _SAMPLES, (k + 1) / _SAMPLES))
    return best


def _top(height: Callable[[float], float], low: float, high: float) -> float:
    """Return the largest value between two parameters around a top (golden section)."""
    ratio = (math.sqrt(5.0) - 1.0) / 2.0
    a, b = high - ratio * (high - low), low + ratio * (high - low)
    at_a, at_b = height(a), height(b)
    for _ in range(24):
        if at_a >= at_b:
            high, b, at_b = b, a, at_a
            a = high - ratio * (high - low)
            at_a = height(a)
        else:
            low, a, at_a = a, b, at_b
            b = low + ratio * (high - low)
            at_b = height(b)
    return max(at_a, at_b)
