"""Punched templates of card, and lines that a hand has set node by node or stroke by stroke."""

from __future__ import annotations

import cmath
import itertools
import random
from dataclasses import replace

import numpy as np
from shapely import LineString, Point, unary_union
from shapely.geometry import Polygon

from tests.help.scans.fresh.lines import Line, along, circle, dense, lengths, longer, part
from tests.help.scans.fresh.pieces import Piece, Run, TrueDart, random_piece
from tests.help.scans.fresh.plain_kinds import begun
from tests.help.scans.fresh.sheets import Hand, Sheet, Stroke, outline_strokes, polygon, some_words


def _notch(rng: random.Random, at: complex, inward: complex, what: str) -> Polygon:
    """Return what a punch takes off an edge at a place: a V or a slit."""
    aside = inward * 1j
    if what == "V":
        depth, half = rng.uniform(4.0, 9.0), rng.uniform(2.0, 4.0)
        corners = [at - aside * half - inward, at + inward * depth, at + aside * half - inward]
    else:
        depth, half = rng.uniform(4.0, 12.0), rng.uniform(0.5, 1.0)
        corners = [at - aside * half - inward, at - aside * half + inward * depth,
                   at + aside * half + inward * depth, at + aside * half - inward]  # fmt: skip
    return Polygon([(z.real, z.imag) for z in corners])


def templates(rng: random.Random) -> Sheet:
    """Return a silhouette of card with notches, slits and punched holes."""
    sheet, piece, _hand = begun(rng, own=True)
    apexes = []
    if piece.darts and rng.random() < 0.6:
        piece = replace(piece, darts=tuple(_punched(rng, dart) for dart in piece.darts))
        sheet.pieces = [piece]
        apexes = [dart.apex for dart in piece.darts]
    body = polygon(piece.fine_line)
    counts = {"V": 0, "slit": 0}
    what = rng.choice(("V", "slit", "both"))
    for run in piece.runs:
        whole = float(lengths(run.points)[-1])
        if run.is_leg or whole < 60:
            continue
        for share in rng.sample((0.3, 0.5, 0.7), rng.choice((0, 1, 1, 2))):
            place = whole * share
            before, at, after = along(run.points, [place - 1.0, place, place + 1.0])
            inward = complex(1j * (after - before) / abs(after - before))
            sort = rng.choice(("V", "slit")) if what == "both" else what
            counts[sort] += 1
            body = body.difference(_notch(rng, complex(at), inward, sort))
    others = rng.choice((0, 0, 2))
    holes = [circle(at, rng.uniform(1.0, 2.0)) for at in apexes]
    inner = body.buffer(-25.0)
    for _ in range(others):
        z = complex(inner.representative_point().x, inner.representative_point().y)
        z += complex(rng.uniform(-30, 30), rng.uniform(-30, 30))
        if inner.contains(Point(z.real, z.imag)) and all(abs(z - a) > 30 for a in apexes):
            holes.append(circle(z, rng.uniform(2.5, 4.0)))
    body = unary_union(body)
    sheet.fills = [np.array([complex(x, y) for x, y in body.exterior.coords[:-1]])]
    sheet.holes = holes
    sheet.scanning.dpi = max(150.0, sheet.scanning.dpi)
    sheet.detail = (
        f"{counts['V']} V, {counts['slit']} slits, {len(apexes)} apex holes, {piece.kind}"
    )
    return sheet


def _punched(rng: random.Random, dart: TrueDart) -> TrueDart:
    """Return a dart with its apex beyond its point, where a hole can be punched."""
    away = dart.point - (dart.start + dart.end) / 2
    return replace(dart, apex=dart.point + away / abs(away) * rng.uniform(8.0, 16.0))


def _nodes_of(rng: random.Random, run: Run, most_off: float) -> Line:
    """Return nodes on a run, so near that their polyline is nowhere further off than said."""
    if len(run.points) == 2:
        return run.points
    whole = float(lengths(run.points)[-1])
    for count in range(3, 40):
        nodes = along(run.points, np.linspace(0.0, whole, count))
        fine = along(run.points, np.linspace(0.0, whole, 12 * (count - 1) + 1))
        steps = np.arange(12) / 12
        chords = np.concatenate([a + (b - a) * steps for a, b in itertools.pairwise(nodes)])
        if np.abs(chords - fine[:-1]).max() <= most_off:
            return nodes
    return run.points


def _jittered(rng: random.Random, points: Line, by: float) -> Line:
    off = [cmath.rect(rng.uniform(0, by), rng.uniform(0, 2 * np.pi)) for _ in points]
    return np.asarray(points + np.array(off))


