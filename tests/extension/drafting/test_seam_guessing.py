"""Blocks whose seams nobody named: the command may guess names, but never a wrong one."""

from __future__ import annotations

import cmath
import importlib
import json
import math
import random
import re
from pathlib import Path
from typing import Any

import pytest

from tests.help.blocks.drawings import page
from tests.help.blocks.random_blocks import Block, nearest, random_block, random_place
from tests.help.blocks.random_drawings import Drawing, Target, to_svg
from tests.help.contract.contract import seam_name_of
from tests.help.contract.contract_model import (
    Expectation,
    build_models,
    compare,
    length,
    read_results,
    true_name,
)
from tests.help.editor.effects import run_effect

NUMBERED = re.compile(r"seam \d+")
CENTRES = {"centre front", "centre back"}


def move_unnamed(
    seed: int, kind: str, folder: Path, pose: bool, capsys: Any
) -> tuple[Block, Drawing, str, dict[str, Any]]:
    """Move the dart of a random block without seam names; the output and its report."""
    rng = random.Random(seed)
    block = random_block(rng, kind)
    index, _, place = random_place(block, rng)
    drawing = to_svg(block, rng, targets=(Target(index, place),), named=False, pose=pose)
    given, made, told = (folder / f"{kind}{seed}{end}" for end in (".svg", ".out.svg", ".json"))
    given.write_text(drawing.text, encoding="utf-8")
    main = importlib.import_module("extension.commands.command_line").main
    small = ["--clearance", "4mm", "--allowance", "4mm"] if block.scale < 0.5 else []
    status = main(["move", str(given), "-o", str(made), "--report", str(told), *small])
    assert status == 0, capsys.readouterr().err
    return (
        block,
        drawing,
        made.read_text(encoding="utf-8"),
        json.loads(told.read_text(encoding="utf-8")),
    )


def fits(block: Block, name: str, run: int) -> bool:
    """Whether a name is right for a run; a skirt's front and back centres look alike."""
    plain, true = true_name(name), block.runs[run]
    return plain == true or (block.kind == "skirt" and plain in CENTRES and true in CENTRES)


def wrong_names(block: Block, drawing: Drawing, out: str, report: dict[str, Any]) -> list[str]:
    """Every guessed name that is not the true name of the seam at its place."""
    found = []
    result = read_results(out, drawing)[0]
    stitch = result.subpaths(result.parts["stitch-line"][0])[0][0]
    asked = Expectation(drawing, tuple(t.place for t in drawing.targets), (1.0,))
    clearances = (25.4, 4.0, 0.0)
    models = [
        m
        for c in clearances
        for m in build_models(
            block, Expectation(asked.drawing, asked.places, asked.shares, clearance=c)
        )
    ]
    solid = [[p.points for p in m.pieces if p.run >= 0] for m in models]
    both_ways = stitch + [points[::-1] for points in stitch]
    scores = [
        max(
            min(
                abs(points[0] - q[0]) + abs(points[-1] - q[-1])
                if len(q) == len(points)
                else math.inf
                for q in both_ways
            )
            for points in own
        )
        for own in solid
    ]
    model = models[min(range(len(models)), key=scores.__getitem__)]
    if min(scores) > 0.01:
        found.append(f"the stitch line is none of the expected ones ({min(scores):.4f} mm)")
    for element in result.parts.get("seam-name", []):
        name = seam_name_of(element)
        if NUMBERED.fullmatch(name):
            continue
        anchor = result.nodes(element)[0]
        _, run = min((nearest(p.points, anchor)[1], p.run) for p in model.pieces if p.run >= 0)
        if not fits(block, name, run):
            found.append(f"'{name}' stands at the {block.runs[run]}")
    lengths = {
        run: sum(length(s.points) for s in block.segments if s.run == run)
        for run in range(len(block.runs))
    }
    for seam in report["blocks"][0]["seams"]:
        if not NUMBERED.fullmatch(seam["name"]) and not any(
            fits(block, seam["name"], run) and abs(own - seam["before_mm"]) < 1e-3
            for run, own in lengths.items()
        ):
            found.append(
                f"'{seam['name']}' of {seam['before_mm']:.2f} mm is reported; "
                f"true: {[(block.runs[r], round(v, 2)) for r, v in lengths.items()]}"
            )
    for opening in report["blocks"][0]["openings"]:
        name = opening["seam"]
        true = block.segments[drawing.targets[0].segment].seam
        run = block.segments[drawing.targets[0].segment].run
        if not NUMBERED.fullmatch(name) and not fits(block, name, run):
            found.append(f"the opening on the {true} is reported on '{name}'")
    return found


