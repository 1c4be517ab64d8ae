"""What the layer of a result is called: first what was done, then the piece.

The editor's list of layers cuts a long label short: what tells two results of one block apart
stands at its beginning. A result's label is English in any language: other programs read it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from lxml import etree

from drafting_core.block.seam_place import SeamPlace
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.piece import DART
from drafting_core.model.settings import Settings
from extension.document.namespaces import LABEL
from extension.document.roles import our_attributes
from extension.drafting.report import openings_of
from extension.options.settings_text import settings_attributes
from extension.reading.piece_names import block_name
from extension.reading.source_block import SourceBlock

#: Of the settings that tell two results of one block apart, a label names so many.
_MOST_TOLD = 2
_BY_RULE = "by rule"  # not read by drafters
_EXCESS = {
    "auto": "excess by rule",  # not read by drafters
    "keep": "excess kept",  # not read by drafters
    "trim": "excess trimmed",  # not read by drafters
}


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
    """Return a place: "side seam 35%", "waist 80mm", "corner of shoulder and armhole"."""
    if place.is_neckline_tip:
        return "neckline tip"  # not read by drafters
    if place.fraction is None:
        first, second = (seam.name for seam in place.seams)
        return f"corner of {first} and {second}"  # not read by drafters
    return f"{place.seams[0].name} {place.length or per_cent(place.fraction)}"


def per_cent(fraction: float) -> str:
    """Return a fraction like "35%", with one decimal where it is none that is whole."""
    return f"{100.0 * fraction:.1f}".removesuffix(".0") + "%"


def settings_by_label(
    blocks: Iterable[SourceBlock], command: str
) -> dict[str, dict[str, list[Mapping[str, str]]]]:
    """Return what the results of a command were made with: by their block's id and their label.

    Several have one label but for its number.

    Args:
        blocks: the blocks and results of a drawing.
        command: the command that made them.
    """
    found: dict[str, dict[str, list[Mapping[str, str]]]] = {}
    for block in blocks:
        if block.layer is not None:
            kept = our_attributes(block.outline)
            if kept.get("command") == command:
                label = without_number(str(block.layer.get(LABEL) or ""))
                found.setdefault(kept.get("of", ""), {}).setdefault(label, []).append(kept)
    return found


def apart(label: str, draft: Draft, others: Mapping[str, Sequence[Mapping[str, str]]]) -> str:
    """Return a label that says by which settings a result differs from one called the same.

    A result that was made with the same settings has its own label again.

    Args:
        label: the label by place and piece.
        draft: what is to be called so.
        others: what the results of the same block were made with, by their labels.
    """
    piece = f", {block_name(draft)}"
    said = label.removesuffix(piece)
    settings = settings_attributes(draft.settings)
    for called, made_with in others.items():
        is_namesake = called == label or (called.startswith(f"{said}, ") and called.endswith(piece))
        if is_namesake and not all(_differing(settings, kept) for kept in made_with):
            return called
    if label not in others:
        return label
    names = _differing(settings, others[label][0])[:_MOST_TOLD]
    return f"{said}, {', '.join(_told(name, draft.settings) for name in names)}{piece}"


def without_number(label: str) -> str:
    """Return a label without the number that `LayerLabels` puts behind it."""
    return re.sub(r" \(\d+\)$", "", label)


def _differing(settings: Mapping[str, str], kept: Mapping[str, str]) -> list[str]:
    """Return the names of the settings that differ, those first that a drafter tries out."""
    first = ("share", "intake", "cloth", "excess", "fold", "clearance")
    return [
        name
        for name in (*first, *(name for name in settings if name not in first))
        if kept.get(name, settings[name]) != settings[name]
    ]


def _told(name: str, settings: Settings) -> str:
    """Return a setting as a label has it: "half", "sheer", "excess kept"."""
    if name == "share":
        return {1.0: "whole", 0.5: "half"}.get(settings.share, per_cent(settings.share))
    if name == "cloth":
        return settings.cloth
    if name == "excess":
        return _EXCESS[settings.excess]
    if name == "fold":
        told = _BY_RULE if settings.fold == "auto" else settings.fold
        return f"folded {told}"  # not read by drafters
    if name == "intake":
        if settings.intake is None:
            return "by share"  # not read by drafters
        return f"{settings.intake:.4g}mm wide"  # not read by drafters
    if name == "clearance":
        if settings.clearance is None:
            return "usual clearance"  # not read by drafters
        return f"{settings.clearance:.4g}mm short"  # not read by drafters
    kept = settings_attributes(settings)[name].replace(",", "")
    told = re.sub(r"\d+(\.\d+)?(?=mm)", lambda found: f"{float(found[0]):.4g}", kept)
    return f"{name.replace('-', ' ')} {told}"


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
