"""The page of the samples: its commands run, its pictures and samples are there."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from extension.command_line import main

ROOT = Path(__file__).parent.parent
PAGE = ROOT / "sample_svgs" / "README.md"
TEXT = PAGE.read_text(encoding="utf-8")
START = "uv run dartswing "
COMMANDS = [line for line in TEXT.splitlines() if line.startswith(START)]
#: What a command writes to: these go to the test's own folder.
WRITTEN = ("-o", "--output", "--report")


@pytest.mark.parametrize("line", COMMANDS)
def test_every_command_runs(line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    words = shlex.split(line.removeprefix(START))
    written = []
    for k, word in enumerate(words[:-1]):
        if word in WRITTEN:
            words[k + 1] = str(tmp_path / words[k + 1])
            written.append(Path(words[k + 1]))
    assert main(words) == 0
    assert all(path.stat().st_size > 0 for path in written)
    for name in re.findall(r"sample_svgs/\S+", line):
        assert (ROOT / name).is_file()


def test_every_picture_and_sample_is_there() -> None:
    links = re.findall(r"\]\(([^)#:]+)\)", TEXT)
    named = re.findall(r"`(?:sample_svgs/)?(\w+\.svg)`", TEXT)
    assert links
    assert named
    for name in [*links, *named]:
        assert (PAGE.parent / name).is_file(), name


def test_every_picture_is_made_by_the_project() -> None:
    makers = (ROOT / "tests" / "pictures.py").read_text(encoding="utf-8")
    for name in re.findall(r"!\[[^\]]+\]\(pictures/(\w+)\.png\)", TEXT):
        assert f'"{name}"' in makers, name
