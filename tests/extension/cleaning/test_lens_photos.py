"""Photos through a lens that bends: measured by what is known in the picture, and taken out."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pytest
from shapely.geometry import LineString
from shapely.ops import unary_union

from drafting_core.ink.lens import Lens
from drafting_core.ink.polylines import Points
from extension.cleaning.clean_report import clean_lines
from tests.help.depth import some_quick
from tests.help.scans.fresh.lens_kinds import lens
from tests.help.scans.fresh.lines import dense
from tests.help.scans.fresh.plain_kinds import plane_map
from tests.help.scans.traces import cleaned, drawing, line_of, measured, path, refusal, some_block

#: Of the page of `drawing`: the picture.
MIDDLE, REACH = 450 + 450j, abs(450 + 450j)
#: A camera that looks askew: where the corners of the sheet are seen.
ASKEW = plane_map(
    np.array([0, 900, 900 + 900j, 900j]), np.array([20 + 10j, 880 + 30j, 890 + 860j, 5 + 890j])
)
A4 = (210.0, 297.0)
BOARD = [170 + 170j, 670 + 170j, 670 + 770j, 170 + 770j]
BESIDE = [600 + 300j, 810 + 300j, 810 + 597j, 600 + 597j]

Seen = Callable[[Points], Points]


def seen_through(share: float, *, askew: bool = True) -> Seen:
    bent = lens(MIDDLE, REACH, share)
    return lambda points: bent(ASKEW(points) if askew else points)


def rectangle(corners: Sequence[complex]) -> list[Points]:
    ring = np.array([*corners, corners[0]])
    return [dense(ring[k : k + 2], 2.0) for k in range(4)]


def grid(corners: Sequence[complex], square: float) -> list[Points]:
    first, third = corners[0], corners[2]
    lines = []
    for x in np.arange(first.real, third.real + 1.0, square):
        lines.append(dense(np.array([complex(x, first.imag), complex(x, third.imag)]), 2.0))
    for y in np.arange(first.imag, third.imag + 1.0, square):
        lines.append(dense(np.array([complex(first.real, y), complex(third.real, y)]), 2.0))
    return lines


def ink(lines: Sequence[Points], seen: Seen, pen: float = 0.7) -> str:
    """Return what a tracer gives of lines seen through a camera."""
    strokes = [LineString([(z.real, z.imag) for z in seen(line)]) for line in lines]
    drawn = unary_union([stroke.buffer(pen / 2) for stroke in strokes])
    rings = [
        ring
        for shape in getattr(drawn, "geoms", [drawn])
        for ring in (shape.exterior, *shape.interiors)
    ]
    d = " ".join(
        "M " + " L ".join(f"{x:.5f},{y:.5f}" for x, y in ring.coords[:-1]) + " Z" for ring in rings
    )
    return f'<path d="{d}"/>'


def mark(corners: Sequence[complex], seen: Seen, label: str) -> str:
    """Return the drafter's mark, set by hand."""
    by_hand = np.array([0.2 - 0.1j, -0.1 - 0.2j, 0.15j, -0.2 + 0.1j])
    return path((seen(np.array(corners)) + by_hand).tolist(), True, label)


