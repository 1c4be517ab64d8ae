"""Finding every editor, on systems that are only pretended here, and installing into each."""

from __future__ import annotations

import shutil
import sys
import types
from collections.abc import Callable
from pathlib import Path

import inkex
import pytest

from drafting_core.text.errors import SettingError
from extension.commands.command_line import main
from extension.host import editors
from extension.host.editor_python import python_of
from extension.host.editors import ask, find_editors, programs
from extension.installing.install import install_each
from extension.installing.installed_files import LIST_NAME
from extension.installing.remembered import forget
from tests.help.installed import install, uninstall

ODD_NAME = "Größe und Maß/ñandú"
MakeEditor = Callable[..., Path]


def script(path: Path, lines: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"#!/bin/sh\n{lines}\n", encoding="utf-8")
    path.chmod(0o755)
    return path


def answers(profile: Path, system: Path, version: str = "1.2.2") -> str:
    """Return the lines with which a shell script answers as an editor does."""
    return (
        'for question in "$@"; do :; done\ncase $question in\n'
        f"--version) echo 'Inkscape {version} (pretended)';;\n"
        f"--user-data-directory) echo '{profile}';;\n"
        f"--system-data-directory) echo '{system}';;\nesac"
    )


@pytest.fixture
def home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """An otherwise empty home, search path and system folder, all with an odd name."""
    home = tmp_path / ODD_NAME
    (home / "bin").mkdir(parents=True)
    # What the pretended programs need from the system.
    for tool in ("sh", "sleep"):
        (home / "bin" / tool).symlink_to(str(shutil.which(tool)))
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setenv("PATH", str(home / "bin"))
    monkeypatch.setattr(editors, "_EVERYONES", str(home / "opt"))
    monkeypatch.setattr(editors, "_SNAP", home / "snap" / "bin" / "inkscape")
    return home


@pytest.fixture
def make(home: Path) -> MakeEditor:
    """Makes a pretended editor with a Python that has all that is needed."""
    system = home / "system data"
    (system / "extensions").mkdir(parents=True)
    (system / "extensions" / "inkex").symlink_to(Path(inkex.__file__).parent)

    def make(
        program: Path, profile: Path, version: str = "1.2.2", python: str = sys.executable
    ) -> Path:
        profile.mkdir(parents=True, exist_ok=True)
        (profile / "preferences.xml").write_text(
            f'<inkscape><group id="extensions" python-interpreter="{python}"/></inkscape>',
            encoding="utf-8",
        )
        return script(program, answers(profile, system, version))

    return make


def test_every_kind_of_editor_on_linux_is_found(make: MakeEditor, home: Path) -> None:
    places = {
        "path": home / "bin" / "inkscape",
        "own": home / "Applications" / "Inkscape-1.4.AppImage",
        "loaded": home / "Downloads" / "my inkscape (1).AppImage",
        "everyones": home / "opt" / "inkscape.appimage",
        "snap": home / "usr" / "snap",
    }
    for name, place in places.items():
        make(place, home / "profiles" / name)
    # A snap's command is a link to the program that starts all snaps.
    (home / "snap" / "bin").mkdir(parents=True)
    (home / "snap" / "bin" / "inkscape").symlink_to(places["snap"])
    no_program = home / "Downloads" / "Inkscape-not-executable.AppImage"
    no_program.write_text("", encoding="utf-8")
    found, failed = find_editors()
    assert failed == []
    assert {editor.user_data for editor in found} == {home / "profiles" / name for name in places}
    sealed = {editor.user_data.name for editor in found if editor.program.is_sealed}
    assert sealed == {"own", "loaded", "everyones", "snap"}


