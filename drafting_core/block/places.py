"""Places on the outline: where a dart is to go, by mark, by slash line or in words."""

from __future__ import annotations

import math
import re
from collections.abc import Collection
from typing import NamedTuple

from drafting_core.model.outline import nearest_on
from drafting_core.model.piece import Piece, Spot
from drafting_core.model.seam_names import SIDE_SEAM, Seam, seam_kind, shown_seam_name
from drafting_core.model.stretches import Stretch, stretches
from drafting_core.plane.curves import Line, Segment, dot
from drafting_core.text.errors import DraftingError, PlaceError
from drafting_core.text.lengths import (
    in_words,
    least_in_words,
    most_in_words,
    parse_measure,
    place_in_words,
    told_apart,
)
from drafting_core.text.words import _, capital, ngettext

#: A target mark names a place on a seam at most this far away (mm).
TARGET_REACH = 20.0
#: Within this of a node the cut is at the node (mm).
NODE_SNAP = 0.01
#: Within this of a corner, or of a dart's mouth, the cut is there (mm).
CORNER_SNAP = 2.0
#: What a length ends in; left as text, for `re` to compile when a place is first said in words.
_LENGTH_END = r"(?i)(mm|cm|m|in|inch|inches|zoll|\"|pt|px)$"
#: A seam whose chord lies within this of the cross grain is measured from its centre end.
CROSS_GRAIN = math.radians(15.0)


class Target(NamedTuple):
    """Where a dart, or a share of it, goes, and what becomes of it there.

    Attributes:
        at: a mark's place, or the outer end of a slash line, in mm; None where ``place`` says it.
        place: the place in words, as in ``side seam:0.35``.
        share: its share of the moved angle, or None for an equal part.
        thing: what the drafter calls the mark, for messages, or an empty string.
        intake: the width in mm that its mouth is to have, instead of a share.
        made: what becomes of the opening (one of `MADE_AS`), or an empty string for the
            setting's.
        source: the darts that it takes from, as places in words with "and" between them, or an
            empty string for those that the move closes.
        slash: the slash line from its outer end to the apex, or nothing for a straight one.
        apex: the number of the apex that it belongs to, where the drafter said so.
        miss: how far from the apex an open path ends, in mm, that may be meant as a slash line.
    """

    at: complex | None = None
    place: str = ""
    share: float | None = None
    thing: str = ""
    intake: float | None = None
    made: str = ""
    source: str = ""
    slash: tuple[Segment, ...] = ()
    apex: int | None = None
    miss: float | None = None

    @property
    def spoken(self) -> str:
        """What it is called in a sentence."""
        if self.place:
            return _('place "{place}"').format(place=spoken_place(self.place))
        return self.thing or _("target")


class Reached(NamedTuple):
    """Where a target came to lie.

    Attributes:
        spot: the place on the piece, or None where it is the mouth of a dart.
        mouth: the number of that dart's opening.
        snapped: by how much it was moved onto a corner or the mouth, in mm; 0 where it was not.
    """

    spot: Spot | None = None
    mouth: int | None = None
    snapped: float = 0.0

    def note(self, target: Target) -> str:
        """Return what the drafter is told of a snapped target, or an empty string."""
        if not self.snapped:
            return ""
        if self.mouth is None:
            return _("The {target} was moved by {by} onto the corner.").format(
                target=target.spoken, by=in_words(self.snapped)
            )
        return _("The {target} was moved by {by} onto the dart's mouth.").format(
            target=target.spoken, by=in_words(self.snapped)
        )


