"""In the editor a fault that has a place leaves a sign there, and nothing else."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from shapely.ops import unary_union

from extension.commands.command_line import main
from extension.document.namespaces import ours
from tests.conftest import require
from tests.extension.drafting.test_bad_drawings import DRAWINGS, spoiled
from tests.help.blocks.drawings import (
    APEX,
    OUTLINE_DATA,
    circle,
    marked_front,
    outline,
    page,
    seam_marks,
)
from tests.help.contract.contract_model import SVG
from tests.help.editor.effects import run_effect
from tests.help.texts.font_metrics import missing_fonts
from tests.help.texts.written_results import drawn_line, inked

CHECK = "{urn:dartswing:1}sheet"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
#: Faults with a place, and the place in root units.
PLACES = {
    "apex outside": 280 + 260j,
    "apex in the dart": 95 + 320j,
    "target far away": 262 + 273j,
    "open outline": 0 + 77j,
    "unequal legs": 95 + 260j,
}
APEX_OUTSIDE = page(marked_front(apex=circle("apex", 280, 260)))


def written(tmp_path: Path, text: str, name: str = "in.svg") -> Path:
    drawing = tmp_path / name
    drawing.write_text(text, encoding="utf-8")
    return drawing


def signs(text: str) -> list[Any]:
    root = etree.fromstring(text.encode("utf-8"))
    return [layer for layer in root if layer.get(CHECK) == "check"]


def centre(layer: Any) -> complex:
    (ring,) = [element for element in layer if element.tag.endswith("path")]
    return middle(ring)


def middle(ring: Any) -> complex:
    start, end = (
        complex(*map(float, piece.split()[0].split(",")))
        for piece in (ring.get("d").split("M ")[1], ring.get("d").split("1 1 ")[1])
    )
    return (start + end) / 2


def without_signs(text: str) -> bytes:
    root = etree.fromstring(text.encode("utf-8"))
    for layer in list(root):
        if layer.get(CHECK) == "check":
            root.remove(layer)
    return bytes(etree.tostring(root, method="c14n"))


@pytest.mark.parametrize("name", sorted(set(DRAWINGS) - {"not SVG", "not XML", "an empty file"}))
def test_a_fault_leaves_the_drawing_as_it_was_but_for_a_sign(name: str, tmp_path: Path) -> None:
    text, words = DRAWINGS[name]
    if "DOCTYPE" in text:
        text = text[text.index("<svg") :]
        words = ""
    answer = run_effect("move", written(tmp_path, text))
    if not words:
        return_values = (answer.status, answer.said)
        assert return_values == (0, ""), "without its entities it is a good drawing"
        return
    assert words in answer.said
    if not answer.document:
        assert answer.status != 0
        assert name not in PLACES
        return
    assert answer.status == 0, "else the editor would drop the sign"
    assert without_signs(answer.document) == without_signs(text)
    (layer,) = signs(answer.document)
    assert layer.get(LABEL) == "Check here"
    assert words.split(":")[0] in " ".join(" ".join(layer.itertext()).split())


@pytest.mark.parametrize("name", PLACES)
def test_the_sign_is_where_the_fault_is(name: str, tmp_path: Path) -> None:
    (layer,) = signs(run_effect("move", written(tmp_path, DRAWINGS[name][0])).document)
    assert abs(centre(layer) - PLACES[name]) < 0.01


def test_a_crossing_is_shown_where_the_lines_cross(tmp_path: Path) -> None:
    text = spoiled("L 230,390 L 240,210", "L 240,210 L 230,390")
    (layer,) = signs(run_effect("move", written(tmp_path, text)).document)
    # Two of the block's straight lines, crossed by hand: (110,400)-(240,210) is followed by
    # (240,210)-(230,390), which the curve from there meets again.
    assert 100 < centre(layer).real < 245
    assert 100 < centre(layer).imag < 405


def test_the_place_is_found_in_any_unit(tmp_path: Path) -> None:
    inches = APEX_OUTSIDE.replace('height="450mm" viewBox="0 0 300 450"', "").replace(
        'width="300mm"', 'width="30in" height="45in" viewBox="0 0 300 450"'
    )
    (layer,) = signs(run_effect("move", written(tmp_path, inches)).document)
    assert abs(centre(layer) - PLACES["apex outside"]) < 0.01


def test_a_known_length_does_not_shift_the_sign(tmp_path: Path) -> None:
    ruler = '<path id="ruler" inkscape:label="known length 100mm" d="M 20,300 h 50"/>'
    text = page(marked_front(apex=circle("apex", 280, 260), more=ruler))
    (layer,) = signs(run_effect("move", written(tmp_path, text)).document)
    assert abs(centre(layer) - PLACES["apex outside"]) < 0.01


def test_the_next_good_run_takes_the_sign_off(tmp_path: Path) -> None:
    signed = run_effect("move", written(tmp_path, APEX_OUTSIDE)).document
    mended = signed.replace('cx="280"', 'cx="95"')
    answer = run_effect("move", written(tmp_path, mended))
    assert (answer.status, answer.said) == (0, "")
    assert signs(answer.document) == []
    assert "Check here" not in answer.document
    assert "dartswing:result" in answer.document


def test_a_second_fault_moves_the_sign_and_the_same_one_changes_nothing(tmp_path: Path) -> None:
    signed = run_effect("move", written(tmp_path, APEX_OUTSIDE)).document
    again = run_effect("move", written(tmp_path, signed))
    assert again.document in ("", signed)
    other = run_effect("move", written(tmp_path, signed.replace('cx="280"', 'cx="290"')))
    (layer,) = signs(other.document)
    assert abs(centre(layer) - (290 + 260j)) < 0.01


def test_what_the_drafter_draws_on_the_layer_is_hers(tmp_path: Path) -> None:
    signed = run_effect("move", written(tmp_path, APEX_OUTSIDE)).document
    (layer,) = signs(signed)
    at = signed.index("<path", signed.index(f'id="{layer.get("id")}"'))
    drawn = signed[:at] + '<circle id="hers" r="3"/>' + signed[at:]
    answer = run_effect("move", written(tmp_path, drawn.replace('cx="280"', 'cx="95"')))
    assert 'id="hers"' in answer.document
    assert "dartswing-check-here-sign" not in answer.document


def test_signs_are_never_read_as_marks(tmp_path: Path) -> None:
    signed = run_effect("move", written(tmp_path, APEX_OUTSIDE)).document
    renamed = signed.replace('"Check here"', '"outline"').replace(
        'id="dartswing-check-here-sign"', 'id="apex"'
    )
    again = run_effect("move", written(tmp_path, renamed.replace('cx="280"', 'cx="95"')))
    assert again.said == ""


def test_a_fault_without_a_place_changes_nothing(tmp_path: Path) -> None:
    answer = run_effect("move", written(tmp_path, page(marked_front(outline("")))))
    assert answer.status != 0
    assert answer.document == ""
    assert "empty" in answer.said


def test_a_path_that_does_not_close_is_signed_where_it_does_not(tmp_path: Path) -> None:
    text = page('<path id="fr" d="M 0,0 L 0,200 L 90,200 L 100,120 L 110,200 L 150,200 L 150,4"/>')
    answer = run_effect("mark-block", written(tmp_path, text), "--id=fr")
    assert "its ends lie 150.1 mm apart" in answer.said
    (layer,) = signs(answer.document)
    assert abs(centre(layer) - (75 + 2j)) < 0.01


def test_marks_that_were_not_used_are_remarked_beside_the_piece(tmp_path: Path) -> None:
    answer = run_effect(
        "move", written(tmp_path, page(marked_front())), "--to=waist", "--name=Coat"
    )
    said = " ".join(" ".join(etree.fromstring(answer.document.encode()).itertext()).split())
    assert '"target"' in said.split("was not used, since a place is named.")[0][-30:]
    assert 'The piece is called "Coat", as asked' in said


@pytest.mark.parametrize(
    ("command", "arguments", "words"),
    [
        ("move", ["--to=side sea"], "side sea"),
        ("move", ["--to=side seam:"], "side seam:"),
        ("move", ["--to=side seam:0.3", "--clearance=1 i"], "1 i"),
        ("move", ["--to=side seam:0.3", "--allowance=1/2in, neck"], "neck"),
        ("allow", ["--allowance=half an inch"], "half an inch"),
        ("allow", ["--trim_allowance=x"], "x"),
        # Each can be read, and comes on the way to a word that can be done.
        ("move", ["--to=side seam:0.3", "--as=tuck", "--tuck_length=50m"], "50000 mm"),
        ("move", ["--as=tuck", "--tuck_length=50m"], "50000 mm"),
        ("move", ["--to=armhole:0.5 as ease"], "cannot be eased"),
        ("move", ["--to=side seam:0.3", "--as=ease", "--ease_limit=1"], "the limit is 1 mm"),
        ("move", ["--as=ease", "--gather_over=10"], "cannot be eased"),
        ("allow", ["--clearance=254"], "longer than the dart"),
        ("compare", ["--to=side seam:0.3; waist", "--clearance=254"], "longer than the dart"),
        ("move", ["--report=front.j"], "not yet the name"),
    ],
)
def test_a_word_that_is_not_yet_whole_is_said_on_the_canvas_alone(
    command: str, arguments: list[str], words: str, tmp_path: Path
) -> None:
    """The live preview runs with every letter: whatever is said by a window stops the typing."""
    drawing = tmp_path / "front.svg"
    drawing.write_text(page(marked_front()), encoding="utf-8")
    answer = run_effect(command, drawing, *arguments)
    assert (answer.status, answer.said) == (0, "")
    root = etree.fromstring(answer.document.encode())
    (layer,) = (child for child in root if child.get(LABEL) == "Check here")
    assert words in " ".join(" ".join(layer.itertext()).split())
    assert not [child for child in root if child.get(ours("result"))]
    # The next good word takes it off again.
    again = tmp_path / "again.svg"
    again.write_text(answer.document, encoding="utf-8")
    good = run_effect("allow", again)
    assert (good.status, good.said) == (0, "")
    assert "Check here" not in good.document


def plain(data: str = OUTLINE_DATA, more: str = "") -> str:
    return page(f'<path id="block" d="{data}"/>{more}')


RULER = '<path id="ruler" inkscape:label="known length 100mm" d="M 20,300 h 50"/>'
#: What Mark a block refuses: the drawing, words of the message, and the place in root units.
REFUSED = {
    "an open path": (plain(OUTLINE_DATA.replace("0,80 Z", "0,70")), "ends lie 10 mm apart", 75j),
    "two subpaths": (
        plain(OUTLINE_DATA.replace(" Z", " Z M 9 8 H 4 V 3 Z")),
        "Break Apart",
        9 + 8j,
    ),
    "no dart": (plain("M 0,0 h 100 v 200 h -100 z"), "a dart: two straight legs", 50 + 100j),
    "unequal legs": (
        plain(OUTLINE_DATA.replace("110,400", "110,415")),
        "155.7 mm and 140.8 mm",
        95 + 260j,
    ),
    "an apex outside": (plain(more=circle("apex", 280, 260)), "outside the outline", 280 + 260j),
    "an apex outside, on a scan": (
        plain(more=circle("apex", 280, 260) + RULER),
        "85.4 mm outside",
        280 + 260j,
    ),
    "a label that cannot be read": (
        plain(more=circle("seam waist 12furlongs", 40, 400)),
        "12furlongs",
        40 + 400j,
    ),
    "two names for one seam": (
        plain(more=circle("seam waist", 40, 400) + circle("seam hem", 60, 400)),
        "two names for one seam",
        60 + 400j,
    ),
    "two holds": (
        plain(more=circle("hold", 40, 300) + circle("hold", 60, 300)),
        "2 objects are labelled hold",
        60 + 300j,
    ),
    "two outlines about one apex": (
        page(
            f'<path id="block" d="{OUTLINE_DATA}"/>'
            '<path id="other" inkscape:label="outline" d="M -20,-20 H 280 V 420 H -20 Z"/>'
            + circle("apex", 95, 260)
        ),
        "it lies in 2 outlines",
        95 + 260j,
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_mark_a_block_leaves_a_sign_where_it_refuses(name: str, tmp_path: Path) -> None:
    text, words, place = REFUSED[name]
    answer = run_effect("mark-block", written(tmp_path, text), "--id=block")
    assert words in answer.said
    assert answer.status == 0, "else the editor would drop the sign"
    assert without_signs(answer.document) == without_signs(text)
    (layer,) = signs(answer.document)
    assert abs(centre(layer) - place) < 0.01
    # The next good run takes it off.
    mended = run_effect("mark-block", written(tmp_path, plain()), "--id=block")
    assert (mended.said, signs(mended.document)) == ("", [])


#: What Mark a block does, with something that needs a look: where, and what is said of it.
LOOKS = {
    "a label with more in it": (
        circle("target somewhere", 40, 400),
        {40 + 400j: "is read as no mark"},
    ),
    "an apex to which no dart points": (
        circle("apex", 150, 300),
        {150 + 300j: "No dart points at this apex"},
    ),
    "a name far from its seam": (
        circle("seam waist", 40, 370),
        {40 + 370j: "lies 30 mm from the seam that it names"},
    ),
    "seams that stay without a name": (
        circle("seam flank", 232, 354),
        {0 + 240j: "Seams without a name"},
    ),
    "nothing": ("", {}),
    "a label elsewhere": (circle("target somewhere", 340, 400), {}),
}


@pytest.mark.parametrize("name", LOOKS)
@pytest.mark.parametrize("ruler", ["", RULER])
def test_mark_a_block_shows_what_needs_a_look(
    name: str, ruler: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawn, looks = LOOKS[name]
    first = run_effect("mark-block", written(tmp_path, plain(more=drawn + ruler)), "--id=block")
    assert (first.status, first.said) == (0, "")
    layers = signs(first.document)
    assert len(layers) == min(len(looks), 1)
    shown = [(layer.findall(f"{SVG}path"), layer.findall(f"{SVG}text")) for layer in layers]
    for rings, texts in shown:
        assert len(rings) == len(texts) == len(looks)
        for ring, text, (place, words) in zip(rings, texts, looks.items(), strict=True):
            assert abs(middle(ring) - place) < 0.01
            # On the scan true lengths are told.
            told = words.replace("30 mm", "60 mm") if ruler else words
            assert told in " ".join(" ".join(text.itertext()).split())
    # Again it is nothing new.
    drawing = written(tmp_path, first.document)
    assert run_effect("mark-block", drawing, "--id=block").document == ""
    # The terminal says the same, and leaves no signs.
    drawing = written(tmp_path, plain(more=drawn + ruler))
    out = tmp_path / "out.svg"
    assert main(["mark-block", str(drawing), "-o", str(out), "--select=block"]) == 0
    told = capsys.readouterr().out
    assert all(words in told for words in looks.values() if not ruler)
    assert signs(out.read_text(encoding="utf-8")) == []


def test_what_a_result_is_made_of_needs_no_look(tmp_path: Path) -> None:
    marked = run_effect("mark-block", written(tmp_path, plain()), "--id=block")
    moved = run_effect("move", written(tmp_path, marked.document), "--to=side seam:0.3")
    again = run_effect("mark-block", written(tmp_path, moved.document), "--id=block")
    assert (again.said, again.document) == ("", "")


LONGER = OUTLINE_DATA.replace("110,400", "110,408")
UNEQUAL = plain(LONGER, APEX + seam_marks())
UNEQUAL_MARKED = page(marked_front(outline(LONGER)))


def test_unequal_legs_are_marked_and_shown_and_made_equal_by_what_the_sign_names(
    tmp_path: Path,
) -> None:
    marked = run_effect("mark-block", written(tmp_path, UNEQUAL), "--id=block")
    assert (marked.status, marked.said) == (0, "")
    (layer,) = signs(marked.document)
    assert abs(middle(layer[0]) - (95 + 260j)) < 0.01
    words = " ".join(" ".join(layer.itertext()).split())
    assert "148.8 mm and 140.8 mm" in words
    assert "--even-legs, in the dialog: Unequal legs" in words
    drawing = written(tmp_path, marked.document)
    for command, place in (("move", ["--to=side seam:0.3"]), ("allow", [])):
        refused = run_effect(command, drawing, *place)
        assert "--even-legs, in the dialog: Unequal legs" in refused.said
        done = run_effect(command, drawing, *place, "--even_legs=yes")
        assert (done.said, signs(done.document)) == ("", [])
        assert 'dartswing:even-legs="yes"' in done.document


@pytest.mark.parametrize("command", ["move", "allow", "compare"])
def test_even_legs_stands_in_dialog_and_terminal(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawing, out = written(tmp_path, UNEQUAL_MARKED), tmp_path / "out.svg"
    places = {"move": [], "allow": [], "compare": ["--to=side seam:0.3; shoulder"]}[command]
    asked = [command, str(drawing), "-o", str(out), *places]
    refused = run_effect(command, drawing, *places)
    assert main(asked) == 1
    for said in (refused.said, capsys.readouterr().err):
        assert "148.8 mm and 140.8 mm" in said
        assert "(--even-legs, in the dialog: Unequal legs)" in said
    answer = run_effect(command, drawing, *places, "--even_legs=yes")
    assert (answer.status, answer.said) == (0, "")
    assert main([*asked, "--even-legs"]) == 0
    assert "differed by 8.0 mm" in capsys.readouterr().out
    there, here = answer.document, out.read_text(encoding="utf-8")
    assert etree.canonicalize(there) == etree.canonicalize(here)


def test_a_block_that_is_marked_first_shows_what_needs_a_look_too(tmp_path: Path) -> None:
    drawing = written(tmp_path, plain(more=circle("target somewhere", 40, 400)))
    answer = run_effect("move", drawing, "--to=side seam:0.3")
    assert (answer.status, answer.said) == (0, "")
    assert "dartswing:result" in answer.document
    (layer,) = signs(answer.document)
    assert abs(middle(layer[0]) - (40 + 400j)) < 0.01


def test_a_selected_object_that_a_named_place_beats_is_shown(tmp_path: Path) -> None:
    dot = '<circle id="dot" cx="232" cy="354" r="3"/>'
    drawing = written(tmp_path, page(marked_front(target=dot)))
    answer = run_effect("move", drawing, "--to=armhole:0.5", "--id=dot")
    assert (answer.status, answer.said) == (0, "")
    (layer,) = signs(answer.document)
    assert abs(middle(layer[0]) - (232 + 354j)) < 0.01
    assert "was not used" in " ".join(layer.itertext())


@pytest.mark.parametrize("name", PLACES)
@pytest.mark.parametrize(
    "words", [[], ["--clearance=10"], ["--to=waist", "--allowance=16mm"], ["--as=ease"]]
)
def test_a_fault_of_the_drawing_opens_a_window_whatever_was_typed(
    name: str, words: list[str], tmp_path: Path
) -> None:
    if name == "target far away" and "--to=waist" in words:
        return  # the mark is not used then
    text, said = DRAWINGS[name]
    answer = run_effect("move", written(tmp_path, text), *words)
    assert said in answer.said
    without_target = re.sub(r'<circle inkscape:label="target[^>]*>', "", text)
    if words[:1] == ["--to=waist"]:
        assert said in run_effect("move", written(tmp_path, without_target), *words).said


def test_a_name_that_is_typed_letter_by_letter_leaves_one_file(tmp_path: Path) -> None:
    drawing = written(tmp_path, page(marked_front()))
    kept = written(tmp_path, "hers", "notes")
    name = str(tmp_path / "notes on it.JSON")
    for end in range(len(str(tmp_path)) + 2, len(name)):
        answer = run_effect("move", drawing, f"--report={name[:end]}")
        assert (answer.status, answer.said) == (0, "")
        (layer,) = signs(answer.document)
        assert "not yet the name" in " ".join(" ".join(layer.itertext()).split())
    assert sorted(tmp_path.iterdir()) == sorted([drawing, kept])
    answer = run_effect("move", drawing, f"--report={name}")
    assert (answer.status, answer.said) == (0, "")
    assert sorted(tmp_path.iterdir()) == sorted([drawing, kept, Path(name)])
    assert kept.read_text(encoding="utf-8") == "hers"


def test_words_without_a_place_are_read_where_the_whole_page_is_seen(tmp_path: Path) -> None:
    for height in (40, 450, 3000):
        drawing = page(
            marked_front(), f'width="300mm" height="{height}mm" viewBox="0 0 300 {height}"'
        )
        (layer,) = signs(run_effect("move", written(tmp_path, drawing), "--to=side sea").document)
        (text,) = layer
        size = float(re.findall(r"font-size:([0-9.]+)px", text.get("style"))[0])
        assert size >= max(3.5, height / 75)
        assert text[0].text.startswith("The place")


@pytest.mark.parametrize("name", PLACES)
def test_the_words_stand_on_nothing_that_is_drawn(name: str, tmp_path: Path) -> None:
    require(*missing_fonts())
    document = run_effect("move", written(tmp_path, DRAWINGS[name][0])).document
    (layer,) = signs(document)
    (words,) = [element for element in layer if element.tag.endswith("text")]
    drawn = [
        line
        for element in etree.fromstring(document.encode()).iter(f"{SVG}path", f"{SVG}circle")
        for line in drawn_line(element)
    ]
    assert len(drawn) > 2
    assert inked(words).intersection(unary_union(drawn)).is_empty
