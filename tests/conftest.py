"""Settings and fixtures for all tests."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

from drafting_core.text import words
from tests.help.editor.editor import RealEditor, missing_tools, unpack_package, virtual_screen

if TYPE_CHECKING:
    from tests.help.printing.press import Press

# No deadline: the machine's load is no property of the code. In CI every run tries the same
# examples, so that a failure is never someone else's luck.
settings.register_profile(
    "dartswing", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.register_profile("ci", parent=settings.get_profile("dartswing"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "dartswing")

# English whatever the machine speaks, in every process that a test starts.
for variable in ("LC_ALL", "LC_MESSAGES"):
    os.environ.pop(variable, None)
os.environ |= {"LANGUAGE": "C", "LANG": "C.UTF-8"}

BENCHMARKS = Path(__file__).parent / "benchmarks"


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave the benchmarks out unless they are asked for by their folder or file."""
    if BENCHMARKS not in (collection_path, *collection_path.parents):
        return None
    asked = [Path(config.invocation_params.dir, arg.split("::")[0]) for arg in config.args]
    return not any(BENCHMARKS in (path, *path.parents) for path in (a.resolve() for a in asked))


def pytest_runtest_setup() -> None:
    """Let every test begin in English, whatever the one before it spoke."""
    words.speak(None)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Where tests run side by side, keep those at the real editor one after the other."""
    for item in items:
        if "screen" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.xdist_group("editor"))
        elif "press" in getattr(item, "fixturenames", ()):
            # What is printed is shared by many tests: one process runs them all.
            item.add_marker(pytest.mark.xdist_group("press"))


def require(*missing: str) -> None:
    """Skip a test for which something is missing; where CI runs, fail instead."""
    if not missing:
        return
    reason = f"not on this machine: {', '.join(missing)}"
    if os.environ.get("CI"):
        pytest.fail(f"{reason}; CI has to run every test")
    pytest.skip(reason)


@pytest.fixture(scope="session")
def screen() -> Iterator[str]:
    """A virtual screen with a window manager; its display."""
    require(*missing_tools())
    with virtual_screen() as display:
        yield display


@pytest.fixture(scope="session")
def editor(screen: str, tmp_path_factory: pytest.TempPathFactory) -> RealEditor:
    """The real editor, with the packaged extension in a fresh profile."""
    profile = tmp_path_factory.mktemp("profile")
    unpack_package(profile)
    return RealEditor(screen, profile)


@pytest.fixture(scope="session")
def press(tmp_path_factory: pytest.TempPathFactory) -> Press:
    """Drawings and their PDFs, written by the editor's exporter."""
    # Not needed by most tests.
    from tests.help.printing import pdf_pages, press

    require(*pdf_pages.missing_tools())
    return press.Press(tmp_path_factory.mktemp("press"))
