"""What it costs that artwork comes along: the same move with it and without.

Run by ``pytest tests/benchmarks/bench_artwork.py -s``.
"""

from __future__ import annotations

import base64
import random
import statistics
from pathlib import Path

import pytest

from extension.installing.proof_drawing import PROOF_DRAWING, has_result
from tests.benchmarks.bench_editor_script import Scripts

ROUNDS = 9
PATHS, PICTURE_MB = 3000, 5
#: With artwork a move may take this many times as long.
LONGEST_SHARE = 1.5


def with_artwork(drawing: str) -> str:
    """A drawing with a large picture and thousands of small curves, as a print is of them."""
    chance = random.Random(5)
    picture = base64.b64encode(chance.randbytes(PICTURE_MB * 2**20 * 3 // 4)).decode("ascii")
    rows = [
        '<image id="photo" x="-50" y="-50" width="400" height="500" '
        f'xlink:href="data:image/png;base64,{picture}"/>'
    ]
    for number in range(PATHS):
        numbers = " ".join(
            f"{chance.uniform(-4, 4):.3f},{chance.uniform(-4, 4):.3f}" for _ in range(9)
        )
        rows.append(
            f'<path id="path{number}" style="fill:#{chance.randrange(4096):03x};fill-opacity:0.8;'
            'stroke:#223344;stroke-width:0.2;stroke-linecap:round" '
            f'd="m {chance.uniform(0, 230):.3f},{chance.uniform(0, 400):.3f} c {numbers} z"/>'
        )
    root = '<svg xmlns:xlink="http://www.w3.org/1999/xlink" '
    print_layer = "\n".join(['<g id="print">', *rows, "</g>", "</svg>"])
    return drawing.replace("<svg ", root, 1).replace("</svg>", print_layer)


def bench_a_move_with_artwork(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    scripts = Scripts(tmp_path)
    drawing = tmp_path / "printed.svg"
    drawing.write_text(with_artwork(PROOF_DRAWING), encoding="utf-8")
    written = scripts.run("move", drawing, "--artwork=yes").written
    assert has_result(written)
    assert written.count('id="dartswing-1-artwork-1-path') > PATHS / 10
    assert written.count("data:image") == 2, "one picture more than before, however many sectors"
    scripts.run("move", drawing, "--artwork=no")
    # In turn, so that whatever else the machine does falls on both alike.
    pairs = [
        (
            scripts.run("move", drawing, "--artwork=no").seconds,
            scripts.run("move", drawing, "--artwork=yes").seconds,
        )
        for _ in range(ROUNDS)
    ]
    plain, printed = (statistics.median(side) for side in zip(*pairs, strict=True))
    share = statistics.median(b / a for a, b in pairs)
    with capsys.disabled():
        print(
            f"\nA move takes {plain:.3f} s, with its artwork {printed:.3f} s: {share:.2f} times as "
            "long."
        )
    assert share <= LONGEST_SHARE
