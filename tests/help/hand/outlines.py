"""A stitch line as the hand that reshapes it sees it: segments, each with the seam it is of.

Nothing of the core is used: what a test expects is not read by the code that it tests.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable, Sequence
from typing import NamedTuple

#: What a segment of a dart's leg is of.
LEG = ""
_TOKEN = re.compile(r"[MLCZ]|[-+\d.e]+")


class Bit(NamedTuple):
    """A segment of a stitch line: a line of two points or a cubic of four."""

    points: tuple[complex, ...]
    seam: str

    def at(self, t: float) -> complex:
        a, *between, d = self.points
        if not between:
            return a + (d - a) * t
        u = 1.0 - t
        b, c = between
        return u * u * u * a + 3 * t * u * (u * b + t * c) + t * t * t * d

    def cut(self, t: float) -> tuple[Bit, Bit]:
        """Return the two parts of it, by halving its control polygon over and over."""
        rows = [list(self.points)]
        while len(rows[-1]) > 1:
            rows.append([a + (b - a) * t for a, b in itertools.pairwise(rows[-1])])
        first = tuple(row[0] for row in rows)
        second = tuple(row[-1] for row in reversed(rows))
        return Bit(first, self.seam), Bit(second, self.seam)

    def moved(self, motion: Callable[[complex], complex]) -> Bit:
        return Bit(tuple(motion(z) for z in self.points), self.seam)

    def length(self) -> float:
        count = 400 if len(self.points) == 4 else 1
        dots = [self.at(k / count) for k in range(count + 1)]
        return math.fsum(abs(b - a) for a, b in itertools.pairwise(dots))


Outline = list[Bit]


def read_bits(data: str) -> Outline:
    """Read a closed path of absolute moves, lines and cubics."""
    words = _TOKEN.findall(data)
    bits: Outline = []
    first = here = 0j
    command, k = "", 0
    while k < len(words):
        if words[k].isalpha() and words[k] in "MLCZ":
            command, k = words[k], k + 1
            if command == "Z" and abs(here - first) > 1e-9:
                bits.append(Bit((here, first), LEG))
            continue
        count = 3 if command == "C" else 1
        numbers = [float(word) for word in words[k : k + 2 * count]]
        k += 2 * count
        points = [complex(*numbers[n : n + 2]) for n in range(0, 2 * count, 2)]
        if command == "M":
            first = points[0]
        else:
            bits.append(Bit((here, *points), LEG))
        here = points[-1]
    return bits


def path_of(bits: Outline, closed: bool = True) -> str:
    """Return the data of a path as it is typed."""
    words = [f"M {_pair(bits[0].points[0])}"]
    for bit in bits:
        words.append(
            ("L " if len(bit.points) == 2 else "C ") + " ".join(map(_pair, bit.points[1:]))
        )
    return " ".join(words) + (" Z" if closed else "")


def _pair(z: complex) -> str:
    return f"{z.real:.12f},{z.imag:.12f}"


def with_seams(
    bits: Outline,
    ends: Sequence[tuple[str, complex]],
    mouths: Sequence[tuple[complex, complex]],
) -> Outline:
    """Return an outline with the seam that each segment is of.

    Args:
        bits: the outline.
        ends: the name of each seam and where it starts.
        mouths: the ends of the darts' mouths.
    """

    def starts_at(z: complex) -> Callable[[Bit], bool]:
        return lambda bit: abs(bit.points[0] - z) < 1e-6

    first = next(k for k, bit in enumerate(bits) if starts_at(ends[0][1])(bit))
    turned = [*bits[first:], *bits[:first]]
    found: Outline = []
    seam, in_dart = ends[0][0], False
    for bit in turned:
        for name, z in ends:
            seam = name if starts_at(z)(bit) else seam
        if any(starts_at(mouth[0])(bit) for mouth in mouths):
            in_dart = True
        elif any(starts_at(mouth[1])(bit) for mouth in mouths):
            in_dart = False
        found.append(bit._replace(seam=LEG if in_dart else seam))
    return found


def corner(bits: Outline, before: str, behind: str) -> int:
    """Return the number of the segment that starts where one seam meets another."""
    return next(
        k for k, bit in enumerate(bits) if bit.seam == behind and bits[k - 1].seam == before
    )


def longest(bits: Outline, seam: str) -> int:
    """Return the number of a seam's longest segment."""
    of_seam = [k for k, bit in enumerate(bits) if bit.seam == seam]
    return max(of_seam, key=lambda k: bits[k].length())


def dart(bits: Outline, number: int = 0) -> tuple[int, int, int]:
    """Return the numbers of a dart's first leg, its second leg, and the seam behind its mouth."""
    count = len(bits)
    first = [k for k in range(count) if bits[k].seam == LEG and bits[k - 1].seam != LEG][number]
    legs = [first]
    while bits[(legs[-1] + 1) % count].seam == LEG:
        legs.append((legs[-1] + 1) % count)
    return legs[0], legs[len(legs) // 2], (legs[-1] + 1) % count


def node_moved(bits: Outline, k: int, by: complex) -> Outline:
    """Return an outline of which the node where a segment starts was dragged, with its handles."""
    found = list(bits)
    here, before = bits[k], bits[k - 1]
    points = list(here.points)
    points[0] += by
    if len(points) == 4:
        points[1] += by
    found[k] = here._replace(points=tuple(points))
    points = list(before.points)
    points[-1] += by
    if len(points) == 4:
        points[2] += by
    found[k - 1] = before._replace(points=tuple(points))
    return found


def outward(bits: Outline) -> complex:
    """Return what turns a tangent of an outline to its outside."""
    dots = [bit.at(k / 8) for bit in bits for k in range(8)]
    area = math.fsum(
        a.real * b.imag - a.imag * b.real for a, b in zip(dots, [*dots[1:], dots[0]], strict=True)
    )
    return -1j if area > 0 else 1j


def normal(bits: Outline, k: int, t: float = 0.5) -> complex:
    """Return the direction to the outside at a place of an outline."""
    along = bits[k].at(min(1.0, t + 1e-5)) - bits[k].at(max(0.0, t - 1e-5))
    return outward(bits) * along / abs(along)
