"""How long a move takes in-process: finish, cut line, marks and balance included."""

from __future__ import annotations

from pathlib import Path

from pytest_benchmark.fixture import BenchmarkFixture

from drafting_core.block.places import Target
from drafting_core.finished.draft import move_dart
from drafting_core.model.settings import Settings
from extension.document.svg_document import read_document
from extension.drafting.move_and_allow import Request, move
from extension.reading.block_marks import core_block
from extension.reading.read_blocks import read_drawing

SAMPLE = Path(__file__).parents[2] / "sample_svgs" / "front_one_path.svg"


def test_move_of_the_sample_front(benchmark: BenchmarkFixture) -> None:
    """The core's share: at most 10 ms is wanted."""
    drawing = read_drawing(read_document(str(SAMPLE)).getroot())
    block = core_block(drawing.blocks[0], drawing)
    draft = benchmark(move_dart, block, Settings(), [Target(place="side seam:0.35")])
    assert len(draft.darts) == 1


def test_read_move_and_write(benchmark: BenchmarkFixture) -> None:
    """The same with reading roles and writing the layer."""

    def job() -> int:
        tree = read_document(str(SAMPLE))
        return len(move(tree.getroot(), Request()).drafts)

    assert benchmark(job) == 1
