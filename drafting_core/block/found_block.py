"""A block taken apart: its runs of named seams and its darts, checked on the way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drafting_core.block.block import Block
from drafting_core.block.dart_words import doubtful_remark, evened_remark, straightened_remark
from drafting_core.block.find_darts import (
    EQUAL_LEGS,
    EVENED_OVER,
    ON_APEX,
    DrawnWedge,
    FoundDarts,
    TooUnequal,
    take_apart,
)
from drafting_core.block.grain import down_the_grain
from drafting_core.block.mouth_seam import mouth_seam
from drafting_core.block.remembered import KnownSeam, followed
from drafting_core.block.reshaped import SAME_NODE
from drafting_core.block.seams import SeamMark, name_seams
from drafting_core.model.outline import checked, encloses, flattened, nearest_on
from drafting_core.model.piece import TUCK, Opening, Piece
from drafting_core.model.seam_names import shown_seam_name
from drafting_core.model.stretches import stretches
from drafting_core.plane.curves import Line, Segment, pairs_around
from drafting_core.text.errors import DartError
from drafting_core.text.lengths import in_words, place_in_words, told_apart, told_difference
from drafting_core.text.words import _, capital

#: A seam mark further away than this may be meant for another seam (mm).
NEAR_SEAM = 20.0
#: Mouth ends that were brought together by more than this are worth a word (mm).
NOTABLE_UNEVENNESS = 0.1


class FoundBlock(NamedTuple):
    """A block taken apart, with what was noticed on the way.

    Attributes:
        piece: its runs of named seams and its darts.
        darts: how truly each dart points at the apex.
        guessed: whether the seams were named by the block's shape.
        warnings: what the drafter should know.
        of_darts: of these what is said of darts and of what may be one.
        grain: the grainline as drawn, or None.
        points_down: whether the grainline is known to run down.
        places: of these what is said of a place of the drawing, with the place in mm.
        too_unequal: what points at the apex with legs too unequal for a dart.
    """

    piece: Piece
    darts: tuple[DrawnWedge, ...]
    guessed: bool
    warnings: tuple[str, ...]
    grain: Line | None
    of_darts: tuple[str, ...] = ()
    points_down: bool = False
    places: tuple[tuple[complex, str], ...] = ()
    too_unequal: tuple[TooUnequal, ...] = ()

    @property
    def straightened(self) -> float:
        """By how much the legs bowed at most that were made straight, in mm; else 0."""
        return max((wedge.straightened for wedge in self.darts), default=0.0)

    @property
    def down(self) -> complex:
        """The unit vector down along the grain, before anything turned."""
        return down_the_grain(self.piece, vector_of(self.grain), points_down=self.points_down)


def with_apexes_that_follow(block: Block) -> Block:
    """Return a result whose apex lies on a dart's point with the apex where that point is now."""
    if block.memory is None or block.apex is None:
        return block
    darts = followed(block.memory, checked(block.outline)).darts
    moved = {
        dart.was: dart.point
        for dart in darts
        if dart.was is not None
        and dart.apex is not None
        and abs(dart.was - dart.apex) <= ON_APEX
        and abs(dart.was - dart.point) > SAME_NODE
    }

    def now(apex: complex) -> complex:
        was = next((z for z in moved if abs(z - apex) <= ON_APEX), None)
        return apex if was is None else apex + (moved[was] - was)

    memory = block.memory._replace(
        darts=[
            dart._replace(apex=None if dart.apex is None else now(dart.apex))
            for dart in block.memory.darts
        ]
    )
    first, *more = map(now, block.apexes)
    return block._replace(apex=first, more_apexes=more, memory=memory)


def mouths_of_their_own(found: FoundBlock, openings: Sequence[Opening]) -> list[complex]:
    """Return the first mouth ends of those darts of a fan that do not truly point at its apex."""
    drawn = (
        found.darts[opening.number]
        for opening in openings
        if opening.in_fan and opening.number is not None
    )
    return [wedge.mouth for wedge in drawn if not wedge.is_true]


def straightened_mouths(found: FoundBlock, openings: Sequence[Opening]) -> list[complex]:
    """Return the first mouth ends of those darts whose legs were made straight."""
    drawn = (found.darts[opening.number] for opening in openings if opening.number is not None)
    return [wedge.mouth for wedge in drawn if wedge.straightened]


