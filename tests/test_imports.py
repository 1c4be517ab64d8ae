"""A command imports what it uses and nothing else: each import is time that the drafter waits."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from lxml import etree

from extension.jobs import Request, move
from extension.proof_drawing import PROOF_DRAWING
from extension.svg_document import parse_document

ROOT = Path(__file__).parent.parent
MATES = (ROOT / "sample_svgs" / "front_and_back_mates.svg").read_text(encoding="utf-8")


def finished() -> str:
    """The proof drawing with a finished piece in it."""
    root = parse_document(PROOF_DRAWING.encode("utf-8")).getroot()
    move(root, Request())
    return str(etree.tostring(root, encoding="unicode"))


DRAFTING = {
    "drafting_core.draft",
    "drafting_core.moving",
    "drafting_core.cut_line",
    "drafting_core.pattern_piece",
    "extension.jobs",
    "extension.report",
    "extension.write_result",
}
MARKING = {"extension.mark_parts", "extension.mark_block", "extension.marks_layer"}
SELDOM = {
    "drafting_core.style_line",
    "drafting_core.nest",
    "drafting_core.turned_allowance",
    "extension.balance_table",
    "extension.check_here",
    "extension.compare",
    "extension.nest_marks",
    "extension.selected_objects",
}
OTHER_COMMANDS = {
    "extension.command_line",
    "extension.demo",
    "extension.doctor",
    "extension.editors",
    "extension.export_pdf",
    "extension.install",
}
#: Command, its arguments, its drawing, and what it has no use for.
COMMANDS = {
    "move": (["--tab=place"], PROOF_DRAWING, MARKING | SELDOM),
    "allow": (["--tab=dart"], PROOF_DRAWING, MARKING | SELDOM),
    "balance": ([], MATES, MARKING | SELDOM | DRAFTING),
    "mark_block": (
        ["--id=front-outline"],
        PROOF_DRAWING,
        SELDOM - {"extension.selected_objects"} | DRAFTING,
    ),
    "mark": (
        ["--id=front-apex", "--role=notch"],
        PROOF_DRAWING,
        SELDOM - {"extension.selected_objects"} | DRAFTING | {"drafting_core.found_block"},
    ),
    "clean": (["--tab=line"], PROOF_DRAWING, SELDOM | DRAFTING),
    "sew_notes": (["--tab=page"], finished(), MARKING | SELDOM | {"extension.paper"}),
    "paper": (["--tab=paper"], finished(), MARKING | SELDOM | {"extension.sew_notes"}),
}
CODE = """
import io, sys
from importlib import import_module
from extension.editor_effect import DartswingEffect
before = set(sys.modules)
module = import_module(sys.argv[1])
(effect,) = [
    thing for thing in vars(module).values()
    if isinstance(thing, type) and issubclass(thing, DartswingEffect)
    and thing.__module__ == sys.argv[1]
]
effect().run(sys.argv[2:], output=io.BytesIO())
print("\\n".join(set(sys.modules)))
print("\\n".join("by us: " + name for name in set(sys.modules) - before))
"""


@pytest.mark.parametrize("command", COMMANDS)
def test_nothing_is_imported_that_the_command_does_not_use(command: str, tmp_path: Path) -> None:
    arguments, text, unused = COMMANDS[command]
    drawing = tmp_path / "drawing.svg"
    drawing.write_text(text, encoding="utf-8")
    answer = subprocess.run(
        [sys.executable, "-c", CODE, f"extension.dartswing_{command}", *arguments, str(drawing)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (answer.returncode, answer.stderr) == (0, "")
    loaded = set(answer.stdout.split("\n"))
    assert "drafting_core.curves" in loaded
    assert loaded & (unused | OTHER_COMMANDS) == set()
    # What the editor's library imports by itself is not ours to judge.
    assert loaded & {"by us: numpy", "by us: json", "by us: shapely", "by us: subprocess"} == set()


def test_the_tables_name_modules_that_there_are() -> None:
    for name in DRAFTING | MARKING | SELDOM | OTHER_COMMANDS:
        assert (ROOT / f"{name.replace('.', '/')}.py").is_file()
