"""What was done to a block, in two lines or three: the head of the note beside its result."""

from __future__ import annotations

from drafting_core.block.seam_place import SeamPlace
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.piece import EASE, FLARE, GATHERS, TUCK
from drafting_core.model.seam_names import shown_seam_name
from drafting_core.text.figures import decimal_number
from drafting_core.text.lengths import told_length
from drafting_core.text.words import N_, _, listed, ngettext
from extension.drafting.report import NOTABLE_BOW, corner_lines, openings_of, remarks, uneven_legs
from extension.reading.piece_names import shown_name

_DONE = {
    GATHERS: N_("gathers on {seams}"),
    EASE: N_("ease on {seams}"),
    TUCK: N_("a tuck on {seams}"),
    FLARE: N_("a flare on {seams}"),
}


def done_lines(draft: Draft, more_remarks: int = 0) -> list[str]:
    """Return what was done, sharp corners left, the block's size and how many remarks follow.

    Args:
        draft: what was made of a block.
        more_remarks: how many there are beyond the draft's own.
    """
    below = len(remarks(draft)) - len(draft.corners_left)
    found = below + len(draft.warnings) + more_remarks
    size = _("The block is {height} high and {width} wide.").format(
        height=told_length(draft.height), width=told_length(draft.width)
    )
    if found:
        size = ngettext(
            "The block is {height} high and {width} wide; {number} remark below.",
            "The block is {height} high and {width} wide; {number} remarks below.",
            found,
        ).format(height=told_length(draft.height), width=told_length(draft.width), number=found)
    said = _("{piece}: {done}.")
    if draft.straightened > NOTABLE_BOW:
        said = _("{piece}: {done}; legs that bowed by up to {bow} were made straight.")
    done = said.format(
        piece=shown_name(draft), done=_done(draft), bow=told_length(draft.straightened)
    )
    return [" ".join([done, *uneven_legs(draft)]), *corner_lines(draft), size]


def _done(draft: Draft) -> str:
    if draft.joined is not None:
        return _("dart taken into {seam}").format(seam=shown_seam_name(draft.joined.name))
    seams: dict[str, dict[str, None]] = {}
    for opening, seam in openings_of(draft):
        if opening.target is not None:
            place = draft.places.get(opening.target)
            seams.setdefault(opening.made, {})[seam.spoken + _along(place)] = None
    if not seams:
        return _("allowances added, darts left where they are")
    moved = N_("dart moved to {seams}")
    return listed(
        [_(_DONE.get(made, moved)).format(seams=listed(on)) for made, on in seams.items()]
    )


def _along(place: SeamPlace | None) -> str:
    """Return how far along its seam a place lies, by which two results are told apart."""
    if place is None or place.fraction is None or place.is_mouth:
        return ""
    share = decimal_number(100.0 * place.fraction, 1)
    whole = decimal_number(100.0 * place.fraction, 0)
    is_whole = abs(100.0 * place.fraction - round(100.0 * place.fraction)) < 0.05
    return f" ({place.length or (whole if is_whole else share) + '%'})"
