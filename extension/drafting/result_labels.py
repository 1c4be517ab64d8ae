"""What the layer of a result is called: first what was done, then the piece.

The editor's list of layers cuts a long label short: what tells two results of one block apart
stands at its beginning. A result's label is English in any language: other programs read it.
"""

from __future__ import annotations

from collections.abc import Iterable

from lxml import etree

from drafting_core.block.seam_place import SeamPlace
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.piece import DART
from extension.document.namespaces import LABEL
from extension.drafting.report import openings_of
from extension.reading.piece_names import block_name


def move_label(draft: Draft) -> str:
    """Return the label of a moved dart, like "Dart at side seam 35%, Front"."""
    if draft.joined is not None:
        return f"Dart into {draft.joined.name}, {block_name(draft)}"  # not read by drafters
    at: dict[str, dict[str, None]] = {}
    for opening, seam in openings_of(draft):
        if opening.target is not None:
            place = draft.places.get(opening.target)
            called = seam.name if place is None else place_label(place)
            at.setdefault(opening.made, {})[called] = None
    parts = [
        f"{_made(made, len(places))} at {_listed(places)}"  # not read by drafters
        for made, places in at.items()
    ]
    said = _listed(parts) or "Darts"
    return f"{said[0].upper()}{said[1:]}, {block_name(draft)}"


def allow_label(draft: Draft) -> str:
    """Return the label of a block with its darts where they were."""
    return f"Seam allowances, {block_name(draft)}"  # not read by drafters


def place_label(place: SeamPlace) -> str:
    """Return a place like "side seam 35%", "neckline tip" or "corner of shoulder and armhole"."""
    if place.is_neckline_tip:
        return "neckline tip"  # not read by drafters
    if place.fraction is None:
        first, second = (seam.name for seam in place.seams)
        return f"corner of {first} and {second}"  # not read by drafters
    return f"{place.seams[0].name} {per_cent(place.fraction)}"


def per_cent(fraction: float) -> str:
    """Return a fraction like "35%", with one decimal where it is none that is whole."""
    return f"{100.0 * fraction:.1f}".removesuffix(".0") + "%"


class LayerLabels:
    """The labels of a document's layers, found once for all results of a run."""

    def __init__(self, root: etree._Element) -> None:
        """Collect them."""
        self._taken = {str(child.get(LABEL) or "") for child in root}
        self._last: dict[str, int] = {}

    def free(self, label: str) -> str:
        """Return a label, with a number behind it where other layers have it already."""
        number = self._last.get(label, 1)
        found = label if number == 1 else f"{label} ({number})"
        while found in self._taken:
            number += 1
            found = f"{label} ({number})"
        self._taken.add(found)
        self._last[label] = number
        return found


def _made(made: str, count: int) -> str:
    return "darts" if made == DART and count > 1 else made


def _listed(texts: Iterable[str]) -> str:
    *others, last = [*texts] or [""]
    together = f"{', '.join(others)} and {last}"  # not read by drafters
    return together if others else last
