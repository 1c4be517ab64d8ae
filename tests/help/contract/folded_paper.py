"""A written result folded shut as paper is, and measured: nothing of the project's own geometry.

The judge has the written lines alone: stitch line, cut line, dart points, fold arrows, windows and
notches. Every dart is shut by a turn about its point, its excess is folded over the side to which
the arrow points, and what then ought to lie on one another is measured. Millimetres, complex
points, y down; the outline runs so that the piece lies at ``1j * tangent``.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, pairwise
from typing import Any

import shapely
from shapely import affinity
from shapely.geometry import LinearRing, LineString, Point, Polygon

from tests.help.blocks.random_blocks import Points, at, tangent

MEET = 0.05
"""How far apart edges may lie that are to lie on one another, mm."""
PARALLEL = 0.0125
"""How far the cut line may be off a parallel, mm: 0.01, and what the samples lie beside."""
NO_ROOM = 1.0
"""Where the legs, extended, are no longer than this, mm, there is no room for a notch."""
MAY_VANISH = 3.0
"""A seam of whose parallel so little, mm, is left between its neighbours may vanish."""
TRIMMED = 3.0
"""Up to so many widths from a joint of two widths a parallel may be trimmed."""
OVERRUN = 0.3
"""Where the extension of a narrow parallel takes so much of a curved wide one, it may be a step."""
STEP_TURN = math.radians(15)
"""Where a joint of two widths turns less, there is a step."""
MITRE = 4.0
"""A mitre longer than so many widths is cut square."""
GAVE_WAY = 45.0
"""How far from an uneven mouth, mm, a seam may give way, and a little."""
NEIGHBOURHOOD = 200.0
"""How far from a mouth, mm, the seam on its other side counts."""


def xy(z: complex) -> tuple[float, float]:
    """A point as shapely has it."""
    return z.real, z.imag


def unit(z: complex) -> complex:
    """The unit vector."""
    return z / abs(z)


def fine(points: Points, count: int = 160) -> list[complex]:
    """A line's ends, or points close together along a cubic."""
    steps = 1 if len(points) == 2 else count
    return [at(points, k / steps) for k in range(steps + 1)]


def ring_of(pieces: Sequence[Points]) -> list[complex]:
    """A fine closed polyline without its repeated end."""
    return [z for points in pieces for z in fine(points)[:-1]]


@dataclass(frozen=True)
class Solid:
    """A stretch of seam: its points, its width, whether it is turned back, and which seam it is."""

    points: Points
    width: float
    is_turned: bool = False
    run: int = -1


@dataclass(frozen=True)
class Mouth:
    """A dart of a result: mouth ends in outline order, its point, the leg it is folded over.

    ``before`` is the number of the solid stretch before it.
    """

    before: int
    ends: tuple[complex, complex]
    point: complex
    leg: int

    @cached_property
    def rays(self) -> tuple[complex, complex]:
        """Unit vectors out along the legs."""
        return unit(self.ends[0] - self.point), unit(self.ends[1] - self.point)

    @cached_property
    def angle(self) -> float:
        """The angle between the legs."""
        return cmath.phase(self.rays[1] / self.rays[0]) % math.tau

    @property
    def middle(self) -> complex:
        """The unit vector from the point into the mouth."""
        return self.rays[0] * cmath.rect(1.0, self.angle / 2)

    def inside(self, z: complex, within: float = 1e-4) -> bool:
        """Whether a point lies between the legs, further in than so many mm."""
        away = z - self.point
        turn = cmath.phase(away / self.middle)
        room = self.angle / 2 - abs(turn)
        return abs(away) * math.sin(max(-math.pi / 2, min(room, math.pi / 2))) > within

    def is_crossed_by(self, start: complex, end: complex) -> bool:
        """Whether a line meets the dart or what lies beyond its mouth."""
        far = [self.point + 1000 * ray for ray in self.rays]
        wedge = Polygon([xy(self.point), xy(far[0]), xy(far[1])])
        return bool(wedge.intersects(LineString([xy(start), xy(end)])))

    def ahead(self, z: complex) -> complex:
        """A point behind the mouth, where it lies when the dart is shut onto what is before."""
        return self.point + (z - self.point) * self.rays[0] / self.rays[1]

    def behind(self, z: complex) -> complex:
        """A point before the mouth, where it lies when the dart is shut onto what is behind."""
        return self.point + (z - self.point) * self.rays[1] / self.rays[0]


