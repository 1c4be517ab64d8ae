"""Whose mark is whose, and how an outline is found, in drawings as drafters make them."""

from __future__ import annotations

import pytest

from drafting_core.text.errors import DraftingError
from extension.document.svg_document import parse_document
from extension.drafting.move_and_allow import Outcome, Request, move
from tests.help.blocks.drawings import (
    APEX,
    OUTLINE_DATA,
    SEAMS,
    TARGET,
    circle,
    layer,
    marked_front,
    outline,
    page,
    parts,
    root_of,
    seam_marks,
)


def moved(body: str, request: Request | None = None, attributes: str | None = None) -> Outcome:
    text = page(body) if attributes is None else page(body, attributes)
    return move(root_of(text), request or Request())


def angle(outcome: Outcome, block: int = 0) -> float:
    return float(outcome.report["blocks"][block]["openings"][0]["angle_deg"])  # type: ignore[index]


PLAIN = moved(marked_front())


def seam_by_seam(join: float = 0.0) -> str:
    """The same front as open paths, in no order, some of them the other way round."""
    return (
        '<g inkscape:label="outline">'
        f'<path inkscape:label="Waist" d="M 80,400 L 0,{400 + join}"/>'
        '<path inkscape:label="dart" d="M 95,260 L 80,400"/>'
        '<path inkscape:label="neck 1/4in" d="M 70,0 C 60,50 30,80 0,80"/>'
        '<path inkscape:label="side" d="M 230,390 L 240,210"/>'
        '<path inkscape:label="CF fold" d="M 0,80 L 0,400"/>'
        '<path inkscape:label="waist" d="M 110,400 L 230,390"/>'
        '<path inkscape:label="Dart" d="M 95,260 L 110,400"/>'
        '<path inkscape:label="armscye" d="M 180,40 C 175,150 200,205 240,210"/>'
        '<path inkscape:label="shoulder" d="M 180,40 L 70,0"/>'
        "</g>"
    )


def test_open_paths_in_any_order_are_the_same_block() -> None:
    outcome = moved(layer(seam_by_seam() + APEX + TARGET))
    assert angle(outcome) == pytest.approx(angle(PLAIN), abs=1e-9)
    names = [entry["name"] for entry in outcome.report["blocks"][0]["seams"]]  # type: ignore[index]
    spelled = {"neck", "side", "CF", "Waist", "waist", "armscye", "shoulder"}
    assert set(names) < spelled
    assert len(names) == 6
    draft = outcome.drafts[0]
    assert [seam.fold for seam in draft.piece.seams() if seam.name == "CF"] == [True]
    assert draft.balance.area_before == pytest.approx(PLAIN.drafts[0].balance.area_before)


def test_small_gaps_are_joined_and_larger_ones_are_named() -> None:
    joined = moved(layer(seam_by_seam(join=0.4) + APEX + TARGET))
    assert angle(joined) == pytest.approx(angle(PLAIN), abs=1e-6)
    with pytest.raises(DraftingError, match=r"gap of 2\.00 mm between \(0\.0, 40[02]\.0\)"):
        moved(layer(seam_by_seam(join=2.0) + APEX + TARGET))


def test_a_path_left_over_in_the_group_is_named() -> None:
    extra = '<path inkscape:label="pocket" d="M 20,300 L 60,300"/></g>'
    body = seam_by_seam().replace("</g>", extra)
    with pytest.raises(DraftingError, match="pocket"):
        moved(layer(body + APEX + TARGET))


@pytest.mark.parametrize(
    ("attributes", "scale"),
    [
        ('width="300mm" height="450mm" viewBox="0 0 300 450"', 1.0),
        ('width="30cm" height="45cm" viewBox="0 0 300 450"', 1.0),
        ('width="300" height="450"', 25.4 / 96),
        ('width="300in" height="450in" viewBox="0 0 300 450"', 25.4),
    ],
)
def test_sizes_follow_the_units(attributes: str, scale: float) -> None:
    outcome = moved(marked_front(), Request(given={"clearance": "0"}), attributes)
    block = outcome.report["blocks"][0]  # type: ignore[index]
    assert block["height_mm"] == pytest.approx(400 * scale, rel=1e-9)
    assert block["width_mm"] == pytest.approx(240 * scale, rel=1e-9)
    assert block["openings"][0]["angle_deg"] == pytest.approx(angle(PLAIN), abs=1e-9)


