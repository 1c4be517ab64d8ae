"""The samples' cut lines: few nodes, and true to the stitch line."""

from __future__ import annotations

import cmath
from pathlib import Path

import pytest

from drafting_core.dart.finish import FinishedDart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import nearest_on
from drafting_core.plane.curves import Cubic
from extension.document.svg_document import read_document
from extension.drafting.move_and_allow import Request, move
from tests.help.blocks.samples import BLOCKS
from tests.help.depth import some_quick


def draft_of(sample: Path, **given: str) -> Draft:
    return move(read_document(str(sample)).getroot(), Request(given=given)).drafts[0]


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


def test_few_cubics_for_a_curve_on_the_average() -> None:
    sources = drawn = 0
    for sample in BLOCKS:
        draft = draft_of(sample)
        sources += len(source_curves(draft))
        drawn += sum(isinstance(segment, Cubic) for segment in draft.cut_line)
    assert sources > 20
    assert drawn <= 1.6 * sources


def turned(z: complex, dart: FinishedDart, share: float) -> complex:
    """A point turned about a dart's point by a share of the angle between its legs."""
    first, second = (end - dart.point for end in dart.ends)
    return dart.point + (z - dart.point) * cmath.rect(1.0, share * cmath.phase(second / first))


def folded_over(z: complex, dart: FinishedDart) -> complex:
    """A point of a dart's excess where it lies when the dart is folded shut; others stay."""
    rays = [end - dart.point for end in dart.ends]
    theta = cmath.phase(rays[1] / rays[0])
    fold = rays[dart.fold.leg] / abs(rays[dart.fold.leg])
    sense = 1.0 if dart.fold.leg == 0 else -1.0
    share = sense * cmath.phase((z - dart.point) / fold) / theta
    if not 0 < share < 1:
        return z
    if share <= 0.5:
        return dart.point + ((z - dart.point) / fold).conjugate() * fold
    return turned(z, dart, -sense)


@pytest.mark.parametrize("sample", some_quick(BLOCKS, 5), ids=lambda path: path.stem)
def test_every_curve_of_the_cut_line_is_a_parallel_of_the_shut_seam(sample: Path) -> None:
    # A turned hem's ends are the sides mirrored: no parallels of a seam.
    draft = draft_of(sample, allowance="1/2in, neckline=1/4in, hem=1 1/2in")
    windows = [segment for item in draft.darts for segment in item.window or ()]
    allowances = draft.settings.allowances
    widths = [(edge.segment, allowances.width(edge.seam)) for edge in draft.piece.edges()]
    darts = [item.dart for item in draft.darts]
    for segment in draft.cut_line:
        if not isinstance(segment, Cubic) or (
            windows and nearest_on(windows, segment.point(0.5)).distance < 1e-6
        ):
            continue
        for k in range(1, 200):
            z = segment.point(k / 200)
            for dart in darts:
                z = folded_over(z, dart)
            # The seam on the other side of a mouth is turned onto this one as it is shut.
            places = [z, *(turned(z, dart, way) for dart in darts for way in (-1.0, 1.0))]
            off = min(
                abs(abs(source.point(source.nearest(place)) - place) - width)
                for source, width in widths
                for place in places
            )
            assert off < 0.01
