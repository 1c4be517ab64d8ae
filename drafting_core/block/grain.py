"""Which way is down: the grain of a piece."""

from __future__ import annotations

from drafting_core.model.outline import flattened
from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import CENTRE_SEAMS, HEM, NECKLINE, SHOULDER, WAIST
from drafting_core.model.stretches import stretches
from drafting_core.plane.curves import cross, dot, unit

#: A centre seam is straight when no point of it strays further than this from its chord (mm).
STRAIGHT_CENTRE = 1.0

# From the top of the body down; a skirt's waist is above its hem, a bodice's below its neck.
_LEVELS = {NECKLINE: 0, SHOULDER: 0, WAIST: 1, HEM: 2}


def down_the_grain(piece: Piece, drawn: complex | None, *, points_down: bool = False) -> complex:
    """Return the unit vector that points down along the grain.

    The grain lies along the drafter's grainline, else along the straight centre seam where it
    is named, else along the drawing's vertical. Down is from neckline or shoulder toward waist
    or hem where these are named, else down the page.

    Args:
        piece: the block with its seams.
        drawn: a vector along the grainline as drawn, or None.
        points_down: whether that vector is known to point down, as a result's own grainline.
    """
    if drawn is not None and points_down:
        return unit(drawn)
    direction = drawn or straight_centre(piece) or 1j
    along = unit(direction)
    levels: dict[int, list[complex]] = {}
    for edge in piece.edges():
        level = _LEVELS.get(edge.seam.kind)
        if level is not None:
            levels.setdefault(level, []).extend(flattened([edge.segment], 4))
    if len(levels) >= 2:
        top, bottom = levels[min(levels)], levels[max(levels)]
        way = sum(bottom) / len(bottom) - sum(top) / len(top)
    else:
        way = 1j
    if dot(along, way) == 0.0:
        way = 1j if along.imag else 1 + 0j
    return along if dot(along, way) > 0 else -along


def straight_centre(piece: Piece) -> complex | None:
    """Return a vector along the centre seam, or along a fold, if there is a straight one."""
    found = stretches(piece)
    centres = [stretch for stretch in found if stretch.seam.kind in CENTRE_SEAMS]
    centres = centres or [stretch for stretch in found if stretch.seam.fold]
    if not centres:
        return None
    segments = centres[0].segments(piece)
    points = [*flattened(segments, 8), segments[-1].end]
    chord = segments[-1].end - segments[0].start
    if abs(chord) < 1.0:
        return None
    along = unit(chord)
    if any(abs(cross(along, z - points[0])) > STRAIGHT_CENTRE for z in points):
        return None
    return chord
