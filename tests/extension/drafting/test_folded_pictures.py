"""Three results folded as paper is, and drawn: the cloth, the excess on it, one straight raw edge.

The pictures stand in pytest's own folder; ``pytest --basetemp FOLDER`` puts them where one can
look at them.
"""

from __future__ import annotations

import cmath
import math
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from PIL import Image, ImageDraw
from shapely import affinity
from shapely.geometry import Polygon
from svgelements import Path as SvgPath

from extension.commands.command_line import main
from tests.help.blocks.drawings import parts
from tests.help.blocks.samples import SAMPLES
from tests.help.contract.contract_model import SVG
from tests.help.depth import some_quick

ROOT = Path(__file__).parents[3]
FRONT = ROOT / "sample_svgs" / "front_one_path.svg"
#: How far to each side of the mouth the shut piece is drawn (rad), and pixels to a mm.
BESIDE, SCALE = math.radians(35.0), 4.0
#: What the folded excess may show beyond the cloth: a raw edge off by so much, in mm.
MEETS = 0.05


def polygon(element: Any) -> Polygon:
    """A closed path as a polygon of points 0.05 mm apart and less."""
    points: list[tuple[float, float]] = []
    for segment in list(SvgPath(element.get("d")))[1:]:
        if segment.length() > 0:
            count = max(1, int(segment.length() / 0.05)) if len(segment) > 2 else 1
            points += [tuple(segment.point(k / count)) for k in range(count)]
    return Polygon(points)


def wedge(point: complex, ray: complex, start: float, end: float) -> Polygon:
    """The wedge between two angles from a ray, far out."""
    rim = [point + 2000 * ray * cmath.rect(1.0, start + (end - start) * k / 12) for k in range(13)]
    return Polygon([(z.real, z.imag) for z in (point, *rim)])


def mirrored(shape: Any, point: complex, ray: complex) -> Any:
    turn = math.degrees(cmath.phase(ray))
    flat = affinity.rotate(shape, -turn, origin=(point.real, point.imag))
    flat = affinity.scale(flat, 1.0, -1.0, origin=(point.real, point.imag))
    return affinity.rotate(flat, turn, origin=(point.real, point.imag))


PLACES = ["neckline/centre front", "armhole:0.3", "side seam:0.35"]


@pytest.mark.thorough
@pytest.mark.parametrize("place", some_quick(PLACES, 1))
def test_the_folded_excess_ends_on_the_raw_edge(place: str, tmp_path: Path) -> None:
    assert FRONT in SAMPLES
    out = tmp_path / "out.svg"
    arguments = ["move", str(FRONT), "-o", str(out), "--to", place, "--excess", "keep"]
    assert main(arguments) == 0
    root = etree.parse(str(out)).getroot()
    cloth = polygon(parts(root, "cut-line")[0])
    spot = parts(root, "dart-point")[0]
    assert spot.tag in (f"{SVG}circle", f"{SVG}path")
    legs = [list(SvgPath(leg.get("d"))) for leg in parts(root, "dart-leg")]
    ends = [complex(*leg[0].end) for leg in legs]
    point = complex(*legs[0][-1].end)
    first, second = ((end - point) / abs(end - point) for end in ends)
    if cmath.phase(second / first) < 0:
        first, second = second, first
    theta = cmath.phase(second / first)
    arrow = SvgPath(parts(root, "fold-arrow")[0].get("d"))
    way = complex(*arrow[1].end) - complex(*arrow[0].end)
    # Toward the first leg, or toward the second: folded over it, the other side is turned shut.
    over_first = (way / (first + second)).imag < 0
    ray, sense = (first, 1.0) if over_first else (second, -1.0)
    centre = (point.real, point.imag)
    base = cloth.intersection(wedge(point, ray, 0.0, -sense * BESIDE))
    other = affinity.rotate(
        cloth.intersection(wedge(point, ray * cmath.rect(1.0, sense * theta), 0.0, sense * BESIDE)),
        -sense * math.degrees(theta),
        origin=centre,
    )
    halves = [
        mirrored(cloth.intersection(wedge(point, ray, 0.0, sense * theta / 2)), point, ray),
        affinity.rotate(
            cloth.intersection(wedge(point, ray, sense * theta / 2, sense * theta)),
            -sense * math.degrees(theta),
            origin=centre,
        ),
    ]
    for half in halves:
        assert half.difference(base.buffer(MEETS)).area < 0.5
        under = base.intersection(wedge(point, ray, 0.0, -sense * theta / 2))
        assert under.difference(half.buffer(MEETS)).area < 0.5
    # The raw edge goes on from the one side to the other: where the leg leaves both is one place.
    far = [
        max(
            abs(complex(*z) - point)
            for z in shape.exterior.coords
            if abs(cmath.phase((complex(*z) - point) / ray)) < 1e-7 and complex(*z) != point
        )
        for shape in (base, other)
    ]
    assert far[0] == pytest.approx(far[1], abs=MEETS)
    picture(tmp_path / "folded.png", [(base, "#dddddd"), (other, "#bbbbbb")], halves)


def picture(file: Path, sides: list[tuple[Any, str]], halves: list[Any]) -> None:
    """Draw the shut piece with the excess lying on it."""
    boxes = [shape.bounds for shape, _ in sides]
    left, top = min(b[0] for b in boxes), min(b[1] for b in boxes)
    right, bottom = max(b[2] for b in boxes), max(b[3] for b in boxes)
    size = int((right - left + 20) * SCALE), int((bottom - top + 20) * SCALE)
    image = Image.new("RGB", size, "white")
    draw = ImageDraw.Draw(image, "RGBA")

    def drawn(shape: Any) -> list[tuple[float, float]]:
        return [((x - left + 10) * SCALE, (y - top + 10) * SCALE) for x, y in shape.exterior.coords]

    for shape, colour in sides:
        draw.polygon(drawn(shape), fill=colour, outline="black")
    for half in halves:
        draw.polygon(drawn(half), fill=(200, 120, 60, 110), outline="black")
    image.save(file)
    assert len(image.getcolors(1 << 20) or []) > 3
