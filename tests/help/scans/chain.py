"""The whole way, from a picture of a scan to a printed page that is measured and looked at.

python -m tests.help.scans.chain --seeds 0-5 [--kind plain] [--lights shadow,grey] --out FOLDER

Without a kind the kinds take turns.

A fresh sheet is drawn and photographed in bad light; `clean` makes a block of the picture, `move`
takes its dart to a place that the truth names (`allow` where there is not one dart), `paper` prints
it. The printed stitch line is laid upon the true one, whose sectors are turned here by other code,
and the printed test square is measured. A sheet of pictures shows each step.
"""

from __future__ import annotations

import argparse
import cmath
import json
import random
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from extension.commands.command_line import main as dartswing
from tests.help.printing.pdf_pages import INCH, Raster, box_of, rasters
from tests.help.printing.printed_marks import squares_on
from tests.help.scans.clean_measures import outlines_in
from tests.help.scans.fresh.kinds import KINDS
from tests.help.scans.fresh.lines import Line, dense, rigid
from tests.help.scans.fresh.measure import seeds_of
from tests.help.scans.fresh.pictures import picture
from tests.help.scans.fresh.pieces import Piece
from tests.help.scans.fresh.sheets import Sheet, laid_out
from tests.help.scans.light import LIGHTS, lit

#: Printed pages are looked at in so many dots to the inch.
_DPI = 100
#: A sheet that any piece fits on.
_PAPER = ("--paper", "1300x1300mm", "--copies", "once")
_STITCH = ("--cut", "no", "--dart", "no", "--window", "no", "--marks", "no", "--names", "no")
#: Ink further than this from the true line (mm) is another line's.
_NEAR = 3.0
#: Half of the gap between two dashes of a printed line (mm), more at a corner.
_GAP = 2.0
#: The line is first looked for in squares of so many mm.
_COARSE = 2.0
#: In so many turns of a line, all about.
_TURNS = 120
_SQUARE = 50.0
#: A page's frame is drawn within so many mm.
_FRAME = 1.0
#: An edge on the fold is not stitched: what lies so near to it (mm).
_ON_FOLD = 0.3
_PANEL = (620, 780)


class Chained(NamedTuple):
    """What came of a chain.

    Attributes:
        name: kind, seed and light.
        outcome: "printed", or what was said where it stopped.
        off: by how much the printed line misses the true one at most and on average, in mm.
        square: the printed test square's sides, in mm; 0 where none was found.
        panels: pictures of the scan, the clean block on it, and the printed page.
    """

    name: str
    outcome: str
    off: tuple[float, float] | None
    square: tuple[float, float]
    panels: list[Image.Image]


class _Way(NamedTuple):
    """What is done to a block: the true place of its target, and its true stitch lines then."""

    target: complex | None
    lines: list[Line]


