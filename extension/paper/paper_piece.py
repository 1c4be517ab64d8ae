"""A piece as it goes on paper: its lines with their strokes, its texts, and how it is turned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from drafting_core.pages.tiling import HALF_LINE, chords
from drafting_core.plane.curves import Box, PointMap, Segment, box_about
from drafting_core.plane.motions import readable
from extension.look.set_text import DROP, LEADING, RISE, text_width
from extension.look.strokes import Stroke
from extension.paper.printed_parts import CUT_LINE, OTHER_END, TITLE, PrintedResult, PrintedText

#: A title that becomes longer shrinks at most to this share.
_SMALLEST_TITLE = 0.55


@dataclass(frozen=True, eq=False)
class PaperLine:
    """A line on paper.

    Attributes:
        kind: what it is.
        stroke: how it looks.
        chains: its chains in mm, each with whether it is a ring.
        of_size: in a nest the size that it belongs to alone, else empty.
    """

    kind: str
    stroke: Stroke
    chains: tuple[tuple[tuple[Segment, ...], bool], ...]
    of_size: str = ""

    def mapped(self, to: PointMap) -> PaperLine:
        """Return the line, moved."""
        return PaperLine(
            self.kind,
            self.stroke,
            tuple((tuple(s.mapped(to) for s in chain), closed) for chain, closed in self.chains),
            self.of_size,
        )

    @cached_property
    def polylines(self) -> tuple[list[complex], ...]:
        """Its chains as polylines."""
        return tuple(chords(chain) for chain, _ in self.chains)


@dataclass(frozen=True, eq=False)
class PaperPiece:
    """A piece on paper.

    Attributes:
        name: what messages and the map call it.
        lines: its lines, those below first.
        texts: its texts.
        outline: its outermost lines, for the map.
    """

    name: str
    lines: tuple[PaperLine, ...]
    texts: tuple[PrintedText, ...]
    outline: tuple[tuple[Segment, ...], ...]

    def moved(self, to: PointMap) -> PaperPiece:
        """Return the piece turned and shifted."""
        return self._mapped(to, [moved_text(text, to) for text in self.texts])

    def mirrored(self) -> PaperPiece:
        """Return the piece mirrored in an upright line; its texts stay legible."""
        return self._mapped(lambda z: -z.conjugate(), [_mirrored_text(text) for text in self.texts])

    def with_texts(self, texts: Sequence[PrintedText]) -> PaperPiece:
        """Return the piece with other texts."""
        return PaperPiece(self.name, self.lines, tuple(texts), self.outline)

    def _mapped(self, to: PointMap, texts: Sequence[PrintedText]) -> PaperPiece:
        return PaperPiece(
            self.name,
            tuple(line.mapped(to) for line in self.lines),
            tuple(texts),
            tuple(tuple(s.mapped(to) for s in chain) for chain in self.outline),
        )

    @cached_property
    def polylines(self) -> tuple[list[complex], ...]:
        """Everything that it shows, as polylines: lines, and the boxes of texts."""
        lines = [points for line in self.lines for points in line.polylines]
        return (*lines, *([*corners, corners[0]] for corners in map(text_corners, self.texts)))

    @cached_property
    def fixed(self) -> tuple[list[complex], ...]:
        """The same without its title, which can be moved."""
        lines = [points for line in self.lines for points in line.polylines]
        texts = [text_corners(text) for text in self.texts if text.kind != TITLE]
        return (*lines, *([*corners, corners[0]] for corners in texts))

    @cached_property
    def box(self) -> Box:
        """The room that it takes, the width of its lines included."""
        left, top, right, bottom = box_about([z for points in self.polylines for z in points])
        return Box(left - HALF_LINE, top - HALF_LINE, right + HALF_LINE, bottom + HALF_LINE)

    @property
    def size(self) -> tuple[float, float]:
        """Its width and height."""
        return self.box.right - self.box.left, self.box.bottom - self.box.top


def text_corners(text: PrintedText) -> list[complex]:
    """Return the corners of the box about a text, in order."""
    width = max(text_width(line, text.size, bold=text.bold) for line in text.lines)
    left = {"start": 0.0, "middle": -width / 2, "end": -width}[text.anchor]
    top, bottom = _heights(text)
    return [
        text.at + text.direction * complex(x, y)
        for x, y in ((left, top), (left + width, top), (left + width, bottom), (left, bottom))
    ]


def cut_chains(result: PrintedResult) -> tuple[tuple[Segment, ...], ...]:
    """Return the cut line of a result as drawn; one that was deleted as it was drafted."""
    drawn = [
        chain for line in result.lines if line.kind == CUT_LINE for chain, _closed in line.chains
    ]
    return tuple(drawn) or (result.draft.cut_line,)


def with_lines(title: PrintedText, lines: Sequence[str]) -> PrintedText:
    """Return a title with other lines, smaller where these are longer than its own were."""
    was, is_now = (
        max(text_width(line, title.size, bold=title.bold) for line in rows)
        for rows in (title.lines, lines)
    )
    size = title.size * max(_SMALLEST_TITLE, min(1.0, was / is_now))
    # Further lines go above: below it there may be anything.
    up = max(0.0, LEADING * (size * len(lines) - title.size * len(title.lines)))
    return title._replace(lines=tuple(lines), size=size, at=title.at - 1j * title.direction * up)


def moved_text(text: PrintedText, to: PointMap) -> PrintedText:
    """Return a text turned and shifted, and turned over where it would be read the wrong way."""
    return read_rightly(
        text._replace(at=to(text.at), direction=to(text.at + text.direction) - to(text.at))
    )


def _mirrored_text(text: PrintedText) -> PrintedText:
    # The box mirrored, read the other way: letters themselves are never mirrored.
    return read_rightly(
        text._replace(
            at=-text.at.conjugate(),
            direction=text.direction.conjugate(),
            anchor=OTHER_END[text.anchor],
        )
    )


def read_rightly(text: PrintedText) -> PrintedText:
    """Return a text turned over in its box where it is read from above or from the left."""
    if readable(text.direction) == text.direction:
        return text
    top, bottom = _heights(text)
    return text._replace(
        at=text.at + 1j * text.direction * (top + bottom),
        direction=-text.direction,
        anchor=OTHER_END[text.anchor],
    )


def _heights(text: PrintedText) -> tuple[float, float]:
    """Return how far above and below its first base line a text reaches; up is negative."""
    return -RISE * text.size, (DROP + LEADING * (len(text.lines) - 1)) * text.size
