"""The cut line: the stitch line with each seam's own allowance added.

Each strip of the stitch line gets its parallel; neighbours are extended or trimmed to their
meeting; pieces too short for their neighbours' allowances vanish, and the neighbours meet
instead. What still crosses is taken apart into loops, of which the outermost is the cut line.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Sequence
from contextlib import suppress
from itertools import pairwise
from typing import NamedTuple

from drafting_core.allowance.corners import SAME_WIDTH, Joint, Run, meet, rough_length, step
from drafting_core.allowance.cut_line_check import cut_line_fault
from drafting_core.allowance.parallel_runs import Gap, moved_end, moved_start, parallel_runs
from drafting_core.model.outline import SHORTEST_SEGMENT
from drafting_core.plane.crossings import crosses_itself
from drafting_core.plane.curves import Cubic, Line, Segment, cross
from drafting_core.plane.loops import simple_loops
from drafting_core.plane.parallel import CUT_TOLERANCE
from drafting_core.text.errors import OutlineError
from drafting_core.text.words import _

#: A mitre longer than this many widths (the wider one) is cut square across.
MITRE_LIMIT = 4.0


class Strip(NamedTuple):
    """A segment of the stitch line with its allowance.

    Attributes:
        segment: the segment.
        width: the allowance in mm; 0 on a fold edge.
    """

    segment: Segment
    width: float


class _UnresolvedError(Exception):
    """A way of finding the cut line has failed."""


def cut_line(
    strips: Sequence[Strip], tolerance: float = CUT_TOLERANCE, mitre_limit: float = MITRE_LIMIT
) -> list[Segment]:
    """Return the closed cut line of a closed stitch line.

    Args:
        strips: the stitch line with its caps, in order, end to end, of positive area (the sum
            of `Segment.area`), each with its own width.
        tolerance: how far in mm the cut line may lie from the true parallel.
        mitre_limit: a mitre longer than this many widths (the wider one) is cut square across.

    Returns:
        The cut line, end to end, in the same sense. Lines stay lines, smooth joints smooth.

    Raises:
        OutlineError: if the strips are no ring that can be given an allowance, or if the
            allowances fit in no way.
    """
    if not strips:
        raise OutlineError(_("The stitch line is empty."), remedy=_("Draw a closed outline."))
    for strip in strips:
        if not (strip.width >= 0.0 and math.isfinite(strip.width)):
            raise OutlineError(
                _("A seam allowance of {width:g} mm cannot be added.").format(width=strip.width),
                remedy=_("Give each seam an allowance of 0 or more."),
                place=strip.segment.start,
            )
    for strip, following in zip(strips, (*strips[1:], strips[0]), strict=True):
        if not abs(strip.segment.end - following.segment.start) <= SHORTEST_SEGMENT:
            raise OutlineError(
                _("The stitch line does not close."),
                remedy=_("Let each seam start where the one before ends."),
                place=strip.segment.end,
            )
    if all(strip.width == 0.0 for strip in strips):
        return [strip.segment for strip in strips]
    pieces = [
        (_plain(strip.segment), strip.width)
        for strip in strips
        if rough_length(strip.segment) >= SHORTEST_SEGMENT
    ]
    if not pieces or sum(strip.segment.area() for strip in strips) <= 0.0:
        raise OutlineError(
            _("The stitch line encloses nothing, or runs the wrong way round."),
            remedy=_("Draw a closed outline that does not cross itself."),
            place=strips[0].segment.start,
        )
    stitch = [piece[0] for piece in pieces]
    widths = [piece[1] for piece in pieces]
    # Only at one width can the cut line nowhere come nearer than that.
    least = widths[0] if max(widths) - min(widths) <= SAME_WIDTH else 0.0
    place: complex | None = None
    # A segment that turns back on the spot has no direction there.
    with suppress(ZeroDivisionError):
        for ring in _attempts(pieces, tolerance, mitre_limit):
            fault = cut_line_fault(ring, stitch, least)
            if fault is None:
                return ring
            place = fault if place is None else place
    raise OutlineError(
        _("The seam allowances do not fit round this outline."),
        remedy=_("Make them narrower, or ease the outline here."),
        place=stitch[0].start if place is None else place,
    )


def _attempts(
    pieces: Sequence[tuple[Segment, float]], tolerance: float, mitre_limit: float
) -> Iterator[list[Segment]]:
    """Yield rings that may be the cut line, the likeliest first."""
    runs, gaps = parallel_runs(pieces, tolerance)
    with suppress(_UnresolvedError):
        ring = _tidied(_joined(runs, gaps, mitre_limit))
        yield ring if crosses_itself(ring) is None else _outermost(ring)
    yield _outermost(_overlapping(runs, gaps, mitre_limit))
    # Parallels that lie on each other across a notch cross nowhere: part them, each smooth
    # run by its own length of less than can be cut.
    for index, run in enumerate(runs):
        away = 1e-4 * (1 + 7 * index % 13)
        run.move(-1j * run.start_tangent * away)
    yield _outermost(_overlapping(runs, gaps, mitre_limit))


def _plain(segment: Segment) -> Segment:
    """Return a straight cubic as the line that it counts as."""
    if isinstance(segment, Cubic) and segment.is_straight():
        return Line(segment.start, segment.end)
    return segment


def _joined(runs: list[Run], gaps: list[Gap], mitre_limit: float) -> list[Segment]:
    """Return the ring of all runs that do not vanish, each neighbours' meeting to meeting."""
    if not gaps:
        segments = list(runs[0].segments)
        middle = 0.5 * (segments[-1].end + segments[0].start)
        segments[-1] = moved_end(segments[-1], middle)
        segments[0] = moved_start(segments[0], middle)
        return segments
    gaps = list(gaps)
    count = len(runs)
    stepped = [False] * count
    before = [(k - 1) % count for k in range(count)]
    behind = [(k + 1) % count for k in range(count)]
    joints: list[Joint | None] = [None] * count

    def join(k: int) -> None:
        """Find the joint behind a run."""
        gap = gaps[k]
        joints[k] = meet(
            runs[k],
            runs[behind[k]],
            gap.corner,
            gap.net_turn,
            mitre_limit,
            neighbours=gap.neighbours,
        )

    for k in range(count):
        join(k)
    stamps = [0] * count
    heap: list[tuple[float, int, int]] = []

    def look(k: int) -> None:
        """Put a run that has to vanish on the heap."""
        stamps[k] += 1
        start, end = joints[before[k]], joints[k]
        if start is None or end is None:
            # It does not meet its neighbour: the shorter of the two goes, but last of all.
            other = before[k] if start is None else behind[k]
            if runs[k].size <= runs[other].size:
                heapq.heappush(heap, (1.0 + runs[k].size, k, stamps[k]))
            return
        left = runs[k].distance(end.before) - runs[k].distance(start.after)
        if left < SHORTEST_SEGMENT:
            # The share of the allowances at which it vanished, were all widened from 0.
            size = runs[k].size
            heapq.heappush(heap, (size / max(size - left, 1e-9), k, stamps[k]))

    for k in range(count):
        look(k)
    alive = count
    gone = [False] * count
    anchor = 0
    while heap:
        _, k, stamp = heapq.heappop(heap)
        if gone[k] or stamp != stamps[k]:
            continue
        previous, following = before[k], behind[k]
        eased = _overrun(
            runs[k],
            (
                (previous, runs[previous], joints[previous], gaps[previous]),
                (k, runs[following], joints[k], gaps[k]),
            ),
        )
        if eased is not None and not stepped[eased]:
            stepped[eased] = True
            joints[eased] = step(runs[eased], runs[behind[eased]])
            for touched in (eased, behind[eased]):
                look(touched)
            continue
        if alive <= 2:
            raise _UnresolvedError
        gone[k] = True
        alive -= 1
        behind[previous], before[following] = following, previous
        gaps[previous] = Gap(
            0.5 * (gaps[previous].corner + gaps[k].corner),
            gaps[previous].net_turn + runs[k].turning + gaps[k].net_turn,
            [],
            False,
        )
        join(previous)
        for touched in (previous, following):
            look(touched)
        anchor = previous
    ring: list[Segment] = []
    k = anchor
    while True:
        start, end = joints[before[k]], joints[k]
        if start is None or end is None:
            raise _UnresolvedError
        ring += runs[k].between(start.after, end.before, start.enter, end.leave)
        if end.leave != end.enter:
            ring.append(Line(end.leave, end.enter))
        k = behind[k]
        if k == anchor:
            return ring


