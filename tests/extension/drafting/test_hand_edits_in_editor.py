"""A written result edited by hand in the real editor, with keys and mouse, and allowed again.

Whatever a hand does there is followed, obeyed, told or refused; nothing is dropped in silence.
"""

from __future__ import annotations

import math
import re
import shutil
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from lxml import etree
from shapely.geometry import LineString, Point

from drafting_core.plane.curves import Segment, turn
from extension.commands.command_line import main
from extension.document.namespaces import LABEL, ours
from extension.document.path_data import parse
from extension.document.roles import our_attributes
from extension.document.shapes import mapped_subpaths
from tests.help.blocks.drawings import parts
from tests.help.depth import some_quick
from tests.help.editor.drafters_hand import Hand, hand_on, spots_layer
from tests.help.editor.editor import RealEditor

#: Each of them takes seconds.
pytestmark = pytest.mark.thorough

SAMPLE = Path(__file__).parents[3] / "sample_svgs" / "front_one_path.svg"
WIDTHS = {
    "waist": 12.7,
    "centre front": 12.7,
    "neckline": 6.35,
    "shoulder": 12.7,
    "armhole": 12.7,
    "side seam": 25.0,
}
#: Nodes of the stitch line as it is written (mm).
NECK_TIP, SHOULDER_TIP = 70 + 0j, 186 + 36j
CENTRE_TOP, CENTRE_FOOT = 0 + 76j, 0 + 400j
ARMHOLE_NODE = 174 + 138j
MOUTH, LOWER_MOUTH = 235.55 + 263.4j, 218.882 + 316.396j
DART_POINT = 118.23 + 255.621j
#: Middles of texts: of the waist's name and of the first line of the title.
WAIST_WORD, TITLE_LINE = 87.7 + 396.3j, 153 + 203.5j

ID = "dartswing-1"
STITCH, CUT, POINT, LEG, NOTCH, WORD, TITLE, SQUARE, GRAIN = (
    f"{ID}-{part}"
    for part in (
        *("stitch-line", "cut-line", "dart-point", "dart-leg", "notch", "seam-name", "note"),
        *("test-square", "grainline"),
    )
)
ARMHOLE_WORD, HOLE = f"{WORD}-5", f"{ID}-drill-hole"
WHOLE = (
    *(STITCH, CUT, POINT, LEG, f"{LEG}-2", NOTCH, f"{NOTCH}-2", HOLE, SQUARE, GRAIN, WORD),
    *(f"{WORD}-{number}" for number in range(2, 7)),
    *(TITLE, f"{TITLE}-2", f"{TITLE}-3"),
    *(f"{ID}-{part}" for part in ("cap", "dart-fold", "fold-arrow", "apex")),
)
HIDDEN_LINES, HIDDEN_TEXTS = (NOTCH, HOLE, SQUARE), (WORD, TITLE)
PICKS: list[tuple[str, ...]] = [
    *((one,) for one in (STITCH, CUT, POINT, LEG, NOTCH, WORD, TITLE, SQUARE, GRAIN)),
    *((ARMHOLE_WORD,), (ID,), ("target",), (STITCH, CUT), WHOLE, HIDDEN_LINES, HIDDEN_TEXTS),
]
ALLOW, HIDE = "dartswing.allow.noprefs", "selection-hide"
ACTIONS = {ALLOW: "<Primary><Alt>m", HIDE: "<Primary><Shift><Alt>z"}
ALLOW_KEY, HIDE_KEY = "ctrl+alt+m", "ctrl+shift+alt+z"
#: Within so far of the end of a seam or of a mouth (mm) other rules than the width hold.
AWAY_FROM_ENDS, AWAY_FROM_MOUTHS = 30.0, 40.0
REDRAWN = ("drawn anew", "drawn again", "any more")

Edit = Callable[[Hand], None]


