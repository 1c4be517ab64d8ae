"""A piece's title lies on no line, whatever its name: by a font's own tables, as it is written."""

from __future__ import annotations

import itertools
import random
import re
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import svgelements
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from shapely.ops import unary_union

from drafting_core.text.errors import DraftingError
from extension.document.svg_document import parse_document, read_document
from extension.drafting.move_and_allow import Request, move
from tests.conftest import require
from tests.help.blocks import random_blocks, random_drawings
from tests.help.blocks.core_blocks import drawn
from tests.help.blocks.drawings import marked_front, page, parts, root_of
from tests.help.blocks.samples import BLOCKS
from tests.help.contract.contract_model import NS, SVG
from tests.help.texts.font_metrics import metrics, missing_fonts

WIDE = "MWMWMWMWMWMWMW"
LONG_WORD = "Donaudampfschifffahrtskapitaensuniformen"
SIX_WORDS = "Gardener's front bodice for winter coats"
ACCENTED = "Größe Ñandú ÄÖÜ ÉÂÅ"
NAMES = {
    "wide": WIDE,
    "one-word": LONG_WORD,
    "six-words": SIX_WORDS,
    "accents": ACCENTED,
    "short": "Front",
    "letter": "I",
}
#: A title's letters are no smaller than this (mm).
READABLE = 2.5
SHAPES = ("path", "circle", "rect")


class Title(NamedTuple):
    """A title as it was written: its rows, the size of its letters in mm, its box, its turn."""

    rows: tuple[str, ...]
    size: float
    shape: Polygon
    along: complex


class Result(NamedTuple):
    """A result as it was written, in units of the root."""

    title: Title
    lines: Any
    cut_line: Polygon
    names: list[Polygon]
    notes: list[Polygon]


@pytest.fixture(autouse=True)
def _fonts() -> None:
    require(*missing_fonts())


def style_of(element: Any) -> dict[str, str]:
    return dict(part.split(":") for part in element.get("style").split(";"))


def rows_of(text: Any) -> list[tuple[str, complex]]:
    """The rows of a text, each with its anchor before the text is turned."""
    rows = [
        ("".join(row.itertext()), complex(float(row.get("x")), float(row.get("y"))))
        for row in text.findall(f"{SVG}tspan")
    ]
    return rows or [(text.text, complex(float(text.get("x")), float(text.get("y"))))]