def seam_called(piece: Piece, name: str) -> Stretch:
    """Return the one seam of that name.

    Raises:
        PlaceError: if the piece has none, or several, of that name.
    """
    all_seams = stretches(piece)
    wanted = name.strip().casefold()
    together = _run_together(name)
    # The drafter's own spelling tells apart two seams that the trade calls by one name.
    matching = (
        [stretch for stretch in all_seams if stretch.seam.name.casefold() == wanted]
        or [stretch for stretch in all_seams if stretch.seam.kind == seam_kind(name)]
        or [
            stretch
            for stretch in all_seams
            if together in map(_run_together, (stretch.seam.name, stretch.seam.shown))
        ]
    )
    if len(matching) == 1:
        return matching[0]
    if not matching:
        raise PlaceError(
            _('no seam is called "{name}".').format(name=name.strip()), remedy=seam_list(piece)
        )
    raise PlaceError(
        ngettext(
            '{count} seam is called "{name}".', '{count} seams are called "{name}".', len(matching)
        ).format(count=len(matching), name=name.strip()),
        remedy=_("Put a target mark on the one that is meant."),
    )


def _run_together(name: str) -> str:
    return "".join(name.casefold().split())


def spoken_place(place: str) -> str:
    """Return a place in words with its seams in the drafter's language, for a message.

    The rest is as it was said; so is a seam that she named herself.
    """
    names, colon, along = place.partition(":")
    shown = (shown_seam_name(name.strip()) for name in names.split("/"))
    return f"{'/'.join(shown)}{colon}{along}"


def seam_list(piece: Piece) -> str:
    """Return the sentence that lists a block's seams, as they are typed in a place."""
    names = ", ".join(dict.fromkeys(stretch.seam.shown for stretch in stretches(piece)))
    return _(
        "This block's seams are: {seams}. Use one of them, or name the seam by a mark."
    ).format(seams=names)


def resolve(
    piece: Piece, target: Target, grain: complex, sources: Collection[int] = (), fan: int = 0
) -> Reached:
    """Find the place of a target on a piece, snapped to nodes, corners and mouths.

    Args:
        piece: the block.
        target: the mark or the place in words.
        grain: the unit vector pointing down along the grain.
        sources: the numbers of the darts that are moved.
        fan: the number of the fan that is turned.

    Raises:
        PlaceError: if the place does not exist or lies too far from the outline.
    """
    if target.at is not None:
        inside = _mouth_around(piece, target.at, fan)
        if inside is not None:
            return _mouth(piece, inside, fan)
        return _snapped(piece, _nearest_spot(piece, target.at, target), fan)
    return _in_words(piece, target.place, grain, sources, fan)


def _mouth_around(piece: Piece, at: complex, fan: int) -> int | None:
    """Return the dart in whose wide mouth a mark lies, further than its reach from any seam."""
    for k, opening in enumerate(piece.openings):
        first, second = piece.mouth(k)
        across = Line(first, second)
        foot = across.nearest(at)
        if (
            opening.fan == fan
            and 0.0 < foot < 1.0
            and min(abs(at - first), abs(at - second)) > TARGET_REACH
            and abs(across.point(foot) - at) <= TARGET_REACH
        ):
            return k
    return None


def _nearest_spot(piece: Piece, at: complex, target: Target) -> Spot:
    order = [(k, i) for k, run in enumerate(piece.runs) for i in range(len(run))]
    found = nearest_on([piece.runs[k][i].segment for k, i in order], at)
    if found.distance > TARGET_REACH:
        what = _("it lies {distance} from the nearest seam.").format(
            distance=told_apart(found.distance, TARGET_REACH)[0]
        )
        if target.miss is not None:
            what += " " + _(
                "A slash line has to end at the apex; this one ends {distance} from it."
            ).format(distance=in_words(target.miss))
        raise PlaceError(
            what,
            thing=target.spoken,
            remedy=_("Put it on the outline (up to {reach} away is understood).").format(
                reach=most_in_words(TARGET_REACH)
            ),
            place=at,
        )
    k, i = order[found.segment]
    return Spot(k, i, found.t)


def _in_words(
    piece: Piece, place: str, grain: complex, sources: Collection[int], fan: int
) -> Reached:
    if "/" in place and ":" not in place:
        first, _slash, second = place.partition("/")
        return _corner_of(piece, first, second, fan)
    name, colon, _fraction = place.partition(":")
    if not colon:
        stretch = seam_called(piece, name)
        count = len(piece.runs)
        for k in sources:
            if stretch.seam in (piece.runs[k][-1].seam, piece.runs[(k + 1) % count][0].seam):
                return _mouth(piece, k, fan)
        return _snapped(piece, _at_fraction(piece, stretch, 0.5), fan)
    return _snapped(piece, spot_in_words(piece, place, grain), fan)


