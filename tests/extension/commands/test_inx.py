"""The dialogs: valid, and the same options as the scripts behind them."""

from __future__ import annotations

import argparse
import re
from pathlib import Path
from typing import Any

import inkex
import inkex.tester
import pytest
from lxml import etree
from PIL import Image

from drafting_core.text.lengths import parse_length
from extension.commands.command_line import main
from extension.commands.command_table import COMMANDS as TABLE
from extension.commands.command_table import Command
from extension.commands.editor_effect import DartswingEffect
from extension.document.namespaces import ours
from extension.options.options import FINISHING, Option
from extension.options.settings_text import is_default
from tests.help.editor.effects import run_effect
from tests.help.pictures.picture_canvas import HEIGHT, WIDTH

EXTENSION = Path(__file__).parents[3] / "extension"
FRONT = EXTENSION.parent / "sample_svgs" / "front_one_path.svg"
INX = "{http://www.inkscape.org/namespace/inkscape/extension}"
SCHEMAS = [
    Path(inkex.tester.__file__).parent / "inkscape.extension.rng",
    Path("/usr/share/inkscape/extensions/inkscape.extension.rng"),
]
COMMANDS = [command.name for command in TABLE if isinstance(command, Command)]
TYPES = {"string": str, "path": str, "float": float, "int": int}


def file_of(command: str) -> str:
    return command.replace("-", "_")


def inx(command: str) -> Any:
    return etree.parse(str(EXTENSION / f"dartswing_{file_of(command)}.inx")).getroot()


def params(command: str) -> dict[str, Any]:
    return {param.get("name"): param for param in inx(command).iter(f"{INX}param")}


def arguments(command: str) -> dict[str, argparse.Action]:
    parser: argparse.ArgumentParser = DartswingEffect(command).arg_parser
    inherited = {action.dest for action in inkex.EffectExtension().arg_parser._actions}
    return {action.dest: action for action in parser._actions if action.dest not in inherited}


def default(param: Any) -> str:
    if param.get("type") == "optiongroup":
        return str(param[0].get("value"))
    if param.get("type") == "notebook":
        return str(param[0].get("name"))
    return param.text or ""


@pytest.mark.parametrize("command", COMMANDS)
def test_the_dialog_is_valid_by_the_editors_schema(command: str) -> None:
    schemas = [schema for schema in SCHEMAS if schema.is_file()]
    assert schemas
    for schema in schemas:
        dialog = inx(command)
        assert dialog.get("translationdomain") == "dartswing"
        if "translationdomain" not in schema.read_text(encoding="utf-8"):
            # Editor 1.2 reads the attribute, but its schema does not know it yet.
            del dialog.attrib["translationdomain"]
        relaxng = etree.RelaxNG(etree.parse(str(schema)))
        assert relaxng.validate(dialog), relaxng.error_log


@pytest.mark.parametrize("command", COMMANDS)
def test_the_dialog_belongs_to_its_script_and_menu(command: str) -> None:
    root = inx(command)
    assert root.findtext(f"{INX}id") == f"dartswing.{command}"
    script = root.find(f"{INX}script/{INX}command")
    assert (script.text, script.get("location")) == ("dartswing.py", "inx")
    assert (EXTENSION / script.text).is_file()
    effect = root.find(f"{INX}effect")
    assert effect.get("needs-live-preview") == "true"
    assert effect.findtext(f"{INX}object-type") == "all"
    assert [menu.get("name") for menu in effect.iter(f"{INX}submenu")] == ["Dartswing"]


@pytest.mark.parametrize("command", [*COMMANDS, "doctor"])
def test_the_dialog_says_its_command_to_the_one_script(command: str) -> None:
    hidden = params(command)["command"]
    assert (hidden.text, hidden.get("type"), hidden.get("gui-hidden")) == (
        command,
        "string",
        "true",
    )


def test_every_dialog_belongs_to_a_command_of_the_table() -> None:
    files = sorted(EXTENSION.glob("*.inx"))
    expected = [f"dartswing_{file_of(command)}.inx" for command in (*COMMANDS, "doctor")]
    assert [file.name for file in files] == sorted(expected)


@pytest.mark.parametrize("command", COMMANDS)
def test_the_dialog_offers_exactly_the_scripts_options(command: str) -> None:
    assert set(params(command)) == set(arguments(command))


@pytest.mark.parametrize("command", COMMANDS)
def test_types_choices_and_defaults_are_the_scripts(command: str) -> None:
    scripts = arguments(command)
    for name, param in params(command).items():
        action, kind = scripts[name], param.get("type")
        read = action.type if callable(action.type) else str
        if kind in TYPES:
            # A string may be read by a function of ours; a number is read as that number.
            assert read is TYPES[kind] or kind in ("string", "path"), name
        if kind == "optiongroup":
            choices = [option.get("value") for option in param]
            assert sorted(choices) == sorted(action.choices or ()), name
        if kind != "notebook":
            assert same_setting(read(default(param)), action.default), name


