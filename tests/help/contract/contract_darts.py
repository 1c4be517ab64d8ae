"""The contract's rules for darts: fold, cap, window, cut line and marks, checked independently."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LinearRing, LineString, Point, Polygon

from tests.help.blocks.random_blocks import Points, at, nearest, tangent
from tests.help.contract.contract_model import (
    Expectation,
    Model,
    Opening,
    Piece,
    Result,
    as_line,
    flat,
    ring,
)


def _class(runs: tuple[str, ...], opening: Opening, apex: complex, model: Model) -> str | None:
    """The row of the trade's table: the seam of the mouth, ``meeting``, or None where unclear."""
    one, two = (runs[run] for run in opening.runs)
    if one != two:
        if {one, two} == {"neckline", "centre front"}:
            return "meeting"
        return None
    if one in ("neckline", "centre front"):
        other = "centre front" if one == "neckline" else "neckline"
        joined = [p.points[0] for p in model.pieces if p.run >= 0 and runs[p.run] == other] + [
            p.points[-1] for p in model.pieces if p.run >= 0 and runs[p.run] == other]
        own = [z for p in model.pieces if p.run >= 0 and runs[p.run] == one
               for z in (p.points[0], p.points[-1])]
        tips = [z for z in joined if min(abs(z - w) for w in own) < 1e-6]
        if tips:
            gap = min(abs(z - end) for z in tips for end in opening.ends)
            if gap < 9:
                return "meeting"
            if gap < 11:
                return None
    return one


def expected_fold(expectation: Expectation, model: Model, opening: Opening) -> tuple[str, int]:
    """The word of the fold's direction and the leg (0 before, 1 after the mouth), or -1."""
    drawing = expectation.drawing
    block = drawing.block
    row = _class(block.runs, opening, block.apex, model)
    word = expectation.fold
    if word == "auto":
        near_corner = row == "meeting" and opening.runs[0] == opening.runs[1]
        if row is None or near_corner or not drawing.names:
            return "", -1
        word = "centre" if row in ("meeting", "neckline", "shoulder", "waist", "hem") else "down"
        if row in ("cap", "wrist"):
            return "", -1
    spin = cmath.exp(-1j * model.centre_turn)
    chord = (opening.ends[1] - opening.ends[0]) * spin
    upright = any(name.startswith("centre") for name in block.runs)
    if word in ("centre", "side"):
        if not upright or (row or "").startswith("centre") or (
                abs(chord.real) < 0.2 * abs(chord)):
            return word, -1
        leg = 0 if chord.real > 0 else 1
        return word, leg if word == "centre" else 1 - leg
    inverse = drawing.to_root.inverse()
    page = inverse(1j) - inverse(0j)
    down = 1j if block.kind in ("front", "back") and drawing.names else page * spin
    if block.kind == "skirt":
        down = 1j if page.imag > 0.3 else 0j
    rise = (chord * down.conjugate()).real
    if abs(rise) < 0.2 * abs(chord):
        return word, -1
    leg = 1 if rise > 0 else 0
    return word, leg if word == "down" else 1 - leg


def fold_chain(model: Model, opening: Opening, leg: int) -> tuple[list[Piece], bool]:
    """The seam from the mouth on the fold's side up to its first point at half the angle.

    Returns:
        The stitch pieces passed, and whether another open mouth comes before the end.
    """
    number = model.openings.index(opening)
    count = len(model.pieces)
    legs = [k for k, p in enumerate(model.pieces) if p.dart == number]
    first, step = (legs[0] - 1, -1) if leg == 0 else (legs[1] + 1, 1)
    axis = opening.ends[leg] - opening.point
    axis /= abs(axis)
    passed: list[Piece] = []
    for n in range(count):
        piece = model.pieces[(first + n * step) % count]
        if piece.run < 0:
            return passed, True
        passed.append(piece)
        for k in range(101):
            t = k / 100 if step > 0 else 1 - k / 100
            polar = cmath.phase((at(piece.points, t) - opening.point) / axis)
            away = polar if leg == 1 else -polar
            if away >= opening.at_point / 2 and away < 2.8:
                return passed, False
    return passed, False


