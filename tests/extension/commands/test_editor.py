"""The packaged extension in the real editor."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from extension.host.editor_python import environment, interpreter
from extension.host.editors import find_editor
from tests.conftest import require
from tests.help.depth import some_quick
from tests.help.editor.editor import RealEditor, missing_tools, path_numbers

ROOT = Path(__file__).parents[3]
SAMPLE = ROOT / "sample_svgs" / "front_one_path.svg"
DARTSWING = "{urn:dartswing:1}"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
CLOSE = 1e-6  # mm; so far may the editor's result and the command line's differ


def result_layers(drawing: Path) -> list[Any]:
    return [layer for layer in etree.parse(str(drawing)).iter() if layer.get(f"{DARTSWING}result")]


def part(layer: Any, name: str) -> str:
    (found,) = [thing for thing in layer.iter() if thing.get(f"{DARTSWING}part") == name]
    return str(found.get("d"))


def millimetres_per_unit(drawing: Path) -> float:
    """Return the scale of a drawing whose width is given in mm."""
    root = etree.parse(str(drawing)).getroot()
    width, view_box = root.get("width"), root.get("viewBox")
    assert width.endswith("mm"), "this test's sample is sized in mm"
    return float(width[:-2]) / float(view_box.replace(",", " ").split()[2])


def own_paths(drawing: Path) -> dict[str, str]:
    """Return the path data outside any result, by id."""
    return {
        str(path.get("id")): " ".join(path.get("d").split())
        for path in etree.parse(str(drawing)).iter("{http://www.w3.org/2000/svg}path")
        if not any(parent.get(f"{DARTSWING}result") for parent in path.iterancestors())
    }


def ids_of(drawing: Path, role: str) -> list[str]:
    return [
        str(thing.get("id"))
        for thing in etree.parse(str(drawing)).iter()
        if role in (thing.get(LABEL), thing.get(f"{DARTSWING}role"))
    ]


def on_the_command_line(*arguments: str) -> subprocess.CompletedProcess[str]:
    code = (
        "import sys; from extension.commands.command_line import main; sys.exit(main(sys.argv[1:]))"
    )
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def same_lines(one: Path, other: Path) -> None:
    scale = millimetres_per_unit(SAMPLE)
    (ours,), (theirs,) = result_layers(one), result_layers(other)
    for name in ("stitch-line", "cut-line"):
        letters, numbers = path_numbers(part(ours, name))
        other_letters, other_numbers = path_numbers(part(theirs, name))
        assert letters == other_letters
        assert len(numbers) == len(other_numbers) > 8
        differences = [abs(a - b) * scale for a, b in zip(numbers, other_numbers, strict=True)]
        assert max(differences) <= CLOSE


@pytest.fixture
def without_apex(tmp_path: Path) -> Path:
    """The sample with its apex taken out."""
    document = etree.parse(str(SAMPLE))
    apexes = [
        thing
        for thing in document.iter()
        if (thing.get(LABEL) or thing.get("id") or "").casefold() in ("apex", "bust point")
    ]
    assert apexes
    for apex in apexes:
        apex.getparent().remove(apex)
    drawing = tmp_path / "without apex.svg"
    document.write(str(drawing))
    return drawing


@pytest.mark.parametrize("selected", some_quick([False, True], 1))
def test_the_editor_gives_what_the_command_line_gives(
    editor: RealEditor, tmp_path: Path, selected: bool
) -> None:
    outlines = ids_of(SAMPLE, "outline")
    in_editor, by_command = tmp_path / "in editor.svg", tmp_path / "by command.svg"
    run = editor.run_action(
        SAMPLE, "dartswing.move.noprefs", in_editor, select=outlines if selected else ()
    )
    assert (run.status, run.stderr) == (0, "")
    answer = on_the_command_line("move", str(SAMPLE), "-o", str(by_command))
    assert answer.returncode == 0, answer.stderr
    same_lines(in_editor, by_command)
    assert own_paths(in_editor) == own_paths(SAMPLE)


@pytest.mark.thorough
def test_allow_in_the_editor_keeps_a_fresh_result(editor: RealEditor, tmp_path: Path) -> None:
    moved, allowed = tmp_path / "moved.svg", tmp_path / "allowed.svg"
    answer = on_the_command_line("move", str(SAMPLE), "-o", str(moved))
    assert answer.returncode == 0, answer.stderr
    (layer,) = result_layers(moved)
    run = editor.run_action(
        moved, "dartswing.allow.noprefs", allowed, select=[str(layer.get("id"))]
    )
    assert (run.status, run.stderr) == (0, "")
    same_lines(moved, allowed)


@pytest.mark.thorough
def test_a_fault_leaves_the_drawing_as_it_is(
    editor: RealEditor, tmp_path: Path, without_apex: Path
) -> None:
    # The editor shows the message in a dialog, which is closed here; then it goes on.
    out = tmp_path / "out.svg"
    run = editor.run_action(without_apex, "dartswing.move.noprefs", out, dismiss=True)
    assert run.status == 0
    assert result_layers(out) == []
    assert own_paths(out) == own_paths(without_apex) != {}


@pytest.mark.thorough
def test_a_fault_is_told_in_plain_words_without_a_traceback(
    editor: RealEditor, without_apex: Path
) -> None:
    """What the editor shows in its dialog is what the script says on standard error."""
    script = editor.profile / "extensions" / "dartswing" / "extension" / "dartswing.py"
    require(*[tool for tool in missing_tools() if tool == "inkscape"])
    found = find_editor()
    answer = subprocess.run(
        [str(interpreter(found)), script.name, "--command=move", "--tab=place", str(without_apex)],
        cwd=script.parent,
        env=environment(found),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert answer.returncode != 0
    assert answer.stdout == ""
    assert "apex" in answer.stderr.casefold()
    assert "Traceback" not in answer.stderr
    assert os.fspath(script.parent) not in answer.stderr


@pytest.mark.parametrize(
    ("ci", "outcome"), [("", pytest.skip.Exception), ("true", pytest.fail.Exception)]
)
def test_a_missing_editor_skips_here_but_fails_in_ci(
    monkeypatch: pytest.MonkeyPatch, ci: str, outcome: type[BaseException]
) -> None:
    monkeypatch.setenv("CI", ci)
    with pytest.raises(outcome, match="not on this machine: inkscape"):
        require("inkscape")
    require()


LONG_TRANSFORM = "translate(1234.56789,-987.654321) rotate(33.123456789)"


@pytest.mark.thorough
def test_a_transform_of_many_digits_is_read_and_kept_with_all_of_them(
    editor: RealEditor, tmp_path: Path
) -> None:
    drawing = tmp_path / "turned.svg"
    text = SAMPLE.read_text(encoding="utf-8")
    layer = 'inkscape:groupmode="layer"'
    assert text.count(layer) == 1
    drawing.write_text(text.replace(layer, f'{layer} transform="{LONG_TRANSFORM}"'), "utf-8")
    in_editor, by_command = tmp_path / "in editor.svg", tmp_path / "by command.svg"
    run = editor.run_action(drawing, "dartswing.move.noprefs", in_editor)
    assert (run.status, run.stderr) == (0, "")
    assert on_the_command_line("move", str(drawing), "-o", str(by_command)).returncode == 0
    same_lines(in_editor, by_command)
    (own,) = [
        group
        for group in etree.parse(str(in_editor)).iter("{http://www.w3.org/2000/svg}g")
        if group.get("transform")
    ]
    assert own.get("transform") == LONG_TRANSFORM


@pytest.mark.thorough
def test_a_turned_result_is_redrawn_alike_in_the_editor(editor: RealEditor, tmp_path: Path) -> None:
    moved, turned = tmp_path / "moved.svg", tmp_path / "turned.svg"
    assert on_the_command_line("move", str(SAMPLE), "-o", str(moved)).returncode == 0
    document = etree.parse(str(moved))
    layer = document.getroot()[-1]
    layer.set("transform", LONG_TRANSFORM)
    document.write(str(turned))
    in_editor, by_command = tmp_path / "in editor.svg", tmp_path / "by command.svg"
    run = editor.run_action(turned, "dartswing.allow.noprefs", in_editor)
    assert (run.status, run.stderr) == (0, "")
    assert on_the_command_line("allow", str(turned), "-o", str(by_command)).returncode == 0
    same_lines(in_editor, by_command)
    mine, theirs = (
        [e.get("transform") for e in result_layers(file)[0].iter() if e.get("transform")]
        for file in (in_editor, by_command)
    )
    assert mine == theirs
    assert len(mine) > 10


@pytest.mark.thorough
def test_seams_compared_in_the_editor_become_a_note_without_a_message(
    editor: RealEditor, tmp_path: Path
) -> None:
    compared = tmp_path / "compared.svg"
    sample = ROOT / "sample_svgs" / "front_and_back_mates.svg"
    run = editor.run_action(sample, "dartswing.balance.noprefs", compared)
    assert (run.status, run.stderr) == (0, "")
    (layer,) = [
        thing for thing in etree.parse(str(compared)).iter() if thing.get(LABEL) == "Seam balance"
    ]
    assert "longer by 5 mm" in "".join(layer.itertext())
    assert own_paths(compared) == own_paths(sample)


TWO_TARGETS = (
    '<circle inkscape:label="target 0.6" cx="235.55" cy="263.4" r="2"/>'
    '<path inkscape:label="target 20mm as gathers" d="M 128,18 C 110,90 90,160 94,248"/>'
)
STYLE_LINE = '<path inkscape:label="style line" d="M 174,138 C 150,160 120,200 94,248 L 101,410"/>'


@pytest.mark.thorough
@pytest.mark.parametrize(("marks", "results"), [(TWO_TARGETS, 1), (STYLE_LINE, 2)])
def test_marks_of_every_kind_give_in_the_editor_what_the_command_line_gives(
    editor: RealEditor, tmp_path: Path, marks: str, results: int
) -> None:
    drawing = tmp_path / "marked.svg"
    text = re.sub(r'<circle id="target"[^>]*/>', marks, SAMPLE.read_text(encoding="utf-8"))
    drawing.write_text(text, encoding="utf-8")
    in_editor, by_command = tmp_path / "in editor.svg", tmp_path / "by command.svg"
    run = editor.run_action(drawing, "dartswing.move.noprefs", in_editor)
    assert (run.status, run.stderr) == (0, "")
    assert on_the_command_line("move", str(drawing), "-o", str(by_command)).returncode == 0
    layers = [result_layers(file) for file in (in_editor, by_command)]
    assert [len(found) for found in layers] == [results, results]
    for mine, theirs in zip(*layers, strict=True):
        for name in ("stitch-line", "cut-line"):
            numbers, others = path_numbers(part(mine, name))[1], path_numbers(part(theirs, name))[1]
            assert numbers == pytest.approx(others, abs=CLOSE)


@pytest.mark.thorough
def test_compare_in_the_editor_gives_what_the_command_line_gives(
    editor: RealEditor, tmp_path: Path
) -> None:
    # With its settings at their defaults the dialog compares the target marks: two of them here.
    drawing = tmp_path / "two places.svg"
    text = SAMPLE.read_text(encoding="utf-8")
    target = re.search(r'<circle id="target"[^>]*/>', text)
    assert target is not None
    second = target[0].replace('id="target"', 'id="second"').replace("235.55", "128")
    second = second.replace("263.4", "18")
    drawing.write_text(text.replace(target[0], target[0] + second), encoding="utf-8")
    in_editor, by_command = tmp_path / "in editor.svg", tmp_path / "by command.svg"
    run = editor.run_action(drawing, "dartswing.compare.noprefs", in_editor)
    assert (run.status, run.stderr) == (0, "")
    assert on_the_command_line("compare", str(drawing), "-o", str(by_command)).returncode == 0
    sheets = [etree.parse(str(file)).getroot()[-1] for file in (in_editor, by_command)]
    assert [sheet.get(f"{DARTSWING}sheet") for sheet in sheets] == ["compare", "compare"]
    assert [layer.get(LABEL) for layer in sheets[0]] == ["Page", "side seam 35%", "shoulder 50%"]
    mine, theirs = ([e for e in sheet.iter() if e.get("d")] for sheet in sheets)
    assert len(mine) == len(theirs) > 30
    for one, other in zip(mine, theirs, strict=True):
        numbers, others = path_numbers(one.get("d"))[1], path_numbers(other.get("d"))[1]
        assert numbers == pytest.approx(others, abs=CLOSE)
    assert own_paths(drawing).items() <= own_paths(in_editor).items()
