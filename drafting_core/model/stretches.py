"""The seams of a piece as stretches of its outline."""

from __future__ import annotations

from typing import NamedTuple

from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import Seam
from drafting_core.plane.curves import Segment, pairs_around


class Stretch(NamedTuple):
    """A seam as it runs round the outline: its edges by run and index, in order.

    Attributes:
        seam: the seam.
        edges: for every edge the number of its run, and its own in that run.
    """

    seam: Seam
    edges: tuple[tuple[int, int], ...]

    def segments(self, piece: Piece) -> list[Segment]:
        """Return the segments of the seam in the outline's direction."""
        return [piece.runs[k][i].segment for k, i in self.edges]

    def ends(self, piece: Piece) -> tuple[complex, complex]:
        """Return the seam's two ends in the outline's direction."""
        segments = self.segments(piece)
        return segments[0].start, segments[-1].end


def stretches(piece: Piece) -> list[Stretch]:
    """Return every seam of a piece as one stretch, in the outline's order."""
    order = [(k, i) for k, run in enumerate(piece.runs) for i in range(len(run))]
    seams = [piece.runs[k][i].seam for k, i in order]
    starts = [n for n in range(len(order)) if seams[n] is not seams[n - 1]] or [0]
    found = []
    for this, following in pairs_around(starts):
        size = (following - this) % len(order) or len(order)
        members = tuple(order[(this + step) % len(order)] for step in range(size))
        found.append(Stretch(seams[this], members))
    return found
