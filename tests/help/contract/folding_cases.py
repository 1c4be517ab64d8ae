"""Random pieces, places and allowances, drafted and read back to be folded shut."""

from __future__ import annotations

import contextlib
import importlib
import io
import random
import re
from dataclasses import dataclass
from pathlib import Path

from lxml import etree

from tests.help.blocks.random_blocks import (
    Block,
    at,
    in_sight,
    random_block,
    random_place,
    split,
    with_second_dart,
)
from tests.help.blocks.random_drawings import Drawing, Target, to_svg
from tests.help.contract.contract_model import length, parse_path, read_results
from tests.help.contract.folded_paper import judged
from tests.help.contract.written_paper import Widths, read_paper

KINDS = ("front", "front", "front", "back", "skirt", "sleeve")
#: Allowances in mm: the usual ones, none, and wide ones.
USUAL = (0.0, 3.0, 6.35, 10.0, 12.7, 12.7, 12.7, 20.0, 38.1, 60.0)


@dataclass(frozen=True)
class Case:
    """A drawing, what to ask of it, and what its seams are to add."""

    block: Block
    drawing: Drawing
    arguments: list[str]
    widths: Widths
    uneven: float = 0.0

    def told(self) -> str:
        """The case in one line."""
        return " ".join(self.arguments) + (f" uneven {self.uneven}" if self.uneven else "")


@dataclass(frozen=True)
class Outcome:
    """What became of a case: faults of a written result, or the words of a refusal."""

    faults: list[str]
    refused: str = ""
    messages: str = ""


def run(arguments: list[str]) -> tuple[int, str]:
    """The command in process: its status and what it wrote to standard error."""
    main = importlib.import_module("extension.commands.command_line").main
    heard = io.StringIO()
    with contextlib.redirect_stderr(heard), contextlib.redirect_stdout(heard):
        status = int(main(arguments))
    return status, heard.getvalue()


def _target(block: Block, rng: random.Random) -> Target | None:
    """A place on the outline: a corner, or 5 % to 95 % of a seam."""
    solid = [k for k, s in enumerate(block.segments) if s.run >= 0]
    if rng.random() < 0.3:
        corners = [k for k in solid if block.segments[k - 1].run not in (-1, block.segments[k].run)]
        index = rng.choice(corners)
        place = block.segments[index].points[0]
    else:
        run_number = rng.choice(sorted({block.segments[k].run for k in solid}))
        pieces = [k for k in solid if block.segments[k].run == run_number]
        sizes = [length(block.segments[k].points) for k in pieces]
        left = rng.choice((0.05, 0.95, rng.uniform(0.05, 0.95), rng.uniform(0.05, 0.95))) * sum(
            sizes)
        index, place = pieces[-1], block.segments[pieces[-1]].points[-1]
        for k, size in zip(pieces, sizes, strict=True):
            if left <= size:
                low, high = 0.0, 1.0
                for _ in range(40):
                    middle = (low + high) / 2
                    short = length(split(block.segments[k].points, middle)[0]) < left
                    low, high = (middle, high) if short else (low, middle)
                index, place = k, at(block.segments[k].points, low)
                break
            left -= size
    gap = min(abs(place - end) for end in block.mouth_ends)
    if gap < 15 or abs(place - block.apex) < 45 or not in_sight(block, place):
        return None
    return Target(index, place)


def make_case(seed: int) -> Case:
    """A case by its seed."""
    rng = random.Random(seed)
    while True:
        case = _tried(rng, "trousers" if seed % 10 == 8 else rng.choice(KINDS))
        if case is not None:
            return case


