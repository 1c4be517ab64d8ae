"""Paper blocks that carry the cut line beside the stitch line."""

from __future__ import annotations

import random

import numpy as np
from shapely import LineString, Point

from tests.help.scans.fresh.lines import Line, crossing, line, longer, normals, way
from tests.help.scans.fresh.pieces import Piece, Run
from tests.help.scans.fresh.plain_kinds import begun, signed_apexes
from tests.help.scans.fresh.sheets import Hand, Sheet, drawn, drawn_dashed, some_words

_WIDTHS = (6.0, 8.0, 10.0, 10.0, 12.0, 15.0, 20.0, 25.0)
_HEMS = (15.0, 25.0, 30.0, 40.0)


def some_widths(rng: random.Random, piece: Piece) -> tuple[dict[str, float], str]:
    """Return a width for each seam (0: the edge on the fold), and what they are in a word."""
    names = list(dict.fromkeys(run.seam for run in piece.runs if not run.is_leg))
    if rng.random() < 0.4:
        width = rng.uniform(6.0, 25.0)
        widths, said = dict.fromkeys(names, width), "equal"
    else:
        widths = {name: rng.choice(_HEMS if "hem" in name else _WIDTHS) for name in names}
        said = "per seam"
    straight = [
        run.seam for run in piece.runs if run.seam.startswith("centre") and len(run.points) == 2
    ]
    if straight and rng.random() < 0.45:
        widths[straight[0]] = 0.0
        said += ", fold"
    return widths, said


def _between(before: Line, after: Line, at: complex, most: float) -> list[complex]:
    """Return what joins two parallels at a corner: where they meet, or nothing (a step)."""
    met = crossing(complex(before[-1]), way(before, at_end=True),
                   complex(after[0]), way(after, at_end=False))  # fmt: skip
    if met is None or abs(met - at) > 3.5 * most:
        return []
    return [met]


def cut_lines(
    rng: random.Random, piece: Piece, widths: dict[str, float], mouth: str
) -> tuple[list[Line], Line]:
    """Return the strokes of a cut line, and all of it as one closed line.

    Args:
        rng: where chance comes from.
        piece: the stitch line.
        widths: by seam, in mm; 0 where the edge is on the fold and drawn once.
        mouth: how it crosses the mouths of darts: "straight" or "cap".
    """
    numbers = [k for k, run in enumerate(piece.runs) if not run.is_leg]
    offset = {
        k: piece.runs[k].points - normals(piece.runs[k].points) * widths[piece.runs[k].seam]
        for k in numbers
    }
    parts: list[tuple[Line, bool]] = []
    joins: list[list[complex]] = []
    for place, k in enumerate(numbers):
        after = numbers[(place + 1) % len(numbers)]
        own, other = offset[k], offset[after]
        if after != (k + 1) % len(piece.runs):
            joins.append([])
            if mouth == "cap":
                middle = (own[-1] + other[0]) / 2
                outward = (other[0] - own[-1]) * -1j
                joins[-1] = [complex(middle + outward * rng.uniform(0.12, 0.3))]
        else:
            run, following = piece.runs[k], piece.runs[after]
            most = max(widths[run.seam], widths[following.seam])
            joins.append(_between(own, other, complex(run.points[-1]), most))
        parts.append((own, widths[piece.runs[k].seam] > 0))
    strokes, whole = [], []
    for place, (points, is_drawn) in enumerate(parts):
        before, after_join = joins[place - 1], joins[place]
        full = np.concatenate([before[-1:], points, after_join])
        whole.append(full)
        if is_drawn:
            following_is_drawn = parts[(place + 1) % len(parts)][1]
            if following_is_drawn:
                full = (
                    np.append(full, parts[(place + 1) % len(parts)][0][0])
                    if not after_join
                    else full
                )
            strokes.append(full)
    return strokes, np.concatenate(whole)


