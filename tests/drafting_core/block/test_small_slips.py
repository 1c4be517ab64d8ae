"""What becomes of a drafter's small slips, and of choices that she leaves open."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from drafting_core.block.block import Block, DartMark, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.finished.draft import move_dart
from drafting_core.model.allowances import Allowances
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Line
from drafting_core.text.errors import DraftingError
from extension.commands.command_line import main
from extension.drafting.move_and_allow import Request, allow, move
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import blocks, core_block, drawn
from tests.help.blocks.drawings import circle, marked_front, page, root_of
from tests.help.blocks.refusals import no_case

SAMPLES = Path(__file__).parents[3] / "sample_svgs"


def two_darts(shoulder_end: complex = 150 + 20j, clearance: float = 0.0) -> Block:
    """A square front with a waist dart and a narrower shoulder dart to one apex."""
    apex = 120 + 200j
    legs = (150 + 20j) - apex, (130 + 20j) - apex
    radius = abs(legs[0])
    left = apex + legs[1] / abs(legs[1]) * radius
    points = [
        apex + (middle - apex) / abs(middle - apex) * clearance if clearance else apex
        for middle in ((left + 150 + 20j) / 2, 120 + 400j)
    ]
    outline = seam_by_seam(
        [
            ("neckline", Line(0 + 80j, 70 + 10j)),
            ("shoulder", Line(70 + 10j, left)),
            ("dart", Line(left, points[0])),
            ("dart", Line(points[0], shoulder_end)),
            ("shoulder", Line(shoulder_end, 200 + 40j)),
            ("armhole", Line(200 + 40j, 240 + 200j)),
            ("side seam", Line(240 + 200j, 230 + 400j)),
            ("waist", Line(230 + 400j, 160 + 400j)),
            ("dart", Line(160 + 400j, points[1])),
            ("dart", Line(points[1], 80 + 400j)),
            ("waist", Line(80 + 400j, 0 + 400j)),
            ("centre front", Line(0 + 400j, 0 + 80j)),
        ]
    )
    return Block(outline, apex=apex)


@given(st.floats(0.15, 2.5))
def test_a_kept_dart_a_little_uneven_does_not_hide_the_other(more: float) -> None:
    slip = (150 + 20j) - (120 + 200j)
    block = two_darts(150 + 20j + slip / abs(slip) * more)
    draft = move_dart(block, None, [Target(place="side seam:0.4", source="waist")])
    assert [item.dart.seam.name for item in draft.darts] == ["side seam", "shoulder"]
    kept = draft.darts[1].dart
    legs = [abs(end - kept.point) for end in kept.ends]
    assert abs(legs[0] - legs[1]) < 3.0


@pytest.mark.parametrize("clearance", [0.0, 25.4])
def test_of_darts_equally_near_to_the_apex_the_widest_is_closed(clearance: float) -> None:
    draft = move_dart(two_darts(clearance=clearance), None, [Target(place="side seam:0.4")])
    assert [item.dart.seam.name for item in draft.darts] == ["side seam", "shoulder"]
    assert any("the widest, on the waist, was closed" in note for note in draft.notes)


def test_a_dart_marked_to_be_kept_leaves_the_choice_to_the_others() -> None:
    block = two_darts()._replace(dart_marks=[DartMark(120 + 400j, 0.0)])
    draft = move_dart(block, None, [Target(place="side seam:0.4")])
    assert [item.dart.seam.name for item in draft.darts] == ["side seam", "waist"]


@example(drawn(234, "front"), 234)  # a bay of the cut line beside the leg
@given(blocks("front"), st.integers(0, 10_000))
def test_the_named_centre_stays_where_it_was(source: random_blocks.Block, seed: int) -> None:
    block = core_block(source)
    rng = random.Random(seed)
    place = random_blocks.random_place(source, rng)[2]
    centre = [e.segment for e in block.outline if e.label and e.label.name == "centre front"]
    assume(all(abs(s.point(s.nearest(place)) - place) > 2.0 for s in centre))
    try:
        draft = move_dart(block, Settings(clearance=0.0), [Target(at=place)])
    except DraftingError as error:
        no_case(error)
    after = [e.segment for e in draft.piece.edges() if e.seam.kind == "centre front"]
    assert after == centre


def test_a_slash_line_that_overshoots_the_outline_starts_at_the_outline() -> None:
    apex, outer = 120 + 200j, 235 + 300j
    over = outer + (outer - apex) / abs(outer - apex) * 15
    slash = (Line(over, 180 + 260j), Line(180 + 260j, apex))
    draft = move_dart(two_darts(), None, [Target(at=over, slash=slash, source="waist")])
    (leg, _) = draft.darts[0].dart.opening.sides or ((), ())
    assert draft.darts[0].dart.seam.name == "side seam"
    assert len(leg) == 2


def test_a_target_anywhere_in_a_wide_mouth_is_at_that_dart() -> None:
    target = Target(at=122 + 398j, share=0.5)
    draft = move_dart(two_darts(), None, [target, Target(place="side seam:0.4")])
    assert [item.dart.seam.name for item in draft.darts] == ["waist", "side seam", "shoulder"]


def test_an_apex_beside_its_dart_is_told_how_far(tmp_path: Path) -> None:
    text = page(marked_front(apex=circle("apex", 103, 258)))
    with pytest.raises(DraftingError, match=r"The nearest dart ends \d+\.\d mm away"):
        move(root_of(text), Request())


def test_a_result_keeps_the_allowances_that_are_not_named_anew() -> None:
    base = Allowances.parse("20mm, waist=15mm, hem=40mm turned")
    mixed = Allowances.parse("waist=10mm", base=base)
    assert (mixed.default, mixed.by_seam) == (20.0, {"waist": 10.0, "hem": 40.0})
    assert mixed.turned == {"hem"}
    assert Allowances.parse("hem=30mm", base=base).turned == frozenset()
    assert Allowances.parse("10mm", base=base) == Allowances.parse("10mm")
    root = root_of(page(marked_front()))
    move(root, Request(given={"allowance": "1/2in, waist=3/4in"}))
    (again,) = allow(root, Request(given={"allowance": "neckline=3/8in"})).drafts
    assert again.settings.allowances.by_seam == pytest.approx({"waist": 19.05, "neckline": 9.525})


def test_options_are_written_in_full(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing = str(SAMPLES / "front_one_path.svg")
    assert main(["allow", drawing, "--as", "gathers", "-o", str(tmp_path / "out.svg")]) == 2
    assert "--as" in capsys.readouterr().err


def test_a_style_line_beside_a_named_place_is_mentioned() -> None:
    more = '<path inkscape:label="style line" d="M 190,170 L 95,260 L 60,402"/>'
    outcome = move(root_of(page(marked_front(target="", more=more))), Request(to="side seam:0.4"))
    assert any("was not used" in note for note in outcome.notes)


def test_a_seam_that_is_cut_in_two_has_no_mate_any_more() -> None:
    line = '<path inkscape:label="style line" d="M 190,170 L 95,260 L 60,402"/>'
    mate = circle("seam waist mate A", 40, 400)
    root = root_of(page(marked_front(target=line, more=mate)))
    drafts = move(root, Request()).drafts
    mates = {seam.name: seam.mate for draft in drafts for seam in draft.piece.seams()}
    assert mates["waist"] == ""
    assert mates["style line"]
    assert all(any("was taken off" in note for note in draft.notes) for draft in drafts)


def test_a_result_moved_on_keeps_how_it_was_made() -> None:
    root = root_of(page(marked_front()))
    given = {"allowance": "1/2in, waist=40mm turned", "cloth": "sheer", "share": "0.5"}
    move(root, Request(given=given, to="side seam:0.4"))
    layer = root[-1].get("id")
    (again,) = move(root, Request(to="shoulder:0.5", selection=[layer])).drafts
    assert again.settings.cloth == "sheer"
    assert again.settings.allowances.turned == {"waist"}
    assert again.settings.share == 1.0
    assert all("sheer" in item.dart.why for item in again.darts if item.dart.excess == "trim")


def test_a_drawing_that_is_not_at_true_size_says_how_to_print_it() -> None:
    known = '<path inkscape:label="known length 100mm" d="M 10,300 L 60,300"/>'
    outcome = move(root_of(page(marked_front(more=known))), Request())
    assert any("at 50 % of its true size. Print it at 200 %" in note for note in outcome.notes)
    assert not move(root_of(page(marked_front())), Request()).notes


def test_an_inner_line_loses_what_lies_in_a_dart_along_the_style_line() -> None:
    line = '<path inkscape:label="style line" d="M 190,170 L 95,260 L 95,405"/>'
    inner = '<path inkscape:label="inner line" d="M 20,350 L 200,350"/>'
    drafts = move(root_of(page(marked_front(target=line, more=inner))), Request()).drafts
    lengths = [
        sum(segment.length() for path in item.paths for segment in path)
        for draft in drafts
        for item in draft.inner_lines
    ]
    # The dart is 30 mm wide over 140 mm: at 90 mm from the apex 19.3 mm of the line lie in it.
    assert sum(lengths) == pytest.approx(180.0 - 30.0 * 90.0 / 140.0, abs=1e-6)


def test_a_corner_of_a_style_line_reshaped_by_hand_stays_in_its_seam() -> None:
    line = '<path inkscape:label="style line" d="M 190,170 L 95,260 L 95,405"/>'
    root = root_of(page(marked_front(target=line)))
    drafts = move(root, Request()).drafts
    layers = [layer for layer in root if layer.get("{urn:dartswing:1}result")]
    stitch = next(e for e in layers[1].iter() if e.get("{urn:dartswing:1}part") == "stitch-line")
    corner = drafts[1].apexes[0] if drafts[1].apexes else None
    names = {seam.name for seam in drafts[1].piece.seams()}
    nodes = [edge.segment.start for edge in drafts[1].piece.edges()]
    at = corner or min(nodes, key=lambda z: z.real)
    node = min(nodes, key=lambda z: abs(z - at))
    old = f"{node.real:.12f},{node.imag:.12f}"
    assert old in stitch.get("d")
    stitch.set("d", stitch.get("d").replace(old, f"{node.real + 5:.12f},{node.imag:.12f}"))
    (again,) = allow(root, Request(selection=[layers[1].get("id")])).drafts
    assert {seam.name for seam in again.piece.seams()} == names
