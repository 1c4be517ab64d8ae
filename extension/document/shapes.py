"""Shapes as lines and cubics in the root's coordinates, and the centre of any object."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator
from typing import NamedTuple

from inkex.transforms import Transform
from lxml import etree

from drafting_core.plane.curves import Box, Line, PointMap, Segment, box_about
from drafting_core.text.errors import OutlineError
from drafting_core.text.words import _
from extension.document.namespaces import SODIPODI, svg
from extension.document.path_data import Subpath, parse
from extension.document.roles import name_of
from extension.document.svg_document import MM_PER_UNIT, DocumentError

#: Elements whose contents are not drawn where they stand.
NOT_DRAWN = frozenset(
    svg(tag)
    for tag in (
        "defs",
        "symbol",
        "clipPath",
        "mask",
        "pattern",
        "marker",
        "metadata",
        "style",
        "script",
        "title",
        "desc",
        "linearGradient",
        "radialGradient",
        "filter",
        "font",
    )
) | {f"{{{SODIPODI}}}namedview"}

#: Elements that can be an outline, or part of one.
SHAPES = frozenset(
    svg(tag) for tag in ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
)
#: A clone shows another object, of this drawing.
CLONE = svg("use")
_ROUND = frozenset((svg("circle"), svg("ellipse")))
#: What shows its children, a symbol only where a clone shows it.
_HOLDERS = frozenset(svg(tag) for tag in ("g", "a", "svg", "switch", "symbol"))
#: An outline may be turned, mirrored and scaled evenly; its two scales differ at most by this
#: part of themselves, since editors round the numbers of a transform.
SIMILARITY = 1e-4


def drawn_elements(root: etree._Element) -> Iterator[etree._Element]:
    """Yield every drawn element below an element, in document order, itself left out."""
    for child in root:
        if isinstance(child.tag, str) and child.tag not in NOT_DRAWN:
            yield child
            yield from drawn_elements(child)


def transform_of(element: etree._Element) -> Transform:
    """Return the transform from an element's coordinates to those of the root.

    Raises:
        DocumentError: if a transform on the way cannot be read.
    """
    total = Transform()
    current: etree._Element | None = element
    while current is not None and current.getparent() is not None:
        own = _own_transform(current, element)
        if own is not None:
            total = own @ total
        current = current.getparent()
    return _finite(total, element)


def _own_transform(element: etree._Element, inner: etree._Element) -> Transform | None:
    """Return an element's own transform, or None where it has none.

    Args:
        element: the element.
        inner: the object in it that is asked for.

    Raises:
        DocumentError: if it cannot be read, or the element is a drawing with a scale of its own.
    """
    if element.tag == svg("svg") and any(element.get(name) for name in ("x", "y", "viewBox")):
        raise DocumentError(
            _("it stands in a drawing inside the drawing, with a scale of its own."),
            thing=name_of(inner),
            remedy=_("Ungroup that inner drawing first (Object > Ungroup)."),
        )
    # Not `get`: the editor library's elements answer it with six digits, and keep those.
    text = element.attrib.get("transform")
    if not text:
        return None
    try:
        return Transform(text)
    except (TypeError, ValueError, ZeroDivisionError):
        raise DocumentError(
            _('its transform "{text}" cannot be read.').format(text=text),
            thing=name_of(element),
            remedy=_("Take the transform off, or redraw the object."),
        ) from None


def _finite(transform: Transform, element: etree._Element) -> Transform:
    if not all(math.isfinite(value) for row in transform.matrix for value in row):
        raise DocumentError(
            _("its transform has a number that is not finite."),
            thing=name_of(element),
            remedy=_("Take the transform off, or redraw the object."),
        )
    return transform


def point_map(transform: Transform) -> PointMap:
    """Return a transform as a map of points."""
    (a, c, e), (b, d, f) = transform.matrix
    if (a, b, c, d, e, f) == (1.0, 0.0, 0.0, 1.0, 0.0, 0.0):
        return lambda z: z
    return lambda z: complex(a * z.real + c * z.imag + e, b * z.real + d * z.imag + f)


def matrix_text(transform: Transform) -> str:
    """Return a transform as text with all its digits: the editor library's own keeps six."""
    (a, c, e), (b, d, f) = transform.matrix
    # Adding nothing takes the sign off a zero, which one version of that library leaves there.
    return f"matrix({','.join(repr(number + 0.0) for number in (a, b, c, d, e, f))})"


