"""Which of the faces that lines enclose are a block, its darts, a drawn allowance, another size.

The largest face is the block's own, with those that inner lines cut off from it. What two straight
lines of one length take out of it, from its edge to a point, is a dart, whatever is drawn in it.
Narrow faces most of the way round are what lies between nested outlines: a stitch line and a cut
line, or sizes.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Iterable
from typing import NamedTuple

import numpy as np

from drafting_core.ink.pen_line import length_round
from drafting_core.ink.plane_faces import Component, HalfLine, PlaneFaces
from drafting_core.ink.polylines import Points, area_of, diagonal, fit_line, resampled
from drafting_core.sheet.sheet_errors import crossing_blocks

#: No allowance, and no step from size to size, is wider than this (mm).
WIDEST_BAND = 50.0
#: Nested outlines have bands between them along this part of the outer one at least, …
_BANDS_ROUND = 0.22
#: … and the line between goes round a corner, of more than this (radians) between chords of so many
#: mm: a balance line that cuts off a narrow part does not.
_CORNER, _CHORD = math.radians(28.0), 6
#: Lines that lie in the largest face draw an outline in it if theirs has this part of its area.
_NESTED = 0.36
#: A face is cut off a block by an inner line if its mean width is this part of the block's own, …
_LARGE_PART = 0.3
#: … or more than this (mm).
_LARGE = 45.0
#: A dart is at least so deep (mm); its shorter leg is at least this part of the other; its legs
#: stray from lines by at most this part of their length, and meet at less than this (radians).
_LEAST_DEPTH = 12.0
_LEGS_ALIKE = 0.7
_LEG_STRAYS = 0.045
_WIDEST_DART = math.radians(82.0)
#: A face of a letter is no wider on the average than this (mm).
_LETTER = 4.0
#: With a letter's faces an outline turns by so much more (radians), told in such steps (mm) over so
#: many mm beside them; there are no more of them.
_STRAIGHTER, _TURN_STEP, _BESIDE, _FEW_FACES = math.radians(75.0), 1.5, 6.0, 5
#: Among no more faces than this a dart is looked for that a line across the block runs through.
_FEW_CUT = 9
#: What shares this part of its boundary with a block is part of it, if it is no dart.
_SHARED = 0.6
#: Of sizes, the next band lies at the outside along this part of the outline at least.
_NEXT_BAND = 0.5


class NestedOutline(NamedTuple):
    """An outline among nested ones.

    Attributes:
        points: closed, the first not repeated; shape (n,).
        halves: the half-lines that it is made of.
        faces: all faces within it that are the block's.
        component: the number of the connected lines that it is made of.
    """

    points: Points
    halves: tuple[HalfLine, ...]
    faces: frozenset[int]
    component: int


def nested_outlines(plane: PlaneFaces, number: int) -> list[NestedOutline]:
    """Return the nested outlines that connected lines draw, from the inside out.

    One where nothing is nested.

    Args:
        plane: the faces.
        number: of the component, one with at least a face.

    Raises:
        OutlineError: if another block touches the one that they draw.
    """
    component = plane.components[number]
    core = max(component.faces, key=lambda face: plane.faces[face].area)
    own = _own_outlines(plane, component, core, number)
    ring = _ring_within(plane, core)
    if ring is None:
        return own
    within = nested_outlines(plane, ring)
    # Between the inner ring and this one's largest face lies a band: the face is no block.
    return within + own


def _ring_within(plane: PlaneFaces, core: int) -> int | None:
    """Return the component that is nearly as large as the face in which it lies, or None."""
    options = [
        number
        for number, component in enumerate(plane.components)
        if component.within == core
        and component.faces
        and component.area >= _NESTED * plane.faces[core].area
    ]
    return options[0] if len(options) == 1 else None


def _own_outlines(
    plane: PlaneFaces, component: Component, core: int, number: int
) -> list[NestedOutline]:
    outside = dict.fromkeys(component.faces, 0.0)
    for face in component.faces:
        outside[face] = sum(length for other, length in plane.neighbours(face) if other < 0)
    whole = sum(outside.values())
    bands = {
        face
        for face in component.faces
        if face != core and outside[face] > 0 and plane.faces[face].width <= WIDEST_BAND
        and not is_dart(plane, {face}, set(component.faces) - {face})
    }  # fmt: skip
    part = sum(outside[face] for face in bands) / whole if whole else 0.0
    if part >= _BANDS_ROUND and _goes_round_a_corner(plane, core, bands):
        layers = _layers(plane, component, core, outside)
    else:
        layers = [_body(plane, component, core, outside, is_banded=False)]
    return [_outline(plane, faces, number) for faces in layers]


def _goes_round_a_corner(plane: PlaneFaces, core: int, bands: Collection[int]) -> bool:
    """Tell whether the line between the largest face and bands goes round a corner."""
    cycle, _points = plane.boundary({core})[0]
    shared = [plane.left_of(half.back) in bands for half in cycle]
    if all(shared):
        return True
    chains: list[list[Points]] = []
    start = shared.index(False)
    for half, is_shared in zip(
        cycle[start:] + cycle[:start], shared[start:] + shared[:start], strict=True
    ):
        if not is_shared:
            chains.append([])
        elif chains:
            chains[-1].append(plane.points_of(half))
    for chain in filter(None, chains):
        points = resampled(np.concatenate(chain), 1.0, closed=False)
        if len(points) > 4 * _CHORD:
            ways = points[_CHORD:] - points[:-_CHORD]
            turned = np.abs(np.angle(ways[_CHORD + 2 :] / ways[: -_CHORD - 2]))
            if turned.max() > _CORNER:
                return True
    return False


def _layers(
    plane: PlaneFaces, component: Component, core: int, outside: dict[int, float]
) -> list[set[int]]:
    """Return the faces within each of several nested outlines, from the inside out."""
    body = _body(plane, component, core, outside, is_banded=True)
    steps = dict.fromkeys(body, 0)
    left = list(body)
    while left:
        face = left.pop(0)
        for other, _length in plane.neighbours(face):
            if other >= 0 and other not in steps:
                steps[other] = steps[face] + 1
                left.append(other)
    # Where sizes share a line, no band lies at the outside.
    whole = sum(length for face, length in outside.items() if face not in body)
    count = 1
    while (
        sum(outside[face] for face in component.faces if steps.get(face, 0) > count)
        >= _NEXT_BAND * whole
    ):
        count += 1
    layers = [
        {face for face in component.faces if steps.get(face, 0) <= step} for step in range(count)
    ]
    return [*layers, set(component.faces)]


def _body(
    plane: PlaneFaces,
    component: Component,
    core: int,
    outside: dict[int, float],
    *,
    is_banded: bool,
) -> set[int]:
    """Return the faces of a block: the largest, and what inner lines cut off from it.

    Raises:
        OutlineError: if another block touches it.
    """
    everything = set(component.faces)
    body = {core}
    wide = max(_LARGE_PART * plane.faces[core].width, 12.0)
    large_ones = []
    for face in component.faces:
        if face == core or (is_banded and outside[face] > 0 and not _is_large(plane, face, core)):
            continue
        if plane.faces[face].width >= min(wide, _LARGE):
            large_ones.append(face)
    body |= {face for face in large_ones if not _lies_in_dart(plane, face, large_ones, everything)}
    large, body = body, _connected_to(plane, core, body)
    if not is_banded and large - body:
        raise crossing_blocks(complex(plane.faces[min(large - body)].points[0]))
    darts, groups = _darts_apart(plane, _groups(plane, everything - body), everything)
    for group in groups:
        if is_dart(plane, group, body):
            darts.append(group)
            continue
        if is_banded:
            at_edge = any(outside[face] > 0 for face in group)
            if at_edge or _shared_part(plane, group, body) < _SHARED:
                continue
        body |= _straightest(plane, group, body)
    for dart in darts:
        body |= _written_across(plane, dart, body)
    return _connected_to(plane, core, body)


def _darts_apart(
    plane: PlaneFaces, groups: Iterable[set[int]], everything: set[int]
) -> tuple[list[set[int]], list[set[int]]]:
    """Return the darts that lines across a block run through, and the other groups of faces.

    Such a line cuts narrow parts off beside the dart, which hang together with it.
    """
    found, others = [], []
    for group in groups:
        rest = set(group)
        darts: list[set[int]] = []
        if 2 < len(group) <= _FEW_CUT and not is_dart(plane, group, everything - group):
            darts = [
                set(some)
                for count in range(1, len(group))
                for some in itertools.combinations(sorted(group), count)
                if _connected_to(plane, some[0], some) == set(some)
                and is_dart(plane, some, everything - set(some))
            ]
        for dart in sorted(darts, key=lambda one: sum(plane.faces[k].area for k in one)):
            if dart <= rest:
                found.append(dart)
                rest -= dart
        others += _groups(plane, rest)
    return found, others


def _lies_in_dart(
    plane: PlaneFaces, face: int, large: Collection[int], everything: set[int]
) -> bool:
    """Tell whether a large face is of a wide dart, whose mouth or hatching cuts it off.

    What two lines cut off at a block's corner looks like a dart, too: it is none beside one.
    """
    small = everything - {*large} - {max(everything, key=lambda one: plane.faces[one].area)}
    across = _connected_to(plane, face, small | {face})
    if not any(is_dart(plane, group, everything - group) for group in ({face}, across)):
        return False
    beside = {other for other, _length in plane.neighbours(face)} & small
    return not any(
        group & beside and is_dart(plane, group, everything - group)
        for group in _groups(plane, small)
    )


def _is_large(plane: PlaneFaces, face: int, core: int) -> bool:
    return plane.faces[face].width >= max(_LARGE, _LARGE_PART * plane.faces[core].width)


def _connected_to(plane: PlaneFaces, core: int, faces: Collection[int]) -> set[int]:
    found, left = {core}, [core]
    while left:
        for other, _length in plane.neighbours(left.pop()):
            if other in faces and other not in found:
                found.add(other)
                left.append(other)
    return found


def _groups(plane: PlaneFaces, faces: Iterable[int]) -> list[set[int]]:
    """Return faces in groups that hang together by lines."""
    rest = set(faces)
    groups = []
    while rest:
        group = _connected_to(plane, min(rest), rest)
        groups.append(group)
        rest -= group
    return groups


def _shared_part(plane: PlaneFaces, group: Collection[int], body: Collection[int]) -> float:
    cycle, points = plane.boundary(group)[0]
    shared = sum(
        plane.graph.lines[half.line].length for half in cycle if plane.left_of(half.back) in body
    )
    return shared / length_round(points)


def _straightest(plane: PlaneFaces, group: set[int], body: set[int]) -> set[int]:
    """Return what of faces at a block's edge is its own: all, but for parts of letters on it.

    A letter written across a line hangs on the block from outside, or cuts into it: of small faces
    those are the block's with which its outline turns least.
    """
    if len(group) > _FEW_FACES or any(plane.faces[face].width > _LETTER for face in group):
        return group
    points = np.concatenate([plane.faces[face].points for face in group])
    middle = complex(points.mean())
    reach = float(np.abs(points - middle).max()) + _BESIDE

    def turning(taken: set[int]) -> float:
        outline = resampled(plane.boundary(body | taken)[0][1], _TURN_STEP, closed=True)
        ways = np.roll(outline, -1) - outline
        turns = np.abs(np.angle(ways / np.roll(ways, 1)))
        return float(turns[np.abs(outline - middle) <= reach].sum())

    options = [
        set(some)
        for count in range(len(group))
        for some in itertools.combinations(sorted(group), count)
        if _connected_to(plane, min(body), body | set(some)) == body | set(some)
    ]
    if not options:
        return group
    best = min(options, key=turning)
    return best if turning(best) < turning(group) - _STRAIGHTER else group


def is_dart(plane: PlaneFaces, group: Collection[int], body: Collection[int]) -> bool:
    """Tell whether faces are what a dart takes out of a block.

    Args:
        plane: all faces.
        group: the faces.
        body: those of the block about it.
    """
    return _dart_strays(plane, group, body) is not None


def _dart_strays(plane: PlaneFaces, group: Collection[int], body: Collection[int]) -> float | None:
    """Return how far the legs of a dart stray from lines, as part of them, or None for no dart."""
    cycle, points = plane.boundary(group)[0]
    shared = [plane.left_of(half.back) in body for half in cycle]
    if not any(shared) or all(shared):
        return None
    turns = math.copysign(1.0, area_of(points))
    first = next(k for k in range(len(cycle)) if shared[k] and not shared[k - 1])
    turned, flags = cycle[first:] + cycle[:first], shared[first:] + shared[:first]
    runs: list[list[HalfLine]] = []
    for k, (half, is_shared) in enumerate(zip(turned, flags, strict=True)):
        if is_shared and (k == 0 or not flags[k - 1]):
            runs.append([])
        if is_shared:
            runs[-1].append(half)
    chains = [np.concatenate([plane.points_of(half) for half in run]) for run in runs]
    # A dart lies between its legs; what lies about them is the block.
    return min(filter(None, (_chain_strays(chain, turns) for chain in chains)), default=None)


def _written_across(plane: PlaneFaces, group: Collection[int], body: Collection[int]) -> set[int]:
    """Return what of a dart's faces is the block's: parts of letters that lie across its legs."""
    taken: set[int] = set()
    strays = _dart_strays(plane, group, body)
    for face in sorted(group, key=lambda number: plane.faces[number].area):
        if plane.faces[face].width > _LETTER or strays is None:
            break
        rest, more = set(group) - taken - {face}, set(body) | taken | {face}
        if not rest or all(other not in more for other, _length in plane.neighbours(face)):
            continue
        straighter = _dart_strays(plane, rest, more)
        if straighter is not None and straighter < strays:
            taken.add(face)
            strays = straighter
    return taken


def is_dart_chain(chain: Points) -> bool:
    """Tell whether an open line goes down one leg of a dart and up the other.

    Args:
        chain: shape (n,), in mm.
    """
    return _chain_strays(chain) is not None


def _chain_strays(chain: Points, turns: float = 0.0) -> float | None:
    """Return how far the legs of a dart stray from lines, as part of them, or None for no dart.

    Args:
        chain: shape (n,), in mm.
        turns: to which side it turns at the dart's point, 1 or -1 as areas are signed; 0 for any.
    """
    chord = complex(chain[-1] - chain[0])
    if abs(chord) < 1.0 or len(chain) < 12:
        return None
    depths = np.abs(((chain - chain[0]) * np.conj(chord)).imag) / abs(chord)
    tip = int(np.argmax(depths))
    legs = (chain[: tip + 1], chain[tip:])
    lengths = sorted(abs(complex(leg[-1] - leg[0])) for leg in legs)
    if turns * (chord.conjugate() * complex(chain[tip] - chain[0])).imag > 0.0:
        return None
    if depths[tip] < _LEAST_DEPTH or lengths[0] < _LEGS_ALIKE * lengths[1]:
        return None
    if abs(chord) > 2.0 * math.sin(_WIDEST_DART / 2) * lengths[1]:
        return None
    if any(len(leg) <= 5 for leg in legs):
        return None
    strays = max(_strays(leg) for leg in legs)
    return strays if strays <= _LEG_STRAYS else None


def _strays(leg: Points) -> float:
    """Return how far a leg strays from a line, as part of its length, its ends left out."""
    margin = max(1, round(0.04 * len(leg)))
    inner = leg[margin:-margin]
    line = fit_line(inner)
    along = line.end - line.start
    away = np.abs(((inner - line.start) * np.conj(along)).imag) / abs(along)
    return float(away.max()) / abs(complex(leg[-1] - leg[0]))


def _outline(plane: PlaneFaces, faces: set[int], number: int) -> NestedOutline:
    cycle, points = plane.boundary(faces)[0]
    return NestedOutline(points, tuple(cycle), frozenset(faces), number)


def top_components(plane: PlaneFaces, least: float) -> list[int]:
    """Return the components that lie in no other one's faces and are large enough.

    Args:
        plane: the faces.
        least: the diagonal in mm that they have at least.
    """
    return [
        number
        for number, component in enumerate(plane.components)
        if component.faces and component.within < 0 and diagonal(component.outline) >= least
    ]
