"""How a layer was moved as a whole: the similarity that most of its objects went through."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import NamedTuple

#: Two objects that are further apart than this part of the whole tell a turn well.
_APART = 0.3
#: At most so many objects are tried as what moved with the layer.
_TRIED = 10


class LayerMotion(NamedTuple):
    """A similarity: ``z`` goes to ``turn * z + shift``, mirrored first where it is one.

    Attributes:
        turn: the turn and the scale as one number.
        shift: where the origin goes.
        mirrored: whether it is mirrored.
    """

    turn: complex = 1 + 0j
    shift: complex = 0j
    mirrored: bool = False

    def __call__(self, z: complex) -> complex:
        """Return where a point goes."""
        return self.turn * (z.conjugate() if self.mirrored else z) + self.shift

    @property
    def scale(self) -> float:
        """By how much it enlarges."""
        return abs(self.turn)


#: The motion of a layer that stayed where it was.
STAYED = LayerMotion()


def layer_motion(pairs: Sequence[tuple[complex, complex]], within: float) -> LayerMotion:
    """Return the similarity that the most objects went through; none, where few agree.

    Args:
        pairs: where each of them was and is.
        within: how far from it they may be, in the same units.
    """
    best, most = STAYED, _agree(STAYED, pairs, within)
    if 2 * most > len(pairs) or len(pairs) < 3:
        return best
    size = max(abs(a[0] - b[0]) for a in pairs for b in pairs)
    step = max(1, len(pairs) // _TRIED)
    for one, other in itertools.combinations(pairs[::step], 2):
        if abs(other[0] - one[0]) < _APART * size:
            continue
        for mirrored in (False, True):
            motion = similarity(one, other, mirrored=mirrored)
            agreed = _agree(motion, pairs, within)
            if agreed > most:
                best, most = motion, agreed
    return best if 2 * most >= len(pairs) else STAYED


def similarity(
    one: tuple[complex, complex], other: tuple[complex, complex], *, mirrored: bool
) -> LayerMotion:
    """Return the similarity by which two points go where they went.

    Raises:
        ZeroDivisionError: if the two were one.
    """
    was = other[0] - one[0]
    turn = (other[1] - one[1]) / (was.conjugate() if mirrored else was)
    start = one[0].conjugate() if mirrored else one[0]
    return LayerMotion(turn, one[1] - turn * start, mirrored)


def _agree(motion: LayerMotion, pairs: Sequence[tuple[complex, complex]], within: float) -> int:
    return sum(abs(motion(was) - now) <= within for was, now in pairs)
