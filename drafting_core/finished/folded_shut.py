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
from drafting_core.plane.curves import Line, Segment, dot, unit
from drafting_core.text.errors import DartError, DraftingError, OutlineError
from drafting_core.text.lengths import in_words, place_in_words, told_length
from drafting_core.text.words import N_, _, capital

#: How far raw edges may be apart (mm).
CLOSES = 0.05
#: The excess is measured on rays to each side of the dart's middle, at these shares of the half
#: from the leg: closest beside the leg and the middle, where it is seldom looked at.
RAYS = (0.02, 0.15, 0.4, 0.7, 0.97)
#: Legs extended by this (mm) are through any allowance.
_THROUGH = 150.0


_REMEDY = N_("This is an error of the program: please report it together with the drawing.")


class FoldedShut(NamedTuple):
    """What is measured of one dart that is folded shut.

    Attributes:
        edge_step: by how much the raw edge steps where the legs meet, in mm.
        excess_off: by how much the excess's edge is off the edge that it lies on, in mm at most;
            None for curved legs, whose excess cannot lie along them.
    """

    edge_step: float
    excess_off: float | None

    @property
    def most(self) -> float:
        """The larger of the two."""
        return max(self.edge_step, self.excess_off or 0.0)


class NotFoldedError(DraftingError):
    """A result that does not fold shut: an error of the program."""


def folded_and_measured(
    darts: Sequence[FinishedDart], ring: Sequence[Segment], seams: Sequence[Segment]
) -> list[FoldedShut]:
    """Fold every dart shut and measure how its raw edges meet.

    Args:
        darts: the darts.
        ring: the cut line, trim windows taken out.
        seams: the stitch line without what lies across the mouths.

    Raises:
        DartError: if a leg, extended through the allowance, runs back into the piece.
        NotFoldedError: if one does not close.
    """
    found: list[FoldedShut] = []
    for dart in darts:
        if dart.opening.sides is not None:
            outcome = FoldedShut(_curved_step(dart, ring), None)
        else:
            outcome = FoldedShut(_edge_step(dart, ring), _excess_off(dart, ring, darts))
        # Legs that a hand's reshaping left unequal are the drafter's, and told elsewhere.
        first, second = (abs(end - dart.point) for end in dart.ends)
        if not outcome.most <= CLOSES + abs(first - second):
            _check_extensions(dart, ring, seams)
            place = dart.ends[dart.fold.leg]
            raise NotFoldedError(
                _(
                    "the dart on {seam} does not close: folded shut, its raw edges are {off} apart "
                    "near {place}."
                ).format(
                    seam=dart.seam.spoken,
                    off=told_length(outcome.most, 2),
                    place=place_in_words(place),
                ),
                remedy=_(_REMEDY),
                place=place,
            )
        found.append(outcome)
    return found


def _check_extensions(
    dart: FinishedDart, ring: Sequence[Segment], seams: Sequence[Segment]
) -> None:
    """Refuse a dart of which a leg, extended through the allowance, runs back into the piece.

    Raises:
        DartError: with the place.
    """
    for leg in dart.legs:
        end, way = leg[0].start, -leg[0].start_tangent()
        out = _first_out(ring, end, way, CLOSES)
        back = _first_out(seams, end, way, CLOSES)
        if back < out and math.isfinite(out):
            place = end + back * way
            raise DartError(
                _(
                    "a leg of the dart on {seam}, extended through the allowance, runs back into "
                    "the piece near {place}, so that the allowance cannot be folded there."
                ).format(seam=dart.seam.spoken, place=place_in_words(place)),
                remedy=_("Move the dart further from the corner, or to another seam."),
                place=place,
            )


def _curved_step(dart: FinishedDart, ring: Sequence[Segment]) -> float:
    """Return by how much curved legs differ, extended straight to the cut line."""
    first, second = (
        _first_out(ring, leg[0].start, -leg[0].start_tangent(), -CLOSES) for leg in dart.legs
    )
    return abs(first - second) if math.isfinite(first + second) else math.inf


