"""Where results go: no two on one another, and the same one again in place of itself."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pytest
from shapely.geometry import Polygon, box

from extension.document.namespaces import LABEL, ours
from extension.document.path_data import parse
from extension.document.svg_document import read_document
from extension.drafting.move_and_allow import Request, allow, move
from tests.help.blocks.drawings import marked_front, page, parts, root_of

PLACES = ("side seam:0.35", "neckline/centre front", "shoulder", "armhole:0.4", "waist")


def layers(root: Any) -> list[Any]:
    return [child for child in root if child.get(ours("result"))]


def shape(element: Any) -> Any:
    chain = parse(element.get("d"))[0].segments
    points = [segment.point(k / 16) for segment in chain for k in range(16)]
    return Polygon([(z.real, z.imag) for z in points])


def front() -> Any:
    return root_of(page(marked_front()))


def test_five_results_in_a_row_lie_beside_one_another() -> None:
    root = front()
    for place in PLACES:
        move(root, Request(to=place))
    shapes = [shape(cut) for cut in parts(root, "cut-line")]
    squares = [
        box(x, y, x + 50, y + 50)
        for square in parts(root, "test-square")
        for x, y in [(float(square.get("x")), float(square.get("y")))]
    ]
    assert len(shapes) == len(PLACES)
    for one, other in itertools.combinations([*shapes, *squares], 2):
        assert one.intersection(other).area == 0.0


def test_the_first_lies_over_its_block_and_every_sheet_under_its_lines() -> None:
    root = front()
    move(root, Request(to=PLACES[0]))
    (layer,) = layers(root)
    (sheet,) = parts(root, "sheet")
    assert sheet.getparent() is layer[0]
    assert layer[0].get("{http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd}insensitive") == "true"
    assert shape(sheet).equals(shape(parts(root, "cut-line")[0]))
    point = parts(root, "dart-point")[0]
    outcome = move(front(), Request(to=PLACES[0])).report["blocks"]
    assert outcome[0]["openings"][0]["point_mm"] == pytest.approx(  # type: ignore[index]
        [float(point.get("cx")), float(point.get("cy"))], abs=1e-6
    )


@pytest.mark.parametrize("place", PLACES[:2])
def test_the_same_command_again_takes_the_place_of_its_result(place: str) -> None:
    root = front()
    move(root, Request(to=PLACES[2]))
    for _ in range(3):
        move(root, Request(to=place))
    assert len(layers(root)) == 2
    first = [shape(cut).centroid for cut in parts(root, "cut-line")]
    move(root, Request(to=place))
    again = [shape(cut).centroid for cut in parts(root, "cut-line")]
    assert [z.coords[0] for z in first] == [z.coords[0] for z in again]


def test_a_result_that_was_touched_stays() -> None:
    for touch in (reshape, retype, drag, add, delete):
        root = front()
        move(root, Request(to=PLACES[0]))
        touch(layers(root)[0])
        move(root, Request(to=PLACES[0]))
        assert len(layers(root)) == 2, touch.__name__
        one, other = layers(root)
        assert other.get(LABEL) == f"{one.get(LABEL)} (2)"
        shapes = [shape(cut) for cut in parts(root, "cut-line")]
        assert shapes[0].intersection(shapes[1]).area == 0.0


def reshape(layer: Any) -> None:
    (stitch,) = parts(layer, "stitch-line")
    first, *rest = stitch.get("d").split(" L ")
    x, y = rest[0].split(" ")[0].split(",")
    moved = f"{float(x) + 5},{y}"
    stitch.set("d", " L ".join([first, rest[0].replace(f"{x},{y}", moved, 1), *rest[1:]]))


def retype(layer: Any) -> None:
    parts(layer, "seam-name")[0].text = "hem"


def drag(layer: Any) -> None:
    parts(layer, "test-square")[0].set("x", "700")


def add(layer: Any) -> None:
    circle = layer.makeelement(f"{{{layer.nsmap[None]}}}circle", cx="10", cy="10", r="3")
    layer[-1].append(circle)


def delete(layer: Any) -> None:
    notch = parts(layer, "notch")[0]
    notch.getparent().remove(notch)


def test_results_of_results_lie_beside_one_another() -> None:
    root = front()
    asked = Request(to=PLACES[0])
    for place in PLACES[1:]:
        move(root, asked)
        (*_, stitch) = parts(root, "stitch-line")
        asked = Request(to=place, selection=[str(stitch.get("id"))])
    shapes = [shape(cut) for cut in parts(root, "cut-line")]
    assert len(shapes) == len(PLACES) - 1
    for one, other in itertools.combinations(shapes, 2):
        assert one.intersection(other).area == 0.0


def test_other_settings_are_another_result() -> None:
    root = front()
    move(root, Request(to=PLACES[0]))
    move(root, Request(to=PLACES[0], given={"excess": "trim"}))
    assert len(layers(root)) == 2


def test_over_and_beside_can_be_said() -> None:
    root = front()
    move(root, Request(to=PLACES[0], place="beside"))
    move(root, Request(to=PLACES[1], place="over"))
    beside, over = (shape(cut) for cut in parts(root, "cut-line"))
    assert beside.bounds[0] > over.bounds[2]
    stitch = parts(root, "stitch-line")[1]
    assert ours("shift") not in stitch.attrib


def test_what_lies_beside_is_drawn_again_where_it_lies() -> None:
    root = front()
    move(root, Request(to=PLACES[0], place="beside"))
    before = shape(parts(root, "cut-line")[0])
    allow(root, Request())
    assert before.hausdorff_distance(shape(parts(root, "cut-line")[0])) < 1e-6


def test_what_its_places_ask_for_tells_one_result_from_another() -> None:
    """Shares and widths stand in the words of a place, and in no setting."""
    asked = (
        "side seam:0.35=0.6; armhole:0.5=0.4",
        "side seam:0.35=0.5; armhole:0.5=0.5",
        "side seam:0.35=20mm; armhole:0.5",
    )
    root = front()
    for number, to in enumerate(asked, start=1):
        for _ in range(2):
            move(root, Request(to=to))
            assert len(layers(root)) == number


def test_a_block_of_several_paths_lies_beside_its_results_too() -> None:
    sample = Path(__file__).parents[3] / "sample_svgs" / "front_seam_by_seam.svg"
    root = read_document(str(sample)).getroot()
    for number, place in enumerate(PLACES[:3], start=1):
        move(root, Request(to=place))
        assert len(layers(root)) == number
