"""An independent reading of a drafted result: every rule of the contract that can be measured.

Nothing of the project's own geometry is used. All lengths are millimetres; everything is carried
back into the block's own frame (centre seam upright at the left, outline clockwise on the page).
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
import svgelements
from lxml import etree
from shapely.geometry import LinearRing, LineString, Point, Polygon

from tests.random_blocks import Block, Drawing, Points, at, flatten, nearest, split, tangent

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


# --- the checks -------------------------------------------------------------------------------

SUBLAYERS = ("Stitch line", "Cut line", "Dart", "Marks")
REPORT_KEYS = {"name", "height_mm", "width_mm", "seams", "openings", "angle_before_deg",
               "angle_after_deg", "area_before_mm2", "area_after_mm2", "warnings"}
OPENING_KEYS = {"seam", "angle_deg", "intake_mm", "share", "fold", "excess", "why", "point_mm",
                "bend_deg"}


def _canonical(element: Any) -> bytes:
    return bytes(etree.tostring(element, method="c14n", exclusive=True, with_tail=False))


def check_input_kept(in_text: str, out_text: str, blocks: int = 1) -> Iterator[str]:
    """The input's elements unchanged, one new last child per block, well-formed layers."""
    before, after = etree.fromstring(in_text.encode()), etree.fromstring(out_text.encode())
    if dict(before.attrib) != dict(after.attrib):
        yield f"root attributes changed: {dict(before.attrib)} -> {dict(after.attrib)}"
    if len(after) != len(before) + blocks:
        yield f"root has {len(after)} children instead of {len(before)} + {blocks}"
    for old, new in zip(before, after, strict=False):
        if _canonical(old) != _canonical(new):
            yield f"input element {old.get('id')} changed"
    for layer in list(after)[len(before):]:
        if not layer.get(NS + "result", "").isdigit():
            yield "the new layer has no dartswing:result number"
        if layer.get(INK + "groupmode") != "layer" or not layer.get(INK + "label"):
            yield "the new layer is no labelled layer"
        groups = [e for e in layer.iter(SVG + "g") if e.get(INK + "groupmode") == "layer"]
        labels = [e.get(INK + "label") for e in groups]
        for name in SUBLAYERS:
            if labels.count(name) != 1:
                yield f"sub-layer '{name}' appears {labels.count(name)} times"
        for group in groups:
            if group.get("transform"):
                yield f"layer '{group.get(INK + 'label')}' carries a transform"
            if group.get(NS + "part"):
                yield f"layer '{group.get(INK + 'label')}' is marked as a part"


def check_parts(result: Result, darts: int) -> Iterator[str]:
    """Numbers of parts, their own ids, closed subpaths, decimals."""
    counts = {name: len(found) for name, found in result.parts.items()}
    exact = {"stitch-line": 1, "cut-line": 1, "cap": darts, "dart-leg": 2 * darts,
             "dart-point": darts, "dart-fold": darts, "fold-arrow": darts, "drill-hole": darts,
             "apex": 1, "grainline": 1, "test-square": 1}
    for name, number in exact.items():
        if counts.get(name, 0) != number:
            yield f"{counts.get(name, 0)} parts '{name}' instead of {number}"
    if counts.get("trim-window", 0) > darts:
        yield "more trim windows than darts"
    for name in ("note", "seam-name"):
        if not counts.get(name):
            yield f"no part '{name}'"
    seen: set[str] = set()
    for name, elements in result.parts.items():
        for element in elements:
            ident = element.get("id")
            if not ident or ident in seen:
                yield f"part '{name}' has a missing or doubled id {ident}"
            seen.add(ident or "")
            if name != "stitch-line" and element.get(NS + "self") != ident:
                yield f"part '{name}' {ident}: dartswing:self is {element.get(NS + 'self')}"
    for name in ("stitch-line", "cut-line"):
        for element in result.parts.get(name, []):
            if element.tag != SVG + "path":
                yield f"{name} is no path"
                continue
            subpaths = result.subpaths(element)
            if len(subpaths) != 1 or not subpaths[0][1]:
                yield f"{name} is not one closed subpath"
            short = [p for pieces, _ in subpaths for p in pieces if length(p) < 0.0099]
            if short:
                yield f"{name} has a segment of {length(short[0]):.6f} mm at {short[0][0]:.3f}"
            words = re.findall(r"\d+\.(\d+)", element.get("d", ""))
            fine = [w for w in words if len(w) >= 10]
            if len(fine) < 0.5 * len(words):
                yield f"{name}: only {len(fine)} of {len(words)} numbers have 10 decimals"
            if element.get("transform"):
                yield f"{name} carries a transform"
    if "stitch-line" in result.parts:
        outline = result.parts["stitch-line"][0]
        label = (outline.get(INK + "label") or "").strip().lower()
        if outline.get(NS + "role") != "outline" and not label.startswith("outline"):
            yield "the stitch line carries no role outline"
    for element in result.parts.get("apex", []):
        if element.get(NS + "role") != "apex":
            yield "the result's apex carries no role apex"


