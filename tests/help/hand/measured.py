"""What a result is measured for after a hand has changed it, by other means than it was drawn."""

from __future__ import annotations

import copy
import math
import re
from collections.abc import Mapping
from typing import Any

from lxml import etree
from shapely.geometry import LineString, Point

from tests.help.hand.outlines import LEG, Bit, Outline, normal, read_bits
from tests.help.hand.results import OURS, mm_per_unit, seen_through, through

#: A node that turns by more than this (radians) ends what a sample is compared on.
_BENDS = math.radians(3.0)


def drawn_bits(root: Any, element: Any) -> Outline:
    """Return a path as it lies in its drawing, in mm."""
    matrix, unit = seen_through(element), mm_per_unit(root)
    bits = read_bits(element.get("d"))
    return [bit.moved(lambda z: through(matrix, z) * unit) for bit in bits]


def as_it_lies(root: Any, stitch: Any, bits: Outline) -> Outline:
    """Return what a hand has drawn as it lies in the drawing now, in mm."""
    matrix, unit = seen_through(stitch), mm_per_unit(root)
    return [bit.moved(lambda z: through(matrix, z) * unit) for bit in bits]


def dots(bits: Outline, each: int = 150) -> list[complex]:
    counts = [each if len(bit.points) == 4 else 1 for bit in bits]
    return [bit.at(k / n) for bit, n in zip(bits, counts, strict=True) for k in range(n)]


def line(bits: Outline, each: int = 150) -> LineString:
    points = dots(bits, each)
    return LineString([(z.real, z.imag) for z in [*points, bits[-1].points[-1]]])


def off_the_parallel(bits: Outline, cut: Outline, widths: Mapping[str, float]) -> dict[str, float]:
    """Return how far the cut line is at most from the parallel of each seam, in mm.

    It is looked at away from corners and mouths, where the cut line has its own rules.
    """
    edge = line(cut)
    breaks = [
        (bit.points[0], _reach(bits[k - 1], bit, widths))
        for k, bit in enumerate(bits)
        if bit.seam != bits[k - 1].seam or abs(_turn(bits[k - 1], bit)) > _BENDS
    ]
    found: dict[str, float] = {}
    for k, bit in enumerate(bits):
        if bit.seam == LEG:
            continue
        for t in (n / 24 for n in range(1, 24)):
            z = bit.at(t)
            if any(abs(z - corner) < reach for corner, reach in breaks):
                continue
            there = z + widths[bit.seam] * normal(bits, k, t)
            off = edge.distance(Point(there.real, there.imag))
            found[bit.seam] = max(found.get(bit.seam, 0.0), off)
    return found


def _reach(before: Bit, behind: Bit, widths: Mapping[str, float]) -> float:
    """Return how far from a node the cut line may follow the rules of corners and mouths."""
    if before.seam == behind.seam:
        return widths.get(behind.seam, 0.0) * abs(math.tan(_turn(before, behind) / 2)) + 2.0
    return 1.5 * max(widths.get(bit.seam, 0.0) for bit in (before, behind)) + 2.0


def _turn(before: Bit, behind: Bit) -> float:
    one, other = before.at(1.0) - before.at(0.999), behind.at(0.001) - behind.at(0.0)
    quotient = other / one
    return math.atan2(quotient.imag, quotient.real)


def lengths(bits: Outline) -> dict[str, float]:
    """Return how long each seam is, in mm, without the mouths of its darts."""
    found: dict[str, float] = {}
    for bit in bits:
        if bit.seam != LEG:
            found[bit.seam] = found.get(bit.seam, 0.0) + bit.length()
    return found


def words_and_seams(root: Any, layer: Any, bits: Outline) -> dict[str, float]:
    """Return how far the word of each seam is from its seam, in mm."""
    unit = mm_per_unit(root)
    found: dict[str, float] = {}
    for word in layer.iter():
        if word.get(f"{OURS}part") != "seam-name":
            continue
        name = " ".join("".join(word.itertext()).split())
        at = complex(float(word.get("x")), float(word.get("y")))
        z = through(seen_through(word), at) * unit
        runs = [line([bit], 40) for bit in bits if bit.seam == name]
        far = min((run.distance(Point(z.real, z.imag)) for run in runs), default=math.inf)
        found[name] = max(found.get(name, 0.0), far)
    return found


#: Where an object says its place.
_PLACES = ("d", "x", "y", "cx", "cy", "r", "width", "height", "transform")
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")


def _is_note(element: Any) -> bool:
    return element.get(f"{OURS}part") == "note" and len(element) > 3


def geometry(layer: Any) -> list[tuple[str, ...]]:
    """Return the places of everything that is drawn of a result but its note, in a fixed order."""
    found = []
    for element in layer.iter():
        part = element.get(f"{OURS}part")
        if part and not _is_note(element):
            places = [f"{name}={element.get(name)}" for name in _PLACES if element.get(name)]
            found.append((part, "".join(element.itertext()), *places))
    return sorted(found)


def far_apart(was: Any, now: Any) -> float:
    """Return by how much numbers of two results' places differ at most; inf if texts do."""
    one, other = geometry(was), geometry(now)
    texts = [[_NUMBER.sub("#", " ".join(words)) for words in side] for side in (one, other)]
    if sorted(texts[0]) != sorted(texts[1]):
        return math.inf
    numbers = [
        sorted(
            (
                _NUMBER.sub("#", " ".join(words)),
                [float(n) for n in _NUMBER.findall(" ".join(words))],
            )
            for words in side
        )
        for side in (one, other)
    ]
    return max(
        float(abs(a - b))
        for (_, row), (_, row_) in zip(*numbers, strict=True)
        for a, b in zip(row, row_, strict=True)
    )


def but_for_the_note(root: Any) -> bytes:
    """Return a drawing as bytes, without the notes beside its pieces, and to nine decimals."""
    twin = copy.deepcopy(root)
    for element in [e for e in twin.iter() if isinstance(e.tag, str) and _is_note(e)]:
        element.getparent().remove(element)
    # The mark of what was drawn counts the notes.
    for stitch in [e for e in twin.iter() if isinstance(e.tag, str) and e.get(f"{OURS}as-drawn")]:
        del stitch.attrib[f"{OURS}as-drawn"]
    return re.sub(rb"(\.\d{9})\d+", rb"\1", etree.tostring(twin))
