"""What of a result stays as a hand has left it when the result is drawn again in place.

Words and the test square stay where they were put, as long as they fit; lines keep the look that
they were given; and what comes out as it was keeps every digit.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from lxml import etree

from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import nearest_on
from drafting_core.model.stretches import stretches
from extension.document.namespaces import ours
from extension.document.roles import our_attributes
from extension.document.visibility import LOCK, is_hidden_itself, is_locked_itself
from extension.drafting.as_drawn import LOOK, LOOKS, look_mark
from extension.look.text_places import FARTHEST_ANCHOR
from extension.reading.result_memory import Part, ResultMemory

#: Says of a word or a square that its place is the drafter's.
KEPT = "kept"
#: Says of a test square where it was put first, if it had to make room since.
HOME = "home"
#: Numbers that differ by less are the same: rounding of what is read and written again.
_SAME_NUMBER = 1e-6
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_PLACED = ("d", "x", "y", "cx", "cy", "width", "height", "transform")


class KeptPlaces(NamedTuple):
    """Places that a hand has chosen, in true mm.

    Attributes:
        words: of seams' names, by the number of the seam.
        title: of the title, or None.
        square: the corner of the test square, or None.
        note: where the note begins, or None.
        home: where the test square was put by itself, with the note below it, or None.
        last: where the test square stood last, or None.
    """

    words: Mapping[int, complex] = {}
    title: complex | None = None
    square: complex | None = None
    note: complex | None = None
    home: complex | None = None
    last: complex | None = None


def kept_places(memory: ResultMemory, draft: Draft, unit: float) -> KeptPlaces:
    """Return the places that a hand has chosen and that still hold.

    Args:
        memory: what the result remembers.
        draft: what is drawn.
        unit: true mm to a unit of the root.
    """
    moved = {part.element for part in memory.changed}

    def chosen(part: Part) -> complex | None:
        is_chosen = part.element in moved or KEPT in our_attributes(part.element)
        return part.now.points[0] * unit if is_chosen and part.now is not None else None

    runs = [stretch.segments(draft.piece) for stretch in stretches(draft.piece)]
    order = seam_numbers(memory, draft)
    words = {}
    for k, part in memory.words_of_seams():
        at, number = chosen(part), order[k] if order else k
        if at is not None and nearest_on(runs[number], at).distance <= FARTHEST_ANCHOR:
            words[number] = at
    found: dict[str, complex | None] = {}
    for part in memory.parts:
        if part.part == "test-square":
            found["square"] = chosen(part)
            found["home"] = _home(memory, part, unit)
            found["last"] = None if part.now is None else part.now.points[0] * unit
        elif part.part == "note" and "shown" in our_attributes(part.element):
            found["title"] = chosen(part)
        elif part.part == "note" and len(part.element):
            found["note"] = chosen(part)
    return KeptPlaces(words, **found)


def _home(memory: ResultMemory, part: Part, unit: float) -> complex | None:
    """Return where a test square was put by itself, carried along with its layer."""
    said = re.findall(_NUMBER, our_attributes(part.element).get(HOME, ""))
    if len(said) == 2:
        return memory.motion(complex(float(said[0]), float(said[1]))) * unit
    return None if part.now is None else part.now.points[0] * unit


def seam_numbers(memory: ResultMemory, draft: Draft) -> list[int]:
    """Return for each seam of a result as it was which number it has now; none, if they changed.

    Both go round the piece, but may begin at another seam, or go the other way.
    """
    now = stretches(draft.piece)
    count = len(now)
    if count != len(memory.known.seams):
        return []
    places = [stretch.ends(draft.piece) for stretch in now]

    def off(order: Sequence[int]) -> float:
        return math.fsum(
            min(abs(places[n][0] - seam.start), abs(places[n][1] - seam.start))
            + min(abs(places[n][1] - seam.end), abs(places[n][0] - seam.end))
            for n, seam in zip(order, memory.known.seams, strict=True)
        )

    orders = [
        [(step * k + shift) % count for k in range(count)]
        for step in (1, -1)
        for shift in range(count)
    ]
    return min(orders, key=off)


def keep_digits(
    old: Sequence[etree._Element], new: Sequence[etree._Element], *, is_scaled: bool
) -> None:
    """Let what comes out as it was keep its digits, and lines the look that a hand gave them.

    Args:
        old: the objects of one part as they were, in order.
        new: the same drawn again.
        is_scaled: whether the layer was scaled since.
    """
    for was, now in zip(old, new, strict=False):
        is_hers = our_attributes(was).get(LOOK, "") != look_mark(was)
        # The editor scales strokes and letters with a layer: that is no look of hers.
        if is_hers and (not is_scaled or is_hidden_itself(was)):
            for name in ("style", *LOOKS):
                now.attrib.pop(name, None)
                if name in was.attrib:
                    now.attrib[name] = was.attrib[name]
        if is_locked_itself(was):
            now.attrib[LOCK] = "true"
        _keep(was, now)
        for row, other in zip(was, now, strict=False):
            _keep(row, other)


def _keep(was: etree._Element, now: etree._Element) -> None:
    for name in (*_PLACED, ours("placed")):
        before, after = was.attrib.get(name), now.attrib.get(name)
        if before is not None and after is not None and _is_same(str(before), str(after)):
            now.attrib[name] = before


def _is_same(one: str, other: str) -> bool:
    if re.sub(_NUMBER, "#", one) != re.sub(_NUMBER, "#", other):
        return False
    return all(
        abs(float(a) - float(b)) <= _SAME_NUMBER
        for a, b in zip(re.findall(_NUMBER, one), re.findall(_NUMBER, other), strict=True)
    )
