"""How a layer was moved as a whole, told from its objects though some were dragged."""

from __future__ import annotations

import cmath
import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from extension.document.layer_motion import STAYED, LayerMotion, layer_motion
from tests.help.depth import examples


def placed(rng: random.Random, count: int = 24) -> list[complex]:
    return [complex(rng.uniform(0, 240), rng.uniform(0, 400)) for _ in range(count)]


@settings(max_examples=examples(80), deadline=None)
@given(
    st.integers(0, 10_000),
    st.floats(-math.pi, math.pi),
    st.floats(0.5, 2.0),
    st.booleans(),
    st.integers(0, 9),
)
def test_the_motion_of_most_objects_is_found(
    seed: int, angle: float, scale: float, mirrored: bool, dragged: int
) -> None:
    rng = random.Random(seed)
    motion = LayerMotion(cmath.rect(scale, angle), complex(30, -12), mirrored)
    pairs = [(z, motion(z)) for z in placed(rng)]
    for k in rng.sample(range(len(pairs)), dragged):
        pairs[k] = pairs[k][0], pairs[k][1] + cmath.rect(5 + 20 * rng.random(), 7 * rng.random())
    found = layer_motion(pairs, 0.05)
    for z in (0j, 100 + 0j, 300j):
        assert abs(found(z) - motion(z)) < 0.05


@pytest.mark.parametrize("dragged", [0, 3, 11])
def test_a_layer_that_stayed_stays(dragged: int) -> None:
    rng = random.Random(dragged)
    pairs = [(z, z) for z in placed(rng)]
    for k in range(dragged):
        pairs[k] = pairs[k][0], pairs[k][1] + 10
    assert layer_motion(pairs, 0.05) == STAYED


def test_where_few_agree_nothing_is_assumed() -> None:
    rng = random.Random(1)
    pairs = [(z, z + complex(rng.uniform(5, 90), rng.uniform(5, 90))) for z in placed(rng)]
    assert layer_motion(pairs, 0.05) == STAYED
    assert layer_motion([], 0.05) == STAYED