def _tried(rng: random.Random, kind: str) -> Case | None:
    block = random_block(rng, kind, None, rng.choice((1.0, rng.uniform(0.9, 1.3))))
    if kind in ("front", "back") and rng.random() < 0.1:
        block = with_second_dart(block, rng) or block
    target = _target(block, rng)
    if target is None:
        return None
    targets = [target]
    if rng.random() < 0.12:
        try:
            index, _, place = random_place(block, rng, apart=(target.place,))
        except RuntimeError:
            return None
        targets.append(Target(index, place))
    mixed = rng.random()
    usual = rng.choice(USUAL[1:])
    by_seam = {}
    for seam in block.runs:
        wide = usual if mixed < 0.2 else rng.choice(USUAL) if mixed < 0.7 else round(
            rng.uniform(0.0, 60.0), 1)
        by_seam[seam] = wide
    turned = frozenset(s for s in block.runs if s in ("hem", "wrist") and rng.random() < 0.3)
    centre = next((s for s in block.runs if s.startswith("centre")), None)
    touched = {block.segments[t.segment].seam for t in targets} | {
        block.segments[t.segment - 1].seam for t in targets}
    on_fold = bool(centre) and rng.random() < 0.35 and centre not in touched and (
        block.source_seam != centre)
    words = ", ".join([f"{usual}mm", *(
        f"{s}={w}mm{' turned' if s in turned else ''}" for s, w in by_seam.items())])
    arguments = ["--allowance", words]
    if rng.random() < 0.2:
        arguments += ["--share", f"{rng.uniform(0.3, 0.9):.3f}"]
    if rng.random() < 0.4:
        arguments += ["--clearance", f"{rng.choice((0.0, 5.0, 12.7, 38.0))}mm"]
    if rng.random() < 0.3:
        arguments += ["--excess", rng.choice(("keep", "trim"))]
    if rng.random() < 0.3:
        arguments += ["--fold", rng.choice(("centre", "side", "down", "up"))]
    if rng.random() < 0.3:
        arguments += ["--trim-allowance", f"{rng.choice((4.0, 8.0, 20.0))}mm"]
    if rng.random() < 0.15:
        arguments += ["--true-mouth", "yes"]
    elif rng.random() < 0.12:
        arguments += ["--as", "tuck"]
    uneven = rng.choice((-1, 1)) * rng.uniform(0.3, 3.0) if rng.random() < 0.12 else 0.0
    drawing = to_svg(block, rng, style="path", unit="mm", targets=tuple(targets), fold=on_fold)
    widths = Widths(by_seam, turned, frozenset({centre} if on_fold and centre else ()))
    return Case(block, drawing, arguments, widths, uneven)


def outcome(case: Case, folder: Path) -> Outcome:
    """Draft a case, write it, read it, fold it shut."""
    given, made = folder / "in.svg", folder / "out.svg"
    given.write_text(case.drawing.text, encoding="utf-8")
    status, messages = run(["move", str(given), "-o", str(made), *case.arguments])
    if status != 0:
        return Outcome([], messages.strip() or "nothing said", messages)
    uneven = 0.0
    if case.uneven:
        reshaped = _reshaped(made.read_text(encoding="utf-8"), case)
        if reshaped is not None:
            uneven = case.uneven
            made.write_text(reshaped, encoding="utf-8")
            again = folder / "again.svg"
            status, messages = run(["allow", str(made), "-o", str(again)])
            if status != 0:
                return Outcome([], messages.strip() or "nothing said", messages)
            made = again
    result = read_results(made.read_text(encoding="utf-8"), case.drawing)[-1]
    try:
        paper = read_paper(result, case.block, case.widths, uneven)
    except ValueError as error:
        return Outcome([f"cannot be read: {error}"], "", messages)
    return Outcome(judged(paper), "", messages)


def _reshaped(text: str, case: Case) -> str | None:
    """The result with the end of its first dart's mouth moved along the leg, in the stitch line."""
    result = read_results(text, case.drawing)[-1]
    points = result.parts.get("dart-point", [])
    if not points:
        return None
    element = result.parts["stitch-line"][0]
    pieces = parse_path(element.get("d", ""))[0][0]
    centre = complex(float(points[0].get("cx")), float(points[0].get("cy")))
    k = next((k for k, p in enumerate(pieces) if abs(p[-1] - centre) < 1e-6), None)
    if k is None:
        return None
    old = pieces[k][0]
    new = old + (old - centre) / abs(old - centre) * case.uneven / case.drawing.mm_per_unit
    shift = new - old
    before = pieces[k - 1]
    changed = list(pieces)
    changed[k - 1] = (*before[:-2], before[-2] + (shift if len(before) == 4 else 0), new)
    if len(before) == 2:
        changed[k - 1] = (before[0], new)
    changed[k] = (new, *pieces[k][1:])
    words = [f"M {changed[0][0].real!r},{changed[0][0].imag!r}"]
    for piece in changed:
        words.append(("L " if len(piece) == 2 else "C ") + " ".join(
            f"{z.real!r},{z.imag!r}" for z in piece[1:]))
    root = etree.fromstring(text.encode())
    for found in root.iter():
        if isinstance(found.tag, str) and found.get("id") == element.get("id"):
            found.set("d", " ".join(words) + " Z")
    return str(etree.tostring(root).decode())


def reason(words: str) -> str:
    """A refusal without its names and numbers, to count its like."""
    plain = re.sub(r"[-\d.,]+( ?mm|°)?", "#", words.splitlines()[0])
    return plain[:110]
