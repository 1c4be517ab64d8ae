"""The whole job: a block in, a pattern piece ready to cut out."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from drafting_core.block.block import Block
from drafting_core.block.dart_words import too_unequal
from drafting_core.block.drawn_short import with_drawn_short_remark, with_true_apexes
from drafting_core.block.find_darts import EQUAL_LEGS, ON_APEX, UNEQUAL_LEGS
from drafting_core.block.found_block import (
    FoundBlock,
    mouths_of_their_own,
    straightened_mouths,
    take_block,
    with_apexes_that_follow,
)
from drafting_core.block.grain import down_the_grain
from drafting_core.block.places import Target, seam_list
from drafting_core.block.source_darts import fan_of, no_dart, source_darts, stays_there_notes
from drafting_core.dart.finish import dart_point
from drafting_core.finished.balance import LENGTH_CLOSES
from drafting_core.finished.pattern_piece import Draft, check_no_overlap, finished_piece
from drafting_core.finished.piece_words import unknown_kind_note
from drafting_core.model.piece import Opening, Piece
from drafting_core.model.piece_kinds import UNKNOWN, default_clearance, piece_kind
from drafting_core.model.settings import Settings
from drafting_core.move.followers import (
    grain_after,
    placing,
)
from drafting_core.move.moving import Moved, turn_fan
from drafting_core.text.errors import DartError
from drafting_core.text.words import N_, _


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
        raise DartError(_("there is no apex."), remedy=_(APEX_REMEDY))
    if not goals:
        remedy = _('Put a small mark labelled "target" where the dart is to go, or say the place.')
        piece = take_block(block, equalise=True).piece
        raise DartError(_("there is no target."), remedy=f"{remedy} {seam_list(piece)}")
    block = with_apexes_that_follow(block)
    drawn, block = block, with_true_apexes(block, settings)
    if targets is None:
        goals = block.targets
    read, steps = _moved(block, settings, goals)
    read = with_drawn_short_remark(read, drawn, settings)
    piece = with_points(steps[-1].piece, moved_point(steps[-1].piece, settings))
    check_no_overlap(
        piece,
        N_("after the move the piece would overlap itself at {place}."),
        N_("Move a smaller share of the dart, or choose another place."),
    )
    draft = finished_piece(block, settings, read, piece, steps)
    there = tuple(stays_there_notes(read.piece, goals))
    return _with_clearance_note(draft._replace(notes=(*draft.notes, *there)), read.piece)


def _moved(
    block: Block, settings: Settings, goals: Sequence[Target]
) -> tuple[FoundBlock, list[Moved]]:
    """Read a block and move its darts, about one apex after the other.

    A dart that is neither closed nor opened and has a point of its own, a little aside of the
    way to the apex, is left as it was drawn: it turns about its own point. On a result the legs
    of a dart that does not move stay as they were drawn too.
    """
    own: list[complex] = []
    as_drawn: list[complex] = []
    while True:
        read = take_block(
            block, equalise=True, own=own, even_legs=settings.even_legs, as_drawn=as_drawn
        )
        steps = _steps(read, block, settings, goals)
        untouched = [
            read.piece.openings[opening.number]
            for opening in steps[-1].piece.openings
            if opening.number is not None and not opening.is_touched
        ]
        aside = mouths_of_their_own(read, untouched)
        bowed = straightened_mouths(read, untouched) if block.standing else []
        if not aside and not bowed:
            return read, steps
        own += aside
        as_drawn += bowed


def _steps(
    read: FoundBlock, block: Block, settings: Settings, goals: Sequence[Target]
) -> list[Moved]:
    """Move the darts of every apex that has a target, and carry the later ones' marks along."""
    if settings.intake is not None:
        goals = [
            goal._replace(intake=settings.intake)
            if goal.share is None and goal.intake is None
            else goal
            for goal in goals
        ]
    if not any(opening.in_fan for opening in read.piece.openings):
        if read.too_unequal:
            meant = min(
                read.too_unequal,
                key=lambda dart: min(abs(dart.point - apex) for apex in block.apexes),
            )
            raise too_unequal(meant.point, meant.radii, (EQUAL_LEGS, UNEQUAL_LEGS))
        raise no_dart(read.piece, block.apex)
    fans: dict[int, list[int]] = {}
    for number, goal in enumerate(goals):
        fan = fan_of(read.piece, goal, block.dart_marks, read.down)
        fans.setdefault(fan, []).append(number)
    steps: list[Moved] = []
    for fan, numbers in sorted(fans.items()):
        piece = steps[-1].piece if steps else read.piece
        place = placing(steps)
        marks = [mark._replace(at=place(mark.at)) for mark in block.dart_marks]
        steps.append(
            turn_fan(
                piece,
                [_carried(goals[number], steps) for number in numbers],
                source_darts(piece, marks, fan),
                settings.share,
                down_the_grain(piece, grain_after(read, steps), points_down=read.points_down),
                block.hold,
                fan=fan,
                made=settings.made,
                numbers=numbers,
            )
        )
    return steps


