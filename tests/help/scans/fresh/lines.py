"""Polylines of complex points: arrays in mm, y pointing down; what drawing and judging share."""

from __future__ import annotations

import cmath
import math
import random
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Line = NDArray[np.complex128]


def line(*points: complex) -> Line:
    """Return a polyline through points."""
    return np.array(points, dtype=np.complex128)


def lengths(points: Line) -> NDArray[np.float64]:
    """Return how far along itself each point of a polyline lies."""
    return np.concatenate([[0.0], np.cumsum(np.abs(np.diff(points)))])


def along(points: Line, places: Sequence[float] | NDArray[np.float64]) -> Line:
    """Return the points of a polyline so far along it."""
    at = lengths(points)
    return np.asarray(np.interp(places, at, points.real) + 1j * np.interp(places, at, points.imag))


def dense(points: Line, step: float = 1.0) -> Line:
    """Return a polyline with points evenly along it, about so far apart, ends kept."""
    whole = float(lengths(points)[-1])
    return along(points, np.linspace(0.0, whole, max(2, round(whole / step) + 1)))


def part(points: Line, start: float, end: float) -> Line:
    """Return the stretch of a polyline between two distances along it."""
    at = lengths(points)
    inner = points[(at > start + 1e-9) & (at < end - 1e-9)]
    first, last = along(points, [start, end])
    return np.concatenate([[first], inner, [last]])


def cubic(p: complex, q: complex, start: float, end: float, reach: float = 0.36) -> Line:
    """Return a curve from p to q, its tangents turned so far (radians) from the chord."""
    chord = q - p
    if start == end == 0.0:
        return line(p, q)
    b = p + chord * cmath.exp(1j * start) * reach
    c = q - chord * cmath.exp(1j * end) * reach
    t = np.linspace(0.0, 1.0, max(12, round(abs(chord) / 1.5)))
    s = 1.0 - t
    return np.asarray(s**3 * p + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * q)


def way(points: Line, *, at_end: bool) -> complex:
    """Return the unit tangent of a polyline at its start or its end."""
    step = points[-1] - points[-2] if at_end else points[1] - points[0]
    return complex(step / abs(step))


def longer(points: Line, before: float = 0.0, after: float = 0.0) -> Line:
    """Return a polyline run on straight at its ends, or cut there where that is negative."""
    whole = float(lengths(points)[-1])
    kept = part(points, max(0.0, -before), whole - max(0.0, -after))
    if before > 0:
        kept = np.concatenate([[kept[0] - before * way(kept, at_end=False)], kept])
    if after > 0:
        kept = np.concatenate([kept, [kept[-1] + after * way(kept, at_end=True)]])
    return kept


def normals(points: Line) -> Line:
    """Return the unit normals of a polyline at its points, to the right as one sees it."""
    steps = np.diff(points)
    steps = steps / np.abs(steps)
    tangents = np.concatenate([[steps[0]], steps[:-1] + steps[1:], [steps[-1]]])
    return np.asarray(1j * tangents / np.maximum(np.abs(tangents), 1e-12))


def wobbled(rng: random.Random, points: Line, amplitude: float) -> Line:
    """Return a stroke as an unsteady hand draws it: nowhere further off than the amplitude."""
    fine = dense(points)
    if amplitude <= 0 or len(fine) < 3:
        return fine
    at, off, whole = lengths(fine), np.zeros(len(fine)), 0.0
    for _ in range(4):
        weight, length = rng.uniform(0.5, 1.0), rng.uniform(14.0, 70.0)
        off += weight * np.sin(2 * math.pi * at / length + rng.uniform(0.0, 2 * math.pi))
        whole += weight
    return np.asarray(fine + normals(fine) * off * (amplitude / whole))


def dashes(points: Line, on: float, off: float, phase: float = 0.0) -> list[Line]:
    """Return the dashes of a line; the phase says how far within its first dash it begins."""
    whole, start = float(lengths(points)[-1]), -phase
    found = []
    while start < whole:
        first, last = max(0.0, start), min(whole, start + on)
        if last - first > 0.05:
            found.append(part(points, first, last))
        start += on + off
    return found


def circle(centre: complex, radius: float, count: int = 24) -> Line:
    """Return a closed circle, its first point not repeated."""
    return np.asarray(centre + radius * np.exp(2j * math.pi * np.arange(count) / count))


def area(points: Line) -> float:
    """Return the area of a closed line; positive where it runs clockwise as seen on the page."""
    return float(np.sum(points.real * np.roll(points.imag, -1) -
                        np.roll(points.real, -1) * points.imag)) / 2  # fmt: skip


def crossing(p: complex, along_p: complex, q: complex, along_q: complex) -> complex | None:
    """Return where two straight lines cross, given by a point and a direction each."""
    across = (along_p.conjugate() * along_q).imag
    if abs(across) < 1e-6:
        return None
    return p + along_p * (((q - p).conjugate() * along_q).imag / across)


def rigid(points: Line, wanted: Line, weights: NDArray[np.float64]) -> tuple[complex, complex]:
    """Return factor and offset of the turn and shift that bring points nearest to others."""
    share = weights / weights.sum()
    mean, goal = complex((points * share).sum()), complex((wanted * share).sum())
    fit = complex(np.sum(share * (wanted - goal) * np.conj(points - mean)))
    factor = fit / abs(fit) if abs(fit) > 0 else 1.0 + 0j
    return factor, goal - factor * mean
