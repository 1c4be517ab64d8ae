"""Sheets as a scanner sees them, and the traces that a real tracer makes of the pictures."""

from __future__ import annotations

import random
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from tests.help.scans.fresh.lines import Line, circle, dense, line
from tests.help.scans.fresh.sheets import Map, Mark, Scanning, Sheet

INCH = 25.4
HAS_TRACER = shutil.which("potrace") is not None
INKSCAPE = "http://www.inkscape.org/namespaces/inkscape"


class _Canvas:
    """A picture drawn larger than it will be, as a scanner's sensor averages."""

    def __init__(self, size: tuple[float, float], dpi: float) -> None:
        self.width, self.height = (max(1, round(part * dpi / INCH)) for part in size)
        dots = self.width * self.height
        self.times = 4 if dots < 2.5e6 else 3 if dots < 7e6 else 2 if dots < 1.6e7 else 1
        self.scale = dpi / INCH * self.times
        self.image = Image.new("L", (self.width * self.times, self.height * self.times), 255)
        self.draw = ImageDraw.Draw(self.image)

    def stroke(self, points: Line, pen: float, grey: int) -> None:
        scaled = points * self.scale
        pairs = [(float(z.real), float(z.imag)) for z in scaled]
        radius = pen * self.scale / 2
        self.draw.line(pairs, fill=grey, width=max(1, round(2 * radius)))
        if radius >= 1.0:
            for x, y in pairs:
                self.draw.ellipse((x - radius, y - radius, x + radius, y + radius), fill=grey)

    def fill(self, points: Line, grey: int) -> None:
        """Fill a closed line: half a dot inside it, as all dots that it touches are drawn."""
        scaled = points * self.scale
        inner = shapely.Polygon(np.column_stack([scaled.real, scaled.imag])).buffer(
            -0.5, join_style="mitre", mitre_limit=40.0
        )
        if isinstance(inner, shapely.Polygon) and not inner.is_empty:
            scaled = np.array([complex(x, y) for x, y in inner.exterior.coords])
        self.draw.polygon([(float(z.real), float(z.imag)) for z in scaled], fill=grey)

    def word(self, text: str, at: complex, size: float) -> None:
        font = ImageFont.truetype("DejaVuSans.ttf", max(4, round(size * self.scale)))
        place = (at.real * self.scale, at.imag * self.scale)
        self.draw.text(place, text, fill=20, font=font, anchor="mm")

    def reduced(self) -> Image.Image:
        if self.times == 1:
            return self.image
        return self.image.resize((self.width, self.height), Image.Resampling.BOX)


def picture(rng: random.Random, sheet: Sheet, size: tuple[float, float]) -> Image.Image:
    """Return what the scanner gives of a sheet, in grey.

    Args:
        rng: where chance comes from.
        sheet: what is drawn, in mm from the picture's corner.
        size: of the picture, in mm.
    """
    scanning = sheet.scanning
    seen = sheet.view

    def view(points: Line) -> Line:
        return points if seen is None else seen(dense(points, 2.0))

    canvas = _Canvas(size, scanning.dpi)
    for points in sheet.fills:
        canvas.fill(view(points), 15)
    for points in sheet.holes:
        canvas.fill(view(points), 255)
    for stroke in sheet.strokes:
        canvas.stroke(view(stroke.points), stroke.pen, round(255 * (1.0 - stroke.dark)))
    for word in sheet.words:
        at = word.at if seen is None else complex(seen(line(word.at))[0])
        canvas.word(word.text, at, word.size)
    for _ in range(scanning.specks):
        at = complex(rng.uniform(0, size[0]), rng.uniform(0, size[1]))
        canvas.fill(circle(at, rng.uniform(0.1, 0.35), 8), rng.randrange(120))
    for _ in range(scanning.creases):
        _crease(rng, canvas, size)
    image = canvas.reduced().filter(ImageFilter.GaussianBlur(scanning.blur))
    grey = np.asarray(image).astype(np.float32)
    grey += _grain(rng, grey.shape, scanning.noise)
    for _ in range(scanning.smudges):
        grey -= _smudge(rng, grey.shape, rng.uniform(25, 85))
    if scanning.is_flooded:
        grey -= _smudge(rng, grey.shape, rng.uniform(130, 220), rng.uniform(0.25, 0.6))
        grey += _grain(rng, grey.shape, rng.uniform(20, 45))
    return Image.fromarray(np.clip(grey, 0, 255).astype(np.uint8))


