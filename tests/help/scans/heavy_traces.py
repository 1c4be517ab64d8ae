"""Invented traces that no pen drew: of very many nodes, flooded with ink, full of specks.

python -m tests.help.scans.heavy_traces measures time and memory on one of each.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.help.scans.fresh.clean_runs import run_clean

Points = NDArray[np.complex128]
_HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="800mm" height="800mm" viewBox="0 0 800 800">'
)
#: A bodice front with a waist dart, in mm: its corners, the way round.
BLOCK = np.array(
    [60, 200 + 0j, 225 + 70j, 270 + 190j, 260 + 420j, 165 + 430j, 150 + 280j, 135 + 430j, 430j]
) + (100 + 100j)


def _even(corners: Points, count: int) -> Points:
    whole = np.append(corners, corners[0])
    along = np.append(0.0, np.cumsum(np.abs(np.diff(whole))))
    at = np.linspace(0.0, along[-1], count, endpoint=False)
    return np.asarray(np.interp(at, along, whole.real) + 1j * np.interp(at, along, whole.imag))


def _normals(line: Points) -> Points:
    along = np.roll(line, -5) - np.roll(line, 5)
    return np.asarray(1j * along / np.abs(along))


def _lines(points: Points) -> str:
    return "M" + " ".join(f"{z.real:.4f},{z.imag:.4f}" for z in points.tolist()) + "Z"


def _relative_curves(points: Points) -> str:
    steps = np.round(np.diff(points, append=points[:1]), 4).tolist()
    parts = [
        f"c{z.real / 3:.4f},{z.imag / 3:.4f} {z.real / 1.5:.4f},{z.imag / 1.5:.4f} "
        f"{z.real:.4f},{z.imag:.4f}"
        for z in steps
    ]
    return f"M{points[0].real:.4f},{points[0].imag:.4f}" + "".join(parts) + "z"


def _drawing(*data: str) -> str:
    return _HEAD + "".join(f'<path d="{d}" style="fill:#000"/>' for d in data) + "</svg>"


def noisy(nodes: int, *, curves: bool = False, noise: float = 0.05) -> str:
    """Return a pen line's two edges, each node of them noisy.

    Args:
        nodes: of both edges together.
        curves: whether they are written as relative curves.
        noise: its standard deviation, in mm.
    """
    rng = np.random.default_rng(nodes)
    line = _even(BLOCK, nodes // 2)
    parts = []
    for side in (-0.4, 0.4):
        chance = rng.normal(0.0, noise, (2, len(line)))
        edge = line + side * _normals(line) + chance[0] + 1j * chance[1]
        write = _relative_curves if curves else _lines
        parts.append(write(edge if side < 0 else edge[::-1]))
    return _drawing(" ".join(parts))


def _specks(rng: np.random.Generator, count: int, way: int) -> list[str]:
    """Return specks of less than a millimetre, turning one way or the other."""
    turns = np.exp(1j * way * np.linspace(0.0, 2 * np.pi, 8, endpoint=False))
    at = rng.uniform(20, 780, (2, count))
    sizes = rng.uniform(0.05, 0.4, (count, 8))
    all_points = (at[0] + 1j * at[1])[:, None] + sizes * turns
    return [_lines(points) for points in all_points]


def specks(count: int) -> str:
    """Return a plain pen line among specks of dust."""
    rng = np.random.default_rng(count)
    line = _even(BLOCK, 4000)
    edges = [_lines(line - 0.4 * _normals(line)), _lines((line + 0.4 * _normals(line))[::-1])]
    return _drawing(" ".join([*edges, *_specks(rng, count, 1)]))


def flooded(count: int) -> str:
    """Return a sheet of which a third is ink with a ragged border, specks on either side."""
    rng = np.random.default_rng(count)
    turns = np.exp(1j * np.linspace(0.0, 2 * np.pi, 60_000, endpoint=False))
    ragged = 400 + 400j + turns * (300 + np.repeat(rng.normal(0.0, 9.0, 6000), 10))
    line = _even(BLOCK, 4000)
    parts = [_lines(ragged), _lines(line - 0.4 * _normals(line))]
    parts += _specks(rng, count // 2, 1) + _specks(rng, count // 2, -1)
    return _drawing(" ".join(parts))


def scribble(nodes: int) -> str:
    """Return a path without any sense, from anywhere to anywhere."""
    rng = np.random.default_rng(nodes)
    at = rng.uniform(0, 800, (2, nodes))
    return _drawing(_lines(at[0] + 1j * at[1]))


def shorthands(nodes: int) -> str:
    """Return a pen line in commands that no tracer writes."""
    points = _even(BLOCK, nodes)
    pairs = [f"{z.real:.3f},{z.imag:.3f}" for z in points.tolist()]
    return _drawing(f"M{pairs[0]}S" + " ".join(f"{z} {z}" for z in pairs[1:]))


#: All of them, by name, from the lightest to some 50 MB.
HEAVY: dict[str, Callable[[], str]] = {
    "noisy 100 000": lambda: noisy(100_000),
    "noisy 1 000 000": lambda: noisy(1_000_000),
    "noisy 1 000 000, coarse": lambda: noisy(1_000_000, noise=0.4),
    "noisy 50 MB": lambda: noisy(2_700_000),
    "curves 50 MB": lambda: noisy(1_050_000, curves=True),
    "specks 124 000": lambda: specks(124_000),
    "specks 50 MB": lambda: specks(350_000),
    "flooded 20 000": lambda: flooded(20_000),
    "flooded 50 MB": lambda: flooded(340_000),
    "scribble 50 MB": lambda: scribble(2_800_000),
    "shorthands 5 MB": lambda: shorthands(150_000),
    "shorthands 50 MB": lambda: shorthands(1_600_000),
}


def main() -> None:
    """Print size, time and memory of the clean-up of each, and what is said."""
    for name, make in HEAVY.items():
        with tempfile.TemporaryDirectory() as folder:
            drawing = Path(folder) / "trace.svg"
            drawing.write_text(make(), encoding="utf-8")
            size = drawing.stat().st_size / 1e6
            run = run_clean(drawing, Path(folder) / "clean.svg")
        said = " ".join(run.message.split())[:110]
        state = "CRASHED" if run.is_crashed else str(run.status)
        print(f"{name:24} {size:5.1f} MB {run.seconds:6.1f} s {run.peak:6.0f} MB  {state} {said}")


if __name__ == "__main__":
    main()
