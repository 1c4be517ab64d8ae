"""Sizes on one sheet: named by marks or numbered, and ready for the nest."""

from __future__ import annotations

from pathlib import Path

import pytest

from extension.cleaning.clean_report import clean_lines, report_of
from extension.commands.command_line import main
from extension.document.namespaces import LABEL, ours
from extension.document.svg_document import parse_document
from tests.extension.cleaning.test_clean_sheets import closed, ink
from tests.help.scans.traces import cleaned, drawing, refusal

#: A skirt with a dart in its waist, its centre line straight and shared by all sizes.
SKIRT = (
    *(0j, 60 + 4j, 70 + 110j, 86 + 5j, 170 - 6j),
    *(182 + 60j, 190 + 120j, 192 + 400j, 0 + 404j),
)
CENTRE = 0 + 200j


def sizes(count: int, at: complex = 100 + 100j) -> list[list[complex]]:
    """Return sizes of the skirt that share the line of its centre, the smallest first."""
    return [
        [at + CENTRE + (z - CENTRE).real * (1 + 0.05 * k) + 1j * (z - CENTRE).imag * (1 + 0.04 * k)
         for z in SKIRT]
        for k in range(count)
    ]  # fmt: skip


def mark(name: str, at: complex, identity: str = "") -> str:
    """Return a small circle that is labelled as a size."""
    return (
        f'<circle id="{identity or name.replace(" ", "")}" cx="{at.real}" cy="{at.imag}" r="2" '
        f'inkscape:label="{name}"/>'
    )


def on_hem(size: list[complex]) -> complex:
    """Return a place on a size's hem, where no other size runs."""
    return (size[7] + size[8]) / 2


@pytest.mark.thorough
def test_sizes_are_numbered_from_the_inside_out() -> None:
    done, root = cleaned(drawing(ink([closed(size) for size in sizes(3)])), square="no")
    assert sorted(block.size for block in done.cleaned) == ["1", "2", "3"]
    widths = {block.size: block.block.size[0] for block in done.cleaned}
    assert widths["1"] < widths["2"] < widths["3"]
    assert {path.get(ours("size")) for path in root.iter() if path.get(ours("size"))} == {
        "1", "2", "3",
    }  # fmt: skip


@pytest.mark.thorough
def test_a_mark_on_its_line_names_a_size() -> None:
    drawn = sizes(3)
    marks = [mark("size 38", on_hem(drawn[0])), mark("Size: 42 long", on_hem(drawn[2]))]
    done, root = cleaned(drawing(ink([closed(size) for size in drawn]), *marks), square="no")
    widths = {block.size: block.block.size[0] for block in done.cleaned}
    assert set(widths) == {"38", "2", "42 long"}
    assert widths["38"] < widths["2"] < widths["42 long"]
    labels = {layer.get(LABEL) for layer in root if layer.get(ours("clean"))}
    assert any(label.endswith("size 42 long") for label in labels)
    assert {block["size"] for block in report_of(done)["blocks"]} == set(widths)
    assert any("size 38" in line for line in clean_lines(done))


def test_the_line_of_a_size_may_say_it_itself() -> None:
    inner = [z + 100 + 100j for z in SKIRT]
    outer = [(z - (95 + 200j)) * 1.08 + 195 + 300j for z in SKIRT]
    lines = [
        ink([closed(line)]).replace('id="ink"', f'id="{name}" inkscape:label="size {name}"')
        for name, line in (("S", inner), ("M", outer))
    ]
    done, _root = cleaned(drawing(*lines), square="no")
    told = [block.size for block in sorted(done.cleaned, key=lambda b: b.block.size[0])]
    assert told == ["S", "M"]


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("names", "places", "words"),
    [
        (("size 38", "size 40"), (0, 0), "is named"),
        (("size 38", "size 38"), (0, 1), "too"),
        (("size 38",), (None,), "cannot be told whose line"),
        # Two sizes of one name, one of them by its number.
        (("size 1",), (1,), "has the number"),
    ],
)
def test_what_contradicts_itself_is_refused(
    names: tuple[str, ...], places: tuple[int | None, ...], words: str
) -> None:
    drawn = sizes(2)
    at = [CENTRE + 100 + 100j if place is None else on_hem(drawn[place]) for place in places]
    marks = [mark(name, z, f"m{k}") for k, (name, z) in enumerate(zip(names, at, strict=True))]
    told = refusal(drawing(ink([closed(size) for size in drawn]), *marks), square="no")
    assert words in told
    assert names[-1] in told


