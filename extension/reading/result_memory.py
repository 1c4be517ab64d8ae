"""What a result wrote of itself, read again: its stitch line, its seams and darts, its marks.

So a result that was reshaped by hand is followed, not found anew: where its seams end and its
darts lie, which of its words the drafter typed anew, and what that is derived was changed.
"""

from __future__ import annotations

import math
import re
import zlib
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from lxml import etree

from drafting_core.block.remembered import KnownDart, KnownSeam, Remembered
from drafting_core.model.outline import nearest_on
from drafting_core.model.seam_names import SeamLabel
from drafting_core.plane.curves import PointMap, Segment
from drafting_core.text.errors import DraftingError
from drafting_core.text.words import N_, _
from extension.document import roles
from extension.document.drawn_places import DrawnPlace, place_now, place_then
from extension.document.layer_motion import LayerMotion, layer_motion, similarity
from extension.document.namespaces import LABEL
from extension.document.path_data import parse, point
from extension.document.roles import attributed_label, drawn_by_us, name_of, our_attributes
from extension.document.stored_values import stored_points, unusable
from extension.document.svg_document import DocumentError
from extension.reading.read_outline import outline_edges
from extension.reading.source_block import SourceBlock
from extension.reading.typed_title import TypedTitle, typed_title

_AS_BEFORE = N_("Write what it said before, or undo the change of that attribute.")
#: The attributes of a stitch line that say what it was.
DRAWN, PARTS = "drawn", "parts"
SEAM_NUMBER, DART_NUMBER = "seam-{number}", "dart-{number}"
#: Objects that are moved or turned by less than this (mm) were not: editors round.
STAYS = 0.05
#: A word that is this much nearer to another seam than to its own (mm) was moved to it.
MOVED_TO = 5.0
#: A word that lies further from a seam than this (mm) names none.
_NAMES = 25.0
#: An object of ours that has lost its attributes still has its id.
_IDS = r"dartswing-\d+-([a-z]+(?:-[a-z]+)*)(?:-\d+)?$"
#: What comes back when it is deleted.
COUNTED = frozenset(("apex", "grainline", "fold-edge"))
#: What is derived from the stitch line, and never the drafter's to reshape.
DERIVED = frozenset(
    ("cut-line", "cap", "fold-arrow", "dart-leg", "dart-point", "dart-fold", "drill-hole")
) | {"trim-window", "notch", "test-square", "seam-name", "note"}


class Part(NamedTuple):
    """An object of a result that Dartswing drew.

    Attributes:
        element: the object.
        part: which part of the result it is.
        is_whole: whether it still has its attributes.
        then: where it lay when it was drawn, if that is said.
        now: where it lies.
    """

    element: etree._Element
    part: str
    is_whole: bool
    then: DrawnPlace | None
    now: DrawnPlace | None


class ResultMemory(NamedTuple):
    """What a result remembers, and what a hand has done since.

    Attributes:
        known: its stitch line, seams and darts where they would lie now, in true mm; the labels
            of the seams as the drafter's hand has left them.
        seams: its seams as they were written.
        widths: the allowances that they were drawn with, in mm.
        motion: how the layer was moved as a whole, in units of the root.
        parts: what Dartswing drew of it and is still there.
        changed: those of them that a hand has moved or reshaped.
        missing: how many of each part are gone.
        title: what its title says, where it was typed anew.
        taken_out: where the points of darts were that were deleted.
    """

    known: Remembered
    seams: Sequence[KnownSeam]
    widths: Sequence[float]
    motion: LayerMotion
    parts: Sequence[Part]
    changed: Sequence[Part]
    missing: Counter[str]
    title: TypedTitle | None = None
    taken_out: Sequence[complex] = ()

    def words_of_seams(self) -> Iterator[tuple[int, Part]]:
        """Yield the words of its seams with the number of each, from 0."""
        for part in self.parts:
            number = our_attributes(part.element).get("stretch", "")
            if part.part == "seam-name" and number.isdigit() and 0 < int(number) <= len(self.seams):
                yield int(number) - 1, part


