"""The grainline keeps clear of apex and darts, as another library reads the written lines."""

from __future__ import annotations

import cmath
import itertools
import math
import random
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from shapely.ops import unary_union

from drafting_core.text.errors import DraftingError
from extension.commands.command_line import main
from extension.document.svg_document import parse_document
from extension.drafting.move_and_allow import Request, move
from tests.help.blocks import random_blocks, random_drawings
from tests.help.blocks.core_blocks import drawn
from tests.help.contract.contract_model import NS, SVG
from tests.help.depth import examples
from tests.help.texts.written_results import drawn_line

#: An eye tells two lines apart that are so far from one another (mm).
CLEAR = 3.0
SAMPLES = Path(__file__).parents[3] / "sample_svgs"
#: Moves of one result after another.
CHAINS = {
    "front_one_path": "neckline/centre front; side seam:0.35; shoulder:0.5; waist:0.3; armhole:0.4",
    "front_french_dart": "neckline/centre front; side seam:0.6; waist:0.6; shoulder:0.3",
    "skirt_front_waist_dart": "side seam:0.35; waist:0.7; side seam:0.2; waist",
}


def lines(root: Any, *wanted: str) -> Any:
    found = [e for e in root.iter(f"{SVG}path") if e.get(NS + "part") in wanted]
    return unary_union([line for element in found for line in drawn_line(element)])


@settings(max_examples=examples(80))
@given(st.integers(0, 10**6))
def test_it_keeps_clear_of_apex_and_darts(seed: int) -> None:
    rng = random.Random(seed)
    block = drawn(seed)
    try:
        segment, _, place = random_blocks.random_place(block, rng)
    except RuntimeError:
        return  # no place for a target on this one
    target = random_drawings.Target(segment, place)
    drawing = random_drawings.to_svg(block, rng, targets=(target,))
    root = parse_document(drawing.text.encode()).getroot()
    try:
        move(root, Request())
    except DraftingError:
        return  # some random blocks are not to be moved
    written = etree.fromstring(etree.tostring(root))
    grain = lines(written, "grainline")
    others = lines(written, "apex", "dart-leg", "dart-fold", "fold-arrow")
    size = min(1.0, block.scale)
    assert grain.distance(others) * drawing.mm_per_unit >= CLEAR * size


def straight(root: Any, part: str) -> complex:
    """The way that the longest straight line of a part goes, up or down."""
    (element,) = [e for e in root.iter(f"{SVG}path") if e.get(NS + "part") == part][-1:]
    ways = [
        complex(b[0] - a[0], b[1] - a[1])
        for line in drawn_line(element)
        for a, b in itertools.pairwise(line.coords)
    ]
    return max(ways, key=abs)


def left_edge(root: Any) -> complex:
    """The way along a stitch line's left edge, where these samples have their centre."""
    points = [complex(*xy) for xy in lines(root, "stitch-line").convex_hull.exterior.coords]
    leftmost = min(z.real for z in points)
    edge = [z for z in points if z.real < leftmost + 1]
    top, bottom = (way(edge, key=lambda z: z.imag) for way in (min, max))
    assert bottom.imag - top.imag > 200
    return bottom - top


@pytest.mark.parametrize("sample", CHAINS)
def test_it_stays_with_the_centre_through_every_further_move(sample: str, tmp_path: Path) -> None:
    source = SAMPLES / f"{sample}.svg"
    for number, place in enumerate(CHAINS[sample].split("; ")):
        out = tmp_path / f"{number}.svg"
        assert main(["move", str(source), "--to", place, "--place", "over", "-o", str(out)]) == 0
        root = etree.parse(str(out)).getroot()
        result = [g for g in root if g.get(NS + "result")][-1]
        along, centre = straight(result, "grainline"), left_edge(result)
        assert abs(math.sin(cmath.phase(along / centre))) < 1e-6
        grain = lines(result, "grainline")
        assert grain.distance(lines(result, "apex", "dart-leg", "dart-fold", "fold-arrow")) > 0
        alone = etree.Element(root.tag, root.attrib, root.nsmap)
        alone.append(result)
        source = tmp_path / f"only {number}.svg"
        etree.ElementTree(alone).write(str(source))


def test_her_own_on_a_part_that_turns_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (SAMPLES / "front_one_path.svg").read_text(encoding="utf-8")
    grain = '<path inkscape:label="grain" d="M 190,200 V 260"/>'
    source = tmp_path / "front.svg"
    source.write_text(text.replace("</svg>", f"{grain}</svg>"), encoding="utf-8")
    assert main(["move", str(source), "--to", "neckline:0.3", "-o", str(tmp_path / "o.svg")]) == 0
    told = capsys.readouterr().out
    result = etree.parse(str(tmp_path / "o.svg")).getroot()[-1]
    turned = math.degrees(cmath.phase(straight(result, "grainline") / 1j))
    turned = min(abs(turned), 180 - abs(turned))
    assert turned > 5
    assert f"turned with it by {turned:.1f}°" in told
