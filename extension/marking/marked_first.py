"""An unmarked block for which a place is named: marked by its shape first, then drafted."""

from __future__ import annotations

import copy
from collections.abc import Callable

from lxml import etree

from drafting_core.text.errors import DraftingError
from drafting_core.text.words import _
from extension.document.svg_document import units
from extension.drafting.move_and_allow import Outcome, Request
from extension.marking.block_selection import only_block
from extension.marking.mark_block import mark_blocks
from extension.reading.blocks_in_play import UnmarkedError


def marked_first(
    root: etree._Element,
    request: Request,
    job: Callable[[etree._Element, Request], Outcome],
    unmarked: UnmarkedError,
) -> Outcome:
    """Mark the block that is meant by its shape, and do a job to it.

    Args:
        root: the root of the document.
        request: what the drafter asks for.
        job: what is done to the marked block.
        unmarked: what is said where nothing can be marked.

    Raises:
        DraftingError: if it cannot be marked or drafted; the document is then as it was.
    """
    trial = copy.deepcopy(root)
    selection = request.selection or list(filter(None, [only_block(trial, units(trial))]))
    try:
        marked = mark_blocks(trial, selection)
    except DraftingError:
        raise unmarked from None
    told = _("No block was marked: it was marked by its shape, on the layer Marks; look at them.")
    done = job(trial, request._replace(told=(told, *request.told)))
    for child in list(root):
        root.remove(child)
    root.extend(list(trial))
    return done._replace(notes=[*marked.lines, *done.notes], signed=[*done.signed, *marked.looks])
