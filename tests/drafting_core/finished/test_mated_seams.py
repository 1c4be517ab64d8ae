"""Seams compared with their mates: lengths, ease, notches, and which of them are compared."""

from __future__ import annotations

import itertools
import json
import math
import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.found_block import take_block
from drafting_core.finished.mated_seams import (
    DIFFERS,
    IS_ACCEPTABLE,
    MATCHES,
    MeasuredSeam,
    compare_mates,
    seams_with_mates,
)
from drafting_core.model.outline import OutlineEdge
from drafting_core.model.seam_names import Seam
from drafting_core.plane.curves import Line, dot
from drafting_core.text.errors import DraftingError
from drafting_core.text.lengths import measuring_in
from extension.commands.command_line import main
from extension.comparing.compare_seams import balance_lines, balance_report, compare_seams
from extension.comparing.write_seam_balance import write_seam_balance
from extension.document.roles import role_of
from extension.document.svg_document import read_document
from extension.drafting.move_and_allow import Request, allow, move
from tests.help.blocks.core_blocks import core_block, drawn
from tests.help.blocks.drawings import circle, layer, page, root_of

ROOT = Path(__file__).parents[3]
SAMPLE = ROOT / "sample_svgs" / "front_and_back_mates.svg"


def seam(length: float, *notches: float, kind: str = "seam", ease: float | None = None) -> Any:
    return MeasuredSeam("Piece", Seam(kind, kind, mate="A", ease=ease), length, notches)


@pytest.mark.parametrize(
    ("by", "ease", "verdict"),
    [
        # 1/16 in and 1/8 in (Threads no. 200, 2018).
        (0.0, None, MATCHES),
        (25.4 / 16, None, MATCHES),
        (-25.4 / 16, None, MATCHES),
        (1.6, None, IS_ACCEPTABLE),
        (-25.4 / 8, None, IS_ACCEPTABLE),
        (3.2, None, DIFFERS),
        (10.0, 10.0, MATCHES),
        (12.0, 10.0, IS_ACCEPTABLE),
        (0.0, 10.0, DIFFERS),
        (-10.0, 10.0, DIFFERS),
    ],
)
def test_the_verdict(by: float, ease: float | None, verdict: str) -> None:
    pair = compare_mates("A", seam(200.0 + by, ease=ease), seam(200.0))
    assert pair.verdict == verdict
    swapped = compare_mates("A", seam(200.0), seam(200.0 + by, ease=ease))
    assert (swapped.verdict, swapped.excess) == (verdict, -pair.excess)


def test_ease_wanted_on_both_is_refused() -> None:
    with pytest.raises(DraftingError, match="both seams say"):
        compare_mates("A", seam(100.0, ease=5.0), seam(100.0, ease=5.0))


positions = st.lists(st.floats(0.0, 200.0), max_size=5).map(lambda found: tuple(sorted(found)))


@given(positions, positions)
def test_notches_are_paired_as_well_as_can_be(
    first: tuple[float, ...], second: tuple[float, ...]
) -> None:
    pair = compare_mates("A", seam(200.0, *first, kind="waist"), seam(200.0, *second, kind="waist"))
    ones = [p.first for p in pair.notch_pairs if p.first is not None]
    others = [p.second for p in pair.notch_pairs if p.second is not None]
    assert (tuple(ones), tuple(others)) == (first, second)
    got = [p.difference for p in pair.notch_pairs if p.difference is not None]
    assert len(got) == min(len(first), len(second))
    few, many = sorted((first, second), key=len)
    least = min(
        sum(abs(a - b) for a, b in zip(few, chosen, strict=True))
        for chosen in itertools.combinations(many, len(few))
    )
    assert sum(map(abs, got)) == pytest.approx(least, abs=1e-9)


def test_seams_of_other_names_are_matched_by_their_notches() -> None:
    pair = compare_mates("A", seam(200.0, 30.0, kind="cap"), seam(204.0, 175.0, kind="armhole"))
    assert pair.other_end
    assert [p.difference for p in pair.notch_pairs] == pytest.approx([1.0])
    same = compare_mates(
        "A", seam(200.0, 98.0, kind="side seam"), seam(200.0, 104.0, kind="side seam")
    )
    assert not same.other_end


