"""A small drawing in pixels: lines, arrows, dimensions, made a PNG file by the editor."""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from PIL import Image

from drafting_core.plane.curves import Segment
from extension.document.path_data import path_data

WIDTH, HEIGHT = 440, 150
INK, FAINT, NEW, SHADE = "#1f2933", "#9aa5b1", "#0f766e", "#d9efec"

To = Callable[[complex], complex]


class Canvas:
    """A drawing of one size, in pixels."""

    def __init__(self) -> None:
        self.body: list[str] = []

    def path(
        self,
        segments: Sequence[Segment],
        to: To,
        ink: str = INK,
        width: float = 1.2,
        dash: str = "",
        fill: str = "none",
        *,
        closed: bool = False,
    ) -> None:
        data = path_data([segment.mapped(to) for segment in segments], closed=closed)
        self.raw(data, ink, width, dash, fill)

    def raw(
        self, data: str, ink: str = INK, width: float = 1.2, dash: str = "", fill: str = "none"
    ) -> None:
        self.body.append(
            f'<path d="{data}" fill="{fill}" stroke="{ink}" stroke-width="{width}"'
            f' stroke-dasharray="{dash}" stroke-linejoin="round" stroke-linecap="round"/>'
        )

    def through(
        self,
        points: Sequence[complex],
        ink: str = NEW,
        width: float = 1.6,
        fill: str = "none",
        *,
        closed: bool = False,
    ) -> None:
        """Draw straight lines through points."""
        self.raw("M " + " L ".join(map(xy, points)) + " Z" * closed, ink, width, fill=fill)

    def dot(self, z: complex, ink: str = NEW, radius: float = 4.0) -> None:
        self.body.append(f'<circle cx="{z.real}" cy="{z.imag}" r="{radius}" fill="{ink}"/>')

    def cross(self, z: complex, ink: str = INK, size: float = 5.0) -> None:
        for turn in (size, size * 1j):
            self.line(z - turn, z + turn, ink)

    def line(
        self, a: complex, b: complex, ink: str = INK, width: float = 1.2, dash: str = ""
    ) -> None:
        self.raw(f"M {a.real},{a.imag} L {b.real},{b.imag}", ink, width, dash)

    def arrow(self, a: complex, b: complex, ink: str = NEW, bow: float = 0.0) -> None:
        """Draw an arrow from a to b, bowed to its left by a part of its length."""
        middle = (a + b) / 2 - 1j * (b - a) * bow
        self.raw(f"M {xy(a)} Q {xy(middle)} {xy(b)}", ink, 1.8)
        back = (middle - b) / abs(middle - b) * 8
        self.raw(
            f"M {xy(b + back * (0.9 + 0.45j))} L {xy(b)} L {xy(b + back * (0.9 - 0.45j))}",
            ink,
            1.8,
        )

    def dimension(self, a: complex, b: complex, ink: str = NEW) -> None:
        """Draw a distance: a line with a stroke across each end."""
        across = 1j * (b - a) / abs(b - a) * 5
        self.line(a, b, ink, 1.4)
        for end in (a, b):
            self.line(end - across, end + across, ink, 1.4)

    def save(self, picture: Path) -> None:
        """Write the drawing as a small PNG file, by the editor."""
        source = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}">'
            f'<rect width="{WIDTH}" height="{HEIGHT}" rx="6" fill="#ffffff"/>'
            f"{''.join(self.body)}</svg>"
        )
        picture.parent.mkdir(exist_ok=True)
        with tempfile.TemporaryDirectory() as folder:
            drawing = Path(folder, "drawing.svg")
            drawing.write_text(source, encoding="utf-8")
            subprocess.run(
                ["inkscape", str(drawing), f"--export-filename={picture}", "--export-dpi=96"],
                check=True,
                capture_output=True,
                timeout=60,
            )
        with Image.open(picture) as image:
            small = image.convert("RGB").quantize(48)
        small.save(picture, optimize=True)


def xy(z: complex) -> str:
    """Return a point as path data, to a hundredth of a pixel."""
    return f"{z.real:.2f},{z.imag:.2f}"
