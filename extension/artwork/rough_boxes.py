"""Boxes about objects that are at least as large as what is drawn, found quickly.

What lies in no box of an object cannot be touched by it; the box itself may be larger than the
object, by its handles, its stroke, or the letters of a text, which are estimated.
"""

from __future__ import annotations

import contextlib
import itertools
import operator
import re
from collections.abc import Callable, Iterable, Mapping

from lxml import etree

from drafting_core.plane.curves import Box, box_about
from drafting_core.text.errors import DraftingError
from extension.artwork.affine import SAME, Affine, affine_of
from extension.artwork.style_rules import StyleRules, length_of
from extension.document.namespaces import SODIPODI, svg
from extension.document.path_data import parse
from extension.document.shapes import NOT_DRAWN, subpaths_of
from extension.look.set_text import text_width

HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
_COMMAND = re.compile(r"([A-DF-Za-df-z])([^A-DF-Za-df-z]*)")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_WIDTH = re.compile(r"(?:^|[;\s])stroke-width\s*:\s*([^;]+)")
_LINK = re.compile(r"url\(\s*[\"']?#([^)\"']+)[\"']?\s*\)")
#: How far the corner of a stroke reaches in widths of it, and how far a marker does.
_MITRE, _MARKER = 2.0, 12.0
#: Letters of an unknown font may be wider than those that are measured.
_WIDER = 1.3
#: The width of a thin letter in parts of its size.
_THIN = 0.2
_USUAL_SIZE = 16.0
_DEEPEST_CLONE = 12


def link_of(element: etree._Element) -> str:
    """Return the id of the object that an element refers to, or an empty string."""
    text = next((str(element.get(name)) for name in HREFS if element.get(name)), "")
    return text[1:] if text.startswith("#") else ""


def merged(boxes: Iterable[Box | None]) -> Box | None:
    """Return the box about boxes, or None where there are none."""
    found = [box for box in boxes if box is not None]
    if not found:
        return None
    lefts, tops, rights, bottoms = zip(*found, strict=True)
    return Box(min(lefts), min(tops), max(rights), max(bottoms))


def widened(box: Box, by: float) -> Box:
    """Return a box that reaches further on every side."""
    return Box(box.left - by, box.top - by, box.right + by, box.bottom + by)


def path_box(data: str) -> Box | None:
    """Return a box about the nodes and handles of path data, or None where there are none."""
    xs: list[float] = []
    ys: list[float] = []
    try:
        if "a" in data or "A" in data:
            # Flags of arcs may stand close together; and an arc has no handles.
            points = [z for path in parse(data) for segment in path.segments for z in segment]
            xs, ys = [z.real for z in points], [z.imag for z in points]
        else:
            _collect_nodes(data, xs, ys)
    except (ValueError, DraftingError):
        return None
    return Box(min(xs), min(ys), max(xs), max(ys)) if xs else None


def _collect_nodes(data: str, xs: list[float], ys: list[float]) -> None:
    """Collect the x and y of all nodes and handles.

    Raises:
        ValueError: if the data cannot be read.
    """
    x = y = start_x = start_y = 0.0
    mirrored = 0
    for command, text in _COMMAND.findall(data):
        try:
            numbers = list(map(float, text.replace(",", " ").split()))
        except ValueError:
            # Signs and points part numbers too.
            numbers = list(map(float, _NUMBER.findall(text)))
        letter, is_relative = command.upper(), command >= "a"
        if letter == "Z":
            x, y = start_x, start_y
        elif letter in "HV":
            for value in numbers:
                if letter == "H":
                    x = value + x if is_relative else value
                else:
                    y = value + y if is_relative else value
                xs.append(x)
                ys.append(y)
        else:
            own_x, own_y = numbers[::2], numbers[1::2]
            if not own_y or len(own_x) != len(own_y):
                raise ValueError(command)
            if is_relative:
                # Nodes are told from the node before, and so are the handles between.
                size = {"C": 3, "S": 2, "Q": 2}.get(letter, 1)
                from_x = list(itertools.accumulate(own_x[size - 1 :: size], initial=x))
                from_y = list(itertools.accumulate(own_y[size - 1 :: size], initial=y))
                for k in range(size):
                    xs.extend(map(operator.add, from_x, own_x[k::size]))
                    ys.extend(map(operator.add, from_y, own_y[k::size]))
                x, y = from_x[-1], from_y[-1]
                if letter == "M":
                    start_x, start_y = from_x[1], from_y[1]
            else:
                xs += own_x
                ys += own_y
                x, y = own_x[-1], own_y[-1]
                if letter == "M":
                    start_x, start_y = own_x[0], own_y[0]
            mirrored += len(own_y) if letter in "ST" else 0
    if mirrored:
        # A handle that mirrors another one is not written down: it is no further from its node
        # than that one from its own and the two nodes from each other.
        wide, high = (mirrored + 1) * (max(xs) - min(xs)), (mirrored + 1) * (max(ys) - min(ys))
        xs += [min(xs) - wide, max(xs) + wide]
        ys += [min(ys) - high, max(ys) + high]


