"""The parallels of a stitch line joined to a ring, those too short for it left out."""

from __future__ import annotations

import math
from collections.abc import Sequence

from drafting_core.allowance.corners import (
    SAME_WIDTH,
    STEP_TURN,
    CutJoint,
    Run,
    meet,
    step,
    step_beside_curve,
)
from drafting_core.allowance.parallel_runs import SMOOTH_TURN, Gap, moved_end, moved_start
from drafting_core.model.outline import SHORTEST_SEGMENT
from drafting_core.plane.curves import Line, Segment

#: A run that keeps this little of its length (mm) counts as keeping that: no division by nothing.
_LEAST_KEPT = 1e-9
#: A step is kept where the wider parallel vanishes beside it, if the corner turns less than this:
#: beyond, the narrower seam's extension runs out across the wider allowance and takes little of it.
_STEP_REMAINS = math.radians(75.0)


class UnresolvedError(Exception):
    """A way of finding the cut line has failed."""


def joined_runs(
    runs: Sequence[Run], gaps: Sequence[Gap], mitre_limit: float
) -> list[tuple[list[Segment], tuple[int, ...]]]:
    """Return the ring of all runs that do not vanish, each neighbours' meeting to meeting.

    Args:
        runs: the runs, in order.
        gaps: what lies behind each run.
        mitre_limit: a mitre longer than this many widths is cut square across.

    Returns:
        For each run that is left its part of the ring, with the straight edge to the next one
        where the two do not meet, and the numbers of the mouths behind it. Each part is in the
        frame of its own run.

    Raises:
        UnresolvedError: if less than two runs are left, or two that do not meet.
    """
    ring = _Ring(runs, gaps, mitre_limit)
    ring.let_vanish()
    return ring.parts()


def closed_run(run: Run) -> list[Segment]:
    """Return a single run that is smooth all round as a ring."""
    segments = list(run.segments)
    middle = 0.5 * (segments[-1].end + segments[0].start)
    segments[-1] = moved_end(segments[-1], middle)
    segments[0] = moved_start(segments[0], middle)
    return segments


