"""The command line as a drafter or another program uses it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from lxml import etree

from extension.commands.command_line import main
from tests.help.blocks.drawings import NS, marked_front, page, parts
from tests.help.blocks.samples import BLOCKS, SAMPLES, SCANS

ROOT = Path(__file__).parents[3]


def test_there_are_samples_of_every_kind() -> None:
    assert len(BLOCKS) >= 5
    assert SCANS


@pytest.mark.parametrize("sample", BLOCKS, ids=lambda path: path.stem)
def test_samples_move_as_they_are(sample: Path, tmp_path: Path) -> None:
    before = sample.read_bytes()
    result, report = tmp_path / "out.svg", tmp_path / "report.json"
    assert main(["move", str(sample), "-o", str(result), "--report", str(report)]) == 0
    assert sample.read_bytes() == before
    old = etree.parse(str(sample)).getroot()
    root = etree.parse(str(result)).getroot()
    pieces = 2 if "style line" in before.decode() else 1
    blocks = json.loads(report.read_text(encoding="utf-8"))["blocks"]
    assert len(root) == len(old) + pieces == len(old) + len(blocks)
    for ours, theirs in zip(root, old, strict=False):
        assert etree.tostring(ours, method="c14n") == etree.tostring(theirs, method="c14n")
    assert root[-1].get(f"{{{NS['dartswing']}}}result") == "1"
    for block in blocks:
        assert block["angle_before_deg"] == pytest.approx(block["angle_after_deg"], abs=1e-9)
        for seam in block["seams"]:
            assert seam["before_mm"] == pytest.approx(seam["after_mm"], abs=1e-6)


@pytest.mark.parametrize("sample", SCANS, ids=lambda path: path.stem)
def test_scans_move_once_they_are_clean(
    sample: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    clean, result, report = (tmp_path / name for name in ("clean.svg", "out.svg", "report.json"))
    assert main(["move", str(sample), "--to", "side seam", "-o", str(result)]) == 1
    assert "outline" in capsys.readouterr().err
    assert not result.exists()
    assert main(["clean", str(sample), "-o", str(clean)]) == 0
    asked = ["--to", "side seam:0.35", "-o", str(result), "--report", str(report)]
    assert main(["move", str(clean), *asked]) == 0
    (block,) = json.loads(report.read_text(encoding="utf-8"))["blocks"]
    assert block["seams"]
    for seam in block["seams"]:
        assert seam["before_mm"] == pytest.approx(seam["after_mm"], abs=1e-6)


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_samples_are_labelled_as_invented(sample: Path) -> None:
    assert "Invented" in sample.read_text(encoding="utf-8")


def test_pipes(tmp_path: Path) -> None:
    text = page(marked_front())
    done = subprocess.run(
        [sys.executable, "-m", "extension.commands.command_line", "move", "-", "-o", "-"],
        input=text.encode(),
        capture_output=True,
        cwd=ROOT,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0
    assert len(parts(etree.fromstring(done.stdout), "stitch-line")) == 1
    assert b"Sewn lengths" in done.stderr
    failed = subprocess.run(
        [sys.executable, "-m", "extension.commands.command_line", "move", "-", "-o", "-"],
        input=b"<svg",
        capture_output=True,
        cwd=ROOT,
        timeout=60,
        check=False,
    )
    assert (failed.returncode, failed.stdout) == (1, b"")
    assert b"Standard input" in failed.stderr


def test_an_older_file_stays_when_the_new_one_cannot_be_drafted(tmp_path: Path) -> None:
    source, result = tmp_path / "in.svg", tmp_path / "out.svg"
    source.write_text(page(marked_front(apex="")), encoding="utf-8")
    result.write_text("precious", encoding="utf-8")
    assert main(["move", str(source), "-o", str(result)]) == 1
    assert result.read_text(encoding="utf-8") == "precious"


def test_help_names_every_option(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["move", "--help"]) == 0
    words = capsys.readouterr().out
    for option in (
        "--to", "--share", "--clearance", "--cloth", "--fold", "--excess", "--trim-allowance",
        "--wide", "--allowance", "--report",
    ):  # fmt: skip
        assert option in words
    assert "1/2in" in words


def test_the_demonstration(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo", "--folder", str(tmp_path)]) == 0
    words = capsys.readouterr().out
    assert len(list(tmp_path.glob("*.svg"))) == 3
    assert words.count("Sewn lengths") == 3
    assert "Trimmed" in words
    assert "Kept" in words


def test_a_bare_number_is_in_the_chosen_unit(tmp_path: Path) -> None:
    source = tmp_path / "in.svg"
    source.write_text(page(marked_front()), encoding="utf-8")
    points = []
    for options in (["--clearance", "20"], ["--clearance", "2", "--unit", "cm"]):
        report = tmp_path / "r.json"
        arguments = ["move", str(source), "-o", str(tmp_path / "o.svg"), "--report", str(report)]
        assert main([*arguments, *options]) == 0
        points.append(json.loads(report.read_text())["blocks"][0]["openings"][0]["point_mm"])
    assert points[0] == pytest.approx(points[1], abs=1e-12)


def test_drawing_and_report_are_both_written_or_neither(tmp_path: Path) -> None:
    source, result = tmp_path / "in.svg", tmp_path / "out.svg"
    source.write_text(page(marked_front()), encoding="utf-8")
    report = tmp_path / "missing" / "r.json"
    assert main(["move", str(source), "-o", str(result), "--report", str(report)]) == 1
    assert [file.name for file in tmp_path.iterdir()] == ["in.svg"]


def test_a_drawing_is_not_written_under_the_name_of_a_pdf(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "pages.PDF"
    assert main(["paper", str(SAMPLES[0]), "-o", str(target)]) == 2
    assert "--pdf" in capsys.readouterr().err.splitlines()[-1]
    assert not target.exists()
