"""Which lines are printed and how they look; what a cutting machine gets."""

from __future__ import annotations

import itertools
import re

import pytest
from lxml import etree
from shapely.geometry import LineString, Polygon

from extension.drafting.move_and_allow import Request, move
from tests.help.blocks.drawings import NS, parts
from tests.help.printing.printed_pages import (
    lines_on_sheet,
    matrix_of,
    mm_per_unit,
    pages_of,
    points_of,
    style_of,
)
from tests.help.printing.printing import moved, on_the_fold, paper, polygons

# What prints


def test_lines_are_told_apart_on_a_black_printer() -> None:
    root = moved(to="neckline/centre front")
    paper(root)
    styles = {}
    for line in lines_on_sheet(pages_of(root)).values():
        width = float(line.style["stroke-width"]) * mm_per_unit(root)
        assert 0.35 - 1e-6 <= width <= 0.7 + 1e-6
        assert line.style["stroke"] == "#000000"
        assert (line.style["fill"] == "none") == (line.kind not in ("trim-window", "fold-head"))
        styles[line.kind] = (line.style["stroke-width"], line.style.get("stroke-dasharray", ""))
    main_lines = [styles[kind] for kind in ("cut-line", "stitch-line", "dart-fold", "trim-window")]
    assert len({dashes for _, dashes in main_lines}) == 4
    for printed in pages_of(root):
        for element in printed.layer.iter("{http://www.w3.org/2000/svg}path"):
            assert 0.3499 <= float(style_of(element)["stroke-width"]) * mm_per_unit(root) <= 0.7001


LEFT_OUT = {
    "cut": {"cut-line"},
    "stitch": {"stitch-line"},
    "dart": {"dart-leg", "dart-fold", "dart-point", "fold-arrow", "fold-head", "cap"},
    "window": {"trim-window"},
    "marks": {"notch", "drill-hole", "apex", "grainline"},
}


@pytest.mark.thorough
@pytest.mark.parametrize("word", LEFT_OUT)
def test_each_kind_of_line_can_be_left_out(word: str) -> None:
    whole, without = (moved(to="neckline/centre front") for _ in range(2))
    paper(whole)
    paper(without, **{word: "no"})
    kinds = [
        {line.kind for line in lines_on_sheet(pages_of(root)).values()} for root in (whole, without)
    ]
    assert kinds[0] - kinds[1] == LEFT_OUT[word]
    assert kinds[1] < kinds[0]


def test_without_its_darts_the_stitch_line_has_no_legs() -> None:
    root = moved(to="side seam:0.35")
    legs = [
        z
        for leg in parts(root, "dart-leg")
        for z in points_of(leg.get("d"), matrix_of(leg), mm_per_unit(root))
    ]
    point = max(legs, key=lambda z: sum(abs(z - other) < 1e-6 for other in legs))
    paper(root, dart="no", copies="once", paper="A0")
    stitched = [
        z
        for line in lines_on_sheet(pages_of(root)).values()
        if line.kind == "stitch-line"
        for z in line.points
    ]
    (cut,) = parts(root, "cut-line")
    drawn = points_of(cut.get("d"), matrix_of(cut), mm_per_unit(root))
    shift = complex(*polygons(pages_of(root))[0].bounds[:2]) - complex(
        min(z.real for z in drawn), min(z.imag for z in drawn)
    )
    assert min(abs(z - shift - point) for z in stitched) > 20.0


def test_names_can_be_left_out() -> None:
    root = moved(to="side seam:0.35")
    paper(root, names="no")
    said = " ".join(text for printed in pages_of(root) for text in printed.texts)
    assert "shoulder" not in said
    assert "Piece" not in said
    assert "Row 1, column 1" in said


def test_what_the_drafter_drew_into_the_layer_is_printed() -> None:
    root = moved(to="side seam:0.35")
    (result,) = (child for child in root if child.get(f"{{{NS['dartswing']}}}result"))
    mine = etree.SubElement(result, "{http://www.w3.org/2000/svg}path")
    mine.set("d", "M 60,200 L 110,200 L 110,250 Z")
    said = etree.SubElement(result, "{http://www.w3.org/2000/svg}text")
    said.set("x", "60")
    said.set("y", "190")
    said.text = "pocket here"
    paper(root, copies="once")
    pages = pages_of(root)
    assert "own" in {line.kind for line in lines_on_sheet(pages).values()}
    assert any("pocket here" in text for printed in pages for text in printed.texts)


def test_hidden_lines_and_hidden_pieces_are_not_printed() -> None:
    root = moved(to="side seam:0.35")
    move(root, Request(to="shoulder:0.5"))
    results = [child for child in root if child.get(f"{{{NS['dartswing']}}}result")]
    results[0].set("style", "display:none")
    done = paper(root)
    assert "1 hidden piece is left out." in done.remarks
    whole = moved(to="side seam:0.35")
    for grain in parts(whole, "grainline"):
        grain.set("style", grain.get("style") + ";display:none")
    paper(whole)
    assert "grainline" not in {line.kind for line in lines_on_sheet(pages_of(whole)).values()}


# Cutting machines


