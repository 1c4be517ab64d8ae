"""A piece with its allowances: the cut line, every mouth shut as it is sewn, and proved shut."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.allowance.cut_line import OpenedCutLine, Strip, opened_cut_line
from drafting_core.allowance.fold_bounds import straight_folds, within_folds
from drafting_core.allowance.narrow_places import NarrowPlace, narrow_places
from drafting_core.allowance.opened import OverlapError
from drafting_core.dart.excess import CROSSES, KEEP, TRIM, Verdict
from drafting_core.dart.finish import FinishedDart, is_wide_enough
from drafting_core.dart.finish_words import cannot_be_opened
from drafting_core.dart.folded_mouth import FoldedMouth
from drafting_core.dart.fullness import Fullness
from drafting_core.dart.marks import WideEdge, seam_notch
from drafting_core.finished.folded_mouths import edges_and_mouths, meeting_at_mouths
from drafting_core.finished.folded_shut import (
    FoldedShut,
    NotFoldedError,
    check_fold_edges,
    folded_and_measured,
)
from drafting_core.model.allowances import Allowances
from drafting_core.model.outline import Edge, nearest_on
from drafting_core.model.piece import Piece
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Line, Segment
from drafting_core.text.errors import DraftingError
from drafting_core.text.words import _


class WithAllowances(NamedTuple):
    """A stitch line, each mouth closed by its cap, with its allowances.

    Attributes:
        darts: the darts; one whose excess cannot stay is trimmed now.
        edges: the edges of the stitch line.
        cut_line: the cut line round it, every trim window taken out.
        windows: the trim windows by the numbers of their darts.
        folded: for each dart what was measured with it folded shut.
        narrow: where a seam misses some of its allowance.
    """

    darts: tuple[FinishedDart, ...]
    edges: list[WideEdge]
    cut_line: list[Segment]
    windows: dict[int, tuple[Segment, ...]]
    folded: tuple[FoldedShut, ...]
    narrow: tuple[NarrowPlace, ...]

    def width_at(self, place: complex) -> float:
        """Return the allowance of the edge that is nearest to a place."""
        return self.edges[nearest_on([edge.segment for edge in self.edges], place).segment].width

    def notch(self, at: complex) -> Line | None:
        """Return the notch for a mark near the outline, or None where it lies on a fold."""
        return seam_notch(at, self.edges, self.cut_line)


def with_allowances(
    piece: Piece,
    darts: Sequence[FinishedDart],
    fullness: Sequence[Fullness],
    settings: Settings,
    *,
    is_on_fold: bool,
) -> WithAllowances:
    """Add the allowances, and fold the outcome shut.

    A dart whose excess, cut as it lies folded, would lie over another part of the piece when it
    is opened is trimmed.

    Args:
        piece: the piece.
        darts: its darts, one for each opening.
        fullness: what is gathered, eased or tucked.
        settings: the drafter's choices.
        is_on_fold: whether its fold edges lie on the fold of the cloth: an opening in the centre
            takes the piece off it.

    Raises:
        DraftingError: if the allowances do not fit, excess cannot be kept as set, or the outcome
            does not fold shut.
    """
    allowances = settings.allowances
    finished = list(darts)
    while True:
        try:
            cut, narrow = _cut_line(piece, finished, fullness, allowances)
            break
        except OverlapError as overlap:
            finished = _trimmed(finished, overlap.mouth, settings)
        except DraftingError as error:
            raise error.about(_("The cut line")) from None
    edges = _with_caps(piece, finished)
    widths = [allowances.width(edge.seam) for edge in edges]
    ring = within_folds(cut.ring, straight_folds(piece.runs)) if is_on_fold else cut.ring
    seams = [edge.segment for edge in piece.edges()]
    try:
        folded = folded_and_measured(finished, ring, seams)
    except NotFoldedError:
        if is_on_fold:
            # What lay beyond the fold is cut away on one side of a mouth alone.
            check_fold_edges(list(piece.edges()), cut.ring)
        raise
    if is_on_fold:
        check_fold_edges(list(piece.edges()), ring)
    wide = [WideEdge(edge.segment, width) for edge, width in zip(edges, widths, strict=True)]
    return WithAllowances(tuple(finished), wide, ring, cut.windows(), tuple(folded), tuple(narrow))


def _cut_line(
    piece: Piece,
    darts: Sequence[FinishedDart],
    fullness: Sequence[Fullness],
    allowances: Allowances,
) -> tuple[OpenedCutLine, list[NarrowPlace]]:
    edges, mouths = edges_and_mouths(piece, darts, fullness)
    edges, mouths = meeting_at_mouths(edges, mouths, allowances)
    strips, mouths = _strips(edges, allowances, mouths)
    cut = opened_cut_line(strips, mouths)
    # A turned allowance follows the side seams as they lie under it: it is no parallel.
    plain = {edge.segment for edge in edges if not allowances.is_turned(edge.seam)}
    asked = [index for index, strip in enumerate(strips) if strip.segment in plain]
    return cut, narrow_places(strips, mouths, cut, asked)


def _strips(
    edges: Sequence[Edge], allowances: Allowances, mouths: dict[int, FoldedMouth]
) -> tuple[list[Strip], dict[int, FoldedMouth]]:
    """Return the stitch line with the allowance of each edge, turned ones folded out."""
    if not any(allowances.is_turned(edge.seam) for edge in edges):
        widths = [allowances.width(edge.seam) for edge in edges]
        return [
            # Never a step at a width of 0, on the fold or not.
            Strip(edge.segment, width, edge.seam.fold or width == 0.0)
            for edge, width in zip(edges, widths, strict=True)
        ], mouths
    # Seldom used: its import is left to those who use it.
    from drafting_core.allowance.turned_allowance import turned_out

    return turned_out(edges, allowances, mouths)


def _trimmed(
    darts: list[FinishedDart], mouth: FoldedMouth, settings: Settings
) -> list[FinishedDart]:
    """Return the darts with one of them trimmed.

    Raises:
        DartError: if it is to be kept, or leaves nothing to cut away.
    """
    dart = None if mouth.dart is None else darts[mouth.dart]
    is_tuck = dart is None or dart.is_tuck
    if (
        dart is None
        or is_tuck
        or dart.excess == TRIM
        or settings.excess == KEEP
        or not is_wide_enough(dart)
    ):
        raise cannot_be_opened(mouth.name, mouth.fold_end, is_tuck=is_tuck)
    trimmed = dart._replace(verdict=Verdict(TRIM, CROSSES))
    return [trimmed if other is dart else other for other in darts]


def _with_caps(piece: Piece, darts: Sequence[FinishedDart]) -> list[Edge]:
    """Return the stitch line with each mouth closed by its cap."""
    edges: list[Edge] = []
    for k, run in enumerate(piece.runs):
        edges += run
        if darts:
            edges += darts[k].cap
    return edges
