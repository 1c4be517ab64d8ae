"""How many of a piece are cut: what its title says, written and read back."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.seam_names import SHOULDER, SIDE_SEAM
from drafting_core.text.words import N_, _
from extension.host.language import in_every_language

_ONE = N_("Cut 1")
_PAIR = N_("Cut 2")
_ON_FOLD = N_("Cut 1 on the fold")
#: More than this is a number of something else.
MOST = 40


class CutCount(NamedTuple):
    """How many of a piece are cut, and whether the cloth is folded for it.

    Attributes:
        number: how many; of an unfolded piece every second one is mirrored.
        on_fold: whether each is cut on the fold.
        line: the number of the title's line that says so, or None where none does.
    """

    number: int
    on_fold: bool
    line: int | None = None


def cut_words(draft: Draft) -> str:
    """Return what a piece's title says of how many are cut."""
    count = count_of(draft)
    if count.on_fold:
        return _(_ON_FOLD)
    return _(_ONE) if count.number == 1 else _(_PAIR)


def count_of(draft: Draft) -> CutCount:
    """Return how many of a piece are cut: by its fold edge, else by which seams it has twice."""
    if any(seam.fold for seam in draft.piece.seams()) and not draft.centre_opened:
        return CutCount(1, True)
    kinds = [seam.kind for seam in draft.piece.seams()]
    is_whole = max(kinds.count(SHOULDER), kinds.count(SIDE_SEAM)) > 1
    return CutCount(1 if is_whole else 2, False)


def count_said(title: Sequence[str], draft: Draft) -> CutCount:
    """Return how many of a piece are cut as its title says, which the drafter may have changed.

    Args:
        title: its lines, in whatever language they were written.
        draft: what was drafted, which counts where no line says it.
    """
    for index, line in enumerate(title):
        for pattern, on_fold in ((_ON_FOLD, True), (_PAIR, False)):
            for said in in_every_language(pattern):
                words = re.sub(r"\d+", lambda _: r"(\d+)", re.escape(said))
                found = re.fullmatch(words, line.strip(), re.IGNORECASE)
                if found and 1 <= int(found[1]) <= MOST:
                    return CutCount(int(found[1]), on_fold, index)
    return count_of(draft)