def spot_in_words(piece: Piece, place: str, grain: complex) -> Spot:
    """Return the spot so far along a seam, like ``waist:0.3``, ``waist:30%`` or ``waist:80mm``.

    Raises:
        PlaceError: if there is no such seam or it does not go so far.
    """
    name, _colon, text = place.partition(":")
    stretch = seam_called(piece, name)
    fraction = _share_of(text.strip(), sum(s.length() for s in stretch.segments(piece)))
    forward = measured_forward(piece, stretch, grain)
    return _at_fraction(piece, stretch, fraction if forward else 1.0 - fraction)


def length_in_place(words: str) -> str:
    """Return the length in a place in words: "3 1/4in" in "waist: 3 1/4 in"; else ''."""
    _name, _colon, text = words.partition(":")
    if not text or text[-1].isdecimal():
        return ""
    found = re.search(_LENGTH_END, text)
    if found is None:
        return ""
    number = " ".join(text[: found.start()].split()).replace(",", ".")
    return f"{number}{found[0].casefold()}"


def _share_of(text: str, length: float) -> float:
    """Return how far along a seam a text says, as a fraction of its length in mm.

    Raises:
        PlaceError: if it says neither a fraction, nor per cent, nor a length; or too much.
    """
    is_length = None
    if re.fullmatch(r"(0|1|0?[.,]\d+|[01][.,]\d*)", text):
        fraction = float(text.replace(",", "."))
    elif found := re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*%", text):
        fraction = float(found[1].replace(",", ".")) / 100.0
    elif is_length := re.search(_LENGTH_END, text):
        try:
            fraction = parse_measure(text, "") / length
        except DraftingError:
            raise _no_way_along(text) from None
    else:
        raise _no_way_along(text)
    if fraction > 1.0:
        remedy = (
            _("Write a length of at most {most}, or per cent, like 35%.")
            if is_length
            else _("Write a fraction between 0 and 1, per cent up to 100%, or at most {most}.")
        )
        raise PlaceError(
            _('"{text}" lies beyond the seam, which is {length} long.').format(
                text=text, length=in_words(length)
            ),
            remedy=remedy.format(most=most_in_words(length)),
        )
    return fraction


def _no_way_along(text: str) -> PlaceError:
    return PlaceError(
        _('"{text}" does not say how far along the seam.').format(text=text),
        remedy=_(
            'Write it like "side seam:0.35", "side seam:35%" or "side seam:80mm"; several places '
            "stand with semicolons between."
        ),
    )


def measured_forward(piece: Piece, stretch: Stretch, grain: complex) -> bool:
    """Tell whether a seam is measured in the outline's direction.

    A seam is measured from its upper end; from its centre end where its chord lies within 15°
    of the cross grain. Without a centre that is the end away from the side seam,
    else the end nearer to a dart's mouth.
    """
    start, end = stretch.ends(piece)
    chord = end - start
    if not runs_across(piece, stretch, grain):
        return dot(chord, grain) > 0
    centre = [edge.segment for edge in piece.edges() if edge.seam.counts_as_centre]
    if centre:
        return nearest_on(centre, start).distance <= nearest_on(centre, end).distance
    sides = [neighbour.kind == SIDE_SEAM for neighbour in _neighbours(piece, stretch)]
    if sides[0] != sides[1]:
        # The end away from the side seam is the one toward the centre.
        return sides[1]
    # Else one of the two that mirroring or turning the piece does not change, and it is told.
    mouths = [piece.mouth(k) for k in range(len(piece.openings))]
    off = [
        min((abs(z - corner) for ends in mouths for z in ends), default=0.0)
        for corner in (start, end)
    ]
    if abs(off[0] - off[1]) > CORNER_SNAP:
        return off[0] < off[1]
    return dot(chord, grain * -1j) > 0


