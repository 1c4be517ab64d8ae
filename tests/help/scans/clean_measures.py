"""How truly a clean block follows the true one, measured in the drawing that was written.

Independent of the clean-up: the path is read from its data by a few lines here, the true block
is known, and both are laid upon each other by a turn and a shift alone, so that a wrong scale
shows.
"""

from __future__ import annotations

import cmath
import itertools
import json
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from lxml import etree
from numpy.typing import NDArray

from extension.commands.command_line import main
from extension.document.namespaces import LABEL, ours, svg
from extension.document.svg_document import units
from tests.help.blocks.random_blocks import Block, Points, at, tangent

Array = NDArray[np.complex128]


@dataclass
class Run:
    """A stretch of the true outline from corner to corner: a seam's part or a dart's leg."""

    seam: str
    parts: list[Points]

    @property
    def start(self) -> complex:
        """Its first point."""
        return self.parts[0][0]

    @property
    def is_straight(self) -> bool:
        """Whether it is straight."""
        return all(len(part) == 2 for part in self.parts)

    @property
    def samples(self) -> Array:
        """Points along it."""
        return np.array([at(part, t) for part in self.parts for t in np.linspace(0.0, 1.0, 60)])


@dataclass
class Measured:
    """What was measured on one clean block.

    Attributes:
        name: which block it is, for messages.
        corners: how far each corner lies from the true one, in mm.
        tip: the same of the dart's point alone.
        rms: root mean square distance of each seam, in mm.
        straight: for every true straight stretch the segments it has and whether they are lines.
        curved: for every true curved stretch how many segments it has.
        apex: how far the apex lies from the true one, in mm, or None.
        darts: how many darts were found.
        nodes: how many segments the outline has.
        largest: the largest distance of the true outline from the clean one, in mm.
    """

    name: str
    corners: list[float]
    tip: float
    rms: list[float]
    straight: list[tuple[int, bool]]
    curved: list[int]
    apex: float | None
    darts: int
    nodes: int
    largest: float = 0.0
    warnings: list[str] = field(default_factory=list)


def true_runs(block: Block) -> list[Run]:
    """Return the true outline from corner to corner."""
    runs: list[Run] = []
    previous: tuple[str, int, bool] | None = None
    for index, segment in enumerate(block.segments):
        key = (segment.seam, segment.run, index > block.mouth)
        if segment.seam == "dart":
            key = ("dart", index, True)
        if key == previous:
            runs[-1].parts.append(segment.points)
        else:
            runs.append(Run(segment.seam, [segment.points]))
        previous = key
    return runs


