"""Target marks that a run has seen: a result writes down where those of its block lay.

A place that is named goes before the marks. A mark that was put on the drawing since the last
result is then pointed out, so that no remembered word beats it in silence.
"""

from __future__ import annotations

from collections.abc import Sequence

from lxml import etree

from drafting_core.block.places import Target
from drafting_core.text.errors import PlaceError
from drafting_core.text.words import _
from extension.document.namespaces import ours
from extension.document.path_data import point
from extension.document.roles import our_attributes
from extension.reading.source_block import Drawing, SourceBlock

#: The attribute of a result that says where the target marks of its block lay.
SEEN = "targets-seen"
#: A mark that lies no further from where one was seen is that one (mm).
_SAME_MARK = 0.5


def write_seen(stitch: etree._Element, targets: Sequence[Target], unit: float) -> None:
    """Write down on a new result where the target marks of its block lie.

    Args:
        stitch: the result's stitch line.
        targets: the block's targets, in true mm.
        unit: true mm to a unit of the root.
    """
    places = [point(target.at / unit) for target in targets if target.at is not None]
    if places:
        stitch.set(ours(SEEN), " ".join(places))


def beaten_marks(
    source: SourceBlock, targets: Sequence[Target], drawing: Drawing
) -> list[PlaceError]:
    """Return an error for every target mark that no result of its block has seen.

    Args:
        source: the block in the drawing.
        targets: its targets, in true mm.
        drawing: what is in the drawing.
    """
    name = source.outline.get("id")
    seen = [
        z
        for block in drawing.blocks
        if block.layer is not None and our_attributes(block.outline).get("of") == name
        for z in _seen(block.outline)
    ]
    unit = source.true_mm_per_unit
    return [
        PlaceError(
            _("it was not used, since the place is named in the dialog."),
            thing=target.spoken,
            remedy=_("Choose “marks on the drawing” under “The place comes from” to use it."),
            place=target.at * source.mm_per_unit / unit,
        )
        for target in targets
        if target.at is not None and not any(abs(z * unit - target.at) <= _SAME_MARK for z in seen)
    ]


def _seen(stitch: etree._Element) -> list[complex]:
    """Return where marks were seen; what cannot be read was not seen."""
    found = []
    for word in our_attributes(stitch).get(SEEN, "").split():
        try:
            found.append(complex(*map(float, word.split(","))))
        except (TypeError, ValueError):
            continue
    return found
