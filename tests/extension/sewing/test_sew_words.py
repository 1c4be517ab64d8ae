"""What sewing notes say: by cloth, by place, by size, and never against what is drawn."""

from __future__ import annotations

import functools
import re

import pytest

from drafting_core.finished.fold_edge import fold_lines, lies_on
from drafting_core.finished.pattern_piece import DrawnDart
from drafting_core.model.outline import nearest_on
from drafting_core.model.piece import EASE, GATHERS, TUCK
from drafting_core.model.settings import CLOTHS
from drafting_core.plane.curves import chain_length, dot
from drafting_core.sewing.dart_steps import SECOND_ROW, is_little_trimmed, trimmed_length
from extension.pages.piece_picture import ARROW
from extension.sewing.fullness import row_gaps
from extension.sewing.page import ON_FOLD, TUCK_LINE, Page, tuck_arrow
from extension.sewing.pictures import (
    DOUBLE_STITCHES,
    EDGE,
    NOTCH,
    OPEN_RING,
    SEAM,
    Disc,
    Shape,
    step_drawing,
)
from extension.sewing.steps import FOLD, MARK, PRESS, STITCH, TRIM
from tests.extension.sewing.test_sew_notes import FRONT, PLACES, finished, pages_of, said_on, shrunk
from tests.help.blocks.samples import BLOCKS
from tests.help.depth import some_quick

#: How far apart two rows of stitches have to be on paper to be told apart, and how long a scrap of
#: a line has to be to be worth its ink (mm).
TOLD_APART, SCRAP = 0.8, 2.0
NARROW = "side seam:0.35=0.5; waist=0.5"
FOUR = "side seam:0.35=0.25; neckline:0.5=0.25; shoulder:0.5=0.25; armhole:0.5=0.25"


def page_of(sample: str, cloth: str = "woven", to: str = "") -> Page:
    return pages_of(finished(sample, cloth, to)[0])[0]


def shapes_of(page: Page) -> list[tuple[str, list[Shape | Disc]]]:
    """The kind of every step of a page with what is drawn for it, on paper."""
    found = []
    for section, block in zip(page.sections, page.layout.blocks, strict=True):
        boxes = page.boxes[section.number - 1]
        for step, panel, box in zip(section.steps, block.panels, boxes, strict=True):
            room = panel.room
            middle = complex(room.x + room.width / 2, room.y + room.height / 2)
            centre = complex(box.left + box.right, box.top + box.bottom) / 2
            to = functools.partial(shrunk, middle, centre, panel.scale)
            found.append((step.kind, step_drawing(section, step.kind, page.draft, to)))
    return found


@pytest.mark.thorough
@pytest.mark.parametrize("cloth", ["sheer", "knit"])
def test_where_little_is_trimmed_it_is_said_so(cloth: str) -> None:
    page = page_of(FRONT.stem, cloth, NARROW)
    seen = 0
    for section in page.sections:
        item, flat = section.item, section.cloth
        assert isinstance(item, DrawnDart)
        assert flat is not None
        leg = chain_length(flat.stitched)
        caption = next(step.caption for step in section.steps if step.kind == TRIM)
        little = re.search(r"only the last ([\d.]+) mm at the mouth", caption)
        assert bool(little) == is_little_trimmed(item, flat) == ("stop" not in caption)
        if little:
            seen += 1
            # What is left to trim, measured on the drawn window: it begins where trimming stops.
            assert item.window is not None
            mouth = [edge.segment for edge in item.dart.cap]
            deepest = max(
                nearest_on(mouth, segment.start).distance
                for segment in item.window
                if dot(segment.start - item.dart.point, item.dart.middle_ray) < leg
            )
            assert float(little[1]) == pytest.approx(deepest, abs=0.06)
            assert trimmed_length(item, flat) < leg / 3
    assert seen
    wide = page_of(FRONT.stem, cloth, PLACES["neck tip"])
    assert "only the last" not in said_on(wide)


