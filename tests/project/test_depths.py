"""The two depths of the tests: what stays in the quick run, and that time decides nothing."""

from __future__ import annotations

import ast

import pytest
from hypothesis import settings

from tests.conftest import BENCHMARKS, COLLECTED, TESTS
from tests.help.depth import QUICK_EXAMPLES, THOROUGH_EXAMPLES, examples, some_quick

#: How many tests the quick run is to have at the least.
QUICK = 2000
#: Modules that tell the time, and the only one of the tests that may ask them, to give up at last.
CLOCKS = {"time", "timeit", "sched", "asyncio"}
WAITING = TESTS / "help" / "editor" / "waiting.py"


def test_all_are_found_and_enough_stay_in_the_quick_run(request: pytest.FixtureRequest) -> None:
    found = request.config.stash[COLLECTED]
    if not found.is_all:
        pytest.skip("only some of the tests were asked for")
    files = {file for file in TESTS.rglob("test_*.py") if BENCHMARKS not in file.parents}
    assert found.files == files
    assert found.quick >= QUICK
    assert found.thorough > 0
    ran = len(request.session.items)
    assert ran == found.quick + (found.thorough if request.config.getoption("thorough") else 0)


def test_of_each_kind_some_stay_in_the_quick_run(request: pytest.FixtureRequest) -> None:
    found = request.config.stash[COLLECTED]
    if not found.is_all:
        pytest.skip("only some of the tests were asked for")
    for file in (
        "commands/test_editor.py",
        "cleaning/test_scanned_sample.py",
        "paper/test_paper_pdf.py",
        "paper/test_joined_pages.py",
    ):
        assert TESTS / "extension" / file in found.quick_with_programs


def test_a_thorough_run_tries_as_many_examples_as_are_said(
    request: pytest.FixtureRequest,
) -> None:
    if request.config.getoption("thorough"):
        assert settings().max_examples == THOROUGH_EXAMPLES == 100
        assert [examples(count) for count in (1, 12, 60, 150)] == [1, 12, 60, 150]
    else:
        # An eighth of them, but never less than five where there are as many.
        assert settings().max_examples == QUICK_EXAMPLES >= THOROUGH_EXAMPLES / 8
        assert [examples(count) for count in (1, 12, 40, 80)] == [1, 5, 6, 11]


def test_values_left_to_the_thorough_run_are_spread_and_none_is_lost() -> None:
    params = some_quick([1, (2, "b"), pytest.param(3, id="three"), 4, 5, 6], 2)
    assert params[0] == 1
    assert params[3] == 4
    assert [list(param.values) for param in params if hasattr(param, "marks")] == [
        [2, "b"],
        [3],
        [5],
        [6],
    ]
    assert params[2].id == "three"
    assert all(param.marks[0].name == "thorough" for param in params if hasattr(param, "marks"))


def clocks_in(source: str) -> list[str]:
    """Return what a module takes of those that tell the time."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names if alias.name.split(".")[0] in CLOCKS]
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            if str(node.module).split(".")[0] in CLOCKS:
                found.append(str(node.module))
        elif isinstance(node, ast.Attribute) and node.attr in ("now", "today", "utcnow"):
            found.append(node.attr)
    return found


@pytest.mark.thorough
def test_no_test_looks_at_a_clock() -> None:
    files = [file for file in TESTS.rglob("*.py") if BENCHMARKS not in file.parents]
    looking = {file for file in files if clocks_in(file.read_text(encoding="utf-8"))}
    assert looking == {WAITING}


@pytest.mark.parametrize(
    "source",
    [
        "import time",
        "import time as t",
        "from time import perf_counter",
        "from timeit import timeit",
        "import datetime\ndatetime.datetime.now()",
    ],
)
def test_a_look_at_a_clock_is_seen(source: str) -> None:
    assert clocks_in(source)
