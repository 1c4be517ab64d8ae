"""Where new results go: over their block, in place of one that nobody touched, or beside all."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from lxml import etree

from drafting_core.block.reshaped import Reshaped
from drafting_core.finished.pattern_piece import Draft
from drafting_core.plane.curves import Box, box_about
from drafting_core.text.errors import DraftingError
from extension.document.layer_motion import STAYED
from extension.document.namespaces import LABEL, svg
from extension.document.roles import our_attributes
from extension.document.shapes import mapped_subpaths
from extension.drafting.write_result import piece_box
from extension.options.settings_text import settings_attributes
from extension.reading.drawn_extent import right_edge
from extension.reading.result_memory import result_memory
from extension.reading.source_block import Drawing, SourceBlock

if TYPE_CHECKING:
    from extension.artwork.sector_copies import ArtworkCopies

AUTO, OVER, BESIDE = "auto", "over", "beside"
#: Room between a result that goes beside all that is drawn and what is drawn (mm).
GAP = 20.0
#: What of a layer is no object of the drafter's.
_HOLDERS = frozenset((svg("g"), svg("tspan")))


class NewResult:
    """A result that is to be written.

    Attributes:
        source: the block in the drawing.
        draft: what was made of it.
        label: the label that its layer is to have.
        artwork: what comes along to it of what is drawn on the block, or None.
    """

    def __init__(self, source: SourceBlock, draft: Draft, label: str) -> None:
        """Keep what is to be written."""
        self.source, self.draft, self.label = source, draft, label
        self.artwork: ArtworkCopies | None = None

    @property
    def box(self) -> Box:
        """The box about its cut line in units of the root, before it is shifted."""
        unit = self.source.true_mm_per_unit
        return piece_box(self.draft, lambda z: z / unit)


def replaced(drawing: Drawing, new: Sequence[NewResult], command: str) -> list[SourceBlock]:
    """Return the results that new ones take the place of.

    Those are of the same block, made by the same command with the same settings for the same
    place, and nobody touched them.
    """
    old = [block for block in drawing.blocks if block.layer is not None]
    return [block for block in old if any(_is_same(block, made, command) for made in new)]


def _is_same(old: SourceBlock, made: NewResult, command: str) -> bool:
    attributes = our_attributes(old.outline)
    name = made.source.outline.get("id")
    if old.layer is None or not name:
        return False
    settings = settings_attributes(made.draft.settings)
    return (
        attributes.get("of") == name
        and attributes.get("command") == command
        and _plain(str(old.layer.get(LABEL) or "")) == made.label
        and all(attributes.get(key) == text for key, text in settings.items())
        and is_untouched(old)
    )


def is_untouched(block: SourceBlock) -> bool:
    """Tell whether a result is as it was written: no line, word or object of it is other."""
    try:
        memory = result_memory(block)
    except DraftingError:
        return False
    if memory is None or block.layer is None:
        return False
    lines = [path for path in mapped_subpaths(block.outline) if path.segments]
    unit = block.true_mm_per_unit
    now = [segment.mapped(lambda z: z * unit) for path in lines for segment in path.segments]
    ours = {part.element for part in memory.parts} | {block.outline}
    if "artwork-mark" in our_attributes(block.outline):
        # Few results have any: its import is left to those.
        from extension.artwork.sector_copies import untouched_copies

        if (copies := untouched_copies(block.layer, block.outline)) is None:
            return False
        ours |= copies
    has_others = any(
        isinstance(element.tag, str) and element.tag not in _HOLDERS and element not in ours
        for element in block.layer.iter()
    )
    labels = [seam.label for seam in memory.seams]
    return (
        not has_others
        and memory.motion == STAYED
        and not (memory.changed or memory.missing or memory.title or memory.taken_out)
        and all(part.is_whole for part in memory.parts)
        and [seam.label for seam in memory.known.seams] == labels
        and Reshaped(memory.known.outline, now).is_unchanged
    )


def shift_of(
    root: etree._Element,
    drawing: Drawing,
    new: Sequence[NewResult],
    gone: Sequence[SourceBlock],
    place: str,
) -> complex:
    """Return by how much new results are shifted, in units of the root.

    Args:
        root: the root of the document.
        drawing: what is in it.
        new: the results of a run, which stay together.
        gone: the results that they replace.
        place: where they are to go.
    """
    if gone:
        x, _comma, y = our_attributes(gone[0].outline).get("shift", "0,0").partition(",")
        return complex(float(x), float(y))
    boxes = [made.box for made in new]
    if place == OVER or not boxes:
        return 0j
    # What a result is made of lies below it, be it a block or a result.
    sources = {made.source.outline for made in new}
    others = [block for block in drawing.blocks if block.outline not in sources]
    if place == AUTO and not _meets(boxes, others):
        return 0j
    left = min(box.left for box in boxes)
    gap = GAP / new[0].source.true_mm_per_unit
    return complex(right_edge(root) + gap - left, 0.0)


def _meets(boxes: Sequence[Box], blocks: Sequence[SourceBlock]) -> bool:
    """Tell whether a result lies already where new ones would lie."""
    for block in blocks:
        if block.layer is None:
            continue
        there = outline_box(block)
        if there is not None and any(
            there.left < box.right
            and box.left < there.right
            and there.top < box.bottom
            and box.top < there.bottom
            for box in boxes
        ):
            return True
    return False


def outline_box(block: SourceBlock) -> Box | None:
    """Return the box about a block's outline in units of the root, or None where it has none."""
    try:
        chains = [path.segments for path in mapped_subpaths(block.outline) if path.segments]
    except DraftingError:
        return None
    points = [z for chain in chains for segment in chain for z in segment.extreme_points()]
    return box_about(points) if points else None


def neighbours(
    drawing: Drawing, new: Sequence[NewResult], gone: Sequence[SourceBlock], shift: complex
) -> list[Box]:
    """Return the boxes about the pieces that lie beside new results: blocks and other results.

    Args:
        drawing: what was in the document.
        new: the new results.
        gone: the results that they replace.
        shift: by how much they are shifted; unshifted they lie over their blocks.
    """
    below = set() if shift else {made.source.outline for made in new}
    beside = [block for block in drawing.blocks if block.outline not in below and block not in gone]
    return [box for block in beside if (box := outline_box(block)) is not None]


def _plain(label: str) -> str:
    return re.sub(r" \(\d+\)$", "", label)