def way_of(rng: random.Random, piece: Piece, *, is_signed: bool, folds: Sequence[str]) -> _Way:
    """Return where a piece's dart goes, and where its seams lie then, in mm of the paper.

    The part from the old dart's far end to the target turns about the apex until the dart is shut.

    Args:
        rng: where chance comes from.
        piece: the piece as it lies on the paper.
        is_signed: whether apexes beyond their darts' points are drawn; else nobody knows of them.
        folds: its edges on the fold.
    """
    edges = [dense(run.points) for run in piece.runs if run.seam in folds and not run.is_leg]
    seams = [dense(run.points) for run in piece.runs if run.seam not in folds and not run.is_leg]
    if len(piece.darts) != 1:
        return _Way(None, seams)
    dart = piece.darts[0]
    apex = dart.apex if is_signed and abs(dart.apex - dart.point) > 8.0 else dart.point
    ring = piece.fine_line
    ring = ring[np.abs(ring - np.roll(ring, 1)) > 1e-9]
    first = int(np.abs(ring - dart.end).argmin())
    ring = np.roll(ring, -first)
    last = int(np.abs(ring - dart.start).argmin())
    around = ring[: last + 1]
    shape = shapely.Polygon([(z.real, z.imag) for z in piece.line]).buffer(1.0)
    shut = (dart.start - apex) / (dart.end - apex)
    for _ in range(60):
        at = rng.randrange(len(around) // 6, 5 * len(around) // 6)
        target = complex(around[at])
        cut = shapely.LineString([(z.real, z.imag) for z in (target, apex)])
        corners = np.abs(piece.corners - target)
        if shape.contains(cut) and corners.min() > 30.0 and abs(target - apex) > 60.0:
            to = shut / abs(shut)
            turned = [apex + (part - apex) * to for part in _stitched(around[: at + 1], edges)]
            return _Way(target, [*turned, *_stitched(around[at:], edges)])
    return _Way(None, seams)


def _stitched(points: Line, edges: Sequence[Line]) -> list[Line]:
    """Return the parts of a line that are on no edge on the fold."""
    if not edges:
        return [points]
    away = np.abs(points[:, None] - np.concatenate(edges)[None, :]).min(axis=1)
    is_off = away >= _ON_FOLD
    places = np.flatnonzero(np.diff(is_off)) + 1
    parts = zip(np.split(points, places), np.split(is_off, places), strict=True)
    return [part for part, off in parts if off.all() and len(part) > 1]


def _sheet(kind: str, seed: int, light: str) -> tuple[Sheet, Image.Image] | None:
    rng = random.Random(f"{kind} {seed}")
    sheet, size = laid_out(rng, KINDS[kind](rng))
    if sheet.paths or sheet.curves or sheet.view is not None or len(sheet.pieces) != 1:
        return None
    return sheet, lit(random.Random(f"{light} {seed}"), picture(rng, sheet, size), light)


def _within_frame(page: Raster) -> Raster:
    """Return a printed page without the frame about it, which is its outermost ink."""
    left, top, right, bottom = box_of(page > 0.5)
    wide = round(_FRAME * _DPI / INCH)
    found = np.zeros_like(page)
    inside = (slice(top + wide, bottom - wide), slice(left + wide, right - wide))
    found[inside] = page[inside]
    return found


def _with_target(drawing: Path, target: complex) -> None:
    """Put a target mark where the truth wants it; a block from a picture lies as the paper does."""
    text = drawing.read_text(encoding="utf-8")
    mark = (
        f'<circle cx="{target.real:.6f}" cy="{target.imag:.6f}" r="1" '
        'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" inkscape:label="target"/>'
    )
    drawing.write_text(text.replace("</svg>", f"{mark}</svg>"), encoding="utf-8")


def chained(kind: str, seed: int, light: str, folder: Path) -> Chained | None:
    """Run the chain, or return None where a seed's sheet is no picture of one piece.

    Args:
        kind: of the sheet.
        seed: of the sheet and the light.
        light: one of `LIGHTS`.
        folder: where all files go.
    """
    made = _sheet(kind, seed, light)
    if made is None:
        return None
    sheet, image = made
    name = f"{kind}_{seed}_{light}"
    scan, block, report, piece, printed, pdf, stitch = (
        folder / f"{name}{end}"
        for end in (".png", "_block.svg", ".json", "_piece.svg", "_paper.svg", ".pdf",
                    "_stitch.pdf")
    )  # fmt: skip
    dpi = sheet.scanning.dpi
    image.save(scan, dpi=(dpi, dpi))
    folds = [seam for widths in sheet.allowances for seam, width in widths.items() if not width]
    piece_drawn = sheet.pieces[0]
    way = way_of(random.Random(seed), piece_drawn, is_signed=not sheet.fills, folds=folds)
    words = ["clean", str(scan), "-o", str(block), "--report", str(report), "--upright", "no"]
    if dartswing([*words, "--square", "no"]) != 0:
        return Chained(name, "not cleaned", None, (0.0, 0.0), [image.convert("RGB")])
    panels = [image.convert("RGB"), _overlaid(image, block, dpi)]
    darts = sum(one["darts"] for one in json.loads(report.read_text())["blocks"])
    if darts != len(piece_drawn.darts):
        return Chained(name, f"{darts} darts", None, (0.0, 0.0), panels)
    if way.target is not None:
        _with_target(block, way.target)
    if dartswing(["move" if way.target is not None else "allow", str(block), "-o", str(piece)]):
        return Chained(name, "not moved", None, (0.0, 0.0), panels)
    for out, more in ((pdf, ()), (stitch, _STITCH)):
        if dartswing(["paper", str(piece), "-o", str(printed), "--pdf", str(out), *_PAPER, *more]):
            return Chained(name, "not printed", None, (0.0, 0.0), panels)
    page = max(rasters(pdf, _DPI), key=lambda one: float(one.sum()))
    left, top, right, bottom = box_of(_within_frame(page) > 0.5)
    shown = (255 * (1 - page[top:bottom, left:right])).astype(np.uint8)
    panels.append(Image.fromarray(shown).convert("RGB"))
    squares = squares_on(page, _DPI, _SQUARE - 2, _SQUARE + 2)
    line = max(rasters(stitch, _DPI), key=lambda one: float(one.sum()))
    off = printed_off(_within_frame(line), way.lines)
    return Chained(name, "printed", off, squares[0] if squares else (0.0, 0.0), panels)


def printed_off(page: Raster, lines: Sequence[Line]) -> tuple[float, float]:
    """Return by how much a printed line misses the true ones, at most and on average (mm)."""
    rows, columns = np.nonzero(page > 0.5)
    places = (columns + 0.5 + 1j * (rows + 0.5)) * INCH / _DPI
    ink: Line = np.asarray(places, dtype=np.complex128)
    true = np.concatenate(lines)
    tree = shapely.STRtree(shapely.points(ink.real, ink.imag))

    def nearest(points: Line) -> Line:
        found = tree.nearest(shapely.points(points.real, points.imag))
        return np.asarray(ink[found])

    def laid(turn: complex) -> Line:
        """Return the true line laid upon ink, beginning with a turn."""
        factor, offset = turn, _shift(ink, np.asarray(true * turn, dtype=np.complex128))[0]
        for step in range(40):
            there = nearest(true * factor + offset)
            away = np.abs(true * factor + offset - there)
            weights = 1.0 / (1.0 + away**2) if step < 22 else (away + 0.02) ** 2
            factor, offset = rigid(true, there, weights)
        return np.asarray(true * factor + offset)

    # Paper lays a piece with its grain along the page, which is not always how it was drawn.
    turns = sorted(
        (cmath.rect(1.0, 2 * cmath.pi * k / _TURNS) for k in range(_TURNS)),
        key=lambda turn: -_shift(ink, np.asarray(true * turn, dtype=np.complex128))[1],
    )
    ways = [laid(turn) for turn in turns[:4]]
    placed = min(ways, key=lambda points: float(np.abs(points - nearest(points)).mean()))
    ends = np.cumsum([len(points) for points in lines])[:-1]
    drawn = shapely.MultiLineString(
        [np.column_stack([part.real, part.imag]) for part in np.split(placed, ends)]
    )
    back = shapely.distance(shapely.points(ink.real, ink.imag), drawn)
    strayed = back[back < _NEAR]
    # The printed line is dashed: half of a gap is no miss.
    missed = float(np.abs(placed - nearest(placed)).max())
    return max(float(strayed.max()), missed if missed > _GAP else 0.0), float(strayed.mean())


def _shift(ink: Line, true: Line) -> tuple[complex, float]:
    """Return the shift that brings most of a line upon ink, and how much, on a coarse grid."""
    corner = complex(true.real.min(), true.imag.min())
    shape = tuple(
        int(max(values.max(), np.ptp(other)) / _COARSE) * 2 + 8
        for values, other in ((ink.imag, true.imag), (ink.real, true.real))
    )

    def grid(points: Line) -> NDArray[np.float64]:
        found = np.zeros(shape)
        found[(points.imag / _COARSE).astype(int), (points.real / _COARSE).astype(int)] = 1.0
        return found

    pages, lines = np.fft.rfft2(grid(ink)), np.fft.rfft2(grid(true - corner))
    match = np.fft.irfft2(pages * np.conj(lines), shape)
    row, column = np.unravel_index(int(match.argmax()), shape)
    down = int(row) - (shape[0] if row > shape[0] // 2 else 0)
    across = int(column) - (shape[1] if column > shape[1] // 2 else 0)
    return complex(across, down) * _COARSE - corner, float(match.max())


def _overlaid(image: Image.Image, drawing: Path, dpi: float) -> Image.Image:
    """Return the scan with the clean block drawn over it."""
    from extension.document.svg_document import parse_document
    from tests.help.scans.clean_measures import read_path

    shown = image.convert("RGB")
    draw = ImageDraw.Draw(shown)
    for outline in outlines_in(parse_document(drawing.read_bytes()).getroot()):
        places = [z * dpi / INCH for part in read_path(outline.get("d")) for z in _along(part)]
        flat = [(z.real, z.imag) for z in places]
        draw.line([*flat, flat[0]], fill=(220, 30, 30), width=max(2, round(dpi / 60)))
    return shown


def _along(segment: Sequence[complex]) -> list[complex]:
    """Return points along a line or cubic."""
    if len(segment) == 2:
        return list(segment)
    a, b, c, d = segment
    return [
        (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t * t * c + t**3 * d
        for t in np.linspace(0.0, 1.0, 24)
    ]


def contact_sheet(found: Sequence[Chained]) -> Image.Image:
    """Return a sheet of pictures, a row for each chain."""
    width, height = _PANEL
    sheet = Image.new("RGB", (3 * width, max(1, len(found)) * (height + 24)), (255, 255, 255))
    draw = ImageDraw.Draw(sheet)
    for row, one in enumerate(found):
        top = row * (height + 24)
        draw.text((6, top + 5), told(one), fill=(0, 0, 0))
        for column, panel in enumerate(one.panels):
            small = panel.copy()
            small.thumbnail((width - 8, height - 8))
            sheet.paste(small, (column * width + 4, top + 24))
    return sheet


def told(one: Chained) -> str:
    """Return a line on a chain."""
    if one.off is None:
        return f"{one.name}: {one.outcome}"
    return (
        f"{one.name}: printed line off {one.off[0]:.2f} mm at most, {one.off[1]:.2f} on average; "
        f"test square {one.square[0]:.2f} x {one.square[1]:.2f} mm"
    )


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the chains that are asked for, print their figures, and write the sheet of pictures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", default="0-5", help="such as 0-5")
    parser.add_argument("--kind", choices=tuple(KINDS), help="else in turn")
    parser.add_argument("--lights", default=",".join(LIGHTS), help="in turn, one for each seed")
    parser.add_argument("--out", type=Path, required=True, help="a folder for all files")
    asked = parser.parse_args(arguments)
    asked.out.mkdir(parents=True, exist_ok=True)
    lights = asked.lights.split(",")
    found = []
    for number, seed in enumerate(seeds_of(asked.seeds)):
        kind = asked.kind or tuple(KINDS)[seed % len(KINDS)]
        one = chained(kind, seed, lights[number % len(lights)], asked.out)
        if one is not None:
            found.append(one)
            print(">>>", told(one), flush=True)
    contact_sheet(found).save(asked.out / f"chain_{asked.kind or 'all'}.png")


if __name__ == "__main__":
    main()
