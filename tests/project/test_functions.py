"""Functions short enough to be read at once; and nothing is decided by the text of a sentence."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

import pytest
from radon.visitors import ComplexityVisitor

from drafting_core.model.seam_names import KNOWN_SEAMS, STYLE_LINE
from extension.document.roles import INNER_LINE
from tests.help.texts.untranslated import TRANSLATING, code_files

ROOT = Path(__file__).parents[2]
LONGEST = 80
MOST_COMPLEX = 25
#: Functions that may be longer, as "file: name", each with its reason. Keep it empty.
ALLOWED: dict[str, str] = {}

#: What a drafter writes on her objects: names of seams and of roles are keys, and translated too.
LABELS = {*KNOWN_SEAMS, STYLE_LINE, INNER_LINE}
#: Methods by which a text is looked for in another, or in a table.
LOOKING = {
    "count",
    "endswith",
    "find",
    "get",
    "index",
    "partition",
    "pop",
    "removeprefix",
    "removesuffix",
    "replace",
    "rpartition",
    "setdefault",
    "split",
    "startswith",
}


def functions(text: str) -> Iterator[tuple[str, int, int]]:
    """Yield name, number of lines and cyclomatic complexity of every function, inner ones too."""
    for block in ComplexityVisitor.from_code(text).blocks:
        found = [block, *getattr(block, "methods", ()), *getattr(block, "closures", ())]
        for one in found:
            if hasattr(one, "closures"):
                yield one.fullname, one.endline - one.lineno + 1, one.complexity


def test_the_measure_sees_functions_methods_and_inner_functions() -> None:
    text = (
        "def outer():\n    def inner():\n        pass\n    if a or b:\n        pass\n"
        "class Thing:\n    def method(self):\n        return 1\n"
    )
    found = {name.rpartition(".")[2]: (lines, n) for name, lines, n in functions(text)}
    # Counted by hand: one way through each, and one more for each of the two conditions.
    assert found["outer"] == (5, 3)
    assert found["inner"] == (2, 1)
    assert found["method"] == (2, 1)


@pytest.mark.parametrize("package", ["drafting_core", "extension"])
def test_no_function_is_too_long_or_too_winding(package: str) -> None:
    looked_at = 0
    for file in code_files():
        path = file.relative_to(ROOT).as_posix()
        if not path.startswith(f"{package}/"):
            continue
        for name, lines, complexity in functions(file.read_text(encoding="utf-8")):
            looked_at += 1
            where = f"{path}: {name}"
            if where not in ALLOWED:
                assert lines <= LONGEST, f"{where} has {lines} lines"
                assert complexity <= MOST_COMPLEX, f"{where} has a complexity of {complexity}"
    assert looked_at > 300


def translated(tree: ast.AST) -> Iterator[str]:
    """Yield every text that is marked for translation and has a blank in it."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in TRANSLATING:
            for text in node.args:
                if isinstance(text, ast.Constant) and " " in str(text.value):
                    yield str(text.value)


def named_texts(tree: ast.Module) -> dict[str, str]:
    """Return the constants of a module that are one text, by their names."""
    found = {}
    for node in tree.body:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            value = node.value
            if isinstance(value, ast.Call) and getattr(value.func, "id", "") in TRANSLATING:
                value = value.args[0]
            if isinstance(value, ast.Constant) and isinstance(value.value, str):
                found[node.targets[0].id] = value.value
    return found


@cache
def parsed(file: Path) -> ast.Module:
    return ast.parse(file.read_text(encoding="utf-8"))


def known_texts(tree: ast.Module) -> dict[str, str]:
    """Return the texts that names stand for in a module, its own and imported ones."""
    known = named_texts(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            file = ROOT / f"{node.module.replace('.', '/')}.py"
            others = named_texts(parsed(file)) if file.is_file() else {}
            for alias in node.names:
                if alias.name in others:
                    known[alias.asname or alias.name] = others[alias.name]
    return known


def keys(tree: ast.AST) -> Iterator[ast.expr]:
    """Yield what decides something: keys, sides of a comparison, what is looked for."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Dict):
            yield from (key for key in node.keys if key is not None)
        elif isinstance(node, ast.DictComp):
            yield node.key
        elif isinstance(node, ast.Compare):
            yield from (node.left, *node.comparators)
        elif isinstance(node, ast.Subscript):
            yield node.slice
        elif isinstance(node, ast.MatchValue):
            yield node.value
        elif isinstance(node, ast.Call) and getattr(node.func, "attr", "") in LOOKING:
            yield from node.args[:1]


def keyed_by_sentences(
    tree: ast.Module, sentences: set[str], known: Mapping[str, str]
) -> Iterator[tuple[int, str]]:
    """Yield line and text of every sentence by which a module decides something."""
    for key in keys(tree):
        for node in ast.walk(key):
            text = known.get(node.id) if isinstance(node, ast.Name) else None
            if isinstance(node, ast.Constant):
                text = str(node.value)
            if text in sentences:
                yield key.lineno, text


def all_sentences() -> set[str]:
    return {text for file in code_files() for text in translated(parsed(file))} - LABELS


@pytest.mark.thorough
def test_nothing_is_keyed_by_a_sentence() -> None:
    sentences = all_sentences()
    assert len(sentences) > 500
    for file in code_files():
        tree = parsed(file)
        for line, text in keyed_by_sentences(tree, sentences, known_texts(tree)):
            raise AssertionError(f"{file.relative_to(ROOT)}:{line} is keyed by “{text}”")


@pytest.mark.parametrize(
    "code",
    [
        'shorter = {N_("It is so."): 1}',
        'shorter = {"It is so.": 1}',
        'if told == _("It is so.").format(n=1): pass',
        'if "It is so." in told: pass',
        'found = TABLE["It is so."]',
        'found = table.get(_("It is so."))',
        'if told.startswith("It is so."): pass',
        "if told != SAID: pass",
        "shorter = {(SAID, 1): 2}",
        'match told:\n    case "It is so.":\n        pass',
    ],
)
def test_a_sentence_as_a_key_would_be_seen(code: str) -> None:
    tree = ast.parse(f'SAID = N_("It is so.")\n{code}\n')
    sentences = set(translated(tree))
    assert sentences == {"It is so."}
    found = list(keyed_by_sentences(tree, sentences, known_texts(tree)))
    assert found == [(2 if "match" not in code else 3, "It is so.")]


@pytest.mark.parametrize(
    "code",
    [
        'shorter = {"so": N_("It is so.")}',
        'if is_so: told = _("It is so.")',
        'told = [N_("It is so.")]',
        "told = _(SAID).format(n=1)",
    ],
)
def test_a_sentence_that_is_only_said_is_no_key(code: str) -> None:
    tree = ast.parse(f'SAID = N_("It is so.")\n{code}\n')
    assert not list(keyed_by_sentences(tree, set(translated(tree)), known_texts(tree)))


def test_a_name_that_is_imported_stands_for_its_text() -> None:
    tree = ast.parse("from drafting_core.model.seam_names import SIDE_SEAM as SIDE")
    assert known_texts(tree) == {"SIDE": "side seam"}
