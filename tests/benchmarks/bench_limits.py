"""What takes no time, and must not: a cut line, outlines of many nodes, drawings refused.

Run by ``pytest tests/benchmarks/bench_limits.py``.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from drafting_core.plane.crossings import crosses_itself
from drafting_core.plane.curves import Line
from extension.commands.command_line import main
from tests.drafting_core.plane.test_crossings import smooth_ring
from tests.extension.drafting.test_bad_drawings import DRAWINGS
from tests.help.blocks.rings import HALF_INCH, cut, front, wavy_ring

#: A front takes about 2 ms on the machine it was written on; many times as much on a slow one.
FRONT_S, MANY_NODES_S, REFUSED_S = 0.015, 1.0, 2.0


def takes_less(benchmark: BenchmarkFixture, seconds: float, job: Callable[[], object]) -> None:
    benchmark(job)
    measured = benchmark.stats
    assert measured is not None
    assert measured.stats.min < seconds


def test_the_cut_line_of_a_front(benchmark: BenchmarkFixture) -> None:
    stitch, each = front()
    takes_less(benchmark, FRONT_S, lambda: cut(stitch, *each))


def test_the_cut_line_of_many_nodes(benchmark: BenchmarkFixture) -> None:
    stitch = wavy_ring(800)
    takes_less(benchmark, MANY_NODES_S, lambda: cut(stitch, HALF_INCH))


@pytest.mark.parametrize("count", [400, 3000])
@pytest.mark.parametrize("kind", ["curves", "lines"])
def test_crossings_of_many_nodes(benchmark: BenchmarkFixture, count: int, kind: str) -> None:
    curves = smooth_ring(count)
    ring = curves if kind == "curves" else [Line(s.start, s.end) for s in curves]
    takes_less(benchmark, MANY_NODES_S, lambda: crosses_itself(ring))


def test_bad_drawings_are_refused_at_once(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    asked = []
    for number, (text, _words) in enumerate(DRAWINGS.values()):
        drawing = tmp_path / f"{number}.svg"
        drawing.write_text(text, encoding="utf-8")
        asked.append(["move", str(drawing), "-o", str(tmp_path / "out.svg")])
    takes_less(benchmark, REFUSED_S, lambda: [main(arguments) for arguments in asked])
