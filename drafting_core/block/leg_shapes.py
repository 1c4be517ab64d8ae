"""The shape of a dart's legs: how far they bow, and whether curved ones are alike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drafting_core.model.outline import nearest_on
from drafting_core.model.piece import Sides, aimed
from drafting_core.plane.curves import Box, Segment, box_about

#: A leg that bows by up to this from its chord is made straight (mm).
MOST_BOW = 3.0
#: Legs that bow by less count as drawn straight (mm): rounding, not drafting.
HARDLY_BOWED = 0.05
#: Curved legs are alike within this (mm).
ALIKE = 1.0
#: One leg is the other turned about the dart point: they close by turning.
TURNED = "turned"
#: One leg is the other's mirror image in the middle line: they fold on it, but do not turn.
MIRRORED = "mirrored"
#: Places in which a leg is looked over for its distance from another, at least.
_SAMPLES = 24


def bow(leg: Sequence[Segment]) -> float:
    """Return how far a leg strays from its chord, in mm.

    Raises:
        ZeroDivisionError: if it ends where it starts.
    """
    box = _box(leg)
    return max(-box.top, box.bottom)


def runs_on(leg: Sequence[Segment]) -> bool:
    """Tell whether a leg that may bow leads from one of its ends to the other and not past them."""
    box = _box(leg)
    length = abs(leg[-1].end - leg[0].start)
    return box.left >= -MOST_BOW and box.right <= length + MOST_BOW


def likeness(legs: Sides) -> tuple[str, float]:
    """Return how two curved legs are alike, `TURNED` or `MIRRORED`, and by how many mm they differ.

    It is the kind of the two that fits better: beyond `ALIKE` they are neither.

    Args:
        legs: both legs from their mouth ends to the point.
    """
    there, back = legs
    start, point = there[0].start, there[-1].end
    turned = _difference(there, aimed(back, start, point))
    flipped = tuple(segment.mapped(lambda z: z.conjugate()) for segment in back)
    mirrored = _difference(there, aimed(flipped, start, point))
    return (TURNED, turned) if turned <= mirrored else (MIRRORED, mirrored)


def turned_alike(legs: Sides) -> Sides:
    """Return legs of which the second is exactly the first, turned: they close by turning."""
    there, back = legs
    return there, aimed(there, back[0].start, back[-1].end)


def _box(leg: Sequence[Segment]) -> Box:
    """Return the exact rectangle about a leg that is laid along the x axis from 0."""
    start = leg[0].start
    chord = leg[-1].end - start
    along = chord / abs(chord)
    laid = (segment.mapped(lambda z: (z - start) * along.conjugate()) for segment in leg)
    return box_about(z for segment in laid for z in segment.extreme_points())


def _points(leg: Sequence[Segment]) -> Iterator[complex]:
    pieces = max(2, _SAMPLES // len(leg))
    for segment in leg:
        yield from (segment.point(k / pieces) for k in range(pieces + 1))


def _difference(one: Sequence[Segment], other: Sequence[Segment]) -> float:
    """Return the largest distance of any point of either leg from the other, in mm."""
    return max(
        nearest_on(chain, z).distance
        for leg, chain in ((one, other), (other, one))
        for z in _points(leg)
    )
