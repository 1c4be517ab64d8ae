"""The sign of an edge that lies on the fold of the cloth, on paper."""

from __future__ import annotations

from drafting_core.plane.curves import Line
from extension.look.fold_edge_sign import fold_edge_sign
from extension.look.text_places import Clearings
from extension.paper.paper_piece import PaperLine
from extension.paper.paper_strokes import PAPER_STROKES
from extension.paper.printed_parts import PrintedText


def fold_sign(fold: Line, clear: Clearings) -> tuple[PaperLine, PrintedText]:
    """Return the sign of a fold edge: a line inside with arrows onto the edge, and its words."""
    drawn, words = fold_edge_sign(fold, clear)
    chains = [(chain, False) for chain in drawn]
    best, direction, letters = words.at, words.direction, words.size
    text = PrintedText("fold-sign", words.text, best, direction, letters, "middle", False)
    return PaperLine("fold-sign", PAPER_STROKES["fold-sign"], tuple(chains)), text
