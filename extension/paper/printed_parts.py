"""What of a result is printed: lines, texts, and what they belong to. Lengths are true mm."""

from __future__ import annotations

from typing import NamedTuple

from drafting_core.finished.pattern_piece import Draft
from drafting_core.plane.curves import Line, Segment
from extension.finished.cut_count import CutCount
from extension.reading.piece_names import shown_name
from extension.reading.source_block import SourceBlock

#: The kind of what the drafter drew into the layer herself.
OWN = "own"
SEAM_NAME = "seam-name"
TITLE = "title"
CUT_LINE = "cut-line"
STITCH_LINE = "stitch-line"
#: What stands at the anchor of a text that is read the other way.
OTHER_END = {"start": "end", "middle": "middle", "end": "start"}


class PrintedLine(NamedTuple):
    """A part of a piece.

    Attributes:
        kind: what it is.
        chains: its chains in mm, each with whether it is a ring.
        dashes: the dashes in mm that the drafter gave a line of her own.
    """

    kind: str
    chains: tuple[tuple[tuple[Segment, ...], bool], ...]
    dashes: tuple[float, ...] = ()


class PrintedText(NamedTuple):
    """A text of a piece.

    Attributes:
        kind: whether it names a seam, is the piece's title, or the drafter's own.
        lines: its lines.
        at: where its first base line is anchored, in mm.
        direction: the unit vector along which it is read.
        size: the letters' size in mm.
        anchor: what of a line stands there: ``start``, ``middle`` or ``end``.
        bold: whether it is bold.
        of_size: in a nest the size that it belongs to alone, else empty.
    """

    kind: str
    lines: tuple[str, ...]
    at: complex
    direction: complex
    size: float
    anchor: str
    bold: bool
    of_size: str = ""


class PrintedResult(NamedTuple):
    """A result as it is printed, in true mm.

    Attributes:
        source: the result in the drawing.
        draft: what its stitch line gives.
        lines: its parts.
        texts: its texts.
        remarks: what the drafter should know before she cuts.
        cut: how many of it are cut, as its title says.
        folds: its edges on the fold of the cloth.
    """

    source: SourceBlock
    draft: Draft
    lines: tuple[PrintedLine, ...]
    texts: tuple[PrintedText, ...]
    remarks: tuple[str, ...]
    cut: CutCount
    folds: tuple[Line, ...]

    @property
    def name(self) -> str:
        """What the piece is called."""
        return shown_name(self.draft)

    @property
    def title_row(self) -> str:
        """The line of its title that says how often it is cut, empty where none does."""
        title = next((text.lines for text in self.texts if text.kind == TITLE), ())
        return "" if self.cut.line is None else title[self.cut.line]