def test_a_program_that_several_names_lead_to_is_found_once(
    make: MakeEditor, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make(home / "bin" / "inkscape", home / "profile")
    (home / "second").mkdir()
    (home / "second" / "inkscape").symlink_to(home / "bin" / "inkscape")
    monkeypatch.setenv("PATH", f"{home / 'bin'}:{home / 'second'}:{home / 'bin'}")
    assert [program.name for program in programs()] == [str(home / "bin" / "inkscape")]


def flatpak(home: Path, make: MakeEditor) -> Path:
    """Pretend Flatpak: `info` knows the editor, `run` starts what --command says."""
    profile = home / ".var" / "app" / "config" / "inkscape"
    inside = make(home / "inside flatpak" / "inkscape", profile)
    return script(
        home / "bin" / "flatpak",
        f"""[ "$1" = info ] && {{ [ "$2" = org.inkscape.Inkscape ]; exit; }}
[ "$1" = run ] || exit 9
shift
unset PYTHONPATH
while :; do case $1 in
--command=inkscape) program='{inside}'; shift;;
--command=python3) program='{sys.executable}'; shift;;
--env=*) export "${{1#--env=}}"; shift;;
org.inkscape.Inkscape) shift; exec "$program" "$@";;
*) exit 8;; esac; done""",
    )


@pytest.mark.thorough
def test_flatpak_is_asked_and_proved_through_flatpak(make: MakeEditor, home: Path) -> None:
    flatpak(home, make)
    said = install()
    target = home / ".var" / "app" / "config" / "inkscape" / "extensions" / "dartswing"
    assert (target / LIST_NAME).is_file()
    assert str(target) in said
    assert "--command=python3 org.inkscape.Inkscape" in said
    assert "moved a dart" in said
    (editor,), _failed = find_editors()
    python = python_of(editor)
    assert python is not None
    assert f"--env=PYTHONPATH={target.parent}:" in " ".join(python.command)
    uninstall()
    assert list(target.parent.iterdir()) == []


def test_flatpak_without_the_editor_is_no_editor(home: Path) -> None:
    script(home / "bin" / "flatpak", "exit 1")
    with pytest.raises(SettingError, match="not found"):
        find_editors()


def test_a_flatpak_that_hangs_does_not_hold_up_the_others(
    make: MakeEditor, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    script(home / "bin" / "flatpak", "exec sleep 60")
    make(home / "bin" / "inkscape", home / "profile")
    monkeypatch.setattr(editors, "_FLATPAK_TIMEOUT_S", 0.2)
    found, failed = find_editors()
    assert [editor.user_data for editor in found] == [home / "profile"]
    assert failed == []


@pytest.mark.thorough
def test_install_goes_into_every_folder_and_says_so_for_each(make: MakeEditor, home: Path) -> None:
    make(home / "bin" / "inkscape", home / "one")
    make(home / "Applications" / "Inkscape-1.4.AppImage", home / "two")
    flatpak(home, make)
    said = list(install_each())
    folders = [home / "one", home / "two", home / ".var" / "app" / "config" / "inkscape"]
    assert len(said) == 3
    for folder, line in zip(folders, said, strict=True):
        assert (folder / "extensions" / "dartswing" / LIST_NAME).is_file()
        assert str(folder / "extensions" / "dartswing") in line
    assert "moved a dart" in said[0]
    assert "moved a dart" in said[2]
    assert "cannot be reached from outside" in said[1]
    assert "moved a dart" not in said[1]
    assert all("already, file by file" in line for line in install_each())
    uninstall()
    assert not [left for folder in folders for left in (folder / "extensions").iterdir()]


@pytest.mark.thorough
def test_editors_with_one_folder_are_named_together(make: MakeEditor, home: Path) -> None:
    make(home / "bin" / "inkscape", home / "shared")
    appimage = make(home / "Applications" / "Inkscape.AppImage", home / "shared")
    (said,) = install_each()
    assert said.startswith(f"{home / 'bin' / 'inkscape'} and {appimage}: Dartswing ")
    assert said.count("is installed in") == 1
    assert f"with the Python of {home / 'bin' / 'inkscape'}" in said
    assert f"inside {appimage} cannot be reached" in said


@pytest.mark.thorough
def test_one_editor_that_fails_stops_none_of_the_others(
    make: MakeEditor, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old = make(home / "Applications" / "Inkscape-1.0.AppImage", home / "old", "1.0.1")
    mute = script(home / "Applications" / "Inkscape-mute.AppImage", "echo no FUSE >&2; exit 3")
    make(home / "bin" / "inkscape", home / "good")
    assert main(["install"]) == 1
    said = capsys.readouterr()
    assert (home / "good" / "extensions" / "dartswing" / LIST_NAME).is_file()
    assert str(home / "good") in said.out
    assert f"{old} is too old" in said.err
    assert f"{mute} does not answer --version: no FUSE" in said.err
    assert "Traceback" not in said.err
    # One of them alone is no fault of the others.
    assert main(["install", "--editor", str(home / "bin" / "inkscape")]) == 0


@pytest.mark.thorough
def test_an_update_says_from_which_version(make: MakeEditor, home: Path) -> None:
    make(home / "bin" / "inkscape", home / "profile")
    install()
    list_file = home / "profile" / "extensions" / "dartswing" / LIST_NAME
    text = list_file.read_text(encoding="utf-8")
    list_file.write_text("Dartswing 0.0.1\n" + text.split("\n", 1)[1], encoding="utf-8")
    assert "in place of version 0.0.1" in install()
    list_file.with_name("LICENSE").write_text("Something else", encoding="utf-8")
    assert "in place of other files of the same version" in install()
    assert "already, file by file" in install()


@pytest.mark.thorough
def test_uninstall_takes_what_the_dialogs_remembered_too(make: MakeEditor, home: Path) -> None:
    make(home / "bin" / "inkscape", home / "profile")
    install()
    preferences = home / "profile" / "preferences.xml"
    group = '<group id="extensions" python-interpreter="PY" org.tool.x="dartswing.move.a=&quot;"'
    before = f"<inkscape>\n {group}/>\n <group\n id='other'/> ü\n</inkscape>\n"
    before = before.replace("PY", sys.executable)
    preferences.write_text(
        before.replace("/>\n <g", '\n   dartswing.move.to="waist &gt; a"\n dartswing.x="1"/>\n <g'),
        encoding="utf-8",
    )
    preferences.chmod(0o600)
    said = uninstall()
    assert "remembered" in said
    assert preferences.stat().st_mode & 0o777 == 0o600
    assert preferences.read_text(encoding="utf-8") == before
    assert "remembered" not in uninstall()
    assert sorted(item.name for item in preferences.parent.iterdir()) == [
        "extensions",
        "preferences.xml",
    ]


def test_uninstall_names_the_keys_that_the_user_gave(make: MakeEditor, home: Path) -> None:
    make(home / "bin" / "inkscape", home / "profile")
    keys = home / "profile" / "keys" / "default.xml"
    keys.parent.mkdir()
    keys.write_text('<keys><bind gaction="app.dartswing.move" keys="F9"/></keys>')
    assert "Keyboard" in uninstall()
    assert "dartswing.move" in keys.read_text()


@pytest.mark.parametrize("text", ["", "<inkscape><group dartswing.x='1'", "no xml", None])
def test_preferences_that_cannot_be_read_are_left(tmp_path: Path, text: str | None) -> None:
    preferences = tmp_path / "preferences.xml"
    if text is not None:
        preferences.write_text(text, encoding="utf-8")
    assert not forget(preferences)
    assert [file.read_text() for file in tmp_path.iterdir()] == ([] if text is None else [text])


def windows(monkeypatch: pytest.MonkeyPatch, registered: dict[int, str]) -> None:
    """Pretend Windows: its registry knows these programs, by the number of the hive."""

    def query(hive: int, key: str) -> str:
        assert key.endswith(r"App Paths\inkscape.exe")
        if hive not in registered:
            raise FileNotFoundError(key)
        return registered[hive]

    registry = types.SimpleNamespace(HKEY_CURRENT_USER=1, HKEY_LOCAL_MACHINE=2, QueryValue=query)
    monkeypatch.setitem(sys.modules, "winreg", registry)
    monkeypatch.setattr(sys, "platform", "win32")


def test_editors_on_windows_are_found(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    elsewhere = home / "Spiele und Maß" / "Inkscape" / "bin"
    usual = home / "Programs" / "Inkscape" / "bin"
    small = home / "Programs (x86)" / "Inkscape 1.2" / "bin"
    store = home / "AppData" / "WindowsApps"
    for place, names in (
        (elsewhere, ("inkscape.exe", "inkscape.com")),
        (usual, ("inkscape.exe", "inkscape.com")),
        (small, ("inkscape.com",)),
        (store, ("inkscape.exe",)),
    ):
        for name in names:
            script(place / name, "exit 1")
    monkeypatch.setenv("PROGRAMFILES", str(home / "Programs"))
    monkeypatch.setenv("PROGRAMFILES(X86)", str(home / "Programs (x86)"))
    monkeypatch.setenv("PATH", str(store))
    windows(monkeypatch, {2: f'"{elsewhere / "inkscape.exe"}"'})
    found = programs()
    # The .com answers on the console.
    assert {program.name for program in found} == {
        str(store / "inkscape.exe"),
        str(elsewhere / "inkscape.com"),
        str(usual / "inkscape.com"),
        str(small / "inkscape.com"),
    }
    assert [p.name for p in found if p.is_sealed] == [str(store / "inkscape.exe")]


def test_editors_on_a_mac_are_found(
    make: MakeEditor, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    contents = home / "Applications" / "Inkscape.app" / "Contents"
    program = make(contents / "MacOS" / "inkscape", home / "Library" / "inkscape")
    (home / "Library" / "inkscape" / "preferences.xml").unlink()
    own_python = contents / "Resources" / "bin" / "python3"
    script(own_python, "exit 1")
    monkeypatch.setattr(sys, "platform", "darwin")
    (found,) = [item for item in programs() if item.name == str(program)]
    editor = ask(found)
    assert editor.user_extensions == home / "Library" / "inkscape" / "extensions"
    python = python_of(editor)
    assert python is not None
    assert python.command == (str(own_python),)
