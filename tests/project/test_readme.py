"""The README's Python runs, and its commands exist."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from extension.commands.command_line import main

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_python_runs(capsys: pytest.CaptureFixture[str]) -> None:
    (code,) = re.findall(r"```python\n(.*?)```", TEXT, re.DOTALL)
    exec(compile(code, "README.md", "exec"), {})
    words = capsys.readouterr().out
    # tan of half the angle is 30 mm over 150 mm: 22.62 degrees.
    assert words.startswith("side seam 22.62 ")
    assert "Kept" in words


def test_set_up_is_two_lines() -> None:
    lines = [line for line in TEXT.splitlines() if line.startswith("pip install uv &&")]
    assert len(lines) == 2
    assert lines[0].startswith("pip install uv && uv run --no-dev dartswing ")
    assert lines[1] == "pip install uv && uv run pytest"


def test_it_says_how_all_tests_are_run() -> None:
    assert "`uv run pytest --thorough`" in TEXT


def test_pictures_and_samples_are_there() -> None:
    for name in re.findall(r"\]\((sample_svgs/[^)]*)\)", TEXT):
        assert (ROOT / name).is_file()
    for name in re.findall(r"`(\w+\.svg)`", TEXT):
        assert (ROOT / "sample_svgs" / name).is_file()


COMMANDS = {"move", "allow", "compare", "balance", "mark", "install", "uninstall", "package"}
COMMANDS |= {"demo", "doctor", "clean", "paper", "sew-notes", "mark-block"}


@pytest.mark.parametrize("command", sorted(set(re.findall(r"dartswing ([\w-]+)", TEXT)) & COMMANDS))
def test_commands_named_there_exist(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([command, "--help"]) == 0
    assert command in capsys.readouterr().out