@dataclass(frozen=True)
class Paper:
    """A finished piece as it was written.

    ``mouths`` are in the order of the outline, ``solids`` without the darts' legs; ``uneven`` is
    by how much the legs of a dart were made to differ by hand.
    """

    solids: tuple[Solid, ...]
    mouths: tuple[Mouth, ...]
    cut: tuple[Points, ...]
    windows: tuple[tuple[Points, ...], ...] = ()
    notches: tuple[tuple[complex, ...], ...] = ()
    folds: tuple[int, ...] = ()
    uneven: float = 0.0

    @cached_property
    def edge(self) -> Any:
        """The cut line as shapely has it."""
        return LinearRing([xy(z) for z in ring_of(self.cut)])

    @cached_property
    def cloth(self) -> Any:
        """The piece as it is cut."""
        return Polygon(self.edge)

    @cached_property
    def reach(self) -> float:
        """How far from a mouth, mm, the seam on its other side counts."""
        whole = sum(abs(b - a) for s in self.solids for a, b in pairwise(fine(s.points)))
        return min(NEIGHBOURHOOD, whole / 5)

    @cached_property
    def panes(self) -> list[Any]:
        """The boundaries of the windows."""
        return [LinearRing([xy(z) for z in ring_of(pane)]) for pane in self.windows]

    def gave_way(self, whole: list[Frame], sums: list[float], z: complex) -> bool:
        """Whether a place is beside a mouth whose legs a hand left uneven.

        The seams beside it give way, to meet half way: the cut line is no parallel of them there.
        """
        if not self.uneven:
            return False
        k, along = _foot(whole, z)
        # What extends a parallel that gave way goes on beyond it.
        wide = max(solid.width for solid in self.solids)
        return min(along, sums[k] - along) < GAVE_WAY + wide

    def closest(self, z: complex) -> float:
        """How much nearer a place is to the seam than any allowance, unevenness apart."""
        here = Point(xy(z))
        for k in self.folds:
            start, end = self.solids[k].points[0], self.solids[k].points[-1]
            if abs(((z - start) / unit(end - start)).imag) < MEET:
                return 0.0
        least = min(solid.width for solid in self.solids)
        gap = min(LineString([xy(w) for w in fine(solid.points)]).distance(here)
                  for solid in self.solids)
        return least - abs(self.uneven) - float(gap)

    def in_window(self, z: complex) -> bool:
        """Whether a point of the cut line is an edge of a window."""
        return any(pane.distance(Point(xy(z))) < 0.02 for pane in self.panes)

    def may_turn(self, z: complex, turn: float) -> bool:
        """Whether the cut line may have a corner of so many degrees at a place."""
        if self.in_window(z) or any(mouth.inside(z, -0.05) for mouth in self.mouths):
            return True
        whole = frames(self)
        place = _place(self, whole, [sum(n.line.length for n in f.own) for f in whole], z)
        rule = allowed(whole[place[0]].chain(place[1], place[2]))
        here = Point(xy(z))
        if rule.is_free(z) or any(
                line.distance(here) < 0.05 for line in rule.extensions.values()):
            return True
        if turn < 15 and any(abs(z - spot) < radius for spot, radius in rule.bends):
            return True
        equal = [near for near in rule.chain
                 if abs(near.line.distance(here) - near.solid.width) < 0.05]
        return len(equal) > 1 and turn >= 2


def judged(paper: Paper) -> list[str]:
    """Everything that does not lie as it ought to with the darts folded shut, in sentences."""
    if not paper.edge.is_simple:
        return ["the cut line crosses itself"]
    found: list[str] = []
    for mouth in paper.mouths:
        found += raw_edges(paper, mouth)
        found += excess_edge(paper, mouth)
        found += meeting_notches(paper, mouth)
    found += enclosing(paper)
    found += beyond_folds(paper)
    found += parallels(paper)
    found += left_out(paper)
    return found


