"""The sign beside a mark: it follows the mark at the next command, and a hand's word holds."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from extension.commands.command_line import main
from extension.document.shapes import box_of
from extension.marking.mark_parts import MarkRequest, mark_parts
from tests.extension.marking.test_mark_parts import LABEL, OURS, called, mark, signs
from tests.help.blocks.drawings import (
    OUTLINE_DATA,
    SEAMS,
    circle,
    layer,
    outline,
    page,
    root_of,
)
from tests.help.editor.effects import run_effect

SEAM_MARKS = "".join(circle(f"seam {name}", x, y) for name, (x, y) in SEAMS.items())
BODY = (
    f'{outline(OUTLINE_DATA)}<circle id="dot" cx="95" cy="260" r="2"/>'
    f'<circle id="place" cx="236.5" cy="273" r="2"/><circle id="far" cx="60" cy="380" r="2"/>'
    f"{SEAM_MARKS}"
)
#: Commands that may be the next one, as the editor starts them and at the terminal.
NEXT = {
    "move": [],
    "allow": [],
    "compare": ["--to=side seam:0.3; waist"],
    "mark": ["--role=notch", "--id=far"],
    "mark-block": ["--id=block"],
    "clean": ["--id=block"],
}


def marked(more: str = "") -> Any:
    root = root_of(page(layer(BODY + more)))
    mark(root, "apex", "dot")
    mark(root, "target", "place")
    return root


def plain(element: Any) -> bytes:
    return bytes(etree.tostring(element, method="c14n", exclusive=True))


def offset(root: Any, identity: str) -> complex:
    """Return where the glyph of an object's sign lies beside the object."""
    return box_of(signs(root)[identity][0]).centre - box_of(called(root, identity)).centre


def after(root: Any, tmp_path: Path, command: str = "move", *more: str) -> Any:
    """Return a drawing after a command; the terminal and the editor do the same to its signs."""
    drawing, out = tmp_path / "in.svg", tmp_path / "out.svg"
    drawing.write_bytes(etree.tostring(root))
    arguments = [*NEXT[command], *more]
    answer = run_effect(command, drawing, *arguments)
    assert (answer.status, answer.said) == (0, "")
    asked = [part.replace("--id=", "--select=") for part in arguments]
    assert main([command, str(drawing), "-o", str(out), *asked]) == 0
    done = root_of(answer.document or drawing.read_text(encoding="utf-8"))
    at_terminal = etree.parse(str(out)).getroot()
    found = [
        {key: plain(sign) for key, sign in signs(one).items()}
        for one in (done, at_terminal)
    ]
    assert found[0] == found[1]
    return done


@pytest.mark.parametrize("command", NEXT)
def test_a_sign_follows_its_mark_at_the_next_command(command: str, tmp_path: Path) -> None:
    root = marked()
    before = {identity: offset(root, identity) for identity in ("dot", "place")}
    called(root, "dot").set("cy", "250")
    called(root, "place").set("transform", "translate(-0.6,11)")
    done = after(root, tmp_path, command)
    for identity, place in before.items():
        assert offset(done, identity) == pytest.approx(place, abs=1e-6)
    # Nothing else in it is another one now.
    assert signs(done)["dot"].get("id") == signs(root)["dot"].get("id")


def test_a_sign_goes_with_its_mark_and_says_what_the_mark_says(tmp_path: Path) -> None:
    root = marked()
    mark(root, "notch", "far")
    called(root, "far").getparent().remove(called(root, "far"))
    called(root, "place").set(LABEL, "target 0.5")
    done = after(root, tmp_path)
    assert set(signs(done)) == {"dot", "place"}
    assert "".join(signs(done)["place"].itertext()) == "target 0.5"


def test_where_no_mark_was_moved_the_layer_of_marks_stays_to_the_byte(tmp_path: Path) -> None:
    root = marked()
    before = plain(called(root, "dartswing-marks"))
    for command in ("move", "compare"):
        done = after(root, tmp_path, command)
        assert plain(called(done, "dartswing-marks")) == before


