"""What the contract makes of a block: the expected piece, and the reading of a result.

Nothing of the project's own geometry is used. All lengths are millimetres; everything is carried
back into the block's own frame (centre seam upright at the left, outline clockwise on the page).
"""

from __future__ import annotations

import cmath
import math
import re
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import svgelements
from lxml import etree

from tests.help.blocks.random_blocks import Block, Points, at, nearest, split
from tests.help.blocks.random_drawings import Drawing

NS = "{urn:dartswing:1}"
INK = "{http://www.inkscape.org/namespaces/inkscape}"
SVG = "{http://www.w3.org/2000/svg}"
ALIASES = {"center front": "centre front", "cf": "centre front", "center back": "centre back",
           "cb": "centre back", "neck": "neckline", "armscye": "armhole", "side": "side seam",
           "elbow": "underarm seam"}
EXACT = 1e-9
"""Rigid parts, mm: rounding of doubles through a chain of transforms stays far below this."""
PLACE = 2e-3
"""Where a cut lies along its seam, mm: a length integral and its inverse, not an exact figure."""


def true_name(name: str) -> str:
    """The contract's word for a seam name in any understood spelling."""
    plain = " ".join(name.lower().split())
    return ALIASES.get(plain, plain)


@dataclass(frozen=True)
class Expectation:
    """What a run was asked: places in block millimetres, the part of the angle each takes."""

    drawing: Drawing
    places: tuple[complex, ...]
    shares: tuple[float, ...]
    clearance: float | None = None
    cloth: str = "woven"
    fold: str = "auto"
    excess: str = "auto"
    trim_allowance: float = 12.7
    wide: float = 75.0
    allowances: dict[str, float] = field(default_factory=dict)
    place_tolerance: float = PLACE

    def width(self, run: int, block: Block) -> float:
        """Allowance of a run in millimetres."""
        if run in self.drawing.folds:
            return 0.0
        seam = block.runs[run]
        usual = 6.35 if seam == "neckline" else self.allowances.get("", 12.7)
        return self.allowances.get(seam, usual)


@dataclass(frozen=True)
class Piece:
    """A stretch of the stitch line; run -1 for a dart leg, then ``dart`` numbers its opening."""

    points: Points
    run: int
    dart: int = -1


@dataclass(frozen=True)
class Opening:
    """An opening after the move: mouth ends in outline order, point, angles, adjoining runs."""

    ends: tuple[complex, complex]
    point: complex
    angle: float
    runs: tuple[int, int]
    target: int

    @property
    def at_point(self) -> float:
        """Angle between the legs at the dart point."""
        return cmath.phase((self.ends[1] - self.point) / (self.ends[0] - self.point)) % math.tau

    @property
    def centre(self) -> complex:
        """Unit vector from the point into the mouth."""
        way = self.ends[0] - self.point
        return way / abs(way) * cmath.exp(0.5j * self.at_point)


@dataclass(frozen=True)
class Model:
    """The expected result for one choice of the held sector."""

    pieces: tuple[Piece, ...]
    openings: tuple[Opening, ...]
    centre_turn: float
    soft: frozenset[complex]


# --- reading the output -----------------------------------------------------------------------

