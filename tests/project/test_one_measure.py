"""One measure of text: nobody beside `look/set_text.py` makes a width of a count of letters."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.help.texts.untranslated import code_files

ROOT = Path(__file__).parents[2]
MEASURE = "extension/look/set_text.py"

LINES = "lines of text, by their distance"
ROWS = "pictures side by side or below one another, by the room between them"
#: Where a count is multiplied that is none of letters: by file and what is counted.
COUNTS = {
    ("extension/look/set_text.py", "len(self.lines)"): LINES,
    ("extension/look/text_places.py", "len(text)"): LINES,
    ("extension/comparing/layout.py", "len(lines)"): LINES,
    ("extension/commands/check_here.py", "len(lines)"): LINES,
    ("extension/drafting/write_result.py", "len(lines)"): LINES,
    ("extension/drafting/write_result.py", "len(placed.text)"): LINES,
    ("extension/reading/drawn_boxes.py", "len(lines)"): LINES,
    ("extension/reading/free_room.py", "len(columns)"): "cells of a grid",
    ("extension/reading/free_room.py", "len(rows)"): "cells of a grid",
    ("extension/paper/first_page.py", "len(lines)"): LINES,
    ("extension/paper/paper_piece.py", "len(lines)"): LINES,
    ("extension/paper/paper_piece.py", "len(text.lines)"): LINES,
    ("extension/paper/paper_piece.py", "len(title.lines)"): LINES,
    ("extension/paper/write_pages.py", "len(said)"): LINES,
    ("extension/sewing/text_blocks.py", "len(lines)"): LINES,
    ("extension/sewing/text_blocks.py", "len(row)"): ROWS,
    ("extension/comparing/layout.py", "len(captions)"): ROWS,
    ("extension/comparing/layout.py", "len(heights)"): ROWS,
    ("extension/sewing/layout.py", "len(sections)"): "whether there are several",
    ("extension/cleaning/read_trace.py", "len(number)"): "points of a polyline",
    ("extension/drafting/balance_table.py", "len(before)"): "letters in a terminal, all as wide",
}
#: What sets text by a count of letters, since every letter is as wide there.
COUNTED_LETTERS = {
    "extension/drafting/balance_table.py": "a table in a terminal",
}


def counts(node: ast.AST) -> Iterator[ast.AST]:
    """Everything below a node that counts."""
    for below in ast.walk(node):
        if isinstance(below, ast.Call) and isinstance(below.func, ast.Name):
            if below.func.id == "len":
                yield below
            elif below.func.id in ("map", "max", "min", "sorted", "sum"):
                given = [*below.args, *(word.value for word in below.keywords)]
                if any(isinstance(one, ast.Name) and one.id == "len" for one in given):
                    yield below


def counted_names(scope: ast.AST) -> dict[str, ast.AST]:
    """Names of a function that stand for a count."""
    return {
        target.id: next(counts(node.value))
        for node in ast.walk(scope)
        if isinstance(node, ast.Assign) and any(True for _ in counts(node.value))
        for target in node.targets
        if isinstance(target, ast.Name)
    }


def multiplied_counts(tree: ast.AST) -> Iterator[str]:
    """Every count in a tree of code that is multiplied, as it is written."""
    scopes = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    for scope in [tree, *scopes]:
        names = counted_names(scope) if scope is not tree else {}
        for node in ast.walk(scope):
            if not (isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult)):
                continue
            sides = (node.left, node.right)
            # Text or a list that is repeated, and a share of a list, are no width.
            if any(isinstance(side, ast.List | ast.Constant) for side in sides) and any(
                isinstance(side, ast.List) or isinstance(getattr(side, "value", 0), str)
                for side in sides
            ):
                continue
            for side in sides:
                yield from (ast.unparse(count) for count in counts(side))
                if isinstance(side, ast.Name) and side.id in names:
                    yield ast.unparse(names[side.id])


def found_in(code: str) -> set[str]:
    return set(multiplied_counts(ast.parse(code)))


@pytest.mark.parametrize(
    "code",
    [
        "def f(line, size): return len(line) * 0.56 * size / 2",
        "def f(lines, size): return size * max(len(line) for line in lines)",
        "def f(lines, size): return max(map(len, lines)) * size",
        "def f(lines, size):\n    longest = max(len(line) for line in lines)\n"
        "    return longest * WIDTH * size",
        "def f(lines, size): return size * (1 + len(max(lines, key=len)))",
    ],
)
def test_a_width_made_of_a_count_of_letters_is_found(code: str) -> None:
    assert found_in(code)


def test_what_is_no_width_is_let_through() -> None:
    assert not found_in(
        "def f(rows): return ['-'] * len(rows) + ['' for _ in range(len(rows) + 1)]"
    )
    assert not found_in("def f(rows): return '-' * len(rows)")


@pytest.mark.thorough
def test_nobody_else_measures_text_by_its_letters() -> None:
    met = set()
    for file in code_files():
        name = file.relative_to(ROOT).as_posix()
        if not name.startswith("extension/"):
            continue
        for count in found_in(file.read_text(encoding="utf-8")):
            assert (name, count) in COUNTS, f"{name} makes a length of {count}: ask {MEASURE}"
            met.add((name, count))
    assert met == set(COUNTS), "these are no more"


@pytest.mark.thorough
def test_nobody_else_breaks_text_by_its_letters() -> None:
    met = set()
    for file in code_files():
        name = file.relative_to(ROOT).as_posix()
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import | ast.ImportFrom):
                modules = [alias.name for alias in node.names]
                if "textwrap" in (*modules, getattr(node, "module", None)):
                    assert name in COUNTED_LETTERS, f"{name} breaks text by letters: ask {MEASURE}"
                    met.add(name)
    assert met == set(COUNTED_LETTERS), "these are no more"


@pytest.mark.thorough
def test_nobody_else_has_a_mean_letter() -> None:
    for file in code_files():
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Name):
                assert "LETTER_WIDTH" not in node.id, file
