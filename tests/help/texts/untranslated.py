"""Texts in the code that a drafter may read and that do not go through gettext.

``python -m tests.help.texts.untranslated [FILE…]`` lists them.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[3]
TRANSLATING = {"_", "N_", "ngettext"}
#: Calls whose texts are for programmers or programs: errors that are never shown, patterns,
#: queries, the command line's own help (which is English, as the options are).
FOR_PROGRAMS = {
    "ValueError",
    "TypeError",
    "AssertionError",
    "RuntimeError",
    "compile",
    "match",
    "search",
    "sub",
    "fullmatch",
    "split",
    "xpath",
    "find",
    "findall",
    "iterfind",
    "add_argument",
    "add_parser",
    "ArgumentParser",
    # The help of an option on the command line; the dialogs have their own.
    "Option",
}
_MARK = "# not read by drafters"


def code_files() -> list[Path]:
    """Return the files whose texts are looked at."""
    return sorted(
        file for part in ("drafting_core", "extension") for file in (ROOT / part).rglob("*.py")
    )


def untranslated(file: Path) -> Iterator[tuple[int, str]]:
    """Yield line and text of every sentence of a file that is not marked for translation.

    A text counts as a sentence if it has a blank inside and a word: two letters on end, which path
    data has not. Docstrings do not count, nor does a line that says ``# not read by drafters`` or
    a value whose first line says so, nor what stands in a call for programs.
    """
    source = file.read_text(encoding="utf-8")
    lines = source.splitlines()
    tree = ast.parse(source)
    passed: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            passed.add(id(node.value))
        elif isinstance(node, ast.Call) and _called(node) in TRANSLATING | FOR_PROGRAMS:
            arguments = [*node.args, *(keyword.value for keyword in node.keywords)]
            passed.update(id(inner) for argument in arguments for inner in ast.walk(argument))
        elif isinstance(node, (ast.Assign, ast.AnnAssign)) and _MARK in lines[node.lineno - 1]:
            passed.update(id(inner) for inner in ast.walk(node))
        elif isinstance(node, ast.JoinedStr):
            passed.update(id(value) for value in node.values)
    for node in ast.walk(tree):
        text = _text(node)
        if not isinstance(node, ast.expr) or id(node) in passed or text is None:
            continue
        if " " not in text.strip() or not re.search(r"[^\W\d_]{2}", text):
            continue
        if any(_MARK in line for line in lines[node.lineno - 1 : node.end_lineno]):
            continue
        yield node.lineno, text


def _called(node: ast.Call) -> str:
    function = node.func
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def _text(node: ast.AST) -> str | None:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(
            str(value.value) if isinstance(value, ast.Constant) else "{}" for value in node.values
        )
    return None


if __name__ == "__main__":
    for path in [Path(name) for name in sys.argv[1:]] or code_files():
        for number, text in untranslated(path):
            print(f"{path}:{number}: {text}")
