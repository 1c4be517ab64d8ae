"""How the cloth of one dart lies while it is sewn: flat, folded, trimmed, pressed.

The cloth about the dart is taken out of the piece and moved as the hand moves it: folded right
sides together along the dart's centre line, one half comes to lie on the other by a reflection;
stitched and opened out again, the other side turns about the dart point by the angle between the
legs. Both motions keep the cloth's shape, so that every point of what comes out is exact.

All of it is seen from the wrong side, on which a dart is marked and sewn. A pattern laid face up
on the wrong side of the cloth shows that side as it is, so nothing has to be mirrored. The side to
which the excess is folded never moves; folded, the other side lies under it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.dart.excess import TRIM
from drafting_core.dart.fullness import Fullness
from drafting_core.dart.window_sides import window_sides
from drafting_core.finished.pattern_piece import Draft, DrawnDart
from drafting_core.model.outline import nearest_on
from drafting_core.model.piece import Sides
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
from drafting_core.sewing.cloth_parts import (
    Cloth,
    between,
    cloth_of,
    parts_inside,
    with_window_filled,
)

#: How much cloth a picture shows beside the mouth, and beyond the dart point: a part of the dart's
#: length, and the least in mm.
_SIDE_SHARE, _LEAST_SIDE = 0.28, 22.0
_BACK_SHARE, _LEAST_BACK = 0.2, 12.0
#: How far out beyond the cap it reaches (mm).
_OUT = 20.0
#: How far to both sides of gathers or ease it reaches at least (mm).
_LEAST_REACH = 40.0
#: The second row of stitches in a sheer cloth, toward the fold (mm): common practice.
SECOND_ROW = 3.0
#: Trimmed over less than this share of its length, a dart stays nearly as it is.
_LITTLE = 1.0 / 3.0
#: Longer than any piece (mm).
_FAR = 1e4
#: What ends this near to the mouth adjoins it (mm).
_ADJOINING = 1e-3
#: A leg that strays more than this from its chord is curved (mm).
_CURVED = 0.5


class DartCloth(NamedTuple):
    """The cloth about one dart or tuck, lying flat. Lengths in mm, angles in radians.

    Attributes:
        point: the dart point; of a tuck, where its lines would meet.
        ends: the mouth ends in the outline's direction.
        legs: the legs, or the two lines of a tuck, each from its mouth end inward.
        fold_leg: 0 or 1: the leg over which the excess is folded.
        angle: the angle between the legs.
        centre_line: the line along which it is folded, from the point outward.
        whole: the cloth, with the trim window still in it.
        window: the trim window, or None where the excess is kept.
        window_sides: the two sides of the window from its vertex out to the cut line, the one
            along the first leg first; none where the excess is kept.
        is_tuck: whether it is stitched only from the seam for a length.
    """

    point: complex
    ends: tuple[complex, complex]
    legs: Sides
    fold_leg: int
    angle: float
    centre_line: tuple[Segment, ...]
    whole: Cloth
    window: tuple[Segment, ...] | None
    window_sides: tuple[tuple[Segment, ...], ...]
    is_tuck: bool

    @property
    def axis(self) -> complex:
        """The unit vector from the point out through the middle of the mouth."""
        return _middle(self.point, self.ends)

    @property
    def mirror(self) -> PointMap:
        """The reflection that folding along the middle of the dart is."""
        return reflection_in(self.point, self.axis)

    @property
    def swing(self) -> PointMap:
        """The turn about the point that lays the other leg on the one on the fold's side."""
        return rotation_about(self.point, self.angle * (1.0 if self.fold_leg == 1 else -1.0))

    @property
    def is_curved(self) -> bool:
        """Whether its legs are curved, so that no fold lays one on the other."""
        leg = self.legs[0]
        chord = Line(leg[0].start, leg[-1].end)
        samples = (segment.point(k / 4) for segment in leg for k in range(5))
        return max(abs(chord.point(chord.nearest(z)) - z) for z in samples) > _CURVED

    @property
    def stitched(self) -> tuple[Segment, ...]:
        """The line that is stitched, from the mouth inward: the leg on the fold's side."""
        return self.legs[self.fold_leg]

    @property
    def from_edge(self) -> tuple[Segment, ...]:
        """The way of the stitching through the allowance: the same leg, drawn on to the edge."""
        leg = self.stitched[0]
        onward = Line(leg.start - leg.start_tangent() * _FAR, leg.start)
        parts = parts_inside([onward], self.whole)
        # Where there is no allowance, or the line leaves through it aslant and comes back in,
        # only what adjoins the mouth counts.
        return parts[-1] if parts and abs(parts[-1][-1].end - leg.start) < _ADJOINING else ()

    @property
    def stop(self) -> float:
        """How far from the dart point trimming stops: at the vertex of the window."""
        return abs(self.window_sides[0][0].start - self.point) if self.window_sides else 0.0

    def second_row(self, leg: int, gap: float = SECOND_ROW) -> tuple[Segment, ...]:
        """Return a second row of stitches beside a leg, toward the fold, from its inner end out.

        None where the dart is too narrow for it.

        Args:
            leg: the leg.
            gap: how far from it the row runs, in mm.
        """
        sides = window_sides(self.legs, gap)
        if sides is None:
            return ()
        if abs(sides[0][0].start - self.point) >= abs(self.ends[0] - self.point):
            return ()
        side = sides[leg]
        return tuple(between(side, side[0].start, nearest_on(side, self.ends[leg]).point))


