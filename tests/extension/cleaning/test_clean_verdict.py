"""What the note and the report say of a block beside all ink of its sheet."""

from __future__ import annotations

from extension.cleaning.clean_report import clean_lines, report_of
from tests.help.scans.traces import cleaned, drawing, line_of, path, refusal, some_block


def test_a_plain_line_is_as_drawn_in_note_and_report() -> None:
    block, rng = some_block(3)
    done, root = cleaned(drawing(path(line_of(block, rng), closed=True)))
    (entry,) = report_of(done)["blocks"]
    assert entry["verdict"] == "as drawn"
    assert entry["look_at"] == []
    assert len(entry["ink"]) == len(entry["seams"])
    assert all(seam["on_ink_part"] > 0.99 for seam in entry["ink"])
    assert "As drawn." in clean_lines(done)
    assert any("As drawn." in "".join(e.itertext()) for e in root.iter("{*}text"))


def test_a_second_line_beside_is_told_with_its_figures() -> None:
    block, rng = some_block(3)
    line = line_of(block, rng, wobble=0.1)
    count = len(line) // 4
    way = (line[count] - line[0]) / abs(line[count] - line[0])
    # Inside the block or out of it: either is part of no block.
    beside = [z + 4j * way for z in line[5 : count - 5]]
    done, _root = cleaned(drawing(path(line, closed=True), path(beside)))
    (entry,) = report_of(done)["blocks"]
    assert entry["unexplained_part"] > 0.02
    assert any(seam["beside_part"] > 0.05 for seam in entry["ink"])
    assert any("part of no block" in words for words in clean_lines(done))


def test_of_lines_in_pieces_the_message_tells_what_is_missing() -> None:
    block, rng = some_block(7)
    line = line_of(block, rng, wobble=0.05)
    step = len(line) // 24
    pieces = [line[k : k + step - 2] for k in range(0, len(line) - step, step)]
    words = refusal(drawing(*(path(piece) for piece in pieces)), gap="0.1mm")
    assert "of their length is missing" in words
    assert "higher brightness threshold" in words
    assert "--gap" not in words
