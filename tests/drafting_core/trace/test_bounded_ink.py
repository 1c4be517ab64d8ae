"""Traces with far more ink or nodes than a pen's lines have."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from drafting_core.ink.polylines import NearPoints, Points
from drafting_core.ink.rectify import scaling
from drafting_core.text.errors import OutlineError
from drafting_core.trace.bounded_ink import checked_shapes, mapped_all, thinned
from extension.cleaning.read_trace import read_trace
from extension.document.svg_document import parse_document
from tests.help.scans.heavy_traces import BLOCK, flooded, noisy, specks


def contours(svg: str) -> list[Points]:
    return read_trace(parse_document(svg.encode()).getroot(), ()).closed


@pytest.mark.parametrize("noise", [0.03, 0.3])
def test_a_noisy_line_becomes_few_points_along_the_true_one(noise: float) -> None:
    true = shapely.LinearRing(np.column_stack([BLOCK.real, BLOCK.imag]))
    for edge in mapped_all(contours(noisy(240_000, noise=noise)), scaling(1.0), closed=True):
        assert len(edge) <= 20_000
        away = shapely.distance(shapely.points(edge.real, edge.imag), true)
        # Half a pen's width of 0.8 mm at the sides; corners are rounded, a dart's point most.
        assert abs(np.median(away) - 0.4) < 0.1
        assert np.quantile(away, 0.99) < 0.4 + noise


def test_a_line_of_few_or_of_far_points_stays_as_it_is() -> None:
    circle = 200.0 * np.exp(1j * np.linspace(0.0, 6.28, 19_000))
    assert thinned(circle, closed=True) is circle
    scattered = 1e4 * np.exp(1j * np.linspace(0.0, 6.28, 60_000))
    assert thinned(scattered, closed=False) is scattered


def test_ink_in_areas_is_too_dark_and_dust_is_not() -> None:
    with pytest.raises(OutlineError, match="too dark"):
        checked_shapes(contours(flooded(6000)), [])
    dusty = contours(specks(18_000))
    kept = checked_shapes(dusty, [])
    assert 2 <= len(kept) < len(dusty)
    largest = sorted(range(len(dusty)), key=lambda k: -len(dusty[k]))[:2]
    assert set(largest) <= set(kept)
    silhouette = [max(dusty, key=len), *dusty[2:5000]]
    assert checked_shapes(silhouette, []) == list(range(len(silhouette)))


def test_more_than_any_pen_draws_is_refused() -> None:
    with pytest.raises(OutlineError, match="too many nodes"):
        checked_shapes([], [np.zeros(2_000_000, dtype=complex)])
    with pytest.raises(OutlineError, match="too many nodes"):
        NearPoints(np.zeros(4000, dtype=complex), 1.0).pairs(np.zeros(4000, dtype=complex))
