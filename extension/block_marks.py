"""A block with its marks as the core takes it: centres, shares, slash lines, true scale."""

from __future__ import annotations

import re

from lxml import etree

from drafting_core.block import Block, DartMark, InnerLine
from drafting_core.curves import Line, Segment
from drafting_core.errors import DraftingError
from drafting_core.lengths import in_words
from drafting_core.outline import OutlineEdge, flattened
from drafting_core.places import Target
from drafting_core.seams import SeamMark
from extension import roles
from extension.namespaces import LABEL
from extension.read_outline import outline_edges
from extension.roles import name_of, our_attributes
from extension.shapes import SHAPES, centre_of, mapped_subpaths
from extension.source_block import Drawing, Marked, SourceBlock, ancestors
from extension.svg_document import DocumentError

#: A slash line may end this far from the apex (mm).
SLASH_REACH = 5.0
#: A straight slash line strays at most this from its chord (mm).
SLASH_STRAY = 0.5
#: Names that the editor gives to layers by itself, which name no piece.
_PLAIN_LAYER = re.compile(r"(layer|ebene|capa|calque|livello|marks?)\s*[-#]?\s*\d*$", re.IGNORECASE)


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
        grain=_grain_line(grain, unit) if grain else None,
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
                remedy="Draw a line over a length that you know and write it in the label.",
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
        abs(((z - end) * along.conjugate()).imag) for z in [*flattened(segments), segments[-1].end]
    )
    if stray > SLASH_STRAY:
        raise DocumentError(
            f"the slash line is curved (by {in_words(stray)}); only straight ones can be used.",
            thing=thing,
            remedy="Draw it straight from the outline to the apex.",
        )
    return end


def _grain_line(mark: Marked, unit: float) -> Line:
    paths = mapped_subpaths(mark.element) if mark.element.tag in SHAPES else []
    points = [z for path in paths for z in (path.start, path.end)]
    if paths and abs(points[1] - points[0]) > 1e-9:
        return Line(points[0] * unit, points[1] * unit)
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
    for ancestor in ancestors(block.outline):
        label = (ancestor.get(LABEL) or "").strip()
        if label and not _PLAIN_LAYER.match(label) and drawing.blocks_within[ancestor] <= 1:
            return label
    return ""