# --- legs, excess, notches ----------------------------------------------------------------------

def first_exit(paper: Paper, origin: complex, way: complex) -> complex | None:
    """Where a ray from inside the piece first leaves it."""
    line = LineString([xy(origin), xy(origin + way * 3000)])
    inside = shapely.get_parts(paper.cloth.intersection(line))
    for part in inside:
        coords = [complex(*c) for c in shapely.get_coordinates(part)]
        if len(coords) >= 2 and min(abs(z - origin) for z in coords) < 1e-6:
            return max(coords, key=lambda z: abs(z - origin))
    return None


def leg_exits(paper: Paper, mouth: Mouth) -> tuple[complex, complex] | None:
    """Where both legs, extended, leave the piece: on the side of the cloth, beyond the mouth."""
    found = []
    for leg in (0, 1):
        end = mouth.ends[leg]
        line = LineString([xy(end - mouth.rays[leg] * 1e-3), xy(end + mouth.rays[leg] * 3000)])
        meets = [complex(*c) for c in shapely.get_coordinates(paper.edge.intersection(line))]
        if not meets:
            return None
        found.append(min(meets, key=lambda z: abs(z - mouth.point)))
    return found[0], found[1]


def no_room(paper: Paper, mouth: Mouth, exits: tuple[complex, complex]) -> bool:
    """Whether nothing is added at a mouth: no notch, and legs as the drafter drew them."""
    least = min(abs(exits[leg] - mouth.ends[leg]) for leg in (0, 1))
    count = len(paper.solids)
    beside = (paper.solids[n % count].width for n in (mouth.before, mouth.before + 1))
    return least < NO_ROOM + abs(paper.uneven) or min(beside) < NO_ROOM


def raw_edges(paper: Paper, mouth: Mouth) -> Iterator[str]:
    """The step of the raw edge where the legs, extended, leave the shut piece."""
    exits = leg_exits(paper, mouth)
    if exits is None:
        yield f"a leg from {mouth.ends[0]:.1f} never reaches the cut line"
        return
    lengths = [abs(z - mouth.point) for z in exits]
    if abs(lengths[0] - lengths[1]) <= MEET or no_room(paper, mouth, exits):
        return
    # A step of the cut line may lie along the ray itself: then its other end counts too.
    reached = []
    for leg, exit_ in enumerate(exits):
        ends = [abs(exit_ - mouth.point)]
        for piece in paper.cut:
            offs = [abs(((z - mouth.point) / mouth.rays[leg]).imag) for z in (piece[0], piece[-1])]
            outs = [((z - mouth.point) / mouth.rays[leg]).real for z in (piece[0], piece[-1])]
            if len(piece) == 2 and max(offs) < 0.02 and min(outs) > 0 and (
                    min(abs(out - ends[0]) for out in outs) < 0.05):
                ends += outs
        reached.append(ends)
    step = min(abs(a - b) for a in reached[0] for b in reached[1])
    if step > MEET:
        yield (f"raw edges off by {step:.3f} mm: legs to the cut line {lengths[0]:.3f} and "
               f"{lengths[1]:.3f} from the point {mouth.point:.2f}")


def _wedge(mouth: Mouth, start: float, end: float) -> Any:
    """The wedge of paper between two angles from the fold's leg into the mouth."""
    sense = 1 if mouth.leg == 0 else -1
    spans = [start + (end - start) * k / 8 for k in range(9)]
    rim = [mouth.point + 3000 * mouth.rays[mouth.leg] * cmath.rect(1.0, sense * a) for a in spans]
    return Polygon([xy(mouth.point), *(xy(z) for z in rim)])


def _mirrored(shape: Any, origin: complex, axis: complex) -> Any:
    """A shape folded over a line."""
    turn = math.degrees(cmath.phase(axis))
    flat = affinity.rotate(shape, -turn, origin=xy(origin))
    flat = affinity.scale(flat, 1.0, -1.0, origin=xy(origin))
    return affinity.rotate(flat, turn, origin=xy(origin))


