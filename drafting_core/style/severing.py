"""Cutting a piece in two along a style line, as runs, openings and seams.

Each part keeps its share of the outline and gets the style line as a seam of its own. A dart
whose apex lies on the line, or beyond it, can then be closed inside its part: the edges along
the line part where they met, at the *throat*, which is an opening like any other. So the part is
again a fan about the apex, and closing the dart is the same move as everywhere else.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from drafting_core.block.block import StyleLine
from drafting_core.block.places import CORNER_SNAP, Reached, Target, resolve
from drafting_core.model.outline import (
    Edge,
    encloses,
    flattened,
)
from drafting_core.model.piece import Opening, Piece, Spot, aimed, mouth_angle
from drafting_core.model.seam_names import Seam
from drafting_core.model.settings import Settings
from drafting_core.move.slashes import slash_of, trimmed_slash
from drafting_core.plane.crossings import segment_crossings
from drafting_core.plane.curves import PointMap, Segment, backward, chain_length, unit
from drafting_core.style.style_path import Crossing, crossing_of, split_near
from drafting_core.text.errors import PlaceError
from drafting_core.text.lengths import place_in_words
from drafting_core.text.words import N_, _

#: A line that ends this far outside a dart's mouth still ends in it (mm).
_OUTSIDE = 30.0
#: Ends of a style line nearer than this are one place (mm).
_ONE_PLACE = 2.0

_INSIDE = N_("Draw it inside the block, from outline to outline.")

Chain = tuple[Segment, ...]


class Severed(NamedTuple):
    """One part of a piece that was cut in two.

    Attributes:
        piece: its runs and openings, the style line among them.
        throat: the number of the opening between the two stretches of its style line, or None
            where they run on.
        back: the style line from the end of the part inward, to the level of the apex.
        out: the style line from there to the start of the part.
        opens_at: where the darts that are closed open again, or None where they go into the seam.
        level: where a notch marks the level of the apex, or None where nothing smooth is there.
    """

    piece: Piece
    throat: int | None
    back: Chain
    out: Chain
    opens_at: complex | None = None
    level: complex | None = None

    def mapped(self, to: PointMap) -> Severed:
        """Return the part moved rigidly."""
        return Severed(
            self.piece.mapped(to),
            self.throat,
            tuple(segment.mapped(to) for segment in self.back),
            tuple(segment.mapped(to) for segment in self.out),
            None if self.opens_at is None else to(self.opens_at),
            None if self.level is None else to(self.level),
        )


def severed_at(
    piece: Piece,
    line: StyleLine,
    apex: complex,
    sources: Mapping[int, float] | None,
    shares: Mapping[int, float],
    seams: Sequence[Seam],
) -> list[Severed]:
    """Cut a piece in two along a style line through the apex.

    Args:
        piece: the block.
        line: the style line.
        apex: the pivot.
        sources: the darts that go into the seam, where marks choose them; otherwise those on
            the line alone, if there are any.
        shares: how much of each dart may go into the seam.
        seams: the new seam on either part.

    Raises:
        PlaceError: if the line cannot be followed from outline to outline.
    """
    before, after = split_near(line.path, apex)
    halves = [before, backward(after)]
    cut, ends = _cut_ends(piece, line, halves, apex)
    a, b = ends
    for k in ends:
        number = cut.openings[k].number
        if number is not None and shares[number] < 1.0:
            raise PlaceError(
                _("it runs along a dart that is not closed, or not wholly."),
                thing=line.spoken,
                remedy=_("Close the whole dart, or let the line end beside it."),
                place=cut.mouth(k)[0],
            )
    there, back = cut.openings[a].legs(cut.mouth(a), apex), cut.openings[b].legs(cut.mouth(b), apex)
    stays = sources is None and any(cut.openings[k].number is not None for k in ends)
    result = []
    for start, end, inward, outward, seam in (
        (a, b, back[0], there[1], seams[0]),
        (b, a, there[0], back[1], seams[1]),
    ):
        throat = Opening(apex, apex, 0.0, 0)
        part = _part_of(cut, start, end, inward, backward(outward), seam, throat)
        if stays:
            part = part._replace(piece=_kept(part.piece))
        result.append(part)
    return result


def _kept(piece: Piece) -> Piece:
    """Return a piece whose darts are no longer known as those of the block, so that they stay."""
    return Piece(piece.runs, tuple(o._replace(number=None) for o in piece.openings))


def severed_beside(
    piece: Piece,
    line: StyleLine,
    apex: complex,
    sources: Mapping[int, float],
    settings: Settings,
    seams: Sequence[Seam],
) -> list[Severed]:
    """Cut a piece in two along a style line that passes beside the apex.

    Args:
        piece: the block.
        line: the style line.
        apex: the pivot.
        sources: the darts that are closed, by number, and how much of each.
        settings: the drafter's choices.
        seams: the new seam on either part.

    Raises:
        PlaceError: if the line cannot be followed from outline to outline.
    """
    cut, ends = _cut_ends(piece, line, [line.path, backward(line.path)], None)
    a, b = ends
    path = aimed(line.path, cut.mouth(a)[0], cut.mouth(b)[0])
    _check_inside(cut, path, line)
    try:
        crossing = crossing_of(cut, 0, path)
    except PlaceError as error:
        raise error.about(line.spoken) from None
    across = _Across(cut, ends, line, apex, seams)
    if crossing is None:
        return _past_the_darts(across, path)
    is_closed = sources.get(cut.openings[crossing.dart].number or 0, 0.0) * settings.share >= 1.0
    return _through_a_dart(across, crossing, is_closed=is_closed, made=settings.made)


class _Across(NamedTuple):
    """A piece with a style line across it, beside the apex.

    Attributes:
        cut: the piece with the cuts at the line's ends.
        ends: the numbers of their openings.
        line: the style line.
        apex: the pivot.
        seams: the new seam on either part.
    """

    cut: Piece
    ends: Sequence[int]
    line: StyleLine
    apex: complex
    seams: Sequence[Seam]


def _past_the_darts(across: _Across, path: Chain) -> list[Severed]:
    """Sever a piece along a line that crosses none of its darts.

    Raises:
        PlaceError: if the line ends where it is nearest to the apex.
    """
    cut, (a, b), line, apex, seams = across
    before, after = split_near(path, apex)
    if min(chain_length(half) for half in (before, after)) < CORNER_SNAP:
        raise PlaceError(
            _("it ends where it is nearest to the apex."),
            thing=line.spoken,
            remedy=_("Lead it through the apex, or past it."),
            place=before[-1].end,
        )
    parts = [
        _part_of(cut, a, b, backward(after), backward(before), seams[0], None),
        _part_of(cut, b, a, before, after, seams[1], None),
    ]
    level = before[-1].end
    return [
        part._replace(opens_at=level)
        if any(opening.in_fan for opening in part.piece.openings)
        else part._replace(level=level)
        for part in parts
    ]


def _through_a_dart(
    across: _Across, crossing: Crossing, *, is_closed: bool, made: str
) -> list[Severed]:
    """Sever a piece along a line that crosses a dart: the near part keeps its last stretch.

    Raises:
        PlaceError: if the dart is not wholly closed, or has curved legs.
    """
    cut, (a, b), line, apex, seams = across
    before, after = crossing.before, crossing.after
    dart = cut.openings[crossing.dart]
    if not is_closed:
        raise PlaceError(
            _("it crosses a dart that is not closed, or not wholly."),
            thing=line.spoken,
            remedy=_("Close the whole dart, or lead the line past it."),
            place=before[-1].end,
        )
    if dart.sides is not None:
        raise PlaceError(
            _("it crosses a dart with curved legs."),
            thing=line.spoken,
            remedy=_("Lead it through the apex, or past the dart."),
            place=before[-1].end,
        )
    short = dart._replace(point=apex, target=0, source=True, made=made)
    count = len(cut.runs)
    result = []
    for start, end, inward, outward, seam in (
        (a, b, backward(after), backward(before), seams[0]),
        (b, a, before, after, seams[1]),
    ):
        if (crossing.dart - start - 1) % count < (end - start) % count - 1:
            angle = mouth_angle(inward[-1].end, outward[0].start, apex)
            throat = Opening(apex, apex, angle, 0)
            far = _part_of(cut, start, end, inward, outward, seam, throat)
            result.append(far._replace(level=inward[-1].end))
        else:
            near = _part_of(cut, start, end, inward, outward, seam, short)
            result.append(near._replace(opens_at=inward[-1].end))
    return result


def _cut_ends(
    piece: Piece, line: StyleLine, halves: Sequence[Chain], apex: complex | None
) -> tuple[Piece, list[int]]:
    """Cut a piece where a style line starts and ends.

    Args:
        piece: the block.
        line: the style line.
        halves: its two stretches, or the whole line both ways, each from the outline inward.
        apex: the apex where the stretches end at it, or None where the line runs on.

    Returns:
        The piece with both cuts, and the numbers of their openings.
    """
    found = [_end_of(piece, line, half, is_through=apex is not None) for half in halves]
    _check_two_ends(piece, found, line)
    openings = list(piece.openings)
    for number, end in enumerate(found):
        if end.reached.mouth is not None:
            openings[end.reached.mouth] = openings[end.reached.mouth]._replace(target=number)
    cut = Piece(piece.runs, tuple(openings))
    spots = [
        (end.reached.spot, number)
        for number, end in enumerate(found)
        if end.reached.spot is not None
    ]
    # The later one first, so that it leaves the place of the other alone, but for its edge.
    last: Spot | None = None
    for spot, number in sorted(spots, reverse=True):
        at = spot
        if last is not None and (last.run, last.edge) == (spot.run, spot.edge) and last.t < 1.0:
            at = Spot(spot.run, spot.edge, spot.t / last.t)
        last = spot
        start = cut.spot_point(at)
        opening = Opening(start, start, 0.0, None, target=number)
        if apex is not None:
            target = Target(at=start, slash=found[number].inner, thing=line.spoken)
            slash = _half(piece, start, apex, target)
            opening = Opening(apex, apex, 0.0, 0, target=number, sides=(slash, slash))
        cut = cut.cut_at(at, opening)
    numbers = [
        next(k for k, opening in enumerate(cut.openings) if opening.target == number)
        for number in range(2)
    ]
    return cut, numbers


class _End(NamedTuple):
    """Where a style line meets the outline, and its stretch from there inward."""

    reached: Reached
    inner: Chain


def _end_of(piece: Piece, line: StyleLine, half: Chain, *, is_through: bool) -> _End:
    """Return where a stretch of a style line meets the outline.

    Args:
        piece: the block.
        line: the style line.
        half: the stretch, from the outline inward.
        is_through: whether the line leads through the apex.

    Raises:
        PlaceError: if it ends nowhere, or in a dart though it passes beside the apex.
    """
    inner = trimmed_slash(piece, half)
    mouth = _mouth_at(piece, half[0].start)
    reached = Reached(mouth=mouth)
    if mouth is None:
        try:
            reached = resolve(piece, Target(at=inner[0].start, thing=line.spoken), 1j)
        except PlaceError as error:
            raise error.about(line.spoken) from None
    if reached.mouth is not None and not is_through:
        raise PlaceError(
            _("it ends at the mouth of a dart and passes beside the apex."),
            thing=line.spoken,
            remedy=_("Lead it through the apex, or let it end beside the dart."),
            place=piece.mouth(reached.mouth)[0],
        )
    return _End(reached, inner)


def _check_two_ends(piece: Piece, ends: Sequence[_End], line: StyleLine) -> None:
    """Refuse a style line that comes back to where it started.

    Raises:
        PlaceError: if its ends are one place.
    """
    mouths = [end.reached.mouth for end in ends if end.reached.mouth is not None]
    points = [piece.spot_point(e.reached.spot) for e in ends if e.reached.spot is not None]
    is_near = len(points) == 2 and abs(points[0] - points[1]) < _ONE_PLACE
    if len(set(mouths)) < len(mouths) or is_near:
        raise PlaceError(
            _("it starts and ends at one place."),
            thing=line.spoken,
            remedy=_("Draw it across the block."),
        )


def _half(piece: Piece, start: complex, apex: complex, target: Target) -> Chain:
    """Return the stretch of a style line from the outline to the apex.

    Raises:
        PlaceError: in the words of a style line, if it leaves the block or runs into a dart.
    """
    try:
        return slash_of(piece, 0, start, apex, target)
    except PlaceError as error:
        at = start if error.place is None else error.place
        raise PlaceError(
            _("it leaves the block, or runs into a dart, at {place}.").format(
                place=place_in_words(at)
            ),
            thing=target.spoken,
            remedy=_("Draw it inside the block, from outline to outline, past the darts."),
            place=at,
        ) from None


def _mouth_at(piece: Piece, at: complex) -> int | None:
    """Return the dart in whose mouth, or just outside of it, a line ends."""
    for k, opening in enumerate(piece.openings):
        if not opening.in_fan:
            continue
        first, second = piece.mouth(k)
        out = unit((first + second) / 2 - opening.apex) * _OUTSIDE
        if encloses((first + out, first, opening.apex, second, second + out), at):
            return k
    return None


def _check_inside(piece: Piece, path: Chain, line: StyleLine) -> None:
    """Make sure that a style line runs inside the block and past the darts of other apexes.

    Raises:
        PlaceError: with the place where it leaves.
    """
    edges = [edge.segment for edge in piece.edges()]
    for k, opening in enumerate(piece.openings):
        if not opening.in_fan and opening.target is None:
            there, back = opening.legs(piece.mouth(k), opening.point)
            edges += [*there, *back]
    ends = (path[0].start, path[-1].end)
    for segment in path:
        for edge in edges:
            for t, _other in segment_crossings(segment, edge):
                z = segment.point(t)
                if min(abs(z - end) for end in ends) > CORNER_SNAP:
                    raise PlaceError(
                        _("it crosses the outline at {place}.").format(place=place_in_words(z)),
                        thing=line.spoken,
                        remedy=_(_INSIDE),
                        place=z,
                    )
    # Inside a dart that it crosses it is off the cloth, which is as it should be.
    areas = [flattened(piece.ring(lambda opening: opening.point))]
    for k, opening in enumerate(piece.openings):
        if opening.in_fan:
            first, second = piece.mouth(k)
            areas.append([first, opening.apex, second])
    for segment in path:
        for t in (0.25, 0.5, 0.75):
            z = segment.point(t)
            near_end = min(abs(z - end) for end in ends) <= CORNER_SNAP
            if not near_end and not any(encloses(area, z) for area in areas):
                raise PlaceError(
                    _("it lies outside the block at {place}.").format(place=place_in_words(z)),
                    thing=line.spoken,
                    remedy=_(_INSIDE),
                    place=z,
                )


def _part_of(
    piece: Piece, a: int, b: int, back: Chain, out: Chain, seam: Seam, throat: Opening | None
) -> Severed:
    """Return the part of a piece from the cut at opening ``a`` forward to the one at ``b``.

    Args:
        piece: the piece with both cuts in it.
        a: the opening at which the part starts.
        b: the opening at which it ends.
        back: the style line from the end of the part inward.
        out: the style line from there to the start of the part.
        seam: the seam that the style line becomes.
        throat: the opening between the two stretches, or None where they run on.
    """
    count = len(piece.runs)
    members = [(a + 1 + step) % count for step in range((b - a) % count)]
    inward = tuple(Edge(segment, seam) for segment in back)
    outward = tuple(Edge(segment, seam) for segment in out)
    runs = [piece.runs[k] for k in members]
    openings = [piece.openings[k] for k in members[:-1]]
    runs[0] = (*outward, *runs[0])
    runs[-1] = (*runs[-1], *inward)
    if throat is not None:
        return Severed(Piece(tuple(runs), (*openings, throat)), len(openings), back, out)
    if openings:
        runs[0] = (*runs.pop(), *runs[0])
    return Severed(Piece(tuple(runs), tuple(openings)), None, back, out)
