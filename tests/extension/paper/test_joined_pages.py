"""Printed pages put together by their marks are the drawing; none is blank or nameless."""

from __future__ import annotations

import copy
import re
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from extension.document.namespaces import svg
from tests.help.blocks.drawings import NS
from tests.help.depth import some_quick
from tests.help.printing.joined_pages import Place, compare, join, place_said
from tests.help.printing.pdf_pages import (
    INCH,
    THRESHOLD,
    Raster,
    export_pdf,
    fonts,
    page_texts,
    rasters,
)
from tests.help.printing.press import Press, Printed, groups_of, without_pattern
from tests.help.printing.printed_marks import frame_of, inside

JOIN_DPI = 150
#: Around the sheet on the drawing in one piece (mm): what strays from the pages is seen there.
AROUND = 20.0
JOINED = [
    ("pair", "A4", 10),
    ("pair", "Letter", 3),
    ("pair", "A4", 0),
    ("pair", "125x165mm", 10),
    ("nest", "Letter", 10),
    ("nest", "A4", 3),
    ("nest", "Letter", 0),
]


@pytest.mark.thorough
@pytest.mark.parametrize(("name", "paper", "overlap"), some_quick(JOINED, 1))
def test_pages_joined_by_their_marks_are_the_drawing(
    press: Press, name: str, paper: str, overlap: int
) -> None:
    printed = press(name, f"--paper={paper}", f"--overlap={overlap}mm")
    pages = placed(printed.pdf)
    assert len(pages) >= 4
    if name == "pair" and paper not in ("A4", "Letter"):
        check_that_a_window_crosses_a_border(printed)
    joined = join(pages, JOIN_DPI)
    assert joined.worst * INCH / JOIN_DPI < 0.1
    # Every joint was seen, so that rows and columns close: more joints than a chain needs.
    assert joined.joints >= len(pages)
    compared = compare(
        pages, placed(without_pattern(printed), of=printed.pdf), joined.corners, whole(printed)
    )
    assert compared.lines > 50_000
    assert compared.different < 0.001 * compared.lines
    # Nor is a short piece of a line missing, or a letter, which would be less than that.
    assert compared.together < 10
    # Hardly anything is left out of the comparison.
    assert compared.hidden < 0.05 * compared.lines


@pytest.mark.parametrize(("name", "paper", "overlap"), some_quick(JOINED, 1))
def test_neighbours_share_the_overlap_and_no_less(
    press: Press, name: str, paper: str, overlap: int
) -> None:
    printed = press(name, f"--paper={paper}", f"--overlap={overlap}mm")
    root = printed.root
    said = [place for place in map(place_said, page_texts(printed.pdf)) if place]
    shown = dict(zip(said, map(shown_of, groups_of(root, "pattern")), strict=True))
    pairs = 0
    for place, (_, end) in shown.items():
        right, below = (
            shown.get(Place(place.row, place.column + 1)),
            shown.get(Place(place.row + 1, place.column)),
        )
        if right:
            assert end.real - right[0].real == pytest.approx(overlap, abs=1e-6)
        if below:
            assert end.imag - below[0].imag == pytest.approx(overlap, abs=1e-6)
        pairs += bool(right) + bool(below)
    assert pairs >= len(shown)
    # The frame to cut along is the edge of what is shown.
    frames = [one for one in root.iter(svg("rect")) if "-frame" in one.get("id")]
    for frame, group in zip(frames, groups_of(root, "pattern"), strict=True):
        assert corners_of(frame) == pytest.approx(corners_of(edge_of(group)), abs=1e-6)


def edge_of(group: Any) -> Any:
    """Return the rectangle to which a group is clipped."""
    clip = re.sub(r"url\(#(.*)\)", r"\1", group.get("clip-path"))
    (edge,) = group.xpath(f"//*[@id='{clip}']/*")
    return edge


def corners_of(rectangle: Any) -> tuple[complex, complex]:
    """Return two opposite corners of a rectangle."""
    x, y, width, height = (float(rectangle.get(k)) for k in ("x", "y", "width", "height"))
    return complex(x, y), complex(x + width, y + height)


def shown_of(group: Any) -> tuple[complex, complex]:
    """Return two opposite corners of what a page shows, on the sheet."""
    (sheet,) = group.iterchildren(svg("g"))
    start, end = corners_of(edge_of(group))
    return start - translation(sheet), end - translation(sheet)


def check_that_a_window_crosses_a_border(printed: Printed) -> None:
    """Check that this drawing shows what it is taken for: the same window on several pages."""
    windows = [
        path.get("d")
        for group in groups_of(printed.root, "pattern")
        for path in group.iter(svg("path"))
        if "-trim-window" in path.get("id")
    ]
    assert len(windows) > len(set(windows)) == 2


