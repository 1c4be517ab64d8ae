"""Clean up a scan in the real editor: the same block as by the command line, and nothing lost."""

from __future__ import annotations

import base64
import subprocess
from pathlib import Path

import numpy as np
import pytest
from lxml import etree
from PIL import Image

from extension.commands.command_line import main
from extension.document.namespaces import LABEL, ours
from extension.document.svg_document import parse_document
from tests.conftest import require
from tests.help.blocks.samples import SCANS
from tests.help.editor.editor import RealEditor
from tests.help.scans.clean_measures import outlines_in, read_path
from tests.help.scans.drawn_sheet import BLOCK, grey_sheet, saved
from tests.help.scans.fresh.judge import best_motion, given_blocks
from tests.help.scans.fresh.pictures import HAS_TRACER

#: Each of them takes seconds.
pytestmark = pytest.mark.thorough

SCAN = next(path for path in SCANS if path.stem == "scanned_front")


def root_of(drawing: Path) -> etree._Element:
    return parse_document(drawing.read_bytes()).getroot()


def nodes_of(root: etree._Element) -> list[complex]:
    (outline,) = outlines_in(root)
    return [z for part in read_path(outline.get("d")) for z in part]


def trace_data(root: etree._Element) -> list[str]:
    layers = {e for e in root if e.get(ours("clean")) or e.get(ours("sheet"))}
    return [
        str(path.get("d"))
        for child in root
        if child not in layers
        for path in child.iter("{*}path")
    ]


def test_the_editor_cleans_up_as_the_command_line_does(editor: RealEditor, tmp_path: Path) -> None:
    in_editor, by_command = tmp_path / "in editor.svg", tmp_path / "by command.svg"
    run = editor.run_action(SCAN, "dartswing.clean.noprefs", in_editor)
    assert (run.status, run.stderr) == (0, "")
    assert main(["clean", str(SCAN), "-o", str(by_command)]) == 0
    ours_there, ours_here = root_of(in_editor), root_of(by_command)
    # The editor hands paths over with six digits: hundredths of a millimetre on a sheet.
    assert nodes_of(ours_there) == pytest.approx(nodes_of(ours_here), abs=0.1)
    assert trace_data(ours_there) == trace_data(root_of(SCAN))
    labels = [e.get(LABEL) for e in ours_there if e.get(ours("clean")) or e.get(ours("sheet"))]
    assert labels == ["Clean-up: front", "Clean block: front"]


def test_what_was_cleaned_up_moves_in_the_editor(editor: RealEditor, tmp_path: Path) -> None:
    clean, moved = tmp_path / "clean.svg", tmp_path / "moved.svg"
    assert editor.run_action(SCAN, "dartswing.clean.noprefs", clean).status == 0
    (outline,) = outlines_in(root_of(clean))
    run = editor.run_action(
        clean, "dartswing.allow.noprefs", moved, select=[str(outline.get("id"))]
    )
    assert (run.status, run.stderr) == (0, "")
    assert len([e for e in root_of(moved) if e.get(ours("result"))]) == 1


def test_a_picture_without_a_trace_stays_as_it_is(editor: RealEditor, tmp_path: Path) -> None:
    drawing, out = tmp_path / "scan.svg", tmp_path / "out.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="99mm" height="99mm" viewBox="0 0 99 99">'
        '<image id="scan" width="50" height="50" href="data:image/png;base64,'
        'iVBORw0KGgoAAAANSUhEUgAAAAIAAAACCAAAAABX3VL4AAAADklEQVR4nGP8z8DEwAAABQ0BA7hKXG8AAAAASUVORK5CYII="/></svg>',
        encoding="utf-8",
    )
    run = editor.run_action(drawing, "dartswing.clean.noprefs", out, dismiss=True)
    assert run.status == 0
    assert [e.get("id") for e in root_of(out).iter("{*}image")] == ["scan"]
    assert list(root_of(out).iter("{*}path")) == []


def test_a_selected_picture_is_traced_or_the_editor_says_what_it_lacks(
    editor: RealEditor, tmp_path: Path
) -> None:
    """Not every editor's Python reads pictures: then one message, and the drawing as it was."""
    require(*([] if HAS_TRACER else ["potrace"]))
    drawing, out = tmp_path / "drawing.svg", tmp_path / "out.svg"
    data = base64.b64encode(saved(Image.fromarray(grey_sheet()), "PNG")).decode("ascii")
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        'width="140mm" height="170mm" viewBox="0 0 140 170"><image id="scan" x="10" y="10" '
        'width="120" height="150" preserveAspectRatio="none" '
        f'xlink:href="data:image/png;base64,{data}"/></svg>',
        encoding="utf-8",
    )
    asked = ["python3", "-c", "import PIL"]
    can_read = subprocess.run(asked, env=editor.variables, capture_output=True, check=False)
    action = "dartswing.clean.noprefs"
    run = editor.run_action(drawing, action, out, select=["scan"], dismiss=can_read.returncode != 0)
    assert run.status == 0
    if can_read.returncode:
        assert list(root_of(out).iter("{*}path")) == []
        return
    assert run.stderr == ""
    (block,) = given_blocks(root_of(out), {"blocks": [{"darts": 1}]})
    # It is turned upright and made square there, within the tolerance.
    assert best_motion(np.array(BLOCK), block.line, 0.0)[2] < 0.7
