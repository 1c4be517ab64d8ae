"""Ink told from paper: the same whatever the light, the paper, the pen."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from drafting_core.ink.ink_of_picture import ink_of
from tests.help.scans.drawn_sheet import grey_sheet, shaded

LINES, SHAPE = grey_sheet(100.0), grey_sheet(100.0, filled=True)
IN_PEN, IN_SHAPE = (sheet < 138 for sheet in (LINES, SHAPE))


def differing(one: NDArray[np.bool_], other: NDArray[np.bool_]) -> float:
    """Return how many dots differ, as a part of those that are ink."""
    return float((one != other).sum() / other.sum())


def noisy(grey: NDArray[np.floating], deviation: float) -> NDArray[np.uint8]:
    noise = np.random.default_rng(1).normal(0.0, deviation, grey.shape)
    return np.asarray(np.clip(grey + noise, 0, 255), dtype=np.uint8)


@given(
    level=st.floats(0.35, 1.0),
    across=st.floats(-0.5, 0.5),
    down=st.floats(-0.5, 0.5),
    pale=st.floats(0.25, 1.0),
    deviation=st.floats(0.0, 4.0),
)
def test_light_paper_and_pen_change_nothing(
    level: float, across: float, down: float, pale: float, deviation: float
) -> None:
    height, width = LINES.shape
    y, x = np.mgrid[:height, :width]
    light = (1 + across * (x / width - 0.5)) * (1 + down * (y / height - 0.5)) / 1.5625
    grey = (255.0 - pale * (255.0 - LINES)) * light * level
    found = ink_of(noisy(grey, deviation * level * pale))
    assert not found.is_inverted
    assert found.filled == 0.0
    assert differing(found.mask, ink_of(LINES).mask) < 0.04


def test_ink_is_where_it_is_half_as_dark_as_the_line() -> None:
    """A little more: the middle of an edge, blurred over a dot, of a pen three dots wide."""
    assert differing(ink_of(LINES).mask, IN_PEN) < 0.13
    assert differing(ink_of(SHAPE).mask, IN_SHAPE) < 0.003


def test_a_shadow_is_no_ink_and_hides_none() -> None:
    """Where one threshold for the whole sheet would lose the line or half of the paper."""
    grey = shaded(np.asarray(255 - 0.5 * (255.0 - LINES)))
    assert differing(ink_of(grey).mask, IN_PEN) < 0.15
    best = min(differing(grey < level, IN_PEN) for level in range(20, 250, 5))
    assert best > 0.3


@pytest.mark.parametrize("brightest", [255, 150])
def test_a_filled_shape_is_ink_to_its_middle(brightest: int) -> None:
    found = ink_of(noisy(SHAPE * (brightest / 255), 3.0))
    assert differing(found.mask, IN_SHAPE) < 0.005
    assert found.filled == pytest.approx(float(IN_SHAPE.mean()), rel=0.02)


@pytest.mark.parametrize("level", [90, 150, 200])
def test_a_template_no_darker_than_a_shadow_is_told_by_its_two_levels(level: int) -> None:
    grey = level + (SHAPE - 20.0) * (240 - level) / 235
    assert differing(ink_of(noisy(grey, 3.0)).mask, IN_SHAPE) < 0.005


def test_the_edge_of_a_hard_shadow_is_no_line_and_yet_told() -> None:
    """It may be a template's: on its length, the height of the sheet, there is a word."""
    width = LINES.shape[1]
    x = np.arange(width) - 0.55 * width
    grey = LINES * (1.0 - 0.4 / (1.0 + np.exp(-x)))
    found = ink_of(noisy(grey, 3.0))
    assert differing(found.mask, IN_PEN) < 0.15
    assert found.steps == pytest.approx(1.0, abs=0.5)
    soft = LINES * (1.0 - 0.4 / (1.0 + np.exp(-x / 12)))
    assert ink_of(noisy(soft, 3.0)).steps < 0.05
    assert ink_of(LINES).steps < 0.05


def test_bright_lines_on_dark_are_the_ink() -> None:
    found = ink_of(noisy((255.0 - LINES) * 0.6 + 40, 3.0))
    assert found.is_inverted
    assert differing(found.mask, ink_of(LINES).mask) < 0.04


def test_a_mostly_dark_template_is_not_inverted() -> None:
    """Most of the picture is dark, but what is bright is no line."""
    middle = SHAPE[len(SHAPE) // 8 : -len(SHAPE) // 10, 40:-40]
    assert (middle < 128).mean() > 0.5
    found = ink_of(middle)
    assert not found.is_inverted
    assert differing(found.mask, middle < 138) < 0.005


@pytest.mark.parametrize("fall", [0.2, 0.4])
def test_a_dark_ground_about_a_bright_template_is_filled_where_the_light_falls_too(
    fall: float,
) -> None:
    light = 1.0 - fall * np.linspace(1.0, 0.0, SHAPE.shape[1])
    found = ink_of(noisy((64 + (255.0 - SHAPE) * 0.55) * light, 2.0))
    assert differing(found.mask, ~IN_SHAPE) < 0.005
    assert found.filled == pytest.approx(float((~IN_SHAPE).mean()), rel=0.05)


@pytest.mark.parametrize("level", [0, 120, 255])
def test_nothing_is_nothing(level: int) -> None:
    grey = noisy(np.full((200, 160), float(level)), 2.0)
    assert not ink_of(grey).mask.any()


def test_work_in_bands_is_the_work_on_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    grey = shaded(LINES)
    whole = ink_of(grey)
    monkeypatch.setattr("drafting_core.ink.ink_of_picture._BAND_DOTS", 37 * grey.shape[1])
    parts = ink_of(grey)
    assert (parts.mask == whole.mask).all()
