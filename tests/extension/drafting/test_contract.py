"""Random drawings through the command, judged by an independent reading of the contract."""

from __future__ import annotations

import cmath
import importlib
import json
import math
import random
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from shapely.geometry import Polygon

from tests.help.blocks.random_blocks import (
    Block,
    Points,
    at,
    flatten,
    in_sight,
    nearest,
    random_block,
    random_place,
    split,
    with_second_dart,
    with_unequal_legs,
)
from tests.help.blocks.random_drawings import SPELLINGS, Drawing, Target, to_svg
from tests.help.contract.contract import check_move
from tests.help.contract.contract_darts import fold_chain
from tests.help.contract.contract_model import (
    Expectation,
    as_line,
    build_models,
    compare,
    length,
    observed_places,
    read_results,
)
from tests.help.depth import some_quick


def run(arguments: list[str]) -> int:
    """The command in process; arguments without the program's name."""
    main = importlib.import_module("extension.commands.command_line").main
    return int(main(arguments))


@dataclass(frozen=True)
class Case:
    """One drawing with the arguments to run and what must come of it."""

    block: Block
    drawing: Drawing
    arguments: list[str]
    expectation: Expectation


def seam_place(block: Block, seam: str, fraction: float) -> complex | None:
    """The place at a fraction of a seam's sewn length, or None where its start is in doubt."""
    parts = [s.points for s in block.segments if s.seam == seam]
    first, last = parts[0][0], parts[-1][-1]
    tilt = abs(math.degrees(math.atan2((last - first).imag, abs((last - first).real))))
    if abs(tilt - 15) < 6 or (seam == block.source_seam and abs(tilt - 15) < 35):
        return None
    backward = last.real < first.real if tilt < 15 else last.imag < first.imag
    lengths = [length(points) for points in parts]
    wanted = sum(lengths) * (1 - fraction if backward else fraction)
    for points, whole in zip(parts, lengths, strict=True):
        if wanted <= whole:
            low, high = 0.0, 1.0
            for _ in range(60):
                middle = (low + high) / 2
                low, high = (
                    (middle, high) if length(split(points, middle)[0]) < wanted else (low, middle)
                )
            return at(points, low)
        wanted -= whole
    return None


def _place_by_words(block: Block, rng: random.Random) -> tuple[str, complex] | None:
    """A PLACE for ``--to`` and where it is, in sight of the apex and clear of the mouth."""
    choices = [seam for seam in set(block.runs) if seam != block.source_seam]
    seam = rng.choice(sorted(choices))
    corner = rng.random() < 0.25
    fraction = rng.choice((0.5, round(rng.uniform(0.15, 0.85), 3)))
    if corner and block.kind in ("front", "back"):
        centre = "centre front" if block.kind == "front" else "centre back"
        pair = rng.choice(
            (("neckline", centre), ("neckline", "shoulder"), ("side seam", "armhole"))
        )
        starts = [
            s.points[0]
            for i, s in enumerate(block.segments)
            if {s.seam, block.segments[i - 1].seam} == set(pair)
        ]
        words, spot = "/".join(pair), starts[0]
    else:
        found = seam_place(block, seam, fraction)
        if found is None:
            return None
        spot = found
        words = rng.choice(SPELLINGS[seam])
        words += "" if fraction == 0.5 and rng.random() < 0.7 else f":{fraction}"
        gaps = [
            abs(spot - s.points[0])
            for i, s in enumerate(block.segments)
            if s.run != block.segments[i - 1].run
        ]
        if min(gaps) < 4:
            return None
    rays = [abs(cmath.phase((spot - block.apex) / (z - block.apex))) for z in block.mouth_ends]
    return (words, spot) if min(rays) > 0.3 and in_sight(block, spot) else None


#: The usual allowances, but for a hem that is not turned.
PLAIN = "1/2in, neckline=1/4in"


def make_case(seed: int) -> Case:
    """A drawing, a request and the expectation, all from one seed."""
    rng = random.Random(seed)
    for _ in range(300):
        case = _try_case(rng)
        if case is not None:
            return case
    raise RuntimeError(f"seed {seed} yields no case")


