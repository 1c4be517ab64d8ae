"""What a result remembers of itself: its seams and darts by their places in its outline.

Such an outline may have been reshaped by hand since: its seams and darts are not found anew, but
followed to where their nodes are now. Points are mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.block.reshaped import Reshaped
from drafting_core.model.outline import OutlineEdge, nearest_on, signed_area
from drafting_core.model.seam_names import SeamLabel
from drafting_core.plane.curves import Segment, backward

#: A place this near to a node is that node (mm).
AT_NODE = 1e-6


class KnownSeam(NamedTuple):
    """A seam of a result: where it runs, and what is said of it.

    Attributes:
        start: where it starts in the direction of the outline.
        end: where it ends.
        label: its name and what else is said of it.
    """

    start: complex
    end: complex
    label: SeamLabel


class KnownDart(NamedTuple):
    """A dart of a result.

    Attributes:
        mouth: its mouth ends in the direction of the outline.
        point: its point.
        apex: the apex about which it turns, or None where that is its own point.
        was: where its point was when it was drawn, or None where that is the same.
        may_go: whether its point was deleted, so that it may be gone.
    """

    mouth: tuple[complex, complex]
    point: complex
    apex: complex | None = None
    was: complex | None = None
    may_go: bool = False


class Remembered(NamedTuple):
    """What a result remembers.

    Attributes:
        outline: its stitch line as it was drawn, closed.
        seams: its seams in the order of that outline.
        darts: its darts in that order.
    """

    outline: Sequence[Segment]
    seams: Sequence[KnownSeam]
    darts: Sequence[KnownDart]


class FollowedOutline(NamedTuple):
    """A reshaped outline with the places of its seams and darts.

    Attributes:
        ring: the outline, with a node at every such place.
        seams: the seams as they run now, those without any length left out.
        darts: the darts as they lie now.
        lost: the seams that have no length any more.
        unsure: where a seam ends at which there is no corner any more, with the seam's name.
    """

    ring: list[OutlineEdge]
    seams: list[KnownSeam]
    darts: list[KnownDart]
    lost: list[KnownSeam]
    unsure: list[tuple[complex, str]]


def followed(memory: Remembered, ring: Sequence[OutlineEdge]) -> FollowedOutline:
    """Follow a result's seams and darts to where they are on its outline now.

    Args:
        memory: what it remembers, in the place where it lies now.
        ring: its outline as it is, interior at 1j·tangent.
    """
    memory = _the_same_way_round(memory)
    reshaped = Reshaped(memory.outline, [edge.segment for edge in ring])
    seams = [
        KnownSeam(reshaped.place_of(seam.start), reshaped.place_of(seam.end), seam.label)
        for seam in memory.seams
    ]
    darts = [
        KnownDart(
            (reshaped.place_of(dart.mouth[0]), reshaped.place_of(dart.mouth[1])),
            reshaped.place_of(dart.point),
            dart.apex,
            dart.point,
            dart.may_go,
        )
        for dart in memory.darts
    ]
    kept = list(ring)
    places = [z for seam in seams for z in (seam.start, seam.end)]
    places += [z for dart in darts if not dart.may_go for z in (*dart.mouth, dart.point)]
    for z in places:
        kept = _with_node(kept, z)
    is_whole = len(seams) == 1
    left = [seam for seam in seams if is_whole or abs(seam.end - seam.start) > AT_NODE]
    lost = [seam for seam in seams if seam not in left]
    unsure = [
        (now.start, was.label.name)
        for was, now in zip(memory.seams, seams, strict=True)
        if not is_whole and reshaped.is_lost(was.start)
    ]
    return FollowedOutline(kept, left, darts, lost, unsure)


def _the_same_way_round(memory: Remembered) -> Remembered:
    """Return what a result remembers with the interior at 1j·tangent of its outline."""
    if signed_area(memory.outline) >= 0.0:
        return memory
    seams = [KnownSeam(seam.end, seam.start, seam.label) for seam in reversed(memory.seams)]
    darts = [dart._replace(mouth=(dart.mouth[1], dart.mouth[0])) for dart in reversed(memory.darts)]
    return Remembered(list(backward(memory.outline)), seams, darts)


def _with_node(ring: list[OutlineEdge], z: complex) -> list[OutlineEdge]:
    """Return an outline with a node at a place on it."""
    if any(abs(edge.segment.start - z) <= AT_NODE for edge in ring):
        return ring
    place = nearest_on([edge.segment for edge in ring], z)
    edge = ring[place.segment]
    if not 0.0 < place.t < 1.0:
        return ring
    first, second = edge.segment.split(place.t)
    first, second = first._replace(end=z), second._replace(start=z)
    return [
        *ring[: place.segment],
        edge._replace(segment=first),
        edge._replace(segment=second),
        *ring[place.segment + 1 :],
    ]
