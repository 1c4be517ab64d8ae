"""A dart taken into a seam: a block cut in two along a style line."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from drafting_core.block.block import Block, StyleLine
from drafting_core.block.drawn_short import with_drawn_short_remark, with_true_apexes
from drafting_core.block.find_darts import ON_APEX
from drafting_core.block.found_block import FoundBlock, take_block
from drafting_core.block.grain import straight_centre
from drafting_core.block.places import CORNER_SNAP, Target
from drafting_core.block.source_darts import check_closes, marked_shares, source_darts
from drafting_core.finished.draft import APEX_REMEDY, moved_point, with_points
from drafting_core.finished.pattern_piece import Draft, JoinedSeam, finished_piece
from drafting_core.finished.piece_words import unknown_kind_note
from drafting_core.model.outline import OutlineEdge, encloses, flattened, nearest_on
from drafting_core.model.piece import DART, EASE, FLARE, GATHERS, TUCK, Opening, Piece
from drafting_core.model.piece_kinds import (
    UNKNOWN,
    default_clearance,
    piece_kind,
    piece_title,
    title_for_attributes,
)
from drafting_core.model.seam_names import STYLE_LINE, Seam, seam_kind
from drafting_core.model.settings import Settings
from drafting_core.move.moving import Moved, held_run, turn_fan
from drafting_core.plane.curves import (
    Line,
    PointMap,
    Segment,
    box_about,
    chain_length,
    dot,
    turn,
    unmoved,
)
from drafting_core.style.severing import Severed, severed_at, severed_beside
from drafting_core.style.split_marks import inner_lines_of, notches_of
from drafting_core.style.style_path import check_simple
from drafting_core.text.errors import BalanceError, DartError, PlaceError, SettingError
from drafting_core.text.lengths import in_words, most_in_words, told_apart, told_exactly
from drafting_core.text.words import N_, _, listed

#: A style line passes the apex at most this far away (mm).
STYLE_REACH = 25.0
#: Notches on the new seam lie at the apex level and this far to each side of it (mm).
NOTCH_DISTANCE = 50.0
#: No notch lies nearer to the seam's end than this (mm).
_NOTCH_ROOM = 10.0
#: A corner that turns inward by more than this has no notch: it is a mark by itself (radians).
_INWARD_CORNER = math.radians(15.0)
#: The two pieces are drawn this far apart, side by side and one below the other (mm): the first
#: leaves room for the note beside a piece, which goes down as far as `_NOTE` from its top.
_BESIDE, _BELOW, _NOTE = 175.0, 60.0, 220.0
#: Sewn lengths close within this (mm), areas within this part of themselves.
_CLOSES = 1e-6
#: Longer than any piece: a grainline that leaves it only says where the grain lies (mm).
_FAR = 5000.0

_ALL_IN_SEAM = {
    GATHERS: N_("The whole dart goes into {seam}: nothing of it is left for gathers."),
    EASE: N_("The whole dart goes into {seam}: nothing of it is left for ease."),
    TUCK: N_("The whole dart goes into {seam}: nothing of it is left for tuck."),
    FLARE: N_("The whole dart goes into {seam}: nothing of it is left for flare."),
}


def cut_in_two(block: Block, settings: Settings | None = None) -> tuple[Draft, Draft]:
    """Cut a block in two along its style line and take its dart into the new seam.

    Through the apex, or within `CORNER_SNAP` of it, the whole dart goes into the seam. Past it,
    up to `STYLE_REACH`, the piece with the apex keeps the dart's last stretch, from the seam to
    the apex, as a short dart or as ease.

    Args:
        block: the block, with a style line.
        settings: how.

    Returns:
        The two pieces, first the one that stays where it was: the one with the centre, else the
        larger one.

    Raises:
        DraftingError: if the block cannot be cut as asked.
    """
    settings = settings or Settings()
    line = block.style_line
    if line is None:
        raise ValueError("a block without a style line is not cut in two")
    if block.apex is None:
        raise DartError(_("there is no apex."), remedy=_(APEX_REMEDY))
    _check_alone(block, line, settings)
    check_simple(line)
    drawn, block = block, with_true_apexes(block, settings)
    if block.apex is None:
        raise ValueError("a block keeps its apex")
    read = take_block(block, equalise=True, even_legs=settings.even_legs)
    read = with_drawn_short_remark(read, drawn, settings)
    sources = source_darts(read.piece, block.dart_marks)
    check_closes(read.piece, sources)
    passes = nearest_on(line.path, block.apex).distance
    if passes > STYLE_REACH:
        raise PlaceError(
            _("it passes the apex at a distance of {distance}.").format(
                distance=told_apart(passes, STYLE_REACH)[0]
            ),
            thing=line.spoken,
            remedy=_("Lead it through the apex, or past it within {reach}.").format(
                reach=most_in_words(STYLE_REACH)
            ),
            place=block.apex,
        )
    seams = _new_seams(block, line, read)
    if passes <= CORNER_SNAP:
        chosen, shares = _for_the_seam(block, read, sources, settings)
        halves = severed_at(read.piece, line, block.apex, chosen, shares, seams)
    else:
        halves = severed_beside(read.piece, line, block.apex, sources, settings, seams)
    unmated = _unmated(halves)
    halves = [half._replace(piece=half.piece.renamed(unmated)) for half in halves]
    cut = _CutBlock(
        block,
        line,
        read._replace(piece=read.piece.renamed(unmated)),
        {k: part * settings.share for k, part in sources.items()},
        settings,
    )
    parts = _held_first(
        [
            Part(half, seam, _steps(half, cut.closing, settings, cut.read.down, line))
            for half, seam in zip(halves, seams, strict=True)
        ]
    )
    _check_whole(cut.read.piece, parts)
    names = _names(block, cut.read, parts)
    # How much room a piece takes is known when it has its allowances.
    held, other = (_drafted(cut, parts, k, unmoved, names[k]) for k in range(2))
    to = _apart(parts, [held.cut_line, other.cut_line])
    notes = _notes(passes, unmated, seams[0], halves, settings)
    drafts = [
        draft._replace(notes=(*draft.notes, *notes))
        for draft in (held, _drafted(cut, parts, 1, to, names[1]))
    ]
    return _compared(drafts, parts, names)


class _CutBlock(NamedTuple):
    """A block that is cut in two, and how.

    Attributes:
        block: the block and its marks.
        line: its style line.
        read: the block taken apart.
        closing: the darts that are closed, by number, and how much of each.
        settings: the drafter's choices.
    """

    block: Block
    line: StyleLine
    read: FoundBlock
    closing: Mapping[int, float]
    settings: Settings


def _new_seams(block: Block, line: StyleLine, read: FoundBlock) -> list[Seam]:
    """Return the seam that a style line becomes on either part: each the other's mate."""
    name = line.name or STYLE_LINE
    words = [*title_for_attributes(block.name, read.piece).split(), *name.split()]
    mate = "-".join(words).casefold()
    return [Seam(name, seam_kind(name), named=True, mate=mate) for _ in range(2)]


