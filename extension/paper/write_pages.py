"""Writing pages into the drawing: each a layer of its own, cut out of the sheet at its margins."""

from __future__ import annotations

from collections.abc import Sequence

from inkex.transforms import Transform
from lxml import etree

from drafting_core.pages.tiling import PageJoint, Place
from drafting_core.plane.curves import Box, box_about
from drafting_core.text.words import _
from extension.document.namespaces import svg
from extension.document.path_data import path_data
from extension.document.shapes import matrix_text
from extension.look.set_text import DROP, LEADING, RISE, SetText, text_width, wrapped
from extension.look.text_places import Clearings
from extension.pages.editor_pages import PageBox, PageSet
from extension.pages.page_surface import OF_SIZE, PageSurface
from extension.paper.first_page import FirstPage, draw_block, draw_join, draw_part
from extension.paper.layout import PaperLayout
from extension.paper.paper_piece import PaperLine, PaperPiece, text_corners
from extension.paper.paper_strokes import FRAME, LAY_ON

#: Between pages on the canvas (mm).
CANVAS_GAP = 20.0
#: Half the size of the mark on which two pages meet, at most and at least (mm).
JOIN_ARM, LEAST_ARM = 4.0, 2.0
#: Where along a strip its two marks may be: where they cover the fewest lines.
_JOIN_AT = ((0.25, 0.2, 0.3, 0.15, 0.35, 0.1, 0.4), (0.75, 0.8, 0.7, 0.85, 0.65, 0.9, 0.6))
#: Letters of a page's row and column (mm), those of its number in parts of them, and how finely
#: a free place is looked for (mm).
_LABEL, _SECOND, _LABEL_STEP = 4.0, 0.75, 7.0
#: The width of a line of a label (mm).
_LABEL_WIDTH = 62.0
#: The letters of a mark on which pages meet (mm).
_JOIN_LETTERS = 2.6
#: A drill hole for a cutting machine (mm).
MACHINE_HOLE = 1.0


