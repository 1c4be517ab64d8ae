"""A clean-up beside the drafter's marks, and what it refuses."""

from __future__ import annotations

import cmath
import json
from pathlib import Path

import numpy as np
import pytest
from lxml import etree

from extension.cleaning.clean import clean_request, clean_up
from extension.cleaning.clean_report import clean_lines
from extension.cleaning.write_clean import write_clean
from extension.commands.command_line import main
from extension.document.namespaces import ours
from extension.document.shapes import centre_of
from extension.document.svg_document import document_bytes, parse_document
from tests.help.scans.clean_measures import outlines_in, true_runs
from tests.help.scans.traces import cleaned, drawing, line_of, path, refusal, some_block


def test_marks_on_the_trace_are_the_clean_blocks_and_not_taken_twice(tmp_path: Path) -> None:
    """Her names, widths and apex hold; what said the scale does not say it again of the block."""
    block, rng = some_block(2, "front")
    line = [z * 0.5 for z in line_of(block, rng, 300 + 300j)]
    at = 300 + 300j
    apex = (block.apex + at) * 0.5
    side = next(run for run in true_runs(block) if run.seam == "side seam")
    middle = (side.samples[len(side.samples) // 2] + at) * 0.5
    text = drawing(
        path(line, closed=True),
        path([apex - 1, apex + 1], label="apex"),
        path([middle - 1, middle + 1], label="seam side seam 20mm mate A"),
        path([200 + 250j, 200 + 300j], label="known length 100mm"),
    )
    source = tmp_path / "trace.svg"
    source.write_text(text, encoding="utf-8")
    clean, moved, report = (tmp_path / name for name in ("clean.svg", "moved.svg", "r.json"))
    assert main(["clean", str(source), "-o", str(clean)]) == 0
    root = parse_document(clean.read_bytes()).getroot()
    (outline,) = outlines_in(root)
    marks = [e for e in outline.getparent() if e.get(ours("role")) == "seam"]
    mates = {e.get(ours("name")): e.get(ours("mate")) for e in marks}
    # Hers is kept as she marked it; what the shape tells stands beside it.
    assert mates["side seam"] == "A"
    assert {"neckline", "shoulder", "armhole", "centre front"} <= set(mates)
    assert [mate for mate in mates.values() if mate] == ["A"]
    asked = ["move", str(clean), "--to", "side seam:0.4", "-o", str(moved), "--report", str(report)]
    assert main(asked) == 0
    (entry,) = json.loads(report.read_text(encoding="utf-8"))["blocks"]
    # At half its size on the sheet, and true now.
    true = np.array([z for run in true_runs(block) for z in run.samples])
    assert entry["height_mm"] == pytest.approx(np.ptp(true.imag), abs=6.0)
    assert entry["openings"][0]["seam"] == "side seam"


def test_a_mark_on_the_trace_may_be_a_clone() -> None:
    block, rng = some_block(2, "front")
    line = path(line_of(block, rng), closed=True, more='id="trace"')
    at = block.apex + 2 - 1j
    dot = path([2 + 3j, 4 + 3j, 3 + 5j], closed=True, more='id="dot"')
    shift = at - (3 + 4j)
    clone = (
        f'<use id="mark" inkscape:label="apex" href="#dot" x="{shift.real!r}" y="{shift.imag!r}"/>'
    )
    drawn = path([at - 1 - 1j, at + 1 - 1j, at + 1j], closed=True, label="apex", more='id="mark"')
    outlines = []
    for mark in (clone, drawn):
        for selection in ([], ["trace", "mark"]):
            _done, root = cleaned(drawing(line, f"<defs>{dot}</defs>", mark), selection)
            (outline,) = outlines_in(root)
            layer = outline.getparent()
            (apex,) = [e for e in layer if e.get(ours("role")) == "apex"]
            outlines.append((outline.get("d"), centre_of(apex)))
    assert len(set(outlines)) == 1


def test_cleaning_again_adds_another_block_and_changes_nothing_else() -> None:
    block, rng = some_block(8, "front")
    _done, root = cleaned(drawing(path(line_of(block, rng), closed=True)))
    before = [etree.tostring(child) for child in root]
    again = clean_up(root, clean_request({}, []))
    write_clean(root, again)
    assert [etree.tostring(child) for child in root][: len(before)] == before
    first, second = outlines_in(root)
    assert first.get("d") == second.get("d")
    assert first.get("id") != second.get("id")
    assert parse_document(document_bytes(root.getroottree())) is not None


def test_a_front_whose_apex_cannot_be_is_told() -> None:
    """At a wrong scale, by the proportions of the 7th Size Korea survey (see check-values)."""
    block, rng = some_block(2, "front")
    line = line_of(block, rng)
    for size, implausible in ((1.0, False), (2.0833, True), (0.48, True)):
        mark = path([10 + 10j, 110 + 10j], label=f"known length {100 * size:.4f}mm")
        done, _root = cleaned(drawing(path(line, closed=True), mark))
        said = "\n".join(clean_lines(done))
        assert ("check the scale and the apex" in said) is implausible


SQUARE = [100 + 100j, 300 + 100j, 300 + 300j, 100 + 300j]


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        (['<image width="100" height="100" id="scan" href="data:,"/>'], '"scan": '),
        (["<text>front</text>"], "it is a text"),
        ([], "no path to clean up"),
        ([path([k + 0j, k + 1 + 0j, k + 1j], True) for k in range(9)], "only specks"),
        ([path(SQUARE)], "no closed line"),
        (
            [path(SQUARE, True), path([z + 90 + 70j for z in SQUARE], True)],
            "two blocks cross or touch each other",
        ),
        (
            [path(SQUARE, True), path([0j, 100 + 0j], label="known length 0mm")],
            "its known length is not more than zero",
        ),
        (
            [path(SQUARE, True), path([5j, 5j], label="known length 100mm")],
            "no line of any length",
        ),
        (
            [path(SQUARE, True), *(path([0j, k + 0j], label="known length 50mm") for k in (9, 8))],
            "different scales",
        ),
        (
            [
                path(SQUARE, True),
                path([0j, 90 + 0j, 40 + 30j, 90j], True, label="known rectangle 210x297mm"),
            ],
            "do not form a convex shape",
        ),
        (
            [
                path(SQUARE, True),
                path([0j, 90 + 0j, 120 + 50j, 90 + 90j, 90j], True, "known rectangle 210x297mm"),
            ],
            "it has 5 corners",
        ),
        (
            [path(SQUARE, True), path([0j, 9 + 0j, 9 + 9j], True, "known rectangle 210mm")],
            "the two sides of a rectangle",
        ),
        ([path([200 + 200j + cmath.rect(99, k / 50) for k in range(314)], True)], "no corners"),
    ],
)  # fmt: skip
def test_what_cannot_be_cleaned_up_is_told(parts: list[str], words: str) -> None:
    said = refusal(drawing(*parts))
    assert words in said
    assert said.endswith((".", ")"))


