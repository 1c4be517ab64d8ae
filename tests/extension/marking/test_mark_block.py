"""Mark a block: what it finds, that its marks work, and that it leaves the rest alone."""

from __future__ import annotations

import copy
import random
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from drafting_core.text.errors import DraftingError
from extension.document.roles import role_of
from extension.document.shapes import box_of, centre_of
from extension.drafting.move_and_allow import Request, move
from extension.marking.mark_block import mark_block
from extension.reading.read_blocks import read_drawing
from tests.help.blocks.drawings import NS, OUTLINE_DATA, SEAMS, circle, layer, page, parts, root_of
from tests.help.blocks.random_blocks import Block, random_block
from tests.help.blocks.random_drawings import to_svg

SAMPLES = Path(__file__).parents[3] / "sample_svgs"
LABEL = f"{{{NS['inkscape']}}}label"
OURS = f"{{{NS['dartswing']}}}"
PLAIN = f'<path id="block" d="{OUTLINE_DATA}" style="fill:none;stroke:#000"/>'
LOCKED = (
    'xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd" '
    'sodipodi:insensitive="true"'
)
#: A square front whose waist and shoulder dart both end short of one apex, at (120, 200).
TWO_DARTS = (
    "M 0 400 L 0 80 C 40 80 70 50 70 10 L 132 22 L 124.5 170 L 150 22.6 L 200 40 "
    "C 190 110 200 180 240 200 L 230 400 L 160 400 L 120 230 L 80 400 Z"
)


def text_of(root: Any) -> bytes:
    return bytes(etree.tostring(root))


def called(root: Any, identity: str) -> Any:
    return next(e for e in root.iter() if e.get("id") == identity)


def marks_of(root: Any, word: str) -> list[Any]:
    found = root.iterfind(f".//*[@dartswing:role='{word}']", NS)
    return [element for element in found if element.get(f"{OURS}of")]


def mark_called(root: Any, name: str) -> Any:
    (mark,) = [m for m in marks_of(root, "seam") if m.get(f"{OURS}name") == name]
    return mark


def stitch_line(root: Any, to: str, select: str = "") -> str:
    """Move the dart on a copy, and return the result's stitch line."""
    moved = copy.deepcopy(root)
    move(moved, Request(to=to, selection=[select] if select else []))
    (line,) = parts(moved, "stitch-line")
    return str(line.get("d"))


def without_marks(text: str) -> Any:
    """Return a drawing with every role taken out, and its outline called "block"."""
    root = root_of(re.sub(r"<\?xml.*?\?>", "", text))
    for element in list(root.iter()):
        if not isinstance(element.tag, str) or element.getparent() is None:
            continue
        if element.getroottree().getroot() is not root or not _is_in(root, element):
            continue
        role = role_of(element)
        if role is None:
            continue
        if role.word != "outline":
            element.getparent().remove(element)
            continue
        element.set("id", "block")
        for key in (LABEL, *(k for k in element.attrib if str(k).startswith(OURS))):
            element.attrib.pop(key, None)
        for child in element:
            child.attrib.pop(LABEL, None)
    return root


def _is_in(root: Any, element: Any) -> bool:
    return root is element or any(a is root for a in element.iterancestors())


def unmarked(seed: int, kind: str, style: str, source: str | None = None) -> tuple[Block, Any]:
    rng = random.Random(seed)
    block = random_block(rng, kind, source)
    return block, without_marks(to_svg(block, rng, named=False, style=style).text)


def bare(root: Any) -> list[tuple[str, dict[str, str]]]:
    """Return every object outside the layer of marks, without labels and attributes of ours."""
    return [
        (
            str(e.tag),
            {
                str(k): str(v)
                for k, v in e.attrib.items()
                if k != LABEL and not str(k).startswith(OURS)
            },
        )
        for e in root.iter()
        if isinstance(e.tag, str)
        and not any("dartswing-marks" in str(a.get("id")) for a in (e, *e.iterancestors()))
    ]


@pytest.mark.thorough
@pytest.mark.parametrize("kind", ["front", "back", "skirt", "sleeve"])
@given(seed=st.integers(0, 10**6), style=st.sampled_from(["path", "group"]))
def test_a_marked_block_moves_as_one_marked_by_hand(kind: str, style: str, seed: int) -> None:
    _block, root = unmarked(seed, kind, style)
    before = bare(root)
    told = mark_block(root, ["block"])
    assert len(told) == 2
    assert bare(root) == before
    once = text_of(root)
    assert mark_block(root, ["block"]) == told
    assert text_of(root) == once
    by_hand = copy.deepcopy(root)
    for mark in marks_of(by_hand, "seam"):
        mark.getparent().remove(mark)
    (other,) = marks_of(by_hand, "apex")
    box = box_of(other)
    other.getparent().remove(other)
    by_hand.append(
        root_of(page(circle("apex", (box.left + box.right) / 2, (box.top + box.bottom) / 2), ""))[0]
    )
    place = "seam 1:0.4" if not marks_of(root, "seam") else "side seam:0.4"
    assert moved_or_refused(root, place) == moved_or_refused(by_hand, place)