def is_similarity(transform: Transform) -> bool:
    """Tell whether a transform only moves, turns, mirrors and scales evenly."""
    (a, c, _), (b, d, _) = transform.matrix
    first, second = math.hypot(a, b), math.hypot(c, d)
    return (
        first > 0
        and abs(first - second) <= SIMILARITY * first
        and abs(a * c + b * d) <= SIMILARITY * first * second
    )


def subpaths_of(element: etree._Element) -> list[Subpath]:
    """Return the subpaths of a shape in its own coordinates.

    Raises:
        OutlineError: if its data cannot be read.
    """
    tag = etree.QName(element).localname
    try:
        if tag == "path":
            return parse(element.attrib.get("d") or "")
        if tag in ("polyline", "polygon"):
            return _polygon(element, tag == "polygon")
        return _BASIC[tag](element)
    except OutlineError as error:
        raise error.about(name_of(element)) from None


def _number(element: etree._Element, name: str, default: float = 0.0) -> float:
    text = (element.get(name) or "").strip()
    if not text:
        return default
    for unit, size in sorted(MM_PER_UNIT.items(), key=lambda item: -len(item[0])):
        if unit and text.lower().endswith(unit):
            text, factor = text[: -len(unit)], size / MM_PER_UNIT["px"]
            break
    else:
        factor = 1.0
    try:
        value = float(text) * factor
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise OutlineError(
            _('its {attribute} "{text}" is not a finite number.').format(
                attribute=name, text=element.get(name)
            ),
            remedy=_("Redraw the shape."),
        )
    return value