def _carried(target: Target, steps: Sequence[Moved]) -> Target:
    """Return a target with its mark and slash line where earlier moves took them."""
    for step in steps:
        if target.at is None:
            break
        to = step.map_at(target.at)
        target = target._replace(
            at=to(target.at), slash=tuple(segment.mapped(to) for segment in target.slash)
        )
    return target


def add_allowances(block: Block, settings: Settings | None = None) -> Draft:
    """Finish the darts of an outline where they are, and add allowances and marks.

    Raises:
        DraftingError: if the block cannot be drafted as asked.
    """
    settings = settings or Settings()
    block = with_apexes_that_follow(block)
    drawn, block = block, with_true_apexes(block, settings)
    anew = not block.standing
    read = take_block(block, equalise=anew, even_legs=settings.even_legs)
    own = [] if block.memory else mouths_of_their_own(read, read.piece.openings)
    if settings.clearance is None and own:
        read = take_block(block, equalise=anew, own=own, even_legs=settings.even_legs)
    read = with_drawn_short_remark(read, drawn, settings)
    piece = with_points(read.piece, _standing_point(block, read.piece, settings))
    draft = finished_piece(block, settings, read, piece, [])
    return draft if block.standing else _with_clearance_note(draft, read.piece)


def _with_clearance_note(draft: Draft, found: Piece) -> Draft:
    """Return a draft that says why it got the usual clearance, where its kind is unknown.

    Args:
        draft: the draft.
        found: the block's piece with its darts as they were drawn.
    """
    if draft.settings.clearance is not None or piece_kind(draft.piece) != UNKNOWN:
        return draft
    for item in draft.darts:
        opening = item.dart.opening
        drawn = opening if opening.number is None else found.openings[opening.number]
        lowered = not opening.is_touched and abs(drawn.point - drawn.apex) > ON_APEX
        if opening.in_fan and not lowered:
            return draft._replace(notes=(*draft.notes, unknown_kind_note()))
    return draft


APEX_REMEDY = N_(
    'Put a small mark labelled "apex" on the bust point, or on the dart\'s own point where the '
    "piece is no front; Mark a block proposes it."
)


def with_points(piece: Piece, point: Callable[[int, Opening], complex]) -> Piece:
    """Return a piece whose openings have the points that a function gives."""
    return Piece(
        piece.runs,
        tuple(
            opening._replace(point=point(k, opening)) for k, opening in enumerate(piece.openings)
        ),
    )


def moved_point(piece: Piece, settings: Settings) -> Callable[[int, Opening], complex]:
    """Where the point of each dart is after a move: darts that nobody touched keep theirs."""
    clearance = default_clearance(piece) if settings.clearance is None else settings.clearance

    def point(k: int, opening: Opening) -> complex:
        if not opening.in_fan:
            return opening.apex
        if not opening.is_touched and abs(opening.point - opening.apex) > ON_APEX:
            return _lowered_point(opening, piece.mouth(k))
        return dart_point(opening.apex, piece.mouth(k), clearance)

    return point


def _lowered_point(opening: Opening, ends: tuple[complex, complex]) -> complex:
    """Return the point of a dart that was drawn short of its apex: as drawn, but equal legs.

    Its mouth ends are equally far from the apex; a point that a hand set a little beside the
    middle of the dart would make the legs themselves unequal.
    """
    point = opening.point
    if abs(abs(ends[0] - point) - abs(ends[1] - point)) <= LENGTH_CLOSES:
        return point
    return dart_point(opening.apex, ends, abs(point - opening.apex))


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
        if not opening.in_fan or block.standing:
            return opening.point
        if lowered and settings.clearance is None:
            return _lowered_point(opening, piece.mouth(k))
        return dart_point(opening.apex, piece.mouth(k), clearance)

    return point
