"""Check installation: what it says of a whole installation and of broken ones."""

from __future__ import annotations

import math
import os
import shutil
import subprocess
import sys
import venv
import zipfile
from collections.abc import Callable
from pathlib import Path

import inkex
import inkex.tester
import pytest
from lxml import etree

from extension.commands.command_line import main
from extension.installing.install import package
from extension.installing.installed_files import LIST_NAME, SUMS_NAME, damage
from extension.installing.proof_drawing import (
    PROOF_ANGLE,
    PROOF_DRAWING,
    expected_mouth,
    what_differs,
)
from tests.conftest import require
from tests.extension.installing.test_install import PretendEditor
from tests.help.depth import some_quick
from tests.help.editor.editor import (
    EditorStuckError,
    RealEditor,
    missing_tools,
    unpack_package,
)
from tests.help.installed import install

ODD_NAME = "Größe und Maß/ñandú"
EXTENSION = Path(__file__).parents[3] / "extension"
SAMPLE = EXTENSION.parent / "sample_svgs" / "front_one_path.svg"
WELL = "All is well."


@pytest.fixture
def installed(packed: Path, tmp_path: Path) -> Path:
    """A copy unpacked by hand, in a folder with an odd name."""
    unpack_package(tmp_path / ODD_NAME, packed)
    return tmp_path / ODD_NAME / "extensions" / "dartswing"


