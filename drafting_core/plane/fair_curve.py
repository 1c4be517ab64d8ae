"""A fair curve of a given length between two places with given directions there.

The curve's direction is a polynomial of the arc length: it turns from the one direction to the
other, evenly or mostly in the middle, and two more terms, the lowest that vanish at both ends,
take it to its end and give it its length. Its curvature then changes as slowly as it can.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from drafting_core.plane.curves import Cubic, Segment, chain_length, turn

#: In so many steps (an even number) it is reckoned where the curve leads.
_STEPS = 24
_SHARES = tuple(k / _STEPS for k in range(_STEPS + 1))
_ODD = tuple(u * (1.0 - u) for u in _SHARES)
_EVEN = tuple(u * (1.0 - u) * (2.0 * u - 1.0) for u in _SHARES)
_SIMPSON = tuple(
    (1.0 if k in (0, _STEPS) else 4.0 if k % 2 else 2.0) / (3.0 * _STEPS) for k in range(_STEPS + 1)
)
#: How much of its turning lies behind each step: evenly, then more and more in the middle.
TURNS = (
    _SHARES,
    tuple(u * u * (3.0 - 2.0 * u) for u in _SHARES),
    tuple(u**3 * (10.0 - 15.0 * u + 6.0 * u * u) for u in _SHARES),
    tuple(u**4 * (35.0 - 84.0 * u + 70.0 * u * u - 20.0 * u**3) for u in _SHARES),
)
#: How near the curve comes to its end, and its length to the wanted one (mm).
_CLOSES = 1e-7
_LENGTH_CLOSES = 1e-6
#: One cubic turns by no more than this, forth and back (rad).
_MOST_TURN = math.radians(35.0)
_COUNTS = (1, 2, 3, 4, 6)
#: A swing of the direction by less than this is no bend of its own (rad).
_NO_BEND = math.radians(0.5)
_ROUNDS = 16
_SAMPLES = 12


class FairCurve(NamedTuple):
    """A curve of a given length.

    Attributes:
        cubics: its cubics, in order, smooth where they meet.
        bending: the integral of its squared curvature over its length (1/mm).
        wave: how far its direction strays at most from an even turn, in radians.
        bends: how often it changes the side to which it bends.
    """

    cubics: tuple[Cubic, ...]
    bending: float
    wave: float
    bends: int


def fair_curve(
    start: complex,
    along: complex,
    end: complex,
    turning: float,
    length: float,
    turns: Sequence[float] = TURNS[0],
) -> FairCurve | None:
    """Return a curve of a given length that leaves and arrives in given directions.

    Args:
        start: where it starts, in mm.
        along: the unit vector along it there.
        end: where it ends, in mm.
        turning: by how much it turns on its way, in radians.
        length: how long it is to be, in mm.
        turns: how its turning is spread, one of `TURNS`.

    Returns:
        The curve, or None where there is none of this kind.
    """
    wanted, terms = length, (0.0, 0.0)
    for _ in range(_ROUNDS):
        found = _solved((end - start) / along, turning, wanted, turns, terms)
        if found is None:
            return None
        terms = found
        cubics = _cubics(start, along, end, turning, wanted, turns, terms)
        off = length - chain_length(cubics)
        if abs(off) <= _LENGTH_CLOSES:
            return _measured(cubics, turning, length)
        wanted += off
    return None


def turning_of(chain: Iterable[Segment]) -> float:
    """Return by how much a chain turns from its start to its end, corners too, in radians."""
    total, before = 0.0, None
    for segment in chain:
        for way in _ways(segment):
            total += 0.0 if before is None else turn(before, way)
            before = way
    return total


def _ways(segment: Segment) -> list[complex]:
    """Return the directions along a segment, from its start to its end."""
    ways = [segment.start_tangent()]
    if isinstance(segment, Cubic):
        ways += [segment.tangent(k / _SAMPLES) for k in range(1, _SAMPLES)]
    return [*ways, segment.end_tangent()]


def _solved(
    chord: complex,
    turning: float,
    length: float,
    turns: Sequence[float],
    terms: tuple[float, float],
) -> tuple[float, float] | None:
    """Return the two terms with which the curve leads to its end (Newton, in short steps)."""
    one, two = terms
    for _ in range(2 * _ROUNDS):
        off, by_one, by_two = -chord, 0j, 0j
        for weight, turned, odd, even in zip(_SIMPSON, turns, _ODD, _EVEN, strict=True):
            step = weight * length * cmath.exp(1j * (turning * turned + one * odd + two * even))
            off += step
            by_one += step * odd
            by_two += step * even
        if abs(off) <= _CLOSES:
            return one, two
        # off + 1j (by_one x + by_two y) = 0
        goal = 1j * off
        size = (by_one.conjugate() * by_two).imag
        if abs(size) < 1e-12 or max(abs(one), abs(two)) > 40.0:
            return None
        x = (goal.conjugate() * by_two).imag / size
        y = (by_one.conjugate() * goal).imag / size
        short = min(1.0, 0.7 / max(abs(x), abs(y)))
        one, two = one + x * short, two + y * short
    return None


def _cubics(
    start: complex,
    along: complex,
    end: complex,
    turning: float,
    length: float,
    turns: Sequence[float],
    terms: tuple[float, float],
) -> list[Cubic]:
    """Return cubics along the curve, equally long, their handles those of arcs that turn so."""
    ways = [
        turning * turned + terms[0] * odd + terms[1] * even
        for turned, odd, even in zip(turns, _ODD, _EVEN, strict=True)
    ]
    turned = sum(abs(b - a) for a, b in pairwise(ways))
    count = next((n for n in _COUNTS if n * _MOST_TURN >= turned), _COUNTS[-1])
    count = max(2, count)
    size = _STEPS // count
    # Two steps each, by Simpson's rule with the direction in between from its neighbours.
    at, places = start, [start]
    for k in range(_STEPS):
        middle = (ways[k] + ways[k + 1]) / 2
        if 0 < k < _STEPS - 1:
            middle = (9.0 * (ways[k] + ways[k + 1]) - ways[k - 1] - ways[k + 2]) / 16
        step = sum(
            weight * cmath.exp(1j * way)
            for weight, way in ((1.0, ways[k]), (4.0, middle), (1.0, ways[k + 1]))
        )
        at += along * step * length / (6.0 * _STEPS)
        places.append(at)
    places[-1] = end
    cubics = []
    for k in range(0, _STEPS, size):
        quarter = (ways[k + size] - ways[k]) / 4.0
        arc = math.tan(quarter) / quarter if quarter else 1.0
        handle = along * arc * length / count / 3.0
        cubics.append(
            Cubic(
                places[k],
                places[k] + handle * cmath.exp(1j * ways[k]),
                places[k + size] - handle * cmath.exp(1j * ways[k + size]),
                places[k + size],
            )
        )
    return cubics


def _measured(cubics: Sequence[Cubic], turning: float, length: float) -> FairCurve:
    walked = turned = bending = wave = swing = 0.0
    bends, side = 0, 0.0
    for cubic in cubics:
        points = [*cubic.flattened(_SAMPLES), cubic.end]
        for (here, there), (before, after) in zip(
            pairwise(points), pairwise(_ways(cubic)), strict=True
        ):
            step, angle = abs(there - here), turn(before, after)
            walked, turned = walked + step, turned + angle
            bending += angle * angle / step
            wave = max(wave, abs(turned - turning * walked / length))
            # A swing counts as soon as it is large enough, until one the other way is.
            swing = swing + angle if swing * angle >= 0.0 else angle
            if abs(swing) >= _NO_BEND:
                bends += side * swing < 0.0
                side = swing
    return FairCurve(tuple(cubics), bending, wave, bends)
