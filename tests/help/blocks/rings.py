"""Invented rings, and an independent reference for their cut lines."""

from __future__ import annotations

import cmath
import math
import random

from shapely.geometry import MultiPolygon, Polygon
from shapely.ops import unary_union

from drafting_core.allowance.cut_line import Strip, cut_line
from drafting_core.plane.curves import Cubic, Line, Segment, dot, turn, unit

HALF_INCH = 12.7


def ring(*places: tuple[float, float]) -> list[Segment]:
    """Return the closed polygon through some points."""
    points = [complex(*place) for place in places]
    return [Line(p, q) for p, q in zip(points, points[1:] + points[:1], strict=True)]


def cut(segments: list[Segment], *widths: float) -> list[Segment]:
    """Return the cut line at one width, or at one width for each segment."""
    each = widths if len(widths) > 1 else widths * len(segments)
    return cut_line([Strip(s, w) for s, w in zip(segments, each, strict=True)])


def area(segments: list[Segment]) -> float:
    return sum(segment.area() for segment in segments)


def polygon(segments: list[Segment], pieces: int = 150) -> Polygon:
    points = [z for s in segments for z in s.flattened(pieces)]
    return Polygon([(z.real, z.imag) for z in points])


def reference(segments: list[Segment], width: float, pieces: int = 150) -> Polygon:
    """Return the piece with one allowance all round, by union of polygons.

    The piece itself, a quadrangle along each of many chords, and at each outward corner the
    wedge up to the mitre, cut square at four widths.
    """
    parts = [polygon(segments, pieces)]

    def add(*points: complex) -> None:
        part = Polygon([(z.real, z.imag) for z in points])
        if part.area > 1e-12:
            parts.append(part if part.is_valid else part.buffer(0))

    for segment, following in zip(segments, segments[1:] + segments[:1], strict=True):
        count = pieces if isinstance(segment, Cubic) else 1
        for k in range(count):
            t, u = k / count, (k + 1) / count
            p, q = segment.point(t), segment.point(u)
            add(p, q, q - 1j * segment.tangent(u) * width, p - 1j * segment.tangent(t) * width)
        way_in, way_out = segment.end_tangent(), following.start_tangent()
        angle, corner = turn(way_in, way_out), segment.end
        if angle > 1e-6:
            one, other = corner - 1j * way_in * width, corner - 1j * way_out * width
            if math.cos(angle / 2) >= 0.25:
                add(corner, one, one + way_in * width * math.tan(angle / 2), other)
            else:
                outward = unit(way_in - way_out)
                ahead = (4 * width - dot(one - corner, outward)) / dot(way_in, outward)
                add(corner, one, one + way_in * ahead, other - way_out * ahead, other)
    whole = unary_union([part.buffer(1e-6, join_style="mitre") for part in parts])
    if isinstance(whole, MultiPolygon):
        whole = max(whole.geoms, key=lambda part: part.area)
    return Polygon(whole.exterior)


def star(rng: random.Random, count: int, curved: float = 0.5) -> list[Segment]:
    """Return a random star-shaped ring of lines and curves, with inward corners."""
    points = [
        rng.uniform(60, 200) * cmath.exp(1j * math.tau * (k + rng.uniform(-0.35, 0.35)) / count)
        for k in range(count)
    ]
    found: list[Segment] = []
    for p, q in zip(points, points[1:] + points[:1], strict=True):
        along = q - p
        if rng.random() < curved:
            one, other = rng.uniform(-0.35, 0.35), rng.uniform(-0.35, 0.35)
            found.append(Cubic(p, p + along * (0.3 + 1j * one), p + along * (0.7 + 1j * other), q))
        else:
            found.append(Line(p, q))
    return found


def front() -> tuple[list[Segment], list[float]]:
    """Return an invented bodice front with its usual widths, in mm."""
    cf_neck, neck, shoulder, underarm = 80j, 75 + 0j, 190 + 35j, 230 + 220j
    side, middle, cf_hem = 235 + 420j, 120 + 432j, 430j
    fold = 185 + 195j
    return [
        Cubic(cf_neck, cf_neck + 45, neck + (-8 + 50j), neck),
        Line(neck, shoulder),
        Cubic(shoulder, shoulder + (-25 + 60j), 165 + 170j, fold),
        Cubic(fold, 205 + 220j, 215 + 219j, underarm),
        Cubic(underarm, underarm + (-5 + 60j), side + (-6 - 70j), side),
        Cubic(side, side + (-40 + 12j), middle + 40, middle),
        Cubic(middle, middle - 40, cf_hem + 40, cf_hem),
        Line(cf_hem, cf_neck),
    ], [6.35, HALF_INCH, HALF_INCH, HALF_INCH, HALF_INCH, 30.0, 30.0, 0.0]


def wavy_ring(count: int) -> list[Segment]:
    """Return a ring of lines with waves long and short."""
    points = [
        (150 + 20 * math.sin(9 * a) + 5 * math.sin(37 * a)) * cmath.exp(1j * a)
        for a in (math.tau * k / count for k in range(count))
    ]
    return [Line(p, q) for p, q in zip(points, points[1:] + points[:1], strict=True)]