def result_memory(block: SourceBlock) -> ResultMemory | None:
    """Return what a result remembers of itself; None for a block, or an older result.

    Raises:
        DraftingError: if an attribute cannot be used, or the stitch line alone was moved.
    """
    attributes = our_attributes(block.outline)
    if block.layer is None or DRAWN not in attributes:
        return None
    thing, unit = name_of(block.outline), block.true_mm_per_unit
    try:
        drawn = parse(attributes[DRAWN])
    except DraftingError:
        drawn = []
    if len(drawn) != 1 or len(drawn[0].segments) < 2:
        raise unusable(DRAWN, attributes[DRAWN], _(_AS_BEFORE), thing)
    parts = list(_parts(block))
    pairs = [
        (was, now)
        for part in parts
        if part.then is not None
        and part.now is not None
        and len(part.then.points) == len(part.now.points)
        for was, now in zip(part.then.points, part.now.points, strict=True)
    ]
    motion = layer_motion(pairs, STAYS / unit)

    def here(z: complex) -> complex:
        return motion(z) * unit

    outline = [segment.mapped(here) for segment in drawn[0].segments]
    _check_stitch_line_alone(block, outline)
    seams, widths = _seams(attributes, thing, here)
    changed = [part for part in parts if _is_changed(part, motion, unit)]
    darts, taken_out = _darts(block, attributes, parts, here)
    names = _as_named_now(block, seams, outline, parts, changed)
    known = Remembered(outline, names, darts)
    missing = _missing(attributes, parts)
    titles = (typed_title(part.element) for part in parts if part.part == "note")
    title = next(filter(None, titles), None)
    return ResultMemory(known, seams, widths, motion, parts, changed, missing, title, taken_out)


def _parts(block: SourceBlock) -> Iterator[Part]:
    layer = block.layer
    if layer is None:
        return
    # In a layer that was duplicated as a whole every object is a copy.
    is_copy = not drawn_by_us(block.outline)
    for element in layer.iter():
        if not isinstance(element.tag, str) or element is block.outline:
            continue
        part = our_attributes(element).get("part", "")
        if part and (drawn_by_us(element) or is_copy):
            yield Part(element, part, True, place_then(element), place_now(element))
            continue
        found = None if part else re.match(_IDS, str(element.get("id") or ""))
        if found is not None and found[1] in DERIVED | COUNTED:
            yield Part(element, found[1], False, None, None)


def _is_changed(part: Part, motion: LayerMotion, unit: float) -> bool:
    """Tell whether a hand has moved or reshaped what Dartswing drew."""
    if part.part not in DERIVED or our_attributes(part.element).get("role") == roles.NOTCH:
        return False
    if part.then is None or part.now is None:
        return False
    if is_typed(part.element):
        return True
    within = STAYS / unit
    if len(part.then.points) != len(part.now.points):
        return True
    was = [motion(z) for z in part.then.points]
    off = max(abs(a - b) for a, b in zip(was, part.now.points, strict=True))
    turned_over = max(abs(a - b) for a, b in zip(was[::-1], part.now.points, strict=True))
    longer = abs(part.then.length * motion.scale - part.now.length)
    # A text says where it lies by one place, and by a second one along its line.
    if part.part in ("seam-name", "note"):
        return abs(was[0] - part.now.points[0]) > within
    return min(off, turned_over) > within or longer > 4 * within


def words_mark(text: str) -> str:
    """Return a short mark of a text, by which a change of it is seen."""
    return f"{zlib.crc32(' '.join(text.split()).encode()):08x}"


def is_typed(element: etree._Element) -> bool:
    """Tell whether a hand has typed into a note that Dartswing wrote."""
    said = our_attributes(element).get("words")
    return said is not None and said != words_mark(" ".join(element.itertext()))


def is_reshaped(part: Part, motion: LayerMotion) -> bool:
    """Tell whether an object is larger or smaller than it was drawn."""
    if part.then is None or part.now is None:
        return False
    return abs(part.then.length * motion.scale - part.now.length) > 4 * STAYS


