"""The verdict on every block of a clean-up: its outline upon all ink of the sheet."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from drafting_core.ink.polylines import Points
from drafting_core.sheet.trace_sheet import EDGE
from drafting_core.text.lengths import in_words
from drafting_core.text.words import _, capital
from drafting_core.trace.clean_block import CleanBlock
from drafting_core.trace.ink_edges import ink_edges
from drafting_core.trace.outline_doubts import JudgedOutline
from drafting_core.trace.verdict import BlockVerdict, SeamInk, shown, verdicts

#: A run of a halved block lies on its fold if its ends do within this (mm).
_ON_FOLD = 1.0


def judged_blocks(
    closed: Sequence[Points],
    strokes: Sequence[Points],
    blocks: Sequence[CleanBlock],
    gap: float,
    known: Sequence[Points] = (),
) -> list[BlockVerdict]:
    """Return the verdict on every block.

    Args:
        closed: all closed contours of the trace, in true mm.
        strokes: its open lines.
        blocks: the blocks that were made of it.
        gap: the largest gap in mm that was to be closed.
        known: other lines of which it is known what they are.

    Raises:
        OutlineError: if a block's outline is none.
    """
    # A cut line that was drawn around a block is known to be one.
    cuts = [getattr(block.traced, "cut_line", None) for block in blocks]
    explained = [np.append(cut, cut[:1]) for cut in cuts if cut is not None]
    # Of an unfolded piece the other half is known too.
    whole = [block.traced.ring.points for block in blocks if block.halved is not None]
    explained += [np.append(ring, ring[:1]) for ring in whole]
    explained += known
    outlines = [_outline(block) for block in blocks]
    found = verdicts(ink_edges(closed, strokes), outlines, explained, gap)
    return [
        _with_folds(_with_edge(verdict, block), block)
        for verdict, block in zip(found, blocks, strict=True)
    ]


def _with_edge(verdict: BlockVerdict, block: CleanBlock) -> BlockVerdict:
    """Return a verdict that tells of a silhouette's narrow darts."""
    if block.traced.made_of != EDGE:
        return verdict
    from drafting_core.trace.edge_doubts import point_unsure

    by = point_unsure(block.outline, block.traced.ring)
    if not by:
        return verdict
    words = _("the point of a narrow dart is known to {known} only").format(known=in_words(by))
    return verdict._replace(look_at=(*verdict.look_at, words))


def _with_folds(verdict: BlockVerdict, block: CleanBlock) -> BlockVerdict:
    """Return a verdict with figures of all runs: nothing is wrong with a fold."""
    on_fold, runs = _on_fold(block), iter(verdict.runs)
    return verdict._replace(
        runs=tuple(
            SeamInk(abs(run.end - run.start), 1.0, 0.0) if k in on_fold else next(runs)
            for k, run in enumerate(block.runs)
        )
    )


def _outline(block: CleanBlock) -> JudgedOutline:
    on_fold = _on_fold(block)
    judged = [k for k in range(len(block.runs)) if k not in on_fold]
    names = [seam.shown if seam is not None else "" for seam in block.seams]
    gaps = [join.size for join in block.traced.joins if not join.overshoot]
    return JudgedOutline(
        [block.traced_runs[k].segments for k in judged],
        [names[k] for k in judged],
        [block.runs[k].leg for k in judged],
        block.traced.ring.pen,
        max(gaps, default=0.0),
        getattr(block.traced, "size", 0) > 0,
    )


def _on_fold(block: CleanBlock) -> set[int]:
    """Return the numbers of the runs on a halved block's fold, where there is no ink."""
    if block.halved is None:
        return set()
    first, last = block.halved.axis
    way = (last - first) / abs(last - first)
    beside = [
        max(abs(((z - first) * way.conjugate()).imag) for z in (run.start, run.end))
        for run in block.runs
    ]
    found = {k for k, away in enumerate(beside) if away <= _ON_FOLD}
    return found if len(found) < len(block.runs) else set()


def verdict_sentences(
    verdict: BlockVerdict, seams: Sequence[tuple[str, str, SeamInk]]
) -> list[str]:
    """Return the verdict and its figures as the drafter reads them.

    Args:
        verdict: on a block.
        seams: of each seam and dart the name, that which is shown, and how it lies on ink.
    """
    sentences = [shown(verdict)]
    for _name, words, ink in seams:
        on_ink, beside = round(100 * ink.on_ink), round(100 * ink.beside)
        if on_ink < 100:
            sentences.append(
                _("{seam}: {share} % of it lies on ink.").format(seam=capital(words), share=on_ink)
            )
        if beside:
            sentences.append(
                _("{seam}: beside {share} % of it runs a line that is part of no block.").format(
                    seam=capital(words), share=beside
                )
            )
    share = round(100 * verdict.unexplained)
    if share:
        sentences.append(
            _("{share} % of the length of the sheet's lines is part of no block.").format(
                share=share
            )
        )
    return sentences
