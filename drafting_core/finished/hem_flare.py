"""Hems that are turned up: whether the sides of the piece flare too far for that. Radians."""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping, Sequence

from drafting_core.dart.folded_mouth import FoldedMouth
from drafting_core.model.allowances import Allowances
from drafting_core.model.outline import Edge
from drafting_core.model.seam_names import HEM, Seam
from drafting_core.plane.curves import unit
from drafting_core.plane.motions import STILL, Motion
from drafting_core.text.figures import in_degrees
from drafting_core.text.words import _, capital

#: Where a side flares by more than this (15 degrees), a hem that is turned up does not lie flat.
FLAT_FLARE = math.radians(15.0)
#: A side that flares by just that much does lie flat: room for rounding.
_ROUNDING = 1e-6


def flare_warnings(
    edges: Sequence[Edge], mouths: Mapping[int, FoldedMouth], allowances: Allowances
) -> list[str]:
    """Return what is said of turned hems whose sides flare too far.

    Args:
        edges: the stitch line without what lies across its mouths, in order.
        mouths: the mouths that are folded shut, each by the index of the edge before it.
        allowances: the widths, and which of them are turned.
    """
    return [
        _(
            "{Seam} is turned back, but a side of the piece flares by {angle} there: over 15° it "
            "does not lie flat. Make it narrower, or face it."
        ).format(Seam=capital(seam.spoken), angle=in_degrees(flare, 0))
        for seam in dict.fromkeys(edge.seam for edge in edges)
        if seam.kind == HEM and allowances.is_turned(seam) and allowances.width(seam) > 0.0
        if (flare := hem_flare(edges, mouths, seam)) > FLAT_FLARE + _ROUNDING
    ]


def hem_flare(edges: Sequence[Edge], mouths: Mapping[int, FoldedMouth], hem: Seam) -> float:
    """Return the widest angle by which a side flares outward at a hem, its mouths shut.

    It is measured from the centre of the garment where that is the other side, else from the
    square to the hem, end to end. A piece that narrows toward its hem gives 0 or less.

    Args:
        edges: the stitch line without what lies across its mouths, in order.
        mouths: the mouths that are folded shut, each by the index of the edge before it.
        hem: the seam.
    """
    count = len(edges)
    starts = [k for k in range(count) if edges[k].seam is hem and edges[k - 1].seam is not hem]
    widest = 0.0
    for start in starts:
        # Everything in the frame of the hem's first edge.
        before = edges[start - 1]
        frame = _back(mouths, (start - 1) % count).undone()
        first = frame.spin * before.segment.end_tangent()
        k, motion = start, STILL
        while edges[(k + 1) % count].seam is hem:
            motion = motion.after(_back(mouths, k % count))
            k += 1
        ending = motion(edges[k % count].segment.end)
        motion = motion.after(_back(mouths, k % count))
        following = edges[(k + 1) % count]
        last = -motion.spin * following.segment.start_tangent()
        if before.seam.is_centre or following.seam.is_centre:
            widest = max(widest, cmath.phase(last / first))
            continue
        square = -1j * unit(ending - edges[start].segment.start)
        widest = max(widest, cmath.phase(square / first), cmath.phase(last / square))
    return widest


def _back(mouths: Mapping[int, FoldedMouth], index: int) -> Motion:
    return mouths[index].back if index in mouths else STILL
