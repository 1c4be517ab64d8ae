"""Allowances that are turned back on the piece: hems, and facings that are grown on.

Turned back, such an allowance has to lie flat on the neighbouring seams. So each of its ends is
the neighbour's stitch line mirrored in the fold, with the neighbour's own allowance, out to the
parallel of the fold at the turned width, which itself gets none. Common practice of the trade:
fold the paper on the hem line, then cut or trace the sides through both layers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType
from typing import NamedTuple

from drafting_core.allowance.cut_line import Strip, cut_line
from drafting_core.allowance.parallel_runs import moved_end, moved_start
from drafting_core.dart.folded_mouth import FoldedMouth
from drafting_core.model.allowances import Allowances
from drafting_core.model.outline import SHORTEST_SEGMENT, Edge, flattened, with_ends
from drafting_core.model.seam_names import HEM, WAIST, WRIST, Seam
from drafting_core.plane.crossings import crosses_itself, segment_crossings
from drafting_core.plane.curves import Line, Segment, dot, reflection_in, unit
from drafting_core.plane.motions import STILL, Motion
from drafting_core.text.errors import OutlineError
from drafting_core.text.lengths import in_words, place_in_words
from drafting_core.text.words import N_, _, capital

#: The parallel of a fold goes on straight this many widths beyond each of its ends, and so
#: catches mirrored sides that slant outward by up to 80 degrees.
_BEYOND = 6.0
#: A mirrored side goes on straight this many widths where the neighbouring seam has ended.
_STRAIGHT_ON = 20.0
#: Turned up last, over facings that are turned back before.
_LAST = frozenset({WAIST, HEM, WRIST})


class _Side(NamedTuple):
    """A segment of the line that is given allowances.

    Attributes:
        segment: the segment.
        width: its allowance in mm.
        seam: its seam.
        mouth: the mouth behind it that is folded shut, if there is one.
    """

    segment: Segment
    width: float
    seam: Seam
    mouth: FoldedMouth | None = None

    def moved(self, motion: Motion) -> _Side:
        """Return the side in another frame."""
        return self if motion == STILL else self._replace(segment=self.segment.mapped(motion))


class _Meeting(NamedTuple):
    """A mirrored side out to where it meets the far edge, and that place on the far edge."""

    side: list[_Side]
    segment: int
    t: float


def turned_out(
    edges: Sequence[Edge],
    allowances: Allowances,
    mouths: Mapping[int, FoldedMouth] = MappingProxyType({}),
) -> tuple[list[Strip], dict[int, FoldedMouth]]:
    """Return a stitch line with its turned allowances folded out, ready for `cut_line`.

    A dart on a turned allowance is sewn straight on to the raw edge, and lies flat when turned:
    its legs, extended, reach the far edge, where its mouth then lies.

    Args:
        edges: the stitch line without what lies across its mouths, in order, the interior at
            1j·tangent.
        allowances: the widths, and which of them are turned.
        mouths: the mouths that are folded shut, each by the index of the edge before it.

    Returns:
        Strips that run round the folded-out allowances, and the mouths by the strips before
        them; where none is turned, the edges as they are.

    Raises:
        OutlineError: if mirrored ends would meet each other, or cross the piece.
    """
    sides = [
        _Side(edge.segment, allowances.width(edge.seam), edge.seam, mouths.get(index))
        for index, edge in enumerate(edges)
    ]
    turned = dict.fromkeys(edge.seam for edge in edges if allowances.is_turned(edge.seam))
    for seam in sorted(turned, key=lambda seam: seam.kind in _LAST):
        if (width := allowances.width(seam)) > 0.0:
            sides = _folded_out(sides, seam, width)
    strips = [Strip(side.segment, side.width, side.seam.fold) for side in sides]
    return strips, {k: side.mouth for k, side in enumerate(sides) if side.mouth is not None}


def _folded_out(sides: Sequence[_Side], seam: Seam, width: float) -> list[_Side]:
    """Return the ring with every stretch of one seam replaced by its folded-out allowance."""
    count = len(sides)
    starts = [k for k in range(count) if sides[k].seam is seam and sides[k - 1].seam is not seam]
    if not starts:
        # The seam goes all round: it has no ends.
        return list(sides)
    # Behind the first start every stretch is whole.
    ring = [*sides[starts[0] :], *sides[: starts[0]]]
    found: list[_Side] = []
    k = 0
    while k < count:
        if ring[k].seam is not seam:
            found.append(ring[k])
            k += 1
            continue
        end = k
        while end < count and ring[end].seam is seam:
            end += 1
        following = ring[end % count :] + ring[: end % count]
        before = [*ring[k:], *ring[:k]][::-1]
        found += _opened_out(ring[k:end], before, following, width)
        k = end
    place = crosses_itself([side.segment for side in found])
    if place is not None:
        raise _does_not_fit(
            seam,
            N_(
                "the allowance of {width} cannot be turned back: its mirrored ends would cross the "
                "piece, near {place}."
            ),
            place,
            width,
        )
    return found


def _opened_out(
    stretch: Sequence[_Side], before: Sequence[_Side], following: Sequence[_Side], width: float
) -> list[_Side]:
    """Return a folded-out allowance with the mouths in it shut, and opened again.

    Args:
        stretch: the sides along the fold.
        before: the ring backward from the fold's start.
        following: the ring onward from the fold's end.
        width: the turned width in mm.

    Raises:
        OutlineError: if it cannot be turned back, or a dart in it does not reach its edge.
    """
    motions = _shut(stretch)
    end = motions[-1]
    if (last := stretch[-1].mouth) is not None:
        end = end.after(last.back)
    onward = [
        side.moved(end.after(motion))
        for side, motion in zip(following, _shut(following), strict=True)
    ]
    shut = [side.moved(motion) for side, motion in zip(stretch, motions, strict=True)]
    made = _allowance(_meeting(shut), _backward_shut(before), onward, width)
    inside = [
        (side.mouth, motion)
        for side, motion in zip(stretch[:-1], motions[:-1], strict=True)
        if side.mouth is not None
    ]
    opened: list[_Side] = []
    left, home = list(made), STILL
    for mouth, motion in inside:
        cut = _cut_at(left, motion(mouth.ends[0]), motion.spin * mouth.outward[0])
        if cut is None:
            raise _does_not_fit(
                stretch[0].seam,
                N_(
                    "the allowance of {width} cannot be turned back: a dart does not reach its "
                    "edge, near {place}."
                ),
                mouth.ends[0],
                width,
            )
        first, left, place = cut
        opened += [side.moved(home) for side in first]
        following_frame = motion.after(mouth.back).undone()
        ends = motion.undone()(place), following_frame(place)
        opened[-1] = opened[-1]._replace(mouth=mouth.with_ends(ends))
        home = following_frame
    opened += [side.moved(home) for side in left]
    opened[-1] = opened[-1]._replace(mouth=last)
    return _without_specks(opened)


def _meeting(shut: Sequence[_Side]) -> list[_Side]:
    """Return shut sides end to end: where legs differ by a hand's reshaping, at their mean."""
    sides = [side._replace(mouth=None) for side in shut]
    for index, (one, other) in enumerate(pairwise(shut)):
        if one.mouth is not None:
            middle = 0.5 * (sides[index].segment.end + other.segment.start)
            first, second = sides[index].segment, sides[index + 1].segment
            sides[index] = sides[index]._replace(segment=with_ends(first, first.start, middle))
            sides[index + 1] = other._replace(
                segment=with_ends(second, middle, second.end), mouth=None
            )
    return sides


