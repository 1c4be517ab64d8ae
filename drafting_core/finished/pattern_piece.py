"""The finished piece: darts finished, allowances added, marks placed, balance checked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from drafting_core.block.block import Block, FullnessMark, InnerLine
from drafting_core.block.found_block import FoundBlock
from drafting_core.block.grain import down_the_grain
from drafting_core.block.seam_place import SeamPlace
from drafting_core.block.source_darts import tie_note
from drafting_core.dart.finish import FinishedDart, finish
from drafting_core.dart.fullness import Fullness, standing, tuck_of, without_darts
from drafting_core.dart.marks import (
    GRAIN_ROOM,
    drill_hole,
    fold_arrow,
    grainline,
    leg_notches,
)
from drafting_core.dart.opening_warnings import (
    centre_warnings,
    is_in_centre,
    opened_folds,
    slant_warnings,
)
from drafting_core.finished.balance import Balance, after_trueing, balance, check_darts
from drafting_core.finished.fold_refusals import bowed_folds, check_folds
from drafting_core.finished.folded_shut import FoldedShut
from drafting_core.finished.piece_words import (
    grain_remarks,
    narrow_remarks,
    remarks,
    tuck_crosses,
    unnotched,
)
from drafting_core.finished.with_allowances import WithAllowances, with_allowances
from drafting_core.model.allowances import Allowances
from drafting_core.model.outline import extent, flattened
from drafting_core.model.piece import DART, EASE, GATHERS, TUCK, Opening, Piece
from drafting_core.model.settings import Settings
from drafting_core.move.followers import (
    apexes_after,
    drawn_grain,
    grain_after,
    grain_turned,
    placing,
    turned_fullness,
    turned_inner_lines,
)
from drafting_core.move.moving import Moved
from drafting_core.plane.crossings import crosses_itself
from drafting_core.plane.curves import Line, Segment, backward
from drafting_core.text.errors import OutlineError
from drafting_core.text.lengths import place_in_words
from drafting_core.text.words import N_, _
from drafting_core.trueing.trueing import Blend, Trued, closed_corners, smooth_mouths, true_seams

#: So far inside of the seam that is gathered its notches are looked for (mm).
_INSIDE = 0.01


class DrawnDart(NamedTuple):
    """A finished dart and what is drawn for it.

    Attributes:
        dart: the finished dart.
        window: its trim window as a closed ring, or None where the excess is kept.
        drill_hole: the place of its drill hole, or None where the dart is too short or too narrow.
        arrow: its fold arrow as a polyline.
        folded: what was measured with it folded shut.
    """

    dart: FinishedDart
    window: tuple[Segment, ...] | None
    drill_hole: complex | None
    arrow: tuple[complex, ...]
    folded: FoldedShut


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
        corners_left: the same of sharp corners where darts were closed, which is said first.
        joined: the seam to the other piece, where the block was cut in two.
        straightened: by how much the legs bowed at most that were made straight, in mm; else 0.
        centre_opened: whether an opening divides the centre, which is then on no fold.
        places: where on the seams of the block each target lay, by its number.
        steps: the moves, one about each apex.
        shifted: by how much the piece was shifted before them.
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
    corners_left: tuple[str, ...] = ()
    joined: JoinedSeam | None = None
    centre_opened: bool = False
    straightened: float = 0.0
    places: Mapping[int, SeamPlace] = {}
    steps: tuple[Moved, ...] = ()
    shifted: complex = 0j

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
    down = down_the_grain(whole, grain_after(read, steps), points_down=read.points_down)
    is_opened = any(is_in_centre(whole, k) for k in range(len(whole.openings)))
    of_centre = centre_warnings(whole, settings.allowances)
    if opened := opened_folds(whole):
        read = read._replace(piece=read.piece.renamed(opened))
        whole, steps = whole.renamed(opened), [step.renamed(opened) for step in steps]
    check_folds(whole)
    of_centre = [*of_centre, *bowed_folds(whole), *grain_remarks(grain_turned(read, steps))]
    exact = balance(read.piece, whole)
    trued = _trued(whole, steps, settings)
    made = _made(trued, down, settings, turned_fullness(block, steps))
    allowed = with_allowances(
        made.piece, made.darts, made.fullness, settings, is_on_fold=not is_opened
    )
    made = made._replace(darts=allowed.darts)
    notches = [
        *_leg_notches(made, allowed, settings.allowances),
        *_fullness_notches(made.fullness, allowed),
    ]
    seam_notches = _seam_notches(block, steps, allowed)
    drawn = _drawn(allowed, settings)
    inner = turned_inner_lines(block, steps)
    if not block.standing:
        check_darts([dart for dart in made.darts if dart.opening.is_touched or not steps])
    stitch_line = _stitch_line(made.piece, made.darts)
    _check_tucks(stitch_line, made.darts)
    apexes = apexes_after(block, steps)
    avoid = [*apexes, *(z for item in drawn for z in (*item.arrow, item.dart.point))]
    return Draft(
        block=block,
        settings=settings,
        before=steps[0].cut if steps else read.piece,
        piece=made.piece,
        stitch_line=tuple(stitch_line),
        cut_line=tuple(allowed.cut_line),
        darts=tuple(sorted(drawn, key=lambda item: report_order(item.dart.opening))),
        fullness=made.fullness,
        notches=tuple(notches),
        seam_notches=seam_notches,
        grain=drawn_grain(read, steps, stitch_line, down, avoid, GRAIN_ROOM)
        or grainline(flattened(stitch_line, 8), down, avoid),
        inner_lines=inner.lines,
        apexes=tuple(apexes),
        held=block.hold,
        names_guessed=read.guessed,
        balance=_without_fullness(
            after_trueing(exact, trued.piece, [item.seam for item in trued.blends]), made.older
        ),
        blends=trued.blends,
        notes=tuple(_notes(block, read, steps, inner.notes, trued)),
        warnings=(
            *read.warnings,
            *(text for dart in made.darts for text in dart.all_warnings),
            *([unnotched()] if len(seam_notches) < len(block.notches) else []),
            *of_centre,
            *slant_warnings(made.fullness),
            *remarks(block, made.piece, made.darts, _undrilled(drawn), settings),
            *narrow_remarks(allowed.narrow, made.piece),
            *_flares(made, settings.allowances),
        ),
        corners_left=trued.corners_left,
        centre_opened=is_opened,
        straightened=read.straightened,
        places={number: place for step in steps for number, place in step.places.items()},
        steps=tuple(steps),
    )


class _Made(NamedTuple):
    """What became of the openings of a piece.

    Attributes:
        piece: the piece, its openings those that are folded.
        darts: those, finished.
        fullness: what the others became, tucks, and what an earlier move made.
        older: of these what an earlier move made.
    """

    piece: Piece
    darts: tuple[FinishedDart, ...]
    fullness: tuple[Fullness, ...]
    older: tuple[Fullness, ...]


def _made(
    trued: Trued, down: complex, settings: Settings, earlier: Sequence[FullnessMark]
) -> _Made:
    """Finish every opening as what it is to become.

    Raises:
        DraftingError: if one cannot be finished as asked.
    """
    smooth = {trued.piece.openings[k] for k in trued.mouths}
    piece, fullness = without_darts(trued.piece, settings.ease_limit, settings.gather_over)
    darts = [
        finish(piece, k, opening.point, down, settings, trued=opening in smooth)
        for k, opening in enumerate(piece.openings)
    ]
    tucks = [tuck_of(dart, settings.tuck_length) for dart in darts if dart.is_tuck]
    older = [standing(piece, mark) for mark in earlier]
    return _Made(piece, tuple(darts), (*fullness, *tucks, *older), tuple(older))


def _flares(made: _Made, allowances: Allowances) -> list[str]:
    """Return what is said of turned hems whose sides flare too far."""
    if not any(allowances.is_turned(seam) for seam in made.piece.seams()):
        return []
    # Its import is left to those who need it.
    from drafting_core.finished.folded_mouths import edges_and_mouths
    from drafting_core.finished.hem_flare import flare_warnings

    edges, mouths = edges_and_mouths(made.piece, made.darts, made.fullness)
    return flare_warnings(edges, mouths, allowances)


def _leg_notches(made: _Made, allowed: WithAllowances, allowances: Allowances) -> list[Line]:
    """Return the notches of the legs of every dart."""
    notches = []
    for k, dart in enumerate(made.darts):
        before, after = made.piece.runs[k][-1], made.piece.runs[(k + 1) % len(made.piece.runs)][0]
        widths = allowances.width(before.seam), allowances.width(after.seam)
        notches += leg_notches(dart.legs, allowed.cut_line, widths)
    return notches


def _fullness_notches(fullness: Sequence[Fullness], allowed: WithAllowances) -> list[Line]:
    """Return the notches where fullness begins and ends, and of the legs of tucks that stand."""
    notches: list[Line] = []
    for item in fullness:
        if item.kind == TUCK and item.opening is None:
            lines = (item.paths[0], item.paths[1])
            widths = [allowed.width_at(line[0].start) for line in lines]
            notches += leg_notches(lines, allowed.cut_line, widths)
        elif item.kind in (GATHERS, EASE):
            # A hair inside, so that at a corner the notch is on the seam's own allowance.
            first, last = item.paths[0][0], item.paths[0][-1].reversed()
            found = [allowed.notch(s.point(s.parameter_at(_INSIDE))) for s in (first, last)]
            notches += [notch for notch in found if notch is not None]
    return notches


def _seam_notches(
    block: Block, steps: Sequence[Moved], allowed: WithAllowances
) -> tuple[Line, ...]:
    """Return the notches for the drafter's marks, but for those that lie on a fold edge."""
    place = placing(steps)
    found = [allowed.notch(place(at)) for at in block.notches]
    return tuple(notch for notch in found if notch is not None)


