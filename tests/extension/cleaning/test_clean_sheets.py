"""What a traced sheet holds beside the block: frames, doubles, lines across, hidden ones."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from shapely.geometry import LinearRing, LineString
from shapely.ops import unary_union

from drafting_core.text.errors import DraftingError
from extension.cleaning.clean_report import clean_lines, warnings_of
from extension.commands.command_line import main
from extension.document.namespaces import LABEL, ours
from extension.document.svg_document import parse_document
from tests.help.blocks.random_blocks import Block
from tests.help.depth import examples, some_quick
from tests.help.scans.clean_measures import outlines_in, true_runs
from tests.help.scans.traces import cleaned, drawing, line_of, measured, path, refusal, some_block


def ink(lines: Sequence[Sequence[complex]], pen: float = 0.7) -> str:
    """Return the path that a tracer gives of lines drawn with a pen, by shapely's buffer."""
    drawn = unary_union(
        [LineString([(z.real, z.imag) for z in line]).buffer(pen / 2) for line in lines]
    )
    shapes = getattr(drawn, "geoms", [drawn])
    rings = [ring for shape in shapes for ring in (shape.exterior, *shape.interiors)]
    d = " ".join(
        "M " + " L ".join(f"{x:.5f},{y:.5f}" for x, y in ring.coords[:-1]) + " Z" for ring in rings
    )
    return f'<path id="ink" d="{d}"/>'


def closed(line: Sequence[complex]) -> list[complex]:
    return [*line, line[0]]


def mouth_of(block: Block, at: complex = 200 + 200j) -> tuple[complex, complex]:
    first, last = block.mouth_ends
    return first + at, last + at


@pytest.mark.parametrize("seed", some_quick(range(8), 3))
def test_a_mouth_drawn_across_is_no_seam(seed: int) -> None:
    """The outline goes round by the dart's legs, as the contract's block does."""
    block, rng = some_block(seed)
    line = line_of(block, rng)
    done, root = cleaned(drawing(ink([closed(line), mouth_of(block)])), square="no")
    found = measured(done, root, block, f"seed {seed}")
    assert found.darts == 1, found.name
    assert max(found.corners) <= 1.5, found.name
    assert max(found.rms) <= 0.5, found.name


def test_a_line_across_the_open_dart_is_no_part_of_the_outline() -> None:
    block, rng = some_block(0, "back")
    line = line_of(block, rng, wobble=0.0)
    ends = mouth_of(block)
    apex = block.apex + 200 + 200j
    across = [apex + (end - apex) * 0.6 for end in ends]
    way = (across[1] - across[0]) / abs(across[1] - across[0])
    bust = [across[0] - way * 30, across[1] + way * 30]
    done, root = cleaned(drawing(ink([closed(line), bust])), square="no", upright="no")
    found = measured(done, root, block)
    assert found.darts == 1
    assert max(found.corners) <= 1.5


def test_lines_pasted_twice_in_place_are_one() -> None:
    block, rng = some_block(6)
    line = line_of(block, rng)
    once, _root = cleaned(drawing(path(line, True)))
    twice, root = cleaned(drawing(path(line, True), path(line, True)))
    assert len(twice.cleaned) == 1
    assert twice.cleaned[0].block.segments == once.cleaned[0].block.segments
    assert twice.left_out.shapes == 1
    traced = ink([closed(line)])
    doubled, _root = cleaned(drawing(traced, traced.replace('id="ink"', "")))
    assert len(doubled.cleaned) == 1
    assert len(outlines_in(root)) == 1


def test_a_line_like_an_8_goes_round_nothing() -> None:
    block, rng = some_block(6)
    eight = [10 + 10j, 60 + 60j, 60 + 10j, 10 + 60j]
    done, _root = cleaned(drawing(path(line_of(block, rng), True), path(eight, True)))
    assert (len(done.cleaned), done.left_out.shapes) == (1, 1)
    assert "no closed line" in refusal(drawing(path([z * 9 for z in eight], True)))


@pytest.mark.parametrize("skew", [0.0, 0.15])
@pytest.mark.parametrize("size", [1.0, 0.25])
def test_the_edge_of_a_sheet_is_no_block(skew: float, size: float) -> None:
    block, rng = some_block(9)
    line = [z * size for z in line_of(block, rng)]
    frame = [5 + 5j, complex(880, 5 + 880 * skew), 880 + 880j, complex(5 + 800 * skew, 880)]
    done, _root = cleaned(drawing(path(line, True), path(frame, True)))
    (only,) = done.cleaned
    assert len(only.block.runs) == len(true_runs(block))
    assert done.left_out.shapes == 1


def test_what_is_hidden_does_not_count() -> None:
    block, rng = some_block(6)
    shown = path(line_of(block, rng), True)
    line = line_of(block, rng, 500 + 500j)
    known = '<path inkscape:label="known length 50mm" d="M 0,0 H 100" style="display:none"/>'
    for hidden in (
        path(line, True).replace("fill:none", "display:none;fill:none"),
        f'<g display="none">{path(line, True)}</g>',
        path(line, True, more='visibility="hidden" '),
    ):
        done, _root = cleaned(drawing(shown, hidden, known))
        assert len(done.cleaned) == 1
        assert done.true_mm_per_mm == 1.0


