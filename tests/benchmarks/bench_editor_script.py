"""How long the drafter waits: the installed script as the editor starts it.

Set against an extension that does nothing, started the same way: what is left is ours.
Run by ``pytest tests/benchmarks/bench_editor_script.py``.
"""

from __future__ import annotations

import statistics
import subprocess
import time
import zipfile
from pathlib import Path

import pytest

from extension.editor_python import environment, interpreter
from extension.editors import find_editor
from extension.install import package
from extension.proof_drawing import PROOF_DRAWING, has_result
from tests.conftest import require
from tests.editor import missing_tools

ROUNDS = 9

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


def bench_script_against_one_that_does_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    require(*[tool for tool in missing_tools() if tool == "inkscape"])
    editor = find_editor()
    python, variables = str(interpreter(editor)), environment(editor)
    # Bytecode is kept between runs, as in a user's folder.
    variables.pop("PYTHONDONTWRITEBYTECODE", None)
    with zipfile.ZipFile(package(tmp_path / "dartswing.zip")) as pack:
        pack.extractall(tmp_path)
    ours = tmp_path / "dartswing" / "extension" / "dartswing_move.py"
    nothing = tmp_path / "nothing.py"
    nothing.write_text(DOES_NOTHING, encoding="utf-8")
    drawing = tmp_path / "front.svg"
    drawing.write_text(PROOF_DRAWING, encoding="utf-8")

    def run(script: Path) -> tuple[float, str]:
        start = time.perf_counter()
        answer = subprocess.run(
            [python, script.name, "--id=front-outline", "--tab=place", str(drawing)],
            cwd=script.parent,
            env=variables,
            capture_output=True,
            text=True,
            timeout=60,
            check=True,
        )
        return time.perf_counter() - start, answer.stdout

    _, moved = run(ours)
    assert has_result(moved)
    _, untouched = run(nothing)
    assert untouched == "", "inkex writes nothing where nothing changed"
    # In turn, so that whatever else the machine does falls on both alike.
    times = [(run(nothing)[0], run(ours)[0]) for _ in range(ROUNDS)]
    idle, busy = (statistics.median(column) for column in zip(*times, strict=True))
    with capsys.disabled():
        print(
            f"\n  does nothing {idle * 1e3:.0f} ms, move {busy * 1e3:.0f} ms,"
            f" ratio {busy / idle:.2f} (median of {ROUNDS})"
        )
    assert busy > 0
