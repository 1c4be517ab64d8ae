"""The ids of a document, collected once and kept for all that is written in one run."""

from __future__ import annotations

import re

from lxml import etree

#: What every id of a result begins with.
RESULT = "dartswing"
_NUMBERED = re.compile(rf"{RESULT}-(\d+)")


class Identities:
    """The ids that are taken; every one given out is taken from then on.

    One collection serves all results of a run: collecting a document's ids anew for every
    block would make a nest's cost grow with the square of its blocks.
    """

    def __init__(self, root: etree._Element) -> None:
        """Collect the ids of a document."""
        self._taken = {str(element.get("id")) for element in root.iter() if element.get("id")}
        self._numbers = {
            int(found[1]) for identity in self._taken if (found := _NUMBERED.match(identity))
        }
        self._last = 0

    def new_prefix(self) -> str:
        """Return a beginning of ids that no result has yet, with the lowest free number."""
        self._last += 1
        while self._last in self._numbers:
            self._last += 1
        return f"{RESULT}-{self._last}"

    def is_taken(self, identity: str) -> bool:
        """Tell whether an object has an id."""
        return identity in self._taken

    def unused(self, wanted: str) -> str:
        """Take an id and return it: the wanted one or, where that is taken, one like it."""
        identity, count = wanted, 1
        while identity in self._taken:
            count += 1
            identity = f"{wanted}-{count}"
        self._taken.add(identity)
        return identity

    def free(self, identity: str) -> None:
        """Let an id be taken again."""
        self._taken.discard(identity)
