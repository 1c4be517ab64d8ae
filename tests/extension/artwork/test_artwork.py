"""What comes along as artwork, what does not, and what becomes of it afterwards."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from lxml import etree

from extension.commands.command_line import main
from extension.reading.drawn_boxes import drawn_boxes
from tests.extension.artwork.written_copies import (
    LABEL,
    OURS,
    SVG,
    XLINK,
    copies,
    moved,
    result_layers,
    sector_groups,
    to_root,
)
from tests.help.blocks.artwork import SAMPLES, picture_data, with_artwork
from tests.help.editor.effects import run_effect

ROOT = 'xmlns="http://www.w3.org/2000/svg" width="300mm" height="400mm" viewBox="0 0 300 400"'
BLOCK = (
    '<path id="{name}-outline" inkscape:label="outline" style="fill:none;stroke:#000" '
    'transform="translate({x} 0)" d="M 10,10 H 110 V 180 H 70 L 60,80 L 50,180 H 10 Z"/>'
    '<circle id="{name}-apex" inkscape:label="apex" cx="{apex}" cy="80" r="2"/>'
)


def drawing(folder: Path, body: str, name: str = "drawn") -> Path:
    path = folder / f"{name}.svg"
    spaces = (
        'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
        'xmlns:xlink="http://www.w3.org/1999/xlink"'
    )
    path.write_text(f"<svg {ROOT} {spaces}>{body}</svg>", encoding="utf-8")
    return path


def block(name: str = "front", x: int = 0) -> str:
    return BLOCK.format(name=name, x=x, apex=60 + x)


def run(source: Path, *more: str, command: str = "move", to: str = "seam 2:0.4") -> Path:
    out = source.with_name(f"{source.stem}-{command}.svg")
    words = ["--to", to] if command == "move" else []
    assert main([command, str(source), "-o", str(out), *words, *more]) == 0
    return out


def root_of(path: Path) -> etree._Element:
    return etree.parse(str(path)).getroot()


def originals(path: Path, result: int = -1, part: str = "artwork") -> set[str]:
    return {copy.original for copy in copies(result_layers(root_of(path))[result], part)}


@pytest.fixture
def printed(tmp_path: Path) -> Path:
    """A front with one of everything on it."""
    path = tmp_path / "printed.svg"
    path.write_text(with_artwork("front_one_path"), encoding="utf-8")
    return path


def moved_to_side(source: Path, *more: str) -> Path:
    return run(source, *more, to="side seam:0.35")


def test_nothing_comes_along_unasked(printed: Path) -> None:
    root = root_of(moved_to_side(printed))
    [layer] = result_layers(root)
    assert not [e for e in layer.iter() if e.get(f"{OURS}part") in ("artwork", "fill")]
    labels = [child.get(LABEL) for child in layer]
    assert "Artwork" not in labels


def test_it_lies_under_the_lines_and_above_the_sheet(printed: Path) -> None:
    [layer] = result_layers(root_of(moved_to_side(printed, "--artwork")))
    labels = [child.get(LABEL) for child in layer]
    assert labels[:2] == ["Sheet", "Artwork"]
    assert not layer[1].get("transform")


def test_the_same_again_is_the_same(printed: Path) -> None:
    first = moved_to_side(printed, "--artwork", "--fill=as-drawn")
    again = moved_to_side(first, "--artwork", "--fill=as-drawn")
    assert again.read_bytes() == first.read_bytes()


@pytest.mark.parametrize("change", ["d", "gone", "style", "added"])
def test_a_result_whose_artwork_a_hand_has_changed_stays(printed: Path, change: str) -> None:
    first = moved_to_side(printed, "--artwork")
    tree = etree.parse(str(first))
    [layer] = result_layers(tree.getroot())
    copy = next(c for c in copies(layer) if c.original == "leaf-1")
    if change == "gone":
        copy.element.getparent().remove(copy.element)
    elif change == "added":
        copy.element.getparent().append(etree.Element(f"{SVG}path", d="M 0,0 h 5 v 5 z"))
    else:
        copy.element.set(change, {"d": "M 0,0 h 9 v 9 z", "style": "fill:#123456"}[change])
    tree.write(str(first))
    again = moved_to_side(first, "--artwork")
    assert len(result_layers(root_of(again))) == 2


def test_what_is_cut_off_a_copy_takes_no_room(tmp_path: Path) -> None:
    """A print reaches far beyond its block; its copies are seen no further than their piece."""
    wide = '<rect id="wide" x="-300" y="-300" width="900" height="900" fill="#ddd"/>'
    [layer] = result_layers(root_of(run(drawing(tmp_path, block() + wide), "--artwork")))
    with_copies = set(drawn_boxes(layer))
    groups = sector_groups(layer, "artwork")
    assert len(groups) == 2
    for group in groups:
        group.getparent().remove(group)
    assert set(drawn_boxes(layer)) == with_copies


@pytest.mark.parametrize("layer_motion", ["", "matrix(0 1 -1 0 500 20)", "translate(300 -7)"])
def test_the_next_move_takes_it_along_again(printed: Path, layer_motion: str) -> None:
    """Copies of copies lie where both moves took the originals, and the drafter her layer."""
    first = moved_to_side(printed, "--artwork", "--fill=as-drawn")
    tree = etree.parse(str(first))
    result_layers(tree.getroot())[0].set("transform", layer_motion)
    tree.write(str(first))
    second = run(first, f"--select={result_layers(root_of(first))[0].get('id')}", to="armhole:0.5")
    root = root_of(second)
    old, new = result_layers(root)
    assert new.get("id") != old.get("id")
    found = list(copies(new))
    assert {copy.original for copy in found} >= {"sky", "leaf-1", "words", "photo", "pocket-edge"}
    known = {c.original: to_root(c.element) for c in copies(old)}
    checked = 0
    for copy in found:
        if copy.original in known and copy.original not in ("sky", "spots"):
            back = np.linalg.inv(copy.motion) @ to_root(copy.element)
            lies = [to_root(c.element) for c in copies(old) if c.original == copy.original]
            offs = [
                max(abs(moved(back, z) - moved(there, z)) for z in (0j, 300j, 300 + 0j))
                for there in lies
            ]
            assert min(offs) < 1e-9
            checked += 1
    assert checked > 8
    assert sector_groups(new, "fill")
    stitch = next(e for e in new.iter() if e.get(f"{OURS}part") == "stitch-line")
    assert (stitch.get(f"{OURS}artwork"), stitch.get(f"{OURS}fill")) == ("yes", "as-drawn")
    assert not links_out_of(new, old)


def links_out_of(layer: etree._Element, into: etree._Element) -> list[str]:
    """The ids in one group that objects of another refer to."""
    held = {e.get("id") for e in into.iter() if e.get("id")}
    links = []
    for element in layer.iter():
        for name, value in element.attrib.items():
            if name in ("href", XLINK) and value.startswith("#"):
                links.append(value[1:])
            links += re.findall(r"url\(#([^)]+)\)", value)
    return [link for link in links if link in held]


def test_a_later_move_leaves_it_where_that_is_said(printed: Path) -> None:
    first = moved_to_side(printed, "--artwork")
    layer = result_layers(root_of(first))[0].get("id")
    second = run(first, f"--select={layer}", "--artwork=no", to="armhole:0.5")
    assert not sector_groups(result_layers(root_of(second))[-1], "artwork")


def test_a_result_does_not_go_with_the_drafters_old_layers(printed: Path) -> None:
    """All that its copies refer to is theirs, or stays among the definitions of the document."""
    root = root_of(moved_to_side(printed, "--artwork", "--fill=as-drawn"))
    [result] = result_layers(root)
    for name in ("art", "layer-front"):
        [old] = root.xpath("//*[@id=$name]", name=name)
        assert not links_out_of(result, old)


def test_all_that_is_referred_to_is_there_and_ids_are_new(printed: Path) -> None:
    root = root_of(moved_to_side(printed, "--artwork", "--fill=as-drawn"))
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    text = etree.tostring(root, encoding="unicode")
    links = re.findall(r"url\(#([^)]+)\)|href=\"#([^\"]+)\"", text)
    assert len(links) > 20
    assert {one or other for one, other in links} <= set(ids)


def test_styles_of_rules_are_kept_where_the_rules_hold_no_longer(printed: Path) -> None:
    [layer] = result_layers(root_of(moved_to_side(printed, "--artwork")))
    leaf = next(c.element for c in copies(layer) if c.original == "leaf-1")
    other = next(c.element for c in copies(layer) if c.original == "leaf-2")
    stitches = next(c.element for c in copies(layer) if c.original == "pocket-stitches")
    assert dict(part.split(":") for part in leaf.get("style").split(";"))["fill"] == "#3f7d3a"
    assert dict(part.split(":") for part in other.get("style").split(";"))["fill"] == "#8a3"
    assert stitches.get("class") == "stitches"
    assert "stroke-dasharray:3,1.5" in stitches.get("style")


def test_no_rule_holds_for_a_copy_that_did_not_hold_for_its_original(tmp_path: Path) -> None:
    body = (
        "<style>g g > rect { fill:#f00; opacity:0.2 }</style>"
        f'{block()}<rect id="patch" x="20" y="20" width="20" height="9" fill="#00f"/>'
    )
    [layer] = result_layers(root_of(run(drawing(tmp_path, body), "--artwork")))
    for copy in copies(layer):
        said = dict(part.split(":") for part in copy.element.get("style").split(";"))
        assert (said["fill"], said["opacity"]) == ("#00f", "1")


def test_a_large_picture_is_written_once_more_and_a_small_one_as_it_is(tmp_path: Path) -> None:
    data = picture_data(9, 7)
    large = data + "A" * 40_000
    body = "".join(
        f'<image id="{name}" x="5" y="5" width="120" height="190" xlink:href="{link}"/>'
        for name, link in (("large", large), ("small", data))
    )
    root = root_of(run(drawing(tmp_path, block() + body), "--artwork"))
    [layer] = result_layers(root)
    groups = sector_groups(layer, "artwork")
    assert len(groups) == 2
    pictures = list(layer.iter(f"{SVG}image"))
    assert sorted(len(e.get(XLINK)) for e in pictures) == [len(data), len(data), len(large)]
    [clone] = layer.iter(f"{SVG}use")
    first = next(e for e in pictures if e.get(XLINK) == large)
    assert clone.get(XLINK) == f"#{first.get('id')}"
    assert not {"x", "y", "transform", "width"} & set(clone.attrib)


# What is no artwork


def test_marks_signs_notes_and_results_are_no_artwork(printed: Path) -> None:
    marked = printed.with_name("marked.svg")
    assert main(["mark-block", str(printed), "-o", str(marked), "--select=front-block"]) == 0
    plain = originals(moved_to_side(printed, "--artwork"))
    first = moved_to_side(marked, "--artwork")
    second = run(first, "--artwork", to="armhole:0.4")
    assert len(result_layers(root_of(second))) == 2
    assert originals(first) == originals(second) == plain


def test_a_check_here_note_is_no_artwork(tmp_path: Path) -> None:
    source = drawing(tmp_path, f'{block()}<path id="art" d="M 20,20 h 20 v 9 z"/>')
    noted = source.with_name("noted.svg")
    answer = run_effect("move", source, "--to=nowhere", "--id=front-outline")
    noted.write_text(answer.document, encoding="utf-8")
    assert "Check here" in answer.document
    assert originals(run(noted, "--artwork")) == {"art"}


@pytest.mark.parametrize(
    "hidden",
    [
        'style="display:none"',
        'display="none"',
        'visibility="hidden"',
        'class="gone"',
        'inkscape:label="inner line"',
        'inkscape:label="seam side seam"',
    ],
)
def test_what_is_hidden_or_has_a_role_is_no_artwork(tmp_path: Path, hidden: str) -> None:
    body = (
        "<style>.gone { display:none }</style>"
        f'{block()}<path id="art" d="M 80,30 h 20 v 9 z"/><path id="no" {hidden} '
        'd="M 80,60 L 90,90"/>'
    )
    assert originals(run(drawing(tmp_path, body), "--artwork")) == {"art"}


def test_each_block_has_its_own_artwork_and_what_lies_on_both(tmp_path: Path) -> None:
    def piece(name: str, x: int) -> str:
        rose = f'<path id="{name}-rose" d="M {x + 20},20 h 60 v 60 z"/>'
        # What belongs to a layer stays with its block, though it lies on the other.
        stray = f'<path id="{name}-stray" d="M {160 - x},20 h 10 v 10 z"/>'
        return f'<g id="{name}" inkscape:groupmode="layer">{block(name, x)}{rose}{stray}</g>'

    both = '<g><rect id="sky" x="0" y="0" width="300" height="60" opacity=".5"/></g>'
    away = '<rect id="away" x="0" y="300" width="300" height="60"/>'
    path = drawing(tmp_path, piece("one", 0) + piece("two", 120) + both + away)
    out = run(path, "--artwork")
    assert originals(out, 0) == {"one-rose", "sky"}
    assert originals(out, 1) == {"two-rose", "sky"}


def test_a_plain_layer_goes_and_a_group_with_effects_stays_whole(tmp_path: Path) -> None:
    body = (
        f'<g id="sheet" inkscape:groupmode="layer" style="display:inline">{block()}</g>'
        '<g id="art" inkscape:groupmode="layer" inkscape:label="Art">'
        '<g id="glow" style="opacity:0.5"><path id="near" d="M 20,20 h 9 v 9 z"/>'
        '<path id="off" d="M 200,300 h 9 v 9 z"/></g>'
        '<g id="blurred" filter="url(#f)"><path id="near-2" d="M 20,20 h 9 v 9 z"/>'
        '<path id="off-2" d="M 200,300 h 9 v 9 z"/></g></g>'
        '<defs><filter id="f"><feGaussianBlur stdDeviation="1"/></filter></defs>'
    )
    assert originals(run(drawing(tmp_path, body), "--artwork")) == {
        *("glow", "near", "blurred", "near-2", "off-2"),
    }


def test_what_cannot_be_read_is_left_out_and_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    body = (
        f'{block()}<path id="art" d="M 20,20 h 20 v 9 z"/><path id="broken" d="M 20,20 h x"/>'
        '<g id="turned" transform="turn(9)"><path id="in-it" d="M 20,20 h 20 v 9 z"/></g>'
        '<rect id="nowhere" x="20" y="20" width="wide" height="9"/><g id="empty"/><path id="void"/>'
    )
    assert originals(run(drawing(tmp_path, body), "--artwork")) == {"art"}
    [said] = [s for s in capsys.readouterr().out.splitlines() if "cannot be read" in s]
    assert re.findall(r'"([\w-]+)"', said) == ["broken", "turned", "nowhere"]


def test_a_block_of_strokes_is_filled_stroke_by_stroke(tmp_path: Path) -> None:
    """As drawn: an open path is filled as the editor fills it, here one that is all but closed."""
    text = (SAMPLES / "front_seam_by_seam.svg").read_text(encoding="utf-8")
    source = tmp_path / "strokes.svg"
    source.write_text(text.replace('fill="none"', 'fill="#abc"'), encoding="utf-8")
    [layer] = result_layers(root_of(run(source, "--fill=as-drawn", to="side seam:0.35")))
    groups = sector_groups(layer, "fill")
    assert len(groups) == 2
    shapes = [e for group in groups for e in group.iter() if e.tag != f"{SVG}g"]
    assert len(shapes) > 6
    assert all("stroke:none" in e.get("style") for e in shapes)
    assert not [e for group in groups for e in group if e.get(LABEL)]


# Fill


@pytest.mark.parametrize(
    "fill", ['style="fill:#123456"', 'fill="url(#g)"', 'style="fill:url(#g);stroke:red"']
)
def test_the_fill_comes_along_without_the_line(tmp_path: Path, fill: str) -> None:
    shaped = block().replace('style="fill:none;stroke:#000"', fill, 1)
    defs = '<defs><linearGradient id="g"><stop offset="0"/></linearGradient></defs>'
    root = root_of(run(drawing(tmp_path, defs + shaped), "--fill=as-drawn"))
    [layer] = result_layers(root)
    found = list(copies(layer, "fill"))
    assert len(found) == 2
    for copy in found:
        said = dict(part.split(":", 1) for part in copy.element.get("style").split(";"))
        assert said["stroke"] == "none"
        assert said.get("fill", copy.element.get("fill")) in fill
        assert not copy.element.get(LABEL)
    assert not sector_groups(layer, "artwork")


def test_without_a_fill_and_without_artwork_it_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = run(drawing(tmp_path, block()), "--fill=as-drawn", "--artwork")
    said = capsys.readouterr().out
    assert "the block has no fill" in said
    assert "nothing else is drawn on the block" in said
    [layer] = result_layers(root_of(out))
    assert "Artwork" not in [child.get(LABEL) for child in layer]


def test_the_fill_lies_under_the_artwork(printed: Path) -> None:
    [layer] = result_layers(root_of(moved_to_side(printed, "--artwork", "--fill=as-drawn")))
    parts = [e.get(f"{OURS}part") for e in layer[1] if e.tag == f"{SVG}g"]
    assert parts == ["fill", "fill", "artwork", "artwork"]


# Allowances


def test_allow_on_a_block_takes_the_whole_along(printed: Path) -> None:
    out = run(printed, "--artwork", "--fill=as-drawn", command="allow")
    [layer] = result_layers(root_of(out))
    [group] = sector_groups(layer, "artwork")
    assert np.array_equal(to_root(group), np.eye(3))
    assert originals(out) >= {"sky", "words", "photo", "leaf-3"}


def test_allow_leaves_the_artwork_of_a_result_as_it_is(printed: Path) -> None:
    first = moved_to_side(printed, "--artwork", "--fill=as-drawn")
    again = run(first, command="allow")
    before, after = (result_layers(root_of(path))[0] for path in (first, again))
    assert etree.tostring(before[1]) == etree.tostring(after[1])
    assert run(again, command="allow").read_bytes() == again.read_bytes()


def test_allow_says_that_another_word_changes_nothing(
    printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = moved_to_side(printed, "--artwork")
    capsys.readouterr()
    out = run(first, "--artwork=no", command="allow")
    assert "stays as it is" in capsys.readouterr().out
    [layer] = result_layers(root_of(out))
    stitch = next(e for e in layer.iter() if e.get(f"{OURS}part") == "stitch-line")
    assert stitch.get(f"{OURS}artwork") == "yes"
    assert sector_groups(layer, "artwork")


def test_allow_says_that_artwork_does_not_follow_a_reshaped_line(
    printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = moved_to_side(printed, "--artwork")
    tree = etree.parse(str(first))
    [stitch] = [e for e in tree.iter() if e.get(f"{OURS}part") == "stitch-line"]
    x = re.search(r"C (-?\d+\.\d+),", stitch.get("d"))
    assert x
    stitch.set("d", stitch.get("d").replace(x[1], f"{float(x[1]) - 2:.12f}", 1))
    tree.write(str(first))
    capsys.readouterr()
    run(first, command="allow")
    assert "the artwork stays as it was cut" in capsys.readouterr().out


def test_a_duplicated_layer_gets_its_own_clips(printed: Path) -> None:
    """As the editor duplicates a layer: new ids, but clips by those of the first one."""
    first = moved_to_side(printed, "--artwork")
    tree = etree.parse(str(first))
    [layer] = result_layers(tree.getroot())
    twin = etree.fromstring(etree.tostring(layer))
    for element in twin.iter():
        if element.get("id"):
            element.set("id", f"{element.get('id')}-twin")
    tree.getroot().append(twin)
    tree.write(str(first))
    out = run(first, f"--select={twin.get('id')}", command="allow")
    old, new = result_layers(root_of(out))
    links = [e.get("clip-path") for e in sector_groups(new, "artwork")]
    assert len(links) == 2
    assert not set(links) & {e.get("clip-path") for e in sector_groups(old, "artwork")}


# Paper


def test_pages_have_no_artwork(printed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first = moved_to_side(printed, "--artwork", "--fill=as-drawn")
    plain = moved_to_side(printed.rename(printed.with_name("plain.svg")))
    capsys.readouterr()

    def pages(path: Path, *more: str) -> list[bytes]:
        out = path.with_name("pages.svg")
        assert main(["paper", str(path), "-o", str(out), *more]) == 0
        [layer] = [e for e in root_of(out) if e.get(f"{OURS}sheet")]
        # Where the pages begin goes by how far the drawing reaches; what is said may differ.
        return [e.tag for e in layer.iter() if e.tag not in (f"{SVG}text", f"{SVG}tspan")]

    for more in ((), ("--cut-only",)):
        assert pages(first, *more) == pages(plain, *more)
    assert "its artwork is not printed" in capsys.readouterr().out


# In the editor


def test_the_dialog_says_it_too(printed: Path) -> None:
    answer = run_effect("move", printed, "--artwork=yes", "--fill=as-drawn", "--id=front-block")
    assert (answer.status, answer.said) == (0, "")
    root = etree.fromstring(answer.document.encode())
    [layer] = result_layers(root)
    assert len(sector_groups(layer, "artwork")) == len(sector_groups(layer, "fill")) == 2
    terminal = result_layers(root_of(run(printed, "--artwork", "--fill=as-drawn", to="")))[0]
    for one, other in zip(layer[1].iter(), terminal[1].iter(), strict=True):
        assert (one.tag, dict(one.attrib)) == (other.tag, dict(other.attrib))


# Inner lines


def styled(style: str, transform: str = "") -> str:
    line = f'<path inkscape:label="inner line" {style} d="M 15,20 H 40"/>'
    return f'{block()}<g transform="{transform}" stroke="#0a0" opacity="0.5">{line}</g>'


@pytest.mark.parametrize(
    ("style", "transform", "expected"),
    [
        ('style="stroke:#c00;stroke-width:0.9"', "", "stroke:#c00;stroke-width:0.9;opacity:0.5"),
        ('stroke-width="2"', "scale(1.5)", "stroke:#0a0;stroke-width:3;opacity:0.5"),
        (
            'stroke="navy" style="stroke-dasharray:2, 1;stroke-width:1"',
            "rotate(3) scale(2)",
            "stroke:navy;stroke-width:2;stroke-dasharray:4,2;opacity:0.5",
        ),
        ('stroke="none"', "", "stroke:#000000;stroke-width:0.35"),
    ],
)
def test_an_inner_line_keeps_its_own_look(
    tmp_path: Path, style: str, transform: str, expected: str
) -> None:
    out = run(drawing(tmp_path, styled(style, transform)))
    again = run(out, command="allow")
    for path in (out, again):
        [line] = [e for e in root_of(path).iter() if e.get(f"{OURS}part") == "inner-line"]
        assert set(expected.split(";")) <= set(line.get("style").split(";"))
        assert ("dasharray" in line.get("style")) == (
            "dasharray" in expected or 'stroke="none"' in style
        )


def test_all_samples_without_artwork_move_as_before_with_it_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = SAMPLES / "front_nest.svg"
    out = tmp_path / "nest.svg"
    assert main(["move", str(source), "-o", str(out), "--artwork", "--nest"]) == 0
    assert "nothing else is drawn on the block" in capsys.readouterr().out
    assert len(result_layers(root_of(out))) > 2