def same_setting(dialogs: object, scripts: object) -> bool:
    """Tell whether two defaults are one setting: a length may be spelled in another unit."""
    if dialogs == ("" if scripts is None else scripts):
        return True
    one, other = (str(text).split(",") for text in (dialogs, scripts))
    return list(map(read_length, one)) == list(map(read_length, other))


def read_length(text: str) -> tuple[str, float, str]:
    """Return what a length belongs to, the length, and the word behind it."""
    name, _equals, width = text.strip().rpartition("=")
    length, _space, word = width.rpartition(" ") if width.endswith("turned") else (width, "", "")
    return name, parse_length(length), word


@pytest.mark.parametrize("command", COMMANDS)
def test_lengths_of_a_dialog_are_in_its_unit(command: str) -> None:
    """A setting that stands there, and an example that stands alone, is never in another unit."""
    shown = [default(param) for param in params(command).values() if param.get("type") == "string"]
    shown += [label.text or "" for label in inx(command).iter(f"{INX}label")]
    lengths = re.findall(r"\d\s*(mm|cm|in|inch|inches)\b", " ".join(shown))
    assert set(lengths) <= {"mm"}
    if "unit" in params(command):
        assert default(params(command)["unit"]) == "mm"


@pytest.mark.parametrize("option", FINISHING, ids=lambda option: option.name)
def test_a_setting_is_spelled_the_same_in_every_dialog(option: Option) -> None:
    shown = {default(params(command)[option.field]) for command in ("move", "allow", "compare")}
    assert len(shown) == 1


@pytest.mark.parametrize("command", COMMANDS)
def test_every_option_is_explained(command: str) -> None:
    for name, param in params(command).items():
        if name not in ("tab", "command"):
            assert param.get("gui-text"), name
            assert (param.get("gui-description") or "").endswith("."), name


@pytest.mark.parametrize("command", COMMANDS)
def test_every_tab_has_a_picture_and_the_file_is_there(command: str) -> None:
    for page in inx(command).iter(f"{INX}page"):
        (picture,) = page.findall(f"{INX}image")
        assert page[0] is picture
        with Image.open(EXTENSION / picture.text) as image:
            assert image.size == (WIDTH, HEIGHT)
            assert len(image.getcolors() or []) > 3, "an empty picture"


def test_both_dialogs_word_the_shared_options_alike() -> None:
    move, allow = params("move"), params("allow")
    own = {"to", "share", "intake", "as", "ease_limit", "tuck_length", "gather_over"}
    own |= {"blend", "true_mouth", "nest", "target", "seam", "other_seam", "along", "along_as"}
    assert set(move) - set(allow) == own
    for name in set(allow) - {"tab", "as_made", "command"}:
        assert etree.tostring(move[name]).strip() == etree.tostring(allow[name]).strip(), name


def as_the_dialog_stands(command: str) -> list[str]:
    """Return what the editor hands over where nothing in the dialog was touched."""
    return [
        f"--{name}={default(param)}"
        for name, param in params(command).items()
        if param.get("type") != "notebook"
    ]


def drawn(document: bytes) -> list[dict[str, str]]:
    """Return the attributes of every part of the results in a document."""
    root = etree.fromstring(document)
    layers = [layer for layer in root if layer.get(ours("result"))]
    return [dict(element.attrib) for layer in layers for element in layer.iter(etree.Element)]


def test_an_untouched_dialog_asks_for_what_the_terminal_asks(tmp_path: Path) -> None:
    """To the last bit, though the one says its lengths in mm and the other in inches."""
    out = tmp_path / "out.svg"
    assert main(["move", str(FRONT), "-o", str(out)]) == 0
    answer = run_effect("move", FRONT, *as_the_dialog_stands("move"))
    assert (answer.status, answer.said) == (0, "")
    assert drawn(answer.document.encode()) == drawn(out.read_bytes())


def test_an_untouched_dialog_leaves_a_result_its_own_settings(tmp_path: Path) -> None:
    result = tmp_path / "result.svg"
    own = ["--allowance", "20mm, neckline=4mm", "--trim-allowance", "8mm", "--wide", "30mm"]
    assert main(["move", str(FRONT), *own, "-o", str(result)]) == 0
    answer = run_effect("allow", result, *as_the_dialog_stands("allow"))
    assert (answer.status, answer.said) == (0, "")
    kept = ("allowance", "trim-allowance", "wide")
    before, after = (
        next(part for part in drawn(document) if part.get(ours("part")) == "stitch-line")
        for document in (result.read_bytes(), answer.document.encode())
    )
    assert [after[ours(name)] for name in kept] == [before[ours(name)] for name in kept]
    assert before[ours("allowance")].startswith("20.0mm")


@pytest.mark.parametrize("text", ["12.7", "12,7mm", "1.27cm", "1/2 inch", "0.5in"])
def test_a_length_in_another_spelling_is_still_the_default(text: str) -> None:
    (option,) = (option for option in FINISHING if option.name == "trim-allowance")
    assert is_default(option, text, "mm")
    assert not is_default(option, "12.8mm", "mm")
    assert not is_default(option, "wide", "mm")
    assert not is_default(option, "12.7", "in")