def _overrun(run: Run, sides: Sequence[tuple[int, Run, Joint | None, Gap]]) -> int | None:
    """Return the joint at which a narrower neighbour's extension overruns a run, or None.

    A wide allowance is not lost to a narrow one: a step is better there than a meeting. The
    two sides are those before and behind the run: joint's index, neighbour, joint and gap.
    """
    found, most = None, 0.0
    for is_behind, (index, other, joint, gap) in enumerate(sides):
        if joint is None or joint.leave != joint.enter or abs(gap.net_turn) > math.pi / 2:
            continue
        if is_behind:
            extended = joint.after <= 0.0
            trimmed = run.distance(len(run.segments)) - run.distance(joint.before)
        else:
            extended = joint.before >= len(other.segments)
            trimmed = run.distance(joint.after)
        if extended and trimmed > most and other.width < run.width - SAME_WIDTH:
            found, most = index, trimmed
    return found


def _overlapping(runs: list[Run], gaps: list[Gap], mitre_limit: float) -> list[Segment]:
    """Return a ring of all runs, whole, whose outermost loop is the cut line.

    Where two runs would have to be trimmed, the ring goes from the one by way of the stitch
    line to the other instead, which leaves loops that wind the other way.
    """
    count = len(runs)
    if not gaps:
        return _joined(runs, gaps, mitre_limit)
    joints: list[Joint | None] = []
    for k in range(count):
        a, b = runs[k], runs[(k + 1) % count]
        joint = meet(a, b, gaps[k].corner, gaps[k].net_turn, mitre_limit, neighbours=True)
        if joint and joint.before < len(a.segments) and joint.after > 0.0:
            joint = None
        joints.append(joint)
    for k, run in enumerate(runs):
        start, end = joints[k - 1], joints[k]
        low = start.after if start else 0.0
        high = end.before if end else float(len(run.segments))
        if run.distance(high) - run.distance(low) < SHORTEST_SEGMENT:
            if start and start.after > 0.0:
                joints[k - 1] = None
            if end and end.before < len(run.segments):
                joints[k] = None
    ring: list[Segment] = []
    for k, run in enumerate(runs):
        start, end = joints[k - 1], joints[k]
        low, enter = (start.after, start.enter) if start else (0.0, run.start)
        high, leave = (end.before, end.leave) if end else (float(len(run.segments)), run.end)
        ring += [part for part in run.between(low, high, enter, leave) if part.start != part.end]
        following = runs[(k + 1) % count]
        if end:
            stops = [end.leave, end.enter]
        elif gaps[k].backward:
            backward = gaps[k].backward
            if run.end != backward[0].start:
                ring.append(Line(run.end, backward[0].start))
            ring += backward
            stops = [backward[-1].end, following.start]
        else:
            stops = [run.end, run.stitch_end, following.stitch_start, following.start]
        ring += [Line(p, q) for p, q in pairwise(stops) if p != q]
    return _without_spikes(ring)


