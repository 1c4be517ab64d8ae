"""A cut line that does not belong to its stitch line any more."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import nearest_on
from drafting_core.pages.tiling import chords
from drafting_core.plane.curves import Segment
from drafting_core.text.lengths import told_length
from drafting_core.text.words import _
from extension.document.roles import drawn_by_us, our_attributes
from extension.document.shapes import chains_of
from extension.reading.piece_names import shown_name
from extension.reading.source_block import SourceBlock

#: A cut line that strays further than this from what its stitch line asks for is an old one (mm).
STALE = 0.1


def drawn_cut_line(source: SourceBlock) -> list[tuple[Segment, ...]]:
    """Return the cut line of a result as it is drawn, in true mm."""
    # In a layer that was duplicated as a whole every object is a copy.
    is_copy = not drawn_by_us(source.outline)
    return [
        chain.segments
        for element in (source.layer.iter() if source.layer is not None else ())
        if isinstance(element.tag, str)
        and our_attributes(element).get("part") == "cut-line"
        and (is_copy or drawn_by_us(element))
        for chain in chains_of(element, source.true_mm_per_unit)
    ]


def old_cut_line(drawn: Sequence[Sequence[Segment]], draft: Draft) -> list[str]:
    """Return what is said where a cut line does not belong to its stitch line any more.

    Args:
        drawn: its chains as drawn, in true mm.
        draft: what the stitch line gives now.
    """
    off = 0.0
    for one, other in ((drawn, [draft.cut_line]), ([draft.cut_line], drawn)):
        against = [segment for chain in other for segment in chain]
        if not against:
            return []
        boxes = [segment.box() for segment in against]
        for chain in one:
            for z in chords(chain):
                near = [
                    segment
                    for segment, box in zip(against, boxes, strict=True)
                    if box.left - STALE <= z.real <= box.right + STALE
                    and box.top - STALE <= z.imag <= box.bottom + STALE
                ]
                if not near or nearest_on(near, z).distance > STALE:
                    off = max(off, nearest_on(against, z).distance)
    if off <= STALE:
        return []
    return [
        _(
            "{name}: its cut line is up to {off} away from where its stitch line and allowances "
            "put it. If the stitch line was reshaped, run Allowances and print again."
        ).format(name=shown_name(draft), off=told_length(off))
    ]
