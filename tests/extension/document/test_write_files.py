"""Where files go: no two to one place, nothing over the drawing, and no device replaced."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from lxml import etree

from extension.commands.command_line import main
from extension.commands.command_table import COMMANDS, Command, command_named
from extension.document.svg_document import DocumentError
from extension.document.write_files import write_files
from extension.drafting.move_and_allow import Request, move
from tests.help.blocks.drawings import marked_front, page, root_of
from tests.help.editor.effects import run_effect

WRITING = ("output", "report", "pdf")
#: Every command that writes two files, with each pair of the options that name them.
PAIRS = [
    (command.name, one, other)
    for command in COMMANDS
    if isinstance(command, Command)
    for one in WRITING
    for other in WRITING
    if one < other and {one, other} <= {option.name for option in command.options}
]
#: Every command with each option, but for the drawing itself, that names a file to be written.
BESIDE = [
    (command.name, option.name)
    for command in COMMANDS
    if isinstance(command, Command)
    for option in command.options
    if option.name in ("report", "pdf")
]
#: What a command wants beside its files.
NEEDS = {"mark": ["--role", "apex"]}


def front() -> str:
    return page(marked_front())


def plain(path: Path) -> str:
    return str(path)


def through_a_link(path: Path) -> str:
    link = path.with_name("link")
    link.symlink_to(path)
    return str(link)


def by_a_hard_link(path: Path) -> str:
    link = path.with_name("hard link")
    path.touch()
    os.link(path, link)
    return str(link)


def round_a_corner(path: Path) -> str:
    return str(path.parent / "nowhere" / ".." / path.name)


NAMES = (plain, through_a_link, by_a_hard_link, round_a_corner)


def contents(folder: Path) -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in folder.iterdir() if file.is_file()}


def test_there_are_such_commands() -> None:
    assert len(PAIRS) >= 6
    assert len(BESIDE) >= 7


@pytest.mark.parametrize(("command", "one", "other"), PAIRS)
@pytest.mark.parametrize("name", NAMES)
def test_two_files_never_go_to_one_place(
    command: str,
    one: str,
    other: str,
    name: Callable[[Path], str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "nowhere").mkdir()
    target = tmp_path / "target"
    again = name(target)
    before = contents(tmp_path)
    # The drawing is not even there: nothing is read before this is refused.
    arguments = [command, str(tmp_path / "no.svg"), *NEEDS.get(command, [])]
    assert main([*arguments, f"--{one}", str(target), f"--{other}", again]) == 2
    assert "cannot both go to" in capsys.readouterr().err
    assert contents(tmp_path) == before


@pytest.mark.parametrize(("command", "option"), BESIDE)
@pytest.mark.parametrize("name", NAMES)
def test_nothing_goes_over_the_drawing_that_is_read(
    command: str,
    option: str,
    name: Callable[[Path], str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "nowhere").mkdir()
    drawing = tmp_path / "front.svg"
    drawing.write_text(front(), encoding="utf-8")
    again = name(drawing)
    before = contents(tmp_path)
    arguments = [command, str(drawing), *NEEDS.get(command, []), f"--{option}", again]
    row = command_named(command)
    if isinstance(row, Command) and row.writes_drawing:
        arguments += ["-o", str(tmp_path / "out.svg")]
    assert main(arguments) == 2
    assert "would be written over the drawing that is read" in capsys.readouterr().err
    assert contents(tmp_path) == before


@pytest.mark.parametrize("saved", ["front.json", "copy.json"])
def test_in_the_editor_neither(saved: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The editor hands over a copy of the drawing, and says where it was saved."""
    drawing, copy = tmp_path / saved, tmp_path / "copy.json"
    for file in (drawing, copy):
        file.write_text(front(), encoding="utf-8")
    monkeypatch.setenv("DOCUMENT_PATH", str(drawing))
    before = drawing.read_bytes()
    answer = run_effect("move", copy, f"--report={drawing}")
    assert answer.status != 0
    assert answer.document == ""
    assert "would be written over" in answer.said
    assert drawing.read_bytes() == before


