"""Waiting for other programs: for a state, never for a time.

The one place in the tests that looks at a clock, and only to give up at last: on a busy machine
everything takes longer, and nothing else changes.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

#: When to give up (s): many times what the slowest step takes on a busy machine.
CEILING_S = 60.0
_LOOK_EVERY_S = 0.05
#: So many looks in a row have to find all programs asleep: an answer of one to another is on its
#: way for less.
_LOOKS_ASLEEP = 6


def wait_until(done: Callable[[], bool], complaint: str, seconds: float = CEILING_S) -> None:
    """Return as soon as something is so.

    Args:
        done: tells whether it is so.
        complaint: what is said if it never is.
        seconds: when to give up.

    Raises:
        TimeoutError: it was not so until then.
    """
    end = time.monotonic() + seconds
    while not done():
        if time.monotonic() > end:
            raise TimeoutError(f"{complaint} (waited {seconds:g} s)")
        time.sleep(_LOOK_EVERY_S)


def wait_idle(leader: int, *others: int, seconds: float = CEILING_S) -> None:
    """Wait until a program has done all that it was asked for.

    That is: it and the others sleep, each waiting to be asked, and nothing that it started runs
    but what waits to be asked for more.
    A program that merely waits for a turn on a busy machine does not sleep.

    Args:
        leader: the process number of a program that leads a group of its own.
        others: process numbers of what it speaks with, such as the server of its screen.
        seconds: when to give up.

    Raises:
        TimeoutError: it was still busy then.
    """
    asleep = 0

    def long_asleep() -> bool:
        nonlocal asleep
        asleep = asleep + 1 if is_idle(leader, *others) else 0
        return asleep >= _LOOKS_ASLEEP

    wait_until(long_asleep, "it is still busy", seconds)


def is_idle(leader: int, *others: int) -> bool:
    """Tell whether a program and the others sleep now and nothing that it started runs."""
    started = [process for process in _group(leader) if process != leader]
    if not all(_is_helper(process) for process in started):
        return False
    # A program that has ended does nothing any more.
    return all(_state(process) in ("S", "Z", "") for process in (leader, *others, *started))


def _is_helper(process: int) -> bool:
    """Tell whether a program of a group stays after its work: one that reads pictures does."""
    try:
        name = Path("/proc", str(process), "comm").read_text(encoding="utf-8")
    except OSError:
        return False
    return name.startswith("glycin-")


def _group(leader: int) -> list[int]:
    """Return the process numbers of a group: what a program starts belongs to its own one.

    (The editor starts its extensions through a process that ends at once: they are no children
    of the editor.)
    """
    found = []
    for process in Path("/proc").iterdir():
        if process.name.isdigit():
            fields = _fields(process)
            if len(fields) > 2 and fields[2] == str(leader):
                found.append(int(process.name))
    return found


def _state(process: int) -> str:
    fields = _fields(Path("/proc", str(process)))
    return fields[0] if fields else ""


def _fields(process: Path) -> list[str]:
    """Return state, parent, group and the rest of what the system says of a process."""
    try:
        # The program's name stands in brackets and may hold blanks and brackets.
        return (process / "stat").read_text(encoding="utf-8").rpartition(")")[2].split()
    except OSError:
        return []