_TOKEN = re.compile(r"[MmZzLlHhVvCcSsQqTtAa]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_NEEDS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "A": 7, "Z": 0}


def parse_path(data: str) -> list[tuple[list[Points], bool]]:
    """Subpaths of path data as lines and cubics, each with whether it is closed."""
    tokens = _TOKEN.findall(data)
    out: list[tuple[list[Points], bool]] = []
    here = start = 0j
    last: complex | None = None
    i, command = 0, ""
    while i < len(tokens):
        if tokens[i].isalpha():
            command = tokens[i]
            i += 1
        upper = command.upper()
        values = [float(word) for word in tokens[i:i + _NEEDS[upper]]]
        i += _NEEDS[upper]
        base = here if command.islower() else 0j
        zs = [base + complex(*values[k:k + 2]) for k in range(0, len(values) - 1, 2)]
        if upper == "M":
            here = start = zs[0]
            out.append(([], False))
            command = "l" if command == "m" else "L"
        elif upper == "Z":
            if abs(here - start) > EXACT:
                out[-1][0].append((here, start))
            out[-1] = (out[-1][0], True)
            here = start
        else:
            if upper == "H":
                piece: Points = (here, complex(values[0] + base.real, here.imag))
            elif upper == "V":
                piece = (here, complex(here.real, values[0] + base.imag))
            elif upper == "A":
                piece = (here, base + complex(values[5], values[6]))
            elif upper == "S":
                piece = (here, here if last is None else 2 * here - last, *zs)
            elif upper == "Q":
                piece = (here, here + (zs[0] - here) * 2 / 3,
                         zs[1] + (zs[0] - zs[1]) * 2 / 3, zs[1])
            else:
                piece = (here, *zs)
            out[-1][0].append(piece)
            last = piece[2] if upper in "CS" else None
            here = piece[-1]
    return out


@dataclass
class Result:
    """A result layer read back into the block's frame."""

    layer: Any
    drawing: Drawing
    parts: dict[str, list[Any]]

    def home(self, element: Any, z: complex) -> complex:
        """A point of an element in block millimetres."""
        if element.get("transform"):
            moved = svgelements.Matrix(element.get("transform")).point_in_matrix_space(
                (z.real, z.imag))
            z = complex(moved.x, moved.y)
        return self.drawing.to_root.inverse()(z * self.drawing.mm_per_unit)

    def subpaths(self, element: Any) -> list[tuple[list[Points], bool]]:
        """Subpaths of a path element in block millimetres, without pieces of no length."""
        return [([tuple(self.home(element, z) for z in piece) for piece in pieces
                  if max(abs(z - piece[0]) for z in piece) > EXACT], closed)
                for pieces, closed in parse_path(element.get("d", ""))]

    def nodes(self, element: Any) -> list[complex]:
        """Characteristic points of any part: nodes, corners, a centre, an anchor."""
        kind = etree.QName(element).localname
        get = {k: float(re.sub(r"[a-z ].*", "", v)) for k, v in element.attrib.items()
               if k in ("x", "y", "cx", "cy", "x1", "y1", "x2", "y2", "width", "height")}
        if kind == "path":
            return [z for pieces, _ in self.subpaths(element) for p in pieces
                    for z in (p[0], p[-1])]
        if kind in ("circle", "ellipse"):
            found = [complex(get.get("cx", 0), get.get("cy", 0))]
        elif kind == "rect":
            x, y, w, h = (get.get(k, 0.0) for k in ("x", "y", "width", "height"))
            found = [complex(x, y), complex(x + w, y), complex(x + w, y + h), complex(x, y + h)]
        elif kind == "line":
            found = [complex(get.get("x1", 0), get.get("y1", 0)),
                     complex(get.get("x2", 0), get.get("y2", 0))]
        elif kind in ("text", "tspan"):
            found = [complex(get.get("x", 0), get.get("y", 0))]
        else:
            return [z for child in element if isinstance(child.tag, str)
                    for z in self.nodes(child)]
        return [self.home(element, z) for z in found]

    def centre(self, element: Any) -> complex:
        """Centre of an object's extent (its own axes; all marks are symmetrical)."""
        zs = [self.drawing.to_root(z) for z in self.nodes(element)]
        low = complex(min(z.real for z in zs), min(z.imag for z in zs))
        high = complex(max(z.real for z in zs), max(z.imag for z in zs))
        return self.drawing.to_root.inverse()((low + high) / 2)


def read_results(out_text: str, drawing: Drawing) -> list[Result]:
    """All result layers of a drawing, in document order."""
    root = etree.fromstring(out_text.encode())
    found = []
    for layer in root:
        if isinstance(layer.tag, str) and layer.get(NS + "result"):
            parts: dict[str, list[Any]] = {}
            for element in layer.iter():
                if isinstance(element.tag, str) and element.get(NS + "part"):
                    parts.setdefault(element.get(NS + "part"), []).append(element)
            found.append(Result(layer, drawing, parts))
    return found


# --- the expected stitch line -----------------------------------------------------------------

def _arranged(block: Block) -> list[tuple[Points, int]]:
    """The solid pieces from the end of the source's mouth round to its start."""
    order = block.segments[block.mouth + 2:] + block.segments[:block.mouth]
    return [(s.points, s.run) for s in order]


def build_models(block: Block, expectation: Expectation) -> list[Model]:
    """The expected result, once for every part that might be the held one."""
    apex, (before, after) = block.apex, block.mouth_ends
    total = cmath.phase((after - apex) / (before - apex)) % math.tau
    mean = (abs(before - apex) + abs(after - apex)) / 2
    chain = _arranged(block)
    soft: set[complex] = set()
    if abs(abs(before - apex) - mean) > EXACT:
        first, last = chain[0], chain[-1]
        new_first = apex + (after - apex) / abs(after - apex) * mean
        new_last = apex + (before - apex) / abs(before - apex) * mean
        chain[0] = ((new_first, *first[0][1:]), first[1])
        chain[-1] = ((*chain[-1][0][:-1], new_last), last[1])
        soft |= {new_first, new_last}
    cuts = []
    for number, place in enumerate(expectation.places):
        options = [(*nearest(points, place), i) for i, (points, _) in enumerate(chain)]
        t, _, index = min(options, key=lambda option: option[1])
        points = chain[index][0]
        for end, spot in ((0, points[0]), (1, points[-1])):
            other = (index + (1 if end else -1)) % len(chain)
            corner = chain[other][1] != chain[index][1] and len(chain) > 1
            if abs(spot - at(points, t)) < (2.0 if corner else 0.01):
                t = float(end)
        cuts.append((index, t, number))
    cuts.sort()
    sectors: list[list[tuple[Points, int]]] = [[]]
    for index, (points, run) in enumerate(chain):
        done, rest = 0.0, points
        for _, t, _ in [cut for cut in cuts if cut[0] == index]:
            if t > 0:
                local = (t - done) / (1 - done) if t < 1 else 1.0
                head, rest_new = split(rest, local) if t < 1 else (rest, ())
                sectors[-1].append((head, run))
                rest, done = rest_new, t
            sectors.append([])
        if rest:
            sectors[-1].append((rest, run))
    angles = [total * expectation.shares[number] for _, _, number in cuts]
    turns = [sum(angles[:k]) for k in range(len(sectors))]
    models = []
    for held in _held(block, expectation, sectors):
        offsets = [turn - turns[held] for turn in turns]
        centre = [k for k, sector in enumerate(sectors)
                  if any(block.runs[run].startswith("centre") for _, run in sector)]
        models.append(_assemble(block, expectation, sectors, offsets, cuts, angles,
                                total - sum(angles), offsets[centre[0]] if centre else 0.0, soft))
    return models


def _held(block: Block, expectation: Expectation,
          sectors: list[list[tuple[Points, int]]]) -> list[int]:
    """Numbers of the sectors that the contract lets stay put."""
    everything = list(range(len(sectors)))
    hold = expectation.drawing.hold
    if hold is not None:
        apex, reach = block.apex, []
        for sector in sectors:
            begin, end = sector[0][0][0] - apex, sector[-1][0][-1] - apex
            reach.append(cmath.phase((hold - apex) / begin) % math.tau
                         < cmath.phase(end / begin) % math.tau)
        return [k for k in everything if reach[k]] or everything
    marked = set(expectation.drawing.names) | set(expectation.drawing.folds)
    centre = [k for k in everything if any(
        run in marked and block.runs[run].startswith("centre") for _, run in sectors[k])]
    return centre or everything


def _default_clearance(block: Block) -> float:
    return 25.4 if block.kind == "front" else 0.0


def _assemble(block: Block, expectation: Expectation, sectors: list[list[tuple[Points, int]]],
              offsets: list[float], cuts: list[tuple[int, float, int]], angles: list[float],
              left: float, centre_turn: float, soft: set[complex]) -> Model:
    apex = block.apex
    clearance = expectation.clearance
    if clearance is None:
        clearance = _default_clearance(block)
    moved = []
    for sector, offset in zip(sectors, offsets, strict=True):
        spin = cmath.exp(1j * offset)
        moved.append([(tuple(apex + (z - apex) * spin for z in points), run)
                      for points, run in sector])
    pieces: list[Piece] = []
    openings: list[Opening] = []
    for k, sector in enumerate(moved):
        pieces += [Piece(points, run) for points, run in sector]
        following = moved[(k + 1) % len(moved)]
        is_source = k == len(moved) - 1
        angle = left if is_source else angles[k]
        if angle < 1e-12:
            continue
        ends = (sector[-1][0][-1], following[0][0][0])
        way = (ends[0] - apex) / abs(ends[0] - apex) * cmath.exp(0.5j * angle)
        point = apex + way * clearance
        number = len(openings)
        pieces += [Piece((ends[0], point), -1, number), Piece((point, ends[1]), -1, number)]
        openings.append(Opening(ends, point, angle, (sector[-1][1], following[0][1]),
                                -1 if is_source else cuts[k][2]))
    shifted = frozenset(apex + (z - apex) * cmath.exp(1j * offset)
                        for z in soft for offset in offsets)
    return Model(tuple(pieces), tuple(openings), centre_turn, shifted)


def observed_places(model: Model, nodes: list[complex], block: Block,
                    expectation: Expectation) -> tuple[tuple[complex, ...], float]:
    """The cuts as they were really made, undone to the input, and the worst distance to ours."""
    places, worst = list(expectation.places), 0.0
    for opening in model.openings:
        if opening.target < 0:
            continue
        node = min(nodes, key=lambda z: abs(z - opening.ends[0]))
        off = abs(node - opening.ends[0])
        worst = max(worst, off)
        if off < 3.0:
            own = expectation.places[opening.target]
            turn = cmath.phase((opening.ends[0] - block.apex) / (own - block.apex))
            if abs(abs(opening.ends[0] - block.apex) - abs(own - block.apex)) < 0.05:
                places[opening.target] = block.apex + (node - block.apex) * cmath.exp(-1j * turn)
    return tuple(places), worst


def with_softened(model: Model, found: list[Points]) -> Model:
    """Where a mouth end gave way its handle may too: take those pieces as they were drawn."""
    pieces = []
    for piece in model.pieces:
        points = piece.points
        ends = (points[0], points[-1])
        if piece.run >= 0 and any(abs(end - z) < 1e-6 for z in model.soft for end in ends):
            for other in [way for p in found for way in (p, p[::-1])]:
                if len(other) == len(points) and max(
                        abs(other[0] - points[0]), abs(other[-1] - points[-1])) < 1e-6:
                    points = other
        pieces.append(replace(piece, points=points))
    return replace(model, pieces=tuple(pieces))


def as_line(points: Points) -> Points:
    """A straight cubic as a line."""
    if len(points) == 4:
        chord = points[3] - points[0]
        if abs(chord) > EXACT and all(
                abs(((z - points[0]) / chord).imag) * abs(chord) < EXACT for z in points[1:3]):
            return points[0], points[3]
    return points


def compare(expected: list[Points], found: list[Points],
            soft: frozenset[complex] = frozenset()) -> tuple[float, str]:
    """Worst distance of control points over the best shift and direction, and a description."""
    if len(expected) != len(found):
        return math.inf, f"{len(found)} pieces instead of {len(expected)}"
    best, told = math.inf, "nothing matches"
    for way in (found, [points[::-1] for points in reversed(found)]):
        starts = np.array([points[0] for points in way])
        own = np.array([points[0] for points in expected])
        shift = min(range(len(way)), key=lambda k: float(np.abs(np.roll(starts, -k) - own).max()))
        worst, text = 0.0, ""
        for mine, theirs in zip(expected, way[shift:] + way[:shift], strict=True):
            a, b = as_line(mine), as_line(theirs)
            loose = [any(abs(end - z) < 1e-6 for z in soft) for end in (a[0], a[-1])]
            if len(a) != len(b):
                if not any(loose):
                    worst, text = math.inf, f"a piece at {a[0]:.3f} changed its kind"
                continue
            for k, (z, w) in enumerate(zip(a, b, strict=True)):
                if len(a) == 4 and ((k == 1 and loose[0]) or (k == 2 and loose[1])):
                    continue
                if abs(z - w) > worst:
                    worst, text = abs(z - w), f"control point {k} at {z:.4f} lies at {w:.4f}"
        if worst < best:
            best, told = worst, text
    return best, told


# --- exact lengths and areas ------------------------------------------------------------------

_GAUSS = np.polynomial.legendre.leggauss(48)


def length(points: Points) -> float:
    """Length by Gauss-Legendre quadrature."""
    if len(points) == 2:
        return abs(points[1] - points[0])
    a, b, c, d = points
    t = (_GAUSS[0] + 1) / 2
    speed = np.abs(3 * ((1 - t) ** 2 * (b - a) + 2 * t * (1 - t) * (c - b) + t * t * (d - c)))
    return float((_GAUSS[1] * speed).sum() / 2)


def area(pieces: list[Points]) -> float:
    """Area enclosed, by Green's theorem (exact for cubics)."""
    total = 0.0
    t = (_GAUSS[0] + 1) / 2
    for points in pieces:
        if len(points) == 2:
            total += (points[0].conjugate() * points[1]).imag / 2
            continue
        a, b, c, d = points
        s = 1 - t
        z = s**3 * a + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * d
        dz = 3 * (s * s * (b - a) + 2 * t * s * (c - b) + t * t * (d - c))
        total += float((_GAUSS[1] * (z.conjugate() * dz).imag).sum() / 4)
    return abs(total)


def flat(points: Points, pieces: int = 400) -> list[tuple[float, float]]:
    """A fine polyline (sagitta well below 0.001 mm on any seam)."""
    count = 1 if len(points) == 2 else pieces
    zs = [at(points, k / count) for k in range(count + 1)]
    return [(z.real, z.imag) for z in zs]


def ring(pieces: list[Points], count: int = 400) -> list[tuple[float, float]]:
    """A fine closed polyline through connected pieces, without repeated points."""
    out: list[tuple[float, float]] = []
    for points in pieces:
        out += flat(points, count)[:-1]
    return out