def moved_or_refused(root: Any, place: str) -> str:
    try:
        return stitch_line(root, place, "block")
    except DraftingError as error:
        return error.what


@given(seed=st.integers(0, 10**6), kind=st.sampled_from(["front", "back", "skirt"]))
def test_the_apex_is_proposed_at_the_darts_point(seed: int, kind: str) -> None:
    _block, root = unmarked(seed, kind, "path")
    mark_block(root, ["block"])
    (apex,) = marks_of(root, "apex")
    box = box_of(apex)
    at = complex(box.left + box.right, box.top + box.bottom) / 2
    from extension.document.shapes import mapped_subpaths

    outline = called(root, "block")
    nodes = [s.start for path in mapped_subpaths(outline) for s in path.segments]
    point = min(nodes, key=lambda z: abs(z - at))
    assert abs(point - at) < 1e-6
    assert apex.get(f"{OURS}why") == "point"


@given(seed=st.integers(0, 10**6), kind=st.sampled_from(["front", "back", "skirt"]))
def test_every_seam_mark_lies_inside_and_names_its_own_seam(seed: int, kind: str) -> None:
    from extension.reading.block_marks import core_block
    from extension.reading.read_blocks import read_drawing

    _block, root = unmarked(seed, kind, "path")
    mark_block(root, ["block"])
    drawing = read_drawing(root)
    (source,) = drawing.blocks
    core = core_block(source, drawing)
    assert {mark.label.name for mark in core.seam_marks} == {
        str(mark.get(f"{OURS}name")) for mark in marks_of(root, "seam")
    }


@pytest.mark.parametrize(
    "name",
    [
        "front_one_path",
        "front_seam_by_seam",
        "front_two_darts",
        "front_straight_waist",
        "back_two_darts",
        "skirt_front_waist_dart",
    ],
)
def test_a_sample_stripped_of_its_marks_moves_as_with_them(name: str) -> None:
    text = (SAMPLES / f"{name}.svg").read_text(encoding="utf-8")
    drawn = root_of(re.sub(r"<\?xml.*?\?>", "", text))
    root = without_marks(text)
    mark_block(root, ["block"])
    for mark in [m for m in drawn.iter() if str(m.get("id")).startswith("dart-")]:
        # Both darts of the sample are marked; proposed is the one that moves without a mark.
        mark.getparent().remove(mark)
    place = "side seam:0.35" + (" from waist" if name == "back_two_darts" else "")
    found, expected = (stitch_line(r, place) for r in (root, drawn))
    numbers = [[float(n) for n in re.findall(r"-?\d+\.\d+", d)] for d in (found, expected)]
    assert numbers[0] == pytest.approx(numbers[1], abs=1e-6)


def front(body: str = "", data: str = OUTLINE_DATA, more: str = "") -> Any:
    return root_of(page(layer(f'<path id="block" d="{data}"/>{body}', more=more)))


@pytest.mark.parametrize(
    "drawn",
    [
        '<circle id="dot" cx="95.5" cy="232" r="2"/>',
        '<path id="dot" d="M 93 232 H 97 M 95 230 V 234"/>',
        '<g id="dot"><path d="M 93 232 H 97"/><path d="M 95 230 V 234"/></g>',
        circle("bust point", 95, 232, 'id="dot"'),
    ],
)
def test_her_own_small_object_on_the_middle_line_is_the_apex(drawn: str) -> None:
    root = front(drawn)
    mark_block(root, ["block"])
    assert not marks_of(root, "apex")
    dot = called(root, "dot")
    role = role_of(dot)
    assert role is not None
    assert role.word == "apex"
    assert stitch_line(root, "side seam:0.35")


