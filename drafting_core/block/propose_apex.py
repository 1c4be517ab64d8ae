"""Proposing the apex of darts that have none: where they point, or what lies on their way."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.block.find_darts import EQUAL_LEGS, ON_APEX, Wedge
from drafting_core.model.outline import encloses, flattened
from drafting_core.model.piece import Piece
from drafting_core.plane.curves import cross, dot, unit

POINT = "point"
MEETING = "meeting"
DRAWN = "drawn"
#: A drafter's own object counts as lying on a dart's middle line within this (mm).
MIDDLE_LINE_REACH = 3.0
#: A meeting lies beyond a dart's point by at most this part of the dart's length: a dart is drawn
#: short of its apex by a clearance, not by a length of its own.
FARTHEST_MEETING = 0.5
#: Middle lines at less than this sine to each other are as good as parallel: where they meet
#: depends on how steadily they were drawn.
PARALLEL = 0.1


class ProposedApex(NamedTuple):
    """An apex for darts that have none.

    Attributes:
        at: the place in mm.
        darts: the darts that point at it, by their number in the piece.
        why: `POINT` of the dart itself, `MEETING` of several darts, or an object `DRAWN` there.
        number: the number of that object, or None.
    """

    at: complex
    darts: tuple[int, ...]
    why: str
    number: int | None = None


class _Axis(NamedTuple):
    """A dart's middle line: its wedge, the unit vector to its point, and its length in mm."""

    wedge: Wedge
    along: complex
    length: float

    def reaches(self, apex: complex, farthest: float) -> bool:
        """Tell whether a place can be the dart's apex, at most so many lengths past its point."""
        first, second = self.wedge.radii(apex)
        past = dot(self.along, apex - self.wedge.point)
        return (
            -ON_APEX <= past <= farthest * self.length
            and abs(first - second) <= EQUAL_LEGS
            and self.wedge.points_at(apex)
        )


def propose_apexes(piece: Piece, objects: Sequence[complex] = ()) -> list[ProposedApex]:
    """Propose an apex for every dart of a piece that turns about no marked one.

    Where two or more darts' middle lines meet at or beyond their points, it is that meeting; for
    a single dart the first object on its middle line at or beyond its point; else its own point.
    An object at a meeting takes the meeting's place.

    Args:
        piece: the piece, its darts found.
        objects: the centres of the drafter's small objects that may be meant, in mm.

    Returns:
        One proposal for every fan, by its first dart.
    """
    left = {k: _axis(piece, k) for k, opening in enumerate(piece.openings) if not opening.in_fan}
    polygon = flattened(piece.ring(lambda opening: opening.point))
    proposals: list[ProposedApex] = []
    while len(left) > 1:
        meetings = [
            meeting
            for first, second in itertools.combinations(left.values(), 2)
            if (meeting := _meeting(first, second)) is not None and encloses(polygon, meeting)
        ]
        if not meetings:
            break
        at = min(meetings, key=lambda z: sum(_past(a, z) for a in _pointing(left, z).values()))
        fan = _pointing(left, at)
        proposals.append(_with_object(ProposedApex(at, tuple(fan), MEETING), left, objects))
        left = {k: axis for k, axis in left.items() if k not in fan}
    for k, axis in left.items():
        plain = ProposedApex(axis.wedge.point, (k,), POINT)
        proposals.append(_with_object(plain, left, objects))
    return sorted(proposals, key=lambda proposal: proposal.darts)


def _axis(piece: Piece, k: int) -> _Axis:
    ends = piece.mouth(k)
    point = piece.openings[k].point
    middle = (ends[0] + ends[1]) / 2
    return _Axis(Wedge(0, 0, point, ends), unit(point - middle), abs(point - middle))


def _past(axis: _Axis, at: complex) -> float:
    return abs(at - axis.wedge.point)


def _pointing(axes: dict[int, _Axis], at: complex) -> dict[int, _Axis]:
    return {k: axis for k, axis in axes.items() if axis.reaches(at, FARTHEST_MEETING)}


def _meeting(first: _Axis, second: _Axis) -> complex | None:
    """Return where two darts' middle lines meet, if both darts can point there."""
    sine = cross(first.along, second.along)
    if abs(sine) < PARALLEL:
        return None
    start = first.wedge.point
    at = start + first.along * (cross(second.wedge.point - start, second.along) / sine)
    if first.reaches(at, FARTHEST_MEETING) and second.reaches(at, FARTHEST_MEETING):
        return at
    return None


def _with_object(
    proposal: ProposedApex, axes: dict[int, _Axis], objects: Sequence[complex]
) -> ProposedApex:
    """Put the drafter's own object in the place of a proposal, if one lies where it may."""
    fan = [axes[k] for k in proposal.darts]
    if proposal.why == MEETING:
        fitting = [n for n, z in enumerate(objects) if abs(z - proposal.at) <= MIDDLE_LINE_REACH]
    else:
        fitting = [
            n
            for n, z in enumerate(objects)
            if abs(cross(fan[0].along, z - fan[0].wedge.point)) <= MIDDLE_LINE_REACH
        ]
    fitting = [n for n in fitting if all(axis.reaches(objects[n], 1.0) for axis in fan)]
    if not fitting:
        return proposal
    number = min(fitting, key=lambda n: abs(objects[n] - proposal.at))
    return ProposedApex(objects[number], proposal.darts, DRAWN, number)
