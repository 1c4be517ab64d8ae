"""A small selected object on a seam is the target of its block, where nothing else says one."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import NamedTuple

from lxml import etree

from drafting_core.block.found_block import take_block
from drafting_core.block.places import TARGET_REACH
from drafting_core.model.outline import extent, nearest_on
from drafting_core.model.stretches import stretches
from drafting_core.text.errors import DraftingError
from drafting_core.text.lengths import in_words
from drafting_core.text.words import _, listed
from extension.document import roles
from extension.document.namespaces import svg
from extension.document.roles import (
    Role,
    drawn_by_us,
    is_layer,
    is_result,
    is_shown_only,
    name_of,
    our_attributes,
    role_of,
)
from extension.document.shapes import CLONE, SHAPES, box_of, centre_of
from extension.document.svg_document import DocumentError, elements_with_ids
from extension.reading.block_marks import core_block
from extension.reading.read_blocks import owners_of
from extension.reading.source_block import Drawing, Marked, SourceBlock

#: A target is at most this part of its block's diagonal wide and high, or so many mm.
SMALL_TARGET = 1 / 20
SMALL_ANYWAY = 10.0
#: Whoever selects more objects than this that are no part of a block points at none of them.
_MOST_SELECTED = 12
#: A group that holds more than this is no mark.
_MOST_IN_ONE = 30
#: What lies further from every seam than this (mm) was not meant to lie on one.
_NEARLY = 3 * TARGET_REACH
#: An object's box reaches the seam that it is on within this (mm).
_TOUCHES = 1.0


class _Candidate(NamedTuple):
    """A selected object that may be meant as a target.

    Attributes:
        mark: the object with that role.
        seam: the seam that it is nearest to, as it is called in a sentence.
        distance: how far from that seam its centre lies, in true mm.
        size: the longer side of its box, in true mm.
        most: the most that a target of this block may measure, in true mm.
    """

    mark: Marked
    seam: str
    distance: float
    size: float
    most: float

    @property
    def name(self) -> str:
        return name_of(self.mark.element)

    @property
    def is_small(self) -> bool:
        return self.size <= self.most

    @property
    def is_near(self) -> bool:
        return self.distance <= TARGET_REACH

    @property
    def is_on_seam(self) -> bool:
        return self.distance <= self.size / 2 + _TOUCHES


def with_selected_targets(
    drawing: Drawing,
    root: etree._Element,
    selection: Sequence[str],
    picked: Sequence[SourceBlock],
    *,
    is_named: bool,
) -> Drawing:
    """Return a drawing in which a small selected object on a seam is its block's target.

    Args:
        drawing: the drawing; its blocks get the marks.
        root: the root of the document.
        selection: the ids of the selected objects.
        picked: the blocks that the selection touches by what they have without that.
        is_named: whether the place is said in words anyway.

    Raises:
        DraftingError: if it is not clear which object is meant, or the only one that is selected
            cannot be a target.
    """
    chosen = list(filter(_may_be_target, elements_with_ids(root, selection)))
    if len(chosen) > _MOST_SELECTED:
        return drawing
    marks = [Marked(element, Role(roles.TARGET)) for element in chosen]
    found: dict[SourceBlock, list[Marked]] = {}
    for mark, block in zip(marks, owners_of(marks, drawing), strict=True):
        if block is not None:
            found.setdefault(block, []).append(mark)
    notes = list(drawing.notes)
    for block, members in found.items():
        try:
            candidates = _candidates(members, block, drawing)
        except DraftingError as fault:
            if picked:
                # It is told when the block is drafted.
                continue
            raise fault.about(block.thing).noted(block.size_sentence) from None
        notes += _decided(block, candidates, picked, is_named=is_named)
    return drawing.with_notes(notes)


def _decided(
    block: SourceBlock,
    candidates: Sequence[_Candidate],
    picked: Sequence[SourceBlock],
    *,
    is_named: bool,
) -> list[str]:
    """Give a block the target that is meant, if one is; return what is said of it.

    Raises:
        DocumentError: if it is not clear which is meant, or none can be.
    """
    fitting = [c for c in candidates if c.is_small and c.is_near]
    fitting = [c for c in fitting if c.is_on_seam] or fitting
    own = [*block.marked(roles.TARGET), *block.marked(roles.STYLE_LINE)]
    if own and block in picked:
        # Her mark says it: what else is selected picks blocks.
        return [_not_taken(fitting[0], own[0])] if len(fitting) == 1 else []
    if not fitting:
        nearest = min(candidates, key=lambda c: c.distance, default=None)
        if nearest is not None and nearest.distance <= _NEARLY and not picked:
            raise _no_target(nearest, block)
        return []
    if not is_named and len(fitting) > 1:
        raise _several(fitting)
    if not is_named and own:
        raise _beside_a_mark(fitting[0], own[0])
    if len(fitting) > 1:
        return []
    block.marks.append(fitting[0].mark)
    # That a named place goes before is told where targets are read.
    return [] if is_named else [_taken(fitting[0])]


def _may_be_target(element: etree._Element) -> bool:
    """Tell whether an object is the drafter's own, without a role, and no part of a block."""
    if element.tag not in SHAPES and element.tag not in (CLONE, svg("g"), svg("a")):
        return False
    if is_layer(element) or drawn_by_us(element):
        return False
    try:
        for around in (element, *element.iterancestors()):
            if is_result(around) or is_shown_only(around) or role_of(around) is not None:
                return False
            if not {"sign-of", "note-of"}.isdisjoint(our_attributes(around)):
                return False
        inside = list(itertools.islice(element.iter(etree.Element), _MOST_IN_ONE + 1))
        return len(inside) <= _MOST_IN_ONE and all(role_of(e) is None for e in inside)
    except DraftingError:
        return False