@pytest.mark.parametrize(
    "drawn",
    [
        '<circle id="dot" cx="150" cy="232" r="2"/>',
        '<circle id="dot" cx="95" cy="330" r="2"/>',
        '<circle id="dot" cx="95" cy="200" r="40"/>',
        '<path id="dot" d="M 85 232 H 105"/>',
        circle("notch", 95, 232, 'id="dot"'),
    ],
)
def test_what_lies_elsewhere_or_is_something_else_is_no_apex(drawn: str) -> None:
    root = front(drawn)
    before = text_of(called(root, "dot"))
    mark_block(root, ["block"])
    assert len(marks_of(root, "apex")) == 1
    assert text_of(called(root, "dot")) == before


#: A sign on the dart's middle line, and what may stand beside it.
SIGN = '<circle id="dot" cx="95.5" cy="232" r="2"/>'
BUTTON = '<circle id="button" cx="8" cy="9" r="3"/>'


@pytest.mark.parametrize(
    "beside",
    [
        '<use href="#button" x="20" y="200"/>',
        '<use href="#button" x="95" y="220"/>',
        '<use href="#gone"/>',
        '<circle cx="103" cy="236" r="3"/>',
        '<g><use href="#button" x="95" y="220"/></g>',
    ],
)
@pytest.mark.parametrize("deep", [1, 2])
def test_what_stands_in_a_group_beside_a_sign_does_not_hide_it(beside: str, deep: int) -> None:
    group = "<g>" * deep + beside + SIGN + "</g>" * deep
    root = front(f"{group}<g>{BUTTON}</g>")
    told = mark_block(root, ["block"])
    assert "where you marked it" in told[0]
    (apex,) = read_drawing(root).blocks[0].marked("apex")
    # A group in which nothing else is seen is the sign itself.
    assert apex.element is called(root, "dot") or "gone" in beside
    assert centre_of(apex.element) == 95.5 + 232j


@pytest.mark.parametrize(
    "sign",
    [
        '<use id="dot" href="#button" x="87.5" y="223"/>',
        '<use id="dot" href="#cross" x="85.5" y="222" width="20" height="20"/>',
        '<g><use id="dot" href="#button" x="87.5" y="223"/><use href="#button" x="120"/></g>',
    ],
)
def test_a_clone_is_taken_for_the_apex_by_its_centre(sign: str) -> None:
    cross = '<symbol id="cross" viewBox="0 0 10 10"><path d="M 4,5 H 6 M 5,4 V 6"/></symbol>'
    root = front(f"<defs>{cross}</defs>{BUTTON}{sign}")
    for select in (["block"], ["block", "dot"]):
        again = copy.deepcopy(root)
        told = mark_block(again, select)
        assert "where you marked it" in told[0]
        drawn = front('<circle inkscape:label="apex" cx="95.5" cy="232" r="2"/>')
        mark_block(drawn, ["block"])
        assert stitch_line(again, "side seam:0.35") == stitch_line(drawn, "side seam:0.35")


@pytest.mark.parametrize("aside", ['style="display:none"', LOCKED])
def test_what_is_hidden_or_locked_is_left_alone(aside: str) -> None:
    old = f'<g {aside}>{SIGN}<path d="M 0 0 h 100 v 100 h -100 z"/></g>'
    root = front(old)
    before = text_of(called(root, "dot"))
    assert "the dart's own point" in mark_block(root, ["block"])[0]
    assert text_of(called(root, "dot")) == before


def test_two_darts_propose_the_meeting_of_their_middle_lines() -> None:
    root = front(data=TWO_DARTS)
    told = mark_block(root, ["block"])
    (apex,) = marks_of(root, "apex")
    assert apex.get(f"{OURS}why") == "meeting"
    assert len(marks_of(root, "dart")) == 1
    assert "2 darts" in told[0]
    assert stitch_line(root, "side seam:0.35")


def test_marks_that_are_dragged_are_honoured() -> None:
    root = front()
    mark_block(root, ["block"])
    by_hand = front(
        circle("apex", 95, 250) + "".join(circle(f"seam {name}", *at) for name, at in SEAMS.items())
    )
    by_hand[0][0].set(LABEL, "outline")
    (apex,) = marks_of(root, "apex")
    apex.set("transform", "translate(0,-10)")
    expected = stitch_line(by_hand, "side seam:0.35")
    found = stitch_line(root, "side seam:0.35")
    numbers = [[float(n) for n in re.findall(r"-?\d+\.\d+", d)] for d in (found, expected)]
    assert numbers[0] == pytest.approx(numbers[1], abs=1e-6)
    told = mark_block(root, ["block"])
    assert "where you marked it" in told[0]
    # A seam's mark dragged to another seam names that one.
    waist, side = mark_called(root, "waist"), mark_called(root, "side seam")
    places = [(m.get("x"), m.get("y")) for m in (waist, side)]
    for mark, (x, y) in zip((side, waist), places, strict=True):
        mark.set("x", x)
        mark.set("y", y)
        mark.attrib.pop("transform", None)
    assert stitch_line(root, "waist:0.35") != stitch_line(root, "side seam:0.35")
    moved = copy.deepcopy(root)
    outcome = move(moved, Request(to="waist:0.35"))
    (opening,) = outcome.report["blocks"][0]["openings"]  # type: ignore[index]
    assert opening["point_mm"][0] > 95


