"""A piece's title lies on no line, whatever its name: by a font's own tables, as it is written."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drafting_core.text.errors import DraftingError
from extension.document.svg_document import parse_document
from extension.drafting.move_and_allow import Request, move
from tests.conftest import require
from tests.help.blocks import random_blocks, random_drawings
from tests.help.blocks.core_blocks import drawn
from tests.help.blocks.drawings import marked_front, page, parts, root_of
from tests.help.blocks.samples import BLOCKS
from tests.help.depth import some_quick
from tests.help.texts.font_metrics import missing_fonts
from tests.help.texts.written_results import (
    Result,
    results,
    rows_of,
    sample_results,
    style_of,
)

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
@pytest.fixture(autouse=True)
def _fonts() -> None:
    require(*missing_fonts())


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
@pytest.mark.parametrize("sample", some_quick(BLOCKS, 4), ids=lambda path: path.stem)
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


@pytest.mark.thorough
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
