"""The parallels of a stitch line, gathered into smooth runs with gaps at corners and cusps."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType

from drafting_core.allowance.corners import SAME_WIDTH, Run, rough_length
from drafting_core.plane.curves import Cubic, Line, Segment, turn
from drafting_core.plane.motions import STILL, Motion
from drafting_core.plane.parallel import parallel_stretches

#: A joint that turns less than this (0.05 degrees) is smooth.
SMOOTH_TURN = math.radians(0.05)


class Gap:
    """What lies between two runs.

    Attributes:
        corner: the corner between their stitch lines, or the middle of what lies between.
        net_turn: the signed angle in radians from the end of the one run to the start of the
            next, not reduced to half a turn; positive is outward.
        backward: the parallel where it runs backward between two cusps, if it does.
        neighbours: whether nothing has vanished between the two.
        motion: the motion from the frame of the next run to that of the one before: where a
            mouth lies between the two, the one that shuts it.
        mouths: the numbers of the mouths that lie between the two, in order.
        bend: by how much of that angle the stitch line turns at corners, not along curves.
    """

    __slots__ = ("backward", "bend", "corner", "motion", "mouths", "neighbours", "net_turn")

    def __init__(
        self,
        corner: complex,
        net_turn: float,
        backward: list[Segment],
        neighbours: bool = True,
        motion: Motion = STILL,
        mouths: tuple[int, ...] = (),
        bend: float = 0.0,
    ) -> None:
        """Take what lies between the two."""
        self.corner, self.net_turn, self.backward = corner, net_turn, backward
        self.neighbours, self.motion, self.mouths, self.bend = neighbours, motion, mouths, bend


class _Part:
    """A stretch of one strip's parallel, on its way into a run.

    Attributes:
        mouth: the number of the mouth behind it, if one is there.
        is_fold: whether it is part of a fold edge.
    """

    __slots__ = (
        "end_tangent", "forward", "is_fold", "mouth", "segments", "start_tangent", "stitch",
        "turning", "width",
    )  # fmt: skip

    def __init__(
        self,
        stitch: list[Segment],
        width: float,
        segments: list[Segment],
        forward: bool,
        start_tangent: complex,
        end_tangent: complex,
        turning: float,
        mouth: int | None = None,
        is_fold: bool = False,
    ) -> None:
        self.stitch, self.width, self.segments, self.forward = stitch, width, segments, forward
        self.start_tangent, self.end_tangent = start_tangent, end_tangent
        self.turning, self.mouth, self.is_fold = turning, mouth, is_fold

    def end_ray(self, at_start: bool) -> _Part:
        """Return a part without length at one end, for its straight extensions alone."""
        segment = self.segments[0] if at_start else self.segments[-1]
        tangent = self.start_tangent if at_start else self.end_tangent
        place = segment.start if at_start else segment.end
        stitch = self.stitch[0] if at_start else self.stitch[-1]
        foot = stitch.start if at_start else stitch.end
        return _Part(
            [Line(foot, foot)], self.width, [Line(place, place)], True, tangent, tangent, 0.0
        )


def _parts(
    pieces: Sequence[tuple[Segment, float, bool]], tolerance: float, mouths: Mapping[int, int]
) -> Iterator[_Part]:
    for index, (segment, width, is_fold) in enumerate(pieces):
        found = parallel_stretches(segment, width, tolerance)
        for stretch in found:
            source = segment if len(found) == 1 else segment.part(stretch.start, stretch.end)
            yield _Part(
                [source],
                width,
                stretch.segments,
                stretch.forward,
                segment.start_tangent() if stretch.start == 0.0 else segment.tangent(stretch.start),
                segment.end_tangent() if stretch.end == 1.0 else segment.tangent(stretch.end),
                stretch.turning,
                mouths.get(index) if stretch is found[-1] else None,
                is_fold,
            )


def _smooth(one: _Part, other: _Part) -> bool:
    """Tell whether two neighbouring parts are at one width, and their stitch line smooth."""
    return (
        one.mouth is None
        and abs(one.width - other.width) <= SAME_WIDTH
        and one.is_fold == other.is_fold
        and abs(turn(one.end_tangent, other.start_tangent)) < SMOOTH_TURN
    )


def parallel_runs(
    pieces: Sequence[tuple[Segment, float, bool]],
    tolerance: float,
    mouths: Mapping[int, int] = MappingProxyType({}),
    motions: Sequence[Motion] = (),
) -> tuple[list[Run], list[Gap]]:
    """Return the runs of the parallel of a stitch line and the gap behind each of them.

    Args:
        pieces: the segments of the closed stitch line, each with its width in mm and whether it
            is a fold edge.
        tolerance: how far in mm a parallel may lie from the true one.
        mouths: the number of the mouth that is folded shut behind a piece, by the piece's index.
        motions: for each mouth the motion that shuts it, from the frame behind to that before.

    Returns:
        The runs in order, without what runs backward behind a cusp, and as many gaps. A ring
        that is smooth all round gives one run and no gap.
    """
    plain = list(_parts(pieces, tolerance, mouths))
    parts: list[_Part] = []
    for index, part in enumerate(plain):
        before, behind = plain[index - 1], plain[(index + 1) % len(plain)]
        # A parallel that runs backward up to a corner still has its extension there.
        if not part.forward and not _smooth(before, part):
            parts.append(part.end_ray(True))
        parts.append(part)
        if not part.forward and not _smooth(part, behind):
            parts.append(part.end_ray(False))
            parts[-1].mouth, part.mouth = part.mouth, None
    count = len(parts)

    def runs_on(index: int) -> bool:
        """Tell whether a part runs on smoothly into the next."""
        one, other = parts[index], parts[(index + 1) % count]
        return one.forward and other.forward and _smooth(one, other)

    # Start where a run starts.
    first = next((k for k in range(count) if parts[k].forward and not runs_on(k - 1)), None)
    if first is None:
        return [_run(parts)], []
    parts = parts[first:] + parts[:first]
    runs: list[Run] = []
    gaps: list[Gap] = []
    group: list[_Part] = []
    corner_start, net, bend = 0j, 0.0, 0.0
    backward: list[Segment] = []
    passed: tuple[int, ...] = ()
    motion = STILL
    for index, part in enumerate(parts):
        following = parts[(index + 1) % count]
        back = STILL if part.mouth is None else motions[part.mouth]
        joint_turn = turn(part.end_tangent, back.spin * following.start_tangent)
        if part.forward:
            group.append(part)
            if runs_on(index):
                continue
            runs.append(_run(group))
            group, backward = [], []
            corner_start, net, bend = part.stitch[-1].end, joint_turn, joint_turn
            passed, motion = (), STILL
        else:
            net += part.turning + joint_turn
            bend += joint_turn
            backward.extend(part.segments)
        if part.mouth is not None:
            passed, motion = (*passed, part.mouth), motion.after(back)
        if following.forward:
            corner = 0.5 * (corner_start + motion(following.stitch[0].start))
            gaps.append(Gap(corner, net, backward, motion=motion, mouths=passed, bend=bend))
    return runs, gaps


def _run(group: Sequence[_Part]) -> Run:
    segments: list[Segment] = []
    for part in group:
        if segments:
            _join(segments, part.segments[0])
            segments.extend(part.segments[1:])
        else:
            segments.extend(part.segments)
    turning = sum(part.turning for part in group) + sum(
        turn(one.end_tangent, other.start_tangent) for one, other in pairwise(group)
    )
    start, end = segments[0].start, segments[-1].end
    if len(segments) == 1 and start == end and isinstance(segments[0], Line):
        segments = []
    stitch = [segment for part in group for segment in part.stitch]
    return Run(
        segments,
        group[0].width,
        stitch[0].start,
        stitch[-1].end,
        group[0].start_tangent,
        group[-1].end_tangent,
        turning,
        stitch,
        sum(rough_length(segment) for segment in stitch),
        start,
        end,
        group[0].is_fold,
    )


def moved_start(segment: Segment, to: complex) -> Segment:
    """Return the segment with its start, and the handle there, shifted."""
    if isinstance(segment, Cubic):
        return segment._replace(start=to, control1=segment.control1 + (to - segment.start))
    return segment._replace(start=to)


def moved_end(segment: Segment, to: complex) -> Segment:
    """Return the segment with its end, and the handle there, shifted."""
    if isinstance(segment, Cubic):
        return segment._replace(end=to, control2=segment.control2 + (to - segment.end))
    return segment._replace(end=to)


def _join(segments: list[Segment], following: Segment) -> None:
    """Append a segment, letting both ends give way to their middle."""
    if segments[-1].end != following.start:
        middle = 0.5 * (segments[-1].end + following.start)
        segments[-1] = moved_end(segments[-1], middle)
        following = moved_start(following, middle)
    segments.append(following)