def test_a_sheer_dart_is_trimmed_closer_after_sewing_but_never_beyond_its_window() -> None:
    for cloth in CLOTHS:
        page = page_of(FRONT.stem, cloth, PLACES["neck tip"])
        closer = re.search(r"(\d+) to (\d+) mm beside the second row", said_on(page))
        assert bool(closer) == (cloth == "sheer")
        if closer:
            (section,) = page.sections
            assert isinstance(section.item, DrawnDart)
            assert SECOND_ROW + float(closer[2]) < section.item.dart.trim_allowance


@pytest.mark.parametrize("cloth", CLOTHS)
def test_only_a_woven_cloth_is_marked_with_a_drill_hole(cloth: str) -> None:
    page = page_of(FRONT.stem, cloth, PLACES["side seam"])
    marking = page.sections[0].steps[0].caption
    assert ("drill hole is" in marking) == (cloth == "woven")
    assert ("tailor's tacks" in marking) == (cloth != "woven")
    assert ("needle for knits" in said_on(page)) == (cloth == "knit")
    rings = [
        shape
        for kind, shapes in shapes_of(page)
        if kind == MARK
        for shape in shapes
        if isinstance(shape, Disc) and shape.stroke == OPEN_RING
    ]
    assert bool(rings) == (cloth == "woven")


@pytest.mark.thorough
@pytest.mark.parametrize("cloth", some_quick(CLOTHS, 1))
def test_no_dart_is_shown_pressed_another_way_than_its_own(cloth: str) -> None:
    for to in (FOUR, PLACES["four darts"], PLACES["three darts"]):
        page = page_of(FRONT.stem, cloth, to)
        ways = set()
        for section in page.sections:
            assert isinstance(section.item, DrawnDart)
            ways.add(section.item.dart.fold.way)
            told = " ".join(section.sentences)
            shown = [step.caption for step in section.steps if step.kind == PRESS]
            like = re.search(r"as the pictures at number (\d)", told)
            if not shown and like:
                model = page.sections[int(like[1]) - 1].item
                assert isinstance(model, DrawnDart)
                is_same = model.dart.fold.way == section.item.dart.fold.way
                assert is_same != ("pressed another way" in told)
                assert is_same or "Press the excess" in told
        assert len(ways) == 2


@pytest.mark.thorough
def test_only_a_woven_dart_is_slashed_open() -> None:
    for cloth in CLOTHS:
        for path in BLOCKS:
            for page in pages_of(finished(path.stem, cloth)[0]):
                assert cloth == "woven" or "slash it open" not in said_on(page)
    assert "slash it open" in said_on(page_of(FRONT.stem, "woven", PLACES["side seam"]))


@pytest.mark.parametrize("cloth", CLOTHS)
def test_the_raw_edges_of_a_curved_dart_are_finished_and_clipped(cloth: str) -> None:
    said = said_on(page_of("front_french_dart", cloth))
    assert "Finish the raw edges" in said
    assert "Clip the allowance where the seam is hollow" in said


def test_a_tiny_dart_may_be_eased_in() -> None:
    page = page_of(FRONT.stem, "woven", "side seam:0.35=0.1; waist=0.9")
    for section in page.sections:
        assert isinstance(section.item, DrawnDart)
        is_small = section.item.dart.intake < 6.0
        assert is_small == ("too small to stitch well" in " ".join(section.sentences))
        assert is_small == (not section.steps)
    assert sum(not section.steps for section in page.sections) == 1


def test_an_end_at_a_wrist_is_caught_in_its_hem() -> None:
    for sample, at_hem in (("sleeve_elbow_dart", True), ("skirt_two_darts", False)):
        press = page_of(sample).sections[0].steps[-1].caption
        assert ("hem is turned up or a cuff" in press) == at_hem
        assert ("along the seam and is caught in it" in press) != at_hem


