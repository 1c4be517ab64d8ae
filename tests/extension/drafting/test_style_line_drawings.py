"""Blocks cut in two in drawings: what is written, what becomes of it, and what is refused."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from shapely.geometry import Polygon

from drafting_core.model.outline import flattened
from drafting_core.text.errors import DraftingError
from extension.commands.command_line import main
from extension.comparing.compare_seams import balance_report, compare_seams
from extension.document.path_data import parse
from extension.drafting.move_and_allow import Request, allow, move
from tests.help.blocks.drawings import NS, circle, marked_front, page, parts, root_of

SAMPLE = Path(__file__).parents[3] / "sample_svgs" / "front_one_path.svg"
PRINCESS = "M 174,138 C 150,160 120,200 94,248 L 101,410"
BESIDE = "M 174,138 C 150,160 105,200 108,250 C 111,300 150,350 180,381"
ACROSS = "M 0,262 L 238,262"


def style_line(data: str, label: str = "style line princess seam", more: str = "") -> str:
    return f'<path id="style" inkscape:label="{label}" d="{data}" {more}/>'


def drawing(*marks: str, target: bool = False) -> Any:
    """The sample front with other marks in the place of its target."""
    text = SAMPLE.read_text(encoding="utf-8")
    if target:
        return etree.fromstring(text.replace("</g>", "".join(marks) + "</g>").encode())
    found = re.sub(r'<circle id="target"[^>]*/>', "".join(marks), text)
    assert found != text
    return etree.fromstring(found.encode())


def path_of(layer: Any, part: str) -> str:
    (element,) = parts(layer, part)
    return str(element.get("d"))


def polygon_of(layer: Any, part: str) -> Polygon:
    chain = [segment for path in parse(path_of(layer, part)) for segment in path.segments]
    return Polygon([(z.real, z.imag) for z in flattened(chain, 40)])


def nodes(text: str) -> list[complex]:
    return [z for path in parse(text) for segment in path.segments for z in segment]


CASES = {"through": PRINCESS, "beside": BESIDE, "across": ACROSS}


@pytest.mark.parametrize("data", CASES.values(), ids=CASES)
def test_two_layers_that_are_finished_again_alike(data: str) -> None:
    root = drawing(style_line(data))
    outcome = move(root, Request())
    one, other = list(root)[-2:]
    assert len(outcome.drafts) == 2
    cut_lines = [path_of(layer, "cut-line") for layer in (one, other)]
    allow(root, Request())
    assert list(root)[-2:] == [one, other]
    for layer, before in zip((one, other), cut_lines, strict=True):
        again = nodes(path_of(layer, "cut-line"))
        assert len(again) == len(nodes(before))
        assert max(abs(p - q) for p, q in zip(nodes(before), again, strict=True)) < 1e-6
    outer = [polygon_of(layer, "cut-line") for layer in (one, other)]
    for outline, layer in zip(outer, (one, other), strict=True):
        assert outline.is_valid
        assert outline.buffer(1e-3).contains(polygon_of(layer, "stitch-line"))
    assert not outer[0].envelope.intersects(outer[1].envelope)


@pytest.mark.parametrize("data", CASES.values(), ids=CASES)
@pytest.mark.parametrize("made", ["dart", "ease"])
def test_the_balance_says_that_the_pieces_match(data: str, made: str) -> None:
    root = drawing(style_line(data))
    move(root, Request(given={"as": made}))
    balance = compare_seams(root)
    (pair,) = balance.comparisons
    assert pair.difference == pytest.approx(0.0, abs=1e-6)
    assert pair.notch_pairs
    assert not balance.warnings
    assert all(p.difference == pytest.approx(0.0, abs=1e-3) for p in pair.notch_pairs)
    report: Any = balance_report(balance)
    assert report["pairs"][0]["verdict"] == "matches"


def test_a_piece_that_has_a_dart_is_moved_again() -> None:
    root = drawing(style_line(BESIDE))
    (first, _) = move(root, Request()).drafts
    (left,) = first.darts
    outcome = move(root, Request(selection=[root[-2].get("id")], to="waist"))
    (again,) = outcome.drafts
    (dart,) = again.darts
    assert dart.dart.seam.name == "waist"
    assert dart.dart.opening.angle == pytest.approx(left.dart.opening.angle, abs=1e-9)


@pytest.mark.parametrize(
    ("data", "upright"),
    [(PRINCESS, True), (BESIDE, True), (ACROSS, False), ("M 0,248 H 237", False)],
)
def test_pieces_of_an_upright_seam_lie_side_by_side_others_one_below_the_other(
    data: str, upright: bool
) -> None:
    root = drawing(style_line(data))
    move(root, Request())
    first, second = (polygon_of(layer, "cut-line").bounds for layer in list(root)[-2:])
    gaps = [max(second[k] - first[k + 2], first[k] - second[k + 2]) for k in (0, 1)]
    assert (gaps[0] > 0) == upright
    assert (gaps[1] > 0) != upright


def text_boxes(layer: Any) -> list[tuple[float, float, float, float]]:
    """Where the note of a layer lies at most, by its letters' size."""
    found = []
    for text in parts(layer, "note"):
        size = float(re.search(r"font-size:([\d.]+)", str(text.get("style")))[1])  # type: ignore[index]
        lines = list(text) or [text]
        for line in lines:
            x = float(line.get("x") or text.get("x"))
            y = float(line.get("y") or text.get("y"))
            width = 0.62 * size * len("".join(line.itertext()))
            found.append((x, y - size, x + width, y))
    return found