def test_standard_output_takes_one_file(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["move", "no.svg", "-o", "-", "--report", "-"]) == 2
    assert "cannot both go to standard output" in capsys.readouterr().err


def test_a_drawing_may_get_its_new_layer_in_place(tmp_path: Path) -> None:
    drawing = tmp_path / "front.svg"
    drawing.write_text(front(), encoding="utf-8")
    assert main(["move", str(drawing), "-o", str(drawing)]) == 0
    root = root_of(front())
    move(root, Request())
    assert drawing.read_bytes().count(b"dartswing:part") == etree.tostring(root).count(
        b"dartswing:part"
    )


def test_a_link_stays_one_and_its_file_is_written(tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    target, link = tmp_path / "there" / "target.svg", tmp_path / "link.svg"
    link.symlink_to(target)
    for content in (b"one", b"another"):
        write_files([(str(link), content)])
        assert link.is_symlink()
        assert target.read_bytes() == content
    assert [file.name for file in target.parent.iterdir()] == ["target.svg"]


def test_links_in_a_circle_are_refused(tmp_path: Path) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    one.symlink_to(other)
    other.symlink_to(one)
    with pytest.raises(DocumentError, match="cannot be written"):
        write_files([(str(one), b"x"), (str(tmp_path / "plain"), b"y")])
    assert one.is_symlink()
    assert not (tmp_path / "plain").exists()


def test_a_pipe_is_written_through(tmp_path: Path) -> None:
    path, got = tmp_path / "pipe", list[bytes]()
    os.mkfifo(path)
    reader = threading.Thread(target=lambda: got.append(path.read_bytes()), daemon=True)
    reader.start()
    drawing = tmp_path / "front.svg"
    drawing.write_text(front(), encoding="utf-8")
    out = tmp_path / "out.svg"
    assert main(["move", str(drawing), "-o", str(path)]) == 0
    assert main(["move", str(drawing), "-o", str(out)]) == 0
    reader.join(timeout=30)
    assert stat.S_ISFIFO(path.stat().st_mode), "the pipe was replaced"
    assert got[0].count(b"<path") == out.read_bytes().count(b"<path") > 3


def test_a_device_stays_a_device(tmp_path: Path) -> None:
    write_files([(os.devnull, b"x"), (str(tmp_path / "file"), b"y")])
    assert stat.S_ISCHR(os.stat(os.devnull).st_mode)
    assert (tmp_path / "file").read_bytes() == b"y"


@pytest.mark.parametrize("device", ["/dev/stdout", "-"])
def test_standard_output_by_any_name_gets_the_drawing_alone(device: str, tmp_path: Path) -> None:
    drawing = tmp_path / "front.svg"
    drawing.write_text(front(), encoding="utf-8")
    code = "import sys; from extension.commands.command_line import main; sys.exit(main())"
    command = [sys.executable, "-c", code, "move", str(drawing), "-o", device]
    answer = subprocess.run(command, capture_output=True, timeout=60, check=False)
    assert answer.returncode == 0
    assert answer.stdout.startswith(b"<?xml")
    assert answer.stdout.rstrip().endswith(b"</svg>")
    assert b"Balance" in answer.stderr or b"seam" in answer.stderr


def test_a_folder_and_a_file_that_may_not_be_written_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = tmp_path / "kept.svg"
    kept.write_bytes(b"dear")
    with pytest.raises(DocumentError, match="it is a folder"):
        write_files([(str(kept), b"new"), (str(tmp_path), b"new")])
    # Root may write to anything: what the system would say to others is pretended.
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(DocumentError, match="cannot be written"):
        write_files([(str(tmp_path / "other.svg"), b"new"), (str(kept), b"new")])
    assert contents(tmp_path) == {"kept.svg": b"dear"}


def test_the_longest_name_can_be_written(tmp_path: Path) -> None:
    longest = tmp_path / ("n" * 255)
    write_files([(str(longest), b"x")])
    assert longest.read_bytes() == b"x"
