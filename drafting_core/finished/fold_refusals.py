"""Fold edges that cannot be: a seam that runs on from one, or lies beyond its line. Lengths are mm.

The cloth is folded along the line of a fold edge, and nothing of the piece lies beyond it: no
seam either, nor its allowance.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator

from drafting_core.model.outline import Edge, flattened
from drafting_core.model.piece import Piece, mouth_angle
from drafting_core.model.seam_names import Seam
from drafting_core.model.stretches import stretches
from drafting_core.plane.curves import Line, cross, dot, turn, unit
from drafting_core.text.errors import OutlineError
from drafting_core.text.figures import in_degrees
from drafting_core.text.lengths import in_words
from drafting_core.text.words import _, capital

#: A seam that turns by less than this from a fold edge would have its allowance beyond it.
RUNS_ON = math.radians(15.0)
#: A seam lies beyond the line of a fold edge from here on: less is rounding and pencil (mm).
BEYOND = 0.05
#: A fold edge that bows by more than this (mm) is none; by more than the second it is told.
BOWS, TOLD_BOW = 2.0, 0.5
#: Into so many pieces a curve is cut to see how far it goes.
_PIECES = 16


def check_folds(piece: Piece) -> None:
    """Refuse fold edges on which the cloth cannot be folded.

    Args:
        piece: the piece as it will be cut, its openings with their points.

    Raises:
        OutlineError: naming the fold edge and the seam that runs on from it or lies beyond it.
    """
    _check_straight(piece)
    order = [(k, i) for k, run in enumerate(piece.runs) for i in range(len(run))]
    edges = [piece.runs[k][i] for k, i in order]
    folds = [n for n, edge in enumerate(edges) if edge.seam.fold and edge.segment.is_straight()]
    for n in folds:
        for before in (n - 1, n):
            _check_joint(piece, order[before][0], edges[before], edges[(before + 1) % len(edges)])
    for n in folds:
        _check_side(edges[n], edges)


def bowed_folds(piece: Piece) -> list[str]:
    """Return what is said of fold edges that bow a little, as lines drawn or fitted by hand do."""
    return [
        _("{Fold} lies on the fold of the cloth and bows by {off}: draw it straight.").format(
            Fold=capital(seam.spoken), off=in_words(off)
        )
        for seam, off, _place in _bows(piece)
        if off > TOLD_BOW
    ]


def _check_straight(piece: Piece) -> None:
    """Refuse a fold edge that is no straight line: cloth is folded along one."""
    for seam, off, place in _bows(piece):
        if off > BOWS:
            raise OutlineError(
                _(
                    "{fold} cannot be cut on the fold: it bows by {off} from a straight line."
                ).format(fold=seam.spoken, off=in_words(off)),
                remedy=_(
                    'Draw it straight, or take "fold" off the mark of {fold}: the piece is then '
                    "cut 2."
                ).format(fold=seam.spoken),
                place=place,
            )


def _bows(piece: Piece) -> Iterator[tuple[Seam, float, complex]]:
    """Yield every fold edge with how far it strays from its chord in mm, and where."""
    for stretch in stretches(piece):
        segments = stretch.segments(piece)
        chord = segments[-1].end - segments[0].start
        runs = {k for k, _ in stretch.edges}
        if not stretch.seam.fold or len(runs) > 1 or not chord:
            continue
        points = [*flattened(segments, _PIECES), segments[-1].end]
        off, place = max(
            ((abs(cross(unit(chord), z - segments[0].start)), z) for z in points),
            key=lambda found: found[0],
        )
        yield stretch.seam, off, place


def _check_joint(piece: Piece, run: int, edge: Edge, following: Edge) -> None:
    """Refuse a seam that runs on from a fold edge; a dart between them is folded shut."""
    if edge.seam.fold == following.seam.fold:
        return
    onward = following.segment.start_tangent()
    if piece.openings and piece.runs[run][-1] is edge:
        onward *= cmath.rect(1.0, -mouth_angle(*piece.mouth(run), piece.openings[run].point))
    angle = abs(turn(edge.segment.end_tangent(), onward))
    if angle >= RUNS_ON:
        return
    fold, other = (edge, following) if edge.seam.fold else (following, edge)
    raise OutlineError(
        _(
            "{fold} cannot be cut on the fold: {seam} runs on from it, within {angle}, and its "
            "allowance would lie beyond the fold."
        ).format(fold=fold.seam.spoken, seam=other.seam.spoken, angle=in_degrees(angle, 0)),
        remedy=_(
            'Put {seam} on the fold too, or take "fold" off the mark of {fold}: the piece is '
            "then cut 2."
        ).format(seam=other.seam.spoken, fold=fold.seam.spoken),
        place=edge.segment.end,
    )


def _check_side(fold: Edge, edges: list[Edge]) -> None:
    """Refuse a seam that lies beyond the line of a fold edge."""
    line = Line(fold.segment.start, fold.segment.end)
    inward = 1j * unit(line.end - line.start)
    for edge in edges:
        if edge.seam.fold:
            continue
        points = [*flattened([edge.segment], _PIECES), edge.segment.end]
        depth, place = min(
            ((dot(z - line.start, inward), z) for z in points), key=lambda found: found[0]
        )
        if depth < -BEYOND:
            raise OutlineError(
                _("{fold} cannot be cut on the fold: {seam} lies beyond its line.").format(
                    fold=fold.seam.spoken, seam=edge.seam.spoken
                ),
                remedy=_(
                    'Draw {seam} on one side of it, or take "fold" off the mark of {fold}: the '
                    "piece is then cut 2."
                ).format(seam=edge.seam.spoken, fold=fold.seam.spoken),
                place=place,
            )