class RoughBoxes:
    """Boxes about the objects of a document.

    Attributes:
        unread: the objects whose numbers or transforms could not be read.
    """

    def __init__(
        self, root: etree._Element, rules: StyleRules, named: Callable[[], Mapping[str, object]]
    ) -> None:
        """Prepare to measure.

        Args:
            root: the root of the document.
            rules: its style rules.
            named: gives its elements by their ids.
        """
        self._root, self._rules, self._named = root, rules, named
        self._has_rules = bool(rules)
        self.unread: dict[etree._Element, None] = {}
        self._widths: dict[etree._Element, float] = {}
        self._has_markers = next(root.iter(svg("marker")), None) is not None

    def own_map(self, element: etree._Element) -> Affine | None:
        """Return the transform of an element, or None where it cannot be read."""
        text = element.attrib.get("transform")
        return affine_of(str(text)) if text else SAME

    def box(self, element: etree._Element, depth: int = 0) -> Box | None:
        """Return the box about an element in the coordinates of its parent; None if empty."""
        to = self.own_map(element)
        if to is None or depth > _DEEPEST_CLONE:
            if to is None:
                self.unread[element] = None
            return None
        try:
            inside = self._inside(element, depth)
        except (ValueError, DraftingError):
            self.unread[element] = None
            return None
        if inside is None:
            return None
        return to.box(self.with_effects(element, inside))

    def with_effects(self, element: etree._Element, inside: Box) -> Box:
        """Return the box about an element's contents with what filters add and clips leave."""
        attributes = element.attrib
        style = str(attributes.get("style") or "")
        may_blur = "filter" in style or "filter" in attributes or self._has_rules
        if may_blur and self._value(element, "filter", "none") != "none":
            # A blur reaches as far as its region, which is seldom wider than what is blurred.
            wide, high = inside.right - inside.left, inside.bottom - inside.top
            inside = widened(inside, max(wide, high))
        if "clip-path" in style or "clip-path" in attributes or self._has_rules:
            found = _LINK.match(self._value(element, "clip-path", "none"))
            clip = self._named().get(found[1]) if found else None
            if isinstance(clip, etree._Element) and clip.tag == svg("clipPath"):
                inside = self._clipped(clip, inside)
        return inside

    def _clipped(self, clip: etree._Element, inside: Box) -> Box:
        if clip.get("clipPathUnits") == "objectBoundingBox" or clip.get("transform"):
            return inside
        shapes = [self.box(child, _DEEPEST_CLONE) for child in clip if isinstance(child.tag, str)]
        window = merged(shapes)
        if window is None:
            return inside
        return Box(
            *(max(inside.left, window.left), max(inside.top, window.top)),
            *(min(inside.right, window.right), min(inside.bottom, window.bottom)),
        )

    def _value(self, element: etree._Element, name: str, otherwise: str) -> str:
        return self._rules.value(element, name, otherwise)

    def _inside(self, element: etree._Element, depth: int) -> Box | None:
        """Return the box about an element in its own coordinates.

        Raises:
            ValueError, DraftingError: if its numbers cannot be read.
        """
        tag = str(element.tag).rpartition("}")[2]
        if tag == "path":
            data = str(element.attrib.get("d") or "")
            found = path_box(data)
            if found is None and data.strip() not in ("", "none"):
                raise ValueError(data[:20])
            return found and widened(found, self._reach_of_stroke(element))
        if tag in ("rect", "circle", "ellipse", "line", "polyline", "polygon"):
            return self._shape(element)
        if tag in ("image", "foreignObject", "svg"):
            return self._frame(element)
        if tag == "use":
            return self._clone(element, depth)
        if tag == "text":
            return self._text(element)
        if tag == "flowRoot":
            regions = [e for region in element.iter(svg("flowRegion")) for e in region]
            return merged(self.box(e, depth + 1) for e in regions if isinstance(e.tag, str))
        if tag in ("g", "a", "switch", "symbol"):
            children = [child for child in element if isinstance(child.tag, str)]
            return merged(self.box(e, depth + 1) for e in children if e.tag not in NOT_DRAWN)
        return None

    def _shape(self, element: etree._Element) -> Box | None:
        segments = [segment for path in subpaths_of(element) for segment in path.segments]
        if not segments:
            return None
        found = box_about(z for segment in segments for z in segment.extreme_points())
        return widened(found, self._reach_of_stroke(element))

    def _reach_of_stroke(self, element: etree._Element) -> float:
        """Return how far a stroke reaches beside its path; one that is not seen may count too."""
        marked = self._has_markers and any(
            self._value(element, f"marker-{place}", "none") != "none"
            for place in ("start", "mid", "end")
        )
        return self._width(element) * (_MARKER if marked else _MITRE)

    def _width(self, element: etree._Element) -> float:
        if self._has_rules:
            return length_of(self._value(element, "stroke-width", "1"), 1.0)
        # There may be thousands of objects: most styles are not read any further.
        attributes = element.attrib
        found = _WIDTH.search(str(attributes.get("style") or ""))
        text = found[1] if found else attributes.get("stroke-width")
        if text and text != "inherit":
            return length_of(str(text), 1.0)
        parent = element.getparent()
        if parent is None:
            return 1.0
        if parent not in self._widths:
            self._widths[parent] = self._width(parent)
        return self._widths[parent]

    def _frame(self, element: etree._Element) -> Box:
        """Return the frame of a picture; one without a size is as large as the page, or more."""
        page = [
            length_of(word)
            for word in str(self._root.get("viewBox") or "").replace(",", " ").split()
        ]
        wide, high = page[2:] if len(page) == 4 else (1e4, 1e4)
        x, y = (length_of(str(element.get(name) or "0")) for name in ("x", "y"))
        width = length_of(str(element.get("width") or ""), wide)
        height = length_of(str(element.get("height") or ""), high)
        return Box(x, y, x + width, y + height)

    def _clone(self, clone: etree._Element, depth: int) -> Box | None:
        target = self._named().get(link_of(clone))
        if not isinstance(target, etree._Element):
            return None
        shift = Affine(
            e=length_of(str(clone.get("x") or "")), f=length_of(str(clone.get("y") or ""))
        )
        if target.tag == svg("symbol") and target.get("viewBox"):
            return self._frame(clone)
        found = (
            self._inside(target, depth + 1)
            if target.tag == svg("symbol")
            else self.box(target, depth + 1)
        )
        return found and shift.box(found)

    def _text(self, text: etree._Element) -> Box | None:
        size = max(
            length_of(self._value(part, "font-size", "16px"), _USUAL_SIZE)
            for part in (text, *text.iter(svg("tspan"), svg("textPath")))
        )
        lines = [line for line in text.itertext() if line.strip()]
        whole = " ".join(lines)
        if not whole:
            return None
        spread = max(length_of(self._value(text, "letter-spacing", "0")), 0.0)
        wide = _WIDER * text_width(whole, size, bold=True) * (1.0 + spread / (_THIN * size)) + size
        places: list[Box | None] = []
        for frame in text.iter(svg("textPath")):
            path = self._named().get(link_of(frame))
            if isinstance(path, etree._Element):
                places.append(self.box(path, _DEEPEST_CLONE))
        for name in ("shape-inside", "shape-subtract"):
            for link in _LINK.findall(self._value(text, name, "none")):
                shape = self._named().get(link)
                if isinstance(shape, etree._Element):
                    places.append(self.box(shape, _DEEPEST_CLONE))
        if (framed := merged(places)) is not None:
            return widened(framed, 2 * size)
        return self._lines(text, wide, size)

    def _lines(self, text: etree._Element, wide: float, size: float) -> Box:
        xs: list[float] = []
        ys: list[float] = []
        moved = [0.0]
        for part in (text, *text.iter(svg("tspan"))):
            for name, values in (("x", xs), ("y", ys), ("dx", moved), ("dy", moved)):
                for word in str(part.get(name) or "").replace(",", " ").split():
                    with contextlib.suppress(ValueError):
                        values.append(length_of(word))
        xs, ys = xs or [0.0], ys or [0.0]
        anchor = self._value(text, "text-anchor", "start")
        is_upright = self._value(text, "writing-mode", "lr-tb") not in (
            "lr",
            "lr-tb",
            "horizontal-tb",
        )
        is_turned = is_upright or any(e.get("rotate") for e in text.iter())
        left = 0.0 if anchor == "start" else wide
        right = 0.0 if anchor == "end" else wide
        if self._value(text, "direction", "ltr") == "rtl":
            left = right = wide
        more = sum(map(abs, moved)) + size
        rows = sum(1 for e in text.iter() if e.get(f"{{{SODIPODI}}}role") == "line") + 1
        up, down = (wide, wide) if is_turned else (size, 2 * size * rows)
        if is_turned:
            left = right = wide
        return Box(
            *(min(xs) - left - more, min(ys) - up - more),
            *(max(xs) + right + more, max(ys) + down + more),
        )
