"""The judge is judged: a small result worked out by hand passes, and spoiled in one place fails."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from typing import Any

import pytest
from shapely.geometry import Polygon

from tests.help.blocks.random_blocks import (
    Block,
    Segment,
)
from tests.help.blocks.random_drawings import Drawing, Similarity
from tests.help.contract.contract import check_move
from tests.help.contract.contract_model import (
    Expectation,
)

NAMES = ("waist", "side seam", "hem", "centre front")
APEX = 100 + 130j
ANGLE = math.radians(14)


def _turn(z: complex, angle: float) -> complex:
    return APEX + (z - APEX) * cmath.exp(1j * angle)


def _crossing(p: complex, way: complex, q: complex, other: complex) -> complex:
    """Where two lines through points with directions meet."""
    along = ((q - p) * other.conjugate()).imag / (way * other.conjugate()).imag
    return p + way * along


def handmade() -> tuple[str, str, dict[str, Any], Block, Expectation]:
    """A skirt of straight lines, its waist dart moved whole to the side seam, worked out here."""
    right, foot = _turn(200 + 0j, ANGLE), 300 + 500j
    second = _turn(100 + 0j, ANGLE)
    middle = right + (foot - right) * 0.4
    zs = [0j, 100 + 0j, APEX, second, right, foot, 500j]
    runs = [0, -1, -1, 0, 1, 2, 3]
    block = Block(
        "skirt",
        tuple(
            Segment((z, zs[(k + 1) % 7]), NAMES[r] if r >= 0 else "dart", r)
            for k, (z, r) in enumerate(zip(zs, runs, strict=True))
        ),
        APEX,
        "waist",
        1,
        ANGLE,
        1.0,
        NAMES,
    )
    page = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="600mm" '
        'viewBox="0 0 400 600"><path id="a" d="M0 0Z"/></svg>'
    )
    drawing = Drawing(page, block, 1.0, Similarity(), dict(enumerate(NAMES)), (), frozenset(), None)
    expectation = Expectation(drawing, (middle,), (1.0,))
    # The part between the waist mouth and the cut turns back by the angle; the rest stays.
    corner, upper = _turn(right, -ANGLE), _turn(middle, -ANGLE)
    line = [0j, 100 + 0j, corner, upper, APEX, middle, foot, 500j]
    seam = upper - corner
    axis, centre = (middle - APEX), (upper - APEX) * cmath.exp(0.5j * ANGLE)
    axis, centre = axis / abs(axis), centre / abs(centre)
    # Folded down: the lower leg leads, and the seam below the mouth is copied.
    half = _crossing(APEX, axis * cmath.exp(0.5j * ANGLE), middle, foot - middle)
    crest = APEX + axis * axis * (half - APEX).conjugate()
    # Shut, the side seam is one line and so is its allowance; the excess lies on it.
    beside = 12.7 * -1j * (foot - middle) / abs(foot - middle)
    leg = _crossing(APEX, axis, middle + beside, foot - middle)
    over = _crossing(APEX, axis * cmath.exp(0.5j * ANGLE), middle + beside, foot - middle)
    outside = [
        (line[k] - 12.7j * (b - a) / abs(b - a), b - a)
        for k, (a, b) in enumerate(
            [(0j, corner), (corner, upper), (middle, foot), (foot, 500j), (500j, 0j)]
        )
        for line in [[0j, corner, middle, foot, 500j]]
    ]
    top, above, below, hem, front = outside
    cut = [
        _crossing(*front, *top),
        _crossing(*top, *above),
        _turn(leg, -ANGLE),
        APEX + axis * axis * (over - APEX).conjugate(),
        leg,
        _crossing(*below, *hem),
        _crossing(*hem, *front),
    ]
    outer = Polygon([(z.real, z.imag) for z in cut])

    def data(points: list[complex], closed: bool = True) -> str:
        text = "M " + " L ".join(f"{z.real:.12f},{z.imag:.12f}" for z in points)
        return text + (" Z" if closed else "")

    count = iter(range(1000))

    def part(name: str, d: str, extra: str = "") -> str:
        ident = f"p{next(count)}"
        own = "" if name == "stitch-line" else f' dartswing:self="{ident}"'
        return f'<path id="{ident}" dartswing:part="{name}"{own}{extra} d="{d}"/>'

    def cross(name: str, z: complex, extra: str = "") -> str:
        x, y = z.real, z.imag
        return part(name, f"M {x - 2:.12f} {y:.12f} h 4 M {x:.12f} {y - 2:.12f} v 4", extra)

    def notch(end: complex) -> str:
        way = (end - APEX) / abs(end - APEX)
        best = [_crossing(end, way, p, q - p) for p, q in zip(cut, cut[1:] + cut[:1], strict=True)]
        hits = [
            z
            for z in best
            if outer.exterior.distance(_point(z)) < 1e-6 and ((z - end) / way).real > 0
        ]
        spot = min(hits, key=lambda z: abs(z - end))
        return part("notch", data([spot, spot - way * 4], False))

    texts = []
    for name, z in zip(NAMES, (50 + 1j, (foot + middle) / 2, 150 + 499j, 1 + 250j), strict=True):
        ident = f"p{next(count)}"
        texts.append(
            f'<text id="{ident}" dartswing:part="seam-name" dartswing:self="{ident}" '
            f'x="{z.real}" y="{z.imag}">{name}</text>'
        )
    groups = {
        "Stitch line": part("stitch-line", data(line), ' dartswing:role="outline"'),
        "Cut line": part("cut-line", data(cut)),
        "Dart": part("cap", data([upper, crest, middle], False))
        + part("dart-leg", data([upper, APEX], False))
        + part("dart-leg", data([middle, APEX], False))
        + cross("dart-point", APEX)
        + part("dart-fold", data([APEX, APEX + 90 * centre], False))
        + part("fold-arrow", "M0 0 h5")
        + cross("drill-hole", APEX + 2.0 / math.sin(ANGLE / 2) * centre),
        "Trim window": "",
        "Marks": notch(upper)
        + notch(middle)
        + cross("apex", APEX, ' dartswing:role="apex"')
        + part("grainline", "M 50 100 V 400")
        + part("test-square", "M 0 0 h 50 v 50 h -50 Z")
        + part("note", "M0 0 h1")
        + "".join(texts),
    }
    layer = "".join(
        f'<g inkscape:groupmode="layer" inkscape:label="{label}">{inner}</g>'
        for label, inner in groups.items()
    )
    names = (
        'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
        'xmlns:dartswing="urn:dartswing:1"'
    )
    out = page.replace(
        "</svg>",
        f'<g {names} inkscape:groupmode="layer" inkscape:label="Skirt: '
        f'dart to side seam" dartswing:result="1">{layer}</g></svg>',
    )
    size = Polygon([(z.real, z.imag) for z in line]).area
    lengths = [200.0, abs(foot - right), 300.0, 500.0]
    assert abs(abs(seam) + abs(foot - middle) - lengths[1]) < 1e-9
    report = {
        "blocks": [
            {
                "name": "Skirt",
                "height_mm": 500.0 - min(0.0, right.imag, second.imag),
                "width_mm": 300.0,
                "seams": [
                    {"name": n, "before_mm": v, "after_mm": v}
                    for n, v in zip(NAMES, lengths, strict=True)
                ],
                "openings": [
                    {
                        "seam": "side seam",
                        "angle_deg": 14.0,
                        "share": 1.0,
                        "fold": "down",
                        "intake_mm": abs(upper - middle),
                        "excess": "keep",
                        "why": "woven",
                        "point_mm": [100.0, 130.0],
                        "bend_deg": 0.0,
                        "folded": {"edge_step_mm": 0.0, "excess_off_mm": 0.0},
                    }
                ],
                "angle_before_deg": 14.0,
                "angle_after_deg": 14.0,
                "area_before_mm2": size,
                "area_after_mm2": size,
                "warnings": [],
            }
        ]
    }
    return page, out, report, block, expectation


def _point(z: complex) -> Any:
    return Polygon([(z.real - 1e-9, z.imag), (z.real + 1e-9, z.imag), (z.real, z.imag + 1e-9)])


def test_a_result_worked_out_by_hand_passes() -> None:
    page, out, report, block, expectation = handmade()
    assert check_move(page, out, report, block, expectation) == []


def _nudge(out: str, part: str, by: float, which: int = 2) -> str:
    """Move one number of the first path of a part."""
    head, tail = out.split(f'dartswing:part="{part}"', 1)
    before, rest = tail.split(' d="', 1)
    data, after = rest.split('"', 1)
    words = data.replace(",", " ").split()
    spots = [k for k, word in enumerate(words) if "." in word]
    spot = spots[which]
    words[spot] = f"{float(words[spot]) + by:.12f}"
    return f'{head}dartswing:part="{part}"{before} d="{" ".join(words)}"{after}'


SPOILED: dict[str, Callable[[str, dict[str, Any]], str]] = {
    "stitch line moved by a hundred millionth": lambda o, r: _nudge(o, "stitch-line", 1e-8),
    "cut line off by 0.03": lambda o, r: _nudge(
        _nudge(o, "cut-line", 0.03, 0), "cut-line", 0.03, 1
    ),
    "cap off by 1e-5": lambda o, r: _nudge(o, "cap", 1e-5),
    "dart leg off": lambda o, r: _nudge(o, "dart-leg", 1e-4),
    "drill hole off": lambda o, r: _nudge(_nudge(o, "drill-hole", 1, 0), "drill-hole", 1, 2),
    "notch off": lambda o, r: _nudge(_nudge(o, "notch", 3, 0), "notch", 3, 2),
    "notch too deep": lambda o, r: _nudge(o, "notch", -9, 2),
    "centre line off": lambda o, r: _nudge(o, "dart-fold", 0.1, 2),
    "test square of 49": lambda o, r: o.replace("h 50 v 50 h -50", "h 49 v 50 h -49"),
    "input changed": lambda o, r: o.replace('id="a"', 'id="b"'),
    "page changed": lambda o, r: o.replace('width="400mm"', 'width="400"'),
    "layer with a transform": lambda o, r: o.replace(
        'inkscape:label="Dart"', 'inkscape:label="Dart" transform="scale(1)"'
    ),
    "not ours": lambda o, r: o.replace('dartswing:self="p3"', 'dartswing:self="p4"'),
    "few decimals": lambda o, r: o.replace("0000000000", ""),
    "no result number": lambda o, r: o.replace('dartswing:result="1"', ""),
    "name lost": lambda o, r: o.replace(">hem<", ">wrist<"),
    "no note": lambda o, r: o.replace('part="note"', 'part="nota"'),
    "grainline aslant": lambda o, r: o.replace("V 400", "L 51 400"),
    "fold": lambda o, r: _set(o, r, "fold", "centre"),
    "excess": lambda o, r: _set(o, r, "excess", "trim"),
    "intake": lambda o, r: _set(o, r, "intake_mm", 31.0),
    "bend": lambda o, r: _set(o, r, "bend_deg", 1.0),
    "angle": lambda o, r: _set(o, r, "angle_deg", 14.001),
    "seam": lambda o, r: _set(o, r, "seam", "waist"),
    "length": lambda o, r: (r["blocks"][0]["seams"][0].update(after_mm=200.00001), o)[1],
    "area": lambda o, r: (r["blocks"][0].update(area_after_mm2=1.0), o)[1],
    "key": lambda o, r: (r["blocks"][0].pop("warnings"), o)[1],
}


def _set(out: str, report: dict[str, Any], key: str, value: Any) -> str:
    report["blocks"][0]["openings"][0][key] = value
    return out


@pytest.mark.parametrize("fault", SPOILED)
def test_a_spoiled_result_fails(fault: str) -> None:
    page, out, report, block, expectation = handmade()
    spoiled = SPOILED[fault](out, report)
    assert check_move(page, spoiled, report, block, expectation) != []
