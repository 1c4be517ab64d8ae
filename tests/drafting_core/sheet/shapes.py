"""Outlines that the tests of this folder draw."""

from __future__ import annotations

import math

Line = list[complex]

#: A block with a dart in its lower edge: mouth, and apex between.
MOUTH = (82 + 300j, 118 + 300j)
APEX = 100 + 190j
WITHOUT_DART: Line = [0j, 200 + 20j, 215 + 300j, 0 + 300j]
WITH_DART: Line = [0j, 200 + 20j, 215 + 300j, MOUTH[1], APEX, MOUTH[0], 0 + 300j]


def dart_lines() -> list[Line]:
    """Return what is drawn in a dart: its mouth across, its fold line, hatching."""
    fold = [APEX, sum(MOUTH) / 2]
    parts = (0.45, 0.65, 0.85)
    hatching = [[APEX + (end - APEX) * part for end in MOUTH] for part in parts]
    return [list(MOUTH), fold, *hatching]


def curved_block(scale: float = 1.0) -> Line:
    """Return a block with a hollow seam, about its middle: every ray from it leaves it once."""
    hollow = [complex(85 + 150 * k / 40, 60 + 35 * math.sin(math.pi * k / 40)) for k in range(41)]
    line = [0 + 60j, *hollow, 320 + 60j, 320 + 330j, 0 + 330j]
    return [(z - (160 + 200j)) * scale for z in line]
