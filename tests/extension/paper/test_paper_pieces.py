"""Pieces on paper: pairs, folds, nests, true size."""

from __future__ import annotations

import itertools

import pytest
from shapely.geometry import LineString, Polygon
from svgelements import Matrix

from extension.drafting.move_and_allow import Request, move
from tests.help.blocks.drawings import NS, parts
from tests.help.printing.printed_pages import (
    lines_on_sheet,
    matrix_of,
    mm_per_unit,
    pages_of,
    points_of,
)
from tests.help.printing.printing import front, moved, on_the_fold, paper, polygons

# Pieces


def test_a_piece_that_is_cut_twice_is_a_mirrored_pair() -> None:
    root = moved(to="side seam:0.35")
    (cut,) = parts(root, "cut-line")
    drawn = points_of(cut.get("d"), matrix_of(cut), mm_per_unit(root))
    paper(root, paper="A0", copies="said")
    one, other = polygons(pages_of(root))
    assert one.area == pytest.approx(other.area)

    def laid(ring: Polygon) -> Polygon:
        left, top, _, _ = ring.bounds
        return Polygon([(x - left, y - top) for x, y in ring.exterior.coords])

    as_drawn = Polygon([(z.real, z.imag) for z in drawn])
    mirrored = Polygon([(-z.real, z.imag) for z in drawn])
    for expected in (as_drawn, mirrored):
        off = [laid(expected).symmetric_difference(laid(ring)).area for ring in (one, other)]
        assert min(off) < 1.0
        assert max(off) > 1000.0
    said = " ".join(text for printed in pages_of(root) for text in printed.pieces_texts)
    assert "Piece 1 of 2" in said
    assert "Piece 2 of 2, mirrored" in said
    assert "Cut 2" not in said


def test_printed_once_it_says_how_often_it_is_cut() -> None:
    root = moved(to="side seam:0.35")
    paper(root, copies="once")
    assert len(polygons(pages_of(root))) == 1
    assert any("Cut 2" in text for printed in pages_of(root) for text in printed.texts)


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("words", "count"), [("Cut 4", 4), ("cut 1", 1), ("3× zuschneiden", 3), ("Cortar 2", 2)]
)
def test_what_the_title_says_counts_in_any_language(words: str, count: int) -> None:
    root = moved(to="side seam:0.35")
    (line,) = (row for row in root.iter() if row.text == "Cut 2")
    line.text = words
    paper(root, copies="said")
    assert len(polygons(pages_of(root))) == count


def test_a_fold_edge_is_told_from_what_is_cut() -> None:
    root = on_the_fold()
    (cut,) = parts(root, "cut-line")
    drawn = points_of(cut.get("d"), matrix_of(cut), 1.0)
    paper(root, paper="A0")
    pages = pages_of(root)
    lines = list(lines_on_sheet(pages).values())
    (fold,) = (line for line in lines if line.kind == "fold-edge")
    (open_cut,) = (line for line in lines if line.kind == "cut-line")
    assert fold.style["stroke-dasharray"]
    assert "stroke-dasharray" not in open_cut.style
    # The edge is upright, through the allowances of neckline and waist at its ends.
    heights = [z.imag for z in fold.points]
    xs = [z.real for z in fold.points]
    assert max(xs) - min(xs) < 1e-6
    left = [z.imag for z in drawn if z.real < min(w.real for w in drawn) + 1e-6]
    assert max(heights) - min(heights) == pytest.approx(max(left) - min(left), abs=1e-6)
    ends = (fold.points[0], fold.points[-1])
    assert min(abs(open_cut.points[0] - end) for end in ends) < 1e-6
    assert min(abs(open_cut.points[-1] - end) for end in ends) < 1e-6
    said = " ".join(text for printed in pages for text in printed.texts)
    assert "Fold of the cloth" in said
    assert "Cut 1 on the fold" in said


def test_opened_out_a_piece_on_the_fold_is_whole() -> None:
    half = on_the_fold()
    (cut,) = parts(half, "cut-line")
    drawn = Polygon([(z.real, z.imag) for z in points_of(cut.get("d"), matrix_of(cut), 1.0)])
    paper(half, unfold="yes", paper="A0")
    pages = pages_of(half)
    (ring,) = polygons(pages)
    assert ring.area == pytest.approx(2 * drawn.area, rel=1e-6)
    assert ring.is_valid
    left, top, right, bottom = ring.bounds
    flipped = Polygon([(left + right - x, y) for x, y in ring.exterior.coords])
    assert ring.symmetric_difference(flipped).area < 1.0
    kinds = [line.kind for line in lines_on_sheet(pages).values()]
    assert "fold-edge" not in kinds
    assert bottom - top == pytest.approx(drawn.bounds[3] - drawn.bounds[1])


