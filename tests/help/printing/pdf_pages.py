"""PDF files looked at from outside: poppler's programs tell sizes, fonts and texts, and draw them.

A raster is an array of rows of pixels, 0 where the paper is white and 1 where it is black.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from extension.host.editors import programs

Raster: TypeAlias = NDArray[np.float32]
Mask: TypeAlias = NDArray[np.bool_]

INCH = 25.4
TOOLS = ("pdfinfo", "pdffonts", "pdftotext", "pdftocairo")
TIMEOUT_S = 60
#: From so much black on, a pixel belongs to a line.
THRESHOLD = 0.5


class Font(NamedTuple):
    """A font of a PDF, and whether the file holds it."""

    name: str
    embedded: bool


def missing_tools() -> list[str]:
    """Return the programs that tests of PDFs need and that are not there."""
    editor = [] if programs() else ["inkscape"]
    return [*editor, *(tool for tool in TOOLS if not shutil.which(tool))]


def page_sizes(pdf: Path) -> list[tuple[float, float]]:
    """Return width and height of every page in mm."""
    said = _run(["pdfinfo", "-f", "1", "-l", "-1", str(pdf)])
    lines = re.findall(r"^Page +\d+ size: +(\S+) x (\S+) pts", said, re.MULTILINE)
    return [(float(width) * INCH / 72, float(height) * INCH / 72) for width, height in lines]


def fonts(pdf: Path) -> list[Font]:
    """Return the fonts of a PDF."""
    head, *rows = _run(["pdffonts", str(pdf)]).splitlines()
    at = head.index("emb")
    return [Font(row.split()[0], row[at : at + 3].strip() == "yes") for row in rows[1:]]


def page_texts(pdf: Path) -> list[str]:
    """Return the text of every page, its white space as single blanks."""
    # A form feed ends every page.
    pages = _run(["pdftotext", "-enc", "UTF-8", str(pdf), "-"]).split("\f")[:-1]
    return [" ".join(page.split()) for page in pages]


def rasters(
    pdf: Path,
    dpi: int,
    *,
    only: int | None = None,
    band: tuple[float, float] | None = None,
) -> list[Raster]:
    """Return the pages as rasters.

    Args:
        pdf: the file.
        dpi: pixels to an inch.
        only: the number of the only page that is wanted, from 1.
        band: where the wanted rows begin and how many they are, in mm; left out: all.
    """
    wanted: list[str] = [] if only is None else ["-f", str(only), "-l", str(only)]
    if band is not None:
        start, height = (round(length * dpi / INCH) for length in band)
        wanted += ["-x", "0", "-y", str(start), "-W", "100000", "-H", str(height)]
    with tempfile.TemporaryDirectory() as folder:
        # Not pdftoppm: it moves upright and level lines to whole pixels.
        how = ("-tiff", "-tiffcompression", "none", "-gray", "-r", str(dpi))
        _run(["pdftocairo", *how, *wanted, str(pdf), str(Path(folder, "page"))])
        return [_darkness(path) for path in sorted(Path(folder).iterdir())]


def export_pdf(drawing: Path, pdf: Path) -> None:
    """Let the editor write a drawing as a PDF, each of its pages one page."""
    _run(
        [*programs()[0].command, str(drawing), "--export-type=pdf", f"--export-filename={pdf}"],
    )
    assert pdf.is_file()


def dilated(mask: Mask, pixels: int) -> Mask:
    """Return a mask grown by some pixels to every side, across corners too."""
    grown = mask
    for _ in range(pixels):
        for axis in (0, 1):
            one = np.moveaxis(grown, axis, 0)
            more = one.copy()
            more[1:] |= one[:-1]
            more[:-1] |= one[1:]
            grown = np.moveaxis(more, 0, axis)
    return grown


def box_of(mask: Mask) -> tuple[int, int, int, int]:
    """Return the first column and row that hold something, and those behind the last."""
    (columns,), (rows,) = np.nonzero(mask.any(axis=0)), np.nonzero(mask.any(axis=1))
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


def _darkness(picture: Path) -> Raster:
    with Image.open(picture) as image:
        assert image.mode == "L", "not a picture of greys"
        darkness: Raster = np.float32(1.0) - np.asarray(image, np.float32) / np.float32(255.0)
    return darkness


def _run(command: Sequence[str]) -> str:
    answer = subprocess.run(
        command,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=TIMEOUT_S,
        check=False,
        # Apart from an editor that may be open: it is not to be handed the work.
        env={**os.environ, "SELF_CALL": "true"},
    )
    assert answer.returncode == 0, f"{command[0]}: {answer.stderr}"
    return answer.stdout
