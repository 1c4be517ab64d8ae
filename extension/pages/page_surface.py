"""Drawing on a printed page in millimetres: strokes, circles and set text."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from inkex.transforms import Transform
from lxml import etree

from drafting_core.plane.curves import Line, PointMap, Segment
from extension.document.namespaces import SODIPODI, ours, svg
from extension.document.path_data import number, path_data
from extension.document.shapes import matrix_text
from extension.look.set_text import LEADING, SetText
from extension.look.strokes import Stroke, text_style
from extension.pages.editor_pages import PageSet

#: The attribute that says to which size of a nest an object on a page belongs.
OF_SIZE = ours("of-size")


class PageSurface:
    """A page, or a part of it, to draw on; its points are in mm from its own corner."""

    def __init__(self, pages: PageSet, parent: etree._Element, corner: complex) -> None:
        """Draw into a group.

        Args:
            pages: the set that the page belongs to.
            parent: the group to draw into.
            corner: the page's corner, in mm from the set's.
        """
        self._pages = pages
        self._parent = parent
        self._corner = corner

    def within(self, parent: etree._Element, shift: complex = 0j) -> PageSurface:
        """Return the same page to draw on in another group, its points shifted."""
        return PageSurface(self._pages, parent, self._corner + shift)

    def group(self, part: str) -> etree._Element:
        """Add a plain group and return it."""
        return self._element("g", part)

    def clipped(self, part: str, corner: complex, width: float, height: float) -> etree._Element:
        """Add a group that shows only what lies in a rectangle, and return it."""
        clip = self._element("clipPath", f"{part}-clip")
        edge = etree.SubElement(clip, svg("rect"))
        self._pages.identify(edge, f"{part}-edge")
        _set_box(edge, self.place(corner), complex(width, height) / self._pages.unit)
        group = self._element("g", part)
        group.set("clip-path", f"url(#{clip.get('id')})")
        return group

    def chain(
        self,
        stroke: Stroke,
        chain: Sequence[Segment],
        part: str,
        *,
        closed: bool = False,
        to: PointMap | None = None,
    ) -> etree._Element:
        """Draw one chain of segments.

        Args:
            stroke: how it looks, widths and dashes in mm.
            chain: its segments in mm of the page, or of what ``to`` maps onto it.
            part: what it is, as its id says.
            closed: whether it is a ring.
            to: from its own millimetres to those of the page; left out: it has those.
        """
        return self.chains(stroke, [(chain, closed)], part, to=to)

    def chains(
        self,
        stroke: Stroke,
        chains: Sequence[tuple[Sequence[Segment], bool]],
        part: str,
        *,
        to: PointMap | None = None,
    ) -> etree._Element:
        """Draw several chains as one path; each comes with whether it is a ring."""
        place: Callable[[complex], complex] = (
            self.place if to is None else lambda z: self.place(to(z))
        )
        element = self._element("path", part, stroke.style(self._pages.unit))
        element.attrib["d"] = " ".join(
            path_data([segment.mapped(place) for segment in chain], closed=closed)
            for chain, closed in chains
        )
        return element

    def lines(
        self, stroke: Stroke, points: Sequence[complex], part: str, *, closed: bool = False
    ) -> etree._Element:
        """Draw a polyline through points of the page, or a polygon."""
        ends = [*points[1:], points[0]] if closed else points[1:]
        return self.chain(
            stroke,
            [Line(a, b) for a, b in zip(points, ends, strict=False)],
            part,
            closed=closed,
        )

    def rectangle(
        self, stroke: Stroke, corner: complex, width: float, height: float, part: str
    ) -> etree._Element:
        """Draw an upright rectangle."""
        element = self._element("rect", part, stroke.style(self._pages.unit))
        _set_box(element, self.place(corner), complex(width, height) / self._pages.unit)
        return element

    def circle(self, stroke: Stroke, centre: complex, radius: float, part: str) -> etree._Element:
        """Draw a circle."""
        element = self._element("circle", part, stroke.style(self._pages.unit))
        z = self.place(centre)
        element.set("cx", number(z.real))
        element.set("cy", number(z.imag))
        element.set("r", number(radius / self._pages.unit))
        return element

    def text(
        self,
        text: SetText,
        part: str,
        *,
        anchor: str = "start",
        direction: complex = 1 + 0j,
    ) -> etree._Element:
        """Write lines of text.

        Args:
            text: the lines, and where the first base line is anchored.
            part: what it is, as its id says.
            anchor: ``start``, ``middle`` or ``end``: what of a line stands at its anchor.
            direction: the unit vector along which it is read.
        """
        unit = self._pages.unit
        style = text_style(text.size, unit, bold=text.bold, anchor=anchor)
        element = self._element("text", part, style)
        at = self.place(text.at)
        if direction != 1 + 0j:
            d, shift = direction, at - direction * at
            element.attrib["transform"] = matrix_text(
                Transform(((d.real, -d.imag, shift.real), (d.imag, d.real, shift.imag)))
            )
        for index, line in enumerate(text.lines):
            row = etree.SubElement(element, svg("tspan"))
            # So that the editor's text tool takes it for a line of one text.
            row.set(f"{{{SODIPODI}}}role", "line")
            for holder in (element, row) if index == 0 else (row,):
                holder.set("x", number(at.real))
                holder.set("y", number(at.imag + index * LEADING * text.size / unit))
            row.text = line
        return element

    def place(self, z: complex) -> complex:
        """Return where a point of the page lies, in units of the root."""
        return self._pages.place(self._corner + z)

    def _element(self, tag: str, part: str, style: str = "") -> etree._Element:
        element = etree.SubElement(self._parent, svg(tag))
        self._pages.identify(element, part)
        if style:
            element.attrib["style"] = style
        return element


def _set_box(element: etree._Element, corner: complex, size: complex) -> None:
    for name, value in (
        ("x", corner.real),
        ("y", corner.imag),
        ("width", size.real),
        ("height", size.imag),
    ):
        element.set(name, number(value))