def placed(pdf: Path, of: Path | None = None) -> dict[Place, Raster]:
    """Return the rasters of the pages on which a row and a column are said."""
    found = map(place_said, page_texts(of or pdf))
    return {
        place: raster
        for place, raster in zip(found, rasters(pdf, JOIN_DPI), strict=True)
        if place is not None
    }


def whole(printed: Printed) -> Raster:
    """Draw all that the pages show in one piece, without any clip, and return its raster."""
    root = printed.root
    assert float(root.get("width")[:-2]) == float(root.get("viewBox").split()[2])  # mm
    drawn: dict[tuple[str, ...], Any] = {}
    corners: list[complex] = []
    for group in groups_of(root, "pattern"):
        (sheet,) = group.iterchildren(svg("g"))
        shift = translation(sheet)
        corners += shown_of(group)
        for path in sheet:
            drawn[path.get("d"), path.get("style")] = copy.deepcopy(path)
        for text in group.iterchildren(svg("text")):
            at = complex(float(text.get("x")), float(text.get("y"))) - shift
            turned = re.findall(r"[-\d.e]+", text.get("transform", ""))[:4]
            holder = etree.Element(svg("g"))
            holder.set("transform", f"translate({-shift.real!r},{-shift.imag!r})")
            holder.append(copy.deepcopy(text))
            key = (f"{at:.6f}", text.get("style"), *turned, *text.itertext())
            drawn[key] = holder
    left, top = (min(z.real for z in corners), min(z.imag for z in corners))
    width, height = (max(z.real for z in corners) - left, max(z.imag for z in corners) - top)
    width, height = width + 2 * AROUND, height + 2 * AROUND
    alone = etree.Element(svg("svg"), nsmap={None: NS["svg"]})
    alone.set("width", f"{width!r}mm")
    alone.set("height", f"{height!r}mm")
    alone.set("viewBox", f"0 0 {width!r} {height!r}")
    inner = etree.SubElement(alone, svg("g"))
    inner.set("transform", f"translate({AROUND - left!r},{AROUND - top!r})")
    inner.extend(drawn.values())
    drawing, pdf = (printed.drawing.with_suffix(end) for end in (".whole.svg", ".whole.pdf"))
    drawing.write_bytes(etree.tostring(alone))
    export_pdf(drawing, pdf)
    (raster,) = rasters(pdf, JOIN_DPI)
    return raster


def translation(group: Any) -> complex:
    """Return by how much a group is moved, and nothing else done to it."""
    numbers = [float(n) for n in re.findall(r"[-\d.e]+", group.get("transform"))]
    assert numbers[:4] == [1.0, 0.0, 0.0, 1.0]
    return complex(numbers[4], numbers[5])


# Texts, and pages that are not empty.


@pytest.mark.parametrize(("name", "paper", "overlap"), some_quick(JOINED, 1))
def test_texts_are_embedded_and_every_page_says_where_it_belongs(
    press: Press, name: str, paper: str, overlap: int
) -> None:
    printed = press(name, f"--paper={paper}", f"--overlap={overlap}mm")
    used = fonts(printed.pdf)
    assert used
    assert [font for font in used if not font.embedded] == []
    texts = page_texts(printed.pdf)
    assert "Print at 100 %" in texts[0]
    assert f"of {len(texts)}" in texts[-1]
    own = 0 if place_said(texts[0]) else 1
    said = [place_said(text) for text in texts[own:]]
    assert None not in said
    assert len(set(said)) == len(said)
    for number, (text, place) in enumerate(zip(texts[own:], said, strict=True), start=1 + own):
        assert place is not None
        assert f"Row {place.row}, column {place.column}" in text
        assert f"Page {number} of {len(texts)}" in text


@pytest.mark.parametrize(("name", "paper", "overlap"), some_quick(JOINED, 1))
def test_no_page_is_blank(press: Press, name: str, paper: str, overlap: int) -> None:
    printed = press(name, f"--paper={paper}", f"--overlap={overlap}mm")
    bare = rasters(without_pattern(printed), JOIN_DPI)
    for number, raster in enumerate(rasters(printed.pdf, JOIN_DPI)):
        dark = raster > THRESHOLD
        assert dark.any()
        if place_said(page_texts(printed.pdf)[number]) is None:
            assert number == 0  # the first page's block has it for itself
            continue
        # At the least a line of 10 mm, 0.35 mm wide, that is no frame, mark or label.
        pattern = dark & ~(bare[number] > THRESHOLD)
        assert pattern.sum() > 10 * 0.35 * (JOIN_DPI / INCH) ** 2
        # Nothing is printed on the margin.
        margin = ~inside(frame_of(raster), raster.shape)
        assert not (pattern & margin).any()
