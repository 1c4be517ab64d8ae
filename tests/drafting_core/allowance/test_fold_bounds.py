"""Nothing of a piece lies beyond a fold edge, however wide the allowances beside it are."""

from __future__ import annotations

import cmath
import math
import random
from pathlib import Path

import pytest
from shapely.geometry import Point, Polygon

from drafting_core.allowance.cut_line import Strip, cut_line
from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.block.seams import SeamMark
from drafting_core.finished.draft import add_allowances, move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.allowances import Allowances
from drafting_core.model.outline import flattened
from drafting_core.model.seam_names import SeamLabel
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Line, Segment
from drafting_core.text.errors import DraftingError
from extension.drafting.move_and_allow import Request, move
from tests.help.blocks.core_blocks import core_block, drawn
from tests.help.blocks.drawings import root_of
from tests.help.depth import examples, some_quick

SAMPLES = Path(__file__).parents[3] / "sample_svgs"
WIDTHS = (0.0, 5.0, 12.7, 20.0, 30.0, 45.0, 60.0)
SHARES = (0.03, 0.1, 0.2, 0.5, 0.8, 0.9, 0.97)


def polygon(segments: tuple[Segment, ...] | list[Segment]) -> Polygon:
    return Polygon([(z.real, z.imag) for z in flattened(segments, 64)])


def on_fold(seed: int, kind: str) -> Block:
    """A random block with its centre seam on the fold."""
    block = core_block(drawn(seed, kind))
    outline = [
        edge._replace(label=edge.label._replace(fold=True))
        if edge.label and edge.label.name in ("centre front", "centre back")
        else edge
        for edge in block.outline
    ]
    return block._replace(outline=outline)


def beyond_fold(draft: Draft) -> float:
    """The area of the piece on the far side of its fold edges' lines, in mm²."""
    whole, most = polygon(draft.cut_line), 0.0
    folds = [edge.segment for edge in draft.piece.edges() if edge.seam.fold]
    assert folds
    for fold in folds:
        along = (fold.end - fold.start) / abs(fold.end - fold.start)
        far = [fold.start - 3000 * along, fold.start + 3000 * along]
        far += [z - 3000j * along for z in reversed(far)]
        half = Polygon([(z.real, z.imag) for z in far])
        most = max(most, whole.intersection(half).area)
    return most


def drafted(seed: int) -> Draft | None:
    rng = random.Random(seed)
    block = on_fold(seed, rng.choice(("front", "back", "skirt")))
    names = sorted({e.label.name for e in block.outline if e.label and not e.label.fold})
    widths = [f"{rng.choice(WIDTHS)}mm"]
    widths += [f"{name}={rng.choice(WIDTHS)}mm" for name in names if rng.random() < 0.8]
    settings = Settings(
        allowances=Allowances.parse(", ".join(widths)),
        clearance=rng.choice((0.0, 12.7, 25.4)),
        fold=rng.choice(("auto", "centre", "side")),
        excess=rng.choice(("auto", "keep")),
    )
    target = Target(place=f"{rng.choice(names)}:{rng.choice(SHARES)}")
    try:
        if rng.random() < 0.2:
            return add_allowances(block, settings)
        return move_dart(block, settings, [target])
    except DraftingError:
        # Places out of sight of the apex, excess that cannot be kept.
        return None


@pytest.mark.parametrize("start", some_quick(range(0, 1600, 100), 2))
def test_nothing_lies_beyond_a_fold_edge(start: int) -> None:
    count = examples(100)
    drafts = [draft for seed in range(start, start + count) if (draft := drafted(seed))]
    assert len(drafts) > 0.9 * count
    for draft in drafts:
        assert beyond_fold(draft) < 1e-3
        whole = polygon(draft.cut_line)
        assert whole.is_valid
        # What is cut still ends on the fold's line, the whole edge along.
        for edge in draft.piece.edges():
            if edge.seam.fold:
                middle = edge.segment.point(0.5)
                # No segment shorter than 0.01 mm is written: a node may give way by as much.
                assert whole.boundary.distance(Point(middle.real, middle.imag)) < 0.01


def front(neck_turn: float) -> Block:
    """A front whose neckline leaves the centre front by some degrees from straight on."""
    tip = 300j
    neck = tip - 60j * cmath.exp(1j * math.radians(neck_turn))
    shoulder = complex(max(neck.real, 0.0) + 90.0, neck.imag + 40.0)
    return Block(
        seam_by_seam(
            [
                ("centre front", Line(700j, tip)),
                ("neckline", Line(tip, neck)),
                ("shoulder", Line(neck, shoulder)),
                ("side seam", Line(shoulder, 250 + 700j)),
                ("waist", Line(250 + 700j, 700j)),
            ]
        ),
        seam_marks=[SeamMark(500j, SeamLabel("centre front", fold=True))],
        name="Front",
    )


@pytest.mark.parametrize("degrees", [16.0, 30.0, 60.0, 90.0, 120.0])
@pytest.mark.parametrize("width", [5.0, 12.7, 60.0])
def test_beside_a_fold_edge_the_wide_seam_is_brought_to_its_line(
    degrees: float, width: float
) -> None:
    settings = Settings(allowances=Allowances.parse(f"12.7mm, neckline={width}mm"))
    draft = add_allowances(front(degrees), settings)
    assert beyond_fold(draft) < 1e-6
    # Where the parallel of the neckline meets the fold's line, by trigonometry, the piece ends.
    meeting = 300.0 - width / math.sin(math.radians(degrees))
    on_line = [z.imag for s in draft.cut_line for z in (s.start, s.end) if abs(z.real) < 1e-6]
    if width / math.sin(math.radians(degrees)) < 50.0:
        assert min(on_line) == pytest.approx(meeting, abs=1e-6)


@pytest.mark.parametrize("degrees", [20.0, 45.0, 80.0])
def test_no_step_leads_to_a_width_of_0(degrees: float) -> None:
    # A box of which one corner is cut off at an angle.
    ahead = 100 * cmath.exp(1j * math.radians(degrees))
    corners = [0j, 100 + 0j, 100 + ahead, 100 + ahead + 200j, 300j]
    ends = [*corners[1:], corners[0]]
    widths = [0.0, 60.0, 0.0, 5.0, 5.0]
    strips = [
        Strip(Line(*pair), width, width == 0.0)
        for pair, width in zip(zip(corners, ends, strict=True), widths, strict=True)
    ]
    made = polygon(cut_line(strips, mitre_limit=4.0))
    assert made.bounds[1] > -1e-6


@pytest.mark.parametrize("sample", ["skirt_front_waist_dart", "skirt_two_darts", "front_one_path"])
@pytest.mark.parametrize("width", [0.0, 12.7, 30.0, 60.0])
def test_nothing_of_a_sample_lies_beyond_its_fold_edge(sample: str, width: float) -> None:
    text = (SAMPLES / f"{sample}.svg").read_text(encoding="utf-8")
    if "fold" not in text:
        text = text.replace('"seam centre front"', '"seam centre front fold"')
    places = ("waist:0.05", "waist:0.95") if "skirt" in sample else ("neckline:0.2", "waist:0.1")
    for place in places:
        done = move(root_of(text), Request(to=place, given={"allowance": f"{width}mm"}))
        (draft,) = done.drafts
        assert beyond_fold(draft) < 1e-3
