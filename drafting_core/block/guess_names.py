"""Naming the seams of an unmarked block by its shape.

A plain bodice front or back has six seams, a yoke and trousers five, a plain skirt and a sleeve
four. A name is given only where every reading of the shape that fits has it; whatever stays in
doubt keeps its number.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from drafting_core.model.outline import Edge
from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import CENTRE_BACK, CENTRE_FRONT, Seam, seam_name
from drafting_core.model.seam_shapes import SeamShape, closed_shape
from drafting_core.model.shape_names import (
    read_bodice,
    read_skirt,
    read_sleeve,
    read_trousers,
    read_yoke,
)
from drafting_core.model.stretches import Stretch, stretches

_Read = Callable[[Sequence[SeamShape]], list[str] | None]

#: Words by which a drafter says what a piece is, and what that is read as.
_SAID = {
    "skirt": "skirt",
    "sleeve": "sleeve",
    "yoke": "yoke",
    "trousers": "trousers",
    "trouser": "trousers",
    "pants": "trousers",
    "shorts": "trousers",
}
#: A piece so called is not the plain piece whose shape it may have.
_OTHER_PIECES = frozenset(
    {
        "wrap",
        "gore",
        "godet",
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


class _Said(NamedTuple):
    """What the piece's name says of it.

    Attributes:
        kind: what it is, one of the values of `_SAID`, or an empty string.
        centre: the name of its centre, or an empty string.
    """

    kind: str
    centre: str


def guess_names(piece: Piece, piece_name: str) -> Piece | None:
    """Return the piece with its seams named, or None where its shape leaves a doubt.

    Args:
        piece: a piece whose seams have numbers only.
        piece_name: what the drafter calls the piece; "front" or "sleeve" in it counts.
    """
    words = set(re.findall(r"\w+", piece_name.casefold()))
    kinds = {_SAID[word] for word in words & set(_SAID)}
    if _OTHER_PIECES & words or len(kinds) > 1:
        return None
    found = stretches(piece)
    shapes = [closed_shape(piece, stretch) for stretch in found]
    if any(shape.chord < 1.0 for shape in shapes):
        return None
    said = _Said(next(iter(kinds), ""), _hint(piece_name))
    readings = [
        reading
        for read in _readers(len(found), said, _shaping(piece))
        for reading in _readings(shapes, found, read)
    ]
    if not readings:
        return None
    agreed = {
        seam: name
        for seam, name in readings[0].items()
        if name and all(other.get(seam) == name for other in readings[1:])
    }
    return _renamed(piece, agreed) if agreed else None


def _readers(count: int, said: _Said, shaping: float) -> list[_Read]:
    """Return the readings that a piece of so many seams may have."""
    by_count: dict[int, dict[str, _Read]] = {
        6: {"": lambda shapes: read_bodice(shapes, said.centre, shaping)},
        5: {
            "yoke": lambda shapes: read_yoke(shapes, said.centre),
            "trousers": lambda shapes: read_trousers(shapes, said.kind == "trousers"),
        },
        4: {
            "skirt": lambda shapes: read_skirt(shapes, said.centre, said.kind == "skirt"),
            "sleeve": lambda shapes: read_sleeve(shapes, said.kind == "sleeve"),
        },
    }
    readers = by_count.get(count, {})
    return [read for kind, read in readers.items() if said.kind in ("", kind)]


def _shaping(piece: Piece) -> float:
    """Return all darts' angles together, in degrees."""
    return math.degrees(sum(opening.angle for opening in piece.openings))


def _hint(piece_name: str) -> str:
    words = piece_name.casefold()
    is_front, is_back = "front" in words, "back" in words
    if is_front == is_back:
        return ""
    return CENTRE_FRONT if is_front else CENTRE_BACK


def _readings(
    shapes: Sequence[SeamShape], found: Sequence[Stretch], read: _Read
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
                yield {found[i].seam: name for i, name in zip(indices, names, strict=True)}


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
