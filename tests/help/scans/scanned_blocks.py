"""Invented blocks as a scanner sees them: drawn by hand, scanned askew, and really traced.

A block of `random_blocks` is drawn with a pen, stroke by stroke with a hand's wobble, turned,
blurred, soiled with specks and a word, made black and white, and traced by `potrace`, which the
drawings a digitizer brings come from. What is true of the block is kept beside the trace.
"""

from __future__ import annotations

import cmath
import math
import random
import re
import shutil
import subprocess
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from tests.help.blocks.random_blocks import Block, at, random_block

INCH = 25.4
#: The scan and the pen of the goal that is measured.
DPI = 150
PEN = 0.7
WOBBLE = 0.25
#: Paper around the block (mm).
MARGIN = 30.0
#: The picture is drawn so many times larger and then reduced, as a scanner's sensor averages.
OVERSAMPLING = 4

HAS_TRACER = shutil.which("potrace") is not None

Map = Callable[[complex], complex]


@dataclass(frozen=True)
class Scan:
    """A traced scan and what it is a scan of.

    Attributes:
        svg: the drawing that the tracer wrote, with a known length or a known rectangle in it.
        block: the true block, in mm.
        to_units: from the block's mm to the drawing's user units, as the scan lies.
        turn: by how much the block is turned on the sheet, in radians.
    """

    svg: str
    block: Block
    to_units: Map
    turn: float


def wobbled(
    rng: random.Random, points: Sequence[complex], amplitude: float = WOBBLE
) -> list[complex]:
    """Return a stroke as an unsteady hand draws it: nowhere further off than the amplitude."""
    lengths = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(np.array(points))))])
    waves = [
        (rng.uniform(0.5, 1.0), rng.uniform(14.0, 70.0), rng.uniform(0.0, 2 * math.pi))
        for _ in range(4)
    ]
    whole = sum(weight for weight, _length, _phase in waves)
    out = []
    for k, z in enumerate(points):
        before, after = points[max(0, k - 1)], points[min(len(points) - 1, k + 1)]
        normal = 1j * (after - before) / (abs(after - before) or 1.0)
        off = sum(w * math.sin(2 * math.pi * lengths[k] / way + p) for w, way, p in waves) / whole
        out.append(z + normal * off * amplitude)
    return out


def strokes_of(block: Block) -> list[list[complex]]:
    """Return a block as a hand draws it: a stroke for every seam's half and every leg."""
    strokes: list[list[complex]] = []
    previous: tuple[str, int, bool] | None = None
    for index, segment in enumerate(block.segments):
        key = (segment.seam, segment.run, index > block.mouth)
        if segment.seam == "dart":
            key = ("dart", index, True)
        count = max(2, int(abs(segment.points[0] - segment.points[-1]) / 0.5))
        points = [at(segment.points, k / count) for k in range(count + 1)]
        if key == previous:
            strokes[-1] += points[1:]
        else:
            strokes.append(points)
        previous = key
    return strokes


def cross_at(place: complex, size: float = 4.0) -> list[list[complex]]:
    """Return the two strokes of a small upright cross."""
    half = size / 2
    return [[place - half, place + half], [place - half * 1j, place + half * 1j]]


