"""The command compare: a teaching sheet beside the drawing, and nothing else changed."""

from __future__ import annotations

import json
import math
import random
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from drafting_core.text.errors import DraftingError
from extension.commands.command_line import main
from extension.comparing.compare_places import compare
from extension.document.namespaces import GROUP_MODE, LABEL, svg
from extension.document.shapes import mapped_subpaths, point_map, transform_of
from extension.document.svg_document import parse_document, read_document, units
from extension.document.write_files import write_document
from extension.drafting.move_and_allow import Outcome, Request, move
from extension.look.set_text import SMALLEST_TEXT, text_width
from extension.reading.drawn_extent import right_edge
from extension.reading.read_blocks import read_drawing
from tests.help.blocks.drawings import (
    NS,
    TARGET,
    circle,
    layer,
    marked_front,
    outline,
    page,
    parts,
    root_of,
)
from tests.help.blocks.random_blocks import random_block
from tests.help.blocks.random_drawings import to_svg
from tests.help.blocks.refusals import no_case
from tests.help.depth import examples

ROOT = Path(__file__).parents[3]
FRONT = ROOT / "sample_svgs" / "front_one_path.svg"
THREE = "neckline/centre front; side seam:0.35; waist"
SHEET = f"{{{NS['dartswing']}}}sheet"
CLOTHS = ("woven", "fine", "sheer", "knit")
#: The dart of the plain front: its mouth is 30 mm wide, 140 mm from the apex.
DART_DEGREES = math.degrees(2 * math.atan(15 / 140))


def front(**options: Any) -> Any:
    return root_of(page(marked_front(**options)))


def compared(root: Any, to: str = THREE, **more: Any) -> Outcome:
    return compare(root, Request(to=to, **more))


def texts_of(element: Any) -> str:
    rows = [" ".join(row for row in text.itertext()) for text in element.iter(svg("text"))]
    return " ".join(rows)


def frame_of(sheet: Any) -> tuple[float, float, float, float]:
    (rect,) = sheet.iter(svg("rect"))
    x, y, width, height = (float(rect.get(name)) for name in ("x", "y", "width", "height"))
    return x, y, width, height


def lines_of(element: Any) -> list[Any]:
    return [s for path in element.iter(svg("path")) for p in mapped_subpaths(path)
            for s in p.segments]  # fmt: skip


def check_all_in_frame(sheet: Any) -> None:
    x, y, width, height = frame_of(sheet)
    for segment in lines_of(sheet):
        box = segment.box()
        assert x < box.left <= box.right < x + width
        assert y < box.top <= box.bottom < y + height


def check_names_are_free(sheet: Any, unit: float) -> None:
    """No line of a picture crosses the letters of a seam's name."""
    for group in sheet[1:]:
        segments = lines_of(group)
        for text in group.iter(svg("text")):
            if text.get("transform") is None:
                continue
            anchor = complex(float(text.get("x")), float(text.get("y")))
            to = point_map(transform_of(text))
            along = to(anchor + 1) - to(anchor)
            half = text_width(text.text, SMALLEST_TEXT) / unit / 2
            rise = 0.7 * SMALLEST_TEXT / unit
            for segment in segments:
                for k in range(65):
                    z = (segment.point(k / 64) - anchor) / along
                    assert not (abs(z.real) < half and -rise < z.imag < 0), text.text


@pytest.mark.parametrize("selected", ["", "block"])
def test_one_layer_is_added_and_nothing_else_is_changed(tmp_path: Path, selected: str) -> None:
    source, result = tmp_path / "in.svg", tmp_path / "out.svg"
    assert main(["move", str(FRONT), "-o", str(source)]) == 0  # beside an earlier result, too
    write_document(read_document(str(source)), str(source))  # empty elements as any reader has them
    select = ["--select", "front-block"] if selected else []
    assert main(["compare", str(source), "--to", THREE, "-o", str(result), *select]) == 0
    old, new = source.read_bytes(), result.read_bytes()
    assert etree.fromstring(new)[-1].get(SHEET) == "compare"
    start, end = new.rindex(b"</svg>"), old.rindex(b"</svg>")
    layer_start = next(k for k, (a, b) in enumerate(zip(new, old, strict=False)) if a != b)
    assert layer_start == end + 1  # "<" is in both
    assert new[start:] == old[end:]
    assert len(etree.fromstring(new)) == len(etree.fromstring(old)) + 1