@pytest.mark.parametrize(
    "wrap",
    [
        '<g transform="translate(30,-20)">{}</g>',
        '<g transform="rotate(33)"><g transform="scale(-1,1)">{}</g></g>',
        '<g transform="matrix(0,2,2,0,5,5)">{}</g>',
        '<g transform="scale(0.5)" inkscape:groupmode="layer" inkscape:label="outline">{}</g>',
    ],
)
def test_transforms_turn_and_mirror_the_block_and_its_marks_alike(wrap: str) -> None:
    outcome = moved(wrap.format(marked_front()), Request(given={"clearance": "0"}))
    assert angle(outcome) == pytest.approx(angle(PLAIN), abs=1e-9)
    names = {entry["name"] for entry in outcome.report["blocks"][0]["seams"]}  # type: ignore[index]
    assert names == set(SEAMS)


def test_a_stretched_mark_is_no_harm_but_a_stretched_outline_is() -> None:
    mark = circle("apex", 190, 260, 'transform="scale(0.5,1)"')
    assert angle(moved(marked_front(apex=mark))) == pytest.approx(angle(PLAIN), abs=1e-9)
    with pytest.raises(DraftingError, match="stretched"):
        moved(marked_front(outline(more='transform="scale(1,1.01)"')))


@pytest.mark.parametrize(
    "mark",
    [
        '<path inkscape:label="apex" d="M 90,260 H 100 M 95,255 V 265"/>',
        '<rect inkscape:label="Bust Point" x="93" y="258" width="4" height="4"/>',
        '<ellipse inkscape:label="apex" cx="95" cy="260" rx="3" ry="1"/>',
        '<text inkscape:label="apex" x="95" y="260">a long word beside it</text>',
        '<text inkscape:label="apex"><tspan x="95" y="260">a long word</tspan></text>',
        '<g inkscape:label="apex"><path d="M 94,259 h 2"/><path d="M 94,261 h 2"/></g>',
        '<image inkscape:label="apex" x="90" y="255" width="10" height="10"/>',
        '<circle id="apex_4" cx="95" cy="260" r="2"/>',
        '<circle dartswing:role="apex" cx="95" cy="260" r="2"/>',
    ],
)
def test_any_object_is_a_mark_and_its_centre_counts(mark: str) -> None:
    assert angle(moved(marked_front(apex=mark))) == pytest.approx(angle(PLAIN), abs=1e-9)


def test_a_straight_slash_line_is_a_target() -> None:
    slash = '<path inkscape:label="target" d="M 95,260 L 236.5,273"/>'
    outcome = moved(marked_front(target=slash))
    assert outcome.drafts[0].darts[0].dart.ends[0] == pytest.approx(
        PLAIN.drafts[0].darts[0].dart.ends[0], abs=1e-9
    )


DOT = '<circle id="dot" cx="3" cy="4" r="2"/>'
#: A dot in a layer that is turned, and a symbol: what clones are made of.
ORIGINALS = (
    f'<defs><symbol id="cross" viewBox="0 0 10 10"><path d="M 4,5 H 6 M 5,4 V 6"/></symbol>'
    f'</defs><g transform="translate(400,0) rotate(90)">{DOT}<g id="pair">{DOT}'
    '<path d="M 1,4 h 4"/></g></g>'
)


@pytest.mark.parametrize(
    "clone",
    [
        '<use {said} href="#dot" x="92" y="256"/>',
        '<g transform="translate(1,2)"><use {said} href="#dot" transform="translate(91,254)"/></g>',
        '<use {said} href="#pair" x="92" y="256"/>',
        '<use {said} href="#cross" x="90" y="255" width="10" height="10"/>',
        '<g {said}><use href="#dot" x="92" y="250"/><use href="#dot" x="92" y="262"/></g>',
    ],
)
@pytest.mark.parametrize("said", ['inkscape:label="apex"', 'id="apex-2"', 'dartswing:role="apex"'])
def test_clones_and_symbols_count_as_marks_by_their_centre(clone: str, said: str) -> None:
    body = ORIGINALS + marked_front(apex=clone.format(said=said))
    assert angle(moved(body)) == pytest.approx(angle(PLAIN), abs=1e-9)


def test_every_mark_but_a_line_may_be_a_clone() -> None:
    def clone(label: str, at: complex) -> str:
        shift = at - (3 + 4j)
        return f'<use inkscape:label="{label}" href="#dot" x="{shift.real!r}" y="{shift.imag!r}"/>'

    seams = "".join(clone(f"seam {name}", complex(*at)) for name, at in SEAMS.items())
    more = clone("dart", 95 + 390j) + clone("hold", 40 + 200j) + clone("notch", 238 + 250j)
    cloned = moved(
        ORIGINALS
        + marked_front(
            apex=clone("apex", 95 + 260j),
            target=clone("target", 236.5 + 273j),
            seams=seams,
            more=more,
        )
    )
    more = circle("dart", 95, 390) + circle("hold", 40, 200) + circle("notch", 238, 250)
    assert cloned.report == moved(marked_front(more=more)).report


