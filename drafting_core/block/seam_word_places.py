"""Where the word of a seam goes: along it, just inside, and nearer to it than to others."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.model.outline import encloses, nearest_on
from drafting_core.model.piece import Piece
from drafting_core.model.stretches import Stretch
from drafting_core.plane.curves import Segment, chain_length, unit
from drafting_core.plane.motions import readable

#: Distance of a word from the seam, and how high it rises, in parts of its letters' height.
_GAP = 0.35
_RISE = 0.75


def seam_word_place(
    piece: Piece, stretch: Stretch, width: float, letters: float, polygon: Sequence[complex]
) -> tuple[complex, complex]:
    """Return where the word of a seam is anchored, just inside its middle, and how it is read.

    It stands at the middle of the seam's longest part between two darts, along the seam, and so
    near to it that no other seam is nearer.

    Args:
        piece: the piece.
        stretch: the seam on it.
        width: the width of the word in mm.
        letters: the height of its letters in mm.
        polygon: the piece's outline, flattened.

    Returns:
        The middle of its base line in mm, and the unit vector along which it is read.
    """
    chain = max(_parts(piece, stretch), key=lambda part: chain_length(part))
    at, along = _middle(chain)
    inward = 1j * along
    reading = readable(along)
    # The letters rise toward -1j·reading: toward the seam where they are read along it.
    depth = letters * (_GAP + _RISE if reading == along else _GAP)
    half = width / 2 * reading
    up = -1j * reading * _RISE * letters
    edges = list(piece.edges())
    own = {index for index, edge in enumerate(edges) if edge.seam is stretch.seam}
    segments = [edge.segment for edge in edges]

    def is_clear(place: complex) -> bool:
        corners = (place - half, place + half, place - half + up, place + half + up)
        return all(encloses(polygon, corner) for corner in corners)

    def is_own(place: complex) -> bool:
        return nearest_on(segments, place).segment in own

    places = [at + inward * (depth + letters * step / 2) for step in range(5)]
    places += [at + inward * depth * part for part in (0.5, 0.25)]
    fitting = [place for place in places if is_own(place)]
    place = next(filter(is_clear, fitting), fitting[0] if fitting else at)
    return place, reading


def _parts(piece: Piece, stretch: Stretch) -> list[list[Segment]]:
    """Return a seam's segments between the mouths of the darts on it."""
    parts: list[list[Segment]] = []
    run = -1
    for k, i in stretch.edges:
        if k != run or not parts:
            parts.append([])
        run = k
        parts[-1].append(piece.runs[k][i].segment)
    return parts


def _middle(chain: Sequence[Segment]) -> tuple[complex, complex]:
    """Return the point half-way along a chain, and the unit tangent there."""
    left = chain_length(chain) / 2
    for segment in chain:
        length = segment.length()
        if left <= length:
            t = segment.parameter_at(left)
            return segment.point(t), segment.tangent(t)
        left -= length
    return chain[-1].end, unit(chain[-1].end_tangent())