@given(st.integers(0, 10_000), st.sampled_from(["front", "back", "skirt", "sleeve"]))
def test_a_seam_is_as_long_as_it_is_sewn(seed: int, kind: str) -> None:
    source = drawn(seed, kind)
    block = core_block(source)
    outline = [
        OutlineEdge(e.segment, e.label._replace(mate=f"m {e.label.name}"), e.leg) if e.label else e
        for e in block.outline
    ]
    read = take_block(block._replace(outline=outline), equalise=True)
    measured = seams_with_mates(read.piece, "Piece", read.down, (), notched_darts=True)
    assert len(measured) == len(read.piece.seams())
    for found in measured:
        assert found.length == pytest.approx(read.piece.seam_lengths()[found.seam], abs=1e-9)
        assert all(0.0 <= z <= found.length for z in found.notches)
    legs = sum(len(found.notches) for found in measured)
    inside = sum(
        run[-1].seam is read.piece.runs[(k + 1) % len(read.piece.runs)][0].seam
        for k, run in enumerate(read.piece.runs)
        if read.piece.openings
    )
    assert legs == inside


def test_a_notch_is_measured_from_the_upper_end_with_the_dart_closed() -> None:
    block = Block(
        seam_by_seam(
            [
                ("shoulder", Line(0j, 200 + 0j)),
                ("side seam", Line(200 + 0j, 200 + 100j)),
                ("dart", Line(200 + 100j, complex(200 - math.sqrt(80**2 - 10**2), 110))),
                ("dart", Line(complex(200 - math.sqrt(80**2 - 10**2), 110), 200 + 120j)),
                ("side seam", Line(200 + 120j, 200 + 300j)),
                ("waist", Line(200 + 300j, 300j)),
                ("centre front", Line(300j, 0j)),
            ]
        )
    )
    outline = [
        OutlineEdge(e.segment, e.label._replace(mate="A"), e.leg)
        if e.label and e.label.name == "side seam"
        else e
        for e in block.outline
    ]
    read = take_block(block._replace(outline=outline), equalise=True)
    assert dot(read.down, 1j) > 0
    at = [204 + 40j, 197 + 170j]
    (plain,) = seams_with_mates(read.piece, "F", read.down, at, notched_darts=False)
    assert plain.length == pytest.approx(280.0)
    assert plain.notches == pytest.approx((40.0, 150.0))
    (result,) = seams_with_mates(read.piece, "F", read.down, at, notched_darts=True)
    assert result.notches == pytest.approx((40.0, 100.0, 150.0))


def sample() -> Any:
    return read_document(str(SAMPLE)).getroot()


def test_the_sample_says_what_it_was_drawn_for() -> None:
    report: Any = balance_report(compare_seams(sample()))
    pairs = {pair["mate"]: pair for pair in report["pairs"]}
    assert {mate: pair["verdict"] for mate, pair in pairs.items()} == {
        "side": MATCHES,
        "shoulder": MATCHES,
        "peplum": DIFFERS,
    }
    assert pairs["peplum"]["difference_mm"] == pytest.approx(-5.0)
    assert pairs["shoulder"]["difference_mm"] == pytest.approx(-8.0, abs=1e-3)
    assert pairs["shoulder"]["ease_mm"] == pytest.approx(-8.0)
    assert pairs["side"]["first"]["length_mm"] == pytest.approx(math.hypot(10, 185))
    assert pairs["side"]["first"]["notches_mm"] == pytest.approx([90.0], abs=1e-3)
    assert report["warnings"] == []


def test_results_are_compared_with_results_and_else_with_the_other_block() -> None:
    root = sample()
    move(root, Request())
    pairs = [
        (p.mate, p.first.block, p.second.block, p.difference)
        for p in compare_seams(root).comparisons
    ]
    front, back = "Bell Ringer front", "Bell Ringer back"
    assert [p[:3] for p in pairs if p[0] == "side"] == [
        ("side", front, back),
        ("side", f"{front} (finished)", back),
    ]
    allow(root, Request(selection=["back"]))
    compared = [p for p in compare_seams(root).comparisons if p.mate == "side"]
    assert [(p.first.block, p.second.block) for p in compared] == [
        (front, back),
        (f"{front} (finished)", f"{back} (finished)"),
    ]
    finished = compared[1]
    assert finished.difference == pytest.approx(0.0, abs=1e-6)
    # The dart was moved to 0.35 of the side seam, and is notched there.
    length = math.hypot(10, 185)
    assert finished.first.notches == pytest.approx((0.35 * length, 90.0), abs=0.01)
    assert finished.second.notches == pytest.approx((90.0,), abs=0.01)
    # A second try at the front does not count twice: its newest result is the one that counts.
    move(root, Request(selection=["front"], to="waist"))
    again = [p for p in compare_seams(root).comparisons if p.mate == "side"]
    assert len(again) == 2
    assert again[1].first.notches == pytest.approx((90.0,), abs=0.01)


def blocks(*marks: str) -> Any:
    body = ""
    for number, mark in enumerate(marks):
        x = 300 * number
        body += layer(
            f'<path inkscape:label="outline" d="M {x},0 h 200 v 300 h -200 Z"/>'
            + circle(mark, x + 200, 150),
            label=f"Piece {number + 1}",
        )
    return root_of(page(body))