def _reaching(start: complex, towards: complex, cut: Line, most: float) -> complex:
    """Return where a line from a point in a direction meets the cut line."""
    end = start + towards / abs(towards) * most
    ring = LineString([(z.real, z.imag) for z in np.append(cut, cut[0])])
    ray = LineString([(start.real, start.imag), (end.real, end.imag)])
    met = ray.intersection(ring)
    if met.is_empty:
        return start
    parts = list(getattr(met, "geoms", [met]))
    runs = [p for p in parts if isinstance(p, LineString)]
    if runs:
        # A fold edge lies on the line of the cut: it goes on to the cut line's own corner.
        ends = [complex(*at) for run in runs for at in run.coords]
        return max(ends, key=lambda z: abs(z - start))
    points = [p for p in parts if isinstance(p, Point)]
    return min((complex(p.x, p.y) for p in points), key=lambda z: abs(z - start), default=start)


def with_allowance(rng: random.Random, sheet: Sheet, piece: Piece, hand: Hand) -> None:
    """Draw a piece's stitch line and its cut line."""
    widths, said = some_widths(rng, piece)
    mouth = rng.choice(("straight", "straight", "cap"))
    strokes, cut = cut_lines(rng, piece, widths, mouth)
    style = rng.choice(("both solid", "both solid", "cut dashed", "stitch dashed"))
    legs_out = rng.random() < 0.45
    corners_out = rng.random() < 0.3
    on, off = rng.uniform(4.0, 12.0), rng.uniform(1.5, 4.0)
    other = Hand(hand.wobble, hand.pen * rng.uniform(0.7, 1.0))

    def ink(points: Line, is_dashed: bool, with_hand: Hand) -> None:
        if is_dashed:
            sheet.strokes.extend(
                drawn_dashed(rng, points, with_hand, on, off, rng.uniform(0, on / 2))
            )
        else:
            sheet.strokes.append(drawn(rng, points, with_hand))

    for points in strokes:
        ink(points, style == "cut dashed", hand)
    for number, run in enumerate(piece.runs):
        points = run.points
        is_fold = not run.is_leg and widths[run.seam] == 0
        if run.is_leg and legs_out:
            points = _leg_out(piece, number, cut)
        elif is_fold or (corners_out and not run.is_leg):
            points = _corners_out(piece, number, cut)
        ink(points, style == "stitch dashed" and not is_fold, other)
    sheet.allowances.append(widths)
    sheet.detail += (
        f"allowance {said}, {style}, mouth {mouth}, legs {'out' if legs_out else 'to stitch'}"
        f"{', corners out' if corners_out else ''}; "
    )


def _leg_out(piece: Piece, number: int, cut: Line) -> Line:
    run = piece.runs[number]
    first, last = complex(run.points[0]), complex(run.points[-1])
    if piece.runs[(number + 1) % len(piece.runs)].is_leg:
        return line(_reaching(first, first - last, cut, 60.0), last)
    return line(first, _reaching(last, last - first, cut, 60.0))


def _corners_out(piece: Piece, number: int, cut: Line) -> Line:
    """Return a run that goes on to the cut line at its ends, not where a dart is."""
    run: Run = piece.runs[number]
    points, count = run.points, len(piece.runs)
    if not piece.runs[number - 1].is_leg:
        start = complex(points[0])
        out = _reaching(start, -way(points, at_end=False), cut, 60.0)
        points = longer(points, before=abs(out - start))
    if not piece.runs[(number + 1) % count].is_leg:
        end = complex(points[-1])
        out = _reaching(end, way(points, at_end=True), cut, 60.0)
        points = longer(points, after=abs(out - end))
    return points


def allowance(rng: random.Random) -> Sheet:
    """Return a sheet with a drawn allowance."""
    sheet, piece, hand = begun(rng, own=True, thickest=0.8)
    with_allowance(rng, sheet, piece, hand)
    signed_apexes(rng, sheet, piece, hand.pen)
    some_words(rng, sheet, piece, rng.randrange(2))
    sheet.detail += piece.kind
    return sheet
