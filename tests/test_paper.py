"""Pages of true size: nothing is lost, nothing lies on anything, all is told in plain words."""

from __future__ import annotations

import contextlib
import copy
import functools
import io
import itertools
import re
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from shapely.geometry import Polygon

from drafting_core.errors import DraftingError
from extension.command_line import main
from extension.jobs import Request, allow, move
from extension.paper import Printed, make_paper, request_from
from extension.settings_text import PAPER, UNITS
from tests.drawings import NS, marked_front, page, parts, seam_marks
from tests.effects import run_effect
from tests.printed_pages import (
    Page,
    is_shown,
    lines_on_sheet,
    matrix_of,
    mm_per_unit,
    pages_of,
    parsed,
    points_of,
    sets_of,
    style_of,
)
from tests.test_contract import make_case

SAMPLES = Path(__file__).parent.parent / "sample_svgs"
DEFAULTS = {option.name: option.default for option in (*PAPER, UNITS)}


def paper(root: Any, *selection: str, **values: str) -> Printed:
    given = {name.replace("_", "-"): value for name, value in values.items()}
    return make_paper(root, request_from({**DEFAULTS, **given}, selection))


@functools.cache
def _moved(sample: str, to: str, given: tuple[tuple[str, str], ...]) -> bytes:
    root = parsed((SAMPLES / f"{sample}.svg").read_bytes())
    nest = "nest" in sample
    move(root, Request(to=to, given=dict(given), nest=nest))
    return bytes(etree.tostring(root))


def moved(sample: str = "front_one_path", to: str = "", **given: str) -> Any:
    return parsed(_moved(sample, to, tuple(given.items())))


def front(more: str = "", attributes: str | None = None, seams: str | None = None) -> Any:
    text = marked_front(more=more, seams=seams)
    root = parsed(page(text) if attributes is None else page(text, attributes))
    move(root, Request())
    return root


def refusal(root: Any, *selection: str, **values: str) -> str:
    before = etree.tostring(root)
    with pytest.raises(DraftingError) as refused:
        paper(root, *selection, **values)
    assert etree.tostring(root) == before
    message = str(refused.value)
    assert message.count("\n") == 0
    return message


def polygons(pages: list[Page], kind: str = "cut-line") -> list[Polygon]:
    """The rings of one kind as they lie on the sheet."""
    return [
        Polygon([(z.real, z.imag) for z in line.points])
        for line in lines_on_sheet(pages).values()
        if line.kind == kind
    ]


# Nothing is lost

PAPERS = st.one_of(
    st.sampled_from(["A4", "A3", "A2", "A0", "Letter", "Legal", "Tabloid"]),
    st.builds(lambda w, h: f"{w}x{h}mm", st.integers(120, 700), st.integers(120, 700)),
    st.builds(lambda w: f"roll {w}mm", st.integers(700, 1500)),
)


@functools.cache
def random_result(seed: int) -> bytes:
    """A random block in a random drawing, moved as the contract's own tests move it."""
    case = make_case(seed)
    with tempfile.TemporaryDirectory() as folder:
        source, result = Path(folder, "in.svg"), Path(folder, "out.svg")
        source.write_text(case.drawing.text, encoding="utf-8")
        with contextlib.redirect_stdout(io.StringIO()):
            assert main(["move", str(source), "-o", str(result), *case.arguments]) == 0
        return result.read_bytes()


@settings(max_examples=40)
@given(
    st.integers(0, 24),
    PAPERS,
    st.sampled_from(["0", "5", "10", "18.5"]),
    st.sampled_from(["0", "0.4", "3", "10", "25"]),
)
def test_every_point_of_every_line_lies_on_a_page_inside_its_margins(
    seed: int, name: str, margin: str, overlap: str
) -> None:
    root = parsed(random_result(seed))
    (cut,) = parts(root, "cut-line")
    unit = mm_per_unit(root)
    drawn = Polygon([(z.real, z.imag) for z in points_of(cut.get("d"), matrix_of(cut), unit)])
    paper(root, paper=name, margin=margin, overlap=overlap)
    pages = pages_of(root)
    for one in pages:
        if one.shown is not None:
            corner = complex(one.shown[0], one.shown[1]) + one.corner_of_sheet
            assert corner == pytest.approx(complex(float(margin), float(margin)), abs=1e-6)
            assert one.shown[2] - one.shown[0] == pytest.approx(one.width - 2 * float(margin))
            assert one.shown[3] - one.shown[1] == pytest.approx(one.height - 2 * float(margin))
            # No page is kept for nothing: a line, a text, or the first page's block.
            assert (
                one.number == 1
                or one.pieces_texts
                or any(is_shown(one, z, 0.4) for line in one.lines for z in line.points)
            )
    for line in lines_on_sheet(pages).values():
        there = [one for one in pages if any(line.data == other.data for other in one.lines)]
        for z in line.points:
            assert any(is_shown(one, z) for one in there), (line.kind, z)
    # The whole piece is there, at its true size, as often as it is cut.
    rings = polygons(pages)
    folded = any(line.kind == "fold-edge" for line in lines_on_sheet(pages).values())
    if not folded:
        assert rings
        for ring in rings:
            assert ring.area == pytest.approx(drawn.area, rel=1e-4)
            assert ring.length == pytest.approx(drawn.length, rel=1e-4)


