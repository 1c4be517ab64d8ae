"""Slash lines: the cuts from the outline to the apex, straight or curved."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.block.places import CORNER_SNAP, NODE_SNAP, Target
from drafting_core.model.outline import SHORTEST_SEGMENT, encloses, flattened
from drafting_core.model.piece import Piece, aimed
from drafting_core.plane.crossings import chain_crosses_itself, segment_crossings
from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.text.errors import PlaceError
from drafting_core.text.lengths import in_words, place_in_words
from drafting_core.text.words import N_, _

#: A cut may touch the outline this near to the apex, which may itself lie on the outline (mm).
CROSSING_MARGIN = 1.0
#: A curved slash line may start this far from where it meets the outline (mm).
SLASH_GAP = 5.0

Chain = tuple[Segment, ...]


def trimmed_slash(piece: Piece, chain: Chain) -> Chain:
    """Return a chain without what lies outside the block before it first enters it."""
    if encloses(flattened(piece.ring(lambda opening: opening.point)), chain[0].start):
        return chain
    for index, segment in enumerate(chain):
        hits = [t for edge in piece.edges() for t, _ in segment_crossings(segment, edge.segment)]
        if hits:
            first = segment.part(min(hits), 1.0)
            rest = chain[index + 1 :]
            return (first, *rest) if first.length() >= SHORTEST_SEGMENT or not rest else rest
    return chain


def slash_of(piece: Piece, fan: int, start: complex, apex: complex, target: Target) -> Chain:
    """Return the cut of a target, from the outline to the apex.

    A drawn slash line that ends a little off the outline or the apex is turned and scaled onto
    them as a whole.

    Args:
        piece: the block.
        fan: the number of the fan that the cut belongs to.
        start: where the cut starts, on the outline.
        apex: where it ends.
        target: the target, with its slash line if one was drawn.

    Raises:
        PlaceError: with the place, if the cut leaves the block, crosses one of its darts or
            itself, or does not reach the outline.
    """
    check_off_apex(start, apex, target)
    slash: Chain = (Line(start, apex),)
    if target.slash:
        gap = abs(target.slash[0].start - start)
        if gap > SLASH_GAP:
            raise PlaceError(
                _("the slash line starts {distance} from the outline.").format(
                    distance=in_words(gap)
                ),
                thing=target.spoken,
                remedy=_("Draw it from the outline to the apex."),
                place=target.slash[0].start,
            )
        if (miss := abs(target.slash[-1].end - apex)) > SLASH_GAP:
            raise PlaceError(
                _(
                    "the slash line ends {distance} from the apex, as the piece lies after the "
                    "other darts were moved."
                ).format(distance=in_words(miss)),
                thing=target.spoken,
                remedy=_("Draw it so that it crosses no other cut."),
                place=target.slash[-1].end,
            )
        slash = aimed(target.slash, start, apex)
    _check_inside(piece, fan, slash, target)
    _check_own_crossing(slash, target)
    return slash


def check_off_apex(start: complex, apex: complex, target: Target) -> None:
    """Make sure that a cut does not start at the apex, which may lie on the outline.

    Raises:
        PlaceError: if it does.
    """
    if abs(apex - start) < CORNER_SNAP:
        raise PlaceError(
            _("it lies on the apex."),
            thing=target.spoken,
            remedy=_("Put it elsewhere on the outline."),
            place=start,
        )


def _check_inside(piece: Piece, fan: int, slash: Chain, target: Target) -> None:
    start, apex = slash[0].start, slash[-1].end
    ring = piece.ring(lambda opening: apex if opening.fan == fan else opening.point)
    for segment in slash:
        for edge in ring:
            for t, _other in segment_crossings(segment, edge):
                crossing = segment.point(t)
                if (
                    abs(crossing - start) > NODE_SNAP
                    and abs(crossing - apex) > CROSSING_MARGIN
                    and not _lies_along(edge, start, slash)
                ):
                    raise PlaceError(
                        (
                            _("the slash line from it to the apex crosses the outline at {place}.")
                            if is_curved(slash)
                            else _(
                                "the straight cut from it to the apex crosses the outline at "
                                "{place}."
                            )
                        ).format(place=place_in_words(crossing)),
                        thing=target.spoken,
                        remedy=_(_INSIDE),
                        place=crossing,
                    )
    polygon = flattened(ring)
    for segment in slash:
        for t in (0.25, 0.5, 0.75):
            z = segment.point(t)
            near_end = min(abs(z - start), abs(z - apex)) < CROSSING_MARGIN
            if not near_end and not encloses(polygon, z):
                raise PlaceError(
                    _("the slash line from it to the apex lies outside the block.")
                    if is_curved(slash)
                    else _("the straight cut from it to the apex lies outside the block."),
                    thing=target.spoken,
                    remedy=_(_INSIDE),
                    place=z,
                )


_INSIDE = N_("Choose a place, or draw the line, so that the apex is reached inside the block.")


def is_curved(slash: Chain) -> bool:
    """Tell whether a cut is anything but one straight line."""
    return len(slash) > 1 or isinstance(slash[0], Cubic)


def _lies_along(edge: Segment, start: complex, slash: Chain) -> bool:
    """Tell whether an edge of the outline lies along a straight cut: a line from its start."""
    return (
        not is_curved(slash)
        and isinstance(edge, Line)
        and min(abs(edge.start - start), abs(edge.end - start)) < NODE_SNAP
    )


def _check_own_crossing(slash: Chain, target: Target) -> None:
    place = chain_crosses_itself(slash)
    if place is not None:
        raise PlaceError(
            _("the slash line crosses itself at {place}.").format(place=place_in_words(place)),
            thing=target.spoken,
            remedy=_("Draw it without a loop."),
            place=place,
        )


def check_apart(cuts: Sequence[tuple[Chain, Target]]) -> None:
    """Make sure that no two cuts of one apex meet before they reach it.

    Raises:
        PlaceError: with the place where they meet.
    """
    for number, (first, one) in enumerate(cuts):
        for second, other in cuts[number + 1 :]:
            if not is_curved(first) and not is_curved(second):
                continue
            apex = first[-1].end
            for segment in first:
                for opposite in second:
                    for t, _other in segment_crossings(segment, opposite):
                        crossing = segment.point(t)
                        if abs(crossing - apex) > CROSSING_MARGIN:
                            raise PlaceError(
                                _(
                                    "the slash line meets the cut of the {target} at {place}."
                                ).format(target=other.spoken, place=place_in_words(crossing)),
                                thing=one.spoken,
                                remedy=_("Draw them so that they meet at the apex alone."),
                                place=crossing,
                            )
