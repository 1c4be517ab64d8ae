"""What the drafter is told of a finished piece beside each dart's own words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from drafting_core.allowance.narrow_places import NarrowPlace
from drafting_core.block.block import Block
from drafting_core.dart.finish import FinishedDart
from drafting_core.dart.marks import HOLE_TO_LEG
from drafting_core.model.outline import nearest_on
from drafting_core.model.piece import Piece
from drafting_core.model.piece_kinds import FRONT_CLEARANCE
from drafting_core.model.seam_names import Seam
from drafting_core.model.settings import Settings
from drafting_core.text.errors import DartError
from drafting_core.text.figures import in_degrees
from drafting_core.text.lengths import in_words, place_in_words, told_apart
from drafting_core.text.words import _, capital

#: A grainline that turned by less (radians) is told as none.
_SAME_GRAIN = math.radians(0.05)


def grain_remarks(turned: float) -> list[str]:
    """Return what is said of a grainline that was drawn on a part that turned.

    Args:
        turned: by how much it turned against the centre, in radians.
    """
    if turned < _SAME_GRAIN:
        return []
    return [
        _(
            "The grainline was drawn on a part that turned, and turned with it by {angle}. If the "
            "piece is to be cut along its centre, draw the grainline on the part that stays."
        ).format(angle=in_degrees(turned))
    ]


def remarks(
    block: Block,
    piece: Piece,
    darts: Sequence[FinishedDart],
    undrilled: Sequence[FinishedDart],
    settings: Settings,
) -> Iterator[str]:
    """Yield what the drafter should look at.

    Args:
        block: the block that it was made from.
        piece: the piece.
        darts: its darts and tucks.
        undrilled: those that are too short or too narrow for a drill hole.
        settings: the drafter's choices.
    """
    allowances = settings.allowances
    for dart in undrilled:
        yield _(
            "The dart on {seam} gets no drill hole: {distance} or more from its point, and {room} "
            "from both legs, it would lie past half the dart's depth."
        ).format(
            seam=dart.seam.spoken,
            distance=in_words(settings.drill_hole),
            room=in_words(HOLE_TO_LEG),
        )
    for name in allowances.unused(piece.seams()):
        yield _('No seam of this block is called "{name}", for which an allowance is set.').format(
            name=name
        )
    for seam in allowances.unnamed_hems(piece.seams()):
        yield _(
            "The allowance setting does not name {seam}: it gets the width of the other seams, "
            "{width}."
        ).format(seam=seam.spoken, width=in_words(allowances.default))
    folds = [seam for seam in piece.seams() if seam.fold]
    for seam in folds:
        if seam.allowance:
            yield _unused_allowance(seam, seam.allowance)
    for seam in folds:
        if allowances.is_turned(seam.off_fold()):
            yield _("{Seam} lies on the fold: nothing is turned back there.").format(
                Seam=capital(seam.spoken)
            )
    if block.apex is not None and darts and not any(dart.opening.in_fan for dart in darts):
        yield _("No dart points at the apex mark any more: each was finished about its own point.")


def _unused_allowance(seam: Seam, width: float) -> str:
    return _("{Seam} lies on the fold: its allowance of {width} is not used.").format(
        Seam=capital(seam.spoken), width=in_words(width)
    )


def narrow_remarks(places: Sequence[NarrowPlace], piece: Piece) -> Iterator[str]:
    """Yield where a seam misses some of its allowance: at most once for each seam."""
    edges = list(piece.edges())
    segments = [edge.segment for edge in edges]
    told: set[Seam] = set()
    for place in sorted(places, key=lambda place: place.left - place.width):
        seam = edges[nearest_on(segments, place.seam_place).segment].seam
        if seam in told:
            continue
        told.add(seam)
        left, width = told_apart(place.left, place.width)
        yield _(
            "Near {place} the cut line lies only {left} from {seam}, not {width}: there is no room "
            "beside the neighbour's allowance. Look at it before you cut, or make the two widths "
            "more alike."
        ).format(
            place=place_in_words(place.seam_place),
            left=left,
            seam=seam.spoken,
            width=width,
        )


def unknown_kind_note() -> str:
    """Return why the dart points of a piece of unknown kind are where they are."""
    return _(
        "Its seams do not tell what kind of piece this is, so the dart point lies {clearance} "
        "short of the apex, as on a bodice front; --clearance 0 puts it on the apex."
    ).format(clearance=in_words(FRONT_CLEARANCE))


def unnotched() -> str:
    """Return what is said where a mark for a notch lies on a fold edge."""
    return _("A notch lies on a fold edge, which is not notched.")


def tuck_crosses(place: complex) -> DartError:
    """Return the refusal of a tuck whose cap crosses the outline at a place."""
    return DartError(
        _("the seam across a tuck, as it lies folded, would cross the outline at {place}.").format(
            place=place_in_words(place)
        ),
        remedy=_("Fold it the other way, move a smaller share there, or make it a dart."),
        place=place,
    )