class Allowed(NamedTuple):
    """What came of an edit.

    Attributes:
        edited: the drawing as the editor saved it.
        status: the exit status of the run after it.
        said: what the run said.
        root: the drawing that it wrote, or None.
    """

    edited: Any
    status: int
    said: str
    root: Any


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drawing with a result: the front with a dart at its side seam."""
    folder = tmp_path_factory.mktemp("written")
    result = folder / "front.svg"
    widths = "1/2in, side seam=25mm, neckline=1/4in"
    command = ["move", str(SAMPLE), "-o", str(result), "--to", "side seam:0.35"]
    assert main([*command, "--allowance", widths]) == 0
    # Above the result's own white sheet.
    text = result.read_text(encoding="utf-8")
    last = text.rindex("</svg>")
    result.write_text(text[:last] + spots_layer() + text[last:], encoding="utf-8")
    return result


Try = Callable[[Edit], Allowed]


@pytest.fixture
def tried(
    editor: RealEditor, written: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> Try:
    """Make an edit in the editor, save there, and add the allowances again."""

    def make(edit: Edit) -> Allowed:
        drawing = Path(shutil.copy(written, tmp_path / "front.svg"))
        with hand_on(editor, drawing, PICKS, ACTIONS) as hand:
            edit(hand)
            hand.session.save()
        return allowed(drawing, capsys)

    return make


def allowed(drawing: Path, capsys: pytest.CaptureFixture[str]) -> Allowed:
    out = drawing.with_name("allowed.svg")
    capsys.readouterr()
    status = main(["allow", str(drawing), "-o", str(out)])
    streams = capsys.readouterr()
    return Allowed(
        etree.parse(str(drawing)).getroot(),
        status,
        streams.out + streams.err,
        etree.parse(str(out)).getroot() if out.exists() else None,
    )


def by_id(root: Any, identity: str) -> Any:
    (found,) = [element for element in root.iter() if element.get("id") == identity]
    return found


class SewnSeam(NamedTuple):
    """A seam as a stitch line says it.

    Attributes:
        start: where it begins.
        end: where it ends.
        width: its allowance in mm.
        name: its name.
    """

    start: complex
    end: complex
    width: float
    name: str


def seams(stitch: Any) -> list[SewnSeam]:
    found: list[SewnSeam] = []
    attributes = our_attributes(stitch)
    while text := attributes.get(f"seam-{len(found) + 1}"):
        start, end, width, *_, name = text.split(maxsplit=8)
        found.append(SewnSeam(place(start), place(end), float(width), name))
    return found


def place(text: str) -> complex:
    return complex(*map(float, text.split(",")))


def widths(stitch: Any) -> dict[str, float]:
    return {seam.name: seam.width for seam in seams(stitch)}


def assert_parallel(stitch: Any, cut: Any) -> None:
    """Check that the cut line lies at the seams' widths, away from mouths and corners."""
    (line,) = mapped_subpaths(stitch)
    ring = [s.point(k / 100) for s in line.segments for k in range(100)]
    (cut_path,) = mapped_subpaths(cut)
    drawn = [s.point(k / 400) for s in cut_path.segments for k in range(400)]
    cut_ring = LineString([(z.real, z.imag) for z in [*drawn, drawn[0]]])
    given = seams(stitch)
    far = [(z, AWAY_FROM_ENDS) for seam in given for z in (seam.start, seam.end)]
    far += [(z, AWAY_FROM_ENDS) for z in bends(line.segments)]
    legs: set[complex] = set()
    if text := our_attributes(stitch).get("dart-1"):
        one, other = (place(word) for word in text.split()[:2])
        far += [(one, AWAY_FROM_MOUTHS), (other, AWAY_FROM_MOUTHS)]
        legs = set(run_of(ring, SewnSeam(one, other, 0.0, "dart"), given))
    for seam in given:
        spots = [
            z
            for z in run_of(ring, seam, given)
            if z not in legs and all(abs(z - end) > distance for end, distance in far)
        ]
        assert spots, f"nothing of the {seam.name} is long enough"
        for z in spots:
            off = cut_ring.distance(Point(z.real, z.imag))
            assert off == pytest.approx(seam.width, abs=0.02), seam.name


