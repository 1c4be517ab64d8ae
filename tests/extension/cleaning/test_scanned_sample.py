"""The sample of a scan: made again as it is, and cleaned up to the block that was drawn."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
from lxml import etree

from extension.cleaning.clean import CleanUp, clean_request, clean_up
from extension.document.namespaces import svg
from extension.document.svg_document import read_document
from tests.conftest import require
from tests.help.blocks.random_blocks import Block, random_block
from tests.help.scans.scanned_blocks import HAS_TRACER
from tests.help.scans.scanned_sample import (
    INVENTED,
    KIND,
    SAMPLE,
    SEED,
    SOURCE,
    TITLE,
    scanned_front,
)

#: Corners of a clean block may be off by so much (mm): the goal of the clean-up.
NEAR = 0.6


def cleaned(text: str) -> CleanUp:
    return clean_up(etree.fromstring(text.encode()), clean_request({}, []))


def corners_of(done: CleanUp) -> list[complex]:
    (block,) = done.cleaned
    return [run.segments[0].start for run in block.block.runs]


def true_corners(block: Block) -> list[complex]:
    """The corners of the block that was drawn: where another seam or leg begins."""
    found = []
    for k, segment in enumerate(block.segments):
        before = block.segments[k - 1]
        if segment.seam == "dart" or (segment.seam, segment.run) != (before.seam, before.run):
            found.append(segment.points[0])
    return found


def farthest(found: list[complex], true: list[complex]) -> float:
    """How far the farthest corner is off, laid on the true ones as well as turning them allows."""
    best = float("inf")
    wanted = np.array(true) - np.mean(true)
    for shift in range(len(true)):
        laid = np.roll(np.array(found) - np.mean(found), shift)
        turn = np.vdot(laid, wanted)
        best = min(best, float(np.abs(laid * turn / abs(turn) - wanted).max()))
    return best


def test_it_says_what_it_is_and_is_small() -> None:
    root = read_document(str(SAMPLE)).getroot()
    assert root.findtext(svg("title")) == TITLE
    assert root.findtext(svg("desc")) == INVENTED
    assert SAMPLE.stat().st_size < 60_000
    ids = [element.get("id") for element in root.iter(svg("path"), svg("g"))]
    assert all(ids)
    assert len(set(ids)) == len(ids) > 20


def test_cleaned_up_it_has_the_corners_of_the_block_that_was_drawn() -> None:
    true = true_corners(random_block(random.Random(SEED), KIND, SOURCE, 1.0))
    found = corners_of(cleaned(SAMPLE.read_text(encoding="utf-8").partition("\n")[2]))
    assert len(found) == len(true)
    assert farthest(found, true) <= NEAR


@pytest.mark.programs
def test_it_is_made_again_as_it_is(tmp_path: Path) -> None:
    require(*([] if HAS_TRACER else ["potrace"]))
    drawing, block = scanned_front(tmp_path)
    assert scanned_front(tmp_path)[0] == drawing
    stored = SAMPLE.read_text(encoding="utf-8")
    # Another release of the picture's library may draw a pixel otherwise: not another block.
    again, kept = (corners_of(cleaned(text.partition("\n")[2])) for text in (drawing, stored))
    assert farthest(again, kept) < 0.1
    assert farthest(again, true_corners(block)) <= NEAR