def _without_specks(sides: Sequence[_Side]) -> list[_Side]:
    """Return sides without those too short to be written; their mouths stay."""
    kept: list[_Side] = []
    for side in sides:
        if side.segment.length() >= SHORTEST_SEGMENT or not kept:
            kept.append(side)
        elif side.mouth is not None:
            kept[-1] = kept[-1]._replace(mouth=side.mouth)
    return kept


def _shut(chain: Sequence[_Side]) -> list[Motion]:
    """Return for each side of a chain the motion to the frame of the first, its mouths shut."""
    motions = [STILL]
    for side in chain[:-1]:
        back = STILL if side.mouth is None else side.mouth.back
        motions.append(motions[-1].after(back))
    return motions


def _backward_shut(chain: Sequence[_Side]) -> list[_Side]:
    """Return a chain that runs backward, in the frame of what lies behind its first side."""
    found, motion = [], STILL
    for side in chain:
        if side.mouth is not None:
            motion = motion.after(side.mouth.back.undone())
        found.append(side.moved(motion)._replace(mouth=None))
    return found


def _cut_at(
    chain: Sequence[_Side], origin: complex, ray: complex
) -> tuple[list[_Side], list[_Side], complex] | None:
    """Return a chain cut in two by a ray, and the place, or None where the ray misses it."""
    best: tuple[float, int, float] | None = None
    for index, side in enumerate(chain):
        for t in side.segment.on_ray(origin, ray):
            out = dot(side.segment.point(t) - origin, ray)
            if out > 0.0 and (best is None or out < best[0]):
                best = out, index, t
    if best is None:
        return None
    _out, index, t = best
    cut = chain[index]
    place = cut.segment.point(t)
    first = [*chain[:index], cut._replace(segment=cut.segment.part(0.0, t), mouth=None)]
    second = [cut._replace(segment=cut.segment.part(t, 1.0)), *chain[index + 1 :]]
    # At a node one of the two has nothing on it.
    if len(first) > 1 and first[-1].segment.length() < SHORTEST_SEGMENT:
        del first[-1]
        first[-1] = first[-1]._replace(segment=moved_end(first[-1].segment, place))
    if len(second) > 1 and second[0].segment.length() < SHORTEST_SEGMENT:
        del second[0]
        second[0] = second[0]._replace(segment=moved_start(second[0].segment, place))
    return first, second, place