def _neighbours(piece: Piece, stretch: Stretch) -> tuple[Seam, Seam]:
    """Return the seams before and after a seam."""
    everywhere = stretches(piece)
    number = next(n for n, other in enumerate(everywhere) if other.edges == stretch.edges)
    following = everywhere[(number + 1) % len(everywhere)]
    return everywhere[number - 1].seam, following.seam


def measured_from(piece: Piece, place: str, grain: complex) -> str:
    """Return what is said of the end from which a place in words was measured.

    Nothing where the rule needs no word: where the seam runs along the grain, where there is a
    centre, or where both ends give the same place.

    Args:
        piece: the block.
        place: the place, as in ``wrist:0.3``.
        grain: the unit vector pointing down along the grain.
    """
    name, colon, along = place.partition(":")
    if not colon:
        return ""
    stretch = seam_called(piece, name)
    if not runs_across(piece, stretch, grain):
        return ""
    if any(edge.seam.counts_as_centre for edge in piece.edges()):
        return ""
    forward = measured_forward(piece, stretch, grain)
    length = sum(segment.length() for segment in stretch.segments(piece))
    if abs(_share_of(along.strip(), length) - 0.5) * length < NODE_SNAP:
        return ""
    end = stretch.ends(piece)[0 if forward else 1]
    beside = _neighbours(piece, stretch)[0 if forward else 1]
    return _(
        "{Seam} runs across the grain, and no seam of this piece is called a centre: it was "
        "measured from its end at {neighbour}, at {place}."
    ).format(Seam=capital(stretch.seam.spoken), neighbour=beside.spoken, place=place_in_words(end))


def runs_across(piece: Piece, stretch: Stretch, grain: complex) -> bool:
    """Tell whether a seam's chord lies within 15° of the cross grain."""
    start, end = stretch.ends(piece)
    return abs(dot(end - start, grain)) <= abs(end - start) * math.sin(CROSS_GRAIN)


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


def _corner_of(piece: Piece, first: str, second: str, fan: int) -> Reached:
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
            _('the seams "{one}" and "{other}" do not meet.').format(
                one=a.seam.shown, other=b.seam.shown
            ),
            remedy=_("Name two neighbouring seams."),
        )
    if len(meetings) > 1:
        raise PlaceError(
            _('the seams "{one}" and "{other}" meet twice.').format(
                one=a.seam.shown, other=b.seam.shown
            ),
            remedy=_("Put a target mark on the corner that is meant."),
        )
    k, i, following = meetings[0]
    if piece.openings and following[1] == 0:
        return _mouth(piece, k, fan)
    return Reached(Spot(k, i, 1.0))


def _mouth(piece: Piece, k: int, fan: int, snapped: float = 0.0) -> Reached:
    if piece.openings[k].fan != fan:
        raise PlaceError(
            _("it lies at the mouth of a dart that turns about another apex."),
            remedy=_("Choose a place at least {distance} from that dart.").format(
                distance=least_in_words(CORNER_SNAP)
            ),
            place=piece.mouth(k)[0],
        )
    return Reached(mouth=k, snapped=snapped)


def _snapped(piece: Piece, spot: Spot, fan: int) -> Reached:
    """Snap a spot to a mouth or corner within 2 mm, or to a node within 0.01 mm."""
    point = piece.spot_point(spot)
    if piece.openings:
        distances = [
            (min(abs(end - point) for end in piece.mouth(k)), k) for k in range(len(piece.openings))
        ]
        distance, k = min(distances)
        if distance <= CORNER_SNAP:
            return _mouth(piece, k, fan, distance if distance > NODE_SNAP else 0.0)
    corner = _nearest_corner(piece, point)
    if corner is not None:
        distance = abs(piece.spot_point(corner) - point)
        if distance <= CORNER_SNAP:
            return Reached(corner, snapped=distance if distance > NODE_SNAP else 0.0)
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
