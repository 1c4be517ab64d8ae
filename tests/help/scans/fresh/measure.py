"""Measure the clean-up on fresh scans: a table per kind, all figures as JSON, and pictures.

python -m tests.help.scans.fresh.measure --seeds 0-149 [--kind K] [--jobs 2] [--pictures FOLDER]
"""

from __future__ import annotations

import argparse
import collections
import json
import tempfile
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field
from pathlib import Path

import numpy as np

from extension.document.svg_document import parse_document
from tests.help.scans.fresh.clean_runs import run_clean
from tests.help.scans.fresh.fresh_scans import FreshScan, fresh_scan, kind_of
from tests.help.scans.fresh.judge import GivenBlock, Judgement, given_blocks, judged
from tests.help.scans.fresh.kinds import APART, KINDS
from tests.help.scans.fresh.overlays import overlay

#: How outcomes are told in the table, in its order.
OUTCOMES = ("right", "rightly refused", "refused", "wrong", "crashed")
_MESSAGE = 150


@dataclass
class Figures:
    """What was measured on one scan.

    Attributes:
        kind: of the scan.
        seed: of the scan.
        detail: what is special about it.
        outcome: one of `OUTCOMES`.
        message: why it is wrong, or the beginning of what was said where it was refused.
        verdict: what was said of the blocks that were given out.
        missed: the largest distance of a true line from the given one (mm).
        strayed: the largest distance of a given line from the true one.
        corner: the largest distance of a true corner from a given node.
        points: of each dart's point, where all darts of its block were found.
        apexes: of each dart's apex, the same.
        blocks: how many blocks were given, and how many are true.
        darts: the same of darts, on all blocks.
        seams: the same of seams.
        peak: memory in MB.
        seconds: of the processor.
        may_refuse: whether a refusal is right.
    """

    kind: str
    seed: int
    detail: str
    outcome: str = "crashed"
    message: str = ""
    verdict: str = ""
    missed: float | None = None
    strayed: float | None = None
    corner: float | None = None
    points: list[float] = field(default_factory=list)
    apexes: list[float] = field(default_factory=list)
    blocks: tuple[int, int] = (0, 0)
    darts: tuple[int, int] = (0, 0)
    seams: tuple[int, int] = (0, 0)
    peak: float = 0.0
    seconds: float = 0.0
    may_refuse: bool = False

    @property
    def is_wrong_as_drawn(self) -> bool:
        """Whether it was given out wrong without a word."""
        return self.outcome == "wrong" and self.verdict.startswith("as drawn")


