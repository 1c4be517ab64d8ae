"""The PDFs of the command paper: sizes, squares and lines are true as printed."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from lxml import etree
from svgelements import Path as SvgPath

from extension.paper.paper_strokes import CUT, THIN
from tests.help.blocks.drawings import APEX, circle, layer, outline, page, parts, seam_marks
from tests.help.depth import some_quick
from tests.help.editor.effects import run_effect
from tests.help.printing.pdf_pages import (
    INCH,
    THRESHOLD,
    Raster,
    box_of,
    dilated,
    fonts,
    page_sizes,
    page_texts,
    rasters,
)
from tests.help.printing.press import Press, Printed, without_pattern
from tests.help.printing.printed_marks import frame_of, squares_on

#: ISO 216:2007, in mm.
ISO_216 = {
    "A4": (210, 297),
    "A3": (297, 420),
    "A2": (420, 594),
    "A1": (594, 841),
    "A0": (841, 1189),
}
#: ANSI/ASME Y14.1, in inches: size A is called Letter, size B Tabloid. Legal: common practice.
INCH_SHEETS = {"Letter": (8.5, 11.0), "Tabloid": (11.0, 17.0), "Legal": (8.5, 14.0)}
SHEETS: dict[str, tuple[float, float]] = {
    **{name: (float(w), float(h)) for name, (w, h) in ISO_216.items()},
    **{name: (25.4 * w, 25.4 * h) for name, (w, h) in INCH_SHEETS.items()},
}
#: What may be between a size on paper and the true one (mm): sheets, and all that is measured.
SHEET_CLOSE, CLOSE = 0.1, 0.15
TWO_INCHES = 50.8
SQUARE_DPI, WIDTH_DPI = 300, 600
LINES_ALONE = ("--marks=no", "--names=no", "--dart=no", "--window=no")


# Sizes of pages.


@pytest.mark.parametrize("name", some_quick(list(SHEETS), 2))
def test_named_sheets_have_the_size_of_the_standards(press: Press, name: str) -> None:
    check_sizes(press("pair", f"--paper={name}"), *SHEETS[name])


@pytest.mark.thorough
def test_sheets_of_ones_own(press: Press) -> None:
    check_sizes(press("pair", "--paper=12x18in"), 12 * INCH, 18 * INCH)


@pytest.mark.parametrize(("name", "words"), [("pair", "upright"), ("one size", "sideways")])
def test_sheets_are_held_as_is_said(press: Press, name: str, words: str) -> None:
    printed = press(name, "--paper=A4")
    assert f"held {words}" in printed.said
    check_sizes(printed, *SHEETS["A4"])


@pytest.mark.thorough
def test_a_roll_is_one_page_as_long_as_needed(press: Press) -> None:
    printed = press("nest", "--paper=roll 900mm")
    (size,) = page_sizes(printed.pdf)
    (shown,) = printed.sheet_pages()
    length = float(shown.get("height"))
    assert size == pytest.approx((900.0, length), abs=SHEET_CLOSE)
    # A nest in one piece, and no emptiness after it.
    (raster,) = rasters(printed.pdf, 40)
    assert raster.shape == pytest.approx((length * 40 / INCH, 900 * 40 / INCH), abs=1)
    frame = frame_of(raster)
    inner = raster[: round(frame.bottom) - 2] > THRESHOLD
    inner[:, : round(frame.left) + 2] = inner[:, round(frame.right) - 2 :] = False
    assert frame.bottom - box_of(inner)[3] < 5 * 40 / INCH


def check_sizes(printed: Printed, width: float, height: float) -> None:
    """Check number and size of pages, against what is said and what the editor shows."""
    sizes, shown = page_sizes(printed.pdf), printed.sheet_pages()
    found = re.search(r"(\d+) pages? .*?([\d.]+) mm × ([\d.]+) mm", printed.said)
    assert found is not None
    count = found[1]
    expected = (width, height) if float(found[2]) <= float(found[3]) else (height, width)
    assert len(sizes) == len(shown) == int(count)
    for size, one in zip(sizes, shown, strict=True):
        assert size == pytest.approx(expected, abs=SHEET_CLOSE)
        assert size == pytest.approx(
            (float(one.get("width")), float(one.get("height"))), abs=SHEET_CLOSE
        )


# Test squares.


@pytest.mark.parametrize(
    ("name", "options"),
    some_quick(
        [
            ("pair", ("--paper=A4",)),
            ("one size", ("--paper=A4",)),
            ("pair", ("--paper=Letter",)),
            ("pair", ("--paper=A2",)),
            ("nest", ("--paper=roll 900mm",)),
        ],
        1,
    ),
)
def test_the_squares_of_the_first_page_are_true(
    press: Press, name: str, options: tuple[str, ...]
) -> None:
    check_squares(press(name, *options))


def check_squares(printed: Printed) -> None:
    (first,) = rasters(printed.pdf, SQUARE_DPI, only=1)
    small, large = squares_on(first, SQUARE_DPI, 47.0, 54.0)
    assert small == pytest.approx((50.0, 50.0), abs=CLOSE)
    assert large == pytest.approx((TWO_INCHES, TWO_INCHES), abs=CLOSE)


# Lines.


def test_lines_are_as_wide_as_the_code_says(press: Press) -> None:
    press.make("plain", "allow", str(press.keep("block", document("mm"))))
    printed = press("plain", *LINES_ALONE)
    found: dict[str, list[float]] = {"solid": [], "dashed": []}
    for number, (_, height) in enumerate(page_sizes(printed.pdf), start=1):
        band = (height / 2 - 28.0, 56.0)  # ten times dash and gap of the stitch line
        (raster,) = rasters(printed.pdf, WIDTH_DPI, only=number, band=band)
        for kind, widths in upright_lines(raster).items():
            found[kind] += widths
    for kind, said in (("solid", CUT), ("dashed", THIN)):
        assert found[kind], kind
        for width in found[kind]:
            assert width == pytest.approx(said, abs=0.1)
            assert 0.35 - 0.01 <= width <= 0.7 + 0.01


def upright_lines(band: Raster) -> dict[str, list[float]]:
    """Return the widths in mm of the upright lines that run through a band, but the frame's."""
    dark = band > THRESHOLD
    edges = np.flatnonzero(np.diff(np.concatenate([[False], dark.mean(axis=0) > 0.6, [False]])))
    lines = list(zip(edges[::2], edges[1::2], strict=True))
    assert len(lines) >= 2, "no frame"
    found: dict[str, list[float]] = {"solid": [], "dashed": []}
    for first, behind in lines[1:-1]:
        strip = band[:, first - 6 : behind + 6]
        drawn = dark[:, (first + behind) // 2]
        width = float(np.median(strip[drawn].sum(axis=1))) * INCH / WIDTH_DPI
        dashes = int((np.diff(drawn.astype(np.int8)) == 1).sum())
        if drawn.all():
            found["solid"].append(width)
        elif dashes >= 5:
            found["dashed"].append(width)
    return found


# What a machine cuts.


def test_a_cutting_machine_gets_no_text_and_one_page(press: Press) -> None:
    printed = press("pair", "--cut-only", "--paper=A0")
    (size,) = page_sizes(printed.pdf)
    assert sorted(size) == pytest.approx(sorted(SHEETS["A0"]), abs=SHEET_CLOSE)
    assert "".join(page_texts(printed.pdf)) == ""
    assert fonts(printed.pdf) == []
    (raster,) = rasters(printed.pdf, 100)
    assert (raster > 0).any()


# The editor.


@pytest.mark.thorough
@pytest.mark.parametrize(
    "options",
    [
        ("--copies=said",),
        pytest.param(
            ("--paper=Letter", "--overlap=0", "--copies=once"), marks=pytest.mark.thorough
        ),
    ],
)
def test_the_dialog_writes_the_pages_that_the_command_line_writes(
    press: Press, options: tuple[str, ...]
) -> None:
    pdf = press.own / "from the dialog.pdf"
    answer = run_effect("paper", press.folder / "pair" / "made.svg", f"--pdf={pdf}", *options)
    assert answer.status == 0
    printed = press("pair", *options)
    assert page_sizes(pdf) == page_sizes(printed.pdf)
    assert page_texts(pdf) == page_texts(printed.pdf)
    ours, theirs = rasters(pdf, 75), rasters(printed.pdf, 75)
    assert all(np.array_equal(one, other) for one, other in zip(ours, theirs, strict=True))


# Documents of any unit.

#: The sheet, how the front is drawn on it, and what a unit of the sheet is in true millimetres.
DOCUMENTS = {
    "mm": ('width="300mm" height="450mm" viewBox="0 0 300 450"', "translate(0,0)", 1.0),
    "viewBox elsewhere": (
        'width="300mm" height="450mm" viewBox="-40 25 300 450"',
        "translate(-40,25)",
        1.0,
    ),
    "pixels without viewBox": (
        'width="1200" height="1800"',
        f"translate(40,50) scale({96 / 25.4!r})",
        25.4 / 96,
    ),
    "inches": (
        'width="12in" height="18in" viewBox="0 0 12 18"',
        f"translate(1,1) scale({1 / 25.4!r})",
        25.4,
    ),
    # The scan is at half its size: 100 mm of the block are 50 mm on the sheet.
    "known length": (
        'width="300mm" height="450mm" viewBox="0 0 300 450"',
        "translate(20,20) scale(0.5)",
        2.0,
    ),
}


def document(name: str) -> str:
    """Return a front that is truly 240 mm wide and 400 mm high, on one of the documents."""
    sheet, transform, _ = DOCUMENTS[name]
    known = '<path inkscape:label="known length 100mm" d="M 20,430 h 100"/>'
    body = outline() + APEX + seam_marks() + circle("dart", 95, 395)
    body += known if name == "known length" else ""
    return page(layer(body, more=f'transform="{transform}"'), sheet)


@pytest.mark.thorough
@pytest.mark.parametrize("name", some_quick([name for name in DOCUMENTS if name != "mm"], 1))
def test_documents_of_any_unit_come_out_at_true_size(press: Press, name: str) -> None:
    press.make(name, "allow", str(press.keep("front", document(name))))
    printed = press(name, "--paper=roll 480mm", "--copies=once", "--stitch=no", *LINES_ALONE)
    assert page_sizes(printed.pdf)[0][0] == pytest.approx(480, abs=SHEET_CLOSE)
    check_squares(printed)
    root = etree.parse(str(press.folder / name / "made.svg")).getroot()
    true_mm = DOCUMENTS[name][2]
    assert sides(root, "stitch-line", true_mm) == pytest.approx((240.0, 400.0), abs=1e-4)
    assert printed_box(printed) == pytest.approx(
        sorted(sides(root, "cut-line", true_mm)), abs=CLOSE
    )


def sides(root: Any, part: str, true_mm: float) -> tuple[float, float]:
    """Return width and height of a line of the result, in true millimetres."""
    (line,) = parts(root, part)
    left, top, right, bottom = SvgPath(line.get("d")).bbox()
    return (right - left) * true_mm, (bottom - top) * true_mm


def printed_box(printed: Printed) -> list[float]:
    """Return the shorter and the longer side of what is printed of the only line of a pattern."""
    dpi = 300
    (page_whole,), (bare,) = rasters(printed.pdf, dpi), rasters(without_pattern(printed), dpi)
    # Letters of another font's subset may differ by a pixel.
    others = dilated(bare >= 0.02, 2)
    left, top, right, bottom = box_of((page_whole > THRESHOLD) & ~others)
    return sorted((end - start) * INCH / dpi - CUT for start, end in ((left, right), (top, bottom)))
