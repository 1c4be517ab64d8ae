"""Sectors: together they are the block, and each goes where its seams went."""

from __future__ import annotations

import cmath
from pathlib import Path

import pytest
from shapely.geometry import Point, Polygon
from shapely.ops import unary_union

from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import flattened, nearest_on
from drafting_core.move.sectors import Sector, moved_sectors
from drafting_core.plane.motions import Motion
from extension.document.svg_document import read_document
from extension.drafting.move_and_allow import Request, move
from tests.help.blocks.samples import BLOCKS

#: Blocks that are moved as their marks say.
MARKED = [path for path in BLOCKS if path.stem not in ("front_nest",)]


def drafts(sample: Path) -> list[Draft]:
    return move(read_document(str(sample)).getroot(), Request()).drafts


def as_drawn(chain: list[Sector]) -> Polygon:
    """What of the block as it was drawn goes through all moves of a chain."""
    left = None
    done = Motion(1 + 0j, 0j)
    for sector in chain:
        back = done.undone()
        points = [back(z) for z in flattened(sector.outline, 64)]
        shape = Polygon([(z.real, z.imag) for z in points]).buffer(0)
        left = shape if left is None else left.intersection(shape)
        done = sector.motion.after(done)
    assert left is not None
    return left


def whole(chain: list[Sector]) -> Motion:
    done = Motion(1 + 0j, 0j)
    for sector in chain:
        done = sector.motion.after(done)
    return done


@pytest.mark.parametrize("sample", MARKED, ids=lambda path: path.stem)
def test_the_sectors_are_the_block(sample: Path) -> None:
    parts: list[Polygon] = []
    area = 0.0
    for draft in drafts(sample):
        chains = moved_sectors(draft.before, draft.steps, draft.shifted)
        shapes = [as_drawn(chain) for chain in chains]
        parts += shapes
        one = sum(shape.area for shape in shapes)
        assert one == pytest.approx(draft.before.net_area(), rel=2e-4)
        area += one
    assert unary_union(parts).area == pytest.approx(area, rel=2e-4)


@pytest.mark.parametrize("sample", MARKED, ids=lambda path: path.stem)
def test_every_sector_goes_where_its_seams_went(sample: Path) -> None:
    """A place on a seam, moved with the sector beside it, lies on a seam of the moved piece."""
    checked = 0
    moved = [draft for draft in drafts(sample) if draft.steps]
    for draft in moved:
        after = [edge.segment for edge in draft.steps[-1].turned.edges()]
        for chain in moved_sectors(draft.before, draft.steps, draft.shifted):
            motion, shape = whole(chain), as_drawn(chain)
            assert abs(abs(motion.spin) - 1.0) < 1e-12
            for edge in draft.steps[0].cut.edges():
                at = edge.segment.point(0.37)
                tangent = edge.segment.tangent(0.37)
                inside = at - draft.shifted + 0.2j * tangent / abs(tangent)
                if shape.contains(Point(inside.real, inside.imag)):
                    assert nearest_on(after, motion(at - draft.shifted)).distance < 1e-9
                    checked += 1
    assert checked >= 3 * len(moved)


def test_without_a_move_the_block_is_one_part() -> None:
    [draft] = drafts(MARKED[0])[:1]
    [[part]] = moved_sectors(draft.before, (), 10 + 0j)
    assert cmath.isclose(part.motion(0j), 10 + 0j)
    ring = draft.before.ring(lambda opening: opening.point)
    assert all(
        cmath.isclose(a.start + 10, b.start) for a, b in zip(part.outline, ring, strict=True)
    )
