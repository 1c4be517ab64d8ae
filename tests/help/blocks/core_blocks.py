"""Random blocks as the core takes them."""

from __future__ import annotations

import random

from hypothesis import strategies as st

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.plane.curves import Cubic, Line, Segment
from tests.help.blocks import random_blocks


def segment(points: tuple[complex, ...]) -> Segment:
    return Line(*points) if len(points) == 2 else Cubic(*points)


def core_block(source: random_blocks.Block) -> Block:
    """The same block, its seams named by path labels."""
    return Block(
        seam_by_seam([(piece.seam, segment(piece.points)) for piece in source.segments]),
        apex=source.apex,
        name=source.kind,
    )


def drawn(seed: int, kind: str | None = None) -> random_blocks.Block:
    return random_blocks.random_block(random.Random(seed), kind)


def blocks(kind: str | None = None) -> st.SearchStrategy[random_blocks.Block]:
    return st.integers(0, 10_000).map(lambda seed: drawn(seed, kind))
