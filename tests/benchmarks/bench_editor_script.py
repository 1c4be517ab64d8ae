"""How long the drafter waits: the installed scripts as the editor starts them.

Set against an extension that does nothing, started the same way: what is left is ours.
Run by ``pytest tests/benchmarks/bench_editor_script.py -s``.
"""

from __future__ import annotations

import base64
import random
import statistics
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import NamedTuple

import pytest

from extension.host.editor_python import environment, interpreter
from extension.host.editors import find_editor
from extension.installing.install import package
from extension.installing.proof_drawing import PROOF_DRAWING, has_result
from tests.conftest import require
from tests.help.editor.editor import missing_tools

ROUNDS = 25
#: What the editor's users are promised: so many times an extension that does nothing.
LONGEST_SHARES = {"move": 1.15, "mark-block": 1.2}
LARGE_MB, LARGE_SECONDS, LARGE_MEMORY_MB = 20, 1.0, 300

#: What is selected, and the dialog's other answers. An outline cannot become a notch; the target,
#: a small object of its own, can.
COMMANDS = {
    "nothing": ["--id=front-outline"],
    "move": ["--id=front-outline", "--tab=place"],
    "mark-block": ["--id=front-outline"],
    "allow": ["--id=front-outline", "--tab=dart"],
    "mark": ["--id=front-target", "--tab=part", "--role=notch"],
}
OURS = [command for command in COMMANDS if command != "nothing"]

DOES_NOTHING = """
import inkex


class Nothing(inkex.EffectExtension):
    def add_arguments(self, pars):
        pars.add_argument("--tab")

    def effect(self):
        pass


if __name__ == "__main__":
    Nothing().run()
"""


#: A small process that starts another and measures it: one that a large process starts itself
#: counts the large one's memory as its own peak.
MEASURING = """
import resource, subprocess, sys, time
start = time.perf_counter()
code = subprocess.call(sys.argv[2:])
seconds = time.perf_counter() - start
with open(sys.argv[1], "w") as file:
    print(seconds, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss, file=file)
sys.exit(code)
"""


class Run(NamedTuple):
    """A run of a script: seconds, peak memory in MB, what it wrote."""

    seconds: float
    memory: float
    written: str


class Scripts:
    """The packaged scripts, and one that does nothing, for the editor's Python."""

    def __init__(self, folder: Path) -> None:
        require(*[tool for tool in missing_tools() if tool == "inkscape"])
        editor = find_editor()
        self._python, self._variables = str(interpreter(editor)), environment(editor)
        # Bytecode is kept between runs, as in a user's folder.
        self._variables.pop("PYTHONDONTWRITEBYTECODE", None)
        with zipfile.ZipFile(package(folder / "dartswing.zip")) as pack:
            pack.extractall(folder)
        self._folder = folder
        (folder / "nothing.py").write_text(DOES_NOTHING, encoding="utf-8")

    def run(self, command: str, drawing: Path, *more: str) -> Run:
        """Run a command, or "nothing", on a drawing with its front, or a mark of it, selected."""
        script = self._folder / "nothing.py"
        if command != "nothing":
            script = self._folder / "dartswing" / "extension" / "dartswing.py"
        output = self._folder / "output.svg"
        measures = self._folder / "measures.txt"
        command_line = [
            self._python,
            script.name,
            *([] if command == "nothing" else [f"--command={command}"]),
            *(*COMMANDS[command], *more),
            str(drawing),
        ]
        with output.open("wb") as file:
            done = subprocess.run(
                [sys.executable, "-c", MEASURING, str(measures), *command_line],
                cwd=script.parent,
                env=self._variables,
                stdout=file,
                stderr=subprocess.PIPE,
                check=False,
            )
        assert (done.returncode, done.stderr.decode()) == (0, "")
        seconds, kilobytes = measures.read_text(encoding="utf-8").split()
        written = output.read_text(encoding="utf-8")
        return Run(float(seconds), int(kilobytes) / 1024, written)


@pytest.fixture
def scripts(tmp_path: Path) -> Scripts:
    return Scripts(tmp_path)


@pytest.mark.parametrize("command", OURS)
def bench_script_against_one_that_does_nothing(
    command: str, scripts: Scripts, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawing = tmp_path / "front.svg"
    drawing.write_text(PROOF_DRAWING, encoding="utf-8")
    done = scripts.run(command, drawing)
    assert has_result(done.written) == (command in ("move", "allow"))
    assert scripts.run("nothing", drawing).written == "", "the editor's library writes no copy"
    # In turn, so that whatever else the machine does falls on both alike.
    times = [
        (scripts.run("nothing", drawing).seconds, scripts.run(command, drawing).seconds)
        for _ in range(ROUNDS)
    ]
    idle, busy = (statistics.median(column) for column in zip(*times, strict=True))
    with capsys.disabled():
        print(
            f"\n  does nothing {idle * 1e3:.0f} ms, {command} {busy * 1e3:.0f} ms,"
            f" ratio {busy / idle:.2f} (median of {ROUNDS})"
        )
    if command in LONGEST_SHARES:
        assert busy / idle < LONGEST_SHARES[command]


@pytest.mark.parametrize("command", OURS)
def bench_drawing_with_scans_of_20_mb(
    command: str, scripts: Scripts, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawing = tmp_path / "scans.svg"
    drawing.write_text(with_scans(PROOF_DRAWING, LARGE_MB), encoding="utf-8")
    assert drawing.stat().st_size > LARGE_MB * 1e6
    pairs = [(scripts.run("nothing", drawing), scripts.run(command, drawing)) for _ in range(3)]
    share = statistics.median(ours.seconds - idle.seconds for idle, ours in pairs)
    memory = max(ours.memory for _, ours in pairs)
    with capsys.disabled():
        print(
            f"\n  {command}, {LARGE_MB} MB of scans: own share {share * 1e3:.0f} ms of "
            f"{pairs[-1][1].seconds * 1e3:.0f} ms, {memory:.0f} MB"
        )
    assert share < LARGE_SECONDS
    assert memory < LARGE_MEMORY_MB


def with_scans(drawing: str, megabytes: int) -> str:
    """Return a drawing with embedded scans, of noise that does not shrink, of a size in all."""
    noise = random.Random(20)
    scans = "".join(
        f'<image id="scan-{number}" width="210" height="297" href="data:image/png;base64,'
        f'{base64.b64encode(noise.randbytes(megabytes * 1_000_000 // 4 * 3 // 4)).decode()}"/>'
        for number in range(4)
    )
    return drawing.replace("</svg>", f'<g id="scans">{scans}</g></svg>')