def _allowance(
    stretch: Sequence[_Side], before: Sequence[_Side], following: Sequence[_Side], width: float
) -> list[_Side]:
    """Return a folded-out allowance: mirrored side, far edge, mirrored side.

    Args:
        stretch: the sides along the fold.
        before: the ring backward from the fold's start.
        following: the ring onward from the fold's end.
        width: the turned width in mm.
    """
    seam, fold = stretch[0].seam, [side.segment for side in stretch]
    _check_depth(seam, fold, [side.segment for side in following], width)
    far = _far_edge(stretch, width)
    backward = [side._replace(segment=side.segment.reversed()) for side in before]
    ends = (
        (fold[0].start, fold[0].start_tangent(), backward),
        (fold[-1].end, fold[-1].end_tangent(), following),
    )
    meetings = []
    for corner, along, chain in ends:
        met = _mirrored(corner, along, chain, far, width)
        if met is None:
            raise _does_not_fit(
                seam,
                N_(
                    "the allowance of {width} cannot be turned back: a mirrored side does not "
                    "reach the turned width, near {place}."
                ),
                corner,
                width,
            )
        meetings.append(met)
    first, second = meetings
    if (first.segment, first.t) >= (second.segment, second.t):
        raise _does_not_fit(
            seam,
            N_(
                "the allowance of {width} cannot be turned back: its mirrored sides meet before "
                "that width is reached, near {place}."
            ),
            fold[0].start,
            width,
        )
    edge = _part(far, first, second)
    inward = [side._replace(segment=side.segment.reversed()) for side in reversed(second.side)]
    return [*first.side, *(_Side(segment, 0.0, seam) for segment in edge), *inward]


