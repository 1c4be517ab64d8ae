"""Open paths that meet end to end, in any order and direction, joined to one closed outline."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.model.outline import JOINING_GAP, OutlineEdge, open_outline
from drafting_core.plane.curves import turn
from drafting_core.text.errors import OutlineError
from drafting_core.text.words import _


class Strand(NamedTuple):
    """One open path of an outline: its edges in order, in mm.

    Attributes:
        edges: the edges, end to end.
        thing: what the drafter calls the path.
    """

    edges: tuple[OutlineEdge, ...]
    thing: str

    @property
    def start(self) -> complex:
        """The first point."""
        return self.edges[0].segment.start

    @property
    def end(self) -> complex:
        """The last point."""
        return self.edges[-1].segment.end

    def reversed(self) -> Strand:
        """Return the path run through the other way."""
        return Strand(
            tuple(edge._replace(segment=edge.segment.reversed()) for edge in reversed(self.edges)),
            self.thing,
        )


def chained_strands(strands: Sequence[Strand]) -> list[OutlineEdge]:
    """Return the ring of edges that open paths form.

    Where more than two ends meet (two darts at one apex), the way on is the one that turns
    back most sharply: from the leg of a dart to the other leg of the same dart.

    Raises:
        OutlineError: naming the gap where no end is near enough, or a path that is left over.
    """
    left = list(strands)
    ring = [left.pop(0)]
    while left:
        end = ring[-1].end
        candidates = [
            (strand if forward else strand.reversed(), index)
            for index, strand in enumerate(left)
            for forward in (True, False)
            if abs((strand.start if forward else strand.end) - end) <= JOINING_GAP
        ]
        if not candidates:
            if abs(ring[0].start - end) <= JOINING_GAP:
                raise OutlineError(
                    _("it is not part of the closed outline that the other paths form."),
                    thing=left[0].thing,
                    remedy=_("Move it out of the outline's group, or join it to the others."),
                    place=left[0].start,
                )
            raise _nearest_gap(ring, left)
        chosen, index = _sharpest(ring[-1], candidates)
        ring.append(chosen)
        left.pop(index)
    if abs(ring[0].start - ring[-1].end) > JOINING_GAP:
        raise open_outline(ring[-1].end, ring[0].start)
    return [edge for strand in ring for edge in strand.edges]


def _sharpest(last: Strand, candidates: list[tuple[Strand, int]]) -> tuple[Strand, int]:
    if len(candidates) == 1:
        return candidates[0]
    arriving = last.edges[-1].segment.end_tangent()
    return max(
        candidates,
        key=lambda item: abs(turn(arriving, item[0].edges[0].segment.start_tangent())),
    )


def _nearest_gap(ring: Sequence[Strand], left: Sequence[Strand]) -> OutlineError:
    end = ring[-1].end
    others = [place for strand in left for place in (strand.start, strand.end)]
    nearest = min([*others, ring[0].start], key=lambda place: abs(place - end))
    return open_outline(end, nearest)
