"""Drafting several blocks in one run: all of them, or those that can be drafted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from drafting_core.finished.pattern_piece import Draft
from drafting_core.text.errors import DraftingError
from drafting_core.text.words import _, ngettext
from extension.document.roles import name_of
from extension.document.visibility import is_hidden, is_locked
from extension.reading.block_marks import piece_name
from extension.reading.source_block import Drawing, SourceBlock


class BlockLeftOut(NamedTuple):
    """A block that could not be drafted.

    Attributes:
        name: what the drafter calls it.
        message: why not, on which object, and what to do.
    """

    name: str
    message: str


class Drafted(NamedTuple):
    """What was drafted of the blocks in play, in document order, and what was left out.

    Attributes:
        results: the blocks, each with a piece that it became.
        left_out: the blocks that could not be drafted.
    """

    results: list[tuple[SourceBlock, Draft]]
    left_out: list[BlockLeftOut]


def draft_all(
    sources: Sequence[SourceBlock],
    drawing: Drawing,
    draft: Callable[[SourceBlock], Sequence[Draft]],
    *,
    keep_going: bool,
) -> Drafted:
    """Draft every block in play.

    Args:
        sources: the blocks in play.
        drawing: all that the drawing holds.
        draft: how to draft one of them, which may become several pieces.
        keep_going: whether a block that cannot be drafted is left out.

    Raises:
        DraftingError: if a block cannot be drafted; with ``keep_going`` if none can.
    """
    if not keep_going:
        for block in drawing.blocks:
            if block.fault is not None and (block in sources or not _is_aside(block)):
                raise _nothing_written(_of_block(block.fault, block, drawing), len(sources) - 1)
    drafted = Drafted([], [])
    first: DraftingError | None = None
    for source in sources:
        if len(sources) > 1:
            source.name = piece_name(source, drawing)
        try:
            if source.fault is not None:
                raise source.fault
            drafted.results.extend((source, result) for result in draft(source))
        except DraftingError as error:
            said = _of_block(error, source, drawing)
            if not keep_going:
                raise _nothing_written(said, len(sources) - 1) from None
            first = first or said
            drafted.left_out.append(BlockLeftOut(source.name or name_of(source.outline), str(said)))
    if first is not None and not drafted.results:
        raise _none_left(first, len(sources) - 1)
    return drafted


def _is_aside(block: SourceBlock) -> bool:
    """Tell whether a block was hidden or locked: what is wrong with it then stops no other."""
    return is_hidden(block.outline) or is_locked(block.outline)


def _of_block(error: DraftingError, source: SourceBlock, drawing: Drawing) -> DraftingError:
    """Return an error that names the block, and its size where that helps."""
    if error.other_block and error.thing != source.thing:
        # The fault of the block whose marks this one takes.
        return error
    said = error.about(source.thing).noted(source.size_sentence)
    if said.place is not None and source.edges and error is not source.fault:
        # As the drawing has it, for a sign there; what was at fault when it was read is so already.
        said = said.replaced(place=said.place / source.scale)
    name = piece_name(source, drawing) if len(drawing.blocks) > 1 else ""
    if name and name not in str(said):
        return _also(said, _('(It is in the block "{name}".)').format(name=name))
    return said


def _nothing_written(error: DraftingError, others: int) -> DraftingError:
    if others < 1:
        return error
    sentence = ngettext(
        "Nothing was written for the other block either; --keep-going writes those that can be "
        "drafted.",
        "Nothing was written for the other {n} blocks either; --keep-going writes those that can "
        "be drafted.",
        others,
    )
    return _also(error, sentence.format(n=others))


def _none_left(error: DraftingError, others: int) -> DraftingError:
    if others < 1:
        return error
    sentence = ngettext(
        "The other block could not be drafted either: nothing was written.",
        "The other {n} blocks could not be drafted either: nothing was written.",
        others,
    )
    return _also(error, sentence.format(n=others))


def _also(error: DraftingError, sentence: str) -> DraftingError:
    return error.replaced(note=f"{error.note} {sentence}".strip())
