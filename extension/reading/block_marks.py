"""A block with its marks as the core takes it: centres, shares, slash lines, true scale."""

from __future__ import annotations

from collections.abc import Sequence

from lxml import etree

from drafting_core.block.block import Block, DartMark, FullnessMark, InnerLine, StyleLine
from drafting_core.block.places import Target
from drafting_core.block.seams import SeamMark
from drafting_core.model.outline import OutlineEdge, flattened
from drafting_core.plane.curves import Line, Segment, backward
from drafting_core.text.errors import DraftingError
from drafting_core.text.words import _
from extension.document import roles
from extension.document.namespaces import LABEL
from extension.document.roles import drawn_by_us, name_of, our_attributes
from extension.document.shapes import CLONE, SHAPES, centre_of, chains_of, mapped_subpaths
from extension.document.stored_values import stored_point, stored_points
from extension.document.svg_document import DocumentError
from extension.reading.read_outline import outline_edges
from extension.reading.result_memory import ResultMemory, result_memory
from extension.reading.source_block import Drawing, Marked, SourceBlock, ancestors

#: A slash line may end this far from the apex (mm).
SLASH_REACH = 5.0
#: A straight slash line strays at most this from its chord (mm).
SLASH_STRAY = 0.5
#: Names that the editor gives to layers by itself, which name no piece.
_NUMBERING = " 0123456789-#"
_PLAIN_LAYERS = frozenset(("layer", "ebene", "capa", "calque", "livello", "mark", "marks"))


def core_block(block: SourceBlock, drawing: Drawing, *, in_place: bool = False) -> Block:
    """Return a block as the core takes it, in true millimetres.

    Args:
        block: the block.
        drawing: the drawing that it is in.
        in_place: whether a result is drawn again where it lies: the lines that the drafter drew
            into it herself are there already.

    Raises:
        DraftingError: if its marks contradict each other or cannot be read.
    """
    try:
        if block.fault is not None:
            raise block.fault
        return _core_block(block, drawing, in_place=in_place)
    except DraftingError as error:
        raise error.about(block.thing) from None


def _core_block(block: SourceBlock, drawing: Drawing, *, in_place: bool) -> Block:
    edges = outline_edges(block)
    scale, unit = block.scale, block.true_mm_per_unit
    if scale != 1.0:
        edges = [OutlineEdge(e.segment.mapped(lambda z: z * scale), e.label, e.leg) for e in edges]

    def place(mark: Marked) -> complex:
        return centre_of(mark.element) * unit

    apexes = _apexes(block)
    pivots = [place(mark) for mark in apexes]
    hold = _only(block, roles.HOLD)
    grain = _only(block, roles.GRAIN)
    attributes = our_attributes(block.outline)
    thing = name_of(block.outline)

    def points(attribute: str) -> list[complex]:
        return [z * unit for z in stored_points(attribute, attributes, thing)]

    put = stored_point("hold", attributes, thing)
    held = place(hold) if hold else put * unit if put is not None else None
    read = Block(
        outline=edges,
        apex=pivots[0] if pivots else None,
        more_apexes=pivots[1:],
        targets=[_target(mark, apexes, pivots, unit) for mark in block.marked(roles.TARGET)],
        seam_marks=[
            SeamMark(place(mark), mark.role.label)
            for mark in block.marked(roles.SEAM)
            if mark.role.label
        ],
        seam_ends=points("seam-ends"),
        seam_corners=points("seam-corners"),
        dart_marks=[
            DartMark(place(mark), 1.0 if mark.role.share is None else mark.role.share)
            for mark in block.marked(roles.DART)
        ],
        hold=held,
        grain=_grain_line(grain, unit) if grain else None,
        notches=[place(mark) for mark in block.marked(roles.NOTCH)],
        inner_lines=[
            _inner_line(mark, unit, number)
            for number, mark in enumerate(block.marked(roles.INNER_LINE))
        ],
        name=piece_name(block, drawing),
        size=attributes.get("size", "").strip(),
        standing=block.layer is not None,
        curved_darts=points("curved-darts"),
        style_line=_style_line(block, unit),
        fullness=[_fullness(mark, unit) for mark in block.marked(roles.FULLNESS)],
    )
    memory = result_memory(block)
    return read if memory is None else _with_memory(read, block, memory, in_place=in_place)


