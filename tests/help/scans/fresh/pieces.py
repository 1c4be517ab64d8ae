"""Invented pieces: fronts, backs, skirts, trousers, sleeves and yokes with no, one or two darts.

Millimetres, y pointing down; an outline runs clockwise as seen on the page, so that the cloth
lies at ``1j * tangent``. Proportions are invented.
"""

from __future__ import annotations

import cmath
import math
import random
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from tests.help.blocks.random_blocks import at, random_block
from tests.help.scans.fresh.lines import Line, along, cubic, dense, lengths, line, part

Motion = Callable[[Line], Line]


@dataclass(frozen=True)
class Run:
    """A stretch of an outline from corner to corner: a seam's part or a dart's leg."""

    seam: str
    points: Line
    is_leg: bool = False


@dataclass(frozen=True)
class TrueDart:
    """A dart: the ends of its mouth in the outline's order, its point, and the apex it aims at."""

    start: complex
    point: complex
    end: complex
    apex: complex


@dataclass(frozen=True)
class Piece:
    """A piece: its outline in runs, in order, and its darts."""

    kind: str
    runs: tuple[Run, ...]
    darts: tuple[TrueDart, ...] = ()

    @property
    def line(self) -> Line:
        """Its closed outline, the first point not repeated."""
        return np.concatenate([run.points[:-1] for run in self.runs])

    @property
    def fine_line(self) -> Line:
        """Its closed outline with a point at every millimetre or so."""
        return np.concatenate([dense(run.points)[:-1] for run in self.runs])

    @property
    def corners(self) -> Line:
        """Where its runs begin."""
        return np.array([run.points[0] for run in self.runs])

    @property
    def seam_count(self) -> int:
        """How many seams it has: the parts on both sides of a dart are one."""
        return len({run.seam for run in self.runs if not run.is_leg})

    def mapped(self, motion: Motion) -> Piece:
        """Return it with all its points moved."""

        def one(z: complex) -> complex:
            return complex(motion(line(z))[0])

        return replace(
            self,
            runs=tuple(replace(run, points=motion(run.points)) for run in self.runs),
            darts=tuple(
                TrueDart(one(d.start), one(d.point), one(d.end), one(d.apex)) for d in self.darts
            ),
        )


@dataclass(frozen=True)
class _DartPlan:
    """Where a dart goes: on which seam, at which share of it, how deep, wide and slanted (mm)."""

    seam: str
    share: float
    depth: float
    width: float
    slant: float = 0.0
    lowered: float = 0.0


def _with_dart(piece: Piece, plan: _DartPlan) -> Piece | None:
    """Return a piece with a notch of equal legs in a seam, or None where it has no room."""
    number = next(k for k, run in enumerate(piece.runs) if run.seam == plan.seam)
    points = dense(piece.runs[number].points, 0.5)
    whole = float(lengths(points)[-1])
    middle = plan.share * whole
    first = middle - plan.width / 2
    if first < 22.0 or whole - middle - plan.width / 2 < 22.0:
        return None
    start, on = along(points, [first, middle])
    tangent = along(points, [middle + 1.0])[0] - along(points, [middle - 1.0])[0]
    tangent /= abs(tangent)
    point = complex(on + tangent * (plan.slant + 1j * plan.depth))
    # The other end lies where its leg is as long: the seam is followed until it is.
    places = np.linspace(middle, min(whole - 15.0, middle + 3.0 * plan.width), 4000)
    longer_by = np.abs(along(points, places) - point) - abs(start - point)
    if longer_by[0] >= 0 or longer_by[-1] <= 0:
        return None
    last = float(places[int(np.argmax(longer_by > 0))])
    end = complex(along(points, [last])[0])
    if not 0.5 * plan.width < last - first < 1.8 * plan.width:
        return None
    before, after = part(points, 0.0, first), part(points, last, whole)
    if len(piece.runs[number].points) == 2:
        before, after = before[[0, -1]], after[[0, -1]]
    start = complex(start)
    away = point - (start + end) / 2
    apex = point + away / abs(away) * plan.lowered
    runs = (
        *piece.runs[:number],
        Run(plan.seam, before),
        Run("dart", line(start, point), is_leg=True),
        Run("dart", line(point, end), is_leg=True),
        Run(plan.seam, after),
        *piece.runs[number + 1 :],
    )
    return replace(piece, runs=runs, darts=(*piece.darts, TrueDart(start, point, end, apex)))


