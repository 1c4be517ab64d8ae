"""Names lie beside lines, never on them, and near their seams."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from drafting_core.block.places import Target
from drafting_core.finished.draft import move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import flattened
from extension.document.svg_document import read_document
from extension.drafting.move_and_allow import Request, move
from extension.drafting.write_result import drawn_lines
from extension.look.text_places import Clearings, place_seam_names
from tests.conftest import require
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import core_block, drawn
from tests.help.blocks.drawings import marked_front, page, parts, root_of
from tests.help.blocks.samples import BLOCKS
from tests.help.texts.font_metrics import metrics, missing_fonts


@pytest.fixture(autouse=True)
def _fonts() -> None:
    require(*missing_fonts())


def lettering(text: str, size: float) -> Polygon:
    """The box of a text's ink about its anchor, by a font's own tables."""
    line = metrics(text)
    half = line.width * size / 2
    return box(-half, -line.rise * size, half, line.drop * size)


def placed_boxes(draft: Draft) -> list[tuple[str, complex, Polygon]]:
    """The seam names of a draft as they are placed."""
    boxes = []
    for label in place_seam_names(draft, Clearings(drawn_lines(draft))):
        shape = lettering(label.text[0], label.size)
        d = label.direction
        matrix = [d.real, -d.imag, d.imag, d.real, label.at.real, label.at.imag]
        boxes.append((label.text[0], label.at, affinity.affine_transform(shape, matrix)))
    return boxes


def lines_of(draft: Draft) -> object:
    chains = [draft.stitch_line, draft.cut_line]
    chains += [tuple(edge.segment for edge in item.dart.cap) for item in draft.darts]
    chains += [item.window for item in draft.darts if item.window]
    shapes = []
    for chain in chains:
        points = [*flattened(chain, 24), chain[-1].end]
        shapes.append(LineString([(z.real, z.imag) for z in points]))
    return unary_union(shapes)


def random_draft(seed: int) -> Draft:
    source = drawn(seed)
    place = random_blocks.random_place(source, random.Random(seed))[2]
    return move_dart(core_block(source), None, [Target(at=place)])


@pytest.mark.parametrize("sample", BLOCKS, ids=lambda path: path.stem)
def test_names_on_the_samples_touch_no_line(sample: Path) -> None:
    draft = move(read_document(str(sample)).getroot(), Request()).drafts[0]
    lines = lines_of(draft)
    for name, _, shape in placed_boxes(draft):
        assert not shape.intersects(lines), name


@pytest.mark.thorough
def test_names_on_random_blocks_touch_hardly_a_line() -> None:
    touching = names = 0
    for seed in range(60):
        draft = random_draft(seed)
        lines = lines_of(draft)
        for _, _, shape in placed_boxes(draft):
            names += 1
            touching += shape.intersects(lines)
    assert names > 250
    # A doll's short seam may leave no room at all.
    assert touching <= 0.01 * names


@pytest.mark.parametrize("seed", range(12))
def test_a_name_is_anchored_within_3_mm_of_its_seam(seed: int) -> None:
    draft = random_draft(seed)
    for name, at, _ in placed_boxes(draft):
        own = [edge.segment for edge in draft.piece.edges() if edge.seam.name == name]
        seam = LineString(
            [(z.real, z.imag) for segment in own for z in [*flattened([segment], 48), segment.end]]
        )
        assert seam.distance(Point(at.real, at.imag)) <= 3.0


def test_the_title_lies_inside_the_piece() -> None:
    root = root_of(page(marked_front()))
    draft = move(root, Request(name="Harlequin", size="M")).drafts[0]
    shape = Polygon([(z.real, z.imag) for z in flattened(draft.stitch_line, 24)])
    title = next(e for e in parts(root, "note") if "".join(e.itertext()).startswith("Harlequin"))
    assert "Size M" in "".join(title.itertext())
    assert shape.contains(Point(float(title.get("x")), float(title.get("y"))))


@pytest.mark.parametrize("sample", BLOCKS, ids=lambda path: path.stem)
def test_names_are_read_from_below_or_from_the_right(sample: Path) -> None:
    root = read_document(str(sample)).getroot()
    move(root, Request(to="" if "target" in sample.read_text(encoding="utf-8") else "waist"))
    for text in parts(root, "seam-name"):
        words = (text.get("transform") or "matrix(1,0,0,1,0,0)").strip("matrix()").split(",")
        a, b = float(words[0]), float(words[1])
        # As a page is held: from below, or a steep one climbing, from the right.
        assert a >= 0.5 or (abs(a) < 0.5 and b < 0)