def _undrilled(drawn: Sequence[DrawnDart]) -> list[FinishedDart]:
    """Return the darts that are too short or too narrow for a drill hole; a tuck has none."""
    return [item.dart for item in drawn if item.drill_hole is None and not item.dart.is_tuck]


def _notes(
    block: Block,
    read: FoundBlock,
    steps: Sequence[Moved],
    of_inner_lines: Sequence[str],
    trued: Trued,
) -> list[str]:
    """Return what was done that the drafter may not expect."""
    notes = [*(text for step in steps for text in step.notes), *of_inner_lines]
    if len(steps) == 1:
        tie = tie_note(read.piece, steps[0].sources, block.dart_marks, steps[0].fan)
        notes += [tie] if tie else []
    return [*notes, *(item.sentence for item in trued.blends), *trued.notes]


def _without_fullness(outcome: Balance, older: Sequence[Fullness]) -> Balance:
    """Return a balance without what an earlier move gathered, eased or tucked in."""
    entries = []
    for entry in outcome.seams:
        taken = sum(item.taken for item in older if item.seam is entry.seam)
        entries.append(entry._replace(before=entry.before - taken, after=entry.after - taken))
    return outcome._replace(seams=tuple(entries))


def _stitch_line(piece: Piece, finished: Sequence[FinishedDart]) -> list[Segment]:
    """Return the closed stitch line: each dart as a V to its point, over a tuck its cap."""
    ring: list[Segment] = []
    for k, run in enumerate(piece.runs):
        ring += [edge.segment for edge in run]
        if finished and finished[k].is_tuck:
            ring += [edge.segment for edge in finished[k].cap]
        elif finished:
            there, back = finished[k].legs
            ring += [*there, *backward(back)]
    return [segment for segment in ring if segment.length() > 0.0]