def bends(outline: Sequence[Segment]) -> list[complex]:
    """Return the nodes of a closed line at which it turns by more than 5°."""
    return [
        after.start
        for before, after in zip([outline[-1], *outline], outline, strict=False)
        if abs(turn(before.tangent(1.0), after.tangent(0.0))) > math.radians(5)
    ]


def run_of(ring: list[complex], seam: SewnSeam, given: list[SewnSeam]) -> list[complex]:
    """Return the way from one end of a seam to the other that passes no other seam's end."""

    def nearest(z: complex) -> int:
        return min(range(len(ring)), key=lambda k: abs(ring[k] - z))

    first, last = nearest(seam.start), nearest(seam.end)
    ends = {nearest(z) for other in given for z in (other.start, other.end)} - {first, last}
    for here, there in ((first, last), (last, first)):
        run = [(here + k) % len(ring) for k in range((there - here) % len(ring) + 1)]
        if not ends & set(run):
            return [ring[k] for k in run]
    raise AssertionError(f"the {seam.name} passes another seam")


def assert_followed(outcome: Allowed, expected: dict[str, float] | None = None) -> None:
    """Check that the seams kept their names and widths, and that the cut line goes along."""
    assert outcome.status == 0, outcome.said
    for layer in (e for e in outcome.root.iter() if e.get(ours("result"))):
        (stitch,) = parts(layer, "stitch-line")
        (cut,) = [e for e in parts(layer, "cut-line") if e.get(ours("self")) == e.get("id")]
        assert widths(stitch) == pytest.approx(WIDTHS if expected is None else expected)
        assert_parallel(stitch, cut)


def counted(root: Any) -> Counter[str]:
    return Counter(e.get(ours("part")) for e in root.iter() if e.get(ours("part")))


def cases(*values: Any) -> Any:
    """Return edits to parametrise a test with, the first for the quick run too."""
    named = []
    for value in values:
        edit, *others = value if isinstance(value, tuple) else (value,)
        marks = [other for other in others if isinstance(other, pytest.MarkDecorator)]
        rest = [other for other in others if not isinstance(other, pytest.MarkDecorator)]
        name = edit.__name__.replace("_", " ")
        named.append(pytest.param(edit, *rest, id=name, marks=marks))
    return some_quick(named, 1)


# Edits of the stitch line with the node tool.