@settings(max_examples=15)
@given(st.lists(st.integers(0, 24), min_size=2, max_size=5, unique=True), PAPERS)
def test_pieces_never_lie_on_one_another_and_their_grain_is_parallel(
    seeds: list[int], name: str
) -> None:
    root = parsed(random_result(seeds[0]))
    for number, seed in enumerate(seeds[1:]):
        _take_over(root, parsed(random_result(seed)), number)
    paper(root, paper=name)
    pages = pages_of(root)
    lines = lines_on_sheet(pages).values()
    shapes = [
        Polygon([(z.real, z.imag) for z in line.points]).convex_hull
        for line in lines
        if line.kind == "cut-line"
    ]
    for one, other in itertools.combinations(shapes, 2):
        assert one.envelope.distance(other.envelope) >= 9.9
    for line in lines:
        if line.kind == "grainline":
            way = line.points[2] - line.points[0]
            # On a roll all pieces may be turned by a right angle, the grain along its width.
            assert min(abs(way.real), abs(way.imag)) < 1e-6 * abs(way)


def _take_over(root: Any, other: Any, number: int) -> None:
    """Put the result of another drawing into this one, at its true size."""
    scale = mm_per_unit(other) / mm_per_unit(root)
    (result,) = (child for child in other if child.get(f"{{{NS['dartswing']}}}result"))
    copied = copy.deepcopy(result)
    for element in copied.iter():
        if element.get("id"):
            element.set("id", f"{element.get('id')}-of-{number}")
            own = f"{{{NS['dartswing']}}}self"
            if element.get(own):
                element.set(own, element.get("id"))
    copied.set("transform", f"scale({scale!r})")
    root.append(copied)


# Pieces


def test_a_piece_that_is_cut_twice_is_a_mirrored_pair() -> None:
    root = moved(to="side seam:0.35")
    (cut,) = parts(root, "cut-line")
    drawn = points_of(cut.get("d"), matrix_of(cut), mm_per_unit(root))
    paper(root, paper="A0")
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
    said = " ".join(text for printed in pages_of(root) for text in printed.texts)
    assert "Piece 1 of 2" in said
    assert "Piece 2 of 2, mirrored" in said
    assert "Cut 2" not in said


def test_printed_once_it_says_how_often_it_is_cut() -> None:
    root = moved(to="side seam:0.35")
    paper(root, copies="once")
    assert len(polygons(pages_of(root))) == 1
    assert any("Cut 2" in text for printed in pages_of(root) for text in printed.texts)


@pytest.mark.parametrize(
    ("words", "count"), [("Cut 4", 4), ("cut 1", 1), ("3× zuschneiden", 3), ("Cortar 2", 2)]
)
def test_what_the_title_says_counts_in_any_language(words: str, count: int) -> None:
    root = moved(to="side seam:0.35")
    (line,) = (row for row in root.iter() if row.text == "Cut 2")
    line.text = words
    paper(root)
    assert len(polygons(pages_of(root))) == count


def on_the_fold(more: str = "") -> Any:
    seams = seam_marks().replace("seam centre front", "seam centre front fold")
    return front(more, seams=seams)


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
    assert {open_cut.points[0], open_cut.points[-1]} & {fold.points[0], fold.points[-1]}
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


# The editor's pages


def test_the_drawing_keeps_its_own_page_and_everything_in_it() -> None:
    root = moved(to="side seam:0.35")
    before = [etree.tostring(child) for child in root]
    paper(root)
    pages = list(root.iter(f"{{{NS['inkscape']}}}page"))
    own = [float(pages[0].get(name)) for name in ("x", "y", "width", "height")]
    box = [float(part) for part in root.get("viewBox").split()]
    assert own == pytest.approx([0.0, 0.0, box[2], box[3]])
    assert len(pages) == 1 + len(pages_of(root))
    after = [etree.tostring(child) for child in root]
    # Only a view with the pages before, and the layer of pages behind.
    assert after[-1 - len(before) : -1] == before
    labels = [printed.label for printed in pages_of(root)]
    assert labels[1] == f"Page 2 of {len(labels)}: row 1, column 1"


