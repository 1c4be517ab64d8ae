"""Results of the samples for a hand to work on, and the commands run on what was made of them."""

from __future__ import annotations

import contextlib
import copy
import functools
import io
import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from lxml import etree
from svgelements import Matrix

from extension.commands.command_line import main
from tests.help.hand.outlines import Outline, path_of, read_bits, with_seams

OURS = "{urn:dartswing:1}"
SVG = "{http://www.w3.org/2000/svg}"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
SAMPLES = Path(__file__).parents[3] / "sample_svgs"


class Base(NamedTuple):
    """How a result is made that a hand then changes.

    Attributes:
        sample: the sample that it begins with.
        steps: the commands, each run on what the one before wrote.
        number: which of the results of the drawing is changed.
        widths: the allowance of each seam, in mm, as the commands were told.
        otherwise: the allowance of a seam that they were told nothing of, in mm.
    """

    sample: str
    steps: tuple[tuple[str, ...], ...]
    number: int
    widths: dict[str, float]
    otherwise: float = 11.0

    def asked(self) -> str:
        """Return the setting that says its allowances."""
        said = [f"{name}={width}mm" for name, width in self.widths.items()]
        return ", ".join([f"{self.otherwise}mm", *said]).replace("hem=42.0mm", "hem=42mm turned")


_FRONT = {
    "neckline": 6.0,
    "shoulder": 13.0,
    "armhole": 9.0,
    "side seam": 25.0,
    "waist": 15.0,
    "hem": 35.0,
    "centre front": 12.0,
}
_BACK = {name: _FRONT[name] for name in ("neckline", "shoulder", "armhole", "side seam", "waist")}
_BACK |= {"hem": 35.0, "centre back": 14.0}
#: The results by what they are.
BASES = {
    "front": Base("front_one_path", (("move",),), 0, _FRONT),
    "front again": Base(
        "front_one_path",
        (("move",), ("move", "--to", "shoulder:0.5", "--select", "dartswing-1")),
        1,
        _FRONT,
    ),
    "front as drawn": Base("front_one_path", (("allow",),), 0, _FRONT),
    "knit front": Base("front_one_path", (("move", "--cloth", "knit"),), 0, _FRONT),
    "french front": Base("front_french_dart", (("move",),), 0, _FRONT),
    "back": Base("back_two_darts", (("move",),), 0, _BACK),
    "skirt": Base(
        "skirt_two_darts", (("move",),), 0, {"waist": 8.0, "side seam": 17.0, "hem": 42.0}
    ),
    "sleeve": Base(
        "sleeve_elbow_dart",
        (("move",),),
        0,
        {"underarm seam": 16.0, "cap": 9.0, "elbow": 16.0, "wrist": 20.0},
    ),
    "sleeve as drawn": Base(
        "sleeve_elbow_dart",
        (("allow",),),
        0,
        {"underarm seam": 16.0, "cap": 9.0, "elbow": 16.0, "wrist": 20.0},
    ),
    "yoke": Base("back_yoke_line", (("move",),), 1, {**_BACK, "yoke seam": 10.0}),
    "side part": Base("front_princess_line", (("move",),), 1, {**_FRONT, "princess seam": 10.0}),
}


class Told(NamedTuple):
    """What a command did: its exit status, what it said, and what it wrote."""

    status: int
    said: str
    root: Any
    report: Any


def run(root: Any, command: str, folder: Path, *more: str) -> Told:
    """Run a command on a drawing as from the terminal."""
    drawing, written, report = (folder / f"{command}-{n}" for n in ("in.svg", "out.svg", "r.json"))
    written.unlink(missing_ok=True)
    before = etree.tostring(root)
    drawing.write_bytes(before)
    asks = ["--report", str(report)] if command in ("allow", "move") else []
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        status = main([command, str(drawing), "-o", str(written), *asks, *more])
    assert drawing.read_bytes() == before
    assert written.exists() == (status == 0)
    if status:
        return Told(status, out.getvalue(), None, None)
    figures = json.loads(report.read_text(encoding="utf-8")) if asks else None
    return Told(status, out.getvalue(), etree.parse(str(written)).getroot(), figures)