def _check_tucks(stitch_line: Sequence[Segment], darts: Sequence[FinishedDart]) -> None:
    """Refuse a tuck whose cap, which is part of the stitch line, crosses another part of it.

    Raises:
        DartError: with the place.
    """
    if not any(dart.is_tuck for dart in darts):
        return
    place = crosses_itself(stitch_line)
    if place is not None:
        raise tuck_crosses(place)


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
            N_("drawn smooth the piece would overlap itself at {place}."),
            N_("Blend the seams over a shorter length."),
        )
    return trued


def check_no_overlap(piece: Piece, what: str, remedy: str) -> None:
    """Refuse a piece of which one part would lie over another.

    Args:
        piece: the piece.
        what: what is then said, with the place in the field ``place``; marked for translation.
        remedy: what to do about it, marked for translation.

    Raises:
        OutlineError: with the place.
    """
    place = crosses_itself(piece.ring(lambda opening: opening.point))
    if place is not None:
        raise OutlineError(
            _(what).format(place=place_in_words(place)), remedy=_(remedy), place=place
        )


def _drawn(allowed: WithAllowances, settings: Settings) -> list[DrawnDart]:
    """Return what is drawn for each dart."""
    return [
        DrawnDart(
            dart,
            allowed.windows.get(number),
            drill_hole(dart, settings.drill_hole),
            tuple(fold_arrow(dart)),
            folded,
        )
        for number, (dart, folded) in enumerate(zip(allowed.darts, allowed.folded, strict=True))
    ]


def report_order(opening: Opening) -> tuple[int, int]:
    """Return the place of an opening in a report: targets, what is left of sources, others."""
    if opening.target is not None:
        return 0, opening.target
    return (1 if opening.source else 2), 0
