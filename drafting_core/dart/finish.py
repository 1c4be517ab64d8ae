"""Finishing a dart: its point, fold, cap, and what becomes of the excess."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from drafting_core.block.mouth_seam import mouth_seam
from drafting_core.dart.excess import KEEP, TRIM, Reason, keep_or_trim
from drafting_core.dart.folding import Fold, fold_of, is_at_neck_tip
from drafting_core.dart.window_sides import window_sides
from drafting_core.model.outline import (
    SHORTEST_SEGMENT,
    Edge,
    encloses,
    flattened,
    nearest_on,
    with_ends,
)
from drafting_core.model.piece import TUCK, Opening, Piece, Sides
from drafting_core.model.seam_names import Seam
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import (
    Line,
    PointMap,
    Segment,
    backward,
    cross,
    dot,
    reflection_in,
    rotation_about,
    turn,
    unit,
)
from drafting_core.text.errors import DartError
from drafting_core.text.lengths import in_words
from drafting_core.text.words import N_, _

#: A dart wider than this at its point cannot be folded flat beside itself.
WIDEST_POINT = math.radians(120.0)
#: The window's vertex lies at least this far inside the cap, or the dart is too narrow (mm).
WINDOW_DEPTH = 5.0
#: A sewn seam that bends by more than this at the new dart is worth a word.
NOTABLE_BEND = math.radians(3.0)
#: Mouth ends of a standing dart may differ by this before the cap cannot be fitted (mm).
UNEVEN_MOUTH = 3.0


class FinishedDart(NamedTuple):
    """A dart as it is drawn, sewn and cut. Lengths in mm, angles in radians.

    Attributes:
        opening: the opening that it finishes; the dart's angle at the apex is there.
        point: the dart point.
        ends: the mouth ends in the outline's direction.
        point_angle: the angle between the legs.
        seam: the seam that the mouth is on.
        fold: the way the excess is folded.
        cap: the outline across the mouth, from the first mouth end to the second.
        excess: ``keep`` or ``trim``.
        reason: why.
        trim_allowance: what stays beside each leg where the excess is trimmed.
        warnings: what the drafter should know.
        trued: whether the seam was drawn smooth across its mouth.
    """

    opening: Opening
    point: complex
    ends: tuple[complex, complex]
    point_angle: float
    seam: Seam
    fold: Fold
    cap: tuple[Edge, ...]
    excess: str
    reason: Reason
    trim_allowance: float
    warnings: tuple[str, ...] = ()
    trued: bool = False

    @property
    def why(self) -> str:
        """Why the excess is kept or trimmed, in one sentence."""
        return self.reason.sentence()

    @property
    def intake(self) -> float:
        """The width of the mouth."""
        return abs(self.ends[1] - self.ends[0])

    @property
    def bend(self) -> float:
        """By how much the sewn seam bends at the dart, its point being short of the apex."""
        return 0.0 if self.trued else self.point_angle - self.opening.angle

    @property
    def middle_ray(self) -> complex:
        """The unit vector from the point out through the middle of the mouth."""
        first, second = (unit(end - self.point) for end in self.ends)
        return unit(first + second)

    @property
    def clearance(self) -> float:
        """The distance from the apex to the dart point."""
        return abs(self.point - self.opening.apex)

    @property
    def legs(self) -> Sides:
        """The two legs, each from its mouth end to the point."""
        return self.opening.legs(self.ends, self.point)

    @property
    def centre_line(self) -> tuple[Segment, ...]:
        """The line from the point along which the dart is folded, as long as the legs."""
        half = rotation_about(self.point, self.point_angle / 2)
        return tuple(segment.mapped(half).reversed() for segment in reversed(self.legs[0]))

    @property
    def window_sides(self) -> Sides | None:
        """The sides of its trim window, from the vertex out, or None where they do not meet."""
        return window_sides(self.legs, self.trim_allowance)


def dart_point(apex: complex, ends: tuple[complex, complex], clearance: float) -> complex:
    """Return the dart point on the bisector of an opening, at a clearance from the apex.

    Raises:
        DartError: if the clearance is longer than the dart.
    """
    middle = (ends[0] + ends[1]) / 2
    depth = abs(middle - apex)
    if clearance >= depth:
        raise DartError(
            _(
                "the clearance of {clearance} is longer than the dart, which is {depth} deep from "
                "its mouth to the apex."
            ).format(clearance=in_words(clearance), depth=in_words(depth)),
            remedy=_("Set a shorter clearance."),
            place=middle,
        )
    return apex + unit(middle - apex) * clearance


def finish(
    piece: Piece,
    k: int,
    point: complex,
    down: complex,
    settings: Settings,
    *,
    trued: bool = False,
) -> FinishedDart:
    """Finish one opening of a piece.

    Args:
        piece: the piece as it will be cut.
        k: the number of the opening.
        point: its dart point.
        down: the unit vector down along the grain.
        settings: the drafter's choices.
        trued: whether the seam was drawn smooth across its mouth.

    Raises:
        DartError: if the dart cannot be folded or kept as asked.
    """
    opening = piece.openings[k]
    ends = piece.mouth(k)
    point_angle = turn(ends[0] - point, ends[1] - point)
    seam = mouth_seam(piece, k)
    is_tuck = opening.made == TUCK
    if not 0.0 < point_angle <= WIDEST_POINT:
        raise DartError(
            (
                _(
                    "the tuck on {seam} opens by {angle:.0f}° at its point; over 120° it cannot be "
                    "folded."
                )
                if is_tuck
                else _(
                    "the dart on {seam} opens by {angle:.0f}° at its point; over 120° it cannot be "
                    "folded."
                )
            ).format(seam=seam.spoken, angle=math.degrees(point_angle)),
            remedy=_("Move a smaller share of the dart, or set a shorter clearance."),
            place=point,
        )
    legs = [abs(end - point) for end in ends]
    if abs(legs[0] - legs[1]) > UNEVEN_MOUTH:
        raise DartError(
            (
                _("the tuck on {seam} has unequal legs: {one} and {other}.")
                if is_tuck
                else _("the dart on {seam} has unequal legs: {one} and {other}.")
            ).format(seam=seam.spoken, one=in_words(legs[0]), other=in_words(legs[1])),
            remedy=_("Move the dart point or a mouth end until they are equal."),
            place=point,
        )
    fold = fold_of(piece, k, down, settings.fold)
    cap, reached_mouth = _cap(piece, k, point, point_angle, fold)
    verdict = keep_or_trim(seam, is_at_neck_tip(piece, k), abs(ends[1] - ends[0]), settings)
    excess, reason = verdict.excess, verdict.reason
    warnings: list[str] = []
    if abs(legs[0] - legs[1]) > 0.1:
        warnings.append(
            (
                _("The legs of the tuck on {seam} differ by {by:.1f} mm; its cap gives way.")
                if is_tuck
                else _("The legs of the dart on {seam} differ by {by:.1f} mm; its cap gives way.")
            ).format(seam=seam.spoken, by=abs(legs[0] - legs[1]))
        )
    if reached_mouth:
        if settings.excess == KEEP:
            raise DartError(
                (
                    _(
                        "the excess of the tuck on {seam} cannot be kept: folded, it would lie "
                        "over the mouth of another dart."
                    )
                    if is_tuck
                    else _(
                        "the excess of the dart on {seam} cannot be kept: folded, it would lie "
                        "over the mouth of another dart."
                    )
                ).format(seam=seam.spoken),
                remedy=_("Let it be trimmed, or fold it the other way."),
                place=point,
            )
        if excess == KEEP:
            excess = TRIM
            reason = Reason(
                N_("Trimmed, since the folded excess would lie over the mouth of another dart"),
                is_trimmed=True,
            )
    elif any(edge.seam.fold for edge in cap):
        if settings.excess == KEEP:
            warnings.append(
                (
                    _(
                        "The excess of the tuck on {seam} is kept as set, but it ends on the fold "
                        "of the cloth, where no seam catches it."
                    )
                    if is_tuck
                    else _(
                        "The excess of the dart on {seam} is kept as set, but it ends on the fold "
                        "of the cloth, where no seam catches it."
                    )
                ).format(seam=seam.spoken)
            )
        elif excess == KEEP:
            excess = TRIM
            reason = Reason(
                N_(
                    "Trimmed, since the folded excess would end on the fold of the cloth, where no "
                    "seam catches it"
                ),
                is_trimmed=True,
            )
    if is_tuck:
        excess = KEEP
        reason = Reason(N_("Kept, since a tuck opens out beyond its stitching"))
    dart = FinishedDart(
        opening,
        point,
        ends,
        point_angle,
        seam,
        fold,
        cap,
        excess,
        reason,
        settings.trim_allowance,
        trued=trued,
    )
    if excess == TRIM and not _is_wide_enough(dart):
        excess = KEEP
        reason = Reason(
            N_(
                "Kept, since the dart is too narrow to trim: {width} beside each leg leaves "
                "nothing to cut away"
            ),
            (("width", in_words(settings.trim_allowance)),),
        )
    if dart.bend > NOTABLE_BEND:
        warnings.append(bend_warning(dart))
    return dart._replace(excess=excess, reason=reason, warnings=tuple(warnings))


def bend_warning(dart: FinishedDart) -> str:
    """Return what is said of a sewn seam that bends by more than 3° at a dart."""
    text = (
        _(
            "The sewn seam bends by {angle:.1f}° at the tuck on {seam}, since its lines aim at a "
            "point {clearance} short of the apex."
        )
        if dart.opening.made == TUCK
        else _(
            "The sewn seam bends by {angle:.1f}° at the dart on {seam}, since its point is "
            "{clearance} short of the apex."
        )
    )
    return text.format(
        angle=math.degrees(dart.bend),
        seam=dart.seam.spoken,
        clearance=in_words(dart.clearance),
    )


def _is_wide_enough(dart: FinishedDart) -> bool:
    """Tell whether the window's vertex lies at least 5 mm inside the cap."""
    segments = [edge.segment for edge in dart.cap]
    there, back = dart.legs
    outward = list(backward(there))
    polygon = flattened([*outward, *segments, *back])
    sides = dart.window_sides
    if sides is None:
        return False
    # Just inside, so that without any trim allowance the dart point itself will do.
    inside = unit(sum(side[0].start_tangent() for side in sides))
    vertex = sides[0][0].start + inside * 1e-6
    return encloses(polygon, vertex) and nearest_on(segments, vertex).distance >= WINDOW_DEPTH


