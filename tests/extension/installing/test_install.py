"""Installing into any folder, taking out, packing; and what is said when it cannot be done."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import inkex
import pytest

from drafting_core.text.errors import SettingError
from extension.host.editor_python import environment, interpreter
from extension.host.editors import find_editor
from extension.installing.install import package
from extension.installing.installed_files import LIST_NAME
from tests.conftest import require
from tests.help.editor.editor import missing_tools
from tests.help.installed import install, uninstall

ODD_NAME = "Kostüm Werkstatt (Übung) – 衣"


class PretendEditor:
    """A program that answers an editor's questions; its Python is whatever a test says."""

    def __init__(self, home: Path, python: Path, version: str = "1.2.2") -> None:
        self.user_data = home / "user data"
        system_data = home / "system data"
        self.user_data.mkdir(parents=True)
        # As the editor does, inkex is found in a folder of the editor's own.
        (system_data / "extensions").mkdir(parents=True)
        (system_data / "extensions" / "inkex").symlink_to(Path(inkex.__file__).parent)
        (self.user_data / "preferences.xml").write_text(
            f'<inkscape><group id="extensions" python-interpreter="{python}"/></inkscape>',
            encoding="utf-8",
        )
        program = home / "inkscape"
        program.write_text(
            "#!/bin/sh\ncase $1 in\n"
            f"--version) echo 'Inkscape {version} (pretended)';;\n"
            f"--user-data-directory) echo '{self.user_data}';;\n"
            f"--system-data-directory) echo '{system_data}';;\nesac\n",
            encoding="utf-8",
        )
        program.chmod(0o755)
        self.program = str(program)


@pytest.fixture
def pretend(tmp_path: Path) -> PretendEditor:
    return PretendEditor(tmp_path / ODD_NAME, Path(sys.executable))


def script(path: Path, lines: str) -> Path:
    path.write_text(f"#!/bin/sh\n{lines}\n", encoding="utf-8")
    path.chmod(0o755)
    return path


def tree(folder: Path) -> dict[str, bytes]:
    return {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in folder.rglob("*")
        if file.is_file() and file.suffix != ".pyc"
    }


def test_the_editor_is_asked_for_its_folder(pretend: PretendEditor) -> None:
    assert find_editor(pretend.program).user_extensions == pretend.user_data / "extensions"


def test_install_repeat_and_uninstall_leave_nothing(pretend: PretendEditor) -> None:
    said = install(editor=pretend.program)
    folder = pretend.user_data / "extensions"
    assert str(folder / "dartswing") in said
    assert sys.executable in said
    first = tree(folder)
    assert {"dartswing/extension/dartswing_move.inx", "dartswing/LICENSE"} <= set(first)
    install(editor=pretend.program)
    assert tree(folder) == first
    assert [item.name for item in folder.iterdir()] == ["dartswing"]
    uninstall(editor=pretend.program)
    assert list(folder.iterdir()) == []
    assert "nothing to do" in uninstall(editor=pretend.program)


@pytest.mark.thorough
def test_a_given_folder_wins_over_the_editors(pretend: PretendEditor, tmp_path: Path) -> None:
    given = tmp_path / "elsewhere" / ODD_NAME
    install(given, pretend.program)
    assert (given / "dartswing" / "extension" / "dartswing.py").is_file()
    assert not (pretend.user_data / "extensions").exists()
    uninstall(given)
    assert list(given.iterdir()) == []


@pytest.mark.thorough
def test_an_older_version_goes_as_a_whole(pretend: PretendEditor) -> None:
    older = pretend.user_data / "extensions" / "dartswing"
    (older / "extension").mkdir(parents=True)
    (older / "extension" / "given_up.py").write_text("", encoding="utf-8")
    (older / LIST_NAME).write_text(
        f"Dartswing 0.0.1\nFiles.\n{LIST_NAME}\nextension/given_up.py\n", encoding="utf-8"
    )
    install(editor=pretend.program)
    assert not (older / "extension" / "given_up.py").exists()
    assert (older / "extension" / "dartswing.py").is_file()


