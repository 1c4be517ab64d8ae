"""The whole job: a block in, a pattern piece ready to cut out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import NamedTuple

from drafting_core.allowances import Allowances
from drafting_core.balance import Balance, balance, check_darts
from drafting_core.block import Block, InnerLine
from drafting_core.crossings import crosses_itself
from drafting_core.curves import Line, Segment
from drafting_core.cut_line import cut_line
from drafting_core.errors import DartError, DraftingError, OutlineError
from drafting_core.excess import TRIM
from drafting_core.find_darts import ON_APEX
from drafting_core.finish import FinishedDart, dart_point, finish
from drafting_core.followers import drawn_grain, grain_after, placing, turned_inner_lines
from drafting_core.found_block import FoundBlock, points_of_their_own, take_block
from drafting_core.grain import down_the_grain
from drafting_core.lengths import in_words
from drafting_core.marks import (
    MouthSide,
    WideEdge,
    drill_hole,
    fold_arrow,
    grainline,
    leg_notches,
    seam_notch,
)
from drafting_core.moving import Moved, move, source_darts, tie_note
from drafting_core.outline import Edge, extent, flattened
from drafting_core.piece import Opening, Piece
from drafting_core.piece_kinds import default_clearance
from drafting_core.places import Target
from drafting_core.seam_names import Seam
from drafting_core.settings import Settings
from drafting_core.trim_window import cut_out
from drafting_core.turned_allowance import turned_out


class DrawnDart(NamedTuple):
    """A finished dart and what is drawn for it.

    Attributes:
        dart: the finished dart.
        window: its trim window as a closed ring, or None where the excess is kept.
        drill_hole: the place of its drill hole, or None where the dart is too short.
        arrow: its fold arrow as a polyline.
    """

    dart: FinishedDart
    window: tuple[Segment, ...] | None
    drill_hole: complex | None
    arrow: tuple[complex, ...]


class Draft(NamedTuple):
    """A pattern piece ready to cut. Lengths in mm, angles in radians.

    Attributes:
        block: the block it was made from.
        settings: the settings it was made with.
        before: the block as found: runs of named seams and its darts.
        piece: the piece after the move.
        stitch_line: the closed stitch line, each dart as a V to its point.
        cut_line: the closed cut line, trim windows taken out.
        darts: the darts, targets first in their order, then what is left at the source, then
            the others.
        notches: short lines from the cut line inward, for the legs of the darts.
        seam_notches: the same for the drafter's own notch marks.
        grain: the grainline, from its upper end down.
        inner_lines: paths inside the piece, turned with their parts.
        held: a point of the part that stayed put, if the drafter chose it.
        names_guessed: whether the seams were named by the block's shape.
        balance: what is the same before and after.
        notes: what was done that the drafter may not expect.
        warnings: what she should look at.
    """

    block: Block
    settings: Settings
    before: Piece
    piece: Piece
    stitch_line: tuple[Segment, ...]
    cut_line: tuple[Segment, ...]
    darts: tuple[DrawnDart, ...]
    notches: tuple[Line, ...]
    seam_notches: tuple[Line, ...]
    grain: Line
    inner_lines: tuple[InnerLine, ...]
    held: complex | None
    names_guessed: bool
    balance: Balance
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def height(self) -> float:
        """The height of the block as it was drawn."""
        return extent(edge.segment for edge in self.block.outline)[1]

    @property
    def width(self) -> float:
        """The width of the block as it was drawn."""
        return extent(edge.segment for edge in self.block.outline)[0]


def move_dart(
    block: Block, settings: Settings | None = None, targets: Sequence[Target] | None = None
) -> Draft:
    """Move a block's dart, finish it, add allowances and marks.

    Args:
        block: the block.
        settings: how; the defaults where none are given.
        targets: where to; the block's own target marks where none are given.

    Raises:
        DraftingError: if the block cannot be drafted as asked.
    """
    settings = settings or Settings()
    goals = block.targets if targets is None else targets
    if block.apex is None:
        raise DartError("there is no apex.", remedy=APEX_REMEDY)
    if not goals:
        raise DartError(
            "there is no target.",
            remedy='Put a small mark labelled "target" where the dart is to go, or say the place.',
        )
    read, moved = _moved(block, settings, goals)
    piece = _with_points(moved.piece, _moved_point(moved.piece, settings))
    place = crosses_itself(piece.ring(lambda opening: opening.point))
    if place is not None:
        raise OutlineError(
            f"after the move the piece would overlap itself at ({place.real:.1f}, "
            f"{place.imag:.1f}) mm.",
            remedy="Move a smaller share of the dart, or choose another place.",
            place=place,
        )
    return _finished(block, settings, read, piece, moved)


def _moved(block: Block, settings: Settings, goals: Sequence[Target]) -> tuple[FoundBlock, Moved]:
    """Read a block and move its dart.

    A dart that is neither closed nor opened and has a point of its own, a little aside of the
    way to the apex, is left as it was drawn: it turns about its own point.
    """
    own: list[complex] = []
    while True:
        read = take_block(block, equalise=True, own=own)
        sources = source_darts(read.piece, block.dart_marks)
        moved = move(read.piece, goals, sources, settings.share, read.down, block.hold)
        aside = points_of_their_own(
            read,
            [
                opening
                for opening in moved.cut.openings
                if not opening.source and opening.target is None
            ],
        )
        if not aside:
            return read, moved
        own += aside


def add_allowances(block: Block, settings: Settings | None = None) -> Draft:
    """Finish the darts of an outline where they are, and add allowances and marks.

    Raises:
        DraftingError: if the block cannot be drafted as asked.
    """
    settings = settings or Settings()
    read = take_block(block, equalise=not block.standing)
    if settings.clearance is None and (own := points_of_their_own(read, read.piece.openings)):
        read = take_block(block, equalise=not block.standing, own=own)
    piece = _with_points(read.piece, _standing_point(block, read.piece, settings))
    return _finished(block, settings, read, piece, None)


APEX_REMEDY = (
    'Put a small mark labelled "apex" on the bust point, or on the dart\'s own point where the '
    "piece is no front."
)


def _with_points(piece: Piece, point: Callable[[int, Opening], complex]) -> Piece:
    return Piece(
        piece.runs,
        tuple(
            opening._replace(point=point(k, opening)) for k, opening in enumerate(piece.openings)
        ),
    )


def _moved_point(piece: Piece, settings: Settings) -> Callable[[int, Opening], complex]:
    """Where the point of each dart is after a move: darts that nobody touched keep theirs."""
    clearance = default_clearance(piece) if settings.clearance is None else settings.clearance

    def point(k: int, opening: Opening) -> complex:
        touched = _is_touched(opening)
        if not opening.in_fan:
            return opening.apex
        if not touched and abs(opening.point - opening.apex) > ON_APEX:
            return opening.point
        return dart_point(opening.apex, piece.mouth(k), clearance)

    return point


def _standing_point(
    block: Block, piece: Piece, settings: Settings
) -> Callable[[int, Opening], complex]:
    """Where the point of each dart is when the outline stands: where it was drawn.

    A dart of a block that is drawn to the apex itself is not finished yet: it gets its
    clearance. A result's stitch line is never redrawn.
    """
    clearance = default_clearance(piece) if settings.clearance is None else settings.clearance

    def point(k: int, opening: Opening) -> complex:
        lowered = abs(opening.point - opening.apex) > ON_APEX
        if not opening.in_fan or block.standing or (lowered and settings.clearance is None):
            return opening.point
        return dart_point(opening.apex, piece.mouth(k), clearance)

    return point


def _finished(
    block: Block, settings: Settings, read: FoundBlock, piece: Piece, moved: Moved | None
) -> Draft:
    down = down_the_grain(piece, grain_after(read, moved))
    finished = [
        finish(piece, k, opening.point, down, settings) for k, opening in enumerate(piece.openings)
    ]
    allowances = settings.allowances
    closed = _with_caps(piece, finished)
    edges = [WideEdge(edge.segment, allowances.width(edge.seam)) for edge, _ in closed]
    try:
        whole = cut_line(turned_out(closed, allowances))
    except DraftingError as error:
        raise error.about("The cut line") from None
    polygon = flattened([edge.segment for edge in edges], 12)
    notches = [
        notch
        for k, dart in enumerate(finished)
        for notch in leg_notches(dart, whole, _sides_of(piece, k, dart, allowances), polygon)
    ]
    place = placing(block, moved)
    warnings = [*read.warnings, *(text for dart in finished for text in dart.warnings)]
    seam_notches = [seam_notch(place(at), edges, whole) for at in block.notches]
    if None in seam_notches:
        warnings.append("A notch lies on a fold edge, which is not notched.")
    cut, drawn = _drawn(finished, whole, settings)
    warnings += _remarks(block, piece, drawn, settings)
    notes = () if moved is None else moved.notes
    if moved is not None and (tie := tie_note(read.piece, moved.sources, block.dart_marks)):
        notes = (*notes, tie)
    before = read.piece if moved is None else moved.cut
    outcome = balance(before, piece)
    if not block.standing:
        check_darts([dart for dart in finished if _is_touched(dart.opening) or moved is None])
    stitch_line = piece.ring(lambda opening: opening.point)
    avoid = [z for item in drawn for z in (*item.arrow, item.dart.point, item.dart.opening.apex)]
    return Draft(
        block=block,
        settings=settings,
        before=before,
        piece=piece,
        stitch_line=tuple(stitch_line),
        cut_line=tuple(cut),
        darts=tuple(sorted(drawn, key=lambda item: _report_order(item.dart.opening))),
        notches=tuple(notches),
        seam_notches=tuple(notch for notch in seam_notches if notch is not None),
        grain=drawn_grain(read, moved, stitch_line, down)
        or grainline(flattened(stitch_line, 8), down, avoid),
        inner_lines=tuple(turned_inner_lines(block, moved)),
        held=block.hold,
        names_guessed=read.guessed,
        balance=outcome,
        notes=notes,
        warnings=tuple(warnings),
    )


def _drawn(
    finished: Sequence[FinishedDart], whole: Sequence[Segment], settings: Settings
) -> tuple[list[Segment], list[DrawnDart]]:
    """Return the cut line with every trim window taken out, and what is drawn for each dart."""
    cut: list[Segment] = list(whole)
    drawn: list[DrawnDart] = []
    for dart in finished:
        window = None
        if dart.excess == TRIM:
            cut, window = cut_out(cut, dart)
        drawn.append(
            DrawnDart(
                dart,
                tuple(window) if window else None,
                drill_hole(dart, settings.drill_hole),
                tuple(fold_arrow(dart)),
            )
        )
    return cut, drawn


def _remarks(
    block: Block, piece: Piece, drawn: Sequence[DrawnDart], settings: Settings
) -> list[str]:
    """Return what the drafter should look at beside each dart's own warnings."""
    remarks = [
        f"The dart on {item.dart.seam.spoken} is too short for a drill hole "
        f"{in_words(settings.drill_hole)} from its point."
        for item in drawn
        if item.drill_hole is None
    ]
    remarks += [
        f'No seam of this block is called "{name}", for which an allowance is set.'
        for name in settings.allowances.unused(piece.seams())
    ]
    remarks += [
        f"{_capital(seam.spoken)} lies on the fold: its allowance of {in_words(seam.allowance)} is "
        "not used."
        for seam in piece.seams()
        if seam.fold and seam.allowance
    ]
    remarks += [
        f"{_capital(seam.spoken)} lies on the fold: nothing is turned back there."
        for seam in piece.seams()
        if seam.fold and settings.allowances.is_turned(replace(seam, fold=False))
    ]
    if block.apex is not None and drawn and not any(d.dart.opening.in_fan for d in drawn):
        remarks.append(
            "No dart points at the apex mark any more: each was finished about its own point."
        )
    return remarks


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _is_touched(opening: Opening) -> bool:
    return opening.source or opening.target is not None


