"""The sign of an edge that lies on the fold of the cloth: a bracket with arrows, and its words."""

from __future__ import annotations

from drafting_core.plane.curves import Line, Segment, dot, unit
from drafting_core.plane.motions import readable
from drafting_core.text.words import _
from extension.look.set_text import DROP, RISE, text_width
from extension.look.text_places import Clearings, PlacedText

#: How far inside the piece the sign stands, the size of its arrows and of its letters (mm).
INSET = 9.0
HEAD = 3.0
LETTERS = 3.5
#: On a shorter edge than this (mm) it is smaller.
_USUAL_LENGTH = 80.0
#: The sign leaves this share of the edge free at each end.
_FREE = 0.18


def fold_edge_sign(fold: Line, clear: Clearings) -> tuple[list[tuple[Segment, ...]], PlacedText]:
    """Return the sign of a fold edge: a line inside with arrows onto the edge, and its words.

    Args:
        fold: the edge, the piece's inside at ``1j`` times its direction.
        clear: what the words are kept clear of.
    """
    along = unit(fold.end - fold.start)
    inward = 1j * along
    length = abs(fold.end - fold.start)
    # On a small piece the sign is small too.
    shrunk = min(1.0, length / _USUAL_LENGTH)
    inset, head, letters = INSET * shrunk, HEAD * shrunk, LETTERS * shrunk
    first, last = (fold.start + along * length * share for share in (_FREE, 1 - _FREE))
    chains: list[tuple[Segment, ...]] = [
        (
            Line(first, first + inward * inset),
            Line(first + inward * inset, last + inward * inset),
            Line(last + inward * inset, last),
        )
    ]
    for tip in (first, last):
        barbs = [tip + inward * head + along * side * head / 2 for side in (1, -1)]
        chains.append((Line(barbs[0], tip), Line(tip, barbs[1])))
    words = _("Fold of the cloth")
    direction = readable(along)
    half = text_width(words, letters) / 2
    # The letters rise to the left of their direction, where the page's y points down.
    above = dot(inward, -1j * direction) > 0
    gap = 1.2 + (DROP if above else RISE) * letters
    places = [
        first + along * abs(last - first) * share + inward * (inset + gap)
        for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)
    ]
    best, _direction = clear.freest(
        ((at, direction) for at in places), half + 1, RISE * letters + 1, DROP * letters + 1
    )
    return chains, PlacedText((words,), best, direction, letters)
