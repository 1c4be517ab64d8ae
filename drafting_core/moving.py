"""Moving a dart: new angles for the fan of sectors and openings about the apex.

The angle between the legs is the same wherever the dart stands (National Instructional Media
Institute, *CITS Dress Making, Trade Theory*, 2024, p. 180), so every move is a new list of
cuts with opening angles of the same sum; each sector of the paper turns rigidly.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.block import DartMark
from drafting_core.curves import Line, PointMap, Segment
from drafting_core.errors import DartError, DraftingError, PlaceError
from drafting_core.find_darts import ON_APEX
from drafting_core.folding import mouth_seam
from drafting_core.lengths import in_words
from drafting_core.outline import encloses, flattened, nearest_on, signed_area
from drafting_core.piece import Opening, Piece, Spot
from drafting_core.places import Reached, Target, check_within, resolve, shares_of

#: A mark for the part that stays put may lie this far off the piece (mm).
HOLD_REACH = 20.0
#: A dart mark may lie this far from its dart (mm).
DART_REACH = 40.0
#: Angles below this are no opening: at a metre from the apex it is a millionth of a mm (rad).
SHUT = 1e-9


class Moved(NamedTuple):
    """The outcome of a move.

    Attributes:
        cut: the piece with the new cuts, before anything turned.
        piece: the piece after the move, shut openings joined.
        turned: the piece after the move with its shut openings still in it.
        maps: for every run of ``cut`` and ``turned`` the map that took it there.
        sources: the darts that were closed, by number before the cuts, and how much of each.
        notes: what was snapped.
    """

    cut: Piece
    piece: Piece
    turned: Piece
    maps: list[PointMap]
    sources: dict[int, float]
    notes: tuple[str, ...]


def source_darts(piece: Piece, marks: Sequence[DartMark]) -> dict[int, float]:
    """Return the darts to close, by number, with the share of each.

    Raises:
        DartError: if there is none, or a mark lies at a dart of another apex.
    """
    fan = [k for k, opening in enumerate(piece.openings) if opening.in_fan]
    if not fan:
        raise DartError(
            "no dart was found that points at the apex.",
            remedy="A dart is two straight legs from its mouth on the outline to a point at the "
            "apex, or between the mouth and the apex, with mouth ends equally far from the apex.",
        )
    if not marks:
        distances = {k: abs(piece.openings[k].point - piece.openings[k].apex) for k in fan}
        near = min(distances.values())
        # Of several darts drawn to the apex itself the widest is the one to close.
        chosen = max(
            (k for k in fan if distances[k] <= max(near, ON_APEX)),
            key=lambda k: piece.openings[k].angle,
        )
        return {chosen: 1.0}
    shares: dict[int, float] = {}
    for mark in marks:
        k = min(
            range(len(piece.openings)),
            key=lambda k: _distance_to_dart(piece, k, mark.at),
        )
        distance = _distance_to_dart(piece, k, mark.at)
        if distance > DART_REACH:
            raise DartError(
                f"the dart mark lies {in_words(distance)} from the nearest dart.",
                remedy="Put it near the mouth of the dart that is to be closed.",
                place=mark.at,
            )
        if k not in fan:
            raise DartError(
                "the dart mark lies at a dart that does not point at the apex.",
                remedy="Move the mark to the mouth of the dart that is to be closed.",
                place=mark.at,
            )
        if k in shares:
            raise DartError(
                "two dart marks lie at one dart.", remedy="Delete one of them.", place=mark.at
            )
        shares[k] = mark.share
    return shares


def tie_note(piece: Piece, sources: dict[int, float], marks: Sequence[DartMark]) -> str:
    """Return a word on a choice among darts that all end at the apex, or an empty string."""
    ending = [
        k
        for k, opening in enumerate(piece.openings)
        if opening.in_fan and abs(opening.point - opening.apex) <= ON_APEX
    ]
    if marks or len(ending) < 2:
        return ""
    chosen = mouth_seam(piece, next(iter(sources)))
    return (
        f"{len(ending)} darts end at the apex; the widest, on {chosen.spoken}, was closed. "
        "A dart mark chooses another."
    )


def _distance_to_dart(piece: Piece, k: int, at: complex) -> float:
    """Return the distance in mm of a point from a dart: 0 inside it."""
    first, second = piece.mouth(k)
    point = piece.openings[k].point
    if encloses((first, second, point), at):
        return 0.0
    sides: list[Segment] = [Line(first, second), Line(first, point), Line(second, point)]
    return nearest_on(sides, at).distance


def move(
    piece: Piece,
    targets: Sequence[Target],
    sources: dict[int, float],
    share: float,
    grain: complex,
    hold: complex | None,
) -> Moved:
    """Close darts and open their angle at the targets.

    Args:
        piece: the block.
        targets: where the angle goes; shares that are not given are equal parts.
        sources: the darts to close, by number, and how much of each.
        share: the part of all this that is moved.
        grain: the unit vector down along the grain.
        hold: a point of the part that stays put, or None for the centre's or the larger part.

    Raises:
        PlaceError: if a target cannot be reached.
    """
    apex = piece.openings[next(iter(sources))].apex
    shares = shares_of(targets)
    notes: list[str] = []
    reached: list[Reached] = []
    for target in targets:
        try:
            found = resolve(piece, target, grain, sources)
        except DraftingError as error:
            raise error.about("The place" if target.place else target.thing) from None
        if found.note:
            notes.append(f"The {_thing(target)} was {found.note}.")
        reached.append(found)
    taken = [piece.openings[k].angle * part * share for k, part in sources.items()]
    total = sum(piece.openings[k].angle for k in sources)
    moved = sum(taken)
    change = [0.0] * len(piece.openings)
    for k, amount in zip(sources, taken, strict=True):
        change[k] -= amount * sum(shares)
    openings = [
        opening._replace(
            source=k in sources,
            share=(1.0 + change[k] / opening.angle) * opening.angle / total
            if k in sources
            else 1.0,
        )
        for k, opening in enumerate(piece.openings)
    ]
    base = Piece(piece.runs, tuple(openings))
    cuts: list[tuple[Reached, float, int]] = []
    for number, (found, part) in enumerate(zip(reached, shares, strict=True)):
        amount = moved * part
        if found.mouth is not None:
            k = found.mouth
            change[k] += amount
            old = base.openings[k]
            if old.target is not None:
                raise PlaceError(
                    "two targets lie at one place.",
                    thing=_thing(targets[number]),
                    remedy="Delete one of them, or give the other a larger share.",
                )
            grown = old._replace(
                target=number,
                share=(old.share if old.source else 0.0) + amount / total,
            )
            base = Piece(base.runs, (*base.openings[:k], grown, *base.openings[k + 1 :]))
            continue
        cuts.append((found, amount, number))
    base, angles = _with_cuts(base, targets, cuts, change, apex, total)
    turned, maps = base.turned(angles, _held_run(base, apex, hold))
    return Moved(base, turned.shut_openings_joined(), turned, maps, sources, tuple(notes))


def _thing(target: Target) -> str:
    return f'place "{target.place}"' if target.place else target.thing


def _with_cuts(
    piece: Piece,
    targets: Sequence[Target],
    cuts: Sequence[tuple[Reached, float, int]],
    change: Sequence[float],
    apex: complex,
    total: float,
) -> tuple[Piece, list[float]]:
    """Cut the piece at every target and return it with the new angle of each opening."""
    amounts = {k: opening.angle + change[k] for k, opening in enumerate(piece.openings)}
    # From the outline's end to its start, so that a cut leaves the numbers of the others alone.
    order = sorted(cuts, key=lambda cut: _position(cut[0]), reverse=True)
    for this, following in itertools.pairwise(order):
        a, b = (piece.spot_point(_spot(cut[0])) for cut in (this, following))
        if abs(a - b) < 2.0:
            raise PlaceError(
                f"two targets lie {abs(a - b):.1f} mm apart; less than 2 mm is one place.",
                thing=_thing(targets[this[2]]),
                remedy="Delete one of them, or give the other a larger share.",
                place=a,
            )
    angles = [amounts[k] for k in range(len(piece.openings))]
    polygon = flattened(piece.ring(lambda opening: opening.point))
    last: Spot | None = None
    for found, amount, number in order:
        spot = original = _spot(found)
        if last is not None and (last.run, last.edge) == (spot.run, spot.edge) and last.t < 1.0:
            # The later cut left only the first part of this edge here.
            spot = Spot(spot.run, spot.edge, spot.t / last.t)
        last = original
        start = piece.spot_point(spot)
        thing = _thing(targets[number])
        middle = (start + apex) / 2
        check_within(piece, apex, start, thing, encloses(polygon, middle))
        opening = Opening(apex, apex, 0.0, True, target=number, share=amount / total)
        piece = piece.cut_at(spot, opening)
        angles.insert(spot.run, amount)
    return piece, [0.0 if angle < SHUT else angle for angle in angles]


def _spot(found: Reached) -> Spot:
    if found.spot is None:
        raise ValueError("a target at a mouth is no cut")
    return found.spot


def _position(found: Reached) -> tuple[int, int, float]:
    spot = _spot(found)
    return spot.run, spot.edge, spot.t


def _held_run(piece: Piece, apex: complex, hold: complex | None) -> int:
    """Return a run of the sector that stays put.

    Raises:
        PlaceError: if the hold mark lies off the piece.
    """
    sectors = piece.sectors()
    polygons = [piece.sector_polygon(sector, apex) for sector in sectors]
    if hold is not None:
        for sector, polygon in zip(sectors, polygons, strict=True):
            if encloses(polygon, hold):
                return sector[0]
        distances = [
            nearest_on([edge.segment for k in sector for edge in piece.runs[k]], hold).distance
            for sector in sectors
        ]
        if min(distances) > HOLD_REACH:
            raise PlaceError(
                f"it lies {in_words(min(distances))} off the piece.",
                thing="The hold mark",
                remedy="Put it on the part that is to stay where it is.",
                place=hold,
            )
        return sectors[distances.index(min(distances))][0]
    central = [
        sum(e.segment.length() for k in sector for e in piece.runs[k] if e.seam.is_centre)
        for sector in sectors
    ]
    if max(central) > 0.0:
        return sectors[central.index(max(central))][0]
    areas = [_sector_area(piece, sector, apex) for sector in sectors]
    return sectors[areas.index(max(areas))][0]


def _sector_area(piece: Piece, sector: list[int], apex: complex) -> float:
    segments = [edge.segment for k in sector for edge in piece.runs[k]]
    start, end = segments[0].start, segments[-1].end
    return signed_area([*segments, Line(end, apex), Line(apex, start)])


def sector_run_of(piece: Piece, apex: complex, at: complex) -> int:
    """Return a run of the sector on which a point lies, or to which it lies nearest."""
    sectors = piece.sectors()
    for sector in sectors:
        if encloses(piece.sector_polygon(sector, apex), at):
            return sector[0]
    distances = [
        nearest_on([edge.segment for k in sector for edge in piece.runs[k]], at).distance
        for sector in sectors
    ]
    return sectors[distances.index(min(distances))][0]
