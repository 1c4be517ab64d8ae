"""The mouths of a piece that are folded shut when it is sewn: of darts, and of tucks that stand."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from drafting_core.dart.excess import TRIM
from drafting_core.dart.finish import FinishedDart
from drafting_core.dart.folded_mouth import FoldedMouth
from drafting_core.dart.fullness import Fullness
from drafting_core.model.allowances import Allowances
from drafting_core.model.outline import SHORTEST_SEGMENT, Edge, RingPlace, nearest_on, ring_part
from drafting_core.model.piece import TUCK, Piece
from drafting_core.plane.curves import Segment, chain_length

#: Mouth ends nearer than this, shut, are one place (mm): rounding.
_MEETS = 1e-6
#: Over this length (mm) a seam gives way to a mouth end that a hand's reshaping left uneven.
GIVES_WAY = 40.0


def edges_and_mouths(
    piece: Piece, darts: Sequence[FinishedDart], fullness: Sequence[Fullness]
) -> tuple[list[Edge], dict[int, FoldedMouth]]:
    """Return the seams of a piece without what lies across its folded mouths, and the mouths.

    Args:
        piece: the piece.
        darts: its darts, one for each opening.
        fullness: what is gathered, eased or tucked; of these the tucks that stand in its outline.

    Returns:
        The edges in order, and the mouths by the index of the edge before them.
    """
    edges: list[Edge] = []
    mouths: dict[int, FoldedMouth] = {}
    for k, run in enumerate(piece.runs):
        edges += run
        if darts:
            mouths[len(edges) - 1] = _of_dart(darts[k], k)
    for item in fullness:
        if item.kind == TUCK and item.opening is None:
            edges, mouths = _without_cap(edges, mouths, item)
    return edges, mouths


def _unevenness(mouth: FoldedMouth) -> float:
    """Return by how much the other leg reaches further out than that on the fold's side."""
    other = mouth.shut(mouth.ends[1 - mouth.leg])
    further = mouth.out(other) - mouth.out(mouth.fold_end)
    return further if abs(further) > _MEETS else 0.0


def meeting_at_mouths(
    edges: list[Edge], mouths: dict[int, FoldedMouth], allowances: Allowances
) -> tuple[list[Edge], dict[int, FoldedMouth]]:
    """Let seams meet where a hand's reshaping left the legs between them uneven.

    Shut, the two mouth ends lie on one ray: they meet at their mean, and the seams give way to it
    beside the mouth. On a fold edge they meet there, and beside an allowance that is narrower
    than their difference at the outer one, so that nothing of the piece is cut off. What is drawn
    across the mouth stays, and says nothing of the cut line.

    Args:
        edges: the edges in order.
        mouths: the mouths by the index of the edge before them.
        allowances: the allowance of each seam.
    """
    if not any(_unevenness(mouth) for mouth in mouths.values()):
        return edges, mouths
    order = sorted(mouths)
    runs = [list(edges[low + 1 : high + 1]) for low, high in pairwise((-1, *order))]
    runs[0] = [*edges[order[-1] + 1 :], *runs[0]]
    made: dict[int, FoldedMouth] = {}
    for k, index in enumerate(order):
        mouth = mouths[index]
        following = (k + 1) % len(runs)
        further = _unevenness(mouth)
        if further:
            sides = runs[k][-1], runs[following][0]
            share = _share(sides if mouth.leg == 0 else sides[::-1], further, allowances)
            by = share * further, (share - 1.0) * further
            first, second = by if mouth.leg == 0 else by[::-1]
            ends = (
                mouth.ends[0] + first * mouth.outward[0],
                mouth.ends[1] + second * mouth.outward[1],
            )
            # Few darts have uneven legs.
            from drafting_core.block.even_legs import blended_to

            runs[k] = blended_to(runs[k], ends[0], GIVES_WAY, at_end=True)
            runs[following] = blended_to(runs[following], ends[1], GIVES_WAY, at_end=False)
            mouth = mouth.with_ends(ends)
        made[k] = mouth
    flat: list[Edge] = []
    found: dict[int, FoldedMouth] = {}
    for k, run in enumerate(runs):
        flat += run
        found[len(flat) - 1] = made[k]
    return flat, found


def _share(sides: Sequence[Edge], further: float, allowances: Allowances) -> float:
    """Return how much of the unevenness the end on the fold's side makes up for.

    Args:
        sides: the edge beside the mouth on the fold's side, and the other one.
        further: by how much the other mouth end lies further out.
        allowances: the allowance of each seam.
    """
    on_side, other = sides
    if on_side.seam.fold != other.seam.fold:
        return 0.0 if on_side.seam.fold else 1.0
    if min(allowances.width(edge.seam) for edge in sides) > abs(further):
        return 0.5
    return 1.0 if further > 0.0 else 0.0


def _of_dart(dart: FinishedDart, number: int) -> FoldedMouth:
    there, back = dart.legs
    outward = -there[0].start_tangent(), -back[0].start_tangent()
    is_curved = dart.opening.sides is not None
    # The excess of curved legs cannot lie along them: its cap, which is that of straight ones,
    # says nothing of the cut line.
    cap = () if is_curved else tuple(edge.segment for edge in dart.cap)
    return FoldedMouth(
        dart.ends,
        outward,
        dart.fold.leg,
        cap,
        is_curved=is_curved,
        window=dart.window_sides if dart.excess == TRIM else None,
        name=dart.seam.spoken,
        dart=number,
    )


def _without_cap(
    edges: list[Edge], mouths: dict[int, FoldedMouth], tuck: Fullness
) -> tuple[list[Edge], dict[int, FoldedMouth]]:
    """Take the cap of a tuck that stands out of an outline, and put a mouth in its place."""
    lines = tuck.paths[0], tuck.paths[1]
    tip = tuck.paths[2][0].end if len(tuck.paths) > 2 else lines[0][0].start
    by_line = [nearest_on(line, tip).distance for line in lines]
    places = [_place(edges, line[0].start) for line in lines]
    order = (0, 1)
    if chain_length(_between(edges, places[0], places[1])) > chain_length(
        _between(edges, places[1], places[0])
    ):
        order = (1, 0)
    first, second = (places[k] for k in order)
    cap = tuple(_between(edges, first, second))
    leg = 0 if by_line[order[0]] <= by_line[order[1]] else 1
    outward = [-lines[k][0].start_tangent() for k in order]
    mouth = FoldedMouth(
        (first.point, second.point), (outward[0], outward[1]), leg, cap, name=tuck.seam.spoken
    )
    kept: list[Edge] = []
    found: dict[int, FoldedMouth] = {}
    count = len(edges)
    # Once around from behind the cap to before it.
    for step in range(count + 1):
        index = (second.segment + step) % count
        low = second.t if step == 0 else 0.0
        is_last = index == first.segment and (step > 0 or first.t > second.t)
        high = first.t if is_last else 1.0
        segment = edges[index].segment
        if high > low and segment.length(low, high) >= SHORTEST_SEGMENT:
            kept.append(edges[index]._replace(segment=segment.part(low, high)))
        if is_last:
            break
        if index in mouths and kept:
            found[len(kept) - 1] = mouths[index]
    found[len(kept) - 1] = mouth
    return kept, found


def _place(edges: Sequence[Edge], at: complex) -> RingPlace:
    found = nearest_on([edge.segment for edge in edges], at)
    return RingPlace(found.segment, found.t, found.point)


def _between(edges: Sequence[Edge], start: RingPlace, end: RingPlace) -> list[Segment]:
    return ring_part([edge.segment for edge in edges], start, end)
