"""Sewing notes in the real editor: the pages are its own, and nothing of the drawing is lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree

from drafting_core.text.paper_sizes import DESK_PAGES
from extension.commands.command_line import main
from extension.document.namespaces import LABEL, ours
from extension.document.svg_document import parse_document, units
from extension.pages.editor_pages import PAGE
from tests.help.blocks.samples import BLOCKS
from tests.help.editor.editor import RealEditor

#: Each of them takes seconds.
pytestmark = pytest.mark.thorough

FRONT = next(path for path in BLOCKS if path.stem == "front_one_path")


def root_of(drawing: Path) -> etree._Element:
    return parse_document(drawing.read_bytes()).getroot()


def result_lines(root: etree._Element) -> list[str]:
    return [
        str(path.get("d"))
        for layer in root
        if layer.get(ours("result"))
        for path in layer.iter("{*}path")
    ]


def test_the_pages_are_the_editors_own(editor: RealEditor, tmp_path: Path) -> None:
    moved, out, by_command = (tmp_path / name for name in ("moved.svg", "out.svg", "command.svg"))
    assert main(["move", str(FRONT), "--to", "side seam:0.35", "-o", str(moved)]) == 0
    run = editor.run_action(moved, "dartswing.sew-notes.noprefs", out)
    assert (run.status, run.stderr) == (0, "")
    assert main(["sew-notes", str(moved), "-o", str(by_command)]) == 0
    root, other = root_of(out), root_of(by_command)
    (layer,) = (child for child in root if child.get(ours("sheet")) == "sew-notes")
    (there,) = (child for child in other if child.get(ours("sheet")) == "sew-notes")
    assert layer.get(LABEL) == there.get(LABEL) == "Sewing notes: Lamplighter front"
    texts = ["".join(e.itertext()).split() for e in layer.iter("{*}text")]
    assert texts == ["".join(e.itertext()).split() for e in there.iter("{*}text")]
    pages = list(root.iter(PAGE))
    assert len(pages) == 2
    size = [float(pages[-1].get(name)) * units(root) for name in ("width", "height")]
    assert size == pytest.approx(DESK_PAGES["A4"], abs=0.1)
    assert len(result_lines(root)) == len(result_lines(root_of(moved))) > 0


def test_a_drawing_without_a_finished_piece_stays_as_it_is(
    editor: RealEditor, tmp_path: Path
) -> None:
    out = tmp_path / "out.svg"
    run = editor.run_action(FRONT, "dartswing.sew-notes.noprefs", out, dismiss=True)
    assert run.status == 0
    root = root_of(out)
    assert [child for child in root if child.get(ours("sheet"))] == []
    assert list(root.iter(PAGE)) == []
