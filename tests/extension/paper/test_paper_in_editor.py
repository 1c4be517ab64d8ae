"""Print on paper in the real editor: its own pages, printed by its own exporter."""

from __future__ import annotations

from pathlib import Path

import pytest

from extension.commands.command_line import main
from tests.conftest import require
from tests.extension.sewing.test_sew_notes_in_editor import result_lines, root_of
from tests.help.blocks.samples import BLOCKS
from tests.help.editor.editor import RealEditor
from tests.help.printing.pdf_pages import export_pdf, missing_tools, page_sizes, page_texts
from tests.help.printing.printed_pages import lines_on_sheet, pages_of, parsed, sets_of

#: Each of them takes seconds.
pytestmark = pytest.mark.thorough

FRONT = next(path for path in BLOCKS if path.stem == "front_one_path")


@pytest.fixture
def moved(tmp_path: Path) -> Path:
    drawing = tmp_path / "moved.svg"
    assert main(["move", str(FRONT), "--to", "side seam:0.35", "-o", str(drawing)]) == 0
    return drawing


def test_the_pages_are_the_editors_own(editor: RealEditor, moved: Path, tmp_path: Path) -> None:
    out, by_command = tmp_path / "out.svg", tmp_path / "command.svg"
    run = editor.run_action(moved, "dartswing.paper.noprefs", out)
    assert (run.status, run.stderr) == (0, "")
    assert main(["paper", str(moved), "-o", str(by_command)]) == 0
    ours, there = pages_of(root_of(out)), pages_of(parsed(by_command.read_bytes()))
    assert [page.label for page in ours] == [page.label for page in there]
    for page, other in zip(ours, there, strict=True):
        assert (page.width, page.height) == pytest.approx((other.width, other.height), abs=1e-3)
    assert lines_on_sheet(ours).keys() == lines_on_sheet(there).keys()
    assert result_lines(root_of(out)) == result_lines(root_of(moved))


def test_printed_from_the_editor_the_drawings_own_page_comes_first(
    editor: RealEditor, moved: Path, tmp_path: Path
) -> None:
    require(*missing_tools())
    out, pdf = tmp_path / "out.svg", tmp_path / "all.pdf"
    assert editor.run_action(moved, "dartswing.paper.noprefs", out).status == 0
    export_pdf(out, pdf)
    pages = pages_of(root_of(out))
    sizes, texts = page_sizes(pdf), page_texts(pdf)
    assert len(sizes) == 1 + len(pages)
    for size, page in zip(sizes[1:], pages, strict=True):
        assert size == pytest.approx((page.width, page.height), abs=0.1)
    assert "Print at 100 %" in texts[1]
    assert "Row 1, column 1" in texts[2]


def test_a_drawing_without_a_finished_piece_stays_as_it_is(
    editor: RealEditor, tmp_path: Path
) -> None:
    out = tmp_path / "out.svg"
    assert editor.run_action(FRONT, "dartswing.paper.noprefs", out, dismiss=True).status == 0
    assert sets_of(root_of(out)) == []
