"""Walking one seam along its mate: sewn lengths, ease, and where the notches meet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.block.places import measured_forward
from drafting_core.dart.fullness import Fullness
from drafting_core.model.outline import nearest_on
from drafting_core.model.piece import EASE, GATHERS, TUCK, Piece
from drafting_core.model.seam_names import Seam
from drafting_core.model.stretches import Stretch, stretches
from drafting_core.plane.curves import Segment, chain_length
from drafting_core.text.errors import OutlineError
from drafting_core.text.lengths import INCH
from drafting_core.text.words import _

#: Sewn lengths that differ by no more than this match (mm; Threads no. 200, 2018).
STRICT = INCH / 16
#: By no more than this they are acceptable (mm; Threads no. 200, 2018).
ACCEPTABLE = INCH / 8
#: Notches that lie nearer to each other than this on one seam are one (mm).
_SAME_NOTCH = 0.1
#: What is left of a difference by rounding (mm).
_ROUNDING = 1e-9

MATCHES = "matches"
IS_ACCEPTABLE = "acceptable"
DIFFERS = "differs"


class MeasuredSeam(NamedTuple):
    """A seam as it is sewn, all darts closed. Lengths in mm.

    Attributes:
        block: the name of its piece, for messages.
        seam: the seam.
        length: its sewn length.
        notches: how far each notch lies from the seam's upper end, ascending.
    """

    block: str
    seam: Seam
    length: float
    notches: tuple[float, ...] = ()


class NotchPair(NamedTuple):
    """Two notches that are sewn onto each other, or one that has no partner (mm).

    Attributes:
        first: how far along the first seam the one lies, or None.
        second: how far along the second seam the other lies, or None.
    """

    first: float | None
    second: float | None

    @property
    def difference(self) -> float | None:
        """By how much the first lies further along; None where one of them is missing."""
        if self.first is None or self.second is None:
            return None
        return self.first - self.second


class Comparison(NamedTuple):
    """Two mates compared. Lengths in mm.

    Attributes:
        mate: the name that they share.
        first: the one seam.
        second: the other; its notches count from the end that meets the first's upper end.
        other_end: whether that is the second's lower end.
        ease: the ease that is wanted, positive where the first is to be the longer one.
        notch_pairs: the notches along both, in order.
    """

    mate: str
    first: MeasuredSeam
    second: MeasuredSeam
    other_end: bool
    ease: float
    notch_pairs: tuple[NotchPair, ...]

    @property
    def difference(self) -> float:
        """By how much the first seam is longer."""
        return self.first.length - self.second.length

    @property
    def excess(self) -> float:
        """By how much the first seam is longer than its mate and the wanted ease."""
        return self.difference - self.ease

    @property
    def verdict(self) -> str:
        """One of `MATCHES`, `IS_ACCEPTABLE` and `DIFFERS`."""
        if abs(self.excess) <= STRICT + _ROUNDING:
            return MATCHES
        return IS_ACCEPTABLE if abs(self.excess) <= ACCEPTABLE + _ROUNDING else DIFFERS


def seams_with_mates(
    piece: Piece,
    block: str,
    down: complex,
    notches: Sequence[complex],
    *,
    notched_darts: bool,
    fullness: Sequence[Fullness] = (),
) -> list[MeasuredSeam]:
    """Measure every seam of a piece that has a mate, in the outline's order.

    Args:
        piece: the piece.
        block: its name.
        down: the unit vector down along the grain.
        notches: places of notches near the outline, in mm.
        notched_darts: whether a notch stands at the mouth of every dart, as on a finished piece;
            sewn, the two of a mouth are one.
        fullness: what is gathered, eased or tucked in; sewn, the two ends of a tuck are one, and
            between those of the others the seam is as long as it is sewn.
    """
    drawn_in = [item for item in fullness if item.kind in (GATHERS, EASE, TUCK)]
    order = [(k, i) for k, run in enumerate(piece.runs) for i in range(len(run))]
    places: dict[tuple[int, int], list[float]] = {}
    for at in notches:
        found = nearest_on([piece.runs[k][i].segment for k, i in order], at)
        places.setdefault(order[found.segment], []).append(found.t)
    return [
        _measured(piece, stretch, block, down, places, drawn_in, notched_darts=notched_darts)
        for stretch in stretches(piece)
        if stretch.seam.mate
    ]


def _measured(
    piece: Piece,
    stretch: Stretch,
    block: str,
    down: complex,
    places: dict[tuple[int, int], list[float]],
    drawn_in: Sequence[Fullness],
    *,
    notched_darts: bool,
) -> MeasuredSeam:
    walked = 0.0
    found: list[float] = []
    for number, (k, i) in enumerate(stretch.edges):
        if number and i == 0 and notched_darts and piece.openings:
            found.append(walked)
        segment = piece.runs[k][i].segment
        found += [walked + segment.length(0.0, t) for t in places.get((k, i), ())]
        walked += segment.length()
    segments = stretch.segments(piece)
    taken = [
        (*sorted(_walked(segments, end) for end in item.ends), item.over)
        for item in drawn_in
        if item.seam is stretch.seam
    ]

    def sewn(place: float) -> float:
        # What is taken in is spread evenly between the ends.
        return place - sum(
            min(max(place - start, 0.0), end - start) * (1.0 - over / (end - start))
            for start, end, over in taken
            if end > start
        )

    ends = [start for start, _end, _over in taken]
    ends += [end for _start, end, over in taken if over]
    # Where one of the drafter's own stands already, it is the same notch.
    found += [end for end in ends if all(abs(end - place) > _SAME_NOTCH for place in found)]
    found = [sewn(place) for place in found]
    length = sewn(walked)
    if not measured_forward(piece, stretch, down):
        found = [length - place for place in found]
    return MeasuredSeam(block, stretch.seam, length, tuple(sorted(found)))


def _walked(segments: Sequence[Segment], at: complex) -> float:
    """Return how far along a chain the point nearest to a place lies."""
    found = nearest_on(segments, at)
    before = chain_length(segments[: found.segment])
    return before + segments[found.segment].length(0.0, found.t)


def compare_mates(mate: str, first: MeasuredSeam, second: MeasuredSeam) -> Comparison:
    """Compare two seams that are sewn to each other.

    Both are measured from their upper ends where they are the same seam of the trade (side seam
    to side seam), else from those ends between which the notches agree best.

    Raises:
        OutlineError: if both say how much ease is wanted.
    """
    if first.seam.ease is not None and second.seam.ease is not None:
        raise OutlineError(
            _(
                "both seams say how much ease is wanted: {seam} of {block} and {other_seam} of "
                "{other_block}."
            ).format(
                seam=first.seam.spoken,
                block=first.block,
                other_seam=second.seam.spoken,
                other_block=second.block,
            ),
            thing=_('The mates "{mate}"').format(mate=mate),
            remedy=_("Say it only on the seam that is to be the longer one."),
        )
    ease = (first.seam.ease or 0.0) - (second.seam.ease or 0.0)
    turned = second._replace(notches=tuple(sorted(second.length - z for z in second.notches)))
    pairs, cost = _paired(first.notches, second.notches)
    other_pairs, other_cost = _paired(first.notches, turned.notches)
    same_seam = first.seam.kind == second.seam.kind and first.seam.is_known
    if not same_seam and other_cost < cost - _ROUNDING:
        return Comparison(mate, first, turned, True, ease, other_pairs)
    return Comparison(mate, first, second, False, ease, pairs)


def _paired(first: Sequence[float], second: Sequence[float]) -> tuple[tuple[NotchPair, ...], float]:
    """Pair as many notches as there can be, in order, with the least sum of differences."""
    # best[i][j]: the cost and the pairs of the first i and j notches with min(i, j) pairs.
    best: list[list[tuple[float, tuple[NotchPair, ...]]]] = []
    for i in range(len(first) + 1):
        row: list[tuple[float, tuple[NotchPair, ...]]] = []
        for j in range(len(second) + 1):
            ways: list[tuple[float, tuple[NotchPair, ...]]] = [] if i or j else [(0.0, ())]
            if i and j:
                cost, pairs = best[i - 1][j - 1]
                pair = NotchPair(first[i - 1], second[j - 1])
                ways.append((cost + abs(first[i - 1] - second[j - 1]), (*pairs, pair)))
            # Only what the longer row has too many of stays without a partner.
            if i > j:
                cost, pairs = best[i - 1][j]
                ways.append((cost, (*pairs, NotchPair(first[i - 1], None))))
            if j > i:
                cost, pairs = row[j - 1]
                ways.append((cost, (*pairs, NotchPair(None, second[j - 1]))))
            row.append(min(ways, key=lambda way: way[0]))
        best.append(row)
    cost, pairs = best[-1][-1]
    return pairs, cost
