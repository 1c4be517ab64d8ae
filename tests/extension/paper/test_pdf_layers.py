"""The PDF of a nest: a layer for each size, read back by pypdf and drawn by poppler."""

from __future__ import annotations

import io
import re
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pypdf
import pytest
from PIL import Image
from pypdf.generic import ContentStream

from drafting_core.text import words
from extension.commands.command_line import main
from extension.document.namespaces import ours
from extension.pages import size_layers
from extension.pages.export_pdf import exported, pdf_of
from tests.help.printing.pdf_pages import THRESHOLD, Mask, page_sizes, page_texts, rasters
from tests.help.printing.press import Press
from tests.help.printing.printing import SAMPLES, moved, paper

pytestmark = [pytest.mark.programs, pytest.mark.thorough]
SIZES = ("36", "38", "40")
DPI = 100
MM = 25.4 / 72


@pytest.fixture(scope="module")
def made(press: Press) -> Path:
    """Return the PDF of three sizes of a nest."""
    return press("nest", f"--sizes={','.join(SIZES)}").pdf


def shown_with(pdf: Path, off: tuple[int, ...], to: Path) -> list[Mask]:
    """Return how poppler draws the pages with some layers switched off."""
    with pikepdf.open(pdf) as document:
        groups = list(document.Root.OCProperties.OCGs.as_list())
        state = document.Root.OCProperties.D
        state.ON = pikepdf.Array([g for k, g in enumerate(groups) if k not in off])
        state.OFF = pikepdf.Array([g for k, g in enumerate(groups) if k in off])
        document.save(to)
    return drawn(to)


def drawn(pdf: Path) -> list[Mask]:
    """Return what is black on each page."""
    # Of poppler's programs this one asks which layers are on.
    pages = pdf.with_suffix("")
    subprocess.run(["pdftoppm", "-gray", "-r", str(DPI), str(pdf), str(pages)], check=True)
    files = sorted(pdf.parent.glob(f"{pages.name}-*.pgm"))
    return [np.asarray(Image.open(file)) < 128 for file in files]


def with_long_centre() -> str:
    """Return the nest with hems so much lower that the smallest has a centre of 500 mm."""

    def lower(point: re.Match[str]) -> str:
        across, down = float(point[1]), float(point[2])
        return f"{across:.2f},{down + 179.0 if down > 440.0 else down:.2f}"

    text = (SAMPLES / "front_nest.svg").read_text(encoding="utf-8")
    text = text.replace("seam centre front fold", "seam centre front")
    text = text.replace('cx="101.00" cy="470.00"', 'cx="101.00" cy="649.00"')
    return re.sub(r'(?<= )d="[^"]+"', lambda d: re.sub(r"(\d+\.\d+),(\d+\.\d+)", lower, d[0]), text)


def lines_of_layers(page: pypdf.PageObject) -> dict[str, list[tuple[complex, complex]]]:
    """Return the straight lines of a page in mm, by the layer that they are in."""
    found: dict[str, list[tuple[complex, complex]]] = {}

    def read(content: Any, resources: Any, to: np.ndarray, layer: str) -> None:
        kept: list[np.ndarray] = []
        at = 0j
        for given, sign in ContentStream(content, page.pdf).operations:
            if sign == b"q":
                kept.append(to)
            elif sign == b"Q":
                to = kept.pop()
            elif sign == b"cm":
                a, b, c, d, e, f = map(float, given)
                to = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ to
            elif sign in (b"m", b"l", b"c"):
                x, y, _one = np.array([*map(float, given[-2:]), 1.0]) @ to
                before, at = at, complex(x, y) * MM
                if sign == b"l":
                    found.setdefault(layer, []).append((before, at))
            elif sign == b"Do":
                form = resources["/XObject"][given[0]].get_object()
                own = np.eye(3)
                own[:, :2] = np.reshape(form.get("/Matrix", (1, 0, 0, 1, 0, 0)), (3, 2))
                name = form["/OC"].get_object()["/Name"] if "/OC" in form else layer
                read(form, form.get("/Resources", resources), own @ to, name)

    read(page.get_contents(), page["/Resources"], np.eye(3), "")
    return found


