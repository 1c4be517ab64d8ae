"""Templates of card: notches become marks, and from a cut line the allowance is taken off."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree
from shapely import Polygon, unary_union

from extension.cleaning.clean_report import clean_lines, report_of
from extension.commands.command_line import main
from extension.document.namespaces import ours
from extension.document.svg_document import parse_document
from tests.help.depth import some_quick
from tests.help.scans.fresh.judge import given_blocks, judged
from tests.help.scans.fresh.lines import Line
from tests.help.scans.fresh.pieces import Piece, random_piece
from tests.help.scans.traces import cleaned, drawing, path, refusal

AT = 120 + 120j


def shape_of(points: Line) -> Polygon:
    return Polygon([(z.real, z.imag) for z in points])


def edge_of(shape: Polygon) -> list[complex]:
    return [complex(x, y) + AT for x, y in shape.exterior.coords[:-1]]


def cut_shape(piece: Piece, width: float) -> Polygon:
    """Return a piece with an allowance all round, by shapely's buffer, its darts cut out."""
    wedges = [np.array([dart.start, dart.point, dart.end]) for dart in piece.darts]
    whole = unary_union([shape_of(piece.fine_line), *(shape_of(w).buffer(0.01) for w in wedges)])
    cut = whole.buffer(width, join_style="mitre", mitre_limit=4)
    for start, point, end in wedges:
        farther = 1 + (width + 60) / abs(start - point)
        ends = (point + (start - point) * farther, point + (end - point) * farther)
        cut = cut.difference(shape_of(np.array([ends[0], point, ends[1]])))
    parts = getattr(cut, "geoms", [cut])
    return max(parts, key=lambda part: float(part.area))


def marks_of(root: Any, role: str) -> list[Any]:
    return [e for e in root.iter() if e.get(ours("role")) == role]


@pytest.mark.thorough
@pytest.mark.parametrize("seed", some_quick(range(24), 3))
def test_the_stitch_line_lies_within_the_cut_line_by_the_allowance(seed: int) -> None:
    rng = random.Random(seed)
    piece = random_piece(rng, own=True)
    width = rng.choice((6.0, 10.0, 12.7, 15.0, 20.0))
    text = drawing(path(edge_of(cut_shape(piece, width)), closed=True))
    done, root = cleaned(text, square="no", edge="cut", allowance=f"{width}mm")
    found = judged([piece], given_blocks(root, report_of(done)))
    assert found.outcome == "right", found.why
    (block,) = [one.block for one in done.cleaned]
    assert len(block.runs) == len(piece.runs)
    assert {round(taken, 6) for _seam, taken in block.taken_off} == {width}
    assert any("was taken off" in line for line in clean_lines(done))
    # What was taken off is said of the seams: an allowance put on again is as wide.
    said = marks_of(root, "seam")
    assert said
    assert {mark.get(ours("allowance")) for mark in said} == {f"{width:g}mm"}


def test_seams_have_widths_of_their_own() -> None:
    """A rectangle about a rectangle: its hem, the lower side, is wider by a mark on the trace."""
    stitch = [100 + 100j, 300 + 100j, 300 + 400j, 100 + 400j]
    cut = [90 + 90j, 310 + 90j, 310 + 440j, 90 + 440j]
    text = drawing(path(cut, closed=True), path([199 + 438j, 201 + 438j], label="seam hem 40mm"))
    done, root = cleaned(text, square="no", upright="no", edge="cut", allowance="10mm")
    (block,) = given_blocks(root, report_of(done))
    assert max(float(np.abs(block.nodes - z).min()) for z in stitch) < 1e-6
    named, _root = cleaned(
        drawing(path(cut, closed=True), path([199 + 438j, 201 + 438j], label="seam hem")),
        square="no",
        upright="no",
        edge="cut",
        allowance="10mm, hem=40mm",
    )
    assert [s.segments for s in named.cleaned[0].block.runs] == [
        s.segments for s in done.cleaned[0].block.runs
    ]


def test_a_width_that_is_not_said_or_does_not_fit_is_refused() -> None:
    piece = random_piece(random.Random(3), own=True)
    text = drawing(path(edge_of(cut_shape(piece, 10.0)), closed=True))
    assert "is not said" in refusal(text, edge="cut")
    assert "is not said" in refusal(text, edge="cut", allowance="hem=40mm")
    rectangle = drawing(path([100 + 100j, 160 + 100j, 160 + 400j, 100 + 400j], closed=True))
    assert refusal(rectangle, edge="cut", allowance="31mm")


def test_an_allowance_within_a_stitch_line_is_told() -> None:
    text = drawing(path([100 + 100j, 300 + 100j, 300 + 400j, 100 + 400j], closed=True))
    done, _root = cleaned(text, allowance="10mm")
    assert any("was not taken off" in line for line in clean_lines(done))
    assert done.cleaned[0].block.size == pytest.approx((200.0, 300.0))


def notched(piece: Piece, depth: float) -> tuple[Polygon, list[complex]]:
    """Return a piece with a slit in the middle of each of its long seams, and where they are."""
    shape, places = shape_of(piece.fine_line), []
    for run in piece.runs:
        points = run.points
        if run.is_leg or len(points) > 2 or abs(points[-1] - points[0]) < 60:
            continue
        at = complex(points[0] + points[-1]) / 2
        into = complex(1j * (points[-1] - points[0]) / abs(points[-1] - points[0]))
        aside = into * 0.7j
        slit = [at - aside - into, at - aside + into * depth,
                at + aside + into * depth, at + aside - into]  # fmt: skip
        shape = shape.difference(shape_of(np.array(slit)))
        places.append(at)
    return shape, places


def test_slits_are_notch_marks_on_the_clean_block_and_a_move_keeps_them(tmp_path: Path) -> None:
    rng = random.Random(5)
    piece = random_piece(rng, kinds=("front",), darts=(1,), own=True)
    shape, places = notched(piece, 8.0)
    source, clean, moved = (tmp_path / name for name in ("t.svg", "clean.svg", "moved.svg"))
    armhole = next(run.points for run in piece.runs if run.seam == "armhole")
    middle = complex(armhole[len(armhole) // 2]) + AT
    name = path([middle - 1, middle + 1], label="seam armhole")
    source.write_text(drawing(path(edge_of(shape), closed=True), name), encoding="utf-8")
    assert main(["clean", str(source), "-o", str(clean), "--upright", "no", "--square", "no"]) == 0
    root = parse_document(clean.read_bytes()).getroot()
    assert len(marks_of(root, "notch")) == len(places) > 1
    # A move takes them as the drafter's own: as many notches more than of a block without.
    without = tmp_path / "without.svg"
    for mark in marks_of(root, "notch"):
        mark.getparent().remove(mark)
    without.write_bytes(etree.tostring(root))
    counts = []
    for drawn in (clean, without):
        assert main(["move", str(drawn), "--to", "armhole:0.5", "-o", str(moved)]) == 0
        result = parse_document(moved.read_bytes()).getroot()
        counts.append(sum(e.get(ours("part")) == "notch" for e in result.iter()))
    assert counts[0] == counts[1] + len(places)
