"""Rough boxes are never too small, and a box on a sector is never taken for one that misses it."""

from __future__ import annotations

import cmath

from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from shapely.geometry import Polygon, box

from drafting_core.plane.curves import Box
from extension.artwork.affine import Affine, affine_of
from extension.artwork.reached_cells import ReachedCells
from extension.artwork.rough_boxes import RoughBoxes, path_box, widened
from extension.artwork.style_rules import StyleRules
from extension.document.path_data import parse
from tests.extension.artwork.written_copies import matrix_of, moved
from tests.help.depth import examples

SPACE = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
NUMBERS = st.integers(-90, 90).map(str) | st.floats(-90, 90).map(lambda x: f"{x:.3f}")
COUNTS = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}


@st.composite
def path_datas(draw: st.DrawFn) -> str:
    """Path data of all commands, absolute and relative, commands repeated and left out."""
    words: list[str] = []
    for _ in range(draw(st.integers(1, 3))):
        words.append(draw(st.sampled_from("Mm")) if words else "M")
        words += [draw(NUMBERS) for _ in range(2 * draw(st.integers(1, 2)))]
        for _ in range(draw(st.integers(0, 4))):
            letter = draw(st.sampled_from("LHVCSQTA"))
            words.append(letter if draw(st.booleans()) else letter.lower())
            for _ in range(draw(st.integers(1, 2))):
                if letter == "A":
                    words += [*(draw(st.integers(1, 60).map(str)) for _ in range(3))]
                    words += [draw(st.sampled_from(("0", "1"))) for _ in range(2)]
                    words += [draw(NUMBERS), draw(NUMBERS)]
                else:
                    words += [draw(NUMBERS) for _ in range(COUNTS[letter])]
        if draw(st.booleans()):
            words.append(draw(st.sampled_from("Zz")))
    return " ".join(words)


def holds(around: Box, z: complex, by: float = 1e-9) -> bool:
    wide = widened(around, by)
    return wide.left <= z.real <= wide.right and wide.top <= z.imag <= wide.bottom


@settings(max_examples=examples(400))
@given(path_datas())
def test_the_box_of_a_path_holds_all_of_it(data: str) -> None:
    subpaths = [path for path in parse(data) if path.segments]
    found = path_box(data)
    assert found is not None or not subpaths
    for path in subpaths:
        for segment in path.segments:
            for k in range(9):
                assert found is not None
                assert holds(found, segment.point(k / 8), 1e-6)


@settings(max_examples=examples(200))
@given(
    st.lists(
        st.tuples(
            st.sampled_from(
                ("matrix", "translate", "scale", "rotate", "rotate about", "translate along")
            ),
            st.lists(st.floats(-3, 3).map(lambda x: round(x, 3)), min_size=6, max_size=6),
        ),
        max_size=4,
    ),
    st.complex_numbers(max_magnitude=100),
)
def test_transforms_are_read_as_svg_says(
    functions: list[tuple[str, list[float]]], z: complex
) -> None:
    counts = {"matrix": 6, "translate": 2, "scale": 2, "rotate": 1}
    text = " ".join(
        f"{name.split()[0]}("
        + ", ".join(
            map(
                repr,
                numbers[: 3 if name == "rotate about" else 1 if " " in name else counts[name]],
            )
        )
        + ")"
        for name, numbers in functions
    )
    to = affine_of(text)
    assert to is not None
    assert cmath.isclose(to(z), moved(matrix_of(text), z), abs_tol=1e-6, rel_tol=1e-9)
    again = affine_of(to.text())
    assert again == to


def test_what_is_no_transform_is_none() -> None:
    for text in ("turn(3)", "rotate()", "matrix(1,2)", "scale(a)", "translate(1", "rotate(nan)"):
        assert affine_of(text) is None


@settings(max_examples=examples(150))
@given(
    st.lists(st.floats(5, 100), min_size=3, max_size=30),
    st.lists(st.tuples(st.floats(-120, 120), st.floats(-120, 120), st.floats(0, 40)), max_size=20),
)
def test_a_box_that_touches_a_sector_is_seen(
    radii: list[float], boxes: list[tuple[float, float, float]]
) -> None:
    corners = [cmath.rect(r, cmath.tau * k / len(radii)) for k, r in enumerate(radii)]
    cells = ReachedCells(corners)
    shape = Polygon([(z.real, z.imag) for z in corners]).buffer(0)
    for x, y, size in boxes:
        if shape.intersects(box(x, y, x + size, y + size)):
            assert cells.may_reach(Box(x, y, x + size, y + size))


def test_a_box_far_from_a_sector_is_left_out() -> None:
    corners = [0j, 100 + 0j, 100 + 10j, 10 + 10j, 10 + 100j, 100j]
    cells = ReachedCells(corners)
    assert not cells.may_reach(Box(40, 40, 60, 60))
    assert not cells.may_reach(Box(-30, 0, -10, 20))
    assert cells.may_reach(Box(40, 5, 42, 6))
    assert cells.may_reach(Box(-50, -50, 150, 150))


def rough(body: str, name: str) -> Box | None:
    root = etree.fromstring(f'<svg {SPACE} viewBox="0 0 200 300">{body}</svg>')
    named = {e.get("id"): e for e in root.iter() if e.get("id")}
    boxes = RoughBoxes(root, StyleRules(root), lambda: named)
    return boxes.box(named[name])


def test_clones_texts_frames_and_strokes_are_measured() -> None:
    leaf = '<path id="leaf" d="M 0,0 h 10 v 5 z" transform="translate(20 0)"/>'
    clone = rough(f'{leaf}<use id="a" xlink:href="#leaf" x="5" y="7"/>', "a")
    assert clone is not None
    assert holds(clone, 35 + 12j)
    assert not holds(clone, 90 + 12j)
    assert rough('<use id="a" xlink:href="#a"/>', "a") is None
    stroke = rough('<g stroke-width="8"><path id="a" stroke="red" d="M 0,0 H 9"/></g>', "a")
    assert stroke is not None
    assert stroke.bottom >= 4.0
    text = rough('<text id="a" x="50" y="20" style="font-size:10px">Lantern</text>', "a")
    assert text is not None
    assert holds(text, 80 + 15j)
    assert text.right < 200
    end = rough('<text id="a" x="50" y="20" text-anchor="end">Lantern</text>', "a")
    assert end is not None
    assert end.left < 10
    assert end.right < 90
    along = rough(f'{leaf}<text id="a"><textPath xlink:href="#leaf">act</textPath></text>', "a")
    assert along is not None
    assert holds(along, 25 + 2j)
    frame = rough('<image id="a" x="3" y="4" width="50%" height="10" href="x.png"/>', "a")
    assert frame == Box(3, 4, 203, 14)
    blurred = rough('<g id="a" filter="url(#f)"><path d="M 0,0 h 10 v 10 z"/></g>', "a")
    assert blurred is not None
    assert blurred.left < -8
    clip = '<clipPath id="c"><rect x="2" y="2" width="3" height="3"/></clipPath>'
    cut = rough(f'{clip}<g id="a" clip-path="url(#c)"><path d="M 0,0 h 99 v 99 z"/></g>', "a")
    assert cut is not None
    assert cut.right < 10


def test_a_map_takes_a_box_along() -> None:
    to = Affine(0.0, 1.0, -1.0, 0.0, 5.0, 0.0)
    assert to.box(Box(0, 0, 2, 4)) == Box(1, 0, 5, 2)