def corner_dragged(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.drag(SHOULDER_TIP, SHOULDER_TIP + 6 - 6j)


def curve_dragged(hand: Hand) -> None:
    hand.nodes(STITCH)
    on_armhole = 194.375 + 180.25j
    hand.drag(on_armhole, on_armhole + 5 - 3j)


def mouth_end_by_arrow_key(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.press("Tab", "Right")


def node_added_and_dragged(hand: Hand) -> None:
    hand.nodes(STITCH)
    on_centre = 0 + 180j
    hand.click(on_centre, times=2)
    hand.drag(on_centre, on_centre - 8)


def nodes_inserted(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.click(CENTRE_TOP, CENTRE_FOOT)
    hand.press("Insert", "Insert")


def node_deleted(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.click(ARMHOLE_NODE)
    hand.press("Delete")


def corner_smoothed(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.click(NECK_TIP)
    hand.press("shift+s")


def smooth_node_made_a_cusp(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.click(ARMHOLE_NODE)
    hand.press("shift+c", "shift+Right")


def curve_made_a_line(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.click(CENTRE_TOP, NECK_TIP)
    hand.press("shift+l")


def path_reversed(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.press("shift+r")


def path_broken_at_a_corner(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.click(CENTRE_FOOT)
    hand.press("shift+b")


def path_broken_and_joined(hand: Hand) -> None:
    path_broken_at_a_corner(hand)
    hand.press("ctrl+a", "shift+j")


def dart_point_dragged(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.drag(DART_POINT, DART_POINT + 6 + 4j)


def dart_widened(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.click(MOUTH, LOWER_MOUTH)
    hand.press("greater", "greater", "greater")


def dart_slid_along_the_seam(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.click(MOUTH, LOWER_MOUTH, DART_POINT)
    hand.press("shift+Down")


def stitch_line_simplified(hand: Hand) -> None:
    hand.pick(STITCH)
    hand.press("ctrl+l")


def stitch_line_moved_to_another_layer(hand: Hand) -> None:
    hand.pick(STITCH)
    hand.press("shift+Prior")


@pytest.mark.parametrize(
    ("edit", "told"),
    cases(
        (corner_dragged, ""),
        (curve_dragged, ""),
        (mouth_end_by_arrow_key, "The legs of a dart differ by 0.5 mm, as it was reshaped."),
        (node_added_and_dragged, ""),
        (nodes_inserted, ""),
        (node_deleted, ""),
        (corner_smoothed, ""),
        (smooth_node_made_a_cusp, ""),
        (curve_made_a_line, ""),
        (path_reversed, ""),
        (path_broken_at_a_corner, ""),
        (path_broken_and_joined, ""),
        (dart_point_dragged, "sewn, they meet half way."),
        (dart_widened, "The dart on the side seam: its intake was 55.6 mm, is 57."),
        (dart_slid_along_the_seam, ""),
        (stitch_line_simplified, ""),
    ),
)
def test_a_stitch_line_reshaped_in_the_editor_is_followed(
    edit: Edit, told: str, tried: Try
) -> None:
    outcome = tried(edit)
    edited = by_id(outcome.edited, STITCH)
    assert edited.get("d") != edited.get(ours("drawn")), "nothing was edited"
    assert_followed(outcome)
    assert told in outcome.said
    assert not [words for words in REDRAWN if words in outcome.said], outcome.said
    # What she drew stays to the last digit.
    assert by_id(outcome.root, STITCH).get("d") == edited.get("d")


@pytest.mark.thorough
def test_seams_of_a_simplified_stitch_line_end_where_they_ended(tried: Try) -> None:
    outcome = tried(stitch_line_simplified)
    assert_followed(outcome)
    was, now = (seams(by_id(root, STITCH)) for root in (outcome.edited, outcome.root))
    (line,) = parse(by_id(outcome.edited, STITCH).get("d"))
    ring = [segment.point(k / 200) for segment in line.segments for k in range(200)]
    for before, after in zip(was, now, strict=True):
        passes_by = min(abs(z - before.end) for z in ring)
        assert abs(after.end - before.end) < passes_by + 3.0, before.name


# Edits of all of a result together.


def everything_turned(hand: Hand) -> None:
    hand.pick_everything()
    hand.press("bracketright")


def result_flipped(hand: Hand) -> None:
    hand.pick(*WHOLE)
    hand.press("h")


def result_dragged(hand: Hand) -> None:
    hand.pick(*WHOLE)
    hand.press("5")
    hand.drag(0 + 300j, 40 + 320j)


def result_grouped(hand: Hand) -> None:
    hand.pick(*WHOLE)
    hand.press("ctrl+g")


def everything_grouped_and_ungrouped(hand: Hand) -> None:
    hand.pick_everything()
    hand.press("ctrl+g", "ctrl+shift+g")


def everything_cut_and_pasted_in_place(hand: Hand) -> None:
    # Into the layer of what was picked last: that of the sheet is locked.
    hand.pick_everything()
    hand.pick(STITCH)
    hand.pick_everything()
    hand.press("ctrl+x", "ctrl+alt+v")


@pytest.mark.thorough
@pytest.mark.parametrize(
    "edit",
    cases(
        everything_turned,
        result_flipped,
        result_dragged,
        result_grouped,
        everything_grouped_and_ungrouped,
        everything_cut_and_pasted_in_place,
        stitch_line_moved_to_another_layer,
    ),
)
def test_a_result_moved_as_a_whole_is_drawn_again_where_it_lies(
    edit: Edit, tried: Try, written: Path
) -> None:
    outcome = tried(edit)
    before = etree.parse(str(written)).getroot()
    assert counted(outcome.edited) == counted(before)
    assert_followed(outcome)
    assert counted(outcome.root) == counted(before), "nothing twice, nothing lost"
    assert not [words for words in REDRAWN if words in outcome.said], outcome.said


@pytest.mark.thorough
def test_a_result_moved_to_another_layer_is_followed_or_refused_for_what_it_is(tried: Try) -> None:
    def move_down(hand: Hand) -> None:
        hand.pick(*WHOLE)
        hand.press(*(["shift+Next"] * 7))

    outcome = tried(move_down)
    layer = by_id(outcome.edited, ID)
    assert not parts(layer, "stitch-line")
    assert by_id(outcome.edited, STITCH).get(ours("part")) == "stitch-line"
    assert "has lost what says that it is one" not in outcome.said


@pytest.mark.thorough
def test_a_result_made_twice_as_large_keeps_its_widths_and_its_test_square(tried: Try) -> None:
    def enlarge(hand: Hand) -> None:
        hand.pick_everything()
        hand.press("ctrl+greater")

    outcome = tried(enlarge)
    assert float(by_id(outcome.edited, SQUARE).get("width")) == pytest.approx(100.0, abs=1e-3)
    assert_followed(outcome)
    assert float(by_id(outcome.root, SQUARE).get("width")) == pytest.approx(50.0, abs=1e-6)
    assert "the block is 826.3 mm high and 476.0 mm wide" in outcome.said


@pytest.mark.thorough
def test_texts_and_circles_made_paths_are_drawn_again_once(tried: Try, written: Path) -> None:
    def to_path(hand: Hand) -> None:
        hand.pick(*WHOLE)
        hand.press("ctrl+shift+c")

    outcome = tried(to_path)
    for identity in (WORD, POINT, SQUARE):
        # The editor keeps label and id of what was no path, and drops our attributes.
        element = by_id(outcome.edited, identity)
        assert element.get(LABEL)
        assert our_attributes(element) == {}
    assert our_attributes(by_id(outcome.edited, STITCH))["part"] == "stitch-line"
    assert_followed(outcome)
    assert counted(outcome.root) == counted(etree.parse(str(written)).getroot())


@pytest.mark.thorough
def test_a_result_duplicated_as_a_layer_is_a_second_result(tried: Try, written: Path) -> None:
    def duplicate(hand: Hand) -> None:
        hand.pick(ID)
        hand.press("ctrl+d")

    outcome = tried(duplicate)
    copies = [e for e in outcome.edited.iter() if our_attributes(e).get("self") == STITCH]
    assert len(copies) == 2
    assert len({e.get("id") for e in copies}) == 2
    assert_followed(outcome)
    before = counted(etree.parse(str(written)).getroot())
    assert counted(outcome.root) == before + before


@pytest.mark.thorough
def test_a_result_saved_as_plain_svg_is_followed(
    editor: RealEditor, written: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plain = tmp_path / "plain.svg"
    assert editor.run_action(written, "export-plain-svg", plain).status == 0
    outcome = allowed(plain, capsys)
    # It keeps our attributes and loses the labels.
    assert not [e for e in outcome.edited.iter() if e.get(LABEL)]
    before = counted(etree.parse(str(written)).getroot())
    assert counted(outcome.edited) == before
    assert_followed(outcome)
    assert counted(outcome.root) == before


# What a hand may change of a result, and what is obeyed.


def waist_typed_over_as_hem(hand: Hand) -> None:
    hand.show(STITCH)
    hand.type_at(WAIST_WORD, "ctrl+a", text="hem")


def waist_typed_over_as_hem_with_width(hand: Hand) -> None:
    hand.show(STITCH)
    hand.type_at(WAIST_WORD, "ctrl+a", text="hem 30mm")


def label_typed_with_width(hand: Hand) -> None:
    hand.pick(ARMHOLE_WORD)
    hand.label("seam armhole 20mm")


def waist_dragged_to_the_centre_front(hand: Hand) -> None:
    hand.show(STITCH)
    hand.pick(WORD)
    hand.drag(WAIST_WORD, 6 + 300j)


@pytest.mark.parametrize(
    ("edit", "changed", "told"),
    cases(
        (
            waist_typed_over_as_hem,
            {"waist": None, "hem": 12.7},
            'The seam "waist" is "hem" now.',
        ),
        (
            waist_typed_over_as_hem_with_width,
            {"waist": None, "hem": 30.0},
            'The seam "waist" is "hem" now.',
        ),
        (
            label_typed_with_width,
            {"armhole": 20.0},
            "The armhole: its allowance was 12.7 mm, is 20 mm.",
        ),
        (
            waist_dragged_to_the_centre_front,
            {"waist": 12.7, "centre front": None, "seam 1": 12.7},
            'The seam "centre front" is "waist" now.',
        ),
    ),
)
def test_what_is_typed_or_named_in_the_editor_is_obeyed(
    edit: Edit, changed: dict[str, float | None], told: str, tried: Try
) -> None:
    outcome = tried(edit)
    assert told in outcome.said
    expected = {name: width for name, width in (WIDTHS | changed).items() if width is not None}
    assert_followed(outcome, expected)


def title_of(root: Any) -> list[str]:
    return ["".join(row.itertext()) for row in by_id(root, TITLE)]


@pytest.mark.thorough
@pytest.mark.parametrize(
    "name",
    [
        "Coat",
        pytest.param(
            "Stage coat",
        ),
    ],
)
def test_a_title_typed_anew_names_the_piece(name: str, tried: Try) -> None:
    def type_title(hand: Hand) -> None:
        hand.show(STITCH)
        hand.type_at(TITLE_LINE, "Home", "shift+End", text=name)

    outcome = tried(type_title)
    assert_followed(outcome)
    assert title_of(outcome.root) == [name, "Cut 2"]
    assert f"{name}: the block is" in outcome.said


@pytest.mark.thorough
def test_the_square_and_the_look_of_lines_stay_as_she_left_them(tried: Try) -> None:
    def change(hand: Hand) -> None:
        hand.pick(SQUARE)
        hand.press("shift+Down")
        hand.pick("target")
        hand.press("ctrl+c")
        hand.pick(CUT)
        hand.press("ctrl+shift+v")

    outcome = tried(change)
    before, after = by_id(outcome.edited, SQUARE), by_id(outcome.root, SQUARE)
    assert float(before.get("y")) == pytest.approx(-14.649 + 5.292, abs=0.01)
    assert [after.get(name) for name in ("x", "y")] == [before.get(name) for name in ("x", "y")]
    assert "stroke-width:0.4;" in by_id(outcome.edited, CUT).get("style")
    assert by_id(outcome.root, CUT).get("style") == by_id(outcome.edited, CUT).get("style")
    assert_followed(outcome)


@pytest.mark.thorough
@pytest.mark.parametrize(
    "ids",
    [
        pytest.param(HIDDEN_LINES, id="lines"),
        pytest.param(
            HIDDEN_TEXTS,
            id="texts",
        ),
    ],
)
def test_what_was_hidden_stays_hidden(ids: tuple[str, ...], tried: Try) -> None:
    def hide(hand: Hand) -> None:
        hand.pick(*ids)
        hand.press(HIDE_KEY)

    outcome = tried(hide)
    assert_followed(outcome)
    for identity in ids:
        assert "display:none" in by_id(outcome.edited, identity).get("style")
    for identity in ids:
        assert "display:none" in by_id(outcome.root, identity).get("style")


@pytest.mark.thorough
def test_a_title_made_smaller_stays_so_or_is_told(tried: Try) -> None:
    def shrink(hand: Hand) -> None:
        hand.pick(TITLE)
        hand.press("ctrl+less")

    outcome = tried(shrink)
    assert_followed(outcome)
    sizes = [
        float(found[1])
        for root in (outcome.edited, outcome.root)
        if (found := re.search(r"font-size:([\d.]+)px", by_id(root, TITLE).get("style")))
    ]
    assert sizes[0] == pytest.approx(4.72, abs=0.01)
    assert sizes[1] == pytest.approx(sizes[0]) or "drawn anew" in outcome.said


# What follows from the stitch line, and what was taken away, is told.


def cut_line_reshaped(hand: Hand) -> None:
    hand.nodes(CUT)
    hand.click(201.226 + 27.428j)
    hand.press("shift+Right")


def leg_flipped(hand: Hand) -> None:
    hand.pick(LEG)
    hand.press("h")


def notch_deleted(hand: Hand) -> None:
    hand.pick(NOTCH)
    hand.press("Delete")


def word_deleted(hand: Hand) -> None:
    hand.pick(WORD)
    hand.press("Delete")


def dart_point_moved(hand: Hand) -> None:
    hand.pick(POINT)
    hand.press("shift+Right")


def grainline_deleted(hand: Hand) -> None:
    hand.pick(GRAIN)
    hand.press("Delete")


@pytest.mark.parametrize(
    ("edit", "told"),
    cases(
        (cut_line_reshaped, "changed by hand and drawn anew: the cut line."),
        (leg_flipped, "changed by hand and drawn anew: a dart leg."),
        (dart_point_moved, "changed by hand and drawn anew: the dart point."),
        (notch_deleted, "deleted and drawn again: a notch."),
        (word_deleted, "deleted and drawn again: a seam's name."),
        (
            grainline_deleted,
            "deleted and drawn again: ",
        ),
    ),
)
def test_what_is_drawn_anew_is_told(edit: Edit, told: str, tried: Try, written: Path) -> None:
    outcome = tried(edit)
    assert_followed(outcome)
    assert counted(outcome.root) == counted(etree.parse(str(written)).getroot())
    assert told in outcome.said


@pytest.mark.thorough
def test_a_dart_taken_out_of_the_stitch_line_and_the_layer_is_told(tried: Try) -> None:
    def take_out(hand: Hand) -> None:
        hand.pick(POINT)
        hand.press("Delete")
        hand.nodes(STITCH)
        hand.click(DART_POINT)
        hand.press("ctrl+Delete")

    outcome = tried(take_out)
    assert_followed(outcome)
    assert "the dart near (118.2, 255.6) mm is none any more" in outcome.said
    assert not parts(outcome.root, "cap")
    assert not parts(outcome.root, "dart-point")


@pytest.mark.thorough
def test_a_dart_of_which_the_point_alone_was_deleted_is_not_both_gone_and_there(tried: Try) -> None:
    def delete(hand: Hand) -> None:
        hand.pick(POINT)
        hand.press("Delete")

    outcome = tried(delete)
    assert_followed(outcome)
    is_gone = "is none any more" in outcome.said
    assert is_gone is not bool(parts(outcome.root, "cap"))


@pytest.mark.thorough
def test_a_duplicate_of_the_cut_line_is_hers(tried: Try) -> None:
    def duplicate(hand: Hand) -> None:
        hand.pick(CUT)
        hand.press("ctrl+d", "shift+Right")

    outcome = tried(duplicate)
    assert_followed(outcome)
    (before,), (after,) = (
        [e for e in parts(root, "cut-line") if e.get("id") != CUT]
        for root in (outcome.edited, outcome.root)
    )
    # A copy has our attributes and an id of its own.
    assert before.get(ours("self")) == CUT
    assert after.get("d") == before.get("d")


# What cannot be followed is refused with one plain message.


def stitch_line_flipped(hand: Hand) -> None:
    hand.pick(STITCH)
    hand.press("h")


def all_nodes_moved(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.press("ctrl+a", "Right")


def stitch_line_duplicated(hand: Hand) -> None:
    hand.pick(STITCH)
    hand.press("ctrl+d")


def result_copied_into_itself(hand: Hand) -> None:
    hand.pick(*WHOLE)
    hand.press("ctrl+c", "ctrl+v")


def lines_combined(hand: Hand) -> None:
    hand.pick(STITCH, CUT)
    hand.press("ctrl+k")


def lines_united(hand: Hand) -> None:
    hand.pick(STITCH, CUT)
    hand.press("ctrl+plus")


def stitch_line_set_out(hand: Hand) -> None:
    hand.pick(STITCH)
    hand.press("ctrl+parenright")


def node_of_the_dart_point_deleted(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.click(DART_POINT)
    hand.press("ctrl+Delete")


def mouth_end_dragged_far(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.drag(LOWER_MOUTH, LOWER_MOUTH + 8 + 5j)


def segment_deleted(hand: Hand) -> None:
    hand.nodes(STITCH)
    hand.click(CENTRE_TOP, CENTRE_FOOT)
    hand.press("alt+Delete")


def label_typed_wrong(hand: Hand) -> None:
    hand.pick(ARMHOLE_WORD)
    hand.label("seam armhole 5 elephants")


@pytest.mark.parametrize(
    ("edit", "told"),
    cases(
        (stitch_line_flipped, "it was moved, turned or flipped as a whole"),
        (all_nodes_moved, "it was moved, turned or flipped as a whole"),
        (stitch_line_duplicated, "it holds 2 stitch lines"),
        (result_copied_into_itself, "it holds 2 stitch lines"),
        (lines_combined, "its stitch line has lost what says that it is one"),
        (lines_united, "its stitch line has lost what says that it is one"),
        (stitch_line_set_out, "its stitch line has lost what says that it is one"),
        (node_of_the_dart_point_deleted, 'delete its "dart point" from the layer first.'),
        (mouth_end_dragged_far, "have become unequal: 117.6 mm and 127."),
        (segment_deleted, "the outline is open: its ends lie 324 mm apart"),
        (label_typed_wrong, '"armhole 5 elephants" ends in what looks like a width but is none.'),
    ),
)
def test_what_cannot_be_followed_is_refused(edit: Edit, told: str, tried: Try) -> None:
    outcome = tried(edit)
    assert outcome.status == 1, outcome.said
    assert told in outcome.said
    assert len(outcome.said.strip().splitlines()) == 1, "one message"
    assert outcome.root is None, "nothing is written"


@pytest.mark.thorough
@pytest.mark.parametrize("share", [0.25, 0.5, 0.75])
def test_a_click_on_the_dart_takes_the_stitch_line(share: float, tried: Try) -> None:
    """What is only derived lies below it: a click on a leg never takes the leg."""

    def click_and_delete(hand: Hand) -> None:
        hand.show(STITCH)
        hand.press("F1", "Escape")
        hand.click(MOUTH + share * (DART_POINT - MOUTH))
        hand.press("Delete")

    ids = {element.get("id") for element in tried(click_and_delete).edited.iter()}
    assert STITCH not in ids
    assert {CUT, LEG, f"{LEG}-2", POINT} <= ids


@pytest.mark.thorough
def test_a_reshaped_result_is_allowed_in_the_editor_and_one_undo_takes_it_back(
    editor: RealEditor, written: Path, tmp_path: Path
) -> None:
    drawing = Path(shutil.copy(written, tmp_path / "front.svg"))

    def saved(hand: Hand) -> Any:
        return etree.fromstring(hand.session.save().encode("utf-8"))

    with hand_on(editor, drawing, PICKS, ACTIONS) as hand:
        corner_dragged(hand)
        dragged = saved(hand)
        hand.press(ALLOW_KEY)
        after = saved(hand)
        hand.press("ctrl+z")
        back = saved(hand)
    (stitch,), (cut,) = parts(after, "stitch-line"), parts(after, "cut-line")
    assert stitch.get("d") == by_id(dragged, STITCH).get("d")
    assert widths(stitch) == pytest.approx(WIDTHS)
    assert_parallel(stitch, cut)
    assert cut.get("d") != by_id(dragged, CUT).get("d")
    assert by_id(back, CUT).get("d") == by_id(dragged, CUT).get("d")