def test_a_known_length_prints_at_true_size() -> None:
    # The drawing is a scan at half size: 50 mm of it are truly 100 mm.
    scale = '<path inkscape:label="known length 100mm" d="M 10,420 L 60,420"/>'
    root = front(scale)
    drawn = [
        Polygon([(z.real, z.imag) for z in points_of(cut.get("d"), matrix_of(cut), 1.0)])
        for cut in parts(root, "cut-line")
    ]
    paper(root, copies="once", paper="A2")
    (ring,) = polygons(pages_of(root))
    assert ring.area == pytest.approx(4.0 * drawn[0].area, rel=1e-4)
    assert ring.length == pytest.approx(2.0 * drawn[0].length, rel=1e-4)


@pytest.mark.parametrize(
    "attributes",
    [
        'width="300mm" height="450mm" viewBox="0 0 300 450"',
        'width="30cm" height="45cm" viewBox="0 0 300 450"',
        'width="300mm" height="450mm" viewBox="-20 -30 300 450"',
    ],
)
def test_pages_have_the_size_of_the_paper_whatever_the_drawings_units(attributes: str) -> None:
    root = front(attributes=attributes)
    paper(root, paper="Letter")
    for printed in pages_of(root):
        assert sorted((printed.width, printed.height)) == pytest.approx([215.9, 279.4])


# Nests


def test_sizes_of_a_nest_are_told_apart_by_dash_and_label() -> None:
    root = moved("front_nest", to="")
    paper(root)
    pages = pages_of(root)
    cuts = [line for line in lines_on_sheet(pages).values() if line.kind == "cut-line"]
    assert len(cuts) == 8
    dashes = [line.style.get("stroke-dasharray", "") for line in cuts]
    assert len(set(dashes)) == 8
    said = [text.strip() for printed in pages for text in printed.texts]
    for size in range(34, 50, 2):
        assert said.count(str(size)) >= 2
        assert f"size {size}" in said


def test_chosen_sizes_alone_are_printed() -> None:
    root = moved("front_nest", to="")
    paper(root, sizes="36, 44")
    pages = pages_of(root)
    assert len([1 for line in lines_on_sheet(pages).values() if line.kind == "cut-line"]) == 2
    said = {text.strip() for printed in pages for text in printed.texts}
    assert {"36", "44", "size 36", "size 44"} <= said
    assert not {"34", "38", "size 34", "size 38"} & said


def test_laid_apart_the_sizes_do_not_lie_on_one_another() -> None:
    root = moved("front_nest", to="")
    paper(root, apart="yes", unfold="yes", paper="roll 1500mm")
    rings = polygons(pages_of(root))
    assert len(rings) == 8
    for one, other in itertools.combinations(rings, 2):
        assert one.distance(other) > 5.0


def test_one_dart_in_two_places_is_no_nest() -> None:
    root = moved(to="side seam:0.35")
    move(root, Request(to="shoulder:0.5"))
    paper(root, copies="once")
    assert len(polygons(pages_of(root))) == 2
    one, other = polygons(pages_of(root))
    assert one.distance(other) > 5.0


def test_opened_out_the_fold_is_a_thin_line_in_the_middle() -> None:
    root = on_the_fold()
    paper(root, unfold="yes", paper="A0")
    (ring,) = polygons(pages_of(root))
    (line,) = (one for one in lines_on_sheet(pages_of(root)).values() if one.kind == "centre-line")
    left, _top, right, _bottom = ring.bounds
    assert {round(z.real - (left + right) / 2, 6) for z in line.points} == {0.0}
    assert float(line.style["stroke-width"]) == pytest.approx(0.35)


@pytest.mark.thorough
def test_a_layer_that_was_turned_or_flipped_is_printed_upright_and_without_a_remark() -> None:
    for transform in ("rotate(37)", "scale(-1,1)", "matrix(0.6,0.8,0.8,-0.6,30,40)"):
        root = moved(to="side seam:0.35")
        (result,) = (child for child in root if child.get(f"{{{NS['dartswing']}}}result"))
        result.set("transform", transform)
        assert paper(root, copies="once").remarks == ()
        titles = [
            text
            for printed in pages_of(root)
            for text in printed.layer.iter("{http://www.w3.org/2000/svg}text")
            if "-title" in text.get("id")
        ]
        assert titles
        for title in titles:
            ahead = matrix_of(title)
            assert (ahead.a, ahead.d) > (0.0, 0.0)
            assert abs(ahead.b) < 1e-9


def test_under_a_fold_edge_nothing_else_is_drawn() -> None:
    root = on_the_fold()
    paper(root, paper="A0")
    lines = list(lines_on_sheet(pages_of(root)).values())
    (fold,) = (line for line in lines if line.kind == "fold-edge")
    on_fold = LineString([(z.real, z.imag) for z in fold.points]).buffer(0.1)
    for line in lines:
        if line.kind in ("cut-line", "stitch-line"):
            for part in line.data.split("M")[1:]:
                points = points_of(f"M{part}", Matrix(), mm_per_unit(root))
                drawn = LineString([(z.real, z.imag) for z in points])
                assert drawn.intersection(on_fold).length < 1.0


def test_sizes_may_be_a_range() -> None:
    root = moved("front_nest", to="")
    paper(root, sizes="36-40, 46")
    cuts = [line for line in lines_on_sheet(pages_of(root)).values() if line.kind == "cut-line"]
    assert len(cuts) == 4
