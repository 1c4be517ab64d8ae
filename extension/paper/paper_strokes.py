"""How a pattern looks on paper: lines told apart by dash and width, on any black printer.

Widths are 0.35 to 0.7 mm, which any printer prints and which scissors can follow.
"""

from __future__ import annotations

from extension.look.strokes import INK, Stroke

CUT = 0.7
THIN = 0.35

PAPER_STROKES = {
    "cut-line": Stroke(CUT),
    "fold-edge": Stroke(CUT, (12.0, 2.0, 2.0, 2.0)),
    "fold-sign": Stroke(THIN),
    "stitch-line": Stroke(THIN, (4.0, 1.6)),
    "cap": Stroke(THIN, (4.0, 1.6)),
    "dart-leg": Stroke(THIN, (4.0, 1.6)),
    "dart-fold": Stroke(THIN, (6.0, 1.5, 1.0, 1.5)),
    "dart-point": Stroke(THIN),
    "fold-arrow": Stroke(0.5),
    "fold-head": Stroke(THIN, fill=INK),
    "drill-hole": Stroke(THIN),
    "trim-window": Stroke(THIN, (1.0, 1.0), fill=INK, fill_opacity=0.12),
    "apex": Stroke(THIN),
    "notch": Stroke(CUT),
    "grainline": Stroke(0.5),
    "inner-line": Stroke(THIN, (2.0, 1.0)),
    "gathers": Stroke(CUT, (0.8, 1.6)),
    "ease": Stroke(CUT, (0.8, 1.6)),
    "flare": Stroke(CUT, (0.8, 1.6)),
    "tuck": Stroke(0.5),
    "centre-line": Stroke(THIN, (12.0, 2.0, 2.0, 2.0)),
    "own": Stroke(THIN),
}
#: The dashes of the sizes of a nest, from the first; a ninth size begins anew, told by its label.
SIZE_DASHES: tuple[tuple[float, ...], ...] = (
    (),
    (7.0, 2.0),
    (2.5, 1.5),
    (9.0, 1.8, 1.2, 1.8),
    (0.8, 1.2),
    (9.0, 1.8, 1.2, 1.8, 1.2, 1.8),
    (16.0, 2.5),
    (4.0, 1.5, 0.8, 1.5),
)
#: A hairline: what cutting machines take for a line to follow (0.001 in: common practice).
HAIRLINE = Stroke(0.0254)
#: What a page has beside the pattern: the frame to trim to, where the next page is laid on.
FRAME = Stroke(THIN)
LAY_ON = Stroke(THIN, (1.5, 1.5))
JOIN = Stroke(THIN)
SQUARE = Stroke(THIN)
MAP_PAGE = Stroke(THIN)
MAP_PIECE = Stroke(THIN, (1.6, 0.8))


def of_size(kind: str, index: int) -> Stroke:
    """Return the stroke of a line of one size of a nest.

    Args:
        kind: what the line is.
        index: the number of the size, from 0.
    """
    stroke = PAPER_STROKES[kind]
    if kind in ("cut-line", "stitch-line", "cap", "dart-leg"):
        return stroke._replace(dashes=SIZE_DASHES[index % len(SIZE_DASHES)])
    return stroke
