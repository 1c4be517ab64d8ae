"""What is said: remarks, refusals, on the command line and in the editor."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from drafting_core.text.errors import DraftingError
from extension.commands.command_line import main
from extension.drafting.move_and_allow import Request, allow
from extension.paper.paper import paper_request
from extension.sewing.notes import sew_notes
from tests.help.blocks.drawings import NS, marked_front, page, parts
from tests.help.editor.effects import run_effect
from tests.help.printing.printed_pages import (
    lines_on_sheet,
    pages_of,
    parsed,
)
from tests.help.printing.printing import DEFAULTS, SAMPLES, moved, moved_bytes, paper, refusal

# What the drafter has to know


@pytest.mark.thorough
def test_a_cut_line_that_does_not_follow_its_stitch_line_is_remarked() -> None:
    root = moved(to="side seam:0.35")
    assert paper(root).remarks == ()
    (stitch,) = parts(root, "stitch-line")
    # The lowest node of the waist, drawn 6 mm further down.
    lowest = max(re.findall(r"L ([\d.]+),([\d.]+)", stitch.get("d")), key=lambda n: float(n[1]))
    lower = f"{lowest[0]},{float(lowest[1]) + 6}"
    stitch.set("d", stitch.get("d").replace(",".join(lowest), lower))
    (remark,) = paper(root).remarks
    assert "run Allowances and print again" in remark
    off = re.search(r"up to ([\d.]+) mm", remark)
    assert off is not None
    assert 2.0 < float(off[1]) < 9.0
    # The sewing notes say it too: they show the stitch line as it is now.
    assert sew_notes(root, [], "A4").remarks == (remark,)
    said = " ".join(text for text in pages_of(root)[0].texts)
    assert "run Allowances and print again" in said
    allow(root, Request())
    assert paper(root).remarks == sew_notes(root, [], "A4").remarks == ()


def test_a_layer_that_was_scaled_is_remarked() -> None:
    root = moved(to="side seam:0.35")
    (result,) = (child for child in root if child.get(f"{{{NS['dartswing']}}}result"))
    result.set("transform", "scale(0.9)")
    assert any("measures 45 mm instead of 50 mm" in remark for remark in paper(root).remarks)


# Bad input


def test_nothing_to_print() -> None:
    message = refusal(parsed(page(marked_front())))
    assert "Front" in message
    assert "no cut line yet" in message
    assert "Move dart" in message
    assert "no outline" in refusal(parsed(page("")))
    root = moved(to="side seam:0.35")
    nothing = dict.fromkeys(("cut", "stitch", "dart", "window", "marks", "names"), "no")
    assert "everything is left out" in refusal(root, **nothing)
    for child in root:
        if child.get(f"{{{NS['dartswing']}}}result"):
            child.set("style", "display:none")
    assert "all finished pieces are hidden" in refusal(root)


def test_margin_and_overlap_larger_than_the_page() -> None:
    root = moved(to="side seam:0.35")
    message = refusal(root, margin="80", overlap="60")
    assert "margin of 80 mm" in message
    assert "overlap of 60 mm" in message
    assert "210 mm" in message
    assert "no room for the 2 in test square" in refusal(root, margin="80", overlap="5")
    assert "more than 200 mm" in refusal(root, margin="300")


def test_a_roll_that_is_too_narrow_names_the_piece_and_the_width_it_needs() -> None:
    root = moved(to="side seam:0.35")
    message = refusal(root, paper="roll 200mm")
    assert "Lamplighter front" in message
    needed = re.search(r"needs (\d+) mm", message)
    assert needed is not None
    wide = int(needed[1])
    assert "too narrow" in refusal(root, paper=f"roll {wide - 1}mm")
    paper(root, paper=f"roll {wide}mm")
    (printed,) = pages_of(root)
    assert printed.width == pytest.approx(wide)


def test_unknown_papers_and_sizes_list_the_known() -> None:
    root = moved("front_nest", to="")
    message = refusal(root, paper="A9")
    assert "A4, A3, A2, A1, A0, Letter, A4 and Letter, Legal, Tabloid" in message
    message = refusal(root, sizes="35")
    assert "34, 36, 38, 40, 42, 44, 46, 48" in message
    assert "No piece here has a size" in refusal(moved(to="waist"), sizes="36")


def test_a_result_that_can_no_longer_be_finished_says_so() -> None:
    root = moved(to="side seam:0.35")
    (stitch,) = parts(root, "stitch-line")
    stitch.set("d", stitch.get("d").replace("Z", ""))
    assert "Dart at side seam 35%, Lamplighter front" in refusal(root)


# Command line and editor


def test_the_command_line_writes_the_drawing_and_says_how_it_lies(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    result, printed = tmp_path / "moved.svg", tmp_path / "printed.svg"
    result.write_bytes(moved_bytes("front_one_path", "side seam:0.35", ()))
    assert main(["paper", str(result), "-o", str(printed), "--overlap", "15"]) == 0
    said = capsys.readouterr().out
    count = len(pages_of(parsed(printed.read_bytes())))
    assert f"Lamplighter front: {count} pages A4" in said
    assert main(["paper", str(result), "-o", str(printed), "--copies", "said"]) == 0
    count = len(pages_of(parsed(printed.read_bytes())))
    assert f"Lamplighter front (2 pieces): {count} pages A4" in capsys.readouterr().out
    assert "measure the squares" in said
    assert "trial in cheap cloth" in said
    assert main(["paper", str(result)]) == 2
    assert main(["paper", str(result), "-o", str(printed), "--paper", "A9"]) == 2
    assert "A0, Letter" in capsys.readouterr().err
    assert main(["paper", str(SAMPLES / "front_one_path.svg"), "-o", str(printed)]) == 1


def test_in_the_editor_it_gives_the_same_pages(tmp_path: Path) -> None:
    drawing, printed = tmp_path / "moved.svg", tmp_path / "printed.svg"
    drawing.write_bytes(moved_bytes("front_one_path", "side seam:0.35", ()))
    assert main(["paper", str(drawing), "-o", str(printed), "--paper", "Letter"]) == 0
    answer = run_effect("paper", drawing, "--paper=Letter")
    assert (answer.status, answer.said) == (0, "")
    one, other = (pages_of(parsed(text)) for text in (answer.document, printed.read_bytes()))
    assert [p.label for p in one] == [p.label for p in other]
    assert lines_on_sheet(one).keys() == lines_on_sheet(other).keys()


def test_in_the_editor_remarks_are_shown_and_a_wrong_number_is_noted(tmp_path: Path) -> None:
    drawing = tmp_path / "moved.svg"
    drawing.write_bytes(moved_bytes("front_one_path", "side seam:0.35", ()))
    answer = run_effect("paper", drawing, "--cut_only=yes")
    assert "do not fit on A4" in answer.said
    # A number that is not yet whole is said on the canvas: the live preview runs with each digit.
    answer = run_effect("paper", drawing, "--paper=roll", "--width=100")
    assert answer.said == ""
    assert "too narrow" in answer.document
    assert "Check here" in answer.document


@pytest.mark.parametrize("how", ["deleted", "hidden"])
def test_a_piece_without_its_cut_line_is_refused(how: str) -> None:
    root = moved(to="side seam:0.35")
    (cut,) = parts(root, "cut-line")
    if how == "deleted":
        cut.getparent().remove(cut)
    else:
        cut.getparent().set("style", "display:none")
    for values in ({}, {"cut_only": "yes"}):
        message = refusal(root, **values)
        assert 'The piece "Lamplighter front": its cut line is hidden or deleted' in message
    paper(root, cut="no")
    with pytest.raises(DraftingError, match="cutting machine"):
        paper_request({**DEFAULTS, "cut": "no", "cut-only": "yes"}, [])


def test_a_dart_that_is_no_longer_found_is_refused_by_both() -> None:
    root = moved(to="neckline/centre front")
    (stitch,) = parts(root, "stitch-line")
    (point,) = parts(root, "dart-point")
    tip = complex(float(point.get("cx")), float(point.get("cy")))
    nodes = re.findall(r"[\d.-]+,[\d.-]+", stitch.get("d"))
    node = min(nodes, key=lambda text: abs(complex(*map(float, text.split(","))) - tip))
    stitch.set("d", stitch.get("d").replace(node, f"{tip.real + 70},{tip.imag + 30}"))
    assert "Dart at neckline tip, Lamplighter front" in refusal(root)
    with pytest.raises(DraftingError, match="Dart at neckline tip, Lamplighter front"):
        sew_notes(root, [], "A4")