def matrix_of(text: Any) -> tuple[float, ...]:
    """A text's turn as the six numbers of its matrix."""
    if not text.get("transform"):
        return (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    found = re.fullmatch(r"matrix\((.*)\)", text.get("transform"))
    assert found
    return tuple(map(float, found[1].split(",")))


def inked(text: Any) -> Polygon:
    """The box about all that a text prints, by the font's tables."""
    style = style_of(text)
    bold, size = style["font-weight"] == "bold", float(style["font-size"].removesuffix("px"))
    boxes = []
    for words, at in rows_of(text):
        if not words:
            continue
        line = metrics(words, bold=bold)
        left = at.real - (line.width * size / 2 if style["text-anchor"] == "middle" else 0.0)
        boxes.append(
            box(
                left,
                at.imag - line.rise * size,
                left + line.width * size,
                at.imag + line.drop * size,
            )
        )
    a, b, c, d, e, f = matrix_of(text)
    return affinity.affine_transform(unary_union(boxes).envelope, [a, c, b, d, e, f])


def drawn_line(element: Any) -> list[LineString]:
    """A shape as polylines."""
    if element.tag == f"{SVG}path":
        path = svgelements.Path(element.get("d"))
    elif element.tag == f"{SVG}circle":
        cx, cy, r = (float(element.get(name)) for name in ("cx", "cy", "r"))
        path = svgelements.Path(svgelements.Circle(cx, cy, r))
    else:
        sides = (float(element.get(name)) for name in ("x", "y", "width", "height"))
        path = svgelements.Path(svgelements.Rect(*sides))
    found = []
    for segment in path:
        if isinstance(segment, svgelements.Move):
            continue
        count = 2 if isinstance(segment, svgelements.Line | svgelements.Close) else 25
        points = [segment.point(k / (count - 1)) for k in range(count)]
        if any(a != b for a, b in itertools.pairwise(points)):
            found.append(LineString([(z.x, z.y) for z in points]))
    return found


def read_result(layer: Any, unit: float) -> Result:
    """Read a fresh result, whose layers are not moved."""
    assert not any(group.get("transform") for group in layer.iter(f"{SVG}g"))
    lines: list[LineString] = []
    cut: list[LineString] = []
    for shape in SHAPES:
        for element in layer.iter(f"{SVG}{shape}"):
            assert not element.get("transform")
            lines += drawn_line(element)
            if element.get(NS + "part") == "cut-line":
                cut += drawn_line(element)
    texts = list(layer.iter(f"{SVG}text"))
    notes = [text for text in texts if text.get(NS + "part") == "note"]
    title = next(text for text in notes if style_of(text)["font-weight"] == "bold")
    a, b = matrix_of(title)[:2]
    return Result(
        Title(
            tuple(words for words, _ in rows_of(title)),
            float(style_of(title)["font-size"].removesuffix("px")) * unit,
            inked(title),
            complex(a, b),
        ),
        unary_union(lines),
        Polygon([z for line in cut for z in line.coords]),
        [inked(text) for text in texts if text.get(NS + "part") == "seam-name"],
        [inked(note) for note in notes if note is not title],
    )


def results(root: Any, unit: float, **asked: Any) -> list[Result]:
    """Move the darts of a drawing and read back what was written."""
    move(root, Request(**asked))
    # Through text, as the file is.
    written = etree.fromstring(etree.tostring(root))
    return [
        read_result(layer, unit)
        for layer in written
        if isinstance(layer.tag, str) and layer.get(NS + "result")
    ]


def sample_results(sample: Path, **asked: Any) -> list[Result]:
    root = read_document(str(sample)).getroot()
    found = re.fullmatch(r"([\d.]+)([a-z]*)", root.get("width"))
    assert found
    width = float(found[1]) * random_drawings.UNITS[found[2] or "none"]
    return results(root, width / float(root.get("viewBox").split()[2]), **asked)


def check(result: Result, name: str) -> None:
    title = result.title
    assert not title.shape.intersects(result.lines), name
    for other in (*result.names, *result.notes):
        assert not title.shape.intersects(other), name
    assert title.size >= READABLE
    assert " ".join(title.rows).startswith(name)
    # Read from the left, from the right, or between: never upside down, never from the other side.
    assert title.along.real > 1e-9 or (abs(title.along.real) <= 1e-9 and title.along.imag < 0)


def test_the_names_are_as_long_as_they_are_meant_to_be() -> None:
    assert len(WIDE) == 14
    assert len(LONG_WORD) == 40
    assert len(SIX_WORDS) == 40
    assert len(SIX_WORDS.split()) == 6


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
@pytest.mark.parametrize("sample", BLOCKS, ids=lambda path: path.stem)
def test_on_the_samples_a_title_lies_inside_and_on_no_line(sample: Path, name: str) -> None:
    read = sample_results(sample, name=name)
    assert read
    for result in read:
        check(result, name)
        assert result.cut_line.contains(result.title.shape)


@given(st.integers(0, 10**6), st.sampled_from(sorted(NAMES.values())), st.sampled_from(("", "XL")))
def test_on_random_blocks_a_title_lies_on_no_line(seed: int, name: str, size: str) -> None:
    rng = random.Random(seed)
    block = drawn(seed)
    segment, _, place = random_blocks.random_place(block, rng)
    target = random_drawings.Target(segment, place)
    drawing = random_drawings.to_svg(block, rng, targets=(target,))
    root = parse_document(drawing.text.encode()).getroot()
    try:
        read = results(root, drawing.mm_per_unit, name=name, size=size)
    except DraftingError:
        return  # some random blocks are not to be moved
    for result in read:
        check(result, name)


def test_a_name_with_room_for_it_stays_in_one_line_and_large() -> None:
    result = sample_results(BLOCKS[0], name="Front")[0]
    assert result.title.rows[0] == "Front"
    assert result.title.along == 1
    short = result.title.size
    assert sample_results(BLOCKS[0], name="I")[0].title.size == short


def test_a_long_name_is_broken_at_blanks_before_its_letters_shrink() -> None:
    large = sample_results(BLOCKS[0], name="Front")[0].title.size
    title = sample_results(BLOCKS[0], name=SIX_WORDS)[0].title
    assert len(title.rows) > 2
    assert title.size == pytest.approx(large, rel=0.2)
    assert all(
        set(row.split()) <= {*SIX_WORDS.split(), *["Cut", "1", "2", "on", "the", "fold"]}
        for row in title.rows
    )


def test_what_has_no_room_across_is_turned_along_the_grain() -> None:
    """A piece taller than wide: a word that is too long for its width runs up it."""
    title = sample_results(BLOCKS[0], name="m" * 70)[0].title
    assert abs(title.along.imag) > 0.5


def test_what_has_no_room_inside_stands_beside_the_piece_on_no_line() -> None:
    for sample in BLOCKS:
        for result in sample_results(sample, name="m" * 400):
            check(result, "m" * 400)
            assert not result.cut_line.intersects(result.title.shape)


def test_a_title_read_back_says_how_many_are_cut_below_a_broken_name() -> None:
    root = root_of(page(marked_front()))
    move(root, Request(name=SIX_WORDS, size="M"))
    title = next(note for note in parts(root, "note") if style_of(note)["font-weight"] == "bold")
    rows = [words for words, _ in rows_of(title)]
    assert rows[-2:] == ["Size M", "Cut 2"]
    assert " ".join(rows[:-2]) == SIX_WORDS
