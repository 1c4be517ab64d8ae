"""Settings as text: read from options, written to and read from attributes of a result."""

from __future__ import annotations

import functools
from collections.abc import Mapping

from lxml import etree

from drafting_core.model.allowances import Allowances
from drafting_core.model.settings import Settings
from drafting_core.text.errors import SettingError
from drafting_core.text.lengths import parse_measure, told_apart
from drafting_core.text.words import N_, _
from extension.document.roles import name_of, our_attributes
from extension.document.stored_values import UnusableAttributeError, stored
from extension.options.options import FINISHING, MAKING, Option

#: Longer than this (mm) no clearance, allowance or blend on a garment is meant.
LONGEST = 300.0
_LIMITED = ("drawn-short", "clearance", "trim-allowance", "drill-hole", "ease-limit", "blend")


#: The field of `Settings` for every option that has another name there.
_FIELDS = {"as": "made"}
_SPOKEN = {
    "drawn-short": N_("What the dart was drawn short"),
    "clearance": N_("The clearance"),
    "intake": N_("The intake"),
    "ease-limit": N_("The limit of ease"),
    "tuck-length": N_("The length of a tuck"),
    "gather-over": N_("The length to gather over"),
    "trim-allowance": N_("The trim allowance"),
    "wide": N_("The width of a wide dart"),
    "drill-hole": N_("The drill hole's distance"),
    "blend": N_("The blended length"),
}
#: A unit as it is called in a sentence where its sign would be a word of the sentence.
_UNITS_IN_WORDS = {"in": N_("inches")}
_SWITCHES = {
    "true-mouth": N_("Trueing the mouth"),
    "even-legs": N_("Making the legs equal"),
    "artwork": N_("Taking the artwork along"),
}


def read_settings(
    given: Mapping[str, str], bare_unit: str = "mm", base: Settings | None = None
) -> Settings:
    """Return the settings that texts describe.

    Args:
        given: texts by the option's name; options that are left out are as in ``base``.
        bare_unit: the unit of a bare number.
        base: the settings to start from; the defaults where none are given.

    Raises:
        SettingError: if a text cannot be read or is out of its range.
    """
    settings = _read(given, bare_unit, base)
    _check_lengths(settings, given, bare_unit)
    return settings


def _read(given: Mapping[str, str], bare_unit: str, base: Settings | None) -> Settings:
    settings = base or Settings()
    changes: dict[str, object] = {}
    for name, text in given.items():
        field = _FIELDS.get(name, name.replace("-", "_"))
        if name == "share":
            changes[field] = _share(text)
        elif name in ("clearance", "intake", "drawn-short"):
            automatic = text.strip().casefold() in ("", "auto")
            what = _(_SPOKEN[name])
            changes[field] = None if automatic else parse_measure(text, what, bare_unit)
        elif name in ("cloth", "fold", "excess", "as", "fill"):
            changes[field] = text.strip().casefold().replace("center", "centre")
        elif name == "allowance":
            made_with = None if base is None else base.allowances
            changes["allowances"] = Allowances.parse(text, bare_unit, made_with)
        elif name in _SWITCHES:
            changes[field] = _yes_or_no(text, _(_SWITCHES[name]))
        elif name in _SPOKEN:
            changes[field] = parse_measure(text, _(_SPOKEN[name]), bare_unit)
    return settings.but(**changes)


def is_default(option: Option, text: str, bare_unit: str) -> bool:
    """Tell whether a text says of an option of these settings what its default says.

    Lengths are compared, not their spelling: "12.7mm" is "1/2in".
    """
    if text == option.default:
        return True
    try:
        if option.name == "allowance":
            return Allowances.parse(text, bare_unit) == Allowances.parse(option.default)
        return option.name in _SPOKEN and (
            parse_measure(text, "", bare_unit) == parse_measure(option.default, "")
        )
    except SettingError:
        return False


def _check_lengths(settings: Settings, given: Mapping[str, str], bare_unit: str) -> None:
    """Refuse lengths that most likely were meant in another unit.

    Raises:
        SettingError: naming the first of them.
    """
    lengths = [
        (_(_SPOKEN[name]), getattr(settings, _FIELDS.get(name, name.replace("-", "_"))))
        for name in _LIMITED
        if name in given
    ]
    if "allowance" in given:
        widths = (settings.allowances.default, *settings.allowances.by_seam.values())
        lengths.append((_("The seam allowance"), max(widths)))
    for what, length in lengths:
        if length is not None and length > LONGEST:
            raise too_long(length, LONGEST, what, bare_unit)