class _Ring:
    """Runs with their neighbours and joints; ``joints[k]`` and ``gaps[k]`` are behind run k.

    Runs that have to vanish wait on a heap, those first that vanish at the smallest share of the
    allowances; of what is on it for one run only the last entry, by its stamp, counts.
    """

    def __init__(self, runs: Sequence[Run], gaps: Sequence[Gap], mitre_limit: float) -> None:
        count = len(runs)
        self.runs = runs
        self.gaps = list(gaps)
        self.mitre_limit = mitre_limit
        self.before = [(k - 1) % count for k in range(count)]
        self.behind = [(k + 1) % count for k in range(count)]
        self.joints: list[CutJoint | None] = [None] * count
        self.stepped = [False] * count
        #: Of joints made a step, the end of the wider seam, where it may keep the step.
        self.feet: list[complex | None] = [None] * count
        self.gone = [False] * count
        self.stamps = [0] * count
        self.heap: list[tuple[float, int, int]] = []
        self.anchor = 0
        for k in range(count):
            self._join(k)
        for k in range(count):
            self._look(k)

    def let_vanish(self) -> None:
        """Take out every run that is too short for its neighbours' allowances.

        Raises:
            UnresolvedError: if less than two would be left.
        """
        if not self.heap:
            return
        # Mostly nothing vanishes.
        from heapq import heappop

        alive = len(self.runs)
        while self.heap:
            _, k, stamp = heappop(self.heap)
            if self.gone[k] or stamp != self.stamps[k]:
                continue
            eased = self._overrun_at(k)
            if eased is not None and not self.stepped[eased]:
                self._step_at(eased)
                continue
            if alive <= 2:
                raise UnresolvedError
            self._take_out(k)
            alive -= 1

    def parts(self) -> list[tuple[list[Segment], tuple[int, ...]]]:
        """Return the ring of what is left, run by run, and the mouths behind each run.

        Raises:
            UnresolvedError: if two neighbours do not meet.
        """
        ring: list[tuple[list[Segment], tuple[int, ...]]] = []
        k = self.anchor
        while True:
            start, end = self.joints[self.before[k]], self.joints[k]
            if start is None or end is None:
                raise UnresolvedError
            enter = self.gaps[self.before[k]].motion.undone()(start.enter)
            part = self.runs[k].between(start.after, end.before, enter, end.leave)
            if end.leave != end.enter:
                part.append(Line(end.leave, end.enter))
            ring.append((part, self.gaps[k].mouths))
            k = self.behind[k]
            if k == self.anchor:
                return ring

    def _join(self, k: int) -> None:
        """Find the joint behind a run."""
        gap = self.gaps[k]
        following = self.runs[self.behind[k]]
        if gap.mouths:
            following = following.moved(gap.motion)
            if joint := _smooth_joint(self.runs[k], following, gap):
                self.joints[k] = joint
                return
        self.joints[k] = meet(
            self.runs[k],
            following,
            gap.corner,
            gap.net_turn,
            self.mitre_limit,
            neighbours=gap.neighbours,
        )

    def _look(self, k: int) -> None:
        """Put a run that has to vanish on the heap."""
        self.stamps[k] += 1
        run = self.runs[k]
        start, end = self.joints[self.before[k]], self.joints[k]
        if start is None or end is None:
            # It does not meet its neighbour: the shorter of the two goes, but last of all, and a
            # fold edge stays.
            other = self.runs[self.before[k] if start is None else self.behind[k]]
            if (run.is_fold, run.size) <= (other.is_fold, other.size):
                self._put_on_heap(1.0 + run.size, k)
            return
        left = run.distance(end.before) - run.distance(start.after)
        if left < SHORTEST_SEGMENT:
            # The share of the allowances at which it vanished, were all widened from 0.
            share = run.size / max(run.size - left, _LEAST_KEPT)
            self._put_on_heap(share, k)

    def _put_on_heap(self, share: float, k: int) -> None:
        from heapq import heappush

        heappush(self.heap, (share, k, self.stamps[k]))

    def _overrun_at(self, k: int) -> int | None:
        """Return the joint of a run that a narrower neighbour's extension overruns, or None."""
        previous, following = self.before[k], self.behind[k]
        return _overrun(
            self.runs[k],
            (
                (previous, self.runs[previous], self.joints[previous], self.gaps[previous]),
                (k, self.runs[following], self.joints[k], self.gaps[k]),
            ),
        )

    def _step_at(self, k: int) -> None:
        """Make the joint behind a run a step."""
        following = self.behind[k]
        run, other = self.runs[k], self.runs[following].moved(self.gaps[k].motion)
        self.stepped[k] = True
        if abs(self.gaps[k].net_turn) < _STEP_REMAINS:
            self.feet[k] = run.stitch_end if run.width >= other.width else other.stitch_start
        self.joints[k] = step(run, other)
        self._look(k)
        self._look(following)

    def _take_out(self, k: int) -> None:
        """Take a run out and let its neighbours meet."""
        previous, following = self.before[k], self.behind[k]
        self.gone[k] = True
        self.behind[previous], self.before[following] = following, previous
        before, after = self.gaps[previous], self.gaps[k]
        foot, is_backward = self._foot_left(k)
        self.gaps[previous] = Gap(
            0.5 * (before.corner + before.motion(after.corner)),
            before.net_turn + self.runs[k].turning + after.net_turn,
            [],
            False,
            before.motion.after(after.motion),
            (*before.mouths, *after.mouths),
            before.bend + after.bend,
        )
        self._join(previous)
        joint = self.joints[previous]
        if foot is not None and not is_backward and joint and joint.leave == joint.enter:
            foot = None
        self.feet[previous], self.stepped[previous] = foot, foot is not None
        if foot is not None:
            other = self.runs[following].moved(self.gaps[previous].motion)
            self.joints[previous] = step_beside_curve(self.runs[previous], other, foot) or joint
        self._look(previous)
        self._look(following)
        self.anchor = previous

    def _foot_left(self, k: int) -> tuple[complex | None, bool]:
        """Return the foot of a step beside a run that goes, where the same seam goes on.

        In the frame of the run before; and whether only a parallel that runs backward goes, along
        a curve that is narrower than its allowance. Where a forward one goes, two runs that meet
        make a step needless.
        """
        previous, following = self.before[k], self.behind[k]
        before, run, behind = (self.runs[at] for at in (previous, k, following))
        foot, gap = self.feet[k], self.gaps[previous]
        if foot is not None and behind.width < run.width and _is_one_seam(run, before, gap):
            return gap.motion(foot), _is_backward(run, gap)
        foot, gap = self.feet[previous], self.gaps[k]
        if foot is not None and before.width < run.width and _is_one_seam(run, behind, gap):
            return foot, _is_backward(run, gap)
        return None, False


def _is_one_seam(run: Run, other: Run, gap: Gap) -> bool:
    return abs(run.width - other.width) <= SAME_WIDTH and abs(gap.bend) < STEP_TURN


def _is_backward(run: Run, gap: Gap) -> bool:
    return bool(gap.backward) or run.size < SHORTEST_SEGMENT


def _smooth_joint(a: Run, b: Run, gap: Gap) -> CutJoint | None:
    """Return the joint of two runs that go on smoothly across a shut mouth, if they do."""
    if not gap.neighbours or abs(a.width - b.width) > SAME_WIDTH or not (a.segments and b.segments):
        return None
    if abs(gap.net_turn) >= SMOOTH_TURN or abs(a.end - b.start) >= SHORTEST_SEGMENT:
        return None
    middle = 0.5 * (a.end + b.start)
    return CutJoint(float(len(a.segments)), 0.0, middle, middle)


def _overrun(run: Run, sides: Sequence[tuple[int, Run, CutJoint | None, Gap]]) -> int | None:
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
        # But nothing lies beyond a fold edge.
        is_narrower = other.width < run.width - SAME_WIDTH and not other.is_fold
        if extended and trimmed > most and is_narrower:
            found, most = index, trimmed
    return found
