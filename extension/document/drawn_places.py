"""Where an object lay when Dartswing drew it: a few points and a length, written with it.

By them a later run knows whether a hand has moved or reshaped it since, and how a layer was moved
as a whole. Points and lengths are in units of the root.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import NamedTuple

from lxml import etree

from drafting_core.plane.curves import Line, Segment
from drafting_core.text.errors import DraftingError
from extension.document.namespaces import svg
from extension.document.roles import our_attributes
from extension.document.shapes import SHAPES, centre_of, mapped_subpaths, point_map, transform_of

#: The attribute that holds it.
PLACED = "placed"


class DrawnPlace(NamedTuple):
    """Where an object lies.

    Attributes:
        points: its first point, the one furthest from it, and its last; of a text its anchor and
            a place further along its line.
        length: of a line, the length of its control polygon; else 0.
        area: of a line, the area that its control polygon encloses, with a sign; else 0.
    """

    points: tuple[complex, ...]
    length: float = 0.0
    area: float = 0.0

    def text(self) -> str:
        """Return it as an attribute says it."""
        words = [f"{z.real:.6f},{z.imag:.6f}" for z in self.points]
        return " ".join([*words, f"{self.length:.6f}", f"{self.area:.6f}"])


def place_of_chain(segments: Sequence[Segment]) -> DrawnPlace:
    """Return the place of a chain of segments."""
    controls = [segments[0].start]
    for segment in segments:
        if segment.start != controls[-1]:
            # The next one of several chains.
            controls.append(segment.start)
        if isinstance(segment, Line):
            controls.append(segment.end)
        else:
            controls += segment[1:]
    return place_of_points(controls)


def place_of_points(points: Sequence[complex]) -> DrawnPlace:
    """Return the place of a polyline or a control polygon."""
    first = points[0]
    furthest = max(points, key=lambda z: abs(z - first))
    length = math.fsum(abs(b - a) for a, b in itertools.pairwise(points))
    # Seen from its first point, so that no digits are lost far from the origin.
    arms = [z - first for z in points]
    area = math.fsum(a.real * b.imag - a.imag * b.real for a, b in itertools.pairwise(arms)) / 2
    return DrawnPlace((first, furthest, points[-1]), length, area)


def place_of_circle(centre: complex) -> DrawnPlace:
    """Return the place of a circle: its centre alone."""
    return DrawnPlace((centre,))


def place_of_text(anchor: complex, direction: complex) -> DrawnPlace:
    """Return the place of a text."""
    return DrawnPlace((anchor, anchor + 100.0 * direction))


def place_now(element: etree._Element) -> DrawnPlace | None:
    """Return the place where an object lies, or None where it has none."""
    try:
        if element.tag == svg("text"):
            to = point_map(transform_of(element))
            anchor = centre_of(element)
            return DrawnPlace((anchor, anchor + 100.0 * (to(1 + 0j) - to(0j))))
        if element.tag == svg("circle"):
            return DrawnPlace((centre_of(element),))
        if element.tag not in SHAPES:
            return None
        chains = [path.segments for path in mapped_subpaths(element) if path.segments]
    except DraftingError:
        return None
    return place_of_chain([s for chain in chains for s in chain]) if chains else None


def place_then(element: etree._Element) -> DrawnPlace | None:
    """Return the place where an object lay when it was drawn, or None where that is not said."""
    words = our_attributes(element).get(PLACED, "").split()
    try:
        points = [complex(*map(float, word.split(","))) for word in words if "," in word]
        sizes = [float(word) for word in words if "," not in word]
    except (TypeError, ValueError):
        return None
    is_sound = points and 0 < len(sizes) < 3
    is_sound = is_sound and all(map(math.isfinite, [*map(abs, points), *sizes]))
    return DrawnPlace(tuple(points), *sizes) if is_sound else None
