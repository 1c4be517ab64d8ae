"""Openings that become no dart: gathered, eased, left as a flare, or sewn part-way as a tuck."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from drafting_core.block.block import FullnessMark
from drafting_core.block.mouth_seam import mouth_seam
from drafting_core.dart.finish import FinishedDart
from drafting_core.dart.marks import fold_arrow
from drafting_core.model.outline import Edge, RingPlace, nearest_on, ring_part
from drafting_core.model.piece import EASE, FLARE, GATHERS, TUCK, Opening, Piece
from drafting_core.model.seam_names import HEM, WRIST, Seam
from drafting_core.plane.curves import Cubic, Line, Segment, chain_length, rotation_about, turn
from drafting_core.text.errors import DartError
from drafting_core.text.lengths import told_apart
from drafting_core.text.words import _

#: A seam that turns more than this into a mouth has a visible wave there (rad).
NOTABLE_SLANT = math.radians(20.0)
#: A mouth that turns by less than this is drawn straight (rad).
_NO_TURN = 1e-9


class Fullness(NamedTuple):
    """Extra width at a seam that is not sewn away to a point. Lengths in mm.

    Attributes:
        kind: ``gathers``, ``ease``, ``flare`` or ``tuck``.
        seam: the seam that it is on.
        paths: what is drawn: the stretch of the seam into which it is gathered or eased, or the
            mouth of a flare; of a tuck its two stitched lines, from the seam inward, and the arrow
            toward the side to which it is folded.
        width: the extra width: along the seam, of a tuck the intake of its mouth.
        opening: the opening that it was made from, or None where it stands in a result.
        taken: how much of the seam's drawn length it takes up that is not sewn.
        slant: by how much, in radians, the seam turns into the mouth, or strays from an even turn
            where it was redrawn; much where the cut met the seam aslant.
        over: how long the stretch is sewn into which it is gathered or eased.
        intake: the width of the mouth that was gathered or eased in, or 0.
    """

    kind: str
    seam: Seam
    paths: tuple[tuple[Segment, ...], ...]
    width: float
    opening: Opening | None = None
    taken: float = 0.0
    slant: float = 0.0
    over: float = 0.0
    intake: float = 0.0

    @property
    def ends(self) -> tuple[complex, complex]:
        """Its two ends on the seam."""
        if self.kind == TUCK:
            return self.paths[0][0].start, self.paths[1][0].start
        return self.paths[0][0].start, self.paths[0][-1].end


def smooth_mouth(piece: Piece, k: int) -> Edge:
    """Return the curve across the mouth of an opening that is smooth with its seam.

    Where another seam meets the mouth, the curve ends in the direction that its own seam would
    have there, so that the corner stays what it was. Its handles are those of a circular arc of
    the same turning.
    """
    opening = piece.openings[k]
    seam = mouth_seam(piece, k)
    before, after = piece.runs[k][-1], piece.runs[(k + 1) % len(piece.runs)][0]
    along, on = before.segment.end_tangent(), after.segment.start_tangent()
    swing = rotation_about(0j, opening.angle)
    if before.seam is not seam:
        along = on / swing(1 + 0j)
    elif after.seam is not seam:
        on = along * swing(1 + 0j)
    start, end = piece.mouth(k)
    turning = turn(along, on)
    if abs(turning) < _NO_TURN:
        return Edge(Line(start, end), seam)
    radius = abs(end - start) / (2.0 * abs(math.sin(turning / 2.0)))
    handle = 4.0 / 3.0 * math.tan(abs(turning) / 4.0) * radius
    return Edge(Cubic(start, start + along * handle, end - on * handle, end), seam)


def without_darts(
    piece: Piece, ease_limit: float, gather_over: float
) -> tuple[Piece, list[Fullness]]:
    """Draw a smooth seam over every mouth that is gathered, eased or left as a flare.

    Args:
        piece: the piece after the move.
        ease_limit: the most that can be eased in, in mm.
        gather_over: over what length of the seam it is gathered or eased, in mm.

    Raises:
        DartError: if more is to be eased than the limit, a seam is too short to take it in, or a
            flare is not at a hem.
    """
    bridges: dict[int, tuple[Edge, ...]] = {}
    found = []
    is_taken_in = [opening.made in (GATHERS, EASE) for opening in piece.openings]
    drawn = piece
    if any(is_taken_in):
        _check_ease(piece, ease_limit)
        # Seldom used: its import is left to those who use it.
        from drafting_core.dart.gathered_over import gathered_over

        drawn, stretches = gathered_over(piece, gather_over)
        for k, item in stretches.items():
            bridges[k] = tuple(Edge(segment, item.seam) for segment in item.path)
    for k, opening in enumerate(piece.openings):
        if is_taken_in[k]:
            item = stretches[k]
            found.append(
                Fullness(
                    opening.made,
                    item.seam,
                    (item.path,),
                    item.width,
                    opening,
                    slant=item.wave,
                    over=item.over,
                    intake=item.intake,
                )
            )
        elif opening.made == FLARE:
            flare = _flare(piece, k)
            bridges[k] = (Edge(flare.paths[0][0], flare.seam),)
            found.append(flare)
    return drawn.bridged(bridges), found


def _check_ease(piece: Piece, limit: float) -> None:
    """Refuse to ease in more than the limit.

    Raises:
        DartError: naming the seam.
    """
    for k, opening in enumerate(piece.openings):
        first, second = piece.mouth(k)
        width = abs(second - first)
        if opening.made == EASE and width > limit:
            wanted, most = told_apart(width, limit)
            raise DartError(
                _("{width} cannot be eased into {seam}: the limit is {limit}.").format(
                    width=wanted, seam=mouth_seam(piece, k).spoken, limit=most
                ),
                remedy=_(
                    "Move a smaller share of the dart there, gather it, or raise the limit of "
                    "ease if the cloth takes it."
                ),
                place=first,
            )


def _flare(piece: Piece, k: int) -> Fullness:
    """Return an opening as a flare.

    Raises:
        DartError: if it is not at a hem.
    """
    edge = smooth_mouth(piece, k)
    segment = edge.segment
    if edge.seam.kind not in (HEM, WRIST):
        raise DartError(
            _("a flare has to be at a hem or wrist, not on {seam}.").format(seam=edge.seam.spoken),
            remedy=_("Choose a place on the hem, or name that seam hem if it is one."),
            place=segment.start,
        )
    chord = segment.end - segment.start
    slant = max(abs(turn(segment.start_tangent(), chord)), abs(turn(chord, segment.end_tangent())))
    opening = piece.openings[k]
    return Fullness(FLARE, edge.seam, ((segment,),), segment.length(), opening, slant=slant)


def tuck_of(dart: FinishedDart, length: float) -> Fullness:
    """Return a tuck: both legs of an opening stitched from the seam for a length.

    Args:
        dart: the opening, finished as a dart.
        length: how far it is stitched, in mm.

    Raises:
        DartError: if the stitching would reach the dart point.
    """
    legs, seam = dart.legs, dart.seam
    whole = chain_length(legs[0])
    if length >= whole:
        wanted, there = told_apart(length, whole)
        raise DartError(
            _(
                "the tuck on {seam} is to be stitched for {length}, but its legs are only {whole} "
                "long."
            ).format(seam=seam.spoken, length=wanted, whole=there),
            remedy=_("Set a shorter tuck length, or make it a dart."),
            place=dart.point,
        )
    arrow = fold_arrow(dart, length / 2)
    drawn = tuple(Line(a, b) for a, b in pairwise(arrow))
    paths = (*(first_part(leg, length) for leg in legs), drawn)
    return Fullness(TUCK, seam, paths, dart.intake, dart.opening)


def first_part(chain: Sequence[Segment], length: float) -> tuple[Segment, ...]:
    """Return the first part of a chain, of a length in mm."""
    kept: list[Segment] = []
    left = length
    for segment in chain:
        whole = segment.length()
        if whole >= left:
            kept.append(segment.part(0.0, segment.parameter_at(left)))
            break
        kept.append(segment)
        left -= whole
    return tuple(kept)


def standing(piece: Piece, mark: FullnessMark) -> Fullness:
    """Return the fullness of a result as it stands after its seam was reshaped by hand.

    Its ends are dropped onto the outline; what lies between them, less what is sewn of it, is its
    width.
    """
    kind, paths = mark.kind, mark.paths
    edges = list(piece.edges())
    segments = [edge.segment for edge in edges]
    places = [
        RingPlace(place.segment, place.t, place.point)
        for end in Fullness(kind, edges[0].seam, paths, 0.0).ends
        for place in [nearest_on(segments, end)]
    ]
    # The shorter way round: in a mirrored result the mouth runs against the outline.
    between = min(
        (tuple(ring_part(segments, *pair)) for pair in (places, places[::-1])), key=chain_length
    )
    middle = between[len(between) // 2].point(0.5)
    seam = edges[nearest_on(segments, middle).segment].seam
    length = chain_length(between)
    if kind == TUCK:
        width = abs(places[1].point - places[0].point)
        return Fullness(kind, seam, paths, width, taken=length)
    width = max(0.0, length - mark.over)
    taken = 0.0 if kind == FLARE else width
    return Fullness(kind, seam, (between,), width, taken=taken, over=mark.over)
