"""The cut line of a shut seam, opened again at every mouth.

Where a ray from the hinge through the mouth end leaves the cloth with its allowance, the shut cut
line is parted. Its one side stays with the fold's side, the other goes back with the other side;
across the mouth lies the cut line of the fold's side twice: its mirror image in the leg, and what
remains of it turned onto the other side. So the folded excess ends on the edge of the cloth that
it is folded onto, and both legs, extended, are equally long.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drafting_core.allowance.folded_mouth import FoldedMouth
from drafting_core.allowance.joined_runs import UnresolvedError
from drafting_core.model.outline import SHORTEST_SEGMENT
from drafting_core.plane.curves import Line, Segment, cross, dot
from drafting_core.plane.motions import STILL, Motion

#: What lies on a ray within this (mm) lies along it: a step square to a seam whose leg is, too.
ALONG_RAY = 0.01
#: A place on the seam itself counts as beyond it within this (mm): the corner of a fold edge.
AT_SEAM = 1e-6
#: Two places on a chain nearer than this in parameter are one.
_SAME_PLACE = 1e-9
#: A cubic is looked at in so many places for where it turns back toward a leg.
_LOOKS = 8

Part = tuple[list[Segment], tuple[int, ...]]


class OpenedMouth(NamedTuple):
    """What became of the cut line at a mouth.

    Attributes:
        ends: where the legs, extended, reach the cut line, in the direction of the outline.
        across: the cut line from the one to the other.
    """

    ends: tuple[complex, complex]
    across: tuple[Segment, ...]


class _Place(NamedTuple):
    """A place on the shut cut line: the number of its segment, unrolled, and the parameter."""

    number: int
    t: float


class _Shut:
    """The shut cut line, its segments in the frames of the opened piece.

    Segments are numbered on beyond the last and before the first, once around after the other:
    ``frame(i, j)`` is the motion from the frame of segment i to that of segment j.
    """

    def __init__(self, parts: Sequence[Part], mouths: Sequence[FoldedMouth]) -> None:
        self.segments: list[Segment] = []
        #: For each segment the mouths that lie right before it.
        self.before: dict[int, tuple[int, ...]] = {}
        self.mouths = mouths
        start: tuple[int, ...] = ()
        for segments, behind in parts:
            if start:
                self.before[len(self.segments)] = start
            self.segments += segments
            start = behind
        if start:
            self.before[0] = (*start, *self.before.get(0, ()))
        self.count = len(self.segments)

    def boundary(self, mouth: int) -> int:
        """Return the number of the segment right behind a mouth."""
        return next(index for index, found in self.before.items() if mouth in found)

    def crossed(self, index: int) -> tuple[int, ...]:
        """Return the mouths right before a segment, by its unrolled number."""
        return self.before.get(index % self.count, ())

    def forward_from(self, mouth: int) -> Iterator[tuple[int, Motion]]:
        """Yield the segments behind a mouth, with the motions to the frame before it."""
        start = self.boundary(mouth)
        group = self.before[start]
        motion = STILL
        for passed in group[group.index(mouth) :]:
            motion = motion.after(self.mouths[passed].back)
        yield start, motion
        for index in range(start + 1, start + self.count):
            for passed in self.crossed(index):
                motion = motion.after(self.mouths[passed].back)
            yield index, motion

    def backward_from(self, mouth: int) -> Iterator[tuple[int, Motion]]:
        """Yield the segments before a mouth, backward, with the motions to the frame before it."""
        start = self.boundary(mouth)
        group = self.before[start]
        motion = STILL
        for passed in reversed(group[: group.index(mouth)]):
            motion = motion.after(self.mouths[passed].back.undone())
        for index in range(start - 1, start - self.count, -1):
            yield index, motion
            for passed in reversed(self.crossed(index)):
                motion = motion.after(self.mouths[passed].back.undone())

    def segment(self, index: int) -> Segment:
        """Return a segment by its unrolled number, in its own frame."""
        return self.segments[index % self.count]


def opened(
    parts: Sequence[Part], mouths: Sequence[FoldedMouth]
) -> tuple[list[Segment], list[OpenedMouth]]:
    """Return the cut line opened at every mouth.

    Args:
        parts: the shut cut line run by run, each part in the frame of its own stretch of the
            outline, with the numbers of the mouths behind it.
        mouths: the mouths in the order of the outline.

    Returns:
        The ring, and what it is at each mouth.

    Raises:
        UnresolvedError: if a leg, extended, does not reach the cut line, or two mouths overlap.
    """
    shut = _Shut(parts, mouths)
    order = [mouth for index in sorted(shut.before) for mouth in shut.before[index]]
    places = {mouth: _parted(shut, mouth) for mouth in order}
    made = {mouth: _across(shut, mouth, places[mouth]) for mouth in order}
    ring: list[Segment] = []
    for mouth, following in itertools.pairwise((*order, order[0])):
        ring += made[mouth].across
        end = places[following]
        if following == order[0]:
            end = _Place(end.number + shut.count, end.t)
        if end <= places[mouth]:
            raise UnresolvedError
        ends = made[mouth].ends[1], made[following].ends[0]
        ring += _stretch(shut, mouth, places[mouth], end, ends)
    return ring, [made[mouth] for mouth in range(len(mouths))]


def _stretch(
    shut: _Shut, mouth: int, start: _Place, end: _Place, ends: tuple[complex, complex]
) -> list[Segment]:
    """Return the cut line from behind one mouth to before the next, in the frame between them."""
    # From the frame before the mouth to that behind it.
    inward = shut.mouths[mouth].back.undone()
    motions = {
        index: inward.after(motion)
        for index, motion in itertools.chain(shut.backward_from(mouth), shut.forward_from(mouth))
    }
    found: list[Segment] = []
    for index in range(start.number, end.number + 1):
        low = start.t if index == start.number else 0.0
        high = end.t if index == end.number else 1.0
        if high - low > _SAME_PLACE:
            motion = motions[index] if index in motions else motions[index - shut.count]
            if index not in motions:
                motion = _once_around(shut, mouth, index)
            found.append(_moved(shut.segment(index).part(low, high), motion))
    if not found:
        return []
    found[0] = found[0]._replace(start=ends[0])
    found[-1] = found[-1]._replace(end=ends[1])
    return found


def _once_around(shut: _Shut, mouth: int, index: int) -> Motion:
    """Return the motion of a segment that lies beyond the next mouth, seen from this one."""
    motion = STILL
    for at in range(index, shut.boundary(mouth), -1):
        for passed in reversed(shut.crossed(at)):
            motion = shut.mouths[passed].back.after(motion)
        if at - 1 == shut.boundary(mouth):
            break
    return motion


def _moved(segment: Segment, motion: Motion) -> Segment:
    return segment if motion == STILL else segment.mapped(motion)


def _parted(shut: _Shut, number: int) -> _Place:
    """Return where the ray through a mouth end leaves the cloth with its allowance.

    Raises:
        UnresolvedError: if it does nowhere.
    """
    mouth = shut.mouths[number]
    least = mouth.out(mouth.fold_end) - AT_SEAM
    origin, ray = mouth.line_at(0.0)
    to_fold = STILL if mouth.leg == 0 else mouth.back.undone()
    best: tuple[float, _Place] | None = None
    half = shut.count // 2 + 1
    chains = (
        itertools.islice(shut.backward_from(number), half),
        itertools.islice(shut.forward_from(number), half),
    )
    for index, motion in itertools.chain(*chains):
        segment = _moved(shut.segment(index), to_fold.after(motion))
        for t in _on_ray(segment, mouth, origin, ray):
            out = mouth.out(segment.point(t))
            if out >= least and (best is None or out < best[0] - AT_SEAM):
                best = out, _Place(index, t)
    if best is None:
        raise UnresolvedError
    return best[1]


def _on_ray(segment: Segment, mouth: FoldedMouth, origin: complex, ray: complex) -> Sequence[float]:
    """Return where a segment meets the ray; one that lies along it, at its end by the fold."""
    offsets = [abs(cross(ray, z - origin)) for z in (segment.start, segment.end)]
    if max(offsets) < ALONG_RAY:
        return [0.0] if mouth.leg == 0 else [1.0]
    return segment.on_ray(origin, ray)


def _across(shut: _Shut, number: int, place: _Place) -> OpenedMouth:
    """Return the cut line across a mouth: the fold's side mirrored in its leg, then turned.

    Raises:
        UnresolvedError: if the cut line does not reach over the middle of the dart.
    """
    mouth = shut.mouths[number]
    to_fold = STILL if mouth.leg == 0 else mouth.back.undone()
    walk = shut.backward_from(number) if mouth.leg == 0 else shut.forward_from(number)
    ahead = shut.forward_from(number) if mouth.leg == 0 else shut.backward_from(number)
    # What lies on the other side of the boundary up to the parting belongs to the fold's side.
    step = -1 if mouth.leg == 0 else 1
    beyond = [
        (index, motion)
        for index, motion in ahead
        if (place.number - index) * step <= 0 and (index - place.number) * step >= 0
    ]
    chain = []
    for index, motion in (*reversed(beyond), *walk):
        if (index - place.number) * step < 0:
            continue
        segment = shut.segment(index)
        if index == place.number:
            low, high = (0.0, place.t) if mouth.leg == 0 else (place.t, 1.0)
            if high - low <= _SAME_PLACE:
                continue
            segment = segment.part(low, high)
        segment = _moved(segment, to_fold.after(motion))
        chain.append(segment.reversed() if mouth.leg == 0 else segment)
    at = _moved(shut.segment(place.number), to_fold.after(_motion_at(shut, number, place.number)))
    point = at.point(place.t)
    origin, ray = mouth.line_at(0.0)
    point = origin + ray * dot(point - origin, ray)
    over = _first_exits(chain, mouth, point)
    rising = [segment.mapped(mouth.mirror) for segment in over]
    falling = backward([segment.mapped(mouth.swing) for segment in over])
    other = mouth.swing(point)
    across = _closed([*rising, *falling], point, other)
    if mouth.leg == 1:
        across = backward(across)
        return OpenedMouth((other, point), tuple(across))
    return OpenedMouth((point, other), tuple(across))


def _motion_at(shut: _Shut, number: int, index: int) -> Motion:
    for at, motion in itertools.chain(shut.backward_from(number), shut.forward_from(number)):
        if at == index:
            return motion
    raise UnresolvedError


def _closed(chain: list[Segment], start: complex, end: complex) -> list[Segment]:
    """Return a chain whose segments begin where the one before ends, between two points."""
    closed: list[Segment] = []
    at = start
    for index, segment in enumerate(chain):
        last = end if index == len(chain) - 1 else segment.end
        if abs(at - segment.start) >= SHORTEST_SEGMENT:
            closed.append(Line(at, segment.start))
            at = segment.start
        closed.append(segment._replace(start=at, end=last))
        at = last
    return closed


def _first_exits(chain: Sequence[Segment], mouth: FoldedMouth, start: complex) -> list[Segment]:
    """Return the chain as rays from the hinge first meet it, from the leg to the dart's middle.

    Where it turns back toward the leg, a piece of a ray joins the stretches.

    Raises:
        UnresolvedError: if it ends before.
    """
    found: list[Segment] = []
    reached, at = 0.0, start
    for segment in itertools.chain.from_iterable(_monotone(s, mouth) for s in chain):
        low, high = mouth.reach(segment.start), mouth.reach(segment.end)
        if high <= max(reached, low):
            continue
        piece = segment
        if low < reached - 1e-12:
            if (t := _at_reach(segment, mouth, reached)) is None:
                continue
            piece = segment.part(t, 1.0)
        out, new = mouth.out(at), mouth.out(piece.start)
        if new < out - SHORTEST_SEGMENT and low < reached:
            # The ray leaves earlier on this stretch: the one before is hidden behind it.
            found, at, piece = _hidden(found, segment, mouth, low)
        elif abs(piece.start - at) >= SHORTEST_SEGMENT:
            found.append(Line(at, piece.start))
        if high >= mouth.half:
            t = _at_reach(piece, mouth, mouth.half)
            if t is not None and t > _SAME_PLACE:
                found.append(piece.part(0.0, t))
            return found
        found.append(piece)
        reached, at = high, piece.end
    raise UnresolvedError


def _hidden(
    found: list[Segment], segment: Segment, mouth: FoldedMouth, low: float
) -> tuple[list[Segment], complex, Segment]:
    """Take back what lies behind a stretch that begins further back and nearer."""
    low = max(low, 0.0)
    kept: list[Segment] = []
    for piece in found:
        if mouth.reach(piece.end) <= low:
            kept.append(piece)
            continue
        if mouth.reach(piece.start) < low and (t := _at_reach(piece, mouth, low)) is not None:
            kept.append(piece.part(0.0, t))
        break
    t = _at_reach(segment, mouth, low)
    piece = segment if t is None else segment.part(t, 1.0)
    if kept:
        kept.append(Line(kept[-1].end, piece.start))
    return kept, piece.start, piece


def _monotone(segment: Segment, mouth: FoldedMouth) -> list[Segment]:
    """Return a segment in pieces along each of which the reach only grows or only shrinks."""
    if isinstance(segment, Line):
        return [segment]

    def growth(t: float) -> float:
        z, along = segment.point(t), segment.derivative(t)
        ray = z - mouth.hinge if mouth.hinge is not None else mouth.ray
        return cross(ray, along)

    stops = [0.0]
    values = [growth(k / _LOOKS) for k in range(_LOOKS + 1)]
    for k, (a, b) in enumerate(itertools.pairwise(values)):
        if a * b < 0.0:
            low, high = k / _LOOKS, (k + 1) / _LOOKS
            for _ in range(50):
                middle = 0.5 * (low + high)
                if growth(middle) * a > 0.0:
                    low = middle
                else:
                    high = middle
            stops.append(0.5 * (low + high))
    stops.append(1.0)
    return [segment.part(a, b) for a, b in itertools.pairwise(stops) if b - a > _SAME_PLACE]


def _at_reach(segment: Segment, mouth: FoldedMouth, reach: float) -> float | None:
    """Return the first parameter at which a segment has a reach."""
    origin, ray = mouth.line_at(reach)
    for t in segment.on_ray(origin, ray):
        if mouth.hinge is None or dot(segment.point(t) - origin, ray) > 0.0:
            return t
    for t in (0.0, 1.0):
        if abs(mouth.reach(segment.point(t)) - reach) * _scale(mouth, segment) < AT_SEAM:
            return t
    return None


def _scale(mouth: FoldedMouth, segment: Segment) -> float:
    return 1.0 if mouth.hinge is None else max(1.0, abs(segment.start - mouth.hinge))


def backward(chain: Sequence[Segment]) -> list[Segment]:
    """Return a chain run the other way."""
    return [segment.reversed() for segment in reversed(chain)]


def longest_leg_difference(made: Sequence[OpenedMouth], mouths: Sequence[FoldedMouth]) -> float:
    """Return by how much the legs, extended to the cut line, differ at most, in mm."""
    return max(
        (
            abs(abs(item.ends[0] - mouth.hinge) - abs(item.ends[1] - mouth.hinge))
            for item, mouth in zip(made, mouths, strict=True)
            if mouth.hinge is not None
        ),
        default=math.nan,
    )
