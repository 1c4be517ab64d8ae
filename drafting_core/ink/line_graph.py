"""All lines of a sheet and where they meet: a plane graph of the middles of pen lines."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from drafting_core.ink.polylines import Points, arc_lengths


class InkLine(NamedTuple):
    """The middle of a line of ink from one meeting, or loose end, to the next.

    Attributes:
        points: along it, evenly spread, in mm, its nodes' places at both ends; shape (n,).
        start: the number of the node at which it begins.
        end: the number of the node at which it ends: the same for a closed line that meets none.
        width: of its ink in mm, 0 for a line that was drawn without any.
        dashed: whether it was chained of dashes or dots.
        leaves: the directions (radians) in which it leaves its nodes, at its start and its end, as
            they are told right at the nodes: by them lines lie round a node in their order.
    """

    points: Points
    start: int
    end: int
    width: float = 0.0
    dashed: bool = False
    leaves: tuple[float, float] | None = None

    @property
    def length(self) -> float:
        """The way along it in mm."""
        return float(arc_lengths(self.points)[-1])

    @property
    def reversed(self) -> InkLine:
        """The same line, run through the other way."""
        leaves = self.leaves and self.leaves[::-1]
        return self._replace(
            points=self.points[::-1], start=self.end, end=self.start, leaves=leaves
        )


class LineGraph(NamedTuple):
    """The lines of a sheet. Lines meet at nodes only: none crosses another between them.

    Attributes:
        nodes: the places at which lines meet or end, in mm; shape (n,).
        lines: the lines between them.
    """

    nodes: Points
    lines: list[InkLine]

    def degrees(self) -> list[int]:
        """Return how many ends of lines each node has: 1 at a loose end."""
        counts = np.zeros(len(self.nodes), dtype=np.int64)
        for line in self.lines:
            counts[line.start] += 1
            counts[line.end] += 1
        return counts.tolist()  # type: ignore[no-any-return]