def _outline(
    kind: str, corners: list[complex], seams: list[str], bends: list[tuple[float, float]]
) -> Piece:
    runs = []
    for k, (seam, bend) in enumerate(zip(seams, bends, strict=True)):
        runs.append(Run(seam, cubic(corners[k], corners[(k + 1) % len(corners)], *bend)))
    return Piece(kind, tuple(runs))


def _bodice(rng: random.Random, kind: str) -> tuple[Piece, list[_DartPlan]]:
    width, height = rng.uniform(190, 300), rng.uniform(330, 470)
    neck = rng.uniform(60, 85)
    drop = rng.uniform(70, 100) if kind == "front" else rng.uniform(18, 32)
    tip = complex(neck + rng.uniform(95, 130), rng.uniform(32, 55))
    under = complex(width, rng.uniform(180, 220))
    side = complex(width * rng.uniform(0.86, 0.99), height - rng.uniform(0, 14))
    steep = rng.uniform(0.5, 0.75) if kind == "front" else rng.uniform(0.2, 0.3)
    bow = rng.choice((0.0, rng.uniform(0.02, 0.09)))
    centre = "centre front" if kind == "front" else "centre back"
    piece = _outline(
        kind,
        [complex(0, drop), neck + 0j, tip, under, side, complex(0, height)],
        ["neckline", "shoulder", "armhole", "side seam", "waist", centre],
        [(steep, -steep), (0.0, 0.0), (rng.uniform(0.3, 0.55), -rng.uniform(0.7, 1.0)),
         rng.choice(((0.0, 0.0), (0.05, -0.05))), (-bow, bow), (0.0, 0.0)],
    )  # fmt: skip
    plans = [
        _DartPlan("waist", rng.uniform(0.4, 0.62), rng.uniform(95, 165), rng.uniform(16, 44),
                  rng.uniform(-10, 10), rng.choice((0.0, 0.0, rng.uniform(10, 25)))),
        _DartPlan("shoulder", rng.uniform(0.42, 0.58), rng.uniform(65, 100), rng.uniform(9, 18),
                  rng.uniform(-6, 6)),
    ]  # fmt: skip
    if kind == "front":
        plans.append(
            _DartPlan("side seam", rng.uniform(0.25, 0.6), rng.uniform(70, 110),
                      rng.uniform(15, 38), rng.uniform(-14, 14),
                      rng.choice((0.0, rng.uniform(10, 25))))
        )  # fmt: skip
    return piece, plans


def _skirt(rng: random.Random, kind: str) -> tuple[Piece, list[_DartPlan]]:
    waist, length = rng.uniform(170, 250), rng.uniform(330, 620)
    flare, bow = rng.uniform(15, 70), rng.uniform(0.02, 0.09)
    hem = rng.choice((0.0, rng.uniform(0.02, 0.06)))
    piece = _outline(
        kind,
        [0j, complex(waist, -rng.uniform(4, 16)), complex(waist + flare, length - 5 * hem),
         complex(0, length)],
        ["waist", "side seam", "hem", rng.choice(("centre front", "centre back"))],
        [(bow, -bow), (-rng.uniform(0.06, 0.16), rng.uniform(0.03, 0.08)), (hem, -hem),
         (0.0, 0.0)],
    )  # fmt: skip
    plans = [
        _DartPlan("waist", share, rng.uniform(75, 140), rng.uniform(12, 30), rng.uniform(-5, 5))
        for share in (rng.uniform(0.26, 0.36), rng.uniform(0.62, 0.72))
    ]
    return piece, plans