def _report_order(opening: Opening) -> tuple[int, int]:
    if opening.target is not None:
        return 0, opening.target
    return (1 if opening.source else 2), 0


def _with_caps(piece: Piece, darts: Sequence[FinishedDart]) -> list[tuple[Edge, Seam]]:
    """Return the stitch line with each mouth closed by its cap.

    With each edge goes the seam that it is part of: a cap is part of the seam that its mouth is
    on, whatever seam its pieces copy.
    """
    edges: list[tuple[Edge, Seam]] = []
    for k, run in enumerate(piece.runs):
        edges += [(edge, edge.seam) for edge in run]
        if darts:
            edges += [(edge, darts[k].seam) for edge in darts[k].cap]
    return edges


def _sides_of(
    piece: Piece, k: int, dart: FinishedDart, allowances: Allowances
) -> tuple[MouthSide, MouthSide]:
    """Return what meets at each mouth end of a dart."""

    def wide(edge: Edge) -> WideEdge:
        return WideEdge(edge.segment, allowances.width(edge.seam))

    before, after = piece.runs[k][-1], piece.runs[(k + 1) % len(piece.runs)][0]
    return (
        MouthSide(wide(before), wide(dart.cap[0]), -1j * before.segment.end_tangent()),
        MouthSide(wide(after), wide(dart.cap[-1]), -1j * after.segment.start_tangent()),
    )
