"""A seam's shape with the darts on it closed, by which it may be known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.model.outline import flattened
from drafting_core.model.piece import Piece
from drafting_core.model.stretches import Stretch
from drafting_core.plane.curves import (
    PointMap,
    Segment,
    chained,
    cross,
    dot,
    pairs_around,
    rotation_about,
    turn,
    unmoved,
)


class SeamShape(NamedTuple):
    """A seam as it lies with the darts on it closed.

    Attributes:
        start: its first point.
        end: its last point.
        leaving: the tangent at its start, as drawn.
        arriving: the tangent at its end, as drawn.
        closed_leaving: the tangent at its start, darts closed.
        closed_arriving: the tangent at its end, darts closed.
        stray: its largest distance from the chord, as a part of the chord.
        hollow: the same toward the inside of the piece only.
        drawn_stray: the same as `stray` as it is drawn, its darts open.
        deepest: where along the chord it strays most, from 0 at the start to 1.
        has_mouth: whether a dart's mouth is on it.
        flanks: how hollow it is from either end to the deepest place, as a part of that way: a
            sleeve's cap is, at both.
        drawn_chord: the length of its chord as it is drawn, its darts open.
        middle: how far its middle lies inside its chord, as a part of it; below 0 outside.
    """

    start: complex
    end: complex
    leaving: complex
    arriving: complex
    closed_leaving: complex
    closed_arriving: complex
    stray: float
    drawn_stray: float
    hollow: float
    deepest: float
    has_mouth: bool
    flanks: tuple[float, float]
    middle: float
    drawn_chord: float

    @property
    def chord(self) -> float:
        """The length of its chord."""
        return abs(self.end - self.start)

    def reversed(self) -> SeamShape:
        """Return the shape run through the other way; inside stays inside."""
        return self._replace(
            start=self.end,
            end=self.start,
            leaving=-self.arriving,
            arriving=-self.leaving,
            deepest=1.0 - self.deepest,
            closed_leaving=-self.closed_arriving,
            closed_arriving=-self.closed_leaving,
            flanks=self.flanks[::-1],
        )


def closed_shape(piece: Piece, stretch: Stretch) -> SeamShape:
    """Return a seam's shape with every dart whose mouth is on it closed."""
    drawn = stretch.segments(piece)
    segments: list[Segment] = []
    mouths = 0

    to: PointMap = unmoved
    last: tuple[int, int] | None = None
    for k, i in stretch.edges:
        if last is not None and (k, i) != (last[0], last[1] + 1) and piece.openings:
            opening = piece.openings[last[0]]
            to = chained(to, rotation_about(opening.apex, -opening.angle))
            mouths += 1
        segments.append(piece.runs[k][i].segment.mapped(to))
        last = (k, i)
    start, end = segments[0].start, segments[-1].end
    chord = end - start
    size = abs(chord) or 1.0
    along = chord / size
    # As fine as that, for the deepest place not to depend on where a seam is divided.
    points = flattened(segments, 32)
    heights = [cross(along, z - start) for z in points]
    number = max(range(len(points)), key=lambda k: abs(heights[k]))
    deepest = points[number]
    middle = min(range(len(points)), key=lambda k: abs(dot(along, points[k] - start) - size / 2))
    return SeamShape(
        start,
        end,
        drawn[0].start_tangent(),
        drawn[-1].end_tangent(),
        segments[0].start_tangent(),
        segments[-1].end_tangent(),
        max(abs(height) for height in heights) / size,
        _stray(drawn),
        max(heights) / size,
        dot(along, deepest - start) / size,
        mouths > 0,
        (_hollow(points[: number + 1]), _hollow(points[number:])),
        heights[middle] / size,
        abs(drawn[-1].end - drawn[0].start),
    )


def _hollow(points: Sequence[complex]) -> float:
    """Return how far points lie inside the chord from the first to the last, as a part of it."""
    chord = points[-1] - points[0]
    size = abs(chord)
    return max(cross(chord / size, z - points[0]) for z in points) / size if size else 0.0


def _stray(segments: Sequence[Segment]) -> float:
    """Return how far a chain strays from its chord, as a part of the chord."""
    start, chord = segments[0].start, segments[-1].end - segments[0].start
    size = abs(chord) or 1.0
    return max(abs(cross(chord / size, z - start)) for z in flattened(segments, 8)) / size


def corner_angles(shapes: Sequence[SeamShape]) -> list[float]:
    """Return the angle inside the piece, in degrees, where each seam meets the next one."""
    turns = [
        math.degrees(turn(shape.arriving, following.leaving))
        for shape, following in pairs_around(shapes)
    ]
    way = 1.0 if sum(turns) > 0 else -1.0
    return [180.0 - way * angle for angle in turns]
