"""The piece as runs of seam with openings between them: what a dart's move works on.

Taken round the outline, a piece is a cyclic list of *runs* (chains of seam edges) and
*openings* (darts): ``openings[k]`` lies between the end of ``runs[k]`` and the start of the
next run. The openings about one apex and the sectors of paper between them are the fan of
which the contract speaks; darts to an apex of their own travel inside a sector.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from drafting_core.curves import (
    Line,
    PointMap,
    Segment,
    chained,
    rotation_about,
    turn,
    unmoved,
)
from drafting_core.outline import Edge, flattened, signed_area
from drafting_core.seam_names import Seam


class Opening(NamedTuple):
    """A dart of the piece, finished or not.

    Attributes:
        apex: its pivot, in mm.
        point: where its legs meet as drawn, in mm.
        angle: its angle at the apex, in radians.
        in_fan: whether it belongs to the apex about which darts are moved.
        target: the number of the target that opened it, or None.
        source: whether it is a dart that was closed, wholly or in part.
        share: the part of the moved darts' angle that it holds; 1 where it was not touched.
    """

    apex: complex
    point: complex
    angle: float
    in_fan: bool
    target: int | None = None
    source: bool = False
    share: float = 1.0


class Spot(NamedTuple):
    """A place on a piece: run, edge in the run, parameter on the edge."""

    run: int
    edge: int
    t: float


class Piece(NamedTuple):
    """Runs of seam and the openings between them, in mm."""

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
                first, second = self.mouth(k)
                point = corner(self.openings[k])
                ring += [Line(first, point), Line(point, second)]
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

    def sectors(self) -> list[list[int]]:
        """Return the runs between one opening of the fan and the next, sector by sector.

        Each sector starts with the run after an opening of the fan; a piece without openings
        is one sector.
        """
        cuts = [k for k, opening in enumerate(self.openings) if opening.in_fan]
        count = len(self.runs)
        if not cuts:
            return [list(range(count))]
        sectors = []
        for this, following in zip(cuts, [*cuts[1:], cuts[0]], strict=True):
            size = (following - this) % count or count
            sectors.append([(this + 1 + step) % count for step in range(size)])
        return sectors

    def sector_polygon(self, sector: list[int], apex: complex) -> list[complex]:
        """Return a polygon along a sector: its runs, darts inside it, and the apex."""
        polygon: list[complex] = []
        for position, k in enumerate(sector):
            polygon += flattened(edge.segment for edge in self.runs[k])
            polygon.append(self.runs[k][-1].segment.end)
            if position < len(sector) - 1:
                polygon.append(self.openings[k].point)
        polygon.append(apex)
        return polygon

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

    def shut_openings_joined(self) -> Piece:
        """Return the piece with every opening of angle 0 taken out and its runs joined."""
        open_ones = [k for k, opening in enumerate(self.openings) if opening.angle > 0.0]
        if len(open_ones) == len(self.openings):
            return self
        count = len(self.runs)
        if not open_ones:
            return Piece((tuple(self.edges()),), ())
        runs = []
        for last, this in zip([open_ones[-1], *open_ones[:-1]], open_ones, strict=True):
            size = (this - last) % count or count
            members = [(last + 1 + step) % count for step in range(size)]
            runs.append(tuple(edge for k in members for edge in self.runs[k]))
        return Piece(tuple(runs), tuple(self.openings[k] for k in open_ones))

    def turned(self, angles: list[float], held: int) -> tuple[Piece, list[PointMap]]:
        """Give the openings of the fan new angles; every sector turns rigidly about the apex.

        Args:
            angles: the new angle in radians of every opening, in their order; those of
                openings outside the fan are not looked at.
            held: the run that stays where it is, with all its sector.

        Returns:
            The turned piece, and for every run the map that took it there.
        """
        count = len(self.runs)
        maps: list[PointMap] = [unmoved] * count
        apex = next((opening.apex for opening in self.openings if opening.in_fan), 0j)
        total = 0.0
        for step in range(count - 1):
            k = (held + step) % count
            if self.openings[k].in_fan:
                total += angles[k] - self.openings[k].angle
            maps[(k + 1) % count] = rotation_about(apex, total) if abs(total) > 1e-15 else unmoved
        # Runs before the held one in its own sector stay too, whatever the sum's last bits.
        for step in range(1, count):
            k = (held - step) % count
            if self.openings[k].in_fan:
                break
            maps[k] = unmoved
        runs = tuple(
            tuple(edge._replace(segment=edge.segment.mapped(to)) for edge in run)
            if to is not unmoved
            else run
            for run, to in zip(self.runs, maps, strict=True)
        )
        openings = tuple(
            opening._replace(angle=angles[k], point=maps[k](opening.point))
            if opening.in_fan
            else opening._replace(apex=maps[k](opening.apex), point=maps[k](opening.point))
            for k, opening in enumerate(self.openings)
        )
        return Piece(runs, openings), maps


def mouth_angle(first: complex, second: complex, apex: complex) -> float:
    """Return the angle in radians at the apex between two mouth ends."""
    return turn(first - apex, second - apex)