@pytest.mark.parametrize("way", ["label", "text", "attribute"])
def test_marks_that_are_renamed_are_honoured(way: str) -> None:
    root = front()
    mark_block(root, ["block"])
    mark = mark_called(root, "side seam")
    if way == "label":
        mark.set(LABEL, "seam flank 20mm")
    elif way == "text":
        mark.text = "flank"
    else:
        mark.set(f"{OURS}name", "flank")
    role = role_of(mark)
    assert role is not None
    assert role.label is not None
    assert role.label.name == "flank"
    assert role.label.allowance == (20.0 if way == "label" else None)
    assert stitch_line(root, "flank:0.35")
    with pytest.raises(DraftingError, match="side seam"):
        stitch_line(root, "side seam:0.35")


def test_marks_that_are_deleted_are_missed_and_proposed_anew() -> None:
    root = front()
    mark_block(root, ["block"])
    (apex,) = marks_of(root, "apex")
    apex.getparent().remove(apex)
    with pytest.raises(DraftingError, match="apex"):
        stitch_line(root, "side seam:0.35")
    mark = mark_called(root, "waist")
    mark.getparent().remove(mark)
    mark_block(root, ["block"])
    assert len(marks_of(root, "apex")) == 1
    assert mark_called(root, "waist") is not None


def test_her_own_seam_names_stay_and_are_not_doubled() -> None:
    root = front(circle("seam Flank", 232, 354) + circle("seam waistline 20mm", 160, 396))
    mark_block(root, ["block"])
    # One of her names speaks against the shape's reading: nothing more is guessed.
    assert not marks_of(root, "seam")
    root = front(circle("seam waistline 20mm", 160, 396))
    mark_block(root, ["block"])
    assert {m.get(f"{OURS}name") for m in marks_of(root, "seam")} == set(SEAMS) - {"waist"}


def test_her_own_label_of_the_path_becomes_the_pieces_name() -> None:
    root = root_of(page(PLAIN.replace("<path", '<path inkscape:label="Vest, left"')))
    told = mark_block(root, ["block"])
    assert told[0].startswith("Vest, left: ")
    outcome = move(root, Request(to="side seam:0.35"))
    assert outcome.report["blocks"][0]["name"] == "Vest, left"  # type: ignore[index]
    # In a layer that names the piece, the label is kept for the day that the mark goes.
    root = root_of(page(layer(PLAIN.replace("<path", '<path inkscape:label="line 7"'))))
    assert mark_block(root, ["block"])[0].startswith("Front: ")
    from extension.marking.mark_parts import MarkRequest, mark_parts

    mark_parts(root, MarkRequest("none", {}, ["block"]))
    assert root[0][0].get(LABEL) == "line 7"


