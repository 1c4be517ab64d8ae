"""The balance of several blocks as one table: seams as rows, blocks side by side."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.finished.pattern_piece import Draft
from drafting_core.text.figures import decimal_number
from drafting_core.text.lengths import area_without_unit, unit_of_this_run, without_unit
from drafting_core.text.words import N_, _

#: Letters to a line of the table.
TABLE_WIDTH = 100
_GAP = "  "
_NONE = "-"
#: The headings of lengths and of areas where lengths are told in a unit.
_SEWN_LENGTHS = {
    "mm": N_("Sewn lengths (mm)"),
    "cm": N_("Sewn lengths (cm)"),
    "in": N_("Sewn lengths (inches)"),
}
_NET_AREA = {"mm": N_("Net area (cm²)"), "cm": N_("Net area (cm²)"), "in": N_("Net area (in²)")}
_OF_PLACES = {
    "mm": N_("Balance of all places: sewn lengths in mm, before and after"),
    "cm": N_("Balance of all places: sewn lengths in cm, before and after"),
    "in": N_("Balance of all places: sewn lengths in inches, before and after"),
}
_OF_BLOCKS = {
    "mm": N_("Balance of all blocks: sewn lengths in mm, before and after"),
    "cm": N_("Balance of all blocks: sewn lengths in cm, before and after"),
    "in": N_("Balance of all blocks: sewn lengths in inches, before and after"),
}


class _Pair(NamedTuple):
    """A length, angle or area before and after, as text."""

    before: str
    after: str


def balance_table(drafts: Sequence[Draft], names: Sequence[str], *, of_places: bool = False) -> str:
    """Return one table of the balance of several blocks.

    Args:
        drafts: the blocks.
        names: what each is called, in the same order.
        of_places: whether they are one block with its dart in several places.

    Returns:
        A heading and as many bands of blocks as the width takes.
    """
    unit = unit_of_this_run()
    spoken: dict[str, str] = {}
    for draft in drafts:
        for entry in draft.balance.seams:
            spoken.setdefault(entry.seam.kind, entry.seam.shown)
    labels = [*spoken.values(), _("All openings (°)"), _(_NET_AREA[unit])]
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
    lines = [_((_OF_PLACES if of_places else _OF_BLOCKS)[unit])]
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


def balance_of_one(draft: Draft) -> list[str]:
    """Return the balance of one block as a table, line by line: seams as rows, to a micrometre."""
    unit, result = unit_of_this_run(), draft.balance
    before, after, heading = _("before"), _("after"), _(_SEWN_LENGTHS[unit])
    angles = (math.degrees(angle) for angle in (result.angle_before, result.angle_after))
    areas = (result.area_before, result.area_after)
    rows: list[tuple[str, ...]] = [
        (
            entry.seam.shown,
            without_unit(entry.before, 3, apart_from=entry.after),
            without_unit(entry.after, 3, apart_from=entry.before),
        )
        for entry in result.seams
    ]
    rows.append((_("All openings (°)"), *(decimal_number(angle, 3) for angle in angles)))
    rows.append((_(_NET_AREA[unit]), *(area_without_unit(area, 3) for area in areas)))
    cell = max(10, len(before), len(after))
    width = max(len(heading), *(len(row[0]) for row in rows))
    return [
        f"  {heading:<{width}} {before:>{cell}} {after:>{cell}}",
        *(f"  {label:<{width}} {one:>{cell}} {other:>{cell}}" for label, one, other in rows),
    ]


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
        pairs.append(
            _Pair(
                without_unit(before, 2, apart_from=after),
                without_unit(after, 2, apart_from=before),
            )
        )
    angles = (math.degrees(angle) for angle in (result.angle_before, result.angle_after))
    areas = (result.area_before, result.area_after)
    pairs.append(_Pair(*(decimal_number(angle, 2) for angle in angles)))
    pairs.append(_Pair(*(area_without_unit(area, 2) for area in areas)))
    return pairs