def _missing(attributes: dict[str, str], parts: Sequence[Part]) -> Counter[str]:
    written: Counter[str] = Counter()
    present = Counter(part.part for part in parts if not _is_emptied(part))
    for word in attributes.get(PARTS, "").split():
        part, _colon, count = word.partition(":")
        if count.isdigit():
            written[part] = int(count)
    return written - present


def _is_emptied(part: Part) -> bool:
    """Tell whether a seam's name has no letter any more."""
    return (
        part.part == "seam-name" and part.is_whole and not "".join(part.element.itertext()).strip()
    )


def _check_stitch_line_alone(block: SourceBlock, was: Sequence[Segment]) -> None:
    """Refuse a stitch line that was moved, turned or flipped as a whole without its marks.

    Raises:
        DocumentError: with what to do.
    """
    now = [edge.segment for edge in outline_edges(block)]
    scale = block.scale
    if len(now) != len(was) or any(len(a) != len(b) for a, b in zip(was, now, strict=True)):
        return
    pairs = [
        (a, b * scale)
        for old, new in zip(was, now, strict=True)
        for a, b in zip(old, new, strict=True)
    ]
    if all(abs(a - b) <= STAYS for a, b in pairs):
        return
    first = pairs[0]
    far = max(pairs, key=lambda pair: abs(pair[0] - first[0]))
    for mirrored in (False, True):
        motion = similarity(first, far, mirrored=mirrored)
        if all(abs(motion(a) - b) <= 2 * STAYS for a, b in pairs):
            raise DocumentError(
                _("it was moved, turned or flipped as a whole, and its marks were not."),
                remedy=_(
                    "Undo that, and move, turn or flip the whole layer instead (select all that is "
                    "in it first)."
                ),
            )


def seam_text(seam: KnownSeam, width: float) -> str:
    """Return a seam as a stitch line says it: its ends, its allowance, what is said of it."""
    label = seam.label
    said = [
        "-" if label.allowance is None else repr(label.allowance),
        "fold" if label.fold else "-",
        "turned" if label.turned else "-",
        label.mate or "-",
        "-" if label.ease is None else repr(label.ease),
    ]
    return " ".join([point(seam.start), point(seam.end), repr(width), *said, label.name])


def _seams(
    attributes: dict[str, str], thing: str, here: PointMap
) -> tuple[list[KnownSeam], list[float]]:
    """Return the seams that a stitch line says it had, and their allowances in mm."""
    seams: list[KnownSeam] = []
    widths: list[float] = []
    while (name := SEAM_NUMBER.format(number=len(seams) + 1)) in attributes or not seams:
        text = attributes.get(name, "")
        try:
            *words, called = text.split(maxsplit=8)
            start, end = stored_points("ends", {"ends": " ".join(words[:2])}, thing)
            width, allowance, ease = (_length(words[k]) for k in (2, 3, 7))
            label = SeamLabel(
                called,
                allowance,
                words[4] == "fold",
                words[5] == "turned",
                "" if words[6] == "-" else words[6],
                ease,
            )
        except (DraftingError, ValueError, IndexError):
            remedy = _(_AS_BEFORE)
            raise unusable(name, text, remedy, thing) from None
        seams.append(KnownSeam(here(start), here(end), label))
        widths.append(width or 0.0)
    return seams, widths


def _length(word: str) -> float | None:
    """Return a length in mm, or None where none is said.

    Raises:
        ValueError: if it is none.
    """
    if word == "-":
        return None
    length = float(word)
    if not 0.0 <= length < math.inf:
        raise ValueError(word)
    return length


def _darts(
    block: SourceBlock, attributes: dict[str, str], parts: Sequence[Part], here: PointMap
) -> tuple[list[KnownDart], list[complex]]:
    """Return the darts that a stitch line says it had, and where those were that were deleted."""
    thing = name_of(block.outline)
    points = [part for part in parts if part.part == "dart-point"]
    darts: list[KnownDart] = []
    taken_out: list[complex] = []
    number = 1
    while (name := DART_NUMBER.format(number=number)) in attributes:
        found = stored_points(name, attributes, thing)
        if len(found) not in (3, 4):
            raise unusable(name, attributes[name], _(_AS_BEFORE), thing)
        mapped = [here(z) for z in found]
        has_point = any(
            not part.is_whole
            or (part.then is not None and abs(here(part.then.points[0]) - mapped[2]) < STAYS)
            for part in points
        )
        apex = mapped[3] if len(mapped) == 4 else None
        mouth = mapped[0], mapped[1]
        darts.append(KnownDart(mouth, mapped[2], apex, may_go=not has_point))
        if not has_point:
            taken_out.append(mapped[2])
        number += 1
    return darts, taken_out


