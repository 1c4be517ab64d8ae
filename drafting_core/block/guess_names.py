"""Naming the seams of an unmarked block by its shape.

A plain bodice front or back has six seams, a plain skirt four. A name is given only where one
reading of the shape fits and no other does; whatever stays in doubt keeps its number. The
proportions below are common practice for fitted blocks, with wide margins.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from drafting_core.model.outline import Edge, flattened
from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import (
    ARMHOLE,
    CENTRE_BACK,
    CENTRE_FRONT,
    HEM,
    NECKLINE,
    SHOULDER,
    SIDE_SEAM,
    WAIST,
    Seam,
    seam_name,
)
from drafting_core.model.stretches import Stretch, stretches
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

#: A seam is straight when it strays from its chord by less than this part of it.
STRAIGHT = 0.006
#: A neckline or armhole is hollowed by at least this part of its chord.
HOLLOW = 0.06
#: A shoulder that is drawn straight over an open dart peaks by at most this part of its chord
#: when the dart is closed.
PEAKED_SHOULDER = 0.12
#: Any other shoulder, a side seam, and a lower edge with its darts closed stray by at most these.
CURVED_SHOULDER = 0.05
CURVED_SIDE = 0.08
CURVED_EDGE = 0.15
#: Chord by chord a bodice's armhole is longer than its neckline, and its centre longer than its
#: side seam and than its shoulder, by at least these.
ARMHOLE_OVER_NECK = 1.05
CENTRE_OVER_SIDE = 1.08
CENTRE_OVER_SHOULDER = 1.5
#: Its corners inside, in degrees: lower edge and centre are off a right angle by at most the
#: first; centre and neckline, and all others, lie between these.
OFF_SQUARE = 15.0
NECK_ANGLES = (65.0, 125.0)
OTHER_ANGLES = (45.0, 145.0)
#: Depth of the neckline over its width: a front's is at least the first, a back's at most the
#: second; between them the shape does not tell.
FRONT_NECK = 0.75
BACK_NECK = 0.36
#: A neckline takes at most this part of the width that the lower edge has.
WIDEST_NECK = 0.48
#: Without a word from the drafter a front has at least the first, a back at most the second of
#: all its darts' angles together (degrees): a bust takes more shaping than a shoulder blade.
FRONT_SHAPING = 12.0
BACK_SHAPING = 18.0
#: Side seam over armhole, chord by chord: between the first two the lower edge is the waist,
#: from the last on it is a hem; a shorter piece is not read at all.
SHORTEST_SIDE = 0.5
WAIST_LENGTHS = (0.65, 1.3)
HEM_LENGTH = 2.1
#: A skirt's centre is so many times its waist long, and its hem at most so many times as wide.
SKIRT_LENGTHS = (1.35, 5.5)
WIDEST_HEM = 2.0
#: The hip, where a skirt's side seam bulges most, lies in this part of it from the waist.
HIP = 0.5
#: A piece so called is not the plain piece whose shape it may have.
_OTHER_PIECES = frozenset(
    {
        "wrap",
        "gore",
        "godet",
        "sleeve",
        "yoke",
        "pocket",
        "bag",
        "mask",
        "glove",
        "gauntlet",
        "gaiter",
        "hat",
        "hood",
        "helmet",
        "collar",
        "cuff",
        "facing",
        "bustier",
        "corset",
        "side",
    }
)


class _Shape(NamedTuple):
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

    @property
    def chord(self) -> float:
        """The length of its chord."""
        return abs(self.end - self.start)

    def reversed(self) -> _Shape:
        """Return the shape run through the other way; inside stays inside."""
        return self._replace(
            start=self.end,
            end=self.start,
            leaving=-self.arriving,
            arriving=-self.leaving,
            deepest=1.0 - self.deepest,
            closed_leaving=-self.closed_arriving,
            closed_arriving=-self.closed_leaving,
        )


def guess_names(piece: Piece, piece_name: str) -> Piece | None:
    """Return the piece with its seams named, or None where its shape leaves a doubt.

    Args:
        piece: a piece whose seams have numbers only.
        piece_name: what the drafter calls the piece; "front" or "back" in it counts.
    """
    if _OTHER_PIECES & set(re.findall(r"\w+", piece_name.casefold())):
        return None
    found = stretches(piece)
    shapes = [_closed_shape(piece, stretch) for stretch in found]
    if any(shape.chord < 1.0 for shape in shapes):
        return None
    hint = _hint(piece_name)
    shaping = math.degrees(sum(opening.angle for opening in piece.openings))
    readings = []
    if len(found) == 6:
        readings = list(_readings(shapes, found, lambda s: _bodice(s, hint, shaping)))
    elif len(found) == 4:
        readings = list(_readings(shapes, found, lambda s: _skirt(s, hint)))
    if len(readings) != 1:
        return None
    return _renamed(piece, readings[0])


def _hint(piece_name: str) -> str:
    words = piece_name.casefold()
    is_front, is_back = "front" in words, "back" in words
    if is_front == is_back:
        return ""
    return CENTRE_FRONT if is_front else CENTRE_BACK


def _readings(
    shapes: Sequence[_Shape],
    found: Sequence[Stretch],
    read: Callable[[Sequence[_Shape]], list[str] | None],
) -> Iterator[dict[Seam, str]]:
    """Yield the names of every way to read the seams in order, from any of them, both ways."""
    count = len(shapes)
    for reverse in (False, True):
        order = list(range(count - 1, -1, -1)) if reverse else list(range(count))
        for first in range(count):
            indices = order[first:] + order[:first]
            turned = [shapes[i].reversed() if reverse else shapes[i] for i in indices]
            names = read(turned)
            if names is not None:
                yield {found[i].seam: name for i, name in zip(indices, names, strict=True) if name}


def _closed_shape(piece: Piece, stretch: Stretch) -> _Shape:
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
    deepest = max(points, key=lambda z: abs(cross(along, z - start)))
    return _Shape(
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
    )


def _stray(segments: Sequence[Segment]) -> float:
    """Return how far a chain strays from its chord, as a part of the chord."""
    start, chord = segments[0].start, segments[-1].end - segments[0].start
    size = abs(chord) or 1.0
    return max(abs(cross(chord / size, z - start)) for z in flattened(segments, 8)) / size


def _corner_angles(shapes: Sequence[_Shape]) -> list[float]:
    """Return the angle inside the piece, in degrees, where each seam meets the next one."""
    turns = [
        math.degrees(turn(shape.arriving, following.leaving))
        for shape, following in pairs_around(shapes)
    ]
    way = 1.0 if sum(turns) > 0 else -1.0
    return [180.0 - way * angle for angle in turns]


def _bodice(shapes: Sequence[_Shape], hint: str, shaping: float) -> list[str] | None:
    """Read six seams as centre, neckline, shoulder, armhole, side seam and lower edge."""
    if not _is_like_a_bodice(shapes):
        return None
    by_shape = _middle_by_neckline(shapes)
    if by_shape is None or (by_shape and hint and by_shape != hint):
        return None
    if not hint and (
        (by_shape == CENTRE_FRONT and shaping < FRONT_SHAPING)
        or (by_shape == CENTRE_BACK and shaping > BACK_SHAPING)
    ):
        return None
    middle = by_shape or hint
    return [middle, NECKLINE, SHOULDER, ARMHOLE, SIDE_SEAM, _lower_edge(shapes)] if middle else None


def _is_like_a_bodice(shapes: Sequence[_Shape]) -> bool:
    """Tell whether six seams have the lines, the sizes and the corners of a bodice."""
    centre, neck, shoulder, armhole, side, lower = shapes
    angles = _corner_angles(shapes)
    # Many draw the shoulder straight with its dart open: closed, it then has a peak there.
    is_peaked = shoulder.drawn_stray <= STRAIGHT
    lines = (
        centre.stray <= STRAIGHT
        and neck.hollow >= HOLLOW
        and shoulder.stray <= (PEAKED_SHOULDER if is_peaked else CURVED_SHOULDER)
        and armhole.hollow >= HOLLOW
        and side.stray <= CURVED_SIDE
        and lower.stray <= CURVED_EDGE
    )
    sizes = (
        armhole.chord >= ARMHOLE_OVER_NECK * neck.chord
        and centre.chord >= CENTRE_OVER_SIDE * side.chord
        and centre.chord >= CENTRE_OVER_SHOULDER * shoulder.chord
        and side.chord >= max(shoulder.chord, SHORTEST_SIDE * armhole.chord)
    )
    corners = (
        abs(angles[5] - 90.0) <= OFF_SQUARE  # lower edge and centre
        and NECK_ANGLES[0] <= angles[0] <= NECK_ANGLES[1]  # centre and neckline
        and all(OTHER_ANGLES[0] <= angle <= OTHER_ANGLES[1] for angle in angles[1:5])
    )
    return lines and sizes and corners


def _middle_by_neckline(shapes: Sequence[_Shape]) -> str | None:
    """Return which centre a bodice has by its neckline's depth, or "" where that does not tell.

    None where it is no neckline at all: it does not rise, or is too wide.
    """
    centre, neck, lower = shapes[0], shapes[1], shapes[5]
    corner = turn(centre.arriving, neck.leaving)
    up = neck.closed_leaving * complex(math.cos(corner), -math.sin(corner))
    rise = dot(neck.end - neck.start, up)
    across = abs(cross(up, neck.end - neck.start))
    if rise <= 0.0 or not 0.0 < across <= WIDEST_NECK * lower.chord:
        return None
    depth = rise / across
    return CENTRE_FRONT if depth >= FRONT_NECK else CENTRE_BACK if depth <= BACK_NECK else ""


def _lower_edge(shapes: Sequence[_Shape]) -> str:
    """Return what a bodice ends in by the length of its side: waist, hem, or "" in between."""
    length = shapes[4].chord / shapes[3].chord
    if WAIST_LENGTHS[0] <= length <= WAIST_LENGTHS[1]:
        return WAIST
    return HEM if length >= HEM_LENGTH else ""


def _skirt(shapes: Sequence[_Shape], hint: str) -> list[str] | None:
    """Read four seams as centre, waist, side seam and hem."""
    centre, waist, side, hem = shapes
    angles = _corner_angles(shapes)
    fits = (
        waist.has_mouth
        and not (centre.has_mouth or side.has_mouth or hem.has_mouth)
        and centre.stray <= STRAIGHT
        and 2 * STRAIGHT <= side.stray <= 0.12
        and side.stray > side.hollow
        and waist.stray <= 0.15
        and hem.stray <= 0.15
        and side.deepest <= HIP
        and hem.hollow <= 0.03
        and 1.08 * waist.chord <= hem.chord <= WIDEST_HEM * waist.chord
        and SKIRT_LENGTHS[0] * waist.chord <= centre.chord <= SKIRT_LENGTHS[1] * waist.chord
        and abs(angles[0] - 90.0) <= 8.0  # centre and waist
        and abs(angles[3] - 90.0) <= 8.0  # hem and centre
        and all(60.0 <= angle <= 125.0 for angle in angles[1:3])
    )
    return [hint, WAIST, SIDE_SEAM, HEM] if fits else None


def _renamed(piece: Piece, names: dict[Seam, str]) -> Piece:
    """Return the piece with guessed names; the seams left over are numbered anew."""
    seams: dict[Seam, Seam] = {}
    number = 0
    for seam in piece.seams():
        name = names.get(seam, "")
        if not name:
            number += 1
            name = seam_name(number)
        seams[seam] = seam.called(name)
    runs = tuple(tuple(Edge(edge.segment, seams[edge.seam]) for edge in run) for run in piece.runs)
    return Piece(runs, piece.openings)