def bitmap(
    rng: random.Random,
    strokes: Sequence[Sequence[complex]],
    to_mm: Map,
    size: tuple[float, float],
    *,
    pen: float = PEN,
    dots: Sequence[complex] = (),
    word_at: complex | None = None,
    specks: int = 60,
    dpi: float = DPI,
) -> Image.Image:
    """Return what the scanner gives of strokes in mm, in grey.

    Args:
        rng: where chance comes from.
        strokes: polylines in the block's mm.
        to_mm: where the paper's point in mm is that shows a point of the block.
        size: width and height of the scan in mm.
        pen: the pen's width in mm.
        dots: centres of dots of 2 mm.
        word_at: where a word is written, in the scan's mm.
        specks: how many specks there are.
        dpi: dots to the inch.
    """
    scale = dpi / INCH * OVERSAMPLING
    width, height = (round(part * dpi / INCH) for part in size)
    image = Image.new("L", (width * OVERSAMPLING, height * OVERSAMPLING), 255)
    draw = ImageDraw.Draw(image)
    radius = pen * scale / 2
    for stroke in strokes:
        points = [to_mm(z) * scale for z in stroke]
        draw.line([(z.real, z.imag) for z in points], fill=0, width=max(1, round(2 * radius)))
        for z in points:
            draw.ellipse(
                (z.real - radius, z.imag - radius, z.real + radius, z.imag + radius), fill=0
            )
    for place in dots:
        z, r = to_mm(place) * scale, scale
        draw.ellipse((z.real - r, z.imag - r, z.real + r, z.imag + r), fill=0)
    for _ in range(specks):
        z = complex(rng.uniform(0, size[0]), rng.uniform(0, size[1])) * scale
        r = rng.uniform(0.1, 0.35) * scale
        draw.ellipse((z.real - r, z.imag - r, z.real + r, z.imag + r), fill=rng.randrange(120))
    if word_at is not None:
        font = ImageFont.truetype("DejaVuSans.ttf", round(7 * scale))
        draw.text((word_at.real * scale, word_at.imag * scale), "Front", fill=20, font=font)
    image = image.resize((width, height), Image.Resampling.BOX)
    image = image.filter(ImageFilter.GaussianBlur(0.7))
    grains = np.random.default_rng(rng.randrange(2**32)).normal(0.0, 14.0, (height, width))
    return Image.fromarray(np.clip(np.asarray(image) + grains, 0, 255).astype(np.uint8))


def traced(image: Image.Image, folder: Path, *options: str) -> str:
    """Return the SVG drawing that the tracer makes of a grey picture."""
    source, target = folder / "scan.pbm", folder / "scan.svg"
    image.point(lambda grey: 255 if grey > 140 else 0).convert("1").save(source, "PPM")
    subprocess.run(
        ["potrace", "-s", *options, str(source), "-o", str(target)], check=True, timeout=60
    )
    return target.read_text()


def _placed(block: Block, turn: float) -> tuple[Map, tuple[float, float]]:
    """Return where a block lies on a sheet just large enough, turned, and the sheet's size."""
    factor = cmath.exp(1j * turn)
    points = [z * factor for stroke in strokes_of(block) for z in stroke]
    left, top = min(z.real for z in points) - MARGIN, min(z.imag for z in points) - MARGIN
    size = (
        max(z.real for z in points) + MARGIN - left,
        max(z.imag for z in points) + MARGIN - top,
    )
    return (lambda z: z * factor - complex(left, top)), size


def with_mark(svg: str, label: str, points: Sequence[complex], *, closed: bool = False) -> str:
    """Return a drawing with one more path, in user units, that carries a label."""
    d = "M " + " L ".join(f"{z.real!r},{z.imag!r}" for z in points) + (" Z" if closed else "")
    path = (
        f'<path xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
        f'inkscape:label="{label}" d="{d}" style="fill:none;stroke:#c03030"/>'
    )
    return svg.replace("</svg>", f"{path}\n</svg>")


def scan(
    seed: int,
    folder: Path,
    *,
    kind: str | None = None,
    source: str | None = None,
    scale: float = 1.0,
    wobble: float = WOBBLE,
    turn: float = 3.0,
    options: Sequence[str] = (),
) -> Scan:
    """Return a random block drawn, scanned and traced as the goal says.

    Args:
        seed: of the chance.
        folder: where the tracer's files go.
        kind: the kind of piece, or None for any.
        source: the seam its dart is on, or None for any.
        scale: the block's scale.
        wobble: the hand's wobble in mm.
        turn: how far the sheet may lie askew, in degrees.
        options: more options of the tracer.
    """
    rng = random.Random(seed)
    block = random_block(rng, kind, source, scale)
    askew = math.radians(rng.uniform(-turn, turn))
    place, size = _placed(block, askew)
    strokes = [wobbled(rng, stroke, wobble) for stroke in strokes_of(block)]
    dots: list[complex] = []
    if rng.random() < 0.5:
        strokes += cross_at(block.apex)
    else:
        dots.append(block.apex)
    image = bitmap(
        rng, strokes, place, size, dots=dots,
        word_at=complex(size[0] * rng.uniform(0.4, 0.55), size[1] * rng.uniform(0.72, 0.8)),
    )  # fmt: skip
    svg = traced(image, folder, *options)
    per_mm = units_per_mm(svg, size[0], image)

    def to_units(z: complex) -> complex:
        return place(z) * per_mm

    corner = complex(8, 8) * per_mm
    svg_known = with_mark(svg, "known length 100mm", [corner, corner + 100 * per_mm])
    return Scan(svg_known, block, to_units, askew)


