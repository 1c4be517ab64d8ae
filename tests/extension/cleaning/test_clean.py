"""Cleaning up traces of every kind: lines, strokes, double contours, several blocks, apexes."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest
from shapely.geometry import LinearRing, LineString
from shapely.ops import unary_union

from extension.cleaning.clean_report import clean_lines
from tests.help.blocks.random_blocks import Block
from tests.help.depth import some_quick
from tests.help.scans.clean_measures import outlines_in, true_runs
from tests.help.scans.scanned_blocks import cross_at, strokes_of, wobbled
from tests.help.scans.traces import cleaned, drawing, line_of, measured, path, refusal, some_block


@pytest.mark.parametrize("seed", some_quick(range(12), 6))
def test_a_hand_set_line_of_many_nodes(seed: int) -> None:
    block, rng = some_block(seed)
    done, root = cleaned(drawing(path(line_of(block, rng), closed=True)), square="no")
    found = measured(done, root, block, f"seed {seed}")
    assert max(found.corners) <= 1.0
    assert max(found.rms) <= 0.5
    assert found.darts == 1
    assert all(straight == (1, True) for straight in found.straight)


@pytest.mark.parametrize("seed", range(4))
def test_a_steady_line_is_met_as_truly_as_it_is_drawn(seed: int) -> None:
    block, rng = some_block(seed + 40)
    text = drawing(path(line_of(block, rng, wobble=0.0), closed=True))
    done, root = cleaned(text, square="no", upright="no")
    found = measured(done, root, block)
    # Half a step of the trace (0.5 mm) is cut off its corners by nature.
    assert max(found.corners) <= 0.4
    assert found.largest <= 0.4


def loose_strokes(
    block: Block, rng: random.Random, most: float = 4.0, *, pieces: bool = False
) -> list[list[complex]]:
    """Return a block as strokes whose ends stop short of their corners or run past them."""

    def end(points: list[complex]) -> list[complex]:
        off = rng.uniform(-most, most)
        if off > 0:
            count = int(off / 0.5)
            return points[count:] if len(points) - count > 10 else points
        way = (points[0] - points[6]) / abs(points[0] - points[6])
        return [points[0] - way * off, *points]

    strokes = []
    for stroke in strokes_of(block):
        points = end(end([z + 200 + 200j for z in wobbled(rng, stroke)])[::-1])
        if pieces and len(points) > 80:
            half = len(points) // 2
            strokes += [points[:half], points[half + rng.choice((2, 6, -10)) :]]
        else:
            strokes.append(points if rng.random() < 0.5 else points[::-1])
    rng.shuffle(strokes)
    return strokes


@pytest.mark.thorough
@pytest.mark.parametrize("pieces", [False, True])
def test_strokes_with_gaps_and_overshoots_are_joined(pieces: bool) -> None:
    corners: list[float] = []
    for seed in range(8 if pieces else 14):
        block, rng = some_block(seed)
        strokes = loose_strokes(block, rng, pieces=pieces)
        done, root = cleaned(drawing(*map(path, strokes)), square="no")
        found = measured(done, root, block, f"seed {seed}")
        assert found.darts == 1, found.name
        assert len(found.corners) == len(done.cleaned[0].block.runs), found.name
        joins = done.cleaned[0].block.traced.joins
        assert len(joins) >= len(strokes) - 2, found.name
        # Two gaps that meet at a corner are closed where their lines meet.
        assert max(join.size for join in joins) <= 2 * 5.0
        corners += found.corners
    # Nobody knows better than the strokes do where they would have met.
    assert sum(error <= 1.0 for error in corners) >= 0.95 * len(corners)
    assert max(corners) <= 3.0


def test_a_wider_gap_is_left_and_told() -> None:
    block, rng = some_block(3)
    strokes = strokes_of(block)
    strokes[2] = strokes[2][16:]
    text = drawing(*(path([z + 200 + 200j for z in s]) for s in strokes))
    said = refusal(text)
    assert "no closed line was found" in said
    assert "two ends stay 8 mm apart" in said
    assert "--gap 9mm" in said
    assert cleaned(text, gap="9mm")[0].cleaned
    assert rng is not None


def test_strokes_drawn_twice_are_one() -> None:
    block, rng = some_block(14)
    strokes = [[z + 200 + 200j for z in wobbled(rng, s)] for s in strokes_of(block)]
    twice = [[z + 0.4 for z in wobbled(rng, s[4:-4])] for s in strokes if len(s) > 60]
    done, root = cleaned(drawing(*map(path, [*strokes, *twice])), square="no")
    found = measured(done, root, block)
    assert done.cleaned[0].block.traced.doubled >= len(twice) - 1
    # Between both lines, which lie 0.4 mm apart: no further off than either is.
    assert max(found.rms) <= 0.5
    assert found.darts == 1


def contours(line: Sequence[complex], pen: float) -> tuple[list[complex], list[complex]]:
    """Return the two edges of a pen line, by shapely's buffer of it."""

    ring = LinearRing([(z.real, z.imag) for z in line]).buffer(pen / 2)
    outer = [complex(x, y) for x, y in ring.exterior.coords[:-1]]
    inner = max(ring.interiors, key=lambda hole: hole.length)
    return outer, [complex(x, y) for x, y in inner.coords[:-1]]


