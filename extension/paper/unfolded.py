"""A piece that is cut on the fold, opened out: whole, as it is cut from a single layer of cloth."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.allowance.fold_bounds import ON_FOLD
from drafting_core.finished.fold_edge import lies_on_any, split_at_folds
from drafting_core.plane.curves import Line, PointMap, Segment, dot, reflection_in, unit
from drafting_core.text.words import _
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
                for whole in _opened(chain, closed, folds, mirror)
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
    chain: tuple[Segment, ...], closed: bool, folds: Sequence[Line], mirror: PointMap
) -> list[tuple[tuple[Segment, ...], bool]]:
    """Return a chain and its mirror image: one ring where the chain is closed along the fold."""
    if closed:
        halves, on_fold = split_at_folds(chain, folds)
        if len(halves) == 1 and on_fold:
            half = halves[0]
            back = tuple(segment.mapped(mirror).reversed() for segment in reversed(half))
            return [((*half, *back), True)]
    elif all(lies_on_any(segment, folds) for segment in chain):
        return [(chain, closed)]
    return [(chain, closed), (tuple(segment.mapped(mirror) for segment in chain), closed)]


def _is_beside(text: PrintedText, fold: Line) -> bool:
    """Tell whether a seam's name is that of the fold edge itself."""
    along = unit(fold.end - fold.start)
    return abs(dot(text.at - fold.start, 1j * along)) <= 3.0 + ON_FOLD


def _mirrored(text: PrintedText, mirror: PointMap) -> PrintedText:
    # The letters stay as they are, in the mirrored box: read the other way.
    ahead = mirror(text.at + text.direction) - mirror(text.at)
    return text._replace(at=mirror(text.at), direction=-ahead)


def _whole_title(title: Sequence[str], result: PrintedResult) -> tuple[str, ...]:
    words = _("Cut {n}, opened out").format(n=result.cut.number)
    return tuple(words if k == result.cut.line else row for k, row in enumerate(title))
