"""Simple path data read at once against the parser that reads one command after the other."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from extension.document.path_data import parse
from extension.document.path_points import Affine, reach_to_the_right, simple_points
from tests.help.depth import examples

_AS_IT_IS: Affine = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
_TAKES = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6}
#: As tracers write them: whole, in tenths of dots, and small ones with an exponent.
_numbers = st.one_of(
    st.integers(-3000, 3000).map(str),
    st.floats(-500, 500).map(lambda x: f"{x:.4f}"),
    st.floats(1e-7, 1e-5).map(repr),
)


@st.composite
def _commands(draw: st.DrawFn, letters: str) -> str:
    letter = draw(st.sampled_from(letters))
    count = _TAKES[letter.lower()] * draw(st.integers(1, 3))
    words = draw(st.lists(_numbers, min_size=count, max_size=count))
    between = [" " if b[0] != "-" else draw(st.sampled_from(("", " "))) for b in words[1:]]
    commas = draw(st.booleans())
    text = words[0]
    for gap, word in zip(between, words[1:], strict=True):
        text += ("," if commas and gap == " " else gap) + word
    return letter + draw(st.sampled_from(("", " "))) + text


@st.composite
def _paths(draw: st.DrawFn) -> str:
    parts = []
    for _ in range(draw(st.integers(1, 4))):
        parts.append(draw(_commands("mM")))
        parts += draw(st.lists(_commands("lLhHvVcC"), max_size=5))
        parts.append(draw(st.sampled_from(("", "z", "Z "))))
    return draw(st.sampled_from(("", " ", "\n"))).join(parts)


@settings(max_examples=examples(60))
@given(st.lists(_paths(), min_size=1, max_size=3))
def test_paths_read_at_once_have_the_nodes_and_points_of_each_alone(paths: list[str]) -> None:
    read = simple_points(paths, _AS_IT_IS, 1e9, 1e-6)
    assert read is not None
    for data, found in zip(paths, read, strict=True):
        wanted = []
        for path in parse(data):
            segments = [s for s in path.segments if s.start != s.end or len(s) == 4]
            if segments:
                nodes = [segments[0].start, *(s.end for s in segments)]
                wanted.append((nodes, path.closed, len(segments) + (not path.closed)))
        assert [one.nodes for one in found] == [count for _, _, count in wanted]
        for one, (nodes, closed, _) in zip(found, wanted, strict=True):
            assert one.closed or not closed
            # Within the rounding of running sums, which may make one point of two or leave it.
            apart = np.abs(np.subtract.outer(np.array(nodes), one.points))
            assert apart.min(axis=1).max() < 1e-8
            assert apart.min(axis=0).max() < 1e-8


@settings(max_examples=examples(40))
@given(_paths())
def test_points_along_curves_lie_on_them_and_near_to_each_other(data: str) -> None:
    to: Affine = ((0.5, 0.0, 10.0), (0.0, -0.5, 40.0))
    (found,) = simple_points([data], to, 20.0, 1e-6) or [[]]
    points = np.concatenate([one.points for one in found]) if found else np.zeros(0)
    curves = [s for path in parse(data) for s in path.segments if len(s) == 4]
    for curve, k in itertools.product(curves, range(1, 65)):
        length = np.abs(np.diff([curve.start, curve.control1, curve.control2, curve.end])).sum() / 2
        count = max(1, min(64, int(np.ceil(length / 20.0))))
        if k <= count:
            z = curve.point(k / count)
            assert np.abs(points - complex(z.real / 2 + 10, 40 - z.imag / 2)).min() < 1e-6


def test_what_is_not_simple_is_left_to_the_other_parser() -> None:
    for data in (
        "M 0 0 L 1 1 A 1 1 0 0 1 2 2", "M 0 0 S 1 1 2 2", "L 1 1", "M 0 0 1", "M 0 0 Z L 1 1",
        "M 0,,0 L 1 1", "M 0 0 L.5.5 1", "M 0 0 L nan 1", "M 0 0 L 1e999 1", "M 0 0 h", "M 0 0 !",
        "M 0 0 L 1 --1", "M 0 0 L 1 é", "5 M 0 0 L 1 1", "M 0 0 z 5",
    ):  # fmt: skip
        assert simple_points([data], _AS_IT_IS, 1.0, 1e-6) is None
        assert simple_points(["M0 0 1 1", data], _AS_IT_IS, 1.0, 1e-6) is None
    assert simple_points([], _AS_IT_IS, 1.0, 1e-6) == []
    assert simple_points(["", " "], _AS_IT_IS, 1.0, 1e-6) == [[], []]
    assert reach_to_the_right("", _AS_IT_IS) is None
    assert reach_to_the_right("M 0 0 h 5 c 1 2 9 4 3 0", ((2.0, 0, 1.0), (0, 1.0, 0))) == 29.0