def vector_of(line: Line | None) -> complex | None:
    """Return the vector along a line, or None where there is none."""
    return line.end - line.start if line is not None else None


def take_block(
    block: Block,
    *,
    equalise: bool,
    own: Sequence[complex] = (),
    even_legs: bool = False,
    as_drawn: Sequence[complex] = (),
) -> FoundBlock:
    """Check a block's outline and find its darts and seams.

    Args:
        block: the block.
        equalise: whether mouth ends that differ are brought to the mean of their radii.
        own: first mouth ends of darts that turn about themselves though they point at an apex.
        even_legs: whether mouth ends that differ by more than a slip are brought together too.
        as_drawn: first mouth ends of darts whose legs stay as they were drawn; a stitch line that
            stands keeps all of them.

    Raises:
        DraftingError: if the outline, the apex or the darts are at fault.
    """
    ring = checked(block.outline)
    for apex in block.apexes:
        _check_apex([edge.segment for edge in ring], apex)
    way = followed(block.memory, ring) if block.memory else None
    ring = way.ring if way else ring
    darts = take_apart(
        ring,
        block.apexes,
        equalise=equalise,
        own=own,
        curved=block.curved_darts,
        known=way.darts if way else (),
        caps=[
            (mark.paths[0][0].start, mark.paths[1][0].start)
            for mark in block.fullness
            if mark.kind == TUCK
        ],
        even_legs=even_legs,
        as_drawn=(block.standing and not equalise) or as_drawn,
    )
    if block.more_apexes and not block.standing and not own:
        _check_every_apex(block.apexes, darts.openings)
    piece = name_seams(
        darts,
        block.seam_marks,
        block.seam_ends,
        block.seam_corners,
        standing=block.standing,
        known=way.seams if way else (),
    )
    guessed = False
    is_named = block.seam_marks or any(edge.label and edge.label.name for edge in ring)
    if way is None and not is_named:
        # Often all that matters is named.
        from drafting_core.block.guess_names import guess_names

        named = guess_names(piece, block.name)
        if named is not None:
            piece, guessed = named, True
    warnings = [*leg_remarks(piece, darts.drawn), *_uneven_remarks(piece, darts, equalise)]
    doubtful = _doubtful_darts(darts)
    far = list(_far_marks(piece, block.seam_marks))
    warnings += _words(doubtful)
    of_darts = tuple(warnings)
    warnings += lost_remarks(way.lost if way else ())
    warnings += unsure_remarks(piece, way.unsure if way else ())
    warnings += _words(far)
    if block.standing:
        warnings += _two_allowances(piece, block.seam_marks)
    return FoundBlock(
        piece,
        darts.drawn,
        guessed,
        tuple(warnings),
        block.grain,
        of_darts,
        block.grain_points_down,
        (*doubtful, *far),
        darts.too_unequal,
    )


def _words(places: Sequence[tuple[complex, str]]) -> list[str]:
    return [words for _place, words in places]


def _doubtful_darts(darts: FoundDarts) -> list[tuple[complex, str]]:
    """Return what is said of what looks like a dart but was taken as outline, and where it is."""
    return [(wedge.point, doubtful_remark(wedge.point, wedge.ends)) for wedge in darts.doubtful]


def _far_marks(piece: Piece, marks: Sequence[SeamMark]) -> Iterator[tuple[complex, str]]:
    """Yield what is said of marks that may be meant for another seam, and where they are."""
    for mark in marks:
        distance = _distance(piece, mark.at)
        if distance > NEAR_SEAM:
            words = _('The mark "{mark}" lies {distance} from the seam that it names.').format(
                mark=f"seam {mark.label.name}",  # not read by drafters but as she typed it
                distance=in_words(distance),
            )
            yield mark.at, words


def lost_remarks(lost: Sequence[KnownSeam]) -> list[str]:
    """Return what is said of a result's seams whose two ends have become one node."""
    return [
        _("{Seam} has no length any more: its two ends are one node.").format(
            Seam=capital(seam.label.name)
        )
        for seam in lost
    ]


