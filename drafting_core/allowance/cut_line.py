"""The cut line: the stitch line with each seam's own allowance added.

Each strip of the stitch line gets its parallel; neighbours are extended or trimmed to their
meeting; pieces too short for their neighbours' allowances vanish, and the neighbours meet
instead. What still crosses is taken apart into loops, of which the outermost is the cut line.
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from itertools import pairwise
from typing import NamedTuple

from drafting_core.allowance.corners import SAME_WIDTH, CutJoint, Run, meet, rough_length
from drafting_core.allowance.cut_line_check import cut_line_fault
from drafting_core.allowance.joined_runs import UnresolvedError, closed_run, joined_runs
from drafting_core.allowance.opened import OpenedMouth, OverlapError, Part, opened
from drafting_core.allowance.parallel_runs import Gap, moved_end, moved_start, parallel_runs
from drafting_core.dart.folded_mouth import FoldedMouth
from drafting_core.model.outline import SHORTEST_SEGMENT, nearest_on
from drafting_core.plane.crossings import crosses_itself
from drafting_core.plane.curves import Cubic, Line, Segment, cross
from drafting_core.plane.parallel import CUT_TOLERANCE
from drafting_core.text.errors import OutlineError
from drafting_core.text.lengths import told_exactly
from drafting_core.text.words import _

#: A mitre longer than this many widths (the wider one) is cut square across.
MITRE_LIMIT = 4.0
#: Parallels that lie on each other are parted by some of these (mm): less than can be cut.
_PARTED = 1e-4


class Strip(NamedTuple):
    """A segment of the stitch line with its allowance.

    Attributes:
        segment: the segment.
        width: the allowance in mm; 0 on a fold edge.
        is_fold: whether it is a fold edge, beyond whose line nothing of the piece may lie.
    """

    segment: Segment
    width: float
    is_fold: bool = False


class OpenedCutLine(NamedTuple):
    """A cut line with mouths that are folded shut when the piece is sewn.

    Attributes:
        ring: the closed cut line, every trim window taken out.
        mouths: what it is at each mouth, in the order of the outline.
    """

    ring: list[Segment]
    mouths: Sequence[OpenedMouth]

    def windows(self) -> dict[int, tuple[Segment, ...]]:
        """Return the trim windows by the numbers of their darts."""
        return {
            item.mouth.dart: item.window
            for item in self.mouths
            if item.window is not None and item.mouth.dart is not None
        }


def cut_line(
    strips: Sequence[Strip], tolerance: float = CUT_TOLERANCE, mitre_limit: float = MITRE_LIMIT
) -> list[Segment]:
    """Return the closed cut line of a closed stitch line.

    Args:
        strips: the stitch line, in order, end to end, of positive area (the sum of
            `Segment.area`), each with its own width.
        tolerance: how far in mm the cut line may lie from the true parallel.
        mitre_limit: a mitre longer than this many widths (the wider one) is cut square across.

    Returns:
        The cut line, end to end, in the same sense. Lines stay lines, smooth joints smooth.

    Raises:
        OutlineError: if the strips are no ring that can be given an allowance, or if the
            allowances fit in no way.
    """
    return opened_cut_line(strips, {}, tolerance, mitre_limit).ring


def opened_cut_line(
    strips: Sequence[Strip],
    mouths: Mapping[int, FoldedMouth],
    tolerance: float = CUT_TOLERANCE,
    mitre_limit: float = MITRE_LIMIT,
) -> OpenedCutLine:
    """Return the cut line of a stitch line with mouths that are folded shut when it is sewn.

    At a mouth the allowance is that of the seam as it is sewn: the cut line of the shut seam,
    opened again.

    Args:
        strips: the stitch line, in order, end to end but for the mouths, of positive area.
        mouths: the mouths, each by the index of the strip before it.
        tolerance: how far in mm the cut line may lie from the true parallel.
        mitre_limit: a mitre longer than this many widths (the wider one) is cut square across.

    Raises:
        OutlineError: if the strips are no ring that can be given an allowance, or if the
            allowances fit in no way.
        OverlapError: if the excess of a dart, cut as it lies folded, would lie over another part
            of the piece when it is opened.
        DartError: if a trim window does not reach the cut line.
    """
    _check_strips(strips, mouths)
    caps = {index: mouth.cap or (Line(*mouth.ends),) for index, mouth in mouths.items()}
    stitch = _with_mouths(strips, caps)
    if all(strip.width == 0.0 for strip in strips) and not mouths:
        return OpenedCutLine(stitch, ())
    kept = [k for k, s in enumerate(strips) if rough_length(s.segment) >= SHORTEST_SEGMENT]
    pieces = [strips[k]._replace(segment=_plain(strips[k].segment)) for k in kept]
    if not pieces or sum(segment.area() for segment in stitch) <= 0.0:
        raise OutlineError(
            _("The stitch line encloses nothing, or runs the wrong way round."),
            remedy=_("Draw a closed outline that does not cross itself."),
            place=strips[0].segment.start,
        )
    widths = [piece.width for piece in pieces]
    # Only at one width can the cut line nowhere come nearer than that.
    is_even = max(widths) - min(widths) <= SAME_WIDTH and not mouths
    least = widths[0] if is_even else 0.0
    folded = {bisect.bisect_right(kept, k) - 1: mouth for k, mouth in mouths.items()}
    place: complex | None = None
    # A segment that turns back on the spot has no direction there.
    with suppress(ZeroDivisionError):
        for ring, made in _attempts(pieces, tolerance, mitre_limit, folded):
            if mouths:
                stitch = _with_mouths(strips, _drawn_caps(mouths, made))
            fault = cut_line_fault(ring, stitch, least)
            if fault is None:
                return OpenedCutLine(ring, made)
            place = fault if place is None else place
    raise OutlineError(
        _("The seam allowances do not fit round this outline."),
        remedy=_("Make them narrower, or ease the outline here."),
        place=stitch[0].start if place is None else place,
    )


def _drawn_caps(
    mouths: Mapping[int, FoldedMouth], made: Sequence[OpenedMouth]
) -> dict[int, Sequence[Segment]]:
    """Return the stitch line across each mouth, as far as it is cut.

    Where the excess is cut away, and on the edge of a turned allowance, that is what the cut line
    itself is there.
    """
    caps: dict[int, Sequence[Segment]] = {}
    for index, item in zip(sorted(mouths), made, strict=True):
        mouth = mouths[index]
        if mouth.cap and item.window is None:
            caps[index] = mouth.cap
            continue
        there, back = Line(mouth.ends[0], item.ends[0]), Line(item.ends[1], mouth.ends[1])
        caps[index] = [
            segment
            for segment in (there, *item.drawn, back)
            if abs(segment.end - segment.start) > SHORTEST_SEGMENT
        ]
    return caps


def _with_mouths(strips: Sequence[Strip], caps: Mapping[int, Sequence[Segment]]) -> list[Segment]:
    """Return the stitch line with the cap of every mouth."""
    ring: list[Segment] = []
    for index, strip in enumerate(strips):
        ring.append(strip.segment)
        ring += caps.get(index, ())
    return ring


def _between_ends(ends: tuple[complex, complex], across: Sequence[Segment]) -> list[Segment]:
    """Return the cut line across a mouth with lines to it from the mouth ends."""
    whole = [Line(ends[0], across[0].start), *across, Line(across[-1].end, ends[1])]
    return [segment for segment in whole if segment.length() > 0.0]


def _check_strips(strips: Sequence[Strip], mouths: Mapping[int, FoldedMouth]) -> None:
    """Refuse strips that are no ring, or have no width.

    Raises:
        OutlineError: with the place.
    """
    if not strips:
        raise OutlineError(_("The stitch line is empty."), remedy=_("Draw a closed outline."))
    for strip in strips:
        if not (strip.width >= 0.0 and math.isfinite(strip.width)):
            raise OutlineError(
                _("A seam allowance of {width} cannot be added.").format(
                    width=told_exactly(strip.width, 6)
                ),
                remedy=_("Give each seam an allowance of 0 or more."),
                place=strip.segment.start,
            )
    for index, strip in enumerate(strips):
        following = strips[(index + 1) % len(strips)]
        gap = abs(strip.segment.end - following.segment.start)
        if index not in mouths and not gap <= SHORTEST_SEGMENT:
            raise OutlineError(
                _("The stitch line does not close."),
                remedy=_("Let each seam start where the one before ends."),
                place=strip.segment.end,
            )


def _attempts(
    pieces: Sequence[Strip],
    tolerance: float,
    mitre_limit: float,
    folded: Mapping[int, FoldedMouth],
) -> Iterator[tuple[list[Segment], Sequence[OpenedMouth]]]:
    """Yield rings that may be the cut line, the likeliest first, and what they are at mouths."""
    if folded:
        yield from _opened_attempts(pieces, tolerance, mitre_limit, folded)
        return
    runs, gaps = parallel_runs(pieces, tolerance)
    with suppress(UnresolvedError):
        ring = _tidied(
            _whole(joined_runs(runs, gaps, mitre_limit)) if gaps else closed_run(runs[0])
        )
        yield ring if crosses_itself(ring) is None else _outermost(ring), ()
    yield _outermost(_overlapping(runs, gaps, mitre_limit)), ()
    # Parallels that lie on each other across a notch cross nowhere: part them, each smooth
    # run by its own length of less than can be cut.
    for index, run in enumerate(runs):
        away = _PARTED * (1 + 7 * index % 13)
        run.move(-1j * run.start_tangent * away)
    yield _outermost(_overlapping(runs, gaps, mitre_limit)), ()


def _whole(parts: Sequence[Part]) -> list[Segment]:
    return [segment for segments, _mouths in parts for segment in segments]


def _opened_attempts(
    pieces: Sequence[Strip],
    tolerance: float,
    mitre_limit: float,
    folded: Mapping[int, FoldedMouth],
) -> Iterator[tuple[list[Segment], Sequence[OpenedMouth]]]:
    """Yield rings that may be the cut line of a stitch line with mouths that are shut."""
    order = sorted(folded)
    mouths = [folded[index] for index in order]
    numbers = {index: number for number, index in enumerate(order)}
    runs, gaps = parallel_runs(pieces, tolerance, numbers, [mouth.back for mouth in mouths])
    with suppress(UnresolvedError):
        ring, made = opened(joined_runs(runs, gaps, mitre_limit), mouths)
        ring = _tidied(ring)
        place = crosses_itself(ring)
        if place is None:
            yield ring, made
            return
        for mouth, item in zip(mouths, made, strict=True):
            if nearest_on(item.drawn, place).distance < SHORTEST_SEGMENT:
                raise OverlapError(mouth)
        yield _outermost(ring), made


def _plain(segment: Segment) -> Segment:
    """Return a straight cubic as the line that it counts as."""
    if isinstance(segment, Cubic) and segment.is_straight():
        return Line(segment.start, segment.end)
    return segment


def _overlapping(runs: list[Run], gaps: list[Gap], mitre_limit: float) -> list[Segment]:
    """Return a ring of all runs, whole, whose outermost loop is the cut line.

    Where two runs would have to be trimmed, the ring goes from the one by way of the stitch
    line to the other instead, which leaves loops that wind the other way.
    """
    if not gaps:
        return closed_run(runs[0])
    joints = _whole_joints(runs, gaps, mitre_limit)
    ring: list[Segment] = []
    for k, run in enumerate(runs):
        start, end = joints[k - 1], joints[k]
        low, enter = (start.after, start.enter) if start else (0.0, run.start)
        high, leave = (end.before, end.leave) if end else (float(len(run.segments)), run.end)
        ring += [part for part in run.between(low, high, enter, leave) if part.start != part.end]
        following = runs[(k + 1) % len(runs)]
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


def _whole_joints(
    runs: Sequence[Run], gaps: Sequence[Gap], mitre_limit: float
) -> list[CutJoint | None]:
    """Return the joint behind each run, or None where the runs would have to be trimmed for it."""
    joints: list[CutJoint | None] = []
    for k, a in enumerate(runs):
        b = runs[(k + 1) % len(runs)]
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
    return joints


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
    # Few cut lines cross themselves.
    from drafting_core.plane.loops import simple_loops

    loops = simple_loops(ring)
    largest = max(loops, key=lambda loop: sum(segment.area() for segment in loop))
    return _tidied(_without_spikes(largest))