def test_the_sheet_is_one_layer_with_one_for_each_place() -> None:
    root = front()
    compared(root)
    sheet = root[-1]
    assert sheet.get(GROUP_MODE) == "layer"
    assert sheet.get(LABEL) == "Compare: Front, dart in 3 places"
    labels = [child.get(LABEL) for child in sheet]
    assert labels == ["Page", "neckline/centre front", "side seam:0.35", "waist"]
    assert all(child.get(GROUP_MODE) == "layer" for child in sheet)


@pytest.mark.parametrize(("name", "sides"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_the_frame_is_the_page_and_holds_everything(name: str, sides: tuple[float, float]) -> None:
    # A unit of this drawing is a quarter of a millimetre; the sheet is in millimetres all the same.
    quarter = 'width="300mm" height="450mm" viewBox="0 0 1200 1800"'
    root = root_of(page(f'<g transform="scale(4)">{marked_front()}</g>', quarter))
    before = right_edge(root)
    compared(root, page=name)
    unit = units(root)
    assert unit == 0.25
    x, _, width, height = frame_of(root[-1])
    assert sorted((width * unit, height * unit)) == pytest.approx(sorted(sides), abs=1e-9)
    assert x > before
    check_all_in_frame(root[-1])


@given(st.integers(0, 10**9))
@settings(max_examples=examples(25))
def test_invented_blocks_of_all_kinds_in_drawings_of_all_kinds(seed: int) -> None:
    rng = random.Random(seed)
    block = random_block(rng)
    drawing = to_svg(block, rng)
    places = [f"{name}:{rng.uniform(0.1, 0.9):.2f}" for name in drawing.names.values()]
    root = parse_document(drawing.text.encode("utf-8")).getroot()
    before = right_edge(root)
    try:
        outcome = compared(root, ";".join(rng.sample(places, rng.randint(2, 3))))
    except DraftingError as error:
        no_case(error)
    sheet = root[-1]
    assert frame_of(sheet)[0] > before
    check_all_in_frame(sheet)
    check_names_are_free(sheet, units(root))
    assert len(sheet) == 1 + len(outcome.drafts)
    for group, draft in zip(sheet[1:], outcome.drafts, strict=True):
        assert f"{math.degrees(block.angle):.1f}° at the apex" in texts_of(group)
        assert draft.darts[0].dart.opening.target == 0


def test_a_second_sheet_stands_beside_the_first() -> None:
    root = front()
    compared(root)
    compared(root, "armhole; shoulder")
    first, second = (frame_of(sheet) for sheet in root[-2:])
    assert second[0] > first[0] + first[2]
    assert second[1] == first[1]
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))


def test_captions_say_intake_fold_and_every_cloth() -> None:
    root = front()
    outcome = compared(root)
    for group, draft in zip(root[-1][1:], outcome.drafts, strict=True):
        said = texts_of(group)
        item = draft.darts[0].dart
        assert f"{item.intake:.1f}".removesuffix(".0") + " mm" in said
        assert f"{DART_DEGREES:.1f}° at the apex" in said, "the angle is the same in every place"
        assert ("Excess folded down" if item.fold.way == "down" else "toward the centre") in said
        assert all(cloth in said for cloth in CLOTHS) or "all cloths" in said
    neck, side, waist = (texts_of(group) for group in root[-1][1:])
    # The contract's table, section 4.
    assert "all cloths" in neck
    assert "Kept" not in neck
    assert re.search(r"woven Kept.*fine Trimmed.*sheer, knit Trimmed", side)
    assert re.search(r"woven, ?fine Kept.*sheer, ?knit Trimmed", waist)
    assert waist.count("Kept") == waist.count("Trimmed") == 1


def test_the_page_says_its_scale_and_that_it_is_not_for_cutting() -> None:
    root = front()
    compared(root)
    said = texts_of(root[-1][0])
    found = re.search(r"Scale 1:(\d+)\. Not for cutting\.", said)
    assert found
    # The apex cross of each picture is the true distance from the stitch line, so much smaller.
    scale = int(found[1])
    widths = []
    for group in root[-1][1:]:
        block = next(iter(group.iter(svg("path"))))
        boxes = [s.box() for path in mapped_subpaths(block) for s in path.segments]
        widths.append(max(b.right for b in boxes) - min(b.left for b in boxes))
    assert widths == pytest.approx([240 / scale] * 3, abs=1e-6)  # the block is 240 mm wide


