"""A result is an input: moved again, and finished again after it was reshaped by hand."""

from __future__ import annotations

import cmath
import copy
import math
from typing import Any

import pytest

from drafting_core.plane.curves import Line
from drafting_core.text.errors import DraftingError
from extension.document.namespaces import LABEL, ours
from extension.document.path_data import parse, path_data
from extension.document.shapes import point_map, transform_of
from extension.drafting.move_and_allow import Request, allow, move
from tests.help.blocks.drawings import circle, marked_front, page, parts, root_of

EXACT = {"clearance": "0"}


def moved(request: Request | None = None, body: str | None = None) -> Any:
    root = root_of(page(body or marked_front()))
    move(root, request or Request())
    return root


def data(root: Any, part: str) -> list[str]:
    return [element.get("d") for element in parts(root, part)]


def nodes(text: str) -> list[complex]:
    return [z for path in parse(text) for segment in path.segments for z in segment]


def near(ones: list[complex], others: list[complex]) -> float:
    return max(min(abs(a - b) for b in others) for a in ones)


def test_only_one_layer_is_added_and_it_is_described() -> None:
    root = root_of(page(marked_front()))
    before = len(root)
    move(root, Request())
    assert len(root) == before + 1
    layer = root[-1]
    assert layer.get(ours("result")) == "1"
    assert layer.get(LABEL) == "Dart at side seam 35%, Front"
    assert [sheet.get(LABEL) for sheet in layer] == [
        "Sheet",
        "Trim window",
        "Cut line",
        "Dart",
        "Stitch line",
        "Marks",
    ]
    for element in layer.iter():
        if element.get("id") and element.get(ours("part")):
            assert element.get(ours("self")) == element.get("id")
        if element.tag.endswith("}g"):
            assert element.get("transform") is None
            assert element.get(ours("part")) is None


def test_away_and_back_the_stitch_line_is_the_original() -> None:
    root = moved(Request(given=EXACT, to="side seam:0.35"))
    # The old mouth is where the two halves of the waist meet again.
    away = parse(data(root, "stitch-line")[0])[0].segments
    apex = 95 + 260j
    reach = abs(80 + 400j - apex)
    node = next(s.end for s in away if abs(abs(s.end - apex) - reach) < 1e-9)
    marks = root[-1][-1]
    marks.append(root_of(page(circle("x", node.real, node.imag, 'dartswing:role="target"')))[0])
    move(root, Request(given=EXACT, selection=[root[-1].get("id")], place="over"))
    back = parse(data(root, "stitch-line")[1])[0].segments
    original = parse(root[0][0].get("d"))[0].segments
    assert near([s.start for s in original], [s.start for s in back]) < 1e-6
    for segment in back:
        for k in range(9):
            z = segment.point(k / 8)
            assert min(abs(o.point(o.nearest(z)) - z) for o in original) < 1e-6


def test_allow_redraws_in_place_what_it_drew() -> None:
    root = moved()
    before = {part: data(root, part) for part in ("stitch-line", "cut-line", "cap", "notch")}
    children = len(root)
    allow(root, Request())
    assert len(root) == children
    for part, texts in before.items():
        now = data(root, part)
        assert len(now) == len(texts)
        for old, new in zip(texts, now, strict=True):
            assert near(nodes(new), nodes(old)) < 1e-9
    assert data(root, "stitch-line") == before["stitch-line"]


def test_allow_keeps_the_settings_of_the_run_unless_others_are_given() -> None:
    root = moved(Request(given={"allowance": "20mm", "cloth": "knit"}))
    cut = data(root, "cut-line")[0]
    windows = len(data(root, "trim-window"))
    allow(root, Request())
    assert near(nodes(data(root, "cut-line")[0]), nodes(cut)) < 1e-9
    assert len(data(root, "trim-window")) == windows
    allow(root, Request(given={"allowance": "10mm"}))
    assert near(nodes(data(root, "cut-line")[0]), nodes(cut)) > 5
    stitch = parts(root, "stitch-line")[0]
    assert stitch.get(ours("cloth")) == "knit"
    assert stitch.get(ours("allowance")).startswith("10.0mm")


