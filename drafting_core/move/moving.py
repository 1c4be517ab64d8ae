"""Moving a dart: new angles for the fan of sectors and openings about the apex.

The angle between the legs is the same wherever the dart stands (National Instructional Media
Institute, *CITS Dress Making, Trade Theory*, 2024, p. 180), so every move is a new list of
cuts with opening angles of the same sum; each sector of the paper turns rigidly.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from drafting_core.block.places import Reached, Target, measured_from, resolve
from drafting_core.block.seam_place import SeamPlace, seam_place
from drafting_core.block.source_darts import check_closes, darts_called
from drafting_core.model.outline import encloses, flattened, nearest_on, signed_area
from drafting_core.model.piece import DART, Opening, Piece, Spot
from drafting_core.model.seam_names import Seam
from drafting_core.move.amounts import Goal, amounts, intake_of
from drafting_core.move.slashes import (
    Chain,
    check_apart,
    check_off_apex,
    is_curved,
    slash_of,
    trimmed_slash,
)
from drafting_core.plane.curves import PointMap
from drafting_core.text.errors import DraftingError, PlaceError
from drafting_core.text.lengths import in_words, told_apart
from drafting_core.text.words import _

#: A mark for the part that stays put may lie this far off the piece (mm).
HOLD_REACH = 20.0
#: Angles below this are no opening: at a metre from the apex it is a millionth of a mm (rad).
SHUT = 1e-9
#: Two targets nearer than this are one place (mm).
ONE_PLACE = 2.0
#: A mouth has the width that was asked for within this (mm).
WIDTH_CLOSES = 1e-6


class Moved(NamedTuple):
    """The outcome of a move about one apex.

    Attributes:
        cut: the piece with the new cuts, before anything turned.
        piece: the piece after the move, shut openings joined.
        turned: the piece after the move with its shut openings still in it.
        maps: for every run of ``cut`` and ``turned`` the map that took it there.
        fan: the number of the fan that was turned.
        sources: the darts that were closed for targets that name none, by number before the
            cuts, and how much of each.
        notes: what was snapped.
        places: where on the seams each target came to lie, by its number.
    """

    cut: Piece
    piece: Piece
    turned: Piece
    maps: list[PointMap]
    fan: int
    sources: dict[int, float]
    notes: tuple[str, ...]
    places: Mapping[int, SeamPlace]

    @property
    def apex(self) -> complex:
        """The apex about which it turned."""
        return _apex(self.cut, self.fan)

    def renamed(self, seams: Mapping[Seam, Seam]) -> Moved:
        """Return the move with other seams in the place of some."""
        cut, piece, turned = (piece.renamed(seams) for piece in (self.cut, self.piece, self.turned))
        return self._replace(cut=cut, piece=piece, turned=turned)

    def carried(self, at: complex) -> complex:
        """Return where a mark near the outline went with its part."""
        return self.map_at(at)(at)

    def map_at(self, at: complex) -> PointMap:
        """Return the map of the part whose outline is nearest to a point."""
        order = [(k, edge.segment) for k, run in enumerate(self.cut.runs) for edge in run]
        found = nearest_on([segment for _, segment in order], at)
        return self.maps[order[found.segment][0]]


def turn_fan(
    piece: Piece,
    targets: Sequence[Target],
    sources: dict[int, float],
    share: float,
    grain: complex,
    hold: complex | None,
    *,
    fan: int = 0,
    made: str = DART,
    numbers: Sequence[int] | None = None,
) -> Moved:
    """Close darts and open their angle at the targets.

    Args:
        piece: the block.
        targets: where the angle goes; shares that are not given are equal parts.
        sources: the darts to close, by number, and how much of each; those that a target names
            are closed too.
        share: the part of all this that is moved.
        grain: the unit vector down along the grain.
        hold: a point of the part that stays put, or None for the centre's or the larger part.
        fan: the number of the fan, all of whose openings turn about one apex.
        made: what becomes of an opening whose target does not say.
        numbers: the numbers of the targets; from 0 on where none are given.

    Raises:
        DartError: if a dart does not close by turning.
        PlaceError: if a target cannot be reached or asks for more than there is.
    """
    apex = _apex(piece, fan)
    targets = [_without_overshoot(piece, target) for target in targets]
    numbers = range(len(targets)) if numbers is None else numbers
    named = [_named_sources(piece, target, fan, grain) for target in targets]
    parts = {k: 1.0 for names in named for k in names} | sources
    taking = [names or tuple(sources) for names in named]
    used = sorted({k for names in taking for k in names})
    check_closes(piece, used)
    available = {k: piece.openings[k].angle * parts[k] * share for k in used}
    reached, notes = _reached(piece, targets, grain, used, fan)
    goals = [
        _goal(piece, target, found, names, available, apex)
        for target, found, names in zip(targets, reached, taking, strict=True)
    ]
    divided = amounts(goals, available)
    if max(divided.given) < SHUT:
        raise PlaceError(
            _("nothing of the dart is to go there."),
            thing=targets[0].spoken,
            remedy=_("Ask for a share or a width above 0."),
        )
    total = sum(piece.openings[k].angle for k in used)
    left = _with_less(piece.openings, divided.taken, total)
    gifts = [
        _Gift(found, amount, number, target, target.made or made)
        for number, target, found, amount in zip(
            numbers, targets, reached, divided.given, strict=True
        )
    ]
    given = _with_more(left, gifts, total)
    cuts = [gift for gift in gifts if gift.found.mouth is None]
    standing = Piece(piece.runs, tuple(given.openings))
    cut, angles = _with_cuts(standing, fan, apex, cuts, given.angles, total)
    turned, maps = cut.turned(angles, held_run(cut, fan, hold), fan)
    _check_widths(turned, dict(zip(numbers, targets, strict=True)))
    closed = {} if all(named) else sources
    places = {
        number: seam_place(piece, found, grain, target.place)
        for number, target, found in zip(numbers, targets, reached, strict=True)
    }
    joined = turned.shut_openings_joined()
    return Moved(cut, joined, turned, maps, fan, closed, tuple(notes), places)


def _reached(
    piece: Piece, targets: Sequence[Target], grain: complex, used: Sequence[int], fan: int
) -> tuple[list[Reached], list[str]]:
    """Return the place of each target, and what was snapped.

    Raises:
        DraftingError: if one cannot be reached.
    """
    members = [k for k, opening in enumerate(piece.openings) if opening.fan == fan]
    reached: list[Reached] = []
    notes: list[str] = []
    for target in targets:
        # "waist from shoulder" means the dart on the waist, though that is not moved.
        there = [*used, *members] if target.source else used
        try:
            found = resolve(piece, target, grain, there, fan)
        except DraftingError as error:
            raise error.about(_("The place") if target.place else target.spoken) from None
        if note := found.note(target):
            notes.append(note)
        if target.at is None and (note := measured_from(piece, target.place, grain)):
            notes.append(note)
        reached.append(found)
    return reached, notes


class _Gift(NamedTuple):
    """What a target gets: where, how much, by which number, and what becomes of it."""

    found: Reached
    amount: float
    number: int
    target: Target
    made: str

    @property
    def spot(self) -> Spot:
        """Where the outline is cut for it."""
        return _spot(self.found)


class _Angles(NamedTuple):
    """Openings with the angles that they will have, in radians."""

    openings: list[Opening]
    angles: list[float]


def _with_less(openings: Sequence[Opening], taken: Mapping[int, float], total: float) -> _Angles:
    """Return the openings when what is moved has been taken from its darts."""
    left = _Angles(list(openings), [opening.angle for opening in openings])
    for k, amount in taken.items():
        left.angles[k] -= amount
        left.openings[k] = openings[k]._replace(
            source=True, share=left.angles[k] / total, made=DART, target=None
        )
    return left


def _with_more(left: _Angles, gifts: Sequence[_Gift], total: float) -> _Angles:
    """Return the openings when targets at the mouths of darts have got their part.

    Raises:
        PlaceError: if two targets lie at one mouth.
    """
    given = _Angles(list(left.openings), list(left.angles))
    numbers = {gift.number for gift in gifts}
    for gift in gifts:
        k = gift.found.mouth
        if k is None:
            continue
        old = given.openings[k]
        if old.target in numbers:
            raise _one_place(gift.target)
        given.angles[k] += gift.amount
        given.openings[k] = old._replace(
            target=gift.number,
            share=(old.share if old.source else 0.0) + gift.amount / total,
            made=gift.made,
        )
    return given


def _without_overshoot(piece: Piece, target: Target) -> Target:
    """Return a target whose slash line starts where it enters the block."""
    if not target.slash:
        return target
    slash = trimmed_slash(piece, target.slash)
    return target._replace(at=slash[0].start, slash=slash)


def _named_sources(piece: Piece, target: Target, fan: int, grain: complex) -> tuple[int, ...]:
    """Return the darts that a target names, which all have to be of the fan."""
    if not target.source:
        return ()
    named = darts_called(piece, target.source, grain)
    if any(piece.openings[k].fan != fan for k in named):
        raise PlaceError(
            _('the darts "{darts}" turn about different apexes.').format(darts=target.source),
            thing=target.spoken,
            remedy=_(
                "Darts are put together about one apex alone: move them one by one, or mark one "
                "apex where their middle lines meet."
            ),
        )
    return named


def _goal(
    piece: Piece,
    target: Target,
    found: Reached,
    sources: tuple[int, ...],
    available: dict[int, float],
    apex: complex,
) -> Goal:
    if found.mouth is None:
        start = piece.spot_point(_spot(found))
        check_off_apex(start, apex, target)
        return Goal(target, sources, abs(start - apex))
    standing = piece.openings[found.mouth].angle - available.get(found.mouth, 0.0)
    return Goal(target, sources, abs(piece.mouth(found.mouth)[0] - apex), standing)


def _check_widths(piece: Piece, targets: Mapping[int, Target]) -> None:
    """Make sure that every mouth for which a width was asked has it.

    Raises:
        PlaceError: if more of a dart stays at its own mouth than was asked for.
    """
    for k, opening in enumerate(piece.openings):
        target = targets.get(-1 if opening.target is None else opening.target)
        if target is None:
            continue
        width = intake_of(opening.angle, abs(piece.mouth(k)[0] - opening.apex))
        if target.intake is not None and abs(width - target.intake) > WIDTH_CLOSES:
            raise PlaceError(
                _("its mouth would be {width} wide, since what is not moved stays there.").format(
                    width=in_words(width)
                ),
                thing=target.spoken,
                remedy=_("Name a target for the rest of the dart."),
            )


def _one_place(target: Target) -> PlaceError:
    return PlaceError(
        _("two targets lie at one place."),
        thing=target.spoken,
        remedy=_("Delete one of them, or give the other a larger share."),
    )


def _with_cuts(
    piece: Piece,
    fan: int,
    apex: complex,
    cuts: Sequence[_Gift],
    angles: Sequence[float],
    total: float,
) -> tuple[Piece, list[float]]:
    """Cut the piece at every target and return it with the new angle of each opening."""
    # From the outline's end to its start, so that a cut leaves the numbers of the others alone.
    order = sorted(cuts, key=lambda cut: cut.spot, reverse=True)
    for this, following in itertools.pairwise(order):
        a, b = (piece.spot_point(cut.spot) for cut in (this, following))
        if abs(a - b) < ONE_PLACE:
            distance, least = told_apart(abs(a - b), ONE_PLACE)
            raise PlaceError(
                _("two targets lie {distance} apart; less than {least} is one place.").format(
                    distance=distance, least=least
                ),
                thing=this.target.spoken,
                remedy=_("Delete one of them, or give the other a larger share."),
                place=a,
            )
    slashes: list[tuple[Chain, Target]] = [
        (slash_of(piece, fan, piece.spot_point(cut.spot), apex, cut.target), cut.target)
        for cut in order
    ]
    check_apart(slashes)
    new_angles = list(angles)
    last: Spot | None = None
    for cut, (slash, _target) in zip(order, slashes, strict=True):
        spot = cut.spot
        if last is not None and (last.run, last.edge) == (spot.run, spot.edge) and last.t < 1.0:
            # The later cut left only the first part of this edge here.
            spot = Spot(spot.run, spot.edge, spot.t / last.t)
        last = cut.spot
        opening = Opening(
            apex,
            apex,
            0.0,
            fan,
            target=cut.number,
            share=cut.amount / total,
            sides=(slash, slash) if is_curved(slash) else None,
            made=cut.made,
        )
        piece = piece.cut_at(spot, opening)
        new_angles.insert(spot.run, cut.amount)
    return piece, [0.0 if angle < SHUT else angle for angle in new_angles]


def _spot(found: Reached) -> Spot:
    if found.spot is None:
        raise ValueError("a target at a mouth is no cut")
    return found.spot


def held_run(piece: Piece, fan: int, hold: complex | None) -> int:
    """Return a run of the sector that stays put.

    Raises:
        PlaceError: if the hold mark lies off the piece.
    """
    sectors = piece.sectors(fan)
    if hold is not None:
        run, distance = _nearest_sector(piece, fan, hold)
        if distance > HOLD_REACH:
            raise PlaceError(
                _("it lies {distance} off the piece.").format(distance=in_words(distance)),
                thing=_("The hold mark"),
                remedy=_("Put it on the part that is to stay where it is."),
                place=hold,
            )
        return run
    central = [
        sum(e.segment.length() for k in sector for e in piece.runs[k] if e.seam.is_centre)
        for sector in sectors
    ]
    if max(central) > 0.0:
        return sectors[central.index(max(central))][0]
    apex = _apex(piece, fan)
    areas = [signed_area(piece.sector_ring(sector, apex)) for sector in sectors]
    return sectors[areas.index(max(areas))][0]


def _apex(piece: Piece, fan: int) -> complex:
    return next(opening.apex for opening in piece.openings if opening.fan == fan)


def sector_run_of(piece: Piece, fan: int, at: complex) -> int:
    """Return a run of the sector on which a point lies, or to which it lies nearest."""
    return _nearest_sector(piece, fan, at)[0]


def _nearest_sector(piece: Piece, fan: int, at: complex) -> tuple[int, float]:
    """Return a run of the sector at a point, and the point's distance in mm off it."""
    sectors = piece.sectors(fan)
    apex = _apex(piece, fan)
    for sector in sectors:
        if encloses(flattened(piece.sector_ring(sector, apex)), at):
            return sector[0], 0.0
    distances = [
        nearest_on([edge.segment for k in sector for edge in piece.runs[k]], at).distance
        for sector in sectors
    ]
    return sectors[distances.index(min(distances))][0], min(distances)
