"""Whether a ring can be the cut line of a stitch line: the check before it is given away."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from drafting_core.crossings import crosses_itself
from drafting_core.curves import Segment

_Points = NDArray[np.complex128]
_Reals = NDArray[np.float64]


def cut_line_fault(
    ring: Sequence[Segment], stitch: Sequence[Segment], least_width: float
) -> complex | None:
    """Return a place where a ring is no cut line of a stitch line, or None.

    It has to be closed, must not cross itself, has to enclose the stitch line, and nowhere may
    it come nearer to it than a least width in mm; 0 allows any.
    """
    if len(ring) < 2:
        return stitch[0].start
    for segment, following in zip(ring, (*ring[1:], ring[0]), strict=True):
        if not abs(segment.end - following.start) < 1e-6:
            return stitch[0].start
    crossing = crosses_itself(ring)
    if crossing is not None:
        return crossing
    if sum(s.area() for s in ring) < sum(s.area() for s in stitch) * (1.0 - 1e-9):
        return stitch[0].start
    # First coarsely, for speed; what fails then is measured finely.
    probes = _thinned(_polyline(stitch, 6))
    nodes = _thinned(_polyline(ring, 2))
    inside = nodes
    for pieces, slack in ((12, 0.0), (300, 0.02)):
        outer, inner = _polyline(ring, pieces), _polyline(stitch, pieces)
        probes = _beyond(probes[_windings(probes, outer) != 1], outer, slack)
        inside = _beyond(inside[_windings(inside, inner) != 0], inner, slack)
        if least_width > 0.0 and len(nodes):
            nodes = nodes[_distances(nodes, inner) < least_width - slack]
        else:
            nodes = nodes[:0]
        faults = np.concatenate((probes, inside, nodes))
        if not len(faults):
            return None
    return complex(faults[0])


def _beyond(points: _Points, ring: _Points, slack: float) -> _Points:
    """Return the points further from a closed polyline than a slack in mm."""
    return points[_distances(points, ring) > slack] if len(points) else points


def _thinned(points: _Points) -> _Points:
    """Return at most some hundred of the points: each is measured against a whole ring."""
    return points[:: 1 + len(points) // 400]


def _polyline(segments: Sequence[Segment], pieces: int) -> _Points:
    points = [z for segment in segments for z in segment.flattened(pieces)]
    return np.array(points, dtype=np.complex128)


def _windings(points: _Points, ring: _Points) -> NDArray[np.int64]:
    """Return how often a closed polyline winds round each point."""
    ends = np.roll(ring, -1)
    level = points.imag[:, None]
    up = (ring.imag[None, :] <= level) & (ends.imag[None, :] > level)
    down = (ring.imag[None, :] > level) & (ends.imag[None, :] <= level)
    side = ((ends - ring).conj()[None, :] * (points[:, None] - ring[None, :])).imag
    wound: NDArray[np.int64] = (up & (side > 0)).sum(axis=1) - (down & (side < 0)).sum(axis=1)
    return wound


def _distances(points: _Points, ring: _Points) -> _Reals:
    """Return the distance in mm of each point from a closed polyline."""
    along = np.roll(ring, -1) - ring
    square = np.maximum((along * along.conj()).real, 1e-300)
    away = points[:, None] - ring[None, :]
    at = np.clip((away * along.conj()[None, :]).real / square, 0.0, 1.0)
    nearest: _Reals = np.abs(away - at * along[None, :]).min(axis=1)
    return nearest
