"""Widths between a stitch line and a cut line drawn from straight lines that meet."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString

from drafting_core.ink.polylines import Points, resampled
from drafting_core.model.seam_names import Seam
from drafting_core.plane.curves import Line
from drafting_core.trace.allowance_widths import SeamAllowance, say_allowances, seam_allowances
from drafting_core.trace.fit_seams import Fitted
from drafting_core.trace.seam_runs import SeamRun
from tests.help.depth import examples
from tests.help.scans.inked import line_string, moved, polygon_of

#: Corners of a block, y down, in turning order: waist, side, hem, centre.
BLOCK = [0j, 200 + 10j, 220 + 320j, 0 + 310j]
half_millimetres = st.integers(10, 80).map(lambda halves: halves / 2)
turns = st.floats(0, 7)


def edges_of(ring: list[complex]) -> list[tuple[complex, complex]]:
    return list(zip(ring, [*ring[1:], ring[0]], strict=True))


def run_of(edge: tuple[complex, complex]) -> SeamRun:
    points = resampled(np.array(edge), 1.0, closed=False)
    known = np.ones(len(points), dtype=np.bool_)
    return SeamRun(points, known, (0, len(points) - 1), Fitted((Line(*edge),), 0.0, 0.0))


def some_seams(count: int = 4) -> list[Seam]:
    return [Seam(f"s{k}", f"s{k}") for k in range(count)]


def cut_line(widths: list[tuple[float, float]]) -> list[complex]:
    """Return where the lines beside the block's edges meet.

    Args:
        widths: how far each lies outside its edge at the edge's start and at its end.
    """
    lines = []
    for (start, end), (first, last) in zip(edges_of(BLOCK), widths, strict=True):
        out = -1j * (end - start) / abs(end - start)
        a, b = start + out * first, end + out * last
        lines.append(LineString([(z.real, z.imag) for z in (a - (b - a), b + (b - a))]))
    met = [lines[k - 1].intersection(lines[k]) for k in range(len(lines))]
    found = [complex(at.x, at.y) for at in met]
    assert polygon_of(found).buffer(1e-6).contains(polygon_of(BLOCK))
    return found


def found_in(
    cut: list[complex], turn: float = 0.0, *, mirrored: bool = False
) -> list[SeamAllowance]:
    block = moved(BLOCK, turn, mirrored=mirrored)
    drawn: Points = np.array(moved(cut, turn, mirrored=mirrored))
    return seam_allowances([run_of(edge) for edge in edges_of(block)], some_seams(), drawn)


@settings(max_examples=examples(24), deadline=None)
@given(st.lists(half_millimetres, min_size=4, max_size=4), turns, st.booleans())
def test_every_seam_has_the_width_that_is_drawn_beside_it(
    widths: list[float], turn: float, mirrored: bool
) -> None:
    found = found_in(cut_line([(w, w) for w in widths]), turn, mirrored=mirrored)
    assert [drawn.seam.name for drawn in found] == ["s0", "s1", "s2", "s3"]
    assert [drawn.width for drawn in found] == widths
    for drawn, width in zip(found, widths, strict=True):
        # The cut line's points are a quarter of a mm apart.
        assert width - 0.01 <= drawn.least <= drawn.most <= width + 0.01
    assert not any(drawn.is_uneven for drawn in found)


@settings(max_examples=examples(24), deadline=None)
@given(st.floats(5, 40))
def test_a_width_is_told_to_the_nearest_half_millimetre(width: float) -> None:
    for drawn in found_in(cut_line([(width, width)] * 4)):
        assert abs(drawn.width - width) <= 0.25 + 0.01
        assert (drawn.width * 2).is_integer()


@pytest.mark.parametrize("folded", range(4))
def test_a_seam_on_its_cut_line_is_on_the_fold(folded: int) -> None:
    widths = [10.0, 15.0, 40.0, 12.0]
    widths[folded] = 0.0
    found = found_in(cut_line([(w, w) for w in widths]))
    assert [drawn.width for drawn in found] == widths
    say_allowances(found, {})
    assert [drawn.seam.fold for drawn in found] == [k == folded for k in range(4)]
    assert [drawn.seam.allowance for drawn in found] == [w or None for w in widths]


@pytest.mark.parametrize(("last", "uneven"), [(10.0, False), (10.8, False), (16.0, True)])
def test_a_width_that_grows_along_its_seam_is_uneven(last: float, uneven: bool) -> None:
    found = found_in(cut_line([(10.0, 10.0), (10.0, last), (10.0, 10.0), (10.0, 10.0)]))
    assert [drawn.is_uneven for drawn in found] == [False, uneven, False, False]
    side = found[1]
    assert 10.0 - 0.01 <= side.least <= side.most <= last + 0.01
    assert abs(side.width - (10.0 + last) / 2) <= 0.25 + 0.2


def test_the_parts_of_a_seam_beside_a_dart_have_one_width_and_legs_have_none() -> None:
    mouth = (BLOCK[0] + (BLOCK[1] - BLOCK[0]) * 0.4, BLOCK[0] + (BLOCK[1] - BLOCK[0]) * 0.55)
    apex = sum(mouth) / 2 + 1j * (mouth[1] - mouth[0]) / abs(mouth[1] - mouth[0]) * 110
    ring = [BLOCK[0], mouth[0], apex, mouth[1], *BLOCK[1:]]
    runs = [run_of(edge) for edge in edges_of(ring)]
    waist, side, hem, centre = some_seams()
    seams = [waist, None, None, waist, side, hem, centre]
    widths = [8.0, 15.0, 40.0, 20.0]
    found = seam_allowances(runs, seams, np.array(cut_line([(w, w) for w in widths])))
    assert [drawn.seam for drawn in found] == [waist, side, hem, centre]
    assert [drawn.width for drawn in found] == widths


def test_what_the_drafter_says_of_a_seam_holds() -> None:
    seams = some_seams()
    seams[0].allowance = 30.0
    seams[1].fold = True
    drawn = [SeamAllowance(seam, width, width, width) for seam, width in zip(
        seams, (10.0, 12.0, 14.0, 0.0), strict=True)]  # fmt: skip
    # Of the third she says the name alone.
    say_allowances(drawn, {seams[0]: True, seams[1]: True, seams[2]: True})
    assert [(seam.allowance, seam.fold) for seam in seams] == [
        (30.0, False), (None, True), (14.0, False), (None, True),
    ]  # fmt: skip


def test_a_curved_seam_has_the_width_of_its_parallel() -> None:
    """The cut line is shapely's offset of a hollow seam; the run is given as its chords."""
    hollow = [100 * np.exp(1j * angle) for angle in np.linspace(0.4, 2.6, 200)]
    width = 12.0
    ring = polygon_of([*hollow, -120 + 200j, 120 + 200j])
    around = ring.buffer(width, join_style="mitre")
    cut = np.array([complex(x, y) for x, y in around.exterior.coords[:-1]])
    chords = tuple(Line(a, b) for a, b in itertools.pairwise(hollow))
    points: Points = np.array(hollow)
    run = SeamRun(
        points, np.ones(len(points), dtype=np.bool_), (0, 199), Fitted(chords, 0.0, 0.0)
    )
    (seam,) = some_seams(1)
    (drawn,) = seam_allowances([run], [seam], cut)
    assert around.exterior.distance(line_string(hollow)) == pytest.approx(width, abs=0.01)
    assert drawn.width == width
    assert not drawn.is_uneven
