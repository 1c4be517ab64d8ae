"""What a clean-up makes of a block: its scale, its turn, its halves, its right angles."""

from __future__ import annotations

import cmath
import math
import random
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from extension.cleaning.clean_report import clean_lines, report_of
from extension.document.namespaces import ours
from tests.help.blocks.random_blocks import Block, tangent
from tests.help.depth import examples, some_quick
from tests.help.scans.clean_measures import outlines_in, read_path, true_runs
from tests.help.scans.scanned_blocks import strokes_of, wobbled
from tests.help.scans.traces import cleaned, drawing, line_of, measured, path, refusal, some_block

BACKS = [some_block(seed, "back") for seed in range(3)]


@settings(max_examples=examples(12))
@given(
    st.sampled_from([0, 1, 2]),
    st.floats(0.2, 5.0),
    st.floats(-3.0, 3.0),
    st.sampled_from([1.0, -1.0]),
)
def test_scale_is_found_whatever_it_is(
    number: int, scale: float, degrees: float, mirror: float
) -> None:
    """The same sheet drawn at any size gives a block of the same size."""
    block, rng = BACKS[number]
    factor = cmath.exp(1j * math.radians(degrees)) * scale

    def to(z: complex) -> complex:
        return 400 + 400j + complex(z.real * mirror, z.imag) * factor

    line = [to(z) for z in line_of(block, rng, 0j)]
    mark = path([10 + 10j, 10 + 10j + 100 * scale * 1j], label="known length 100mm")
    done, root = cleaned(drawing(path(line, closed=True), mark), upright="no", square="no")
    assert done.true_mm_per_mm == pytest.approx(1 / scale, rel=1e-6)
    entry = report_of(done)["blocks"][0]
    steady = line_of(block, random.Random(1), 0j, 0.0)
    true = np.array([(to(z) - 400 - 400j) / scale for z in steady])
    assert entry["height_mm"] == pytest.approx(np.ptp(true.imag), abs=1.5)
    (outline,) = outlines_in(root)
    assert outline.get(ours("name")) in ("Back", "Block")


def test_nothing_moves_where_nothing_is_to_be_changed() -> None:
    block, rng = some_block(8, "front")
    text = drawing(path(line_of(block, rng, wobble=0.0), closed=True))
    done, root = cleaned(text, upright="no", square="no")
    (outline,) = outlines_in(root)
    first = complex(*(float(n) for n in outline.get("d").split()[1].split(",")))
    assert min(abs(first - 200 - 200j - run.start) for run in true_runs(block)) < 0.3
    assert done.true_mm_per_mm == 1.0


