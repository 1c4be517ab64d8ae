"""A fresh scan of a kind: the traced drawing, and the truth that it is a scan of."""

from __future__ import annotations

import random
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.help.scans.fresh.kinds import KINDS
from tests.help.scans.fresh.lines import Line
from tests.help.scans.fresh.pictures import (
    INCH,
    picture,
    traced,
    vector_drawing,
    with_marks,
)
from tests.help.scans.fresh.pieces import Piece
from tests.help.scans.fresh.sheets import Map, Mark, laid_out


@dataclass(frozen=True)
class Truth:
    """What is true of a sheet.

    Attributes:
        pieces: the blocks on it with their true stitch lines and darts, in mm of the paper.
        allowances: for every block the drawn allowance's width by seam (mm); empty: none drawn.
        may_refuse: whether nobody could tell the block from the sheet: then a refusal is right.
        to_units: from mm of the paper to the drawing's user units.
        detail: what is special about the sheet, in a few words.
    """

    pieces: tuple[Piece, ...]
    allowances: tuple[dict[str, float], ...]
    may_refuse: bool
    to_units: Map
    detail: str


@dataclass(frozen=True)
class FreshScan:
    """A drawing that a digitizer brings, and the truth beside it."""

    kind: str
    seed: int
    svg: str
    truth: Truth


def fresh_scan(kind: str, seed: int, folder: Path) -> FreshScan:
    """Return a scan of a kind.

    Args:
        kind: one of `KINDS`.
        seed: of the chance: the same seed gives the same scan.
        folder: where the tracer's files go for a moment.
    """
    rng = random.Random(f"{kind} {seed}")
    sheet, size = laid_out(rng, KINDS[kind](rng))
    scanning, view = sheet.scanning, sheet.view
    if sheet.paths or sheet.curves:
        svg, per_mm = vector_drawing(sheet, size), 1.0
    else:
        image = picture(rng, sheet, size)
        svg, per_dot = traced(image, folder, scanning)
        per_mm = per_dot * scanning.dpi / INCH

    def to_units(points: Line) -> Line:
        return np.asarray((view(points) if view is not None else points) * per_mm)

    marks = list(sheet.marks)
    is_vector = bool(sheet.paths or sheet.curves)
    if not (marks or is_vector or scanning.is_to_scale):
        marks.append(Mark("known length 100mm", 8 + 8j + np.array([0.0, 100.0])))
    return FreshScan(
        kind,
        seed,
        with_marks(svg, marks, to_units),
        Truth(
            tuple(sheet.pieces),
            tuple(sheet.allowances),
            sheet.may_refuse,
            to_units,
            sheet.detail,
        ),
    )


def kind_of(seed: int) -> str:
    """Return the kind that a seed stands for where kinds are mixed: every one in its turn."""
    return list(KINDS)[seed % len(KINDS)]
