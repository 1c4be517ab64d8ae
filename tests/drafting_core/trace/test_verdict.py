"""What is thought of an outline laid upon ink, whatever way it was found."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting_core.ink.polylines import Points
from drafting_core.plane.curves import Line, Segment
from drafting_core.text.errors import NothingClosedError, OutlineError
from drafting_core.trace.broken_lines import missing_ink, told_what_is_missing
from drafting_core.trace.ink_cover import ink_cover
from drafting_core.trace.ink_edges import ink_edges
from drafting_core.trace.outline_doubts import JudgedOutline
from drafting_core.trace.verdict import BlockVerdict, verdicts
from tests.help.depth import examples

PEN = 0.7
#: A skirt with a dart from its waist, interior at 1j·tangent, and where the dart's legs begin.
BLOCK = [0, 90 + 0j, 100 + 110j, 110 + 0j, 200 + 0j, 220 + 380j, -5 + 380j]
LEGS = (1, 2)


def ink(*lines: list[complex], width: float = PEN, closed: bool = True) -> list[Points]:
    """Return the contours of lines drawn with a pen, all of them one ink."""
    strokes = [
        shapely.LineString([(z.real, z.imag) for z in (*line, *(line[:1] if closed else ()))])
        for line in lines
    ]
    drawn = shapely.union_all([stroke.buffer(width / 2) for stroke in strokes])
    parts = drawn.geoms if drawn.geom_type == "MultiPolygon" else [drawn]
    rings = [ring for part in parts for ring in (part.exterior, *part.interiors)]
    return [np.array([complex(x, y) for x, y in ring.coords[:-1]]) for ring in rings]


def outline(corners: list[complex], legs: tuple[int, ...] = LEGS) -> JudgedOutline:
    count = len(corners)
    runs: list[list[Segment]] = [
        [Line(complex(corners[k]), complex(corners[(k + 1) % count]))] for k in range(count)
    ]
    return JudgedOutline(
        runs, [f"seam {k}" for k in range(count)], [k in legs for k in range(count)], PEN
    )


def judge(
    contours: list[Points], *judged: JudgedOutline, explained: tuple[Points, ...] = ()
) -> list[BlockVerdict]:
    return verdicts(ink_edges(contours, []), judged, explained, 5.0)


def test_the_edges_of_ink_know_its_side_and_length() -> None:
    """Whichever way contours turn, a step to the left of an edge is into the ink."""
    contours = ink(BLOCK, [50 + 200j, 80 + 250j])
    region = shapely.union_all(
        [
            shapely.LinearRing([(z.real, z.imag) for z in BLOCK]).buffer(PEN / 2),
            shapely.LineString([(50, 200), (80, 250)]).buffer(PEN / 2),
        ]
    )
    for turned in (contours, [points[::-1] for points in contours]):
        edges = ink_edges(turned, [])
        within = edges.points + 0.2j * edges.ways
        assert shapely.contains_xy(region, within.real, within.imag).mean() > 0.98
        assert edges.lengths.sum() == pytest.approx(region.length / 2, rel=0.01)


@given(st.floats(-3.0, 3.0), st.floats(0.0, 6.0), st.floats(0.3, 1.8))
@settings(max_examples=examples(15), deadline=None)
def test_an_outline_lies_as_far_off_its_ink_as_it_was_moved(
    off: float, turn: float, width: float
) -> None:
    factor = np.exp(1j * turn)
    contours = [points * factor for points in ink([0, 300, 300 + 300j, 300j], width=width)]
    runs = [[Line(complex(40 + 1j * off) * factor, complex(260 + 1j * off) * factor)]]
    cover = ink_cover(ink_edges(contours, []), runs, width)
    assert np.abs(cover.off - abs(off)).max() < 0.05
    assert cover.runs[0].on_ink == pytest.approx(float(abs(off) <= 1.0), abs=0.04)
    if abs(off) < 1.0:
        assert np.abs(cover.shift + off).max() < 0.05


def test_a_true_outline_is_as_drawn() -> None:
    (found,) = judge(ink(BLOCK), outline(BLOCK))
    assert found.words == "as drawn"
    assert found.unexplained < 0.01
    assert min(run.on_ink for run in found.runs) == 1.0


@pytest.mark.parametrize("far", [1.5, 2.5])
def test_a_dart_s_point_off_the_ink_is_told(far: float) -> None:
    moved = [*BLOCK]
    moved[2] += 1j * far
    (found,) = judge(ink(BLOCK), outline(moved))
    assert any("point" in words for words in found.look_at)


def test_a_dart_that_was_lost_under_its_mouth_is_told() -> None:
    mouth = [BLOCK[0], BLOCK[4], BLOCK[5], BLOCK[6]]
    contours = ink(BLOCK, mouth)
    (found,) = judge(contours, outline(mouth, ()))
    assert any("as those of a dart" in words for words in found.look_at)
    assert judge(contours, outline(BLOCK))[0].words == "as drawn"


def test_the_cut_line_is_no_block_and_known_as_one_says_nothing() -> None:
    polygon = shapely.Polygon([(z.real, z.imag) for z in [BLOCK[0], *BLOCK[4:]]])
    cut = [complex(x, y) for x, y in polygon.buffer(12, join_style="mitre").exterior.coords[:-1]]
    contours = ink(BLOCK, cut)
    if shapely.LinearRing([(z.real, z.imag) for z in cut]).is_ccw is False:
        cut = cut[::-1]
    (taken,) = judge(contours, outline(cut, ()))
    assert any("another outline" in words for words in taken.look_at)
    (alone,) = judge(contours, outline(BLOCK))
    assert any("outside" in words for words in alone.look_at)
    known = np.array([*cut, cut[0]])
    (found,) = judge(contours, outline(BLOCK), explained=(known,))
    assert found.words == "as drawn"


def test_a_stretch_without_ink_is_told_or_refused() -> None:
    whole = outline(BLOCK)
    for gap, is_refused in ((14.0, False), (60.0, True)):
        line = [200 + 0j + (20 + 380j) * part for part in (0.0, 0.5, 0.5 + gap / 380, 1.0)]
        drawn = [[*BLOCK[:5], line[1]], [line[2], *BLOCK[5:], BLOCK[0]]]
        contours = ink(*drawn, closed=False)
        if is_refused:
            with pytest.raises(OutlineError, match="not on ink"):
                judge(contours, whole)
        else:
            assert any("not on ink" in words for words in judge(contours, whole)[0].look_at)


def test_a_triangle_among_open_lines_is_refused() -> None:
    dart = [BLOCK[1], BLOCK[3], BLOCK[2]]
    open_lines = [[BLOCK[4], BLOCK[5]], [BLOCK[5], BLOCK[6]], [BLOCK[6] - 9j, BLOCK[0]]]
    contours = ink(dart) + ink(*open_lines, closed=False)
    with pytest.raises(OutlineError, match="much smaller"):
        judge(contours, outline(dart, ()))


def test_what_is_missing_is_measured_and_told() -> None:
    gap, on = 3.0, 9.0
    steps = np.arange(0.0, 300.0, gap + on)
    dashes = [[complex(x), complex(x + on)] for x in steps] + [
        [complex(0, x + 40), complex(0, x + 40 + on)] for x in steps
    ]
    contours = ink(*dashes, closed=False)
    missing = missing_ink(contours, [])
    assert missing.gaps == 2 * (len(steps) - 1)
    # Of the pen's round ends half its width goes beyond either end.
    wanted = (gap - PEN) / (gap + on)
    assert missing.share == pytest.approx(wanted, abs=0.02)
    error = NothingClosedError("no closed line was found.", remedy="--gap 4mm")
    told = told_what_is_missing(error, contours, [])
    assert f"{missing.gaps} places" in str(told)
    assert "higher brightness threshold" in str(told)
    assert "--gap" not in str(told)
    assert told_what_is_missing(error, ink(BLOCK), []) is error
