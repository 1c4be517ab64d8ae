"""Clones and symbols: where their centre lies, whatever carries them there."""

from __future__ import annotations

import cmath
import math
import os
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drafting_core.text.errors import DraftingError
from extension.document.shapes import box_of, centre_of, mapped_subpaths
from tests.help.blocks.drawings import page, root_of

BOX = "M 1,2 h 10 v 6 h -10 z"
#: The centre of that box.
AT = 6 + 5j
PAGE = 'width="300px" height="400px" viewBox="0 0 300 400"'
DEFS = (
    f'<defs><symbol id="plain"><path d="{BOX}"/></symbol>'
    f'<symbol id="fitted" viewBox="0 0 20 10"><path d="{BOX}"/></symbol>'
    f'<symbol id="moved" viewBox="4 2 20 10" preserveAspectRatio="xMinYMax slice"><path d="{BOX}"/>'
    f'</symbol><symbol id="sized" viewBox="0 0 20 10" width="40" height="20"><path d="{BOX}"/>'
    f'</symbol><symbol id="turned" transform="translate(5,7) rotate(10)"><path d="{BOX}"/></symbol>'
    f'<path id="kept" transform="rotate(20)" d="{BOX}"/></defs>'
)
#: Clones as the editor and other programs write them, all in one drawing.
CLONES = {
    "a symbol": '<use id="{id}" xlink:href="#plain" x="100" y="50"/>',
    "a symbol as wide as the page": '<use id="{id}" xlink:href="#fitted" x="100" y="50"/>',
    "a symbol in a box": '<use id="{id}" xlink:href="#fitted" x="9" y="5" width="40" height="40"/>',
    "a symbol that is cut off": '<use id="{id}" xlink:href="#moved" width="70" height="20"/>',
    "a symbol of its own size": '<use id="{id}" xlink:href="#sized" x="100" y="50"/>',
    "a symbol that is turned": '<use id="{id}" xlink:href="#turned" x="100" y="50"/>',
    "out of defs": '<use id="{id}" xlink:href="#kept" x="9" y="5" transform="rotate(10)"/>',
    "of a scaled layer": '<use id="{id}" xlink:href="#one" x="3" y="5" transform="scale(2,-1)"/>',
    "of a group": '<use id="{id}" xlink:href="#pair" x="3" y="5" transform="translate(1,2)"/>',
    "of a layer": '<use id="{id}" xlink:href="#layer" x="0" y="0" transform="skewX(12)"/>',
    "of a clone": '<use id="{id}" xlink:href="#twin" x="3" y="5" transform="rotate(5)"/>',
    "of a clone in a group": '<use id="{id}" xlink:href="#with-twin" transform="rotate(-5,9,9)"/>',
    "in other units": '<use id="{id}" xlink:href="#one" x="3mm" y="10%"/>',
    "in a group that is askew": '<g transform="matrix(1,0.5,0,1,4,4)">'
    '<use id="{id}" xlink:href="#fitted" width="30" height="30"/></g>',
}
DRAWN = (
    '<g id="layer" inkscape:groupmode="layer" transform="translate(30,40) scale(2)">'
    f'<path id="one" transform="rotate(30)" d="{BOX}"/>'
    f'<g id="pair" transform="scale(1.5)"><path d="{BOX}"/><path d="M 30,2 h 4 v 9 h -4 z"/></g>'
    '<use id="twin" xlink:href="#one" x="3" y="5" transform="translate(1,2)"/>'
    '<g id="with-twin"><use xlink:href="#twin" x="7"/><use xlink:href="#plain" y="40"/></g></g>'
)


def drawing() -> str:
    clones = "".join(
        text.format(id=f"clone-{number}") for number, text in enumerate(CLONES.values())
    )
    xlink = f'{PAGE} xmlns:xlink="http://www.w3.org/1999/xlink" style="stroke:none"'
    return page(DEFS + DRAWN + clones, xlink)


