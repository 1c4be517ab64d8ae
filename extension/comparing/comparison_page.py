"""Writing a comparison into the drawing: one layer with a page, a sub-layer for each place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from inkex.transforms import Transform
from lxml import etree

from drafting_core.finished.pattern_piece import Draft
from drafting_core.plane.curves import Line, PointMap, Segment
from extension.comparing.layout import (
    PICTURE_MARGIN,
    SAMPLE,
    Caption,
    ComparisonLayout,
    PageWords,
    arrange_comparison,
)
from extension.document.namespaces import (
    GROUP_MODE,
    LABEL,
    PREFIXES,
    SODIPODI,
    ours,
    svg,
)
from extension.document.path_data import number, path_data
from extension.document.shapes import matrix_text
from extension.look.set_text import LEADING, SMALLEST_TEXT, Room, SetText
from extension.look.strokes import INK, Stroke, text_style
from extension.pages.piece_picture import (
    APEX,
    ARROW,
    GREY,
    KEY,
    PICTURE_STROKES,
    WINDOW,
    Arrow,
    Drawn,
    SeamName,
    apex_cross,
    arrow,
    lines_to_hold,
    picture_of,
)
from extension.reading.drawn_extent import page_corner, right_edge

#: What the attribute ``dartswing:sheet`` says of the layer.
KIND = "compare"
#: Between the sheet and what is drawn to its left (mm).
SHEET_GAP = 20.0
FRAME = Stroke(0.25, fill="#ffffff", ink=GREY)
RULE = Stroke(0.25, ink=GREY)
#: The white edge about an arrow, which sets it off from the lines below (mm).
HALO = 0.4


class ComparisonPage(NamedTuple):
    """What a sheet shows.

    Attributes:
        label: the layer's label.
        words: what the page says beside its captions.
        captions: one for each place.
        places: what their sub-layers are called.
        drafts: the finished pieces, one for each place.
        page: the page's name.
    """

    label: str
    words: PageWords
    captions: Sequence[Caption]
    places: Sequence[str]
    drafts: Sequence[Draft]
    page: str


def comparison_laid_out(comparison: ComparisonPage) -> tuple[ComparisonLayout, Room]:
    """Return a sheet's page and the room in mm, at true size, that every picture shows.

    Raises:
        DocumentError: if it does not fit on the page.
    """
    boxes = [segment.box() for draft in comparison.drafts for segment in lines_to_hold(draft)]
    left, top = min(box.left for box in boxes), min(box.top for box in boxes)
    right, bottom = max(box.right for box in boxes), max(box.bottom for box in boxes)
    room = Room(left, top, right - left, bottom - top)
    return arrange_comparison(
        comparison.captions, (room.width, room.height), comparison.page, comparison.words
    ), room


class ComparisonWriter:
    """Writes a sheet to the right of everything that is drawn."""

    def __init__(self, root: etree._Element, mm_per_unit: float) -> None:
        """Find the place for a sheet.

        Args:
            root: the document's root.
            mm_per_unit: millimetres on paper to a unit of the root.
        """
        self._root = root
        self._unit = mm_per_unit
        corner = page_corner(root)
        self._corner = complex(right_edge(root) + SHEET_GAP / mm_per_unit, corner.imag)
        self._ids = {str(element.get("id")) for element in root.iter() if element.get("id")}
        count = 1
        while any(identity.startswith(f"dartswing-compare-{count}") for identity in self._ids):
            count += 1
        self._prefix = f"dartswing-compare-{count}"
        self._count = 0

    def write(
        self, comparison: ComparisonPage, layout: ComparisonLayout, room: Room
    ) -> etree._Element:
        """Add the sheet as a new layer, the last child of the root, and return it."""
        layer = etree.Element(svg("g"), nsmap=PREFIXES)
        layer.set(GROUP_MODE, "layer")
        layer.set(LABEL, comparison.label)
        layer.set("id", self._prefix)
        layer.set(ours("sheet"), KIND)
        page = self._sublayer(layer, "Page")
        self._frame(page, layout)
        for text in (*layout.heading, *layout.foot):
            self._text(page, text)
        for kind, (at, text) in zip(KEY, layout.key, strict=True):
            self._sample(page, kind, at)
            self._text(page, text)
        for called, draft, cell in zip(
            comparison.places, comparison.drafts, layout.cells, strict=True
        ):
            place = self._sublayer(layer, called)
            corner = complex(cell.picture.x, cell.picture.y)
            corner += complex(PICTURE_MARGIN, PICTURE_MARGIN)
            self._picture(place, draft, _shrinking(room, layout.scale, corner))
            for start, end in cell.caption.rules:
                self._path(place, RULE, (Line(start, end),))
            for text in cell.caption.texts:
                self._text(place, text)
        self._root.append(layer)
        return layer

    def _sublayer(self, layer: etree._Element, label: str) -> etree._Element:
        group = etree.SubElement(layer, svg("g"))
        group.set(GROUP_MODE, "layer")
        group.set(LABEL, label)
        group.set("id", self._next_id())
        return group

    def _next_id(self) -> str:
        self._count += 1
        return f"{self._prefix}-{self._count}"

    def _place(self, z: complex) -> complex:
        return self._corner + z / self._unit

    def _element(self, parent: etree._Element, tag: str, style: str) -> etree._Element:
        element = etree.SubElement(parent, svg(tag))
        element.set("id", self._next_id())
        element.attrib["style"] = style
        return element

    def _frame(self, page: etree._Element, layout: ComparisonLayout) -> None:
        frame = self._element(page, "rect", FRAME.style(self._unit))
        frame.set("id", f"{self._prefix}-page")
        size = complex(layout.width, layout.height) / self._unit
        for name, value in (
            ("x", self._corner.real),
            ("y", self._corner.imag),
            ("width", size.real),
            ("height", size.imag),
        ):
            frame.set(name, number(value))

    def _path(
        self,
        parent: etree._Element,
        stroke: Stroke,
        chain: Sequence[Segment],
        *,
        closed: bool = False,
    ) -> None:
        element = self._element(parent, "path", stroke.style(self._unit))
        placed = [segment.mapped(self._place) for segment in chain]
        element.attrib["d"] = path_data(placed, closed=closed)

    def _picture(self, parent: etree._Element, draft: Draft, to: PointMap) -> None:
        picture = picture_of(draft, to)
        for drawn in picture.lines:
            self._drawn(parent, drawn)
        for one in picture.arrows:
            self._arrow(parent, one)
        for name in picture.names:
            self._name(parent, name)

    def _drawn(self, parent: etree._Element, drawn: Drawn) -> None:
        self._path(parent, PICTURE_STROKES[drawn.kind], drawn.chain, closed=drawn.closed)

    def _arrow(self, parent: etree._Element, one: Arrow) -> None:
        head = [Line(one.head[k], one.head[(k + 1) % 3]) for k in range(3)]
        shaft = (Line(one.tail, one.foot),)
        stroke = PICTURE_STROKES[ARROW]
        halo = Stroke(stroke.width + 2 * HALO, ink="#ffffff")
        self._path(parent, halo, shaft)
        self._path(parent, Stroke(2 * HALO, fill="#ffffff", ink="#ffffff"), head, closed=True)
        self._path(parent, stroke, shaft)
        self._path(parent, Stroke(0.25, fill=INK), head, closed=True)

    def _sample(self, parent: etree._Element, kind: str, at: complex) -> None:
        end = at + SAMPLE
        if kind == ARROW:
            self._arrow(parent, arrow(at, end))
        elif kind == APEX:
            for line in apex_cross(at + SAMPLE / 2):
                self._drawn(parent, line)
        elif kind == WINDOW:
            corners = [at - 1.2j, end - 1.2j, end + 1.2j, at + 1.2j]
            ring = tuple(Line(corners[k], corners[(k + 1) % 4]) for k in range(4))
            self._drawn(parent, Drawn(kind, ring, True))
        else:
            self._drawn(parent, Drawn(kind, (Line(at, end),)))

    def _text(self, parent: etree._Element, text: SetText) -> None:
        style = text_style(text.size, self._unit, bold=text.bold, anchor="start")
        element = self._element(parent, "text", style)
        for index, line in enumerate(text.lines):
            at = self._place(text.at + 1j * index * LEADING * text.size)
            row = etree.SubElement(element, svg("tspan"))
            # So that the editor's text tool takes it for a line of one text.
            row.set(f"{{{SODIPODI}}}role", "line")
            for holder in (element, row) if index == 0 else (row,):
                holder.set("x", number(at.real))
                holder.set("y", number(at.imag))
            row.text = line

    def _name(self, parent: etree._Element, name: SeamName) -> None:
        element = self._element(parent, "text", text_style(SMALLEST_TEXT, self._unit))
        at, d = self._place(name.at), name.direction
        # A turn about the anchor leaves the anchor where x and y say.
        shift = at - d * at
        element.set("x", number(at.real))
        element.set("y", number(at.imag))
        element.attrib["transform"] = matrix_text(
            Transform(((d.real, -d.imag, shift.real), (d.imag, d.real, shift.imag)))
        )
        element.text = name.text


def _shrinking(room: Room, scale: int, corner: complex) -> PointMap:
    """Return the map from a piece's millimetres to the paper's."""
    start = complex(room.x, room.y)
    return lambda z: corner + (z - start) / scale
