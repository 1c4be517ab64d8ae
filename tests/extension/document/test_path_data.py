"""Path data against svgelements, an independent reader."""

from __future__ import annotations

import math

import pytest
import svgelements
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting_core.plane.curves import Cubic, Line
from drafting_core.text.errors import OutlineError
from extension.document.path_data import arc, parse, path_data
from tests.help.depth import examples

number = st.floats(-300, 300, allow_nan=False).map(lambda value: round(value, 3))


@st.composite
def path_texts(draw: st.DrawFn) -> str:
    """Path data with every command, absolute and relative."""
    text, before = f"M {draw(number)},{draw(number)}", "M"
    for letter in draw(st.lists(st.sampled_from("LlHhVvCcSsQqTt"), min_size=1, max_size=8)):
        if (letter in "Tt" and before not in "QqTt") or (letter in "Ss" and before not in "CcSs"):
            # svgelements mirrors the handle of any curve here; SVG 2 (9.3.6) only of the like.
            continue
        before = letter
        count = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}[letter.upper()]
        text += f" {letter} " + " ".join(str(draw(number)) for _ in range(count))
    return text + draw(st.sampled_from(["", " Z", "z"]))


@given(path_texts())
@settings(max_examples=examples(60))
def test_points_are_svgelements(text: str) -> None:
    ours = [segment for path in parse(text) for segment in path.segments]
    theirs = [s for s in svgelements.Path(text) if not isinstance(s, svgelements.Move)]
    theirs = [s for s in theirs if not (isinstance(s, svgelements.Close) and s.start == s.end)]
    assert len(ours) == len(theirs)
    for mine, other in zip(ours, theirs, strict=True):
        for t in (0.0, 0.3, 0.7, 1.0):
            point = other.point(t)
            assert abs(mine.point(t) - complex(point.x, point.y)) < 1e-6


@pytest.mark.thorough
@given(
    st.builds(complex, number, number),
    st.builds(complex, number, number),
    st.floats(1, 300),
    st.floats(1, 300),
    st.floats(-180, 180),
    st.booleans(),
    st.booleans(),
)
@settings(max_examples=examples(50))
def test_arcs_lie_on_their_ellipse(
    start: complex, end: complex, rx: float, ry: float, turn: float, large: bool, sweep: bool
) -> None:
    if abs(start - end) < 0.1:
        return
    cubics = arc(start, rx, ry, turn, (float(large), float(sweep)), end)
    assert abs(cubics[0].start - start) < 1e-9
    assert abs(cubics[-1].end - end) < 1e-9
    text = (
        f"M {start.real},{start.imag} A {rx} {ry} {turn} {large:d} {sweep:d} {end.real},{end.imag}"
    )
    theirs = svgelements.Path(text)[1]
    length = sum(cubic.length() for cubic in cubics)
    assert length == pytest.approx(theirs.length(error=1e-9), rel=1e-5, abs=1e-5)
    middle = theirs.point(0.5)
    nearest = min(
        abs(cubic.point(cubic.nearest(complex(middle.x, middle.y))) - complex(middle.x, middle.y))
        for cubic in cubics
    )
    scale = max(1.0, abs(start - end) / (2 * min(rx, ry)))
    assert nearest < 1e-5 * max(rx, ry) * scale


def test_a_quarter_circle_strays_less_than_a_millionth_of_its_radius() -> None:
    for cubic in arc(100 + 0j, 100, 100, 0, (0, 1), 100j):
        assert all(abs(abs(cubic.point(k / 50)) - 100) < 1e-4 for k in range(51))


def test_packed_flags_and_numbers_are_read() -> None:
    # SVG 2, 9.3.9: a flag is a single character, and a second point needs no blank before it.
    (packed,) = parse("M0 0a5 5 0 0110-.5l.5.5")
    (spaced,) = parse("M 0 0 a 5 5 0 0 1 10 -0.5 l 0.5 0.5")
    assert packed.segments == spaced.segments
    assert abs(packed.end - 10.5) < 1e-12


def test_moves_after_the_first_are_lines_and_a_close_goes_home() -> None:
    (path,) = parse("m 1,1 2,0 0,2 z")
    assert [segment.end for segment in path.segments] == [3 + 1j, 3 + 3j, 1 + 1j]
    assert path.closed
    first, second = parse("M 0 0 H 4 V 4 Z L 9 9")
    assert first.closed
    assert second.segments == [Line(0j, 9 + 9j)]


@pytest.mark.parametrize(
    "text",
    ["L 1 1", "M 0", "M 0 0 L 1", "M 0 0 C 1 2 3", "M 0 0 x", "M 0 0 L nan 3", "M 1e999 0 L 3 3"],
)
def test_what_cannot_be_read_is_refused(text: str) -> None:
    with pytest.raises(OutlineError) as caught:
        parse(text)
    assert caught.value.remedy


@given(
    st.lists(st.builds(Cubic, *[st.builds(complex, number, number)] * 4), min_size=1, max_size=4)
)
def test_what_is_written_is_read_back_to_the_last_digits(cubics: list[Cubic]) -> None:
    chain = [cubics[0]]
    for cubic in cubics[1:]:
        chain.append(cubic._replace(start=chain[-1].end))
    text = path_data(chain, closed=False)
    (path,) = parse(text)
    for mine, original in zip(path.segments, chain, strict=True):
        assert max(abs(a - b) for a, b in zip(mine, original, strict=True)) < 1e-11
    decimals = [piece.split(".")[1] for piece in text.replace(",", " ").split() if "." in piece]
    assert min(len(tail) for tail in decimals) >= 10
    assert math.isfinite(path.segments[0].length())
