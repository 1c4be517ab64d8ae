"""The sectors of a block and how each of them was moved: what is drawn on a sector goes with it."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.model.outline import encloses, flattened
from drafting_core.model.piece import Piece
from drafting_core.move.moving import Moved
from drafting_core.plane.curves import PointMap, Segment, box_about, cross, unit
from drafting_core.plane.motions import STILL, Motion

#: Two points so far apart (mm) tell a turn to the last bits.
_FAR = 1024.0
#: Parts that overlap by less than this (mm) only touch.
_TOUCHES = 0.01


class Sector(NamedTuple):
    """A part of a piece that turns as one.

    Attributes:
        outline: its closed outline in mm, before it turned.
        motion: how it turned.
    """

    outline: tuple[Segment, ...]
    motion: Motion


def moved_sectors(before: Piece, steps: Sequence[Moved], shift: complex) -> list[list[Sector]]:
    """Return the sectors of a block, each with all that happened to it.

    Args:
        before: the block before anything turned, each dart with its own point.
        steps: the moves, one about each apex.
        shift: by how much the whole had been shifted before the first of them, in mm.

    Returns:
        For each part that turns as one its sectors, move by move: it lies in the first of them in
        the block as it was drawn, after that one's motion in the second, and so on.
    """
    back = Motion(1 + 0j, -shift)
    there = Motion(1 + 0j, shift)
    if not steps:
        ring = tuple(before.ring(lambda opening: opening.point))
        return [[Sector(_moved(ring, back), there)]]
    chains: list[list[Sector]] = [[]]
    for number, step in enumerate(steps):
        sectors = [
            Sector(tuple(step.cut.sector_ring(runs, step.apex)), motion_of(step.maps[runs[0]]))
            for runs in step.cut.sectors(step.fan)
        ]
        if number == 0:
            sectors = [
                Sector(_moved(sector.outline, back), sector.motion.after(there))
                for sector in sectors
            ]
        chains = [
            [*chain, sector] for chain in chains for sector in sectors if _meets(chain, sector)
        ]
    return chains


def motion_of(to: PointMap) -> Motion:
    """Return a rigid map as a turn and a shift."""
    spin = (to(_FAR + 0j) - to(-_FAR + 0j)) / (2 * _FAR)
    return Motion(spin, to(0j)) if spin != 1.0 or to(0j) != 0j else STILL


def _moved(ring: Sequence[Segment], motion: Motion) -> tuple[Segment, ...]:
    if motion.shift == 0j and motion.spin == 1.0:
        return tuple(ring)
    return tuple(segment.mapped(motion) for segment in ring)


def _meets(chain: Sequence[Sector], following: Sector) -> bool:
    """Tell whether what is left of a part after its moves may lie on a sector of the next one."""
    polygons: list[list[complex]] = []
    for sector in chain:
        polygons.append(flattened(sector.outline))
        polygons = [[sector.motion(z) for z in polygon] for polygon in polygons]
    other = flattened(following.outline)
    return all(_overlap(polygon, other) for polygon in polygons)


def _overlap(one: Sequence[complex], other: Sequence[complex]) -> bool:
    """Tell whether two polygons overlap, none of which may run clockwise; in doubt they do."""
    if not box_about(one).meets(box_about(other)):
        return False
    if any(encloses(other, z) for z in _just_inside(one)):
        return True
    if any(encloses(one, z) for z in _just_inside(other)):
        return True
    return any(
        _cross(a, b, c, d)
        for a, b in itertools.pairwise([*one, one[0]])
        for c, d in itertools.pairwise([*other, other[0]])
    )


def _just_inside(polygon: Sequence[complex]) -> list[complex]:
    return [
        (a + b) / 2 + _TOUCHES * 1j * unit(b - a)
        for a, b in itertools.pairwise([*polygon, polygon[0]])
        if a != b
    ]


def _cross(a: complex, b: complex, c: complex, d: complex) -> bool:
    """Tell whether two chords cross, each reaching beyond the other by more than a touch."""
    if a == b or c == d:
        return False
    along, other = unit(b - a), unit(d - c)
    one, two = cross(along, c - a), cross(along, d - a)
    three, four = cross(other, a - c), cross(other, b - c)
    return (
        min(one, two) < -_TOUCHES
        and max(one, two) > _TOUCHES
        and min(three, four) < -_TOUCHES
        and max(three, four) > _TOUCHES
    )