def _without_spikes(ring: list[Segment]) -> list[Segment]:
    """Return a ring without lines that are at once run back over."""
    kept: list[Segment] = []
    for segment in ring:
        if kept and isinstance(segment, Line) and kept[-1] == segment.reversed():
            kept.pop()
        else:
            kept.append(segment)
    while len(kept) > 2 and isinstance(kept[0], Line) and kept[-1] == kept[0].reversed():
        del kept[0], kept[-1]
    return kept


def _tidied(ring: list[Segment]) -> list[Segment]:
    """Return a ring without segments too short to be written; their neighbours close up."""
    kept = list(ring)
    index = 0
    while index < len(kept) and len(kept) > 2:
        if rough_length(kept[index]) >= SHORTEST_SEGMENT:
            index += 1
            continue
        following = (index + 1) % len(kept)
        place = _closing(kept[index - 1], kept[following])
        kept[index - 1] = moved_end(kept[index - 1], place)
        kept[following] = moved_start(kept[following], place)
        del kept[index]
        index = max(0, index - 1)
    return kept


def _closing(before: Segment, behind: Segment) -> complex:
    """Return where two segments close up over a short gap: lines at their meeting."""
    middle = 0.5 * (before.end + behind.start)
    if isinstance(before, Line) and isinstance(behind, Line):
        p, q = before.end - before.start, behind.end - behind.start
        under = cross(p, q)
        if under:
            place = before.start + p * (cross(behind.start - before.start, q) / under)
            if abs(place - middle) < SHORTEST_SEGMENT:
                return place
    return middle


def _outermost(ring: list[Segment]) -> list[Segment]:
    """Return the loop of largest area of a ring that crosses itself."""
    loops = simple_loops(ring)
    largest = max(loops, key=lambda loop: sum(segment.area() for segment in loop))
    return _tidied(_without_spikes(largest))
