"""A block as the drafter gives it: outline, apex and marks, in mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from drafting_core.block.places import Target
from drafting_core.block.remembered import Remembered
from drafting_core.block.seams import SeamMark
from drafting_core.model.outline import OutlineEdge
from drafting_core.model.seam_names import SeamLabel
from drafting_core.plane.curves import Line, Segment
from drafting_core.text.words import _


class DartMark(NamedTuple):
    """A mark near a mouth: which dart to close, and how much of it.

    Attributes:
        at: where it lies.
        share: the share of that dart that is closed, from 0 to 1.
    """

    at: complex
    share: float = 1.0


class InnerLine(NamedTuple):
    """A path inside the piece that travels with its part.

    Attributes:
        paths: its subpaths as chains of segments.
        thing: what the drafter calls it, for messages, or an empty string.
        number: its number among the inner lines of the drawing's block, or None.
    """

    paths: tuple[tuple[Segment, ...], ...]
    thing: str = ""
    number: int | None = None

    @property
    def spoken(self) -> str:
        """What it is called in a message."""
        return self.thing or _("inner line")


class FullnessMark(NamedTuple):
    """Extra width of a result that is gathered, eased, left as a flare or sewn as a tuck.

    Attributes:
        kind: which of these.
        paths: the stretch of the seam; of a tuck its two stitched lines from the seam inward, and
            its fold arrow.
        over: how long that stretch is sewn, in mm.
    """

    kind: str
    paths: tuple[tuple[Segment, ...], ...]
    over: float = 0.0


class StyleLine(NamedTuple):
    """A line across a block along which it is cut in two pieces.

    Attributes:
        path: the line, in mm.
        name: the name of the seam that it becomes, or an empty string.
        thing: what the drafter calls it, for messages, or an empty string.
    """

    path: tuple[Segment, ...]
    name: str = ""
    thing: str = ""

    @property
    def spoken(self) -> str:
        """What it is called in a message."""
        return self.thing or _("style line")


class Block(NamedTuple):
    """A block and what the drafter marked on it. Points in mm, y pointing down.

    Attributes:
        outline: the closed stitch line, in order, either way round.
        apex: the pivot, or None.
        targets: where darts are to go.
        seam_marks: marks that name seams.
        seam_ends: nodes at which a seam is known to end though there is no corner.
        seam_corners: corners at which a seam is known to go on.
        dart_marks: which darts to close.
        hold: a point of the part that stays put, or None.
        grain: the grainline as drawn, or None.
        notches: places of notches near the outline.
        inner_lines: paths that travel with their part.
        name: the piece's name, or an empty string.
        size: its size, or an empty string.
        standing: whether the outline is a result's stitch line, which is not redrawn.
        more_apexes: further pivots, where its darts turn about different ones.
        curved_darts: points of darts whose legs are known to be curved.
        fullness: what an earlier move made of openings that became no darts.
        style_line: the line along which it is cut in two, or None.
        memory: what a result remembers of its seams and darts, or None.
        grain_points_down: whether the grainline is a result's own, which runs down.
    """

    outline: Sequence[OutlineEdge]
    apex: complex | None = None
    targets: Sequence[Target] = ()
    seam_marks: Sequence[SeamMark] = ()
    seam_ends: Sequence[complex] = ()
    seam_corners: Sequence[complex] = ()
    dart_marks: Sequence[DartMark] = ()
    hold: complex | None = None
    grain: Line | None = None
    notches: Sequence[complex] = ()
    inner_lines: Sequence[InnerLine] = ()
    name: str = ""
    size: str = ""
    standing: bool = False
    more_apexes: Sequence[complex] = ()
    curved_darts: Sequence[complex] = ()
    fullness: Sequence[FullnessMark] = ()
    style_line: StyleLine | None = None
    memory: Remembered | None = None
    grain_points_down: bool = False

    @property
    def apexes(self) -> tuple[complex, ...]:
        """All pivots."""
        return () if self.apex is None else (self.apex, *self.more_apexes)


def seam_by_seam(seams: Iterable[tuple[str, Segment]]) -> list[OutlineEdge]:
    """Return an outline from segments in order, each with its seam's name or ``dart`` for a leg."""
    return [
        OutlineEdge(segment, leg=True)
        if name.strip().casefold() == "dart"
        else OutlineEdge(segment, SeamLabel(name) if name else None)
        for name, segment in seams
    ]
