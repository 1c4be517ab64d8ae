"""Marking by hand in the real editor: places shown with the mouse, clones as marks, signs dragged.

Each drawing is the plain front; what is drawn, dragged or picked there is what the mouse does.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from extension.document.shapes import box_of, mapped_subpaths
from extension.marking.mark_block import mark_block
from extension.marking.mark_parts import MarkRequest, mark_parts
from tests.extension.marking.test_mark_parts import called, signs
from tests.help.blocks.drawings import NS, OUTLINE_DATA, layer, page, parts, root_of
from tests.help.editor.drafters_hand import Hand, hand_on, spots_layer
from tests.help.editor.editor import RealEditor

#: Each of them takes seconds.
pytestmark = pytest.mark.thorough

SEAM, APEX = 236.5 + 273j, 95 + 260j
#: What is dragged stays behind the mouse by its first step (mm).
LAG = 7.0
BLACK = 'style="fill:none;stroke:#000;stroke-width:0.7"'
FRONT = f'<path id="block" d="{OUTLINE_DATA}" {BLACK}/>'
DOT = '<circle id="dot" cx="40" cy="150" r="4" style="fill:#0a0"/>'
PICKS: list[tuple[str, ...]] = [("block",), ("dot",), ("target",), ("apex",)]
MARK, MOVE = "dartswing.mark-block.noprefs", "dartswing.move.noprefs"
ACTIONS = {MARK: "<Primary><Alt>b", MOVE: "<Primary><Alt>m"}
MARK_KEY, MOVE_KEY = "ctrl+alt+b", "ctrl+alt+m"

Edit = Callable[[Hand], None]


def by_hand(editor: RealEditor, folder: Path, drawing: Any, edit: Edit) -> Any:
    """Do something by hand to a drawing that is open in the editor, and return what it saves."""
    file = folder / "front.svg"
    text = drawing if isinstance(drawing, str) else etree.tostring(drawing, encoding="unicode")
    last = text.rindex("</svg>")
    file.write_text(text[:last] + spots_layer() + text[last:], encoding="utf-8")
    with hand_on(editor, file, PICKS, ACTIONS) as hand:
        edit(hand)
        hand.session.picture().save(folder / "screen.png")
        hand.session.save()
    return etree.parse(str(file)).getroot()


def moved_to(root: Any) -> tuple[str, str]:
    """Return the label of the one result, and its note."""
    (result,) = root.iterfind(".//*[@dartswing:result]", NS)
    words = (line for note in parts(root, "note") for line in note.itertext())
    return str(result.get(f"{{{NS['inkscape']}}}label")), " ".join(" ".join(words).split())


def from_mouth(root: Any, place: complex) -> float:
    """Return how far a place lies from the new dart: from the mouth end that stayed put."""
    (cap,) = parts(root, "cap")
    (line,) = mapped_subpaths(cap)
    return min(abs(z - place) for z in (line.segments[0].start, line.segments[-1].end))


def test_a_place_is_shown_by_an_ellipse_drawn_on_the_seam(
    editor: RealEditor, tmp_path: Path
) -> None:
    def edit(hand: Hand) -> None:
        hand.show("block")
        hand.press(MARK_KEY)
        hand.press("Escape", "F5")
        hand.drag(SEAM - 4 - 4j, SEAM + 4 + 4j)
        # What was drawn is selected.
        hand.press(MOVE_KEY)

    root = by_hand(editor, tmp_path, page(layer(FRONT)), edit)
    label, words = moved_to(root)
    assert label.startswith("Dart at side seam")
    assert "is selected and lies on the side seam: it is taken as the target" in words
    (drawn,) = [e for e in called(root, "block").getparent() if e.get("id") != "block"]
    assert from_mouth(root, box_of(drawn).centre) < 1


def test_the_outline_may_be_selected_with_it(editor: RealEditor, tmp_path: Path) -> None:
    drawn = root_of(page(layer(FRONT + DOT.replace('cx="40" cy="150"', 'cx="236.5" cy="273"'))))
    mark_block(drawn, ["block"])

    def edit(hand: Hand) -> None:
        # The green dot, and with Shift the outline at its centre.
        hand.show("block")
        hand.press("Escape", "F1")
        hand.click(SEAM, 0 + 300j)
        hand.press(MOVE_KEY)

    label, words = moved_to(by_hand(editor, tmp_path, drawn, edit))
    assert label.startswith("Dart at side seam")
    assert '"dot" is selected and lies on the side seam' in words


@pytest.mark.parametrize("labelled", [True, False])
def test_a_clone_of_a_dot_is_dragged_to_the_seam(
    labelled: bool, editor: RealEditor, tmp_path: Path
) -> None:
    drawn = root_of(page(layer(FRONT) + layer(DOT, "Dots", 'transform="translate(3,-5)"')))
    mark_block(drawn, ["block"])

    def edit(hand: Hand) -> None:
        hand.show("block")
        hand.pick("dot")
        hand.press("F1", "alt+d")
        hand.drag(43 + 145j, SEAM)
        if labelled:
            hand.label("target")
            hand.press("Escape", "Escape")
        hand.press(MOVE_KEY)

    root = by_hand(editor, tmp_path, drawn, edit)
    label, words = moved_to(root)
    assert label.startswith("Dart at side seam")
    assert ("is taken as the target" in words) is not labelled
    (clone,) = root.iterfind(".//svg:use", NS)
    at = box_of(clone).centre
    assert abs(at - SEAM) < LAG
    # It was dropped beside the seam, and the seam is where the dart goes.
    assert from_mouth(root, at) < LAG


def marked() -> Any:
    """The front with an apex and a target that have signs beside them."""
    spot = '<circle id="{name}" cx="{z.real}" cy="{z.imag}" r="3" style="fill:#0a0"/>'
    marks = spot.format(name="apex", z=APEX) + spot.format(name="target", z=SEAM)
    root = root_of(page(layer(FRONT + marks)))
    mark_block(root, ["block"])
    for name in ("apex", "target"):
        mark_parts(root, MarkRequest(name, {}, [name]))
    return root


def beside(root: Any, identity: str) -> complex:
    return box_of(signs(root)[identity][0]).centre - box_of(called(root, identity)).centre


def test_a_sign_follows_the_mark_that_is_dragged(editor: RealEditor, tmp_path: Path) -> None:
    drawn = marked()

    def edit(hand: Hand) -> None:
        hand.show("block")
        hand.press("Escape", "F1")
        hand.drag(APEX, APEX - 14j)
        hand.drag(SEAM, SEAM + 3 - 60j)
        hand.press("Escape", MOVE_KEY)

    root = by_hand(editor, tmp_path, drawn, edit)
    assert moved_to(root)[0].startswith("Dart at side seam")
    for identity, travelled in (("apex", -14j), ("target", 3 - 60j)):
        shift = box_of(called(root, identity)).centre - box_of(called(drawn, identity)).centre
        assert abs(shift - travelled) < LAG
        assert beside(root, identity) == pytest.approx(beside(drawn, identity), abs=1e-3)


def test_a_sign_that_is_dragged_stays_where_she_put_it(editor: RealEditor, tmp_path: Path) -> None:
    drawn = marked()
    sign = box_of(signs(drawn)["target"][0])
    # On one of its lines: the bar of the target's sign.
    grip = complex((sign.left + sign.right) / 2, sign.bottom)

    def edit(hand: Hand) -> None:
        hand.show("block")
        hand.press("Escape", "F1")
        hand.drag(grip, grip - 60 - 90j)
        hand.drag(SEAM, SEAM + 3 - 60j)
        hand.drag(APEX, APEX - 14j)
        hand.press("Escape", MOVE_KEY)

    root = by_hand(editor, tmp_path, drawn, edit)
    assert moved_to(root)[0].startswith("Dart at side seam")
    shift = box_of(signs(root)["target"][0]).centre - sign.centre
    assert abs(shift - (-60 - 90j)) < LAG
    assert beside(root, "apex") == pytest.approx(beside(drawn, "apex"), abs=1e-3)
