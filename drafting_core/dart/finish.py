"""Finishing a dart: its point, fold, cap, and what becomes of the excess."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from drafting_core.block.leg_shapes import ALIKE, MOST_BOW, TURNED, bow, likeness
from drafting_core.block.mouth_seam import mouth_seam
from drafting_core.dart.excess import (
    CURVED,
    KEEP,
    ON_THE_FOLD,
    OPENS_OUT,
    OVER_A_MOUTH,
    TOO_NARROW,
    TRIM,
    Verdict,
    keep_or_trim,
)
from drafting_core.dart.finish_words import (
    bend_warning,
    cannot_be_kept,
    fold_edge_warning,
    legs_warning,
    opens_too_wide,
    unequal_legs,
    verdict_sentence,
)
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
from drafting_core.text.lengths import told_apart
from drafting_core.text.words import _

#: A dart wider than this at its point cannot be folded flat beside itself.
WIDEST_POINT = math.radians(120.0)
#: The window's vertex lies at least this far inside the cap, or the dart is too narrow (mm).
WINDOW_DEPTH = 5.0
#: A sewn seam that bends by more than this at the new dart is worth a word.
NOTABLE_BEND = math.radians(3.0)
#: Mouth ends of a standing dart may differ by this before the cap cannot be fitted (mm).
UNEVEN_MOUTH = 3.0
#: Legs that differ by more than this are worth a word (mm).
NOTABLE_DIFFERENCE = 0.1
#: A step from the window's vertex into the window: large beside rounding, small beside cloth (mm).
_JUST_INSIDE = 1e-6
#: A seam's end lies on the ray that ends the cap within this: rounding, not drafting (mm).
_ON_RAY = 1e-9


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
        verdict: whether its excess is kept or trimmed, and why.
        trim_allowance: what stays beside each leg where the excess is trimmed.
        kept_uncaught: whether its excess is kept as set though it ends on a fold edge.
        trued: whether the seam was drawn smooth across its mouth.
    """

    opening: Opening
    point: complex
    ends: tuple[complex, complex]
    point_angle: float
    seam: Seam
    fold: Fold
    cap: tuple[Edge, ...]
    verdict: Verdict
    trim_allowance: float
    kept_uncaught: bool = False
    trued: bool = False

    @property
    def is_tuck(self) -> bool:
        """Whether it is a tuck, stitched from the seam only so far."""
        return self.opening.made == TUCK

    @property
    def is_turned(self) -> bool:
        """Whether its legs are curved, and one is the other turned about the dart point."""
        sides = self.opening.sides
        if sides is None or max(map(bow, sides)) <= MOST_BOW:
            return False
        alike, difference = likeness(sides)
        return alike == TURNED and difference <= ALIKE

    @property
    def excess(self) -> str:
        """Whether its excess is kept or trimmed: `KEEP` or `TRIM`."""
        return self.verdict.excess

    @property
    def why(self) -> str:
        """Why the excess is kept or trimmed, in one sentence."""
        return verdict_sentence(self.verdict)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the drafter should know, but for a notable bend."""
        said = []
        first, second = (abs(end - self.point) for end in self.ends)
        if abs(first - second) > NOTABLE_DIFFERENCE:
            said.append(legs_warning(self.seam, abs(first - second), is_tuck=self.is_tuck))
        if self.kept_uncaught:
            said.append(fold_edge_warning(self.seam, is_tuck=self.is_tuck))
        return tuple(said)

    @property
    def bends_notably(self) -> bool:
        """Whether the sewn seam bends so much at the dart that it is worth a word."""
        return self.bend > NOTABLE_BEND

    @property
    def all_warnings(self) -> tuple[str, ...]:
        """What the drafter should know, a notable bend last."""
        if not self.bends_notably:
            return self.warnings
        bent = bend_warning(self.seam, self.bend, self.clearance, is_tuck=self.is_tuck)
        return (*self.warnings, bent)

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
        """The line from the point along which the dart is folded, as long as the legs.

        Turned legs are folded along the curve half-way between them, mirrored ones along the
        straight middle line.
        """
        if self.opening.is_mirrored:
            length = abs(self.ends[0] - self.point)
            return (Line(self.point, self.point + self.middle_ray * length),)
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
        too_much, whole = told_apart(clearance, depth)
        raise DartError(
            _(
                "the clearance of {clearance} is longer than the dart, which is {depth} deep from "
                "its mouth to the apex."
            ).format(clearance=too_much, depth=whole),
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
    seam = mouth_seam(piece, k)
    angle = turn(ends[0] - point, ends[1] - point)
    _check_legs(seam, ends, point, angle, is_tuck=opening.made == TUCK)
    fold = fold_of(piece, k, down, settings.fold)
    cap, reached_mouth = _cap(piece, k, point, angle, fold)
    by_table = keep_or_trim(seam, is_at_neck_tip(piece, k), abs(ends[1] - ends[0]), settings)
    dart = FinishedDart(
        opening,
        point,
        ends,
        angle,
        seam,
        fold,
        cap,
        by_table,
        settings.trim_allowance,
        trued=trued,
    )
    is_forced = settings.excess == KEEP
    if dart.excess == KEEP and dart.is_turned and not is_forced:
        dart = dart._replace(verdict=Verdict(TRIM, CURVED))
    if reached_mouth:
        dart = _over_another_mouth(dart, is_forced=is_forced)
    elif any(edge.seam.fold for edge in cap):
        dart = _on_the_fold(dart, is_forced=is_forced)
    if dart.is_tuck:
        return dart._replace(verdict=Verdict(KEEP, OPENS_OUT))
    if dart.excess == TRIM and not is_wide_enough(dart):
        return dart._replace(verdict=Verdict(KEEP, TOO_NARROW, limit=settings.trim_allowance))
    return dart


def _check_legs(
    seam: Seam, ends: tuple[complex, complex], point: complex, angle: float, *, is_tuck: bool
) -> None:
    """Refuse legs that cannot be folded onto one another.

    Raises:
        DartError: if they stand at too wide an angle or are not equally long.
    """
    if not 0.0 < angle <= WIDEST_POINT:
        raise opens_too_wide(seam, angle, point, is_tuck=is_tuck)
    first, second = (abs(end - point) for end in ends)
    if abs(first - second) > UNEVEN_MOUTH:
        raise unequal_legs(seam, (first, second), point, is_tuck=is_tuck)


def _over_another_mouth(dart: FinishedDart, *, is_forced: bool) -> FinishedDart:
    """Return a dart trimmed, since its folded excess would lie over another mouth.

    Raises:
        DartError: if the drafter wants it kept.
    """
    if is_forced:
        raise cannot_be_kept(dart.seam, dart.point, is_tuck=dart.is_tuck)
    if dart.excess == TRIM:
        return dart
    return dart._replace(verdict=Verdict(TRIM, OVER_A_MOUTH))


def _on_the_fold(dart: FinishedDart, *, is_forced: bool) -> FinishedDart:
    """Return a dart trimmed, since no seam would catch its excess, unless it is to be kept."""
    if is_forced:
        return dart._replace(kept_uncaught=True)
    if dart.excess == TRIM:
        return dart
    return dart._replace(verdict=Verdict(TRIM, ON_THE_FOLD))


def is_wide_enough(dart: FinishedDart) -> bool:
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
    vertex = sides[0][0].start + inside * _JUST_INSIDE
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
    if abs(cross(ray, end)) < _ON_RAY and dot(ray, end) > 0.0:
        return 1.0
    return None
