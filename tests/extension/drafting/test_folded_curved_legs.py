"""A dart with curved legs, folded shut at its mouth: end on end, direction on direction."""

from __future__ import annotations

import cmath
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from lxml import etree
from shapely.geometry import LinearRing, LineString, Point
from svgelements import Path as SvgPath

from extension.commands.command_line import main
from tests.help.blocks.drawings import parts
from tests.help.depth import some_quick

FRENCH = Path(__file__).parents[3] / "sample_svgs" / "front_french_dart.svg"
#: Edges that are to lie on one another are no further apart, mm.
MEETS = 0.05
#: What is left of the excess beside each leg, mm.
TRIM = 12.7
WIDTHS = (
    "1/2in",
    "60mm",
    "3mm, waist=60mm",
    "20mm, side seam=6mm, waist=40mm, armhole=40mm",
    "1/2in, side seam=38.1mm, waist=3mm",
)


class Leg(NamedTuple):
    """A leg at its mouth end: the place, and the unit vector out of the piece along it."""

    end: complex
    out: complex


def legs_of(root: Any) -> list[Leg]:
    """The legs: the mouth lies clockwise of the second, on the page, and of the first not."""
    found = []
    for element in parts(root, "dart-leg"):
        piece = list(SvgPath(element.get("d")))[1]
        end, next_to = (complex(*z) for z in (piece.start, piece.control1))
        found.append(Leg(end, (end - next_to) / abs(end - next_to)))
    first, second = found
    return [first, second] if cmath.phase(second.out / first.out) > 0 else [second, first]


def fine(element: Any) -> list[complex]:
    """Points close together along a closed path."""
    found: list[complex] = []
    for segment in list(SvgPath(element.get("d")))[1:]:
        long = abs(complex(*segment.end) - complex(*segment.start))
        count = max(2, int(long / 0.2)) if long > 1e-9 else 1
        found += [complex(*segment.point(k / count)) for k in range(count)]
    return found


def ring_of(points: list[complex]) -> LinearRing:
    return LinearRing([(z.real, z.imag) for z in points])


def off(ring: LinearRing, z: complex) -> float:
    return float(ring.distance(Point(z.real, z.imag)))


def first_out(ring: LinearRing, leg: Leg) -> float:
    """How far a leg, extended, runs to the ring."""
    ends = [(z.real, z.imag) for z in (leg.end, leg.end + 900 * leg.out)]
    return float(ring.intersection(LineString(ends)).distance(Point(ends[0])))


@pytest.mark.thorough
@pytest.mark.parametrize("fold", ["up", "down"])
@pytest.mark.parametrize("widths", some_quick(WIDTHS, 4))
def test_raw_edges_of_curved_legs_meet(fold: str, widths: str, tmp_path: Path) -> None:
    out = tmp_path / "out.svg"
    arguments = ["move", str(FRENCH), "-o", str(out), "--fold", fold, "--allowance", widths]
    assert main(arguments) == 0
    root = etree.parse(str(out)).getroot()
    (cut,) = parts(root, "cut-line")
    (window,) = parts(root, "trim-window")
    edge, pane = ring_of(fine(cut)), ring_of(fine(window))
    legs = legs_of(root)
    reached = [first_out(edge, leg) for leg in legs]
    assert reached[0] == pytest.approx(reached[1], abs=MEETS)
    notches = [
        complex(*z)
        for element in parts(root, "notch")
        for z in SvgPath(element.get("d")).as_points()
    ]
    for leg, far in zip(legs, reached, strict=True):
        assert min(abs(z - leg.end - far * leg.out) for z in notches) < MEETS

    arrow = SvgPath(parts(root, "fold-arrow")[0].get("d"))
    way = complex(*arrow[1].end) - complex(*arrow[0].end)
    side = 0 if (way / (legs[0].out + legs[1].out)).imag < 0 else 1
    on, other = legs[side], legs[1 - side]
    spin = on.out / other.out
    # Beside either leg what is left of the excess: folded over the one, laid on with the other.
    folded, laid = 0, 0
    for z in fine(cut):
        if off(pane, z) < MEETS:
            continue
        places = [(z - leg.end) / leg.out for leg in legs]
        if not (places[0].imag > 0.01 and places[1].imag < -0.01):
            continue
        if 0 < places[side].real < 90 and abs(places[side].imag) < TRIM:
            folded += 1
            assert off(edge, on.end + on.out * places[side].conjugate()) < MEETS
        elif 0 < places[1 - side].real < 90 and abs(places[1 - side].imag) < TRIM:
            laid += 1
            assert off(edge, on.end + spin * (z - other.end)) < MEETS
    assert folded > 10
    assert laid > 10
