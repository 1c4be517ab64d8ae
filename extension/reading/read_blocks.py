"""Reading blocks from a drawing: outlines, and which marks belong to which."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping, Sequence
from itertools import permutations

from lxml import etree

from drafting_core.block.find_darts import take_apart
from drafting_core.block.places import TARGET_REACH
from drafting_core.model.outline import checked, encloses, extent, flattened, nearest_on
from drafting_core.text.errors import DraftingError
from drafting_core.text.words import _, listed
from extension.document import roles
from extension.document.namespaces import svg
from extension.document.roles import (
    Role,
    drawn_by_us,
    is_result,
    is_shown_only,
    name_of,
    our_attributes,
    role_of,
)
from extension.document.shapes import (
    CLONE,
    NOT_DRAWN,
    SHAPES,
    centre_of,
    clone_refused,
    mapped_subpaths,
)
from extension.document.svg_document import DocumentError, units
from extension.document.visibility import is_hidden, is_locked
from extension.reading.loose_results import loose_results, scattered
from extension.reading.neighbourhood import Neighbourhood
from extension.reading.read_outline import outline_edges
from extension.reading.source_block import Drawing, Marked, SourceBlock, ancestors, mark_key

#: Outlines lie equally near to a mark within this (mm): an old draft beneath the block.
_ALIKE = 1.0
#: The word of a role that cannot be read.
UNREAD = ""


def read_drawing(
    root: etree._Element,
    selection: Sequence[str] = (),
    outlines_to_be: Sequence[etree._Element] = (),
) -> Drawing:
    """Find every block of a drawing and give it its marks.

    Args:
        root: the root of the SVG document.
        selection: the ids of the selected objects.
        outlines_to_be: objects that are read as outlines, though nothing says so yet.

    What cannot be read, or belongs to two blocks, is kept as the fault of the blocks concerned.

    Raises:
        DraftingError: if something that carries a role cannot be read and is no block's.
    """
    mm = units(root)
    marks: list[Marked] = []
    results: list[tuple[etree._Element, list[Marked]]] = []
    homes = loose_results(root)
    _collect(root, None, marks, results, frozenset(outlines_to_be), frozenset(homes.values()))
    outlines = [mark for mark in marks if mark.role.word == roles.OUTLINE]
    notes: list[str] = []
    if not outlines:
        taken = _by_selection(root, selection)
        if taken:
            outlines = [mark for mark in taken if mark.role.word == roles.OUTLINE]
            marks += taken
            notes.append(
                _(
                    "Taken from the selection: {outline} as outline, {apex} as apex, {target} as "
                    "target."
                ).format(**{mark.role.word: name_of(mark.element) for mark in taken})
            )
    blocks = _without_traces(outlines, mm, selection)
    found = [(layer, _result_block(layer, members, mm)) for layer, members in results]
    lost = [layer for layer, block in found if block is None and any(map(_is_left, layer.iter()))]
    blocks += [block for _layer, block in found if block is not None]
    blocks = [block for block in blocks if homes.get(block.outline, root) is not None]
    blocks += [scattered(stitch, root, mm) for stitch, home in homes.items() if home is None]
    order = {element: index for index, element in enumerate(root.iter())}
    blocks.sort(key=lambda block: order[block.outline])
    others = [mark for mark in marks if mark.role.word != roles.OUTLINE]
    _assign(others, [block for block in blocks if block.layer is None])
    return Drawing(blocks, notes, lost)


def owners_of(marks: Sequence[Marked], drawing: Drawing) -> list[SourceBlock | None]:
    """Return for more marks the blocks to which they would belong; results have their own."""
    plain = [block for block in drawing.blocks if block.layer is None]
    before = [(block, list(block.marks), block.fault) for block in plain]
    try:
        _assign(marks, plain)
        owners = {id(mark): block for block in plain for mark in block.marks}
        return [owners.get(id(mark)) for mark in marks]
    finally:
        for block, own, fault in before:
            block.marks[:] = own
            block.fault = fault


def _is_left(element: etree._Element) -> bool:
    """Tell whether something is left in a result layer but what nobody can pick up."""
    if not isinstance(element.tag, str) or element.tag not in SHAPES:
        return False
    return our_attributes(element).get("part") != "sheet"


def _without_traces(
    outlines: Sequence[Marked], mm: float, selection: Sequence[str]
) -> list[SourceBlock]:
    """Return the blocks of outlines, without traces that were cleaned up unless she picks them."""
    blocks = [SourceBlock(mark.element, None, mm) for mark in outlines]
    traces = frozenset(key for block in blocks for key in block.traced_marks)
    if not traces:
        return blocks
    return [
        block
        for block, mark in zip(blocks, outlines, strict=True)
        if block.traced_marks
        or mark_key(mark) not in traces
        or block.outline.get("id") in set(selection)
    ]


def _collect(
    parent: etree._Element,
    inside: list[Marked] | None,
    marks: list[Marked],
    results: list[tuple[etree._Element, list[Marked]]],
    outlines_to_be: frozenset[etree._Element] = frozenset(),
    homes: frozenset[etree._Element | None] = frozenset(),
) -> None:
    """Walk the drawing; marks inside a result layer go to that layer alone."""
    for child in parent:
        if not isinstance(child.tag, str) or child.tag in NOT_DRAWN or is_shown_only(child):
            continue
        if inside is None and (is_result(child) or child in homes):
            members: list[Marked] = []
            results.append((child, members))
            _collect(child, members, marks, results)
            continue
        if child in outlines_to_be:
            marks.append(Marked(child, Role(roles.OUTLINE)))
            continue
        found = _marked(child, attributes_only=inside is not None)
        if found is not None:
            (marks if inside is None else inside).append(found)
        elif child.tag in (svg("g"), svg("a"), svg("svg"), svg("switch")):
            _collect(child, inside, marks, results, outlines_to_be, homes)


def _marked(element: etree._Element, *, attributes_only: bool) -> Marked | None:
    try:
        role = role_of(element, attributes_only=attributes_only)
        if role is not None and element.tag == CLONE and role.word not in roles.PLACED:
            raise clone_refused(element)
    except DraftingError as fault:
        return Marked(element, Role(UNREAD), _placed(fault, element))
    return Marked(element, role) if role is not None else None


def _placed(fault: DraftingError, element: etree._Element) -> DraftingError:
    """Return the fault of a mark with the mark's place, where it has one."""
    with contextlib.suppress(DraftingError):
        at = centre_of(element) * units(element.getroottree().getroot())
        return fault.replaced(place=at)
    return fault


