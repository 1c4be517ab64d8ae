"""A result folded shut and measured, by other code than drew it.

Nothing here is taken from the drawing of the cut line: every dart is folded anew about its point
by the places of its mouth ends, and its raw edges are measured along rays. Lengths are mm, angles
radians.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.dart.excess import TRIM
from drafting_core.dart.finish import FinishedDart
from drafting_core.model.outline import Edge
from drafting_core.plane.curves import Segment, cross, dot, unit
from drafting_core.text.errors import DraftingError
from drafting_core.text.words import N_, _

#: How far raw edges may be apart (mm).
CLOSES = 0.05
#: The excess is measured on so many rays to each side of the dart's middle.
RAYS = 3
#: Legs that turn by less than this to each other (rad) never meet.
_PARALLEL = 1e-7


_REMEDY = N_("This is an error of the program: please report it together with the drawing.")


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


def measured(darts: Sequence[FinishedDart], ring: Sequence[Segment]) -> list[FoldedShut | None]:
    """Fold every dart shut and measure how its raw edges meet.

    Args:
        darts: the darts.
        ring: the cut line, trim windows taken out.

    Returns:
        For each dart what was measured; None for curved legs, whose excess lies on nothing.

    Raises:
        NotFoldedError: if one does not close.
    """
    found: list[FoldedShut | None] = []
    for dart in darts:
        legs = tuple(unit(end - dart.point) for end in dart.ends)
        if dart.opening.sides is not None or abs(cross(*legs)) < _PARALLEL:
            found.append(None)
            continue
        outcome = FoldedShut(_edge_step(dart, ring), _excess_off(dart, ring))
        if not max(outcome) <= CLOSES:
            place = dart.ends[dart.fold.leg]
            raise NotFoldedError(
                _(
                    "the dart on {seam} does not close: folded shut, its raw edges are {off:.2f} "
                    "mm apart near ({x:.1f}, {y:.1f}) mm."
                ).format(seam=dart.seam.spoken, off=max(outcome), x=place.real, y=place.imag),
                remedy=_(_REMEDY),
                place=place,
            )
        found.append(outcome)
    return found


def _edge_step(dart: FinishedDart, ring: Sequence[Segment]) -> float:
    """Return by how much the legs, extended to the cut line, differ."""
    # Legs that differ by a hand's reshaping meet at the same distance from the point all the same.
    least = min(abs(end - dart.point) for end in dart.ends) - CLOSES
    first, second = (
        _first_out(ring, dart.point, unit(end - dart.point), least) for end in dart.ends
    )
    return abs(first - second) if math.isfinite(first + second) else math.inf


def _excess_off(dart: FinishedDart, ring: Sequence[Segment]) -> float:
    """Return by how much the excess's edge is off the edge that it lies on, at most.

    Where the excess is trimmed, only the strips beside the legs are there to be measured.
    """
    leg = unit(dart.ends[dart.fold.leg] - dart.point)
    away = -1.0 if dart.fold.leg == 0 else 1.0
    widest = dart.point_angle / 2
    if dart.excess == TRIM:
        radius = max(abs(end - dart.point) for end in dart.ends)
        widest = min(widest, 0.8 * math.asin(min(1.0, dart.trim_allowance / (2 * radius))))
    most = 0.0
    for k in range(RAYS):
        into = widest * (k + 0.5) / RAYS
        lower = _first_out(ring, dart.point, leg * cmath.rect(1.0, away * into))
        for over in (into, dart.point_angle - into):
            upper = _first_out(ring, dart.point, leg * cmath.rect(1.0, -away * over))
            if not math.isfinite(upper + lower):
                return math.inf
            most = max(most, abs(upper - lower))
    return most


def _first_out(ring: Sequence[Segment], origin: complex, ray: complex, least: float = 0.0) -> float:
    """Return the first distance, from a least one on, at which a ray meets a ring."""
    best = math.inf
    for segment in ring:
        for t in segment.on_ray(origin, ray):
            out = dot(segment.point(t) - origin, ray)
            if least <= out < best and out > 0.0:
                best = out
    return best


def check_fold_edges(edges: Sequence[Edge], ring: Sequence[Segment]) -> None:
    """Make sure that nothing lies beyond a fold edge.

    Args:
        edges: the stitch line with its caps.
        ring: the cut line.

    Raises:
        NotFoldedError: if not, with the place.
    """
    for edge in edges:
        if not edge.seam.fold or not edge.segment.is_straight():
            continue
        outward = -1j * unit(edge.segment.end - edge.segment.start)
        for segment in ring:
            far = max(segment, key=lambda z: dot(z - edge.segment.start, outward))
            if dot(far - edge.segment.start, outward) > CLOSES:
                raise NotFoldedError(
                    _(
                        "the cut line reaches {off:.2f} mm beyond the fold of the cloth near "
                        "({x:.1f}, {y:.1f}) mm."
                    ).format(off=dot(far - edge.segment.start, outward), x=far.real, y=far.imag),
                    remedy=_(_REMEDY),
                    place=far,
                )
