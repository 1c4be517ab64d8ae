"""Where new results go: over their block, in place of one that nobody touched, or beside all."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from lxml import etree

from drafting_core.block.places import Target
from drafting_core.finished.pattern_piece import Draft
from drafting_core.plane.curves import Box, box_about
from drafting_core.text.errors import DraftingError
from extension.document.namespaces import LABEL
from extension.document.roles import our_attributes
from extension.document.shapes import SHAPES, mapped_subpaths
from extension.drafting.as_drawn import is_untouched
from extension.drafting.write_result import ASKED, piece_box
from extension.options.settings_text import settings_attributes
from extension.reading.drawn_extent import right_edge
from extension.reading.source_block import Drawing, SourceBlock

if TYPE_CHECKING:
    from extension.artwork.sector_copies import ArtworkCopies

AUTO, OVER, BESIDE = "auto", "over", "beside"
#: Room between a result that goes beside all that is drawn and what is drawn (mm).
GAP = 20.0


class NewResult:
    """A result that is to be written.

    Attributes:
        source: the block in the drawing.
        draft: what was made of it.
        label: the label that its layer is to have.
        asked: what its targets ask for beside their places.
        artwork: what comes along to it of what is drawn on the block, or None.
    """

    def __init__(
        self, source: SourceBlock, draft: Draft, label: str, targets: Sequence[Target] = ()
    ) -> None:
        """Keep what is to be written, and what the targets ask for that it was made for."""
        self.source, self.draft, self.label = source, draft, label
        asked = [f"{t.share},{t.intake},{t.made},{t.source}" for t in targets]
        self.asked = "; ".join(asked) if any(text != "None,None,," for text in asked) else ""
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
        and attributes.get(ASKED, "") == made.asked
        and all(attributes.get(key) == text for key, text in settings.items())
        and _lies_above(old.layer, made.source.outline)
        and is_untouched(old)
    )


def _lies_above(layer: etree._Element, source: etree._Element) -> bool:
    """Tell whether a result still lies above what it was made of, in the order of layers."""
    top = [source, *source.iterancestors()]
    parent = layer.getparent()
    if parent is None or parent is not top[-1] or len(top) < 2:
        return False
    return bool(parent.index(layer) > parent.index(top[-2]))


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
    boxes = [made.box for made in new]
    going = {block.outline for block in gone}
    others = [block for block in drawing.blocks if block.outline not in going]
    if gone:
        x, _comma, y = our_attributes(gone[0].outline).get("shift", "0,0").partition(",")
        shift = complex(float(x), float(y))
        # Of several results one may have been touched, and lies where its like would go.
        there = [_shifted(box, shift) for box in boxes]
        if len(gone) >= len(new) or not _meets(there, others):
            return shift
    if place == OVER or not boxes:
        return 0j
    if place == AUTO and not _meets(boxes, others):
        return 0j
    left = min(box.left for box in boxes)
    gap = GAP / new[0].source.true_mm_per_unit
    return complex(right_edge(root) + gap - left, 0.0)


def _shifted(box: Box, by: complex) -> Box:
    x, y = by.real, by.imag
    return Box(box.left + x, box.top + y, box.right + x, box.bottom + y)


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
    lines = [line for line in block.outline.iter(etree.Element) if line.tag in SHAPES]
    try:
        paths = [path for line in lines for path in mapped_subpaths(line)]
    except DraftingError:
        return None
    points = [z for path in paths for segment in path.segments for z in segment.extreme_points()]
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
