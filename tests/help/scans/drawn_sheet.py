"""A small sheet with a block of straight seams, drawn as a picture in any kind of file."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw

INCH = 25.4
#: The sheet's size and the block's corners on it, in mm: the dart's legs are equally long.
SIZE = (120.0, 150.0)
BLOCK = (
    *(15 + 20j, 98 + 14j, 106 + 128j, 69 + 131j),
    *(60.5 + 78j, 52 + 131j, 18 + 133j),
)
PEN = 0.8


def grey_sheet(dpi: float = 150.0, *, filled: bool = False) -> NDArray[np.uint8]:
    """Return the sheet as a good scanner sees it: 255 for paper, rows first."""
    times = 4
    scale = dpi / INCH * times
    width, height = (round(side * dpi / INCH) * times for side in SIZE)
    image = Image.new("L", (width, height), 255)
    draw = ImageDraw.Draw(image)
    # The drawing library's dots are counted from their middles.
    corners = [(z.real * scale - 0.5, z.imag * scale - 0.5) for z in (*BLOCK, *BLOCK[:2])]
    if filled:
        draw.polygon(corners[:-1], fill=20)
    else:
        draw.line(corners, fill=20, width=round(PEN * scale), joint="curve")
    reduced = image.resize((width // times, height // times), Image.Resampling.BOX)
    return np.asarray(reduced, dtype=np.uint8)


def shaded(grey: NDArray[np.uint8] | NDArray[np.float64]) -> NDArray[np.uint8]:
    """Return a sheet on grey paper, the light falling off, half of it in shadow."""
    height, width = grey.shape
    y, x = np.mgrid[:height, :width] / np.array([height, width]).reshape(2, 1, 1)
    shadow = 1.0 - 0.45 / (1.0 + np.exp(-(x + 0.6 * y - 0.8) * 150))
    return np.asarray(np.clip(grey * (0.85 - 0.3 * x) * shadow, 0, 255), dtype=np.uint8)


def saved(image: Image.Image, kind: str, dpi: float | None = 150.0, **how: Any) -> bytes:
    """Return a picture as a file."""
    stream = io.BytesIO()
    if dpi is not None:
        how["dpi"] = (dpi, dpi)
    image.save(stream, kind, **how)
    return stream.getvalue()


def off(line: NDArray[np.complex128]) -> float:
    """Return how far a closed line lies beside the block's at most, both ways (mm)."""
    true = shapely.LinearRing([(z.real, z.imag) for z in BLOCK])
    ring = shapely.LinearRing([(z.real, z.imag) for z in line])
    return max(
        float(shapely.hausdorff_distance(one, other, densify=0.01))
        for one, other in ((true, ring), (ring, true))
    )