class PaperWriter:
    """Writes one set of pages."""

    def __init__(self, pages: PageSet, layout: PaperLayout) -> None:
        """Prepare to write.

        Args:
            pages: the set.
            layout: the pieces on their pages.
        """
        self._pages = pages
        self._layout = layout
        self._data: dict[PaperLine, str] = {}
        self._boxes: list[PageBox] = []
        self._marks: dict[PageJoint, list[complex]] = {}
        self._shift = 0.0

    def write(self, first: FirstPage, label: str) -> None:
        """Write pages that are joined, with all that helps to join them."""
        layout = self._layout
        tiling = layout.tiling
        margin = complex(tiling.margin, tiling.margin)
        count = len(layout.pages) + layout.has_first_page
        if layout.has_first_page:
            title = f"Page 1 of {count}: how to join the pages"  # not read by drafters
            surface = self._new_page(title, 0j).within(self._group, margin)
            draw_block(surface, first, layout, tiling.shown_width, tiling.shown_height)
            self._shift = tiling.width + CANVAS_GAP
        joints = tiling.joints(layout.pages) if layout.joined else []
        clear = self._clearings(joints)
        for place in layout.pages:
            page = len(self._boxes) + 1
            where = f"row {place.row + 1}, column {place.column + 1}"  # not read by drafters
            title = f"Page {page} of {count}: {where}"  # not read by drafters
            surface = self._new_page(title, self._corner(place))
            shown = surface.within(self._group, margin)
            self._pattern(shown, place)
            # What is common to several pages is drawn where it lies on the sheet, and clipped.
            on_sheet = surface.within(
                shown.clipped("joints", 0j, tiling.shown_width, tiling.shown_height),
                margin - tiling.corner(place),
            )
            self._join(on_sheet, place, joints)
            shown.rectangle(FRAME, 0j, tiling.shown_width, tiling.shown_height, "frame")
            if layout.block is not None and place == Place(0, 0):
                at = complex(layout.block.left, layout.block.top)
                block = shown.within(shown.group("first-page"), at)
                draw_block(block, first, layout, layout.block.right - layout.block.left)
            for part in layout.parts:
                if part.page == place:
                    at = complex(part.box.left, part.box.top) - tiling.corner(place)
                    block = shown.within(shown.group("first-page"), at)
                    draw_part(block, first, layout, part.kind, part.box.right - part.box.left)
            if count > 1:
                self._label(on_sheet, place, self._said(place, page, count), clear)
        self._pages.finish(label, self._boxes)

    def _said(self, place: Place, page: int, count: int) -> tuple[str, ...]:
        """Return what a page's label says."""
        words = _("Page {page} of {count}: {pieces}").format(
            page=page, count=count, pieces=self._names_on(place)
        )
        return (
            _("Row {row}, column {column}").format(row=place.row + 1, column=place.column + 1),
            *wrapped(words, _LABEL_WIDTH, _SECOND * _LABEL),
        )

    def write_for_the_machine(self, label: str) -> None:
        """Write what a machine cuts and nothing else: each line one path."""
        layout = self._layout
        for place in layout.pages:
            corner = self._corner(place)
            surface = self._new_page(f"Page {place.row + 1}", corner)  # not read by drafters
            margin = complex(layout.tiling.margin, layout.tiling.margin)
            on_sheet = surface.within(self._group, margin - layout.tiling.corner(place))
            shown = layout.tiling.shown(place)
            for piece in layout.pieces:
                middle = (piece.box.top + piece.box.bottom) / 2
                if shown.top <= middle < shown.bottom:
                    _cut(on_sheet, piece)
        self._pages.finish(label, self._boxes)

    def _new_page(self, label: str, corner: complex) -> PageSurface:
        tiling = self._layout.tiling
        self._group = self._pages.sublayer(label)
        self._boxes.append(PageBox(corner, tiling.width, tiling.height, label))
        return PageSurface(self._pages, self._group, corner)

    def _corner(self, place: Place) -> complex:
        tiling = self._layout.tiling
        return complex(
            self._shift + place.column * (tiling.width + CANVAS_GAP),
            place.row * (tiling.height + CANVAS_GAP),
        )

    def _pattern(self, shown: PageSurface, place: Place) -> None:
        """Draw what of the pieces a page shows."""
        tiling = self._layout.tiling
        group = shown.clipped("pattern", 0j, tiling.shown_width, tiling.shown_height)
        sheet = etree.SubElement(group, svg("g"))
        self._pages.identify(sheet, "sheet")
        on_sheet = shown.within(group, -tiling.corner(place))
        at = on_sheet.place(0j)
        sheet.attrib["transform"] = matrix_text(
            Transform(((1.0, 0.0, at.real), (0.0, 1.0, at.imag)))
        )
        box = tiling.shown(place)
        for piece in self._layout.pieces:
            if not piece.box.meets(box):
                continue
            for line in piece.lines:
                if any(_meets(points, box, line.stroke.width) for points in line.polylines):
                    self._line(sheet, line)
            for text in piece.texts:
                if _meets(text_corners(text), box, 0.0):
                    written = on_sheet.text(
                        SetText(text.at, text.lines, text.size, text.bold),
                        text.kind,
                        anchor=text.anchor,
                        direction=text.direction,
                    )
                    if text.of_size:
                        written.set(OF_SIZE, text.of_size)

    def _line(self, parent: etree._Element, line: PaperLine) -> None:
        if line not in self._data:
            unit = self._pages.unit
            self._data[line] = " ".join(
                path_data([segment.mapped(lambda z: z / unit) for segment in chain], closed=closed)
                for chain, closed in line.chains
            )
        element = etree.SubElement(parent, svg("path"))
        self._pages.identify(element, line.kind)
        element.attrib["style"] = line.stroke.style(self._pages.unit)
        element.attrib["d"] = self._data[line]
        if line.of_size:
            element.set(OF_SIZE, line.of_size)

    def _join(self, surface: PageSurface, place: Place, joints: Sequence[PageJoint]) -> None:
        """Draw the marks on which a page and its neighbours meet, and where the next is laid."""
        tiling = self._layout.tiling
        for number, joint in enumerate(joints):
            if place not in joint[:2]:
                continue
            for which, at in enumerate(self._marks[joint], start=1):
                _join_mark(surface, joint, at, f"{_letters(number)}{which}", tiling.overlap)
            if place == joint.first:
                # There the edge of the next page's frame comes to lie.
                half = tiling.overlap / 2
                back = complex(-half, 0.0) if joint.start.real == joint.end.real else -1j * half
                surface.lines(LAY_ON, [joint.start + back, joint.end + back], "lay-on")

    def _clearings(self, joints: Sequence[PageJoint]) -> Clearings:
        """Place the marks of all joints, and return what labels keep clear of."""
        layout = self._layout
        clear = Clearings(
            [chain for piece in layout.pieces for line in piece.lines for chain, _ in line.chains]
        )
        for piece in layout.pieces:
            for text in piece.texts:
                clear.add_about(text_corners(text))
        self._marks = {joint: _marks(joint, clear) for joint in joints}
        for marks in self._marks.values():
            for at in marks:
                clear.add_box(at, 1 + 0j, JOIN_ARM, JOIN_ARM, JOIN_ARM)
        if layout.block is not None:
            left, top, right, bottom = layout.block
            clear.add_about([complex(left, top), complex(right, bottom)])
        for part in layout.parts:
            clear.add_about(part.box.corners)
        return clear

    def _names_on(self, place: Place) -> str:
        """Return the names of the pieces on a page."""
        box = self._layout.tiling.shown(place)
        names = dict.fromkeys(
            piece.name
            for piece in self._layout.pieces
            if any(_meets(points, box, 0.0) for points in piece.polylines)
        )
        return ", ".join(names)

    def _label(
        self, surface: PageSurface, place: Place, said: tuple[str, ...], clear: Clearings
    ) -> None:
        """Write a page's row and column where it is free, in its upper left corner if it can.

        It keeps out of the strips that other pages share, which show it to one of them alone.
        """
        tiling = self._layout.tiling
        shown, strip = tiling.shown(place), min(tiling.overlap, 15.0)
        room = shown.right - shown.left - 2 * strip - 4.0
        second = _SECOND * _LABEL
        width = max(text_width(said[0], _LABEL), *(text_width(row, second) for row in said[1:]))
        shrunk = min(1.0, room / width)
        size, half = _LABEL * shrunk, width * shrunk / 2
        rows_below = LEADING * (size + second * shrunk * (len(said) - 2))
        up, down = RISE * size, rows_below + DROP * second * shrunk
        left, right = shown.left + strip + half + 2.0, shown.right - strip - half - 2.0
        top, bottom = shown.top + strip + up + 2.0, shown.bottom - strip - down - 2.0
        rows, columns = (
            max(1, int((end - start) / _LABEL_STEP))
            for start, end in ((top, bottom), (left, right))
        )
        places = [
            complex(left + (right - left) * k / columns, top + (bottom - top) * j / rows)
            for j in range(rows + 1)
            for k in range(columns + 1)
        ]
        best, _way = clear.freest(((at, 1 + 0j) for at in places), half + 1.5, up + 1.5, down + 1.5)
        surface.text(SetText(best, said[:1], size, True), "row-and-column", anchor="middle")
        below = best + 1j * LEADING * size
        surface.text(SetText(below, said[1:], second * shrunk), "page-number", anchor="middle")


