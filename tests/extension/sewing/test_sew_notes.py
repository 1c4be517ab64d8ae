"""Sewing notes: a page for every piece; all is said, all is true, and nothing overlaps."""

from __future__ import annotations

import copy
import functools
import itertools
import json
import math
import re
import shutil
import subprocess
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import pytest
from lxml import etree

from drafting_core.finished.pattern_piece import DrawnDart
from drafting_core.model.outline import nearest_on
from drafting_core.model.piece import TUCK
from drafting_core.model.settings import CLOTHS
from drafting_core.sewing.dart_steps import pressed
from drafting_core.text import words
from drafting_core.text.paper_sizes import DESK_PAGES
from extension.commands.command_line import main
from extension.document.namespaces import LABEL, ours
from extension.document.svg_document import parse_document, units
from extension.look.set_text import SMALLEST_TEXT, Room, SetText
from extension.pages.editor_pages import PAGE
from extension.sewing.layout import MARGIN, PICTURE_MARGIN
from extension.sewing.notes import PAGE_GAP, sew_notes
from extension.sewing.page import NUMBER_RADIUS, Page
from extension.sewing.pictures import Disc, step_drawing
from extension.sewing.steps import JOIN, MARK, OPEN, PRESS, STITCH, TRIM
from extension.sewing.text_blocks import STEP_MARGIN
from tests.conftest import require
from tests.help.blocks.samples import BLOCKS
from tests.help.depth import some_quick
from tests.help.editor.effects import run_effect

ROUNDING = 1e-8  # mm
LONGER = 1.4
SVG = "{http://www.w3.org/2000/svg}"
FRONT = next(path for path in BLOCKS if path.stem == "front_one_path")
#: Places beside those that the samples' own targets name: several darts, all that is no dart.
PLACES = {
    "neck tip": "neckline/centre front",
    "side seam": "side seam:0.35",
    "three darts": "side seam:0.35=0.5; armhole:0.5=0.3; neckline:0.5=0.2",
    "four darts": "side seam:0.35=0.3; armhole:0.5=0.3; shoulder:0.5=0.2; neckline:0.5=0.2",
    "gathers": "neckline:0.5 as gathers",
    "tuck and dart": "waist=0.5 as tuck; side seam:0.35=0.5",
}


class Longer:
    """Translations that are longer by two fifths, as another language may be."""

    def gettext(self, message: str, /) -> str:
        shown = len(re.sub(r"\{\w*(:[^}]*)?\}", "12345", message))
        more = math.ceil(shown * (LONGER - 1))
        return message + " " + ("wxyz " * more)[:more].strip() if more > 2 else message

    def ngettext(self, singular: str, plural: str, n: int, /) -> str:
        return self.gettext(singular if n == 1 else plural)


@functools.cache
def finished(sample: str, cloth: str, to: str = "") -> tuple[bytes, str]:
    """A sample with its dart moved to its target, or finished where it is; and the report."""
    import tempfile

    path = next(block for block in BLOCKS if block.stem == sample)
    with tempfile.TemporaryDirectory() as folder:
        out, report = Path(folder, "out.svg"), Path(folder, "report.json")
        command = ["-o", str(out), "--report", str(report), "--cloth", cloth]
        place = ["--to", to] if to else []
        nest = ["--nest"] if "nest" in sample else []
        if main(["move", str(path), *command, *place, *nest]) != 0:
            assert main(["allow", str(path), *command]) == 0
        return out.read_bytes(), report.read_text(encoding="utf-8")


def pages_of(data: bytes, paper: str = "A4") -> tuple[Page, ...]:
    return sew_notes(parse_document(data).getroot(), [], paper).pages


def cases() -> Iterator[tuple[str, str]]:
    for path in BLOCKS:
        yield path.stem, ""
    for place in PLACES.values():
        yield FRONT.stem, place


CASES = [pytest.param(*case, id=f"{case[0]} {case[1]}".strip()) for case in cases()]


def apart(one: Room, other: Room) -> bool:
    return (
        one.x + one.width <= other.x + ROUNDING
        or other.x + other.width <= one.x + ROUNDING
        or one.y + one.height <= other.y + ROUNDING
        or other.y + other.height <= one.y + ROUNDING
    )