def units_per_mm(svg: str, width: float, image: Image.Image) -> float:
    """Return how many user units of a traced drawing a millimetre of the scan is."""
    found = re.search(r'viewBox="0 0 ([\d.]+) ', svg)
    assert found is not None
    return float(found[1]) / image.width * (image.width / (image.width * INCH / DPI))


#: The sheet of paper in a photo (ISO 216, A4), and how far away the camera is (mm).
SHEET = (210.0, 297.0)
CAMERA = 1200.0


def photo(seed: int, folder: Path, *, tilt: float = 15.0) -> Scan:
    """Return a random block photographed askew, with a sheet of paper lying on it, and traced.

    Args:
        seed: of the chance.
        folder: where the tracer's files go.
        tilt: how far the camera may be tilted, in degrees.
    """
    rng = random.Random(seed)
    block = random_block(rng, scale=1.0)
    askew = math.radians(rng.uniform(-3.0, 3.0))
    place, size = _placed(block, askew)
    strokes = [wobbled(rng, stroke) for stroke in strokes_of(block)]
    image = bitmap(rng, strokes, place, size, dots=[block.apex])
    per_mm = DPI / INCH
    middle = complex(size[0], size[1]) / 2
    across, down = (math.radians(rng.choice((-1, 1)) * rng.uniform(0.6, 1.0) * tilt) for _ in "xy")
    frame = np.array(
        [[math.cos(down), 0, math.sin(down)], [0, 1, 0], [-math.sin(down), 0, math.cos(down)]]
    ) @ np.array(
        [
            [1, 0, 0],
            [0, math.cos(across), -math.sin(across)],
            [0, math.sin(across), math.cos(across)],
        ]
    )

    def seen(z: complex) -> complex:
        """Return where the camera sees a point of the sheet (both in mm)."""
        away = z - middle
        x, y, depth = frame @ np.array([away.real, away.imag, 0.0])
        return complex(x, y) * float(CAMERA / (CAMERA + depth)) + middle

    # The picture asks for the sheet's pixel at each of its own: the map back, from four corners.
    corners = [0j, size[0] + 0j, complex(*size), 1j * size[1]]
    rows, wanted = [], []
    for z in corners:
        u, v = seen(z) * per_mm, z * per_mm
        rows += [
            [u.real, u.imag, 1, 0, 0, 0, -v.real * u.real, -v.real * u.imag],
            [0, 0, 0, u.real, u.imag, 1, -v.imag * u.real, -v.imag * u.imag],
        ]
        wanted += [v.real, v.imag]
    back = np.linalg.solve(np.array(rows), np.array(wanted))
    view = image.transform(
        image.size,
        Image.Transform.PERSPECTIVE,
        tuple(back),
        Image.Resampling.BICUBIC,
        fillcolor=255,
    )
    svg = traced(view, folder)
    units = units_per_mm(svg, size[0], view)
    corner = middle - complex(*SHEET) / 2
    sheet = [corner, corner + SHEET[0], corner + complex(*SHEET), corner + 1j * SHEET[1]]
    # A hand sets the corners to a third of a millimetre.
    marked = [
        (seen(z) + complex(rng.uniform(-0.3, 0.3), rng.uniform(-0.3, 0.3))) * units for z in sheet
    ]
    label = f"known rectangle {SHEET[0]:.0f}x{SHEET[1]:.0f}mm"
    svg = with_mark(svg, label, marked, closed=True)
    return Scan(svg, block, lambda z: seen(place(z)) * units, askew)
