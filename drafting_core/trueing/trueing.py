"""Trueing: seams drawn smooth where a dart was closed, and across the mouth of a new one.

A move is exact, so where a dart closes two parts of a seam may meet at a corner; and with a dart
point short of the apex the sewn seam bends at the new dart. A drafter folds the dart shut and
redraws the seam as one smooth line.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from drafting_core.block.seams import CORNER_TURN
from drafting_core.model.outline import SHORTEST_SEGMENT, Edge, with_ends
from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import Seam
from drafting_core.move.moving import Moved
from drafting_core.plane.curves import (
    Cubic,
    PointMap,
    Segment,
    dot,
    rotation_about,
    turn,
    unit,
    unmoved,
)
from drafting_core.text.errors import DartError
from drafting_core.text.figures import in_degrees
from drafting_core.text.lengths import as_option
from drafting_core.text.words import _
from drafting_core.trueing.trueing_words import (
    BLEND_ADVISED,
    CORNER_LEFT,
    CORNER_OF_THE_BLOCK,
    CORNER_TOO_SHARP,
    NO_ROOM,
    SMOOTH_ALREADY,
    TOO_SHARP,
    TWO_SEAMS,
    Turning,
    smooth_sentence,
)

if TYPE_CHECKING:
    from drafting_core.trueing.blending import Blended, Stop

#: The length that is offered, and used where a mouth is trued and no length is given (mm).
USUAL_BLEND = 40.0
#: A corner in a seam that turns by more than this is worth a word.
NOTABLE_TURN = math.radians(3.0)
#: A corner left in a seam that turns by more than this is said before anything else.
SHARP_TURN = math.radians(10.0)
#: A corner sharper than this is part of the shape: a curve in its place is another seam.
SHARPEST_BLEND = math.radians(60.0)
#: A seam that turns by less than this is smooth already: over 40 mm it is a hundredth of one
#: off, which no pencil draws, and less than most seams are off a single curve.
SMOOTH = math.radians(0.1)
#: With less than this on one side of a corner there is no room for a curve (mm).
LEAST_ROOM = 2.0


class Blend(NamedTuple):
    """A place at which a seam was trued. Lengths in mm.

    Attributes:
        seam: the seam.
        at: where its corner was; at a dart the end of the mouth's first side.
        turn: by how much it turned there, in radians, a dart being folded shut.
        at_dart: whether it is at the mouth of a dart, else where one was closed.
        asked: the length over which it was to be trued.
        outcome: the curve and how it differs from the exact seam.
    """

    seam: Seam
    at: complex
    turn: float
    at_dart: bool
    asked: float
    outcome: Blended

    @property
    def length(self) -> float:
        """The length of exact seam that was replaced."""
        return self.outcome.back + self.outcome.on

    @property
    def sentence(self) -> str:
        """What the drafter is told of it."""
        return smooth_sentence(
            self.seam,
            self.turn,
            self.outcome,
            at_dart=self.at_dart,
            is_short=self.length < self.asked - 0.05,
        )


class Trued(NamedTuple):
    """A piece after trueing.

    Attributes:
        piece: the piece.
        blends: what was drawn smooth.
        mouths: the numbers of the openings whose mouths are smooth when folded shut.
        notes: what was left as it was and why, and what might be done.
        corners_left: the same of corners of more than 10° where a dart was closed.
    """

    piece: Piece
    blends: tuple[Blend, ...] = ()
    mouths: frozenset[int] = frozenset()
    notes: tuple[str, ...] = ()
    corners_left: tuple[str, ...] = ()


def closed_corners(steps: Sequence[Moved], piece: Piece) -> list[tuple[int, int]]:
    """Return where the darts that moves have fully closed were: run and number of edges before.

    Args:
        steps: the moves, in their order.
        piece: the piece after them.
    """
    closed: set[Edge] = set()
    for step in steps:
        closed = {
            edge._replace(segment=edge.segment.mapped(step.map_at(edge.segment.point(0.5))))
            for edge in closed
        }
        closed |= {
            step.turned.runs[k][-1]
            for k, opening in enumerate(step.turned.openings)
            if opening.source and opening.angle == 0.0
        }
    return [
        (k, index + 1)
        for k, run in enumerate(piece.runs)
        for index, edge in enumerate(run[:-1])
        if edge in closed
    ]


def true_seams(
    piece: Piece, closed: Sequence[tuple[int, int]], mouths: Sequence[int], blend: float
) -> Trued:
    """Draw the seams of a piece smooth where darts were closed and across mouths.

    Args:
        piece: the piece, each dart with its point.
        closed: where darts were closed, as `closed_corners` gives it.
        mouths: the openings whose mouths are to be trued.
        blend: the length of a smooth stretch in mm, half of it to each side; with 0 the places
            where darts were closed stay as they are, and mouths are trued over `USUAL_BLEND`.

    Raises:
        DartError: if a seam turns too sharply, or its smooth stretch misses the fold.
    """
    notes: list[str] = []
    left: list[str] = []
    corners: list[_Corner] = []
    smooth: set[int] = set()
    for run, node in closed:
        corner = _Corner(piece, run, node)
        if note := _left_where_closed(corner, blend):
            (left if corner.is_sharp else notes).append(note)
        elif blend:
            corners.append(corner)
    for k in mouths:
        corner = _Corner(piece, k, len(piece.runs[k]), k)
        if note := _left_at_dart(corner):
            notes.append(note)
        elif corner.turn > SMOOTH:
            corners.append(corner)
        else:
            smooth.add(k)
    if blend and not closed and not mouths:
        notes.append(_("No dart was fully closed, so no seam was blended."))
    length = blend or USUAL_BLEND
    blends: list[Blend] = []
    swaps: list[list[_Swap]] = [[] for _ in piece.runs]
    for corner in corners:
        back, on = _room(corner, corners, length / 2)
        if min(back, on) < LEAST_ROOM:
            said = corner.told(NO_ROOM[corner.mouth is not None])
            (left if corner.is_sharp else notes).append(said)
            continue
        # Few moves blend anything.
        from drafting_core.trueing.blending import smooth_corner

        outcome = smooth_corner(
            [edge.segment for edge in corner.before],
            [edge.segment.mapped(corner.fold(-1.0)) for edge in corner.after],
            back,
            on,
        )
        blends.append(
            Blend(corner.seam, corner.at, corner.turn, corner.mouth is not None, length, outcome)
        )
        for k, swap in _swaps(corner, outcome):
            swaps[k].append(swap)
        if corner.mouth is not None:
            smooth.add(corner.mouth)
    runs = tuple(_swapped(run, swap) for run, swap in zip(piece.runs, swaps, strict=True))
    return Trued(
        Piece(runs, piece.openings), tuple(blends), frozenset(smooth), tuple(notes), tuple(left)
    )


def smooth_mouths(piece: Piece) -> frozenset[int]:
    """Return the openings across whose mouths a seam runs smooth when they are folded shut."""
    corners = (_Corner(piece, k, len(piece.runs[k]), k) for k in range(len(piece.openings)))
    return frozenset(
        corner.run for corner in corners if corner.is_one_seam and corner.turn <= SMOOTH
    )


class _Corner(NamedTuple):
    """A place where a seam may turn: within a run, or at a mouth, its dart folded shut.

    Attributes:
        piece: the piece.
        run: the run before it.
        node: how many edges of that run lie before it.
        mouth: the opening whose mouth it is, or None within a run.
    """

    piece: Piece
    run: int
    node: int
    mouth: int | None = None

    @property
    def next_run(self) -> int:
        """The run behind it: its own, or the one behind the mouth."""
        return self.run if self.mouth is None else (self.run + 1) % len(self.piece.runs)

    @property
    def next_node(self) -> int:
        """How many edges of the run behind it lie before it."""
        return self.node if self.mouth is None else 0

    @property
    def before(self) -> tuple[Edge, ...]:
        """The edges of the run that lead to it."""
        return self.piece.runs[self.run][: self.node]

    @property
    def after(self) -> tuple[Edge, ...]:
        """The edges of the run that lead away from it, the dart open."""
        return self.piece.runs[self.next_run][self.next_node :]

    @property
    def seam(self) -> Seam:
        """The seam before it."""
        return self.before[-1].seam

    @property
    def at(self) -> complex:
        """Where it is; at a mouth the end that the outline meets first."""
        return self.before[-1].segment.end

    @property
    def is_one_seam(self) -> bool:
        """Whether one seam runs through it."""
        return self.seam is self.after[0].seam

    @property
    def is_sharp(self) -> bool:
        """Whether closing a dart left a sharp corner here in a seam."""
        return self.mouth is None and self.is_one_seam and self.turn > SHARP_TURN

    @property
    def turn(self) -> float:
        """By how much the outline turns there, in radians, a dart folded shut about its point."""
        return self._turn_after(self._point_angle)

    @property
    def closed_turn(self) -> float:
        """The same with the dart shut about the apex: the corner that the block itself has."""
        return self._turn_after(
            0.0 if self.mouth is None else self.piece.openings[self.mouth].angle
        )

    def _turn_after(self, angle: float) -> float:
        onward = self.after[0].segment.start_tangent() * cmath.rect(1.0, -angle)
        return abs(turn(self.before[-1].segment.end_tangent(), onward))

    @property
    def _point_angle(self) -> float:
        if self.mouth is None:
            return 0.0
        point = self.piece.openings[self.mouth].point
        first, second = self.piece.mouth(self.mouth)
        return turn(first - point, second - point)

    def fold(self, way: float) -> PointMap:
        """Return the map that folds what lies behind a mouth shut (-1), or opens it again (1)."""
        if self.mouth is None:
            return unmoved
        return rotation_about(self.piece.openings[self.mouth].point, way * self._point_angle)

    @property
    def told(self) -> Callable[..., str]:
        """What puts a text about trueing in words for this place."""
        return Turning(self.seam, self.after[0].seam, self.turn).told


def _left_where_closed(corner: _Corner, blend: float) -> str:
    """Return why a seam stays as it is where a dart was closed, or an empty string.

    Raises:
        DartError: if it is to be drawn smooth and turns too sharply.
    """
    if corner.turn <= SMOOTH and blend:
        return corner.told(SMOOTH_ALREADY)
    if not blend and corner.turn <= NOTABLE_TURN:
        return ""
    if not corner.is_one_seam:
        return corner.told(TWO_SEAMS[False]) if blend else ""
    if corner.turn > SHARPEST_BLEND:
        if blend:
            raise _too_sharp(
                corner, _("Set no blended length, or move a smaller share of the dart.")
            )
        return corner.told(CORNER_TOO_SHARP, most=in_degrees(SHARPEST_BLEND, 0))
    if blend:
        return ""
    return corner.told(
        CORNER_LEFT if corner.is_sharp else BLEND_ADVISED, blend=as_option(USUAL_BLEND)
    )


def _left_at_dart(corner: _Corner) -> str:
    """Return why a seam stays as it is at a dart's mouth, or an empty string.

    Raises:
        DartError: if it turns too sharply for a smooth curve.
    """
    if not corner.is_one_seam:
        return corner.told(TWO_SEAMS[True])
    if corner.closed_turn > CORNER_TURN:
        return corner.told(CORNER_OF_THE_BLOCK)
    if corner.turn > SHARPEST_BLEND:
        raise _too_sharp(corner, _("Leave its mouth as it is, or set a shorter clearance."))
    return ""


def _too_sharp(corner: _Corner, remedy: str) -> DartError:
    return DartError(
        corner.told(TOO_SHARP[corner.mouth is not None], most=in_degrees(SHARPEST_BLEND, 0)),
        remedy=remedy,
        place=corner.at,
    )


def _room(corner: _Corner, corners: Sequence[_Corner], limit: float) -> tuple[float, float]:
    """Return how far a smooth stretch may reach to both sides of a corner, in mm."""
    taken = {(other.run, other.node) for other in corners}
    taken |= {(other.next_run, other.next_node) for other in corners}

    def reach(run: int, node: int, step: int) -> float:
        edges = corner.piece.runs[run]
        walked = 0.0
        last: Edge | None = None
        while 0 <= (index := node if step > 0 else node - 1) < len(edges):
            edge = edges[index]
            if last is not None and _is_end(*((last, edge) if step > 0 else (edge, last))):
                break
            walked += edge.segment.length()
            node += step
            if (run, node) in taken:
                # Half of the way to the next one is left to that one.
                walked /= 2
                break
            last = edge
        return min(limit, walked)

    return reach(corner.run, corner.node, -1), reach(corner.next_run, corner.next_node, 1)


def _is_end(edge: Edge, following: Edge) -> bool:
    """Tell whether a seam ends, or has a corner, between two edges."""
    bend = turn(edge.segment.end_tangent(), following.segment.start_tangent())
    return edge.seam is not following.seam or abs(bend) > CORNER_TURN


class _Swap(NamedTuple):
    """A stretch of a run, from one stop to another, and the edge that takes its place."""

    start: Stop
    end: Stop
    edge: Edge


def _swaps(corner: _Corner, outcome: Blended) -> list[tuple[int, _Swap]]:
    """Return what a smooth stretch takes the place of, by the number of the run."""
    stop = outcome.end._replace(segment=outcome.end.segment + corner.next_node)
    edge = Edge(outcome.curve, corner.seam)
    if corner.mouth is None:
        return [(corner.run, _Swap(outcome.start, stop, edge))]
    first, second = _parted(corner, outcome.curve)
    follower = corner.piece.runs[corner.next_run][stop.segment].segment
    end = follower.end if stop.t == 1.0 else follower.part(0.0, stop.t).end
    second = with_ends(second.mapped(corner.fold(1.0)), corner.fold(1.0)(first.end), end)
    from drafting_core.trueing.blending import Stop

    whole = Stop(corner.node - 1, 1.0)
    return [
        (corner.run, _Swap(outcome.start, whole, edge._replace(segment=first))),
        (corner.next_run, _Swap(Stop(0, 0.0), stop, edge._replace(segment=second))),
    ]


def _parted(corner: _Corner, curve: Cubic) -> tuple[Segment, Segment]:
    """Cut a curve where it crosses the fold of a shut dart.

    Raises:
        DartError: if it does not.
    """
    point = corner.piece.openings[corner.mouth or 0].point
    leg = corner.at - point
    ray = unit(leg)
    found = [
        (abs(dot(curve.point(t) - corner.at, ray)), t)
        for t in curve.on_ray(point, ray)
        if 0.0 < t < 1.0 and dot(curve.point(t) - point, ray) > 0.0
    ]
    if not found:
        raise DartError(
            _("the smooth seam across the dart on {seam} does not cross its fold.").format(
                seam=corner.seam.spoken
            ),
            remedy=_("Leave its mouth as it is, or blend it over another length."),
            place=corner.at,
        )
    return curve.split(min(found)[1])


def _swapped(run: tuple[Edge, ...], swaps: Sequence[_Swap]) -> tuple[Edge, ...]:
    """Return a run with stretches of it replaced; all else is as it was."""
    if not swaps:
        return run
    from drafting_core.trueing.blending import Stop

    result: list[Edge] = []
    reached = Stop(0, 0.0)
    for swap in sorted(swaps):
        result += [*_between(run, reached, swap.start), swap.edge]
        reached = swap.end
    return (*result, *_between(run, reached, Stop(len(run) - 1, 1.0)))


def _between(run: tuple[Edge, ...], start: Stop, end: Stop) -> list[Edge]:
    """Return the edges from one stop to another, those at the ends cut, tiny ones left out."""
    edges = []
    for j in range(start.segment, end.segment + 1):
        t0 = start.t if j == start.segment else 0.0
        t1 = end.t if j == end.segment else 1.0
        whole = t0 == 0.0 and t1 == 1.0
        if t0 < t1:
            edge = run[j] if whole else Edge(run[j].segment.part(t0, t1), run[j].seam)
            if edge.segment.length() >= SHORTEST_SEGMENT:
                edges.append(edge)
    return edges