@pytest.mark.thorough
def test_blocks_that_cross_or_touch_are_never_taken_for_one() -> None:
    """They are refused, or else the drafter is told that one outline has too many seams."""
    refused = 0
    cases = [(apart, seed) for apart in (-90.0, -40.0, -20.0, -3.0, 0.3) for seed in range(4)]
    for apart, seed in cases:
        block, rng = some_block(seed)
        line = line_of(block, rng)
        width = max(z.real for z in line) - min(z.real for z in line)
        text = drawing(ink([closed(line), closed([z + width + apart for z in line])]))
        try:
            told = warnings_of(cleaned(text)[0].cleaned[0])
        except DraftingError as error:
            told = [str(error)]
            refused += "two blocks cross or touch each other" in told[0]
        wanted = (
            "two blocks cross or touch",
            "lines run beside each other",
            "more than a block has",
            "neither is the other turned",
        )
        assert any(words in said for words in wanted for said in told), (apart, seed)
    assert refused >= len(cases) / 2


def test_a_block_without_a_dart_is_told() -> None:
    apron = [100 + 100j, 300 + 100j, 320 + 400j, 90 + 400j]
    done, _root = cleaned(drawing(path(apron, True)))
    assert any("No dart was found" in words for words in warnings_of(done.cleaned[0]))
    assert len(done.cleaned[0].block.runs) == 4


def test_a_trace_called_outline_is_no_block_beside_the_clean_one(tmp_path: Path) -> None:
    block, rng = some_block(2, "front")
    trace = path(line_of(block, rng), True, "outline", 'id="trace" ')
    source, clean, moved = (tmp_path / name for name in ("t.svg", "c.svg", "m.svg"))
    source.write_text(drawing(trace), encoding="utf-8")
    assert main(["clean", str(source), "-o", str(clean)]) == 0
    assert main(["move", str(clean), "--to", "side seam:0.5", "-o", str(moved)]) == 0
    root = parse_document(moved.read_bytes()).getroot()
    assert len([layer for layer in root if layer.get(ours("result"))]) == 1