CASES = [
    (seed, ("front", "back", "skirt")[seed % 3], seed % 2 == 0)
    for seed in (*range(40), 4032, 4140, 4206)
]  # the last: fronts of unusual length


@pytest.mark.parametrize(("seed", "kind", "pose"), CASES)
def test_no_guessed_name_is_wrong(
    seed: int, kind: str, pose: bool, tmp_path: Path, capsys: Any
) -> None:
    block, drawing, out, report = move_unnamed(seed, kind, tmp_path, pose, capsys)
    assert wrong_names(block, drawing, out, report) == []
    assert len(report["blocks"][0]["seams"]) == len(block.runs)


def test_the_guess_is_alive_on_plain_fronts(tmp_path: Path, capsys: Any) -> None:
    named = 0
    seeds = range(500, 515)
    for seed in seeds:
        _, _, _, report = move_unnamed(seed, "front", tmp_path, False, capsys)
        named += any(not NUMBERED.fullmatch(seam["name"]) for seam in report["blocks"][0]["seams"])
    assert named >= 0.6 * len(seeds)


def test_the_judge_sees_a_wrong_name() -> None:
    rng = random.Random(3)
    block = random_block(rng, "front", "waist", 1.0)
    index, _, place = random_place(block, rng)
    drawing = to_svg(block, rng, targets=(Target(index, place),), named=False, pose=False)
    model = build_models(
        block, Expectation(drawing, tuple(t.place for t in drawing.targets), (1.0,))
    )[0]
    scale = drawing.mm_per_unit

    def user(z: complex) -> str:
        moved = drawing.to_root(z) / scale
        return f"{moved.real!r},{moved.imag!r}"

    data = "M " + user(model.pieces[0].points[0])
    for piece in model.pieces:
        data += (" L " if len(piece.points) == 2 else " C ") + " ".join(
            user(z) for z in piece.points[1:]
        )
    own = next(p.points for p in model.pieces if block.runs[p.run] == "shoulder")
    x, y = user((own[0] + own[-1]) / 2).split(",")

    def output(name: str) -> str:
        return (
            '<svg xmlns="http://www.w3.org/2000/svg" xmlns:dartswing="urn:dartswing:1">'
            f'<g dartswing:result="1"><path dartswing:part="stitch-line" d="{data} Z"/>'
            f'<text dartswing:part="seam-name" x="{x}" y="{y}">{name}</text></g></svg>'
        )

    report: dict[str, Any] = {"blocks": [{"seams": [], "openings": []}]}
    assert compare([p.points for p in model.pieces], [p.points for p in model.pieces])[0] == 0
    assert wrong_names(block, drawing, output("shoulder"), report) == []
    assert wrong_names(block, drawing, output("seam 2"), report) == []
    assert len(wrong_names(block, drawing, output("armhole"), report)) == 1
    report["blocks"][0]["seams"] = [{"name": "neckline", "before_mm": 1.0}]
    assert len(wrong_names(block, drawing, output("shoulder"), report)) == 1


@pytest.mark.parametrize("width", [32, 44, 60])
def test_a_shoulder_drawn_straight_over_its_open_dart_is_read(width: int, tmp_path: Path) -> None:
    """Closed, it has a peak at the dart, the higher the wider the dart is."""
    along = cmath.rect(1.0, math.atan2(3.0, 8.0))
    neck, mouth = 100 + 50j, 100 + 50j + 42 * along
    middle = mouth + width / 2 * along
    ends = [mouth, middle + 140 * (1j * along), mouth + width * along]
    tip = ends[2] + 58 * along
    points = " L ".join(f"{z.real},{z.imag}" for z in (*ends, tip))
    side = tip.real + 30
    data = (
        f"M 40,120 C 75,120 100,90 {neck.real},{neck.imag} L {points} "
        f"C {tip.real - 20},{tip.imag + 60} {tip.real - 20},{tip.imag + 125} "
        f"{side},{tip.imag + 155} "
        f"L {side - 10},450 L 40,450 Z"
    )
    drawing = tmp_path / "front.svg"
    drawing.write_text(page(f'<path id="front" d="{data}"/>'), encoding="utf-8")
    answer = run_effect("mark-block", drawing, "--id=front")
    assert answer.said == ""
    for name in ("centre front", "neckline", "shoulder", "armhole", "side seam"):
        assert f'inkscape:label="seam {name}"' in answer.document
