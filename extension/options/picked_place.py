"""Where the dart of a move goes: picked from lists, said in words, or marked on the drawing."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping

from drafting_core.model.seam_names import spoken_name
from drafting_core.text.errors import PlaceError, SettingError
from drafting_core.text.lengths import parse_measure
from drafting_core.text.words import _
from extension.options.options import AUTO, LENGTH, MARKS, NO_SEAM, SEAM, WORDS


def place_asked_for(values: Mapping[str, str], typed: Collection[str] = ()) -> str:
    """Return the place in words; an empty text where the target marks say it.

    Args:
        values: texts by the option's name: ``target``, ``to``, ``seam``, ``other-seam``,
            ``along``, ``along-as`` and ``unit``.
        typed: the options that were typed on the command line. A dialog shows them all, and how
            far along may stand there from an earlier run.

    Raises:
        PlaceError: if two places are named, or none where one has to be.
    """
    source, words = values["target"], values["to"].strip()
    is_picked = values["seam"] != NO_SEAM
    if source == MARKS:
        return ""
    if source == AUTO and not is_picked:
        _check_nothing_half_said(values["other-seam"], typed)
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


def _check_nothing_half_said(other: str, typed: Collection[str]) -> None:
    """Refuse what says more of a seam where none is picked.

    Raises:
        PlaceError: if a corner's other seam is picked, or it is said how far along.
    """
    if other != NO_SEAM:
        raise _asked(
            _("only the other seam of a corner is picked, {seam}.").format(seam=spoken_name(other)),
            _(
                "Pick the seam too (--seam), or none for the corner (--other-seam); or choose "
                "where the place comes from (--target)."
            ),
        )
    if not {"along", "along-as"}.isdisjoint(typed):
        raise _asked(
            _("it is said how far along a seam, and no seam is picked."),
            _("Pick the seam (--seam), or leave that out."),
        )


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
    return f"{seam}:{_along(values['along'].strip(), values['along-as'], values['unit'])}"


def _along(text: str, along_as: str, unit: str) -> str:
    """Return how far along a seam as words say it: "35%", "80mm", "2 1/2in".

    Args:
        text: per cent or a length where it says so itself, else what ``along_as`` says.
        along_as: what a bare number is.
        unit: the unit of a bare length.

    Raises:
        PlaceError: if it is neither, or per cent beyond the seam.
    """
    number = text.removesuffix("%").rstrip()
    is_bare = re.fullmatch(r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[-+]?\d+)?", number, re.I)
    if is_bare and (number != text or along_as != LENGTH):
        per_cent = float(number.replace(",", "."))
        if not 0.0 <= per_cent <= 100.0:
            raise _asked(
                _('"{text}" per cent lies beyond the seam.').format(text=number),
                _("Write per cent from 0 to 100, or a length like 80mm or 2 1/2in."),
            )
        return f"{per_cent:.9g}%"
    has_unit = re.search(r"[^\W\d_]\s*$|\"\s*$", number) is not None
    if number != text or not (has_unit or along_as == LENGTH):
        raise _no_way_along(text)
    try:
        parse_measure(text, _("The place"), unit)
    except SettingError as error:
        raise _no_way_along(text) from error
    if has_unit:
        return text
    return f"{float(text.replace(',', '.')):.9g}{unit}" if is_bare else f"{text}{unit}"


def _no_way_along(text: str) -> PlaceError:
    return _asked(
        _('"{text}" does not say how far along the seam.').format(text=text),
        _("Write it like 35%, 80mm, 2.5cm or 2 1/2in."),
    )


def _asked(what: str, remedy: str = "") -> PlaceError:
    return PlaceError(
        what,
        thing=_("The place"),
        remedy=remedy or _("Pick a seam, write the place in words, or choose the marks."),
    )
