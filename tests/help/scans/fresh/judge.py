"""How truly given blocks follow the true ones: by a turn and a shift alone, mirrored never."""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from lxml import etree
from numpy.typing import NDArray

from tests.help.scans.fresh.lines import Line, along, lengths, rigid
from tests.help.scans.fresh.pieces import Piece

#: What is right: the line both ways, the corners, and the width of a drawn allowance (mm).
LINE_RIGHT, CORNER_RIGHT, WIDTH_RIGHT = 1.0, 1.5, 1.0
_STEP = 0.75
_FIT_POINTS = 260
_SVG = "{http://www.w3.org/2000/svg}"
_OURS = "{urn:dartswing:1}"
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "px": 25.4 / 96, "": 25.4 / 96,
       "pc": 25.4 / 6}  # fmt: skip


@dataclass(frozen=True)
class GivenBlock:
    """A block that was given out, in mm.

    Attributes:
        line: its closed outline, finely, the first point not repeated.
        nodes: the nodes of its path.
        darts: how many darts it is said to have.
        seams: how many seams.
        turn: by how much it is said to have been turned, in radians.
        verdict: what is said of it; "as drawn" where nothing is.
        apexes: where its apexes are marked.
        widths: where its seams' marks lie, and the allowances that they give (mm, 0 on the fold).
    """

    line: Line
    nodes: Line
    darts: int
    seams: int = 0
    turn: float = 0.0
    verdict: str = "as drawn"
    apexes: tuple[complex, ...] = ()
    widths: tuple[tuple[complex, float], ...] = ()


@dataclass
class Laid:
    """A true block laid upon a given one.

    Attributes:
        missed: the largest distance of the true line from the given one, in mm.
        strayed: the largest distance of the given line from the true one.
        corners: of each true corner from the nearest given node.
        points: of each dart's true point from the nearest given node.
        apexes: of each dart's true apex from the nearest mark of one, where there are any.
        factor: the turn that was found, and
        offset: the shift after it: from mm of the paper to mm of the given drawing.
    """

    missed: float
    strayed: float
    corners: list[float]
    points: list[float]
    apexes: list[float]
    factor: complex
    offset: complex

    @property
    def is_near(self) -> bool:
        """Whether the line and the corners are right."""
        return (
            max(self.missed, self.strayed) <= LINE_RIGHT
            and max(self.corners, default=0.0) <= CORNER_RIGHT
        )


@dataclass
class Judgement:
    """All true blocks of a sheet beside the given ones.

    Attributes:
        outcome: "right" or "wrong".
        why: what is wrong, in a few words.
        laid: for every true block, how it lies upon the given one that is nearest to it.
        upon: for every true block the number of that one.
    """

    outcome: str
    why: str
    laid: list[Laid | None] = field(default_factory=list)
    upon: list[int | None] = field(default_factory=list)


def _closed(points: Line) -> Line:
    return np.append(points, points[0])


def _ring(points: Line) -> shapely.LineString:
    return shapely.LineString(np.column_stack([_closed(points).real, _closed(points).imag]))


def _spots(points: Line) -> NDArray[Any]:
    return np.asarray(shapely.points(points.real, points.imag))


def distances(points: Line, closed: Line) -> NDArray[np.float64]:
    """Return the distance of each point from a closed line."""
    return np.asarray(shapely.distance(_spots(points), _ring(closed)))


def _nearest(points: Line, ring: shapely.LineString) -> Line:
    found = shapely.line_interpolate_point(ring, shapely.line_locate_point(ring, _spots(points)))
    return np.asarray(shapely.get_x(found) + 1j * shapely.get_y(found))


def _sampled(points: Line, count: int) -> Line:
    whole = _closed(points)
    return along(whole, np.linspace(0.0, float(lengths(whole)[-1]), count, endpoint=False))


def best_motion(true: Line, given: Line, turn: float) -> tuple[complex, complex, float]:
    """Return the turn and shift that lay a closed line upon another, and how far it is off then.

    Args:
        true: the line that is moved, in mm.
        given: the line that stays.
        turn: by how much about it has to be turned (radians); others are tried too.
    """
    ours, theirs = _sampled(true, _FIT_POINTS), _sampled(given, _FIT_POINTS)
    rings = _ring(true), _ring(given)
    best: tuple[complex, complex, float] | None = None
    for start in (turn, 0.0):
        if best is not None and (best[2] < 3.0 or abs(turn) < 0.01):
            break
        found = _fitted(ours, theirs, rings, start)
        if best is None or found[2] < best[2]:
            best = found
    assert best is not None
    return best