def folded_halves(mouth: Mouth, shape: Any) -> list[Any]:
    """Both halves of the excess of a shape, as they lie on the fold's side when it is shut."""
    first = shape.intersection(_wedge(mouth, 0.0, mouth.angle / 2))
    second = shape.intersection(_wedge(mouth, mouth.angle / 2, mouth.angle))
    turn = math.degrees(mouth.angle) * (-1 if mouth.leg == 0 else 1)
    return [_mirrored(first, mouth.point, mouth.rays[mouth.leg]),
            affinity.rotate(second, turn, origin=xy(mouth.point))]


def excess_edge(paper: Paper, mouth: Mouth) -> Iterator[str]:
    """The edge of the folded excess against the edge of the cloth that it lies on."""
    halves = [_edges_only(half) for half in folded_halves(mouth, paper.cloth)]
    sense = -1 if mouth.leg == 0 else 1
    worst, spot, lost, gap = 0.0, 0j, 0.0, 0j
    panes = [[_edges_only(half) for half in folded_halves(mouth, Polygon(pane))]
             for pane in paper.panes]
    others = [other for other in paper.mouths if other is not mouth]
    for k in range(60):
        turn = (k + 0.5) / 60 * mouth.angle / 2
        way = mouth.rays[mouth.leg] * cmath.rect(1.0, sense * turn)
        under = first_exit(paper, mouth.point, way)
        if under is None:
            yield f"the dart's point {mouth.point:.2f} lies outside the piece"
            return
        if paper.in_window(under) or any(
                other.is_crossed_by(mouth.point, under) for other in others):
            continue
        for number, half in enumerate(halves):
            ray = LineString([xy(mouth.point + 1e-3 * way), xy(mouth.point + way * 3000)])
            meets = [complex(*c) for c in shapely.get_coordinates(half.intersection(ray))]
            if not meets:
                continue
            over = min(meets, key=lambda z: abs(z - mouth.point))
            if any(pane[number].distance(Point(xy(over))) < 0.02 for pane in panes):
                continue
            off = min(paper.edge.distance(Point(xy(over))), abs(over - under))
            if off > worst:
                worst, spot = off, over
            back = min(half.distance(Point(xy(under))), abs(over - under))
            if back > lost:
                lost, gap = back, under
    if worst > MEET:
        if paper.uneven and no_room(paper, mouth, leg_exits(paper, mouth) or mouth.ends):
            return
        yield f"excess's edge {worst:.3f} mm off the edge it lies on, at {spot:.2f}"
    if lost > MEET:
        yield f"cloth's edge {lost:.3f} mm off the excess on it, at {gap:.2f}"


def _edges_only(shape: Any) -> Any:
    # A cut along an edge may leave a line beside the surfaces.
    return shapely.union_all(
        [part.boundary for part in shapely.get_parts(shape) if part.geom_type == "Polygon"])


def meeting_notches(paper: Paper, mouth: Mouth) -> Iterator[str]:
    """A notch at each leg's end on the cut line, both at one distance from the point."""
    exits = leg_exits(paper, mouth)
    if exits is None:
        return
    folds = set(paper.folds)
    beside = (mouth.before, (mouth.before + 1) % len(paper.solids))
    if no_room(paper, mouth, exits):
        return
    radii: list[float] = []
    for leg, exit_ in enumerate(exits):
        near = [(abs(z - exit_), z) for notch in paper.notches for z in notch]
        gap, z = min(near, key=lambda found: found[0], default=(math.inf, 0j))
        if gap > 1.0:
            if beside[leg] not in folds and abs(exit_ - mouth.ends[leg]) > 0.1:
                yield f"no notch at {exit_:.2f}, where a leg meets the cut line ({gap:.2f})"
            continue
        radii.append(abs(z - mouth.point))
        if abs(((z - mouth.point) / mouth.rays[leg]).imag) > MEET:
            yield f"the notch at {z:.2f} is not on its leg"
    if len(radii) == 2 and abs(radii[0] - radii[1]) > MEET:
        yield f"the notches of a dart are {abs(radii[0] - radii[1]):.3f} mm apart when it is shut"


