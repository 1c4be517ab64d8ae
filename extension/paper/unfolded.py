"""A piece that is cut on the fold, opened out: whole, as it is cut from a single layer of cloth."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.allowance.fold_bounds import ON_FOLD
from drafting_core.allowance.parallel_runs import moved_end, moved_start
from drafting_core.finished.fold_edge import split_at_folds
from drafting_core.model.outline import nearest_on
from drafting_core.plane.curves import Line, PointMap, Segment, dot, reflection_in, unit
from drafting_core.text.words import _
from extension.paper.paper_piece import read_rightly
from extension.paper.printed_parts import SEAM_NAME, TITLE, PrintedLine, PrintedResult, PrintedText

#: The line along which it was folded.
CENTRE_LINE = "centre-line"
#: What a whole piece has once, like its half.
_ONCE = frozenset({"grainline"})


def unfolded(result: PrintedResult) -> PrintedResult:
    """Return a piece opened out along its fold edge; one without a fold as it is."""
    folds = result.folds
    if not folds:
        return result
    fold = folds[0]
    mirror = reflection_in(fold.start, unit(fold.end - fold.start))
    lines = [
        line
        if line.kind in _ONCE
        else PrintedLine(
            line.kind,
            tuple(
                whole
                for chain, closed in line.chains
                for whole in _opened(chain, closed, fold, mirror)
            ),
        )
        for line in result.lines
    ]
    lines.append(PrintedLine(CENTRE_LINE, (((fold,), False),)))
    texts: list[PrintedText] = []
    for text in result.texts:
        if text.kind == TITLE:
            texts.append(text._replace(lines=_whole_title(text.lines, result)))
            continue
        texts.append(text)
        if text.kind == SEAM_NAME and not _is_beside(text, fold):
            texts.append(_mirrored(text, mirror))
    return result._replace(lines=tuple(lines), texts=tuple(texts), folds=())


def _opened(
    chain: tuple[Segment, ...], closed: bool, fold: Line, mirror: PointMap
) -> list[tuple[tuple[Segment, ...], bool]]:
    """Return a chain and its mirror image, nothing twice.

    A chain that is closed along the fold is whole with its image: a ring for each part that
    leaves the fold and comes back to it. What is its own image stays as it is.
    """
    if closed:
        halves, on_fold = split_at_folds(chain, [fold])
        if halves and on_fold:
            return [(_ring(half, mirror), True) for half in halves]
    if _is_own_image(chain, mirror):
        return [(chain, closed)]
    return [(chain, closed), (tuple(segment.mapped(mirror) for segment in chain), closed)]


def _ring(half: Sequence[Segment], mirror: PointMap) -> tuple[Segment, ...]:
    """Return a chain from the fold to the fold and its image as one ring, its nodes on the fold."""
    kept = list(half)
    kept[0] = moved_start(kept[0], (kept[0].start + mirror(kept[0].start)) / 2)
    kept[-1] = moved_end(kept[-1], (kept[-1].end + mirror(kept[-1].end)) / 2)
    back = [segment.mapped(mirror).reversed() for segment in reversed(kept)]
    # Exactly on the fold both ways.
    back[0] = back[0]._replace(start=kept[-1].end)
    back[-1] = back[-1]._replace(end=kept[0].start)
    return (*kept, *back)


def _is_own_image(chain: Sequence[Segment], mirror: PointMap) -> bool:
    """Tell whether a chain is its own mirror image, as a hole or a line on the fold is."""
    return all(
        nearest_on(chain, mirror(segment.point(t))).distance <= ON_FOLD
        for segment in chain
        for t in (0.0, 0.25, 0.5, 0.75, 1.0)
    )


def _is_beside(text: PrintedText, fold: Line) -> bool:
    """Tell whether a seam's name is that of the fold edge itself."""
    along = unit(fold.end - fold.start)
    return abs(dot(text.at - fold.start, 1j * along)) <= 3.0 + ON_FOLD


def _mirrored(text: PrintedText, mirror: PointMap) -> PrintedText:
    # The letters stay as they are, in the mirrored box: read the other way.
    ahead = mirror(text.at + text.direction) - mirror(text.at)
    return read_rightly(text._replace(at=mirror(text.at), direction=-ahead))


def _whole_title(title: Sequence[str], result: PrintedResult) -> tuple[str, ...]:
    words = _("Cut {n}, opened out").format(n=result.cut.number)
    return tuple(words if k == result.cut.line else row for k, row in enumerate(title))