def _trousers(rng: random.Random, kind: str) -> tuple[Piece, list[_DartPlan]]:
    rise, hip = rng.uniform(220, 280), rng.uniform(220, 290)
    length = rng.choice((rng.uniform(380, 470), rng.uniform(380, 520), rng.uniform(850, 1000)))
    waist, fork = hip * rng.uniform(0.78, 0.88), rng.uniform(40, 95)
    leg = rng.uniform(0.72, 0.86) * (hip + fork)
    left = fork * 0.4 + rng.uniform(0, 15)
    # From the waist's centre to the side, down, and back up to the fork.
    inset = rng.uniform(10, 25)
    corners = [
        complex(fork + inset, 0.0), complex(fork + inset + waist, -rng.uniform(3, 14)),
        complex(left + leg, length), complex(left, length), complex(0.0, rise),
    ]  # fmt: skip
    bow = rng.uniform(0.02, 0.05)
    piece = _outline(
        kind,
        corners,
        ["waist", "side seam", "hem", "inseam", "crotch seam"],
        [(bow, -bow), (-rng.uniform(0.08, 0.14), rng.uniform(0.02, 0.06)), (0.0, 0.0),
         (rng.uniform(0.0, 0.05), -rng.uniform(0.02, 0.08)),
         (rng.uniform(0.75, 1.0), -rng.uniform(0.2, 0.35))],
    )  # fmt: skip
    plans = [
        _DartPlan("waist", share, rng.uniform(70, 115), rng.uniform(12, 26), rng.uniform(-4, 4))
        for share in (rng.uniform(0.28, 0.38), rng.uniform(0.62, 0.7))
    ]
    return piece, plans


def _sleeve(rng: random.Random, kind: str) -> tuple[Piece, list[_DartPlan]]:
    width, cap = rng.uniform(280, 380), rng.uniform(95, 140)
    length = cap + rng.uniform(110, 440)
    inset = rng.uniform(15, 45)
    top = complex(width * rng.uniform(0.46, 0.54), 0.0)
    left, right = complex(0, cap), complex(width, cap)
    rising, falling = top - left, right - top
    level_1, level_2 = -cmath.phase(rising), -cmath.phase(falling)
    head = np.concatenate(
        [
            cubic(left, top, rng.uniform(0.1, 0.3), level_1, 0.4)[:-1],
            cubic(top, right, level_2, -rng.uniform(0.1, 0.3), 0.4),
        ]
    )
    rest = _outline(
        kind,
        [right, complex(width - inset, length), complex(inset, length), left],
        ["underarm 1", "hem", "underarm 2", "nothing"],
        [(0.0, 0.0), (0.0, 0.0), (0.0, 0.0), (0.0, 0.0)],
    )
    piece = Piece(kind, (Run("cap", head), *rest.runs[:3]))
    plans = [_DartPlan("underarm 1", rng.uniform(0.45, 0.6), rng.uniform(60, 95),
                       rng.uniform(10, 20), rng.uniform(-5, 5))]  # fmt: skip
    return piece, plans


def _yoke(rng: random.Random, kind: str) -> tuple[Piece, list[_DartPlan]]:
    neck, drop = rng.uniform(65, 85), rng.uniform(20, 35)
    tip = complex(neck + rng.uniform(95, 125), rng.uniform(30, 45))
    depth = rng.uniform(120, 170)
    foot = complex(tip.real - rng.uniform(2, 12), depth - rng.uniform(0, 12))
    bow = rng.choice((0.0, rng.uniform(0.02, 0.07)))
    piece = _outline(
        kind,
        [complex(0, drop), neck + 0j, tip, foot, complex(0, depth)],
        ["neckline", "shoulder", "armhole", "yoke seam", "centre back"],
        [(0.25, -0.3), (0.0, 0.0), (0.16, -0.12), (bow, -bow), (0.0, 0.0)],
    )
    plans = [_DartPlan("yoke seam", rng.uniform(0.45, 0.6), rng.uniform(45, 70),
                       rng.uniform(8, 14), rng.uniform(-3, 3))]  # fmt: skip
    return piece, plans