def check_cap(model: Model, opening: Opening, leg: int, cap: list[Points]) -> Iterator[str]:
    """The cap copies the fold side's seam: a reflection in its leg, then its mirror image."""
    fold_end, other_end = opening.ends[leg], opening.ends[1 - leg]
    if abs(cap[0][0] - fold_end) > abs(cap[-1][-1] - fold_end):
        cap = [points[::-1] for points in reversed(cap)]
    for end, mine in ((fold_end, cap[0][0]), (other_end, cap[-1][-1])):
        if abs(end - mine) > 1e-7:
            yield f"cap ends {abs(end - mine):.6g} mm from its mouth end {end:.3f}"
    for one, two in pairwise(cap):
        if abs(one[-1] - two[0]) > 1e-7:
            yield f"cap is broken at {one[-1]:.3f}"
    chain, _ = fold_chain(model, opening, leg)
    axis = (fold_end - opening.point) / abs(fold_end - opening.point)
    centre = opening.centre
    seam = [p.points for p in chain]
    worst, where = 0.0, 0j
    for points in cap:
        for k in range(9):
            z = at(points, (k + 0.5) / 9) - opening.point
            phi = cmath.phase(z / axis) * (1 if leg == 0 else -1)
            if phi > opening.at_point / 2:
                z = centre * centre * z.conjugate()
            image = opening.point + axis * axis * z.conjugate()
            off = min(nearest(s, image)[1] for s in seam)
            if off > worst:
                worst, where = off, z + opening.point
    if worst > 1e-6:
        yield f"cap leaves the folded seam by {worst:.6g} mm at {where:.3f}"


@dataclass(frozen=True)
class Base:
    """The stitch line with caps: pieces in order, each with its width."""

    pieces: tuple[Points, ...]
    widths: tuple[float, ...]

    def joints(self) -> list[tuple[complex, float, bool]]:
        """Corners and changes of width: place, radius within which the cut line is free, step."""
        found = []
        for k, one in enumerate(self.pieces):
            two = self.pieces[(k + 1) % len(self.pieces)]
            w1, w2 = self.widths[k], self.widths[(k + 1) % len(self.widths)]
            turn = abs(cmath.phase(tangent(two, False) / tangent(one, True)))
            if turn < math.radians(0.05) and abs(w1 - w2) < 1e-9:
                continue
            wide = max(w1, w2)
            reach = wide
            if turn > math.radians(14):
                reach = min(math.sqrt(max(0.0, w1 * w1 + w2 * w2 - 2 * w1 * w2 * math.cos(turn)))
                            / max(abs(math.sin(turn)), 1e-6), 4.2 * wide)
            elif abs(w1 - w2) < 1e-9:
                reach = wide / math.cos(turn / 2)
            found.append((two[0], max(reach, wide) * 1.15 + 0.5, abs(w1 - w2) > 1e-9))
        return found


def build_base(model: Model, caps: dict[int, list[Points]], folds: dict[int, int],
               expectation: Expectation) -> Base:
    """Replace each dart's V by its cap, widths copied from the seam each piece copies."""
    block = expectation.drawing.block
    pieces: list[Points] = []
    widths: list[float] = []
    for index, piece in enumerate(model.pieces):
        if piece.run >= 0:
            pieces.append(piece.points)
            widths.append(expectation.width(piece.run, block))
        elif model.pieces[index - 1].run >= 0:
            opening = model.openings[piece.dart]
            leg, cap = folds[piece.dart], caps[piece.dart]
            if abs(cap[0][0] - opening.ends[0]) > abs(cap[-1][-1] - opening.ends[0]):
                cap = [points[::-1] for points in reversed(cap)]
            axis = opening.ends[leg] - opening.point
            axis /= abs(axis)
            chain, _ = fold_chain(model, opening, leg)
            for points in cap:
                z = at(points, 0.5) - opening.point
                if cmath.phase(z / axis) * (1 if leg == 0 else -1) > opening.at_point / 2:
                    z = opening.centre**2 * z.conjugate()
                image = opening.point + axis * axis * z.conjugate()
                copied = min(chain, key=lambda p: nearest(p.points, image)[1])
                pieces.append(points)
                widths.append(expectation.width(copied.run, block))
    return Base(tuple(pieces), tuple(widths))


def _points(zs: list[complex]) -> Any:
    return shapely.points([[z.real, z.imag] for z in zs])