def enclosing(paper: Paper) -> Iterator[str]:
    """The sewn piece, its darts open, lies within the cut line."""
    ring: list[complex] = []
    at_mouth = {mouth.before: mouth for mouth in paper.mouths}
    for k, solid in enumerate(paper.solids):
        ring += fine(solid.points)
        if k in at_mouth:
            ring.append(at_mouth[k].point)
    lost = Polygon([xy(z) for z in ring]).buffer(0).difference(paper.cloth.buffer(PARALLEL))
    if lost.area > 1e-3:
        yield f"the cut line cuts {lost.area:.3f} mm2 off the piece at {lost.centroid.wkt}"


def beyond_folds(paper: Paper) -> Iterator[str]:
    """Nothing of the piece lies beyond a fold edge."""
    for k in paper.folds:
        points = paper.solids[k].points
        way = unit(points[-1] - points[0])
        deep = max(((-((z - points[0]) / way).imag, z) for z in ring_of(paper.cut)),
                   key=lambda found: found[0])
        if deep[0] > MEET:
            yield f"{deep[0]:.3f} mm beyond the fold edge at {deep[1]:.2f}"
            return


# --- each stretch of the cut line against the shut seam -------------------------------------------

@dataclass(frozen=True)
class Near:
    """A solid stretch as it lies in the frame of another."""

    solid: Solid
    points: Points
    line: Any

    def outside(self, z: complex, along: float) -> bool:
        """Whether a point lies on the outer side of the line's place so far along it."""
        ends = [complex(*self.line.interpolate(s).coords[0])
                for s in (max(0.0, along - 0.01), min(self.line.length, along + 0.01))]
        return ((z - ends[0]) / (ends[1] - ends[0])).imag < -1e-6


@dataclass(frozen=True)
class Frame:
    """What lies before, in and behind one stretch between two mouths, all mouths shut."""

    own: tuple[Near, ...]
    before: tuple[Near, ...]
    behind: tuple[Near, ...]

    def chain(self, start: bool, end: bool) -> list[Near]:
        """The stretch with what is before it, where it is near, and behind it, in order."""
        return [*(self.before if start else ()), *self.own, *(self.behind if end else ())]


def _near(solid: Solid, points: Points) -> Near:
    return Near(solid, points, LineString([xy(z) for z in fine(points, 400)]))


def frames(paper: Paper) -> list[Frame]:
    """One frame for each stretch between mouths; one closed ring without any."""
    count = len(paper.solids)
    if not paper.mouths:
        own = tuple(_near(s, s.points) for s in paper.solids)
        return [Frame(own, (own[-1],), (own[0],))]
    found = []
    for k, mouth in enumerate(paper.mouths):
        following = paper.mouths[(k + 1) % len(paper.mouths)]
        start, end = mouth.before + 1, following.before + 1
        end += count if end <= start else 0
        own = tuple(_near(paper.solids[n % count], paper.solids[n % count].points)
                    for n in range(start, end))
        found.append(Frame(own, tuple(_beyond(paper, k, -1)),
                           tuple(_beyond(paper, (k + 1) % len(paper.mouths), 1))))
    return found


def _beyond(paper: Paper, number: int, step: int) -> list[Near]:
    """What lies beyond a mouth, in the frame on its near side, as far as counts, in order."""
    count = len(paper.solids)
    by_before = {mouth.before: k for k, mouth in enumerate(paper.mouths)}
    passed, far = [paper.mouths[number]], 0.0
    found: list[Near] = []
    n = paper.mouths[number].before + (1 if step > 0 else 0)
    while far < paper.reach and len(found) < count // 2 + 1:
        points: Points = paper.solids[n % count].points
        for mouth in reversed(passed):
            points = tuple((mouth.ahead if step > 0 else mouth.behind)(z) for z in points)
        found.append(_near(paper.solids[n % count], points))
        far += float(found[-1].line.length)
        edge = n % count if step > 0 else (n - 1) % count
        if edge in by_before:
            passed.append(paper.mouths[by_before[edge]])
        n += step
    return found if step > 0 else found[::-1]


