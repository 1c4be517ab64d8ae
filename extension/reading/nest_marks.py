"""One set of marks for all blocks of a drawing: which block has them, and who uses them."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.block.block import Block
from drafting_core.move.nest import Model, names_seams, read_model, with_model_marks
from drafting_core.text.errors import DraftingError, PlaceError
from drafting_core.text.words import _, ngettext
from extension.document import roles
from extension.document.roles import name_of
from extension.reading.block_marks import core_block, piece_name
from extension.reading.source_block import Drawing, SourceBlock, thing_called


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
        said = ngettext(
            "The marks of the block {block} were used for {n} other block.",
            "The marks of the block {block} were used for {n} other blocks.",
            users,
        )
        return [said.format(block=self._named(self._source), n=users)]

    def _named(self, source: SourceBlock) -> str:
        name = piece_name(source, self._drawing)
        return f'"{name}"' if name else name_of(source.outline)

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
            name = piece_name(self._source, self._drawing)
            raise error.about(
                thing_called(name, self._source.outline),
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
        if not owners:
            if self._needs_target:
                return PlaceError(
                    _("no block of the drawing has a target."),
                    thing=_("The nest"),
                    remedy=_("Mark one block with apex, seam names and a target."),
                )
            return PlaceError(
                _("no block of the drawing has an apex."),
                thing=_("The nest"),
                remedy=_("Mark one block with an apex and seam names."),
            )
        names = ", ".join(self._named(owner) for owner in owners[:4])
        if more := len(owners[4:]):
            names = ngettext("{names} and {n} more", "{names} and {n} more", more).format(
                names=names, n=more
            )
        what = (
            _(
                "{n} blocks have a target ({names}), and others have none: it is not clear whose "
                "marks those are to take."
            )
            if self._needs_target
            else _(
                "{n} blocks have an apex ({names}), and others have none: it is not clear whose "
                "marks those are to take."
            )
        )
        return PlaceError(
            what.format(n=len(owners), names=names),
            thing=_("The nest"),
            remedy=_("Leave the marks on one block, or mark them all."),
        )
