"""Writing the comparison of seams into the drawing: a note on a layer of its own."""

from __future__ import annotations

from lxml import etree

from drafting_core.plane.curves import Segment
from extension.comparing.compare_seams import balance_lines, compare_seams
from extension.document.namespaces import (
    GROUP_MODE,
    LABEL,
    PREFIXES,
    SODIPODI,
    ours,
    svg,
)
from extension.document.path_data import number
from extension.document.roles import drawn_by_us, our_attributes
from extension.document.shapes import mapped_subpaths
from extension.look.set_text import CANVAS_LEADING, text_width, wrapped
from extension.look.strokes import text_style
from extension.reading.read_outline import outline_edges
from extension.reading.source_block import Drawing

LAYER_LABEL = "Seam balance"  # not read by drafters
#: Height of the letters, and distance below the pieces (mm).
_SIZE = 4.0
_GAP = 25.0
#: Width of the note's column, and by how much further lines of a sentence go in, in sizes.
_COLUMN = 47.0
_INDENT = "  "
_KEY = "seam-balance"


def write_seam_balance(root: etree._Element) -> None:
    """Compare the mates of a drawing and write the result as a note, in place of an older one.

    Raises:
        DraftingError: if nothing can be compared; the document is then as it was.
    """
    balance = compare_seams(root)
    lines: list[str] = []
    for line in balance_lines(balance):
        said = line.lstrip()
        indent = line.removesuffix(said)
        further = f"{indent}{_INDENT}"
        first, *rows = wrapped(said, _COLUMN - text_width(further, 1.0), 1.0)
        lines += [f"{indent}{first}", *(f"{further}{row}" for row in rows)]
    unit = balance.drawing.blocks[0].mm_per_unit
    at = _below(balance.drawing, unit)
    layer = _own_layer(root)
    for child in list(layer):
        if drawn_by_us(child):
            layer.remove(child)
    text = etree.SubElement(layer, svg("text"))
    identity = _unused(root, f"{layer.get('id')}-note")
    text.set("id", identity)
    text.set(ours("self"), identity)
    text.set("x", number(at.real))
    text.set("y", number(at.imag))
    text.attrib["style"] = text_style(_SIZE, unit, anchor="start") + ";white-space:pre"
    for index, line in enumerate(lines):
        row = etree.SubElement(text, svg("tspan"))
        row.set(f"{{{SODIPODI}}}role", "line")
        row.set("x", number(at.real))
        row.set("y", number(at.imag + index * CANVAS_LEADING * _SIZE / unit))
        row.text = line


def _own_layer(root: etree._Element) -> etree._Element:
    for child in root:
        if isinstance(child.tag, str) and our_attributes(child).get(_KEY):
            return child
    layer = etree.Element(svg("g"), nsmap=PREFIXES)
    layer.set(GROUP_MODE, "layer")
    layer.set(LABEL, LAYER_LABEL)
    layer.set("id", _unused(root, f"dartswing-{_KEY}"))
    layer.set(ours(_KEY), "1")
    root.append(layer)
    return layer


def _unused(root: etree._Element, wanted: str) -> str:
    taken = {element.get("id") for element in root.iter()}
    identity, count = wanted, 1
    while identity in taken:
        count += 1
        identity = f"{wanted}-{count}"
    return identity


def _below(drawing: Drawing, unit: float) -> complex:
    """Return a place below all blocks and cut lines, in units of the root."""
    segments: list[Segment] = []
    for block in drawing.blocks:
        segments += [e.segment.mapped(lambda z: z / unit) for e in outline_edges(block)]
        for element in block.layer.iter() if block.layer is not None else ():
            if isinstance(element.tag, str) and our_attributes(element).get("part") == "cut-line":
                segments += [s for path in mapped_subpaths(element) for s in path.segments]
    boxes = [segment.box() for segment in segments]
    return complex(min(box.left for box in boxes), max(box.bottom for box in boxes) + _GAP / unit)
