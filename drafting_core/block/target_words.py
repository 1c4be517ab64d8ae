"""Targets in words: places, how much of which dart goes there, and what becomes of it."""

from __future__ import annotations

import re
from typing import NamedTuple

from drafting_core.block.places import Target
from drafting_core.model.piece import MADE_AS
from drafting_core.text.errors import PlaceError
from drafting_core.text.lengths import parse_measure
from drafting_core.text.words import _

# Patterns are left as text, for `re` to compile when a target first carries something.
_CONDITIONS = r"""(?xi)\s*(?P<amount>[^\s].*?)??
        (?:\s*\bas\s+(?P<made>[^\W\d]+))?
        (?:\s*\bfrom\s+(?P<source>\S.*?))?\s*$"""  # not read by drafters
_TARGET = r"(?i)(?P<place>[^=]*?)(?:\s*=(?P<rest>.*)|(?P<tail>\s(?:as|from)\s.*))?$"
_SHARE = r"(?:0?[.,]\d+|0|1(?:[.,]0*)?)$"


class Conditions(NamedTuple):
    """What a target carries beside its place (see `Target`).

    Attributes:
        share: its share of what is moved, or None.
        intake: the width in mm that its mouth is to have, or None.
        made: what becomes of its opening, or an empty string.
        source: the darts that it takes from, or an empty string.
    """

    share: float | None = None
    intake: float | None = None
    made: str = ""
    source: str = ""


def conditions(text: str, bare_unit: str | None = None) -> Conditions:
    """Read what a target carries: an amount, ``as`` what, ``from`` which dart.

    Args:
        text: as in ``0.6 as gathers from waist``, ``20mm`` or ``from waist and shoulder``.
        bare_unit: the unit of a bare number beyond a share, or None where it needs one.

    Raises:
        DraftingError: if a part of it cannot be read.
    """
    if not text.strip():
        return Conditions()
    found = re.match(_CONDITIONS, text)
    if found is None:
        raise _unread(text)
    made = (found["made"] or "").casefold()
    if made and made not in MADE_AS:
        raise PlaceError(
            _('"as {made}" is not known.').format(made=made),
            remedy=_('Use one of {choices} after "as".').format(choices=", ".join(MADE_AS)),
        )
    share, intake = None, None
    if amount := (found["amount"] or "").strip():
        if re.match(_SHARE, amount):
            share = float(amount.replace(",", "."))
        elif bare_unit is not None or re.search(r"[^\W\d]|\"", amount):
            intake = parse_measure(amount, _("The width"), bare_unit or "mm")
        else:
            raise _unread(amount)
    return Conditions(share, intake, made, (found["source"] or "").strip())


def _unread(text: str) -> PlaceError:
    return PlaceError(
        _('"{text}" is neither a share nor a width.').format(text=text.strip()),
        remedy=_("Write a share like 0.6 (1 at most), or a width with its unit, like 20mm."),
    )


def targets_in_words(text: str) -> list[Target]:
    """Read targets like ``side seam:0.35=0.6; neckline:0.5=20mm as gathers from shoulder``.

    Raises:
        DraftingError: if a part of it cannot be read.
    """
    targets = []
    for part in text.split(";"):
        if not part.strip():
            continue
        found = re.match(_TARGET, part)
        if found is None or not found["place"].strip():
            raise PlaceError(
                _('"{text}" names no place.').format(text=part.strip()),
                remedy=_('Write it like "side seam:0.35=0.6; neckline:0.5=0.4".'),
            )
        more = conditions(found["rest"] or found["tail"] or "")
        targets.append(Target(place=found["place"].strip(), **more._asdict()))
    return targets
