"""The clean-up run on a drawing as a process of its own, with limits of time and memory."""

from __future__ import annotations

import json
import os
import resource
import signal
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).parents[4]
#: Seconds, and bytes of address space.
LONGEST, MOST_MEMORY = 60.0, 2 * 1024**3
#: What is asked for: corners stay as they were drawn, so that the truth is what was drawn.
OPTIONS = ("--square", "no")
_START = (
    "import sys; from extension.commands.command_line import main; sys.exit(main(sys.argv[1:]))"
)


class CleanRun(NamedTuple):
    """What came of a run.

    Attributes:
        status: 0 done, 1 refused; "crashed" is any other, or a traceback, or a limit reached.
        message: what was said.
        report: the report, where it was done.
        seconds: of the processor that it took.
        peak: the most memory it had, in MB.
        is_crashed: whether it ended as it never may.
    """

    status: int
    message: str
    report: dict[str, Any]
    seconds: float
    peak: float
    is_crashed: bool


def _limited() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))


def run_clean(drawing: Path, out: Path, *, options: tuple[str, ...] = OPTIONS) -> CleanRun:
    """Run the clean-up on a drawing.

    Args:
        drawing: the traced drawing.
        out: where the drawing with its clean block goes; the report lies beside it.
        options: more options of the command.
    """
    report, said = out.with_suffix(".json"), out.with_suffix(".txt")
    for file in (out, report):
        file.unlink(missing_ok=True)
    words = ["clean", str(drawing), "-o", str(out), "--report", str(report), *options]
    environment = {**os.environ, "LANGUAGE": "en", "OPENBLAS_NUM_THREADS": "1",
                   "OMP_NUM_THREADS": "1", "PYTHONPATH": str(ROOT)}  # fmt: skip
    with said.open("wb") as log:
        process = subprocess.Popen(
            [sys.executable, "-c", _START, *words], stdout=log, stderr=log, cwd=ROOT,
            env=environment, preexec_fn=_limited,
        )  # fmt: skip
        watch = threading.Timer(LONGEST, process.kill)
        watch.start()
        _pid, ended, used = os.wait4(process.pid, 0)
        watch.cancel()
    process.returncode = os.waitstatus_to_exitcode(ended)
    seconds = used.ru_utime + used.ru_stime
    message = said.read_text(encoding="utf-8", errors="replace").strip()
    status = process.returncode
    is_crashed = status not in (0, 1) or any(
        words in message for words in ("Traceback", "went wrong inside")
    )
    if status == -signal.SIGKILL:
        message = f"killed after {LONGEST:.0f} s"
    found: dict[str, Any] = {}
    if status == 0 and report.is_file():
        found = json.loads(report.read_text(encoding="utf-8"))
    return CleanRun(status, message, found, seconds, used.ru_maxrss / 1024, is_crashed)
