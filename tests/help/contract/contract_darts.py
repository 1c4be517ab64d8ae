"""The contract's rules for darts: fold, cap, window, cut line and marks, checked independently."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from itertools import pairwise

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
from tests.help.contract.folded_paper import Mouth, Paper, Solid, judged


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


def build_paper(model: Model, folds: dict[int, int], expectation: Expectation,
                result: Result) -> Paper:
    """The expected piece with the cut line, windows and notches that were written."""
    block = expectation.drawing.block
    solids: list[Solid] = []
    mouths: list[Mouth] = []
    count = len(model.pieces)
    start = next((k for k in range(count)
                  if model.pieces[k].run >= 0 and model.pieces[k - 1].run < 0), 0)
    for n in range(start, start + count):
        piece = model.pieces[n % count]
        if piece.run >= 0:
            solids.append(Solid(piece.points, expectation.width(piece.run, block),
                                run=piece.run))
        elif not mouths or mouths[-1].before != len(solids) - 1:
            opening = model.openings[piece.dart]
            mouths.append(Mouth(len(solids) - 1, opening.ends, opening.point,
                                folds[piece.dart]))
    return Paper(
        tuple(solids), tuple(mouths),
        tuple(result.subpaths(result.parts["cut-line"][0])[0][0]),
        tuple(tuple(result.subpaths(e)[0][0]) for e in result.parts.get("trim-window", [])),
        tuple(tuple(result.nodes(e)) for e in result.parts.get("notch", [])),
        tuple(k for k, solid in enumerate(solids) if solid.run in expectation.drawing.folds))


def stitched(model: Model, caps: dict[int, list[Points]]) -> list[Points]:
    """The stitch line with the darts' caps across their mouths."""
    pieces: list[Points] = []
    for index, piece in enumerate(model.pieces):
        if piece.run >= 0:
            pieces.append(piece.points)
        elif model.pieces[index - 1].run >= 0:
            opening, cap = model.openings[piece.dart], caps[piece.dart]
            if abs(cap[0][0] - opening.ends[0]) > abs(cap[-1][-1] - opening.ends[0]):
                cap = [points[::-1] for points in reversed(cap)]
            pieces += cap
    return pieces


def check_cut_line(paper: Paper, cut: list[Points]) -> Iterator[str]:
    """Everything of a piece that is folded shut, and that the cut line has no needless corners."""
    yield from judged(paper)
    polygon = Polygon(ring(cut))
    if not polygon.is_valid:
        return
    kinks: list[tuple[float, complex]] = []
    for one, two in zip(cut, cut[1:] + cut[:1], strict=True):
        turn = abs(math.degrees(cmath.phase(tangent(two, False) / tangent(one, True))))
        if turn >= 0.5 and not paper.may_turn(two[0], turn):
            kinks.append((turn, two[0]))
    if kinks:
        turn, spot = max(kinks, key=lambda kink: kink[0])
        yield (f"the cut line has {len(kinks)} corners where the stitch line is smooth, one of "
               f"{turn:.2f} degrees at {spot:.3f}")


def check_window(opening: Opening, window: list[Points], trim: float, capped: list[Points],
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
        caps = [LineString(flat(p)) for p in capped]
        for k in range(1, 20):
            z = vertex + (far - vertex) * k / 20
            here = Point(z.real, z.imag)
            inside = Polygon(ring(capped)).contains(here)
            if inside and min(c.distance(here) for c in caps) > 0.1 and (
                    border.distance(here) > 1e-3):
                yield f"the trimmed edge is not part of the cut line at {z:.3f}"
                break
    inner = Polygon(ring(window)).buffer(-0.05)
    left = Polygon(ring(cut)).intersection(inner)
    if left.area > 0.01:
        yield f"{left.area:.3f} mm2 of the trim window are left inside the cut line"


def check_dart_marks(result: Result, model: Model, opening: Opening, paper: Paper,
                     cut: list[Points]) -> Iterator[str]:
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
    # Where the notches lie is judged with the darts shut; here how deep they are.
    line = LineString([*ring(cut), ring(cut)[0]])
    for end in opening.ends:
        widths = [solid.width for solid in paper.solids
                  if min(abs(solid.points[0] - end), abs(solid.points[-1] - end)) < 1e-6]
        way = (end - opening.point) / abs(end - opening.point)
        for notch in paper.notches:
            along = [(z - opening.point) / way for z in notch]
            out = [z.real for z in along
                   if abs(z.imag) < 0.05 and z.real > abs(end - opening.point) - 1e-3]
            if not out:
                continue
            room = max(out) - abs(end - opening.point)
            depth = max(line.distance(Point(z.real, z.imag)) for z in notch)
            if depth > max(*widths, room) / 2 + 1e-3:
                yield f"a notch at {end:.3f} is {depth:.3f} mm deep, widths {widths}"


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
