"""Seams in the drafter's language: what a message lists can be typed as it stands there."""

from __future__ import annotations

import pytest

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.found_block import take_block
from drafting_core.block.places import Target, resolve, seam_called, seam_list, spoken_place
from drafting_core.model.seam_names import SEAMS_IN_ORDER, STYLE_LINE, Seam, shown_seam_name
from drafting_core.model.stretches import stretches
from drafting_core.plane.curves import Line
from drafting_core.text.errors import PlaceError
from extension.commands.command_parser import asked_for, parser
from tests.help.texts.speaking import speaking

ROUND = ("centre front", "neckline", "shoulder", "armhole", "side seam", "waist")
OTHERS = ("centre back", "cap", "underarm seam", "wrist", "inseam", "hem")
HERS = ("crotch seam", STYLE_LINE, "seam 1", "Gurney", "seam 2", "seam 3")
LANGUAGES = ("de", "es", "en")


def hexagon(names: tuple[str, ...]) -> Block:
    corners = [0 + 0j, 100 - 20j, 200 + 0j, 210 + 200j, 100 + 230j, -10 + 200j]
    ring = zip(names, corners, [*corners[1:], corners[0]], strict=True)
    return Block(seam_by_seam([(name, Line(start, end)) for name, start, end in ring]))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("names", [ROUND, OTHERS, HERS])
def test_every_seam_of_a_list_is_understood_as_it_stands_there(
    names: tuple[str, ...], language: str
) -> None:
    piece = take_block(hexagon(names), equalise=False).piece
    with speaking(language):
        listed = seam_list(piece).partition(": ")[2].partition(". ")[0].split(", ")
        assert set(listed) == {shown_seam_name(stretch.seam.name) for stretch in stretches(piece)}
        found: set[Seam] = {seam_called(piece, name).seam for name in listed}
    assert len(found) == len(names) == len(listed)


def test_messages_name_the_seams_of_a_place_in_her_language() -> None:
    piece = take_block(hexagon(ROUND), equalise=False).piece
    with speaking("de"):
        with pytest.raises(PlaceError, match='"Halsausschnitt" und "Taille"'):
            resolve(piece, Target(place="neckline/waist"), 1j)
        assert "Seitennaht:30%" in Target(place="side seam:30%").spoken
        # Her own names stay hers.
        assert spoken_place("Gurney / waist") == "Gurney/Taille"
    assert spoken_place("side seam:1/2in") == "side seam:1/2in"


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_seam_is_picked_at_the_terminal_by_its_name_in_any_language(language: str) -> None:
    with speaking(language):
        for seam in SEAMS_IN_ORDER:
            words = ["move", "in.svg", "-o", "out.svg", "--seam", shown_seam_name(seam)]
            assert asked_for(parser().parse_args(words)).given["seam"] == seam
    with pytest.raises(SystemExit):
        parser().parse_args(["move", "in.svg", "-o", "out.svg", "--seam", "Nahtlos"])
