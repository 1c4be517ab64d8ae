"""What a drafter is told when something cannot be drafted."""

from __future__ import annotations


class DraftingError(Exception):
    """Something that cannot be drafted as asked.

    Attributes:
        what: the fault in plain words.
        thing: the object at fault, as the drafter calls it, or an empty string.
        remedy: what to do about it.
        place: where the fault lies, in mm, if it has a place.
        note: what else is good to know, such as the block's size, or an empty string.
        other_block: whether ``thing`` is another block than the one that is drafted, whose marks
            that one takes over.
    """

    def __init__(
        self,
        what: str,
        *,
        remedy: str,
        thing: str = "",
        place: complex | None = None,
        note: str = "",
        other_block: bool = False,
    ) -> None:
        """Store the parts of the message."""
        super().__init__(what)
        self.what = what
        self.thing = thing
        self.remedy = remedy
        self.place = place
        self.note = note
        self.other_block = other_block

    def about(self, thing: str, *, other_block: bool = False) -> DraftingError:
        """Return the same error, naming ``thing`` unless it already names something.

        Args:
            thing: the object at fault.
            other_block: whether the error is about another block than the one that is drafted.
        """
        return self.replaced(thing=self.thing or thing, other_block=self.other_block or other_block)

    def noted(self, note: str) -> DraftingError:
        """Return the same error with a note, unless it already has one."""
        return self.replaced(note=self.note or note)

    def replaced(
        self,
        *,
        thing: str | None = None,
        place: complex | None = None,
        note: str | None = None,
        other_block: bool | None = None,
    ) -> DraftingError:
        """Return the same error with the parts that are given."""
        return type(self)(
            self.what,
            remedy=self.remedy,
            thing=self.thing if thing is None else thing,
            place=self.place if place is None else place,
            note=self.note if note is None else note,
            other_block=self.other_block if other_block is None else other_block,
        )

    def __str__(self) -> str:
        """Return the message: on which object, what, and what to do."""
        subject = f"{self.thing}: " if self.thing else ""
        return f"{subject}{self.what} {self.remedy} {self.note}".strip()


class OutlineError(DraftingError):
    """The outline itself is at fault."""


class NothingClosedError(OutlineError):
    """No line on a traced sheet goes all round a block."""


class DartError(DraftingError):
    """A dart cannot be found, or not be finished as asked."""


class PlaceError(DraftingError):
    """A place on the outline cannot be found or reached."""


class SettingError(DraftingError):
    """A setting cannot be read or makes no sense."""


class BalanceError(DraftingError):
    """The result does not balance: a fault of the program, caught before anything is written."""
