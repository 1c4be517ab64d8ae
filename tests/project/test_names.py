"""One name, one thing: no public class or function is called like another one."""

from __future__ import annotations

import ast
from collections import defaultdict
from pathlib import Path

import pytest

from tests.help.texts.untranslated import ROOT, code_files

#: Names that stand twice, and why they may.
ALLOWED = {
    "main": "what a program is started by is called so everywhere",
}
#: A name that the core and the extension share is read in one file with the other: a few at most.
MOST_SHARED = 6


def defined(package: str) -> dict[str, list[Path]]:
    """Return where each public class and function of a package is defined."""
    found: defaultdict[str, list[Path]] = defaultdict(list)
    for path in code_files():
        file = path.relative_to(ROOT)
        # What the editor starts is named after its command, and imported by nobody.
        if file.parts[0] != package or len(file.parts) == 2:
            continue
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
                found[node.name].append(file)
    assert len(found) > 100
    return found


@pytest.mark.parametrize("package", ["drafting_core", "extension"])
def test_no_name_stands_twice_in_a_package(package: str) -> None:
    twice = {name: files for name, files in defined(package).items() if len(files) > 1}
    assert not {name: files for name, files in twice.items() if name not in ALLOWED}


@pytest.mark.thorough
def test_few_names_are_shared_by_both_packages() -> None:
    shared = set(defined("drafting_core")) & set(defined("extension"))
    assert len(shared - set(ALLOWED)) <= MOST_SHARED, sorted(shared)


@pytest.mark.thorough
def test_what_is_allowed_is_needed() -> None:
    core, extension = defined("drafting_core"), defined("extension")
    for name in ALLOWED:
        assert len([*core.get(name, []), *extension.get(name, [])]) > 1, name


@pytest.mark.thorough
def test_a_sheet_is_a_sheet_of_paper() -> None:
    """Layers, printed pieces and teaching pages have names of their own."""
    paper = {
        "drafting_core/pages",
        "drafting_core/sheet",
        "drafting_core/trace",
        "extension/cleaning",
    }
    named = {
        f"{file.as_posix()}: {name}"
        for package in ("drafting_core", "extension")
        for name, files in defined(package).items()
        for file in files
        if "sheet" in name.casefold() and file.parent.as_posix() not in paper
    }
    assert not named
