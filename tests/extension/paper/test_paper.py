"""Pages of true size: nothing is lost at their borders, nothing lies on anything."""

from __future__ import annotations

import contextlib
import copy
import functools
import io
import itertools
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from shapely.geometry import LineString, Polygon, box

from extension.commands.command_line import main
from extension.drafting.move_and_allow import Request, allow
from extension.look.set_text import text_width
from tests.extension.drafting.test_contract import make_case
from tests.help.blocks.drawings import NS, layer, outline, page, parts
from tests.help.depth import examples
from tests.help.printing.printed_pages import (
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
from tests.help.printing.printing import moved, paper, polygons

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


@pytest.mark.thorough
@settings(max_examples=examples(40))
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
                or any(
                    LineString([(z.real, z.imag) for z in line.points]).distance(box(*one.shown))
                    < 0.4
                    for line in one.lines
                )
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


@pytest.mark.thorough
@settings(max_examples=examples(15))
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
    places = [f"row {row}, column 1" for row in (1, 2, 3)]
    assert sorted(label.split(": ")[1] for label in labels) == places
    said = [label.split(": ")[0] for label in labels]
    assert said == [f"Page {number} of 3" for number in (1, 2, 3)]


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


@pytest.mark.thorough
def test_a_title_lies_on_one_page_where_there_is_room() -> None:
    root = moved(to="side seam:0.35")
    for name in ("A4", "Letter", "Tabloid", "A0"):
        paper(root, paper=name, copies="said")
        whole = set()
        for printed in pages_of(root):
            for text in printed.layer.iter("{http://www.w3.org/2000/svg}text"):
                if "-title" not in text.get("id"):
                    continue
                size = float(style_of(text)["font-size"].removesuffix("px"))
                half = max(text_width(row.text, size, bold=True) for row in text) / 2
                at = float(text.get("x")) - printed.at.real
                if at - half >= 10.0 and at + half <= printed.width - 10.0:
                    whole.add("".join(text.itertext()))
        assert len(whole) == 2, name


def test_pages_inside_a_large_piece_are_left_out_or_kept_as_asked() -> None:
    root = parsed(page(layer(outline("M 0,0 L 0,900 L 900,900 L 900,0 Z"), "Panel")))
    allow(root, Request())
    done = paper(root, copies="once")
    without = len(pages_of(root))
    assert any("--inside" in sentence for sentence in done.told)
    done = paper(root, copies="once", inside="yes")
    assert len(pages_of(root)) > without
    assert not any("--inside" in sentence for sentence in done.told)