@pytest.mark.parametrize(
    ("known", "share", "askew"),
    some_quick(
        [
            ("board", -0.018, True),
            ("beside", 0.015, False),
            ("grid", -0.012, True),
            ("board", 0.006, True),
            ("beside", -0.02, True),
            ("grid", 0.01, False),
            ("grid", 0.0, True),
        ],
        2,
    ),
)
def test_a_lens_is_measured_and_taken_out(known: str, share: float, askew: bool) -> None:
    block, rng = some_block(5, "front")
    seen = seen_through(share, askew=askew)
    line = np.array(line_of(block, rng))
    if known == "board":
        lines, corners, label = rectangle(BOARD), BOARD, "known rectangle 500x600mm"
    elif known == "beside":
        lines, corners, label = rectangle(BESIDE), BESIDE, "known rectangle A4"
    else:
        corners = [600 + 300j, 800 + 300j, 800 + 550j, 600 + 550j]
        lines, label = grid(corners, 25.0), "known squares 25 mm"
    text = drawing(ink([np.append(line, line[0]), *lines], seen), mark(corners, seen, label))
    done, root = cleaned(text, square="no")
    found = measured(done, root, block)
    # The hand's wobble is 0.25 mm; what the lens would leave at this share is 3 to 9 mm.
    assert max(found.corners) <= 0.8
    assert len(done.cleaned) == 1
    told = any("lens bows" in words for words in done.remarks)
    assert told == (share != 0.0)
    if told:
        assert any("the page" in words and "taken out" in words for words in clean_lines(done))


def test_without_ink_nothing_is_bent() -> None:
    """Nobody can tell then: the drafter reads by how much a usual lens would be off."""
    block, rng = some_block(5, "front")
    seen = seen_through(-0.01)
    line = np.array(line_of(block, rng))
    small = [740 + 700j, 800 + 700j, 800 + 770j, 740 + 770j]
    text = drawing(
        ink([np.append(line, line[0])], seen), mark(small, seen, "known rectangle 60x70mm")
    )
    done, _root = cleaned(text, square="no")
    assert any("no ink shows" in words and "mm" in words for words in done.remarks)
    assert not any("taken out" in words for words in done.remarks)


@pytest.mark.thorough
def test_straight_lines_stay_straight() -> None:
    block, rng = some_block(5, "front")
    seen = seen_through(0.0)
    line = np.array(line_of(block, rng))
    text = drawing(
        ink([np.append(line, line[0]), *rectangle(BOARD)], seen),
        mark(BOARD, seen, "known rectangle 500x600mm"),
    )
    done, root = cleaned(text, square="no")
    assert done.remarks == []
    assert max(measured(done, root, block).corners) <= 0.8


def test_what_a_rectangle_cannot_tell_is_told() -> None:
    """A small sheet in a large picture: the message says by how much the block may be off."""
    block, rng = some_block(5, "front")
    seen = seen_through(-0.012)
    line = np.array(line_of(block, rng))
    card = [700 + 600j, 785 + 600j, 785 + 654j, 700 + 654j]
    text = drawing(
        ink([np.append(line, line[0]), *rectangle(card)], seen),
        mark(card, seen, "known rectangle 85x54mm"),
    )
    done, root = cleaned(text, square="no")
    off = max(measured(done, root, block).corners)
    said = [words for words in done.remarks if "may be off by" in words]
    assert said
    assert off > 1.0
    figure = done.scale.figure
    assert figure is not None
    assert figure.found is not None
    drawn = seen(line)
    assert off <= figure.found.off_at(drawn) * 1.5


def test_squares_that_cannot_be_counted_are_refused() -> None:
    block, rng = some_block(5, "front")
    seen = seen_through(0.0)
    line = np.array(line_of(block, rng))
    lines = [*rectangle(BESIDE), *grid(BESIDE, 70.0)[:1]]
    text = drawing(
        ink([np.append(line, line[0]), *lines], seen), mark(BESIDE, seen, "known grid 25mm")
    )
    assert "could not be counted" in refusal(text)


@pytest.mark.parametrize("share", [-0.05, -0.01, 0.0, 0.02, 0.05])
def test_a_lens_and_its_way_back_are_one(share: float) -> None:
    points = np.array([3 + 4j, 450 + 450j, 10 + 880j, 700 + 20j, -50 - 60j])
    seen = Lens(MIDDLE, REACH, share)
    assert np.abs(seen.straightened(seen.bent(points)) - points).max() < 1e-6
    assert np.abs(seen.bent(points) - lens(MIDDLE, REACH, share)(points)).max() < 1e-9