def _with_memory(read: Block, block: SourceBlock, memory: ResultMemory, *, in_place: bool) -> Block:
    """Return a result as it knows itself: its seams, darts, apexes and title.

    Args:
        read: what is read of it as of any block.
        block: the result in the drawing.
        memory: what it remembers.
        in_place: whether it is drawn again where it lies, with the drafter's own lines in it.
    """
    ours_too = {part.element for part in memory.parts}
    words = [mark for mark in block.marked(roles.SEAM) if mark.role.label]
    lines = block.marked(roles.INNER_LINE)
    # An apex that was deleted is where its dart knows it.
    known = dict.fromkeys(dart.apex for dart in memory.known.darts if dart.apex is not None)
    pivots = read.apexes or tuple(known)
    return read._replace(
        apex=pivots[0] if pivots else None,
        more_apexes=pivots[1:],
        seam_marks=[
            said
            for mark, said in zip(words, read.seam_marks, strict=True)
            if mark.element not in ours_too
        ],
        inner_lines=[
            line
            for mark, line in zip(lines, read.inner_lines, strict=True)
            if not in_place or mark.element in ours_too
        ],
        name=memory.title.name if memory.title else read.name,
        size=memory.title.size if memory.title else read.size,
        memory=memory.known,
        grain_points_down=any(drawn_by_us(mark.element) for mark in block.marked(roles.GRAIN)),
    )


def _apexes(block: SourceBlock) -> list[Marked]:
    """Return the apex marks: of a result its own ones, where it has any."""
    found = block.marked(roles.APEX)
    own = [m for m in found if drawn_by_us(m.element)]
    return own if block.layer is not None and own else found


def _only(block: SourceBlock, word: str) -> Marked | None:
    found = block.marked(word)
    own = [m for m in found if drawn_by_us(m.element)]
    if block.layer is not None and len(found) > 1 and len(own) == 1:
        return own[0]
    if len(found) > 1:
        names = ", ".join(name_of(mark.element) for mark in found)
        raise DocumentError(
            _("{n} objects are labelled {word}: {names}.").format(
                n=len(found), word=word, names=names
            ),
            remedy=_("Keep one of them, or put each block with its marks into a group of its own."),
            place=centre_of(found[-1].element) * block.true_mm_per_unit,
        )
    return found[0] if found else None


def _target(
    mark: Marked, apexes: Sequence[Marked], pivots: Sequence[complex], unit: float
) -> Target:
    role = mark.role
    slash, number, miss = _slash(mark.element, pivots, unit)
    return Target(
        at=slash[0].start if slash else centre_of(mark.element) * unit,
        share=role.share,
        thing=name_of(mark.element),
        intake=role.intake,
        made=role.made,
        source=role.source,
        slash=() if is_straight_chain(slash) else slash,
        apex=_grouped_apex(mark, apexes) if number is None else number,
        miss=miss,
    )


def _grouped_apex(mark: Marked, apexes: Sequence[Marked]) -> int | None:
    """Return the number of the apex that shares the mark's nearest group, if only one does."""
    if len(apexes) < 2:
        return None
    around = [set(ancestors(apex.element)) for apex in apexes]
    for group in ancestors(mark.element):
        inside = [number for number, groups in enumerate(around) if group in groups]
        if inside:
            return inside[0] if len(inside) == 1 else None
    return None


