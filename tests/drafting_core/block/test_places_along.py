"""Places along a seam: a fraction, per cent or a length, however the seam is called."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting_core.block.find_darts import take_apart
from drafting_core.block.places import spot_in_words
from drafting_core.block.seams import SeamMark, name_seams
from drafting_core.model.outline import OutlineEdge, checked
from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import SeamLabel
from drafting_core.plane.curves import Line
from drafting_core.text.errors import PlaceError
from tests.help.depth import examples

#: A piece of straight seams: its side seam is 300 mm long, straight down from (200, 50).
NODES = [0j, 100 - 40j, 200 + 50j, 200 + 350j, 350j]
NAMES = ("neckline", "armhole", "Side seam", "waist", "centre front")


def piece() -> Piece:
    lines = [Line(a, b) for a, b in zip(NODES, [*NODES[1:], NODES[0]], strict=True)]
    marks = [
        SeamMark((line.start + line.end) / 2, SeamLabel(name))
        for line, name in zip(lines, NAMES, strict=True)
    ]
    ring = checked([OutlineEdge(line) for line in lines])
    return name_seams(take_apart(ring, [], equalise=True), marks)


@settings(max_examples=examples(60), deadline=None)
@given(st.floats(0.0, 300.0), st.sampled_from(["mm", "cm", "in"]))
def test_a_length_is_measured_from_the_upper_end(length: float, unit: str) -> None:
    size = {"mm": 1.0, "cm": 10.0, "in": 25.4}[unit]
    text = f"side seam:{length / size:.9f}{unit}"
    found = piece()
    place = found.spot_point(spot_in_words(found, text, 1j))
    assert place.real == pytest.approx(200.0)
    assert place.imag == pytest.approx(50.0 + length, abs=1e-5)


@settings(max_examples=examples(60), deadline=None)
@given(st.floats(0.0, 100.0))
def test_per_cent_is_a_fraction(share: float) -> None:
    found = piece()
    one = spot_in_words(found, f"side seam:{share:.6f}%", 1j)
    assert found.spot_point(one).imag == pytest.approx(50.0 + 3.0 * share, abs=1e-4)


@pytest.mark.parametrize("name", ["side seam", "SIDE SEAM", "sideseam", "Side  Seam", "side"])
def test_a_name_is_understood_however_it_is_typed(name: str) -> None:
    found = piece()
    place = found.spot_point(spot_in_words(found, f"{name}:0.5", 1j))
    assert place == pytest.approx(200 + 200j)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("side seam:400mm", "lies beyond the seam, which is 300 mm long"),
        ("side seam:13in", "lies beyond the seam"),
        ("side seam:101%", "lies beyond the seam"),
        ("side seam:-5mm", "does not say how far along"),
        ("side seam:half", "does not say how far along"),
        ("side seam:5 furlongs", "does not say how far along"),
        ("side seam:%", "does not say how far along"),
    ],
)
def test_what_is_no_place_is_refused(text: str, words: str) -> None:
    with pytest.raises(PlaceError, match=words):
        spot_in_words(piece(), text, 1j)
