"""The cut line of a shut seam, opened again at every mouth.

Where a ray from the hinge through the mouth end leaves the cloth with its allowance, the shut cut
line is parted. Its one side stays with the fold's side, the other goes back with the other side;
across the mouth lies the cut line of the fold's side twice: its mirror image in the leg, and what
remains of it turned onto the other side. So the folded excess ends on the edge of the cloth that
it is folded onto, and both legs, extended, are equally long.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drafting_core.allowance.joined_runs import UnresolvedError
from drafting_core.dart.first_exits import AT_SEAM, SAME_PLACE, first_exits
from drafting_core.dart.folded_mouth import FoldedMouth
from drafting_core.dart.trim_window import ended, first_by_chain
from drafting_core.model.outline import SHORTEST_SEGMENT, RingPlace
from drafting_core.plane.curves import Line, Segment, backward, cross, dot
from drafting_core.plane.motions import STILL, Motion
from drafting_core.text.errors import DartError
from drafting_core.text.words import _

#: What lies on a ray within this (mm) lies along it: a step square to a seam whose leg is, too.
ALONG_RAY = 0.01
#: Cloth that ends nearer to the hinge by this (mm) than the excess does not carry it.
_NEARER = 2.0
#: A node this near to the ray is on it: rounding (mm).
_NODE_ON_RAY = 1e-9

Part = tuple[list[Segment], tuple[int, ...]]


class OverlapError(Exception):
    """Excess that cannot stay: a cut line that would cross itself when it is opened at a mouth.

    Or excess that, folded, would lie over a far seam of the piece and hang out beyond it.

    Attributes:
        mouth: the mouth.
    """

    def __init__(self, mouth: FoldedMouth) -> None:
        """Store the mouth."""
        super().__init__(mouth)
        self.mouth = mouth


class OpenedMouth(NamedTuple):
    """What became of the cut line at a mouth.

    Attributes:
        mouth: the mouth.
        ends: where the legs, extended, reach the cut line, in the direction of the outline.
        across: the cut line from the one to the other, no trim window taken out.
        drawn: the same with the trim window taken out.
        window: the trim window as a closed ring from its vertex, if there is one.
    """

    mouth: FoldedMouth
    ends: tuple[complex, complex]
    across: tuple[Segment, ...]
    drawn: tuple[Segment, ...]
    window: tuple[Segment, ...] | None


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
        OverlapError: if the excess of a dart would lie over a far seam.
    """
    shut = _Shut(parts, mouths)
    order = [mouth for index in sorted(shut.before) for mouth in shut.before[index]]
    places = {mouth: _parted(shut, mouth) for mouth in order}
    made = {mouth: _across(shut, mouth, places[mouth]) for mouth in order}
    ring: list[Segment] = []
    for mouth, following in itertools.pairwise((*order, order[0])):
        ring += made[mouth].drawn
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
        if high - low > SAME_PLACE:
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
    # At a smooth joint the ray may miss the ends of both by rounding.
    ends = [float(end) for end, offset in enumerate(offsets) if offset < AT_SEAM]
    return [*segment.on_ray(origin, ray), *ends]


def _across(shut: _Shut, number: int, place: _Place) -> OpenedMouth:
    """Return the cut line across a mouth: the fold's side mirrored in its leg, then turned.

    Raises:
        UnresolvedError: if the cut line does not reach over the middle of the dart.
        OverlapError: if the excess, folded, would lie over a far seam.
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
            if high - low <= SAME_PLACE:
                continue
            segment = segment.part(low, high)
        segment = _moved(segment, to_fold.after(motion))
        chain.append(segment.reversed() if mouth.leg == 0 else segment)
    at = _moved(shut.segment(place.number), to_fold.after(_motion_at(shut, number, place.number)))
    point = at.point(place.t)
    origin, ray = mouth.line_at(0.0)
    point = origin + ray * dot(point - origin, ray)
    try:
        over = first_exits(chain, mouth, point)
    except ValueError:
        raise UnresolvedError from None
    is_plain = mouth.window is None and not mouth.is_curved
    if is_plain and _comes_back_nearer(chain[: shut.count // 2 + 1], over, mouth):
        raise OverlapError(mouth)
    rising = [segment.mapped(mouth.mirror) for segment in over]
    falling = backward([segment.mapped(mouth.swing) for segment in over])
    other = mouth.swing(point)
    across = _closed([*rising, *falling], point, other)
    if mouth.leg == 1:
        return _windowed(mouth, (other, point), backward(across))
    return _windowed(mouth, (point, other), tuple(across))


def _comes_back_nearer(
    chain: Sequence[Segment], over: Sequence[Segment], mouth: FoldedMouth
) -> bool:
    """Tell whether the cut line, further on, runs nearer to the hinge where the excess lies.

    Args:
        chain: the cut line from the leg on.
        over: what of it lies under the excess.
        mouth: the mouth.
    """
    least = min(mouth.out(segment.point(t)) for segment in over for t in (0.0, 0.5, 1.0))
    for segment in chain[len(over) :]:
        for t in (0.25, 0.5, 0.75, 1.0):
            z = segment.point(t)
            if 0.0 < mouth.out(z) < least - _NEARER and 0.0 < mouth.reach(z) < mouth.half:
                return True
    return False


def _windowed(
    mouth: FoldedMouth, ends: tuple[complex, complex], across: tuple[Segment, ...]
) -> OpenedMouth:
    """Take the trim window out of the cut line across a mouth.

    Raises:
        DartError: if its sides do not reach the cut line.
    """
    if mouth.window is None:
        return OpenedMouth(mouth, ends, across, across, None)
    into, out = mouth.window
    first, second = first_by_chain(across, into), first_by_chain(across, out)
    if first is None or second is None or (second.segment, second.t) <= (first.segment, first.t):
        raise DartError(
            _("the trim window of the dart on {seam} does not reach the cut line.").format(
                seam=mouth.name
            ),
            remedy=_("Keep the excess of this dart, or set a smaller trim allowance."),
            place=mouth.fold_end,
        )
    there, back = ended(into, first.point), ended(out, second.point)
    rest = _chain_part(across, first, second)
    drawn = (
        *_chain_part(across, None, first),
        *backward(there),
        *back,
        *_chain_part(across, second, None),
    )
    return OpenedMouth(mouth, ends, across, drawn, (*there, *rest, *backward(back)))


def _chain_part(
    chain: Sequence[Segment], start: RingPlace | None, end: RingPlace | None
) -> list[Segment]:
    """Return the part of an open chain from one place, or its start, to another, or its end."""
    first = 0 if start is None else start.segment
    last = len(chain) - 1 if end is None else end.segment
    found: list[Segment] = []
    for index in range(first, last + 1):
        low = start.t if start is not None and index == first else 0.0
        high = end.t if end is not None and index == last else 1.0
        if high - low > SAME_PLACE:
            found.append(chain[index].part(low, high))
    if found and start is not None:
        found[0] = found[0]._replace(start=start.point)
    if found and end is not None:
        found[-1] = found[-1]._replace(end=end.point)
    return found


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
