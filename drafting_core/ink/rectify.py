"""A photo made flat: the map that makes a known rectangle true, which takes out perspective."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drafting_core.ink.polylines import Points
from drafting_core.plane.curves import cross
from drafting_core.text.errors import OutlineError
from drafting_core.text.words import _

#: Nodes of a rectangle's outline that turn by less than this are on a side (radians).
_ON_SIDE = math.radians(5.0)


class PlaneMap(NamedTuple):
    """A map of the plane that keeps lines straight: a similarity or a perspective.

    Attributes:
        matrix: the homography, shape (3, 3).
    """

    matrix: NDArray[np.float64]

    def __call__(self, points: Points) -> Points:
        """Return points sent through the map, shape kept."""
        (a, b, c), (d, e, f), (g, h, i) = self.matrix
        x, y = points.real, points.imag
        under = g * x + h * y + i
        return np.asarray((a * x + b * y + c) / under + 1j * (d * x + e * y + f) / under)

    def at(self, point: complex) -> complex:
        """Return one point sent through the map."""
        return complex(self(np.array([point]))[0])

    def scale_at(self, point: complex) -> float:
        """Return the length that a unit gets at a place: the root of what its area gets."""
        step = 1e-3
        across, down = self.at(point + step) - self.at(point), self.at(point + step * 1j)
        return math.sqrt(abs(cross(across, down - self.at(point)))) / step

    @property
    def inverse(self) -> PlaneMap:
        """The map back."""
        return PlaneMap(np.asarray(np.linalg.inv(self.matrix), dtype=np.float64))


def scaling(factor: float) -> PlaneMap:
    """Return the map that only scales."""
    return PlaneMap(np.diag([factor, factor, 1.0]))


def corners_of(path: Sequence[complex]) -> list[complex]:
    """Return the corners of a closed path of straight sides, nodes on a side left out.

    Args:
        path: its nodes in order, the first not repeated.
    """
    nodes = [z for k, z in enumerate(path) if abs(z - path[k - 1]) > 1e-9]
    found = []
    for k, node in enumerate(nodes):
        before, after = node - nodes[k - 1], nodes[(k + 1) % len(nodes)] - node
        if abs(np.angle(after / before)) > _ON_SIDE:
            found.append(node)
    return found


def rectangle_map(corners: Sequence[complex], width: float, height: float) -> PlaneMap:
    """Return the map that makes a rectangle of known size of its picture.

    Which of the picture's sides is the long one is told from their lengths; the picture is
    turned as little as possible and never mirrored.

    Args:
        corners: the four corners of the picture, in order either way round.
        width: the rectangle's one side in mm.
        height: its other.

    Raises:
        OutlineError: if they are not four, or not convex, or without area.
    """
    ring = ring_of(corners)
    sides = [abs(ring[(k + 1) % 4] - ring[k]) for k in range(4)]
    first_is_long = sides[0] + sides[2] >= sides[1] + sides[3]
    along, across = (max(width, height), min(width, height))
    if not first_is_long:
        along, across = across, along
    return laid_map(ring, along, across)


def ring_of(corners: Sequence[complex]) -> list[complex]:
    """Return a rectangle's four corners as a picture shows them, clockwise on the page.

    Raises:
        OutlineError: if they are not four, or not convex, or without area.
    """
    if len(corners) != 4:
        raise OutlineError(
            _("it has {n} corners, where a rectangle has four.").format(n=len(corners)),
            remedy=_(
                "Draw it as a closed path of four straight lines along the edges of the sheet."
            ),
        )
    turns = [
        cross(corners[k] - corners[k - 1], corners[(k + 1) % 4] - corners[k]) for k in range(4)
    ]
    size = max(abs(a - b) for a in corners for b in corners)
    if not (all(t > 0 for t in turns) or all(t < 0 for t in turns)) or (
        min(map(abs, turns)) < 1e-4 * size**2
    ):
        raise OutlineError(
            _("its four corners do not form a convex shape, as a rectangle in a photo does."),
            remedy=_("Move its corners to those of the sheet, one after the other all round."),
        )
    return list(corners) if turns[0] > 0 else list(reversed(corners))


def laid_map(ring: Sequence[complex], along: float, across: float) -> PlaneMap:
    """Return the map that makes a rectangle of its four corners, turned as little as possible.

    Args:
        ring: the corners, clockwise on the page; see `ring_of`.
        along: the length of the side from the first to the second, in mm.
        across: the length of the other.
    """
    flat = [0j, along + 0j, complex(along, across), 1j * across]
    # Of the four ways to lay it, two for each way round: the one that turns it least.
    way = (ring[1] - ring[0]) / abs(ring[1] - ring[0])
    quarter = min(range(4), key=lambda k: abs(1j**k - way))
    middle = sum(flat) / 4
    flat = [(z - middle) * 1j**quarter for z in flat]
    return four_point_map(ring, flat)


def four_point_map(start: Sequence[complex], end: Sequence[complex]) -> PlaneMap:
    """Return the map that takes four points, no three of them in line, to four others."""
    centre = sum(start) / 4
    matrix = _homography([z - centre for z in start], end)
    back = np.array([[1, 0, -centre.real], [0, 1, -centre.imag], [0, 0, 1]])
    return PlaneMap(matrix @ back)


def _homography(start: Sequence[complex], end: Sequence[complex]) -> NDArray[np.float64]:
    """Return the matrix that sends four points to four others (Hartley and Zisserman, 4.1)."""
    rows, wanted = [], []
    for z, w in zip(start, end, strict=True):
        x, y, u, v = z.real, z.imag, w.real, w.imag
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        wanted += [u, v]
    found = np.linalg.solve(np.array(rows), np.array(wanted))
    return np.append(found, 1.0).reshape(3, 3)