class Folded(NamedTuple):
    """The cloth folded right sides together along the middle of the dart, its wrong side out.

    Attributes:
        upper: what lies on top: the side to which the excess will be folded, with half the dart.
        under: the other side with its half of the dart, under it.
        fold: the fold, from its inner end to the cut edge.
    """

    upper: Cloth
    under: Cloth
    fold: Line


class Pressed(NamedTuple):
    """The cloth with the dart stitched and opened out, the excess on top of the fold's side.

    Attributes:
        base: the fold's side, from the stitching on.
        other: the other side, turned until its leg lies on the stitching.
        excess: what lies over the base: the upper one of its two layers.
        lower: the lower one.
        rounding: what the cloth beyond the point, which does not lie flat, leaves open between
            both sides.
    """

    base: Cloth
    other: Cloth
    excess: Cloth
    lower: Cloth
    rounding: tuple[complex, ...]


def whole_cut_line(draft: Draft) -> tuple[Segment, ...]:
    """Return a piece's cut line with every trim window put back."""
    ring = draft.cut_line
    for item in draft.darts:
        if item.window is not None:
            ring = with_window_filled(ring, item.window)
    return ring


def dart_cloth(item: DrawnDart, ring: Sequence[Segment]) -> DartCloth:
    """Return the cloth about a dart.

    Args:
        item: the dart.
        ring: the piece's cut line without any trim window taken out.
    """
    dart = item.dart
    sides: tuple[tuple[Segment, ...], ...] = ()
    if item.window is not None and dart.excess == TRIM:
        sides = _ended_sides(dart.window_sides, item.window)
    caps = [edge.segment for edge in dart.cap]
    return DartCloth(
        dart.point,
        dart.ends,
        dart.legs,
        dart.fold.leg,
        dart.point_angle,
        dart.centre_line,
        _near(ring, dart.point, dart.ends, caps, _middle(dart.point, dart.ends)),
        item.window if sides else None,
        sides,
        is_tuck=False,
    )


def tuck_cloth(item: Fullness, ring: Sequence[Segment]) -> DartCloth:
    """Return the cloth about a tuck.

    Args:
        item: the tuck: its two stitched lines, and the arrow toward the side it is folded to.
        ring: the piece's cut line.
    """
    lines = (item.paths[0], item.paths[1])
    ends = item.ends
    ways = [unit(line[-1].end - line[0].start) for line in lines]
    under = cross(ways[0], ways[1])
    along = cross(ends[1] - ends[0], ways[1]) / under if abs(under) > 1e-9 else _FAR
    point = ends[0] + ways[0] * along
    arrow = item.paths[2]
    way = arrow[0].end - arrow[0].start
    fold_leg = 1 if dot(way, ends[1] - ends[0]) > 0.0 else 0
    axis = _middle(point, ends)
    inner = (lines[0][-1].end + lines[1][-1].end) / 2
    reach = abs(point - (ends[0] + ends[1]) / 2)
    return DartCloth(
        point,
        ends,
        lines,
        fold_leg,
        abs(turn(ends[0] - point, ends[1] - point)),
        (Line(point, point + axis * reach),),
        _near(ring, inner, ends, [Line(*ends)], axis),
        None,
        (),
        is_tuck=True,
    )