def seam_name_of(element: Any) -> str:
    """The seam a name part speaks of: its attribute, else its text."""
    return element.get(NS + "name") or " ".join("".join(element.itertext()).split())


def check_names(result: Result, model: Model, expectation: Expectation) -> Iterator[str]:
    """Names anchored within 3 mm of a seam of that name, in the drafter's spelling, none lost."""
    runs = expectation.drawing.block.runs
    names = expectation.drawing.names
    told = set()
    for element in result.parts.get("seam-name", []):
        name = seam_name_of(element)
        told.add(name)
        anchor = result.nodes(element)
        if not anchor:
            yield f"seam name '{name}' has no anchor"
            continue
        near = [(nearest(p.points, anchor[0])[1], p.run) for p in model.pieces if p.run >= 0]
        if min(near)[0] > 3.0:
            yield f"seam name '{name}' is anchored {min(near)[0]:.2f} mm from any seam"
        fitting = [d for d, run in near if true_name(runs[run]) == true_name(name)]
        if names and (not fitting or min(fitting) > 3.0):
            yield (f"seam name '{name}' is anchored {min(fitting, default=math.inf):.2f} mm from "
                   f"that seam")
    for spelled in names.values():
        if spelled not in told:
            yield f"the drafter's seam name '{spelled}' is not written back (found {sorted(told)})"


def check_balance(entry: dict[str, Any], model: Model, expectation: Expectation) -> Iterator[str]:
    """The block's entry in the report against lengths, angles and areas of the input."""
    block = expectation.drawing.block
    if set(entry) != REPORT_KEYS:
        yield f"report keys: {sorted(set(entry) ^ REPORT_KEYS)} missing or too many"
        return
    for seam in entry["seams"]:
        if abs(seam["before_mm"] - seam["after_mm"]) > 1e-6:
            yield f"seam {seam['name']}: {seam['before_mm']} -> {seam['after_mm']}"
    unequal = 4.0 if model.soft else 1e-4
    solid = [s for s in block.segments if s.run >= 0]
    true = sorted((sum(length(s.points) for s in solid if s.run == run), name)
                  for run, name in expectation.drawing.names.items())
    told = sorted((seam["before_mm"], seam["name"]) for seam in entry["seams"])
    if expectation.drawing.names:
        if [n for _, n in sorted(true, key=str)] != [n for _, n in sorted(told, key=str)] and (
                sorted(n for _, n in true) != sorted(n for _, n in told)):
            yield f"seams reported {[n for _, n in told]}, drawn {[n for _, n in true]}"
        else:
            for (mine, name), (theirs, other) in zip(
                    sorted(true, key=lambda p: (p[1], p[0])),
                    sorted(told, key=lambda p: (p[1], p[0])), strict=True):
                if abs(mine - theirs) > unequal:
                    yield f"seam {name}/{other} measures {theirs}, truly {mine}"
    whole = sum(length(s.points) for s in solid)
    if abs(sum(seam["before_mm"] for seam in entry["seams"]) - whole) > 2 * unequal:
        yield f"all seams: {sum(s['before_mm'] for s in entry['seams'])}, truly {whole}"
    before, after = block.mouth_ends
    angle = math.degrees(cmath.phase((after - block.apex) / (before - block.apex)) % math.tau)
    for key in ("angle_before_deg", "angle_after_deg"):
        if abs(entry[key] - angle) > 1e-8:
            yield f"{key} is {entry[key]}, truly {angle}"
    if abs(entry["angle_before_deg"] - entry["angle_after_deg"]) > 1e-9:
        yield "the sum of the openings' angles changed"
    net: list[Points] = []
    for p in model.pieces:
        if p.run >= 0:
            net.append(p.points)
        else:
            net.append(tuple(block.apex if abs(z - model.openings[p.dart].point) < 1e-12 else z
                             for z in p.points))
    truth = area(net)
    for key in ("area_before_mm2", "area_after_mm2"):
        if abs(entry[key] - truth) > 2e-6 * truth:
            yield f"{key} is {entry[key]}, truly {truth}"
    if abs(entry["area_before_mm2"] - entry["area_after_mm2"]) > 1e-6 * truth:
        yield "the net area changed"
    if not isinstance(entry["warnings"], list):
        yield "warnings is no list"
    sizes = []
    root = expectation.drawing.to_root
    moved = flatten([p.points for p in model.pieces], 200)
    drawn = flatten([s.points for s in block.segments], 200)
    for zs in (moved, drawn):
        for way in (zs, [root(z) for z in zs]):
            sizes.append((max(z.imag for z in way) - min(z.imag for z in way),
                          max(z.real for z in way) - min(z.real for z in way)))
    if not model.soft and not any(
            abs(entry["height_mm"] - h) < 0.3 and abs(entry["width_mm"] - w) < 0.3
            for h, w in sizes):
        yield f"height and width {entry['height_mm']}, {entry['width_mm']} fit none of {sizes}"


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
    hole = opening.point + opening.centre * 12.7
    if closest("drill-hole", hole) > 1e-6:
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