@pytest.mark.parametrize("to", ["side seam:0.35", "neckline/centre front"])
def test_a_machine_gets_single_hairlines_and_no_text(to: str) -> None:
    root = moved(to=to)
    notches = len(parts(root, "notch"))
    holes = len(parts(root, "drill-hole"))
    paper(root, cut_only="yes", copies="said")
    (printed,) = pages_of(root)
    drawn = [e for e in printed.layer.iter() if isinstance(e.tag, str) and e is not printed.layer]
    assert {e.tag.split("}")[1] for e in drawn} == {"path", "circle"}
    rings: list[str] = []
    cuts: list[str] = []
    circles = []
    for element in drawn:
        assert float(style_of(element)["stroke-width"]) * mm_per_unit(root) < 0.05
        assert "stroke-dasharray" not in style_of(element)
        if element.tag.endswith("circle"):
            circles.append(float(element.get("r")) * mm_per_unit(root))
        else:
            data = element.get("d")
            assert data.count("M") == 1
            (rings if data.rstrip().endswith("Z") else cuts).append(data)
    assert len(rings) == 2
    assert len(cuts) == 2 * notches
    assert circles == pytest.approx([1.0] * 2 * holes)
    # No stretch is cut twice.
    segments = []
    for data in rings:
        points = points_of(data, matrix_of(printed.layer), mm_per_unit(root), 5.0)
        segments += [
            frozenset(
                (
                    complex(round(a.real, 4), round(a.imag, 4)),
                    complex(round(b.real, 4), round(b.imag, 4)),
                )
            )
            for a, b in itertools.pairwise(points)
            if abs(a - b) > 1e-3
        ]
    assert len(segments) == len(set(segments))


def _rounded(z: complex) -> complex:
    return complex(round(z.real, 4), round(z.imag, 4))


def test_a_machines_piece_is_never_divided_and_a_larger_page_is_told() -> None:
    root = moved(to="side seam:0.35")
    done = paper(root, cut_only="yes")
    (remark,) = done.remarks
    assert "do not fit on A4" in remark
    small = moved(to="side seam:0.35")
    assert paper(small, cut_only="yes", paper="600x600mm").remarks == ()
    for printed in pages_of(small):
        assert (printed.width, printed.height) == pytest.approx((600.0, 600.0))


def test_opened_out_both_holes_are_drilled_where_the_darts_are() -> None:
    root = on_the_fold()
    (hole,) = parts(root, "drill-hole")
    paper(root, unfold="yes", cut_only="yes")
    (printed,) = pages_of(root)
    circles = [e for e in printed.layer.iter() if str(e.tag).endswith("circle")]
    paths = [e for e in printed.layer.iter() if str(e.tag).endswith("path")]
    ring = next(e for e in paths if e.get("d").rstrip().endswith("Z"))
    xs = [z.real for z in points_of(ring.get("d"), matrix_of(ring), 1.0)]
    middle = (min(xs) + max(xs)) / 2
    centres = sorted(float(circle.get("cx")) for circle in circles)
    assert len(centres) == 2
    # As far from the fold as the drawn hole is from the centre front, which is at x = 0.
    assert middle - centres[0] == pytest.approx(float(hole.get("cx")), abs=1e-6)
    assert centres[1] - middle == pytest.approx(float(hole.get("cx")), abs=1e-6)


def test_a_machine_does_not_cut_a_notch_on_its_own_line() -> None:
    root = moved(to="neckline/centre front")
    paper(root, cut_only="yes", copies="once", paper="A2")
    (printed,) = pages_of(root)
    paths = [e.get("d") for e in printed.layer.iter() if str(e.tag).endswith("path")]
    ring = next(data for data in paths if data.rstrip().endswith("Z"))
    outline = Polygon([(z.real, z.imag) for z in points_of(ring, matrix_of(root), 1.0, 0.5)])
    for data in paths:
        if data != ring:
            slit = LineString([(z.real, z.imag) for z in points_of(data, matrix_of(root), 1.0)])
            assert slit.difference(outline.exterior.buffer(0.04)).length > 0.5 * slit.length


@pytest.mark.thorough
@pytest.mark.parametrize(("word", "made"), [("gather", "gathers"), ("ease", "ease")])
def test_gathers_and_ease_are_told_in_words(word: str, made: str) -> None:
    words = rf"^{word} 10\d(\.\d)? mm to 100 mm$"
    root = moved(to=f"neckline:0.5=0.1 as {made}")
    paper(root)
    assert any(re.search(words, text) for printed in pages_of(root) for text in printed.texts)
    paper(root, names="no")
    assert not any(re.search(words, text) for printed in pages_of(root) for text in printed.texts)


def test_a_clone_is_printed_and_what_cannot_be_is_named() -> None:
    root = moved(to="side seam:0.35")
    (result,) = (child for child in root if child.get(f"{{{NS['dartswing']}}}result"))
    pocket = etree.SubElement(root, "{http://www.w3.org/2000/svg}path")
    pocket.set("id", "pocket")
    pocket.set("d", "M 0,0 L 30,0 L 30,40 Z")
    clone = etree.SubElement(result, "{http://www.w3.org/2000/svg}use")
    clone.set("href", "#pocket")
    clone.set("x", "70")
    clone.set("y", "200")
    picture = etree.SubElement(result, "{http://www.w3.org/2000/svg}image")
    picture.set("id", "sketch")
    done = paper(root, copies="once")
    assert any('"sketch"' in remark for remark in done.remarks)
    (own,) = (line for line in lines_on_sheet(pages_of(root)).values() if line.kind == "own")
    xs, ys = ([getattr(z, part) for z in own.points] for part in ("real", "imag"))
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((30.0, 40.0))
