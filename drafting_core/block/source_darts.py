"""Which darts a move closes: by mark, by name, or the one that points nearest at the apex."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from drafting_core.block.block import DartMark
from drafting_core.block.dart_words import mirrored_legs
from drafting_core.block.find_darts import ON_APEX
from drafting_core.block.leg_shapes import bow
from drafting_core.block.mouth_seam import mouth_seam
from drafting_core.block.places import Target, seam_called, spot_in_words
from drafting_core.model.outline import encloses, nearest_on
from drafting_core.model.piece import Piece
from drafting_core.plane.curves import Line, Segment
from drafting_core.text.errors import DartError, PlaceError
from drafting_core.text.lengths import in_words, told_length
from drafting_core.text.words import _, ngettext

#: A dart mark may lie this far from its dart (mm).
DART_REACH = 40.0


def source_darts(piece: Piece, marks: Sequence[DartMark], fan: int = 0) -> dict[int, float]:
    """Return the darts of a fan to close, by number, with the share of each.

    A mark with share 0 keeps its dart as it is.

    Raises:
        DartError: if there is none, or a mark lies at no dart of any apex.
    """
    members = [k for k, opening in enumerate(piece.openings) if opening.fan == fan]
    if not members:
        raise no_dart()
    shares = marked_shares(piece, marks)
    marked = {k: share for k, share in shares.items() if k in members and share > 0.0}
    if marked:
        return marked
    free = [k for k in members if k not in shares]
    if not free:
        raise DartError(
            _("every dart is marked to be kept."),
            remedy=_("Give one of the dart marks a share above 0, or delete it."),
        )
    # Of several darts drawn equally near to the apex the widest is the one to close.
    return {max(_nearest(piece, free), key=lambda k: piece.openings[k].angle): 1.0}


def _nearest(piece: Piece, darts: Sequence[int]) -> list[int]:
    """Return those darts whose points are nearest to the apex, as near as can be drawn."""
    distances = {k: abs(piece.openings[k].point - piece.openings[k].apex) for k in darts}
    near = min(distances.values(), default=0.0)
    return [k for k in darts if distances[k] <= near + ON_APEX]


def marked_shares(piece: Piece, marks: Sequence[DartMark]) -> dict[int, float]:
    """Return the share of every dart at which a mark lies, by its number.

    Raises:
        DartError: if a mark lies at no dart of any apex, or two at one.
    """
    shares: dict[int, float] = {}
    for mark in marks:
        k = _dart_at(piece, mark)
        if k in shares:
            raise DartError(
                _("two dart marks lie at one dart."),
                remedy=_("Delete one of them."),
                place=mark.at,
            )
        shares[k] = mark.share
    return shares


def check_closes(piece: Piece, darts: Iterable[int]) -> None:
    """Refuse to close darts that do not close by turning.

    Args:
        piece: the block.
        darts: the numbers of the darts that are to be closed.

    Raises:
        DartError: if the legs of one are mirror images of each other.
    """
    for k in darts:
        opening = piece.openings[k]
        if opening.is_mirrored and opening.sides is not None:
            legs = opening.legs(piece.mouth(k), opening.point)
            raise mirrored_legs(mouth_seam(piece, k).spoken, max(map(bow, legs)), opening.point)


def no_dart(piece: Piece | None = None, apex: complex | None = None) -> DartError:
    """Return the error that no dart points at the apex, and how near the nearest one ends."""
    ends = [opening.point for opening in piece.openings] if piece is not None else []
    what = _("no dart was found that points at the apex.")
    if ends and apex is not None:
        distance = min(abs(end - apex) for end in ends)
        what += " " + _("The nearest dart ends {distance} away from it and points past it.").format(
            distance=told_length(distance)
        )
    return DartError(
        what,
        remedy=_(
            "A dart is two straight legs from its mouth on the outline to a point at the apex, or "
            "between the mouth and the apex, with mouth ends equally far from the apex."
        ),
        place=apex,
    )


def _dart_at(piece: Piece, mark: DartMark) -> int:
    """Return the dart at which a mark lies.

    Raises:
        DartError: if it lies at none, or at one that turns about its own point.
    """
    if not piece.openings:
        raise no_dart()
    distances = [_distance_to_dart(piece, k, mark.at) for k in range(len(piece.openings))]
    distance = min(distances)
    k = distances.index(distance)
    if distance > DART_REACH:
        raise DartError(
            _("the dart mark lies {distance} from the nearest dart.").format(
                distance=in_words(distance)
            ),
            remedy=_("Put it near the mouth of the dart that is to be closed."),
            place=mark.at,
        )
    if not piece.openings[k].in_fan:
        raise DartError(
            _("the dart mark lies at a dart that does not point at the apex."),
            remedy=_("Move the mark to the mouth of the dart that is to be closed."),
            place=mark.at,
        )
    return k


def darts_called(piece: Piece, words: str, grain: complex) -> tuple[int, ...]:
    """Return the darts that words name by their seams, as in ``waist and shoulder``.

    Args:
        piece: the block.
        words: the seams; where one has several darts, with a fraction as in ``waist:0.3``.
        grain: the unit vector down along the grain.

    Raises:
        PlaceError: if a seam has no dart, or several of which none is chosen by a fraction.
    """
    found = []
    for part in re.split(r"\s+and\s+|\s*[+,]\s*(?!\d)", words.strip()):
        name, colon, _fraction = part.partition(":")
        seam = seam_called(piece, name).seam
        # What this run itself opened there, about another apex, is none of the block's darts.
        darts = [
            k
            for k, opening in enumerate(piece.openings)
            if opening.target is None and mouth_seam(piece, k) is seam
        ]
        if not darts:
            raise PlaceError(
                _("there is no dart on {seam}.").format(seam=seam.spoken),
                thing=_('The dart "{dart}"').format(dart=part.strip()),
                remedy=_("Name the seam on which the dart's mouth is."),
            )
        if len(darts) > 1:
            if not colon:
                raise PlaceError(
                    ngettext(
                        "there is {count} dart on {seam}.",
                        "there are {count} darts on {seam}.",
                        len(darts),
                    ).format(count=len(darts), seam=seam.spoken),
                    thing=_('The dart "{dart}"').format(dart=part.strip()),
                    remedy=_('Say how far along the seam it is, as in "waist:0.3".'),
                )
            at = piece.spot_point(spot_in_words(piece, part, grain))
            darts = [min(darts, key=lambda k: min(abs(end - at) for end in piece.mouth(k)))]
        found.append(darts[0])
    return tuple(sorted(set(found)))


def fan_of(piece: Piece, target: Target, marks: Sequence[DartMark], grain: complex) -> int:
    """Return the number of the fan that a target belongs to.

    Raises:
        PlaceError: if there are darts of several apexes and nothing says which one is meant.
    """
    if target.source:
        number = piece.openings[darts_called(piece, target.source, grain)[0]].fan
        if number is None:
            raise PlaceError(
                _('the dart "{dart}" points at no apex mark.').format(dart=target.source),
                thing=target.spoken,
                remedy=_('Put a mark labelled "apex" on its point.'),
            )
        return number
    if target.apex is not None:
        return target.apex
    fans = sorted({opening.fan for opening in piece.openings if opening.fan is not None})
    if not fans:
        raise no_dart()
    marked = {piece.openings[_dart_at(piece, mark)].fan for mark in marks if mark.share > 0.0}
    if len(fans) > 1 and len(marked) == 1:
        fans = [fan for fan in marked if fan is not None]
    if len(fans) > 1:
        raise PlaceError(
            ngettext(
                "the block has darts to {count} apex, and it is not clear which is meant.",
                "the block has darts to {count} apexes, and it is not clear which is meant.",
                len(fans),
            ).format(count=len(fans)),
            thing=target.spoken,
            remedy=_(
                'Say which dart it takes from, as in "neckline from shoulder"; or group the target '
                "with its apex; or put a dart mark at the dart."
            ),
        )
    return fans[0]


def stays_there_notes(piece: Piece, goals: Sequence[Target]) -> Iterator[str]:
    """Yield what is said where a seam alone is named as the place, and a dart is on it already.

    Args:
        piece: the block.
        goals: where darts are to go.
    """
    on = [mouth_seam(piece, k) for k, opening in enumerate(piece.openings) if opening.in_fan]
    for goal in goals:
        if not goal.place or goal.source or not re.fullmatch(r"[^:/%]+", goal.place):
            continue
        seam = seam_called(piece, goal.place).seam
        if seam not in on:
            continue
        other = next((found for found in on if found is not seam), None)
        if other is None:
            yield _(
                "A dart stands on {seam} already, and stays there: say how far along it is to lie, "
                'as in "{name}:0.3".'
            ).format(seam=seam.spoken, name=seam.shown)
        else:
            yield _(
                "A dart stands on {seam} already, and stays there: to bring the one on {other} to "
                'it, say "{name} from {source}".'
            ).format(seam=seam.spoken, other=other.spoken, name=seam.shown, source=other.shown)


def tie_note(
    piece: Piece, sources: dict[int, float], marks: Sequence[DartMark], fan: int = 0
) -> str:
    """Return a word on a choice among darts that end equally near to the apex, or ''."""
    darts = [
        k
        for k, opening in enumerate(piece.openings)
        if opening.fan == fan and opening.number is not None
    ]
    ending = _nearest(piece, darts)
    if marks or not sources or len(ending) < 2:
        return ""
    chosen = mouth_seam(piece, next(iter(sources)))
    apex = piece.openings[ending[0]].apex
    near = all(abs(piece.openings[k].point - apex) <= ON_APEX for k in ending)
    text = (
        ngettext(
            "{count} dart ends at the apex; the widest, on {seam}, was closed. A dart mark chooses "
            "another.",
            "{count} darts end at the apex; the widest, on {seam}, was closed. A dart mark chooses "
            "another.",
            len(ending),
        )
        if near
        else ngettext(
            "{count} dart ends equally near to the apex; the widest, on {seam}, was closed. A dart "
            "mark chooses another.",
            "{count} darts end equally near to the apex; the widest, on {seam}, was closed. A dart "
            "mark chooses another.",
            len(ending),
        )
    )
    return text.format(count=len(ending), seam=chosen.spoken)


def _distance_to_dart(piece: Piece, k: int, at: complex) -> float:
    """Return the distance in mm of a point from a dart: 0 inside it."""
    first, second = piece.mouth(k)
    point = piece.openings[k].point
    if encloses((first, second, point), at):
        return 0.0
    sides: list[Segment] = [Line(first, second), Line(first, point), Line(second, point)]
    return nearest_on(sides, at).distance