@dataclass(frozen=True)
class Allowed:
    """What the cut line may be in one chain: parallels, what extends them, what is free."""

    chain: list[Near]
    extensions: dict[int, Any]
    free: list[tuple[complex, float]]
    steps: set[int]
    bends: list[tuple[complex, float]]
    tips: dict[int, Any]

    def is_free(self, z: complex) -> bool:
        """Whether a point lies where the cut line is excepted: square cuts and vanished seams."""
        return any(abs(z - spot) < radius for spot, radius in self.free)

    def is_trimmed(self, z: complex) -> bool:
        """Whether a point is so near to a joint of two widths that its meeting may cut it off."""
        return any(abs(z - self.chain[k].points[0]) < TRIMMED * max(
            self.chain[k - 1].solid.width, self.chain[k].solid.width) for k in self.steps)

    def on_parallel(self, z: complex) -> float:
        """How far a point is off the nearest line that the cut line may be."""
        here = Point(xy(z))
        if self.is_free(z):
            return 0.0
        offs = [abs(near.line.distance(here) - near.solid.width) for near in self.chain]
        offs += [line.distance(here) for line in self.extensions.values()]
        offs += [max(0.0, line.distance(here) - PARALLEL) for line in self.tips.values()]
        return float(min(offs))

    def too_near(self, z: complex) -> float:
        """How much nearer a point is to a seam than that seam's width, square to it."""
        here = Point(xy(z))
        if self.is_free(z):
            return 0.0
        worst = 0.0
        # Along what extends a narrow parallel at a joint the wide seam is nearer than its width.
        excused = {self.chain[k].solid.run
                   for lines, within in ((self.extensions, PARALLEL), (self.tips, 2 * PARALLEL))
                   for joint, line in lines.items()
                   if joint in self.steps and line.distance(here) < within
                   for k in (joint - 1, joint)}
        for k, near in enumerate(self.chain):
            if near.solid.run in excused:
                continue
            deep = near.solid.width - float(near.line.distance(here))
            if deep <= worst:
                continue
            along = float(near.line.project(here))
            if not near.outside(z, along):
                continue
            at_end = (k + 1 if along > near.line.length - 1e-4 else k if along < 1e-4 else None)
            if at_end is not None and (
                    at_end in self.steps or at_end in (0, len(self.chain))
                    or self.chain[at_end - 1].solid.run == self.chain[at_end].solid.run):
                continue
            worst = deep
        return worst


def allowed(chain: list[Near]) -> Allowed:
    """What the cut line may be along a chain of stretches."""
    extensions: dict[int, Any] = {}
    free: list[tuple[complex, float]] = []
    steps: set[int] = set()
    bends: list[tuple[complex, float]] = []
    tips: dict[int, Any] = {}
    for k, (one, two) in enumerate(pairwise(chain), start=1):
        corner = two.points[0]
        w1, w2 = one.solid.width, two.solid.width
        way1, way2 = tangent(one.points, True), tangent(two.points, False)
        turn = cmath.phase(way2 / way1)
        wide = max(w1, w2)
        if abs(turn) < 1e-4 and abs(w1 - w2) < 1e-9:
            continue
        bends.append((corner, 1.1 * wide + 0.5))
        if abs(w1 - w2) > 1e-9:
            steps.add(k)
        first, second = one.points[-1] - 1j * way1 * w1, corner - 1j * way2 * w2
        reach = 4.5 * wide
        lines = [[xy(first), xy(first + way1 * reach)], [xy(second), xy(second - way2 * reach)]]
        if min(w1, w2) > 0 and abs(w1 - w2) > 1e-9:
            way = way1 if w1 > w2 else way2
            lines.append([xy(corner), xy(corner - 1j * way * wide)])
            tip = tip_of_step(chain, k)
            if tip is not None:
                tips[k] = LineString([xy(corner), xy(tip)])
        extensions[k] = shapely.MultiLineString(lines)
        long = math.sqrt(max(0.0, w1 * w1 + w2 * w2 - 2 * w1 * w2 * math.cos(turn)))
        long = long / max(abs(math.sin(turn)), 1e-9) if abs(turn) > 1e-3 else wide
        if abs(turn) > STEP_TURN and long > (MITRE - 0.05) * wide:
            free.append((corner, min(long, MITRE * wide) * 1.2 + 1.0))
        if one.solid.is_turned != two.solid.is_turned:
            free.append((corner, 3.0 * wide + 1.0))
    seams = [list(group) for _, group in groupby(chain, key=lambda near: near.solid.run)]
    for before, seam, behind in zip(seams, seams[1:], seams[2:], strict=False):
        # What the neighbours leave of a seam's parallel: a seam may vanish, or keep its end by
        # a step.
        whole = sum(_parallel_length(near) for near in seam)
        ends = _trimmed(before[-1], seam[0]), _trimmed(behind[0], seam[-1], at_end=True)
        is_overrun = any(lost > OVERRUN * whole and other.solid.width > 0
                         for lost, other in zip(ends, (before[-1], behind[0]), strict=True))
        is_beyond = any(_is_all_beyond(seam, other) for other in (before[-1], behind[0]))
        if whole - sum(ends) < MAY_VANISH or is_overrun or is_beyond:
            wide = max(near.solid.width for near in (before[-1], *seam, behind[0]))
            reach = 2.0 * wide + 0.5 * sum(near.line.length for near in seam)
            free += [(z, reach) for z in (seam[0].points[0], seam[-1].points[-1])]
    return Allowed(chain, extensions, free, steps, bends, tips)


