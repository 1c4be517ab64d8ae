"""Legs and points as drawn: what marking, moving and a result say of them, through the drawing."""

from __future__ import annotations

import cmath
import math
from pathlib import Path

import pytest
from lxml import etree

from drafting_core.text.errors import DraftingError
from extension.commands.command_line import main
from extension.drafting.done_lines import done_lines
from extension.drafting.move_and_allow import Request, allow, move
from extension.marking.mark_block import mark_block
from tests.help.blocks.drawings import circle, layer, page, parts, root_of, seam_marks

OURS = "{urn:dartswing:1}"
#: A dart of 18°, 150 mm deep at the true apex, which lies 1 in beyond the point that is drawn.
ANGLE = math.radians(18.0)
TRUE = 95 + 240j
SHORT = 25.4
RADIUS = 150.0
ENDS = [
    TRUE + RADIUS * cmath.exp(1j * (math.pi / 2 + turned)) for turned in (ANGLE / 2, -ANGLE / 2)
]
POINT = TRUE + 1j * SHORT


def words(z: complex) -> str:
    return f"{z.real:.12f},{z.imag:.12f}"


def front(leg: str = "", back: str = "", more: str = "", point: complex = POINT) -> str:
    """A front as a single path: its legs as commands that end at the point and at the mouth."""
    data = (
        f"M 0,80 L 0,390 L {words(ENDS[0])} {leg or 'L ' + words(point)} "
        f"{back or 'L ' + words(ENDS[1])} L 230,385 L 240,210 "
        "C 200,205 175,150 180,40 L 70,0 C 60,50 30,80 0,80 Z"
    )
    return page(layer(f'<path id="block" inkscape:label="outline" d="{data}"/>{more}'))


def bowed(start: complex, end: complex, by: float) -> str:
    """A leg as one curve that strays half-way by so much from its chord."""
    off = 1j * (end - start) / abs(end - start) * by * 4 / 3
    controls = start + (end - start) / 3 + off, start + (end - start) * 2 / 3 + off
    return f"C {words(controls[0])} {words(controls[1])} {words(end)}"


def test_a_front_drawn_finished_and_marked_in_one_go_is_not_lowered_twice() -> None:
    root = root_of(front().replace('inkscape:label="outline"', ""))
    said = "\n".join(mark_block(root, ["block"]))
    assert "say --drawn-short 1in" in said
    asked = move(root, Request(to="side seam:0.3"))
    assert sum("say --drawn-short 1in" in text for text in asked.drafts[0].warnings) == 1
    notes = " ".join(" ".join(part.itertext()) for part in parts(root, "note"))
    assert "say --drawn-short" in " ".join(notes.split())
    # From the point that is drawn the same mouth stands at a larger angle.
    half = abs(ENDS[1] - ENDS[0]) / 2
    drawn = 2 * math.atan2(half, RADIUS * math.cos(ANGLE / 2) - SHORT)
    assert math.isclose(asked.drafts[0].darts[0].dart.opening.angle, drawn, abs_tol=1e-9)

    told = move(root, Request(to="side seam:0.3", given={"drawn-short": "1in"}))
    (dart,) = (item.dart for item in told.drafts[0].darts)
    assert math.isclose(dart.opening.angle, ANGLE, abs_tol=1e-9)
    assert abs(dart.opening.apex - TRUE) < 1e-9
    assert not any("drawn-short" in text for text in told.drafts[0].warnings)


@pytest.mark.parametrize(("answer", "stored"), [("1in", "25.4mm"), ("0", "0.0mm")])
def test_a_result_keeps_the_answer(answer: str, stored: str) -> None:
    marks = circle("apex", POINT.real, POINT.imag) + seam_marks()
    root = root_of(front(more=marks))
    given = {"drawn-short": answer, "clearance": "0"}
    made = move(root, Request(to="side seam:0.3", given=given))
    (line,) = parts(root, "stitch-line")
    assert line.get(f"{OURS}drawn-short") == stored
    angle = made.drafts[0].darts[0].dart.opening.angle
    identity = line.get("id")
    for job, request in (
        (allow, Request(selection=[identity])),
        (move, Request(to="shoulder:0.5", selection=[identity])),
    ):
        again = job(root, request)
        assert not any("drawn-short" in text for text in again.drafts[0].warnings)
        assert math.isclose(again.drafts[0].darts[0].dart.opening.angle, angle, abs_tol=1e-9)
        assert parts(root, "stitch-line")[-1].get(f"{OURS}drawn-short") == stored