def test_pages_lie_apart_from_one_another_and_to_the_right_of_the_drawing() -> None:
    root = moved(to="side seam:0.35")
    paper(root, paper="A3")
    boxes = [
        Polygon(
            [
                (p.at.real, p.at.imag),
                (p.at.real + p.width, p.at.imag),
                (p.at.real + p.width, p.at.imag + p.height),
                (p.at.real, p.at.imag + p.height),
            ]
        )
        for p in pages_of(root)
    ]
    for one, other in itertools.combinations(boxes, 2):
        assert one.distance(other) > 10.0
    right = float(root.get("viewBox").split()[2]) * mm_per_unit(root)
    assert min(box.bounds[0] for box in boxes) > right


def test_a_second_run_takes_the_place_of_the_first() -> None:
    root = moved(to="side seam:0.35")
    paper(root)
    once = etree.tostring(root)
    paper(root)
    assert etree.tostring(root) == once
    paper(root, paper="A0")
    assert len(sets_of(root)) == 1
    assert len(pages_of(root)) == 1


def test_what_was_drawn_onto_the_pages_stays_when_they_are_made_anew() -> None:
    root = moved(to="side seam:0.35")
    paper(root)
    (old,) = sets_of(root)
    mine = etree.SubElement(old[1], "{http://www.w3.org/2000/svg}path")
    mine.set("id", "mine")
    mine.set("d", "M 0,0 L 10,10")
    paper(root)
    assert [element.get("id") for element in root.iter() if element.get("id") == "mine"] == ["mine"]
    assert len(sets_of(root)) == 2


def test_other_pieces_get_pages_of_their_own() -> None:
    root = moved("back_two_darts", to="")
    allow(root, Request())
    results = [child for child in root if child.get(f"{{{NS['dartswing']}}}result")]
    for result in results:
        paper(root, result.get("id"))
    assert len(sets_of(root)) == len(results)


def test_pages_are_no_blocks() -> None:
    root = moved(to="side seam:0.35")
    paper(root)
    once = len(parts(root, "cut-line"))
    allow(root, Request())
    assert len(parts(root, "cut-line")) == once


# What prints


def test_lines_are_told_apart_on_a_black_printer() -> None:
    root = moved(to="neckline/centre front")
    paper(root)
    styles = {}
    for line in lines_on_sheet(pages_of(root)).values():
        width = float(line.style["stroke-width"]) * mm_per_unit(root)
        assert 0.35 - 1e-6 <= width <= 0.7 + 1e-6
        assert line.style["stroke"] == "#000000"
        assert (line.style["fill"] == "none") == (line.kind != "trim-window")
        styles[line.kind] = (line.style["stroke-width"], line.style.get("stroke-dasharray", ""))
    main_lines = [styles[kind] for kind in ("cut-line", "stitch-line", "dart-fold", "trim-window")]
    assert len({dashes for _, dashes in main_lines}) == 4
    for printed in pages_of(root):
        for element in printed.layer.iter("{http://www.w3.org/2000/svg}path"):
            assert 0.3499 <= float(style_of(element)["stroke-width"]) * mm_per_unit(root) <= 0.7001


LEFT_OUT = {
    "cut": {"cut-line"},
    "stitch": {"stitch-line"},
    "dart": {"dart-leg", "dart-fold", "dart-point", "fold-arrow", "cap"},
    "window": {"trim-window"},
    "marks": {"notch", "drill-hole", "apex", "grainline"},
}


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
    said = " ".join(text for printed in pages_of(root)[1:] for text in printed.texts)
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


# What the drafter has to know


def test_a_cut_line_that_does_not_follow_its_stitch_line_is_remarked() -> None:
    root = moved(to="side seam:0.35")
    assert paper(root).remarks == ()
    (stitch,) = parts(root, "stitch-line")
    # The lowest node of the waist, drawn 6 mm further down.
    lowest = max(re.findall(r"L ([\d.]+),([\d.]+)", stitch.get("d")), key=lambda n: float(n[1]))
    lower = f"{lowest[0]},{float(lowest[1]) + 6}"
    stitch.set("d", stitch.get("d").replace(",".join(lowest), lower))
    (remark,) = paper(root).remarks
    assert "run Allowances and print again" in remark
    off = re.search(r"up to ([\d.]+) mm", remark)
    assert off is not None
    assert 2.0 < float(off[1]) < 9.0
    said = " ".join(text for text in pages_of(root)[0].texts)
    assert "run Allowances and print again" in said
    allow(root, Request())
    assert paper(root).remarks == ()


def test_a_layer_that_was_scaled_is_remarked() -> None:
    root = moved(to="side seam:0.35")
    (result,) = (child for child in root if child.get(f"{{{NS['dartswing']}}}result"))
    result.set("transform", "scale(0.9)")
    assert any("measures 45.00 mm" in remark for remark in paper(root).remarks)


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


# Cutting machines


