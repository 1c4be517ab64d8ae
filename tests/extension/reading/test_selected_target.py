"""A small selected object on a seam is the target, and that is said; or it is refused, in words."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drafting_core.text.errors import DraftingError
from extension.drafting.move_and_allow import Outcome, Request, move
from extension.marking.mark_block import mark_block
from tests.help.blocks.drawings import (
    NS,
    OUTLINE_DATA,
    TARGET,
    circle,
    layer,
    marked_front,
    page,
    parts,
    root_of,
)

#: Small objects whose centre is (236.5, 273), on the side seam, without a role.
SMALL = {
    "a dot": '<circle id="dot" cx="236.5" cy="273" r="2"/>',
    "a ring": '<ellipse id="dot" cx="236.5" cy="273" rx="9" ry="4"/>',
    "a square": '<rect id="dot" x="234.5" y="271" width="4" height="4"/>',
    "a tick": '<path id="dot" d="M 230.5,271 L 242.5,275"/>',
    "a cross": '<g id="dot"><path d="M 232.5,273 h 8"/><path d="M 236.5,269 v 8"/></g>',
    "a clone": '<use id="dot" href="#round" x="200" y="200"/>',
    "a named one": '<circle id="dot" inkscape:label="my spot" cx="236.5" cy="273" r="2"/>',
}
ROUND = '<defs><circle id="round" cx="36.5" cy="73" r="3"/></defs>'
UNMARKED = f'<path id="block" d="{OUTLINE_DATA}"/>'


def moved(body: str, *select: str, to: str = "") -> tuple[Any, Outcome]:
    root = root_of(page(body))
    return root, move(root, Request(selection=select, to=to))


def refusal(body: str, *select: str) -> str:
    with pytest.raises(DraftingError) as refused:
        moved(body, *select)
    return str(refused.value)


def stitch_line(root: Any) -> str:
    (line,) = parts(root, "stitch-line")
    return str(line.get("d"))


LABELLED = stitch_line(moved(marked_front())[0])


@pytest.mark.parametrize("small", SMALL)
@pytest.mark.parametrize("select", [["dot"], ["dot", "block"], ["dot", "peak"]])
@pytest.mark.parametrize("home", ["its layer", "another layer", "no layer"])
def test_a_small_selected_object_on_a_seam_is_the_target(
    small: str, select: list[str], home: str
) -> None:
    apex = circle("apex", 95, 260, 'id="peak"')
    dot = SMALL[small]
    if home == "its layer":
        body = marked_front(apex=apex, target=dot)
    else:
        body = marked_front(apex=apex, target="") + (layer(dot, "L") if "an" in home else dot)
    root, outcome = moved(ROUND + body, *select)
    assert stitch_line(root) == LABELLED
    (said,) = [note for note in outcome.notes if "taken as the target" in note]
    assert re.search(r'"(dot|my spot)".*the side seam', said)
    # It stands in the note beside the piece, and nothing is written on her object.
    lines = (line for note in parts(root, "note") for line in note.itertext())
    assert "is taken as the target" in " ".join(" ".join(lines).split())
    (own,) = root.xpath("//*[@id='dot']")
    assert not [key for key in own.attrib if "dartswing" in str(key)]


def test_after_mark_a_block_there_is_no_second_dialog() -> None:
    root = root_of(page(layer(UNMARKED + SMALL["a dot"])))
    mark_block(root, ["block"])
    outcome = move(root, Request(selection=["dot"]))
    (opening,) = outcome.report["blocks"][0]["openings"]  # type: ignore[index]
    assert opening["seam"] == "side seam"
    assert stitch_line(root) == LABELLED


@given(along=st.floats(0.02, 0.98), off=st.floats(-30, 30), radius=st.floats(0.5, 40))
def test_what_is_taken_goes_where_a_labelled_mark_would(
    along: float, off: float, radius: float
) -> None:
    """It is never taken where it is large or far off, and never goes elsewhere."""
    start, end = 230 + 390j, 240 + 210j
    outwards = (end - start) / abs(end - start) * 1j
    at = start + along * (end - start) + off * outwards
    dot = f'<circle id="dot" cx="{at.real!r}" cy="{at.imag!r}" r="{radius!r}"/>'
    is_small = 2 * radius <= math.hypot(240, 400) / 20
    body = marked_front(target=dot)
    assume(abs(abs(off) - 20) > 1e-6)
    if not is_small or abs(off) > 20:
        assert re.search("too large|too far", refusal(body, "dot"))
        return
    root, _outcome = moved(body, "dot")
    labelled = dot.replace("<circle", '<circle inkscape:label="target"')
    assert stitch_line(root) == stitch_line(moved(marked_front(target=labelled))[0])


REFUSED = {
    "two at equal claim": (
        SMALL["a dot"] + circle("", 40, 400, 'id="other"'),
        ["dot", "other"],
        ['"dot" and "other" lie on seams', "each may be meant", "Select the one"],
    ),
    "two, with the outline": (
        SMALL["a dot"] + circle("", 40, 400, 'id="other"'),
        ["block", "dot", "other"],
        ['"dot" and "other"', "each may be meant"],
    ),
    "a large one": (
        '<rect id="dot" x="186.5" y="223" width="100" height="100"/>',
        ["dot"],
        ['"dot": it lies on the side seam', "too large", "100 mm", "23.3 mm is the most"],
    ),
    "one far off": (
        '<circle id="dot" cx="200" cy="273" r="2"/>',
        ["dot"],
        ['"dot": it lies 36.4 mm from the side seam', "too far"],
    ),
    "one beside a target mark": (
        circle("target", 40, 400, 'id="mark"') + SMALL["a dot"],
        ["dot"],
        ['"dot" lies on the side seam', '"target" (id mark)', "Select nothing", "role none"],
    ),
    "one that carries a role": (circle("notch", 236.5, 273, 'id="dot"'), ["dot"], ["no target"]),
    "a text": ('<text id="dot" x="236.5" y="273">here</text>', ["dot"], ["touches no block"]),
    "all of a row of buttons": (
        "".join(f'<circle id="b{n}" cx="0" cy="{100 + 20 * n}" r="4"/>' for n in range(14)),
        [*(f"b{n}" for n in range(14)), "block"],
        ["no target"],
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_not_clear_is_refused_in_plain_words(name: str) -> None:
    drawn, select, words = REFUSED[name]
    said = refusal(marked_front(target=drawn), *select)
    for part in words:
        assert part in said


def test_of_two_selected_objects_the_one_on_the_seam_is_meant() -> None:
    near = '<circle id="near" cx="226" cy="330" r="2"/>'
    root, outcome = moved(marked_front(target=SMALL["a dot"] + near), "near", "dot")
    assert stitch_line(root) == LABELLED
    assert any('"dot" is selected and lies on' in note for note in outcome.notes)
    _root, alone = moved(marked_front(target=near), "near")
    assert any('"near" is selected and lies 7.' in note for note in alone.notes)


def test_her_own_target_mark_holds_where_she_selects_the_block() -> None:
    body = marked_front(target=TARGET + circle("", 40, 400, 'id="dot"'))
    root, outcome = moved(body, "block", "dot")
    assert stitch_line(root) == LABELLED
    assert any('"dot" is not taken as a target' in note for note in outcome.notes)


def test_a_place_in_words_goes_before_it_and_that_is_said() -> None:
    body = marked_front(target=SMALL["a dot"])
    root, outcome = moved(body, "dot", to="waist:0.2")
    assert stitch_line(root) == stitch_line(moved(marked_front(target=""), to="waist:0.2")[0])
    assert any('"dot" was not used, since a place is named' in note for note in outcome.notes)
    two = marked_front(target=SMALL["a dot"] + circle("", 40, 400, 'id="other"'))
    assert stitch_line(moved(two, "block", "dot", "other", to="waist:0.2")[0]) == stitch_line(root)


def test_a_block_that_cannot_be_read_is_told_of_with_its_own_fault() -> None:
    body = marked_front(apex=circle("apex", 280, 260), target=SMALL["a dot"])
    assert "outside" in refusal(body, "dot")
    assert "no apex" in refusal(marked_front(apex="", target=SMALL["a dot"]), "dot")


def test_the_object_is_the_target_of_the_block_that_it_lies_on() -> None:
    other = f'<g transform="translate(400,0)">{marked_front(target="")}</g>'.replace(
        'id="block"', 'id="second"'
    )
    dot = '<circle id="dot" cx="636.5" cy="273" r="2"/>'
    root, outcome = moved(marked_front(target="") + other + dot, "dot")
    assert [draft.block.apex for draft in outcome.drafts] == pytest.approx([495 + 260j])
    assert len(root.findall(".//*[@dartswing:result]", NS)) == 1


@pytest.mark.parametrize("known", ["known length 100mm"])
def test_on_a_scan_true_lengths_count(known: str) -> None:
    ruler = f'<path inkscape:label="{known}" d="M 10,420 L 60,420"/>'
    # 18 mm in the drawing are 36 true mm, of a block that is 933 mm across: no more than 46.
    dot = '<circle id="dot" cx="236.5" cy="273" r="9"/>'
    root, _outcome = moved(marked_front(target=dot, more=ruler), "dot")
    labelled = moved(marked_front(more=ruler))[0]
    assert stitch_line(root) == stitch_line(labelled)


def test_comparing_places_takes_marks_alone() -> None:
    from extension.comparing.compare_places import compare

    with pytest.raises(DraftingError, match="touches no block"):
        compare(root_of(page(marked_front(target=SMALL["a dot"]))), Request(selection=["dot"]))


def test_marks_of_a_result_and_signs_are_nobodys_target() -> None:
    root, _outcome = moved(marked_front())
    notch = next(e for e in parts(root, "notch"))
    with pytest.raises(DraftingError):
        move(root, Request(selection=[str(notch.get("id"))]))
