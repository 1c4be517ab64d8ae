"""Docstrings that tell: every field of a public class, every error that a function raises."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.help.texts.untranslated import ROOT, code_files

#: What is raised for a fault of the program's own, and never reaches a drafter.
_OWN_FAULTS = {"NotImplementedError"}


def sources() -> list[Path]:
    files = [path for path in code_files() if path.name != "__init__.py"]
    assert len(files) > 100
    return files


def definitions(path: Path) -> Iterator[tuple[ast.AST, bool]]:
    """Yield every public class and function of a file, and whether it is a method."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node, False
            if isinstance(node, ast.ClassDef):
                for inner in node.body:
                    if isinstance(inner, ast.FunctionDef) and not inner.name.startswith("_"):
                        yield inner, True


def fields_of(node: ast.ClassDef) -> list[str]:
    bases = {ast.unparse(base) for base in node.bases}
    decorators = " ".join(ast.unparse(decorator) for decorator in node.decorator_list)
    if "NamedTuple" not in bases and "dataclass" not in decorators:
        return []
    return [
        inner.target.id
        for inner in node.body
        if isinstance(inner, ast.AnnAssign)
        and isinstance(inner.target, ast.Name)
        and not inner.target.id.startswith("_")
        and "ClassVar" not in ast.unparse(inner.annotation)
    ]


def section(docstring: str, title: str) -> str:
    found = re.search(rf"^{title}:\n((?:    .*\n?|\n)+)", docstring, re.MULTILINE)
    return found[1] if found else ""


def raised(node: ast.FunctionDef) -> set[str]:
    """Return the classes that a function's own statements raise, where they name them."""
    found: set[str] = set()
    waiting: list[ast.AST] = list(node.body)
    while waiting:
        part = waiting.pop()
        if isinstance(part, ast.FunctionDef | ast.Lambda | ast.ClassDef):
            continue
        if isinstance(part, ast.Raise) and isinstance(part.exc, ast.Call):
            name = ast.unparse(part.exc.func)
            if re.fullmatch(r"[A-Z]\w*(Error|Exit|Fault)?", name):
                found.add(name)
        waiting += ast.iter_child_nodes(part)
    return found - _OWN_FAULTS


@pytest.mark.parametrize("path", sources(), ids=lambda path: path.relative_to(ROOT).as_posix())
def test_fields_and_errors_are_told(path: Path) -> None:
    missing = []
    for node, _is_method in definitions(path):
        docstring = ast.get_docstring(node) or ""  # type: ignore[arg-type]
        if isinstance(node, ast.ClassDef):
            told = re.findall(r"^    (\w+)(?: and (\w+))?:", section(docstring, "Attributes"), re.M)
            names = {name for pair in told for name in pair}
            missing += [f"{node.name}.{name}" for name in fields_of(node) if name not in names]
        elif isinstance(node, ast.FunctionDef) and raised(node) and "Raises:" not in docstring:
            missing.append(f"{node.name} raises {', '.join(sorted(raised(node)))}")
    assert not missing


def test_the_sections_are_found() -> None:
    docstring = "What it is.\n\nAttributes:\n    at: where,\n        in mm.\n    size: how large.\n"
    assert re.findall(r"^    (\w+):", section(docstring, "Attributes"), re.M) == ["at", "size"]
    assert section(docstring, "Raises") == ""
