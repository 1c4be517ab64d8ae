"""Drawn by the editor, the copies of all sectors laid back are the picture they were cut of."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from lxml import etree
from PIL import Image

from extension.commands.command_line import main
from tests.conftest import require
from tests.extension.artwork.written_copies import (
    LABEL,
    SVG,
    moves_of,
    result_layers,
    sector_groups,
    to_root,
)
from tests.help.blocks.artwork import with_artwork
from tests.help.editor.editor import missing_tools

RESOLUTION = 50
#: Colours that differ by less are the same; and so many pixels beside a cut are mixed of both.
SAME, MIXED = 8, 3


def raster(root: etree._Element, picture: Path) -> np.ndarray:
    drawing = picture.with_suffix(".svg")
    etree.ElementTree(root).write(str(drawing))
    subprocess.run(
        [
            *("inkscape", str(drawing), f"--export-filename={picture}", "--export-area-page"),
            *(f"--export-dpi={RESOLUTION}", "--export-background=white"),
        ],
        check=True,
        capture_output=True,
        timeout=120,
    )
    return np.asarray(Image.open(picture).convert("RGB")).astype(int)


def hidden(element: etree._Element) -> None:
    element.set("style", "display:none")


@pytest.mark.thorough
@pytest.mark.programs
@pytest.mark.parametrize("sample", ["front_one_path", "back_two_darts", "front_french_dart"])
def test_laid_back_the_copies_are_the_original(sample: str, tmp_path: Path) -> None:
    require(*[tool for tool in missing_tools() if tool == "inkscape"])
    drawing, out = tmp_path / "drawn.svg", tmp_path / "out.svg"
    drawing.write_text(with_artwork(sample), encoding="utf-8")
    options = ["--artwork", "--fill", "as-drawn"]
    assert main(["move", str(drawing), "-o", str(out), *options]) == 0

    plain = etree.parse(str(drawing)).getroot()
    for element in plain.iter():
        label = str(element.get(LABEL) or "")
        if label == "outline":
            element.set("stroke", "none")
        elif element.tag in (f"{SVG}path", f"{SVG}circle") and label and label != "target practice":
            hidden(element)
    drawn = raster(plain, tmp_path / "plain.png")

    root = etree.parse(str(out)).getroot()
    [layer] = result_layers(root)
    for child in [e for e in root if e.tag == f"{SVG}g" and e is not layer]:
        hidden(child)
    for child in [e for e in layer if e.get(LABEL) != "Artwork"]:
        layer.remove(child)
    for part in ("fill", "artwork"):
        for group in sector_groups(layer, part):
            back = np.linalg.inv(to_root(moves_of(group)[0]))
            around = etree.Element(f"{SVG}g", transform=matrix_text(back))
            group.getparent().replace(group, around)
            around.append(group)
    laid_back = raster(root, tmp_path / "copies.png")

    off = np.abs(drawn - laid_back).max(axis=2) > SAME
    block = next(e for e in plain.iter() if e.get("id") in ("front-block", "back-block"))
    inside = thinned(coloured(shape_of(block, root), tmp_path / "block.png"), MIXED)
    assert inside.sum() > 100_000
    # Beside a cut the edges of two copies are mixed with the paper.
    cuts = np.zeros_like(off)
    for group in sector_groups(layer, "artwork"):
        for number, (data, undone) in enumerate(outlines_laid_back(group)):
            picture = tmp_path / f"{group.get('id')}-{number}.png"
            sector = coloured(shape(data, root, undone), picture)
            cuts |= thickened(sector, MIXED) & ~thinned(sector, MIXED)
    assert not (off & inside & ~cuts).any()
    assert (laid_back[~thickened(inside, 3 * MIXED)] == 255).all()


def coloured(root: etree._Element, picture: Path) -> np.ndarray:
    """The pixels of a drawing that have a colour."""
    return np.asarray(raster(root, picture).max(axis=2) < 250)


def shape(data: str, like: etree._Element, transform: str = "") -> etree._Element:
    """A drawing of one black shape on a page like another drawing's."""
    page = {name: str(like.get(name)) for name in ("width", "height", "viewBox")}
    root = etree.Element(f"{SVG}svg", page)
    etree.SubElement(root, f"{SVG}path", d=data, transform=transform)
    return root


def shape_of(block: etree._Element, like: etree._Element) -> etree._Element:
    return shape(str(block.get("d")), like)


def outlines_laid_back(group: etree._Element) -> Iterator[tuple[str, str]]:
    """Yield the data of each clip of a sector, with the transform that lays it back."""
    root = group.getroottree().getroot()
    moves = moves_of(group)
    for move in moves:
        identity = str(move.get("clip-path")).removeprefix("url(#").removesuffix(")")
        [clip] = root.xpath("//*[@id=$name]", name=identity)
        undone = np.linalg.inv(to_root(moves[0])) @ to_root(move)
        yield str(clip[0].get("d")), matrix_text(undone)


def matrix_text(matrix: np.ndarray) -> str:
    numbers = (repr(float(matrix[row, column])) for column in range(3) for row in range(2))
    return f"matrix({','.join(numbers)})"


def thickened(pixels: np.ndarray, by: int) -> np.ndarray:
    """Pixels and all that lie within some pixels of them."""
    grown = pixels.copy()
    for _ in range(by):
        near = grown.copy()
        near[1:] |= grown[:-1]
        near[:-1] |= grown[1:]
        near[:, 1:] |= grown[:, :-1]
        near[:, :-1] |= grown[:, 1:]
        grown = near
    return np.asarray(grown)


def thinned(pixels: np.ndarray, by: int) -> np.ndarray:
    return np.asarray(~thickened(~pixels, by))