def too_long(length: float, longest: float, what: str, bare_unit: str) -> SettingError:
    """Return the error for a length that most likely was meant in another unit."""
    told, most = told_apart(length, longest)
    return SettingError(
        _("{length} is more than {longest}.").format(length=told, longest=most),
        thing=what,
        remedy=_("See that the unit is right: a length without one is in {unit} here.").format(
            unit=_(_UNITS_IN_WORDS.get(bare_unit, bare_unit))
        ),
    )


def _share(text: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise SettingError(
            _('"{text}" is no number.').format(text=text),
            thing=_("The share"),
            remedy=_("Write it like 0.5."),
        ) from None


def _yes_or_no(text: str, what: str) -> bool:
    word = text.strip().casefold()
    if word not in ("yes", "no"):
        raise SettingError(
            _('"{text}" is neither yes nor no.').format(text=text),
            thing=what,
            remedy=_("Say yes or no."),
        )
    return word == "yes"


def settings_attributes(settings: Settings) -> dict[str, str]:
    """Return settings as attributes that `read_settings` reads back, exact to the last bit."""
    return {
        "share": repr(settings.share),
        "clearance": "auto" if settings.clearance is None else f"{settings.clearance!r}mm",
        "cloth": settings.cloth,
        "fold": settings.fold,
        "excess": settings.excess,
        "trim-allowance": f"{settings.trim_allowance!r}mm",
        "wide": f"{settings.wide!r}mm",
        "drill-hole": f"{settings.drill_hole!r}mm",
        "allowance": str(settings.allowances),
        "intake": "auto" if settings.intake is None else f"{settings.intake!r}mm",
        "as": settings.made,
        "ease-limit": f"{settings.ease_limit!r}mm",
        "tuck-length": f"{settings.tuck_length!r}mm",
        "gather-over": f"{settings.gather_over!r}mm",
        "blend": f"{settings.blend!r}mm",
        "true-mouth": "yes" if settings.true_mouth else "no",
        "even-legs": "yes" if settings.even_legs else "no",
        "drawn-short": "auto" if settings.drawn_short is None else f"{settings.drawn_short!r}mm",
        "artwork": "yes" if settings.artwork else "no",
        "fill": settings.fill,
    }


def stored_settings(attributes: Mapping[str, str], *, as_finished: bool = True) -> Settings:
    """Return the settings that a result was made with, from its stitch line's attributes.

    Args:
        attributes: the attributes.
        as_finished: whether those that say how its darts were finished are wanted too; how its
            stitch line was made stands with it.

    Raises:
        UnusableAttributeError: if an attribute was changed to something that cannot be read.
    """
    names = [
        option.name
        for option in MAKING
        if option.name in attributes and (as_finished or option not in FINISHING)
    ]
    try:
        return _read({name: attributes[name] for name in names}, "mm", None)
    except SettingError:
        # Which of them it was is looked for only where one is at fault.
        for name in names:
            stored(name, attributes, functools.partial(_alone, name))
        raise


def _alone(name: str, text: str) -> Settings:
    return _read({name: text}, "mm", None)


def settings_of(outline: etree._Element, *, as_finished: bool = True) -> Settings:
    """Return the settings that a result was made with, from its stitch line.

    Args:
        outline: the stitch line.
        as_finished: as for `stored_settings`.

    Raises:
        UnusableAttributeError: naming the stitch line, if an attribute says what cannot be used.
    """
    try:
        return stored_settings(our_attributes(outline), as_finished=as_finished)
    except UnusableAttributeError as error:
        raise error.about(name_of(outline)) from None


def moving_anew(settings: Settings) -> Settings:
    """Return settings with all that says how a dart is moved at its default."""
    plain = Settings()
    return settings.but(
        share=plain.share,
        intake=plain.intake,
        made=plain.made,
        blend=plain.blend,
        true_mouth=plain.true_mouth,
    )
