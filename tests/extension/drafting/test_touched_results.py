"""A result that a hand has touched in any way is hers: the same command leaves it alone.

What an editor writes of itself on saving is no touch, and the result is taken the place of.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from shapely.geometry import Polygon

from extension.commands.command_line import main
from extension.document.namespaces import INKSCAPE, LABEL, SODIPODI, SVG, ours
from extension.document.path_data import parse
from extension.document.shapes import mapped_subpaths
from extension.drafting.move_and_allow import Request, allow, move
from tests.help.blocks.drawings import marked_front, page, parts, root_of
from tests.help.blocks.samples import BLOCKS
from tests.help.depth import some_quick

PLACE = Request(to="side seam:0.35; neckline:0.5 as gathers", given={"allowance": "10mm"})
LOCK = f"{{{SODIPODI}}}insensitive"
Touch = Callable[[Any], None]


def layers(root: Any) -> list[Any]:
    return [child for child in root if child.get(ours("result"))]


def restyled(element: Any, **said: str) -> None:
    style = dict(part.split(":") for part in element.get("style", "").split(";") if part)
    style |= {name.replace("_", "-"): value for name, value in said.items()}
    element.attrib["style"] = ";".join(f"{name}:{value}" for name, value in style.items())


def sub(layer: Any, name: str) -> Any:
    (found,) = [child for child in layer if child.get(LABEL) == name]
    return found


def first(layer: Any, part: str) -> Any:
    return parts(layer, part)[0]


def on(part: str, **said: str) -> Touch:
    return lambda layer: restyled(first(layer, part), **said)


def put(part: str, name: str, value: str) -> Touch:
    def touch(layer: Any) -> None:
        first(layer, part).attrib[name] = value

    return touch


def add(layer: Any) -> None:
    etree.SubElement(sub(layer, "Marks"), f"{{{SVG}}}text", x="300", y="300").text = "Taft"


def drop(layer: Any) -> None:
    arrow = first(layer, "fold-arrow")
    arrow.getparent().remove(arrow)


def swap(layer: Any) -> None:
    marks = sub(layer, "Marks")
    marks.insert(0, marks[-1])


def regroup(layer: Any) -> None:
    group = etree.SubElement(sub(layer, "Marks"), f"{{{SVG}}}g", id="g5")
    group.append(first(layer, "apex"))


def type_over(layer: Any) -> None:
    first(layer, "test-square").getnext().text = "50 x 50"


def bend(layer: Any) -> None:
    """Give the cut line a node in the middle of its longest line, and shift it a little."""
    cut = first(layer, "cut-line")
    ((x, y), (u, v)) = max(
        (
            ((a.start.real, a.start.imag), (a.end.real, a.end.imag))
            for a in parse(cut.get("d"))[0].segments
            if len(a) == 2
        ),
        key=lambda ends: abs(complex(*ends[0]) - complex(*ends[1])),
    )
    along = complex(u - x, v - y)
    middle = complex((x + u) / 2, (y + v) / 2) + 1j * along / abs(along)
    data = "M " + " ".join(
        " ".join(
            [f"L {middle.real},{middle.imag}"] * ((x, y) == (a.start.real, a.start.imag))
            + (
                [f"L {a.end.real},{a.end.imag}"]
                if len(a) == 2
                else ["C " + " ".join(f"{z.real},{z.imag}" for z in a[1:])]
            )
        )
        for a in parse(cut.get("d"))[0].segments
    )
    start = parse(cut.get("d"))[0].segments[0].start
    cut.attrib["d"] = data.replace("M ", f"M {start.real},{start.imag} ", 1) + " Z"


def lower(layer: Any) -> None:
    layer.getparent().insert(0, layer)


def nest(layer: Any) -> None:
    etree.SubElement(layer.getparent(), f"{{{SVG}}}g", id="mine").append(layer)


TOUCHES: dict[str, Touch] = {
    "cut line red": on("cut-line", stroke="#ff0000"),
    "cut line thin": on("cut-line", stroke_width="0.3"),
    "cut line filled": on("cut-line", fill="#000000"),
    "stitch line red": on("stitch-line", stroke="#ff0000"),
    "sheet pink": on("sheet", fill="#ffe0e0"),
    "word hidden": on("seam-name", display="none"),
    "letters large": on("note", font_size="9px"),
    "one row red": lambda layer: first(layer, "note")[0].set("style", "fill:#ff0000"),
    "arrow locked": put("fold-arrow", LOCK, "true"),
    "notch faint": put("notch", "opacity", "0.4"),
    "notch of a class": put("notch", "class", "faint"),
    "cap named": put("cap", LABEL, "my cap"),
    "drill hole small": put("drill-hole", "r", "1.2"),
    "grainline moved": put("grainline", "transform", "translate(20,0)"),
    "apex moved": put("apex", "transform", "translate(0,3)"),
    "gathers moved": put("gathers", "transform", "translate(0,3)"),
    "note moved": put("note", "transform", "translate(40,40)"),
    "word flipped": lambda layer: _flip(first(layer, "seam-name")),
    "cut line bent": bend,
    "layer coloured": lambda layer: layer.set(f"{{{INKSCAPE}}}highlight-color", "#ff0000ff"),
    "layer red": lambda layer: restyled(layer, stroke="#ff0000"),
    "layer faint": lambda layer: restyled(layer, opacity="0.5"),
    "layer hidden": lambda layer: restyled(layer, display="none"),
    "layer locked": lambda layer: layer.set(LOCK, "true"),
    "layer named": lambda layer: layer.set(LABEL, "The one I like"),
    "layer moved": lambda layer: layer.set("transform", "translate(700,0)"),
    "layer below its block": lower,
    "layer in another": nest,
    "marks hidden": lambda layer: restyled(sub(layer, "Marks"), display="none"),
    "sheet unlocked": lambda layer: layer[0].attrib.pop(LOCK),
    "marks moved": lambda layer: sub(layer, "Marks").set("transform", "translate(5,0)"),
    "text added": add,
    "arrow deleted": drop,
    "order changed": swap,
    "apex grouped": regroup,
    "square typed over": type_over,
}


def _flip(text: Any) -> None:
    own, x = text.get("transform", ""), float(text.get("x"))
    text.attrib["transform"] = f"{own} translate({2 * x},0) scale(-1,1)".strip()


@pytest.fixture(scope="module")
def written() -> bytes:
    root = root_of(page(marked_front()))
    move(root, PLACE)
    return bytes(etree.tostring(root))


@pytest.mark.parametrize("touch", TOUCHES)
def test_what_a_hand_has_touched_stays(touch: str, written: bytes) -> None:
    root = root_of(written.decode())
    (mine,) = layers(root)
    TOUCHES[touch](mine)
    before = etree.tostring(mine, with_tail=False)
    move(root, PLACE)
    assert etree.tostring(mine, with_tail=False) == before
    assert mine.getroottree().getroot() is root
    (new,) = [layer for layer in layers(root) if layer is not mine]
    one, other = (_shape(layer) for layer in (mine, new))
    assert one.intersection(other).area == pytest.approx(0.0, abs=1e-6)


def _shape(layer: Any) -> Polygon:
    (path,) = mapped_subpaths(first(layer, "cut-line"))
    points = [s.point(k / 16) for s in path.segments for k in range(16)]
    return Polygon([(z.real, z.imag) for z in points])


def as_an_editor_saves(layer: Any) -> None:
    """Write a layer as editors do that say the same in other words."""
    for k, element in enumerate(layer.iter(etree.Element)):
        style = element.attrib.get("style")
        if "d" in element.attrib:
            element.attrib["d"] = _rounded(element.attrib["d"])
            element.attrib[f"{{{SODIPODI}}}nodetypes"] = "ccc"
            element.attrib[f"{{{INKSCAPE}}}connector-curvature"] = "0"
        for name in ("x", "y", "cx", "cy", "transform"):
            if name in element.attrib:
                element.attrib[name] = _rounded(element.attrib[name])
        if style and k % 3 == 0:
            for said in style.split(";"):
                name, _colon, value = said.partition(":")
                if name not in ("line-height",):
                    element.attrib[name] = value
            heights = [said for said in style.split(";") if said.startswith("line-height")]
            element.attrib["style"] = ";".join(heights)
        elif style:
            said = [part.replace(":", ": ") for part in reversed(style.split(";"))]
            said += ["stroke-opacity:1", "display:inline", "font-style:normal", "opacity:1"]
            plain = "; ".join(said).replace("#000000", "#000").replace("sans-serif", "'sans-serif'")
            element.attrib["style"] = plain.replace(",", ", ") + ";"
        if element.tag == f"{{{SVG}}}text":
            for row in element:
                row.set("id", f"tspan{k}")
                row.set("style", "stroke-width:0.26458")
    layer.set("style", "display:inline")
    layer.set(f"{{{INKSCAPE}}}expanded", "true")


def _rounded(text: str) -> str:
    return re.sub(r"-?\d+\.\d+(?:e-?\d+)?", lambda found: f"{float(found[0]):.8g}", text)


def test_what_an_editor_writes_of_itself_is_no_touch(written: bytes) -> None:
    root = root_of(written.decode())
    (mine,) = layers(root)
    as_an_editor_saves(mine)
    move(root, PLACE)
    (new,) = layers(root)
    assert new is not mine


@pytest.mark.parametrize("sample", some_quick(BLOCKS, 4), ids=lambda path: path.stem)
def test_a_result_of_every_sample_is_taken_the_place_of(sample: Path, tmp_path: Path) -> None:
    once, twice = tmp_path / "once.svg", tmp_path / "twice.svg"
    assert main(["move", str(sample), "-o", str(once)]) == 0
    assert main(["move", str(once), "-o", str(twice)]) == 0
    one, two = (layers(etree.parse(str(path)).getroot()) for path in (once, twice))
    assert [layer.get(LABEL) for layer in one] == [layer.get(LABEL) for layer in two]


def test_what_was_touched_stays_hers_when_it_is_drawn_again() -> None:
    root = root_of(page(marked_front()))
    asked = Request(given={"allowance": "10mm"})
    allow(root, asked)
    (mine,) = layers(root)
    TOUCHES["note moved"](mine)
    stitch = str(first(mine, "stitch-line").get("id"))
    allow(root, asked._replace(selection=[stitch]))
    allow(root, asked._replace(selection=["block"]))
    assert len(layers(root)) == 2
    assert layers(root)[0] is mine


def test_what_is_drawn_again_untouched_is_still_as_drawn() -> None:
    root = root_of(page(marked_front()))
    asked = Request(given={"allowance": "10mm"})
    allow(root, asked)
    (old,) = layers(root)
    stitch = str(first(old, "stitch-line").get("id"))
    allow(root, asked._replace(selection=[stitch]))
    assert layers(root) == [old]
    allow(root, asked._replace(selection=["block"]))
    (new,) = layers(root)
    assert new is not old


def test_of_two_results_the_touched_one_stays_and_nothing_lies_on_it(tmp_path: Path) -> None:
    sample = next(path for path in BLOCKS if path.stem == "front_princess_line")
    once, twice = tmp_path / "once.svg", tmp_path / "twice.svg"
    assert main(["move", str(sample), "-o", str(once)]) == 0
    tree = etree.parse(str(once))
    for layer in layers(tree.getroot())[1:]:
        TOUCHES["cut line red"](layer)
    tree.write(str(once))
    assert main(["move", str(once), "-o", str(twice)]) == 0
    mine, *new = layers(etree.parse(str(twice)).getroot())
    assert "stroke:#ff0000" in first(mine, "cut-line").get("style")
    assert len(new) == 2
    for layer in new:
        assert _shape(mine).intersection(_shape(layer)).area == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    "touch", ["layer hidden", "layer locked", "layer coloured", "layer red", "layer faint"]
)
def test_a_layer_stays_as_it_looks_when_it_is_allowed(touch: str, written: bytes) -> None:
    root = root_of(written.decode())
    (mine,) = layers(root)
    stitch = str(first(mine, "stitch-line").get("id"))
    TOUCHES[touch](mine)
    before = dict(mine.attrib)
    allow(root, Request(selection=[stitch]))
    assert dict(mine.attrib) == before


@pytest.mark.parametrize("touch", ["cut line red", "arrow locked", "notch faint", "word hidden"])
def test_parts_stay_as_they_look_when_they_are_drawn_again(touch: str, written: bytes) -> None:
    root = root_of(written.decode())
    (mine,) = layers(root)
    TOUCHES[touch](mine)
    looks = _looks(mine)
    allow(root, Request())
    assert _looks(mine) == looks


def _looks(layer: Any) -> list[tuple[str | None, ...]]:
    return [
        tuple(each.get(name) for name in (ours("part"), "style", "opacity", LOCK))
        for each in layer.iter()
        if each.get(ours("part"))
    ]


@pytest.mark.parametrize("shift", [20 + 0j, -14.5 + 12j])
def test_a_grainline_moved_by_a_transform_is_followed_like_one_of_moved_nodes(
    shift: complex, written: bytes
) -> None:
    lines = []
    for by_nodes in (True, False):
        root = root_of(written.decode())
        grain = first(root, "grainline")
        path = mapped_subpaths(grain)[0].segments[0]
        if by_nodes:
            moved = [z + shift for z in (path.start, path.end)]
            (a, b) = ((z.real, z.imag) for z in moved)
            grain.attrib["d"] = f"M {a[0]},{a[1]} L {b[0]},{b[1]}"
        else:
            grain.attrib["transform"] = f"translate({shift.real},{shift.imag})"
        allow(root, Request())
        drawn = mapped_subpaths(first(root, "grainline"))[0].segments[0]
        assert abs(drawn.start - path.start - shift) < 1e-6
        assert abs(drawn.end - path.end - shift) < 1e-6
        lines.append(drawn)
    assert max(abs(a - b) for a, b in zip(*lines, strict=True)) < 1e-6
