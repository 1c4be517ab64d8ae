"""A picture on a drawing traced: where its dots lie on the canvas, and what was made of them."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from lxml import etree

from drafting_core.ink.ink_of_picture import Ink, ink_of
from drafting_core.ink.polylines import Points
from drafting_core.text.errors import DraftingError
from drafting_core.text.words import _
from extension.cleaning.picture_file import (
    PictureHead,
    grey_of,
    head_of,
    picture_bytes,
    shown_bytes,
)
from extension.cleaning.tracer import traced, tracer
from extension.document.namespaces import SODIPODI, svg
from extension.document.roles import name_of
from extension.document.shapes import transform_of
from extension.document.svg_document import MM_PER_UNIT, DocumentError

IMAGE = svg("image")
XLINK = "http://www.w3.org/1999/xlink"
_LINK = f"{{{XLINK}}}href"
_ABSOLUTE = f"{{{SODIPODI}}}absref"
_LENGTH = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([a-zA-Z]*)\s*$")
#: How `preserveAspectRatio` says where a picture lies in its box.
_ALIGNED = {"min": 0.0, "mid": 0.5, "max": 1.0}
#: Edges are followed in chords of so many dots at least and at most.
_FINEST_CHORD, _COARSEST_CHORD = 1.0, 6.0


class Placement(NamedTuple):
    """Where a picture's dots lie on the canvas, in the root's units.

    Attributes:
        corner: its upper left corner.
        across: the step from a dot to the next one on its right.
        down: the step to the next one below.
    """

    corner: complex
    across: complex
    down: complex

    def at(self, points: Points) -> Points:
        """Return where points of the picture, in dots from its upper left corner, lie."""
        return np.asarray(self.corner + points.real * self.across + points.imag * self.down)


class TracedPicture(NamedTuple):
    """A picture and what was made of it.

    Attributes:
        element: the object on the drawing.
        head: what the picture says of itself.
        placement: where its dots lie.
        ink: what was taken as ink; its mask is left out.
        reduced: how many dots became one before it was traced, along a side.
        edges: the edges of its ink, a drawing in dots of the reduced picture.
    """

    element: etree._Element
    head: PictureHead
    placement: Placement
    ink: Ink
    reduced: int
    edges: etree._Element

    def dpi(self, mm: float) -> tuple[float, float]:
        """Return how many dots it has to the inch of the canvas, across and down.

        Args:
            mm: mm to a unit of the root.
        """
        _corner, across, down = self.placement
        return 25.4 / (abs(across) * mm), 25.4 / (abs(down) * mm)

    def size(self, mm: float) -> tuple[float, float]:
        """Return its width and height on the canvas in mm."""
        _corner, across, down = self.placement
        width, height = self.head.size
        return width * abs(across) * mm, height * abs(down) * mm

    def chord(self, wanted: float) -> float:
        """Return the chord in which its edges are followed, in dots of the reduced picture.

        Args:
            wanted: the one that is wanted, in the root's units.
        """
        dots = wanted / (abs(self.placement.across) * self.reduced)
        return min(max(dots, _FINEST_CHORD), _COARSEST_CHORD)

    def placed(self, points: Points) -> Points:
        """Return where points of its edges lie on the canvas."""
        return self.placement.at(points * self.reduced)


def traced_picture(image: etree._Element, folder: str) -> TracedPicture:
    """Trace a picture.

    Args:
        image: the object on the drawing.
        folder: the drawing's folder, from where it links; empty if it has none yet.

    Raises:
        DraftingError: if it cannot be read or traced.
    """
    try:
        # Said before a large picture is unpacked for nothing.
        tracer()
        data = _data_of(image, folder)
        head = head_of(data)
        placement = _placement(image, head.size)
        grey, reduced = grey_of(data)
        ink = ink_of(grey)
        if not ink.mask.any():
            raise DocumentError(
                _("nothing in the picture is darker than its paper."),
                remedy=_("Scan it again, darker, or draw the lines anew with a pen."),
            )
        edges = traced(ink.mask)
    except DraftingError as error:
        raise error.about(name_of(image)) from None
    return TracedPicture(image, head, placement, ink._replace(mask=_NOTHING), reduced, edges)


_NOTHING = np.zeros((0, 0), dtype=np.bool_)


def embed(image: etree._Element, folder: str = "") -> None:
    """Put a linked picture into the drawing itself, upright and no larger than is needed.

    Raises:
        DraftingError: if it cannot be read.
    """
    import base64

    kind, data = shown_bytes(_data_of(image, folder))
    image.set(_LINK, f"data:{kind};base64,{base64.b64encode(data).decode('ascii')}")


def _data_of(image: etree._Element, folder: str) -> bytes:
    link = (image.attrib.get(_LINK) or image.attrib.get("href") or "").strip()
    data = picture_bytes(link, folder, image.attrib.get(_ABSOLUTE, "")) if link else b""
    if not data:
        raise DocumentError(
            _("the picture is empty."), remedy=_("Delete it and import the scan anew.")
        )
    return data


def _placement(image: etree._Element, size: tuple[int, int]) -> Placement:
    """Return where the dots of a picture lie.

    Raises:
        DraftingError: if its size on the canvas cannot be read, or is none.
    """
    left, top = (_length(image, name) or 0.0 for name in ("x", "y"))
    given = [_length(image, name) for name in ("width", "height")]
    width, height = _box(given, size)
    if not (width > 0 and height > 0):
        raise DocumentError(
            _("the picture has no size on the canvas."),
            remedy=_("Delete it and import the scan anew."),
        )
    across, down = width / size[0], height / size[1]
    corner = complex(left, top)
    words = image.attrib.get("preserveAspectRatio", "").split()
    words = [word for word in words if word != "defer"]
    if words[:1] != ["none"]:
        even = (max if words[1:2] == ["slice"] else min)(across, down)
        free = complex(width - even * size[0], height - even * size[1])
        found = re.fullmatch(r"x(Min|Mid|Max)Y(Min|Mid|Max)", words[0] if words else "xMidYMid")
        x, y = (found[1], found[2]) if found else ("Mid", "Mid")
        corner += complex(free.real * _ALIGNED[x.lower()], free.imag * _ALIGNED[y.lower()])
        across = down = even
    (a, c, e), (b, d, f) = transform_of(image).matrix
    at = complex(a * corner.real + c * corner.imag + e, b * corner.real + d * corner.imag + f)
    found_steps = Placement(at, complex(a, b) * across, complex(c, d) * down)
    if abs((found_steps.across.conjugate() * found_steps.down).imag) < 1e-12:
        raise DocumentError(
            _("the picture has no size on the canvas."),
            remedy=_("Delete it and import the scan anew."),
        )
    return found_steps


def _box(given: Sequence[float | None], size: tuple[int, int]) -> tuple[float, float]:
    """Return a picture's width and height on the canvas; what is not given follows its dots."""
    width, height = given
    if width is None and height is None:
        return float(size[0]), float(size[1])
    if width is None:
        width = (height or 0.0) * size[0] / size[1]
    if height is None:
        height = width * size[1] / size[0]
    return width, height


def _length(image: etree._Element, name: str) -> float | None:
    text = image.attrib.get(name)
    if text is None or text.strip() == "auto":
        return None
    found = _LENGTH.match(text)
    unit = found[2].lower() if found else "?"
    if found is None or unit not in MM_PER_UNIT or not math.isfinite(float(found[1])):
        raise DocumentError(
            _('the picture\'s {attribute} "{text}" cannot be read.').format(
                attribute=name, text=text
            ),
            remedy=_("Set its size anew in the editor."),
        )
    # A bare number is one of user units, of which CSS has 96 to the inch.
    return float(found[1]) * (MM_PER_UNIT[unit] / MM_PER_UNIT["px"])
