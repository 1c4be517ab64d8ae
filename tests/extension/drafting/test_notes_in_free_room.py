"""Notes and test squares lie near their piece and on nothing that is drawn."""

from __future__ import annotations

import itertools
import random
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from drafting_core.text.errors import DraftingError
from extension.document.namespaces import ours
from extension.document.svg_document import read_document
from extension.drafting.move_and_allow import Request, allow, move
from tests.conftest import require
from tests.help.blocks.drawings import marked_front, page, parts, root_of
from tests.help.blocks.samples import BLOCKS
from tests.help.contract.contract_model import NS, SVG
from tests.help.depth import examples, some_quick
from tests.help.texts.font_metrics import missing_fonts
from tests.help.texts.written_results import inked, read_result

PLACES = ("side seam:0.35", "neckline/centre front", "shoulder", "armhole:0.4", "waist")
#: What is drawn is known by rough boxes; a text's box is measured with another font.
ROOM = 0.5


@pytest.fixture(autouse=True)
def _fonts() -> None:
    require(*missing_fonts())


def layers(root: Any) -> list[Any]:
    return [layer for layer in root if isinstance(layer.tag, str) and layer.get(NS + "result")]


def square_of(layer: Any) -> Polygon:
    (square,) = [e for e in layer.iter(f"{SVG}rect") if e.get(NS + "part") == "test-square"]
    x, y, width, height = (float(square.get(name)) for name in ("x", "y", "width", "height"))
    return box(x, y, x + width, y + height)


def note_of(layer: Any) -> Polygon:
    """The box about the note below the test square."""
    notes = [e for e in layer.iter(f"{SVG}text") if e.get(NS + "part") == "note"]
    return inked(max(notes, key=lambda note: len(note)))


@pytest.mark.thorough
@pytest.mark.parametrize("sample", some_quick(BLOCKS, 2), ids=lambda path: path.stem)
def test_five_results_in_a_row_overlap_in_nothing(sample: Path) -> None:
    root = read_document(str(sample)).getroot()
    for place in PLACES:
        try:
            move(root, Request(to=place))
        except DraftingError:
            continue  # not every piece has all these seams
    written = etree.fromstring(etree.tostring(root))
    made = layers(written)
    for one, other in itertools.combinations(made, 2):
        first, second = (
            [read_result(layer, 1.0).cut_line, square_of(layer), note_of(layer)]
            for layer in (one, other)
        )
        for a, b in itertools.product(first, second):
            # The sizes of a nest are drawn on one another, and so are their pieces.
            if a is first[0] and b is second[0] and "nest" in sample.stem:
                continue
            assert a.intersection(b).area == 0.0, sample
    for layer in made:
        piece = read_result(layer, 1.0).cut_line
        assert not piece.intersects(unary_union([square_of(layer), note_of(layer)]))


def scribble(rng: random.Random) -> tuple[str, Polygon]:
    """Something that a drafter may have drawn, and a shape that it covers."""
    x, y = rng.uniform(-300, 900), rng.uniform(-300, 900)
    w, h = rng.uniform(5, 300), rng.uniform(5, 300)
    kind = rng.choice(("rect", "frame", "curve", "words", "circle", "moved", "clone"))
    if kind == "rect":
        return f'<rect x="{x}" y="{y}" width="{w}" height="{h}"/>', box(x, y, x + w, y + h)
    if kind == "frame":
        data = f"m {x},{y} h {w} v {h} h {-w} z"
        return f'<path d="{data}" style="fill:none;stroke:#000"/>', box(
            x, y, x + w, y + h
        ).boundary.buffer(0.01)
    if kind == "curve":
        data = f"M {x} {y} c {w} 0 {w} {h} 0 {h} z"
        points = [
            complex(x, y) + complex(3 * w * t * (1 - t), h * (3 * t * t - 2 * t**3))
            for t in (k / 40 for k in range(41))
        ]
        return f'<path d="{data}"/>', Polygon([(z.real, z.imag) for z in points])
    if kind == "words":
        size = rng.uniform(3, 30)
        text = f'<text x="{x}" y="{y}" style="font-size:{size}px">Sketch</text>'
        return text, box(x, y - 0.7 * size, x + 2.5 * size, y)
    if kind == "circle":
        return f'<circle cx="{x}" cy="{y}" r="{h / 2}"/>', box(
            x - h / 3, y - h / 3, x + h / 3, y + h / 3
        )
    if kind == "moved":
        return (
            f'<g transform="translate({x} {y}) rotate(90) scale(0.5)">'
            f'<rect width="{w}" height="{h}"/></g>',
            box(x - h / 2, y, x, y + w / 2),
        )
    number = rng.randrange(10**9)
    return (
        f'<defs><rect id="r{number}" width="{w}" height="{h}"/></defs>'
        f'<use href="#r{number}" x="{x}" y="{y}"/>',
        box(x, y, x + w, y + h),
    )


