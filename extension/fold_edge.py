"""The edge that lies on the fold of the cloth: told from what is cut, and marked on paper."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.curves import Line, Segment, cross, dot, unit
from drafting_core.pattern_piece import Draft
from drafting_core.words import _
from extension.labels import Clearings
from extension.paper_strokes import STROKES
from extension.printed_parts import PrintedText
from extension.set_text import DROP, RISE, text_width
from extension.sheet_piece import SheetLine

#: A line this near to the fold's own lies on it (mm).
ON_FOLD = 0.05
#: How far inside the piece the sign stands, the size of its arrows and of its letters (mm).
INSET = 9.0
HEAD = 3.0
LETTERS = 3.5
#: On a shorter edge than this (mm) it is smaller.
_USUAL_LENGTH = 80.0
#: The sign leaves this share of the edge free at each end.
_FREE = 0.18


def fold_lines(draft: Draft) -> list[Line]:
    """Return the straight fold edges of a piece, its inside at ``1j`` times their direction."""
    if draft.centre_opened:
        return []
    found: list[Line] = []
    for run in draft.piece.runs:
        for edge in run:
            if not edge.seam.fold or not edge.segment.is_straight():
                continue
            line = Line(edge.segment.start, edge.segment.end)
            if found and found[-1].end == line.start and lies_on(line, found[-1]):
                found[-1] = Line(found[-1].start, line.end)
            else:
                found.append(line)
    return found


def lies_on(segment: Segment, fold: Line) -> bool:
    """Tell whether a segment lies on a fold edge, or on it extended through the allowances."""
    along = unit(fold.end - fold.start)
    if not segment.is_straight() or any(
        abs(cross(along, z - fold.start)) > ON_FOLD for z in (segment.start, segment.end)
    ):
        return False
    ends = sorted(dot(along, z - fold.start) for z in (segment.start, segment.end))
    return ends[0] < abs(fold.end - fold.start) - ON_FOLD and ends[1] > ON_FOLD


def fold_sign(fold: Line, clear: Clearings) -> tuple[SheetLine, PrintedText]:
    """Return the sign of a fold edge: a line inside with arrows onto the edge, and its words."""
    along = unit(fold.end - fold.start)
    inward = 1j * along
    length = abs(fold.end - fold.start)
    # On a small piece the sign is small too.
    shrunk = min(1.0, length / _USUAL_LENGTH)
    inset, head, letters = INSET * shrunk, HEAD * shrunk, LETTERS * shrunk
    first, last = (fold.start + along * length * share for share in (_FREE, 1 - _FREE))
    chains: list[tuple[tuple[Segment, ...], bool]] = [
        (
            (
                Line(first, first + inward * inset),
                Line(first + inward * inset, last + inward * inset),
                Line(last + inward * inset, last),
            ),
            False,
        )
    ]
    for tip in (first, last):
        barbs = [tip + inward * head + along * side * head / 2 for side in (1, -1)]
        chains.append(((Line(barbs[0], tip), Line(tip, barbs[1])), False))
    words = _("Fold of the cloth")
    # Read from the left, an upright one from below.
    is_read_along = along.real > 1e-6 or (abs(along.real) <= 1e-6 and along.imag < 0.0)
    direction = along if is_read_along else -along
    half = text_width(words, letters) / 2
    # The letters rise to the left of their direction, where the page's y points down.
    above = dot(inward, -1j * direction) > 0
    gap = 1.2 + (DROP if above else RISE) * letters
    places = [
        first + along * abs(last - first) * share + inward * (inset + gap)
        for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)
    ]
    best, _direction = clear.freest(
        ((at, direction) for at in places), half + 1, RISE * letters + 1, DROP * letters + 1
    )
    text = PrintedText("fold-sign", (words,), best, direction, letters, "middle", False)
    return SheetLine("fold-sign", STROKES["fold-sign"], tuple(chains)), text


def split_at_folds(
    ring: Sequence[Segment], folds: Sequence[Line]
) -> tuple[list[tuple[Segment, ...]], list[tuple[Segment, ...]]]:
    """Return what of a ring is cut, as open chains, and what of it lies on a fold."""
    flags = [any(lies_on(segment, fold) for fold in folds) for segment in ring]
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
