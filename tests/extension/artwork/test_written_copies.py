"""What a written file says of its artwork: turned back it is the original, cut by its sector."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from lxml import etree
from shapely.geometry import Point, Polygon
from shapely.ops import unary_union

from extension.commands.command_line import main
from tests.extension.artwork.written_copies import (
    LABEL,
    OURS,
    SVG,
    Matrix,
    clip_rings,
    copies,
    moved,
    moves_of,
    result_layers,
    sector_groups,
    to_root,
)
from tests.help.blocks.artwork import OBJECTS, with_artwork
from tests.help.contract.contract import check_input_kept
from tests.help.contract.contract_model import parse_path, ring

#: Blocks of one apex and of two, whole and cut in two, and how many results come of them.
CASES = {
    "front_one_path": 1,
    "front_two_darts": 1,
    "back_two_darts": 1,
    "front_princess_line": 2,
    "front_shoulder_dart_kept": 1,
    "front_french_dart": 1,
}
#: The ids of their outlines.
BLOCKS = {"front-block", "back-block"}
EXACT = 1e-9


def run(drawing: Path, *more: str, command: str = "move") -> etree._Element:
    out = drawing.with_name(f"{drawing.stem}-out.svg")
    assert main([command, str(drawing), "-o", str(out), *more]) == 0
    return etree.parse(str(out)).getroot()


def words(element: etree._Element) -> list[str]:
    return "".join(element.itertext()).split()


@pytest.fixture(params=CASES)
def written(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[str, etree._Element]:
    """A sample's name, and its drawing with its dart moved and its artwork along."""
    drawing = tmp_path / "drawn.svg"
    drawing.write_text(with_artwork(request.param), encoding="utf-8")
    return request.param, run(drawing, "--artwork", "--fill", "as-drawn", "--place", "beside")


@pytest.mark.parametrize(
    "motion", ["matrix(0 -2 2 0 40 700)", "scale(-1 1) rotate(20)", "translate(9 -9) scale(.25)"]
)
def test_so_they_do_in_a_layer_that_is_turned_mirrored_or_scaled(
    motion: str, tmp_path: Path
) -> None:
    text = with_artwork("front_two_darts")
    start, end = text.index("<g id="), text.index("</svg>")
    drawing = tmp_path / "turned.svg"
    drawing.write_text(
        f'{text[:start]}<g id="all" transform="{motion}">{text[start:end]}</g></svg>',
        encoding="utf-8",
    )
    test_copies_turned_back_lie_on_their_originals(("", run(drawing, "--artwork")))


def test_the_drawing_itself_stays(written: tuple[str, etree._Element]) -> None:
    sample, root = written
    text = etree.tostring(root, encoding="unicode")
    assert not list(check_input_kept(with_artwork(sample), text, CASES[sample]))


def test_copies_turned_back_lie_on_their_originals(written: tuple[str, etree._Element]) -> None:
    _sample, root = written
    seen = set()
    for layer in result_layers(root):
        for copy in copies(layer):
            [original] = root.xpath("//*[@id=$name]", name=copy.original)
            seen.add(copy.original)
            back = np.linalg.inv(copy.motion) @ to_root(copy.element)
            there = to_root(original)
            for z in (0j, 400 + 0j, 400j, -300 - 500j):
                assert abs(moved(back, z) - moved(there, z)) < EXACT, copy.original
            for name in ("d", "points", "x", "y", "width", "height", "rx", "cx", "cy", "r", "ry"):
                assert copy.element.get(name) == original.get(name)
            assert copy.element.tag == original.tag
            if original.tag != f"{SVG}g":
                assert words(copy.element) == words(original)
            assert abs(np.linalg.det(copy.motion) - 1.0) < 1e-14, "a sector turns, and no more"
    assert seen >= set(OBJECTS)
    assert not seen & {"far-away", "hidden", "apex", "target", *BLOCKS}


def outline_polygon(pieces: Sequence[tuple[complex, ...]]) -> Polygon:
    return Polygon(ring(list(pieces), 60))


def carried(polygon: Polygon, motion: Matrix) -> Polygon:
    points = [moved(motion, complex(*xy)) for xy in polygon.exterior.coords]
    return Polygon([(z.real, z.imag) for z in points]).buffer(0)