def _for_the_seam(
    block: Block, read: FoundBlock, sources: Mapping[int, float], settings: Settings
) -> tuple[Mapping[int, float] | None, dict[int, float]]:
    """Return the darts that marks choose for the new seam, and how much of each dart may go in."""
    is_chosen = any(mark.share > 0.0 for mark in block.dart_marks)
    shares = dict.fromkeys(range(len(read.piece.openings)), 1.0)
    shares |= marked_shares(read.piece, block.dart_marks)
    return (
        sources if is_chosen else None,
        {k: part * settings.share for k, part in shares.items()},
    )


def _unmated(halves: Sequence[Severed]) -> dict[Seam, Seam]:
    """Return the seams that were cut in two, each without its mate.

    Neither part is sewn to the whole of it.
    """
    divided = set(halves[0].piece.seams()) & set(halves[1].piece.seams())
    return {seam: seam.without_mate() for seam in divided if seam.mate}


def _notes(
    passes: float,
    unmated: Mapping[Seam, Seam],
    seam: Seam,
    halves: Sequence[Severed],
    settings: Settings,
) -> list[str]:
    """Return what was done on both parts that the drafter may not expect."""
    notes = []
    if ON_APEX < passes <= CORNER_SNAP:
        notes.append(
            _("The style line passed the apex at {distance} and was led through it.").format(
                distance=in_words(passes)
            )
        )
    if unmated:
        notes.append(
            _("The mate of {seams} was taken off: the seam is cut in two.").format(
                seams=listed(seam.spoken for seam in unmated)
            )
        )
    if settings.made != DART and not any(half.opens_at for half in halves):
        notes.append(_(_ALL_IN_SEAM[settings.made]).format(seam=seam.spoken))
    return notes


