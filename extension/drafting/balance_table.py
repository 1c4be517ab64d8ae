"""The balance of several blocks as one table: seams as rows, blocks side by side."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.finished.pattern_piece import Draft
from drafting_core.text.words import _

#: Letters to a line of the table.
TABLE_WIDTH = 100
_GAP = "  "
_NONE = "-"


class _Pair(NamedTuple):
    """A length, angle or area before and after, as text."""

    before: str
    after: str


def balance_table(drafts: Sequence[Draft], names: Sequence[str]) -> str:
    """Return one table of the balance of several blocks.

    Args:
        drafts: the blocks.
        names: what each is called, in the same order.

    Returns:
        A heading and as many bands of blocks as the width takes.
    """
    spoken: dict[str, str] = {}
    for draft in drafts:
        for entry in draft.balance.seams:
            spoken.setdefault(entry.seam.kind, entry.seam.shown)
    labels = [*spoken.values(), _("All openings (°)"), _("Net area (cm²)")]
    before, after = _("before"), _("after")
    columns = [_column(draft, list(spoken)) for draft in drafts]
    label_width = max(map(len, labels))
    number = max(
        len(before), len(after), *(len(text) for column in columns for p in column for text in p)
    )
    cell = 2 * number + 1
    across = max(1, (TABLE_WIDTH - label_width) // (cell + len(_GAP)))
    bands = math.ceil(len(drafts) / across)
    across = math.ceil(len(drafts) / bands)
    lines = [_("Balance of all blocks: sewn lengths in mm, before and after")]
    for start in range(0, len(drafts), across):
        band = range(start, min(start + across, len(drafts)))
        heads = [_head(names[n], drafts[n].block.size, cell) for n in band]
        tallest = max(map(len, heads))
        lines.append("")
        for row in range(tallest):
            cells = [([""] * (tallest - len(head)) + head)[row].rjust(cell) for head in heads]
            lines.append(_GAP.join([" " * label_width, *cells]).rstrip())
        titles = [f"{before:>{number}} {after:>{number}}"] * len(band)
        lines.append(_GAP.join([" " * label_width, *titles]))
        for index, label in enumerate(labels):
            cells = [
                f"{columns[n][index].before:>{number}} {columns[n][index].after:>{number}}"
                for n in band
            ]
            lines.append(_GAP.join([f"{label:<{label_width}}", *cells]))
    return "\n".join(lines)


def _head(name: str, size: str, width: int) -> list[str]:
    lines = textwrap.wrap(name, width) or [""]
    return [*lines, *(textwrap.wrap(_("size {size}").format(size=size), width) if size else [])]


def _column(draft: Draft, kinds: Sequence[str]) -> list[_Pair]:
    """Return a block's pairs; of several seams of one kind the sum."""
    result = draft.balance
    pairs = []
    for kind in kinds:
        entries = [entry for entry in result.seams if entry.seam.kind == kind]
        if not entries:
            pairs.append(_Pair(_NONE, _NONE))
            continue
        before, after = sum(e.before for e in entries), sum(e.after for e in entries)
        pairs.append(_Pair(f"{before:.2f}", f"{after:.2f}"))
    angles = (math.degrees(angle) for angle in (result.angle_before, result.angle_after))
    areas = (area / 100 for area in (result.area_before, result.area_after))
    pairs.append(_Pair(*(f"{angle:.2f}" for angle in angles)))
    pairs.append(_Pair(*(f"{area:.2f}" for area in areas)))
    return pairs
