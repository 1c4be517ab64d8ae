"""Where the dart of a move goes: picked from lists, said in words, or marked on the drawing."""

from __future__ import annotations

import math
from collections.abc import Mapping

from drafting_core.model.seam_names import spoken_name
from drafting_core.text.errors import PlaceError
from drafting_core.text.figures import significant
from drafting_core.text.words import _
from extension.options.options import AUTO, LENGTH, MARKS, NO_SEAM, SEAM, WORDS


def place_asked_for(values: Mapping[str, str]) -> str:
    """Return the place in words; an empty text where the target marks say it.

    Args:
        values: texts by the option's name: ``target``, ``to``, ``seam``, ``other-seam``,
            ``along``, ``along-as`` and ``unit``.

    Raises:
        PlaceError: if two places are named, or none where one has to be.
    """
    source, words = values["target"], values["to"].strip()
    is_picked = values["seam"] != NO_SEAM
    if source == MARKS:
        return ""
    if source == WORDS or (source == AUTO and words and not is_picked):
        if not words:
            raise _asked(_("no place is said in words."))
        return words
    if source == AUTO and words and is_picked:
        raise _asked(
            _('two places are named: "{words}" in words, and the seam that is picked.').format(
                words=words
            ),
            _("Say which of them is meant, under “The place comes from” (--target)."),
        )
    if source == SEAM and not is_picked:
        raise _asked(_("no seam is picked."))
    return _picked(values) if is_picked else ""


def _picked(values: Mapping[str, str]) -> str:
    """Return the place that is picked as words say it."""
    seam, other = values["seam"], values["other-seam"]
    if other == seam:
        raise _asked(
            _("a corner is that of two seams; both are {seam}.").format(seam=spoken_name(seam)),
            _("Pick another one, or none, for the corner."),
        )
    if other != NO_SEAM:
        return f"{seam}/{other}"
    try:
        along = float(values["along"].replace(",", "."))
    except ValueError:
        along = math.nan
    if not (math.isfinite(along) and along >= 0):
        raise _asked(_("how far along the seam has to be a number of 0 or more."))
    if values["along-as"] == LENGTH:
        return f"{seam}:{along:.6g}{values['unit']}"
    if along > 100:
        raise _asked(
            _("{number} per cent lie beyond the seam.").format(number=significant(along, 6)),
            _("Write at most 100, or say that it is a length."),
        )
    return f"{seam}:{along:.6g}%"


def _asked(what: str, remedy: str = "") -> PlaceError:
    return PlaceError(
        what,
        thing=_("The place"),
        remedy=remedy or _("Pick a seam, write the place in words, or choose the marks."),
    )