def _edge_step(dart: FinishedDart, ring: Sequence[Segment]) -> float:
    """Return by how much the legs, extended to the cut line, differ."""
    # Legs that differ by a hand's reshaping meet at the same distance from the point all the same.
    least = min(abs(end - dart.point) for end in dart.ends) - CLOSES
    first, second = (
        _first_out(ring, dart.point, unit(end - dart.point), least) for end in dart.ends
    )
    return abs(first - second) if math.isfinite(first + second) else math.inf


def _excess_off(
    dart: FinishedDart, ring: Sequence[Segment], darts: Sequence[FinishedDart]
) -> float:
    """Return by how much the excess's edge is off the edge that it lies on, at most.

    Where the excess is trimmed, only the strips beside the legs are there to be measured; where
    it lies over another mouth, the cloth under it is whole only with that one shut too, and is
    passed over.
    """
    others = [other for other in darts if other is not dart]
    leg = unit(dart.ends[dart.fold.leg] - dart.point)
    away = -1.0 if dart.fold.leg == 0 else 1.0
    widest = dart.point_angle / 2
    if dart.excess == TRIM:
        # A ray that leaves a strip by its side meets the window first.
        radius = 2.0 * max(
            _first_out(ring, dart.point, unit(end - dart.point), abs(end - dart.point) - CLOSES)
            for end in dart.ends
        )
        widest = min(widest, math.asin(min(1.0, dart.trim_allowance / radius)))
    most = 0.0
    for share in RAYS:
        into = widest * share
        under = leg * cmath.rect(1.0, away * into)
        if any(_meets_mouth(dart.point, under, other) for other in others):
            continue
        lower = _first_out(ring, dart.point, under)
        for over in (into, dart.point_angle - into):
            upper = _first_out(ring, dart.point, leg * cmath.rect(1.0, -away * over))
            if not math.isfinite(upper + lower):
                return math.inf
            most = max(most, abs(upper - lower))
    return most


def _meets_mouth(origin: complex, ray: complex, other: FinishedDart) -> bool:
    """Tell whether a ray meets another dart, its legs extended through the allowance."""
    outward = [end + unit(end - other.point) * _THROUGH for end in other.ends]
    edges = Line(other.point, outward[0]), Line(other.point, outward[1])
    return any(
        dot(edge.point(t) - origin, ray) > 0.0 for edge in edges for t in edge.on_ray(origin, ray)
    )


def _first_out(ring: Sequence[Segment], origin: complex, ray: complex, least: float = 0.0) -> float:
    """Return the first distance, from a least one on, at which a ray meets a ring."""
    best = math.inf
    for segment in ring:
        for t in segment.on_ray(origin, ray):
            out = dot(segment.point(t) - origin, ray)
            if least <= out < best:
                best = out
    return best


def check_fold_edges(edges: Sequence[Edge], ring: Sequence[Segment]) -> None:
    """Refuse a cut line that reaches beyond a fold edge, where there is no cloth.

    Args:
        edges: the seams of the piece, without caps.
        ring: the cut line.

    Raises:
        OutlineError: with the place.
    """
    for edge in edges:
        if not edge.seam.fold or not edge.segment.is_straight():
            continue
        start, outward = edge.segment.start, -1j * unit(edge.segment.end - edge.segment.start)
        far = max((z for segment in ring for z in segment), key=lambda z: dot(z - start, outward))
        if (off := dot(far - start, outward)) > CLOSES:
            raise OutlineError(
                _("the allowances reach {off} beyond the fold of the cloth near {place}.").format(
                    off=in_words(off), place=place_in_words(far)
                ),
                thing=capital(edge.seam.spoken),
                remedy=_("Make them narrower there, or take the seam off the fold."),
                place=far,
            )
