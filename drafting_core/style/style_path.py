"""How a style line runs: its stretches, and where it meets itself or crosses a dart."""

from __future__ import annotations

from typing import NamedTuple

from drafting_core.block.block import StyleLine
from drafting_core.block.find_darts import EQUAL_LEGS
from drafting_core.model.outline import SHORTEST_SEGMENT, nearest_on, with_ends
from drafting_core.model.piece import Piece
from drafting_core.plane.crossings import chain_crosses_itself, segment_crossings
from drafting_core.plane.curves import Segment, backward, unit
from drafting_core.text.errors import PlaceError
from drafting_core.text.lengths import most_in_words, place_in_words, told_with_difference
from drafting_core.text.words import _

Chain = tuple[Segment, ...]


class Crossing(NamedTuple):
    """Where a style line crosses a dart: the two stretches of the line, and the dart.

    Attributes:
        before: from the line's start to the dart.
        after: from the dart to the line's end.
        dart: the number of the dart's opening.
    """

    before: Chain
    after: Chain
    dart: int


def check_simple(line: StyleLine) -> None:
    """Make sure that a style line does not meet itself.

    Raises:
        PlaceError: with the place where it does.
    """
    place = chain_crosses_itself(line.path)
    if place is not None:
        raise PlaceError(
            _("it crosses itself at {place}.").format(place=place_in_words(place)),
            thing=line.spoken,
            remedy=_("Draw it across the block without a loop."),
            place=place,
        )


def crossing_of(piece: Piece, fan: int, line: Chain) -> Crossing | None:
    """Return where a style line crosses a dart of a fan, drawn to the apex, or None.

    The two places at which it crosses the legs are brought to the mean of their distances from
    the apex, since they are sewn together.

    Raises:
        PlaceError: if it crosses two darts, one leg alone, or a dart too much aslant.
    """
    found: list[tuple[int, float, int, complex, int]] = []
    for k, opening in enumerate(piece.openings):
        if opening.fan != fan:
            continue
        for number, leg in enumerate(opening.legs(piece.mouth(k), opening.apex)):
            for i, segment in enumerate(line):
                for edge in leg:
                    for t, _other in segment_crossings(segment, edge):
                        found.append((i, t, k, segment.point(t), number))
    if not found:
        return None
    found.sort(key=lambda hit: hit[:2])
    first, last = found[0], found[-1]
    apex = piece.openings[first[2]].apex
    if len(found) != 2 or first[2] != last[2] or first[4] == last[4]:
        raise PlaceError(
            _("it runs into a dart at {place}, beside the apex.").format(
                place=place_in_words(first[3])
            ),
            remedy=_("Lead it through the apex, or across the whole dart, or past it."),
            place=first[3],
        )
    radii = [abs(hit[3] - apex) for hit in (first, last)]
    if abs(radii[0] - radii[1]) > EQUAL_LEGS:
        one, other, _by = told_with_difference(*radii)
        raise PlaceError(
            _(
                "it crosses the dart aslant: {one} and {other} from the apex on its two legs."
            ).format(one=one, other=other),
            remedy=_(
                "Draw it square across the dart, so that these differ by {by} at most."
            ).format(by=most_in_words(EQUAL_LEGS)),
            place=first[3],
        )
    mean = sum(radii) / 2
    ends = [apex + unit(hit[3] - apex) * mean for hit in (first, last)]
    before = _up_to(line, first[0], first[1], ends[0])
    after = backward(_up_to(backward(line), len(line) - 1 - last[0], 1.0 - last[1], ends[1]))
    return Crossing(before, after, first[2])


def _up_to(chain: Chain, index: int, t: float, end: complex) -> Chain:
    kept = list(chain[:index])
    last = chain[index].part(0.0, t)
    if last.length() >= SHORTEST_SEGMENT or not kept:
        kept.append(last)
    kept[-1] = with_ends(kept[-1], kept[-1].start, end)
    return tuple(kept)


def split_near(line: Chain, apex: complex) -> tuple[Chain, Chain]:
    """Return the two stretches of a line up to the point nearest to the apex, and beyond it."""
    found = nearest_on(line, apex)
    before = _up_to(line, found.segment, found.t, found.point)
    after = backward(
        _up_to(backward(line), len(line) - 1 - found.segment, 1.0 - found.t, found.point)
    )
    return before, after
