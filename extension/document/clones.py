"""Clones: which object a clone shows, and how that is carried to where the clone stands."""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import NamedTuple

from inkex.transforms import Transform
from lxml import etree

from extension.document.namespaces import svg
from extension.document.svg_document import MM_PER_UNIT

_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
_CALLED = etree.XPath("//*[@id=$id]")
_LENGTH = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([a-zA-Z]*|%)\s*$")
#: Where in the free room a symbol's box lies, by the letters of ``preserveAspectRatio``.
_ALIGNED = {"min": 0.0, "mid": 0.5, "max": 1.0}


class Shown(NamedTuple):
    """What a clone shows.

    Attributes:
        original: the object, a clone itself it may be, or a symbol.
        before: what is done in the clone's coordinates to what the original's own transform gives.
        inside: what is done to the original's children before its own transform: a symbol's box
            is fitted to the clone's.
    """

    original: etree._Element
    before: Transform
    inside: Transform


def shown_by(clone: etree._Element) -> Shown | None:
    """Return what a clone shows, or None where its original is not in the drawing."""
    href = next((str(clone.get(name)).strip() for name in _HREFS if clone.get(name)), "")
    root = clone.getroottree().getroot()
    original = _called(root, href[1:]) if href.startswith("#") and len(href) > 1 else None
    if original is None:
        return None
    width, height = _page(root)
    shift = complex(_length(clone, "x", width, 0.0), _length(clone, "y", height, 0.0))
    before = Transform(((1.0, 0.0, shift.real), (0.0, 1.0, shift.imag)))
    inside = Transform()
    if original.tag == svg("symbol"):
        box = complex(
            _length(clone, "width", width, _length(original, "width", width, width)),
            _length(clone, "height", height, _length(original, "height", height, height)),
        )
        inside = _fitted(original, box)
    return Shown(original, before, inside)


def _called(root: etree._Element, identity: str) -> etree._Element | None:
    """Return the object of an id, or None."""
    found = _named(root).get(identity)
    if found is not None and found.get("id") == identity and found.getroottree().getroot() is root:
        return found
    # It was named, or drawn, since the ids were collected.
    late = _CALLED(root, id=identity)
    return late[0] if isinstance(late, list) and late and etree.iselement(late[0]) else None


@lru_cache(maxsize=1)
def _named(root: etree._Element) -> dict[str, etree._Element]:
    """Return the objects of a document by their ids: clones are many, and looked at one by one."""
    return {str(e.get("id")): e for e in root.iter(etree.Element) if e.get("id")}


def _fitted(symbol: etree._Element, box: complex) -> Transform:
    """Return how a symbol's own coordinates are fitted to a box at 0, 0 of some width and height.

    A symbol without a usable box of its own keeps its coordinates.
    """
    numbers = _numbers(symbol.get("viewBox") or "")
    if len(numbers) != 4 or min(numbers[2:]) <= 0.0 or min(box.real, box.imag) <= 0.0:
        return Transform()
    left, top, width, height = numbers
    across, down = box.real / width, box.imag / height
    words = (symbol.get("preserveAspectRatio") or "xMidYMid").split()
    place = re.fullmatch(r"x(Min|Mid|Max)Y(Min|Mid|Max)", words[0])
    x, y = 0.0, 0.0
    if words[0] != "none":
        across = down = max(across, down) if "slice" in words else min(across, down)
        parts = [_ALIGNED[part.lower()] for part in place.groups()] if place else [0.5, 0.5]
        x = (box.real - across * width) * parts[0]
        y = (box.imag - down * height) * parts[1]
    return Transform(((across, 0.0, x - across * left), (0.0, down, y - down * top)))


def _page(root: etree._Element) -> tuple[float, float]:
    """Return the width and height of the page, in units of the root, for what is a part of it."""
    numbers = _numbers(root.get("viewBox") or "")
    if len(numbers) == 4:
        return numbers[2], numbers[3]
    return _length(root, "width", 100.0, 100.0), _length(root, "height", 100.0, 100.0)


def _numbers(text: str) -> list[float]:
    try:
        found = [float(part) for part in text.replace(",", " ").split()]
    except ValueError:
        return []
    return found if all(map(math.isfinite, found)) else []


def _length(element: etree._Element, name: str, whole: float, otherwise: float) -> float:
    """Return a length in user units; of a percentage that part of the whole."""
    found = _LENGTH.match(element.get(name) or "")
    unit = found[2].lower() if found else ""
    if not found or (unit != "%" and unit not in MM_PER_UNIT):
        return otherwise
    if unit == "%":
        return float(found[1]) / 100.0 * whole
    return float(found[1]) * MM_PER_UNIT[unit] / MM_PER_UNIT["px"]
