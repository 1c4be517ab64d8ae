"""Many blocks in one drawing: each as by itself, one at fault named, all in one table."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from drafting_core.text.errors import DraftingError
from extension.commands.command_line import main
from extension.document.svg_document import read_document
from extension.drafting.move_and_allow import Request, allow, move
from extension.drafting.report import terminal_balance
from tests.help.blocks import random_blocks, random_drawings
from tests.help.blocks.core_blocks import drawn
from tests.help.blocks.drawings import (
    APEX,
    NS,
    TARGET,
    circle,
    layer,
    marked_front,
    outline,
    page,
    root_of,
)
from tests.help.depth import some_quick

SAMPLE = Path(__file__).parents[3] / "sample_svgs" / "front_nest.svg"
UNMARKED = {"apex": "", "target": "", "seams": ""}


def pair(z: complex) -> str:
    return f"{z.real!r},{z.imag!r}"


def seam_by_seam(seed: int, shift: complex) -> str:
    """A random block as named paths with apex and target, in a layer of its own."""
    block = drawn(seed)
    rng = random.Random(seed)
    _, _, target = random_blocks.random_place(block, rng)
    paths = "".join(
        f'<path inkscape:label="{s.seam if s.run >= 0 else "dart"}" d="M {pair(s.points[0])} '
        f'{"L" if len(s.points) == 2 else "C"} {" ".join(map(pair, s.points[1:]))}"/>'
        for s in block.segments
    )
    body = (
        f'<g id="block-{seed}" inkscape:label="outline">{paths}</g>'
        f"{circle('apex', block.apex.real, block.apex.imag)}"
        f"{circle('target', target.real, target.imag)}"
    )
    return layer(body, f"Piece {seed}", f'transform="translate({shift.real},{shift.imag})"')


def paths_of(result: Any) -> list[str]:
    return [element.get("d") for element in result.iter() if element.get("d")]


def fits(text: str) -> bool:
    try:
        move(root_of(page(text)), Request())
    except DraftingError:
        return False
    return True


@pytest.mark.parametrize("shift", some_quick([700 + 0j, 0j], 1), ids=["side by side", "stacked"])
def test_every_block_of_a_nest_is_as_by_itself(shift: complex) -> None:
    wanted = [seam_by_seam(seed, n * shift) for n, seed in enumerate(range(40))]
    layers = [text for text in wanted if fits(text)][:16]
    assert len(layers) >= 12
    nest = root_of(page("".join(layers)))
    outcome = move(nest, Request())
    results = list(nest)[len(layers) :]
    assert len(results) == len(layers) == len(outcome.drafts)
    for text, result in zip(layers, results, strict=True):
        alone = root_of(page(text))
        move(alone, Request())
        assert paths_of(result) == paths_of(alone[-1])
        assert len(paths_of(result)) > 10
    identities = [element.get("id") for element in nest.iter() if element.get("id")]
    assert len(identities) == len(set(identities))


def in_any_style(seed: int, shift: complex) -> str:
    """The layer of a random drawing: any style, transforms, path commands and marks."""
    rng = random.Random(seed)
    block = random_blocks.random_block(rng)
    index, _, place = random_blocks.random_place(block, rng)
    goal = random_drawings.Target(index, place, drawn=rng.choice(("mark", "near", "slash")))
    drawing = random_drawings.to_svg(block, rng, unit="px", targets=(goal,))
    own = root_of(drawing.text.split("?>", 1)[1]).find("svg:g", NS)
    text = etree.tostring(own, encoding="unicode", with_tail=False)
    return f'<g transform="translate({shift.real},{shift.imag})">{text}</g>'


@pytest.mark.thorough
@pytest.mark.parametrize("shift", some_quick([3000 + 0j, 0j], 1), ids=["side by side", "stacked"])
@pytest.mark.parametrize("keep_going", [False, True])
def test_blocks_in_every_style_are_as_by_themselves(shift: complex, keep_going: bool) -> None:
    texts = [in_any_style(seed, n * shift) for n, seed in enumerate(range(200, 224))]
    single: dict[int, list[str]] = {}
    for k, text in enumerate(texts):
        alone = root_of(page(text, ""))
        try:
            move(alone, Request())
        except DraftingError:
            continue
        single[k] = paths_of(alone[-1])
    assert len(single) >= 18
    used = list(range(len(texts))) if keep_going else list(single)
    nest = root_of(page("".join(texts[k] for k in used), ""))
    outcome = move(nest, Request(keep_going=keep_going))
    results = list(nest)[len(used) :]
    assert [paths_of(result) for result in results] == list(single.values())
    assert len(outcome.left_out) == len(used) - len(single)


def test_marks_in_one_layer_find_their_outlines() -> None:
    """The place alone says whose they are; the results are those of each block by itself."""
    groups = [f'<g transform="translate({320 * k},{7 * k})">{{}}</g>' for k in range(9)]
    blocks = "".join(
        layer(group.format(outline().replace('"block"', f'"b{k}"')), f"Front {k}")
        for k, group in enumerate(groups)
    )
    marks = "".join(group.format(APEX + TARGET) for group in groups)
    together = root_of(page(blocks + layer(marks, "Notes")))
    assert len(move(together, Request()).drafts) == 9
    for k, group in enumerate(groups):
        own = layer(group.format(outline()), f"Front {k}")
        alone = root_of(page(own + layer(group.format(APEX + TARGET), "Notes")))
        move(alone, Request())
        assert paths_of(together[10 + k]) == paths_of(alone[-1])


def sizes(bad: int | None = None, count: int = 8, **model: str) -> str:
    """Fronts in layers of their own, the fourth with marks; one may have an open outline."""
    layers = []
    for k in range(count):
        own = outline().replace('"block"', f'"block{k}"')
        if k == bad:
            own = outline("M 0,80 L 0,400 L 80,400 L 95,260 L 110,400 L 230,390").replace(
                '"block"', f'"block{k}"'
            )
        body = marked_front(own, **(model if k == 3 else UNMARKED))
        layers.append(
            body.replace('inkscape:label="Front"', f'inkscape:label="Front {34 + 2 * k}"')
        )
    return page("".join(layers))


def test_one_set_of_marks_serves_all_and_is_named() -> None:
    root = root_of(sizes())
    outcome = move(root, Request(nest=True))
    assert outcome.notes == ['The marks of the block "Front 40" were used for 7 other blocks.']
    assert len(outcome.drafts) == 8
    lines = [[d for d in paths_of(result) if d.endswith("Z")][:2] for result in root[8:]]
    first = outcome.drafts[3].stitch_line
    for draft, names in zip(outcome.drafts, lines, strict=True):
        assert len(names) == 2
        # The eight outlines are the same one, so the eight results are too.
        assert len(draft.stitch_line) == len(first)
        assert all(
            abs(a.start - b.start) < 1e-6 for a, b in zip(draft.stitch_line, first, strict=True)
        )


def test_a_place_in_words_needs_no_target() -> None:
    root = root_of(sizes(target=""))
    outcome = move(root, Request(nest=True, to="side seam:0.35"))
    assert len(outcome.drafts) == 8
    assert {d.darts[0].dart.seam.name for d in outcome.drafts} == {"side seam"}


@pytest.mark.parametrize(("more", "said"), [("none", "no block"), ("two", "2 blocks have")])
def test_no_model_or_two_are_refused(more: str, said: str) -> None:
    unmarked = "".join(
        marked_front(outline().replace('"block"', f'"b{k}"'), **UNMARKED) for k in (1, 2)
    )
    models = [marked_front(outline().replace('"block"', f'"m{k}"')) for k in range(2)]
    root = root_of(page(unmarked + ("".join(models) if more == "two" else "")))
    before = etree.tostring(root)
    with pytest.raises(DraftingError, match=said) as caught:
        move(root, Request(nest=True))
    assert str(caught.value).startswith("The nest: ")
    assert "Nothing was written" not in str(caught.value)
    assert etree.tostring(root) == before


def test_one_bad_block_among_eight_is_named_and_stops_the_others() -> None:
    root = root_of(sizes(bad=5))
    before = etree.tostring(root)
    with pytest.raises(DraftingError) as caught:
        move(root, Request(nest=True))
    said = str(caught.value)
    assert '"Front 44"' in said
    assert "Nothing was written for the other 7 blocks either; --keep-going writes" in said
    assert etree.tostring(root) == before


def test_one_bad_block_among_eight_is_left_out() -> None:
    root = root_of(sizes(bad=5))
    outcome = move(root, Request(nest=True, keep_going=True))
    assert len(outcome.drafts) == 7
    assert len(root) == 8 + 7
    assert [left.name for left in outcome.left_out] == ["Front 44"]
    assert outcome.report["left_out"] == [outcome.left_out[0]._asdict()]
    assert any("Front 44" in note and "open" in note for note in outcome.notes)
    assert 'The marks of the block "Front 40" were used for 6 other blocks.' in outcome.notes


def test_other_seams_are_refused_with_both_names() -> None:
    odd = outline(
        "M 0,80 L 0,400 L 80,400 L 95,260 L 110,400 L 230,390 L 240,210 L 130,90 L 180,40 "
        "L 70,0 C 60,50 30,80 0,80 Z"
    ).replace('"block"', '"odd"')
    one = layer(odd, "Odd one")
    root = root_of(page(marked_front() + one))
    with pytest.raises(DraftingError, match=r'"Odd one" has \d seams and "Front" has \d'):
        move(root, Request(nest=True))


@pytest.mark.parametrize("job", [move, allow])
def test_if_none_can_be_drafted_nothing_is_written(job: Any) -> None:
    bad = outline("M 0,80 L 0,400 L 80,400 L 230,390")
    body = "".join(marked_front(bad.replace('"block"', f'"b{k}"')) for k in range(3))
    root = root_of(page(body))
    before = etree.tostring(root)
    with pytest.raises(DraftingError, match="The other 2 blocks could not be drafted either"):
        job(root, Request(keep_going=True))
    assert etree.tostring(root) == before


def test_allow_leaves_a_bad_block_out_too() -> None:
    root = root_of(sizes(bad=0, count=5))
    outcome = allow(root, Request(keep_going=True))
    assert len(outcome.drafts) == 4
    assert outcome.left_out[0].name == "Front 34"


@pytest.mark.parametrize(
    "bad", ['<circle inkscape:label="seam waist 12mn" cx="2" cy="400" r="1"/>']
)
def test_a_bad_mark_leaves_out_its_own_block_alone(bad: str) -> None:
    layers = [marked_front(outline().replace('"block"', f'"b{k}"')) for k in range(3)]
    layers[1] = marked_front(outline().replace('"block"', '"b1"'), more=bad)
    root = root_of(page("".join(layers)))
    with pytest.raises(DraftingError, match=r"12mn.*other 2 blocks"):
        move(root, Request())
    outcome = move(root, Request(keep_going=True))
    assert len(outcome.drafts) == 2
    assert "12mn" in outcome.left_out[0].message


def test_exit_status_and_report_of_a_run_that_keeps_going(tmp_path: Path, capsys: Any) -> None:
    source, result, report = (tmp_path / name for name in ("in.svg", "out.svg", "report.json"))
    source.write_text(sizes(bad=2), encoding="utf-8")
    command = ["move", str(source), "--nest", "-o", str(result), "--report", str(report)]
    assert main(command) == 1
    assert not result.exists()
    assert '"Front 38"' in capsys.readouterr().err
    assert main([*command, "--keep-going"]) == 0
    told = json.loads(report.read_text(encoding="utf-8"))
    assert len(told["blocks"]) == 7
    assert told["left_out"][0]["name"] == "Front 38"
    assert "Left out: " in capsys.readouterr().out


def test_the_table_of_eight_sizes_fits_the_terminal() -> None:
    root = read_document(str(SAMPLE)).getroot()
    drafts = move(root, Request(nest=True)).drafts
    assert len(drafts) == 8
    words = terminal_balance(drafts)
    assert words.count("Balance of all blocks") == 1
    table = words[words.index("Balance of all blocks") :]
    assert max(len(line) for line in table.splitlines()) <= 100
    for size in range(34, 50, 2):
        assert table.count(f"Front {size}") == 1
    row = [line.split() for line in table.splitlines() if line.startswith("side seam")]
    numbers = [float(text) for part in row for text in part[2:]]
    lengths = [
        length
        for draft in drafts
        for entry in draft.balance.seams
        if entry.seam.kind == "side seam"
        for length in (entry.before, entry.after)
    ]
    assert numbers == pytest.approx(lengths, abs=0.006)


def test_one_block_has_no_common_table() -> None:
    drafts = move(root_of(page(marked_front())), Request()).drafts
    assert "Balance of all" not in terminal_balance(drafts)
    assert "Sewn lengths" in terminal_balance(drafts)
