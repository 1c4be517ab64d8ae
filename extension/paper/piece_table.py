"""What the first page says of each piece: how often it is cut, cloth, sizes, seam allowances."""

from __future__ import annotations

import datetime
import os
from collections.abc import Sequence

from drafting_core.text.lengths import in_words
from drafting_core.text.words import N_, _, listed
from extension.paper.printed_lines import Choice
from extension.paper.printed_parts import PrintedResult
from extension.paper.sizes_nest import nests_of, of_sizes

#: Cloths as the dialog calls them.
_CLOTHS = {
    "woven": N_("woven cloth"),
    "fine": N_("fine cloth: silky, slippery"),
    "sheer": N_("sheer cloth"),
    "knit": N_("knit"),
}
#: How an allowance is told that is turned back on the piece.
_TURNED = N_("turned up")


def piece_rows(results: Sequence[PrintedResult], choice: Choice) -> tuple[str, ...]:
    """Return a sentence for every piece that is printed, the sizes of a nest in one.

    Args:
        results: the results.
        choice: what is printed of them.
    """
    rows = []
    for nest in nests_of(of_sizes(results, choice.sizes), apart=choice.apart):
        first = nest.results[0]
        said = [first.title_row, _(_CLOTHS[first.draft.settings.cloth])]
        if len(nest.results) > 1:
            said.append(_("sizes {sizes}").format(sizes=listed(nest.sizes)))
        said.append(_("seam allowances {widths}").format(widths=_widths(first)))
        rows.append(f"{first.name}: {'; '.join(part for part in said if part)}.")
    return tuple(dict.fromkeys(rows))


def _widths(result: PrintedResult) -> str:
    """Return the widths of a piece's allowances: that of most seams, then those of the others."""
    allowances = result.draft.settings.allowances
    seams = [seam for seam in result.draft.piece.seams() if not seam.fold]
    told = [
        (
            in_words(allowances.width(seam))
            + (f" {_(_TURNED)}" if allowances.is_turned(seam) else ""),
            seam.shown,
        )
        for seam in seams
    ]
    words = [width for width, _name in told]
    usual = max(dict.fromkeys(words), key=words.count, default="")
    others: dict[str, list[str]] = {}
    for width, name in told:
        if width != usual and name not in others.setdefault(width, []):
            others[width].append(name)
    return ", ".join([usual, *(f"{listed(names)} {width}" for width, names in others.items())])


def printing_day() -> str:
    """Return the day of printing, by the standard of dates (ISO 8601).

    Where SOURCE_DATE_EPOCH is set, as for builds that are to be the same again, it is that day.
    """
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    if epoch.isdecimal() and len(epoch) < 12:
        day = datetime.datetime.fromtimestamp(int(epoch), tz=datetime.timezone.utc).date()
    else:
        day = datetime.datetime.now(tz=datetime.timezone.utc).astimezone().date()
    return day.isoformat()
