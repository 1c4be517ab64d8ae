"""Turned allowances: mirrored in the fold, so that they lie flat on the neighbouring seams."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from drafting_core.allowance.cut_line import Strip
from drafting_core.allowance.turned_allowance import turned_out
from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.block.seams import SeamMark
from drafting_core.finished.draft import add_allowances, move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.allowances import Allowances
from drafting_core.model.outline import Edge, flattened, nearest_on
from drafting_core.model.seam_names import Seam, SeamLabel, seam_kind
from drafting_core.model.settings import Settings
from drafting_core.plane.crossings import crosses_itself
from drafting_core.plane.curves import Cubic, Line, Segment, reflection_in
from drafting_core.text.errors import DraftingError, SettingError
from extension.document.roles import seam_label
from extension.drafting.move_and_allow import Request, allow
from tests.help.blocks.core_blocks import core_block, drawn
from tests.help.blocks.drawings import circle, layer, page, parts, root_of
from tests.help.blocks.refusals import no_case
from tests.help.depth import examples

#: What the cut line may stray from the true parallel (contract, section 5).
TRUE = 0.01
DEPTH = 600.0
LEG = 12.7


def skirt(
    slant: float, width: float = 220.0, side: Segment | None = None, hem: Segment | None = None
) -> Block:
    """A skirt front, its hem straight along y = 600, its side slanting out by some degrees."""
    out = width + DEPTH * math.tan(math.radians(slant))
    corner = complex(out, DEPTH)
    return Block(
        seam_by_seam(
            [
                ("waist", Line(0j, width + 0j)),
                ("side seam", side or Line(width + 0j, corner)),
                ("hem", hem or Line(corner, DEPTH * 1j)),
                ("centre front", Line(DEPTH * 1j, 0j)),
            ]
        ),
        name="Skirt",
    )


def finished(block: Block, text: str) -> Draft:
    return add_allowances(block, Settings(allowances=Allowances.parse(text)))


def area(segments: tuple[Segment, ...]) -> float:
    return sum(segment.area() for segment in segments)


def polygon(segments: tuple[Segment, ...]) -> Polygon:
    return Polygon([(z.real, z.imag) for z in flattened(segments, 200)])


def folded_back(draft: Draft, start: complex, along: complex, width: float) -> list[complex]:
    """Points of the cut line beyond a fold but short of the far edge, mirrored in the fold."""
    mirror = reflection_in(start, along)
    found = []
    for segment in draft.cut_line:
        for k in range(41):
            z = segment.point(k / 40)
            out = ((z - start) / along).imag
            if 1e-6 < -out < width - 1e-6:
                found.append(mirror(z))
    return found


@settings(max_examples=examples(40), deadline=None)
@given(st.floats(-12.0, 30.0), st.floats(10.0, 120.0), st.sampled_from([0.0, 6.35, LEG, 20.0]))
def test_the_mirrored_hem_lies_on_the_sides_and_has_the_right_area(
    slant: float, width: float, leg: float
) -> None:
    draft = finished(skirt(slant), f"{leg}mm, hem={width}mm turned")
    back = folded_back(draft, DEPTH * 1j, -1 + 0j, width)
    assert max(z.real for z in back) > 50.0
    assert min(z.real for z in back) <= 0.0
    assert all(nearest_on(draft.cut_line, z).distance < TRUE for z in back)
    block = polygon(draft.stitch_line)
    strip = block.intersection(box(-1e4, DEPTH - width, 1e4, 2 * DEPTH))
    whole = block.union(affinity.scale(strip, 1, -1, origin=(0, DEPTH)))
    wide = whole.buffer(leg, join_style="mitre", mitre_limit=4) if leg else whole
    clipped = wide.intersection(box(-1e4, -1e4, 1e4, DEPTH + width))
    assert area(draft.cut_line) == pytest.approx(clipped.area, rel=1e-6)


@settings(max_examples=examples(20), deadline=None)
@given(st.floats(-60.0, 60.0), st.floats(20.0, 150.0))
def test_a_curved_side_is_mirrored_as_a_curve(bulge: float, width: float) -> None:
    side = Cubic(220 + 0j, 240 + 200j, complex(300 + bulge, 400), 310 + 600j)
    draft = finished(skirt(0.0, side=side, hem=Line(310 + 600j, 600j)), f"hem={width}mm turned")
    back = folded_back(draft, DEPTH * 1j, -1 + 0j, width)
    assert all(nearest_on(draft.cut_line, z).distance < 2 * TRUE for z in back)
    if abs(bulge) > 20 and width > 40:
        assert any(
            isinstance(s, Cubic) and min(s.start.imag, s.end.imag) >= DEPTH - 20
            for s in draft.cut_line
        )


def test_a_side_of_short_pieces_is_followed_piece_by_piece() -> None:
    corner = complex(220 + DEPTH * math.tan(0.3), DEPTH)
    side = Line(220 + 0j, corner)
    cuts = [side.point(t) for t in (0.0, 0.5, 0.97, 0.99, 1.0)]
    pieces = [("side seam", Line(a, b)) for a, b in itertools.pairwise(cuts)]
    many = Block(
        seam_by_seam(
            [
                ("waist", Line(0j, 220 + 0j)),
                *pieces,
                ("hem", Line(corner, 600j)),
                ("centre front", Line(600j, 0j)),
            ]
        )
    )
    text = "1/2in, hem=50mm turned"
    one = finished(skirt(math.degrees(0.3)), text)
    assert area(finished(many, text).cut_line) == pytest.approx(area(one.cut_line), rel=1e-9)


def test_beyond_the_neighbours_seam_the_mirrored_side_goes_straight_on() -> None:
    # The side seam ends 30 mm above the hem in a corner; the allowance is 50 mm wide.
    block = Block(
        seam_by_seam(
            [
                ("waist", Line(0j, 220 + 0j)),
                ("side seam", Line(220 + 0j, 220 + 570j)),
                ("godet", Line(220 + 570j, 250 + 600j)),
                ("hem", Line(250 + 600j, 600j)),
                ("centre front", Line(600j, 0j)),
            ]
        )
    )
    draft = finished(block, "0mm, hem=50mm turned")
    corners = {complex(round(s.start.real, 6), round(s.start.imag, 6)) for s in draft.cut_line}
    assert {200 + 650j, 650j} <= corners


@pytest.mark.parametrize("sag", [-25.0, 25.0])
def test_a_curved_hem_is_mirrored_in_its_tangent(sag: float) -> None:
    hem = Cubic(300 + 600j, complex(200, 600 + sag), complex(100, 600 + sag), 600j)
    draft = finished(skirt(0.0, side=Line(220 + 0j, 300 + 600j), hem=hem), "1/2in, hem=40mm turned")
    assert crosses_itself(draft.cut_line) is None
    # All along, the far edge is 40 mm from the hem.
    for k in range(8, 33):
        away = nearest_on(draft.cut_line, hem.point(k / 40)).distance
        assert away == pytest.approx(40.0, abs=TRUE)
    mirror = reflection_in(hem.start, hem.start_tangent())
    outer = Line(220 + 0j, 300 + 600j)
    side = (outer.end - outer.start) / abs(outer.end - outer.start)
    cut_end = outer.end - LEG * 1j * side
    own = Line(cut_end - 30 * side, cut_end)
    for k in range(5):
        assert nearest_on(draft.cut_line, mirror(own.point(k / 8))).distance < 2 * TRUE


FRONT: list[tuple[str, Segment]] = [
    ("neckline", Cubic(0 + 80j, 40 + 80j, 70 + 45j, 72 + 0j)),
    ("shoulder", Line(72 + 0j, 190 + 45j)),
    ("armhole", Cubic(190 + 45j, 172 + 110j, 165 + 200j, 235 + 215j)),
    ("side seam", Line(235 + 215j, 225 + 400j)),
    ("waist", Line(225 + 400j, 0 + 400j)),
    ("centre front", Line(0 + 400j, 0 + 80j)),
]


def godets() -> Block:
    """A piece whose hem has short slanting sides, beyond which mirrored ones go on straight."""
    return Block(
        seam_by_seam(
            [
                ("waist", Line(0j, 60 + 0j)),
                ("side seam", Line(60 + 0j, 60 + 580j)),
                ("godet", Line(60 + 580j, 100 + 600j)),
                ("hem", Line(100 + 600j, -40 + 600j)),
                ("other godet", Line(-40 + 600j, 580j)),
                ("centre front", Line(580j, 0j)),
            ]
        )
    )


def front() -> Block:
    return Block(seam_by_seam(FRONT), name="Front")


@pytest.mark.parametrize("width", [20.0, 45.0, 60.0])
def test_a_facing_repeats_the_neckline(width: float) -> None:
    draft = finished(front(), f"1/2in, neckline=1/4in, centre front={width}mm turned")
    # In its outermost quarter inch the parallel goes on straight, as at every corner.
    back = folded_back(draft, 400j, -1j, width - 6.35)
    assert any(z.imag < 80 for z in back)
    assert all(nearest_on(draft.cut_line, z).distance < 2 * TRUE for z in back)


def test_a_hem_runs_on_over_a_facing() -> None:
    draft = finished(front(), "0mm, centre front=50mm turned, waist=30mm turned")
    corners = {complex(round(s.start.real, 6), round(s.start.imag, 6)) for s in draft.cut_line}
    assert -50 + 430j in corners
    assert not any(s.start.real < -50.01 or s.start.imag > 430.01 for s in draft.cut_line)


def test_an_edge_on_the_fold_of_the_cloth_runs_straight_on() -> None:
    hem = Line(300 + 620j, 600j)
    block = skirt(0.0, side=Line(220 + 0j, 300 + 620j), hem=hem)._replace(
        seam_marks=[SeamMark(300j, SeamLabel("centre front", fold=True))]
    )
    draft = finished(block, "1/2in, hem=40mm turned")
    assert min(z.real for z in flattened(draft.cut_line)) == pytest.approx(0.0, abs=1e-9)
    assert not draft.warnings
    faced = finished(block, "1/2in, hem=40mm turned, centre front=60mm turned")
    assert faced.cut_line == draft.cut_line
    assert any("nothing is turned back there" in text for text in faced.warnings)


def test_a_dart_whose_mouth_lies_in_a_turned_hem() -> None:
    draft = move_dart(
        Block(
            seam_by_seam(
                [
                    ("neckline", Cubic(0 + 80j, 40 + 80j, 70 + 45j, 72 + 0j)),
                    ("shoulder", Line(72 + 0j, 190 + 45j)),
                    ("armhole", Cubic(190 + 45j, 172 + 110j, 165 + 200j, 235 + 215j)),
                    ("side seam", Line(235 + 215j, 225 + 400j)),
                    ("hem", Line(225 + 400j, 125 + 400j)),
                    ("dart", Line(125 + 400j, 95 + 250j)),
                    ("dart", Line(95 + 250j, 65 + 400j)),
                    ("hem", Line(65 + 400j, 0 + 400j)),
                    ("centre front", Line(0 + 400j, 0 + 80j)),
                ]
            ),
            apex=95 + 250j,
        ),
        Settings(allowances=Allowances.parse("1/2in, hem=25mm turned")),
        [Target(place="hem")],
    )
    assert crosses_itself(draft.cut_line) is None
    (item,) = draft.darts
    cap = [edge.segment for edge in item.dart.cap]
    for k in range(9):
        assert nearest_on(draft.cut_line, cap[0].point(k / 8)).distance > 24.98
    back = folded_back(draft, 400j, -1 + 0j, 24.0)
    left = [z for z in back if z.real < 0]
    assert left
    assert all(nearest_on(draft.cut_line, z).distance < TRUE for z in left)
    assert len(draft.notches) == 2


@pytest.mark.parametrize("place", ["side seam:0.97", "waist:0.03"])
def test_a_cap_round_the_corner_stays_part_of_its_own_seam(place: str) -> None:
    # The cap copies a piece of the seam beyond the corner, which is no stretch of that seam.
    block = core_block(drawn(3, "front"))
    draft = move_dart(
        block,
        Settings(allowances=Allowances.parse("1/2in, waist=30mm turned"), excess="keep"),
        [Target(place=place)],
    )
    assert any(e.seam is not item.dart.seam for item in draft.darts for e in item.dart.cap)
    assert crosses_itself(draft.cut_line) is None
    assert polygon(draft.cut_line).buffer(0.02).contains(polygon(draft.stitch_line))


@settings(max_examples=examples(25), deadline=None)
@given(st.integers(0, 10_000), st.floats(15.0, 45.0))
def test_any_skirt_gets_its_hem(seed: int, width: float) -> None:
    block = core_block(drawn(seed, "skirt"))
    text = "1/2in, hem="
    try:
        plain = move_dart(
            block,
            Settings(allowances=Allowances.parse(f"{text}{width}mm")),
            [Target(place="side seam:0.3")],
        )
    except DraftingError as error:
        no_case(error)
    turned = move_dart(
        block,
        Settings(allowances=Allowances.parse(f"{text}{width}mm turned")),
        [Target(place="side seam:0.3")],
    )
    assert turned.stitch_line == plain.stitch_line
    assert crosses_itself(turned.cut_line) is None
    inner, outer = polygon(turned.stitch_line), polygon(turned.cut_line)
    assert outer.buffer(0.02).contains(inner)
    hems = [e.segment for e in turned.piece.edges() if e.seam.kind == "hem"]
    for segment in hems:
        z = segment.point(0.5)
        assert outer.exterior.distance(Point(z.real, z.imag)) > min(width, LEG) - 0.02
    # Beside the hem nothing changes: the cut lines differ only where the hem is.
    changed = outer.symmetric_difference(polygon(plain.cut_line))
    line = LineString([(z.real, z.imag) for z in [*flattened(hems), hems[-1].end]])
    assert changed.difference(line.buffer(3 * width + LEG)).area < 1.0


@pytest.mark.parametrize("kind", ["front", "back", "skirt", "sleeve"])
def test_without_a_turned_allowance_nothing_changes(kind: str) -> None:
    allowances = Allowances.parse("1/2in, neckline=1/4in")
    for seed in range(5):
        block = core_block(drawn(seed, kind))
        edges = [
            Edge(e.segment, Seam(e.label.name, seam_kind(e.label.name)))
            for e in block.outline
            if e.label
        ]
        assert turned_out(edges, allowances) == (
            [Strip(e.segment, allowances.width(e.seam)) for e in edges],
            {},
        )


@pytest.mark.parametrize(
    ("block", "text", "words"),
    [
        (skirt(5.0), "hem=600mm turned", "600 mm deep"),
        (godets(), "hem=40mm turned", "meet before"),
        (front(), "centre front=300mm turned", "235 mm deep"),
        (skirt(-84.0, width=6000.0), "hem=300mm turned", "cannot be turned back"),
    ],
)
def test_what_does_not_fit_is_refused_in_plain_words(block: Block, text: str, words: str) -> None:
    with pytest.raises(DraftingError, match=words) as caught:
        finished(block, text)
    assert "Make it narrower" in str(caught.value)


def test_the_setting_reads_back() -> None:
    setting = Allowances.parse("1/2in, neckline=1/4in, hem=40mm turned, CF=6cm Turned")
    assert setting.turned == {"hem", "centre front"}
    assert Allowances.parse(str(setting)) == setting
    assert setting.is_turned(Seam("Hem", "hem"))
    assert not setting.is_turned(Seam("Hem", "hem", fold=True))
    assert setting.is_turned(Seam("vent", "vent", turned=True))
    with pytest.raises(SettingError, match="every seam"):
        Allowances.parse("1/2in turned")


@pytest.mark.parametrize(
    ("text", "label"),
    [
        ("hem 40mm turned", SeamLabel("hem", 40.0, turned=True)),
        ("hem turned 40mm 2", SeamLabel("hem", 40.0, turned=True)),
        ("hem turned", SeamLabel("hem", turned=True)),
        ("armhole mate A", SeamLabel("armhole", mate="A")),
        ("side 1/2in mate 1 copy", SeamLabel("side", 12.7, mate="1")),
        ("cap mate B2 ease 1 1/4in (2)", SeamLabel("cap", mate="B2", ease=31.75)),
    ],
)
def test_labels_say_it(text: str, label: SeamLabel) -> None:
    assert seam_label(text) == label


@pytest.mark.parametrize("text", ["side seam mate", "side seam ease", "cap ease 10"])
def test_a_mate_or_an_ease_that_is_not_given_is_refused(text: str) -> None:
    with pytest.raises(SettingError, match="but not which"):
        seam_label(text)


def test_a_result_reads_back_the_same() -> None:
    marks = (
        circle("seam hem 40mm turned", 150, 600)
        + circle("seam side seam mate S ease 4mm", 245, 300)
        + circle("seam centre front", 0, 300)
    )
    outline = '<path id="b" inkscape:label="outline" d="M 0,0 L 220,0 L 270,600 L 0,600 Z"/>'
    root = root_of(page(layer(outline + marks)))
    first = allow(root, Request(given={"allowance": "1/2in, waist=20mm turned"})).drafts[0]
    before = parts(root, "cut-line")[0].get("d")
    names = {e.get("{urn:dartswing:1}name"): e for e in parts(root, "seam-name")}
    hem = names["hem"]
    assert hem.get("{urn:dartswing:1}turned") == "yes"
    assert hem.get("{http://www.inkscape.org/namespaces/inkscape}label") == "seam hem 40mm turned"
    assert "turned back" in "".join(parts(root, "note")[-1].itertext())
    again = allow(root, Request()).drafts[0]
    assert parts(root, "cut-line")[0].get("d") == before
    said = [(s.name, s.allowance, s.turned, s.mate, s.ease) for s in first.piece.seams()]
    assert [(s.name, s.allowance, s.turned, s.mate, s.ease) for s in again.piece.seams()] == said
    assert ("side seam", None, False, "S", 4.0) in said
