"""How far a drawing reaches, so that something new can be put beside it."""

from __future__ import annotations

import contextlib
import math
import re
from collections.abc import Iterator

from inkex.transforms import Transform
from lxml import etree

from drafting_core.text.errors import DraftingError
from extension.document.namespaces import svg
from extension.document.roles import our_attributes
from extension.document.shapes import (
    SHAPES,
    centre_of,
    drawn_elements,
    mapped_subpaths,
    point_map,
    transform_of,
)
from extension.document.svg_document import MM_PER_UNIT, units
from extension.look.set_text import text_width

_FONT_SIZE = r"font-size\s*:\s*([\d.]+)\s*(px|mm|pt|in|cm|pc)?"
#: The size of letters where nothing says one, in px.
USUAL_FONT_SIZE = 16.0
#: A path of more data than this (letters and digits) is read at once, by its handles.
_LONG = 300_000
_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")


def page_corner(root: etree._Element) -> complex:
    """Return the upper left corner of the page, in units of the root."""
    x, y, _, _ = page_box(root)
    return complex(x, y)


def right_edge(root: etree._Element) -> float:
    """Return how far to the right the page and all that is drawn reach, in units of the root.

    Texts are estimated. What carries no role need not be readable: such an object does not
    count here.
    """
    x, _, width, _ = page_box(root)
    return max([x + width, *_rightmost(root)])


def page_box(root: etree._Element) -> tuple[float, float, float, float]:
    """Return the page's left and upper edge, width and height, in units of the root.

    A document that says nothing of its size has a page without width or height.
    """
    # units() has checked the numbers before anything is drafted.
    numbers = [
        float(part) for part in re.split(r"[\s,]+", (root.get("viewBox") or "").strip(" ")) if part
    ]
    if len(numbers) == 4:
        return numbers[0], numbers[1], numbers[2], numbers[3]
    pixel = units(root)
    width, height = (_page_side(root, name) / pixel for name in ("width", "height"))
    return 0.0, 0.0, width, height


def _page_side(root: etree._Element, name: str) -> float:
    """Return a side of the page in mm."""
    found = re.match(r"\s*([\d.]+)\s*([a-zA-Z]*)\s*$", root.get(name) or "")
    if not found:
        return 0.0
    return float(found[1]) * MM_PER_UNIT.get(found[2].lower(), MM_PER_UNIT["px"])


def _rightmost(root: etree._Element) -> Iterator[float]:
    named = {str(e.get("id")): e for e in root.iter() if e.get("id")}
    # Copies of artwork are cut at the edge of their piece, which counts itself.
    copies = {
        element
        for group in root.iter(svg("g"))
        if our_attributes(group).get("part") in ("artwork", "fill")
        for element in group.iter()
    }
    for element in drawn_elements(root):
        if element in copies:
            continue
        with contextlib.suppress(DraftingError, ValueError):
            yield from _reach(element, named)


def _reach(element: etree._Element, named: dict[str, etree._Element]) -> Iterator[float]:
    if element.tag in SHAPES:
        quick = _reach_of_trace(element)
        if quick is not None:
            yield quick
            return
        for path in mapped_subpaths(element):
            yield path.start.real
            yield from (segment.box().right for segment in path.segments)
    elif element.tag == svg("text"):
        yield centre_of(element).real + _text_width(element)
    elif element.tag in (svg("image"), svg("foreignObject")):
        centre = centre_of(element).real
        yield centre + _size(element)
    elif element.tag == svg("use"):
        target = named.get(next((str(element.get(h)) for h in _HREFS if element.get(h)), "")[1:])
        if target is not None and target not in element.iterancestors() and target is not element:
            yield from _clone(element, target, named)


def _reach_of_trace(element: etree._Element) -> float | None:
    """Return the reach of a trace of very many nodes, or None of anything else."""
    data = element.attrib.get("d") or ""
    if len(data) < _LONG:
        return None
    # Nothing else needs arrays here.
    from extension.document.path_points import reach_to_the_right

    (a, c, e), (b, d, f) = transform_of(element).matrix
    return reach_to_the_right(data, ((a, c, e), (b, d, f)))


def _clone(
    clone: etree._Element, target: etree._Element, named: dict[str, etree._Element]
) -> Iterator[float]:
    """Yield the reach of a clone: its target's corners, carried to where it stands."""
    shift = Transform(f"translate({float(clone.get('x') or 0)},{float(clone.get('y') or 0)})")
    back = -transform_of(target.getparent())
    to = point_map(transform_of(clone) @ shift @ back)
    for element in (target, *drawn_elements(target)):
        if element.tag in SHAPES:
            for path in mapped_subpaths(element):
                for segment in path.segments:
                    yield from (to(z).real for z in segment.extreme_points())


def _text_width(text: etree._Element) -> float:
    size = font_size(text) * _scale(text)
    # Measured as bold letters: rather too much, whatever font the drafter took.
    return max((text_width(part.strip(), size, bold=True) for part in text.itertext()), default=0.0)


def font_size(text: etree._Element) -> float:
    """Return the size of a text's letters, in its own units."""
    sizes = (own_font_size(element) for element in (text, *text.iterancestors()))
    return next(filter(None, sizes), USUAL_FONT_SIZE)


def own_font_size(element: etree._Element) -> float:
    """Return the size of letters that an element itself says, in its own units; 0 for none."""
    said = str(element.get("style") or "")
    found = re.search(_FONT_SIZE, said) if "font-size" in said else None
    if found is None:
        return 0.0
    size = float(found[1])
    return size * MM_PER_UNIT[found[2]] / MM_PER_UNIT["px"] if found[2] else size


def _size(element: etree._Element) -> float:
    sides = (float(element.get("width") or 0), float(element.get("height") or 0))
    return math.hypot(*sides) / 2 * _scale(element)


def _scale(element: etree._Element) -> float:
    (a, c, _), (b, d, _) = transform_of(element).matrix
    return max(math.hypot(a, b), math.hypot(c, d))
