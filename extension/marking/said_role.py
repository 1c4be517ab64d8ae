"""Saying a role on an object: its label and Dartswing's attributes, both at once.

Editing drops the one or the other, so that both are written. The label the drafter gave the
object herself is kept beside them and comes back with the role taken off.
"""

from __future__ import annotations

from collections.abc import Mapping

from lxml import etree

from drafting_core.model.seam_names import SeamLabel
from drafting_core.text.errors import DraftingError, SettingError
from drafting_core.text.lengths import parse_measure, parse_sides
from drafting_core.text.words import _
from extension.document import roles
from extension.document.namespaces import DARTSWING, INKSCAPE, LABEL, ours
from extension.document.roles import SAID_ATTRIBUTES, Role, our_attributes, parse_label, said_words

#: What is written where an object's id says a role that was taken off it.
NO_ROLE = "no mark"  # not read by drafters
#: Her own label of an object that was given a role.
_WAS = "was"


class Saying:
    """A role with what it carries, in words.

    Attributes:
        role: what a reader has to make of it.
        label: the label that says it.
        attributes: Dartswing's attributes that say it.
    """

    def __init__(self, word: str, carried: Mapping[str, str] | None = None, unit: str = "mm"):
        """Put a role in words.

        Args:
            word: the role.
            carried: what it carries, by the name of its attribute, as the drafter typed it.
            unit: the unit of a bare length.

        Raises:
            SettingError: if something cannot be read, or the label could not be read back.
        """
        values = {key: " ".join(text.split()) for key, text in (carried or {}).items()}
        for key, what in (
            ("allowance", _("The seam allowance")),
            ("length", _("The known length")),
        ):
            if key in values and word != roles.KNOWN_RECTANGLE:
                values[key] = _with_unit(values[key], what, unit)
        if "share" in values:
            values["share"] = _share(values["share"])
        self.role = _role(word, values)
        self.label = _label(word, values)
        self.attributes = {"role": word, **values}
        self._check(values)

    def _check(self, values: Mapping[str, str]) -> None:
        """Refuse what would be read as something else.

        Raises:
            SettingError: naming what was typed.
        """
        try:
            read = parse_label(self.label)
        except DraftingError:
            read = None
        if read != self.role:
            typed = values.get("mate") if " " in values.get("mate", "") else values.get("name", "")
            raise SettingError(
                _(
                    '"{typed}" cannot stand in the label "{label}": it would be read otherwise.'
                ).format(typed=typed, label=self.label),
                remedy=_(
                    "Choose a name that has letters, no number at its end and none of the words "
                    "fold, turned, mate, ease and copy; the name of a mate is one word."
                ),
            )


def _with_unit(text: str, what: str, unit: str) -> str:
    """Return a length as a label can say it: as typed where it names its unit, else in full."""
    length = parse_measure(text, what, unit)
    plain = f"{length:.6f}".rstrip("0").rstrip(".") + "mm"
    for said in (text, f"{text}{unit}"):
        try:
            role = parse_label(f"seam x {said}")  # not read by drafters
        except DraftingError:
            continue
        if role and role.label and role.label.name == "x" and role.label.allowance == length:
            return said
    return plain


def _share(text: str) -> str:
    try:
        share = float(text.replace(",", "."))
    except ValueError:
        share = -1.0
    if not 0.0 <= share <= 1.0:
        raise SettingError(
            _('"{typed}" is no number from 0 to 1.').format(typed=text),
            thing=_("The share"),
            remedy=_("Write it like 0.6."),
        )
    shown = f"{share:.6f}".rstrip("0")
    return f"{shown}0" if shown.endswith(".") else shown


def _role(word: str, values: Mapping[str, str]) -> Role:
    share = float(values["share"]) if "share" in values else None
    if word == roles.SEAM:
        width = values.get("allowance")
        label = SeamLabel(
            values.get("name", ""),
            None if width is None else parse_measure(width, ""),
            "fold" in values,
            "turned" in values,
            values.get("mate", ""),
        )
        return Role(word, label=label)
    if word in (roles.KNOWN_LENGTH, roles.KNOWN_GRID):
        return Role(word, length=parse_measure(values["length"], ""))
    if word == roles.KNOWN_RECTANGLE:
        return Role(word, sides=parse_sides(values["length"]))
    if word == roles.STYLE_LINE:
        return Role(word, name=values.get("name", ""))
    return Role(word, share=share, made=values.get("as", ""))


def _label(word: str, values: Mapping[str, str]) -> str:
    parts = [
        word,
        values.get("name", ""),
        values.get("allowance", ""),
        values.get("length", ""),
        values.get("share", ""),
        f"as {values['as']}" if "as" in values else "",  # not read by drafters
        "fold" if "fold" in values else "",
        "turned" if "turned" in values else "",
        f"mate {values['mate']}" if "mate" in values else "",  # not read by drafters
    ]
    return " ".join(filter(None, parts))


def say(element: etree._Element, saying: Saying) -> None:
    """Give an object a role, in place of any that it has; said already, nothing changes."""
    # What lxml declares on an element, it declares by these prefixes.
    etree.register_namespace("dartswing", DARTSWING)
    etree.register_namespace("inkscape", INKSCAPE)
    label = (element.get(LABEL) or "").strip()
    attributes = our_attributes(element)
    wanted = {**saying.attributes, "said": saying.label}
    own = own_label(label, attributes)
    if own:
        wanted[_WAS] = own
    # The name of an outline is that of its piece, and no part of its role.
    stays_outline = saying.role.word == roles.OUTLINE == attributes.get("role")
    _drop(element, SAID_ATTRIBUTES - set(wanted) - ({"name"} if stays_outline else set()))
    for key, text in wanted.items():
        if attributes.get(key) != text:
            _drop(element, {key})
            element.set(ours(key), text)
    if label != saying.label:
        element.set(LABEL, saying.label)


def own_label(label: str, attributes: Mapping[str, str]) -> str:
    """Return the label that the drafter gave an object for herself, or an empty string."""
    if not label or label == attributes.get("said"):
        return ""
    try:
        return "" if parse_label(label) is not None or label == NO_ROLE else label
    except DraftingError:
        return ""


def unsay(element: etree._Element) -> None:
    """Take an object's role off it, and give it back the label that it had before."""
    label = (element.get(LABEL) or "").strip()
    attributes = our_attributes(element)
    own = own_label(label, attributes) or attributes.get(_WAS, "")
    _drop(element, SAID_ATTRIBUTES | {_WAS, "of", "why", "put", "self"})
    if own:
        if own != label:
            element.set(LABEL, own)
        return
    if label:
        element.attrib.pop(LABEL)
    if any(_is_role(words) for words in said_words(element)):
        # Failing a label the id counts, and other things may refer to the id.
        etree.register_namespace("inkscape", INKSCAPE)
        element.set(LABEL, NO_ROLE)


def _is_role(words: str) -> bool:
    try:
        return parse_label(words) is not None
    except DraftingError:
        return True


def _drop(element: etree._Element, names: set[str] | frozenset[str]) -> None:
    for key in names:
        for spelling in (ours(key), f"dartswing:{key}"):
            if spelling in element.attrib:
                del element.attrib[spelling]