@pytest.mark.thorough
def test_rows_of_long_stitches_run_in_the_allowance_from_notch_to_notch() -> None:
    for cloth, sample, to, kind in (
        *((cloth, FRONT.stem, "neckline:0.5 as gathers", GATHERS) for cloth in CLOTHS),
        *((cloth, "sleeve_elbow_ease", "", EASE) for cloth in CLOTHS),
    ):
        page = page_of(sample, cloth, to)
        (section,) = (one for one in page.sections if not isinstance(one.item, DrawnDart))
        item = section.item
        assert not isinstance(item, DrawnDart)
        assert item.kind == kind
        width = page.draft.settings.allowances.width(item.seam)
        gaps = row_gaps(item, page.draft)
        assert all(0.0 <= gap < width for gap in gaps)
        assert len(gaps) == (2 if kind == GATHERS else 1)
        caption = section.steps[0].caption
        assert "from well before the first notch to well behind the second" in caption
        if kind == EASE:
            assert ("pressing cloth" in caption) == (cloth != "woven")


def test_a_tuck_says_which_way_it_is_folded_and_its_arrow_shows_it() -> None:
    page = page_of(FRONT.stem, "woven", "waist as tuck")
    (section,) = page.sections
    item = section.item
    assert not isinstance(item, DrawnDart)
    assert item.kind == TUCK
    assert "Folded toward the centre" in " ".join(section.sentences)
    assert {ARROW, TUCK_LINE} <= set(page.key)
    arrow = tuck_arrow(item, lambda z: z / page.layout.scale)
    drawn = item.paths[2][0]
    assert dot(arrow.head[0] - arrow.tail, drawn.end - drawn.start) > 0.0
    centre = [edge.segment for edge in page.draft.piece.edges() if edge.seam.is_centre]
    tip, tail = (z * page.layout.scale for z in (arrow.head[0], arrow.tail))
    assert nearest_on(centre, tip).distance < nearest_on(centre, tail).distance


@pytest.mark.parametrize("path", some_quick(BLOCKS, 6), ids=lambda path: path.stem)
def test_a_piece_on_the_fold_tells_of_its_other_half(path: object) -> None:
    for page in pages_of(finished(getattr(path, "stem", ""), "woven")[0]):
        folds = fold_lines(page.draft)
        said = said_on(page)
        assert bool(folds) == (ON_FOLD in page.key)
        assert bool(folds) == ("Cut on the fold" in said)
        if page.sections and not folds:
            assert "The other piece of a pair" in said
        for _kind, shapes in shapes_of(page):
            for shape in shapes:
                if isinstance(shape, Shape) and shape.stroke == SEAM:
                    assert chain_length(shape.chain) >= SCRAP
        # On the fold nothing is cut: its whole length is told apart.
        for fold in folds:
            on = [segment for segment in page.draft.cut_line if lies_on(segment, fold)]
            assert chain_length(on) >= abs(fold.end - fold.start) - 1e-6


@pytest.mark.thorough
def test_the_two_rows_of_a_sheer_dart_are_told_apart_on_paper() -> None:
    seen = 0
    for to in (PLACES["neck tip"], PLACES["side seam"], NARROW, FOUR):
        for kind, shapes in shapes_of(page_of(FRONT.stem, "sheer", to)):
            rows = [
                shape.chain
                for shape in shapes
                if isinstance(shape, Shape) and shape.stroke == DOUBLE_STITCHES
            ]
            if not rows:
                continue
            assert kind in (STITCH, TRIM, PRESS)
            first, second = rows
            for segment in second:
                for k in range(5):
                    assert nearest_on(first, segment.point(k / 4)).distance >= TOLD_APART
            seen += 1
    assert seen


@pytest.mark.thorough
@pytest.mark.parametrize("cloth", CLOTHS)
def test_every_notch_in_a_picture_starts_on_an_edge_of_its_cloth(cloth: str) -> None:
    for sample, to in ((FRONT.stem, "armhole:0.5"), (FRONT.stem, PLACES["side seam"])):
        notches = 0
        for kind, shapes in shapes_of(page_of(sample, cloth, to)):
            if kind not in (MARK, FOLD, STITCH):
                continue
            drawn = [shape for shape in shapes if isinstance(shape, Shape)]
            edges = [part for shape in drawn if shape.closed for part in shape.chain]
            for shape in drawn:
                if shape.stroke == EDGE and chain_length(shape.chain) == pytest.approx(NOTCH):
                    assert nearest_on(edges, shape.chain[0].start).distance < 1e-3
                    notches += 1
        assert notches
