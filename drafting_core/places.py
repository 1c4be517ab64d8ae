"""Places on the outline: where a dart is to go, by mark, by slash line or in words."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Sequence
from typing import NamedTuple

from drafting_core.curves import Segment, dot, unit
from drafting_core.errors import PlaceError
from drafting_core.lengths import in_words
from drafting_core.outline import nearest_on
from drafting_core.piece import Piece, Spot
from drafting_core.seam_names import seam_kind
from drafting_core.stretches import Stretch, stretches

#: A target mark names a place on a seam at most this far away (mm).
TARGET_REACH = 20.0
#: Within this of a node the cut is at the node (mm).
NODE_SNAP = 0.01
#: Within this of a corner, or of a dart's mouth, the cut is there (mm).
CORNER_SNAP = 2.0
#: A seam whose chord lies within this of the cross grain is measured from its centre end.
CROSS_GRAIN = math.radians(15.0)


class Target(NamedTuple):
    """Where a dart, or a share of it, goes.

    Attributes:
        at: a mark's place, or the outer end of a slash line, in mm; None where ``place`` says it.
        place: the place in words, as in ``side seam:0.35``.
        share: its share of the moved angle, or None for an equal part.
        thing: what the drafter calls the mark, for messages.
    """

    at: complex | None = None
    place: str = ""
    share: float | None = None
    thing: str = "target"


class Reached(NamedTuple):
    """Where a target came to lie.

    Attributes:
        spot: the place on the piece, or None where it is the mouth of a dart.
        mouth: the number of that dart's opening.
        note: what was snapped, in words, or an empty string.
    """

    spot: Spot | None = None
    mouth: int | None = None
    note: str = ""


def seam_called(piece: Piece, name: str) -> Stretch:
    """Return the one seam of that name.

    Raises:
        PlaceError: if the piece has none, or several, of that name.
    """
    all_seams = stretches(piece)
    matching = [stretch for stretch in all_seams if stretch.seam.kind == seam_kind(name)]
    if len(matching) == 1:
        return matching[0]
    known = ", ".join(dict.fromkeys(stretch.seam.name for stretch in all_seams))
    if not matching:
        raise PlaceError(
            f'no seam is called "{name.strip()}".',
            remedy=f"This block's seams are: {known}. Use one of them, or name the seam by a mark.",
        )
    raise PlaceError(
        f'{len(matching)} seams are called "{name.strip()}".',
        remedy="Put a target mark on the one that is meant.",
    )


def resolve(piece: Piece, target: Target, grain: complex, sources: Collection[int] = ()) -> Reached:
    """Find the place of a target on a piece, snapped to nodes, corners and mouths.

    Args:
        piece: the block.
        target: the mark or the place in words.
        grain: the unit vector pointing down along the grain.
        sources: the numbers of the darts that are moved.

    Raises:
        PlaceError: if the place does not exist or lies too far from the outline.
    """
    if target.at is not None:
        return _snapped(piece, _nearest_spot(piece, target.at, target.thing))
    return _in_words(piece, target.place, grain, sources)


def _nearest_spot(piece: Piece, at: complex, thing: str) -> Spot:
    order = [(k, i) for k, run in enumerate(piece.runs) for i in range(len(run))]
    found = nearest_on([piece.runs[k][i].segment for k, i in order], at)
    if found.distance > TARGET_REACH:
        raise PlaceError(
            f"it lies {in_words(found.distance)} from the nearest seam.",
            thing=thing,
            remedy=f"Put it on the outline (up to {in_words(TARGET_REACH)} away is understood).",
            place=at,
        )
    k, i = order[found.segment]
    return Spot(k, i, found.t)


def _in_words(piece: Piece, place: str, grain: complex, sources: Collection[int]) -> Reached:
    if "/" in place and ":" not in place:
        first, _, second = place.partition("/")
        return _corner_of(piece, first, second)
    name, colon, fraction_text = place.partition(":")
    stretch = seam_called(piece, name)
    if not colon:
        count = len(piece.runs)
        for k in sources:
            if stretch.seam in (piece.runs[k][-1].seam, piece.runs[(k + 1) % count][0].seam):
                return Reached(mouth=k)
        fraction = 0.5
    else:
        if not re.fullmatch(r"\s*(0|1|0?[.,]\d+|[01][.,]\d*)\s*", fraction_text):
            raise PlaceError(
                f'"{fraction_text.strip()}" is no fraction of a seam.',
                remedy='Write it like "side seam:0.35".',
            )
        fraction = float(fraction_text.replace(",", "."))
        if fraction > 1.0:
            raise PlaceError(
                f'"{fraction_text.strip()}" lies beyond the seam.',
                remedy="Write a fraction between 0 and 1.",
            )
    if not measured_forward(piece, stretch, grain):
        fraction = 1.0 - fraction
    return _snapped(piece, _at_fraction(piece, stretch, fraction))


def measured_forward(piece: Piece, stretch: Stretch, grain: complex) -> bool:
    """Tell whether a seam is measured in the outline's direction.

    A seam is measured from its upper end; from its centre end where its chord lies within 15°
    of the cross grain.
    """
    start, end = stretch.ends(piece)
    chord = end - start
    if abs(dot(chord, grain)) > abs(chord) * math.sin(CROSS_GRAIN):
        return dot(chord, grain) > 0
    centre = [edge.segment for edge in piece.edges() if edge.seam.is_centre]
    if centre:
        return nearest_on(centre, start).distance <= nearest_on(centre, end).distance
    # Without a centre the end that is to the left with the grain upright is as good as any.
    return dot(chord, grain * -1j) > 0


def _at_fraction(piece: Piece, stretch: Stretch, fraction: float) -> Spot:
    segments = stretch.segments(piece)
    lengths = [segment.length() for segment in segments]
    left = fraction * sum(lengths)
    for (k, i), segment, length in zip(stretch.edges, segments, lengths, strict=True):
        if left <= length:
            return Spot(k, i, segment.parameter_at(left))
        left -= length
    k, i = stretch.edges[-1]
    return Spot(k, i, 1.0)


def _corner_of(piece: Piece, first: str, second: str) -> Reached:
    a, b = seam_called(piece, first), seam_called(piece, second)
    count = len(piece.runs)
    meetings = []
    for one, other in ((a, b), (b, a)):
        k, i = one.edges[-1]
        following = (k, i + 1) if i + 1 < len(piece.runs[k]) else ((k + 1) % count, 0)
        if following == other.edges[0] and one is not other:
            meetings.append((k, i, following))
    if not meetings:
        raise PlaceError(
            f'the seams "{a.seam.name}" and "{b.seam.name}" do not meet.',
            remedy="Name two neighbouring seams.",
        )
    if len(meetings) > 1:
        raise PlaceError(
            f'the seams "{a.seam.name}" and "{b.seam.name}" meet twice.',
            remedy="Put a target mark on the corner that is meant.",
        )
    k, i, following = meetings[0]
    if piece.openings and following[1] == 0:
        return _mouth(piece, k)
    return Reached(Spot(k, i, 1.0))


def _mouth(piece: Piece, k: int, note: str = "") -> Reached:
    if not piece.openings[k].in_fan:
        raise PlaceError(
            "it lies at the mouth of a dart that turns about another apex.",
            remedy="Choose a place at least 2 mm from that dart.",
            place=piece.mouth(k)[0],
        )
    return Reached(mouth=k, note=note)


def _snapped(piece: Piece, spot: Spot) -> Reached:
    """Snap a spot to a mouth or corner within 2 mm, or to a node within 0.01 mm."""
    point = piece.spot_point(spot)
    if piece.openings:
        distances = [
            (min(abs(end - point) for end in piece.mouth(k)), k) for k in range(len(piece.openings))
        ]
        distance, k = min(distances)
        if distance <= CORNER_SNAP:
            moved = distance > NODE_SNAP
            return _mouth(
                piece, k, f"moved by {in_words(distance)} onto the dart's mouth" if moved else ""
            )
    corner = _nearest_corner(piece, point)
    if corner is not None:
        distance = abs(piece.spot_point(corner) - point)
        if distance <= CORNER_SNAP:
            note = f"moved by {distance:.2g} mm onto the corner" if distance > NODE_SNAP else ""
            return Reached(corner, note=note)
    segment = piece.runs[spot.run][spot.edge].segment
    if abs(segment.start - point) <= NODE_SNAP:
        return Reached(_normal(piece, spot._replace(t=0.0)))
    if abs(segment.end - point) <= NODE_SNAP:
        return Reached(_normal(piece, spot._replace(t=1.0)))
    return Reached(spot)


def _normal(piece: Piece, spot: Spot) -> Spot:
    """Return the spot at a node as the end of the edge before it."""
    if spot.t == 0.0 and spot.edge > 0:
        return Spot(spot.run, spot.edge - 1, 1.0)
    if spot.t == 0.0 and not piece.openings:
        return Spot(spot.run, len(piece.runs[0]) - 1, 1.0)
    return spot


def _nearest_corner(piece: Piece, point: complex) -> Spot | None:
    best: Spot | None = None
    for stretch in stretches(piece):
        k, i = stretch.edges[-1]
        if piece.openings and i == len(piece.runs[k]) - 1:
            continue
        spot = Spot(k, i, 1.0)
        if best is None or abs(piece.spot_point(spot) - point) < abs(
            piece.spot_point(best) - point
        ):
            best = spot
    return best


def check_within(piece: Piece, apex: complex, start: complex, thing: str, inside: bool) -> None:
    """Refuse a cut that leaves the block or crosses one of its darts.

    Args:
        piece: the block.
        apex: where the cut ends.
        start: where the cut starts, on the outline.
        thing: what the drafter calls the target.
        inside: whether the middle of the cut lies in the block.

    Raises:
        PlaceError: with the place of the crossing.
    """
    length = abs(apex - start)
    if length < CORNER_SNAP:
        raise PlaceError(
            "it lies on the apex.",
            thing=thing,
            remedy="Put it elsewhere on the outline.",
            place=start,
        )
    along = unit(apex - start)
    for segment in piece.ring(lambda opening: opening.point):
        for t in segment.on_ray(start, along):
            crossing = segment.point(t)
            reached = dot(crossing - start, along)
            if NODE_SNAP < reached < length - CROSSING_MARGIN and not _touches(segment, start):
                raise PlaceError(
                    f"the straight cut from it to the apex crosses the outline at "
                    f"({crossing.real:.1f}, {crossing.imag:.1f}) mm.",
                    thing=thing,
                    remedy="Choose a place from which the apex is reached inside the block.",
                    place=crossing,
                )
    if not inside:
        raise PlaceError(
            "the straight cut from it to the apex lies outside the block.",
            thing=thing,
            remedy="Choose a place from which the apex is reached inside the block.",
            place=start,
        )


#: A cut may touch the outline this near to the apex, which may itself lie on the outline (mm).
CROSSING_MARGIN = 1.0


def _touches(segment: Segment, start: complex) -> bool:
    """Tell whether a segment lies along a cut from its start: a line ending there."""
    return len(segment) == 2 and (
        abs(segment.start - start) < NODE_SNAP or abs(segment.end - start) < NODE_SNAP
    )


def shares_of(targets: Sequence[Target]) -> list[float]:
    """Return the share of each target: its own, or an equal part of what is left.

    Raises:
        PlaceError: if the shares are negative or sum to more than 1.
    """
    given = sum(target.share for target in targets if target.share is not None)
    open_ones = sum(target.share is None for target in targets)
    if given > 1.0 + 1e-9 or any((target.share or 0.0) < 0.0 for target in targets):
        raise PlaceError(
            f"the targets' shares sum to {given:g}.", remedy="Let them sum to 1 at most."
        )
    rest = max(0.0, 1.0 - given) / open_ones if open_ones else 0.0
    if open_ones and rest <= 0.0:
        raise PlaceError(
            "nothing is left for the targets without a share.",
            remedy="Lower the shares of the others.",
        )
    return [rest if target.share is None else target.share for target in targets]