def test_a_slash_line_and_an_inner_line_are_carried_over(tmp_path: Path) -> None:
    block, rng = some_block(2, "front")
    at = 200 + 200j
    side = next(run for run in true_runs(block) if run.seam == "side seam")
    place = side.samples[len(side.samples) // 2] + at
    apex = block.apex + at
    source, clean, moved = (tmp_path / name for name in ("t.svg", "c.svg", "m.svg"))
    half = [z * 0.5 for z in line_of(block, rng)]
    text = drawing(
        path(half, True),
        path([apex * 0.5 - 1, apex * 0.5 + 1], label="apex"),
        path([place * 0.5, (apex + 30 - 12j) * 0.5, apex * 0.5], label="target"),
        path([apex * 0.5 + 5, apex * 0.5 + 15], label="inner line"),
        path([10 + 10j, 60 + 10j], label="known length 100mm"),
    )
    source.write_text(text, encoding="utf-8")
    assert main(["clean", str(source), "-o", str(clean)]) == 0
    root = parse_document(clean.read_bytes()).getroot()
    (layer,) = [e for e in root if e.get(ours("clean"))]
    labels = {e.get(LABEL): e for e in layer}
    assert {"target", "inner line", "apex"} <= set(labels)
    assert main(["move", str(clean), "-o", str(moved)]) == 0
    found = [
        part for part in parse_document(moved.read_bytes()).getroot() if part.get(ours("result"))
    ]
    assert len(found) == 1


def test_an_earlier_clean_block_is_told() -> None:
    block, rng = some_block(8, "front")
    _done, root = cleaned(drawing(path(line_of(block, rng), True)))
    from extension.cleaning.clean import clean_request, clean_up

    again = clean_up(root, clean_request({}, []))
    assert any("already had a clean block" in words for words in again.remarks)


def test_a_stretched_trace_is_told_unless_a_rectangle_sets_it_right() -> None:
    block, rng = some_block(8, "front")
    line = path(line_of(block, rng, 50 + 50j), True)
    stretched = f'<g transform="scale(1,1.2)">{line}</g>'
    done, _root = cleaned(drawing(stretched))
    assert any("is stretched" in words for words in done.remarks)
    sheet = [60 + 60j, 270 + 60j, 270 + 357j, 60 + 357j]
    mark = path([complex(z.real, z.imag * 1.2) for z in sheet], True, "known rectangle A4")
    done, root = cleaned(drawing(stretched, mark), square="no")
    assert done.remarks == []
    assert max(measured(done, root, block).corners) <= 1.0


@pytest.mark.parametrize(
    ("label", "sides"),
    [
        ("known rectangle 210x297mm", (210.0, 297.0)),
        ("known rectangle 210 x 297 mm", (210.0, 297.0)),
        ("known rectangle 21x29.7cm", (210.0, 297.0)),
        ("known rectangle 8 1/2x11in", (215.9, 279.4)),
        # ISO 216.
        ("known rectangle A4", (210.0, 297.0)),
        ("known rectangle a3 copy 2", (297.0, 420.0)),
    ],
)
def test_the_sides_of_a_rectangle_are_read(label: str, sides: tuple[float, float]) -> None:
    from extension.document.roles import parse_label

    role = parse_label(label)
    assert role is not None
    assert role.sides == pytest.approx(sides)


def test_a_scale_that_makes_a_giant_is_refused() -> None:
    block, rng = some_block(3)
    mark = path([10 + 10j, 15 + 10j], label="known length 5000mm")
    said = refusal(drawing(path(line_of(block, rng), True), mark))
    assert "m across" in said
    assert "known length" in said


def test_no_gap_is_advised_that_would_be_refused() -> None:
    said = refusal(drawing(path([0j, 500 + 0j]), path([500 + 90j, 90j])))
    assert "no closed line" in said
    assert "--gap" not in said


def test_a_doubled_or_closed_known_length_is_refused() -> None:
    block, rng = some_block(3)
    line = path(line_of(block, rng), True)
    for d in ("M 0,0 H 100 Z", "M 0,0 H 100 M 0,9 H 100"):
        mark = f'<path inkscape:label="known length 100mm" d="{d}"/>'
        assert "one open line" in refusal(drawing(line, mark))


def ring_with_gaps(line: Sequence[complex], gaps: Sequence[int], width: float) -> Any:
    """Return a ring's ink with gaps of a width where it is so many steps along."""
    ring = LinearRing([(z.real, z.imag) for z in line]).buffer(0.35)
    for k in gaps:
        z = line[k]
        way = (line[k + 1] - z) / abs(line[k + 1] - z)
        a, b = z - way * 5j, z + way * 5j
        knife = LineString([(a.real, a.imag), (b.real, b.imag)]).buffer(width / 2, cap_style="flat")
        ring = ring.difference(knife)
    return ring


@pytest.mark.parametrize("seed", range(4))
def test_a_pen_line_with_gaps_is_closed(seed: int) -> None:
    """Gaps in the ink: the tracer gives thin contours, each all round a stroke."""
    block, _rng = some_block(seed)
    line = line_of(block, random.Random(seed), wobble=0.0)
    places = [60, len(line) // 2 + 40, len(line) - 80]
    drawn = ring_with_gaps(line, places, 3.0)
    parts = getattr(drawn, "geoms", [drawn])
    body = "".join(
        '<path d="M '
        + " L ".join(f"{x:.5f},{y:.5f}" for x, y in part.exterior.coords[:-1])
        + ' Z"/>'
        for part in parts
    )
    assert len(parts) == 3
    done, root = cleaned(drawing(body), square="no")
    found = measured(done, root, block, f"seed {seed}")
    gaps = [join.size for join in done.cleaned[0].block.traced.joins]
    assert sorted(gaps) == pytest.approx([3.0] * 3, abs=1.0)
    assert found.darts == 1
    assert max(found.corners) <= 1.5
    assert "3 gaps closed" in "\n".join(clean_lines(done))
    assert math.isfinite(found.largest)


def odd_lines(rng: random.Random) -> list[str]:
    """Return a sheet of whatever: points, loops, rectangles, circles, scrawls, with any label."""
    parts = []
    labels = ("", "", "", "", "apex", "seam waist", "grain", "outline", "target 0.5", "inner line")
    for _ in range(rng.choice((1, 2, 3, 6, 12))):
        at, size = complex(rng.uniform(0, 800), rng.uniform(0, 800)), rng.choice((1, 10, 60, 400))
        scrawl = [
            at + complex(rng.uniform(-size, size), rng.uniform(-size, size))
            for _ in range(rng.randint(1, 9))
        ]
        kinds = [
            scrawl,
            [at, at],
            [at, at + size, at],
            [at + size * k / 30 for k in range(30)],
            [at, at + size, at + size * (1 + 1j), at + size * 1j],
            [at + size * (math.cos(k / 4) + 1j * math.sin(k / 4)) for k in range(25)],
        ]
        parts.append(path(rng.choice(kinds), rng.random() < 0.7, rng.choice(labels)))
    return parts


@pytest.mark.filterwarnings("error")
def test_whatever_is_drawn_is_cleaned_up_or_refused_in_plain_words() -> None:
    done, refusals = 0, []
    count = examples(120)
    for seed in range(count):
        rng = random.Random(seed)
        options = {"half": rng.choice(("no", "no", "left", "mean")), "gap": rng.choice(("5", "20"))}
        text = drawing(*odd_lines(rng))
        try:
            clean_lines(cleaned(text, **options)[0])
            done += 1
        except DraftingError as error:
            refusals.append(error)
    assert all(str(error).endswith((".", ")")) and error.remedy for error in refusals)
    assert count / 24 < done < count * 11 / 12
