"""The house: every file in a room, imports only downward, and no room too full to look through."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.help.texts.untranslated import code_files

ROOT = Path(__file__).parents[2]

#: From the ground floor up: a file imports from its own room and from those above it in this list.
ROOMS = (
    *(
        f"drafting_core/{room}"
        for room in (
            "plane",
            "text",
            "model",
            "block",
            "move",
            "dart",
            "trueing",
            "allowance",
            "finished",
            "style",
            "sewing",
            "ink",
            "sheet",
            "trace",
            "pages",
        )
    ),
    *(
        f"extension/{room}"
        for room in (
            "host",
            "document",
            "options",
            "look",
            "reading",
            "pages",
            "finished",
            "artwork",
            "drafting",
            "marking",
            "cleaning",
            "comparing",
            "paper",
            "sewing",
            "installing",
            "commands",
        )
    ),
)
#: What the editor starts, above all rooms; and what is no code.
ENTRY = "extension"
NO_CODE = {"extension/locale", "extension/pictures"}
FULLEST = 20

PACKAGES = ("drafting_core", "extension", "tests")


def python_files(package: str) -> list[Path]:
    files = sorted((ROOT / package).rglob("*.py"))
    assert len(files) > 50
    return files


def room_of(path: Path) -> str:
    return path.relative_to(ROOT).parent.as_posix()


def imported(file: Path) -> Iterator[tuple[int, str]]:
    """Yield line and file of everything of the project that a file imports, early or late."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Import | ast.ImportFrom | ast.Call):
            continue
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file}:{node.lineno}: a relative import"
            module = node.module or ""
            names = [f"{module}.{alias.name}" for alias in node.names]
        elif _called(node) in ("import_module", "__import__"):
            names = [str(a.value) for a in node.args[:1] if isinstance(a, ast.Constant)]
            assert names, f"{file}:{node.lineno}: an import that cannot be read here"
        for name in names:
            if name.split(".")[0] in PACKAGES:
                yield node.lineno, _file_of(name)


def _called(node: ast.Call) -> str:
    function = node.func
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def _file_of(name: str) -> str:
    parts = name.split(".")
    for end in (len(parts), len(parts) - 1):
        path = "/".join(parts[:end])
        if (ROOT / f"{path}.py").is_file() or (ROOT / path / "__init__.py").is_file():
            return path
    raise AssertionError(f"{name} is no module of the project")


@pytest.mark.parametrize("package", ["drafting_core", "extension"])
def test_every_file_is_in_a_room_of_the_list(package: str) -> None:
    for file in python_files(package):
        if file.name != "__init__.py":
            assert room_of(file) in ROOMS or room_of(file) == ENTRY, file


@pytest.mark.parametrize("room", ROOMS)
def test_imports_run_down(room: str) -> None:
    below = set(ROOMS[: ROOMS.index(room) + 1])
    files = sorted((ROOT / room).glob("*.py"))
    assert len(files) > 1
    for file in files:
        for line, path in imported(file):
            package = path if (ROOT / path).is_dir() else path.rpartition("/")[0]
            assert package in below, f"{file.relative_to(ROOT)}:{line} imports {path}"


def test_files_of_a_room_import_one_another_without_circles() -> None:
    found = {
        file.relative_to(ROOT).with_suffix("").as_posix(): {path for _line, path in imported(file)}
        for package in ("drafting_core", "extension")
        for file in python_files(package)
    }
    done: set[str] = set()

    def visit(path: str, above: tuple[str, ...]) -> None:
        assert path not in above, f"a circle: {' > '.join([*above, path])}"
        if path not in done:
            for other in found.get(path, ()):
                visit(other, (*above, path))
            done.add(path)

    for path in found:
        visit(path, ())


@pytest.mark.parametrize("package", PACKAGES)
def test_a_package_itself_does_nothing(package: str) -> None:
    """An import of one module must not cost the import of others beside it."""
    for file in python_files(package):
        if file.name == "__init__.py":
            body = ast.parse(file.read_text(encoding="utf-8")).body
            only_text = [isinstance(node, ast.Expr) for node in body]
            assert only_text in ([], [True]), file
            assert body or package == "tests", f"{file} does not say what lives there"


@pytest.mark.parametrize("package", PACKAGES)
def test_no_folder_is_too_full_to_look_through(package: str) -> None:
    for folder in {file.parent for file in python_files(package)}:
        held = [file for file in folder.iterdir() if file.is_file()]
        assert len(held) <= FULLEST, folder


def test_tests_mirror_the_rooms() -> None:
    mirrored = [
        folder.relative_to(ROOT / "tests").as_posix()
        for package in ("drafting_core", "extension")
        for folder in (ROOT / "tests" / package).iterdir()
        if folder.is_dir() and folder.name != "__pycache__"
    ]
    assert len(mirrored) > 15
    assert set(mirrored) <= set(ROOMS)


def test_the_core_knows_no_svg_and_no_editor() -> None:
    for file in python_files("drafting_core"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = (
                [alias.name for alias in node.names]
                if isinstance(node, ast.Import)
                else [node.module or ""]
                if isinstance(node, ast.ImportFrom)
                else []
            )
            for name in names:
                assert name.split(".")[0] not in ("lxml", "inkex", "extension", "shapely"), file


def test_checks_of_the_code_look_at_all_of_it() -> None:
    """A check for untranslated texts that looks at no file finds none."""
    looked_at = set(code_files())
    assert looked_at == {*python_files("drafting_core"), *python_files("extension")}


def test_the_developers_list_names_every_file() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    house = text[text.index("## The house") : text.index("## The model")]
    named = set(re.findall(r"`([a-z_]+)`", house))
    for package in ("drafting_core", "extension"):
        for file in python_files(package):
            if file.name not in ("__init__.py", "dartswing.py"):
                assert file.stem in named, f"{file} is in no room of DEVELOPERS.md"
