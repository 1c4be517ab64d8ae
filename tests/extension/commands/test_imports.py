"""A command imports what it uses and nothing else: each import is time that the drafter waits."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from lxml import etree

from extension.document.svg_document import parse_document
from extension.drafting.move_and_allow import Request, move
from extension.installing.proof_drawing import PROOF_DRAWING

ROOT = Path(__file__).parents[3]
MATES = (ROOT / "sample_svgs" / "front_and_back_mates.svg").read_text(encoding="utf-8")


def finished() -> str:
    """The proof drawing with a finished piece in it."""
    root = parse_document(PROOF_DRAWING.encode("utf-8")).getroot()
    move(root, Request())
    return str(etree.tostring(root, encoding="unicode"))


DRAFTING = {
    "drafting_core.finished.draft",
    "drafting_core.move.moving",
    "drafting_core.allowance.cut_line",
    "drafting_core.finished.pattern_piece",
    "extension.drafting.move_and_allow",
    "extension.drafting.report",
    "extension.drafting.write_result",
}
MARKING = {
    "extension.marking.mark_parts",
    "extension.marking.mark_block",
    "extension.marking.marks_layer",
}
SELDOM = {
    "drafting_core.style.style_line",
    "drafting_core.move.nest",
    "drafting_core.allowance.turned_allowance",
    "extension.drafting.balance_table",
    "extension.commands.check_here",
    "extension.comparing.compare_places",
    "extension.reading.nest_marks",
    "extension.reading.selected_objects",
}
OTHER_COMMANDS = {
    "extension.commands.command_line",
    "extension.commands.demo",
    "extension.installing.doctor",
    "extension.host.editors",
    "extension.pages.export_pdf",
    "extension.installing.install",
}
#: Command, its arguments, its drawing, and what it has no use for.
COMMANDS = {
    "move": (["--tab=place"], PROOF_DRAWING, MARKING | SELDOM),
    "allow": (["--tab=dart"], PROOF_DRAWING, MARKING | SELDOM),
    "balance": ([], MATES, MARKING | SELDOM | DRAFTING),
    "mark-block": (
        ["--id=front-outline"],
        PROOF_DRAWING,
        SELDOM - {"extension.reading.selected_objects"} | DRAFTING,
    ),
    "mark": (
        ["--id=front-apex", "--role=notch"],
        PROOF_DRAWING,
        SELDOM - {"extension.reading.selected_objects"}
        | DRAFTING
        | {"drafting_core.block.found_block"},
    ),
    "clean": (["--tab=line"], PROOF_DRAWING, SELDOM | DRAFTING),
    "sew-notes": (["--tab=page"], finished(), MARKING | SELDOM | {"extension.paper.paper"}),
    "paper": (["--tab=paper"], finished(), MARKING | SELDOM | {"extension.sewing.notes"}),
}
CODE = """
import io, sys
from extension.commands.editor_effect import DartswingEffect
before = set(sys.modules)
DartswingEffect(sys.argv[1]).run(sys.argv[2:], output=io.BytesIO())
print("\\n".join(set(sys.modules)))
print("\\n".join("by us: " + name for name in set(sys.modules) - before))
"""


@pytest.mark.parametrize("command", COMMANDS)
def test_nothing_is_imported_that_the_command_does_not_use(command: str, tmp_path: Path) -> None:
    arguments, text, unused = COMMANDS[command]
    drawing = tmp_path / "drawing.svg"
    drawing.write_text(text, encoding="utf-8")
    answer = subprocess.run(
        [sys.executable, "-c", CODE, command, *arguments, str(drawing)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (answer.returncode, answer.stderr) == (0, "")
    loaded = set(answer.stdout.split("\n"))
    assert "drafting_core.plane.curves" in loaded
    assert loaded & (unused | OTHER_COMMANDS) == set()
    # What the editor's library imports by itself is not ours to judge.
    assert loaded & {"by us: numpy", "by us: json", "by us: shapely", "by us: subprocess"} == set()


def test_the_tables_name_modules_that_there_are() -> None:
    for name in DRAFTING | MARKING | SELDOM | OTHER_COMMANDS:
        assert (ROOT / f"{name.replace('.', '/')}.py").is_file()