def test_text_and_lines_are_made_for_paper() -> None:
    root = front()
    compared(root)
    styles = [str(e.get("style")) for e in root[-1].iter() if e.get("style")]
    sizes = [float(s) for style in styles for s in re.findall(r"font-size:([\d.]+)px", style)]
    assert min(sizes) >= 2.8
    widths = [float(s) for style in styles for s in re.findall(r"stroke-width:([\d.]+)", style)]
    assert min(widths) >= 0.25
    colours = {c for style in styles for c in re.findall(r"#[0-9a-f]{6}", style)}
    assert all(len({c[1:3], c[3:5], c[5:7]}) == 1 for c in colours), "black, grey and white only"


@pytest.mark.parametrize("to", ["side seam:0.6", ""])
def test_a_sheet_is_never_drafted_from(to: str) -> None:
    plain, sheeted = front(), front()
    compared(sheeted)
    sheet = sheeted[-1]
    assert not [e for e in sheet.iter() if e is not sheet and any("urn:" in k for k in e.attrib)]
    assert len(read_drawing(sheeted).blocks) == len(read_drawing(plain).blocks) == 1
    reports = [move(root, Request(to=to)).report for root in (plain, sheeted)]
    assert reports[0] == reports[1]
    for root in (plain, sheeted):
        # The sheet takes up room: note and square go elsewhere.
        for part in ("note", "test-square"):
            for element in parts(root, part):
                element.getparent().remove(element)
    results = [etree.tostring(root[-1], method="c14n") for root in (plain, sheeted)]
    assert results[0] == results[1]
    assert parts(sheeted, "stitch-line")


def test_a_sheet_is_not_read_even_where_its_labels_speak() -> None:
    root = front()
    compared(root)
    for element in root[-1].iter(svg("path")):
        element.set(LABEL, "outline")
    assert len(read_drawing(root).blocks) == 1


def test_three_selected_parts_of_a_sheet_are_no_block() -> None:
    three = outline().replace(' inkscape:label="outline"', "")
    three += (
        '<circle id="point" cx="95" cy="260" r="2"/><circle id="goal" cx="237" cy="273" r="2"/>'
    )
    found = []
    for kind in ("", 'dartswing:sheet="compare"'):
        root = root_of(page(layer(three, "Sheet", kind)))
        found.append(len(read_drawing(root, ["block", "point", "goal"]).blocks))
    assert found == [1, 0]


def test_without_places_the_target_marks_are_compared_each_with_the_whole_dart() -> None:
    marks = TARGET.replace('"target"', '"target 0.3"') + circle("target", 125, 20, 'id="upper"')
    root = front(target=marks)
    outcome = compared(root, "")
    assert [draft.darts[0].dart.seam.name for draft in outcome.drafts] == ["side seam", "shoulder"]
    for draft in outcome.drafts:
        assert len(draft.darts) == 1
        assert math.degrees(draft.darts[0].dart.opening.angle) == pytest.approx(
            DART_DEGREES, abs=1e-9
        )
    assert [child.get(LABEL) for child in root[-1][1:]] == [
        "side seam 35%",
        "shoulder 50%",
    ]


def test_marks_on_one_seam_are_told_apart() -> None:
    marks = circle("target", 237.5, 255, 'id="upper"') + circle("target", 233, 336, 'id="lower"')
    root = front(target=marks)
    compared(root, "")
    labels = [child.get(LABEL) for child in root[-1][1:]]
    assert labels == ["side seam 25%", "side seam 70%"]
    said = " ".join(" ".join(text.itertext()) for text in root[-1].iter(svg("text")))
    assert "Side seam, a quarter of the way down" in said
    assert "Side seam, 70 % of the way down" in said


@pytest.mark.parametrize("cloth", CLOTHS)
def test_the_pictures_show_the_cloth_that_is_asked_for(cloth: str) -> None:
    outcome = compared(front(), given={"cloth": cloth})
    for place, draft in zip(THREE.split(";"), outcome.drafts, strict=True):
        alone = move(front(), Request(to=place.strip(), given={"cloth": cloth})).drafts[0]
        assert draft.darts[0].dart.excess == alone.darts[0].dart.excess
        assert draft.cut_line == alone.cut_line


def test_finishing_options_count_here_too() -> None:
    outcome = compared(front(), given={"clearance": "40mm", "excess": "keep", "fold": "up"})
    for draft in outcome.drafts:
        dart = draft.darts[0].dart
        assert dart.clearance == pytest.approx(40, abs=1e-6)
        assert dart.excess == "keep"


