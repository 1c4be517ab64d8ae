"""The invented front that the dialogs' pictures show."""

from __future__ import annotations

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.plane.curves import Cubic, Line, Segment
from tests.help.pictures.picture_canvas import To


def front(name: str = "Front") -> Block:
    """Return an invented front with a waist dart to its apex."""
    outline = seam_by_seam(
        [
            ("neckline", Cubic(0 + 80j, 40 + 80j, 70 + 45j, 72 + 0j)),
            ("shoulder", Line(72 + 0j, 190 + 45j)),
            ("armhole", Cubic(190 + 45j, 172 + 110j, 165 + 200j, 235 + 215j)),
            ("side seam", Line(235 + 215j, 225 + 400j)),
            ("waist", Line(225 + 400j, 130 + 400j)),
            ("dart", Line(130 + 400j, 95 + 230j)),
            ("dart", Line(95 + 230j, 60 + 400j)),
            ("waist", Line(60 + 400j, 0 + 400j)),
            ("centre front", Line(0 + 400j, 0 + 80j)),
        ]
    )
    return Block(outline, apex=95 + 230j, name=name)


def scaled(scale: complex, offset: complex) -> To:
    return lambda z: z * scale + offset


def block_lines(block: Block) -> list[Segment]:
    return [edge.segment for edge in block.outline]