def _crease(rng: random.Random, canvas: _Canvas, size: tuple[float, float]) -> None:
    """Draw the grey, often broken line that a fold of the paper leaves."""
    ends = [complex(rng.uniform(0, size[0]), rng.uniform(0, size[1])) for _ in range(2)]
    places = np.linspace(0.0, 1.0, 60)
    points = np.asarray(ends[0] + (ends[1] - ends[0]) * places, dtype=np.complex128)
    for k in range(len(points) - 1):
        if rng.random() < 0.6:
            canvas.stroke(points[k : k + 2], rng.uniform(0.15, 0.3), rng.randrange(110, 215))


def _grain(rng: random.Random, shape: tuple[int, ...], deviation: float) -> NDArray[np.float32]:
    """Return a sensor's noise: a tile of chance laid again and again, which is quick."""
    tile = np.random.default_rng(rng.randrange(2**32)).normal(0.0, deviation, (509, 1021))
    rows, columns = (-(-part // side) for part, side in zip(shape, tile.shape, strict=True))
    return np.tile(tile.astype(np.float32), (rows, columns))[: shape[0], : shape[1]]


def _smudge(
    rng: random.Random, shape: tuple[int, ...], depth: float, share: float | None = None
) -> NDArray[np.float32]:
    """Return how much darker a soft round smudge makes a picture."""
    height, width = shape
    y, x = np.ogrid[:height, :width]
    reach = (share or rng.uniform(0.06, 0.2)) * min(shape)
    cx, cy = rng.uniform(0.1, 0.9) * width, rng.uniform(0.1, 0.9) * height
    away = ((x - cx) ** 2 + (y - cy) ** 2) / reach**2
    return np.asarray(depth * np.exp(-(away**2)), dtype=np.float32)


def traced(image: Image.Image, folder: Path, scanning: Scanning) -> tuple[str, float]:
    """Return the drawing that the tracer makes of a grey picture, and its units to the dot."""
    source, target = folder / "scan.pbm", folder / "scan.svg"
    black = image.point(lambda grey: 255 if grey > scanning.threshold else 0)
    black.convert("1").save(source, "PPM")
    size = ("-r", f"{scanning.dpi:g}") if scanning.is_to_scale else ()
    command = ["potrace", "-s", *scanning.options, *size, str(source), "-o", str(target)]
    subprocess.run(command, check=True, timeout=60)
    svg = target.read_text(encoding="utf-8")
    source.unlink()
    target.unlink()
    found = re.search(r'viewBox="0 0 ([\d.]+) ', svg)
    assert found is not None
    return svg, float(found[1]) / image.width


def with_marks(svg: str, marks: list[Mark], to_units: Map) -> str:
    """Return a drawing with the marks that the drafter lays over it."""
    paths = []
    for mark in marks:
        points = to_units(mark.points)
        d = "M " + " L ".join(f"{z.real:.6f},{z.imag:.6f}" for z in points)
        d += " Z" if mark.is_closed else ""
        paths.append(
            f'<path xmlns:inkscape="{INKSCAPE}" inkscape:label="{mark.label}" d="{d}" '
            'style="fill:none;stroke:#c03030"/>'
        )
    return svg.replace("</svg>", "\n".join([*paths, "</svg>"]))


def vector_drawing(sheet: Sheet, size: tuple[float, float]) -> str:
    """Return a drawing whose lines are set by hand, in mm."""
    parts = []
    for points, is_closed in sheet.paths:
        d = "M " + " L ".join(f"{z.real:.4f},{z.imag:.4f}" for z in points)
        parts.append(d + (" Z" if is_closed else ""))
    for pieces in sheet.curves:
        start = pieces[0][0]
        d = f"M {start.real:.4f},{start.imag:.4f}"
        for piece in pieces:
            letter = "C" if len(piece) == 4 else "L"
            d += f" {letter} " + " ".join(f"{z.real:.4f},{z.imag:.4f}" for z in piece[1:])
        is_closed = abs(pieces[-1][-1] - start) < 1e-9
        parts.append(d + (" Z" if is_closed else ""))
    body = "\n".join(f'<path d="{d}" style="fill:none;stroke:#000;stroke-width:0.5"/>'
                     for d in parts)  # fmt: skip
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" '
        f'width="{size[0]:.3f}mm" height="{size[1]:.3f}mm" '
        f'viewBox="0 0 {size[0]:.3f} {size[1]:.3f}">\n{body}\n</svg>'
    )