def _polygon(element: etree._Element, closed: bool) -> list[Subpath]:
    numbers = []
    for text in (element.get("points") or "").replace(",", " ").split():
        try:
            numbers.append(float(text))
        except ValueError:
            numbers.append(math.nan)
    if not all(map(math.isfinite, numbers)) or len(numbers) % 2:
        raise OutlineError(_("its points cannot be read."), remedy=_("Redraw the shape."))
    points = [complex(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
    if len(points) < 2:
        return []
    if closed and points[0] != points[-1]:
        points.append(points[0])
    lines: list[Segment] = [Line(a, b) for a, b in itertools.pairwise(points)]
    return [Subpath(lines, closed, points[0])]


def _line(element: etree._Element) -> list[Subpath]:
    start = complex(_number(element, "x1"), _number(element, "y1"))
    end = complex(_number(element, "x2"), _number(element, "y2"))
    return [Subpath([Line(start, end)], False, start)]


def _ellipse(element: etree._Element) -> list[Subpath]:
    centre = complex(_number(element, "cx"), _number(element, "cy"))
    radius = _number(element, "r")
    rx, ry = _number(element, "rx", radius), _number(element, "ry", radius)
    if rx <= 0 or ry <= 0:
        return []
    x, y = centre.real, centre.imag
    return parse(
        f"M {x + rx!r} {y!r} A {rx!r} {ry!r} 0 0 1 {x!r} {y + ry!r} {rx!r} {ry!r} 0 0 1 "
        f"{x - rx!r} {y!r} {rx!r} {ry!r} 0 0 1 {x!r} {y - ry!r} {rx!r} {ry!r} 0 0 1 "
        f"{x + rx!r} {y!r} Z"
    )


def _rectangle(element: etree._Element) -> list[Subpath]:
    x, y = _number(element, "x"), _number(element, "y")
    width, height = _number(element, "width"), _number(element, "height")
    if width <= 0 or height <= 0:
        return []
    given_x, given_y = element.get("rx"), element.get("ry")
    rx = _number(element, "rx" if given_x else "ry")
    ry = _number(element, "ry" if given_y else "rx")
    rx, ry = min(max(rx, 0.0), width / 2), min(max(ry, 0.0), height / 2)
    if rx == 0.0 or ry == 0.0:
        return parse(f"M {x!r} {y!r} h {width!r} v {height!r} h {-width!r} Z")
    across, along = width - 2 * rx, height - 2 * ry
    return parse(
        f"M {x + rx!r} {y!r} h {across!r} a {rx!r} {ry!r} 0 0 1 {rx!r} {ry!r} v {along!r} "
        f"a {rx!r} {ry!r} 0 0 1 {-rx!r} {ry!r} h {-across!r} a {rx!r} {ry!r} 0 0 1 {-rx!r} {-ry!r} "
        f"v {-along!r} a {rx!r} {ry!r} 0 0 1 {rx!r} {-ry!r} Z"
    )


_BASIC: dict[str, Callable[[etree._Element], list[Subpath]]] = {
    "line": _line,
    "circle": _ellipse,
    "ellipse": _ellipse,
    "rect": _rectangle,
}


def mapped_subpaths(element: etree._Element) -> list[Subpath]:
    """Return the subpaths of a shape in the root's coordinates, zero-length segments left out.

    Those of a clone are the subpaths of all that it shows, where it shows them.
    """
    if element.tag == CLONE:
        drawn = _drawn_parts(element, transform_of(element))
        return [path for part, to in drawn if part.tag in SHAPES for path in _mapped(part, to)]
    return _mapped(element, transform_of(element))


def _mapped(element: etree._Element, transform: Transform) -> list[Subpath]:
    to = point_map(transform)
    return [
        Subpath(
            [
                segment.mapped(to)
                for segment in path.segments
                if segment.start != segment.end or len(segment) == 4
            ],
            path.closed,
            to(path.start),
        )
        for path in subpaths_of(element)
    ]


class DrawnChain(NamedTuple):
    """One subpath of an object, end to end.

    Attributes:
        segments: its lines and curves, at least one.
        closed: whether it closes.
    """

    segments: tuple[Segment, ...]
    closed: bool


def chains_of(
    element: etree._Element, mm_per_unit: float, placed: PointMap | None = None
) -> tuple[DrawnChain, ...]:
    """Return the subpaths of a shape in mm, those without any length left out.

    Args:
        element: the shape.
        mm_per_unit: mm to a unit of the root: true ones where that is what is wanted.
        placed: what moves the shape in the root's coordinates first, as a clone is moved.

    Raises:
        OutlineError: if its data cannot be read.
        DocumentError: if a transform on the way cannot be read.
    """

    def scaled(z: complex) -> complex:
        return (z if placed is None else placed(z)) * mm_per_unit

    return tuple(
        DrawnChain(tuple(segment.mapped(scaled) for segment in path.segments), path.closed)
        for path in mapped_subpaths(element)
        if path.segments
    )


def centre_of(element: etree._Element) -> complex:
    """Return the centre of any object in the root's coordinates; of a text, its anchor.

    Raises:
        DocumentError: if it has no place.
    """
    return box_about(_placed_points(element)).centre


def box_of(element: etree._Element) -> Box:
    """Return the box about any object in the root's coordinates; a text is its anchor alone.

    Raises:
        DocumentError: if it has no place.
    """
    points = _placed_points(element)
    parts = _parts_of(element)
    if len(parts) == 1 and parts[0][0].tag in _ROUND:
        points += _reach(*parts[0])
    return box_about(points)


def clone_refused(element: etree._Element) -> DocumentError:
    """Return the error for a clone that is to be drafted from as a line."""
    return DocumentError(
        _("it is a clone, which cannot be drafted from."),
        thing=name_of(element),
        remedy=_("Unlink it first (Edit > Clone > Unlink Clone)."),
    )


def _placed_points(element: etree._Element) -> list[complex]:
    """Return the points between which an object lies.

    Raises:
        DocumentError: if there are none.
    """
    parts = _parts_of(element)
    if len(parts) == 1 and parts[0][0].tag in _ROUND:
        # Whatever turns or stretches it, the centre stays the centre.
        part, to = parts[0]
        return [point_map(to)(complex(_number(part, "cx"), _number(part, "cy")))]
    points = [point for part, to in parts for point in _extreme_points(part, to)]
    if points:
        return points
    if element.tag == CLONE:
        raise DocumentError(
            _("it is a clone that shows nothing: its original is not in this drawing."),
            thing=name_of(element),
            remedy=_("Delete it, or draw the mark anew."),
        )
    raise DocumentError(
        _("it is empty and has no place."),
        thing=name_of(element),
        remedy=_("Delete it, or draw it anew."),
    )


def _parts_of(element: etree._Element) -> list[tuple[etree._Element, Transform]]:
    return list(_drawn_parts(element, transform_of(element)))


def _drawn_parts(
    element: etree._Element, to: Transform, clones: tuple[etree._Element, ...] = ()
) -> Iterator[tuple[etree._Element, Transform]]:
    """Yield all that is drawn of an object, clones as what they show.

    Args:
        element: the object.
        to: the transform from its coordinates to those of the root.
        clones: the clones that show it.

    Yields:
        Shapes, texts and pictures, each with the transform from its coordinates to the root's.
    """
    inside = to
    if element.tag == CLONE:
        # Only clones need it.
        from extension.document.clones import shown_by

        shown = shown_by(element)
        # A clone that shows itself shows nothing.
        if shown is None or element in clones:
            return
        clones = (*clones, element)
        own = _own_transform(shown.original, element)
        inside = to @ shown.before if own is None else to @ shown.before @ own
        if shown.original.tag != svg("symbol"):
            yield from _drawn_parts(shown.original, inside, clones)
            return
        element, inside = shown.original, inside @ shown.inside
    if element.tag not in _HOLDERS:
        yield element, _finite(to, element)
        return
    for child in element:
        if isinstance(child.tag, str) and child.tag not in NOT_DRAWN:
            own = _own_transform(child, child)
            yield from _drawn_parts(child, inside if own is None else inside @ own, clones)


def _reach(element: etree._Element, to: Transform) -> Iterator[complex]:
    """Yield the points between which a shape lies."""
    for path in _mapped(element, to):
        yield path.start
        for segment in path.segments:
            yield from segment.extreme_points()


def _extreme_points(element: etree._Element, to: Transform) -> Iterator[complex]:
    tag = etree.QName(element).localname
    if tag in ("text", "tspan"):
        yield _anchor(element, to)
    elif tag == "image" or tag == "foreignObject":
        placed = point_map(to)
        x, y = _number(element, "x"), _number(element, "y")
        width, height = _number(element, "width"), _number(element, "height")
        for corner in (0j, width + 0j, 1j * height, complex(width, height)):
            yield placed(complex(x, y) + corner)
    elif element.tag in SHAPES:
        yield from _reach(element, to)


def _anchor(element: etree._Element, to: Transform) -> complex:
    """Return the anchor of a text: its x and y, or those of its first line."""
    for part in (element, *element.iter(svg("tspan"))):
        if part.get("x") is not None or part.get("y") is not None:
            holder = part
            break
    else:
        holder = element
    values = {}
    for name in ("x", "y"):
        text = (holder.get(name) or element.get(name) or "0").replace(",", " ").split()
        values[name] = float(text[0]) if text and _is_number(text[0]) else 0.0
    return point_map(to)(complex(values["x"], values["y"]))


def _is_number(text: str) -> bool:
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False
