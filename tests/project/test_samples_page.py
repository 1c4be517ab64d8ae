"""The page of the samples: its commands run, its pictures and samples are there."""

from __future__ import annotations

import re
import shlex
from itertools import pairwise
from pathlib import Path

import pytest

from extension.commands.command_line import main
from tests.help.pictures import pictures, print_pictures

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "sample_svgs" / "README.md"
TEXT = PAGE.read_text(encoding="utf-8")
START = "uv run dartswing "
COMMANDS = [line for line in TEXT.splitlines() if line.startswith(START)]
#: What makes pictures.
MAKERS = (pictures, print_pictures)
#: What a command writes to: these go to the test's own folder.
WRITTEN = ("-o", "--output", "--report")


@pytest.mark.parametrize("line", COMMANDS)
def test_every_command_runs(line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    words = shlex.split(line.removeprefix(START))
    written = []
    if not words[1].startswith("sample_svgs/"):
        # It takes what an earlier command wrote.
        words[1] = str(_made_before(words[1], tmp_path))
    for k, word in enumerate(words[:-1]):
        if word in WRITTEN:
            words[k + 1] = str(tmp_path / words[k + 1])
            written.append(Path(words[k + 1]))
    assert main(words) == 0
    assert all(path.stat().st_size > 0 for path in written)
    for name in re.findall(r"sample_svgs/\S+", line):
        assert (ROOT / name).is_file()


def _made_before(name: str, folder: Path) -> Path:
    """Make a drawing as the command on the page does that writes it."""
    (line,) = (line for line in COMMANDS if line.endswith(f"-o {name}"))
    words = shlex.split(line.removeprefix(START))
    assert main([*words[:-1], str(folder / name)]) == 0
    return folder / name


def test_every_picture_and_sample_is_there() -> None:
    links = re.findall(r"\]\(([^)#:]+)\)", TEXT)
    named = re.findall(r"`(?:sample_svgs/)?(\w+\.svg)`", TEXT)
    assert links
    assert named
    for name in [*links, *named]:
        assert (PAGE.parent / name).is_file(), name


def shown() -> dict[str, list[str]]:
    """Return the commands that stand above each picture, up to the picture before it."""
    found: dict[str, list[str]] = {}
    above: list[str] = []
    for line in TEXT.splitlines():
        if line.startswith(START):
            above.append(line)
        elif picture := re.match(r"!\[[^\]]+\]\(pictures/(\w+)\.png\)", line):
            found.setdefault(picture[1], []).extend(above)
            above = []
    return found


def made() -> dict[str, tuple[str, dict[str, str]]]:
    """Return the sample and the options that each picture is made with."""
    found = {}
    for sample, place, picture, *more in pictures.ROWS:
        to = {"to": place} if place else {}
        found[picture] = (sample, to | (more[0] if more else {}))
    found |= {picture: (sample, {"nest": "yes"}) for sample, picture in pictures.NESTS}
    found["compare_three_places"] = ("front_one_path", {"to": pictures.COMPARED})
    return found


def asked(line: str) -> tuple[str, dict[str, str]]:
    """Return the sample and the options of a command on the page; a switch alone says yes."""
    _, drawing, *words = shlex.split(line.removeprefix(START))
    options = {}
    for word, following in pairwise([*words, "--"]):
        if word.startswith("--"):
            options[word[2:]] = "yes" if following.startswith("-") else following
    return Path(drawing).stem, options


def test_every_picture_shows_what_a_command_above_it_makes() -> None:
    makers = made()
    source = "".join(Path(str(m.__file__)).read_text(encoding="utf-8") for m in MAKERS)
    assert set(shown()) & set(makers)
    for picture, commands in shown().items():
        if picture in makers:
            assert makers[picture] in [asked(line) for line in commands], picture
        else:
            assert f'"{picture}"' in source, picture


def test_the_contents_name_every_section_in_order() -> None:
    contents = re.findall(r"^- \[([^\]]+)\]\(#([^)]+)\)$", TEXT, re.MULTILINE)
    sections = re.findall(r"^## (.+)$", TEXT, re.MULTILINE)
    assert sections
    assert [name for name, _ in contents] == sections
    for name, anchor in contents:
        assert anchor == re.sub(r"[^\w\- ]", "", name.lower()).replace(" ", "-")


def test_the_answer_of_the_balance_is_as_shown(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    (line,) = (line for line in COMMANDS if line.startswith(START + "balance"))
    assert main(shlex.split(line.removeprefix(START))) == 0
    (answer,) = re.findall(r"```\n(Mates .*?)```", TEXT, re.DOTALL)
    assert capsys.readouterr().out.strip() == answer.strip()