def _hand_set(rng: random.Random, sheet: Sheet, piece: Piece) -> str:
    """Draw a piece as vectors of some nodes; return how."""
    how = rng.choice(("polyline", "cubic", "open polylines"))
    nodes = [_nodes_of(rng, run, rng.uniform(0.25, 0.5)) for run in piece.runs]
    if how == "polyline":
        points = np.concatenate([part_nodes[:-1] for part_nodes in nodes])
        sheet.paths.append((_jittered(rng, points, 0.2), True))
        return f"{how} of {len(points)} nodes"
    if how == "open polylines":
        for points in nodes:
            sheet.paths.append((_jittered(rng, points, 0.3), False))
        return f"{how} of {sum(map(len, nodes))} nodes"
    cubics: list[Line] = []
    for run in piece.runs:
        if len(run.points) == 2:
            cubics.append(run.points)
            continue
        cubics += _cubics_on(run.points, rng.choice((2, 3, 4)))
    sheet.curves.append(tuple(cubics))
    return f"cubic of {len(cubics)} segments"


def _cubics_on(points: Line, count: int) -> list[Line]:
    """Return cubics along a curve, so many or as many more as a careful hand needs to follow it."""
    whole = float(lengths(points)[-1])
    true = LineString(np.column_stack([points.real, points.imag]))
    for number in range(count, count + 12):
        found, drawn_line = [], []
        for a, b in itertools.pairwise(np.linspace(0.0, whole, number + 1)):
            stretch = dense(part(points, a, b), 0.2)
            reach = float(lengths(stretch)[-1]) / 3
            first = stretch[0] + _unit(stretch[1] - stretch[0]) * reach
            last = stretch[-1] - _unit(stretch[-1] - stretch[-2]) * reach
            found.append(np.array([stretch[0], first, last, stretch[-1]]))
            t = np.linspace(0.0, 1.0, 33)
            s, z = 1.0 - t, found[-1]
            near, far = 3 * s * s * t, 3 * s * t * t
            drawn_line.append(s**3 * z[0] + near * z[1] + far * z[2] + t**3 * z[3])
        line = np.concatenate(drawn_line)
        if LineString(np.column_stack([line.real, line.imag])).hausdorff_distance(true) <= 0.4:
            break
    return found


def _unit(z: complex) -> complex:
    return z / abs(z)


def _sketched(rng: random.Random, run: Run, apart: float) -> list[Line]:
    """Return two strokes about a run, their mean the run, nowhere further apart than said."""
    points = dense(run.points)
    at = lengths(points)
    wave = sum(
        np.sin(2 * np.pi * at / rng.uniform(60, 200) + rng.uniform(0, 6.3)) for _ in range(2)
    )
    off = (wave / 2) * apart / 2
    found = []
    for side in (1, -1):
        stroke = longer(points, rng.uniform(0, 2.5), rng.uniform(0, 2.5))
        extra = len(stroke) - len(points)
        lead = 1 if abs(stroke[0] - points[0]) > 1e-9 else 0
        padded = np.pad(off, (lead, extra - lead), mode="edge")
        steps = np.gradient(stroke)
        found.append(np.asarray(stroke + side * padded * 1j * steps / np.abs(steps)))
    return found


def hand_set(rng: random.Random) -> Sheet:
    """Return lines that a hand has set: vectors of few nodes, or sketchy double strokes."""
    piece = random_piece(rng, own=True)
    how = rng.choice(("nodes", "nodes", "double vectors", "double scan"))
    if how == "nodes":
        sheet = Sheet([piece])
        sheet.detail = f"{_hand_set(rng, sheet, piece)}, {piece.kind}"
        return sheet
    apart = rng.uniform(0.8, 2.0)
    if how == "double vectors":
        sheet = Sheet([piece])
        for run in piece.runs:
            sheet.paths += [(points[::3], False) for points in _sketched(rng, run, apart)]
    else:
        sheet, piece, hand = begun(rng, own=True, thickest=0.6)
        hand = Hand(0.05, hand.pen)
        for run in piece.runs:
            if run.is_leg and rng.random() < 0.5:
                sheet.strokes += outline_strokes(rng, replace(piece, runs=(run,)), hand)
                continue
            sheet.strokes += [Stroke(points, hand.pen) for points in _sketched(rng, run, apart)]
        some_words(rng, sheet, piece, rng.randrange(2))
    sheet.detail = f"{how} {apart:.1f} apart, {piece.kind}"
    return sheet
