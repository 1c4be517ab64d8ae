"""The PDF of a nest: a layer for each size, read back by pypdf and drawn by poppler."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pypdf
import pytest
from PIL import Image

from extension.commands.command_line import main
from extension.pages import size_layers
from extension.pages.export_pdf import pdf_of
from tests.help.printing.pdf_pages import page_sizes, page_texts, rasters
from tests.help.printing.press import Press
from tests.help.printing.printing import SAMPLES, moved, paper

pytestmark = [pytest.mark.programs, pytest.mark.thorough]
SIZES = ("36", "38", "40")
DPI = 100


@pytest.fixture(scope="module")
def made(press: Press) -> Path:
    """Return the PDF of three sizes of a nest."""
    return press("nest", f"--sizes={','.join(SIZES)}").pdf


def shown_with(pdf: Path, off: tuple[int, ...], to: Path) -> list[np.ndarray]:
    """Return how poppler draws the pages with some layers switched off."""
    with pikepdf.open(pdf) as document:
        groups = list(document.Root.OCProperties.OCGs.as_list())
        state = document.Root.OCProperties.D
        state.ON = pikepdf.Array([g for k, g in enumerate(groups) if k not in off])
        state.OFF = pikepdf.Array([g for k, g in enumerate(groups) if k in off])
        document.save(to)
    # Of poppler's programs this one asks which layers are on.
    pages = to.with_suffix("")
    subprocess.run(["pdftoppm", "-gray", "-r", str(DPI), str(to), str(pages)], check=True)
    files = sorted(to.parent.glob(f"{pages.name}-*.pgm"))
    return [np.asarray(Image.open(file)) < 128 for file in files]


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
        different = (one < 128) != (other < 128)
        assert different.mean() < 2e-5
    # Text stays text; which letters are a word is guessed where texts lie near to each other.
    said = " ".join(page_texts(made))
    for words in ("Row 1, column 1", "measure", "neckline", "Sizes 36, 38, 40", *SIZES):
        assert words in said


def test_a_size_that_is_switched_off_is_gone_and_nothing_else(made: Path, tmp_path: Path) -> None:
    every = shown_with(made, (), tmp_path / "all.pdf")
    without = [shown_with(made, (k,), tmp_path / f"{k}.pdf") for k in range(len(SIZES))]
    alone = shown_with(made, tuple(range(len(SIZES))), tmp_path / "none.pdf")
    for page, whole in enumerate(every):
        gone = [whole & ~pages[page] for pages in without]
        for pages in without:
            assert not (pages[page] & ~whole).any()
        # Two sizes share no more than what is grey where their lines cross; all are the whole.
        assert (gone[0] & gone[1]).sum() <= 0.02 * (gone[0] | gone[1]).sum() + 5
        assert (alone[page] | np.logical_or.reduce(gone)).sum() >= 0.97 * whole.sum()
    assert all(sum(pages[k].sum() for k in range(len(every))) > 0 for pages in without)
    assert sum(whole.sum() for whole in every) > sum(page.sum() for page in alone)


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