def check_move(in_text: str, out_text: str, report: dict[str, Any], block: Block,
               expectation: Expectation) -> list[str]:
    """Every violation of the contract in one moved block, as plain sentences."""
    found = list(check_input_kept(in_text, out_text))
    results = read_results(out_text, expectation.drawing)
    if len(results) != 1 or len(report.get("blocks", [])) != 1:
        return [*found, f"{len(results)} results, {len(report.get('blocks', []))} blocks reported"]
    result, entry = results[0], report["blocks"][0]
    found += check_parts(result, len(build_models(block, expectation)[0].openings))
    if not result.parts.get("stitch-line") or not result.parts.get("cut-line"):
        return found
    stitch = result.subpaths(result.parts["stitch-line"][0])[0][0]
    cut = result.subpaths(result.parts["cut-line"][0])[0][0]
    nodes = [p[0] for p in stitch]
    scored = []
    for number, rough in enumerate(build_models(block, expectation)):
        places, off = observed_places(rough, nodes, block, expectation)
        model = build_models(block, replace(expectation, places=places))[number]
        error, text = compare([p.points for p in model.pieces], stitch, model.soft)
        scored.append((error, off, number, model, text))
    error, off, _, model, text = min(scored, key=lambda one: one[:3])
    if off > expectation.place_tolerance:
        found.append(f"a cut lies {off:.5f} mm from its place")
    if error > EXACT:
        found.append(f"stitch line is no rigid turn of the input: {error:.3g} mm, {text}")
    model = with_softened(model, stitch)
    found += check_names(result, model, expectation)
    found += check_balance(entry, model, expectation)
    for name, place in (("apex", block.apex),):
        if abs(result.centre(result.parts[name][0]) - place) > 1e-6 if name in result.parts else 0:
            found.append(f"the {name} is not where it was drawn")
    found += check_openings(result, entry, model, cut, stitch, expectation)
    found += check_page_marks(result, model, expectation)
    return found