_MAKERS: dict[str, Callable[[random.Random, str], tuple[Piece, list[_DartPlan]]]] = {
    "front": _bodice,
    "back": _bodice,
    "skirt": _skirt,
    "trousers": _trousers,
    "sleeve": _sleeve,
    "yoke": _yoke,
}
PIECE_KINDS = tuple(_MAKERS)


def _of_random_blocks(rng: random.Random) -> Piece:
    """Return a block of `random_blocks` as a piece."""
    block = random_block(rng, scale=1.0)
    runs: list[Run] = []
    previous: tuple[str, int, bool] | None = None
    for index, segment in enumerate(block.segments):
        is_leg = segment.seam == "dart"
        key = ("dart", index, True) if is_leg else (segment.seam, segment.run, index > block.mouth)
        count = 2 if len(segment.points) == 2 else 80
        points = np.array([at(segment.points, k / (count - 1)) for k in range(count)])
        if key == previous:
            runs[-1] = replace(runs[-1], points=np.concatenate([runs[-1].points[:-1], points]))
        else:
            name = segment.seam if is_leg else f"{segment.seam} {segment.run}"
            runs.append(Run(name, points, is_leg))
        previous = key
    start, end = block.mouth_ends
    point = block.segments[block.mouth].points[1]
    return Piece(block.kind, tuple(runs), (TrueDart(start, point, end, block.apex),))


def random_piece(
    rng: random.Random,
    *,
    kinds: tuple[str, ...] = PIECE_KINDS,
    darts: tuple[int, ...] = (0, 1, 1, 1, 2),
    own: bool = False,
) -> Piece:
    """Return an invented piece.

    Args:
        rng: where chance comes from.
        kinds: of which kinds.
        darts: with how many darts; each number as often as it stands here.
        own: whether none of `random_blocks` may be taken.
    """
    wanted = rng.choice(darts)
    if not own and wanted == 1 and kinds == PIECE_KINDS and rng.random() < 0.3:
        return _of_random_blocks(rng)
    while True:
        kind = rng.choice(kinds)
        piece, plans = _MAKERS[kind](rng, kind)
        rng.shuffle(plans)
        for plan in plans[:wanted]:
            found = _with_dart(piece, plan)
            if found is None:
                break
            piece = found
        if len(piece.darts) == wanted and _is_plausible(piece):
            return piece


def _is_plausible(piece: Piece) -> bool:
    """Darts keep clear of each other and of what is not their seam, and the shape is simple."""
    from shapely import LineString, Polygon

    shape = Polygon([(z.real, z.imag) for z in piece.line])
    if not shape.is_valid:
        return False
    for number, dart in enumerate(piece.darts):
        legs = LineString([(z.real, z.imag) for z in (dart.start, dart.point, dart.end)])
        tip = LineString([(z.real, z.imag) for z in (dart.point, dart.apex)]) if (
            dart.apex != dart.point) else legs  # fmt: skip
        for other in piece.darts[:number]:
            far = LineString([(z.real, z.imag) for z in (other.start, other.point, other.end)])
            if legs.distance(far) < 25.0 or tip.distance(far) < 25.0:
                return False
        width = abs(dart.end - dart.start)
        if not 0.04 < math.atan2(width / 2, abs(dart.point - (dart.start + dart.end) / 2)) < 0.5:
            return False
        for run in piece.runs:
            if not run.is_leg:
                seam = LineString([(z.real, z.imag) for z in run.points])
                point = LineString([(z.real, z.imag) for z in (dart.point, dart.apex + 1e-3)])
                if seam.distance(point) < 25.0:
                    return False
    return True