def _try_case(rng: random.Random) -> Case | None:
    block = random_block(rng)
    if rng.random() < 0.1:
        block = with_unequal_legs(block, rng.uniform(0.5, 2.5))
    share = rng.choice((1.0, 1.0, 1.0, round(rng.uniform(0.3, 0.8), 3)))
    arguments: list[str] = [] if share == 1 else ["--share", str(share)]
    hold = None
    places: tuple[complex, ...]
    parts: tuple[float, ...]
    try:
        if rng.random() < 0.3 and block.kind != "sleeve":
            words = _place_by_words(block, rng)
            if words is None:
                return None
            arguments += ["--to", words[0]]
            drawing = to_svg(
                block,
                rng,
                pose=rng.random() < 0.5 and block.kind != "skirt",
                fold=rng.random() < 0.1,
            )
            places, parts = (words[1],), (share,)
        else:
            targets: list[Target] = []
            both = rng.random() < 0.2
            own = [0.3, 0.45] if both and rng.random() < 0.5 else [None, None]
            for k in range(2 if both else 1):
                index, _, place = random_place(block, rng, apart=tuple(t.place for t in targets))
                drawn = rng.choice(("mark", "near", "slash"))
                targets.append(Target(index, place, own[k] if both else None, drawn))
            if rng.random() < 0.2:
                hold = block.apex + 0.4 * (
                    block.segments[block.mouth + 2].points[0] - block.apex
                ) * cmath.exp(0.17j)
            drawing = to_svg(block, rng, targets=tuple(targets), hold=hold, fold=rng.random() < 0.1)
            places = tuple(t.place for t in drawing.targets)
            parts = tuple(
                share * (t.share if t.share else 1 / len(targets)) for t in drawing.targets
            )
    except RuntimeError:
        return None
    expectation = Expectation(drawing, places, parts)
    small = block.scale < 0.5
    if small or rng.random() < 0.5:
        clearance = rng.choice((0.0, 5.0)) if small else rng.choice((0.0, 12.7, 38.0))
        arguments += ["--clearance", f"{clearance}mm"]
        expectation = replace(expectation, clearance=clearance)
    if small or rng.random() < 0.3:
        widths = {"": 4.0, "neckline": 3.0} if small else {"": 10.0, "neckline": 7.5, "hem": 30.0}
        arguments += [
            "--allowance",
            ", ".join(f"{k}={v}mm" if k else f"{v}mm" for k, v in widths.items()),
        ]
        expectation = replace(expectation, allowances=widths)
    else:
        # The reader of the contract knows no turned hem.
        arguments += ["--allowance", PLAIN]
    if rng.random() < 0.5:
        cloth = rng.choice(("woven", "fine", "sheer", "knit"))
        arguments += ["--cloth", cloth]
        expectation = replace(expectation, cloth=cloth)
    if rng.random() < 0.15:
        excess = rng.choice(("keep", "trim"))
        arguments += ["--excess", excess]
        expectation = replace(expectation, excess=excess)
    if rng.random() < 0.15:
        fold = rng.choice(("centre", "down", "up", "side"))
        arguments += ["--fold", fold]
        expectation = replace(expectation, fold=fold)
    return Case(block, drawing, arguments, expectation) if _fair(block, expectation) else None


def _fair(block: Block, expectation: Expectation) -> bool:
    """Whether the contract lets the request succeed: a simple result, no refused opening.

    Where unequal legs are evened out, the curve beside the mouth gives way: no target there.
    """
    if "unequal" in block.traits:
        soft = [
            block.segments[k % len(block.segments)].points
            for k in (block.mouth - 1, block.mouth + 2)
        ]
        if (
            min(nearest(points, place)[1] for points in soft for place in expectation.places)
            < 30 * block.scale
        ):
            return False
    clearance = expectation.clearance
    if clearance is None:
        clearance = 25.4 if block.kind == "front" else 0.0
    for model in build_models(block, expectation):
        outline = Polygon([(z.real, z.imag) for z in flatten([p.points for p in model.pieces])])
        if not outline.is_valid:
            return False
        for opening in model.openings:
            if abs(opening.ends[0] - block.apex) < 1.6 * clearance + 10 or opening.at_point > 1.7:
                return False
            chains = [fold_chain(model, opening, leg) for leg in (0, 1)]
            if expectation.excess == "keep" and any(
                reaches or any(p.run in expectation.drawing.folds for p in pieces)
                for pieces, reaches in chains
            ):
                return False
    return True


