"""Right angles where neckline, waist and hem meet the centre: unfolded, no point may stay there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.model.seam_names import HEM, NECKLINE, WAIST, Seam
from drafting_core.plane.curves import Cubic, Line, cross, turn
from drafting_core.trace.fit_seams import Ends, fitted_curve
from drafting_core.trace.seam_runs import SeamRun, measured

#: Angles this near to a right angle are made right (radians).
NEARLY_SQUARE = math.radians(1.5)
#: An angle nearer than this is right as it is (radians): a tenth of a millimetre on a metre.
_RIGHT = 1e-4


class Squared(NamedTuple):
    """A corner that was made square.

    Attributes:
        seam: the seam that meets the centre there.
        centre: the centre seam.
        at: the corner, in mm.
        off: by how much the angle was off, in radians.
        moved: how far the corner moved along the centre seam, in mm.
        bent: whether a straight seam became a curve, since turning it would have moved the
            corner by more than the tolerance.
    """

    seam: Seam
    centre: Seam
    at: complex
    off: float
    moved: float
    bent: bool


def square_corners(
    runs: Sequence[SeamRun], seams: Sequence[Seam | None], centre_seam: Seam, tolerance: float
) -> list[Squared]:
    """Make the angles at the centre right, where they nearly are; the runs are changed.

    A curve's end is turned. A straight seam is turned about its other end as long as its corner
    moves no further than the tolerance; else it is bent a little.

    Args:
        runs: the outline, in order.
        seams: the seam of each run, or None for legs.
        centre_seam: the seam that is the piece's centre.
        tolerance: how far a corner may be moved, in mm.
    """
    done = []
    count = len(runs)
    for k in range(count):
        for centre, other, at_start in ((k - 1, k, True), (k, k - 1, False)):
            one, seam = seams[centre], seams[other]
            if one is None or seam is None or not runs[centre].fit.is_straight:
                continue
            if one is not centre_seam or seam.kind not in (NECKLINE, WAIST, HEM):
                continue
            found = _square(runs, centre % count, other % count, at_start, tolerance)
            if found is not None:
                done.append(Squared(seam, one, *found))
    return done


def _square(
    runs: Sequence[SeamRun], centre: int, number: int, at_start: bool, tolerance: float
) -> tuple[complex, float, float, bool] | None:
    """Square one corner; return its place, how far off it was, how far it moved, and if bent."""
    run, middle = runs[number], runs[centre]
    line = middle.segments[0]
    along = (line.end - line.start) / abs(line.end - line.start)
    corner = run.start if at_start else run.end
    first = run.segments[0] if at_start else run.segments[-1].reversed()
    inward = first.start_tangent()
    square = 1j * along if cross(along, inward) > 0 else -1j * along
    off = turn(inward, square)
    if abs(off) > NEARLY_SQUARE:
        return None
    if abs(off) < _RIGHT:
        return None
    end = run.end if at_start else run.start
    if run.fit.is_straight:
        reach = ((end - corner) * along.conjugate()).real
        if abs(reach) <= tolerance:
            to = corner + along * reach
            segment = Line(to, end)
            run.fit = measured([segment if at_start else segment.reversed()], run)
            _move_end(middle, corner, to)
            return to, abs(off), abs(reach), False
        length = abs(end - corner)
        # A cubic strays by 4/9 of its handle's distance from the line (its value at a third).
        handle = min(length / 3, tolerance / math.sin(abs(off)))
        straight = (end - corner) / length
        curve = Cubic(corner, corner + square * handle, end - straight * length / 3, end)
        run.fit = measured([curve if at_start else curve.reversed()], run)
        return corner, abs(off), 0.0, True
    ends = Ends(run.start, run.end, leaving=square) if at_start else Ends(
        run.start, run.end, arriving=-square
    )  # fmt: skip
    other_fixed = run.fit.segments
    fit = fitted_curve(run.fitting, tolerance, ends, spans=len(other_fixed))
    run.fit = measured(fit.segments, run)
    return corner, abs(off), 0.0, False


def _move_end(run: SeamRun, old: complex, new: complex) -> None:
    """Move one end of a straight run."""
    line = run.segments[0]
    moved = Line(new, line.end) if line.start == old else Line(line.start, new)
    run.fit = measured([moved], run)