def _as_named_now(
    block: SourceBlock,
    seams: Sequence[KnownSeam],
    outline: Sequence[Segment],
    parts: Sequence[Part],
    changed: Sequence[Part],
) -> list[KnownSeam]:
    """Return the seams of a result with the names that the drafter's hand has given them.

    A word that she typed anew, its label, and attributes that she had set speak for its seam; a
    word that she moved to another one names that.
    """
    named = [seam.label for seam in seams]
    moved: dict[int, SeamLabel] = {}
    left: set[int] = set()
    for part in parts:
        attributes = our_attributes(part.element)
        number = attributes.get("stretch", "")
        if part.part != "seam-name" or not number.isdigit() or not 0 < int(number) <= len(seams):
            continue
        k = int(number) - 1
        label = _said_by_word(part.element, attributes, seams[k].label)
        named[k] = label
        if part in changed and part.now is not None:
            at = part.now.points[0] * block.true_mm_per_unit
            other = _seam_near(at, k, seams, outline)
            if other is not None:
                moved[other] = label
                left.add(k)
    for k in left - moved.keys():
        named[k] = SeamLabel("", seams[k].label.allowance, seams[k].label.fold)
    for k, label in moved.items():
        named[k] = label._replace(fold=seams[k].label.fold)
    return [seam._replace(label=label) for seam, label in zip(seams, named, strict=True)]


def _said_by_word(
    element: etree._Element, attributes: dict[str, str], written: SeamLabel
) -> SeamLabel:
    """Return what the word of a seam says now."""
    label = written
    drawn = (element.get(LABEL) or "").strip()
    said = attributes.get("said", drawn)
    try:
        if drawn and drawn != said:
            role = roles.parse_label(drawn)
            # A word of another role says nothing of the seam.
            typed = roles.seam_label(drawn) if role is None else role.label
            label = typed or written
        elif (told := attributed_label(SeamLabel(""), attributes)) != written:
            label = told if told.name else written
        shown = " ".join("".join(element.itertext()).split())
        if shown and shown != attributes.get("shown", shown):
            role = roles.parse_label(shown)
            typed = role.label if role and role.label else roles.seam_label(shown)
            if typed == SeamLabel(typed.name):
                # A number at its end is part of a name that she typed herself.
                typed = SeamLabel(re.sub(r"^seam\s+(?=\D)", "", shown, flags=re.IGNORECASE))
            label = typed._replace(
                allowance=label.allowance if typed.allowance is None else typed.allowance,
                fold=typed.fold or label.fold,
                turned=typed.turned or label.turned,
                mate=typed.mate or label.mate,
                ease=label.ease if typed.ease is None else typed.ease,
            )
    except DraftingError as error:
        raise error.about(name_of(element)) from None
    return label


def _seam_near(
    at: complex, own: int, seams: Sequence[KnownSeam], outline: Sequence[Segment]
) -> int | None:
    """Return the other seam to which a word was moved, or None where it still names its own."""
    nodes = [segment.start for segment in outline]

    def runs(seam: KnownSeam) -> list[Segment]:
        first = min(range(len(nodes)), key=lambda k: abs(nodes[k] - seam.start))
        last = min(range(len(nodes)), key=lambda k: abs(nodes[k] - seam.end))
        size = (last - first) % len(nodes) or len(nodes)
        return [outline[(first + step) % len(nodes)] for step in range(size)]

    distances = [nearest_on(runs(seam), at).distance for seam in seams]
    nearest = min(range(len(seams)), key=lambda k: distances[k])
    if nearest == own or distances[nearest] > _NAMES:
        return None
    return nearest if distances[own] - distances[nearest] > MOVED_TO else None
