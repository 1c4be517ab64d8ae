"""How many seams of invented pieces are named by their shape alone, and how many of them rightly.

python -m tests.help.unnamed.named_seams [--count 500] [--first 0] [--unusual 1.5]
[--others]
"""

from __future__ import annotations

import argparse
import collections
import random
import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.found_block import take_block
from drafting_core.model.stretches import stretches
from drafting_core.plane.curves import Cubic, Segment
from drafting_core.plane.curves import Line as Straight
from drafting_core.text.errors import DraftingError
from tests.help.scans.fresh.lines import Line, along, lengths
from tests.help.scans.fresh.pieces import Piece, Run, random_piece
from tests.help.unnamed.other_pieces import other_piece

#: Names that the pieces of this room have beside those of the trade.
_TRUE = {"underarm": "underarm seam"}
_CENTRES = ("centre front", "centre back")


class Named(NamedTuple):
    """What came of one piece.

    Attributes:
        kind: of the piece.
        right: how many seams got their true name.
        numbered: how many got a number.
        wrong: the wrong names, each with the true one.
    """

    kind: str
    right: int
    numbered: int
    wrong: tuple[tuple[str, str], ...]


def segments_of(points: Line, spans: int = 5) -> list[Segment]:
    """Return a run of points as a line, or as smooth cubics."""
    if len(points) == 2:
        return [Straight(complex(points[0]), complex(points[1]))]
    at = lengths(points)
    places = np.linspace(0.0, at[-1], spans + 1)
    nodes = along(points, places)
    near = min(0.5, at[-1] / 50)
    low, high = np.maximum(places - near, 0.0), np.minimum(places + near, at[-1])
    ways = (along(points, high) - along(points, low)) / (high - low)
    third = at[-1] / spans / 3
    return [
        Cubic(
            complex(nodes[k]),
            complex(nodes[k] + ways[k] * third),
            complex(nodes[k + 1] - ways[k + 1] * third),
            complex(nodes[k + 1]),
        )
        for k in range(spans)
    ]


def block_of(piece: Piece, name: str = "") -> Block:
    """Return a piece as a block that nobody has marked."""
    edges = []
    for run in piece.runs:
        edges += [("dart" if run.is_leg else "", s) for s in segments_of(run.points)]
    return Block(seam_by_seam(edges), name=name)


def posed(rng: random.Random, piece: Piece) -> Piece:
    """Return a piece as it may lie: mirrored, upside down, askew, shifted."""
    factor = complex(np.exp(1j * (rng.choice((0, 1, 2, 3)) * np.pi / 2 + rng.uniform(-0.05, 0.05))))
    is_mirrored = rng.random() < 0.5

    def motion(points: Line) -> Line:
        return np.asarray((-points.conjugate() if is_mirrored else points) * factor + 400 + 300j)

    lying = piece.mapped(motion)
    if not is_mirrored:
        return lying
    runs = tuple(Run(r.seam, r.points[::-1], r.is_leg) for r in reversed(lying.runs))
    return Piece(lying.kind, runs, lying.darts)


def true_name(seam: str, kind: str) -> frozenset[str]:
    """Return the names that are right for a seam of a piece."""
    plain = re.sub(r"\s*\d+$", "", seam)
    plain = _TRUE.get(plain, plain)
    if kind == "sleeve" and plain in ("hem", "wrist"):
        return frozenset(("hem", "wrist"))
    return frozenset((plain,))


def named(piece: Piece, name: str = "") -> Named:
    """Name the seams of a piece by its shape and judge the names.

    Raises:
        DraftingError: if the block cannot be read.
    """
    found = take_block(block_of(piece, name), equalise=False)
    solid = [run for run in piece.runs if not run.is_leg]
    right = numbered = 0
    wrong = []
    for stretch in stretches(found.piece):
        seam = stretch.seam
        if re.fullmatch(r"seam \d+", seam.name):
            numbered += 1
            continue
        middles = [complex(s.point(0.5)) for s in stretch.segments(found.piece)]
        trues = {
            true
            for z in middles
            for true in (min(solid, key=lambda run: float(np.abs(_near(run) - z).min())).seam,)
        }
        if all(seam.name in true_name(true, piece.kind) for true in trues):
            right += 1
        else:
            wrong.append((seam.name, ", ".join(sorted(trues))))
    return Named(piece.kind, right, numbered, tuple(wrong))


def _near(run: Run) -> Line:
    return along(run.points, np.linspace(0.0, float(lengths(run.points)[-1]), 60))


def unusual(rng: random.Random, piece: Piece, most: float) -> Piece:
    """Return a piece stretched one way, or sheared: its proportions are nobody's."""
    wide, lean = rng.uniform(1 / most, most), rng.uniform(-0.2, 0.2) * (most - 1.0)
    size = rng.choice((1.0, 1.0, 0.3, 0.6, 1.5))

    def motion(points: Line) -> Line:
        return np.asarray((points.real * wide + lean * points.imag + 1j * points.imag) * size)

    return piece.mapped(motion)


def many(
    count: int, first: int = 0, most: float = 1.0, *, others: bool = False
) -> Iterator[tuple[int, Named]]:
    """Yield what came of many random pieces, those left out that no block can be read from.

    Args:
        count: how many.
        first: the first seed.
        most: by how much they are stretched at the most.
        others: whether they are pieces of other kinds.
    """
    for seed in range(first, first + count):
        rng = random.Random(f"names {seed}")
        piece = other_piece(rng) if others else random_piece(rng)
        if most > 1.0:
            piece = unusual(rng, piece, most)
        try:
            yield seed, named(posed(rng, piece))
        except DraftingError:
            continue


def main(arguments: Sequence[str] | None = None) -> None:
    """Print a table: a line for each kind of piece."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--unusual", type=float, default=1.0, help="stretched by up to this")
    parser.add_argument("--others", action="store_true", help="pieces of other kinds")
    asked = parser.parse_args(arguments)
    table: dict[str, collections.Counter[str]] = collections.defaultdict(collections.Counter)
    for seed, found in many(asked.count, asked.first, asked.unusual, others=asked.others):
        row = table[found.kind]
        row["pieces"] += 1
        row["right"] += found.right
        row["numbered"] += found.numbered
        row["wrong"] += len(found.wrong)
        row["silent"] += found.right == 0
        if found.wrong:
            print(f"seed {seed}, {found.kind}: {found.wrong}")
    print(f"{'kind':<10}{'pieces':>8}{'right':>8}{'numbered':>10}{'wrong':>8}{'none named':>12}")
    for kind, row in sorted(table.items()):
        print(f"{kind:<10}{row['pieces']:>8}{row['right']:>8}{row['numbered']:>10}"
              f"{row['wrong']:>8}{row['silent']:>12}")  # fmt: skip


if __name__ == "__main__":
    main()
