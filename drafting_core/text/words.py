"""What a drafter reads, in her language: every such text passes through here.

The core itself speaks English and knows no catalogue; whoever talks to the drafter hands one over
with `speak`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Protocol


class Catalogue(Protocol):
    """Translations as `gettext` offers them."""

    def gettext(self, message: str, /) -> str:
        """Return the translation of a text, or the text itself."""

    def ngettext(self, singular: str, plural: str, n: int, /) -> str:
        """Return the translation that goes with a number."""


_catalogue: Catalogue | None = None
_opener: Callable[[], Catalogue] | None = None


def speak(opener: Callable[[], Catalogue] | None) -> None:
    """Set where translations come from.

    Args:
        opener: returns the catalogue. It is called once, by the first text that is needed, so
            that a run which says nothing reads no catalogue. None for English.
    """
    global _catalogue, _opener
    _catalogue, _opener = None, opener


def _(text: str) -> str:
    """Return a text in the drafter's language.

    Args:
        text: the English text, written out where this is called: it is its own key. Values stand
            in it as named fields, which the caller fills in: ``_("{n} darts").format(n=2)``.
    """
    catalogue = _opened()
    return text if catalogue is None else catalogue.gettext(text)


def ngettext(one: str, many: str, number: int) -> str:
    """Return the text that goes with a number, in the drafter's language."""
    catalogue = _opened()
    if catalogue is None:
        return one if number == 1 else many
    return catalogue.ngettext(one, many, number)


def N_(text: str) -> str:  # noqa: N802 - gettext's own name for it
    """Mark a text that stands in a table: it is translated where it is used."""
    return text


def _opened() -> Catalogue | None:
    global _catalogue, _opener
    if _opener is not None:
        _catalogue, _opener = _opener(), None
    return _catalogue


def listed(names: Iterable[str]) -> str:
    """Return names as a list in a sentence: "a", "a and b", "a, b and c"."""
    *most, last = names
    return _("{several} and {last}").format(several=", ".join(most), last=last) if most else last


def capital(words: str) -> str:
    """Return words as they begin a sentence: the name of a seam, a place."""
    return words[:1].upper() + words[1:]
