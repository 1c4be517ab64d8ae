"""Which lines of a result are printed, and with which strokes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.finished.fold_edge import lies_on_any, runs_of, split_at_folds
from drafting_core.model.outline import nearest_on
from drafting_core.plane.curves import Line, Segment
from extension.paper.fullness_words import KIND as FULLNESS_WORDS
from extension.paper.paper_piece import PaperLine
from extension.paper.paper_strokes import PAPER_STROKES, of_size
from extension.paper.printed_parts import (
    CUT_LINE,
    SEAM_NAME,
    STITCH_LINE,
    TITLE,
    PrintedLine,
    PrintedResult,
)

FOLD_ARROW, FOLD_HEAD = "fold-arrow", "fold-head"
#: What can be left out, and which parts of a result that is.
CHOICES: dict[str, frozenset[str]] = {
    "cut": frozenset({CUT_LINE, "fold-edge", "fold-sign"}),
    "stitch": frozenset({STITCH_LINE}),
    "dart": frozenset(
        {
            "dart-leg", "dart-fold", "dart-point", "fold-arrow", "fold-head", "cap",
            "gathers", "ease", "flare", "tuck",
        }
    ),
    "window": frozenset({"trim-window"}),
    "marks": frozenset(
        {"notch", "drill-hole", "apex", "grainline", "inner-line", "centre-line", "own"}
    ),
    "names": frozenset({SEAM_NAME, TITLE, "size", FULLNESS_WORDS, "own"}),
}  # fmt: skip
#: A segment this near to a dart's leg is that leg (mm).
ON_LEG = 0.02


class Choice(NamedTuple):
    """What is printed.

    Attributes:
        left_out: the words of `CHOICES` that are not.
        cut_only: whether only what a machine cuts is.
        pairs: whether a piece that is cut twice is printed twice, once mirrored.
        sizes: the sizes of a nest that are; all where none are named.
        apart: whether the sizes of a nest lie beside one another.
        unfold: whether a piece that is cut on the fold is printed whole.
    """

    left_out: frozenset[str] = frozenset()
    cut_only: bool = False
    pairs: bool = True
    sizes: tuple[str, ...] = ()
    apart: bool = False
    unfold: bool = False


def is_printed(kind: str, choice: Choice, *, names: bool = False) -> bool:
    """Tell whether a part is printed; the drafter's own texts go with the names."""
    if kind == "own":
        return ("names" if names else "marks") not in choice.left_out
    return not any(kind in CHOICES[word] for word in choice.left_out)


def lines_of(result: PrintedResult, choice: Choice, index: int | None = None) -> list[PaperLine]:
    """Return the lines of a result that are printed.

    Args:
        result: the result.
        choice: what is printed.
        index: the number of its size in a nest, or None.
    """
    legs = [
        segment
        for line in result.lines
        if line.kind == "dart-leg"
        for chain, _ in line.chains
        for segment in chain
    ]
    folds = result.folds
    lines: list[PaperLine] = []

    def add(
        kind: str,
        chains: Sequence[tuple[tuple[Segment, ...], bool]],
        dashes: tuple[float, ...] = (),
    ) -> None:
        if chains and is_printed(kind, choice):
            stroke = (
                PAPER_STROKES.get(kind, PAPER_STROKES["own"])
                if index is None
                else of_size(kind, index)
            )
            stroke = stroke._replace(dashes=dashes or stroke.dashes)
            lines.append(PaperLine(kind, stroke, tuple(chains)))

    for line in result.lines:
        if line.kind == STITCH_LINE and (legs or folds):
            # A fold edge is not sewn, and a dart's legs are drawn with the dart.
            add(STITCH_LINE, _without(line, legs, folds))
        elif line.kind == CUT_LINE and folds:
            for chain, closed in line.chains:
                cut, fold = split_at_folds(chain, folds) if closed else ([chain], [])
                if not fold:
                    add(CUT_LINE, [(chain, closed)])
                    continue
                add(CUT_LINE, [(part, False) for part in cut])
                add("fold-edge", [(part, False) for part in fold])
        elif line.kind == FOLD_ARROW:
            add(FOLD_ARROW, line.chains)
            add(FOLD_HEAD, [head for chain, _closed in line.chains for head in _heads(chain)])
        else:
            add(line.kind, line.chains, line.dashes)
    # What is cut is drawn over everything else.
    return sorted(lines, key=lambda line: line.kind in (CUT_LINE, "fold-edge"))


def _without(
    line: PrintedLine, others: Sequence[Segment], folds: Sequence[Line]
) -> list[tuple[tuple[Segment, ...], bool]]:
    """Return a line without those of its segments that lie on other lines or on a fold edge."""
    kept: list[tuple[tuple[Segment, ...], bool]] = []
    for chain, closed in line.chains:
        flags = [lies_on_any(segment, folds) or _is_leg(segment, others) for segment in chain]
        if not any(flags) or not closed:
            kept.append((chain, closed))
        else:
            kept += [(run, False) for run in runs_of(chain, flags, False)]
    return kept


def _is_leg(segment: Segment, legs: Sequence[Segment]) -> bool:
    return bool(legs) and all(
        nearest_on(legs, segment.point(t)).distance <= ON_LEG for t in (0.0, 0.3, 0.7, 1.0)
    )


def _heads(arrow: Sequence[Segment]) -> list[tuple[tuple[Segment, ...], bool]]:
    """Return the filled head of a fold arrow, which tells it from a grainline.

    The arrow is drawn in one go: to its tip, to a barb and back, to the other barb.
    """
    if len(arrow) != 4:
        return []
    tip, one, other = arrow[0].end, arrow[1].end, arrow[3].end
    return [((Line(tip, one), Line(one, other), Line(other, tip)), True)]
