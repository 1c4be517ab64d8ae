"""Every text that is drawn is read from below or from the right of the page as it is seen.

The directions are reckoned here, from the matrices in the written files alone.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree

from extension.commands.command_line import main
from tests.help.blocks.samples import BLOCKS
from tests.help.depth import some_quick

SVG = "{http://www.w3.org/2000/svg}"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
RESULT = "{urn:dartswing:1}result"
#: A line over so many degrees off the level is steep: its text is read from the right.
STEEP = 70.0
#: Lines so near to that (degrees) may be read either way.
NEAR = 0.1
TURNS = (
    *("rotate(0)", "scale(-1,1)", "rotate(90)", "rotate(180)", "rotate(-62)"),
    *("rotate(118) scale(1,-1)", "rotate(205)", "rotate(28) scale(-1,1)"),
)
NAMES = ("front_one_path", "skirt_front_waist_dart", "sleeve_elbow_dart", "back_shoulder_dart")
SAMPLES = [path for path in BLOCKS if path.stem in NAMES]
CASES = [
    pytest.param(sample, turn, id=f"{sample.stem} {turn}") for sample in SAMPLES for turn in TURNS
]


def matrix(text: str) -> np.ndarray[Any, Any]:
    """Return what a transform attribute says, as a matrix of three rows."""
    whole = np.eye(3)
    for name, said in re.findall(r"(\w+)\s*\(([^)]*)\)", text):
        given = [float(word) for word in re.split(r"[\s,]+", said.strip())]
        one = np.eye(3)
        if name == "matrix":
            one[:2] = np.reshape(given, (3, 2)).T
        elif name == "translate":
            one[:2, 2] = [*given, 0.0][:2]
        elif name == "scale":
            one[0, 0], one[1, 1] = given[0], given[-1]
        elif name == "rotate":
            turn = math.radians(given[0])
            one[:2, :2] = [
                [math.cos(turn), -math.sin(turn)],
                [math.sin(turn), math.cos(turn)],
            ]
            about = np.array([*given[1:], 0.0, 0.0][:2])
            one[:2, 2] = about - one[:2, :2] @ about
        else:
            raise AssertionError(f"{name} is not known here")
        whole = whole @ one
    return whole


def seen_texts(path: Path, but: frozenset[str] = frozenset()) -> Iterator[tuple[str, float]]:
    """Yield every text of a drawing with the angle (degrees, clockwise) at which it is read."""
    for text in etree.parse(str(path)).getroot().iter(f"{SVG}text"):
        words = " ".join("".join(text.itertext()).split())
        if text.get("id") in but or not words:
            continue
        to = np.eye(3)
        for element in (text, *text.iterancestors()):
            to = matrix(element.get("transform", "")) @ to
        assert np.linalg.det(to[:2, :2]) > 0.0, f"{words!r} is mirrored"
        yield words, math.degrees(math.atan2(to[1, 0], to[0, 0]))


def assert_read(path: Path, least: int, but: frozenset[str] = frozenset()) -> None:
    found = list(seen_texts(path, but))
    assert len(found) >= least
    for words, angle in found:
        from_below = abs(angle) <= STEEP + NEAR
        from_the_right = abs(angle + 90.0) <= 90.0 - STEEP + NEAR
        assert from_below or from_the_right, f"{words!r} is read at {angle:.1f}°"


def turned(sample: Path, turn: str, folder: Path) -> Path:
    """Write a sample with all that is drawn in a turned layer."""
    root = etree.parse(str(sample)).getroot()
    for layer in root.iterchildren(f"{SVG}g"):
        own = layer.get("transform", "")
        layer.set("transform", f"translate(130,220) {turn} translate(-130,-220) {own}".strip())
    path = folder / "turned.svg"
    path.write_bytes(etree.tostring(root))
    return path


def ids(path: Path) -> frozenset[str]:
    texts = etree.parse(str(path)).getroot().iter(f"{SVG}text")
    return frozenset(str(text.get("id")) for text in texts if text.get("id"))


@pytest.mark.parametrize(("sample", "turn"), some_quick(CASES, 4))
def test_texts_of_results_and_of_paper_are_read_from_below_or_from_the_right(
    sample: Path, turn: str, tmp_path: Path
) -> None:
    drawing, moved, printed, opened = turned(sample, turn, tmp_path), *(
        tmp_path / f"{name}.svg" for name in ("moved", "printed", "opened")
    )
    own = ids(drawing)
    assert main(["move", str(drawing), "-o", str(moved)]) == 0
    assert_read(moved, 6, own)
    assert main(["paper", str(moved), "-o", str(printed)]) == 0
    assert_read(printed, 12, own)
    assert main(["paper", str(moved), "--unfold", "--paper", "roll 900mm", "-o", str(opened)]) == 0
    assert_read(opened, 12, own)


@pytest.mark.thorough
@pytest.mark.parametrize(("sample", "turn"), some_quick(CASES, 5))
def test_texts_of_turned_results_are_so_read_on_paper_and_when_drawn_again(
    sample: Path, turn: str, tmp_path: Path
) -> None:
    moved, again, printed = (tmp_path / f"{name}.svg" for name in ("moved", "again", "printed"))
    assert main(["move", str(sample), "-o", str(moved)]) == 0
    own = ids(sample)
    tree = etree.parse(str(moved))
    (layer,) = [child for child in tree.getroot() if child.get(RESULT)]
    layer.set("transform", turn)
    tree.write(str(moved))
    assert main(["paper", str(moved), "-o", str(printed)]) == 0
    # The turned result itself is as the hand has left it.
    assert_read(printed, 6, own | ids(moved))
    assert main(["allow", str(moved), "-o", str(again)]) == 0
    assert_read(again, 6, own)


@pytest.mark.parametrize(("sample", "turn"), some_quick(CASES, 5))
def test_texts_of_sewing_notes_are_read_from_below_or_from_the_right(
    sample: Path, turn: str, tmp_path: Path
) -> None:
    drawing, moved, notes = turned(sample, turn, tmp_path), *(
        tmp_path / f"{name}.svg" for name in ("moved", "notes")
    )
    assert main(["move", str(drawing), "-o", str(moved)]) == 0
    assert main(["sew-notes", str(moved), "-o", str(notes)]) == 0
    assert_read(notes, 16, ids(moved))


@pytest.mark.parametrize(("sample", "turn"), some_quick(CASES, 7))
def test_texts_of_the_compared_sheet_are_read_from_below_or_from_the_right(
    sample: Path, turn: str, tmp_path: Path
) -> None:
    drawing, sheet = turned(sample, turn, tmp_path), tmp_path / "sheet.svg"
    seam = "underarm seam" if "sleeve" in sample.stem else "side seam"
    to = f"{seam}:0.3; {seam}:0.6"
    assert main(["compare", str(drawing), "--to", to, "-o", str(sheet)]) == 0
    assert_read(sheet, 6, ids(drawing))


MARKED = [case for case in CASES if "sleeve" not in str(case.id)]


@pytest.mark.parametrize(("sample", "turn"), some_quick(MARKED, 11))
def test_words_of_marked_blocks_are_read_from_below_or_from_the_right(
    sample: Path, turn: str, tmp_path: Path
) -> None:
    drawing = turned(sample, turn, tmp_path)
    root = etree.parse(str(drawing)).getroot()
    # A bare outline: nothing says yet what is what.
    (outline,) = [
        element
        for element in root.iter(f"{SVG}path")
        if str(element.get(LABEL)).endswith("outline")
    ]
    for element in list(outline.getparent()):
        if element is not outline:
            outline.getparent().remove(element)
    drawing.write_bytes(etree.tostring(root))
    marked = tmp_path / "marked.svg"
    assert main(["mark-block", str(drawing), "--select", outline.get("id"), "-o", str(marked)]) == 0
    assert_read(marked, 4)