def test_a_selected_picture_is_told_apart_from_its_trace() -> None:
    block, rng = some_block(3)
    picture = '<image width="100" height="100" id="scan" href="data:,"/>'
    text = drawing(picture, path(line_of(block, rng), closed=True, more='id="trace" '))
    assert refusal(text, ["scan"]).startswith('"scan": ')
    assert len(cleaned(text, ["trace"])[0].cleaned) == 1
    assert len(cleaned(text)[0].cleaned) == 1


@pytest.mark.parametrize(
    "arguments",
    [["--gap", "-1mm"], ["--gap", "2in"], ["--tolerance", "0"], ["--tolerance", "some"]],
)
def test_options_that_make_no_sense_are_status_2(arguments: list[str], tmp_path: Path) -> None:
    drawn = tmp_path / "trace.svg"
    drawn.write_text(drawing(path(SQUARE, True)), encoding="utf-8")
    out = tmp_path / "out.svg"
    assert main(["clean", str(drawn), "-o", str(out), *arguments]) == 2
    assert not out.exists()


def test_a_point_set_a_little_beside_the_middle_of_its_dart_is_allowed(tmp_path: Path) -> None:
    """Nobody puts a lowered point just on its middle line by hand: the legs come out equal."""
    data = (
        "M 0,80 L 0,400 L 80,400 L 95.4,280 L 110,400 L 230,390 L 240,210 "
        "C 200,205 175,150 180,40 L 70,0 C 60,50 30,80 0,80 Z"
    )
    apex = path([94 + 255j, 96 + 255j], label="apex")
    block = f'<path id="block" inkscape:label="outline" d="{data}"/>'
    source, out = tmp_path / "block.svg", tmp_path / "allowed.svg"
    source.write_text(drawing(block, apex), encoding="utf-8")
    assert main(["allow", str(source), "-o", str(out)]) == 0
    legs = [
        e
        for e in parse_document(out.read_bytes()).getroot().iter()
        if e.get(ours("part")) == "dart-leg"
    ]
    assert len(legs) == 2


@pytest.mark.parametrize("sides", ["210x297mm", "A4"])
def test_mark_parts_marks_a_known_rectangle(sides: str, tmp_path: Path) -> None:
    """What Mark parts writes is what the clean-up reads."""
    block, rng = some_block(3)
    sheet = path([60 + 60j, 270 + 60j, 270 + 357j, 60 + 357j], True, more='id="sheet" ')
    line = path(line_of(block, rng), True)
    source, marked = tmp_path / "trace.svg", tmp_path / "marked.svg"
    source.write_text(drawing(line, sheet), encoding="utf-8")
    asked = [
        "mark",
        str(source),
        "-o",
        str(marked),
        "--role",
        "known rectangle",
        "--select",
        "sheet",
    ]
    assert main(asked) == 2 or not marked.exists()
    assert main([*asked, "--length", sides]) == 0
    done, _root = cleaned(marked.read_text(encoding="utf-8"))
    assert done.scale.is_photo
    assert done.true_mm_per_mm == pytest.approx(1.0)
    assert len(done.cleaned) == 1