def read_path(d: str) -> list[Points]:
    """Return the segments of a closed path of M, L, C and Z with absolute coordinates."""
    segments: list[Points] = []
    current = start = 0j
    for letter, text in re.findall(r"([MLCZ])([^MLCZ]*)", d):
        numbers = [float(part) for part in re.split(r"[\s,]+", text.strip()) if part]
        points = [complex(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
        if letter == "M":
            current = start = points[0]
        elif letter == "Z":
            if current != start:
                segments.append((current, start))
        elif letter == "L":
            segments.append((current, points[0]))
            current = points[0]
        else:
            segments.append((current, *points))
            current = points[-1]
    return segments


def clean(drawing: Path, out: Path, *options: str) -> dict[str, Any]:
    """Run the command and return its report; it must succeed."""
    report = out.with_suffix(".json")
    assert main(["clean", str(drawing), "-o", str(out), "--report", str(report), *options]) == 0
    result: dict[str, Any] = json.loads(report.read_text(encoding="utf-8"))
    return result


def outlines_in(root: etree._Element) -> list[etree._Element]:
    """Return the outlines of the clean blocks of a drawing."""
    return [
        path
        for layer in root
        if layer.get(ours("clean"))
        for path in layer
        if path.tag == svg("path") and path.get(ours("role")) == "outline"
    ]


def apexes_in(root: etree._Element) -> list[complex]:
    """Return the middles of the apex signs of a drawing's clean blocks, in units of the root."""
    found = []
    for layer in root:
        for mark in layer if layer.get(ours("clean")) else ():
            if mark.get(ours("role")) == "apex":
                assert (mark.get(LABEL) or "").startswith("apex")
                ring = re.match(r"M (\S+) (\S+) A (\S+)", mark.get("d"))
                assert ring is not None
                found.append(complex(float(ring[1]) - float(ring[3]), float(ring[2])))
    return found


def flat(segments: Sequence[Points], pieces: int = 60) -> Array:
    """Return points along segments."""
    return np.array(
        [at(points, k / pieces) for points in segments for k in range(pieces)] + [segments[-1][-1]]
    )


def distances(points: Array, line: Array) -> NDArray[np.float64]:
    """Return the distance of each point to a polyline."""
    best = np.full(len(points), np.inf)
    for start, end in itertools.pairwise(line):
        way = end - start
        size = abs(way) ** 2
        t = ((points - start) * np.conj(way)).real / size if size else np.zeros(len(points))
        best = np.minimum(best, np.abs(points - start - np.clip(t, 0.0, 1.0) * way))
    return best


def laid_upon(true: Array, nodes: Array, turn: float) -> complex:
    """Return the factor of a turn that lays true corners upon nodes, both about their means."""
    factor = cmath.exp(1j * turn)
    for _ in range(6):
        placed = (true - true.mean()) * factor
        offset = nodes.mean()
        for _again in range(4):
            nearest = nodes[np.abs(nodes[None, :] - (placed + offset)[:, None]).argmin(axis=1)]
            offset = complex((nearest - placed).mean())
        fit = complex(np.sum((nearest - nearest.mean()) * np.conj(true - true.mean())))
        factor = fit / abs(fit)
    return factor


def measure(
    root: etree._Element, report: dict[str, Any], block: Block, name: str, turn: float
) -> Measured:
    """Measure the only clean block of a drawing.

    Args:
        root: of the drawing that was written.
        report: the report of the run.
        block: the true block, in mm.
        name: what messages call it.
        turn: by how much the true block has to be turned to lie as the clean one, about.
    """
    (outline,) = outlines_in(root)
    mm = units(root)
    segments = [tuple(z * mm for z in part) for part in read_path(outline.get("d"))]
    nodes = np.array([part[0] for part in segments])
    runs = true_runs(block)
    true = np.array([run.start for run in runs])
    factor = laid_upon(true, nodes, turn)
    placed = (true - true.mean()) * factor
    offset = nodes.mean()
    for _ in range(4):
        numbers = np.abs(nodes[None, :] - (placed + offset)[:, None]).argmin(axis=1)
        offset = complex((nodes[numbers] - placed).mean())

    def to(points: Array) -> Array:
        return np.asarray((points - true.mean()) * factor + offset)

    errors = np.abs(nodes[numbers] - placed - offset)
    line = flat(segments)
    ahead = (numbers[1] - numbers[0]) % len(nodes) < len(nodes) / 2
    rms, straight, curved, largest = [], [], [], 0.0
    for k, run in enumerate(runs):
        first, last = int(numbers[k]), int(numbers[(k + 1) % len(runs)])
        if not ahead:
            first, last = last, first
        between = [segments[(first + n) % len(nodes)] for n in range((last - first) % len(nodes))]
        away = distances(to(run.samples), line)
        rms.append(float(np.sqrt(np.mean(away**2))))
        largest = max(largest, float(away.max()))
        if run.is_straight:
            straight.append((len(between), all(len(part) == 2 for part in between)))
        else:
            curved.append(len(between))
    tip = next(k for k, run in enumerate(runs) if run.seam == "dart") + 1
    apexes = [z * mm for z in apexes_in(root)]
    apex = complex(to(np.array([block.apex]))[0])
    (entry,) = report["blocks"]
    return Measured(
        name,
        errors.tolist(),
        float(errors[tip]),
        rms,
        straight,
        curved,
        min((abs(z - apex) for z in apexes), default=None),
        entry["darts"],
        len(nodes),
        largest,
        entry["warnings"],
    )


def centre_is_upright(root: etree._Element, block: Block) -> float:
    """Return how far a clean block's straight centre strays from the vertical, in degrees.

    The longest straight segment of the outline that is nearest to the vertical is taken.
    """
    (outline,) = outlines_in(root)
    lines = [part for part in read_path(outline.get("d")) if len(part) == 2]
    centre = next(run for run in true_runs(block) if run.seam.startswith("centre"))
    length = abs(centre.parts[-1][-1] - centre.start)
    mm = units(root)
    like = [
        part for part in lines if abs(abs(part[1] - part[0]) * mm - length) < 0.01 * length + 1.0
    ]
    return min(
        abs(90.0 - abs(math.degrees(cmath.phase(tangent(part, end=False))))) for part in like
    )


def quantiles(values: Sequence[float]) -> str:
    """Return a distribution in one line: median, 90, 95, 99 of 100, and the largest."""
    marks = np.quantile(np.array(values), [0.5, 0.9, 0.95, 0.99, 1.0])
    return "  ".join(f"{value:6.2f}" for value in marks)