def texts_of(page: Page) -> list[SetText]:
    texts = [*page.layout.texts, *(text for _, text in page.layout.key)]
    for block in page.layout.blocks:
        texts += block.texts
        texts += [text for panel in block.panels for text in panel.texts]
    return texts


def said_on(page: Page) -> str:
    return " ".join(" ".join(text.lines) for text in texts_of(page))


def check_layout(page: Page, paper: str) -> None:
    layout = page.layout
    assert (layout.width, layout.height) == DESK_PAGES[paper]
    boxes = [text.box() for text in texts_of(page)] + [layout.piece]
    boxes += [panel.room for block in layout.blocks for panel in block.panels]
    for box in boxes:
        assert min(box.x, box.y) >= MARGIN - ROUNDING
        assert box.x + box.width <= layout.width - MARGIN + ROUNDING
        assert box.y + box.height <= layout.height - MARGIN + ROUNDING
    for one, other in itertools.combinations(boxes, 2):
        assert apart(one, other), (one, other)
    assert all(text.size >= SMALLEST_TEXT for text in texts_of(page))
    assert f"1:{layout.scale}" in said_on(page)


def shrunk(middle: complex, centre: complex, scale: float, z: complex) -> complex:
    return middle + (z - centre) / scale


def check_pictures(page: Page) -> None:
    """Every line of a step's picture lies in its room; every dart has a number outside it."""
    for section, block in zip(page.sections, page.layout.blocks, strict=True):
        assert len(block.panels) == len(section.steps)
        boxes = page.boxes[section.number - 1]
        for step, panel, box in zip(section.steps, block.panels, boxes, strict=True):
            room = panel.room
            middle = complex(room.x + room.width / 2, room.y + room.height / 2)
            centre = complex(box.left + box.right, box.top + box.bottom) / 2
            to = functools.partial(shrunk, middle, centre, panel.scale)
            shapes = step_drawing(section, step.kind, page.draft, to)
            assert shapes
            for shape in shapes:
                points = (
                    [shape.centre]
                    if isinstance(shape, Disc)
                    else [z for part in shape.chain for z in part.extreme_points()]
                )
                for z in points:
                    assert room.x - ROUNDING <= z.real <= room.x + room.width + ROUNDING, step
                    assert room.y - ROUNDING <= z.imag <= room.y + room.height + ROUNDING, step
            assert (box.bottom - box.top) / panel.scale <= room.height - 2 * STEP_MARGIN + ROUNDING


@pytest.mark.thorough
@pytest.mark.parametrize("longer", [False, True], ids=["English", "longer"])
@pytest.mark.parametrize(("sample", "to"), some_quick(CASES, 3))
def test_nothing_overlaps_and_all_is_on_the_page(sample: str, to: str, longer: bool) -> None:
    for number, cloth in enumerate(CLOTHS):
        words.speak(None)
        data, _report = finished(sample, cloth, to)
        words.speak(Longer if longer else None)
        paper = sorted(DESK_PAGES)[number % 2]
        for page in pages_of(data, paper):
            check_layout(page, paper)
            check_pictures(page)
            count = len(page.draft.darts) + len(page.draft.fullness)
            assert len(page.sections) == len(page.layout.blocks) == count