def _is_all_beyond(seam: Sequence[Near], other: Near) -> bool:
    """Whether all of a seam's parallel lies beyond a straight edge without any allowance."""
    if other.solid.width > 0 or len(other.points) != 2:
        return False
    start, way = other.points[0], unit(other.points[1] - other.points[0])
    return all(
        ((z - 1j * unit(b - a) * near.solid.width - start) / way).imag < 0
        for near in seam for a, b in pairwise(fine(near.points)) for z in (a, b))


def tip_of_step(chain: Sequence[Near], k: int) -> complex | None:
    """The last place of the wider seam's parallel, toward a joint, that is nowhere too near to it.

    Where the seam curves more than its allowance is wide, its parallel comes back before the
    joint: a step to the narrower one then begins where the parallel is as far from the joint as
    the allowance is wide.
    """
    is_behind = chain[k].solid.width > chain[k - 1].solid.width
    side = chain[k:] if is_behind else chain[:k][::-1]
    seam = [near for near in side if near.solid.run == side[0].solid.run]
    width = seam[0].solid.width
    whole = shapely.MultiLineString([[xy(z) for z in fine(near.points, 3000)] for near in seam])

    def place(near: Near, t: float) -> complex:
        way = at(near.points, min(1.0, t + 1e-6)) - at(near.points, max(0.0, t - 1e-6))
        return at(near.points, t) - 1j * unit(way) * width

    def is_clear(near: Near, t: float) -> bool:
        return bool(whole.distance(Point(xy(place(near, t)))) > width - 2e-5)

    for near in seam:
        shares = [n / 200 if is_behind else 1 - n / 200 for n in range(201)]
        first = next((n for n, share in enumerate(shares) if is_clear(near, share)), None)
        if first is None:
            continue
        if first == 0:
            return place(near, shares[0])
        low, high = shares[first - 1], shares[first]
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (low, middle) if is_clear(near, middle) else (middle, high)
        return place(near, high)
    return None


def _parallel_length(near: Near) -> float:
    """How long the parallel of a stretch is, backward parts counting against it."""
    ways = [b - a for a, b in pairwise(fine(near.points)) if abs(b - a) > 1e-9]
    turning = sum(cmath.phase(b / a) for a, b in pairwise(ways))
    return float(near.line.length) + near.solid.width * turning


def _trimmed(other: Near, near: Near, *, at_end: bool = False) -> float:
    """How much of a parallel is lost where it meets that of its neighbour; less than 0: added."""
    if at_end:
        turn = cmath.phase(tangent(other.points, False) / tangent(near.points, True))
    else:
        turn = cmath.phase(tangent(near.points, False) / tangent(other.points, True))
    if abs(math.sin(turn)) < 1e-3:
        return 0.0
    return (near.solid.width * math.cos(turn) - other.solid.width) / math.sin(turn)