def _fitted(
    ours: Line, theirs: Line, rings: tuple[shapely.LineString, shapely.LineString], turn: float
) -> tuple[complex, complex, float]:
    true_ring, given_ring = rings
    factor = cmath.exp(1j * turn)
    offset = complex(theirs.mean() - factor * ours.mean())
    best, off = (factor, offset), math.inf
    for step in range(40):
        there = _nearest(factor * ours + offset, given_ring)
        back = _nearest((theirs - offset) / factor, true_ring)
        sources, goals = np.concatenate([ours, back]), np.concatenate([there, theirs])
        away = np.abs(factor * sources + offset - goals)
        if away.max() < off:
            best, off = (factor, offset), float(away.max())
        # First the whole as near as can be, then what is farthest off counts most.
        weights = np.ones(len(away)) if step < 18 else (away + 0.02) ** 2
        before = factor, offset
        factor, offset = rigid(sources, goals, weights)
        if step > 20 and abs(before[0] - factor) < 1e-7 and abs(before[1] - offset) < 1e-4:
            break
    return best[0], best[1], off


def lay_upon(piece: Piece, given: GivenBlock) -> Laid:
    """Lay a true block upon a given one and measure."""
    true = piece.line
    factor, offset, _off = best_motion(true, given.line, given.turn)

    def placed(points: Line) -> Line:
        return np.asarray(points * factor + offset)

    fine = placed(piece.fine_line)
    whole = float(np.abs(np.diff(_closed(given.line))).sum())
    theirs = _sampled(given.line, max(200, round(whole / _STEP)))

    def to_nodes(points: Sequence[complex]) -> list[float]:
        at = placed(np.array(points, dtype=np.complex128))
        return [float(np.abs(given.nodes - z).min()) for z in at]

    signs = np.array(given.apexes)
    apexes = placed(np.array([dart.apex for dart in piece.darts], dtype=np.complex128))
    return Laid(
        float(distances(fine, given.line).max()),
        float(distances(theirs, placed(true)).max()),
        to_nodes(list(piece.corners)),
        to_nodes([dart.point for dart in piece.darts]),
        [float(np.abs(signs - z).min()) for z in apexes] if len(signs) else [],
        factor,
        offset,
    )


def judged(
    pieces: Sequence[Piece],
    given: Sequence[GivenBlock],
    allowances: Sequence[Mapping[str, float]] = (),
) -> Judgement:
    """Judge what was given out for a sheet, every true block beside the one nearest to it.

    Args:
        pieces: the true blocks.
        given: what was given out.
        allowances: for each block the drawn widths by seam (mm); none where none is drawn.
    """
    table = [[lay_upon(piece, block) for block in given] for piece in pieces]
    found = Judgement("right", "")
    found.laid, found.upon = _assigned(table, len(given))
    reasons = []
    if len(given) != len(pieces):
        reasons.append(f"{len(given)} blocks for {len(pieces)}")
    for number, (piece, laid, upon) in enumerate(zip(pieces, found.laid, found.upon, strict=True)):
        if laid is None or upon is None:
            continue
        said = f"block {number + 1}: " if len(pieces) > 1 else ""
        if given[upon].darts != len(piece.darts):
            reasons.append(f"{said}{given[upon].darts} darts for {len(piece.darts)}")
        if max(laid.missed, laid.strayed) > LINE_RIGHT:
            reasons.append(f"{said}line off {laid.missed:.1f}/{laid.strayed:.1f}")
        elif max(laid.corners) > CORNER_RIGHT:
            reasons.append(f"{said}corner off {max(laid.corners):.1f}")
        elif number < len(allowances) and allowances[number]:
            wrong = _wrong_widths(piece, laid, given[upon], allowances[number])
            reasons += [said + words for words in wrong]
    if reasons:
        found.outcome, found.why = "wrong", "; ".join(reasons)
    return found


def _wrong_widths(
    piece: Piece, laid: Laid, given: GivenBlock, widths: Mapping[str, float]
) -> Iterator[str]:
    """Yield what is wrong with the allowances that a block was given; a mark is its next seam's."""
    runs = [run for run in piece.runs if not run.is_leg]
    lines = [run.points * laid.factor + laid.offset for run in runs]
    strings = [shapely.LineString(np.column_stack([at.real, at.imag])) for at in lines]
    found: dict[str, list[float]] = {run.seam: [] for run in runs}
    for at, width in given.widths:
        spot = shapely.Point(at.real, at.imag)
        found[runs[int(np.argmin(shapely.distance(strings, spot)))].seam].append(width)
    for seam, said in found.items():
        if not said or any(abs(width - widths[seam]) > WIDTH_RIGHT for width in said):
            yield f"allowance of {seam} {said} for {widths[seam]}"


