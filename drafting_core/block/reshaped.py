"""An outline that was reshaped by hand, laid along what it was: which node became which.

Nodes that stayed are found again by their place. Between two of them the others follow in order;
where some were added or deleted, those are paired that are most alike: near each other, as far
along, and turning alike. Lengths are mm, angles radians.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

from drafting_core.model.outline import nearest_on
from drafting_core.plane.curves import Segment, turn

#: A node that is this near to where one was is that node (mm): the editor rounds.
SAME_NODE = 0.05
#: A line that runs within this (mm) of where a corner was still has its place.
_CLOSE_BY = 5.0
#: Beyond this (mm) two nodes are as far apart as nodes can be.
_FAR = 80.0
#: What it costs to pair no node with one that was, and with one that is.
_DELETED, _ADDED = 0.9, 0.6
#: A corner turns by more than this, and is seldom deleted.
_CORNER = math.radians(30.0)
_DELETED_CORNER = 1.0


class Reshaped:
    """What became of the nodes of a closed outline.

    Attributes:
        old: the outline as it was, interior at 1j·tangent.
        new: the outline as it is, the same way round.
    """

    def __init__(self, old: Sequence[Segment], new: Sequence[Segment]) -> None:
        """Lay the one along the other.

        Args:
            old: the closed outline as it was.
            new: the closed outline as it is, the same way round.
        """
        self.old, self.new = list(old), list(new)

    @cached_property
    def is_unchanged(self) -> bool:
        """Whether every node is where it was, and no other is there."""
        pairs = self._pairs
        return len(self.old) == len(self.new) == len(pairs) and all(
            max(abs(a - b) for a, b in zip(self.old[i], self.new[j], strict=False)) <= SAME_NODE
            and len(self.old[i]) == len(self.new[j])
            for i, j in pairs.items()
        )

    def is_lost(self, z: complex) -> bool:
        """Tell whether a node of the old outline is no node of the new one, nor near a sharp one.

        Args:
            z: the place of the node.
        """
        i = min(range(len(self.old)), key=lambda k: abs(self.old[k].start - z))
        if i in self._pairs:
            return False
        place = self.place_of(z)
        turns = [
            abs(self._new_turns[k])
            for k, segment in enumerate(self.new)
            if abs(segment.start - place) <= SAME_NODE
        ]
        return max(turns, default=0.0) <= _CORNER

    def place_of(self, z: complex) -> complex:
        """Return where a node of the old outline is now: a place on the new one.

        Of a node that was deleted it is the sharpest node between those beside it; where there
        is none, the place on the outline that is nearest.
        """
        i = min(range(len(self.old)), key=lambda k: abs(self.old[k].start - z))
        j = self._pairs.get(i)
        if j is not None and not self._is_rounded(i, j):
            return self.new[j].start
        if j is not None:
            return nearest_on(self.new, z).point
        between = self._between(i)
        if between:
            return self.new[max(between, key=lambda k: abs(self._new_turns[k]))].start
        return nearest_on(self.new, z).point

    def _is_rounded(self, i: int, j: int) -> bool:
        """Tell whether a corner was rounded, so that no node is there any more.

        The line still runs close by, and the node that comes nearest to being the corner is none.
        """
        z = self.old[i].start
        if abs(self.new[j].start - z) <= _CLOSE_BY or abs(self._old_turns[i]) <= _CORNER:
            return False
        is_blunt = abs(self._new_turns[j]) < abs(self._old_turns[i]) / 2
        return is_blunt and nearest_on(self.new, z).distance <= _CLOSE_BY

    @cached_property
    def _old_turns(self) -> list[float]:
        return _turns(self.old)

    @cached_property
    def _new_turns(self) -> list[float]:
        return _turns(self.new)

    @cached_property
    def _pairs(self) -> dict[int, int]:
        """For each old node the new one that it became, where one did."""
        stayed = self._stayed()
        if not stayed:
            stayed = [self._first_pair()]
        pairs = dict(stayed)
        for k, (i, j) in enumerate(stayed):
            next_i, next_j = stayed[(k + 1) % len(stayed)]
            olds = _after(i, next_i, len(self.old))
            news = _after(j, next_j, len(self.new))
            pairs.update(self._paired(olds, news))
        return pairs

    def _stayed(self) -> list[tuple[int, int]]:
        """Return the nodes that stayed, in the order of both outlines."""
        found: list[tuple[int, int]] = []
        places = [segment.start for segment in self.new]
        for i, segment in enumerate(self.old):
            near = [j for j, z in enumerate(places) if abs(z - segment.start) <= SAME_NODE]
            if len(near) == 1:
                found.append((i, near[0]))
        if not found:
            return []
        # Of all that stayed the longest part that both outlines have in one order.
        best: list[tuple[int, int]] = []
        count = len(self.new)
        for shift in range(len(found)):
            turned = [*found[shift:], *found[:shift]]
            start = turned[0][1]
            ranks = [(j - start) % count for _, j in turned]
            kept = [turned[k] for k in _rising(ranks)]
            if len(kept) > len(best):
                best = kept
            if len(best) == len(found):
                break
        return best

    def _first_pair(self) -> tuple[int, int]:
        """Return the pair of nodes from which the rest follows where no node stayed."""
        count = len(self.old)
        if count == len(self.new):
            shift = min(
                range(count),
                key=lambda s: sum(
                    abs(self.old[k].start - self.new[(k + s) % count].start) for k in range(count)
                ),
            )
            return 0, shift
        corners = [i for i in range(count) if abs(self._old_turns[i]) > _CORNER] or range(count)
        return min(
            ((i, j) for i in corners for j in range(len(self.new))),
            key=lambda pair: (
                abs(self.old[pair[0]].start - self.new[pair[1]].start)
                + 20.0 * abs(self._old_turns[pair[0]] - self._new_turns[pair[1]])
            ),
        )

    def _paired(self, olds: Sequence[int], news: Sequence[int]) -> dict[int, int]:
        """Return the likeliest pairs of two stretches between nodes that are paired."""
        if len(olds) == len(news):
            return dict(zip(olds, news, strict=True))
        if not olds or not news:
            return {}
        at = self._shares(self.old, olds), self._shares(self.new, news)
        rows, columns = len(olds), len(news)
        costs = [[0.0] * (columns + 1) for _ in range(rows + 1)]
        ways = [[""] * (columns + 1) for _ in range(rows + 1)]
        for r in range(rows + 1):
            for c in range(columns + 1):
                options = []
                if r and c:
                    like = self._unlike(olds[r - 1], news[c - 1], at[0][r - 1], at[1][c - 1])
                    options.append((costs[r - 1][c - 1] + like, "pair"))
                if r:
                    sharp = abs(self._old_turns[olds[r - 1]]) > _CORNER
                    gone = _DELETED + _DELETED_CORNER * sharp
                    options.append((costs[r - 1][c] + gone, "deleted"))
                if c:
                    options.append((costs[r][c - 1] + _ADDED, "added"))
                costs[r][c], ways[r][c] = min(options, default=(0.0, ""))
        pairs = {}
        r, c = rows, columns
        while r or c:
            way = ways[r][c]
            if way == "pair":
                pairs[olds[r - 1]] = news[c - 1]
            r -= way in ("pair", "deleted")
            c -= way in ("pair", "added")
        return pairs

    def _unlike(self, i: int, j: int, old_share: float, new_share: float) -> float:
        """Return how unlike two nodes are: by place, by turn, and by how far along they are."""
        away = abs(self.old[i].start - self.new[j].start)
        turning = abs(self._old_turns[i] - self._new_turns[j])
        return (
            0.7 * min(1.0, away / _FAR)
            + 0.7 * min(1.0, turning / _CORNER / 2)
            + 0.4 * abs(old_share - new_share)
        )

    @staticmethod
    def _shares(ring: Sequence[Segment], nodes: Sequence[int]) -> list[float]:
        """Return how far along a stretch its nodes lie, from 0 at the node before to 1 behind."""
        lengths = [ring[k - 1].length() for k in nodes]
        whole = sum(lengths) + ring[nodes[-1]].length()
        found, passed = [], 0.0
        for length in lengths:
            passed += length
            found.append(passed / whole if whole else 0.0)
        return found

    def _between(self, i: int) -> list[int]:
        """Return the new nodes between those that the neighbours of an old one became."""
        count = len(self.old)
        before = next((k for s in range(1, count) if (k := (i - s) % count) in self._pairs), None)
        behind = next((k for s in range(1, count) if (k := (i + s) % count) in self._pairs), None)
        if before is None or behind is None:
            return []
        return _after(self._pairs[before], self._pairs[behind], len(self.new))


def _turns(ring: Sequence[Segment]) -> list[float]:
    return [
        turn(ring[k - 1].end_tangent(), segment.start_tangent()) for k, segment in enumerate(ring)
    ]


def _after(start: int, end: int, count: int) -> list[int]:
    """Return the numbers from behind one to before another, once around where both are one."""
    size = (end - start) % count or count
    return [(start + step) % count for step in range(1, size)]


def _rising(ranks: Sequence[int]) -> list[int]:
    """Return the places of the longest rising part of a sequence that begins with its first."""
    longest = [1] * len(ranks)
    before: list[int | None] = [None] * len(ranks)
    for k in range(1, len(ranks)):
        for n in range(k):
            if ranks[n] < ranks[k] and ranks[n] >= ranks[0] and longest[n] + 1 > longest[k]:
                longest[k], before[k] = longest[n] + 1, n
    place: int | None = max(range(len(ranks)), key=lambda k: longest[k])
    found: list[int] = []
    while place is not None:
        found.append(place)
        place = before[place]
    return found[::-1]
