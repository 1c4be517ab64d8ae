"""What is said of a result that a hand has changed: what was drawn anew, and what is other now."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import encloses, flattened
from drafting_core.model.piece import TUCK
from drafting_core.model.seam_names import seam_kind, shown_seam_name
from drafting_core.model.stretches import stretches
from drafting_core.text.lengths import place_in_words, told_apart
from drafting_core.text.words import N_, _, capital, listed
from extension.drafting.kept_by_hand import seam_numbers
from extension.reading.piece_names import shown_name
from extension.reading.result_memory import ResultMemory, is_reshaped, is_typed

#: Widths of allowances and intakes that differ by less than these (mm) are told as one.
_SAME_WIDTH, _SAME_INTAKE = 0.005, 0.5

#: A dart's point moves by less than this (mm) while it is the same dart.
_SAME_DART = 30.0

_NAMES = {
    "cut-line": N_("the cut line"),
    "cap": N_("the cap"),
    "fold-arrow": N_("the fold arrow"),
    "dart-leg": N_("a dart leg"),
    "dart-point": N_("the dart point"),
    "dart-fold": N_("the dart's fold line"),
    "drill-hole": N_("the drill hole"),
    "trim-window": N_("the trim window"),
    "notch": N_("a notch"),
    "test-square": N_("the test square"),
    "seam-name": N_("a seam's name"),
    "note": N_("a note"),
    "apex": N_("the apex"),
    "grainline": N_("the grainline"),
    "fold-edge": N_("the sign of the fold"),
}
#: Parts of a dart, which go with it.
_OF_DARTS = frozenset(_NAMES) - {
    *("cut-line", "test-square", "seam-name", "note", "apex", "grainline", "fold-edge")
}
#: Parts that stay where a hand has put them.
MOVABLE = frozenset(("note", "test-square"))


def hand_changes(memory: ResultMemory, draft: Draft, kept_words: Sequence[int]) -> list[str]:
    """Return what a hand has changed that could not stay, and what is other than it was.

    Args:
        memory: what the result remembers.
        draft: what was drafted now.
        kept_words: the numbers of the seams whose names stay where a hand has put them.
    """
    return [*_drawn_anew(memory, draft, kept_words), *differences(memory, draft)]


def _drawn_anew(memory: ResultMemory, draft: Draft, kept_words: Sequence[int]) -> Iterator[str]:
    name = shown_name(draft)
    changed = [
        part.part
        for part in memory.changed
        if part.part not in MOVABLE or is_typed(part.element) or is_reshaped(part, memory.motion)
    ]
    is_renamed = any(
        seam.label != was.label for seam, was in zip(memory.known.seams, memory.seams, strict=True)
    )
    # A word that was moved to another seam, or within reach of its own, was obeyed.
    if is_renamed or changed.count("seam-name") <= len(kept_words):
        changed = [part for part in changed if part != "seam-name"]
    grain, outline = draft.block.grain, flattened([edge.segment for edge in draft.block.outline])
    if grain is not None and not all(encloses(outline, end) for end in grain):
        yield _("{name}: its grainline lay outside the piece and was drawn anew in it.").format(
            name=name
        )
    if changed:
        yield _(
            "{name}: changed by hand and drawn anew: {parts}. What follows from the stitch line is "
            "reshaped by the stitch line alone."
        ).format(name=name, parts=_called(changed))
    gone = dart_points_gone(memory, draft)
    for point in gone:
        yield _(
            "{name}: the dart near {place} is none any more, since its dart point was deleted."
        ).format(name=name, place=place_in_words(point))
    missing = [part for part in memory.missing if not (part in _OF_DARTS and gone)]
    if missing:
        yield _(
            "{name}: deleted and drawn again: {parts}. Hide what you do not want to see."
        ).format(name=name, parts=_called(missing))


def _called(parts: Iterable[str]) -> str:
    return listed([_(_NAMES[part]) for part in dict.fromkeys(parts) if part in _NAMES])


def dart_points_gone(memory: ResultMemory, draft: Draft) -> list[complex]:
    """Return where the points of darts were that were deleted, and are no darts any more."""
    found = [item.dart.point for item in draft.darts]
    return [
        point
        for point in memory.taken_out
        if min((abs(point - other) for other in found), default=math.inf) > _SAME_DART
    ]


def differences(memory: ResultMemory, draft: Draft) -> list[str]:
    """Return what is other than when the result was last drawn: names, allowances, intakes."""
    told: list[str] = []
    now = stretches(draft.piece)
    order = seam_numbers(memory, draft)
    for number, was, width in zip(order, memory.seams, memory.widths, strict=False):
        seam = now[number].seam
        if seam_kind(was.label.name) != seam.kind:
            told.append(
                _('The seam "{was}" is "{now}" now.').format(
                    was=shown_seam_name(was.label.name), now=seam.shown
                )
            )
        new_width = draft.settings.allowances.width(seam)
        if abs(new_width - width) > _SAME_WIDTH:
            before_now = told_apart(width, new_width)
            told.append(
                _("{Seam}: its allowance was {was}, is {now}.").format(
                    Seam=capital(seam.spoken), was=before_now[0], now=before_now[1]
                )
            )
    if not order:
        kinds = {stretch.seam.kind for stretch in now}
        told += [
            _('There is no seam "{was}" any more.').format(was=shown_seam_name(seam.label.name))
            for seam in memory.seams
            if seam_kind(seam.label.name) not in kinds
        ]
    darts = [item.dart for item in draft.darts if item.dart.opening.made != TUCK]
    gone = dart_points_gone(memory, draft)
    for made in memory.known.darts if darts else ():
        point = made.point
        if point in gone:
            continue
        dart = min(darts, key=lambda dart: abs(dart.point - point))
        before, new = (abs(ends[1] - ends[0]) for ends in (made.mouth, dart.ends))
        if abs(new - before) > _SAME_INTAKE:
            before_now = told_apart(before, new)
            told.append(
                _("The dart on {seam}: its intake was {was}, is {now}.").format(
                    seam=dart.seam.spoken, was=before_now[0], now=before_now[1]
                )
            )
    known = [dart.point for dart in memory.known.darts if dart.point not in gone]
    if len(darts) > len(known):
        # Each known one takes the dart that is nearest to it; what is left was drawn by hand.
        left = list(darts)
        for point in known:
            left.remove(min(left, key=lambda dart: abs(dart.point - point)))
        told += [
            _("The dart on {seam} is new: it was drawn into the stitch line by hand.").format(
                seam=dart.seam.spoken
            )
            for dart in left
        ]
    return told