def test_it_says_its_title_its_language_and_that_nothing_is_scaled(made: Path) -> None:
    read = pypdf.PdfReader(made)
    root: Any = read.trailer["/Root"]
    assert read.metadata is not None
    assert read.metadata.title == "Front"
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712 (pypdf's own)
    names = [group.get_object()["/Name"] for group in root["/OCProperties"]["/OCGs"]]
    assert names == [f"size {size}" for size in SIZES]
    with pikepdf.open(made) as document:
        assert document.check_pdf_syntax() == []


def test_with_all_layers_it_is_the_page_that_the_editor_writes(made: Path, tmp_path: Path) -> None:
    root = moved("front_nest")
    done = paper(root, sizes=",".join(SIZES))
    plain = tmp_path / "plain.pdf"
    plain.write_bytes(pdf_of(root, done.layer, done.mm_per_unit))
    assert page_sizes(made) == page_sizes(plain)
    for one, other in zip(rasters(made, DPI), rasters(plain, DPI), strict=True):
        # What lies above what is another order: where two lines cross nothing else is seen.
        different = (one > THRESHOLD) != (other > THRESHOLD)
        assert (other > THRESHOLD).mean() > 0.01
        assert different.mean() < 2e-5
    # Text stays text; which letters are a word is guessed where texts lie near to each other.
    said = " ".join(page_texts(made))
    for text in ("Row 1, column 1", "measure", "neckline", "Sizes 36, 38, 40", *SIZES):
        assert text in said


@pytest.mark.parametrize("off", [(0,), (1,), (2,), (1, 2), (0, 2), (0, 1), (0, 1, 2)])
def test_what_is_switched_off_is_gone_and_nothing_else_moves(
    made: Path, tmp_path: Path, off: tuple[int, ...]
) -> None:
    root = moved("front_nest")
    done = paper(root, sizes=",".join(SIZES))
    every = shown_with(made, (), tmp_path / "all.pdf")
    gone = {SIZES[k] for k in off}
    for element in [one for one in done.layer.iter() if one.get(ours("of-size")) in gone]:
        element.getparent().remove(element)
    plain = tmp_path / "plain.pdf"
    plain.write_bytes(pdf_of(root, done.layer, done.mm_per_unit))
    shown, wanted = shown_with(made, off, tmp_path / "off.pdf"), drawn(plain)
    for one, other in zip(shown, wanted, strict=True):
        assert other.any()
        assert (one != other).mean() < 2e-5
    assert sum(page.sum() for page in shown) < 0.97 * sum(page.sum() for page in every)


def test_a_seam_of_500_mm_is_500_mm_in_its_own_layer(tmp_path: Path) -> None:
    drafted, pdf = tmp_path / "nest.svg", tmp_path / "pages.pdf"
    drawing = tmp_path / "long.svg"
    drawing.write_text(with_long_centre(), encoding="utf-8")
    assert main(["move", str(drawing), "--nest", "-o", str(drafted)]) == 0
    assert main(["paper", str(drafted), "--pdf", str(pdf), "--paper", "A0"]) == 0
    (page,) = pypdf.PdfReader(pdf).pages
    assert [float(side) * MM for side in page.mediabox[2:]] == pytest.approx([841, 1189], abs=0.05)
    lines = lines_of_layers(page)
    sizes = range(34, 50, 2)
    assert set(lines) == {"", *(f"size {size}" for size in sizes)}
    for number_of_size, size in enumerate(sizes):
        # The centre of the smallest is 500 mm, and of every other 3 mm more.
        wanted = 500.0 + 3.0 * number_of_size
        upright = [abs(a - b) for a, b in lines[f"size {size}"] if abs((a - b).real) < 0.01]
        assert min(abs(length - wanted) for length in upright) < 0.05


@pytest.mark.parametrize(
    ("asked", "said", "layer"),
    [("de_AT.UTF-8", "de", "Größe 36"), ("es", "es", "talla 36"), ("fr_FR", "en", "size 36")],
)
def test_its_language_is_that_of_its_words(
    press: Press,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    asked: str,
    said: str,
    layer: str,
) -> None:
    for variable in ("LC_ALL", "LC_MESSAGES", "LANG"):
        monkeypatch.delenv(variable, raising=False)
    monkeypatch.setenv("LANGUAGE", asked)
    pdf, nest = tmp_path / "pages.pdf", str(press.folder / "nest" / "made.svg")
    try:
        assert main(["paper", nest, "--pdf", str(pdf), "--sizes", "36,38"]) == 0
    finally:
        words.speak(None)
    root: Any = pypdf.PdfReader(pdf).trailer["/Root"]
    assert root["/Lang"] == said
    assert root["/OCProperties"]["/OCGs"][0].get_object()["/Name"] == layer


def test_the_same_pages_are_the_same_file(made: Path, press: Press, tmp_path: Path) -> None:
    pdf, nest = tmp_path / "pages.pdf", str(press.folder / "nest" / "made.svg")
    assert main(["paper", nest, "--pdf", str(pdf), "--sizes", ",".join(SIZES)]) == 0
    assert pdf.read_bytes() == made.read_bytes()


def test_an_editor_that_leaves_pages_out_is_refused(
    press: Press,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def without_last(documents: Any, target: str = "-") -> list[bytes]:
        files = []
        for file in exported(documents, target):
            with pikepdf.open(io.BytesIO(file)) as document:
                del document.pages[-1]
                short = io.BytesIO()
                document.save(short)
            files.append(short.getvalue())
        return files

    monkeypatch.setattr(size_layers, "exported", without_last)
    pdf, nest = tmp_path / "pages.pdf", str(press.folder / "nest" / "made.svg")
    assert main(["paper", nest, "--pdf", str(pdf), "--sizes", "36,38"]) == 1
    assert "the editor wrote 2 of its 3 pages" in capsys.readouterr().err
    assert not pdf.exists()


def test_without_its_library_it_is_written_plain_and_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(size_layers, "has_library", lambda: False)
    drafted, pdf = tmp_path / "drafted.svg", tmp_path / "pages.pdf"
    assert main(["allow", str(SAMPLES / "front_one_path.svg"), "-o", str(drafted)]) == 0
    assert main(["paper", str(drafted), "--pdf", str(pdf), "--paper", "A0"]) == 0
    assert "pip install pikepdf" in capsys.readouterr().out
    answer = subprocess.run(["pdfinfo", str(pdf)], capture_output=True, text=True, check=True)
    assert "A0" in answer.stdout