def test_a_result_gets_no_other_apex() -> None:
    root = root_of(front(more=circle("apex", POINT.real, POINT.imag) + seam_marks()))
    move(root, Request(to="side seam:0.3"))
    (line,) = parts(root, "stitch-line")
    for job in (allow, move):
        request = Request(
            to="shoulder:0.5", selection=[line.get("id")], given={"drawn-short": "1in"}
        )
        with pytest.raises(DraftingError, match="the apex of a result stands"):
            job(root, request)
    allow(root, Request(selection=[line.get("id")], given={"drawn-short": "0"}))
    assert line.get(f"{OURS}drawn-short") == "0.0mm"


@pytest.mark.parametrize("by", [0.4, 2.3])
def test_bowed_legs_are_told_by_marking_and_in_the_first_line_over_1_mm(
    by: float, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = front(bowed(ENDS[0], POINT, by), bowed(POINT, ENDS[1], by / 2))
    sentence = f"bowed by up to {by:.1f} mm; they were made straight."
    assert sentence in "\n".join(mark_block(root_of(text), ["block"]))
    root = root_of(text)
    mark_block(root, ["block"])
    outcome = move(root, Request(to="side seam:0.3"))
    assert sum(sentence in warning for warning in outcome.drafts[0].warnings) == 1
    assert ("made straight" in done_lines(outcome.drafts[0])[0]) is (by > 1.0)
    drawing, out = tmp_path / "in.svg", tmp_path / "out.svg"
    drawing.write_bytes(etree.tostring(root_of(text)))
    assert main(["allow", str(drawing), "-o", str(out)]) == 0
    told = capsys.readouterr()
    first = next(line for line in (told.out + told.err).splitlines() if "mm high" in line)
    assert (f"legs that bowed by up to {by:.1f} mm were made straight" in first) is (by > 1.0)


def test_marking_tells_of_curved_legs_before_anything_is_cut() -> None:
    turned = front(bowed(ENDS[0], POINT, 6.0), bowed(POINT, ENDS[1], -6.0))
    assert "one as the other turned" in "\n".join(mark_block(root_of(turned), ["block"]))
    mirrored = front(bowed(ENDS[0], POINT, -6.0), bowed(POINT, ENDS[1], -6.0))
    assert "mirror images" in "\n".join(mark_block(root_of(mirrored), ["block"]))
    neither = front(bowed(ENDS[0], POINT, 6.0))
    with pytest.raises(DraftingError, match=r"bow by 6\.0 mm"):
        mark_block(root_of(neither), ["block"])


def test_a_curved_dart_that_stands_in_a_result_stands_in_the_next() -> None:
    for other in (6.0, -6.0):
        legs = bowed(ENDS[0], POINT, -6.0), bowed(POINT, ENDS[1], other)
        root = root_of(front(*legs, more=seam_marks()))
        first = allow(root, Request()).drafts[0]
        (line,) = parts(root, "stitch-line")
        drawn = line.get("d")
        again = allow(root, Request(selection=[line.get("id")])).drafts[0]
        assert line.get("d") == drawn
        (was,), (now,) = ([item.dart for item in draft.darts] for draft in (first, again))
        assert (was.excess, was.verdict.ground) == (now.excess, now.verdict.ground)
        assert now.opening.is_mirrored is (other < 0)


def test_the_legs_are_made_equal_at_the_command_line(tmp_path: Path) -> None:
    far = POINT + (ENDS[1] - POINT) * (1 + 9 / abs(ENDS[1] - POINT))
    text = front(back="L " + words(far), more=circle("apex", POINT.real, POINT.imag))
    drawing, out = tmp_path / "in.svg", tmp_path / "out.svg"
    drawing.write_text(text, encoding="utf-8")
    asked = ["move", str(drawing), "-o", str(out), "--to", "side seam:0.3"]
    assert main(asked) == 1
    assert main([*asked, "--even-legs"]) == 0
    (line,) = parts(etree.parse(str(out)).getroot(), "stitch-line")
    assert line.get(f"{OURS}even-legs") == "yes"