def _candidates(marks: Sequence[Marked], block: SourceBlock, drawing: Drawing) -> list[_Candidate]:
    """Return objects as candidates for the target of the block that they are on or in.

    Raises:
        DraftingError: if the block cannot be read.
    """
    core = core_block(block, drawing)
    piece = take_block(core, equalise=True, even_legs=True).piece
    diagonal = abs(complex(*extent(edge.segment for edge in core.outline)))
    most = max(SMALL_TARGET * diagonal, SMALL_ANYWAY)
    seams = [(stretch.seam.spoken, stretch.segments(piece)) for stretch in stretches(piece)]
    unit = block.true_mm_per_unit
    found = []
    for mark in marks:
        try:
            box, at = box_of(mark.element), centre_of(mark.element) * unit
        except DraftingError:
            continue
        size = max(box.right - box.left, box.bottom - box.top) * unit
        distance, seam = min((nearest_on(line, at).distance, name) for name, line in seams)
        found.append(_Candidate(mark, seam, distance, size, most))
    return found


def _taken(candidate: _Candidate) -> str:
    if not candidate.is_on_seam:
        return _(
            "{name} is selected and lies {distance} from {seam}: it is taken as the target."
        ).format(name=candidate.name, distance=in_words(candidate.distance), seam=candidate.seam)
    return _("{name} is selected and lies on {seam}: it is taken as the target.").format(
        name=candidate.name, seam=candidate.seam
    )


def _not_taken(candidate: _Candidate, own: Marked) -> str:
    return _("{name} is not taken as a target, since the block has {mark}.").format(
        name=candidate.name, mark=name_of(own.element)
    )


def _several(candidates: Sequence[_Candidate]) -> DocumentError:
    names = listed(candidate.name for candidate in candidates)
    return DocumentError(
        _("{names} lie on seams of one block, and each may be meant as the target.").format(
            names=names
        ),
        thing=_("The selection"),
        remedy=_(
            "Select the one that is meant; or mark those that are by Extensions > Dartswing > Mark "
            "parts, with the role target."
        ),
    )


def _beside_a_mark(candidate: _Candidate, own: Marked) -> DocumentError:
    return DocumentError(
        _(
            "{name} lies on {seam} and may be meant as the target, but the block has {mark} for it."
        ).format(name=candidate.name, seam=candidate.seam, mark=name_of(own.element)),
        thing=_("The selection"),
        remedy=_(
            "Select nothing to go by that mark; or take its role off by Extensions > Dartswing > "
            "Mark parts, with the role none."
        ),
    )


def _no_target(candidate: _Candidate, block: SourceBlock) -> DocumentError:
    if not candidate.is_small and candidate.is_on_seam:
        return DocumentError(
            _(
                "it lies on {seam}, but is too large to be taken as the target: it measures "
                "{size}, and {most} is the most on this block."
            ).format(
                seam=candidate.seam, size=in_words(candidate.size), most=in_words(candidate.most)
            ),
            thing=candidate.name,
            remedy=_(
                "Draw a smaller one; or mark it by Extensions > Dartswing > Mark parts, with the "
                "role target."
            ),
        )
    return DocumentError(
        _("it lies {distance} from {seam}, too far to be taken as the target.").format(
            distance=in_words(candidate.distance), seam=candidate.seam
        ),
        thing=candidate.name,
        remedy=_(
            "Draw a small object on the seam where the dart is to go; or select the block's "
            "outline or one of its marks."
        ),
        place=centre_of(candidate.mark.element) * block.mm_per_unit,
    )
