"""Pictures to look at: the trace grey, the true line green, what was given red."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from lxml import etree
from PIL import Image, ImageDraw

from extension.document.shapes import mapped_subpaths
from tests.help.scans.fresh.fresh_scans import FreshScan
from tests.help.scans.fresh.judge import GivenBlock, Judgement
from tests.help.scans.fresh.lines import Line

_LONGEST = 1400


def overlay(
    scan: FreshScan,
    given: Sequence[GivenBlock],
    judgement: Judgement | None,
    title: str,
    target: Path,
) -> None:
    """Write a picture of a scan with its truth and what was given for it.

    Args:
        scan: the scan.
        given: the blocks that were given out.
        judgement: how the true blocks lie upon them.
        title: what is wrong.
        target: the file.
    """
    units = scan.truth.to_units
    traces = _traced(scan.svg)
    truths = [units(piece.fine_line) for piece in scan.truth.pieces]
    every = np.concatenate([*truths, *[t for t in traces if len(t)][:4000]])
    corner = complex(every.real.min(), every.imag.min())
    scale = _LONGEST / max(np.ptp(every.real), np.ptp(every.imag))
    size = (round(np.ptp(every.real) * scale) + 40, round(np.ptp(every.imag) * scale) + 60)
    image = Image.new("RGB", size, "white")
    draw = ImageDraw.Draw(image)

    def at(points: Line) -> list[tuple[float, float]]:
        placed = (points - corner) * scale + (20 + 40j)
        return [(float(z.real), float(z.imag)) for z in placed]

    for points in traces:
        if len(points) > 1:
            draw.line(at(points), fill="#b0b0b0", width=1)
    for points in truths:
        draw.line(at(np.append(points, points[0])), fill="#00a000", width=2)
    for number, block in enumerate(given):
        factor, offset = _back(number, judgement)
        mm = (block.line - offset) / factor
        draw.line(at(units(np.append(mm, mm[0]))), fill="#e00000", width=2)
        for x, y in at(units((block.nodes - offset) / factor)):
            draw.rectangle((x - 3, y - 3, x + 3, y + 3), outline="#e00000")
    draw.text((4, 2), f"{scan.kind} {scan.seed}: {scan.truth.detail}", fill="black")
    draw.text((4, 16), title, fill="#e00000")
    image.save(target)


def _back(number: int, judgement: Judgement | None) -> tuple[complex, complex]:
    """Return the motion that a given block was laid with; of a stray one, that of any other."""
    if judgement is not None:
        laid = [one for one in judgement.laid if one is not None]
        for one, upon in zip(judgement.laid, judgement.upon, strict=True):
            if one is not None and upon == number:
                return one.factor, one.offset
        if laid:
            return laid[0].factor, laid[0].offset
    return 1.0 + 0j, 0j


def _chords(cubic: Sequence[complex]) -> list[complex]:
    a, b, c, d = cubic
    return [
        s**3 * a + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * d
        for t, s in ((0.0, 1.0), (0.33, 0.67), (0.67, 0.33))
    ]


def _traced(svg: str) -> list[Line]:
    root = etree.fromstring(svg.encode())
    found = []
    for element in root.iter("{http://www.w3.org/2000/svg}path"):
        for path in mapped_subpaths(element):
            points = [
                z
                for segment in path.segments
                for z in (_chords(segment) if len(segment) == 4 else (segment.start,))
            ]
            if path.segments:
                points.append(path.segments[0].start if path.closed else path.end)
            found.append(np.array(points))
    return found