@pytest.mark.parametrize("cloth", CLOTHS)
@pytest.mark.parametrize(("sample", "to"), some_quick(CASES, 3))
def test_what_is_said_is_what_the_report_says(sample: str, to: str, cloth: str) -> None:
    data, report = finished(sample, cloth, to)
    blocks = {block["name"]: block for block in json.loads(report)["blocks"]}
    for page in pages_of(data):
        said = said_on(page)
        darts = [o for o in blocks[page.draft.block.name]["openings"] if o["fold"]]
        darts = [one for one in darts if one.get("as") != TUCK]
        shown = [one for one in page.sections if isinstance(one.item, DrawnDart)]
        assert len(shown) == len(darts)
        by_seam = sorted(darts, key=lambda one: (one["seam"], one["intake_mm"]))
        sections = sorted(
            shown,
            key=lambda one: (one.item.dart.seam.name, one.item.dart.intake),  # type: ignore[union-attr]
        )
        for section, dart in zip(sections, by_seam, strict=True):
            text = " ".join(section.sentences)
            intake = f"{dart['intake_mm']:.1f}".removesuffix(".0")
            assert f"Intake {intake} mm" in text
            ways = {"centre": "toward the centre", "down": "folded down", "up": "folded up"}
            assert ways[dart["fold"]] in text
            finishing = "; clean finish the trimmed edge"
            assert dart["why"].replace(finishing, "") in text
            assert finishing not in text
            assert "no rule names" not in text
            kinds = [step.kind for step in section.steps]
            trimmed = "clean finish" in dart["why"]
            assert (dart["excess"] == "trim") == trimmed
            # Raw edges are finished, those of a curved dart that was cut open too.
            assert (trimmed or OPEN in kinds) == ("Finish the raw edges" in text)
            assert all(
                sentence.replace(" ", "") in said.replace(" ", "") for sentence in section.sentences
            )
            if kinds:
                # Of a dart that is sewn as another its pressing alone may be shown.
                assert kinds[0] == MARK or kinds == [PRESS]
                assert kinds[-1] == PRESS
            if TRIM in kinds:
                assert trimmed
                # Trimmed first, pressed then.
                assert kinds.index(STITCH) < kinds.index(TRIM) < kinds.index(PRESS)


def test_every_cloth_has_its_own_finish_and_its_own_stitching() -> None:
    said = {}
    for cloth in CLOTHS:
        (page,) = pages_of(finished(FRONT.stem, cloth, PLACES["neck tip"])[0])
        said[cloth] = said_on(page)
        assert "Trim both layers to 12.7 mm beside the stitching" in said[cloth]
    assert "stretch" in said["knit"]
    assert "fine needle" in said["fine"]
    assert "overcast" in said["woven"]
    assert "second row 3 mm from it, toward the fold" in said["sheer"]
    assert not any("second row" in said[cloth] for cloth in ("woven", "fine", "knit"))


def test_trimming_stops_where_the_drawn_window_has_its_corner(tmp_path: Path) -> None:
    data, report = finished(FRONT.stem, "sheer", PLACES["side seam"])
    root = parse_document(data).getroot()
    (window,) = root.iterfind(".//*[@{urn:dartswing:1}part='trim-window']")
    first = re.match(r"M ([-\d.]+),([-\d.]+)", window.get("d"))
    assert first is not None
    vertex = complex(float(first[1]), float(first[2])) * units(root)
    (dart,) = json.loads(report)["blocks"][0]["openings"]
    stop = abs(vertex - complex(*dart["point_mm"]))
    (page,) = pages_of(data)
    assert f"stop {stop:.1f} mm from the point" in said_on(page)


def test_the_darts_of_a_crowded_piece_are_all_told_of() -> None:
    data, _ = finished(FRONT.stem, "woven", PLACES["four darts"])
    (page,) = pages_of(data)
    assert len(page.sections) == 4
    assert page.sections[0].steps
    for section in page.sections:
        if not section.steps:
            assert "as the pictures at number" in " ".join(section.sentences)


def test_a_dart_between_two_seams_says_so() -> None:
    (page,) = pages_of(finished(FRONT.stem, "woven", PLACES["neck tip"])[0])
    assert re.search("where the .* and the .* meet", page.sections[0].title)
    (page,) = pages_of(finished(FRONT.stem, "woven", PLACES["side seam"])[0])
    assert page.sections[0].title == "Dart 1: side seam"


def test_a_curved_dart_is_opened_before_its_legs_are_pinned() -> None:
    for cloth in CLOTHS:
        (page,) = pages_of(finished("front_french_dart", cloth)[0])
        (section,) = page.sections
        assert [step.kind for step in section.steps] == [MARK, OPEN, JOIN, PRESS]
        flat = section.cloth
        assert flat is not None
        assert flat.is_curved
        lies = pressed(flat)
        parts = (lies.base, lies.other, lies.excess, lies.lower)
        assert sum(part.area for part in parts) == pytest.approx(flat.whole.area, rel=1e-9)
        for segment in flat.legs[1 - flat.fold_leg]:
            for k in range(9):
                z = flat.swing(segment.point(k / 8))
                assert nearest_on(flat.stitched, z).distance < 1e-6


