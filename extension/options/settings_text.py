"""Settings as text: options of a command line or dialog, and attributes of a result."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from lxml import etree

from drafting_core.model.allowances import DEFAULT_ALLOWANCE_TEXT, Allowances
from drafting_core.model.piece import MADE_AS
from drafting_core.model.seam_names import SEAMS_IN_ORDER
from drafting_core.model.settings import CLOTHS, EXCESSES, FOLDS, Settings
from drafting_core.text.errors import SettingError
from drafting_core.text.lengths import parse_measure
from drafting_core.text.words import N_, _
from extension.document.roles import name_of, our_attributes
from extension.document.stored_values import UnusableAttributeError, stored


class Option(NamedTuple):
    """One setting of the drafter's.

    Attributes:
        name: its name on the command line, without the dashes before it.
        default: its default, as text.
        help: what it does, in plain words.
        choices: the words that it takes, or none for a length or a number.
        is_number: whether it is a plain number.
        is_switch: whether it is ``yes`` or ``no``; on the command line its name alone says yes.
    """

    name: str
    default: str
    help: str
    choices: tuple[str, ...] = ()
    is_number: bool = False
    is_switch: bool = False

    @property
    def field(self) -> str:
        """Its name in a dialog and in Python."""
        return self.name.replace("-", "_")


#: Longer than this (mm) no clearance, allowance or blend on a garment is meant.
LONGEST = 300.0
_LIMITED = ("clearance", "trim-allowance", "drill-hole", "ease-limit", "blend")
#: What says how a dart is finished: the same for every command.
FINISHING = (
    Option(
        "clearance",
        "",
        "how far short of the apex the dart point lies, like 1in or 25mm (left out: 1in on a "
        "bodice front or a piece of unknown kind, else 0)",
    ),
    Option("cloth", "woven", "the cloth; fine means silky or slippery", CLOTHS),
    Option(
        "fold",
        "auto",
        "which way the excess is folded; auto goes by the seam that the dart is on",
        FOLDS,
    ),
    Option(
        "excess",
        "auto",
        "whether the folded excess stays or is cut away; auto goes by place, size and cloth",
        EXCESSES,
    ),
    Option("trim-allowance", "1/2in", "what a trimmed dart keeps beside each leg"),
    Option("wide", "75mm", "the intake beyond which a dart counts as wide"),
    Option("drill-hole", "1/2in", "how far short of the dart point the drill hole is"),
    Option(
        "allowance",
        DEFAULT_ALLOWANCE_TEXT,
        'the seam allowances, like "1/2in, neckline=1/4in, hem=40mm turned"; turned: folded back '
        "on the piece, its ends mirrored to lie flat",
    ),
)
#: What a clean-up of a trace has.
CLEANING = (
    Option("gap", "5mm", "the largest gap that is closed, and the largest overshoot that is cut"),
    Option("tolerance", "0.5mm", "how far a seam may stray from the trace"),
    Option(
        "upright",
        "yes",
        "whether the block is turned so that its straight centre seam, or a grain mark, is "
        "vertical",
        ("yes", "no"),
    ),
    Option(
        "square",
        "yes",
        "whether angles within 1.5 degrees of square are made square where neckline, waist and "
        "hem meet the centre",
        ("yes", "no"),
    ),
    Option(
        "half",
        "no",
        "whether a whole piece that was traced unfolded becomes its half: the left one, the "
        "right one, or their mean",
        ("no", "left", "right", "mean"),
    ),
)
#: What a move has beside the finishing options.
MOVING = (
    Option(
        "to",
        "",
        'where the dart goes, like "side seam:0.35", "neckline/centre front" or "waist"; several '
        'places with their shares like "side seam:0.35=0.6; neckline:0.5=0.4"; each may end in '
        '"as gathers" or "from shoulder" (left out: to the target marks)',
    ),
    Option("share", "1.0", "how much of the dart is moved, from 0 to 1", is_number=True),
    Option(
        "intake",
        "",
        "the width that the mouth at the target is to have, like 20mm; the rest of the dart stays "
        "(left out: by share)",
    ),
    Option(
        "as",
        "dart",
        "what becomes of the opening: a finished dart, gathers, ease, a tuck or a flare",
        MADE_AS,
    ),
    Option("ease-limit", "12mm", "the most that can be eased into a seam"),
    Option("tuck-length", "50mm", "how far a tuck is stitched from the seam"),
    Option(
        "blend",
        "0",
        "the length over which a seam is drawn smooth where a dart was closed, half of it to each "
        "side, like 40mm; 0 leaves the seam exact, with its corner",
    ),
    Option(
        "true-mouth",
        "no",
        "whether the seam is drawn smooth across the new dart, as it lies folded shut, over the "
        "length of blend (40mm where that is 0)",
        ("yes", "no"),
        is_switch=True,
    ),
    Option(
        "nest",
        "no",
        "whether blocks without an apex, target or seam names of their own take them from the "
        "one block that has a target",
        ("yes", "no"),
        is_switch=True,
    ),
)
#: What says how a result was made; all of it is kept with the result.
MAKING = (*(option for option in MOVING if option.name not in ("to", "nest")), *FINISHING)
#: What a comparison has beside the finishing options.
COMPARING = (
    Option(
        "to",
        "",
        'the places to compare, as in "neckline/centre front; side seam:0.35; waist" (left out: '
        "the target marks)",
    ),
    Option("page", "A4", "the page that the sheet is drawn for", ("A4", "Letter")),
)
#: What names the piece.
NAMING = (
    Option("name", "", "the piece's name (left out: that of its layer or group)"),
    Option("size", "", "the piece's size, written under its name"),
)
#: What an allowance run does with a result's own settings.
AS_MADE = Option(
    "as-made",
    "yes",
    "whether a result keeps the settings it was made with where no others are given",
    ("yes", "no"),
    is_switch=True,
)
#: What becomes of the other blocks where one cannot be drafted.
KEEP_GOING = Option(
    "keep-going",
    "no",
    "whether blocks that cannot be drafted are left out, and the others written",
    ("yes", "no"),
    is_switch=True,
)
#: What marking parts has: the role and what it carries.
MARKING = (
    Option(
        "role",
        "outline",
        "what the selected objects are; none takes their role off",
        (
            "outline",
            "apex",
            "target",
            "seam",
            "hold",
            "dart",
            "grain",
            "notch",
            "known length",
            "known rectangle",
            "inner line",
            "style line",
            "none",
        ),
    ),
    Option(
        "seam",
        "other",
        "the seam that a seam mark names; other: as --name says",
        ("other", *SEAMS_IN_ORDER),
    ),
    Option("name", "", "the name of a seam in your own words, or of a style line's seam"),
    Option("allowance", "", "the seam allowance of a seam, like 12mm or 1/2in"),
    Option(
        "fold",
        "no",
        "whether a seam lies on the fold of the cloth",
        ("yes", "no"),
        is_switch=True,
    ),
    Option(
        "turned",
        "no",
        "whether a seam's allowance is turned back on the piece, as a hem is",
        ("yes", "no"),
        is_switch=True,
    ),
    Option("mate", "", "the one word that a seam shares with the seam it is sewn to"),
    Option("share", "", "the share of a target or of a dart, from 0 to 1"),
    Option(
        "length",
        "",
        "the true length of a known length, like 100mm, or the sides of a known rectangle, "
        "like 210x297mm or A4",
    ),
    Option(
        "as",
        "any",
        "what becomes of the opening at a target; any: as the command says that moves the dart",
        ("any", *MADE_AS),
    ),
)
#: The units that a bare number can have.
UNITS = Option("unit", "mm", "the unit of lengths that name none", ("mm", "cm", "in"))


#: The field of `Settings` for every option that has another name there.
_FIELDS = {"as": "made"}
_SPOKEN = {
    "clearance": N_("The clearance"),
    "intake": N_("The intake"),
    "ease-limit": N_("The limit of ease"),
    "tuck-length": N_("The length of a tuck"),
    "trim-allowance": N_("The trim allowance"),
    "wide": N_("The width of a wide dart"),
    "drill-hole": N_("The drill hole's distance"),
    "blend": N_("The blended length"),
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
        elif name in ("clearance", "intake"):
            automatic = text.strip().casefold() in ("", "auto")
            what = _(_SPOKEN[name])
            changes[field] = None if automatic else parse_measure(text, what, bare_unit)
        elif name in ("cloth", "fold", "excess", "as"):
            changes[field] = text.strip().casefold().replace("center", "centre")
        elif name == "allowance":
            made_with = None if base is None else base.allowances
            changes["allowances"] = Allowances.parse(text, bare_unit, made_with)
        elif name == "true-mouth":
            changes[field] = _yes_or_no(text, _("Trueing the mouth"))
        elif name in _SPOKEN:
            changes[field] = parse_measure(text, _(_SPOKEN[name]), bare_unit)
    return replace(settings, **changes)  # type: ignore[arg-type]


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
    return SettingError(
        _("{length:.0f} mm is more than {longest:.0f} mm.").format(length=length, longest=longest),
        thing=what,
        remedy=_("See that the unit is right: a length without one is in {unit} here.").format(
            unit=bare_unit
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
        "blend": f"{settings.blend!r}mm",
        "true-mouth": "yes" if settings.true_mouth else "no",
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
    return replace(
        settings,
        share=plain.share,
        intake=plain.intake,
        made=plain.made,
        blend=plain.blend,
        true_mouth=plain.true_mouth,
    )
