"""The edges of a piece that lie on the fold of the cloth. Lengths are mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from drafting_core.allowance.fold_bounds import ON_FOLD, straight_folds
from drafting_core.finished.pattern_piece import Draft
from drafting_core.plane.curves import Line, Segment, cross, dot, unit


def fold_lines(draft: Draft) -> list[Line]:
    """Return the straight fold edges of a piece, its inside at ``1j`` times their direction.

    They reach through the allowances at their ends, turned ones too.
    """
    if draft.centre_opened:
        return []
    return [_through(fold, draft.cut_line) for fold in straight_folds(draft.piece.runs)]


def _through(fold: Line, cut_line: Iterable[Segment]) -> Line:
    """Return a fold edge drawn on as far as the cut line lies on its line."""
    along = unit(fold.end - fold.start)
    places = [0.0, abs(fold.end - fold.start)]
    for segment in cut_line:
        if lies_on(segment, fold):
            places += [dot(z - fold.start, along) for z in (segment.start, segment.end)]
    return Line(fold.start + along * min(places), fold.start + along * max(places))


def lies_on(segment: Segment, fold: Line) -> bool:
    """Tell whether a segment lies on the line of a fold edge, however far along it.

    Nothing of a piece lies beyond that line: what lies on it is folded, never cut or sewn.
    """
    along = unit(fold.end - fold.start)
    return segment.is_straight() and all(
        abs(cross(along, z - fold.start)) <= ON_FOLD for z in (segment.start, segment.end)
    )


def lies_on_any(segment: Segment, folds: Iterable[Line]) -> bool:
    """Tell whether a segment lies on one of a piece's fold edges."""
    return any(lies_on(segment, fold) for fold in folds)


def split_at_folds(
    ring: Sequence[Segment], folds: Sequence[Line]
) -> tuple[list[tuple[Segment, ...]], list[tuple[Segment, ...]]]:
    """Return what of a ring is cut, as open chains, and what of it lies on a fold."""
    flags = [lies_on_any(segment, folds) for segment in ring]
    return runs_of(ring, flags, False), runs_of(ring, flags, True)


def runs_of(
    ring: Sequence[Segment], flags: Sequence[bool], wanted: bool
) -> list[tuple[Segment, ...]]:
    """Return the runs of a ring's segments that have a flag, each as an open chain."""
    starts = [k for k, flag in enumerate(flags) if flag == wanted and flags[k - 1] != wanted]
    runs = []
    for start in starts:
        run = []
        for step in range(len(ring)):
            k = (start + step) % len(ring)
            if flags[k] != wanted:
                break
            run.append(ring[k])
        runs.append(tuple(run))
    return runs