def test_a_clone_of_a_slash_line_is_the_slash_line_where_it_stands() -> None:
    slash = '<path id="slash" d="M 0,0 C 40,0 100,20 141.5,13"/>'
    drawn = '<path inkscape:label="target" d="M 95,260 C 135,260 195,280 236.5,273"/>'
    clone = '<use inkscape:label="target" href="#slash" x="95" y="260"/>'
    cloned = moved(marked_front(target=clone, more=slash)).report
    assert cloned == moved(marked_front(target=drawn, more=slash)).report


def test_a_clone_of_a_mark_is_a_mark_only_if_it_says_so() -> None:
    marks = (
        '<circle id="a" inkscape:label="apex" cx="95" cy="260" r="2"/>'
        '<use id="u" href="#a" x="20" y="30"/><use id="v" href="#t" x="-80" y="120"/>'
    )
    target = '<circle id="t" dartswing:role="target" cx="236.5" cy="273" r="2"/>'
    body = marked_front(apex=marks, target=target)
    assert moved(body).report == PLAIN.report
    # Nor does a clone of a whole block double its marks.
    twin = f'<g id="whole">{body}</g><use href="#whole" x="400"/>'
    assert moved(twin).report == PLAIN.report
    said = body.replace('id="v"', 'id="v" inkscape:label="target"')
    assert len(moved(said).report["blocks"][0]["openings"]) == 2  # type: ignore[index]


def test_clones_are_refused_where_a_line_is_needed_with_what_to_do() -> None:
    for label in ("outline", "grain", "inner line", "style line", "known length 100mm"):
        clone = f'<use inkscape:label="{label}" href="#block"/>'
        with pytest.raises(DraftingError, match="Unlink"):
            moved(marked_front(more=clone))
    # A clone that carries no role is none of Dartswing's business.
    assert moved(marked_front(more='<use href="#block"/>')).drafts
    lost = '<use inkscape:label="apex" href="#gone"/>'
    with pytest.raises(DraftingError, match="its original is not in this drawing"):
        moved(marked_front(apex=lost))


def test_marks_belong_to_the_block_of_their_own_group() -> None:
    second = f'<g transform="translate(400,0)">{marked_front()}</g>'
    outcome = moved(marked_front(target="") + second)
    assert len(outcome.drafts) == 1
    assert outcome.drafts[0].block.apex == pytest.approx(495 + 260j)


def test_marks_in_a_layer_of_their_own_belong_to_the_outline_they_lie_on() -> None:
    other = f'<g transform="translate(400,0)">{outline()}</g>'
    marks = layer(APEX + TARGET + seam_marks(), "Marks")
    outcome = moved(layer(outline() + other, "Blocks") + marks)
    assert len(outcome.drafts) == 1
    assert outcome.drafts[0].block.apex == pytest.approx(95 + 260j)
    assert len(outcome.drafts[0].block.seam_marks) == len(SEAMS)


def test_two_outlines_may_not_compete_for_one_apex() -> None:
    wide = outline("M -20,-20 H 280 V 420 H -20 Z").replace('id="block"', 'id="other"')
    with pytest.raises(DraftingError, match=r"2 outlines.*block.*other"):
        moved(marked_front(more=wide))


def test_the_selection_picks_blocks() -> None:
    def twin(number: int) -> str:
        return (
            f'<g transform="translate({400 * number},0)">'
            f"{marked_front(outline().replace('block', f'block-{number}'))}</g>"
        )

    text = page(twin(0) + twin(1) + twin(2))
    one = move(root_of(text), Request(selection=["block-1"]))
    assert [draft.block.apex for draft in one.drafts] == pytest.approx([495 + 260j])
    all_three = move(root_of(text), Request())
    assert len(all_three.drafts) == 3
    assert len(all_three.report["blocks"]) == 3  # type: ignore[arg-type]


def test_a_selection_that_touches_nothing_is_said() -> None:
    text = page(marked_front() + '<rect id="cat" x="500" y="0" width="9" height="9"/>')
    with pytest.raises(DraftingError, match=r"cat.*touches no block.*Mark a block"):
        move(root_of(text), Request(selection=["cat"]))


def test_three_selected_objects_without_roles_are_taken_for_what_they_can_only_be() -> None:
    body = (
        f'<path id="a" d="{OUTLINE_DATA}"/><circle id="b" cx="236.5" cy="273" r="2"/>'
        '<circle id="c" cx="95" cy="260" r="2"/>'
    )
    outcome = move(root_of(page(layer(body))), Request(selection=["b", "c", "a"]))
    assert angle(outcome) == pytest.approx(angle(PLAIN), abs=1e-9)
    assert any("Taken from the selection" in note for note in outcome.notes)
    with pytest.raises(DraftingError, match="no outline"):
        move(root_of(page(layer(body))), Request(selection=["b", "c"]))


