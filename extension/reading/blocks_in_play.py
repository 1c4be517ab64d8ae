"""Which blocks of a drawing a command is about: those selected, else those that ask for it."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence

from lxml import etree

from drafting_core.text.errors import DraftingError, PlaceError
from drafting_core.text.words import _, listed
from extension.document import roles
from extension.document.roles import name_of, near_misses
from extension.document.svg_document import DocumentError, elements_with_ids, units
from extension.document.visibility import is_hidden, is_locked
from extension.reading.block_marks import piece_name
from extension.reading.read_blocks import read_drawing
from extension.reading.read_outline import outline_edges
from extension.reading.source_block import Drawing, SourceBlock, ancestors


class UnmarkedError(DocumentError):
    """Nothing of what is meant is marked as a block: its outline may be, by its shape."""


def blocks_to_move(
    root: etree._Element,
    selection: Sequence[str],
    to: str,
    *,
    nest: bool = False,
    takes_selected: bool = False,
) -> tuple[Drawing, list[SourceBlock]]:
    """Return a drawing and those of its blocks that a move is about.

    Args:
        root: the root of the document.
        selection: the ids of the selected objects; they pick blocks.
        to: the places in words, or an empty string where target marks say them.
        nest: whether blocks without marks take those of the one that has them.
        takes_selected: whether a small selected object on a seam is the target.

    Raises:
        DraftingError: if there are none, or the drawing cannot be read.
    """
    drawing = _drawing(root, selection)
    if selection:
        if takes_selected and not nest:
            drawing = _with_selected(drawing, root, selection, is_named=bool(to.strip()))
        return drawing, _selected(drawing, root, selection)
    if nest:
        from extension.reading.nest_marks import plain_blocks

        if plain := plain_blocks(drawing):
            return _meant(drawing, plain)
    if to.strip():
        plain = [block for block in drawing.blocks if block.layer is None]
        return _meant(drawing, plain or drawing.blocks)
    with_target = [
        block
        for block in drawing.blocks
        if block.marked(roles.TARGET) or block.marked(roles.STYLE_LINE) or block.fault is not None
    ]
    if not with_target:
        raise _no_target(drawing, root)
    return _meant(drawing, with_target)


def _with_selected(
    drawing: Drawing, root: etree._Element, selection: Sequence[str], *, is_named: bool
) -> Drawing:
    """Return a drawing with a selected object as target, if something selected is no part of it."""
    chosen = elements_with_ids(root, selection)
    parts = {part for block in drawing.blocks for part in _parts(block)}
    if all(element in parts for element in chosen):
        return drawing
    # Most selections pick blocks and nothing else.
    from extension.reading.selected_target import with_selected_targets

    picked = _touched(drawing, chosen)
    return with_selected_targets(drawing, root, selection, picked, is_named=is_named)


def blocks_to_allow(
    root: etree._Element, selection: Sequence[str], *, all_results: bool = False
) -> tuple[Drawing, list[SourceBlock]]:
    """Return a drawing and those of its blocks that get new allowances: results, if any.

    Args:
        root: the root of the document.
        selection: the ids of the selected objects; they pick blocks.
        all_results: whether with nothing selected results that are hidden or locked count too.

    Raises:
        DraftingError: if there are none, or the drawing cannot be read.
    """
    drawing = _drawing(root, selection)
    if selection:
        return drawing, _selected(drawing, root, selection)
    if drawing.lost:
        raise _lost(drawing.lost[0])
    results = [block for block in drawing.blocks if block.layer is not None]
    if results and all_results:
        return drawing, results
    return _meant(drawing, results or drawing.blocks)


def _meant(drawing: Drawing, blocks: Sequence[SourceBlock]) -> tuple[Drawing, list[SourceBlock]]:
    """Return those blocks that are neither hidden nor locked, and say which locked ones are not.

    Where all are hidden, or all that are shown are locked, these are meant.
    """
    shown = [block for block in blocks if not is_hidden(block.outline)] or list(blocks)
    free = [block for block in shown if not is_locked(block.outline)]
    if not free or len(free) == len(shown):
        return drawing, shown
    locked = listed(
        f'"{name}"' if (name := piece_name(block, drawing)) else name_of(block.outline)
        for block in shown
        if block not in free
    )
    said = _("Left alone, since locked: {names}. Select one to draft it.").format(names=locked)
    return drawing.with_notes([*drawing.notes, said]), free


def _drawing(root: etree._Element, selection: Sequence[str]) -> Drawing:
    drawing = read_drawing(root, selection)
    if drawing.blocks:
        return drawing
    if drawing.lost:
        raise _lost(drawing.lost[0])
    misread = near_misses(root, roles.OUTLINE)
    if not misread and selection:
        raise _not_understood(
            root,
            selection,
            _("a block outline; the drawing has no outline at all."),
            _(
                "Select the block's closed stitch line and choose Extensions > Dartswing > Mark a "
                "block, or Mark parts for one mark after the other."
            ),
        )
    what = (
        _(
            "the drawing has no outline ({names} is not read as outline: nothing else may stand "
            "in the label)."
        )
        if misread
        else _("the drawing has no outline.")
    )
    # A label that was mistyped is no unmarked drawing.
    kind = DocumentError if misread else UnmarkedError
    raise kind(
        what.format(names=", ".join(misread)),
        remedy=_(
            "Select the block's closed stitch line and choose Extensions > Dartswing > Mark a "
            'block, or label it "outline" (Object > Object Properties).'
        ),
    )


def _no_target(drawing: Drawing, root: etree._Element) -> PlaceError:
    misread = near_misses(root, roles.TARGET)
    what = (
        _(
            "there is no target ({names} is not read as target: nothing else may stand in the "
            "label)."
        )
        if misread
        else _("there is no target.")
    )
    return PlaceError(
        what.format(names=", ".join(misread)),
        remedy=_no_target_remedy(drawing),
        note=_sizes(drawing),
    )


def _no_target_remedy(drawing: Drawing) -> str:
    """Return how a target is marked or named, with the seams that the first block has."""
    # Only faults need them.
    from drafting_core.block.found_block import take_block
    from drafting_core.block.places import seam_list
    from extension.reading.block_marks import core_block

    remedy = _(
        'Put a small mark labelled "target" on the outline where the dart is to go '
        "(Extensions > Dartswing > Mark parts labels it), or name the place: pick a seam in the "
        'dialog, or say it, as in "side seam:0.35".'
    )
    try:
        piece = take_block(core_block(drawing.blocks[0], drawing), equalise=True).piece
    except DraftingError:
        return remedy
    return f"{remedy} {seam_list(piece)}"


def _selected(
    drawing: Drawing, root: etree._Element, selection: Sequence[str]
) -> list[SourceBlock]:
    """Return the blocks that the selection touches, by their outline, marks or groups."""
    chosen = elements_with_ids(root, selection)
    touched = _touched(drawing, chosen)
    for layer in drawing.lost:
        if any(layer is e or layer in e.iterancestors() for e in chosen):
            raise _lost(layer)
    if not touched:
        raise _not_understood(
            root,
            selection,
            _("an outline, or a mark of one: what is selected touches no block."),
            _(
                "Select an outline or one of its marks, or nothing at all; Extensions > Dartswing "
                "> Mark a block makes a block of a closed path."
            ),
        ).noted(_sizes(drawing))
    return touched


def _touched(drawing: Drawing, chosen: Sequence[etree._Element]) -> list[SourceBlock]:
    within = set(chosen)
    around = {ancestor for element in chosen for ancestor in ancestors(element)}
    return [
        block
        for block in drawing.blocks
        if any(
            part in within or part in around or not within.isdisjoint(ancestors(part))
            for part in _parts(block)
        )
    ]


def _parts(block: SourceBlock) -> list[etree._Element]:
    """Return a block's outline, its marks and, of a result, its layer."""
    parts = [block.outline, *(mark.element for mark in block.marks)]
    return parts if block.layer is None else [*parts, block.layer]


def _not_understood(
    root: etree._Element, selection: Sequence[str], missing: str, remedy: str
) -> UnmarkedError:
    """Return the error that says what the selected objects were understood to be."""
    # Only faults need it.
    from extension.reading.selected_objects import described, refused

    mm = units(root)
    error = refused([described(e, mm) for e in elements_with_ids(root, selection)], missing, remedy)
    return UnmarkedError(error.what, remedy=error.remedy, thing=error.thing)


def _lost(layer: etree._Element) -> DocumentError:
    return DocumentError(
        _(
            "its stitch line has lost what says that it is one, as union, combine and break apart "
            "do."
        ),
        thing=_("The result layer {layer}").format(layer=name_of(layer)),
        remedy=_("Undo that step; or move the line to another layer and label it outline."),
    )


def _sizes(drawing: Drawing) -> str:
    """Return the size of the first block, as far as it can be read."""
    block = drawing.blocks[0]
    with contextlib.suppress(DraftingError):
        outline_edges(block)
    return block.size_sentence
