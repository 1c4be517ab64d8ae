"""A seam drawn in two paths beside a dart: one mark, one allowance, one name in the result."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from extension.commands.command_line import main
from tests.help.blocks.drawings import parts

SAMPLE = Path(__file__).parents[3] / "sample_svgs" / "front_seam_by_seam.svg"
INK = "{http://www.inkscape.org/namespaces/inkscape}"
OURS = "{urn:dartswing:1}"


def marked(tmp_path: Path, *marks: str) -> Path:
    """The sample, whose waist is two paths labelled ``waist``, with marks near one or both."""
    text = SAMPLE.read_text(encoding="utf-8")
    places = ("1.2", "7.8")
    circles = "".join(
        f'<circle inkscape:label="{mark}" cx="{x}" cy="15.2" r="0.05"/>'
        for x, mark in zip(places, marks, strict=False)
    )
    given = tmp_path / "given.svg"
    given.write_text(text.replace('<text id="bust-point"', f'{circles}<text id="bust-point"'))
    return given


def names(path: Path) -> list[tuple[str, str | None]]:
    """The names of the result's waist, each with its width."""
    found = parts(etree.parse(str(path)).getroot(), "seam-name")
    return [
        (element.get(f"{OURS}name"), element.get(f"{OURS}allowance"))
        for element in found
        if element.get(f"{OURS}name") == "waist"
    ]


def test_one_mark_beside_a_dart_gives_its_width_to_the_whole_seam(tmp_path: Path) -> None:
    given, out = marked(tmp_path, "seam waist 30mm"), tmp_path / "out.svg"
    assert main(["allow", str(given), "-o", str(out)]) == 0
    assert names(out) == [("waist", "30.0mm")]


def test_two_widths_are_refused_and_both_are_named(tmp_path: Path, capsys: Any) -> None:
    given, out = marked(tmp_path, "seam waist 30mm", "seam waist 20mm"), tmp_path / "out.svg"
    assert main(["allow", str(given), "-o", str(out)]) == 1
    said = capsys.readouterr().err
    assert '"waist 30mm"' in said
    assert '"waist 20mm"' in said
    assert not out.exists()


@pytest.mark.parametrize(("second", "told"), [("20mm", "two allowances"), (None, "one allowance")])
def test_an_older_result_that_holds_two_is_told(
    second: str | None, told: str, tmp_path: Path, capsys: Any
) -> None:
    """As results were once written: a name on each half, the one wider than the other."""
    given, out = marked(tmp_path, "seam waist 30mm"), tmp_path / "out.svg"
    assert main(["allow", str(given), "-o", str(out)]) == 0
    tree = etree.parse(str(out))
    (name,) = (
        element
        for element in parts(tree.getroot(), "seam-name")
        if element.get(f"{OURS}name") == "waist"
    )
    x, y = float(name.get("x")), float(name.get("y"))
    other = etree.SubElement(name.getparent(), name.tag)
    # The sample is in inches: its waist runs from 0 to 9.1, the dart between 2.9 and 5.2.
    other.set("x", "7.8" if x < 4.0 else "1.2")
    other.set("y", str(y))
    other.set(f"{OURS}role", "seam")
    other.set(f"{OURS}name", "waist")
    if second:
        other.set(f"{OURS}allowance", second)
    # Nor did they know their seams by their places.
    for element in tree.getroot().iter():
        element.attrib.pop(f"{OURS}drawn", None)
    tree.write(str(out))
    capsys.readouterr()
    again = tmp_path / "again.svg"
    assert main(["allow", str(out), "-o", str(again)]) == 0, capsys.readouterr().err
    assert told in capsys.readouterr().out