def test_a_mate_alone_or_three_of_them_are_named() -> None:
    with pytest.raises(DraftingError, match=r'"A" is on one seam only: the side seam of Piece 1'):
        compare_seams(blocks("seam side seam mate A", "seam side seam"))
    three = ["seam side seam mate A"] * 3
    with pytest.raises(DraftingError, match=r"on 3 seams: .*Piece 1, .*Piece 2, .*Piece 3"):
        compare_seams(blocks(*three))
    with pytest.raises(DraftingError, match=r"no seams are marked as mates.*seam side seam mate A"):
        compare_seams(blocks("seam side seam"))
    balance = compare_seams(blocks("seam a mate A", "seam b mate A", "seam c mate B"))
    assert len(balance.comparisons) == 1
    assert balance.warnings[0].startswith('the mate "B" is on one seam only: the c of Piece 3')


def test_attributes_and_paths_of_a_group_say_a_mate_too() -> None:
    attributed = circle("", 200, 150, 'dartswing:role="seam" dartswing:mate="A"')
    drawn_block = layer(
        f'<path inkscape:label="outline" d="M 0,0 h 200 v 300 h -200 Z"/>{attributed}', "One"
    )
    group = (
        '<g inkscape:label="outline"><path inkscape:label="top" d="M 300,0 h 200"/>'
        '<path inkscape:label="side seam" dartswing:mate="A" dartswing:ease="4mm" '
        'd="M 500,0 v 304"/><path inkscape:label="rest" d="M 500,304 h -200 v -304"/></g>'
    )
    (pair,) = compare_seams(root_of(page(drawn_block + layer(group, "Two")))).comparisons
    assert pair.difference == pytest.approx(-4.0)
    assert pair.ease == -4.0
    assert pair.verdict == MATCHES


def test_other_blocks_may_be_unfinished() -> None:
    root = blocks("seam a mate A", "seam b mate A")
    bad = layer('<path inkscape:label="outline" d="M 900,0 h 100 v 50"/>', "Scrap")
    for element in root_of(page(bad)):
        root.append(element)
    assert len(compare_seams(root).comparisons) == 1


def test_the_note_is_replaced_and_never_read() -> None:
    root = sample()
    write_seam_balance(root)
    label = "{http://www.inkscape.org/namespaces/inkscape}label"
    (first,) = [child for child in root if child.get(label) == "Seam balance"]
    words = "\n".join(first.itertext())
    assert "longer by 5 mm" in words
    assert all(role_of(e) is None for e in first.iter())
    own = etree.SubElement(first, "{http://www.w3.org/2000/svg}rect", id="mine")
    write_seam_balance(root)
    (second,) = [child for child in root if child.get(label) == "Seam balance"]
    assert own in list(second)
    assert len(second) == 2
    assert "\n".join(second.itertext()) == words


def test_the_command_prints_and_changes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = SAMPLE.read_bytes()
    report = tmp_path / "balance.json"
    assert main(["balance", str(SAMPLE), "--report", str(report)]) == 0
    assert SAMPLE.read_bytes() == before
    printed = capsys.readouterr()
    assert printed.err == ""
    assert printed.out.strip() == "\n".join(balance_lines(compare_seams(sample())))
    assert len(json.loads(report.read_text())["pairs"]) == 3
    assert main(["balance", str(ROOT / "sample_svgs" / "front_one_path.svg")]) == 1
    assert "no seams are marked as mates" in capsys.readouterr().err
    assert main(["balance"]) == 2


def test_the_editors_script_writes_the_note_and_says_nothing() -> None:
    script = ROOT / "extension" / "dartswing.py"
    answer = subprocess.run(
        [sys.executable, script, "--command=balance", SAMPLE], capture_output=True, timeout=60
    )
    assert (answer.returncode, answer.stderr) == (0, b"")
    assert b"Seam balance" in answer.stdout


def test_in_inches_the_figures_of_mates_subtract_to_the_difference() -> None:
    with measuring_in("in"):
        text = "\n".join(balance_lines(compare_seams(read_document(str(SAMPLE)).getroot())))
    length = r"([\d/. ]+?) in"
    longer = rf", {length}; .*, {length}\.\n.* longer by {length}"
    apart = rf"{longer}|{length} and {length}: off by {length}"
    trios = [[part for part in trio if part] for trio in re.findall(apart, text)]
    assert len(trios) >= 4
    for trio in trios:
        one, other, by = (sum(map(Fraction, told.split())) for told in trio)
        assert abs(one - other) == by
