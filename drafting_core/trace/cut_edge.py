"""The stitch line of a block whose traced edge is its cut line: the allowance is taken off.

Every seam is moved inward by its own width; neighbours meet where the moved lines cross. A dart's
legs run out to the cut line as they are sewn and stay where they are. An edge that cuts a long
corner square across lies outside the stitch line and goes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drafting_core.ink.polylines import (
    NearPoints,
    Numbers,
    Points,
    polyline_crossings,
)
from drafting_core.plane.curves import Line, Segment, pairs_around
from drafting_core.text.errors import OutlineError
from drafting_core.text.lengths import in_words
from drafting_core.text.words import _
from drafting_core.trace.clean_outline import CleanOutline
from drafting_core.trace.fit_seams import Ends, fitted_curve
from drafting_core.trace.seam_runs import UNEQUAL_LEGS, DartPoint, SeamRun, measured

#: Points on a seam that is moved lie about so far apart (mm).
_STEP = 0.75
#: A moved curve is followed within this (mm).
_TRUE = 0.03
#: A moved line goes on straight past its ends by so many widths, and so much more (mm).
_ON, _ON_MORE = 4.0, 20.0


@dataclass
class _Moved:
    """A seam moved inward, run on straight at both ends.

    Attributes:
        run: the seam as traced.
        width: by how much it was moved, in mm.
        points: along it, shape (n,).
        normals: its inward unit normals there.
        is_turned_back: where it runs backward: there the seam is rounder than the width.
    """

    run: SeamRun
    width: float
    points: Points
    normals: Points
    is_turned_back: np.ndarray


def stitch_outline(
    cut: CleanOutline, widths: Sequence[float]
) -> tuple[CleanOutline, list[SeamRun]]:
    """Return the stitch line within a cut line, and for each of its runs the one it comes from.

    Args:
        cut: the cut line, its interior at 1j·tangent.
        widths: of the allowance of every run, in mm; those of legs do not count.

    Raises:
        OutlineError: if an allowance is wider than a curve is round, or lines do not meet.
    """
    firsts = {dart.first for dart in cut.darts}
    moved = [
        _moved(run, 0.0 if run.leg else width) for run, width in zip(cut.runs, widths, strict=True)
    ]
    numbers = list(range(len(moved)))
    while True:
        corners = {k: _corner(moved[j], moved[k]) for j, k in _before_and_self(numbers)}
        gone = next(
            (
                j
                for j, k in pairs_around(numbers)
                if not moved[j].run.leg and corners[j][2] >= corners[k][0]
            ),
            None,
        )
        if gone is None:
            break
        if len(numbers) <= 3:
            raise _too_wide(moved[gone])
        numbers.remove(gone)
    places = {k: corner[1] for k, corner in corners.items()}
    darts = []
    for k, number in enumerate(numbers):
        if number in firsts:
            darts.append(_even_legs(places, [numbers[(k + m) % len(numbers)] for m in range(3)], k))
    runs = []
    for j, k in pairs_around(numbers):
        between = (corners[j][2], corners[k][0])
        runs.append(_stitch_run(moved[j], between, places[j], places[k]))
    return CleanOutline(runs, darts), [cut.runs[number] for number in numbers]


def _before_and_self(numbers: Sequence[int]) -> list[tuple[int, int]]:
    return [(numbers[k - 1], number) for k, number in enumerate(numbers)]


def _moved(run: SeamRun, width: float) -> _Moved:
    points, normals = _along(run.segments)
    shifted = points + normals * width
    ways = np.diff(shifted) * np.conj(np.diff(points))
    back = np.append(ways.real <= 0.0, False)
    on = _ON * width + _ON_MORE
    first, last = normals[0] * -1j, normals[-1] * -1j
    return _Moved(
        run,
        width,
        np.concatenate([[shifted[0] - first * on], shifted, [shifted[-1] + last * on]]),
        np.concatenate([normals[:1], normals, normals[-1:]]),
        np.concatenate([[False], back, [False]]),
    )


def _along(segments: Sequence[Segment]) -> tuple[Points, Points]:
    """Return points along a chain, its last too, and the inward unit normals there."""
    points: list[complex] = []
    tangents: list[complex] = []
    for segment in segments:
        count = max(2, math.ceil(abs(segment.end - segment.start) / _STEP))
        for k in range(count + 1):
            if k == 0 and points:
                continue
            t = k / count
            points.append(segment.point(t))
            tangents.append(segment.tangent(t))
    return np.array(points), np.array(tangents) * 1j


def _corner(before: _Moved, after: _Moved) -> tuple[float, complex, float]:
    """Return where two moved seams meet: how far along the first, the place, and along the second.

    Raises:
        OutlineError: if they do not.
    """
    near = complex(before.run.segments[-1].end)
    if before.run.leg and after.run.leg:
        end, start = len(before.points) - 2.0, 1.0
        return end, near, start
    crossings = polyline_crossings(before.points, after.points)
    if not crossings:
        raise OutlineError(
            _("{one} and {other} inside the edge, its two sides do not meet there.").format(
                one=in_words(before.width), other=in_words(after.width)
            ),
            remedy=_("Check the width of the allowance, or draw the stitch line by hand."),
            place=near,
        )
    i, j, place = min(crossings, key=lambda hit: abs(hit[2] - near))
    return _place_in(before.points, i, place), place, _place_in(after.points, j, place)


def _place_in(points: Points, number: int, place: complex) -> float:
    """Return a place on a polyline as the number of its piece and the share of that."""
    size = abs(points[number + 1] - points[number])
    return number + (abs(place - points[number]) / size if size else 0.0)


def _too_wide(moved: _Moved) -> OutlineError:
    middle = moved.run.segments[len(moved.run.segments) // 2].start
    return OutlineError(
        _("an allowance of {width} leaves nothing of the piece.").format(
            width=in_words(moved.width)
        ),
        remedy=_("Check the width of the allowance, and the drawing's scale."),
        place=middle,
    )


def _even_legs(places: dict[int, complex], legs: Sequence[int], first: int) -> DartPoint:
    """Make the legs of a dart equal, where they were meant to be, and return it."""
    ends, tip = (legs[0], legs[2]), places[legs[1]]
    lengths = [abs(places[end] - tip) for end in ends]
    uneven = abs(lengths[0] - lengths[1])
    if uneven <= UNEQUAL_LEGS:
        for end, length in zip(ends, lengths, strict=True):
            places[end] = tip + (places[end] - tip) / length * sum(lengths) / 2
    return DartPoint(first, uneven, uneven <= UNEQUAL_LEGS)


def _stitch_run(
    moved: _Moved, between: tuple[float, float], start: complex, end: complex
) -> SeamRun:
    """Return a seam of the stitch line.

    Args:
        moved: the moved seam.
        between: its corners' places along it.
        start: its first corner.
        end: its last.

    Raises:
        OutlineError: if the allowance is wider than the seam is round.
    """
    numbers = np.arange(math.ceil(between[0] + 0.5), math.floor(between[1] - 0.5) + 1)
    turned_back = moved.is_turned_back[numbers]
    if turned_back.any():
        raise OutlineError(
            _("an allowance of {width} is wider than the edge is round.").format(
                width=in_words(moved.width)
            ),
            remedy=_("Check the width of the allowance, or draw the stitch line by hand."),
            place=complex(moved.points[numbers[int(np.argmax(turned_back))]]),
        )
    run = moved.run
    traced, known = _moved_trace(moved, between)
    points = np.concatenate([[start], traced, [end]])
    flags = np.concatenate([[False], known, [False]])
    if run.fit.is_straight or len(numbers) < 4:
        segments: tuple[Segment, ...] = (Line(start, end),)
    else:
        inner = moved.points[numbers]
        segments = fitted_curve(inner, _TRUE, Ends(start, end)).segments
    found = SeamRun(points, flags, (1, max(1, len(points) - 2)), run.fit, run.leg)
    found.fit = measured(segments, found)
    return found


def _moved_trace(moved: _Moved, between: tuple[float, float]) -> tuple[Points, np.ndarray]:
    """Return the traced points of a seam, moved as it was, and which of them were drawn."""
    run = moved.run
    foot = moved.points - moved.normals * moved.width
    nearest, _away = NearPoints(foot, 3.0 * _STEP + 2.0).nearest(run.points)
    low, high = between
    kept = (nearest >= low) & (nearest <= high) & (nearest > 0) & (nearest < len(foot) - 1)
    # At its corners a traced line is rounded.
    kept[: run.inner[0]] = kept[run.inner[1] + 1 :] = False
    if not kept.any():
        return np.zeros(0, dtype=np.complex128), np.zeros(0, dtype=np.bool_)
    return run.points[kept] + moved.normals[nearest[kept]] * moved.width, run.known[kept]


def moved_inward(cut: CleanOutline, widths: Sequence[float], place: complex) -> complex:
    """Return a place on a cut line, such as a notch's, moved inward as its seam is.

    Args:
        cut: the cut line.
        widths: of the allowance of every run, in mm.
        place: in mm.
    """
    best: tuple[float, complex] | None = None
    for run, width in zip(cut.runs, widths, strict=True):
        points, normals = _along(run.segments)
        away: Numbers = np.abs(points - place)
        nearest = int(np.argmin(away))
        if best is None or away[nearest] < best[0]:
            best = float(away[nearest]), complex(normals[nearest] * (0.0 if run.leg else width))
    return place + (best[1] if best is not None else 0.0)