def test_allow_follows_a_stitch_line_reshaped_by_hand_and_reversed() -> None:
    root = moved()
    stitch = parts(root, "stitch-line")[0]
    segments = parse(stitch.get("d"))[0].segments
    # The corner at neckline and shoulder is pulled 5 mm up, and the path runs the other way.
    old, new = 70 + 0j, 70 - 5j
    shaped = [segment.mapped(lambda z: new if abs(z - old) < 1e-6 else z) for segment in segments]
    text = path_data([s.reversed() for s in reversed(shaped)], closed=True)
    stitch.set("d", text)
    cut = data(root, "cut-line")[0]
    allow(root, Request())
    assert data(root, "stitch-line") == [text]
    top = min(z.imag for z in nodes(data(root, "cut-line")[0]))
    assert top == pytest.approx(min(z.imag for z in nodes(cut)) - 5, abs=3)
    names = {e.get(ours("name")) for e in parts(root, "seam-name")}
    assert names == {"neckline", "shoulder", "armhole", "side seam", "waist", "centre front"}


def test_allow_leaves_duplicates_and_the_drafters_own_things() -> None:
    root = moved()
    layer = root[-1]
    cut = parts(root, "cut-line")[0]
    twin = copy.deepcopy(cut)
    twin.set("id", "cut-line-copy")
    cut.getparent().append(twin)
    own = root_of(page('<path id="frill" d="M 1,1 L 9,9"/>'))[0]
    layer[0].append(own)
    allow(root, Request())
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    assert "frill" in ids
    assert twin.getparent() is not None
    assert twin.get("d") == cut.get("d")


def test_a_result_that_was_moved_as_a_layer_is_redrawn_where_it_lies() -> None:
    root = moved()
    layer = root[-1]
    before = nodes(data(root, "cut-line")[0])
    layer.set("transform", "rotate(30) translate(500,40)")
    allow(root, Request())
    cut = parts(root, "cut-line")[0]
    turn = cmath.rect(1.0, math.radians(30))
    assert near(nodes(cut.get("d")), [(z + 500 + 40j) * turn for z in before]) < 1e-6
    # Seen through the layer's transform and its own, it lies where its numbers say.
    to = point_map(transform_of(cut))
    assert max(abs(to(z) - z) for z in nodes(cut.get("d"))) < 1e-9


def test_marks_outside_a_result_never_belong_to_it() -> None:
    root = moved()
    # Another apex beside the drafter's own block: the result does not see it.
    root.append(root_of(page(circle("apex", 95, 262)))[0])
    allow(root, Request())
    assert len(parts(root, "apex")) == 1


def test_a_block_without_a_result_gets_its_allowances_in_a_new_layer() -> None:
    root = root_of(page(marked_front(target="")))
    outcome = allow(root, Request())
    assert root[-1].get(LABEL) == "Seam allowances, Front"
    assert outcome.drafts[0].darts[0].dart.seam.name == "waist"
    assert len(parts(root, "cap")) == 1


def test_a_new_clearance_does_not_move_a_standing_point() -> None:
    root = moved()
    with pytest.raises(DraftingError, match="stands"):
        allow(root, Request(given={"clearance": "10mm"}))


def test_a_second_result_leaves_the_first_as_it_was() -> None:
    root = moved()
    first = copy.deepcopy(root[-1])
    move(root, Request(to="shoulder:0.5"))
    assert [e.get(ours("result")) for e in root[-2:]] == ["1", "1"]
    assert data(root[-2], "cut-line") == data(first, "cut-line")
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))


def test_the_drafters_notches_and_inner_lines_come_along_every_time() -> None:
    own = circle("notch", 239, 228) + '<path inkscape:label="inner line" d="M 20,300 L 60,300"/>'
    root = moved(body=marked_front(more=own))
    legs_and_own = len(parts(root, "notch"))
    assert legs_and_own == 3
    for _ in range(2):
        before = [nodes(text) for text in data(root, "notch")]
        allow(root, Request())
        after = [nodes(text) for text in data(root, "notch")]
        assert len(after) == legs_and_own
        for old, new in zip(before, after, strict=True):
            assert near(new, old) < 1e-9
    assert len(parts(root, "inner-line")) == 1


