"""What is written on paper beside gathers, ease, a flare or a tuck: they look much alike there."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.dart.fullness import Fullness
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import encloses, flattened
from drafting_core.model.piece import EASE, FLARE, GATHERS, TUCK
from drafting_core.plane.curves import unit
from drafting_core.plane.motions import readable
from drafting_core.text.lengths import in_words
from drafting_core.text.words import N_, _
from extension.look.set_text import DROP, RISE, text_width
from extension.look.text_places import Clearings
from extension.paper.printed_parts import PrintedText

KIND = "fullness-words"
LETTERS = 3.5
_OVER = {GATHERS: N_("gather {long} to {over}"), EASE: N_("ease {long} to {over}")}
_WORDS = {
    GATHERS: N_("gather in {width}"),
    EASE: N_("ease in {width}"),
    FLARE: N_("flare: {width} wider"),
    TUCK: N_("tuck: {width} wide"),
}
#: How far inside its seam the words may stand (mm), and how far aside of the middle.
_GAPS, _ASIDE = (3.0, 5.0, 8.0, 12.0, 18.0, 26.0), (0.0, 8.0, -8.0, 18.0, -18.0)


def fullness_words(draft: Draft, clear: Clearings) -> list[PrintedText]:
    """Return what each fullness of a piece is and how much, inside of its seam."""
    polygon = flattened(draft.stitch_line, 8)
    return [_words(item, polygon, clear) for item in draft.fullness]


def _words(item: Fullness, polygon: Sequence[complex], clear: Clearings) -> PrintedText:
    start, end = item.ends
    middle, along = (start + end) / 2, unit(end - start)
    along = readable(along)
    words = _((_OVER if item.over else _WORDS)[item.kind]).format(
        width=in_words(item.width), long=in_words(item.over + item.width), over=in_words(item.over)
    )
    half = text_width(words, LETTERS) / 2
    up, down = RISE * LETTERS, DROP * LETTERS
    places = []
    for inward in (1j * along, -1j * along):
        if not encloses(polygon, middle + 6.0 * inward):
            continue
        letters = down if inward == -1j * along else up
        places += [
            middle + inward * (gap + letters) + along * aside for gap in _GAPS for aside in _ASIDE
        ]
    best, _along = clear.freest(
        ((at, along) for at in places or [middle]), half + 0.5, up + 0.5, down + 0.5
    )
    clear.add_box(best, along, half, up, down)
    return PrintedText(KIND, (words,), best, along, LETTERS, "middle", False)