def test_the_report_has_one_entry_for_each_place(tmp_path: Path) -> None:
    result, report = tmp_path / "out.svg", tmp_path / "r.json"
    assert main([
        "compare", str(FRONT), "--to", THREE, "--cloth", "sheer",
        "-o", str(result), "--report", str(report),
    ]) == 0  # fmt: skip
    blocks = json.loads(report.read_text(encoding="utf-8"))["blocks"]
    assert [block["place"] for block in blocks] == THREE.split("; ")
    assert {block["cloth"] for block in blocks} == {"sheer"}
    assert {block["openings"][0]["excess"] for block in blocks} == {"trim"}
    for block in blocks:
        assert block["angle_before_deg"] == pytest.approx(block["angle_after_deg"], abs=1e-9)


@pytest.mark.parametrize(
    ("to", "words"),
    [
        ("waist", "1 place is named; 2 to 6"),
        (" ; ", "no places are named"),
        ("waist;hem;waist;waist;waist;waist;waist", "7 places are named"),
        ("waist; moon", 'place "moon".*no seam is called "moon"'),
        ("waist; side seam:7", 'place "side seam:7"'),
        ("", "1 place is marked"),
    ],
)
def test_wrong_places_are_told_in_one_plain_message(to: str, words: str) -> None:
    root = front()
    before = etree.tostring(root)
    with pytest.raises(DraftingError) as caught:
        compared(root, to)
    assert re.search(words, str(caught.value))
    assert etree.tostring(root) == before


def test_several_blocks_are_refused_until_one_is_selected() -> None:
    other = marked_front().replace('id="block"', 'id="second"')
    root = root_of(page(marked_front() + f'<g transform="translate(400,0)">{other}</g>'))
    with pytest.raises(DraftingError, match=r"2 blocks are in play.*Select one"):
        compared(root)
    assert len(compared(root, selection=["second"]).drafts) == 3


def test_an_unknown_page_is_refused() -> None:
    with pytest.raises(DraftingError, match='"A7" is not known'):
        compared(front(), page="A7")


def test_a_result_can_be_compared(tmp_path: Path) -> None:
    root = front()
    move(root, Request())
    result = root[-1]
    outcome = compared(root, selection=[result.get("id")])
    assert len(outcome.drafts) == 3
    assert root[-1].get(SHEET) == "compare"


def test_the_scale_of_a_scan_is_the_true_one() -> None:
    known = '<path id="k" inkscape:label="known length 100mm" d="M 20,300 L 70,300"/>'
    outcome = compared(front(more=known))
    plain = compared(front())
    for scanned, true in zip(outcome.drafts, plain.drafts, strict=True):
        ratio = scanned.darts[0].dart.intake / true.darts[0].dart.intake
        # Twice the length, though the clearance of 1 in stays what it is.
        assert ratio == pytest.approx(2.0, abs=1e-6)


DRAWN = (
    ('<rect x="500" y="0" width="50" height="9"/>', 550),
    ('<g transform="translate(700,0)"><circle cx="5" cy="5" r="5"/></g>', 710),
    ('<image x="600" y="0" width="40" height="40"/>', 640),
    ('<rect id="r" x="10" y="0" width="50" height="9"/><use href="#r" x="800"/>', 860),
    ('<text x="900" y="5" style="font-size:10px">wide words</text>', 950),
    ('<path d="no path at all"/>', 300),
    ("", 300),
)


@pytest.mark.parametrize(("body", "least"), DRAWN)
def test_the_right_edge_of_a_drawing(body: str, least: float) -> None:
    edge = right_edge(root_of(page(body)))
    assert least <= edge <= least + 30


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_terminal_says_which_place_is_which_and_once_what_all_have(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], unit: str
) -> None:
    file = tmp_path / "front.svg"
    file.write_text(page(marked_front()), encoding="utf-8")
    places = "side seam:80mm; side seam:80.4mm; armhole"
    titles = ["Side seam, 80 mm down", "Side seam, 80.4 mm down", "Armhole, halfway down"]
    output = str(tmp_path / "out.svg")
    assert main(["compare", str(file), "--to", places, "--unit", unit, "-o", output]) == 0
    *paragraphs, heading, table = capsys.readouterr().out.strip().split("\n\n")
    lines = [line for paragraph in paragraphs for line in paragraph.split("\n")]
    assert [line for line in lines if line in titles] == titles
    # What is said of one place alone may be true of the next as well, but not of all of them.
    assert all(lines.count(line) < len(titles) for line in lines)
    assert sum("the block is" in line for line in lines) == 1
    own = paragraphs[-len(titles) :]
    assert [text.split("\n")[0] for text in own] == titles
    assert "places" in heading
    heads = " ".join(table[: table.index("before")].split())
    assert heads.count("Side seam,") == 2
    assert "Armhole," in heads
