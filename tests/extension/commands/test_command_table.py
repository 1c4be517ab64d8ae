"""The table of commands: its help says every default, and what it names is there."""

from __future__ import annotations

import re

import pytest

from extension.commands.asked import Asked
from extension.commands.command_line import main
from extension.commands.command_parser import asked_for, parser
from extension.commands.command_table import COMMANDS, Command, MachineCommand, command_named
from extension.options.options import Option

OPTIONS = [(command, option) for command in COMMANDS for option in command.options]


def help_of(command: str, option: Option, capsys: pytest.CaptureFixture[str]) -> str:
    """Return what the help says of an option."""
    assert main([command, "--help"]) == 0
    said = capsys.readouterr().out.partition("\noptions:\n")[2]
    for entry in re.split(r"\n(?=  -)", said):
        if re.match(rf"\s*(-\w \S+, )?--{option.name}\s", entry):
            return " ".join(entry.split())
    raise AssertionError(f"{option.name} is not in the help")


def test_every_command_has_a_name_of_its_own() -> None:
    names = [command.name for command in COMMANDS]
    assert len(names) == len(set(names)) >= 14
    for command in COMMANDS:
        fields = [option.field for option in command.options]
        assert len(fields) == len(set(fields)), command.name


@pytest.mark.parametrize(
    ("command", "option"), OPTIONS, ids=[f"{c.name}-{o.name}" for c, o in OPTIONS]
)
def test_the_help_says_what_an_option_is_without_being_given(
    command: Command | MachineCommand, option: Option, capsys: pytest.CaptureFixture[str]
) -> None:
    own = help_of(command.name, option, capsys)
    if option.is_required:
        assert "(required)" in own
    elif option.default:
        assert f"(default: {option.default})" in own
    else:
        assert re.search(r"left out: \w|left out where", own), own


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: str(command.name))
def test_what_is_not_typed_is_at_its_default(command: Command | MachineCommand) -> None:
    words = [command.name, *(["in.svg"] if isinstance(command, Command) else [])]
    typed: list[Option] = [option for option in command.options if option.is_required]
    for option in typed:
        words += [f"--{option.name}", option.choices[0] if option.choices else "x"]
    asked = asked_for(parser().parse_args(words))
    assert set(asked.given) == {option.name for option in typed}
    for option in command.options:
        if option not in typed and option.name != "select":
            assert asked.text(option.name) == option.default


def test_selections_are_typed_one_by_one_or_with_commas() -> None:
    words = ["mark-block", "in.svg", "-o", "out.svg", "--select", "a,b", "--select", "c"]
    assert asked_for(parser().parse_args(words)).selection == ["a", "b", "c"]


def test_a_switch_alone_says_yes() -> None:
    for words, says in (([], False), (["--nest"], True), (["--nest", "no"], False)):
        asked = asked_for(parser().parse_args(["move", "in.svg", "-o", "out.svg", *words]))
        assert asked.says("nest") is says
    assert not Asked((), {}).says("nest")


def test_a_name_that_no_command_has_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(KeyError):
        command_named("sew")
    assert main(["sew"]) == 2
    assert "sew" in capsys.readouterr().err