def _check_depth(
    seam: Seam, fold: Sequence[Segment], others: Iterable[Segment], width: float
) -> None:
    """Refuse an allowance that, turned back, would reach beyond the piece."""
    start = fold[0].start
    inward = 1j * unit(fold[-1].end - start)
    depth = max(dot(z - start, inward) for z in flattened(others, 8))
    if width >= depth:
        raise _does_not_fit(
            seam,
            N_(
                "the allowance of {width} cannot be turned back: the piece is only {depth} deep "
                "there, near {place}."
            ),
            start,
            width,
            depth,
        )


def _far_edge(stretch: Sequence[_Side], width: float) -> list[Segment]:
    """Return the parallel of a chain, each side at its own width, gone on straight at both ends.

    It is the cut line of a ring that closes far inside with sides of no allowance.
    """
    beyond = _BEYOND * width
    opening, closing = stretch[0].segment, stretch[-1].segment
    start, end = opening.start, closing.end
    first = start - beyond * opening.start_tangent()
    last = end + beyond * closing.end_tangent()
    tip = 0.5 * (first + last) + 2j * (last - first)
    strips = [
        Strip(Line(first, start), width),
        *(Strip(side.segment, side.width) for side in stretch),
        Strip(Line(end, last), width),
        Strip(Line(last, tip), 0.0),
        Strip(Line(tip, first), 0.0),
    ]
    ring = cut_line(strips)
    k = min(range(len(ring)), key=lambda k: abs(ring[k].start - tip))
    return [*ring[k + 1 :], *ring[: k - 1]] if k else ring[1:-1]


def _mirrored(
    corner: complex, along: complex, chain: Sequence[_Side], far: Sequence[Segment], width: float
) -> _Meeting | None:
    """Return the neighbouring seam mirrored in the fold, out to the far edge.

    Where the seam ends before, it goes on straight; an edge on the fold of the cloth does so at
    once, since the cloth can be folded only along one line.

    Args:
        corner: where the fold meets the neighbouring seam.
        along: the direction of the fold there.
        chain: the ring from the corner on, away from the fold.
        far: the far edge.
        width: the turned width in mm.
    """
    seam = chain[0].seam
    mirror = reflection_in(corner, along)
    outward: list[_Side] = []
    if seam.fold:
        heading, last = -chain[0].segment.start_tangent(), corner
    else:
        for side in chain:
            if side.seam is not seam:
                break
            outward.append(side._replace(segment=side.segment.mapped(mirror)))
        heading, last = outward[-1].segment.end_tangent(), outward[-1].segment.end
    wide = outward[-1].width if outward else chain[0].width
    outward.append(_Side(Line(last, last + _STRAIGHT_ON * width * heading), wide, seam))
    for index, (segment, wide, _seam, _mouth) in enumerate(outward):
        hits = [
            (t, k, u) for k, edge in enumerate(far) for t, u in segment_crossings(segment, edge)
        ]
        if hits:
            t, k, u = min(hits)
            met = [*outward[:index], _Side(segment.part(0.0, t), wide, seam)]
            kept = [side for side in met if side.segment.length() >= SHORTEST_SEGMENT]
            return _Meeting(kept, k, u) if kept else None
    return None


def _part(far: Sequence[Segment], first: _Meeting, second: _Meeting) -> list[Segment]:
    """Return the far edge from one meeting to another, its ends those of the mirrored sides."""
    parts = []
    for k in range(first.segment, second.segment + 1):
        low = first.t if k == first.segment else 0.0
        high = second.t if k == second.segment else 1.0
        if far[k].length(low, high) >= SHORTEST_SEGMENT:
            parts.append(far[k].part(low, high))
    if not parts:
        return []
    parts[0] = parts[0]._replace(start=first.side[-1].segment.end)
    parts[-1] = parts[-1]._replace(end=second.side[-1].segment.end)
    return parts


def _does_not_fit(
    seam: Seam, what: str, place: complex, width: float, depth: float = 0.0
) -> OutlineError:
    return OutlineError(
        _(what).format(width=in_words(width), depth=in_words(depth), place=place_in_words(place)),
        thing=capital(seam.spoken),
        remedy=_("Make it narrower, or leave it unturned and cut a facing of its own."),
        place=place,
    )
