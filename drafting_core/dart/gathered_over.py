"""The seam over a mouth that is gathered or eased in, redrawn smooth over a stretch about it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from drafting_core.block.mouth_seam import mouth_seam
from drafting_core.model.outline import SHORTEST_SEGMENT, Edge
from drafting_core.model.piece import EASE, GATHERS, Piece
from drafting_core.model.seam_names import Seam
from drafting_core.model.settings import SHORTEST_STRETCH
from drafting_core.plane.crossings import chain_crosses_itself
from drafting_core.plane.curves import Line, Segment, chain_length, rotation_about, turn
from drafting_core.plane.fair_curve import TURNS, FairCurve, fair_curve, turning_of
from drafting_core.text.errors import DartError
from drafting_core.text.lengths import in_words
from drafting_core.text.words import _

#: By so much the redrawn seam may miss its length where it is much fairer for it (mm).
_MISSED = 0.045
_COST_OF_MISSING = 1.25
#: So much of the stretch beside the mouth is redrawn; the rest stays as it is where it is smooth.
_REDRAWN = (1.0, 0.75, 0.5)
#: A seam that turns by more than this in a node has a corner there (rad).
_CORNER = 0.005
#: A wave of more than this is none that comes of the length alone (rad), ...
_LONG_WAVE = math.radians(10.0)
#: ... and beyond this the seam nearly turns back: it could not be sewn.
_HIGHEST_WAVE = math.radians(70.0)
#: A bend that need not be costs as much as so many times the bending.
_COST_OF_BEND = 1.5


class Gathered(NamedTuple):
    """The stretch of a seam into which a mouth is gathered or eased. Lengths in mm.

    Attributes:
        seam: the seam.
        path: the stretch as it is drawn, from notch to notch.
        over: how long it is sewn.
        intake: the width of the mouth.
        wave: how far its direction strays at most from an even turn, in radians.
    """

    seam: Seam
    path: tuple[Segment, ...]
    over: float
    intake: float
    wave: float

    @property
    def width(self) -> float:
        """How much is gathered or eased in."""
        return chain_length(self.path) - self.over


class _Stretch(NamedTuple):
    """What is redrawn: the seam before and behind the mouth, and its directions in the mouth."""

    before: tuple[Segment, ...]
    after: tuple[Segment, ...]
    mouth: tuple[complex, complex]
    ways: tuple[complex, complex]


def gathered_over(piece: Piece, wanted: float) -> tuple[Piece, dict[int, Gathered]]:
    """Redraw the seam over every mouth that is gathered or eased in.

    Args:
        piece: the piece after the move.
        wanted: over what length of the sewn seam it is redrawn, in mm, where that is long enough.

    Returns:
        The piece, what is redrawn taken out of its runs, and by the number of each opening what
        is to be put in its place.

    Raises:
        DartError: if a seam is too short, or no smooth curve fits.
    """
    mouths = [k for k, o in enumerate(piece.openings) if o.made in (GATHERS, EASE)]
    runs = list(piece.runs)
    found = {}
    for k in mouths:
        seam = mouth_seam(piece, k)
        back, on = _lengths(piece, k, seam, mouths, wanted)
        after = (k + 1) % len(runs)
        runs[k], taken_before = _without_end(runs[k], back)
        runs[after], taken_after = _without_start(runs[after], on)
        ways = _ways(piece, k, seam)
        stretch = _Stretch(taken_before, taken_after, piece.mouth(k), ways)
        found[k] = _redrawn(stretch, seam)
    return piece._replace(runs=tuple(runs)), found


def _lengths(
    piece: Piece, k: int, seam: Seam, mouths: Sequence[int], wanted: float
) -> tuple[float, float]:
    """Return how much of the seam before and behind a mouth it is gathered or eased into.

    Raises:
        DartError: if that is too little.
    """
    count = len(piece.runs)
    room = []
    for run, other, way in ((k, (k - 1) % count, -1), ((k + 1) % count, (k + 1) % count, 1)):
        length = 0.0
        edges = piece.runs[run][::way]
        number = next((i for i, edge in enumerate(edges) if edge.seam is not seam), len(edges))
        length = chain_length(edge.segment for edge in edges[:number])
        # Two that share a run of the seam have half of it each.
        room.append(length / 2 if number == len(edges) and other in mouths else length)
    before, behind = room
    back = min(wanted / 2, before)
    on = min(wanted - back, behind)
    back = min(wanted - on, before)
    if back + on < SHORTEST_STRETCH:
        raise _too_short(piece, k, seam, back + on)
    return back, on


def _too_short(piece: Piece, k: int, seam: Seam, length: float) -> DartError:
    first, second = piece.mouth(k)
    return DartError(
        _(
            "{width} cannot be taken into {seam}: only {length} of it is there to take it in."
        ).format(width=in_words(abs(second - first)), seam=seam.spoken, length=in_words(length)),
        remedy=_("Choose a place with more of the seam beside it, or make it a dart."),
        place=(first + second) / 2,
    )


def _without_end(
    run: Sequence[Edge], length: float
) -> tuple[tuple[Edge, ...], tuple[Segment, ...]]:
    """Return a run without a length at its end, and what that was."""
    kept, taken = _without_start(
        [e._replace(segment=e.segment.reversed()) for e in run[::-1]], length
    )
    return (
        tuple(e._replace(segment=e.segment.reversed()) for e in kept[::-1]),
        tuple(segment.reversed() for segment in taken[::-1]),
    )


def _without_start(
    run: Sequence[Edge], length: float
) -> tuple[tuple[Edge, ...], tuple[Segment, ...]]:
    """Return a run without a length at its start, and what that was."""
    taken: list[Segment] = []
    for number, edge in enumerate(run):
        whole = edge.segment.length()
        if length < SHORTEST_SEGMENT:
            return tuple(run[number:]), tuple(taken)
        if length < whole - SHORTEST_SEGMENT:
            first, second = edge.segment.split(edge.segment.parameter_at(length))
            return (edge._replace(segment=second), *run[number + 1 :]), (*taken, first)
        taken.append(edge.segment)
        length -= whole
    return (), tuple(taken)


def _ways(piece: Piece, k: int, seam: Seam) -> tuple[complex, complex]:
    """Return the seam's directions at the two ends of a mouth.

    Where another seam meets the mouth, it is the direction that its own seam would have there, so
    that the corner stays what it was.
    """
    before, after = piece.runs[k][-1], piece.runs[(k + 1) % len(piece.runs)][0]
    along, on = before.segment.end_tangent(), after.segment.start_tangent()
    swing = rotation_about(0j, piece.openings[k].angle)
    if before.seam is not seam:
        along = on / swing(1 + 0j)
    elif after.seam is not seam:
        on = along * swing(1 + 0j)
    return along, on


def _redrawn(stretch: _Stretch, seam: Seam) -> Gathered:
    """Return the stretch redrawn, as smooth as may be.

    Raises:
        DartError: if no smooth curve fits.
    """
    over = chain_length(stretch.before) + chain_length(stretch.after)
    best: tuple[float, tuple[Segment, ...], float] | None = None
    for share in _REDRAWN:
        head, before = _parted(stretch.before, 1.0 - share)
        behind, tail = _parted(stretch.after, share)
        if share < 1.0 and (_has_corner(head, before) or _has_corner(behind, tail)):
            break
        kept = sum(_bending(segment) for segment in (*head, *tail))
        inner = stretch._replace(before=before, after=behind)
        for curve, is_exact in _curves(inner):
            path = (*head, *curve.cubics, *tail)
            cost = (kept + curve.bending) * _COST_OF_BEND**curve.bends
            cost *= 1.0 if is_exact else _COST_OF_MISSING
            if best is None or cost < best[0]:
                best = cost, path, curve.wave
    first, second = stretch.mouth
    if best is None or best[2] > _HIGHEST_WAVE or chain_crosses_itself(best[1]) is not None:
        raise DartError(
            _(
                "{width} cannot be taken into {seam} there: no smooth seam of that length fits."
            ).format(width=in_words(abs(second - first)), seam=seam.spoken),
            remedy=_(
                "Gather or ease it over a longer stretch, move a smaller share there, or choose a "
                "place that the cut meets more squarely."
            ),
            place=(first + second) / 2,
        )
    return Gathered(seam, best[1], over, abs(second - first), best[2])


def _curves(stretch: _Stretch) -> list[tuple[FairCurve, bool]]:
    """Return the curves that may take its place, and whether each has its length exactly."""
    before, after = stretch.before, stretch.after
    along = before[0].start_tangent() if before else stretch.ways[0]
    turning = turning_of(before) + turn(*stretch.ways) + turning_of(after)
    start = before[0].start if before else stretch.mouth[0]
    end = after[-1].end if after else stretch.mouth[1]
    width = abs(stretch.mouth[1] - stretch.mouth[0])
    exact = chain_length(before) + width + chain_length(after)
    found = []
    for turns in TURNS:
        curve = fair_curve(start, along, end, turning, exact, turns)
        found.append((curve, True))
        if curve is None or curve.wave > _LONG_WAVE:
            # So little as the length may be missed by is of no help then.
            continue
        if not curve.bends:
            break
        for missed in (-_MISSED, _MISSED):
            found.append((fair_curve(start, along, end, turning, exact + missed, turns), False))
    return [(curve, is_exact) for curve, is_exact in found if curve is not None]


def _parted(chain: tuple[Segment, ...], share: float) -> tuple[tuple[Segment, ...], ...]:
    """Return the first part of a chain, a share of its length, and the rest."""
    first: list[Segment] = []
    left = share * chain_length(chain)
    for number, segment in enumerate(chain):
        whole = segment.length()
        if left < SHORTEST_SEGMENT:
            return tuple(first), chain[number:]
        if left < whole - SHORTEST_SEGMENT:
            one, other = segment.split(segment.parameter_at(left))
            return (*first, one), (other, *chain[number + 1 :])
        first.append(segment)
        left -= whole
    return tuple(first), ()


def _has_corner(*chains: Sequence[Segment]) -> bool:
    """Tell whether chains that run on in one another turn sharply in a node."""
    whole = [segment for chain in chains for segment in chain]
    return any(abs(turn(a.end_tangent(), b.start_tangent())) > _CORNER for a, b in pairwise(whole))


def _bending(segment: Segment) -> float:
    """Return the integral of the squared curvature of a segment, roughly, in 1/mm."""
    if isinstance(segment, Line):
        return 0.0
    ways = [segment.tangent(k / 8) for k in range(9)]
    steps = [segment.length(k / 8, (k + 1) / 8) for k in range(8)]
    turns = [turn(a, b) for a, b in pairwise(ways)]
    return sum(angle * angle / step for angle, step in zip(turns, steps, strict=True))