@settings(max_examples=examples(60))
@given(st.integers(0, 10**6), st.integers(0, 30))
def test_they_lie_on_nothing_that_is_drawn(seed: int, count: int) -> None:
    rng = random.Random(seed)
    drawn = [scribble(rng) for _ in range(count)]
    root = root_of(page(marked_front() + "".join(text for text, _ in drawn)))
    try:
        move(root, Request(to="side seam:0.35"))
    except DraftingError:
        return  # what she drew may be taken for a mark of the block
    (layer,) = layers(etree.fromstring(etree.tostring(root)))
    taken = unary_union([shape for _, shape in drawn])
    for placed in (square_of(layer), note_of(layer)):
        assert placed.intersection(taken).area <= ROOM


def test_hidden_things_and_the_ground_take_no_room() -> None:
    plain = root_of(page(marked_front()))
    move(plain, Request())
    ground = '<rect width="300" height="450" fill="#eee"/>'
    hidden = '<g style="display:none"><rect x="-999" y="-999" width="3000" height="3000"/></g>'
    covered = root_of(page(ground + marked_front() + hidden))
    move(covered, Request())
    (one,), (other,) = (layers(root) for root in (plain, covered))
    assert square_of(one).equals(square_of(other))


def test_drawn_again_they_stay_and_make_room_only_for_what_comes() -> None:
    root = root_of(page(marked_front()))
    move(root, Request())
    first = square_of(layers(root)[0])
    allow(root, Request())
    assert square_of(layers(root)[0]).equals(first)
    x, y, _, _ = first.bounds
    etree.SubElement(
        root, f"{SVG}rect", x=str(x + 10), y=str(y + 60), width="40", height="30", id="hers"
    )
    allow(root, Request())
    moved = square_of(layers(root)[0])
    assert not moved.intersects(box(x + 10, y + 60, x + 50, y + 90))
    assert parts(root, "test-square")[0].get(ours("home"))
    root.remove(next(e for e in root if e.get("id") == "hers"))
    allow(root, Request())
    assert square_of(layers(root)[0]).equals(first)
    assert not parts(root, "test-square")[0].get(ours("home"))


#: Pages on which three blocks in a row leave room right of them, below them, or nowhere.
PAGES = ("0 0 1100 460", "0 0 1100 900", "0 0 860 440", *(f"0 0 860 {y}" for y in (590, 610, 625)))


@pytest.mark.thorough
@pytest.mark.parametrize("view", PAGES)
def test_nobody_reads_a_note_under_another_piece(view: str) -> None:
    source = etree.parse(str(BLOCKS[0].parent / "front_one_path.svg")).getroot()
    (layer,) = [child for child in source if child.tag == f"{SVG}g"]
    root = etree.Element(source.tag, source.attrib, source.nsmap)
    width, height = view.split()[2:]
    for name, value in (("viewBox", view), ("width", f"{width}mm"), ("height", f"{height}mm")):
        root.set(name, value)
    for number in range(3):
        twin = etree.fromstring(re.sub(rb' id="[^"]*"', b"", etree.tostring(layer)))
        twin.set("transform", f"translate({30 + 270 * number},{(0, 0, 20)[number]})")
        twin.find(f"{SVG}path").set("id", f"block-{number}")
        root.append(twin)
    order = [(2, "side seam:0.5"), (2, "side seam:0.3"), (0, "shoulder:0.4"), (1, "armhole:0.5")]
    for number, to in order:
        move(root, Request(to=to, selection=[f"block-{number}"]))
    made = layers(etree.fromstring(etree.tostring(root)))
    pieces = [read_result(layer, 1.0).cut_line for layer in made]
    for layer, own in zip(made, pieces, strict=True):
        note = note_of(layer)
        for other in pieces:
            if other is not own and faces(note, other):
                assert faces(note, own)
                assert note.centroid.distance(own.envelope) < note.centroid.distance(other.envelope)


def faces(note: Polygon, piece: Polygon) -> bool:
    """Whether a piece lies right above, below or beside the middle of a note."""
    left, top, right, bottom = piece.bounds
    middle = note.centroid
    return bool(left <= middle.x <= right or top <= middle.y <= bottom)