def test_a_size_whose_number_is_its_name_is_no_contradiction() -> None:
    drawn = sizes(2)
    marks = [mark("size 2", on_hem(drawn[1])), mark("size 2", on_hem(drawn[1]) + 20, "again")]
    done, _root = cleaned(drawing(ink([closed(size) for size in drawn]), *marks), square="no")
    widths = {block.size: block.block.size[0] for block in done.cleaned}
    assert widths["1"] < widths["2"]


@pytest.mark.parametrize("inside", ["circle", "text"])
def test_a_group_is_a_mark_and_no_part_of_the_trace(inside: str) -> None:
    drawn = sizes(2)
    at = on_hem(drawn[1])
    drawn_in = {
        "circle": f'<circle cx="{at.real}" cy="{at.imag}" r="3"/>',
        "text": f'<text x="{at.real}" y="{at.imag}" font-size="6">38</text>',
    }[inside]
    parts = [
        ink([closed(size) for size in drawn]),
        f'<g inkscape:label="size 38"><g>{drawn_in}</g></g>',
        '<g inkscape:groupmode="layer" inkscape:label="size 40"/>',
        '<g inkscape:label="size 42"><g/></g>',
    ]
    done, _root = cleaned(drawing(*parts), square="no")
    plain, _root = cleaned(drawing(parts[0]), square="no")
    assert sorted(block.size for block in done.cleaned) == ["1", "38"]
    assert max(done.cleaned, key=lambda block: block.block.size[0]).size == "38"
    assert done.left_out == plain.left_out


@pytest.mark.parametrize("chosen", [0, 1, 2])
def test_a_size_that_is_selected_has_its_own_mark_alone(chosen: int) -> None:
    """The marks of the other sizes, which lie in it or about it, say nothing of it."""
    drawn, names = sizes(3), ("36", "38", "40")
    traces = [
        ink([closed(size)]).replace('id="ink"', f'id="trace{name}"')
        for name, size in zip(names, drawn, strict=True)
    ]
    marks = [mark(f"size {name}", on_hem(size)) for name, size in zip(names, drawn, strict=True)]
    text = drawing(*traces, *marks)
    done, _root = cleaned(text, [f"trace{names[chosen]}"], square="no")
    assert [block.size for block in done.cleaned] == [names[chosen]]
    unmarked = drawing(*traces, *(m for k, m in enumerate(marks) if k != chosen))
    done, _root = cleaned(unmarked, [f"trace{names[chosen]}"], square="no")
    assert [block.size for block in done.cleaned] == [""]


@pytest.mark.thorough
def test_sizes_on_a_scan_are_a_nest(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawn = sizes(3)
    names = ("36", "38", "40")
    marks = [mark(f"size {name}", on_hem(size)) for name, size in zip(names, drawn, strict=True)]
    source, clean, moved = (tmp_path / name for name in ("t.svg", "c.svg", "m.svg"))
    source.write_text(drawing(ink([closed(size) for size in drawn]), *marks), encoding="utf-8")
    assert main(["clean", str(source), "-o", str(clean), "--square", "no"]) == 0
    assert main(["move", str(clean), "--nest", "--to", "side seam:0.3", "-o", str(moved)]) == 0
    root = parse_document(moved.read_bytes()).getroot()
    results = [layer for layer in root if layer.get(ours("result"))]
    assert len(results) == len(names)
    told = "".join(capsys.readouterr())
    balance = told[told.index("Balance of all blocks") :]
    assert all(f"size {name}" in balance for name in names)
    for line in balance.splitlines():
        if line.startswith(("waist", "hem", "side seam")):
            lengths = [float(word) for word in line.split() if word.replace(".", "").isdigit()]
            assert lengths[::2] == lengths[1::2]
