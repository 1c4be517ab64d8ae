"""The piece as runs of seam with openings between them: what a dart's move works on.

Taken round the outline, a piece is a cyclic list of *runs* (chains of seam edges) and
*openings* (darts): ``openings[k]`` lies between the end of ``runs[k]`` and the start of the
next run. The openings about one apex and the sectors of paper between them are a fan; a piece
has one fan for every apex, and the darts of the others travel inside a sector.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import NamedTuple

from drafting_core.model.outline import Edge, signed_area
from drafting_core.model.seam_names import Seam
from drafting_core.plane.curves import (
    Line,
    PointMap,
    Segment,
    backward,
    chained,
    pairs_around,
    rotation_about,
    turn,
    unmoved,
)

#: The two legs of a dart, or the two edges of a cut: chains of segments from the mouth inward.
Sides = tuple[tuple[Segment, ...], tuple[Segment, ...]]

DART = "dart"
GATHERS = "gathers"
EASE = "ease"
TUCK = "tuck"
FLARE = "flare"
#: What can become of an opening.
MADE_AS = (DART, GATHERS, EASE, TUCK, FLARE)


class Opening(NamedTuple):
    """A dart of the piece, finished or not.

    Attributes:
        apex: its pivot, in mm.
        point: where its legs meet as drawn, in mm.
        angle: its angle at the apex, in radians.
        fan: the number of the marked apex about which it turns, or None where that is a point
            of its own.
        target: the number of the target that opened it, or None.
        source: whether it is a dart that was closed, wholly or in part.
        share: the part of the moved darts' angle that it holds; 1 where it was not touched.
        sides: the two edges of its cut from the mouth to the apex, where they are no straight
            lines.
        made: what becomes of it: one of `MADE_AS`.
        number: its number among the darts of the block as found, or None for a new cut.
        is_mirrored: whether one of its curved legs is the other's mirror image: it does not
            close by turning.
    """

    apex: complex
    point: complex
    angle: float
    fan: int | None
    target: int | None = None
    source: bool = False
    share: float = 1.0
    sides: Sides | None = None
    made: str = DART
    number: int | None = None
    is_mirrored: bool = False

    @property
    def in_fan(self) -> bool:
        """Whether it turns about a marked apex."""
        return self.fan is not None

    @property
    def is_touched(self) -> bool:
        """Whether the move closed it or opened it."""
        return self.source or self.target is not None

    def mapped(self, before: PointMap, after: PointMap) -> Opening:
        """Return it as the parts before and after it take it along."""
        moved = self._replace(apex=before(self.apex), point=before(self.point))
        if self.sides is None:
            return moved
        first, second = self.sides
        return moved._replace(
            sides=(
                tuple(segment.mapped(before) for segment in first),
                tuple(segment.mapped(after) for segment in second),
            )
        )

    def legs(self, ends: tuple[complex, complex], point: complex) -> Sides:
        """Return its two legs from the mouth ends to a point.

        Each side of a curved cut is turned and scaled about its mouth end until it ends at the
        point: both legs keep the cut's shape, stay smooth, and are equally long where the mouth
        ends are equally far from the point.

        Args:
            ends: the mouth ends, in mm.
            point: where the legs meet, in mm; the apex gives the edges of the cut itself.
        """
        if self.sides is None:
            return (Line(ends[0], point),), (Line(ends[1], point),)
        return aimed(self.sides[0], ends[0], point), aimed(self.sides[1], ends[1], point)


def aimed(chain: tuple[Segment, ...], start: complex, end: complex) -> tuple[Segment, ...]:
    """Return a chain turned and scaled so that it runs from one point to another.

    Raises:
        ZeroDivisionError: if the chain ends where it starts.
    """
    first, last = chain[0].start, chain[-1].end
    if first == start and last == end:
        return chain
    factor = (end - start) / (last - first)
    moved = [segment.mapped(lambda z: start + (z - first) * factor) for segment in chain]
    moved[-1] = moved[-1]._replace(end=end)
    return tuple(moved)


class Spot(NamedTuple):
    """A place on a piece: run, edge in the run, parameter on the edge.

    Attributes:
        run: the number of the run.
        edge: the number of the edge in that run.
        t: the parameter on that edge, from 0 to 1.
    """

    run: int
    edge: int
    t: float


class Piece(NamedTuple):
    """Runs of seam and the openings between them, in mm.

    Attributes:
        runs: the runs of seam, in order round the outline.
        openings: the openings, each between the run of its own number and the next.
    """

    runs: tuple[tuple[Edge, ...], ...]
    openings: tuple[Opening, ...] = ()

    def edges(self) -> Iterator[Edge]:
        """Yield all edges of seams, round the outline."""
        for run in self.runs:
            yield from run

    def seams(self) -> list[Seam]:
        """Return the seams in the order in which the outline meets them."""
        return list(dict.fromkeys(edge.seam for edge in self.edges()))

    def mouth(self, k: int) -> tuple[complex, complex]:
        """Return the two mouth ends of an opening, in the outline's direction."""
        after = self.runs[(k + 1) % len(self.runs)]
        return self.runs[k][-1].segment.end, after[0].segment.start

    def spot_point(self, spot: Spot) -> complex:
        """Return the point at a spot."""
        return self.runs[spot.run][spot.edge].segment.point(spot.t)

    def ring(self, corner: Callable[[Opening], complex]) -> list[Segment]:
        """Return the closed outline with each dart as a V to the point that ``corner`` gives."""
        ring: list[Segment] = []
        for k, run in enumerate(self.runs):
            ring += [edge.segment for edge in run]
            if self.openings:
                there, back = self.openings[k].legs(self.mouth(k), corner(self.openings[k]))
                ring += [*there, *backward(back)]
        return [segment for segment in ring if segment.length() > 0.0]

    def net_area(self) -> float:
        """Return the area in mm² with every dart drawn to its apex."""
        return signed_area(self.ring(lambda opening: opening.apex))

    def seam_lengths(self) -> dict[Seam, float]:
        """Return the sewn length in mm of every seam, mouths closed."""
        lengths: dict[Seam, float] = {}
        for edge in self.edges():
            lengths[edge.seam] = lengths.get(edge.seam, 0.0) + edge.segment.length()
        return lengths

    def closing(self) -> tuple[list[PointMap], PointMap]:
        """Return the maps that lay each run where it lies with all darts closed.

        Run 0 stays. The second value is the map of a whole turn round the piece: run 0 as the
        last run's neighbour.
        """
        maps: list[PointMap] = []
        current: PointMap = unmoved
        for k in range(len(self.runs)):
            maps.append(current)
            if self.openings:
                opening = self.openings[k]
                current = chained(current, rotation_about(opening.apex, -opening.angle))
        return maps, current

    def sectors(self, fan: int = 0) -> list[list[int]]:
        """Return the runs between one opening of a fan and the next, sector by sector.

        Each sector starts with the run after an opening of the fan; a piece without openings
        in it is one sector.
        """
        cuts = [k for k, opening in enumerate(self.openings) if opening.fan == fan]
        count = len(self.runs)
        if not cuts:
            return [list(range(count))]
        sectors = []
        for this, following in pairs_around(cuts):
            size = (following - this) % count or count
            sectors.append([(this + 1 + step) % count for step in range(size)])
        return sectors

    def sector_ring(self, sector: list[int], apex: complex) -> list[Segment]:
        """Return the closed boundary of a sector: its cuts, its runs, and darts inside it."""
        ring: list[Segment] = []
        for position, k in enumerate(sector):
            ring += [edge.segment for edge in self.runs[k]]
            if position < len(sector) - 1:
                there, back = self.openings[k].legs(self.mouth(k), self.openings[k].point)
                ring += [*there, *backward(back)]
        before, after = sector[0] - 1, sector[-1]
        if self.openings:
            inward = self.openings[after].legs(self.mouth(after), apex)[0]
            outward = self.openings[before].legs(self.mouth(before % len(self.runs)), apex)[1]
            ring += [*inward, *backward(outward)]
        return ring

    def cut_at(self, spot: Spot, opening: Opening) -> Piece:
        """Return the piece with a run cut in two at a spot, a shut opening in the cut.

        The cut is exact: lines and cubics are split by de Casteljau's rule. A cut at a node
        adds none. A spot at the very end of a run is not cut: it is a mouth already.

        Raises:
            ValueError: if the spot is at an end of its run.
        """
        run = self.runs[spot.run]
        before, after = list(run[: spot.edge]), list(run[spot.edge + 1 :])
        edge = run[spot.edge]
        if spot.t <= 0.0:
            after.insert(0, edge)
        elif spot.t >= 1.0:
            before.append(edge)
        else:
            first, second = edge.segment.split(spot.t)
            before.append(edge._replace(segment=first))
            after.insert(0, edge._replace(segment=second))
        if not self.openings:
            return Piece(((*after, *before),), (opening,))
        if not before or not after:
            raise ValueError("a run cannot be cut at its end")
        return Piece(
            (*self.runs[: spot.run], tuple(before), tuple(after), *self.runs[spot.run + 1 :]),
            (*self.openings[: spot.run], opening, *self.openings[spot.run :]),
        )

    def mapped(self, to: PointMap) -> Piece:
        """Return the whole piece moved rigidly."""
        return Piece(
            tuple(
                tuple(e._replace(segment=e.segment.mapped(to)) for e in run) for run in self.runs
            ),
            tuple(opening.mapped(to, to) for opening in self.openings),
        )

    def renamed(self, seams: Mapping[Seam, Seam]) -> Piece:
        """Return the piece with other seams in the place of some."""
        return self._replace(
            runs=tuple(
                tuple(edge._replace(seam=seams.get(edge.seam, edge.seam)) for edge in run)
                for run in self.runs
            )
        )

    def shut_openings_joined(self) -> Piece:
        """Return the piece with every opening of angle 0 taken out and its runs joined."""
        return self.bridged(
            {k: () for k, opening in enumerate(self.openings) if not opening.angle > 0.0}
        )

    def bridged(self, bridges: Mapping[int, tuple[Edge, ...]]) -> Piece:
        """Return the piece with some openings taken out and edges in the place of their mouths.

        Args:
            bridges: the edges across the mouth of every opening that is taken out, by its
                number; none where the mouth is shut.
        """
        if not bridges:
            return self
        left = [k for k in range(len(self.openings)) if k not in bridges]
        count = len(self.runs)
        runs = []
        for last, this in zip([left[-1], *left[:-1]], left, strict=True) if left else [(-1, -1)]:
            size = (this - last) % count or count
            run: list[Edge] = []
            for step in range(size):
                k = (last + 1 + step) % count
                run += self.runs[k]
                if k in bridges:
                    run += bridges[k]
            runs.append(tuple(run))
        return Piece(tuple(runs), tuple(self.openings[k] for k in left))

    def turned(
        self, angles: Sequence[float], held: int, fan: int = 0
    ) -> tuple[Piece, list[PointMap]]:
        """Give the openings of a fan new angles; every sector turns rigidly about the apex.

        Args:
            angles: the new angle in radians of every opening, in their order; those of
                openings outside the fan are not looked at.
            held: the run that stays where it is, with all its sector.
            fan: the number of the fan.

        Returns:
            The turned piece, and for every run the map that took it there.
        """
        count = len(self.runs)
        maps: list[PointMap] = [unmoved] * count
        apex = next((opening.apex for opening in self.openings if opening.fan == fan), 0j)
        total = 0.0
        for step in range(count - 1):
            k = (held + step) % count
            if self.openings[k].fan == fan:
                total += angles[k] - self.openings[k].angle
            maps[(k + 1) % count] = rotation_about(apex, total) if abs(total) > 1e-15 else unmoved
        # Runs before the held one in its own sector stay too, whatever the sum's last bits.
        for step in range(1, count):
            k = (held - step) % count
            if self.openings[k].fan == fan:
                break
            maps[k] = unmoved
        runs = tuple(
            tuple(edge._replace(segment=edge.segment.mapped(to)) for edge in run)
            if to is not unmoved
            else run
            for run, to in zip(self.runs, maps, strict=True)
        )
        openings = []
        for k, opening in enumerate(self.openings):
            moved = opening.mapped(maps[k], maps[(k + 1) % count])
            if opening.fan == fan:
                moved = moved._replace(angle=angles[k], apex=opening.apex)
            openings.append(moved)
        return Piece(runs, tuple(openings)), maps


def mouth_angle(first: complex, second: complex, apex: complex) -> float:
    """Return the angle in radians at the apex between two mouth ends."""
    return turn(first - apex, second - apex)