def execute(case: Case, folder: Path, capsys: Any = None) -> tuple[int, str, dict[str, Any], str]:
    """Run ``move``: status, output text, report, messages."""
    given, made, told = folder / "in.svg", folder / "out.svg", folder / "report.json"
    given.write_text(case.drawing.text, encoding="utf-8")
    status = run(["move", str(given), "-o", str(made), "--report", str(told), *case.arguments])
    messages = capsys.readouterr().err if capsys else ""
    if status != 0:
        return status, "", {}, messages
    return (
        status,
        made.read_text(encoding="utf-8"),
        json.loads(told.read_text(encoding="utf-8")),
        messages,
    )


# Besides the first forty: two cuts in one segment of the outline (98, 798, 1095).
@pytest.mark.parametrize("seed", some_quick([*range(40), 98, 798, 1095], 7))
def test_random_drawings_keep_the_contract(seed: int, tmp_path: Path, capsys: Any) -> None:
    case = make_case(seed)
    status, out, report, messages = execute(case, tmp_path, capsys)
    assert status == 0, f"{case.arguments}: {messages}"
    assert check_move(case.drawing.text, out, report, case.block, case.expectation) == []


def stitch_pieces(out: str, drawing: Drawing, last: int = -1) -> list[Points]:
    """The stitch line of one result in block millimetres."""
    result = read_results(out, drawing)[last]
    return [as_line(p) for p in result.subpaths(result.parts["stitch-line"][0])[0][0]]


def _without_needless_nodes(pieces: list[Points]) -> list[complex]:
    """Points along the outline at fine steps, to compare shapes whatever their nodes."""
    return [at(points, k / 40) for points in pieces for k in range(40)]


@pytest.mark.parametrize("seed", some_quick(range(12), 4))
def test_moved_away_and_back_is_the_block_again(seed: int, tmp_path: Path, capsys: Any) -> None:
    rng = random.Random(1000 + seed)
    block = random_block(rng, rng.choice(("front", "back")), None, 1.0)
    while "lowered" in block.traits:
        block = random_block(rng, rng.choice(("front", "back")), None, 1.0)
    index, _, place = random_place(block, rng)
    drawing = to_svg(block, rng, targets=(Target(index, place),))
    given, away, back = (tmp_path / name for name in ("in.svg", "away.svg", "back.svg"))
    given.write_text(drawing.text, encoding="utf-8")
    status = run(["move", str(given), "-o", str(away), "--clearance", "0"])
    assert status == 0, capsys.readouterr().err
    text = away.read_text(encoding="utf-8")
    # The shut mouth is a node of the moved stitch line: it is the place to go back to.
    asked = Expectation(drawing, tuple(t.place for t in drawing.targets), (1.0,), clearance=0.0)
    models = build_models(block, asked)
    stitch = stitch_pieces(text, drawing)
    best = min(models, key=lambda m: compare([p.points for p in m.pieces], stitch)[0])
    spot = drawing.to_root(best.pieces[-1].points[-1]) / drawing.mm_per_unit
    mark = (
        f'<circle xmlns="http://www.w3.org/2000/svg" xmlns:dartswing="urn:dartswing:1" '
        f'dartswing:role="target" cx="{spot.real!r}" cy="{spot.imag!r}" '
        f'r="{1 / drawing.mm_per_unit!r}"/>'
    )
    root = etree.fromstring(text.encode())
    root[-1].append(etree.fromstring(mark))
    away.write_bytes(etree.tostring(root))
    report = tmp_path / "report.json"
    again = ["move", str(away), "-o", str(back), "--clearance", "0", "--place", "over"]
    status = run([*again, "--report", str(report)])
    assert status == 0, capsys.readouterr().err
    final = stitch_pieces(back.read_text(encoding="utf-8"), drawing)
    solid = [s.points for s in block.segments]
    worst = 0.0
    aligned = _same_place(block, final)
    for z in _without_needless_nodes(solid):
        worst = max(worst, min(nearest(points, z)[1] for points in aligned))
    for z in _without_needless_nodes(aligned):
        worst = max(worst, min(nearest(points, z)[1] for points in solid))
    assert worst < 1e-6


