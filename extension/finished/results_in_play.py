"""Which finished pieces a command prints or tells about, and what was drafted for them."""

from __future__ import annotations

from collections.abc import Sequence

from lxml import etree

from drafting_core.finished.draft import add_allowances
from drafting_core.finished.pattern_piece import Draft
from drafting_core.text.errors import DraftingError
from drafting_core.text.words import _, ngettext
from extension.document.namespaces import LABEL
from extension.document.stored_values import UnusableAttributeError
from extension.document.svg_document import DocumentError
from extension.document.visibility import is_hidden
from extension.finished.lost_darts import check_no_dart_lost
from extension.options.settings_text import settings_of
from extension.reading.block_marks import core_block, piece_name
from extension.reading.blocks_in_play import blocks_to_allow
from extension.reading.source_block import Drawing, SourceBlock, thing_called


def results_in_play(
    root: etree._Element, selection: Sequence[str]
) -> tuple[Drawing, list[SourceBlock]]:
    """Return a drawing and its finished pieces: those that the selection touches, else all.

    A selected block that is no finished piece picks nothing, unless nothing else is selected.

    Raises:
        DraftingError: if there are none, or the drawing cannot be read.
    """
    drawing, blocks = blocks_to_allow(root, selection, all_results=True)
    results = [block for block in blocks if block.layer is not None]
    if not results:
        raise DocumentError(
            _("it has no cut line yet."),
            thing=piece_called(blocks[0], drawing),
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
        draft = add_allowances(block, settings_of(source.outline))
        check_no_dart_lost(source, draft)
    except UnusableAttributeError as error:
        raise error.noted(source.size_sentence) from None
    except DraftingError as error:
        raise error.replaced(thing=piece_called(source, drawing)).noted(
            source.size_sentence
        ) from None
    return draft


def piece_called(source: SourceBlock, drawing: Drawing) -> str:
    """Return what messages call a block: a result by its layer, since names may be alike."""
    label = "" if source.layer is None else str(source.layer.get(LABEL) or "").strip()
    if label:
        return _('The piece "{name}"').format(name=label)
    return thing_called(piece_name(source, drawing) or source.name, source.outline)


def visible(
    sources: Sequence[SourceBlock], *, selected: bool
) -> tuple[list[SourceBlock], list[str]]:
    """Return the results that are not hidden, and what is said of the others.

    Args:
        sources: the results.
        selected: whether they were selected: then they count, hidden or not.

    Raises:
        DocumentError: if all are hidden.
    """
    shown = [s for s in sources if selected or s.layer is None or not is_hidden(s.layer)]
    if not shown:
        raise DocumentError(
            _("all finished pieces are hidden."),
            thing=_("The drawing"),
            remedy=_("Show the layers that are meant, or select the pieces."),
        )
    hidden = len(sources) - len(shown)
    if not hidden:
        return shown, []
    said = ngettext("{n} hidden piece is left out.", "{n} hidden pieces are left out.", hidden)
    return shown, [said.format(n=hidden)]
