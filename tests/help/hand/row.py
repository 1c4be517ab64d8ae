"""A row of the table of what a hand changes, and what has to become of it."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from tests.help.hand.results import Drawing

#: What becomes of an edit: the result follows it; what was retyped is in the result and stays;
#: a sentence says what was not kept or is other now; or nothing is written, and one message says
#: why.
FOLLOWED, OBEYED, TOLD, REFUSED = "followed", "obeyed", "told", "refused"
#: What is said of what follows from the stitch line and was changed, or deleted.
ANEW = "changed by hand and drawn anew: {}"
AGAIN = "deleted and drawn again: {}"


@dataclass(frozen=True)
class Row:
    """An edit, and what has to become of it.

    Attributes:
        name: what is done.
        base: which result it is done to.
        edit: does it.
        outcome: what becomes of it.
        said: what the message has to say, as a regular expression.
        names: seams that are called otherwise afterwards.
        widths: seams, as they are called afterwards, of another allowance afterwards, in mm.
        goes_back: whether taking it back by hand gives what was there before.
        uneven: how much longer one leg of the dart is than the other, in mm.
        loose: by how much the line may lie elsewhere than drawn, where ends were left open, in mm.
        keeps: tells what has to stay as the hand has left it.
    """

    name: str
    base: str
    edit: Callable[[Drawing], None]
    outcome: str
    said: str = ""
    names: dict[str, str] = field(default_factory=dict)
    widths: dict[str, float] = field(default_factory=dict)
    goes_back: bool = False
    uneven: float = 0.0
    loose: float = 0.0
    keeps: Callable[[Drawing], object] | None = None

    @property
    def is_redrawn(self) -> bool:
        """Whether what was changed is drawn again as it was."""
        return self.said.startswith((ANEW[:12], AGAIN[:12]))

    def __str__(self) -> str:
        return f"{self.name}, {self.base}".replace(" ", "_")


def on(bases: Sequence[str] | str, name: str, *said: Any, **more: Any) -> list[Row]:
    """Return an edit made on several results."""
    return [Row(name, base, *said, **more) for base in _each(bases)]


def _each(bases: Sequence[str] | str) -> Sequence[str]:
    return re.split(", ", bases) if isinstance(bases, str) else bases


def says(row: Row, text: str) -> bool:
    """Tell whether a message says what it has to say of an edit, before its table of lengths."""
    return bool(re.search(row.said, " ".join(text.partition("Sewn lengths")[0].split())))