def parallels(paper: Paper) -> Iterator[str]:
    """Each stretch of the cut line outside the mouths against the shut seam."""
    whole = frames(paper)
    sums = [sum(near.line.length for near in frame.own) for frame in whole]
    rules = {(k, start, end): allowed(frame.chain(start, end))
             for k, frame in enumerate(whole)
             for start in (False, True) for end in (False, True)}
    off, off_at, deep, deep_at = 0.0, 0j, 0.0, 0j
    for piece in paper.cut:
        for n in range(12):
            z = at(piece, (n + 0.5) / 12)
            if any(mouth.inside(z) for mouth in paper.mouths):
                continue
            if paper.in_window(z):
                continue
            place = _place(paper, whole, sums, z)
            rule = rules[place]
            if rule.on_parallel(z) > PARALLEL:
                # A leg on a slant runs far along the seam: the other side's frame may be meant.
                rule = min(rules.values(), key=lambda rule: rule.on_parallel(z))
            if paper.gave_way(whole, sums, z):
                here = paper.closest(z) - PARALLEL
                if here > deep:
                    deep, deep_at = here, z
                continue
            here = rule.on_parallel(z)
            if here > off:
                off, off_at = here, z
            here = rule.too_near(z)
            if here > deep:
                deep, deep_at = here, z
    if off > PARALLEL:
        yield f"cut line {off:.4f} mm off every parallel of the shut seam at {off_at:.2f}"
    if deep > PARALLEL:
        yield f"cut line {deep:.4f} mm too near to the shut seam at {deep_at:.2f}"


def _place(paper: Paper, whole: list[Frame], sums: list[float],
           z: complex) -> tuple[int, bool, bool]:
    """The frame in which a point of the cut line is judged, and which of its ends it is near.

    Near a mouth the side of its middle line decides, not the nearest seam: a long point beside a
    slanting mouth may lie nearer to the wrong side.
    """
    k, along = _foot(whole, z)
    half = min(paper.reach, sums[k] / 2)
    if not paper.mouths:
        return k, along < half, sums[k] - along < half
    if along >= half and sums[k] - along >= half:
        return k, False, False
    number = k if along < half else (k + 1) % len(paper.mouths)
    mouth = paper.mouths[number]
    if cmath.phase((z - mouth.point) / mouth.middle) < 0:
        return (number - 1) % len(paper.mouths), False, True
    return number, True, False


def _foot(whole: list[Frame], z: complex) -> tuple[int, float]:
    """The frame nearest to a point, and how far along it the nearest place is."""
    here, best = Point(xy(z)), math.inf
    found = 0, 0.0
    for k, frame in enumerate(whole):
        far = 0.0
        for near in frame.own:
            gap = float(near.line.distance(here))
            if gap < best:
                best, found = gap, (k, far + float(near.line.project(here)))
            far += float(near.line.length)
    return found


def left_out(paper: Paper) -> Iterator[str]:
    """Places of a parallel that ought to be on the piece and lie outside the cut line."""
    cloth = paper.cloth.buffer(PARALLEL)
    panes = [Polygon(pane).buffer(PARALLEL) for pane in paper.panes]
    whole = frames(paper)
    sums = [sum(near.line.length for near in frame.own) for frame in whole]
    worst, spot = 0.0, 0j
    for frame in whole:
        rule = allowed(frame.chain(True, True))
        for near in frame.own:
            if near.solid.is_turned:
                continue
            for k in range(9):
                t = (k + 0.5) / 9
                way = at(near.points, t + 1e-5) - at(near.points, t - 1e-5)
                z = at(near.points, t) - 1j * unit(way) * near.solid.width
                here = Point(xy(z))
                if cloth.contains(here) or any(pane.contains(here) for pane in panes):
                    continue
                # Beyond the ray of a mouth the fold's side goes on as the excess.
                if any(mouth.inside(z, -0.05) for mouth in paper.mouths):
                    continue
                if rule.too_near(z) > 0.0015 or rule.is_free(z) or rule.is_trimmed(z):
                    continue
                if paper.gave_way(whole, sums, z):
                    continue
                if paper.edge.distance(here) > worst:
                    worst, spot = paper.edge.distance(here), z
    if worst > 0:
        yield f"the cut line leaves out {worst:.4f} mm of a parallel at {spot:.2f}"
