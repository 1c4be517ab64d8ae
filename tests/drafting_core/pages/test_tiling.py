"""A sheet on pages: nothing is lost at their borders, and neighbours meet."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drafting_core.pages.tiling import CHORD_ERROR, HALF_LINE, Place, Tiling, chords
from drafting_core.plane.curves import Cubic, Line
from drafting_core.text.errors import SettingError

SIDES = st.floats(120.0, 1200.0)


@st.composite
def tilings(draw: st.DrawFn) -> Tiling:
    width, height = draw(SIDES), draw(SIDES)
    margin = draw(st.floats(0.0, 20.0))
    overlap = draw(st.one_of(st.just(0.0), st.floats(0.0, 40.0)))
    return Tiling(width, height, margin, overlap)


def points(reach: float = 3000.0) -> st.SearchStrategy[complex]:
    return st.builds(complex, st.floats(1.0, reach), st.floats(1.0, reach))


def lies_in(tiling: Tiling, place: Place, z: complex, inset: float) -> bool:
    box = tiling.shown(place)
    return (
        box.left + inset <= z.real <= box.right - inset
        and box.top + inset <= z.imag <= box.bottom - inset
    )


@given(tilings(), st.lists(points(), min_size=2, max_size=12))
def test_every_point_of_a_line_lies_on_a_page_that_is_kept(
    tiling: Tiling, corners: list[complex]
) -> None:
    right, bottom = max(z.real for z in corners), max(z.imag for z in corners)
    sheet = tiling.holding(right + 1.0, bottom + 1.0)
    pages = sheet.cells_of_line(corners)
    for start, end in itertools.pairwise(corners):
        for step in range(101):
            z = start + (end - start) * step / 100
            # With its width, where there is a strip in which to show it whole.
            inset = HALF_LINE if tiling.overlap >= 2 * HALF_LINE else 0.0
            assert any(lies_in(sheet, page, z, inset - 1e-9) for page in pages)


@given(tilings(), st.lists(points(), min_size=2, max_size=6))
def test_every_page_that_is_kept_shows_some_of_the_line(
    tiling: Tiling, corners: list[complex]
) -> None:
    right, bottom = max(z.real for z in corners), max(z.imag for z in corners)
    sheet = tiling.holding(right + 1.0, bottom + 1.0)
    for page in sheet.cells_of_line(corners):
        assert page.row < sheet.rows
        assert page.column < sheet.columns
        box = sheet.shown(page)
        # Clipped by halving: is any part of a chord within half a line of what the page shows?
        assert any(
            _comes_near(start, end, box.left, box.top, box.right, box.bottom)
            for start, end in itertools.pairwise(corners)
        )


def _comes_near(
    start: complex, end: complex, left: float, top: float, right: float, bottom: float
) -> bool:
    steps = 4000
    reach = HALF_LINE + abs(end - start) / steps
    return any(
        left - reach <= z.real <= right + reach and top - reach <= z.imag <= bottom + reach
        for z in (start + (end - start) * k / steps for k in range(steps + 1))
    )


@given(tilings(), st.floats(10.0, 4000.0), st.floats(10.0, 4000.0))
def test_a_sheet_has_no_more_pages_than_it_needs(
    tiling: Tiling, width: float, height: float
) -> None:
    sheet = tiling.holding(width, height)
    assert sheet.span(sheet.columns) >= width - 1e-6
    assert sheet.columns == 1 or sheet.span(sheet.columns - 1) < width
    last = sheet.shown(Place(sheet.rows - 1, sheet.columns - 1))
    assert last.right >= width - 1e-6
    assert last.bottom >= height - 1e-6


@given(tilings(), st.integers(0, 5), st.integers(0, 5))
def test_both_pages_of_a_joint_show_all_of_its_strip(tiling: Tiling, row: int, column: int) -> None:
    pages = {Place(row, column), Place(row, column + 1), Place(row + 1, column)}
    joints = tiling.joints(pages)
    assert {(joint.first, joint.second) for joint in joints} == {
        (Place(row, column), Place(row, column + 1)),
        (Place(row, column), Place(row + 1, column)),
    }
    for joint in joints:
        first, second = tiling.shown(joint.first), tiling.shown(joint.second)
        shared = (
            max(first.left, second.left),
            max(first.top, second.top),
            min(first.right, second.right),
            min(first.bottom, second.bottom),
        )
        across = joint.first.row == joint.second.row
        wide = shared[2] - shared[0] if across else shared[3] - shared[1]
        assert wide == pytest.approx(tiling.overlap, abs=1e-6)
        middle = complex(shared[0] + shared[2], shared[1] + shared[3]) / 2
        assert (joint.start + joint.end) / 2 == pytest.approx(middle, abs=1e-6)


def test_pages_that_do_not_touch_have_no_joint() -> None:
    tiling = Tiling(210.0, 297.0, 10.0, 10.0)
    assert tiling.joints([Place(0, 0), Place(1, 1), Place(0, 2)]) == []


@pytest.mark.parametrize(
    ("margin", "overlap"), [(105.0, 0.0), (10.0, 185.0), (60.0, 90.0), (99.0, 10.0)]
)
def test_margin_and_overlap_larger_than_the_page_are_refused(margin: float, overlap: float) -> None:
    with pytest.raises(SettingError, match=r"margin of .* overlap of .* no room"):
        Tiling(210.0, 297.0, margin, overlap).check()


@given(st.lists(points(400.0), min_size=4, max_size=4))
def test_chords_stray_from_their_curve_by_next_to_nothing(handles: list[complex]) -> None:
    cubic = Cubic(*handles)
    polyline = chords([cubic, Line(cubic.end, cubic.end + 50)])
    assert polyline[0] == cubic.start
    assert polyline[-1] == cubic.end + 50
    for step in range(201):
        z = cubic.point(step / 200)
        off = min(
            abs(z - (a + (b - a) * min(1.0, max(0.0, ((z - a) * (b - a).conjugate()).real
                                                / abs(b - a) ** 2))))
            for a, b in itertools.pairwise(polyline)
            if a != b
        )  # fmt: skip
        assert off <= CHORD_ERROR * 1.01
