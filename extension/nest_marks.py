"""One set of marks for all blocks of a drawing: which block has them, and who uses them."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.block import Block
from drafting_core.errors import DraftingError, PlaceError
from drafting_core.nest import Model, names_seams, read_model, with_model_marks
from extension import roles
from extension.block_marks import core_block, piece_name
from extension.roles import name_of
from extension.source_block import Drawing, SourceBlock


def plain_blocks(drawing: Drawing) -> list[SourceBlock]:
    """Return the blocks that are no results."""
    return [block for block in drawing.blocks if block.layer is None]


class NestMarks:
    """Gives the blocks of a nest the marks of the one that has them."""

    def __init__(self, drawing: Drawing, *, needs_target: bool) -> None:
        """Prepare for the blocks of a drawing.

        Args:
            drawing: the drawing.
            needs_target: whether every block needs a target mark, since no place is said.
        """
        self._drawing = drawing
        self._needs_target = needs_target
        self._source: SourceBlock | None = None
        self._model: Model | None = None
        self._fault: DraftingError | None = None
        self._looked = False
        self._users: list[SourceBlock] = []

    def check(self, sources: Sequence[SourceBlock]) -> None:
        """Refuse blocks that lack a mark where it is not clear whose they are to take.

        Raises:
            PlaceError: if no block, or more than one, has what the others lack.
        """
        needed = (roles.APEX, roles.TARGET) if self._needs_target else (roles.APEX,)
        if len(self._owners()) != 1 and any(
            source.layer is None and not all(map(source.marked, needed)) for source in sources
        ):
            raise self._no_model()

    def completed(self, source: SourceBlock, block: Block) -> Block:
        """Return a block with the model's marks for what it does not mark itself.

        Raises:
            DraftingError: if there is no model, or the block is not like it.
        """
        lacks = block.apex is None or (self._needs_target and not block.targets)
        if not lacks and names_seams(block):
            return block
        if not self._looked:
            self._looked = True
            try:
                self._look()
            except DraftingError as fault:
                self._fault = fault
        if source is self._source and self._fault is None:
            return block
        if self._fault is not None or self._model is None:
            if not lacks:
                return block
            raise self._fault or self._no_model()
        if not lacks and not names_seams(self._model.block):
            return block
        completed = with_model_marks(self._model, block, needs_target=self._needs_target)
        self._users.append(source)
        return completed

    def notes(self, drafted: Sequence[SourceBlock]) -> list[str]:
        """Return what is said of the marks' use for the blocks that were drafted."""
        users = sum(user in drafted for user in self._users)
        if self._source is None or not users:
            return []
        others = "1 other block" if users == 1 else f"{users} other blocks"
        return [f"The marks of {self._named(self._source)} were used for {others}."]

    def _named(self, source: SourceBlock) -> str:
        name = piece_name(source, self._drawing)
        return f'the block "{name}"' if name else f"the block {name_of(source.outline)}"

    def _look(self) -> None:
        """Find the model and take it apart."""
        owners = self._owners()
        if len(owners) != 1:
            return
        self._source = owners[0]
        try:
            if self._source.fault is not None:
                raise self._source.fault
            self._model = read_model(core_block(self._source, self._drawing))
        except DraftingError as error:
            named = self._named(self._source)
            raise error.about(
                named[:1].upper() + named[1:],
                other_block=error.thing in ("", self._source.thing),
            ) from None

    def _owners(self) -> list[SourceBlock]:
        blocks = plain_blocks(self._drawing)
        if self._needs_target:
            return [block for block in blocks if block.marked(roles.TARGET)]
        marked = [block for block in blocks if block.marked(roles.APEX)]
        named = [block for block in marked if block.marked(roles.SEAM)]
        return named if len(named) == 1 else marked

    def _no_model(self) -> DraftingError:
        owners = self._owners()
        what = "a target" if self._needs_target else "an apex"
        if not owners:
            return PlaceError(
                f"no block of the drawing has {what}.",
                thing="The nest",
                remedy=f"Mark one block with apex, seam names and {what}."
                if self._needs_target
                else "Mark one block with an apex and seam names.",
            )
        names = ", ".join(self._named(owner).removeprefix("the block ") for owner in owners[:4])
        more = f" and {len(owners) - 4} more" if len(owners) > 4 else ""
        return PlaceError(
            f"{len(owners)} blocks have {what} ({names}{more}), and others have none: it is not "
            "clear whose marks those are to take.",
            thing="The nest",
            remedy="Leave the marks on one block, or mark them all.",
        )
