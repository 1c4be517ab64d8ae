"""A front's dart drawn to its apex: was its point lowered already? Nobody can see it.

A block that is drawn finished has its dart point short of the bust point. Marked there, the apex
would be too near to the mouth: the angle too large, and the dart lowered a second time.
"""

from __future__ import annotations

from drafting_core.block.block import Block
from drafting_core.block.find_darts import ON_APEX
from drafting_core.block.found_block import FoundBlock, take_block
from drafting_core.model.piece import Piece
from drafting_core.model.piece_kinds import FRONT, UNKNOWN, piece_kind
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import unit
from drafting_core.text.words import _


def with_true_apexes(block: Block, settings: Settings) -> Block:
    """Return a block whose apexes lie beyond the drawn points by what its darts were drawn short.

    On a front, or a piece of unknown kind, an apex that lies on the point of the one dart that
    turns about it is put further out along that dart's middle line. A result has its true apex.

    Args:
        block: the block.
        settings: the drafter's choices.

    Raises:
        DraftingError: if the block cannot be read.
    """
    short = settings.drawn_short
    if not short or block.standing or block.apex is None:
        return block
    piece = take_block(block, equalise=True, even_legs=settings.even_legs).piece
    apexes = list(block.apexes)
    for k in _on_their_apexes(piece, (FRONT, UNKNOWN)):
        opening = piece.openings[k]
        inward = -unit(sum(unit(end - opening.point) for end in piece.mouth(k)))
        if opening.fan is not None:
            apexes[opening.fan] = opening.point + inward * short
    return block._replace(
        apex=apexes[0],
        more_apexes=apexes[1:],
        targets=[
            target._replace(slash=(*target.slash[:-1], target.slash[-1]._replace(end=end)))
            if target.slash and (end := _moved(target.slash[-1].end, block, apexes)) is not None
            else target
            for target in block.targets
        ],
    )


def _moved(end: complex, block: Block, apexes: list[complex]) -> complex | None:
    """Return where the apex went at which a slash line ends, or None where none is near."""
    near = min(range(len(apexes)), key=lambda n: abs(block.apexes[n] - end))
    return None if apexes[near] == block.apexes[near] else apexes[near]


def with_drawn_short_remark(found: FoundBlock, block: Block, settings: Settings) -> FoundBlock:
    """Return a block taken apart that also says what is open about the points of its darts.

    Args:
        found: the block taken apart, its apexes as they were drawn where nothing is said of them.
        block: the block as it was drawn.
        settings: the drafter's choices.
    """
    if block.standing:
        return found
    short = settings.drawn_short
    if short is None:
        said = [drawn_short_question()] if may_be_drawn_short(found.piece) else []
    elif short and not any(
        opening.in_fan and opening.apex not in block.apexes for opening in found.piece.openings
    ):
        said = [
            _(
                "--drawn-short was not used: no apex lies on the drawn point of the only dart to "
                "it, on a front."
            )
        ]
    else:
        said = []
    return found._replace(warnings=(*found.warnings, *said))


def may_be_drawn_short(piece: Piece) -> bool:
    """Tell whether a piece is a front of which nobody can see if a dart point was lowered."""
    return bool(_on_their_apexes(piece, (FRONT,)))


def drawn_short_question() -> str:
    """Return what the drafter is asked of a front's dart that is drawn to its apex."""
    return _(
        "The apex lies on the drawn dart point, of which nobody can see whether it was lowered "
        "already: say --drawn-short 1in (or by how much) if it was, --drawn-short 0 if it was not."
    )


def _on_their_apexes(piece: Piece, kinds: tuple[str, ...]) -> list[int]:
    """Return the darts that end on their apex, where no other dart shows that it is the pivot."""
    fans = [opening.fan for opening in piece.openings]
    found = [
        k
        for k, opening in enumerate(piece.openings)
        if opening.in_fan
        and fans.count(opening.fan) == 1
        and abs(opening.point - opening.apex) <= ON_APEX
    ]
    return found if found and piece_kind(piece) in kinds else []