def _check_alone(block: Block, line: StyleLine, settings: Settings) -> None:
    if settings.intake is not None:
        raise SettingError(
            _("the width of a mouth cannot be chosen where the dart goes into a style line."),
            thing=_("The intake"),
            remedy=_("Set a share of the dart instead."),
        )
    if block.more_apexes:
        raise DartError(
            _("a block with several apexes cannot be cut along a style line."),
            thing=line.spoken,
            remedy=_("Move the other darts first, or leave only the apex of the style line."),
        )
    if block.targets:
        raise PlaceError(
            _("the block has a target and a style line."),
            thing=line.spoken,
            remedy=_("Do one after the other: take the label off one of them."),
        )


class Part(NamedTuple):
    """One of the two pieces: as it was cut, its new seam, and how its dart is closed.

    Attributes:
        half: the piece as it was cut.
        seam: its seam along the style line.
        steps: the moves that close its dart, in order.
    """

    half: Severed
    seam: Seam
    steps: Sequence[Moved]

    @property
    def piece(self) -> Piece:
        """The piece with its dart closed."""
        return self.steps[-1].piece if self.steps else self.half.piece.shut_openings_joined()


def _steps(
    half: Severed,
    closing: Mapping[int, float],
    settings: Settings,
    down: complex,
    line: StyleLine,
) -> list[Moved]:
    """Close the darts of a part: into its new seam, or open them again at it."""
    piece = half.piece
    mine = {
        k: closing[opening.number]
        for k, opening in enumerate(piece.openings)
        if opening.number is not None
        and opening.number in closing
        and opening.in_fan
        and k != half.throat
    }
    if not mine:
        return []
    if half.opens_at is not None:
        target = Target(at=half.opens_at, thing=line.spoken)
        return [turn_fan(piece, [target], mine, 1.0, down, None, made=settings.made, numbers=[1])]
    angles = [opening.angle for opening in piece.openings]
    openings = list(piece.openings)
    for k, share in mine.items():
        angles[k] *= 1.0 - share
        openings[k] = openings[k]._replace(source=True, share=1.0 - share)
    if half.throat is None:
        raise ValueError("a part whose dart is closed needs a throat")
    taken = sum(piece.openings[k].angle * share for k, share in mine.items())
    # Through the apex the throat is a point: it is as wide as what goes into the seam.
    openings[half.throat] = openings[half.throat]._replace(angle=-taken)
    angles[half.throat] = 0.0
    cut = Piece(piece.runs, tuple(openings))
    turned, maps = cut.turned(angles, held_run(cut, 0, None))
    return [Moved(cut, turned.shut_openings_joined(), turned, maps, 0, mine, (), {})]


def _held_first(parts: list[Part]) -> list[Part]:
    central = [
        sum(e.segment.length() for e in part.piece.edges() if e.seam.is_centre) for part in parts
    ]
    areas = [part.piece.net_area() for part in parts]
    return parts if (central[0], areas[0]) >= (central[1], areas[1]) else parts[::-1]