def _marks(joint: PageJoint, clear: Clearings) -> list[complex]:
    """Return where the two marks of a joint are, so that as few lines as possible cross them."""
    along, room = joint.end - joint.start, JOIN_ARM + 1.0
    return [
        clear.freest(((joint.start + along * share, 1 + 0j) for share in shares), room, room, room)[
            0
        ]
        for shares in _JOIN_AT
    ]


def _join_mark(
    surface: PageSurface, joint: PageJoint, at: complex, said: str, strip: float
) -> None:
    """Draw a mark on which two pages meet, and its letters, in the strip that both show."""
    arm = min(JOIN_ARM, max(LEAST_ARM, strip / 2 - 0.5))
    draw_join(surface, at, arm, "join")
    size = min(_JOIN_LETTERS, strip / 3)
    if joint.start.real == joint.end.real:
        text = SetText(at + 1j * (arm + 0.6 + RISE * size), (said,), size)
        surface.text(text, "join-letters", anchor="middle")
    else:
        surface.text(SetText(at + arm + 0.8 + 0.35j * size, (said,), size), "join-letters")


def _letters(number: int) -> str:
    """Return letters for a number: A to Z, then AA, AB and on."""
    found = ""
    while number >= 0:
        number, last = divmod(number, 26)
        found = chr(ord("A") + last) + found
        number -= 1
    return found


def _meets(points: Sequence[complex], box: Box, width: float) -> bool:
    return box_about(points).meets(box, width)


def _cut(surface: PageSurface, piece: PaperPiece) -> None:
    for line in piece.lines:
        for (chain, closed), points in zip(line.chains, line.polylines, strict=True):
            if line.kind == "drill-hole":
                box = box_about(points)
                centre = complex((box.left + box.right) / 2, (box.top + box.bottom) / 2)
                surface.circle(line.stroke, centre, MACHINE_HOLE, line.kind)
            else:
                surface.chain(line.stroke, chain, line.kind, closed=closed)