def bent_by(root: Any, by: float) -> Any:
    """A result of which a leg is bent half-way, out of the dart, and its dart point."""
    stitch = parts(root, "stitch-line")[0]
    point = parts(root, "dart-point")[0]
    corner = complex(float(point.get("cx")), float(point.get("cy")))
    segments = parse(stitch.get("d"))[0].segments
    k = next(i for i, s in enumerate(segments) if abs(s.end - corner) < 1e-6)
    leg = segments[k]
    bent = leg.point(0.5) - by * 1j * (leg.end - leg.start) / abs(leg.end - leg.start)
    segments[k : k + 1] = [Line(leg.start, bent), Line(bent, leg.end)]
    stitch.set("d", path_data(segments, closed=True))
    return point


@pytest.mark.parametrize("by", [-2.9, 2.9])
def test_a_leg_that_was_bent_by_less_than_3_mm_stays_so(by: float) -> None:
    root = moved()
    bent_by(root, by)
    drawn = parts(root, "stitch-line")[0].get("d")
    allow(root, Request())
    assert parts(root, "stitch-line")[0].get("d") == drawn
    assert len(parts(root, "cap")) == 1


def test_a_leg_that_was_bent_further_is_refused_with_its_bow() -> None:
    root = moved()
    bent_by(root, 6.0)
    with pytest.raises(DraftingError, match=r"bow by 6\.0 mm"):
        allow(root, Request())


def test_allow_refuses_to_lose_a_dart_whose_leg_was_bent() -> None:
    root = moved()
    point = bent_by(root, -26.0)
    with pytest.raises(DraftingError, match="neither is the other turned"):
        allow(root, Request())
    point.getparent().remove(point)
    allow(root, Request())
    assert not parts(root, "cap")


def test_a_stitch_line_that_lost_its_marks_is_said() -> None:
    root = moved()
    stitch = parts(root, "stitch-line")[0]
    for name in list(stitch.attrib):
        if name.startswith("{urn:dartswing:1}"):
            del stitch.attrib[name]
    with pytest.raises(DraftingError, match="lost what says"):
        allow(root, Request())
    with pytest.raises(DraftingError, match="lost what says"):
        move(root, Request(to="waist", selection=[root[-1].get("id")]))


def test_a_duplicated_result_layer_is_redrawn_like_any_other() -> None:
    root = moved()
    twin = copy.deepcopy(root[-1])
    for element in twin.iter():
        element.set("id", f"{element.get('id')}-twin")
    root.append(twin)
    count = len([e for e in twin.iter() if e.get(ours("part"))])
    allow(root, Request(selection=[twin.get("id")]))
    assert len([e for e in twin.iter() if e.get(ours("part"))]) == count
    assert len(parts(twin, "cut-line")) == 1


def test_a_selected_result_without_a_target_says_what_counts_in_it() -> None:
    root = moved()
    with pytest.raises(DraftingError, match="only attributes count"):
        move(root, Request(selection=[root[-1].get("id")]))


def test_legs_left_uneven_by_hand_are_told_in_the_first_line() -> None:
    root = root_of(page(marked_front()))
    move(root, Request())
    stitch = parts(root, "stitch-line")[0]
    ends = [parse(leg.get("d"))[0].segments[0].start for leg in parts(root, "dart-leg")]
    point = parse(parts(root, "dart-leg")[0].get("d"))[0].segments[-1].end
    longer = ends[0] + (ends[0] - point) / abs(ends[0] - point) * 2.0
    segments = [
        segment._replace(
            **{
                name: longer
                for name in ("start", "end")
                if abs(getattr(segment, name) - ends[0]) < 1e-6
            }
        )
        for segment in parse(stitch.get("d"))[0].segments
    ]
    stitch.set("d", path_data(segments, closed=True))
    outcome = allow(root, Request())
    # The first line of the note, which is as wide as its column.
    told = [" ".join("".join(row.itertext()) for row in note[:3]) for note in parts(root, "note")]
    assert any("differ by 2.0 mm" in line for line in told)
    assert max(item.folded.most for item in outcome.drafts[0].darts) < 0.05