def _assigned(table: list[list[Laid]], count: int) -> tuple[list[Laid | None], list[int | None]]:
    """Give every true block a given block of its own, the nearest pairs first."""
    laid: list[Laid | None] = [None] * len(table)
    upon: list[int | None] = [None] * len(table)
    pairs = sorted(
        (max(table[i][j].missed, table[i][j].strayed), i, j)
        for i in range(len(table))
        for j in range(count)
    )
    for _off, i, j in pairs:
        if upon[i] is None and j not in upon:
            laid[i], upon[i] = table[i][j], j
    return laid, upon


def _mm_per_unit(root: etree._Element) -> float:
    match = re.fullmatch(r"\s*([\d.eE+-]+)\s*([a-z]*)\s*", root.get("width", ""))
    assert match is not None
    size = float(match[1]) * _MM[match[2]]
    box = re.split(r"[\s,]+", root.get("viewBox", "").strip())
    return size / float(box[2]) if len(box) == 4 else _MM["px"]


def _read_path(d: str) -> tuple[Line, Line]:
    """Return points along a closed path of M, L, C, Z with absolute coordinates, and its nodes."""
    points: list[Line] = []
    nodes: list[complex] = []
    for letter, text in re.findall(r"([MLCZ])([^MLCZ]*)", d):
        numbers = [float(word) for word in re.split(r"[\s,]+", text.strip()) if word]
        at = [complex(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
        if letter in "ML":
            nodes += at
            points.append(np.array(at))
        elif letter == "C":
            for b, c, e in zip(at[::3], at[1::3], at[2::3], strict=True):
                a, t = nodes[-1], np.linspace(0.0, 1.0, 41)[1:]
                s = 1.0 - t
                points.append(s**3 * a + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * e)
                nodes.append(e)
    whole = np.concatenate(points)
    kept = np.append(True, np.abs(np.diff(whole)) > 1e-9)
    whole = whole[kept]
    if abs(whole[0] - whole[-1]) < 1e-9:
        whole = whole[:-1]
    return whole, np.array(nodes)


def said_verdict(report: dict[str, Any], block: dict[str, Any]) -> str:
    """Return the verdict on a block; of reports that have none, "as drawn"."""
    said = block.get("verdict", report.get("verdict", "as drawn"))
    if isinstance(said, dict):
        said = said.get("word", said.get("verdict", str(said)))
    return str(said).replace("_", " ").replace("-", " ")


def given_blocks(root: etree._Element, report: dict[str, Any]) -> list[GivenBlock]:
    """Return the blocks of a drawing that a clean-up wrote."""
    mm = _mm_per_unit(root)
    layers = [layer for layer in root if layer.get(f"{_OURS}clean")]
    outlines = [
        (path, layer)
        for layer in layers
        for path in layer.iter(f"{_SVG}path")
        if path.get(f"{_OURS}role") == "outline"
    ]
    entries = [*report["blocks"], *({} for _ in outlines)]
    found = []
    for (path, layer), entry in zip(outlines, entries, strict=False):
        points, nodes = _read_path(path.get("d"))
        seams = [seam for seam in entry.get("seams", []) if seam.get("name") != "dart"]
        found.append(
            GivenBlock(
                points * mm,
                nodes * mm,
                int(entry.get("darts", 0)),
                len(seams),
                math.radians(float(entry.get("turn_deg", 0.0))),
                said_verdict(report, entry),
                tuple(z * mm for z in _apexes(layer)),
                tuple((z * mm, width) for z, width in _widths(layer)),
            )
        )
    return found


def _widths(layer: etree._Element) -> Iterator[tuple[complex, float]]:
    for mark in layer.iter(f"{_SVG}text"):
        said = mark.get(f"{_OURS}allowance")
        if mark.get(f"{_OURS}role") != "seam" or (said is None and not mark.get(f"{_OURS}fold")):
            continue
        yield complex(float(mark.get("x")), float(mark.get("y"))), float((said or "0mm")[:-2])


def _apexes(layer: etree._Element) -> list[complex]:
    found = []
    for mark in layer.iter(f"{_SVG}path"):
        if mark.get(f"{_OURS}role") == "apex":
            ring = re.match(r"M (\S+) (\S+) A (\S+)", mark.get("d"))
            if ring is not None:
                found.append(complex(float(ring[1]) - float(ring[3]), float(ring[2])))
    return found
