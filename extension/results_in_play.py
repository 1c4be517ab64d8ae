"""Which finished pieces a command prints or tells about, and what was drafted for them."""

from __future__ import annotations

from collections.abc import Sequence

from lxml import etree

from drafting_core.draft import add_allowances
from drafting_core.errors import DraftingError
from drafting_core.pattern_piece import Draft
from drafting_core.words import _
from extension.block_marks import core_block, piece_name
from extension.blocks_in_play import blocks_to_allow
from extension.roles import our_attributes
from extension.settings_text import stored_settings
from extension.source_block import Drawing, SourceBlock, thing_called
from extension.svg_document import DocumentError


def results_in_play(
    root: etree._Element, selection: Sequence[str]
) -> tuple[Drawing, list[SourceBlock]]:
    """Return a drawing and its finished pieces: those that the selection touches, else all.

    A selected block that is no finished piece picks nothing, unless nothing else is selected.

    Raises:
        DraftingError: if there are none, or the drawing cannot be read.
    """
    drawing, blocks = blocks_to_allow(root, selection)
    results = [block for block in blocks if block.layer is not None]
    if not results:
        raise DocumentError(
            _("it has no cut line yet."),
            thing=_thing(blocks[0], drawing),
            remedy=_(
                "Run Extensions > Dartswing > Move dart, or Allowances where its darts stay, and "
                "then this command on the new layer."
            ),
        )
    return drawing, results


def drafted(source: SourceBlock, drawing: Drawing) -> Draft:
    """Return what a result's stitch line gives with the settings it was made with.

    Raises:
        DraftingError: if its stitch line can no longer be finished.
    """
    if source.layer is None:
        raise ValueError("only a result keeps the settings it was made with")
    try:
        block = core_block(source, drawing)
        return add_allowances(block, stored_settings(our_attributes(source.outline)))
    except DraftingError as error:
        raise error.replaced(thing=_thing(source, drawing)).noted(source.size_sentence) from None


def _thing(source: SourceBlock, drawing: Drawing) -> str:
    """Return what messages call a block: by its piece's name, where it has one."""
    return thing_called(piece_name(source, drawing) or source.name, source.outline)