def _check_whole(before: Piece, parts: Sequence[Part]) -> None:
    """Make sure that the two parts together are the block.

    Raises:
        BalanceError: if a sewn length or the area has changed.
    """
    after: dict[Seam, float] = {}
    for part in parts:
        for seam, length in part.piece.seam_lengths().items():
            after[seam] = after.get(seam, 0.0) + length
    lengths = before.seam_lengths()
    lost = [seam for seam, length in lengths.items() if abs(after[seam] - length) > _CLOSES]
    area = sum(part.piece.net_area() for part in parts)
    if lost or abs(area - before.net_area()) > _CLOSES * before.net_area():
        raise BalanceError(
            _("the two pieces do not balance with the block: {seam} has changed.").format(
                seam=lost[0].spoken
            )
            if lost
            else _("the two pieces do not balance with the block: the area has changed."),
            remedy=_("Nothing was written. Please report this drawing as a fault of the program."),
        )


def _names(block: Block, read: FoundBlock, parts: Sequence[Part]) -> list[str]:
    base = piece_title(block.name, read.piece) or _("Block")
    # By what stands before the comma it is seen of which block they are parts.
    if [any(e.seam.is_centre for e in part.piece.edges()) for part in parts] == [True, False]:
        return [
            _("{piece}, centre part").format(piece=base),
            _("{piece}, side part").format(piece=base),
        ]
    levels = [dot(_middle(part.half.piece), read.down) for part in parts]
    names = [
        _("{piece}, upper part").format(piece=base),
        _("{piece}, lower part").format(piece=base),
    ]
    return names if levels[0] <= levels[1] else names[::-1]


def _middle(piece: Piece) -> complex:
    points = flattened((edge.segment for edge in piece.edges()), 4)
    return sum(points) / len(points)


def _grain_place(piece: Piece) -> complex:
    """Return a place with which the grain of a part turns: on its centre, if it has one."""
    centre = [edge.segment for edge in piece.edges() if edge.seam.is_centre]
    if centre:
        return max(centre, key=lambda segment: segment.length()).point(0.5)
    return _middle(piece)


def _apart(parts: Sequence[Part], cut_lines: Sequence[Sequence[Segment]]) -> PointMap:
    """Return the shift that draws the second piece clear of the first."""
    boxes = []
    for cut_line in cut_lines:
        boxes.append(box_about(z for segment in cut_line for z in segment.extreme_points()))
    (left, top, right, bottom), (left2, top2, right2, bottom2) = boxes
    chord = parts[0].half.out[-1].end - parts[0].half.back[0].start
    away = _middle(parts[1].piece) - _middle(parts[0].piece)
    if abs(chord.imag) >= abs(chord.real):
        step = right + _BESIDE - left2 if away.real >= 0 else left - _BESIDE - right2
        shift = complex(step, 0.0)
    else:
        height = bottom - top if away.imag >= 0 else bottom2 - top2
        gap = max(_BELOW, _NOTE - height)
        step = bottom + gap - top2 if away.imag >= 0 else top - gap - bottom2
        shift = complex(0.0, step)
    return lambda z: z + shift


def _drafted(cut: _CutBlock, parts: Sequence[Part], index: int, to: PointMap, name: str) -> Draft:
    """Finish one of the two pieces, put somewhere, with the marks that lie on it."""
    block, read, settings = cut.block, cut.read, cut.settings
    halves = [each.half.piece for each in parts]
    own = parts[index].half
    put = own.mapped(to)
    part = Part(put, parts[index].seam, _steps(put, cut.closing, settings, read.down, cut.line))
    ring = put.piece.ring(lambda opening: opening.point)
    grain = _own_grain(read, put.piece, flattened(ring), to)
    # What is gathered or eased in beside the apex has its notches where the stretch ends.
    is_taken_in = settings.made in (GATHERS, EASE) and any(
        each.half.throat is not None or each.steps for each in parts
    )
    over = settings.gather_over if is_taken_in else None
    notches = [*notches_of(block, halves, index), *_seam_notches(own, over)]
    inner, notes = inner_lines_of(block, read.piece, halves, index)
    is_pivoted = any(opening.in_fan for opening in part.piece.openings)
    piece_block = Block(
        outline=[OutlineEdge(segment) for segment in ring if segment.length() > 0.0],
        apex=None if block.apex is None or not is_pivoted else to(block.apex),
        notches=[to(z) for z in notches],
        inner_lines=[
            line._replace(paths=tuple(tuple(s.mapped(to) for s in path) for path in line.paths))
            for line in inner
        ],
        name=name,
        size=block.size,
    )
    as_cut = part.steps[0].cut if part.steps else put.piece
    found = FoundBlock(as_cut, (), read.guessed, read.warnings if index == 0 else (), grain)
    usual = default_clearance(read.piece) if settings.clearance is None else settings.clearance
    chosen = settings.but(clearance=usual)
    point = moved_point(part.piece, chosen)

    def at_seam(k: int, opening: Opening) -> complex:
        # At the new seam there is seldom room for a clearance: the short dart ends at the apex.
        short = opening.target is not None and settings.clearance is None
        return opening.apex if short else point(k, opening)

    draft = finished_piece(
        piece_block, chosen, found, with_points(part.piece, at_seam), list(part.steps)
    )
    if settings.clearance is None and piece_kind(read.piece) == UNKNOWN:
        left = (item.dart for item in draft.darts if item.dart.opening.target is None)
        if any(dart.opening.in_fan and abs(dart.clearance - usual) < ON_APEX for dart in left):
            notes = [*notes, unknown_kind_note()]
    return draft._replace(notes=(*draft.notes, *notes), shifted=to(0j))