def _same_place(block: Block, pieces: list[Points]) -> list[Points]:
    """Turn a result about the apex so that its dart lies on the block's own dart.

    Which part is held may differ between the two moves where no centre seam is cut whole, so
    only the shape must return, not its turn on the page.
    """
    apex, (first, _) = block.apex, block.mouth_ends
    hub = min(range(len(pieces)), key=lambda k: abs(pieces[k][0] - apex))
    before, after = pieces[hub - 1][0], pieces[hub][-1]
    if cmath.phase((after - apex) / (before - apex)) < 0:
        before = after
    spin = (first - apex) / abs(first - apex) / ((before - apex) / abs(before - apex))
    return [tuple(apex + (z - apex) * spin for z in points) for points in pieces]


# 51: a doll's neckline, read again.
@pytest.mark.parametrize("seed", some_quick([51, *range(8)], 4))
def test_allow_on_a_result_redraws_it(seed: int, tmp_path: Path, capsys: Any) -> None:
    case = make_case(2000 + seed)
    status, out, report, messages = execute(case, tmp_path, capsys)
    assert status == 0, f"{case.arguments}: {messages}"
    again = tmp_path / "again.svg"
    assert run(["allow", str(tmp_path / "out.svg"), "-o", str(again)]) == 0, capsys.readouterr().err
    text = again.read_text(encoding="utf-8")
    # With the settings it was made with, the redrawn layer obeys the same contract.
    assert check_move(case.drawing.text, text, report, case.block, case.expectation) == []
    first, second = stitch_pieces(out, case.drawing), stitch_pieces(text, case.drawing)
    assert compare(first, second)[0] < 1e-12


@pytest.mark.parametrize("seed", some_quick(range(30), 15))
def test_a_second_dart_stays_as_it_is(seed: int, tmp_path: Path, capsys: Any) -> None:
    """A dart with a point of its own belongs to its part of the piece and travels with it."""
    rng = random.Random(3000 + seed)
    block = None
    while block is None:
        block = with_second_dart(random_block(rng, rng.choice(("front", "back")), None, 1.0), rng)
    index, _, place = random_place(block, rng)
    drawing = to_svg(block, rng, targets=(Target(index, place),))
    expectation = Expectation(
        drawing, tuple(t.place for t in drawing.targets), (1.0,), clearance=10.0
    )
    case = Case(block, drawing, ["--clearance", "10mm"], expectation)
    status, out, report, messages = execute(case, tmp_path, capsys)
    assert status == 0, messages
    found = stitch_pieces(out, drawing)
    scores = []
    for number, rough in enumerate(build_models(block, expectation)):
        places, off = observed_places(rough, [p[0] for p in found], block, expectation)
        exact = replace(expectation, places=places)
        model = build_models(block, exact)[number]
        scores.append((*compare([p.points for p in model.pieces], found), off))
    error, told, off = min(scores)
    assert error < 1e-9, told
    assert off < expectation.place_tolerance
    for seam in report["blocks"][0]["seams"]:
        assert abs(seam["before_mm"] - seam["after_mm"]) < 1e-6
    true = sorted(
        sum(length(s.points) for s in block.segments if s.run == run)
        for run in range(len(block.runs))
    )
    told_lengths = sorted(seam["before_mm"] for seam in report["blocks"][0]["seams"])
    assert told_lengths == pytest.approx(true, abs=1e-4)