def _result_block(layer: etree._Element, members: list[Marked], mm: float) -> SourceBlock | None:
    outlines = [mark for mark in members if mark.role.word == roles.OUTLINE]
    own = [mark for mark in outlines if drawn_by_us(mark.element)]
    chosen = [*own, *(mark for mark in outlines if mark not in own)]
    if not chosen:
        unread = [mark.fault for mark in members if mark.fault is not None]
        if unread:
            raise unread[0]
        return None
    block = SourceBlock(chosen[0].element, layer, mm)
    if len(chosen) > 1:
        names = listed(name_of(mark.element) for mark in chosen)
        block.fault = DocumentError(
            _("it holds {n} stitch lines: {names}.").format(n=len(chosen), names=names),
            thing=_("The result layer {layer}").format(layer=name_of(layer)),
            remedy=_(
                "Keep the one that is meant and delete the other, or move it to another layer."
            ),
            place=_start_of(chosen[1].element, mm),
        )
    for mark in members:
        if mark.role.word != roles.OUTLINE:
            _give(block, mark)
    return block


def _start_of(element: etree._Element, mm: float) -> complex | None:
    """Return where a path starts in mm, or None where it cannot be read."""
    try:
        return mapped_subpaths(element)[0].start * mm if element.tag in SHAPES else None
    except (DraftingError, IndexError):
        return None


def _give(block: SourceBlock, mark: Marked) -> None:
    if mark.fault is None:
        block.marks.append(mark)
    elif block.fault is None:
        block.fault = mark.fault


def _assign(marks: Sequence[Marked], blocks: Sequence[SourceBlock]) -> None:
    """Give every mark to the block in its nearest group, else to the one it lies on or in."""
    holders: dict[etree._Element, list[SourceBlock]] = {}
    for block in blocks:
        for ancestor in ancestors(block.outline):
            holders.setdefault(ancestor, []).append(block)
    neighbourhoods: dict[etree._Element, Neighbourhood] = {}
    called = {block.outline.get("id"): block for block in blocks}
    for mark in marks:
        if (said := _said_block(mark, called)) is not None:
            _give(said, mark)
            continue
        holder = next((group for group in ancestors(mark.element) if group in holders), None)
        candidates = [
            block
            for block in (holders[holder] if holder is not None else [])
            if not block.traced_marks or mark_key(mark) not in block.traced_marks
        ]
        if len(candidates) <= 1:
            chosen = candidates[0] if candidates else None
        else:
            among = holder if len(candidates) == len(holders[holder]) else mark.element
            if among not in neighbourhoods:
                neighbourhoods[among] = Neighbourhood(candidates)
            chosen = _by_place(mark, neighbourhoods[among])
        if chosen is not None:
            _give(chosen, mark)
        elif mark.fault is not None:
            raise mark.fault
        elif mark.role.word == roles.KNOWN_LENGTH:
            for block in candidates:
                block.marks.append(mark)