def trimmed_length(item: DrawnDart, flat: DartCloth) -> float:
    """Return how much of a dart's length, at its mouth, is trimmed away, in mm; 0 where kept."""
    if not flat.window_sides:
        return 0.0
    return nearest_on(
        [edge.segment for edge in item.dart.cap], flat.window_sides[0][0].start
    ).distance


def is_little_trimmed(item: DrawnDart, flat: DartCloth) -> bool:
    """Tell whether a trimmed dart is so narrow that most of its length stays as it is."""
    length = trimmed_length(item, flat)
    return 0.0 < length < _LITTLE * abs(flat.ends[0] - flat.point)


def folded(flat: DartCloth) -> Folded:
    """Fold the cloth right sides together along the middle of the dart."""
    middle = _through_middle(flat)
    upper, other = (
        flat.whole.beside(middle, left=leg == 0) for leg in (flat.fold_leg, 1 - flat.fold_leg)
    )
    along = [
        dot(z - flat.point, flat.axis)
        for bound in upper.bounds
        for z in (bound.segment.start, bound.segment.end)
        if abs(cross(z - flat.point, flat.axis)) < 1e-6
    ]
    fold = Line(flat.point + flat.axis * min(along), flat.point + flat.axis * max(along))
    return Folded(upper, other.mapped(flat.mirror), fold)


def pressed(flat: DartCloth) -> Pressed:
    """Stitch the dart, open the cloth out and lay the excess to its side."""
    fold, other = flat.fold_leg, 1 - flat.fold_leg
    base = flat.whole.beside(_through(flat, fold), left=fold == 0)
    turned = flat.whole.beside(_through(flat, other), left=other == 0)
    in_leg = reflection_in(flat.point, unit(flat.ends[fold] - flat.point))
    back = flat.point - flat.axis * _back(abs(flat.ends[0] - flat.point))
    return Pressed(
        base,
        turned.mapped(flat.swing),
        half_of_excess(flat, other).mapped(flat.swing),
        half_of_excess(flat, fold).mapped(in_leg),
        () if flat.is_tuck else (flat.point, back, flat.swing(back)),
    )


def half_of_excess(flat: DartCloth, leg: int) -> Cloth:
    """Return the half of a dart's excess beside one of its legs, lying flat, nothing trimmed."""
    end, way = flat.centre_line[-1].end, flat.centre_line[-1].end_tangent()
    middle = [
        Line(flat.point - flat.axis * _FAR, flat.point),
        *flat.centre_line,
        Line(end, end + way * _FAR),
    ]
    # Seen from the point outward the first leg is the left one: the outline runs round the piece
    # with its inside at its right hand on the page.
    half = flat.whole.beside(middle, left=leg == 0).beside(_through(flat, leg), left=leg == 1)
    across = 1j * flat.axis * _FAR
    front = [Line(flat.point - across, flat.point + across)]
    return half.beside(front, left=True)


def trimmed(flat: DartCloth, half: Cloth, leg: int) -> Cloth:
    """Return a part of the cloth beside one leg without what is trimmed away.

    Args:
        flat: the dart.
        half: the part, lying flat, of which nothing lies beyond the middle of the dart.
        leg: beside which leg it lies.
    """
    if not flat.window_sides:
        return half
    return half.beside(_along_window(flat, leg), left=leg == 0)


def cut_away(flat: DartCloth, half: Cloth, leg: int) -> Cloth:
    """Return what is trimmed away of a part of the cloth beside one leg."""
    if not flat.window_sides:
        return Cloth(())
    return half.beside(_along_window(flat, leg), left=leg == 1)