def measured(kind: str, seed: int, pictures: Path | None = None) -> Figures:
    """Make a scan, clean it up and measure what came of it."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        scan = fresh_scan(kind, seed, folder)
        truth = scan.truth
        found = Figures(kind, seed, truth.detail, may_refuse=truth.may_refuse)
        drawing, out = folder / "scan.svg", folder / "clean.svg"
        drawing.write_text(scan.svg, encoding="utf-8")
        run = run_clean(drawing, out)
        found.peak, found.seconds = run.peak, run.seconds
        found.message = " ".join(run.message.split())[:_MESSAGE]
        if run.is_crashed:
            return found
        if run.status == 1:
            found.outcome = "rightly refused" if truth.may_refuse else "refused"
            if pictures is not None and not truth.may_refuse:
                overlay(scan, [], None, found.message, pictures / f"refused_{kind}_{seed}.png")
            return found
        root = parse_document(out.read_bytes()).getroot()
        given = given_blocks(root, run.report)
        judgement = judged(truth.pieces, given, truth.allowances)
    _filled(found, scan, given, judgement)
    if pictures is not None and found.outcome == "wrong":
        overlay(scan, given, judgement, found.message, pictures / f"wrong_{kind}_{seed}.png")
    return found


def _filled(
    found: Figures, scan: FreshScan, given: Sequence[GivenBlock], judgement: Judgement
) -> None:
    pieces = scan.truth.pieces
    found.outcome, found.message = judgement.outcome, judgement.why
    plain = [block.verdict for block in given if not block.verdict.startswith("as drawn")]
    found.verdict = plain[0] if plain else "as drawn"
    laid = [one for one in judgement.laid if one is not None]
    found.blocks = len(given), len(pieces)
    found.darts = sum(b.darts for b in given), sum(len(p.darts) for p in pieces)
    found.seams = sum(b.seams for b in given), sum(p.seam_count for p in pieces)
    if laid:
        found.missed = max(one.missed for one in laid)
        found.strayed = max(one.strayed for one in laid)
        found.corner = max(max(one.corners) for one in laid)
    for piece, one, upon in zip(pieces, judgement.laid, judgement.upon, strict=True):
        if one is not None and upon is not None and given[upon].darts == len(piece.darts):
            found.points += one.points
            found.apexes += one.apexes


def _measured(asked: tuple[str, int, Path | None]) -> Figures:
    try:
        return measured(*asked)
    except Exception as fault:  # one scan that cannot be made or judged leaves the others
        kind, seed, _pictures = asked
        return Figures(kind, seed, "the bench itself", message=f"{type(fault).__name__}: {fault}")


def table(found: Sequence[Figures]) -> str:
    """Return the table, a line for each kind, and what is wrong and refused, line by line."""
    lines = [f"{'kind':<12}{'n':>4}{'right':>7}{'r.ref':>6}{'refus':>6}{'wrong':>6}{'(drawn)':>8}"
             f"{'crash':>6}   points med / 95 %   MB  s (95 %)"]  # fmt: skip
    for kind in KINDS:
        of_kind = [one for one in found if one.kind == kind]
        if of_kind:
            lines.append(_row(kind, of_kind))
    rest = [one for one in found if one.kind != APART]
    if rest:
        lines.append(_row(f"without {APART}"[:11], rest))
        right = sum(one.outcome in ("right", "rightly refused") for one in rest) / len(rest)
        wrong = sum(one.outcome in ("wrong", "crashed") for one in rest) / len(rest)
        drawn = sum(one.is_wrong_as_drawn for one in rest)
        lines.append(f"right {right:.1%}, wrong {wrong:.1%}, wrong with 'as drawn' {drawn}")
    for outcome in ("wrong", "crashed", "refused"):
        lines += ["", f"{outcome}:"]
        for one in found:
            if one.outcome == outcome:
                said = f" [{one.verdict[:60]}]" if outcome == "wrong" else ""
                lines.append(f"  {one.kind} {one.seed} ({one.detail}): {one.message}{said}")
    return "\n".join(lines)


def _row(name: str, found: Sequence[Figures]) -> str:
    count = collections.Counter(one.outcome for one in found)
    points = [off for one in found for off in one.points]
    told = (
        f"{np.median(points):6.2f} /{np.quantile(points, 0.95):6.2f} ({len(points):3})"
        if points
        else " " * 20
    )
    times = np.quantile([one.seconds for one in found], 0.95)
    return (
        f"{name:<12}{len(found):>4}{count['right']:>7}{count['rightly refused']:>6}"
        f"{count['refused']:>6}{count['wrong']:>6}{sum(o.is_wrong_as_drawn for o in found):>8}"
        f"{count['crashed']:>6}  {told}  {max(one.peak for one in found):5.0f} {times:5.2f}"
    )


def seeds_of(text: str) -> list[int]:
    """Return the seeds of a text like "0-149" or "3,7,20-25"."""
    found: list[int] = []
    for words in text.split(","):
        first, _, last = words.partition("-")
        found += range(int(first), int(last or first) + 1)
    return found


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure what is asked for and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", default="0-149", help="such as 0-149")
    parser.add_argument("--kind", choices=tuple(KINDS), help="all seeds of this kind")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--pictures", type=Path, help="a folder for pictures of the wrong ones")
    parser.add_argument("--json", type=Path, help="a file for all figures")
    asked = parser.parse_args(arguments)
    if asked.pictures is not None:
        asked.pictures.mkdir(parents=True, exist_ok=True)
    wanted = [(asked.kind or kind_of(s), s, asked.pictures) for s in seeds_of(asked.seeds)]
    with ProcessPoolExecutor(asked.jobs) as pool:
        found = list(pool.map(_measured, wanted))
    print(table(found))
    if asked.json is not None:
        asked.json.write_text(json.dumps([asdict(one) for one in found], indent=1))


if __name__ == "__main__":
    main()