@pytest.mark.thorough
@pytest.mark.parametrize("what", ["a folder", "a file", "a link", "our folder with a stranger"])
def test_what_is_not_ours_is_left_alone(pretend: PretendEditor, what: str) -> None:
    extensions = pretend.user_data / "extensions"
    target = extensions / "dartswing"
    elsewhere = pretend.user_data / "elsewhere"
    extensions.mkdir()
    if what == "our folder with a stranger":
        install(editor=pretend.program)
        (target / "extension" / "my_notes.txt").write_text("dear notes", encoding="utf-8")
    elif what == "a file":
        target.write_text("dear notes", encoding="utf-8")
    elif what == "a link":
        elsewhere.mkdir()
        (elsewhere / LIST_NAME).write_text("Dartswing 0.0.1\n", encoding="utf-8")
        target.symlink_to(elsewhere)
    else:
        target.mkdir()
        (target / "notes.txt").write_text("dear notes", encoding="utf-8")
    before = tree(pretend.user_data)
    for refused in (install, uninstall):
        with pytest.raises(SettingError) as caught:
            refused(editor=pretend.program)
        assert str(target) in str(caught.value)
        assert caught.value.remedy
    assert tree(pretend.user_data) == before
    assert target.is_symlink() == (what == "a link")


def test_a_python_without_numpy_is_told_in_one_sentence(tmp_path: Path) -> None:
    # The probe's answer stands for a Python that has all but numpy.
    bare = script(tmp_path / "python3", "printf '3.11 numpy'")
    pretend = PretendEditor(tmp_path / "home", bare)
    with pytest.raises(SettingError) as caught:
        install(editor=pretend.program)
    message = str(caught.value)
    assert "lacks numpy" in message
    assert f"{bare} -m pip install numpy" in message
    assert message.count(". ") == 0


def test_a_real_python_without_modules_is_recognised(tmp_path: Path) -> None:
    # -I -S: neither the environment's modules nor the editor's folder.
    bare = script(tmp_path / "python3", f'exec "{sys.executable}" -I -S "$@"')
    pretend = PretendEditor(tmp_path / "home", bare)
    with pytest.raises(SettingError, match="lacks lxml"):
        install(editor=pretend.program)


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("printf '3.9 '", "is 3.9, but 3.10 or later is needed"),
        ("printf '2.7 '", "is 2.7, but 3.10 or later is needed"),
        ("printf '3.11 inkex'", "lacks inkex"),
        ("echo broken >&2; exit 3", "does not run: broken"),
    ],
)
def test_an_unfit_python_is_told(tmp_path: Path, lines: str, said: str) -> None:
    unfit = script(tmp_path / "python3", lines)
    pretend = PretendEditor(tmp_path / "home", unfit)
    with pytest.raises(SettingError, match=said) as caught:
        install(editor=pretend.program)
    assert str(unfit) in str(caught.value)


def test_a_copy_that_does_not_run_is_told(tmp_path: Path) -> None:
    # Passes the probe, then fails on the script as a broken installation would.
    broken = script(
        tmp_path / "python3", '[ "$1" = -c ] && printf "3.11 " || { echo "no such module" >&2; }'
    )
    pretend = PretendEditor(tmp_path / "home", broken)
    with pytest.raises(SettingError, match=r"does not run there .* no such module"):
        install(editor=pretend.program)


def test_an_old_editor_is_told(tmp_path: Path) -> None:
    pretend = PretendEditor(tmp_path / "home", Path(sys.executable), version="1.0.1")
    with pytest.raises(SettingError, match="too old"):
        install(editor=pretend.program)


