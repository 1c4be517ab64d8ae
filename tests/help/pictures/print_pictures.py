"""Makes the pictures of printed pages.

``python -m tests.help.pictures.print_pictures`` (it needs poppler)

The pages are those of the PDF: one page, all of a set laid together as their marks say, a nest,
and the sewing notes.
"""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

from lxml import etree
from PIL import Image

from extension.document.svg_document import read_document
from extension.drafting.move_and_allow import Request, move
from extension.options.options import PAPER, UNITS
from extension.pages.export_pdf import pdf_of
from extension.paper.paper import make_paper, paper_request
from extension.sewing.notes import sew_notes
from tests.help.printing.printed_pages import pages_of

SAMPLES = Path(__file__).parents[3] / "sample_svgs"
PICTURES = SAMPLES / "pictures"
DEFAULTS = {option.name: option.default for option in (*PAPER, UNITS)}
#: Pixels to the inch of a picture that is read, and of one that is looked at from afar.
READ, AFAR = 90, 50
GREY = 200


def moved(sample: str, to: str, cloth: str = "woven") -> etree._Element:
    root = read_document(str(SAMPLES / f"{sample}.svg")).getroot()
    move(root, Request(to=to, given={"cloth": cloth}, nest="nest" in sample))
    return root


def rasters(pdf: bytes, resolution: int) -> list[Image.Image]:
    """Return the pages of a PDF as pictures."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "pages.pdf").write_bytes(pdf)
        subprocess.run(
            ["pdftoppm", "-r", str(resolution), "-png", "pages.pdf", "page"],
            cwd=folder,
            check=True,
            timeout=120,
        )
        found = []
        for name in sorted(Path(folder).glob("page-*.png")):
            with Image.open(name) as image:
                found.append(image.convert("L"))
        return found


def printed(
    root: etree._Element, resolution: int, **values: str
) -> tuple[list[Image.Image], etree._Element]:
    done = make_paper(root, paper_request({**DEFAULTS, **values}, []))
    return rasters(pdf_of(root, done.layer, done.mm_per_unit), resolution), done.layer


def save(image: Image.Image, name: str) -> None:
    image.quantize(16).save(PICTURES / f"{name}.png", optimize=True)


def side_by_side(images: Sequence[Image.Image], gap: int = 14) -> Image.Image:
    width = sum(image.width for image in images) + gap * (len(images) + 1)
    height = max(image.height for image in images) + 2 * gap
    sheet = Image.new("L", (width, height), GREY)
    x = gap
    for image in images:
        sheet.paste(image, (x, gap))
        x += image.width + gap
    return sheet


def joined(root: etree._Element, resolution: int, **values: str) -> Image.Image:
    """Return all pages of a set trimmed to their frames and laid together, as on the table."""
    images, layer = printed(root, resolution, **values)
    dots = resolution / 25.4
    ones = [
        (image, page)
        for image, page in zip(images, pages_of(root, layer), strict=True)
        if page.shown is not None
    ]
    right = max(page.shown[2] for _, page in ones if page.shown)
    bottom = max(page.shown[3] for _, page in ones if page.shown)
    sheet = Image.new("L", (round(right * dots) + 20, round(bottom * dots) + 20), GREY)
    for image, page in ones:
        if page.shown is None:
            continue
        left, top = (
            complex(page.shown[0], page.shown[1]).real,
            complex(page.shown[0], page.shown[1]).imag,
        )
        edge = page.corner_of_sheet + complex(left, top)
        box = [
            round(part * dots)
            for part in (
                edge.real,
                edge.imag,
                edge.real + page.shown[2] - left,
                edge.imag + page.shown[3] - top,
            )
        ]
        sheet.paste(
            image.crop((box[0], box[1], box[2], box[3])),
            (10 + round(left * dots), 10 + round(top * dots)),
        )
    return sheet


def main() -> None:
    to = "neckline/centre front"
    images, _ = printed(moved("front_one_path", to), AFAR, copies="once")
    save(side_by_side(images[:3]), "paper_pages")
    save(joined(moved("front_one_path", to), AFAR, copies="once"), "paper_joined")
    save(joined(moved("front_nest", ""), AFAR, sizes="36, 40, 44", stitch="no"), "paper_nest")
    root = moved("front_one_path", to, "sheer")
    done = sew_notes(root, [], "A4")
    save(side_by_side(rasters(pdf_of(root, done.layer, done.mm_per_unit), READ)), "sewing_notes")


if __name__ == "__main__":
    main()