@pytest.mark.parametrize("turn", [90.0, 180.0, -90.0, 2.0])
def test_a_grain_mark_or_the_centre_stands_upright(turn: float) -> None:
    block, rng = next(
        found
        for seed in range(60)
        if (found := some_block(seed, "front"))[0].source_seam == "waist"
    )
    factor = cmath.exp(1j * math.radians(turn))
    line = [450 + 450j + z * factor for z in line_of(block, rng, 0j)]
    done, _root = cleaned(drawing(path(line, closed=True)))
    clean = done.cleaned[0].block
    assert any(seam is not None and seam.kind == "centre front" for seam in clean.seams)
    # Upright with the neck above, however it lay.
    assert math.remainder(math.degrees(clean.turn) + turn, 360.0) == pytest.approx(0.0, abs=0.5)
    start = line[0] + (line[len(line) // 2] - line[0]) / 3
    grain = path([start, start + 100j * factor], label="grain")
    done, _root = cleaned(drawing(path(line, closed=True), grain))
    to = done.cleaned[0].block.to_place
    assert to(start + 100j * factor) - to(start) == pytest.approx(100j, abs=1e-5)


def unfolded(
    block: Block, rng: random.Random, at: complex, turn: float = 0.0, wider: float = 0.0
) -> tuple[list[complex], Callable[[complex], complex]]:
    """Return a block drawn with its mirror image about its centre, and where its points lie."""
    runs = true_runs(block)
    centre = [k for k, run in enumerate(runs) if run.seam.startswith("centre")]
    strokes = strokes_of(block)
    order = strokes[centre[-1] + 1 :] + strokes[: centre[0]]
    halves = [[z for s in order for z in wobbled(rng, s)[:-1]] + [order[-1][-1]] for _ in "lr"]
    mirrored = [complex(-z.real * (1 + wider), z.imag) for z in halves[1]]
    factor = cmath.exp(1j * turn)

    def to(z: complex) -> complex:
        return z * factor + at

    return [to(z) for z in halves[0] + mirrored[::-1]], to


@pytest.mark.thorough
@pytest.mark.parametrize("half", some_quick(["left", "right", "mean"], 1))
def test_a_whole_piece_becomes_its_half(half: str) -> None:
    for seed in (0, 2, 5, 7):
        block, rng = some_block(seed)
        turn = math.radians(rng.uniform(-3, 3))
        line, _to = unfolded(block, rng, 450 + 200j, turn)
        done, root = cleaned(drawing(path(line, closed=True)), half=half, square="no")
        clean = done.cleaned[0].block
        mirrored = block if half == "right" else _mirrored(block)
        found = measured(done, root, mirrored, f"seed {seed}", turn)
        assert max(found.corners) <= 0.8, found.name
        assert found.darts == 1, found.name
        assert max(found.rms) <= 0.5, found.name
        # The centre line is one straight seam on the fold, and upright.
        (fold,) = [k for k, seam in enumerate(clean.seams) if seam is not None and seam.fold]
        (line_there,) = clean.runs[fold].segments
        to = clean.to_place
        assert to(line_there.end) - to(line_there.start) == pytest.approx(
            complex(0, abs(line_there.end - line_there.start)), abs=1e-6
        ) or to(line_there.start) - to(line_there.end) == pytest.approx(
            complex(0, abs(line_there.end - line_there.start)), abs=1e-6
        )
        assert clean.halved is not None
        assert clean.halved.rms < 0.4
        assert any("two halves differed" in words for words in clean_lines(done))


def _mirrored(block: Block) -> Block:

    return replace(
        block,
        segments=tuple(
            replace(s, points=tuple(complex(-z.real, z.imag) for z in s.points))
            for s in block.segments
        ),
        apex=complex(-block.apex.real, block.apex.imag),
    )


def test_the_mean_of_unlike_halves_lies_between_them() -> None:
    block, rng = some_block(2)
    line, _to = unfolded(block, rng, 450 + 200j, wider=0.01)
    widths = {}
    for half in ("left", "right", "mean"):
        done, _root = cleaned(drawing(path(line, closed=True)), half=half)
        widths[half] = done.cleaned[0].block.size[0]
        assert done.cleaned[0].block.halved is not None
        assert done.cleaned[0].block.halved.largest > 0.5
    assert widths["mean"] == pytest.approx((widths["left"] + widths["right"]) / 2, abs=0.3)


def test_what_is_not_alike_on_both_sides_is_refused() -> None:
    block, rng = some_block(1)
    said = refusal(drawing(path(line_of(block, rng), closed=True)), half="mean")
    assert "its two halves are not alike" in said


def near_square(off: float, *, curved: bool) -> str:
    """Return a front whose waist meets the centre front at a right angle but for some degrees."""
    rise = 120 * math.tan(math.radians(off))
    waist = [complex(120 - 120 * k / 60, 400 + rise * k / 60) for k in range(61)]
    if curved:
        # Down by 5 mm at the side, and at the centre as far from square as asked.
        waist = [z - 5j * ((z.real / 120) ** 2) for z in waist]
    points = [0j + 80j, 72 + 0j, 190 + 45j, 165 + 120j, 235 + 215j, 225 + 395j]
    dart = [180 + waist[0].imag * 1j, 150 + 230j, waist[0]]
    outline = [*points, *dart, *waist[1:]]
    dense = [
        a + (b - a) * k / 40
        for a, b in zip(outline, [*outline[1:], outline[0]], strict=True)
        for k in range(40)
    ]
    names = {"neckline": 36 + 40j, "waist": 60 + 400j, "centre front": 0 + 240j}
    marks = [
        path([z + 200 + 200j - 1, z + 201 + 200j], label=f"seam {name}")
        for name, z in names.items()
    ]
    return drawing(path([z + 200 + 200j for z in dense], closed=True), *marks)


def angle_at_foot(root: Any) -> float:
    """Return the angle in degrees at the lower end of the centre front."""

    (outline,) = outlines_in(root)
    segments = read_path(outline.get("d"))
    foot = max(segments, key=lambda part: part[0].imag - part[0].real)[0]
    before = next(part for part in segments if part[-1] == foot)
    after = next(part for part in segments if part[0] == foot)
    turned = cmath.phase(tangent(after, end=False) / tangent(before, end=True))
    return 180.0 - abs(math.degrees(turned))


@pytest.mark.parametrize("curved", [False, True])
@pytest.mark.parametrize("off", some_quick([-1.2, -0.1, 0.15, 0.9, 1.3], 2))
def test_nearly_square_becomes_square(off: float, curved: bool) -> None:
    done, root = cleaned(near_square(off, curved=curved))
    assert angle_at_foot(root) == pytest.approx(90.0, abs=1e-4)
    (squared,) = [s for s in done.cleaned[0].block.squared if s.seam.kind == "waist"]
    assert math.degrees(squared.off) == pytest.approx(abs(off), abs=0.3)
    # No corner moves by more than the tolerance.
    assert squared.moved <= 0.5
    for run in done.cleaned[0].block.runs:
        assert run.fit.largest <= 1.0
    as_drawn, root = cleaned(near_square(off, curved=curved), square="no")
    assert abs(angle_at_foot(root) - 90.0) == pytest.approx(abs(off), abs=0.3)
    assert as_drawn.cleaned[0].block.squared == []


@pytest.mark.parametrize("off", [-2.5, 2.0])
def test_what_is_not_nearly_square_stays(off: float) -> None:
    done, root = cleaned(near_square(off, curved=False))
    assert abs(angle_at_foot(root) - 90.0) == pytest.approx(abs(off), abs=0.2)
    assert [s for s in done.cleaned[0].block.squared if s.seam.kind == "waist"] == []
