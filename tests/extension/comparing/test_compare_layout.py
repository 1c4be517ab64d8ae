"""The page of a comparison: nothing overlaps, everything is on the page, pictures are large."""

from __future__ import annotations

import itertools
import string

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drafting_core.text.paper_sizes import DESK_PAGES
from extension.comparing.layout import (
    MARGIN,
    PICTURE_MARGIN,
    SCALES,
    Caption,
    ComparisonLayout,
    PageWords,
    Verdicts,
    arrange_comparison,
    set_caption,
)
from extension.document.svg_document import DocumentError
from extension.look.set_text import SMALLEST_TEXT, Room, text_width, wrapped

ROUNDING = 1e-8  # mm

words_of = st.lists(
    st.text(string.ascii_letters + string.digits + ".,:°/", min_size=1, max_size=14),
    min_size=1,
    max_size=14,
).map(" ".join)
verdicts = st.lists(
    st.builds(Verdicts, st.just(("fine", "sheer")), words_of), min_size=1, max_size=4
).map(tuple)
captions = st.builds(
    Caption, words_of, st.lists(words_of, min_size=1, max_size=4).map(tuple), verdicts
)
WORDS = PageWords(
    "Front: one dart in 3 places", "Scale {scale}.", ("cut line", "fold line"), "Foot."
)


def apart(one: Room, other: Room) -> bool:
    return (
        one.x + one.width <= other.x + ROUNDING
        or other.x + other.width <= one.x + ROUNDING
        or one.y + one.height <= other.y + ROUNDING
        or other.y + other.height <= one.y + ROUNDING
    )


def boxes_of(layout: ComparisonLayout) -> list[Room]:
    texts = [*layout.heading, *layout.foot, *(text for _, text in layout.key)]
    for cell in layout.cells:
        texts += cell.caption.texts
    return [text.box() for text in texts] + [cell.picture for cell in layout.cells]


@given(
    st.lists(captions, min_size=2, max_size=6),
    st.floats(20, 1500),
    st.floats(20, 1500),
    st.sampled_from(sorted(DESK_PAGES)),
)
def test_nothing_overlaps_and_all_is_on_the_page(
    said: list[Caption], width: float, height: float, page: str
) -> None:
    try:
        layout = arrange_comparison(said, (width, height), page, WORDS)
    except DocumentError:
        assume(False)
    assert sorted((layout.width, layout.height)) == sorted(DESK_PAGES[page])
    boxes = boxes_of(layout)
    for box in boxes:
        assert min(box.x, box.y) >= MARGIN - ROUNDING
        assert box.x + box.width <= layout.width - MARGIN + ROUNDING
        assert box.y + box.height <= layout.height - MARGIN + ROUNDING
    for one, other in itertools.combinations(boxes, 2):
        assert apart(one, other)
    for cell in layout.cells:
        # Every picture shows the whole piece, at the one scale that the page names.
        assert cell.picture.width >= width / layout.scale + 2 * PICTURE_MARGIN - ROUNDING
        assert cell.picture.height >= height / layout.scale + 2 * PICTURE_MARGIN - ROUNDING
        for text in cell.caption.texts:
            assert text.size >= SMALLEST_TEXT
            box = text.box()
            assert cell.column.x - ROUNDING <= box.x
            assert box.x + box.width <= cell.column.x + cell.column.width + ROUNDING
    assert f"1:{layout.scale}" in " ".join(layout.heading[1].lines)


@given(captions, st.floats(42, 200), st.sampled_from((2.8, 3.5)))
def test_a_caption_says_every_word_in_order(caption: Caption, width: float, size: float) -> None:
    placed = set_caption(caption, width, size)
    said = "".join("".join(text.lines) for text in placed.texts).replace(" ", "")
    meant = caption.title + "".join(caption.sentences)
    meant += "".join(", ".join(row.cloths) + row.reason for row in caption.verdicts)
    assert said == meant.replace(" ", "")
    assert len(placed.rules) == len(caption.verdicts) + 1
    assert all(text.box().y + text.box().height <= placed.height for text in placed.texts)


@given(words_of, st.floats(15, 200), st.booleans())
def test_lines_stay_in_their_column(text: str, width: float, bold: bool) -> None:
    lines = wrapped(text, width, 3.0, bold=bold)
    assert all(text_width(line, 3.0, bold=bold) <= width + ROUNDING for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


@given(st.floats(20, 900), st.floats(20, 900), st.integers(2, 6))
def test_a_smaller_piece_is_never_drawn_at_a_smaller_scale(
    width: float, height: float, count: int
) -> None:
    said = [Caption("waist", ("Intake 40 mm.",), (Verdicts(("knit",), "Trimmed."),))] * count
    scales = [
        arrange_comparison(said, (width * share, height * share), "A4", WORDS).scale
        for share in (1.0, 0.7)
    ]
    assert scales[1] <= scales[0]
    assert set(scales) <= set(SCALES)


def test_what_fits_on_no_page_is_refused_in_plain_words() -> None:
    said = [Caption("waist", ("Intake 40 mm.",), ())] * 3
    with pytest.raises(DocumentError, match="does not fit on one page"):
        arrange_comparison(said, (9000, 9000), "Letter", WORDS)


def test_a_line_fits_in_a_column_made_for_it() -> None:
    for text in ("sheer, knit", "woven, fine", "fine, sheer, knit"):
        assert wrapped(text, text_width(text, 3.5, bold=True), 3.5, bold=True) == [text]