@pytest.mark.thorough
def test_the_editor_sees_every_clone_where_it_is_read(tmp_path: Path) -> None:
    file = tmp_path / "clones.svg"
    file.write_text(drawing(), encoding="utf-8")
    path = f"/usr/bin:{os.environ['PATH']}"
    seen = subprocess.run(
        ["inkscape", "--query-all", str(file)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PATH": path},
    ).stdout
    boxes = {line.split(",")[0]: [*map(float, line.split(",")[1:])] for line in seen.split("\n")}
    root = root_of(drawing())
    for number, name in enumerate(CLONES):
        (clone,) = root.xpath(f"//*[@id='clone-{number}']")
        left, top, width, height = boxes[f"clone-{number}"]
        box = box_of(clone)
        assert (box.left, box.top) == pytest.approx((left, top), abs=2e-3), name
        sides = (box.right - box.left, box.bottom - box.top)
        assert sides == pytest.approx((width, height), abs=2e-3), name
        assert centre_of(clone) == pytest.approx(box.centre, abs=1e-9), name


numbers = st.floats(-50, 50, allow_nan=False)


@given(
    steps=st.lists(st.tuples(numbers, numbers, numbers, st.floats(-3, 3)), min_size=1, max_size=5),
    layers=st.lists(st.tuples(numbers, numbers), min_size=5, max_size=5),
)
def test_a_clone_of_clones_on_any_layers_is_carried_by_each_of_them(
    steps: list[tuple[float, float, float, float]], layers: list[tuple[float, float]]
) -> None:
    # Only the layer of the last clone moves it: an original's own layer does not.
    body = f'<g transform="translate(7,9) scale(3)"><path id="c0" d="{BOX}"/></g>'
    at = AT
    place = at
    for number, ((x, y, degrees, shift), layer) in enumerate(zip(steps, layers, strict=False)):
        body += (
            f'<g transform="translate({layer[0]!r},{layer[1]!r})"><use id="c{number + 1}" '
            f'href="#c{number}" x="{x!r}" y="{y!r}" '
            f'transform="translate({shift!r},0) rotate({degrees!r})"/></g>'
        )
        at = shift + cmath.rect(1, math.radians(degrees)) * (at + complex(x, y))
        place = at + complex(*layer)
    root = root_of(page(body, PAGE))
    last = root[-1][0]
    # The box's corners lie about the centre that they have.
    points = [z for path in mapped_subpaths(last) for s in path.segments for z in (s.start,)]
    assert sum(points) / len(points) == pytest.approx(place, abs=1e-9)
    assert centre_of(last) == pytest.approx(place, abs=1e-9)


def test_of_a_text_the_anchor_counts_of_a_circle_its_centre() -> None:
    body = (
        '<text id="words" x="10" y="20">target</text><circle id="ring" cx="9" cy="8" r="2"/>'
        '<use href="#words" x="5" y="1"/><use href="#ring" transform="matrix(2,1,0.5,3,0,0)"/>'
    )
    root = root_of(page(body))
    assert centre_of(root[2]) == 15 + 21j
    assert centre_of(root[3]) == complex(2 * 9 + 0.5 * 8, 9 + 3 * 8)
    # Its box is about the ring, as far as that reaches.
    assert box_of(root[3]).right - box_of(root[3]).left == pytest.approx(
        2 * 2 * math.hypot(2, 0.5), rel=1e-3
    )


@pytest.mark.parametrize(
    "clone",
    [
        '<use id="x"/>',
        '<use id="x" href="#gone"/>',
        '<use id="x" href="other.svg#dot"/>',
        '<use id="x" href="#x"/>',
        '<use id="x" href="#around"/>',
        '<g id="x"><use id="y" href="#x"/></g>',
    ],
)
def test_a_clone_that_shows_nothing_has_no_place(clone: str) -> None:
    root = root_of(page(f'<g id="around">{clone}</g>'))
    (found,) = root.xpath("//*[@id='x']")
    with pytest.raises(DraftingError, match=r"its original is not in this drawing|is empty"):
        centre_of(found)


def test_a_clone_without_an_original_does_not_move_the_centre_of_its_group() -> None:
    body = f'<g><path d="{BOX}"/><use href="#gone" x="99"/></g>'
    assert centre_of(root_of(page(body))[0]) == AT


def test_an_original_that_is_renamed_removed_or_drawn_meanwhile_is_what_it_now_is() -> None:
    root = root_of(page(f'<path id="a" d="{BOX}"/><use id="x" href="#a"/><use id="y" href="#b"/>'))
    path, first, second = root
    assert centre_of(first) == AT
    path.set("id", "b")
    assert centre_of(second) == AT
    with pytest.raises(DraftingError, match="its original is not in this drawing"):
        centre_of(first)
    root.remove(path)
    with pytest.raises(DraftingError, match="its original is not in this drawing"):
        centre_of(second)
