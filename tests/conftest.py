"""Settings and fixtures for all tests."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import pytest
from hypothesis import HealthCheck, settings

from drafting_core.text import words
from extension.installing.install import package
from tests.help.depth import QUICK_EXAMPLES, THOROUGH_EXAMPLES
from tests.help.editor.editor import (
    RealEditor,
    Screen,
    missing_tools,
    unpack_package,
    virtual_screen,
)
from tests.help.once import made_once, shared_folder

if TYPE_CHECKING:
    from tests.help.printing.press import Press

# No deadline: the machine's load is no property of the code. The quick run, and every run in CI,
# tries the same examples, so that a failure is never someone else's luck.
settings.register_profile(
    "thorough",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    print_blob=True,
    max_examples=THOROUGH_EXAMPLES,
    derandomize=bool(os.environ.get("CI")),
)
settings.register_profile(
    "quick",
    parent=settings.get_profile("thorough"),
    max_examples=QUICK_EXAMPLES,
    derandomize=True,
)

# English whatever the machine speaks, in every process that a test starts.
for variable in ("LC_ALL", "LC_MESSAGES"):
    os.environ.pop(variable, None)
os.environ |= {"LANGUAGE": "C", "LANG": "C.UTF-8"}
# Tests run on all cores: numpy's own threads beside them double the work and make none faster.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

TESTS = Path(__file__).parent
BENCHMARKS = TESTS / "benchmarks"
COLLECTED = pytest.StashKey["Collected"]()


class Collected(NamedTuple):
    """What was found before anything was left out.

    Attributes:
        is_all: whether all tests were asked for, not some files or folders of them.
        files: the files with tests.
        thorough: how many tests are left to the thorough run.
        quick: how many are in both.
        quick_with_programs: the files of those that need other programs.
    """

    is_all: bool
    files: frozenset[Path]
    thorough: int
    quick: int
    quick_with_programs: frozenset[Path]


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the one option: how deep the tests go."""
    parser.addoption(
        "--thorough",
        action="store_true",
        help="run all tests, with all examples; without it a quick part of them",
    )


def pytest_configure(config: pytest.Config) -> None:
    """Choose how many examples are tried, before any test is read."""
    # Tests run side by side: threads of theirs would wait for one another.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    settings.load_profile("thorough" if config.getoption("thorough") else "quick")


def pytest_report_header(config: pytest.Config) -> str:
    """Say how deep the tests go."""
    return "depth: " + ("all" if config.getoption("thorough") else "quick (--thorough for all)")


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """Measure one after the other; tests run on all cores, and one more where many of them wait."""
    if any(BENCHMARKS in (path, *path.parents) for path in asked_for(config)):
        return 0
    # Tests at the editor, of which most are thorough, wait longer than they compute.
    return (os.cpu_count() or 1) + 1 if config.getoption("thorough") else None


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave the benchmarks out unless they are asked for by their folder or file."""
    if BENCHMARKS not in (collection_path, *collection_path.parents):
        return None
    return not any(BENCHMARKS in (path, *path.parents) for path in asked_for(config))


def asked_for(config: pytest.Config) -> list[Path]:
    """Return the files and folders that were asked for."""
    folder = config.invocation_params.dir
    return [Path(folder, argument.split("::")[0]).resolve() for argument in config.args]


def pytest_runtest_setup() -> None:
    """Let every test begin in English, whatever the one before it spoke."""
    words.speak(None)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Sort the tests by depth, and mark those that need more than Python."""
    for item in items:
        if {"screen", "press"} & set(getattr(item, "fixturenames", ())):
            item.add_marker(pytest.mark.programs)
    thorough = [item for item in items if item.get_closest_marker("thorough")]
    quick = [item for item in items if not item.get_closest_marker("thorough")]
    config.stash[COLLECTED] = Collected(
        asked_for(config) in ([TESTS], [TESTS.parent]),
        frozenset(item.path for item in items),
        len(thorough),
        len(quick),
        frozenset(item.path for item in quick if item.get_closest_marker("programs")),
    )
    if thorough and not config.getoption("thorough"):
        config.hook.pytest_deselected(items=thorough)
        items[:] = quick


def require(*missing: str) -> None:
    """Skip a test for which something is missing; where CI runs, fail instead."""
    if not missing:
        return
    reason = f"not on this machine: {', '.join(missing)}"
    if os.environ.get("CI"):
        pytest.fail(f"{reason}; CI has to run every test")
    pytest.skip(reason)


@pytest.fixture(scope="session")
def screen() -> Iterator[Screen]:
    """A virtual screen with a window manager."""
    require(*missing_tools())
    with virtual_screen() as started:
        yield started


@pytest.fixture(scope="session")
def packed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The extension as it is given to users: a zip."""

    def pack(folder: Path) -> None:
        package(folder / "dartswing.zip")

    return made_once(shared_folder(tmp_path_factory) / "packed", pack) / "dartswing.zip"


@pytest.fixture(scope="session")
def editor(screen: Screen, packed: Path, tmp_path_factory: pytest.TempPathFactory) -> RealEditor:
    """The real editor, with the packaged extension in a fresh profile."""
    profile = tmp_path_factory.mktemp("profile")
    unpack_package(profile, packed)
    return RealEditor(screen, profile)


@pytest.fixture(scope="session")
def press(tmp_path_factory: pytest.TempPathFactory) -> Press:
    """Drawings and their PDFs, written by the editor's exporter."""
    # Not needed by most tests.
    from tests.help.printing import pdf_pages, press

    require(*pdf_pages.missing_tools())
    return press.Press(shared_folder(tmp_path_factory) / "press", tmp_path_factory.mktemp("press"))
