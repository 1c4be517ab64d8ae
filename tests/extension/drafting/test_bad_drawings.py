"""What cannot be drafted: exit 1, one message in plain words, no file, no traceback, at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from extension.commands.command_line import main
from tests.help.blocks.drawings import OUTLINE_DATA, circle, marked_front, outline, page

LEGS = "L 80,400 L 95,260 L 110,400"


def spoiled(old: str, new: str) -> str:
    assert old in OUTLINE_DATA
    return page(marked_front(outline(OUTLINE_DATA.replace(old, new))))


ENTITY = '<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY {}>]>'
STRETCHED = 'width="300mm" height="450mm" viewBox="0 0 300 900" preserveAspectRatio="none"'
DRAWINGS: dict[str, tuple[str, str]] = {
    "no outline": (page(marked_front("")), "no outline"),
    "no apex": (page(marked_front(apex="")), "no apex"),
    "no target": (page(marked_front(target="")), "no target"),
    "apex outside": (page(marked_front(apex=circle("apex", 280, 260))), "outside the outline"),
    "apex in the dart": (page(marked_front(apex=circle("apex", 95, 320))), "outside the outline"),
    "target far away": (
        page(marked_front(target=circle("target", 262, 273))),
        "mm from the nearest seam",
    ),
    "open outline": (spoiled("0,80 Z", "0,74"), "open"),
    "empty outline": (page(marked_front(outline(""))), "empty"),
    "a single point": (page(marked_front(outline("M 3,3"))), "empty"),
    "no area": (page(marked_front(outline("M 0,0 L 100,0 Z"))), "no area"),
    "crossing itself": (spoiled("L 230,390 L 240,210", "L 240,210 L 230,390"), "crosses itself"),
    "not a number": (spoiled("230,390", "nan,390"), "not a finite number"),
    "infinite": (spoiled("230,390", "1e999,390"), "not a finite number"),
    "unreadable data": (spoiled("230,390", "230,"), "cannot be read"),
    "no dart": (spoiled(f"{LEGS} ", ""), "no dart"),
    "unequal legs": (spoiled("110,400", "110,390"), "unequal: 130.9 mm and 140.8 mm"),
    "two outlines for one apex": (
        page(marked_front(more=outline("M -9,70 H 290 V 410 H -9 Z", 'data-x="1"'))),
        "2 outlines",
    ),
    "stretched page": (page(marked_front(), STRETCHED), "stretched"),
    "stretched outline": (
        page(marked_front(outline(more='transform="scale(1,1.1)"'))),
        "stretched",
    ),
    "two subpaths": (spoiled("30,80 0,80 Z", "30,80 0,80 Z M 5,90 h 9 v 9 z"), "2 subpaths"),
    "unreadable transform": (
        page(marked_front(outline(more='transform="rotate(x)"'))),
        "cannot be read",
    ),
    "a slash line that leaves the block": (
        page(
            marked_front(target='<path inkscape:label="target" d="M 236.5,273 Q 300,500 95,260"/>')
        ),
        "crosses the outline at",
    ),
    "an outline that is a text": (
        page(marked_front('<text inkscape:label="outline" x="3" y="3">front</text>')),
        "no outline",
    ),
    "not SVG": ("<html><body/></html>", "no SVG"),
    "not XML": ("once upon a time", "well-formed"),
    "an empty file": ("", "empty"),
    "an entity bomb": (
        ENTITY.format('a "haha"> <!ENTITY b "&a;&a;&a;&a;"') + page(marked_front()),
        "entities",
    ),
    "an external entity": (
        ENTITY.format('a SYSTEM "file:///etc/hostname"') + page(marked_front()),
        "entities",
    ),
}


def run(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> tuple[int, str]:
    status = main(arguments)
    return status, capsys.readouterr().err


@pytest.mark.parametrize("name", DRAWINGS)
def test_bad_drawings(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text, words = DRAWINGS[name]
    source, result, report = (tmp_path / file for file in ("in.svg", "out.svg", "r.json"))
    source.write_text(text, encoding="utf-8")
    status, message = run(["move", str(source), "-o", str(result), "--report", str(report)], capsys)
    assert status == 1
    assert words in message
    assert "Traceback" not in message
    assert message.count("\n") == 1
    assert message.strip().endswith((".", ")", "out."))
    assert [file.name for file in tmp_path.iterdir()] == ["in.svg"]
    assert source.read_text(encoding="utf-8") == text


UNREADABLE = (
    "negative",
    "more than 300 mm",
    "in cm here",
    "out of range",
    "no number",
    "not a length",
)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--clearance", "200mm"], "longer than the dart"),
        (["--clearance=-3mm"], "negative"),
        (["--clearance", "80cm"], "more than 300 mm"),
        (["--allowance", "12mm, hem=50cm"], "more than 300 mm"),
        (["--unit", "cm", "--trim-allowance", "127"], "in cm here"),
        (["--to", "collar:0.3"], "no seam is called"),
        (["--to", "side seam:7"], "does not say how far"),
        (["--to", "waist/neckline"], "do not meet"),
        (["--share", "0"], "out of range"),
        (["--share", "most"], "no number"),
        (["--allowance", "lots"], "not a length"),
        (["--select", "nobody"], "nobody"),
    ],
)
def test_impossible_wishes(
    options: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source, result = tmp_path / "in.svg", tmp_path / "out.svg"
    source.write_text(page(marked_front()), encoding="utf-8")
    status, message = run(["move", str(source), "-o", str(result), *options], capsys)
    # What no drawing could make sense of is a wrong command line.
    assert status == (2 if words in UNREADABLE else 1)
    assert words in message
    assert not result.exists()


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["fold"],
        ["move"],
        ["move", "in.svg"],
        ["move", "in.svg", "-o", "out.svg", "--cloth", "felt"],
        ["move", "in.svg", "-o", "out.svg", "--nonsense"],
    ],
)
def test_a_wrong_command_line_is_status_2(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    status, message = run(arguments, capsys)
    assert status == 2
    assert "--help" in message


def test_messages_state_the_blocks_size(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = tmp_path / "in.svg"
    source.write_text(page(marked_front(target=circle("target", 262, 273))), encoding="utf-8")
    _, message = run(["move", str(source), "-o", str(tmp_path / "out.svg")], capsys)
    assert "400.0 mm high and 240.0 mm wide" in message
    assert "target" in message
