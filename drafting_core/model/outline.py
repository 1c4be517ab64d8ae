"""The drafter's outline: a closed ring of segments, cleaned and run through one way round."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from drafting_core.model.seam_names import Seam, SeamLabel
from drafting_core.plane.crossings import crosses_itself
from drafting_core.plane.curves import Line, Segment, box_about
from drafting_core.text.errors import OutlineError
from drafting_core.text.lengths import most_in_words, place_in_words, told_length
from drafting_core.text.words import _

#: No segment shorter than this is written, so none is kept (mm).
SHORTEST_SEGMENT = 0.01

#: Ends of separate paths this near to each other are joined (mm).
JOINING_GAP = 0.5


class OutlineEdge(NamedTuple):
    """A segment of the outline as drawn.

    Attributes:
        segment: the line or cubic, in mm.
        label: the seam that the drafter's path label names, if it names one.
        leg: whether the drafter's path label says that it is a leg of a dart.
    """

    segment: Segment
    label: SeamLabel | None = None
    leg: bool = False


class Edge(NamedTuple):
    """A segment of the stitch line and the seam that it belongs to.

    Attributes:
        segment: the segment, in mm.
        seam: the seam.
    """

    segment: Segment
    seam: Seam


class Nearest(NamedTuple):
    """The point of a chain of segments that lies nearest to some point.

    Attributes:
        segment: the number of the segment that it lies on.
        t: the parameter on that segment, from 0 to 1.
        point: the point, in mm.
        distance: how far it is from the other point, in mm.
    """

    segment: int
    t: float
    point: complex
    distance: float


class RingPlace(NamedTuple):
    """A place on a closed ring of segments.

    Attributes:
        segment: the number of the segment that it lies on.
        t: the parameter on that segment, from 0 to 1.
        point: where that is, in mm.
    """

    segment: int
    t: float
    point: complex


def signed_area(segments: Iterable[Segment]) -> float:
    """Return the area in mm² of a closed ring, positive where the interior is at 1j·tangent."""
    return sum(segment.area() for segment in segments)


def nearest_on(segments: Sequence[Segment], to: complex) -> Nearest:
    """Return where a chain of segments comes nearest to a point.

    Raises:
        ValueError: if the chain is empty.
    """
    best: Nearest | None = None
    for index, segment in enumerate(segments):
        box = segment.box()
        away = math.hypot(
            max(box.left - to.real, 0.0, to.real - box.right),
            max(box.top - to.imag, 0.0, to.imag - box.bottom),
        )
        if best is not None and away >= best.distance:
            continue
        t = segment.nearest(to)
        point = segment.point(t)
        distance = abs(point - to)
        if best is None or distance < best.distance:
            best = Nearest(index, t, point, distance)
    if best is None:
        raise ValueError("a chain without segments has no nearest point")
    return best


def flattened(segments: Iterable[Segment], pieces: int = 16) -> list[complex]:
    """Return a polyline along a chain, each curve in ``pieces`` chords, the last end left out."""
    return [point for segment in segments for point in segment.flattened(pieces)]


def extent(segments: Iterable[Segment]) -> tuple[float, float]:
    """Return the exact width and height in mm of a chain."""
    box = box_about(point for segment in segments for point in segment.extreme_points())
    return box.right - box.left, box.bottom - box.top


def encloses(polygon: Sequence[complex], point: complex) -> bool:
    """Tell whether a point lies inside a polygon (even-odd rule)."""
    inside = False
    previous = polygon[-1]
    x, y = point.real, point.imag
    for corner in polygon:
        if (corner.imag > y) != (previous.imag > y):
            along = (y - corner.imag) / (previous.imag - corner.imag)
            if x < corner.real + along * (previous.real - corner.real):
                inside = not inside
        previous = corner
    return inside


def ring_part(ring: Sequence[Segment], start: RingPlace, end: RingPlace) -> list[Segment]:
    """Return the part of a closed ring from one place forward to another."""
    if start.segment == end.segment and start.t <= end.t:
        return [ring[start.segment].part(start.t, end.t)]
    pieces: list[Segment] = [ring[start.segment].part(start.t, 1.0)]
    index = (start.segment + 1) % len(ring)
    while index != end.segment:
        pieces.append(ring[index])
        index = (index + 1) % len(ring)
    pieces.append(ring[end.segment].part(0.0, end.t))
    kept = [piece for piece in pieces if piece.length() >= SHORTEST_SEGMENT]
    # What is left out is shorter than a hundredth of a millimetre; the ends are exact again.
    kept[0] = _starting_at(kept[0], start.point)
    kept[-1] = _starting_at(kept[-1].reversed(), end.point).reversed()
    return kept


def _starting_at(segment: Segment, start: complex) -> Segment:
    return segment._replace(start=start)


def with_ends(segment: Segment, start: complex, end: complex) -> Segment:
    """Return the segment with its ends moved, each handle with its own end."""
    if isinstance(segment, Line):
        return Line(start, end)
    return segment._replace(
        start=start,
        control1=segment.control1 + (start - segment.start),
        control2=segment.control2 + (end - segment.end),
        end=end,
    )


def joined(edges: Sequence[OutlineEdge]) -> list[OutlineEdge]:
    """Return a closed ring of the same edges without gaps and without tiny segments.

    Ends that nearly meet are brought together; segments shorter than `SHORTEST_SEGMENT` are
    taken out and the next one starts where they started.

    Raises:
        OutlineError: if it is empty or has a gap wider than `JOINING_GAP`.
    """
    kept = [edge for edge in edges if edge.segment.length() >= SHORTEST_SEGMENT]
    if len(kept) < 2:
        raise OutlineError(
            _("the outline has no shape: fewer than two lines or curves of any length."),
            remedy=_("Draw the block's stitch line as a closed path."),
        )
    ring: list[OutlineEdge] = []
    for index, edge in enumerate(kept):
        start = kept[index - 1].segment.end
        gap = abs(start - edge.segment.start)
        if gap > JOINING_GAP:
            raise open_outline(start, edge.segment.start)
        if gap:
            edge = edge._replace(segment=with_ends(edge.segment, start, edge.segment.end))
        ring.append(edge)
    return ring


def open_outline(end: complex, start: complex) -> OutlineError:
    """Return the error that names a gap in the outline, its size and its place."""
    return OutlineError(
        _("the outline is open: a gap of {gap} between {place} and {other}.").format(
            gap=told_length(abs(start - end), 2),
            place=place_in_words(end),
            other=place_in_words(start),
        ),
        remedy=_("Join the two ends (gaps up to {gap} are joined by themselves).").format(
            gap=most_in_words(JOINING_GAP)
        ),
        place=(start + end) / 2,
    )


def checked(edges: Sequence[OutlineEdge]) -> list[OutlineEdge]:
    """Return the ring, joined and with its interior at 1j·tangent.

    Raises:
        OutlineError: if a coordinate is no finite number, or the ring is empty, open, without
            area or crosses itself.
    """
    for edge in edges:
        if not all(cmath.isfinite(z) for z in edge.segment):
            raise OutlineError(
                _("the outline has a coordinate that is not a finite number."),
                remedy=_("Redraw that node, or undo the last change of its size."),
            )
    ring = joined(edges)
    place = crosses_itself([edge.segment for edge in ring])
    if place is not None:
        raise OutlineError(
            _("the outline crosses itself at {place}.").format(place=place_in_words(place)),
            remedy=_("Undo the crossing with the node tool."),
            place=place,
        )
    area = signed_area(edge.segment for edge in ring)
    if abs(area) < 1.0:
        raise OutlineError(
            _("the outline encloses no area."),
            remedy=_("Draw the block's stitch line as a closed path."),
        )
    if area < 0:
        ring = [edge._replace(segment=edge.segment.reversed()) for edge in reversed(ring)]
    return ring