@pytest.mark.parametrize("allowance", ["1/2in", "0", "3in"])
@pytest.mark.parametrize("data", CASES.values(), ids=CASES)
def test_no_note_lies_on_the_other_piece(data: str, allowance: str) -> None:
    root = drawing(style_line(data))
    move(root, Request(given={"allowance": allowance}))
    layers = list(root)[-2:]
    first, second = (polygon_of(layer, "cut-line") for layer in layers)
    assert not first.envelope.buffer(20).intersects(second.envelope)
    for layer, other in (layers, layers[::-1]):
        shape = polygon_of(other, "cut-line").bounds
        boxes = text_boxes(layer)
        assert boxes
        for left, top, right, bottom in boxes:
            assert right < shape[0] or left > shape[2] or bottom < shape[1] or top > shape[3]


REFUSED = {
    "far away": ([style_line("M -1,150 L 240,150")], "passes the apex at a distance of 9"),
    "leaves the block": (
        [style_line("M 174,138 C 400,160 300,200 94,248 L 101,410")],
        "leaves the block, or runs into a dart",
    ),
    "leaves the block beside": (
        [style_line("M 174,138 C 400,160 200,240 108,250 L 180,381")],
        "crosses the outline",
    ),
    "stays outside": ([style_line("M 0,230 C -40,240 -40,250 0,270")], "distance of"),
    "crosses itself": (
        [style_line("M 174,138 L 94,248 L 60,300 L 150,300 L 60,200")],
        "crosses itself",
    ),
    "one place": ([style_line("M 0,230 L 94,248 L 0,231")], "starts and ends at one place"),
    "both ends in the mouth": (
        [style_line("M 101,401 L 94,248 L 108,398")],
        "starts and ends at one place",
    ),
    "in the mouth beside the apex": (
        [style_line("M 174,138 C 150,160 105,200 108,250 L 101,405")],
        "ends at the mouth of a dart and passes beside the apex",
    ),
    "one leg only": (
        [style_line("M 0,300 L 94,262 L 94,330")],
        "ends at the mouth of a dart and passes beside",
    ),
    "one leg twice": (
        [style_line("M 20,400 L 93.5,262 L 70,150 L 0,150")],
        "runs into a dart",
    ),
    "aslant": ([style_line("M 0,200 L 232,350")], "crosses the dart aslant"),
    "a kept dart": (
        [style_line(ACROSS), circle("dart 0.5", 100, 400)],
        "crosses a dart that is not closed, or not wholly",
    ),
    "along a dart that is not wholly closed": (
        [style_line(PRINCESS), circle("dart 0.5", 100, 400)],
        "runs along a dart that is not closed, or not wholly",
    ),
    "two style lines": ([style_line(PRINCESS), style_line(ACROSS)], "style line"),
    "a target too": (
        [style_line(PRINCESS), circle("target", 0, 200)],
        "the block has a target and a style line",
    ),
    "closed": ([style_line("M 174,138 L 94,248 L 60,200 Z")], "has to be one open path"),
    "two paths": ([style_line("M 174,138 L 94,248 M 94,248 L 101,410")], "one open path"),
    "a circle": ([circle("style line", 94, 248)], "has to be one open path"),
    "several apexes": (
        [style_line(PRINCESS), circle("apex", 120, 300)],
        "apex",
    ),
    "short of the outline": ([style_line("M 150,160 L 94,248 L 101,410")], "from the nearest seam"),
}


