"""Reading blocks from a drawing: outlines, their marks, and which of them are meant."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from lxml import etree

from drafting_core.block import Block, DartMark, InnerLine
from drafting_core.curves import Segment
from drafting_core.errors import DraftingError
from drafting_core.lengths import in_words
from drafting_core.outline import JOINING_GAP, OutlineEdge, encloses, flattened, nearest_on
from drafting_core.places import TARGET_REACH, Target
from drafting_core.seam_names import KNOWN_SEAMS, SeamLabel, seam_kind
from drafting_core.seams import SeamMark
from extension import roles
from extension.chain_paths import Strand, chained
from extension.namespaces import LABEL, svg
from extension.path_data import Subpath
from extension.roles import Role, attributed_label, is_result, name_of, our_attributes, role_of
from extension.shapes import (
    SHAPES,
    centre_of,
    clone_refused,
    drawn_elements,
    is_similarity,
    mapped_subpaths,
    transform_of,
)
from extension.svg_document import DocumentError, units

#: A slash line may end this far from the apex (mm).
SLASH_REACH = 5.0
#: A straight slash line strays at most this from its chord (mm).
SLASH_STRAY = 0.5
#: Names that the editor gives to layers by itself, which name no piece.
_PLAIN_LAYER = re.compile(r"(layer|ebene|capa|calque|livello|marks?)\s*[-#]?\s*\d*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Marked:
    """An object of the drawing that carries a role."""

    element: etree._Element
    role: Role


@dataclass
class SourceBlock:
    """An outline in the drawing and the marks that belong to it.

    Attributes:
        outline: the element that carries the role of outline.
        layer: the result layer that it stands in, or None.
        marks: its marks, in document order.
        edges: its edges in mm of the drawing, before a known length is looked at.
        mm_per_unit: millimetres to a unit of the root, as the drawing says.
        scale: true millimetres to a millimetre of the drawing (see `known length`).
    """

    outline: etree._Element
    layer: etree._Element | None
    mm_per_unit: float
    edges: list[OutlineEdge] = field(default_factory=list)
    marks: list[Marked] = field(default_factory=list)
    scale: float = 1.0

    def marked(self, word: str) -> list[Marked]:
        """Return the marks of one role."""
        return [mark for mark in self.marks if mark.role.word == word]

    @property
    def thing(self) -> str:
        """What the drafter calls the block in messages."""
        return f"The block {name_of(self.outline)}"

    @property
    def true_mm_per_unit(self) -> float:
        """True millimetres to a unit of the root."""
        return self.mm_per_unit * self.scale


@dataclass
class Drawing:
    """What a drawing holds for Dartswing.

    Attributes:
        blocks: every block, in document order.
        notes: what was taken for what, where the drafter may not expect it.
    """

    blocks: list[SourceBlock]
    notes: list[str] = field(default_factory=list)


def read_drawing(root: etree._Element, selection: Sequence[str] = ()) -> Drawing:
    """Find every block of a drawing and give it its marks.

    Args:
        root: the root of the SVG document.
        selection: the ids of the selected objects.

    Raises:
        DraftingError: if something that carries a role cannot be read, or belongs to two blocks.
    """
    mm = units(root)
    blocks: list[SourceBlock] = []
    marks: list[Marked] = []
    results: list[tuple[etree._Element, list[Marked]]] = []
    _collect(root, None, marks, results)
    outlines = [mark for mark in marks if mark.role.word == roles.OUTLINE]
    notes: list[str] = []
    if not outlines:
        taken = _by_selection(root, selection)
        if taken:
            outlines = [mark for mark in taken if mark.role.word == roles.OUTLINE]
            marks += taken
            notes.append(
                "Taken from the selection: "
                + ", ".join(f"{name_of(mark.element)} as {mark.role.word}" for mark in taken)
                + "."
            )
    blocks = [SourceBlock(mark.element, None, mm) for mark in outlines]
    for layer, members in results:
        block = _result_block(layer, members, mm)
        if block is not None:
            blocks.append(block)
    order = {element: index for index, element in enumerate(root.iter())}
    blocks.sort(key=lambda block: order[block.outline])
    others = [mark for mark in marks if mark.role.word != roles.OUTLINE]
    _assign(others, [block for block in blocks if block.layer is None])
    return Drawing(blocks, notes)


def _collect(
    parent: etree._Element,
    inside: list[Marked] | None,
    marks: list[Marked],
    results: list[tuple[etree._Element, list[Marked]]],
) -> None:
    """Walk the drawing; marks inside a result layer go to that layer alone."""
    from extension.shapes import NOT_DRAWN

    for child in parent:
        if not isinstance(child.tag, str) or child.tag in NOT_DRAWN:
            continue
        if inside is None and is_result(child):
            members: list[Marked] = []
            results.append((child, members))
            _collect(child, members, marks, results)
            continue
        role = role_of(child, attributes_only=inside is not None)
        if role is not None:
            if child.tag == svg("use"):
                raise clone_refused(child)
            (marks if inside is None else inside).append(Marked(child, role))
        elif child.tag in (svg("g"), svg("a"), svg("svg")):
            _collect(child, inside, marks, results)


def _result_block(
    layer: etree._Element, members: list[Marked], mm: float
) -> SourceBlock | None:
    outlines = [mark for mark in members if mark.role.word == roles.OUTLINE]
    own = [
        mark
        for mark in outlines
        if our_attributes(mark.element).get("self") == mark.element.get("id")
    ]
    chosen = own or outlines
    if not chosen:
        return None
    if len(chosen) > 1:
        raise DocumentError(
            f"it holds {len(chosen)} stitch lines.",
            thing=f"The result layer {name_of(layer)}",
            remedy="Leave one of them in it and move the others to another layer.",
        )
    block = SourceBlock(chosen[0].element, layer, mm)
    block.marks = [mark for mark in members if mark.role.word != roles.OUTLINE]
    return block


def _ancestors(element: etree._Element) -> Iterable[etree._Element]:
    current = element.getparent()
    while current is not None:
        yield current
        current = current.getparent()


def _assign(marks: Sequence[Marked], blocks: Sequence[SourceBlock]) -> None:
    """Give every mark to the block in its nearest group, else to the one it lies on or in."""
    holders: dict[etree._Element, list[SourceBlock]] = {}
    for block in blocks:
        for ancestor in _ancestors(block.outline):
            holders.setdefault(ancestor, []).append(block)
    for mark in marks:
        candidates: list[SourceBlock] = []
        for ancestor in _ancestors(mark.element):
            if ancestor in holders:
                candidates = holders[ancestor]
                break
        chosen = candidates[0] if len(candidates) == 1 else _by_place(mark, candidates)
        if chosen is not None:
            chosen.marks.append(mark)
        elif mark.role.word == roles.KNOWN_LENGTH:
            for block in candidates:
                block.marks.append(mark)


def _by_place(mark: Marked, candidates: Sequence[SourceBlock]) -> SourceBlock | None:
    if not candidates:
        return None
    at = centre_of(mark.element) * candidates[0].mm_per_unit
    distances = {}
    inside = []
    for block in candidates:
        segments = [edge.segment for edge in outline_edges(block)]
        distances[id(block)] = nearest_on(segments, at).distance
        if encloses(flattened(segments), at):
            inside.append(block)
    near = [block for block in candidates if distances[id(block)] <= TARGET_REACH]
    if mark.role.word in (roles.APEX, roles.HOLD, roles.KNOWN_LENGTH, roles.GRAIN, roles.INNER_LINE):
        if len(inside) > 1:
            names = " and ".join(name_of(block.outline) for block in inside)
            raise DocumentError(
                f"it lies in {len(inside)} outlines: {names}.",
                thing=name_of(mark.element),
                remedy="Put each block with its marks into a group or layer of its own.",
            )
        if inside:
            return inside[0]
    pool = near or inside
    return min(pool, key=lambda block: distances[id(block)]) if pool else None


def outline_edges(block: SourceBlock) -> list[OutlineEdge]:
    """Return the edges of a block's outline in mm of the drawing (read once, then kept).

    Raises:
        DraftingError: if the outline is no closed shape, or is stretched.
    """
    if not block.edges:
        try:
            block.edges = _read_outline(block.outline, block.mm_per_unit)
        except DraftingError as error:
            raise error.about(block.thing) from None
    return block.edges


def _read_outline(element: etree._Element, mm: float) -> list[OutlineEdge]:
    if element.tag in SHAPES:
        _check_similarity(element)
        paths = [path for path in mapped_subpaths(element) if path.segments]
        if not paths:
            raise DocumentError(
                "the outline is empty.", remedy="Draw the block's stitch line as a closed path."
            )
        if len(paths) > 1:
            raise DocumentError(
                f"the outline has {len(paths)} subpaths.",
                remedy="Break it apart (Path > Break Apart) and label only the stitch line as outline.",
            )
        edges = _edges(paths[0], mm, None, leg=False)
        gap = edges[0].segment.start - edges[-1].segment.end
        if not paths[0].closed and abs(gap) > JOINING_GAP:
            raise DocumentError(
                f"the outline is open: its ends lie {in_words(abs(gap))} apart, at "
                f"({edges[-1].segment.end.real:.1f}, {edges[-1].segment.end.imag:.1f}) mm.",
                remedy="Close it with the node tool.",
                place=edges[-1].segment.end,
            )
        return edges
    if element.tag not in (svg("g"), svg("a")):
        raise DocumentError(
            f"it is a {etree.QName(element).localname}, which is no outline.",
            remedy="Label the block's closed path as outline (Path > Object to Path helps).",
        )
    strands = []
    for child in drawn_elements(element):
        if child.tag == svg("use"):
            raise clone_refused(child)
        if child.tag in SHAPES:
            _check_similarity(child)
            label, leg = member_label(child)
            for path in mapped_subpaths(child):
                if path.segments:
                    edges = _edges(path, mm, label, leg=leg)
                    strands.append(Strand(tuple(edges), name_of(child)))
    if not strands:
        raise DocumentError(
            "the outline's group holds no paths.",
            remedy="Draw the seams in it as open paths that meet end to end.",
        )
    return chained(strands)


def _check_similarity(element: etree._Element) -> None:
    if not is_similarity(transform_of(element)):
        raise DocumentError(
            "its outline is stretched: it is scaled differently in two directions, or skewed.",
            thing=name_of(element),
            remedy="Take the stretch off (ungroup, or set equal scales), then try again.",
        )


def _edges(
    path: Subpath, mm: float, label: SeamLabel | None, *, leg: bool
) -> list[OutlineEdge]:
    return [
        OutlineEdge(segment.mapped(lambda z: z * mm), label, leg) for segment in path.segments
    ]


def member_label(element: etree._Element) -> tuple[SeamLabel | None, bool]:
    """Return the seam that a member of an outline's group names, and whether it is a dart's leg.

    The label names the seam, with or without the word "seam" before it; an id counts only where
    it is a seam's name, since the editor gives every object an id.
    """
    attributes = our_attributes(element)
    text = (element.get(LABEL) or "").strip()
    label: SeamLabel | None = None
    word = " ".join(attributes.get("role", "").casefold().split())
    leg = word == roles.DART
    if not text and element.get("id"):
        words = re.sub(r"[_\-]+", " ", str(element.get("id")))
        parsed = roles.parse_label(words)
        bare = roles.seam_label(re.sub(r"^seam\s+", "", words, flags=re.IGNORECASE))
        if (parsed and parsed.word in (roles.SEAM, roles.DART)) or seam_kind(
            bare.name
        ) in KNOWN_SEAMS:
            text = words
    if text:
        parsed = roles.parse_label(text)
        if parsed is not None and parsed.word == roles.DART:
            leg = True
        elif parsed is not None and parsed.word == roles.SEAM:
            label = parsed.label
        elif seam_kind(re.sub(r"\s+leg\b.*|\s+\d+$", "", text)) == "dart":
            leg = True
        else:
            label = roles.seam_label(text)
    if leg:
        return None, True
    if {"name", "allowance", "fold"} & set(attributes):
        label = attributed_label(label or SeamLabel(""), attributes)
    return (label if label and (label.name or label.fold or label.allowance is not None) else None), False


def core_block(block: SourceBlock, drawing: Drawing) -> Block:
    """Return a block as the core takes it, in true millimetres.

    Raises:
        DraftingError: if its marks contradict each other or cannot be read.
    """
    try:
        return _core_block(block, drawing)
    except DraftingError as error:
        raise error.about(block.thing) from None


def _core_block(block: SourceBlock, drawing: Drawing) -> Block:
    edges = outline_edges(block)
    block.scale = _true_scale(block)
    unit = block.true_mm_per_unit
    if block.scale != 1.0:
        edges = [
            OutlineEdge(e.segment.mapped(lambda z: z * block.scale), e.label, e.leg) for e in edges
        ]

    def place(mark: Marked) -> complex:
        return centre_of(mark.element) * unit

    apex_mark = _only(block, roles.APEX)
    apex = place(apex_mark) if apex_mark else None
    hold = _only(block, roles.HOLD)
    grain = _only(block, roles.GRAIN)
    attributes = our_attributes(block.outline)
    held = place(hold) if hold else _stored_point(attributes.get("hold"), unit)
    return Block(
        outline=edges,
        apex=apex,
        targets=[_target(mark, apex, unit) for mark in block.marked(roles.TARGET)],
        seam_marks=[
            SeamMark(place(mark), mark.role.label)
            for mark in block.marked(roles.SEAM)
            if mark.role.label
        ],
        seam_ends=[
            z
            for text in attributes.get("seam-ends", "").split()
            if (z := _stored_point(text, unit)) is not None
        ],
        dart_marks=[
            DartMark(place(mark), 1.0 if mark.role.share is None else mark.role.share)
            for mark in block.marked(roles.DART)
        ],
        hold=held,
        grain=_grain_vector(grain) if grain else None,
        notches=[place(mark) for mark in block.marked(roles.NOTCH)],
        inner_lines=[_inner_line(mark, unit) for mark in block.marked(roles.INNER_LINE)],
        name=piece_name(block, drawing),
        size=attributes.get("size", "").strip(),
        standing=block.layer is not None,
    )


def _only(block: SourceBlock, word: str) -> Marked | None:
    found = block.marked(word)
    own = [m for m in found if our_attributes(m.element).get("self") == m.element.get("id")]
    if block.layer is not None and len(found) > 1 and len(own) == 1:
        return own[0]
    if len(found) > 1:
        names = ", ".join(name_of(mark.element) for mark in found)
        raise DocumentError(
            f"{len(found)} objects are labelled {word}: {names}.",
            remedy="Keep one of them, or put each block with its marks into a group of its own.",
        )
    return found[0] if found else None


def _stored_point(text: str | None, unit: float) -> complex | None:
    if not text:
        return None
    try:
        x, y = (float(part) for part in text.split(","))
    except ValueError:
        return None
    return complex(x, y) * unit


def _true_scale(block: SourceBlock) -> float:
    """Return true millimetres to a millimetre of the drawing."""
    stored = our_attributes(block.outline).get("true-scale")
    if stored and block.layer is not None:
        return float(stored)
    scales = []
    for mark in block.marked(roles.KNOWN_LENGTH):
        paths = mapped_subpaths(mark.element) if mark.element.tag in SHAPES else []
        drawn = sum(s.length() for path in paths for s in path.segments) * block.mm_per_unit
        if not mark.role.length or mark.role.length <= 0 or drawn <= 0:
            raise DocumentError(
                "a known length has to be a path of some length, labelled like "
                '"known length 100mm".',
                thing=name_of(mark.element),
                remedy="Draw a line over a length that you know and write that length in its label.",
            )
        scales.append(mark.role.length / drawn)
    if not scales:
        return 1.0
    if max(scales) - min(scales) > 0.005 * max(scales):
        raise DocumentError(
            f"its known lengths give different scales: {min(scales):.4g} and {max(scales):.4g}.",
            remedy="Delete the wrong one.",
        )
    return sum(scales) / len(scales)


def _target(mark: Marked, apex: complex | None, unit: float) -> Target:
    thing = name_of(mark.element)
    outer = _slash_start(mark.element, apex, unit, thing)
    at = centre_of(mark.element) * unit if outer is None else outer
    return Target(at=at, share=mark.role.share, thing=thing)


def _slash_start(
    element: etree._Element, apex: complex | None, unit: float, thing: str
) -> complex | None:
    """Return the outer end of a target that is a slash line: an open path to the apex."""
    if apex is None or element.tag not in SHAPES:
        return None
    paths = [path for path in mapped_subpaths(element) if path.segments]
    if len(paths) != 1 or paths[0].closed:
        return None
    segments: list[Segment] = [s.mapped(lambda z: z * unit) for s in paths[0].segments]
    start, end = segments[0].start, segments[-1].end
    if abs(start - apex) > abs(end - apex):
        start, end = end, start
    if abs(start - apex) > SLASH_REACH or abs(end - apex) <= 2 * SLASH_REACH:
        return None
    along = (start - end) / abs(start - end)
    stray = max(
        abs(((z - end) * along.conjugate()).imag)
        for z in [*flattened(segments), segments[-1].end]
    )
    if stray > SLASH_STRAY:
        raise DocumentError(
            f"the slash line is curved (by {in_words(stray)}); only straight ones can be used.",
            thing=thing,
            remedy="Draw it straight from the outline to the apex.",
        )
    return end


def _grain_vector(mark: Marked) -> complex:
    paths = mapped_subpaths(mark.element) if mark.element.tag in SHAPES else []
    points = [z for path in paths for z in (path.start, path.end)]
    if paths and abs(points[1] - points[0]) > 1e-9:
        return points[1] - points[0]
    raise DocumentError(
        "a grainline has to be an open path of some length.",
        thing=name_of(mark.element),
        remedy="Draw it as a straight line along the grain.",
    )


def _inner_line(mark: Marked, unit: float) -> InnerLine:
    if mark.element.tag not in SHAPES:
        raise DocumentError(
            "an inner line has to be a path or a shape.",
            thing=name_of(mark.element),
            remedy="Turn it into a path (Path > Object to Path).",
        )
    paths = tuple(
        tuple(segment.mapped(lambda z: z * unit) for segment in path.segments)
        for path in mapped_subpaths(mark.element)
        if path.segments
    )
    return InnerLine(paths, name_of(mark.element))


def piece_name(block: SourceBlock, drawing: Drawing) -> str:
    """Return the piece's name: the outline's own, else that of the layer or group it stands in."""
    stored = our_attributes(block.outline).get("name", "").strip()
    if stored:
        return stored
    for ancestor in _ancestors(block.outline):
        label = (ancestor.get(LABEL) or "").strip()
        inside = [
            other
            for other in drawing.blocks
            if other.layer is None and ancestor in _ancestors(other.outline)
        ]
        if label and not _PLAIN_LAYER.match(label) and len(inside) <= 1:
            return label
    return ""


def _by_selection(root: etree._Element, selection: Sequence[str]) -> list[Marked]:
    """Take three selected objects without roles as outline, apex and target, if that is clear."""
    chosen = [element for element in root.iter() if element.get("id") in set(selection)]
    if len(chosen) != 3 or any(role_of(element) for element in chosen):
        return []
    closed = []
    for element in chosen:
        if element.tag in SHAPES:
            paths = [path for path in mapped_subpaths(element) if path.segments]
            if len(paths) == 1 and paths[0].closed:
                closed.append((element, [s for s in paths[0].segments]))
    readings = []
    for element, segments in closed:
        polygon = flattened(segments)
        others = [other for other in chosen if other is not element]
        centres = [centre_of(other) for other in others]
        mm = units(root)
        edge = [nearest_on(segments, z).distance * mm for z in centres]
        size = max(abs(a - polygon[0]) for a in polygon) * mm
        for inner, outer in ((0, 1), (1, 0)):
            if (
                encloses(polygon, centres[inner])
                and edge[inner] > TARGET_REACH
                and edge[outer] <= TARGET_REACH
                and _size(others[inner]) * mm < size / 4
                and _size(others[outer]) * mm < size / 4
            ):
                readings.append((element, others[inner], others[outer]))
    if len(readings) != 1:
        return []
    words = (roles.OUTLINE, roles.APEX, roles.TARGET)
    return [Marked(e, Role(word)) for e, word in zip(readings[0], words, strict=True)]


def _size(element: etree._Element) -> float:
    if element.tag not in SHAPES:
        return 0.0
    points = [z for path in mapped_subpaths(element) for s in path.segments for z in (s.start, s.end)]
    return max((abs(a - points[0]) for a in points), default=0.0)
