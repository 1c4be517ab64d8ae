"""What a hand changes of a result is followed, obeyed, told or refused; nothing is lost in silence.

Each row of the table is an edit made on a written result as a hand makes it. What is expected of
the result afterwards is measured by other means than it was drawn.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from tests.help.depth import some_quick
from tests.help.hand.measured import (
    as_it_lies,
    but_for_the_note,
    drawn_bits,
    far_apart,
    geometry,
    lengths,
    line,
    off_the_parallel,
    words_and_seams,
)
from tests.help.hand.on_line import seam_deleted
from tests.help.hand.results import OURS, Drawing, Told, result, run
from tests.help.hand.row import FOLLOWED, REFUSED, Row, says
from tests.help.hand.table import rows

TABLE = rows()
#: How far a cut line may lie from the parallel of the line that was drawn by hand, in mm.
PARALLEL = 0.05
#: Numbers that are taken back to what they were may differ by this (areas in mm² among them).
THE_SAME = 1e-5
#: What a message tells where something was changed that could not stay.
_TELLING = re.compile(
    "changed by hand|deleted and drawn|no seam .* any more|is none any more|allowance was|intake"
    ' was|" is ".*" now'
)
_OLD = "cut line is up to"


def _params(chosen: Sequence[Row], quick: int) -> list[Any]:
    """Return rows to test, most of them for the thorough run."""
    marked = [pytest.param(row, id=str(row)) for row in chosen]
    return some_quick(marked, min(quick, len(marked)))


def _printed(quick: int) -> list[Any]:
    """Return rows with the commands that print, told apart by what is wrong with each."""
    marked = [
        pytest.param(
            row,
            command,
            id=f"{command}-{row}",
        )
        for row in TABLE
        for command in ("paper", "sew-notes")
    ]
    return some_quick(marked, quick)


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("hand")


def edited(row: Row, folder: Path) -> Drawing:
    drawing = result(row.base, folder)
    row.edit(drawing)
    return drawing


def widths_of(row: Row, drawing: Drawing) -> dict[str, float]:
    """Return the allowances that a result has to have: as the commands were told, and the hand."""
    asked = {**drawing.base.widths, **row.widths}
    fold = {} if "centre front" in asked else {"centre front": 0.0}
    return {**asked, **fold}


def check_plain(told: Told) -> None:
    """See that a message is one for a drafter, and none of the program's own."""
    assert told.status in (0, 1)
    assert not re.search(r"Something went wrong|Traceback|Error\b|\bNone\b|\bnan\b", told.said)
    if told.status:
        assert "\n\n" not in told.said.strip()
        assert re.search(r"[.)]$", told.said.strip())


@pytest.mark.parametrize("row", _params(TABLE, 12))
def test_nothing_that_a_hand_does_is_lost_in_silence(row: Row, folder: Path) -> None:
    drawing = edited(row, folder)
    kept = row.keeps(drawing) if row.keeps else None
    told = run(drawing.root, "allow", folder)
    check_plain(told)
    assert says(row, told.said), told.said
    assert told.status == (row.outcome == REFUSED), told.said
    if told.status:
        return
    now = drawing.after(told.root, row.names)
    if row.outcome == FOLLOWED:
        assert not _TELLING.search(told.said), told.said
    check_measures(row, now, told)
    again = run(told.root, "allow", folder)
    assert again.status == 0, again.said
    assert not _TELLING.search(again.said), again.said
    assert but_for_the_note(again.root) == but_for_the_note(told.root)
    if row.keeps:
        assert row.keeps(now) == kept
        assert row.keeps(drawing.after(again.root, row.names)) == kept
    if row.is_redrawn:
        assert far_apart(result(row.base, folder).layer, now.layer) < THE_SAME


def check_measures(row: Row, now: Drawing, told: Told) -> None:
    """Measure a result against what a hand has drawn."""
    bits = as_it_lies(now.root, now.stitch, _given_to_a_seam(now.bits, told))
    widths = widths_of(row, now)
    asked = lengths(bits)
    off = off_the_parallel(bits, drawn_bits(now.root, now.part("cut-line")), widths)
    assert off.keys() == asked.keys()
    assert max(off.values()) <= PARALLEL + row.uneven / 2 + row.loose, off
    measured = [
        {seam["name"]: seam["after_mm"] for seam in block["seams"]}
        for block in told.report["blocks"]
    ]
    within = 0.05 + row.uneven + row.loose
    assert any(
        found.keys() == asked.keys()
        and all(abs(found[name] - length) < within for name, length in asked.items())
        for found in measured
    ), (asked, measured)
    beside = words_and_seams(now.root, now.layer, bits)
    assert beside.keys() == asked.keys()
    assert max(beside.values()) <= 3.01 + row.loose, beside


def _given_to_a_seam(bits: Any, told: Told) -> Any:
    """Give what lies between two seams, where a corner was cut off, to the one that has it."""
    found = {s["name"]: s["after_mm"] for b in told.report["blocks"] for s in b["seams"]}
    for k, bit in enumerate(bits):
        if bit.seam == "either":
            owner = min(
                (bits[k - 1].seam, bits[k + 1].seam),
                key=lambda name: abs(lengths(bits)[name] + bit.length() - found[name]),
            )
            return [*bits[:k], bit._replace(seam=owner), *bits[k + 1 :]]
    return bits