def check_cut_line(base: Base, cut: list[Points], stitch: list[Points],
                   windows: list[list[Points]]) -> Iterator[str]:
    """Distance, enclosure, simplicity, smoothness, and nothing of the parallel left out."""
    shape = ring(cut)
    if not LinearRing(shape).is_simple:
        yield "the cut line crosses itself"
        return
    polygon = Polygon(shape)
    if not polygon.buffer(2e-3).contains(Polygon(ring(stitch))):
        outside = Polygon(ring(stitch)).difference(polygon.buffer(2e-3))
        yield (f"the cut line does not enclose the stitch line: {outside.area:.4f} mm2 at "
               f"{outside.representative_point().wkt}")
    lines = [LineString(flat(p)) for p in base.pieces]
    shapely.prepare(lines)
    widths = np.array(base.widths)
    joints = base.joints()
    edge = LinearRing(shape)
    panes = [Polygon(ring(w)) for w in windows]

    def free(z: complex, steps_only: bool = False) -> bool:
        return any(abs(z - j) < r for j, r, step in joints if step or not steps_only)

    samples = [at(p, (k + 0.5) / 12) for p in cut for k in range(12)]
    table = np.array([shapely.distance(line, _points(samples)) for line in lines])
    worst = [0.0, 0.0]
    spots = [0j, 0j]
    for column, z in enumerate(samples):
        if any(pane.boundary.distance(Point(z.real, z.imag)) < 0.02 for pane in panes):
            continue
        off = table[:, column] - widths
        on = float(np.abs(off).min())
        if on > worst[0] and not free(z):
            worst[0], spots[0] = on, z
        deep = float(-off.min())
        if deep > worst[1] and not free(z, True):
            worst[1], spots[1] = deep, z
    if worst[0] > 0.0115:
        yield f"the cut line is {worst[0]:.4f} mm off the parallel at {spots[0]:.3f}"
    if worst[1] > 0.0115:
        yield f"the cut line comes {worst[1]:.4f} mm too near to the stitch line at {spots[1]:.3f}"
    lost, spot = 0.0, 0j
    for points, width in zip(base.pieces, base.widths, strict=True):
        for k in range(9):
            t = (k + 0.5) / 9
            way = at(points, min(1, t + 1e-5)) - at(points, max(0, t - 1e-5))
            z = at(points, t) - 1j * width * way / abs(way)
            here = Point(z.real, z.imag)
            if free(z, True) or any(pane.buffer(0.05).contains(here) for pane in panes):
                continue
            if float((shapely.distance(lines, here) - widths).min()) < -0.0015:
                continue
            if free(z) and polygon.contains(here):  # covered by a neighbouring mitre
                continue
            if edge.distance(here) > lost:
                lost, spot = edge.distance(here), z
    if lost > 0.0125:
        yield f"the cut line leaves out the parallel by {lost:.4f} mm at {spot:.3f}"
    kinks: list[tuple[float, complex]] = []
    for one, two in zip(cut, cut[1:] + cut[:1], strict=True):
        turn = abs(math.degrees(cmath.phase(tangent(two, False) / tangent(one, True))))
        here = Point(two[0].real, two[0].imag)
        if turn < 0.5 or free(two[0]) or any(p.boundary.distance(here) < 0.02 for p in panes):
            continue
        equal = np.abs(shapely.distance(lines, here) - widths) < 0.05
        if int(equal.sum()) < 2 or turn < 2:
            kinks.append((turn, two[0]))
    if kinks:
        turn, spot = max(kinks, key=lambda kink: kink[0])
        yield (f"the cut line has {len(kinks)} corners where the stitch line is smooth, one of "
               f"{turn:.2f} degrees at {spot:.3f}")


def check_window(opening: Opening, window: list[Points], trim: float, base: Base,
                 cut: list[Points]) -> Iterator[str]:
    """Edges parallel to the legs at the trim allowance, vertex on the bisector, cut out whole."""
    vertex = opening.point + opening.centre * trim / math.sin(opening.at_point / 2)
    nodes = [p[0] for p in window]
    near = min(range(len(nodes)), key=lambda k: abs(nodes[k] - vertex))
    if abs(nodes[near] - vertex) > 1e-6:
        yield f"trim window's vertex is {abs(nodes[near] - vertex):.6g} mm off"
        return
    border = LinearRing(ring(cut))
    for piece in (window[near], window[near - 1]):
        if len(as_line(piece)) != 2:
            yield "an edge of the trim window is no line"
            continue
        far = piece[0] if abs(piece[0] - vertex) > abs(piece[-1] - vertex) else piece[-1]
        offs = [abs(((far - opening.point) * ((end - opening.point) / abs(end - opening.point))
                     .conjugate()).imag) for end in opening.ends]
        if abs(min(offs) - trim) > 1e-6:
            yield f"an edge of the trim window runs {min(offs):.6f} mm from the leg, not {trim}"
        caps = [LineString(flat(p)) for p in base.pieces]
        for k in range(1, 20):
            z = vertex + (far - vertex) * k / 20
            here = Point(z.real, z.imag)
            inside = Polygon(ring(list(base.pieces))).contains(here)
            if inside and min(c.distance(here) for c in caps) > 0.1 and (
                    border.distance(here) > 1e-3):
                yield f"the trimmed edge is not part of the cut line at {z:.3f}"
                break
    inner = Polygon(ring(window)).buffer(-0.05)
    left = Polygon(ring(cut)).intersection(inner)
    if left.area > 0.01:
        yield f"{left.area:.3f} mm2 of the trim window are left inside the cut line"