def apexes(root: etree._Element) -> list[complex]:
    """The pivots as the drafter drew them: a circle, or a cross whose first line is level."""
    found = []
    for element in root.iter():
        if element.get(LABEL) == "apex" and not element.get(f"{OURS}part"):
            if element.tag == f"{SVG}circle":
                found.append(complex(float(element.get("cx")), float(element.get("cy"))))
            else:
                [(first, *_), *_rest] = parse_path(element.get("d"))[0]
                found.append((first[0] + first[-1]) / 2)
    return found


def test_clips_are_the_sectors_outlines(written: tuple[str, etree._Element]) -> None:
    """Moved, each has its nodes on the stitch line; as drawn, they are together the whole block."""
    _sample, root = written
    pivots = apexes(root)
    parts: list[Polygon] = []
    for layer in result_layers(root):
        [stitch] = [e for e in layer.iter() if e.get(f"{OURS}part") == "stitch-line"]
        nodes = [piece[0] for piece in parse_path(stitch.get("d"))[0][0]]
        for group in sector_groups(layer, "artwork"):
            moves = moves_of(group)
            drawn_nodes: list[complex] = []
            left: Polygon | None = None
            for move, pieces in zip(moves, clip_rings(group), strict=True):
                # What was done before this move, undone: as the block was drawn.
                undone = np.linalg.inv(to_root(moves[0])) @ to_root(move)
                drawn = carried(outline_polygon(pieces), undone)
                left = drawn if left is None else left.intersection(drawn)
                drawn_nodes += [moved(undone, piece[0]) for piece in pieces]
            assert left is not None
            parts.append(left)
            reached = left.buffer(1e-6)
            whole = to_root(moves[0])
            for z in drawn_nodes:
                if reached.covers(Point(z.real, z.imag)):
                    distance = min(abs(moved(whole, z) - node) for node in nodes)
                    assert distance < EXACT or min(abs(z - p) for p in pivots) < 1e-6, z
    together = unary_union(parts)
    assert sum(part.area for part in parts) == pytest.approx(together.area, rel=1e-5)
    [block] = [e for e in root.iter() if e.get("id") in BLOCKS]
    [(outline, _closed)] = parse_path(block.get("d"))
    assert together.symmetric_difference(outline_polygon(outline)).area < 2.0


def cut_by(element: etree._Element) -> etree._Element:
    """The path by which an element is clipped."""
    identity = str(element.get("clip-path")).removeprefix("url(#").removesuffix(")")
    [clip] = element.getroottree().xpath("//*[@id=$name]", name=identity)
    [path] = clip
    return path


@pytest.mark.parametrize("place", ["over", "beside"])
def test_what_a_gathered_seam_cuts_off_is_not_seen(place: str, tmp_path: Path) -> None:
    """Such a seam is one curve through the parts that it joins: what is beyond it is cut away."""
    drawing, gathered = tmp_path / "drawn.svg", tmp_path / "gathered.svg"
    drawing.write_text(with_artwork("front_one_path"), encoding="utf-8")
    options = ["--to=neckline:0.5", "--as=gathers", "--share=0.7", f"--place={place}"]
    root = run(drawing, "--artwork", *options)
    [layer] = result_layers(root)
    [stitch] = [e for e in layer.iter() if e.get(f"{OURS}part") == "stitch-line"]
    groups = sector_groups(layer, "artwork")
    sectors = [carried(outline_polygon(clip_rings(g)[0]), to_root(g)) for g in groups]
    outline = outline_polygon(parse_path(stitch.get("d"))[0][0])
    assert unary_union(sectors).difference(outline).area > 100
    [around] = {group.getparent() for group in groups}
    assert cut_by(around).get("d") == stitch.get("d")
    # Moved on, what was cut off stays so.
    root.getroottree().write(str(gathered))
    again = run(gathered, "--to=side seam:0.4", "--as=dart", f"--select={layer.get('id')}")
    second = result_layers(again)[-1]
    inner = [e for e in second.iter(f"{SVG}g") if str(e.get("id")).endswith("-artwork-layer")]
    nested = [e for e in inner if e.get("clip-path")]
    assert len(nested) == len(sector_groups(second, "artwork")) == 2
    assert {cut_by(e).get("d") for e in nested} == {stitch.get("d")}