def _own_grain(
    read: FoundBlock, piece: Piece, polygon: Sequence[complex], to: PointMap
) -> Line | None:
    """Return the grainline of a part, or None where its straight centre says it.

    Args:
        read: the block taken apart.
        piece: the part, put somewhere.
        polygon: the same as a polygon.
        to: how it was put there.
    """
    if read.grain is not None:
        drawn = Line(to(read.grain.start), to(read.grain.end))
        if encloses(polygon, drawn.point(0.5)):
            return drawn
    elif straight_centre(piece) is not None:
        return None
    middle = _grain_place(piece)
    along = read.down * _FAR
    return Line(middle - along, middle + along)


def _seam_notches(half: Severed, over: float | None) -> list[complex]:
    """Return the notches of a new seam, none of them on the round of the apex itself.

    Args:
        half: the one side of the seam.
        over: the length over which either side is gathered or eased, or None.
    """
    notches = []
    distance = NOTCH_DISTANCE if over is None else over / 2
    for chain in (half.back[::-1], half.out):
        left = distance
        if chain_length(chain) < distance + _NOTCH_ROOM:
            continue
        for segment in chain:
            whole = segment.length()
            if left <= whole:
                backward = chain is not half.out
                t = segment.parameter_at(whole - left if backward else left)
                notches.append(segment.point(t))
                break
            left -= whole
    # Square to one side of an inward corner a notch would point at the other side.
    bend = turn(half.back[-1].end_tangent(), half.out[0].start_tangent())
    if half.throat is not None:
        bend -= half.piece.openings[half.throat].angle
    if half.level is not None and bend > -_INWARD_CORNER and over is None:
        notches.append(half.level)
    return notches


def _compared(
    drafts: Sequence[Draft], parts: Sequence[Part], names: Sequence[str]
) -> tuple[Draft, Draft]:
    """Compare the two sides of the new seam, darts closed.

    Raises:
        BalanceError: if they are not equally long.
    """
    lengths = [
        sum(e.after for e in draft.balance.seams if e.seam is part.seam)
        for draft, part in zip(drafts, parts, strict=True)
    ]
    exact = [part.piece.seam_lengths()[part.seam] for part in parts]
    if abs(exact[0] - exact[1]) > _CLOSES:
        raise BalanceError(
            _("the two sides of the new seam differ by {by}.").format(
                by=told_exactly(abs(exact[0] - exact[1]), 3)
            ),
            remedy=_("Nothing was written. Please report this drawing as a fault of the program."),
        )
    result = []
    for index, draft in enumerate(drafts):
        seam = parts[index].seam
        eased = sum(item.width for item in draft.fullness if item.seam is seam)
        joined = JoinedSeam(seam.name, lengths[index], lengths[1 - index], names[1 - index], eased)
        result.append(draft._replace(joined=joined))
    return result[0], result[1]