def test_several_blocks_share_one_layer_of_marks() -> None:
    shifted = '<g transform="translate(20,10)"><path id="other" d="' + OUTLINE_DATA + '"/></g>'
    root = root_of(page(layer(PLAIN) + layer(shifted, "Second")))
    told = mark_block(root, ["block", "other"])
    assert len(told) == 4
    assert len(root.findall(f"./*[@{LABEL}='Marks']")) == 1
    assert len(marks_of(root, "apex")) == 2
    # They overlap, and each mark still is its own block's.
    first, second = (stitch_line(root, "side seam:0.35", which) for which in ("block", "other"))
    numbers = [[float(n) for n in re.findall(r"-?\d+\.\d+", d)] for d in (first, second)]
    shifts = [b - a for a, b in zip(*numbers, strict=True)]
    assert shifts[::2] == pytest.approx([20] * (len(shifts) // 2), abs=1e-6)
    assert shifts[1::2] == pytest.approx([10] * (len(shifts) // 2), abs=1e-6)
    once = text_of(root)
    mark_block(root, ["other"])
    mark_block(root, ["block"])
    assert text_of(root) == once


def test_the_layer_may_be_moved_as_a_whole_and_new_marks_still_fit() -> None:
    root = front()
    mark_block(root, ["block"])
    layer_of_marks = marks_of(root, "apex")[0].getparent()
    layer_of_marks.set("transform", "translate(5,0)")
    apex = marks_of(root, "apex")[0]
    layer_of_marks.remove(apex)
    mark_block(root, ["block"])
    box = box_of(marks_of(root, "apex")[0])
    assert (box.left + box.right) / 2 == pytest.approx(95, abs=1e-9)


@pytest.mark.parametrize(
    ("body", "select", "said"),
    [
        (PLAIN, [], ["a selection", '"block"', "Mark a block"]),
        ("", [], ["nothing is selected", "closed path"]),
        ('<path id="a" d="M 0 0 H 100 V 100 H 0 Z"/>', ["a"], ["100.0 mm high", "a dart"]),
        ('<path id="a" d="M 0 0 H 100"/>', ["a"], ["open path", "no closed path", "Group"]),
        ('<text id="a" x="1" y="2">x</text>', ["a"], ["is a text", "Object to Path"]),
        ('<path id="b" d="M 0 0 H 9"/><use id="a" href="#b"/>', ["a"], ["clone", "Unlink Clone"]),
        (layer("", "L", 'id="a"'), ["a"], ["is a layer", "no closed path in"]),
        (circle("hold", 5, 5, 'id="a"'), ["a"], ['marked as "hold"', "role none"]),
        (PLAIN.replace(" Z", " Z M 9 9 H 8 V 8 Z"), ["block"], ["2 subpaths", "Break Apart"]),
    ],
)
def test_a_wrong_selection_is_told_of_and_mended(
    body: str, select: list[str], said: list[str]
) -> None:
    root = root_of(page(body))
    before = text_of(root)
    with pytest.raises(DraftingError) as refused:
        mark_block(root, select)
    for words in said:
        assert words in str(refused.value)
    assert text_of(root) == before


@pytest.mark.parametrize("frame", ["L", "G"])
def test_a_group_or_layer_around_a_closed_path_means_that_path(frame: str) -> None:
    inside = PLAIN + '<circle id="dot" cx="95.5" cy="232" r="2"/>'
    body = layer(inside, more='id="all"') if frame == "L" else f'<g id="all">{inside}</g>'
    root = root_of(page(body))
    mark_block(root, ["all"])
    block = called(root, "block")
    assert block.get(LABEL) == "outline"
    role = role_of(called(root, "dot"))
    assert role is not None
    assert role.word == "apex"


def test_a_part_of_a_marked_outline_means_that_outline() -> None:
    text = (SAMPLES / "front_seam_by_seam.svg").read_text(encoding="utf-8")
    root = root_of(re.sub(r"<\?xml.*?\?>", "", text))
    (outline,) = [e for e in root.iter() if e.get(LABEL) == "outline"]
    told = mark_block(root, [str(outline[0].get("id"))])
    assert "one dart found" in told[0]


def test_dots_selected_with_a_block_are_no_blocks() -> None:
    root = front('<circle id="dot" cx="150" cy="100" r="2"/>')
    assert len(mark_block(root, ["block", "dot"])) == 2
    assert role_of(called(root, "dot")) is None


def test_a_block_with_all_its_marks_stays_as_it_is() -> None:
    root = root_of(re.sub(r"<\?xml.*?\?>", "", (SAMPLES / "front_one_path.svg").read_text("utf-8")))
    (outline,) = [e for e in root.iter() if e.get(LABEL) == "outline"]
    before = text_of(root)
    assert "where you marked it" in mark_block(root, [str(outline.get("id"))])[0]
    assert text_of(root) == before


def test_marks_on_a_scan_lie_where_they_belong() -> None:
    scale = (
        circle("known length 200mm", 0, 0)
        .replace("<circle", "<path")
        .replace("/>", ' d="M 20 420 H 120"/>')
    )
    root = front(scale)
    told = mark_block(root, ["block"])
    assert "800.0 mm high" in told[0]
    box = box_of(marks_of(root, "apex")[0])
    assert complex(box.left + box.right, box.top + box.bottom) / 2 == pytest.approx(95 + 260j)
    assert stitch_line(root, "side seam:0.35")


def test_all_selected_means_the_blocks_among_it() -> None:
    root = front('<circle id="dot" cx="95.5" cy="232" r="2"/>')
    told = mark_block(root, ["block"])
    once = text_of(root)
    everything = [str(e.get("id")) for e in root.iter() if e.get("id") and not e.text]
    everything += [str(mark.get("id")) for mark in marks_of(root, "seam")]
    assert len(everything) > 8
    assert mark_block(root, everything) == told
    assert text_of(root) == once
