"""A sheet of paper as it is drawn, how it is scanned, and the truth that belongs to it."""

from __future__ import annotations

import cmath
import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
from shapely import Point, Polygon

from tests.help.scans.fresh.lines import Line, dashes, dense, line, longer, wobbled
from tests.help.scans.fresh.pieces import Piece

Map = Callable[[Line], Line]


class Stroke(NamedTuple):
    """A stroke of a pen: its line and the pen's width, in mm, and how dark it is (0 to 1)."""

    points: Line
    pen: float
    dark: float = 1.0


class Word(NamedTuple):
    """A word: its middle and the size of its letters, in mm."""

    text: str
    at: complex
    size: float = 7.0


@dataclass
class Scanning:
    """How a sheet is scanned and traced.

    Attributes:
        dpi: dots to the inch.
        noise: deviation of the sensor's grey values.
        blur: radius of the blur in dots.
        threshold: what is lighter is white.
        specks: how many specks lie on it.
        creases: how many creases run through it.
        smudges: how many grey smudges lie on it.
        is_flooded: whether ink covers half of it.
        options: of the tracer.
        is_to_scale: whether the trace is as large as the paper; else a known length is marked.
    """

    dpi: float = 150.0
    noise: float = 14.0
    blur: float = 0.7
    threshold: float = 140.0
    specks: int = 40
    creases: int = 0
    smudges: int = 0
    is_flooded: bool = False
    options: tuple[str, ...] = ()
    is_to_scale: bool = False


@dataclass
class Mark:
    """A path that the drafter lays over the trace, with its label; points in mm of the paper."""

    label: str
    points: Line
    is_closed: bool = False


@dataclass
class Sheet:
    """What is drawn, in mm.

    Attributes:
        pieces: the true blocks.
        strokes: of pens.
        fills: closed lines filled with ink.
        holes: closed lines left white in them.
        words: what is written.
        paths: what is drawn as vectors, and whether each is closed; then nothing is scanned.
        curves: texts of path data of such vectors, as functions of the map from mm.
        marks: what the drafter lays over the trace.
        scanning: how it is scanned.
        allowances: for every piece the width of the allowance by seam (mm), where one is drawn.
        detail: what is special about it, in a few words.
        may_refuse: whether nobody could tell the block, so that a refusal is right.
        view: what the lens makes of it: from mm of the paper to mm of the picture.
        askew: by how much it may lie turned, in degrees.
        is_mirrored: whether it is seen from its back.
        margin: of paper about what is drawn.
    """

    pieces: list[Piece]
    strokes: list[Stroke] = field(default_factory=list)
    fills: list[Line] = field(default_factory=list)
    holes: list[Line] = field(default_factory=list)
    words: list[Word] = field(default_factory=list)
    paths: list[tuple[Line, bool]] = field(default_factory=list)
    curves: list[tuple[Line, ...]] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    scanning: Scanning = field(default_factory=Scanning)
    allowances: list[dict[str, float]] = field(default_factory=list)
    detail: str = ""
    may_refuse: bool = False
    view: Map | None = None
    askew: float = 4.0
    is_mirrored: bool = False
    margin: float = 22.0

    def all_points(self) -> Line:
        """Return points of all that is drawn."""
        lines = [s.points for s in self.strokes] + self.fills + [p for p, _ in self.paths]
        lines += [m.points for m in self.marks] + [p.line for p in self.pieces]
        lines += [np.array([w.at - 3 * w.size, w.at + 3 * w.size]) for w in self.words]
        return np.concatenate(lines)

    def moved(self, to: Map) -> Sheet:
        """Return it with all that is drawn moved, the truth too."""

        def one(z: complex) -> complex:
            return complex(to(line(z))[0])

        return replace(
            self,
            pieces=[piece.mapped(to) for piece in self.pieces],
            strokes=[s._replace(points=to(s.points)) for s in self.strokes],
            fills=[to(points) for points in self.fills],
            holes=[to(points) for points in self.holes],
            words=[w._replace(at=one(w.at)) for w in self.words],
            paths=[(to(points), closed) for points, closed in self.paths],
            curves=[tuple(to(points) for points in path) for path in self.curves],
            marks=[replace(m, points=to(m.points)) for m in self.marks],
        )


def laid_out(rng: random.Random, sheet: Sheet) -> tuple[Sheet, tuple[float, float]]:
    """Return a sheet as it lies on the scanner, askew, and its size in mm."""
    turn = math.radians(rng.uniform(-sheet.askew, sheet.askew))
    if sheet.view is None and rng.random() < 0.25:
        turn += math.pi / 2 * rng.choice((1, 2, 3))
    factor = cmath.exp(1j * turn)

    def turned(points: Line) -> Line:
        return np.asarray((-points.conjugate() if sheet.is_mirrored else points) * factor)

    lying = sheet.moved(turned)
    points = lying.all_points()
    corner = complex(points.real.min() - sheet.margin, points.imag.min() - sheet.margin)
    size = (float(np.ptp(points.real)) + 2 * sheet.margin,
            float(np.ptp(points.imag)) + 2 * sheet.margin)  # fmt: skip
    return lying.moved(lambda z: np.asarray(z - corner)), size


class Hand(NamedTuple):
    """How a hand draws: its wobble and its pen's width, in mm."""

    wobble: float
    pen: float


def drawn(rng: random.Random, points: Line, hand: Hand) -> Stroke:
    """Return a line as a hand draws it."""
    return Stroke(wobbled(rng, points, hand.wobble), hand.pen)


def drawn_dashed(
    rng: random.Random, points: Line, hand: Hand, on: float, off: float, phase: float = 0.0
) -> list[Stroke]:
    """Return a dashed line as a hand draws it."""
    return [
        Stroke(dense(dash), hand.pen)
        for dash in dashes(wobbled(rng, points, hand.wobble), on, off, phase)
    ]


def outline_strokes(
    rng: random.Random, piece: Piece, hand: Hand, *, over: float = 0.0
) -> list[Stroke]:
    """Return a piece's outline, a stroke for each run, each run on beyond its corners so far."""
    return [
        drawn(rng, longer(run.points, over, over) if not run.is_leg else run.points, hand)
        for run in piece.runs
    ]


def polygon(points: Line) -> Polygon:
    """Return a closed line as a polygon."""
    return Polygon([(z.real, z.imag) for z in points])


def places_inside(
    rng: random.Random, piece: Piece, clear: float, taken: Sequence[tuple[complex, float]] = ()
) -> complex | None:
    """Return a place in a piece that keeps clear of its outline and of other places, or None."""
    points = piece.line
    within = polygon(points).buffer(-clear)
    for _ in range(200):
        z = complex(
            rng.uniform(points.real.min(), points.real.max()),
            rng.uniform(points.imag.min(), points.imag.max()),
        )
        if within.contains(Point(z.real, z.imag)) and all(
            abs(z - other) > clear + room for other, room in taken
        ):
            return z
    return None


def some_words(rng: random.Random, sheet: Sheet, piece: Piece, count: int = 1) -> None:
    """Write some words into a piece, where there is room."""
    for _ in range(count):
        size = rng.uniform(4.5, 8.0)
        at = places_inside(rng, piece, 3.2 * size, [(w.at, 3.2 * w.size) for w in sheet.words])
        if at is not None:
            text = rng.choice(("Front", "Back", "cut 2", "Moth 12", "left", "Size M", "No 7"))
            sheet.words.append(Word(text, at, size))