@pytest.mark.parametrize(("marks", "words"), REFUSED.values(), ids=REFUSED)
def test_refused_with_one_message_and_nothing_written(
    marks: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    root = drawing(*marks)
    before = etree.tostring(root)
    with pytest.raises(DraftingError, match=re.escape(words)) as caught:
        move(root, Request())
    assert etree.tostring(root) == before
    assert "fault of the program" not in str(caught.value)
    source, result = tmp_path / "front.svg", tmp_path / "result.svg"
    source.write_bytes(before)
    assert main(["move", str(source), "-o", str(result)]) == 1
    assert not result.exists()
    printed = capsys.readouterr()
    assert printed.out == ""
    assert len(printed.err.strip().splitlines()) == 1


def test_an_intake_is_refused() -> None:
    root = drawing(style_line(PRINCESS))
    with pytest.raises(DraftingError, match="width of a mouth cannot be chosen"):
        move(root, Request(given={"intake": "20mm"}))


@pytest.mark.parametrize("data", [PRINCESS, ACROSS], ids=["through", "across"])
def test_the_seam_has_its_own_allowance(data: str) -> None:
    root = drawing(style_line(data))
    move(root, Request(given={"allowance": "1/2in, princess seam=3/8in"}))
    for layer in list(root)[-2:]:
        edge = polygon_of(layer, "cut-line").exterior
        stitched = polygon_of(layer, "stitch-line").exterior
        (name,) = [e for e in parts(layer, "seam-name") if "princess" in "".join(e.itertext())]
        assert name is not None
        distances = [edge.distance(stitched.interpolate(k / 400, normalized=True))
                     for k in range(400)]  # fmt: skip
        # 3/8 in on the new seam, 1/2 in elsewhere, 1/2 in being the least on no other seam.
        assert sum(abs(d - 9.525) < 0.05 for d in distances) > 40
        assert sum(abs(d - 12.7) < 0.05 for d in distances) > 100


TRANSFORMS = {
    "mirrored": "matrix(-1,0,0,1,300,0)",
    "turned": "rotate(37)",
    "both": "rotate(-121) scale(1,-1)",
    "shifted": "translate(50,80)",
}


def report_of(root: Any) -> list[Any]:
    outcome = move(root, Request())
    return [
        sorted(block["seams"], key=lambda seam: seam["name"])
        for block in outcome.report["blocks"]  # type: ignore[attr-defined]
    ]


@pytest.mark.parametrize("data", CASES.values(), ids=CASES)
@pytest.mark.parametrize("transform", TRANSFORMS.values(), ids=TRANSFORMS)
def test_a_layer_that_is_mirrored_or_turned_gives_the_same(data: str, transform: str) -> None:
    plain = report_of(drawing(style_line(data)))
    root = drawing(style_line(data))
    root.find("svg:g", NS).set("transform", transform)
    # Which way the grain lies is told by the centre, so the parts may change places.
    key = str
    for one, other in zip(sorted(plain, key=key), sorted(report_of(root), key=key), strict=True):
        assert [seam["name"] for seam in one] == [seam["name"] for seam in other]
        for a, b in zip(one, other, strict=True):
            assert a["after_mm"] == pytest.approx(b["after_mm"], abs=1e-6)


def test_other_units_give_the_same() -> None:
    plain = report_of(drawing(style_line(PRINCESS)))
    root = drawing(style_line(PRINCESS))
    root.set("width", f"{290 / 25.4}in")
    root.set("height", f"{450 / 25.4}in")
    for one, other in zip(plain, report_of(root), strict=True):
        for a, b in zip(one, other, strict=True):
            assert a["after_mm"] == pytest.approx(b["after_mm"], abs=1e-4)


def test_the_grain_stays_with_its_piece() -> None:
    """The waist dart goes into the seam: the side part turned keeps its own grain."""
    grain = '<path inkscape:label="grainline" d="M 40,150 L 40,330"/>'
    for marks in ([], [grain]):
        root = drawing(style_line("M 0,300 L 94,248 L 150,27"), *marks)
        drafts = move(root, Request()).drafts
        for draft in drafts:
            line = draft.grain
            side_seam = [e.segment for e in draft.piece.edges() if e.seam.name == "side seam"]
            centre = [e.segment for e in draft.piece.edges() if e.seam.name == "centre front"]
            along = math.atan2((line.end - line.start).imag, (line.end - line.start).real)
            if centre:
                chord = centre[-1].end - centre[0].start
                turned = math.atan2(chord.imag, chord.real) - along
                assert abs(math.sin(turned)) < 1e-9
            assert side_seam or centre


def test_json_says_how_the_seam_matches(tmp_path: Path) -> None:
    source, report = tmp_path / "front.svg", tmp_path / "report.json"
    source.write_bytes(etree.tostring(drawing(style_line(BESIDE))))
    out = tmp_path / "out.svg"
    assert main(["move", str(source), "-o", str(out), "--report", str(report)]) == 0
    blocks = json.loads(report.read_text())["blocks"]
    joined = [block["joined"] for block in blocks]
    assert [item["seam"] for item in joined] == ["princess seam"] * 2
    assert [item["difference_mm"] for item in joined] == pytest.approx([0.0, 0.0], abs=1e-6)
    assert joined[0]["other_piece"] == blocks[1]["name"] != blocks[0]["name"]
    assert main(["balance", str(out)]) == 0


def test_a_plain_label_and_a_hand_made_drawing() -> None:
    root = root_of(
        page(marked_front(target='<path inkscape:label="style line" d="M 0,262 H 238"/>'))
    )
    drafts = move(root, Request()).drafts
    assert [draft.joined.name for draft in drafts if draft.joined] == ["style line"] * 2
