"""How a pattern looks: one set of strokes and text for everything that is drawn.

All strokes are black, so that they print on any printer; lines are told apart by dash and
width. Widths and dashes are millimetres on paper.
"""

from __future__ import annotations

from typing import NamedTuple

from extension.look.set_text import CANVAS_LEADING

FONT = "sans-serif"
INK = "#000000"


class Stroke(NamedTuple):
    """A stroke: width and dashes in mm, a fill if it has one, and its colour.

    Attributes:
        width: its width.
        dashes: lengths of dashes and gaps in turn; none for a whole line.
        fill: the colour of the fill, or ``none``.
        fill_opacity: how much of the fill is seen, from 0 to 1.
        ink: the colour of the line.
    """

    width: float
    dashes: tuple[float, ...] = ()
    fill: str = "none"
    fill_opacity: float = 1.0
    ink: str = INK

    def style(self, unit: float) -> str:
        """Return the stroke as a style, for a drawing with ``unit`` mm to a unit."""
        parts = [
            f"fill:{self.fill}",
            f"stroke:{self.ink}",
            f"stroke-width:{self.width / unit:.6g}",
            "stroke-linejoin:miter",
            "stroke-miterlimit:4",
        ]
        if self.fill != "none":
            parts.append(f"fill-opacity:{self.fill_opacity:g}")
        if self.dashes:
            dashes = ",".join(f"{dash / unit:.6g}" for dash in self.dashes)
            parts.append(f"stroke-dasharray:{dashes}")
        return ";".join(parts)


#: One stroke for every part.
STROKES = {
    "sheet": Stroke(0.0, fill="#ffffff", fill_opacity=0.9, ink="none"),
    "stitch-line": Stroke(0.35, (4.0, 1.6)),
    "cut-line": Stroke(0.6),
    "cap": Stroke(0.35, (4.0, 1.6)),
    "fold-edge": Stroke(0.35),
    "dart-leg": Stroke(0.25),
    "dart-fold": Stroke(0.25, (6.0, 1.5, 1.0, 1.5)),
    "dart-point": Stroke(0.35),
    "fold-arrow": Stroke(0.4),
    "drill-hole": Stroke(0.35),
    "trim-window": Stroke(0.35, (1.0, 1.0), fill=INK, fill_opacity=0.08),
    "apex": Stroke(0.35),
    "notch": Stroke(0.6),
    "grainline": Stroke(0.35),
    "test-square": Stroke(0.35),
    "inner-line": Stroke(0.35, (2.0, 1.0)),
    "gathers": Stroke(0.8, (0.8, 1.6)),
    "ease": Stroke(0.8, (0.8, 1.6)),
    "flare": Stroke(0.8, (0.8, 1.6)),
    "tuck": Stroke(0.35),
}


def text_style(size: float, unit: float, *, bold: bool = False, anchor: str = "middle") -> str:
    """Return the style of a text of ``size`` mm."""
    return (
        f"font-family:{FONT};font-size:{size / unit:.6g}px;"
        f"font-weight:{'bold' if bold else 'normal'};text-anchor:{anchor};"
        f"fill:{INK};stroke:none;line-height:{CANVAS_LEADING}"
    )