def test_of_a_double_contour_the_middle_is_taken() -> None:
    """One compound path, two paths, or two in groups of their own: the same block."""
    block, rng = some_block(18)
    line = line_of(block, rng, wobble=0.0)
    outer, inner = contours(line, 3.0)
    d = [
        "M " + " L ".join(f"{z.real:.6f},{z.imag:.6f}" for z in edge) + " Z"
        for edge in (outer, inner)
    ]
    ways = [
        f'<path d="{d[0]} {d[1]}" style="fill:#000;fill-rule:evenodd"/>',
        f'<path d="{d[0]}"/><path d="{d[1]}"/>',
        f'<g transform="translate(3,4)"><path d="{d[1]}" transform="translate(-3,-4)"/></g>'
        f'<g><path d="{d[0]}" style="fill:none;stroke:red"/></g>',
    ]
    outlines = []
    for way in ways:
        done, root = cleaned(drawing(way), square="no", upright="no")
        found = measured(done, root, block)
        # Either edge lies 1.5 mm off.
        assert found.largest <= 0.4
        assert done.cleaned[0].block.traced.ring.pen == pytest.approx(3.0, abs=0.05)
        outlines.append(outlines_in(root)[0].get("d"))
    assert outlines[0] == outlines[1]


def test_an_inner_line_that_touches_the_outline_is_no_part_of_it() -> None:

    block, rng = some_block(22, "skirt")
    line = line_of(block, rng, wobble=0.0)
    xs, ys = [z.real for z in line], [z.imag for z in line]
    level = min(ys) + 0.6 * (max(ys) - min(ys))
    right = max(z.real for z in line if abs(z.imag - level) < 2)
    ink = unary_union(
        [
            LinearRing([(z.real, z.imag) for z in line]).buffer(0.4),
            LineString([(min(xs), level), (right, level)]).buffer(0.4),
        ]
    )
    rings = [ink.exterior, *ink.interiors]
    assert len(rings) == 3
    d = " ".join(
        "M " + " L ".join(f"{x:.5f},{y:.5f}" for x, y in r.coords[:-1]) + " Z" for r in rings
    )
    done, root = cleaned(drawing(f'<path d="{d}"/>'), square="no", upright="no")
    found = measured(done, root, block)
    assert found.largest <= 0.5
    assert found.darts == 1


def test_several_blocks_on_a_sheet_come_from_left_to_right() -> None:
    blocks = [some_block(seed)[0] for seed in (1, 0)]
    rng = random.Random(5)
    lines = [line_of(block, rng, 20 + 20j + 420 * k) for k, block in enumerate(blocks)]
    frame = [5 + 5j, 880 + 5j, 880 + 880j, 5 + 880j]
    speck = [600 + 800j, 601 + 800j, 600 + 801j]
    text = drawing(
        path(lines[1], closed=True),
        path(lines[0], closed=True),
        path(frame, closed=True),
        path(speck, closed=True),
    )
    done, root = cleaned(text)
    assert [len(c.block.runs) for c in done.cleaned] == [len(true_runs(b)) for b in blocks]
    assert len(outlines_in(root)) == 2
    left = done.sheet.left_out
    assert (left.specks + left.small, left.shapes) == (1, 1)
    assert "1 other closed shape" in clean_lines(done)[1]


def test_a_small_cross_near_the_dart_is_its_apex() -> None:
    for seed in range(40):
        block, rng = some_block(seed, "front")
        if "lowered" not in block.traits:
            continue
        at = 200 + 200j
        cross = [[z + at for z in stroke] for stroke in cross_at(block.apex)]
        text = drawing(path(line_of(block, rng), closed=True), *map(path, cross))
        done, _root = cleaned(text, upright="no")
        (apex,) = done.cleaned[0].block.apexes
        assert apex.why == "drawn"
        assert abs(apex.at - block.apex - at) < 0.5
        return
    pytest.fail("no block with a lowered point")


def test_without_a_sign_the_darts_point_is_proposed() -> None:
    block, rng = some_block(2, "front")
    done, root = cleaned(drawing(path(line_of(block, rng), closed=True)))
    assert [apex.why for apex in done.cleaned[0].block.apexes] == ["point"]
    assert root is not None