@pytest.mark.thorough
@pytest.mark.parametrize(("row", "command"), _printed(10))
def test_what_is_printed_is_what_is_drawn_or_is_said_not_to_be(
    row: Row, command: str, folder: Path
) -> None:
    drawing = edited(row, folder)
    told = run(drawing.root, "allow", folder)
    before = run(drawing.root, command, folder)
    check_plain(before)
    if drawing.parts("cut-line") and drawing.stitch.getparent() is not None:
        assert "hidden or deleted" not in before.said
    if told.status:
        assert before.status == 1 or _OLD in before.said or row.base not in ("front",)
        return
    now = drawing.after(told.root, row.names)
    after = run(now.root, command, folder)
    check_plain(after)
    assert after.status == 0, after.said
    assert _OLD not in after.said
    if drawing.parts("cut-line"):
        lines = [line(drawn_bits(d.root, d.part("cut-line"))) for d in (drawing, now)]
        moved = lines[0].hausdorff_distance(lines[1])
        if moved > 0.5:
            assert before.status == 1 or _OLD in before.said
        elif moved < 0.05:
            assert before.status == 1 or _OLD not in before.said


@pytest.mark.parametrize("row", _params([r for r in TABLE if r.goes_back], 6))
def test_what_is_taken_back_by_hand_is_as_it_was(row: Row, folder: Path) -> None:
    original, drawing = result(row.base, folder), edited(row, folder)
    told = run(drawing.root, "allow", folder)
    assert told.status == 0, told.said
    now = drawing.after(told.root, row.names)
    assert far_apart(original.layer, now.layer) > THE_SAME or row.name in _SEEN_ALIKE
    now.stitch.set("d", original.stitch.get("d"))
    now.stitch.attrib.pop("transform", None)
    now.layer.attrib.pop("transform", None)
    back = run(now.root, "allow", folder)
    assert back.status == 0, back.said
    assert far_apart(original.layer, now.after(back.root, {}).layer) < THE_SAME


#: Edits after which everything may lie where it did.
_SEEN_ALIKE = ("path reversed", "ring started elsewhere", "node added on the line")


@pytest.mark.parametrize("row", _params([r for r in TABLE if r.name == "nothing changed"], 4))
def test_an_unchanged_result_keeps_every_byte_of_its_places(row: Row, folder: Path) -> None:
    drawing = result(row.base, folder)
    told = run(drawing.root, "allow", folder)
    assert geometry(drawing.after(told.root, {}).layer) == geometry(drawing.layer)
    assert len(geometry(drawing.layer)) > 10


@pytest.mark.parametrize(
    "row",
    _params([r for r in TABLE if r.base == "front" and r.outcome != REFUSED], 6),
)
def test_a_move_from_what_a_hand_has_changed_knows_the_same_seams(row: Row, folder: Path) -> None:
    drawing = edited(row, folder)
    told = run(drawing.root, "allow", folder)
    now = drawing.after(told.root, row.names)
    layer = str(now.layer.get("id"))
    moved = run(now.root, "move", folder, "--to", "neckline:0.5", "--select", layer)
    check_plain(moved)
    if moved.status:
        # A dart that was taken out, or whose mirrored legs cannot turn, is not moved.
        is_gone = "neckline" not in {bit.seam for bit in now.bits}
        assert is_gone or row.name.startswith(("dart closed", "legs", "dart drawn"))
        return
    names = {
        e.get(f"{OURS}name") for e in moved.root[-1].iter() if e.get(f"{OURS}part") == "seam-name"
    }
    asked = {bit.seam for bit in _given_to_a_seam(now.bits, told)} - {""}
    assert names == asked


@pytest.mark.parametrize("base", ["front", "skirt", "back", "sleeve as drawn"])
@pytest.mark.parametrize("how", ["rotate(180)", "scale(1,-1)"])
def test_a_finished_piece_that_is_turned_keeps_its_cut_line(
    base: str, how: str, folder: Path
) -> None:
    drawing = result(base, folder)
    drawing.layer.set("transform", how)
    turned = line(drawn_bits(drawing.root, drawing.part("cut-line")))
    now = drawing.after(run(drawing.root, "allow", folder).root, {})
    assert turned.hausdorff_distance(line(drawn_bits(now.root, now.part("cut-line")))) < PARALLEL


def test_a_word_that_was_drawn_can_be_marked(folder: Path) -> None:
    drawing = result("front", folder)
    word = str(drawing.word("waist").get("id"))
    wanted = ["--role", "seam", "--seam", "hem", "--allowance", "31mm"]
    marked = run(drawing.root, "mark", folder, "--select", word, *wanted)
    check_plain(marked)
    assert marked.status == 0
    told = run(marked.root, "allow", folder)
    assert '"waist" is "hem" now' in told.said
    assert "is 31 mm" in told.said


def test_a_corner_between_two_seams_that_was_deleted_is_told_with_its_place(folder: Path) -> None:
    drawing = result("front", folder)
    seam_deleted("shoulder")(drawing)
    whole = sum(bit.length() for bit in drawing.bits if bit.seam == "neckline")
    told = run(drawing.root, "allow", folder)
    check_plain(told)
    assert told.status == 0
    assert re.search(
        r"The corner between neckline and shoulder is gone: taken at \(\S+, \S+\) mm", told.said
    )
    found = dict(re.findall(r"(neckline|shoulder) +\S+ +(\S+)", told.said))
    assert sum(map(float, found.values())) == pytest.approx(whole, abs=0.1)


def test_the_table_is_large_enough() -> None:
    assert len({row.name for row in TABLE}) >= 60
    assert len({str(row) for row in TABLE}) == len(TABLE)
