"""Roots of cubic polynomials in Bernstein form: where a cubic meets a line."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable


def bernstein_roots(coefficients: list[float]) -> list[float]:
    """Return the roots in [0, 1], ascending, of a cubic polynomial in Bernstein form.

    The polynomial is cut at its stationary points, so that each piece holds at most one root,
    which bisection with Newton steps then finds to the last bits.
    """
    a, b, c, d = coefficients

    def value(t: float) -> float:
        s = 1.0 - t
        return s * s * (s * a + 3.0 * t * b) + t * t * (3.0 * s * c + t * d)

    def slope(t: float) -> float:
        s = 1.0 - t
        return 3.0 * (s * s * (b - a) + 2.0 * s * t * (c - b) + t * t * (d - c))

    if min(coefficients) > 0.0 or max(coefficients) < 0.0:
        return []
    # Stationary points: p t² + 2 q t + r = 0 of the derivative over 3.
    p, q, r = (d - c) - 2.0 * (c - b) + (b - a), (c - b) - (b - a), b - a
    stops = [0.0]
    under = q * q - p * r
    if under >= 0.0:
        big = -q - math.copysign(math.sqrt(under), q)
        stops += sorted(
            t
            for t in ((big / p) if p else math.nan, (r / big) if big else math.nan)
            if 0.0 < t < 1.0
        )
    stops.append(1.0)
    roots: list[float] = []
    scale = max(abs(k) for k in coefficients) * 1e-15
    for low, high in itertools.pairwise(stops):
        at_low, at_high = value(low), value(high)
        if abs(at_low) <= scale:
            root = low
        elif abs(at_high) <= scale:
            root = high
        elif (at_low > 0.0) == (at_high > 0.0):
            continue
        else:
            root = _bracketed_root(value, slope, low, high, at_low)
        if not roots or root > roots[-1]:
            roots.append(root)
    return roots


def _bracketed_root(
    value: Callable[[float], float],
    slope: Callable[[float], float],
    low: float,
    high: float,
    at_low: float,
) -> float:
    t = 0.5 * (low + high)
    for _ in range(100):
        height = value(t)
        if height == 0.0:
            break
        if (height > 0.0) == (at_low > 0.0):
            low = t
        else:
            high = t
        steep = slope(t)
        step = t - height / steep if steep else low
        new = step if low < step < high else 0.5 * (low + high)
        if abs(new - t) <= 1e-16 or new in (low, high):
            t = new
            break
        t = new
    return t