def test_a_known_length_gives_the_true_scale_and_coordinates_stay() -> None:
    ruler = '<path inkscape:label="known length 100mm" d="M 10,420 L 60,420"/>'
    root = root_of(page(marked_front(more=ruler)))
    outcome = move(root, Request())
    block = outcome.report["blocks"][0]  # type: ignore[index]
    assert block["height_mm"] == pytest.approx(800)
    plain = PLAIN.drafts[0]
    assert outcome.drafts[0].darts[0].dart.clearance == pytest.approx(25.4)
    assert outcome.drafts[0].darts[0].dart.intake == pytest.approx(2 * plain.darts[0].dart.intake)
    (cut,) = parts(root, "cut-line")
    xs = [float(pair.split(",")[0]) for pair in cut.get("d").split() if "," in pair]
    # The centre front of the drawing is at x = 0; its 12.7 mm of allowance are 6.35 drawn.
    assert min(xs) == pytest.approx(-6.35, abs=1e-6)
    (square,) = parts(root, "test-square")
    assert float(square.get("width")) == pytest.approx(25)
    assert block["openings"][0]["point_mm"][0] == pytest.approx(
        outcome.drafts[0].darts[0].dart.point.real / 2
    )


def test_an_undeclared_prefix_is_read_as_ours() -> None:
    text = page(marked_front(apex='<circle dartswing:role="apex" cx="95" cy="260" r="2"/>'))
    bare = text.replace('xmlns:dartswing="urn:dartswing:1" ', "")
    outcome = move(parse_document(bare.encode()).getroot(), Request())
    assert angle(outcome) == pytest.approx(angle(PLAIN), abs=1e-9)


def test_marks_that_contradict_each_other_are_refused() -> None:
    with pytest.raises(DraftingError, match="of 2 apex marks no dart points at the one at"):
        moved(marked_front(more=circle("apex 2", 100, 250)))
    with pytest.raises(DraftingError, match="two names for one seam"):
        moved(marked_front(more=circle("seam yoke", 130, 24)))


def test_where_marks_on_the_two_sides_of_a_mouth_differ_the_seam_ends_there() -> None:
    outcome = moved(marked_front(more=circle("seam yoke", 170, 396)))
    names = {entry["name"] for entry in outcome.report["blocks"][0]["seams"]}  # type: ignore[index]
    assert {"waist", "yoke"} <= names


@pytest.mark.parametrize(
    "before",
    [
        "",
        "<!-- <svg> once had xmlns:dartswing -->",
        '<?xml version="1.0" encoding="UTF-8"?><!-- a comment -->',
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_an_undeclared_prefix_is_ours_wherever_it_is_hidden(before: str, encoding: str) -> None:
    text = page(marked_front(apex='<circle dartswing:role="apex" cx="95" cy="260" r="2"/>'))
    inner = '<g xmlns:dartswing="urn:dartswing:1"><circle r="1" dartswing:name="x"/></g></svg>'
    bare = text.replace('xmlns:dartswing="urn:dartswing:1" ', "").replace("</svg>", inner)
    data = (before.replace("UTF-8", encoding) + bare).encode(encoding)
    assert angle(move(parse_document(data).getroot(), Request())) == pytest.approx(angle(PLAIN))


def test_a_drawing_inside_the_drawing_is_refused() -> None:
    inner = f'<svg x="10" y="10" viewBox="0 0 600 900">{marked_front()}</svg>'
    with pytest.raises(DraftingError, match="drawing inside the drawing"):
        moved(inner)


def test_what_other_editors_wrap_in_a_switch_is_read() -> None:
    assert angle(moved(f"<switch>{marked_front()}</switch>")) == pytest.approx(angle(PLAIN))


@pytest.mark.parametrize("label", ["target 0.6 copy", "target 0.6 2", "Target 0,6 (3)"])
def test_a_copys_number_after_a_share(label: str) -> None:
    outcome = moved(marked_front(target=circle(label, 236.5, 273)))
    assert angle(outcome) == pytest.approx(0.6 * angle(PLAIN), abs=1e-9)


def test_a_label_that_nearly_is_a_role_is_pointed_at() -> None:
    with pytest.raises(DraftingError, match=r"target somewhere.*not read as target"):
        moved(marked_front(target=circle("target somewhere", 236.5, 273)))


def test_a_width_that_is_none_is_no_name() -> None:
    with pytest.raises(DraftingError, match="12furlongs"):
        moved(marked_front(seams=circle("seam waist 12furlongs", 40, 400)))
