"""Artwork taken along in the real editor: by its dialog, saved, and known again afterwards."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from lxml import etree

from extension.commands.command_line import main
from tests.extension.artwork.written_copies import (
    OURS,
    copies,
    result_layers,
    sector_groups,
)
from tests.help.blocks.artwork import SAMPLES, with_artwork
from tests.help.editor.editor import RealEditor, Screen, unpack_package
from tests.help.editor.editor_session import session

#: Each of them takes seconds.
pytestmark = pytest.mark.thorough
#: Tabs of the dialog to the right of the first one, and fields above the two boxes.
PIECE, FIELDS = 5, 2


def layers_of(text: str) -> list[etree._Element]:
    return result_layers(etree.fromstring(text.encode()))


@pytest.fixture
def fresh(screen: Screen, packed: Path, tmp_path: Path) -> RealEditor:
    """An editor whose dialogs remember nothing, neither a tab nor a setting."""
    profile = tmp_path / "profile"
    unpack_package(profile, packed)
    return RealEditor(screen, profile)


def test_two_boxes_of_the_dialog_bring_it_along(fresh: RealEditor, tmp_path: Path) -> None:
    drawing = Path(shutil.copy(SAMPLES / "front_artwork.svg", tmp_path / "front.svg"))
    with session(fresh, drawing, {"dartswing.move": "<Primary><Alt>a"}) as drafter:
        drafter.press("ctrl+alt+a")
        drafter.wait_window("^Move dart$")
        drafter.press("Tab", *["Right"] * PIECE)
        drafter.press("Tab", *["Tab"] * FIELDS, "Down", "Tab", "Down", "alt+a")
        drafter.wait_titles("*front.svg - Inkscape", "Move dart")
        drafter.press("Escape")
        saved = drafter.save()
    [layer] = layers_of(saved)
    assert len(sector_groups(layer, "artwork")) == len(sector_groups(layer, "fill")) == 2
    assert {"moon", "star", "pocket-stitches", "lantern", "words"} <= {
        copy.original for copy in copies(layer)
    }
    # What the editor has saved is what was written: the same command takes its place.
    again = tmp_path / "again.svg"
    options = ["--artwork", "--fill", "as-drawn", "-o", str(again)]
    assert main(["move", str(drawing), *options]) == 0
    [same] = layers_of(again.read_text(encoding="utf-8"))
    assert [e.tag for e in same[1].iter()] == [e.tag for e in layer[1].iter()]


def test_the_editors_own_copy_of_a_result_is_cut_by_its_own_clips(
    editor: RealEditor, tmp_path: Path
) -> None:
    """A layer that was duplicated, and the first one deleted after allowances were drawn anew."""
    drawing, moved = tmp_path / "drawn.svg", tmp_path / "moved.svg"
    drawing.write_text(with_artwork("front_one_path"), encoding="utf-8")
    assert main(["move", str(drawing), "-o", str(moved), "--artwork"]) == 0
    [first] = layers_of(moved.read_text(encoding="utf-8"))
    twice, again = tmp_path / "twice.svg", tmp_path / "again.svg"
    editor.run_action(moved, "duplicate", twice, select=[str(first.get("id"))])
    layers = layers_of(twice.read_text(encoding="utf-8"))
    assert len(layers) == 2
    other = next(layer for layer in layers if layer.get("id") != first.get("id"))
    select = ["--select", str(other.get("id"))]
    assert main(["allow", str(twice), "-o", str(again), *select]) == 0
    other = next(
        layer
        for layer in layers_of(again.read_text(encoding="utf-8"))
        if layer.get("id") == other.get("id")
    )
    held = {e.get("id") for e in other.iter() if e.get("id")}
    for group in sector_groups(other, "artwork"):
        assert str(group.get("clip-path"))[5:-1] in held
        assert group.get(f"{OURS}self") == group.get("id")
