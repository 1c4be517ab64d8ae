"""Ink as a tracer gives it: lines drawn with a round pen by shapely's buffer, as contours."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union

Points = NDArray[np.complex128]


def line_string(line: Iterable[complex]) -> LineString:
    """Return complex points as shapely's line."""
    return LineString([(z.real, z.imag) for z in line])


def polygon_of(ring: Iterable[complex]) -> Polygon:
    """Return a closed line, its first point not repeated, as shapely's polygon."""
    return Polygon([(z.real, z.imag) for z in ring])


def closed_line(ring: Sequence[complex]) -> list[complex]:
    """Return a closed line with its first point repeated."""
    return [*ring, ring[0]]


def ring_of(coords: Iterable[Sequence[float]]) -> Points:
    """Return shapely's closed coordinates as points, the first not repeated."""
    return np.array([complex(c[0], c[1]) for c in coords][:-1])


def shapes_of(lines: Iterable[Iterable[complex]], pen: float = 0.7) -> list[Polygon]:
    """Return the shapes of ink of lines drawn with a pen."""
    ink = unary_union([line_string(line).buffer(pen / 2) for line in lines])
    return list(getattr(ink, "geoms", [ink]))


def contours_of(shapes: Iterable[Polygon]) -> list[Points]:
    """Return the contours of shapes, holes among them."""
    return [ring_of(ring.coords) for shape in shapes for ring in (shape.exterior, *shape.interiors)]


def inked(lines: Iterable[Iterable[complex]], pen: float = 0.7) -> list[Points]:
    """Return the contours of lines drawn with a pen."""
    return contours_of(shapes_of(lines, pen))


def moved(points: Iterable[complex], turn: float = 0.0, *, mirrored: bool = False) -> list[complex]:
    """Return points turned about the origin (radians), mirrored before."""
    way = complex(np.exp(1j * turn))
    return [way * (z.conjugate() if mirrored else z) for z in points]