@functools.cache
def _made(name: str, folder: Path) -> Any:
    base = BASES[name]
    root = etree.parse(str(SAMPLES / f"{base.sample}.svg")).getroot()
    for command, *more in base.steps:
        told = run(root, command, folder, "--allowance", base.asked(), *more)
        assert told.status == 0, told.said
        root = told.root
    return root


def result(name: str, folder: Path) -> Drawing:
    """Return a result to work on, as it was written."""
    return Drawing(copy.deepcopy(_made(name, folder)), name)


class Drawing:
    """A drawing with the result that a hand works on.

    Attributes:
        root: the drawing.
        base: how it was made.
        layer: the layer of the result.
        stitch: its stitch line.
        bits: the stitch line as it is drawn, with the seams as the hand means them.
    """

    def __init__(self, root: Any, name: str) -> None:
        self.name, self.base = name, BASES[name]
        self.becomes(root)

    def becomes(self, root: Any) -> None:
        """Go on with what a command wrote."""
        self.root = root
        layers = [element for element in root if element.get(f"{OURS}result")]
        self.layer = layers[self.base.number]
        (self.stitch,) = self.parts("stitch-line")
        attributes = self.stitch.attrib
        ends = [
            (words[8], complex(*map(float, words[0].split(","))))
            for n in range(1, 30)
            if (text := attributes.get(f"{OURS}seam-{n}")) and (words := text.split(maxsplit=8))
        ]
        darts = [
            tuple(complex(*map(float, pair.split(","))) for pair in text.split()[:2])
            for n in range(1, 9)
            if (text := attributes.get(f"{OURS}dart-{n}"))
        ]
        self.bits: Outline = with_seams(
            read_bits(self.stitch.get("d")), ends, [(a, b) for a, b in darts]
        )

    def after(self, root: Any, names: Mapping[str, str]) -> Drawing:
        """Return the same result in what a command wrote, its seams called otherwise."""
        twin = copy.copy(self)
        twin.root = root
        twin.stitch = next(e for e in root.iter() if e.get("id") == self.stitch.get("id"))
        twin.layer = next(
            group
            for group in twin.stitch.iterancestors()
            if any(e.get(f"{OURS}part") == "cut-line" for e in group.iter())
        )
        twin.bits = [bit._replace(seam=names.get(bit.seam, bit.seam)) for bit in self.bits]
        return twin

    @property
    def unit(self) -> float:
        """Millimetres to a unit of the drawing."""
        return mm_per_unit(self.root)

    def parts(self, part: str) -> list[Any]:
        return [e for e in self.layer.iter() if e.get(f"{OURS}part") == part]

    def part(self, part: str, number: int = 0) -> Any:
        return self.parts(part)[number]

    def word(self, seam: str) -> Any:
        return next(e for e in self.parts("seam-name") if e.get(f"{OURS}name") == seam)

    def draw(self, bits: Outline, data: str | None = None) -> None:
        """Give the stitch line another shape, written as a path of its own where that is said."""
        self.bits = bits
        self.stitch.set("d", path_of(bits) if data is None else data)


def mm_per_unit(root: Any) -> float:
    """Return how long a unit of a drawing is, in mm."""
    found = re.fullmatch(r"([\d.]+)(mm|cm|in)", root.get("width"))
    assert found is not None
    size = float(found[1]) * {"mm": 1.0, "cm": 10.0, "in": 25.4}[found[2]]
    return size / float(root.get("viewBox").split()[2])


def seen_through(element: Any) -> Matrix:
    """Return how what is drawn lies in the drawing: its own transform and those around it."""
    matrix = Matrix()
    for owner in (element, *element.iterancestors()):
        if owner.get("transform"):
            matrix *= Matrix(owner.get("transform"))
    return matrix


def through(matrix: Matrix, z: complex) -> complex:
    x, y = matrix.point_in_matrix_space((z.real, z.imag))
    return complex(x, y)


def shown(element: Any) -> Iterator[str]:
    """Yield the lines that a text shows."""
    for row in [e for e in element if len("".join(e.itertext()).strip())] or [element]:
        yield " ".join("".join(row.itertext()).split())
