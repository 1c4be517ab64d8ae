"""What a block of a nest costs: ``python -m tests.benchmarks.bench_nest``.

A nest of many fronts, each in its own layer, against as many single runs, all in-process:
reading the file's bytes, the move, and the bytes that are written.
"""

from __future__ import annotations

import time

import pytest

from extension.document.svg_document import document_bytes, parse_document
from extension.drafting.move_and_allow import Request, move
from tests.help.blocks.drawings import APEX, TARGET, layer, outline, page, seam_marks

COUNTS = (10, 100, 1000)
#: A nest may cost this much more than its blocks one by one: what a lone block has for nothing is
#: room for its note and its square, and marks in one layer are told apart by their places.
DEARER = 1.4
#: The cost of a block may differ this much between small and large nests.
GROWTH = 0.2
#: Distance of one block from the next (mm).
PITCH = 320
#: Blocks in a row.
ROW = 40


def nest(count: int, *, apart: bool = False) -> bytes:
    """Return a drawing of fronts side by side, each with its own marks.

    Args:
        count: how many.
        apart: whether all marks stand in one layer, so that only their place says whose they are.
    """
    blocks, marks = [], []
    for k in range(count):
        place = f"translate({PITCH * (k % ROW)},{PITCH * 1.5 * (k // ROW)})"
        own = outline().replace('id="block"', f'id="block{k}"')
        mine = f"{APEX}{TARGET}{seam_marks()}"
        group = f'<g transform="{place}">{{}}</g>'
        blocks.append(layer(group.format(own if apart else own + mine), f"Front {k}"))
        if apart:
            marks.append(group.format(mine))
    return page("".join(blocks) + layer("".join(marks), "Notes")).encode("utf-8")


def seconds_of(drawing: bytes) -> float:
    """Return the processor's time for one run."""
    start = time.process_time()
    tree = parse_document(drawing)
    move(tree.getroot(), Request())
    document_bytes(tree)
    return time.process_time() - start


@pytest.mark.parametrize("apart", [False, True], ids=["own layers", "marks in one layer"])
def test_a_block_costs_the_same_in_a_nest(apart: bool) -> None:
    """The acceptance: ms per block at 10, 100 and 1000 blocks, and against single runs."""
    one = nest(1, apart=apart)
    seconds_of(one)
    single = min(sum(seconds_of(one) for _ in range(50)) / 50 for _ in range(3))
    print(f"\none by one: {1000 * single:.2f} ms a block")
    costs = {}
    for count in COUNTS:
        drawing = nest(count, apart=apart)
        rounds = max(1, 300 // count)
        costs[count] = min(seconds_of(drawing) for _ in range(rounds)) / count
        print(
            f"nest of {count:4}: {1000 * costs[count]:.2f} ms a block, "
            f"{costs[count] / single:.3f} of a single run"
        )
    assert costs[100] <= DEARER * single
    assert all(abs(cost - costs[100]) <= GROWTH * costs[100] for cost in costs.values())


if __name__ == "__main__":
    for marks_apart in (False, True):
        test_a_block_costs_the_same_in_a_nest(marks_apart)