def change(way: str, sign: Any) -> None:
    """Do what a hand may do to a sign."""
    if way == "colour":
        sign[0].set("style", str(sign[0].get("style")).replace("#00596b", "#ff0000"))
    elif way == "words":
        sign[-1].text = "my bust point"
    elif way == "part":
        sign.remove(sign[1])
    elif way == "hidden":
        sign.set("style", "display:none")
    elif way == "nodes":
        sign[0].set("d", str(sign[0].get("d")).replace("M", "M 1,1 L 2,2 M", 1))


@pytest.mark.parametrize("way", ["colour", "words", "part", "hidden", "nodes"])
@pytest.mark.parametrize("gone", [False, True])
def test_a_sign_that_she_changed_is_hers(way: str, gone: bool, tmp_path: Path) -> None:
    root = marked()
    change(way, signs(root)["dot"])
    hers = plain(signs(root)["dot"])
    called(root, "dot").set("cy", "250")
    if gone:
        called(root, "dot").attrib.pop(LABEL)
        for key in [k for k in called(root, "dot").attrib if str(k).startswith(OURS)]:
            called(root, "dot").attrib.pop(key)
        called(root, "block").getparent().append(root_of(page(circle("apex", 95, 260)))[0])
    done = after(root, tmp_path)
    assert plain(signs(done)["dot"]) == hers


@pytest.mark.parametrize("how", ["translate(12,-7)", "rotate(90,100,250)", "scale(2)"])
def test_a_sign_that_she_moved_stays_there_and_still_tells_the_truth(
    how: str, tmp_path: Path
) -> None:
    root = marked()
    signs(root)["dot"].set("transform", how)
    put = box_of(signs(root)["dot"][0]).centre
    hers = plain(signs(root)["dot"])
    called(root, "dot").set("cy", "250")
    done = after(root, tmp_path)
    assert plain(signs(done)["dot"]) == hers
    # Another role: another sign, where she put it.
    mark(done, "notch", "dot")
    sign = signs(done)["dot"]
    assert "".join(sign.itertext()) == "notch"
    assert box_of(sign[0]).centre == pytest.approx(put, abs=1e-6)
    again = copy.deepcopy(sign)
    mark(done, "notch", "dot")
    assert etree.tostring(signs(done)["dot"]) == etree.tostring(again)
    mark(done, "none", "dot")
    assert set(signs(done)) == {"place"}


def test_a_sign_that_was_dragged_along_with_its_mark_follows_it_on(tmp_path: Path) -> None:
    root = marked()
    before = offset(root, "dot")
    for element in (called(root, "dot"), signs(root)["dot"]):
        element.set("transform", "translate(0,-4)")
    root = after(root, tmp_path)
    assert offset(root, "dot") == pytest.approx(before, abs=1e-6)
    called(root, "dot").set("transform", "translate(0,-9)")
    assert offset(after(root, tmp_path, "allow"), "dot") == pytest.approx(before, abs=1e-6)


def test_signs_of_an_older_drawing_follow_too(tmp_path: Path) -> None:
    root = marked()
    before = {identity: offset(root, identity) for identity in ("dot", "place")}
    for sign in signs(root).values():
        sign.attrib.pop(f"{OURS}sign-drawn")
    called(root, "dot").set("cy", "250")
    done = after(root, tmp_path)
    for identity, place in before.items():
        assert offset(done, identity) == pytest.approx(place, abs=0.5)


def test_a_mark_that_cannot_be_read_leaves_its_sign(tmp_path: Path) -> None:
    root = marked('<use id="copy" href="#far" x="20"/>')
    mark_parts(root, MarkRequest("notch", {}, ["copy"]))
    called(root, "copy").set("href", "#gone")
    mark(root, "notch", "far")
    assert "copy" in signs(root)
    drawing = tmp_path / "in.svg"
    drawing.write_bytes(etree.tostring(root))
    answer = run_effect("move", drawing)
    assert "its original is not in this drawing" in answer.said
