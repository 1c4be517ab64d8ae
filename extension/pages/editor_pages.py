"""The editor's own pages: the page of the drawing, and the sets of pages that commands add.

A document without page elements has one page, its viewBox (Inkscape 1.2 and later). Where a set
is added, that page becomes the first of several, so that nothing of the drawing goes missing.
The places of page elements are counted from the corner of the viewBox (seen in Inkscape 1.2.2).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from lxml import etree

from drafting_core.text.words import _
from extension.document.identities import Identities
from extension.document.namespaces import (
    GROUP_MODE,
    INKSCAPE,
    LABEL,
    PREFIXES,
    SODIPODI,
    ours,
    svg,
)
from extension.document.path_data import number
from extension.document.roles import drawn_by_us, our_attributes
from extension.reading.drawn_extent import page_box, right_edge

PAGE = f"{{{INKSCAPE}}}page"
_NAMED_VIEW = f"{{{SODIPODI}}}namedview"
#: Between what is drawn and a set of pages to its right (mm).
SET_GAP = 40.0
_MADE_OF = "made-of"


class PageBox(NamedTuple):
    """A page on the canvas: its corner, width and height in mm from the set's own corner.

    Attributes:
        corner: its upper left corner.
        width: its width.
        height: its height.
        label: its name in the editor.
    """

    corner: complex
    width: float
    height: float
    label: str


class PageSet:
    """A set of pages in a document: its layer, and one page of the editor's for each of them."""

    def __init__(self, root: etree._Element, mm_per_unit: float, kind: str, of: Sequence[str]):
        """Take out the older set of the same things, and find the place for the new one.

        Args:
            root: the root of the document.
            mm_per_unit: millimetres on paper to a unit of the root.
            kind: what ``dartswing:sheet`` says of its layer.
            of: the ids of what the set shows: a new set of the same takes the place of the old.
        """
        self._root = root
        self.unit = mm_per_unit
        _take_out(root, kind, " ".join(of))
        self.ids = Identities(root)
        number_of_set = 1
        while self.ids.is_taken(f"dartswing-{kind}-{number_of_set}"):
            number_of_set += 1
        self.name = self.ids.unused(f"dartswing-{kind}-{number_of_set}")
        left, top, _, _ = page_box(root)
        ends = [left + x + width for x, _, width, _ in _boxes(root)]
        right = max([right_edge(root), *ends])
        self._corner = complex(right + SET_GAP / mm_per_unit, top)
        layer = etree.Element(svg("g"), nsmap=PREFIXES)
        layer.set(GROUP_MODE, "layer")
        layer.set("id", self.name)
        layer.set(ours("sheet"), kind)
        layer.set(ours(_MADE_OF), " ".join(of))
        self.layer = layer

    def place(self, z: complex) -> complex:
        """Return where a point of the set, in mm from its corner, lies in units of the root."""
        return self._corner + z / self.unit

    def sublayer(self, label: str) -> etree._Element:
        """Add a sub-layer, such as that of a page, and return it."""
        group = etree.SubElement(self.layer, svg("g"))
        group.set(GROUP_MODE, "layer")
        group.set(LABEL, label)
        self.identify(group, "layer")
        return group

    def identify(self, element: etree._Element, part: str) -> None:
        """Give an element an id, by which it is known as Dartswing's own."""
        identity = self.ids.unused(f"{self.name}-{part}")
        element.set("id", identity)
        element.set(ours("self"), identity)

    def finish(self, label: str, pages: Sequence[PageBox]) -> None:
        """Add the layer to the document, and its pages to the editor's."""
        self.layer.set(LABEL, label)
        view = _named_view(self._root)
        if not any(child.tag == PAGE for child in view):
            own = (0.0, 0.0, *page_box(self._root)[2:])
            _add_page(view, self.ids.unused("dartswing-own-page"), own)
        left, top, _, _ = page_box(self._root)
        for count, page in enumerate(pages, start=1):
            at = self.place(page.corner) - complex(left, top)
            size = complex(page.width, page.height) / self.unit
            box = (at.real, at.imag, size.real, size.imag)
            element = _add_page(view, self.ids.unused(f"{self.name}-page-{count}"), box)
            element.set(LABEL, page.label)
        self._root.append(self.layer)


def shift_remark(root: etree._Element) -> list[str]:
    """Return what is said of a drawing whose pages the editor's own export would shift."""
    left, top, _width, _height = page_box(root)
    if not (left or top):
        return []
    return [
        _(
            "The page of this drawing does not begin at 0, 0: printed or exported from the editor "
            "itself, the pages may come out shifted. Let the PDF be written here."
        )
    ]


def _add_page(
    view: etree._Element, identity: str, box: tuple[float, float, float, float]
) -> etree._Element:
    page = etree.SubElement(view, PAGE)
    for name, value in zip(("x", "y", "width", "height"), box, strict=True):
        page.set(name, number(value))
    page.set("id", identity)
    return page


def _named_view(root: etree._Element) -> etree._Element:
    found = root.find(_NAMED_VIEW)
    if found is None:
        found = etree.Element(_NAMED_VIEW, nsmap={"sodipodi": SODIPODI, "inkscape": INKSCAPE})
        root.insert(0, found)
    return found


def _boxes(root: etree._Element) -> list[tuple[float, float, float, float]]:
    """Return the boxes of the editor's pages, from the page's corner; unreadable ones left out."""
    boxes = []
    for page in root.iter(PAGE):
        try:
            x, y, width, height = (
                float(page.get(name) or 0.0) for name in ("x", "y", "width", "height")
            )
        except ValueError:
            continue
        boxes.append((x, y, width, height))
    return boxes


def _take_out(root: etree._Element, kind: str, of: str) -> None:
    """Take out older sets of the same things, all but what the drafter added to them."""
    for layer in [child for child in root if child.tag == svg("g")]:
        attributes = our_attributes(layer)
        if attributes.get("sheet") != kind or attributes.get(_MADE_OF) != of:
            continue
        name = str(layer.get("id"))
        for page in list(root.iter(PAGE)):
            if str(page.get("id")).startswith(f"{name}-page-"):
                page.getparent().remove(page)
        _prune(layer)
        if len(layer) == 0:
            root.remove(layer)
    # With the last set gone, the drawing's own page is the only one, as before.
    pages = list(root.iter(PAGE))
    if [str(page.get("id")) for page in pages] == ["dartswing-own-page"]:
        pages[0].getparent().remove(pages[0])


def _prune(group: etree._Element) -> None:
    """Take what Dartswing drew out of a group; the drafter's own objects stay."""
    for child in list(group):
        if not isinstance(child.tag, str):
            continue
        if not drawn_by_us(child):
            continue
        _prune(child)
        if child.tag != svg("g") or len(child) == 0:
            group.remove(child)
