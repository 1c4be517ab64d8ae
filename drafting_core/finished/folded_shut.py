"""A result folded shut and measured, by other code than drew it.

Nothing here is taken from the drawing of the cut line: every mouth is laid shut anew from the
places of its ends and the directions of its legs, and distances are measured along rays and to
the drawn curves themselves. Lengths are mm, angles radians.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.dart.finish import FinishedDart
from drafting_core.model.outline import Edge, nearest_on
from drafting_core.plane.curves import Cubic, Line, Segment, cross, dot, unit
from drafting_core.text.errors import DraftingError
from drafting_core.text.words import _

#: How far raw edges may be apart (mm): a tenth of what a cutter sees.
CLOSES = 0.05
#: The excess is measured on so many rays.
RAYS = 8
#: A straight piece of the cut line up to so many widths may be a mitre, a step or a square cut.
JOINT_WIDTHS = 8.0
#: Legs that turn by less than this to each other (rad) never meet.
_PARALLEL = 1e-7


class FoldedShut(NamedTuple):
    """What is measured of one dart that is folded shut.

    Attributes:
        edge_step: by how much the raw edge steps where the legs meet, in mm.
        excess_off: by how much the excess's edge is off the edge that it lies on, in mm at most.
    """

    edge_step: float
    excess_off: float


class NotFoldedError(DraftingError):
    """A result that does not fold shut: an error of the program."""


class _Laid(NamedTuple):
    """A dart: its hinge, its legs as unit vectors out of it, and how far its mouth ends are."""

    hinge: complex
    legs: tuple[complex, complex]
    radii: tuple[float, float]

    @property
    def angle(self) -> float:
        """The angle between the legs."""
        return abs(cmath.phase(self.legs[1] / self.legs[0]))


def measured(darts: Sequence[FinishedDart], ring: Sequence[Segment]) -> list[FoldedShut | None]:
    """Fold every dart shut and measure how its raw edges meet.

    Args:
        darts: the darts.
        ring: the cut line before trim windows are taken out of it.

    Returns:
        For each dart what was measured; None for curved legs, whose excess lies on nothing.

    Raises:
        NotFoldedError: if one does not close.
    """
    found: list[FoldedShut | None] = []
    for dart in darts:
        laid = _laid(dart)
        if laid is None:
            found.append(None)
            continue
        outcome = _fold(dart, laid, ring)
        if not max(outcome.edge_step, outcome.excess_off) <= CLOSES:
            raise NotFoldedError(
                _(
                    "the dart on {seam} does not close: folded shut, its raw edges are {off:.2f} "
                    "mm apart near ({x:.1f}, {y:.1f}) mm."
                ).format(
                    seam=dart.seam.spoken,
                    off=max(outcome.edge_step, outcome.excess_off),
                    x=dart.ends[dart.fold.leg].real,
                    y=dart.ends[dart.fold.leg].imag,
                ),
                remedy=_("This is an error of the program: please report it with the drawing."),
                place=dart.ends[dart.fold.leg],
            )
        found.append(outcome)
    return found


def _laid(dart: FinishedDart) -> _Laid | None:
    if dart.opening.sides is not None:
        return None
    u, v = (unit(end - dart.point) for end in dart.ends)
    if abs(cross(u, v)) < _PARALLEL:
        return None
    return _Laid(
        dart.point, (u, v), (abs(dart.ends[0] - dart.point), abs(dart.ends[1] - dart.point))
    )


def _fold(dart: FinishedDart, laid: _Laid, ring: Sequence[Segment]) -> FoldedShut:
    """Measure one dart: legs by their length to the cut line, the excess on rays."""
    legs = [
        _first_out(ring, laid.hinge, ray, radius - CLOSES)
        for ray, radius in zip(laid.legs, laid.radii, strict=True)
    ]
    fold = dart.fold.leg
    away = -1.0 if fold == 0 else 1.0
    off = 0.0
    for k in range(RAYS):
        into = laid.angle * (k + 0.5) / RAYS
        over = into if into <= laid.angle / 2 else laid.angle - into
        # Over the mouth seen from the fold's leg, and the same ray folded over the cloth.
        across = laid.legs[fold] * cmath.rect(1.0, -away * into)
        under = laid.legs[fold] * cmath.rect(1.0, away * over)
        upper = _first_out(ring, laid.hinge, across, 0.0)
        lower = _first_out(ring, laid.hinge, under, 0.0)
        missed = upper is None or lower is None
        off = math.inf if missed else max(off, abs((upper or 0.0) - (lower or 0.0)))
    step = math.inf if None in legs else abs((legs[0] or 0.0) - (legs[1] or 0.0))
    return FoldedShut(step, off)


def _first_out(
    ring: Sequence[Segment], origin: complex, ray: complex, least: float
) -> float | None:
    """Return the first distance, beyond a least one, at which a ray meets a ring."""
    best: float | None = None
    for segment in ring:
        for t in segment.on_ray(origin, ray):
            out = dot(segment.point(t) - origin, ray)
            if out >= least and out > 0.0 and (best is None or out < best):
                best = out
    return best


def beyond_fold(edges: Sequence[Edge], ring: Sequence[Segment]) -> float:
    """Return how far a cut line reaches beyond a fold edge of the piece, in mm."""
    most = 0.0
    for edge in edges:
        if edge.seam.fold and edge.segment.is_straight():
            along = unit(edge.segment.end - edge.segment.start)
            outward = -1j * along
            for segment in ring:
                for z in segment:
                    most = max(most, dot(z - edge.segment.start, outward))
    return most


def strays(edges: Sequence[Edge], widths: Sequence[float], ring: Sequence[Segment]) -> float:
    """Return by how much a curve of the cut line is off its distance from the seam, in mm.

    Straight pieces up to some widths may be mitres, steps or square cuts, and are passed over.
    """
    segments = [edge.segment for edge in edges]
    widest = max(widths)
    most = 0.0
    for segment in ring:
        if isinstance(segment, Line) and abs(segment.end - segment.start) <= JOINT_WIDTHS * widest:
            continue
        if isinstance(segment, Cubic):
            place = nearest_on(segments, segment.point(0.5))
            most = max(most, abs(place.distance - widths[place.segment]))
    return most
