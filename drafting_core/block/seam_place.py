"""Where on a block's seams a dart went: the seam and how far along it, or the corner of two."""

from __future__ import annotations

from typing import NamedTuple

from drafting_core.block.places import (
    NODE_SNAP,
    Reached,
    length_in_place,
    measured_forward,
    runs_across,
)
from drafting_core.model.piece import Piece, Spot
from drafting_core.model.seam_names import CENTRE_FRONT, NECKLINE, Seam
from drafting_core.model.stretches import stretches

UPPER, CENTRE, ALONG = "upper", "centre", "along"


class SeamPlace(NamedTuple):
    """A place on the seams of a block, as it is before anything turns.

    Attributes:
        seams: the seam, or the two seams whose corner it is, in the outline's direction.
        fraction: how far along the seam it lies, from 0 to 1, measured as a place in words is;
            None at a corner.
        is_mouth: whether a dart is there already.
        measured_from: the end from which it is measured: `UPPER`, `CENTRE`, or `ALONG` where a
            seam across the grain has no centre.
        length: how far along the drafter said it is, where she said it by a length and it is
            there: as she typed it, like "3 1/4in"; else an empty string.
    """

    seams: tuple[Seam, ...]
    fraction: float | None = None
    is_mouth: bool = False
    measured_from: str = UPPER
    length: str = ""

    @property
    def is_neckline_tip(self) -> bool:
        """Whether it is the corner of neckline and centre front."""
        return {seam.kind for seam in self.seams} == {NECKLINE, CENTRE_FRONT}


def seam_place(piece: Piece, reached: Reached, grain: complex, words: str = "") -> SeamPlace:
    """Return which place a target came to.

    Args:
        piece: the block before it is cut.
        reached: where the target came to lie.
        grain: the unit vector pointing down along the grain.
        words: the place in words, where the target is said in words.
    """
    is_mouth = reached.mouth is not None
    run, edge, t = _spot(piece, reached)
    everywhere = stretches(piece)
    number = next(n for n, stretch in enumerate(everywhere) if (run, edge) in stretch.edges)
    stretch = everywhere[number]
    segments = stretch.segments(piece)
    index = stretch.edges.index((run, edge))
    before = sum(segment.length() for segment in segments[:index])
    before += segments[index].length(0.0, t)
    whole = before + segments[index].length(t, 1.0)
    whole += sum(segment.length() for segment in segments[index + 1 :])
    # An edge ends at the corner; that it begins there is the other seam's end.
    following = everywhere[(number + 1) % len(everywhere)]
    if whole - before <= NODE_SNAP and following is not stretch:
        return SeamPlace((stretch.seam, following.seam), is_mouth=is_mouth)
    forward = measured_forward(piece, stretch, grain)
    fraction = before / whole if forward else 1.0 - before / whole
    end = UPPER
    if runs_across(piece, stretch, grain):
        end = CENTRE if any(edge.seam.counts_as_centre for edge in piece.edges()) else ALONG
    said = "" if is_mouth or reached.snapped else length_in_place(words)
    return SeamPlace((stretch.seam,), fraction, is_mouth, end, said)


def _spot(piece: Piece, reached: Reached) -> Spot:
    """Return a place as the end of what lies before it on the outline."""
    if reached.spot is not None:
        return reached.spot
    if reached.mouth is None:
        raise ValueError("a target has come to a place or to a mouth")
    return Spot(reached.mouth, len(piece.runs[reached.mouth]) - 1, 1.0)