def test_parts_without_a_dart_tell_of_the_seam_between_them() -> None:
    pages = pages_of(finished("front_princess_line", "woven")[0])
    assert len(pages) == 2
    for page, other in zip(pages, reversed(pages), strict=True):
        said = said_on(page)
        assert "no dart to sew" in said
        assert "princess seam" in said
        assert other.draft.block.name in said


def test_every_page_warns_and_names_cloth_and_size(tmp_path: Path) -> None:
    out = tmp_path / "out.svg"
    command = ["move", str(FRONT), "--to", "waist", "--size", "38", "--cloth", "fine"]
    assert main([*command, "-o", str(out)]) == 0
    (page,) = pages_of(out.read_bytes())
    said = said_on(page)
    for words_said in ("size 38", "fine, slippery", "not for cutting", "cheap cloth first"):
        assert words_said in said


def without_pages(root: etree._Element) -> bytes:
    """A drawing without the layers and pages that the command adds."""
    left = copy.deepcopy(root)
    for child in list(left):
        if child.get(ours("sheet")) or child.tag.endswith("namedview"):
            left.remove(child)
    return bytes(etree.tostring(left, method="c14n"))


def test_nothing_else_is_changed_and_a_second_run_takes_the_place_of_the_first() -> None:
    for sample in ("front_nest", "sleeve_elbow_dart"):
        data, _ = finished(sample, "woven")
        root = parse_document(data).getroot()
        before = without_pages(root)
        once = sew_notes(root, [], "A4")
        assert without_pages(root) == before
        pages = [page for page in root.iter(PAGE) if "sew-notes" in str(page.get("id"))]
        assert len(pages) == len(once.pages) == len(once.told)
        first = etree.tostring(once.layer, method="c14n")
        again = sew_notes(root, [], "A4")
        layers = [child for child in root if child.get(ours("sheet")) == "sew-notes"]
        assert layers == [again.layer]
        assert etree.tostring(again.layer, method="c14n") == first
        assert without_pages(root) == before
        lefts = [float(page.get("x")) * units(root) for page in root.iter(PAGE)][1:]
        for one, other in itertools.pairwise(lefts):
            assert other - one == pytest.approx(DESK_PAGES["A4"][0] + PAGE_GAP, abs=1e-6)
        ids = [element.get("id") for element in root.iter() if element.get("id")]
        assert len(ids) == len(set(ids))
        assert again.layer.get(LABEL).startswith("Sewing notes: ")


def test_only_the_selected_piece_is_told_of() -> None:
    data, _ = finished("front_nest", "woven")
    root = parse_document(data).getroot()
    layer = next(child for child in root if child.get(ours("result")))
    notes = sew_notes(root, [layer.get("id")], "A4")
    assert len(notes.pages) == 1


@pytest.mark.thorough
@pytest.mark.parametrize(("sample", "to"), some_quick(CASES, 8))
def test_numbers_stand_apart_and_off_the_cut_line(sample: str, to: str) -> None:
    data, _ = finished(sample, "woven", to)
    root = parse_document(data).getroot()
    notes = sew_notes(root, [], "A4")
    for number, page in enumerate(notes.pages):
        shift = number * (page.layout.width + PAGE_GAP)
        first = (
            float(next(notes.layer.iter(f"{SVG}rect")).get("x")),
            float(next(notes.layer.iter(f"{SVG}rect")).get("y")),
        )
        circles = [
            complex(float(c.get("cx")) - first[0], float(c.get("cy")) - first[1]) * units(root)
            - shift
            for c in notes.layer[number].iter(f"{SVG}circle")
            if "number" in c.get("id")
        ]
        assert len(circles) == len(page.sections)
        for one, other in itertools.combinations(circles, 2):
            assert abs(one - other) >= 2 * NUMBER_RADIUS
        room, scale = page.layout.piece, page.layout.scale
        corner = complex(room.x + PICTURE_MARGIN, room.y + PICTURE_MARGIN)
        for circle in circles:
            at = complex(page.piece.left, page.piece.top) + (circle - corner) * scale
            distance = nearest_on(page.draft.cut_line, at).distance / scale
            assert distance >= NUMBER_RADIUS - 1e-6