def check_openings(result: Result, entry: dict[str, Any], model: Model, cut: list[Points],
                   stitch: list[Points], expectation: Expectation) -> list[str]:
    """Each opening of the report against the drawing and the rules, then the cut line."""
    found: list[str] = []
    told = entry.get("openings", [])
    caps = [result.subpaths(e)[0][0] for e in result.parts.get("cap", []) if result.subpaths(e)]
    if len(told) != len(model.openings) or len(caps) != len(model.openings):
        return [f"{len(told)} openings reported, {len(caps)} caps drawn, {len(model.openings)} due"]
    root, block = expectation.drawing.to_root, expectation.drawing.block
    own_caps: dict[int, list[Points]] = {}
    legs: dict[int, int] = {}
    windows: list[list[Points]] = []
    panes = [result.subpaths(e)[0][0] for e in result.parts.get("trim-window", [])]
    trimmed: list[tuple[Opening, list[Points]]] = []
    for number, opening in enumerate(model.openings):
        spot = root(opening.point)
        line = min(told, key=lambda o: abs(complex(*o["point_mm"]) - spot))
        if set(line) != OPENING_KEYS:
            found.append(f"opening keys: {sorted(set(line) ^ OPENING_KEYS)} missing or too many")
        if opening.target < 0 and len(told) > 1 and line is not told[-1] and (
                abs(complex(*told[-1]["point_mm"]) - spot) > 1e-6):
            found.append("what is left at the source is not the last opening reported")
        own = block.runs[opening.runs[0]], block.runs[opening.runs[1]]
        if expectation.drawing.names and not any(
                name in true_name(line["seam"]) or true_name(line["seam"]) == name
                for name in own):
            found.append(f"opening on {own} is reported on '{line['seam']}'")
        figures = {"angle_deg": math.degrees(opening.angle),
                   "intake_mm": abs(opening.ends[1] - opening.ends[0]),
                   "bend_deg": math.degrees(opening.at_point - opening.angle)}
        for key, true in figures.items():
            if abs(line[key] - true) > 1e-6:
                found.append(f"{key} on {own[0]} is {line[key]}, truly {true}")
        radius = abs(opening.ends[0] - block.apex)
        if abs(line["intake_mm"] - 2 * radius * math.sin(opening.angle / 2)) > 1e-6:
            found.append("the intake is no chord 2 r sin(angle / 2)")
        if abs(complex(*line["point_mm"]) - spot) > 1e-6:
            found.append(f"point_mm is {line['point_mm']}, truly {spot}")
        if opening.target >= 0:
            share = expectation.shares[opening.target]
            marked = expectation.drawing.targets
            given = marked[opening.target].share if marked else None
            if min(abs(line["share"] - s) for s in (share, given or share)) > 1e-6:
                found.append(f"share is {line['share']}, asked {share}")
        if not str(line["why"]).strip():
            found.append("no reason is given for the excess")
        cap = min(caps, key=lambda c: min(abs(c[0][0] - z) for z in opening.ends))
        own_caps[number] = cap
        word, leg = expected_fold(expectation, model, opening)
        trials = {n: list(check_cap(model, opening, n, cap)) for n in (0, 1)}
        if leg < 0:
            leg = 0 if not trials[0] else 1
        _, reaches = fold_chain(model, opening, leg)
        if word and line["fold"] != word:
            found.append(f"fold on {own[0]} is '{line['fold']}', by the rule '{word}'")
        if trials[leg] and not reaches:
            if not trials[1 - leg]:
                found.append(f"the cap on {own[0]} is shaped for the fold on the other side")
            else:
                found += trials[leg]
        legs[number] = leg
        wanted = expected_excess(expectation, model, opening, leg, cap)
        if wanted and line["excess"] != wanted:
            found.append(f"excess on {own[0]} (intake {figures['intake_mm']:.1f}, "
                         f"{expectation.cloth}) is '{line['excess']}', by the rule '{wanted}'")
        vertex = opening.point + opening.centre * expectation.trim_allowance / math.sin(
            opening.at_point / 2)
        mine = [w for w in panes if min(abs(p[0] - vertex) for p in w) < 1.0]
        if (line["excess"] == "trim") != bool(mine):
            found.append(f"excess on {own[0]} is '{line['excess']}' with {len(mine)} trim windows")
        for pane in mine[:1]:
            trimmed.append((opening, pane))
            windows.append(pane)
    base = build_base(model, own_caps, legs, expectation)
    if not Polygon(ring(list(base.pieces), 60)).is_valid:
        return found  # a cap that crosses its own piece: the contract does not say what follows
    for opening, pane in trimmed:
        found += check_window(opening, pane, expectation.trim_allowance, base, cut)
    found += check_cut_line(base, cut, stitch, windows)
    for opening in model.openings:
        found += check_dart_marks(result, model, opening, base, cut, expectation)
    return found


def check_page_marks(result: Result, model: Model, expectation: Expectation) -> Iterator[str]:
    """Test square of 50 mm, grainline along the centre seam or the page's vertical."""
    for element in result.parts.get("test-square", []):
        zs = result.nodes(element)
        low = complex(min(z.real for z in zs), min(z.imag for z in zs))
        root = [expectation.drawing.to_root(z) for z in zs]
        width = max(z.real for z in root) - min(z.real for z in root)
        height = max(z.imag for z in root) - min(z.imag for z in root)
        if abs(width - 50) > 1e-6 or abs(height - 50) > 1e-6:
            yield f"the test square measures {width:.6f} x {height:.6f} mm near {low:.1f}"
    block, names = expectation.drawing.block, expectation.drawing.names
    if not any(block.runs[run].startswith("centre") for run in names):
        return
    ways = [(p.points[-1] - p.points[0]) for p in model.pieces
            if p.run >= 0 and block.runs[p.run].startswith("centre")]
    for element in result.parts.get("grainline", []):
        spans = [p for pieces, _ in result.subpaths(element) for p in pieces] \
            if element.get("d") else [tuple(result.nodes(element))]
        longest = max(spans, key=lambda p: abs(p[-1] - p[0]))
        way = (longest[-1] - longest[0]) / abs(longest[-1] - longest[0])
        if min(abs((way / (grain / abs(grain))).imag) for grain in ways) > 1e-6:
            yield "the grainline does not run along the centre seam"