def test_no_editor_points_to_the_folder_option(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setenv("PROGRAMFILES", str(tmp_path))
    with pytest.raises(SettingError, match="--folder"):
        install()
    with pytest.raises(SettingError, match="--folder"):
        uninstall(editor="no-such-editor")


@pytest.mark.thorough
def test_without_an_editor_this_python_proves_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    said = install(tmp_path / "by hand")
    assert "this Python" in said
    assert (tmp_path / "by hand" / "dartswing" / "LICENSE").is_file()


def test_a_folder_that_cannot_be_is_told(pretend: PretendEditor, tmp_path: Path) -> None:
    in_the_way = tmp_path / "a file"
    in_the_way.write_text("dear notes", encoding="utf-8")
    with pytest.raises(SettingError, match="cannot be changed"):
        install(in_the_way / "extensions", pretend.program)
    with pytest.raises(SettingError, match="cannot be written"):
        package(in_the_way / "dartswing.zip")
    assert in_the_way.read_text(encoding="utf-8") == "dear notes"


NATIVE = (b"\x7fELF", b"MZ", b"\xcf\xfa\xed\xfe", b"\xce\xfa\xed\xfe", b"\xca\xfe\xba\xbe")
DATA = (".mo", ".png")


def test_the_package_is_small_plain_and_reproducible(tmp_path: Path) -> None:
    first = package(tmp_path / "one.zip")
    again = package(tmp_path / "two.zip")
    assert first.read_bytes() == again.read_bytes()
    assert first.stat().st_size < 1_200_000
    assert sorted(item.name for item in tmp_path.iterdir()) == ["one.zip", "two.zip"]
    with zipfile.ZipFile(first) as pack:
        names = pack.namelist()
        for name in names:
            content = pack.read(name)
            assert name.startswith("dartswing/")
            assert not name.endswith((".so", ".pyd", ".dll", ".dylib", ".exe", ".pyc", ".po"))
            assert not content.startswith(NATIVE), f"{name} is native code"
            if not name.endswith(DATA):
                assert b"\0" not in content, f"{name} is no text"
                content.decode("utf-8")
        listed = pack.read(f"dartswing/{LIST_NAME}").decode("utf-8").splitlines()[2:]
    assert sorted(f"dartswing/{name}" for name in listed) == sorted(names)
    for needed in ("LICENSE", "drafting_core/plane/curves.py", "extension/dartswing_move.inx"):
        assert f"dartswing/{needed}" in names
    assert not [name for name in names if "pycache" in name or "tests" in name]


def test_pictures_and_catalogues_are_packed_and_their_sources_are_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    catalogue = tmp_path / "extension" / "locale" / "de" / "LC_MESSAGES"
    catalogue.mkdir(parents=True)
    for name in ("dartswing.mo", "dartswing.po", "native.so"):
        (catalogue / name).write_bytes(b"\xde\x12\x04\x95")
    (tmp_path / "extension" / "dart.png").write_bytes(b"\x89PNG")
    (tmp_path / "LICENSE").write_text("a licence", encoding="utf-8")
    monkeypatch.setattr("extension.installing.installed_files.home", lambda: tmp_path)
    with zipfile.ZipFile(package(tmp_path / "dartswing.zip")) as pack:
        packed = {name for name in pack.namelist() if "/extension/" in name}
    assert packed == {
        "dartswing/extension/dart.png",
        "dartswing/extension/locale/de/LC_MESSAGES/dartswing.mo",
    }


@pytest.mark.thorough
def test_an_unpacked_package_is_an_installation(pretend: PretendEditor, tmp_path: Path) -> None:
    with zipfile.ZipFile(package(tmp_path / "dartswing.zip")) as pack:
        pack.extractall(pretend.user_data / "extensions")
    unpacked = tree(pretend.user_data)
    install(editor=pretend.program)
    assert tree(pretend.user_data) == unpacked


@pytest.mark.thorough
def test_the_installed_copy_needs_nothing_else(pretend: PretendEditor) -> None:
    """It packs itself: its modules, licence and version all come from the installed folder."""
    install(editor=pretend.program)
    installed = pretend.user_data / "extensions" / "dartswing"
    repacked = pretend.user_data / "again.zip"
    code = (
        f"import sys, pathlib; sys.path.insert(0, {str(installed)!r})\n"
        "from extension.installing import install\n"
        f"assert install.__file__.startswith({str(installed)!r})\n"
        f"install.package(pathlib.Path({str(repacked)!r}))"
    )
    subprocess.run(
        [sys.executable, "-P" if sys.version_info >= (3, 11) else "-s", "-c", code],
        check=True,
        timeout=60,
    )
    assert repacked.read_bytes() == package(pretend.user_data / "ours.zip").read_bytes()


@pytest.mark.programs
@pytest.mark.thorough
def test_the_proof_runs_under_the_real_editors_python(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    require(*[tool for tool in missing_tools() if tool == "inkscape"])
    monkeypatch.setenv("INKSCAPE_PROFILE_DIR", str(tmp_path / ODD_NAME))
    said = install()
    editor = find_editor()
    python = interpreter(editor)
    assert f"with the editor's Python ({python})" in said
    assert (tmp_path / ODD_NAME / "extensions" / "dartswing").is_dir()
    # The editor's own inkex, not the one that these tests run with.
    found = subprocess.run(
        [str(python), "-c", "import inkex; print(inkex.__file__)"],
        env=environment(editor),
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    ).stdout.strip()
    assert Path(found).resolve() != Path(inkex.__file__).resolve()
