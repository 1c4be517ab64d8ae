"""What a piece is called: in the drawing, where it is English, and in what the drafter reads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drafting_core.model.piece import Piece
from drafting_core.model.piece_kinds import title_for_attributes
from drafting_core.text.words import N_, _

if TYPE_CHECKING:
    from drafting_core.finished.pattern_piece import Draft

_NAMELESS = N_("Block")


def block_name(draft: Draft) -> str:
    """Return the piece's name: the drafter's, else its kind, else "Block"."""
    return title_for_attributes(draft.block.name, draft.piece) or _NAMELESS


def shown_name(draft: Draft) -> str:
    """Return the piece's name as it is shown: what its kind gives, in the drafter's language."""
    return shown_title(block_name(draft), draft.piece)


def shown_title(name: str, piece: Piece) -> str:
    """Return a piece's name as it is shown.

    Args:
        name: its name; that of its kind is translated, the drafter's own stays.
        piece: the piece.
    """
    of_kind = title_for_attributes("", piece) or _NAMELESS
    return _(of_kind) if name == of_kind else name