def fullness_cloth(item: Fullness, ring: Sequence[Segment]) -> Cloth:
    """Return the cloth about gathers or ease: as much of the piece as a picture shows.

    Args:
        item: the gathers or the ease.
        ring: the piece's cut line.
    """
    start, end = item.ends
    out = -1j * unit(end - start)
    reach = max(_LEAST_REACH, abs(end - start))
    middle = (start + end) / 2
    ends = (middle - 1j * out * reach, middle + 1j * out * reach)
    return _near(ring, middle - out * reach, ends, item.paths[0], out)


def _along_window(flat: DartCloth, leg: int) -> list[Segment]:
    """Return a side of the window, drawn on beyond all cloth both ways."""
    side = flat.window_sides[leg]
    vertex = side[0].start
    on_middle = nearest_on(flat.centre_line, vertex).point
    chain: list[Segment] = [
        Line(flat.point - flat.axis * _FAR, flat.point),
        *between(flat.centre_line, flat.point, on_middle),
    ]
    if abs(vertex - on_middle) > _ADJOINING:
        # Of curved legs the window's corner may lie a little beside the middle.
        chain.append(Line(chain[-1].end, vertex))
    else:
        chain[-1] = chain[-1]._replace(end=vertex)
    return [
        *chain,
        *side,
        Line(side[-1].end, side[-1].end + side[-1].end_tangent() * _FAR),
    ]


def _ended_sides(sides: Sides | None, window: Sequence[Segment]) -> tuple[tuple[Segment, ...], ...]:
    """Return the two sides of a window from its vertex to the cut line."""
    if sides is None:
        raise ValueError("a trimmed dart has a window")
    return tuple(tuple(between(side, side[0].start, _last_on(side, window))) for side in sides)


def _last_on(side: Sequence[Segment], window: Sequence[Segment]) -> complex:
    """Return the last node of a window's ring that lies on one of its sides."""
    nodes = [segment.end for segment in window]
    on = [(abs(z - side[0].start), z) for z in nodes if nearest_on(side, z).distance < 1e-6]
    return max(on, key=lambda pair: pair[0])[1]


def _middle(point: complex, ends: tuple[complex, complex]) -> complex:
    first, second = (unit(end - point) for end in ends)
    return unit(first + second)


def _back(length: float) -> float:
    return max(_BACK_SHARE * length, _LEAST_BACK)


def _near(
    ring: Sequence[Segment],
    inner: complex,
    ends: tuple[complex, complex],
    caps: Sequence[Segment],
    axis: complex,
) -> Cloth:
    """Return the cloth about a dart: a rectangle along its middle, up to the edge of the piece."""
    length = dot((ends[0] + ends[1]) / 2 - inner, axis)
    out = _OUT + max(dot(z - inner, axis) for s in caps for z in s.extreme_points())
    side = abs(ends[1] - ends[0]) / 2 + max(_SIDE_SHARE * length, _LEAST_SIDE)
    cloth = cloth_of(ring)
    for at, way in (
        (inner - axis * _back(length), 1j * axis),
        (inner + axis * (out + _OUT), -1j * axis),
        (inner - 1j * axis * side, -axis),
        (inner + 1j * axis * side, axis),
    ):
        cloth = cloth.beside([Line(at - way * _FAR, at + way * _FAR)], left=True)
    return cloth


def _through_middle(flat: DartCloth) -> list[Segment]:
    """Return the straight line along the middle of the dart, out beyond all cloth both ways."""
    return [Line(flat.point - flat.axis * _FAR, flat.point + flat.axis * _FAR)]


def _through(flat: DartCloth, leg: int) -> list[Segment]:
    """Return a leg from the point outward, drawn on beyond all cloth both ways."""
    outward = list(backward(flat.legs[leg]))
    chain: list[Segment] = [Line(flat.point - flat.axis * _FAR, flat.point)]
    if abs(outward[0].start - flat.point) > 1e-9:
        chain.append(Line(flat.point, outward[0].start))
    end, way = outward[-1].end, outward[-1].end_tangent()
    return [*chain, *outward, Line(end, end + way * _FAR)]