def _slash(
    element: etree._Element, pivots: Sequence[complex], unit: float
) -> tuple[tuple[Segment, ...], int | None, float | None]:
    """Return the slash line that a target is, from its outer end, and its apex's number.

    It is an open path that ends at an apex and starts away from it; any other object is a mark.
    Of an open path that does not end there, the distance in mm by which it misses comes third.
    """
    if not pivots or (element.tag not in SHAPES and element.tag != CLONE):
        return (), None, None
    chains = chains_of(element, unit)
    if len(chains) != 1 or chains[0].closed:
        return (), None, None
    chain = list(chains[0].segments)
    reaches = [
        (abs(end - pivot), number, inward)
        for number, pivot in enumerate(pivots)
        for end, inward in ((chain[-1].end, True), (chain[0].start, False))
    ]
    reach, number, inward = min(reaches)
    if not inward:
        chain = list(backward(chain))
    if reach > SLASH_REACH:
        return (), None, reach
    if abs(chain[0].start - pivots[number]) <= 2 * SLASH_REACH:
        return (), None, None
    return tuple(chain), number, None


def is_straight_chain(chain: Sequence[Segment]) -> bool:
    """Tell whether a chain is one straight line but for what a hand-drawn one strays."""
    if not chain:
        return True
    start, end = chain[0].start, chain[-1].end
    along = (end - start) / abs(end - start)
    points = [*flattened(chain), end]
    return max(abs(((z - start) * along.conjugate()).imag) for z in points) <= SLASH_STRAY


def _style_line(block: SourceBlock, unit: float) -> StyleLine | None:
    mark = _only(block, roles.STYLE_LINE)
    if mark is None:
        return None
    chains = chains_of(mark.element, unit) if mark.element.tag in SHAPES else ()
    if len(chains) != 1 or chains[0].closed:
        raise DocumentError(
            _("a style line has to be one open path."),
            thing=name_of(mark.element),
            remedy=_("Draw it across the block, from outline to outline."),
        )
    return StyleLine(chains[0].segments, mark.role.name, name_of(mark.element))


def _fullness(mark: Marked, unit: float) -> FullnessMark:
    paths = tuple(chain.segments for chain in chains_of(mark.element, unit))
    if not paths or not mark.role.made:
        raise DocumentError(
            _("it has lost what it was."),
            thing=name_of(mark.element),
            remedy=_("Delete it, or move the dart again."),
        )
    return FullnessMark(mark.role.made, paths, mark.role.length or 0.0)


def _grain_line(mark: Marked, unit: float) -> Line:
    paths = mapped_subpaths(mark.element) if mark.element.tag in SHAPES else []
    points = [z for path in paths for z in (path.start, path.end)]
    if paths and abs(points[1] - points[0]) > 1e-9:
        return Line(points[0] * unit, points[1] * unit)
    raise DocumentError(
        _("a grainline has to be an open path of some length."),
        thing=name_of(mark.element),
        remedy=_("Draw it as a straight line along the grain."),
    )


def _inner_line(mark: Marked, unit: float, number: int) -> InnerLine:
    if mark.element.tag not in SHAPES:
        raise DocumentError(
            _("an inner line has to be a path or a shape."),
            thing=name_of(mark.element),
            remedy=_("Turn it into a path (Path > Object to Path)."),
        )
    paths = tuple(chain.segments for chain in chains_of(mark.element, unit))
    return InnerLine(paths, name_of(mark.element), number)


def piece_name(block: SourceBlock, drawing: Drawing) -> str:
    """Return the piece's name: the outline's own, else that of the layer or group it stands in."""
    stored = our_attributes(block.outline).get("name", "").strip()
    if stored := stored or drawing.names.get(block.outline, ""):
        return stored
    for ancestor in ancestors(block.outline):
        label = (ancestor.get(LABEL) or "").strip()
        is_plain = label.casefold().rstrip(_NUMBERING) in _PLAIN_LAYERS
        if label and not is_plain and drawing.blocks_within[ancestor] <= 1:
            return label
    return ""
