"""Notches punched into the edge of a template: taken off the line, their places kept.

A notch is a short way inward and back between two places of the edge that lie near to each other
and in one line: what comes before it goes on after it. The edge is drawn on across its mouth and
counts as not drawn there, so that no seam is fitted to it. A dart is deeper than any notch.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drafting_core.ink.pen_line import Ring, known_between, spread
from drafting_core.ink.polylines import Points, diagonal, resampled
from drafting_core.ink.trace_corners import size_factor

#: What goes less deep into the edge than this (mm) is a notch; what goes deeper may be a dart.
DEEPEST = 15.0
#: What goes less deep than this (mm) is a rough edge.
_SHALLOWEST = 2.0
#: A notch's mouth is at most so wide (mm) …
_WIDEST = 12.0
#: … and at most this part of the way through it.
_MOUTH_PART = 0.85
#: The edge before a notch and after it lie in one line, but for so much (radians) …
_IN_LINE = math.radians(14.0)
#: … and so much (mm) aside, and this part of its mouth.
_ASIDE, _ASIDE_PART = 0.4, 0.12
#: The edge's direction is taken over so much of it (mm), …
_EDGE = 3.0
#: … but not of what lies nearer to the mouth (mm): a scanner rounds its corners.
_ROUNDED = 0.8
#: Over so much of the edge (mm) on either side of it a notch's bottom is seen: the way back is
#: shorter by this part, and it lies inward by this (mm).
_BEND, _BENT, _INWARD = 5.0, 0.9, 0.8
#: Beyond the places where the edge is seen to go on, the mouth's corners reach so far (mm).
_CORNERS = 2.0


class Notch(NamedTuple):
    """A notch that was taken off.

    Attributes:
        at: its place on the edge, in mm.
        depth: how deep it went, in mm.
    """

    at: complex
    depth: float


class _Span(NamedTuple):
    """A notch on a ring: the number of the point before its mouth, and how many points on."""

    first: int
    length: int


def without_notches(ring: Ring) -> tuple[Ring, list[Notch]]:
    """Take the notches off a ring.

    Args:
        ring: its interior at 1j·tangent, in mm.

    Returns:
        The ring with its edge drawn on across them, there not known; and the notches, in order.
    """
    points, known = ring.points, ring.known
    step = float(abs(points[1] - points[0]))
    factor = size_factor(diagonal(points))
    spans = sorted(_spans(points, step, factor))
    if not spans:
        return ring, []
    # Run through from a place that lies in no notch.
    first = (spans[-1].first + spans[-1].length) % len(points)
    points, known = np.roll(points, -first), np.roll(known, -first)
    kept = np.ones(len(points), dtype=np.bool_)
    notches = []
    moved = points.copy()
    for span in spans:
        start = (span.first - first) % len(points)
        last = start + span.length
        across = _across(points, start, last, step, factor)
        mouth = points[last % len(points)] - points[start]
        inner = points[start : last + 1]
        depth = ((inner - points[start]) * np.conj(mouth / abs(mouth))).imag
        notches.append(Notch(complex(across[len(across) // 2]), float(depth.max())))
        kept[start + 1 : last] = False
        # A few of its points carry the way across; the others go.
        places = np.linspace(start + 1, last - 1, len(across)).astype(np.int64)
        moved[places], kept[places] = across, True
        known[start + 1 : last] = False
    raw = moved[kept]
    even = resampled(raw, step, closed=True)
    drawn = spread(raw, known[kept] & known_between(kept), even)
    return ring._replace(points=even, known=drawn), notches


def _spans(points: Points, step: float, factor: float) -> list[_Span]:
    """Return the notches of a ring, none overlapping another."""
    count = len(points)
    most = round((2.0 * DEEPEST + _WIDEST) * factor / step)
    if most >= count // 4:
        return []
    starts = _near_inward_bends(points, step, factor, most)
    if not len(starts):
        return []
    rounded, edge = max(1, round(_ROUNDED * factor / step)), max(2, round(_EDGE * factor / step))
    before = points[starts - rounded] - points[starts - rounded - edge]
    before /= np.maximum(np.abs(before), 1e-12)
    after = np.roll(points, -rounded - edge) - np.roll(points, -rounded)
    after /= np.maximum(np.abs(after), 1e-12)
    corners = round(_CORNERS * factor / step)
    found: list[_Span] = []
    taken = np.zeros(count, dtype=np.bool_)
    for lag in range(round(2.0 * _SHALLOWEST * factor / step), most):
        ends = (starts + lag) % count
        mouth = (points[ends] - points[starts]) * np.conj(before)
        wide = np.abs(mouth)
        bend = after[ends] * np.conj(before)
        fits = (
            (wide <= min(_WIDEST * factor, _MOUTH_PART * lag * step))
            & (bend.real >= math.cos(_IN_LINE))
            & (np.abs(mouth.imag) <= _ASIDE * factor + _ASIDE_PART * wide)
            & (mouth.real > -_ASIDE * factor)
        )
        for first in starts[fits].tolist():
            span = _Span((first - corners) % count, lag + 2 * corners)
            numbers = (span.first + np.arange(span.length + 1)) % count
            if not taken[numbers].any() and _is_notch(points[numbers], factor):
                taken[numbers] = True
                found.append(span)
    return found


def _near_inward_bends(points: Points, step: float, factor: float, reach: int) -> NDArray[np.int64]:
    """Return the numbers of the points from which a notch may begin: before a bend inward.

    Args:
        points: of a ring, its interior at 1j·tangent.
        step: how far apart they are, in mm.
        factor: what lengths are multiplied by.
        reach: so many points before a bend at the most.
    """
    half = max(1, round(_BEND * factor / step))
    chord = np.roll(points, -half) - np.roll(points, half)
    inward = ((points - np.roll(points, half)) * np.conj(chord)).imag
    size = np.abs(chord)
    bends = (size < _BENT * 2 * half * step) & (inward > _INWARD * factor * size - 1e-9)
    wanted = np.zeros(len(points), dtype=np.int64)
    first = np.flatnonzero(bends)
    # Marked where a stretch begins and where it ends: what lies in one sums up to more than 0.
    np.add.at(wanted, (first - reach) % len(points), 1)
    np.add.at(wanted, (first + 1) % len(points), -1)
    open_at_start = np.count_nonzero(first - reach < 0)
    return np.flatnonzero(np.cumsum(wanted) + open_at_start > 0)


def _is_notch(points: Points, factor: float) -> bool:
    """Tell whether a stretch of an edge goes inward as a notch does, and nowhere outward."""
    mouth = points[-1] - points[0]
    if abs(mouth) < 1e-9:
        return False
    away = ((points - points[0]) * np.conj(mouth / abs(mouth))).imag
    deep = float(away.max())
    outward = float(-away.min())
    return _SHALLOWEST * factor <= deep < DEEPEST * factor and outward <= 0.2 * deep


def _across(points: Points, start: int, last: int, step: float, factor: float) -> Points:
    """Return points on the curve on which an edge runs on across a notch's mouth, ends left out."""
    count, edge = len(points), max(2, round(_EDGE * factor / step))
    p, q = points[start], points[last % count]
    leaving = p - points[(start - edge) % count]
    arriving = points[(last + edge) % count] - q
    reach = abs(q - p) / 3.0
    b = p + leaving / abs(leaving) * reach
    c = q - arriving / abs(arriving) * reach
    t = np.linspace(0.0, 1.0, max(3, round(abs(q - p) / step) + 1))[1:-1]
    s = 1.0 - t
    return np.asarray(s**3 * p + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * q)