def test_a_drawing_without_a_finished_piece_is_refused_in_plain_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out.svg"
    assert main(["sew-notes", str(FRONT), "-o", str(out)]) == 1
    assert "no cut line yet" in capsys.readouterr().err
    assert not out.exists()


def test_a_fault_in_one_piece_names_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data, _ = finished("front_nest", "woven")
    root = parse_document(data).getroot()
    lines = list(root.iterfind(".//*[@{urn:dartswing:1}part='stitch-line']"))
    lines[2].set("d", "M 0,0 L 10,10 L 10,0 L 0,10 Z")
    drawing, out = tmp_path / "in.svg", tmp_path / "out.svg"
    drawing.write_bytes(etree.tostring(root))
    assert main(["sew-notes", str(drawing), "-o", str(out)]) == 1
    said = capsys.readouterr().err
    assert len(said.strip().splitlines()) == 1
    assert "38" in said
    assert not out.exists()


def test_in_the_editor_the_command_does_the_same(tmp_path: Path) -> None:
    data, _ = finished(FRONT.stem, "woven", PLACES["side seam"])
    drawing = tmp_path / "drawing.svg"
    drawing.write_bytes(data)
    answer = run_effect("sew-notes", drawing, "--page=Letter")
    assert (answer.status, answer.said) == (0, "")
    root = parse_document(answer.document.encode("utf-8")).getroot()
    (layer,) = (child for child in root if child.get(ours("sheet")) == "sew-notes")
    ours_here = parse_document(data).getroot()
    here = sew_notes(ours_here, [], "Letter").layer
    assert len(list(layer.iter())) == len(list(here.iter()))


def missing_for_pdf() -> list[str]:
    tools = ("inkscape", "pdfinfo", "pdffonts", "pdftotext")
    return [tool for tool in tools if not shutil.which(tool)]


@pytest.mark.programs
@pytest.mark.parametrize("paper", some_quick(sorted(DESK_PAGES), 1))
def test_the_pdf_has_a_page_for_every_piece_with_its_text_in_it(tmp_path: Path, paper: str) -> None:
    require(*missing_for_pdf())
    drawing, out, pdf = (tmp_path / name for name in ("in.svg", "out.svg", "out.pdf"))
    drawing.write_bytes(finished("front_princess_line", "woven")[0])
    command = ["sew-notes", str(drawing), "-o", str(out), "--pdf", str(pdf), "--page", paper]
    assert main(command) == 0

    def asked(*words_of_command: str) -> str:
        return subprocess.run(
            words_of_command, capture_output=True, text=True, check=True, timeout=60
        ).stdout

    told = asked("pdfinfo", "-f", "1", "-l", "9", str(pdf))
    sizes = re.findall(r"Page +\d+ size: +([\d.]+) x ([\d.]+) pts", told)
    assert len(sizes) == 2
    for size in sizes:
        for measured, wanted in zip(size, DESK_PAGES[paper], strict=True):
            assert float(measured) * 25.4 / 72 == pytest.approx(wanted, abs=0.1)
    fonts = asked("pdffonts", str(pdf)).splitlines()[2:]
    assert fonts
    for font in fonts:
        assert re.search(r"\byes +(yes|no) +(yes|no) +\d+ +\d+$", font), font
    for number, part in enumerate(("centre part", "side part"), start=1):
        text = asked("pdftotext", "-f", str(number), "-l", str(number), str(pdf), "-")
        # Some fonts write "fi" as one letter.
        text = " ".join(unicodedata.normalize("NFKC", text).split())
        assert f"Lamplighter front, {part}: sewing notes" in text
        assert "Sew a trial in cheap cloth first" in text
    # The drawing and the PDF are written together, or neither.
    out.unlink()
    folder = tmp_path / "no such folder" / "out.pdf"
    assert main(["sew-notes", str(drawing), "-o", str(out), "--pdf", str(folder)]) == 1
    assert not out.exists()