@pytest.mark.parametrize("to", ["side seam:0.35", "neckline/centre front"])
def test_a_machine_gets_single_hairlines_and_no_text(to: str) -> None:
    root = moved(to=to)
    notches = len(parts(root, "notch"))
    holes = len(parts(root, "drill-hole"))
    paper(root, cut_only="yes")
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


# Bad input


def test_nothing_to_print() -> None:
    message = refusal(parsed(page(marked_front())))
    assert "Front" in message
    assert "no cut line yet" in message
    assert "Move dart" in message
    assert "no outline" in refusal(parsed(page("")))
    root = moved(to="side seam:0.35")
    nothing = dict.fromkeys(("cut", "stitch", "dart", "window", "marks", "names"), "no")
    assert "everything is left out" in refusal(root, **nothing)
    for child in root:
        if child.get(f"{{{NS['dartswing']}}}result"):
            child.set("style", "display:none")
    assert "all finished pieces are hidden" in refusal(root)


def test_margin_and_overlap_larger_than_the_page() -> None:
    root = moved(to="side seam:0.35")
    message = refusal(root, margin="80", overlap="60")
    assert "margin of 80 mm" in message
    assert "overlap of 60 mm" in message
    assert "210 mm" in message
    assert "no room for the 2 in test square" in refusal(root, margin="80", overlap="5")
    assert "more than 200 mm" in refusal(root, margin="300")


def test_a_roll_that_is_too_narrow_names_the_piece_and_the_width_it_needs() -> None:
    root = moved(to="side seam:0.35")
    message = refusal(root, paper="roll 200mm")
    assert "Lamplighter front" in message
    needed = re.search(r"needs (\d+) mm", message)
    assert needed is not None
    wide = int(needed[1])
    assert "too narrow" in refusal(root, paper=f"roll {wide - 1}mm")
    paper(root, paper=f"roll {wide}mm")
    (printed,) = pages_of(root)
    assert printed.width == pytest.approx(wide)


def test_unknown_papers_and_sizes_list_the_known() -> None:
    root = moved("front_nest", to="")
    message = refusal(root, paper="A9")
    assert "A4, A3, A2, A1, A0, Letter, Legal, Tabloid" in message
    message = refusal(root, sizes="35")
    assert "34, 36, 38, 40, 42, 44, 46, 48" in message
    assert "No piece here has a size" in refusal(moved(to="waist"), sizes="36")


def test_a_result_that_can_no_longer_be_finished_says_so() -> None:
    root = moved(to="side seam:0.35")
    (stitch,) = parts(root, "stitch-line")
    stitch.set("d", stitch.get("d").replace("Z", ""))
    assert "Lamplighter front: dart to side seam" in refusal(root)


# Command line and editor


def test_the_command_line_writes_the_drawing_and_says_how_it_lies(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    result, printed = tmp_path / "moved.svg", tmp_path / "printed.svg"
    result.write_bytes(_moved("front_one_path", "side seam:0.35", ()))
    assert main(["paper", str(result), "-o", str(printed), "--overlap", "15"]) == 0
    said = capsys.readouterr().out
    count = len(pages_of(parsed(printed.read_bytes())))
    assert f"Lamplighter front (2 pieces): {count} pages A4" in said
    assert "measure the squares" in said
    assert "trial in cheap cloth" in said
    assert main(["paper", str(result)]) == 2
    assert main(["paper", str(result), "-o", str(printed), "--paper", "A9"]) == 2
    assert "A0, Letter" in capsys.readouterr().err
    assert main(["paper", str(SAMPLES / "front_one_path.svg"), "-o", str(printed)]) == 1


def test_in_the_editor_it_gives_the_same_pages(tmp_path: Path) -> None:
    drawing, printed = tmp_path / "moved.svg", tmp_path / "printed.svg"
    drawing.write_bytes(_moved("front_one_path", "side seam:0.35", ()))
    assert main(["paper", str(drawing), "-o", str(printed), "--paper", "Letter"]) == 0
    answer = run_effect("paper", drawing, "--paper=Letter")
    assert (answer.status, answer.said) == (0, "")
    one, other = (pages_of(parsed(text)) for text in (answer.document, printed.read_bytes()))
    assert [p.label for p in one] == [p.label for p in other]
    assert lines_on_sheet(one).keys() == lines_on_sheet(other).keys()


def test_in_the_editor_remarks_are_shown_and_a_fault_changes_nothing(tmp_path: Path) -> None:
    drawing = tmp_path / "moved.svg"
    drawing.write_bytes(_moved("front_one_path", "side seam:0.35", ()))
    answer = run_effect("paper", drawing, "--cut_only=yes")
    assert "do not fit on A4" in answer.said
    answer = run_effect("paper", drawing, "--paper=roll", "--width=100")
    assert "too narrow" in answer.said
    assert answer.document == ""
