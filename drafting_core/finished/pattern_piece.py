"""The finished piece: darts finished, allowances added, marks placed, balance checked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from drafting_core.allowance.cut_line import Strip, cut_line
from drafting_core.block.block import Block, InnerLine
from drafting_core.block.found_block import FoundBlock
from drafting_core.block.grain import down_the_grain
from drafting_core.block.source_darts import tie_note
from drafting_core.dart.excess import TRIM
from drafting_core.dart.finish import FinishedDart, finish
from drafting_core.dart.fullness import Fullness, standing, tuck_of, without_darts
from drafting_core.dart.marks import (
    MouthSide,
    WideEdge,
    drill_hole,
    fold_arrow,
    grainline,
    leg_notches,
    seam_notch,
    standing_sides,
)
from drafting_core.dart.opening_warnings import centre_warnings, is_in_centre, slant_warnings
from drafting_core.dart.trim_window import cut_out
from drafting_core.finished.balance import Balance, after_trueing, balance, check_darts
from drafting_core.model.allowances import Allowances
from drafting_core.model.outline import Edge, extent, flattened
from drafting_core.model.piece import DART, EASE, GATHERS, TUCK, Opening, Piece
from drafting_core.model.seam_names import Seam
from drafting_core.model.settings import Settings
from drafting_core.move.followers import (
    apexes_after,
    drawn_grain,
    grain_after,
    placing,
    turned_fullness,
    turned_inner_lines,
)
from drafting_core.move.moving import Moved
from drafting_core.plane.crossings import crosses_itself
from drafting_core.plane.curves import Line, Segment, backward
from drafting_core.text.errors import DartError, DraftingError, OutlineError
from drafting_core.text.lengths import in_words
from drafting_core.text.words import N_, _, capital
from drafting_core.trueing.trueing import Blend, Trued, closed_corners, smooth_mouths, true_seams


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


class JoinedSeam(NamedTuple):
    """The seam in which the two pieces of a cut block meet. Lengths in mm, darts closed.

    Attributes:
        name: its name on both pieces.
        length: its length on this piece.
        other: its length on the other piece.
        other_piece: the other piece's name.
        fullness: what this piece eases or gathers in there, beyond that length.
    """

    name: str
    length: float
    other: float
    other_piece: str
    fullness: float


class Draft(NamedTuple):
    """A pattern piece ready to cut. Lengths in mm, angles in radians.

    Attributes:
        block: the block it was made from.
        settings: the settings it was made with.
        before: the block as found: runs of named seams and its darts.
        piece: the piece after the move, trued if that was asked for.
        stitch_line: the closed stitch line, each dart as a V to its point.
        cut_line: the closed cut line, trim windows taken out.
        darts: the darts, targets first in their order, then what is left at the source, then
            the others.
        fullness: what is gathered, eased or flared instead, and the tucks.
        notches: short lines from the cut line inward, for the legs of the darts.
        seam_notches: the same for the drafter's own notch marks.
        grain: the grainline, from its upper end down.
        inner_lines: paths inside the piece, turned with their parts.
        apexes: the pivots, where their parts went.
        held: a point of the part that stayed put, if the drafter chose it.
        names_guessed: whether the seams were named by the block's shape.
        balance: what is the same before and after.
        blends: where seams were drawn smooth, if that was asked for.
        notes: what was done that the drafter may not expect.
        warnings: what she should look at.
        joined: the seam to the other piece, where the block was cut in two.
        centre_opened: whether an opening divides the centre, which is then on no fold.
    """

    block: Block
    settings: Settings
    before: Piece
    piece: Piece
    stitch_line: tuple[Segment, ...]
    cut_line: tuple[Segment, ...]
    darts: tuple[DrawnDart, ...]
    fullness: tuple[Fullness, ...]
    notches: tuple[Line, ...]
    seam_notches: tuple[Line, ...]
    grain: Line
    inner_lines: tuple[InnerLine, ...]
    apexes: tuple[complex, ...]
    held: complex | None
    names_guessed: bool
    balance: Balance
    blends: tuple[Blend, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    joined: JoinedSeam | None = None
    centre_opened: bool = False

    @property
    def height(self) -> float:
        """The height of the block as it was drawn."""
        return extent(edge.segment for edge in self.block.outline)[1]

    @property
    def width(self) -> float:
        """The width of the block as it was drawn."""
        return extent(edge.segment for edge in self.block.outline)[0]


def finished_piece(
    block: Block, settings: Settings, read: FoundBlock, whole: Piece, steps: Sequence[Moved]
) -> Draft:
    """Finish a piece whose openings have their points, and draw everything for it.

    Args:
        block: the block and its marks.
        settings: the drafter's choices.
        read: the block taken apart.
        whole: its piece after the moves, each dart with its point.
        steps: the moves.

    Raises:
        DraftingError: if it cannot be finished as asked.
    """
    down = down_the_grain(whole, grain_after(read, steps))
    exact = balance(read.piece, whole)
    trued = _trued(whole, steps, settings)
    smooth = {trued.piece.openings[k] for k in trued.mouths}
    piece, fullness = without_darts(trued.piece, settings.ease_limit)
    finished = [
        finish(piece, k, opening.point, down, settings, trued=opening in smooth)
        for k, opening in enumerate(piece.openings)
    ]
    fullness += [
        tuck_of(dart, settings.tuck_length) for dart in finished if dart.opening.made == TUCK
    ]
    older = [standing(piece, mark.kind, mark.paths) for mark in turned_fullness(block, steps)]
    fullness += older
    allowances = settings.allowances
    closed = _with_caps(piece, finished)
    edges = [WideEdge(edge.segment, allowances.width(edge.seam)) for edge, _ in closed]
    try:
        whole_cut = cut_line(_strips(closed, allowances))
    except DraftingError as error:
        raise error.about(_("The cut line")) from None
    polygon = flattened([edge.segment for edge in edges], 12)
    notches = [
        notch
        for k, dart in enumerate(finished)
        for notch in leg_notches(
            dart.legs, whole_cut, _sides_of(piece, k, dart, allowances), polygon
        )
    ]
    for item in fullness:
        if item.kind == TUCK and item.opening is None:
            lines = (item.paths[0], item.paths[1])
            notches += leg_notches(lines, whole_cut, standing_sides(lines, edges), polygon)
        found = [seam_notch(z, edges, whole_cut) for z in item.ends if item.kind in (GATHERS, EASE)]
        notches += [notch for notch in found if notch is not None]
    place = placing(steps)
    warnings = [*read.warnings, *(text for dart in finished for text in dart.warnings)]
    seam_notches = [seam_notch(place(at), edges, whole_cut) for at in block.notches]
    if None in seam_notches:
        warnings.append(_("A notch lies on a fold edge, which is not notched."))
    cut, drawn = _drawn(finished, whole_cut, settings)
    warnings += centre_warnings(trued.piece)
    warnings += slant_warnings(fullness)
    warnings += _remarks(block, piece, drawn, settings)
    inner = turned_inner_lines(block, steps)
    notes = [*(text for step in steps for text in step.notes), *inner.notes]
    if len(steps) == 1:
        tie = tie_note(read.piece, steps[0].sources, block.dart_marks, steps[0].fan)
        notes += [tie] if tie else []
    if not block.standing:
        check_darts([dart for dart in finished if dart.opening.is_touched or not steps])
    stitch_line = _stitch_line(piece, finished)
    if any(dart.opening.made == TUCK for dart in finished):
        _check_tucks(stitch_line)
    apexes = apexes_after(block, steps)
    avoid = [*apexes, *(z for item in drawn for z in (*item.arrow, item.dart.point))]
    return Draft(
        block=block,
        settings=settings,
        before=steps[0].cut if steps else read.piece,
        piece=piece,
        stitch_line=tuple(stitch_line),
        cut_line=tuple(cut),
        darts=tuple(sorted(drawn, key=lambda item: report_order(item.dart.opening))),
        fullness=tuple(fullness),
        notches=tuple(notches),
        seam_notches=tuple(notch for notch in seam_notches if notch is not None),
        grain=drawn_grain(read, steps, stitch_line, down)
        or grainline(flattened(stitch_line, 8), down, avoid),
        inner_lines=inner.lines,
        apexes=tuple(apexes),
        held=block.hold,
        names_guessed=read.guessed,
        balance=_without_fullness(
            after_trueing(exact, trued.piece, [item.seam for item in trued.blends]), older
        ),
        blends=trued.blends,
        notes=(*notes, *(item.sentence for item in trued.blends), *trued.notes),
        warnings=tuple(warnings),
        centre_opened=any(is_in_centre(trued.piece, k) for k in range(len(trued.piece.openings))),
    )


def _without_fullness(outcome: Balance, older: Sequence[Fullness]) -> Balance:
    """Return a balance without what an earlier move gathered, eased or tucked in."""
    entries = []
    for entry in outcome.seams:
        taken = sum(item.taken for item in older if item.seam is entry.seam)
        entries.append(entry._replace(before=entry.before - taken, after=entry.after - taken))
    return outcome._replace(seams=tuple(entries))


def _strips(closed: Sequence[tuple[Edge, Seam]], allowances: Allowances) -> list[Strip]:
    """Return the stitch line with the allowance of each edge, turned ones folded out."""
    if not any(allowances.is_turned(seam) for _, seam in closed):
        return [Strip(edge.segment, allowances.width(edge.seam)) for edge, _ in closed]
    # Seldom used: its import is left to those who use it.
    from drafting_core.allowance.turned_allowance import turned_out

    return turned_out(closed, allowances)


def _stitch_line(piece: Piece, finished: Sequence[FinishedDart]) -> list[Segment]:
    """Return the closed stitch line: each dart as a V to its point, over a tuck its cap."""
    ring: list[Segment] = []
    for k, run in enumerate(piece.runs):
        ring += [edge.segment for edge in run]
        if finished and finished[k].opening.made == TUCK:
            ring += [edge.segment for edge in finished[k].cap]
        elif finished:
            there, back = finished[k].legs
            ring += [*there, *backward(back)]
    return [segment for segment in ring if segment.length() > 0.0]


def _check_tucks(stitch_line: Sequence[Segment]) -> None:
    """Refuse a tuck whose cap, which is part of the stitch line, crosses another part of it.

    Raises:
        DartError: with the place.
    """
    place = crosses_itself(stitch_line)
    if place is not None:
        raise DartError(
            _(
                "the seam across a tuck, as it lies folded, would cross the outline at "
                "({x:.1f}, {y:.1f}) mm."
            ).format(x=place.real, y=place.imag),
            remedy=_("Fold it the other way, move a smaller share there, or make it a dart."),
            place=place,
        )


def _trued(piece: Piece, steps: Sequence[Moved], settings: Settings) -> Trued:
    """Return the piece with its seams drawn smooth where the settings want it.

    Raises:
        DraftingError: if a seam cannot be drawn smooth.
    """
    if not steps:
        # A result that stands may have been trued when it was made.
        return Trued(piece, mouths=smooth_mouths(piece) if settings.true_mouth else frozenset())
    touched = [
        k
        for k, opening in enumerate(piece.openings)
        if opening.is_touched and opening.made in (DART, TUCK)
    ]
    closed = closed_corners(steps, piece)
    trued = true_seams(piece, closed, touched if settings.true_mouth else (), settings.blend)
    if trued.blends:
        check_no_overlap(
            trued.piece,
            N_("drawn smooth the piece would overlap itself at ({x:.1f}, {y:.1f}) mm."),
            N_("Blend the seams over a shorter length."),
        )
    return trued


def check_no_overlap(piece: Piece, what: str, remedy: str) -> None:
    """Refuse a piece of which one part would lie over another.

    Args:
        piece: the piece.
        what: what is then said, with the place in the fields ``x`` and ``y``; marked for
            translation.
        remedy: what to do about it, marked for translation.

    Raises:
        OutlineError: with the place.
    """
    place = crosses_itself(piece.ring(lambda opening: opening.point))
    if place is not None:
        raise OutlineError(
            _(what).format(x=place.real, y=place.imag), remedy=_(remedy), place=place
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
        _("The dart on {seam} is too short for a drill hole {distance} from its point.").format(
            seam=item.dart.seam.spoken, distance=in_words(settings.drill_hole)
        )
        for item in drawn
        if item.drill_hole is None
    ]
    remarks += [
        _('No seam of this block is called "{name}", for which an allowance is set.').format(
            name=name
        )
        for name in settings.allowances.unused(piece.seams())
    ]
    remarks += [
        _("{Seam} lies on the fold: its allowance of {width} is not used.").format(
            Seam=capital(seam.spoken), width=in_words(seam.allowance)
        )
        for seam in piece.seams()
        if seam.fold and seam.allowance
    ]
    remarks += [
        (
            _(
                "The tuck on {seam} opens into an allowance that is turned back: below the stitch "
                "line sew it as its mirror image, so that it lies flat."
            )
            if dart.opening.made == TUCK
            else _(
                "The dart on {seam} opens into an allowance that is turned back: below the stitch "
                "line sew it as its mirror image, so that it lies flat."
            )
        ).format(seam=dart.seam.spoken)
        for dart in (item.dart for item in drawn)
        if settings.allowances.is_turned(dart.seam)
    ]
    remarks += [
        _("{Seam} lies on the fold: nothing is turned back there.").format(
            Seam=capital(seam.spoken)
        )
        for seam in piece.seams()
        if seam.fold and settings.allowances.is_turned(replace(seam, fold=False))
    ]
    if block.apex is not None and drawn and not any(d.dart.opening.in_fan for d in drawn):
        remarks.append(
            _("No dart points at the apex mark any more: each was finished about its own point.")
        )
    return remarks


def report_order(opening: Opening) -> tuple[int, int]:
    """Return the place of an opening in a report: targets, what is left of sources, others."""
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
