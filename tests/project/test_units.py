"""Every command speaks the drafter's unit and language: what is told, and what is written."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from lxml import etree

from drafting_core.text.lengths import unit_of_this_run
from extension.commands.command_line import main
from extension.commands.command_table import COMMANDS, Command
from extension.document.namespaces import SVG
from tests.help.depth import some_quick
from tests.help.editor.effects import run_effect
from tests.help.texts.speaking import SPOKEN

SAMPLES = Path(__file__).parents[2] / "sample_svgs"
FRONT = "front_one_path"
#: Finished pieces, by the name that stands for them in a command.
FINISHED = {
    "RESULT": ["move", FRONT],
    "CURVED": ["move", "front_french_dart"],
    "SHEER": ["move", FRONT, "--to", "neckline/centre front", "--cloth", "sheer"],
    "GATHERS": ["move", FRONT, "--to", "shoulder:0.5", "--as", "gathers"],
    "TUCK": ["move", FRONT, "--to", "side seam:0.5", "--as", "tuck"],
}
#: Commands on samples and finished pieces: what is drawn, and what is refused.
RUNS: dict[str, list[str]] = {
    "a dart to the side seam": ["move", FRONT, "--to", "side seam:0.35"],
    "a dart trimmed": ["move", FRONT, "--to", "neckline/centre front", "--cloth", "sheer"],
    "by the marks": ["move", FRONT, "--clearance", "0", "--blend", "1 1/2in", "--true-mouth"],
    "trueing advised": ["move", "front_princess_line", "--drill-hole", "40mm"],
    "several darts": ["move", "front_two_darts"],
    "gathers": ["move", FRONT, "--to", "shoulder:0.5", "--as", "gathers"],
    "ease beyond the limit": ["move", FRONT, "--to", "armhole:0.5", "--as", "ease"],
    "a tuck": ["move", FRONT, "--to", "side seam:0.5", "--as", "tuck"],
    "a flare on a skirt": ["move", "skirt_front_waist_dart", "--to", "hem:0.5", "--as", "flare"],
    "a nest": ["move", "front_nest", "--nest"],
    "kept where it is": ["allow", "front_shoulder_dart_kept"],
    "a french dart": ["move", "front_french_dart"],
    "a yoke": ["move", "back_yoke_line"],
    "a result again": ["allow", "RESULT", "--allowance", "10mm, hem=40mm turned"],
    "compared": ["compare", FRONT, "--to", "neckline/centre front; side seam:0.35; waist"],
    "mates": ["balance", "front_and_back_mates"],
    "marked": ["mark-block", FRONT, "--select", "front-block"],
    "a scan": ["clean", "scanned_front"],
    "on paper": ["paper", "RESULT", "--overlap", "12mm"],
    "on too narrow a roll": ["paper", "RESULT", "--paper", "roll", "--width", "110mm"],
    "sewing notes": ["sew-notes", "RESULT"],
    "sewing notes of curved legs": ["sew-notes", "CURVED"],
    "sewing notes of a sheer cloth": ["sew-notes", "SHEER"],
    "sewing notes of gathers": ["sew-notes", "GATHERS"],
    "sewing notes of a tuck": ["sew-notes", "TUCK"],
    "too long a clearance": ["move", FRONT, "--clearance", "299mm"],
    "a slip of unit": ["move", FRONT, "--clearance", "900mm"],
    "too fine a tolerance": ["clean", "scanned_front", "--tolerance", "0.01mm"],
    "no room on a page": ["paper", "RESULT", "--margin", "100mm"],
    "too wide": ["move", FRONT, "--to", "side seam:0.35", "--intake", "190mm"],
    "beyond the seam": ["move", FRONT, "--to", "side seam:900mm"],
}
#: What stands in mm in every unit: the name of the true-size test square.
SQUARES = re.compile(r"50[ -]mm|2[ -](?:in\b|Zoll)")
#: What a drafter typed is quoted as she typed it, and what she could type is.
TYPED = re.compile(r'"[^"]*"|„[^“]*“|«[^»]*»|--[a-z-]+ \S+')
#: Names of files, and a place as it was typed.
NO_MEASURE = re.compile(r"\S+\.svg|\S+\.pdf|side seam:0\.35")


def drawing_called(name: str, folder: Path) -> Path:
    """Return a sample, or a finished piece that is made in a folder."""
    if name not in FINISHED:
        return SAMPLES / f"{name}.svg"
    command, sample, *rest = FINISHED[name]
    made = folder / f"{name}.svg"
    assert main([command, str(SAMPLES / f"{sample}.svg"), *rest, "-o", str(made)]) == 0
    return made


def texts_of(drawing: bytes) -> list[str]:
    """Return every text that a drawing shows."""
    root = etree.fromstring(drawing)
    return ["".join(text.itertext()) for text in root.iter(f"{{{SVG}}}text")]


def written(command: Command, told: str, before: bytes, after: Path) -> list[str]:
    """Return what a run says and what it draws, line by line."""
    drawn = texts_of(after.read_bytes()) if command.writes_drawing and after.is_file() else []
    known = set(texts_of(before))
    return [*told.splitlines(), *(text for text in drawn if text not in known)]


def stripped(line: str) -> str:
    for pattern in (TYPED, SQUARES, NO_MEASURE):
        line = pattern.sub("", line)
    return line


CASES = [(run, unit, language) for run in RUNS for unit in ("in", "cm") for language in SPOKEN]


@pytest.mark.parametrize(("run", "unit", "language"), some_quick(CASES, 16))
def test_all_that_is_said_and_drawn_is_in_her_unit_and_language(
    run: str,
    unit: str,
    language: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("LANGUAGE", language)
    name, sample, *rest = RUNS[run]
    (command,) = (c for c in COMMANDS if isinstance(c, Command) and c.name == name)
    drawing = drawing_called(sample, tmp_path)
    out = tmp_path / "out.svg"
    arguments = [name, str(drawing), *rest, "--unit", unit]
    capsys.readouterr()
    main([*arguments, "-o", str(out)] if command.writes_drawing else arguments)
    assert unit_of_this_run() == "mm"
    said = capsys.readouterr()
    lines = written(command, said.out + said.err, drawing.read_bytes(), out)
    assert lines
    for line in map(stripped, lines):
        assert not re.search(r"\d\s?mm\b|\(mm\)|\bin mm\b", line), line
        if unit == "in":
            assert not re.search(r"\d\s?cm\b(?!²)|\(cm\)", line), line
        if language != "en":
            assert not re.search(r"\d\.\d", line), line
    if language == "en" and not said.err and name not in ("mark", "sew-notes"):
        there = rf"\d {unit}\b|\({'inches' if unit == 'in' else unit}"
        assert any(re.search(there, line) for line in map(stripped, lines))


@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
def test_the_report_stays_in_millimetres(
    unit: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LANGUAGE", "de")
    figures = []
    for spoken in ("mm", unit):
        report = tmp_path / f"{spoken}.json"
        drawing = str(SAMPLES / f"{FRONT}.svg")
        told = ["move", drawing, "--unit", spoken, "-o", str(tmp_path / "out.svg")]
        assert main([*told, "--report", str(report)]) == 0
        (block,) = json.loads(report.read_text(encoding="utf-8"))["blocks"]
        figures.append((block["height_mm"], block["seams"], block["openings"][0]["intake_mm"]))
    assert figures[0] == figures[1]


@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
def test_a_command_without_a_dialog_speaks_the_drawings_own_unit(unit: str, tmp_path: Path) -> None:
    text = (SAMPLES / "front_and_back_mates.svg").read_text(encoding="utf-8")
    view = f'<sodipodi:namedview inkscape:document-units="{unit}"/>'
    drawing = tmp_path / "mates.svg"
    drawing.write_text(re.sub(r"(<svg[^>]*>)", rf"\1{declared(view)}", text, count=1), "utf-8")
    answer = run_effect("balance", drawing)
    assert answer.status == 0
    told = " ".join(set(texts_of(answer.document.encode())) - set(texts_of(drawing.read_bytes())))
    assert re.search(rf"\d {unit}\b", told)
    assert unit_of_this_run() == "mm"


def declared(view: str) -> str:
    """Return an element of the editor's with its names declared."""
    return view.replace(
        "<sodipodi:namedview",
        '<sodipodi:namedview xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd" '
        'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"',
    )