def doctor(
    installed: Path, *arguments: str, python: tuple[str, ...] = (sys.executable,), **variables: str
) -> subprocess.CompletedProcess[str]:
    """Run the check as the editor does."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    return subprocess.run(
        [*python, "dartswing.py", "--command=doctor", *arguments],
        cwd=installed / "extension",
        env={**kept, **variables},
        capture_output=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )


def complaints(answer: subprocess.CompletedProcess[str]) -> list[str]:
    assert "Traceback" not in answer.stderr
    assert answer.stdout == ""
    return [line for line in answer.stderr.splitlines() if line.startswith("! ")]


@pytest.mark.parametrize("locale", some_quick(["C.UTF-8", "C", "POSIX"], 1))
def test_a_whole_installation_is_well(installed: Path, locale: str) -> None:
    answer = doctor(installed, "--exit-status", LC_ALL=locale)
    assert (answer.returncode, complaints(answer)) == (0, [])
    lines = answer.stderr.splitlines()
    assert lines[-1] == WELL
    assert lines[0].endswith(f" in {installed}")
    for module in ("inkex", "lxml", "numpy"):
        version = sys.modules.get(module) or __import__(module)
        assert any(line.startswith(f"{module} {version.__version__} (") for line in lines)
    assert any(line.startswith(f"Python {sys.version.split()[0]} ") for line in lines)
    assert any("move: as expected" in line and "12.23°" in line for line in lines)


def hidden(folder: Path, module: str, lines: str) -> Path:
    """Return a folder that puts a broken module in the way of the real one."""
    folder.mkdir()
    (folder / f"{module}.py").write_text(lines, encoding="utf-8")
    return folder


@pytest.mark.parametrize("module", some_quick(["inkex", "lxml", "numpy"], 1))
@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("raise ModuleNotFoundError('No module named rest', name='rest')", "No module named rest"),
        ("raise RuntimeError('built for another Python')", "built for another Python"),
        ("import os, signal; os.kill(os.getpid(), signal.SIGKILL)", "it ends the Python"),
        ("raise SystemExit(0)", "SystemExit"),
    ],
)
def test_a_library_that_is_missing_or_broken_is_named(
    installed: Path, tmp_path: Path, module: str, lines: str, said: str
) -> None:
    in_the_way = hidden(tmp_path / "in the way", module, lines)
    answer = doctor(installed, "--exit-status", PYTHONPATH=str(in_the_way))
    assert answer.returncode == 1
    found = complaints(answer)
    (named,) = [line for line in found if line.startswith(f"! {module} cannot be used")]
    assert said in named
    assert named.endswith(".")
    assert "nstall" in named
    if module != "numpy":  # a move needs the others
        assert any(line.startswith("! Self-made move") for line in found)
    assert answer.stderr.splitlines()[-1].startswith(f"{len(found)} thing")


def test_a_bare_python_gets_an_answer(installed: Path, tmp_path: Path) -> None:
    venv.create(tmp_path / "bare", symlinks=True)
    answer = doctor(installed, python=(str(tmp_path / "bare" / "bin" / "python"),))
    assert answer.returncode == 0, "in the editor the status is no answer"
    found = complaints(answer)
    assert [line.split()[1] for line in found[:3]] == ["inkex", "lxml", "numpy"]
    assert all("No module named" in line for line in found)
    assert answer.stderr.splitlines()[-1].startswith("4 things need attention")


BREAKING: list[tuple[str, Callable[[Path], object]]] = [
    ("drafting_core/text/words.py", lambda file: file.write_text("raise OSError('unreadable')")),
    ("drafting_core/plane/curves.py", lambda file: file.write_text("x = (")),
    ("drafting_core/finished/draft.py", lambda file: file.unlink()),
    ("drafting_core", lambda folder: shutil.rmtree(folder)),
    ("extension/installing/doctor.py", lambda file: file.unlink()),
    ("extension/installing/doctor.py", lambda file: file.write_text("x = (")),
    ("extension/installing/installed_files.py", lambda file: file.unlink()),
    ("extension/installing/proof_drawing.py", lambda file: file.unlink()),
    ("extension/host/language.py", lambda file: file.unlink()),
    ("extension/commands/jobs.py", lambda file: file.unlink()),
    ("extension/drafting/move_and_allow.py", lambda file: file.write_text("raise KeyError('odd')")),
]


@pytest.mark.thorough
@pytest.mark.parametrize(("name", "break_it"), some_quick(BREAKING, 4))
def test_a_broken_installation_gets_an_answer_too(
    installed: Path, name: str, break_it: Callable[[Path], object]
) -> None:
    break_it(installed / name)
    answer = doctor(installed, "--exit-status")
    assert answer.returncode == 1
    found = complaints(answer)
    assert found
    assert "nstall Dartswing again" in answer.stderr
    assert WELL not in answer.stderr
    if "doctor.py" not in name and "installed_files" not in name:
        assert any(name in line for line in found), "the file at fault is named"


def test_files_are_compared_with_the_list(installed: Path) -> None:
    whole = damage(installed)
    names = {
        file.relative_to(installed).as_posix() for file in installed.rglob("*") if file.is_file()
    }
    assert (whole.missing, whole.changed, whole.foreign) == ([], [], [])
    assert whole.total == len(names)
    (installed / "LICENSE").unlink()
    curves = installed / "drafting_core" / "plane" / "curves.py"
    curves.write_bytes(curves.read_bytes() + b"\n")
    (installed / "extension" / "notes.txt").write_text("dear notes", encoding="utf-8")
    found = damage(installed)
    assert found.missing == ["LICENSE"]
    assert found.changed == ["drafting_core/plane/curves.py"]
    assert found.foreign == ["extension/notes.txt"]


def test_checksums_are_those_of_the_systems_own_tool(installed: Path) -> None:
    tool = shutil.which("sha256sum")
    require(*[] if tool else ["sha256sum"])
    check = [str(tool), "--check", "--strict", "--quiet", SUMS_NAME]
    assert subprocess.run(check, cwd=installed, check=False, timeout=60).returncode == 0
    (installed / "LICENSE").write_bytes(b"")
    answer = subprocess.run(check, cwd=installed, check=False, capture_output=True, timeout=60)
    assert answer.returncode == 1


def test_a_copy_from_before_there_were_checksums_is_read(installed: Path) -> None:
    list_file = installed / LIST_NAME
    lines = list_file.read_text(encoding="utf-8").splitlines()
    list_file.write_text("\n".join(line for line in lines if line != SUMS_NAME) + "\n")
    (installed / SUMS_NAME).unlink()
    (installed / "LICENSE").write_bytes(b"")
    found = damage(installed)
    assert (found.missing, found.changed, found.foreign) == ([], [], [])


def test_the_proof_is_compared_with_school_geometry(tmp_path: Path) -> None:
    # The dart is an isosceles triangle, 30 mm wide and 140 mm high.
    assert math.isclose(PROOF_ANGLE, math.degrees(2 * math.atan(15 / 140)))
    start, end = expected_mouth()
    apex = 95 + 260j
    assert math.isclose(abs(start - apex), abs(end - apex))
    # The law of sines in the triangle of apex and mouth.
    width = 2 * abs(start - apex) * math.sin(math.radians(PROOF_ANGLE) / 2)
    assert math.isclose(abs(end - start), width)
    drawing, moved = tmp_path / "proof.svg", tmp_path / "moved.svg"
    drawing.write_text(PROOF_DRAWING, encoding="utf-8")
    assert main(["move", str(drawing), "-o", str(moved)]) == 0
    text = moved.read_text(encoding="utf-8")
    assert what_differs(text) == ""


@pytest.mark.parametrize(
    ("was", "instead"),
    [
        ('cx="236.5" cy="273"', 'cx="236" cy="282"'),
        ("L 110,400", "L 110.1,400"),
        ('cx="95" cy="260"', 'cx="95" cy="259.8"'),
        ("L 230,390", "L 230,390.01"),
    ],
)
def test_a_move_of_something_else_is_not_as_expected(
    tmp_path: Path, was: str, instead: str
) -> None:
    assert PROOF_DRAWING.count(was) == 1
    drawing, moved = tmp_path / "proof.svg", tmp_path / "moved.svg"
    drawing.write_text(PROOF_DRAWING.replace(was, instead), encoding="utf-8")
    assert main(["move", str(drawing), "-o", str(moved)]) == 0
    assert what_differs(moved.read_text(encoding="utf-8")).endswith(".")


@pytest.mark.parametrize("text", ["", "<svg", PROOF_DRAWING])
def test_no_move_is_not_as_expected(text: str) -> None:
    assert "no finished piece" in what_differs(text)


@pytest.fixture
def pretend(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> PretendEditor:
    """The only editor on this machine."""
    pretend = PretendEditor(tmp_path / ODD_NAME / "editor", Path(sys.executable))
    monkeypatch.setenv("PATH", f"{Path(pretend.program).parent}:/usr/bin:/bin")
    monkeypatch.setattr(
        "extension.host.editors._on_the_search_path", lambda: [Path(pretend.program)]
    )
    monkeypatch.setattr("extension.host.editors._in_the_usual_places", lambda: [])
    monkeypatch.setattr("extension.host.editors._from_flatpak", lambda: [])
    return pretend


@pytest.mark.thorough
def test_the_command_line_looks_into_every_editor(
    pretend: PretendEditor, capsys: pytest.CaptureFixture[str]
) -> None:
    target = pretend.user_data / "extensions" / "dartswing"
    assert main(["doctor"]) == 1
    said = capsys.readouterr().out
    assert f"! Dartswing is not installed in {target}: run `dartswing install`." in said
    assert said.splitlines()[-1].startswith("1 thing needs attention")
    install(editor=pretend.program)
    assert main(["doctor"]) == 0
    said = capsys.readouterr().out
    assert f"In Inkscape 1.2.2 (pretended) ({pretend.program})" in said
    assert f" in {target}" in said
    assert said.count("move: as expected") == 2
    assert said.splitlines()[-1] == WELL
    (target / "LICENSE").unlink()
    assert main(["doctor"]) == 1
    assert "! Files missing: LICENSE" in capsys.readouterr().out


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("version", "said", "status"), [("0.0.1", "is older than", 1), ("99.0", "newer than", 0)]
)
def test_older_and_newer_copies_are_told_apart(
    pretend: PretendEditor,
    capsys: pytest.CaptureFixture[str],
    version: str,
    said: str,
    status: int,
) -> None:
    install(editor=pretend.program)
    target = pretend.user_data / "extensions" / "dartswing"
    text = (target / LIST_NAME).read_text(encoding="utf-8")
    (target / LIST_NAME).write_text(f"Dartswing {version}\n" + text.split("\n", 1)[1])
    (target / SUMS_NAME).write_text("", encoding="utf-8")
    assert main(["doctor"]) == status
    assert f"Dartswing {version} in {target}" in (out := capsys.readouterr().out)
    assert said in out


def test_without_its_libraries_the_command_line_still_answers(
    installed: Path, tmp_path: Path
) -> None:
    in_the_way = hidden(tmp_path / "in the way", "lxml", "raise ImportError('no lxml')")
    answer = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys; from extension.commands.start import main; sys.exit(main())",
        ],
        cwd=installed,
        env={**os.environ, "PYTHONPATH": f"{in_the_way}:{installed}"},
        capture_output=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )
    assert answer.returncode == 1
    assert any(line.startswith("! lxml cannot be used") for line in complaints(answer))


def test_the_menu_entry_is_valid_and_needs_no_drawing() -> None:
    inx = etree.parse(str(EXTENSION / "dartswing_doctor.inx")).getroot()
    space = "{http://www.inkscape.org/namespace/inkscape/extension}"
    effect = inx.find(f"{space}effect")
    assert (effect.get("needs-document"), effect.get("needs-live-preview")) == ("false", "false")
    assert inx.get("translationdomain") == "dartswing"
    script = inx.findtext(f"{space}script/{space}command")
    assert (EXTENSION / script).is_file()
    schema = Path(inkex.tester.__file__).parent / "inkscape.extension.rng"
    if not schema.is_file():
        pytest.skip("this release of the editor's library comes without the schema")
    relaxng = etree.RelaxNG(etree.parse(str(schema)))
    assert relaxng.validate(inx), relaxng.error_log


@pytest.mark.thorough
def test_in_the_editor_it_shows_a_window_and_changes_nothing(
    editor: RealEditor, tmp_path: Path
) -> None:
    # With nobody to close its window the editor waits.
    with pytest.raises(EditorStuckError):
        editor.run_action(SAMPLE, "dartswing.doctor", tmp_path / "never.svg")
    alone, after = tmp_path / "alone.svg", tmp_path / "after.svg"
    assert editor.run_action(SAMPLE, "select-clear", alone).status == 0
    assert editor.run_action(SAMPLE, "dartswing.doctor", after, dismiss=True).status == 0
    assert drawn(after) == drawn(alone) != []


def drawn(drawing: Path) -> list[tuple[str, dict[str, str]]]:
    """Return all elements with their attributes, but for how the window stood."""
    return [
        (str(thing.tag), dict(thing.attrib))
        for thing in etree.parse(str(drawing)).getroot().iterdescendants()
        if not str(thing.tag).endswith("}namedview")
    ]


@pytest.mark.thorough
def test_in_the_editor_it_adds_no_step_to_undo(editor: RealEditor, tmp_path: Path) -> None:
    # An undo after it takes back what was done before it.
    taken_back, taken = tmp_path / "taken back.svg", tmp_path / "taken.svg"
    delete = "select-by-id:apex;delete-selection"
    for action, out in (
        (f"{delete};dartswing.doctor.noprefs;undo", taken_back),
        (f"{delete};dartswing.doctor.noprefs", taken),
    ):
        assert editor.run_action(SAMPLE, action, out, dismiss=True).status == 0
    assert 'id="apex"' not in taken.read_text(encoding="utf-8")
    assert 'id="apex"' in taken_back.read_text(encoding="utf-8")


@pytest.mark.thorough
def test_what_the_editors_run_is_the_package(editor: RealEditor, tmp_path: Path) -> None:
    with zipfile.ZipFile(package(tmp_path / "dartswing.zip")) as pack:
        for name in pack.namelist():
            file = editor.profile / "extensions" / name
            assert file.read_bytes() == pack.read(name), name


@pytest.mark.programs
@pytest.mark.thorough
def test_it_is_well_with_the_real_editors_python(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    require(*[tool for tool in missing_tools() if tool == "inkscape"])
    for locale in ("C", "C.UTF-8"):
        profile = tmp_path / ODD_NAME / locale
        monkeypatch.setenv("INKSCAPE_PROFILE_DIR", str(profile))
        monkeypatch.setenv("LC_ALL", locale)
        assert main(["install"]) == 0
        assert main(["doctor"]) == 0
        said = capsys.readouterr().out
        assert said.splitlines()[-1] == WELL
        assert str(profile / "extensions" / "dartswing") in said
        assert main(["uninstall"]) == 0
        assert list((profile / "extensions").iterdir()) == []
