"""Free room near a piece: by looking at every place of a fine grid, one after the other."""

from __future__ import annotations

import math
import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting_core.plane.curves import Box
from extension.reading.drawn_boxes import drawn_boxes
from extension.reading.free_room import OFF_PAGE, STEP, FreeRoom
from tests.help.blocks.drawings import root_of
from tests.help.depth import examples

PAGE = (400.0, 300.0)
GAP = 15.0


def drawing(body: str = "", page: tuple[float, float] = PAGE) -> Any:
    width, height = page
    return root_of(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">{body}</svg>'
    )


def apart(one: Box, other: Box) -> float:
    """How far two boxes lie from one another."""
    across = max(one.left - other.right, other.left - one.right, 0.0)
    down = max(one.top - other.bottom, other.top - one.bottom, 0.0)
    return math.hypot(across, down)


def on_page(box: Box) -> bool:
    return box.left >= 0 and box.top >= 0 and box.right <= PAGE[0] and box.bottom <= PAGE[1]


def touches(one: Box, other: Box) -> bool:
    return (
        one.left < other.right
        and other.left < one.right
        and one.top < other.bottom
        and other.top < one.bottom
    )


@pytest.mark.thorough
@settings(max_examples=examples(60), deadline=None)
@given(st.integers(0, 10**6))
def test_no_free_place_is_much_nearer(seed: int) -> None:
    rng = random.Random(seed)

    def some_box(size: float) -> Box:
        x, y = rng.uniform(-100, 450), rng.uniform(-100, 350)
        return Box(x, y, x + rng.uniform(3, size), y + rng.uniform(3, size))

    taken = [some_box(90) for _ in range(rng.randrange(25))]
    piece = some_box(160)
    width, height = rng.uniform(30, 140), rng.uniform(30, 200)
    room = FreeRoom(drawing(), 1.0)
    for box in taken:
        room.add(box)
    at = room.beside(piece, width, height, GAP)
    found = Box(at.real, at.imag, at.real + width, at.imag + height)
    assert not any(touches(found, box) for box in taken)
    assert apart(found, piece) >= GAP - 1e-9
    cost = apart(found, piece) + (0.0 if on_page(found) else OFF_PAGE)
    for i in range(-90, 120):
        for j in range(-90, 120):
            x, y = 8.0 * i, 8.0 * j
            # With room to all sides: the search goes by a grid of its own, and keeps a margin.
            wide = Box(x - STEP, y - STEP, x + width + STEP, y + height + STEP)
            place = Box(x, y, x + width, y + height)
            if any(touches(wide, box) for box in taken) or apart(wide, piece) < GAP + STEP:
                continue
            other = apart(place, piece) + (0.0 if on_page(place) else OFF_PAGE)
            assert cost <= other + 3 * STEP


def test_where_nothing_lies_it_is_right_of_the_piece_and_level_with_it() -> None:
    piece = Box(20.0, 30.0, 120.0, 200.0)
    assert FreeRoom(drawing(), 1.0).beside(piece, 60.0, 90.0, GAP) == complex(135.0, 30.0)


def test_boxes_hold_what_is_drawn_and_nothing_that_is_hidden() -> None:
    body = (
        '<path d="M 10,10 H 50 V 40" style="fill:none"/>'
        '<path d="m 100,100 c 0,40 40,40 40,0 z"/>'
        '<g transform="translate(200 0) scale(2)"><circle cx="10" cy="10" r="5"/></g>'
        '<text x="10" y="250" style="font-size:10px">word</text>'
        '<g style="display:none"><rect width="999" height="999"/></g>'
        '<rect x="300" y="200" width="10" height="20" visibility="hidden"/>'
        '<defs><rect id="r" width="8" height="6"/></defs><use href="#r" x="300" y="100"/>'
        '<path d="no path"/><rect x="nonsense"/>'
    )
    boxes = list(drawn_boxes(drawing(body)))
    assert boxes[0] == (10, 10, 50, 10)
    assert boxes[1] == (50, 10, 50, 40)
    assert boxes[2] == (100, 100, 140, 140)
    assert boxes[3] == (210, 10, 230, 30)
    text = boxes[4]
    assert text.left == 10
    assert 240 <= text.top < text.bottom <= 255
    assert boxes[5] == (300, 100, 308, 106)
    assert len(boxes) == 6
