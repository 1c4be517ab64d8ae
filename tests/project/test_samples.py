"""The samples' cut lines: few nodes, and true to the stitch line."""

from __future__ import annotations

from pathlib import Path

import pytest

from drafting_core.finished.pattern_piece import Draft
from drafting_core.plane.curves import Cubic
from extension.document.svg_document import read_document
from extension.drafting.move_and_allow import Request, move
from tests.help.blocks.samples import BLOCKS


def draft_of(sample: Path) -> Draft:
    return move(read_document(str(sample)).getroot(), Request()).drafts[0]


def source_curves(draft: Draft) -> list[Cubic]:
    """The curves of the stitch line with its caps that have an allowance."""
    allowances = draft.settings.allowances
    edges = [*draft.piece.edges(), *(edge for item in draft.darts for edge in item.dart.cap)]
    return [
        edge.segment
        for edge in edges
        if isinstance(edge.segment, Cubic)
        and not edge.segment.is_straight()
        and allowances.width(edge.seam) > 0
    ]


def test_at_most_two_cubics_for_a_curve_on_the_average() -> None:
    sources = drawn = 0
    for sample in BLOCKS:
        draft = draft_of(sample)
        sources += len(source_curves(draft))
        drawn += sum(isinstance(segment, Cubic) for segment in draft.cut_line)
    assert sources > 20
    assert drawn <= 2 * sources


@pytest.mark.parametrize("sample", BLOCKS, ids=lambda path: path.stem)
def test_every_curve_of_the_cut_line_is_a_parallel(sample: Path) -> None:
    draft = draft_of(sample)
    allowances = draft.settings.allowances
    edges = [*draft.piece.edges(), *(edge for item in draft.darts for edge in item.dart.cap)]
    widths = [(edge.segment, allowances.width(edge.seam)) for edge in edges]
    for segment in draft.cut_line:
        if not isinstance(segment, Cubic):
            continue
        for k in range(1, 200):
            z = segment.point(k / 200)
            # The curve is a parallel of one of the segments: off by its own width, square to it.
            off = min(
                abs(abs(source.point(source.nearest(z)) - z) - width) for source, width in widths
            )
            assert off < 0.01