def check_dart_marks(result: Result, model: Model, opening: Opening, base: Base,
                     cut: list[Points], expectation: Expectation) -> Iterator[str]:
    """Point, legs, centre line, drill hole and notches of one dart."""
    def closest(name: str, z: complex) -> float:
        return min((abs(result.centre(e) - z) for e in result.parts.get(name, [])),
                   default=math.inf)

    if closest("dart-point", opening.point) > 1e-6:
        yield f"no dart point at {opening.point:.4f} ({closest('dart-point', opening.point):.4g})"
    short = max(12.7, 2.0 / math.sin(opening.at_point / 2))
    middle = (opening.ends[0] + opening.ends[1]) / 2 - opening.point
    hole = opening.point + opening.centre * short
    if short > (middle / opening.centre).real / 2:
        if closest("drill-hole", hole) < 5.0:
            yield f"a drill hole past half the depth of the dart at {opening.point:.3f}"
    elif closest("drill-hole", hole) > 1e-6:
        yield f"drill hole {closest('drill-hole', hole):.6g} mm off"
    for end in opening.ends:
        if not any({True} == {min(abs(z - n) for n in result.nodes(e)) < 1e-6
                              for z in (end, opening.point)}
                   for e in result.parts.get("dart-leg", [])):
            yield f"no dart leg from {end:.3f} to {opening.point:.3f}"
    folds = [max(abs(((z - opening.point) / opening.centre).imag) for z in result.nodes(e))
             for e in result.parts.get("dart-fold", []) if result.nodes(e)]
    if min(folds, default=math.inf) > 1e-6:
        yield f"the dart's centre line leaves the bisector by {min(folds, default=math.inf):.6g}"
    line = LineString([*ring(cut), ring(cut)[0]])
    notches = [result.nodes(e) for e in result.parts.get("notch", [])]
    for end, run in zip(opening.ends, opening.runs, strict=True):
        widths = [w for p, w in zip(base.pieces, base.widths, strict=True)
                  if min(abs(p[0] - end), abs(p[-1] - end)) < 1e-6]
        if run in expectation.drawing.folds or not widths or min(widths) < 0.1:
            continue
        way = (end - opening.point) / abs(end - opening.point)
        ray = LineString([((end + way * s).real, (end + way * s).imag) for s in (-0.05, 400)])
        meets = shapely.get_coordinates(shapely.intersection(ray, line))
        places = [complex(x, y) for x, y in meets]
        if not places:
            yield f"the leg extended from {end:.3f} never meets the cut line"
            continue
        first = min(places, key=lambda z: abs(z - end))
        own = [n for n in notches if n and min(
            min(abs(z - w) for z in n) for w in places) < 0.05]
        if not own:
            gap = min((abs(z - first) for n in notches for z in n), default=math.inf)
            yield f"no notch where the leg from {end:.3f} meets the cut line (nearest {gap:.3f})"
            continue
        depth = max(line.distance(Point(z.real, z.imag)) for n in own[:1] for z in n)
        reach = max(abs(a - b) for a in own[0] for b in own[0])
        if depth > max(widths) / 2 + 1e-3 or (len(own[0]) == 2 and reach > max(widths) / 2 + 1e-3):
            yield f"a notch at {end:.3f} is {max(depth, 0):.3f} mm deep, widths {widths}"


def expected_excess(expectation: Expectation, model: Model, opening: Opening, leg: int,
                    cap: list[Points]) -> str:
    """``keep``, ``trim``, or nothing where the contract leaves it open."""
    row = _class(expectation.drawing.block.runs, opening, expectation.drawing.block.apex, model)
    intake = abs(opening.ends[1] - opening.ends[0])
    chain, reaches = fold_chain(model, opening, leg)
    on_fold = any(p.run in expectation.drawing.folds for p in chain)
    crest = 0.0
    for points in cap:
        for k in range(401):
            z = (at(points, k / 400) - opening.point) / opening.centre
            if abs(z.imag) < 0.5:
                crest = max(crest, z.real)
    room = crest - expectation.trim_allowance / math.sin(opening.at_point / 2)
    if 4.5 < room < 9 or abs(intake - expectation.wide) < 0.5:
        return ""
    if expectation.excess == "keep":
        return "" if reaches or on_fold else "keep"
    if expectation.excess == "trim" or reaches or on_fold:
        return "trim" if room > 9 else ""
    if row is None or not expectation.drawing.names or row in ("cap", "wrist"):
        return ""
    wide = intake > expectation.wide
    loose = expectation.cloth in ("sheer", "knit")
    if row == "meeting" or (row in ("neckline", "shoulder") and expectation.cloth != "woven"):
        wanted = "trim"
    elif row in ("armhole", "side seam", "underarm seam"):
        wanted = "keep" if expectation.cloth == "woven" else "trim"
    elif loose:
        wanted = "trim"
    else:
        wanted = "trim" if wide else "keep"
    return wanted if room > 9 else "keep"