def _said_block(mark: Marked, called: Mapping[str | None, SourceBlock]) -> SourceBlock | None:
    """Return the block for which Dartswing wrote a mark; a copy of it is anyone's."""
    attributes = our_attributes(mark.element)
    if "of" not in attributes or not drawn_by_us(mark.element):
        return None
    return called.get(attributes["of"])


def _like_it(mark: Marked, blocks: Sequence[SourceBlock]) -> list[SourceBlock]:
    """Return those of several blocks that a mark may mean; all of them, where none stands out.

    A mark that is shown means a block that is neither hidden nor locked; one that is hidden or
    locked means a block that is so too.
    """
    if len(blocks) < 2:
        return list(blocks)

    def is_aside(element: etree._Element) -> bool:
        return is_hidden(element) or is_locked(element)

    aside = is_aside(mark.element)
    return [block for block in blocks if is_aside(block.outline) == aside] or list(blocks)


def _by_place(mark: Marked, among: Neighbourhood) -> SourceBlock | None:
    try:
        at = centre_of(mark.element) * among.mm_per_unit
    except DraftingError:
        # A mark without a place is no block's, unless it could not be read anyway.
        if mark.fault is not None:
            return None
        raise
    distances = {}
    inside = []
    candidates = among.about(at)
    for block in candidates:
        segments = [edge.segment for edge in outline_edges(block)]
        distances[id(block)] = nearest_on(segments, at).distance
        if encloses(flattened(segments), at):
            inside.append(block)
    near = [block for block in candidates if distances[id(block)] <= TARGET_REACH]
    if mark.role.word in (
        roles.APEX,
        roles.HOLD,
        roles.KNOWN_LENGTH,
        roles.GRAIN,
        roles.INNER_LINE,
        roles.STYLE_LINE,
    ):
        inside = _like_it(mark, inside)
        if len(inside) > 1:
            names = listed(name_of(block.outline) for block in inside)
            fault = DocumentError(
                _("it lies in {n} outlines: {names}.").format(n=len(inside), names=names),
                thing=name_of(mark.element),
                remedy=_("Put each block with its marks into a group or layer of its own."),
                place=at,
            )
            for block in inside:
                block.fault = block.fault or fault
            return inside[0]
        if inside:
            return inside[0]
    pool = near or inside
    if not pool:
        return None
    nearest = min(distances[id(block)] for block in pool)
    alike = [block for block in pool if distances[id(block)] <= nearest + _ALIKE]
    return min(_like_it(mark, alike), key=lambda block: distances[id(block)])


def _by_selection(root: etree._Element, selection: Sequence[str]) -> list[Marked]:
    """Take three selected objects without roles as outline, apex and target, if that is clear."""
    chosen = [element for element in root.iter() if element.get("id") in set(selection)]
    if len(chosen) != 3 or any(role_of(element) for element in chosen):
        return []
    if any(is_shown_only(ancestor) for element in chosen for ancestor in ancestors(element)):
        return []
    mm = units(root)
    readings = [
        reading
        for reading in permutations(chosen, 3)
        if _makes_sense(reading[0], reading[1], reading[2], mm)
    ]
    if len(readings) != 1:
        return []
    words = (roles.OUTLINE, roles.APEX, roles.TARGET)
    return [Marked(e, Role(word)) for e, word in zip(readings[0], words, strict=True)]


def _makes_sense(
    outline: etree._Element, apex: etree._Element, target: etree._Element, mm: float
) -> bool:
    """Tell whether three objects can be a block with a dart to the apex, and a place on it."""
    if outline.tag not in SHAPES:
        return False
    block = SourceBlock(outline, None, mm)
    at, place = centre_of(apex) * mm, centre_of(target) * mm
    try:
        ring = checked(outline_edges(block))
        darts = take_apart(ring, [at], equalise=False)
    except DraftingError:
        return False
    seams = [edge.segment for run in darts.runs for edge in run]
    size = max(extent(edge.segment for edge in ring))
    return (
        any(opening.in_fan for opening in darts.openings)
        and nearest_on(seams, place).distance <= TARGET_REACH
        and max(_size(apex), _size(target)) * mm < size / 4
    )


def _size(element: etree._Element) -> float:
    if element.tag not in SHAPES:
        return 0.0
    points = [
        z for path in mapped_subpaths(element) for s in path.segments for z in (s.start, s.end)
    ]
    return max((abs(a - points[0]) for a in points), default=0.0)