def _along(piece: Piece, k: int, leg: int) -> Iterator[Edge]:
    """Yield the edges that lead away from a mouth end, up to the next open mouth."""
    if leg == 0:
        for edge in reversed(piece.runs[k]):
            yield edge._replace(segment=edge.segment.reversed())
    else:
        yield from piece.runs[(k + 1) % len(piece.runs)]


def _cap(
    piece: Piece, k: int, point: complex, angle: float, fold: Fold
) -> tuple[tuple[Edge, ...], bool]:
    """Return the cap of a dart and whether its seam ran into another open mouth.

    The dart is folded shut with its excess to the fold's side and cut along the seam: from that
    side's mouth end the cap is the seam reflected in the leg, up to the middle of the dart;
    beyond, it is the seam turned about the dart point by the dart's angle.
    """
    end = piece.mouth(k)[fold.leg]
    away = -1.0 if fold.leg == 0 else 1.0
    leg_ray = unit(end - point)
    ray = leg_ray * complex(math.cos(angle / 2), away * math.sin(angle / 2))
    followed: list[Edge] = []
    reached_mouth = True
    for edge in _along(piece, k, fold.leg):
        t = _first_on_ray(edge.segment, point, ray, start_excluded=not followed)
        if t is None:
            followed.append(edge)
            continue
        reached_mouth = False
        if edge.segment.length(0.0, t) >= SHORTEST_SEGMENT:
            kept = edge.segment if t == 1.0 else edge.segment.part(0.0, t)
            followed.append(edge._replace(segment=kept))
        elif followed:
            last = followed[-1]
            stop = point + ray * dot(edge.segment.start - point, ray)
            followed[-1] = last._replace(segment=with_ends(last.segment, last.segment.start, stop))
        break
    mirror = reflection_in(point, leg_ray)
    swing = rotation_about(point, -away * angle)
    rising = [_mapped(edge, mirror) for edge in followed]
    falling = [
        edge._replace(segment=edge.segment.mapped(swing).reversed()) for edge in reversed(followed)
    ]
    bridge = falling[0].segment.start
    if reached_mouth and abs(bridge - rising[-1].segment.end) >= SHORTEST_SEGMENT:
        # Past the other mouth there is no seam to copy: the two halves meet in a straight line,
        # which only carries the outline across to where the window takes it out.
        rising.append(Edge(Line(rising[-1].segment.end, bridge), followed[-1].seam))
    cap = [*rising, *falling]
    if fold.leg == 1:
        cap = [edge._replace(segment=edge.segment.reversed()) for edge in reversed(cap)]
    return tuple(_closed_up(cap, piece.mouth(k))), reached_mouth


def _mapped(edge: Edge, to: PointMap) -> Edge:
    return edge._replace(segment=edge.segment.mapped(to))


def _closed_up(cap: list[Edge], ends: tuple[complex, complex]) -> list[Edge]:
    """Let the pieces of a cap start where the one before ends, and the cap at the mouth ends."""
    closed: list[Edge] = []
    start = ends[0]
    for index, edge in enumerate(cap):
        end = ends[1] if index == len(cap) - 1 else edge.segment.end
        closed.append(edge._replace(segment=with_ends(edge.segment, start, end)))
        start = end
    return closed


def _first_on_ray(
    segment: Segment, origin: complex, ray: complex, *, start_excluded: bool
) -> float | None:
    """Return the first parameter at which a segment meets a ray, if it does."""
    for t in segment.on_ray(origin, ray):
        if start_excluded and t == 0.0:
            continue
        if dot(segment.point(t) - origin, ray) > 0.0:
            return t
    # The end may lie on the ray up to rounding; the next segment then starts behind it.
    end = segment.end - origin
    if abs(cross(ray, end)) < 1e-9 and dot(ray, end) > 0.0:
        return 1.0
    return None