def unsure_remarks(piece: Piece, unsure: Sequence[tuple[complex, str]]) -> list[str]:
    """Return what is said of a result's seams whose corner is gone: where they end was guessed."""
    told = []
    for place, name in unsure:
        edges = list(piece.edges())
        before = min(edges, key=lambda edge: abs(edge.segment.end - place)).seam
        told.append(
            _(
                "The corner between {one} and {other} is gone: taken at {place}. Put a node there "
                "where it is another."
            ).format(one=before.shown, other=shown_seam_name(name), place=place_in_words(place))
        )
    return told


def leg_remarks(piece: Piece, darts: Sequence[DrawnWedge]) -> Iterator[str]:
    """Yield what was done to the legs of a block's darts.

    Args:
        piece: the block taken apart.
        darts: how each of its darts was drawn.
    """
    for k, wedge in enumerate(darts):
        if wedge.straightened:
            yield straightened_remark(mouth_seam(piece, k).spoken, wedge.straightened)
        if wedge.evened > NOTABLE_UNEVENNESS:
            yield evened_remark(mouth_seam(piece, k).spoken, wedge.evened)


def _uneven_remarks(piece: Piece, darts: FoundDarts, equalise: bool) -> Iterator[str]:
    """Yield by how much mouth ends differed that were brought together."""
    for k, by in enumerate(darts.uneven):
        if not equalise or by <= NOTABLE_UNEVENNESS:
            continue
        said = (
            _(
                "The mouth ends of the dart on {seam} differed by {by} in their distance from the "
                "apex; both now lie at the mean, and the seams beside them are drawn anew over "
                "{over}."
            )
            if by > EQUAL_LEGS
            else _(
                "The mouth ends of the dart on {seam} differed by {by} in their distance from the "
                "apex; both now lie at the mean."
            )
        )
        yield said.format(
            seam=mouth_seam(piece, k).spoken, by=told_difference(by, 1), over=in_words(EVENED_OVER)
        )


def _two_allowances(piece: Piece, marks: Sequence[SeamMark]) -> list[str]:
    """Return what is told of a result's seams that hold two allowances, or held them."""
    told = []
    for this, following in pairs_around(stretches(piece)):
        one, other = this.seam, following.seam
        widths = {one.allowance, other.allowance} - {None}
        if one.kind == other.kind and len(widths) == 2:
            first, second = told_apart(one.allowance or 0.0, other.allowance or 0.0)
            told.append(
                _(
                    "{Seam} has two allowances here, {one} and {other}, though it is one seam: "
                    "give its names the same allowance, or one of them another name."
                ).format(
                    Seam=capital(one.spoken),
                    one=first,
                    other=second,
                )
            )
    edges = list(piece.edges())
    segments = [edge.segment for edge in edges]
    silent = {
        edges[nearest_on(segments, mark.at).segment].seam
        for mark in marks
        if mark.label.name and mark.label.allowance is None
    }
    for seam in piece.seams():
        if seam in silent and seam.allowance is not None and not seam.fold:
            told.append(
                _("{Seam} has one allowance now, {width}, on all its length.").format(
                    Seam=capital(seam.spoken), width=in_words(seam.allowance)
                )
            )
    return told


def _distance(piece: Piece, at: complex) -> float:
    return nearest_on([edge.segment for edge in piece.edges()], at).distance


def _check_every_apex(apexes: Sequence[complex], openings: Sequence[Opening]) -> None:
    """Refuse an apex beside others at which no dart points."""
    idle = set(range(len(apexes))) - {opening.fan for opening in openings}
    if idle:
        apex = apexes[min(idle)]
        raise DartError(
            _("of {count} apex marks no dart points at the one at {place}.").format(
                count=len(apexes), place=place_in_words(apex)
            ),
            remedy=_("Delete it, or put each block with its marks into a group of its own."),
            place=apex,
        )


def _check_apex(ring: Sequence[Segment], apex: complex) -> None:
    if encloses(flattened(ring), apex):
        return
    distance = nearest_on(ring, apex).distance
    if distance > ON_APEX:
        raise DartError(
            _("the apex lies {distance} outside the outline.").format(distance=in_words(distance)),
            remedy=_("Put the apex mark on the point about which the dart turns."),
            place=apex,
        )
