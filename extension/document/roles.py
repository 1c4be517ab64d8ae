"""Roles: what an object is, said by its label, its id or Dartswing's attributes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from lxml import etree

from drafting_core.block.target_words import conditions
from drafting_core.model.piece import MADE_AS
from drafting_core.model.seam_names import SeamLabel
from drafting_core.text.errors import DraftingError, SettingError
from drafting_core.text.lengths import parse_length, parse_measure, parse_sides
from drafting_core.text.words import _
from extension.document.namespaces import DARTSWING, GROUP_MODE, LABEL, svg
from extension.document.stored_values import stored, stored_share

OUTLINE = "outline"
APEX = "apex"
TARGET = "target"
SEAM = "seam"
HOLD = "hold"
DART = "dart"
GRAIN = "grain"
KNOWN_LENGTH = "known length"  # not read by drafters
KNOWN_RECTANGLE = "known rectangle"  # not read by drafters
KNOWN_GRID = "known grid"  # not read by drafters
NOTCH = "notch"
INNER_LINE = "inner line"  # not read by drafters
STYLE_LINE = "style line"  # not read by drafters
#: Extra width of a result that is no dart; said by attributes alone.
FULLNESS = "fullness"

#: Roles of marks of which only the place counts, so that any object can have them, a clone too.
PLACED = frozenset({APEX, TARGET, SEAM, HOLD, DART, NOTCH})

_WORDS = {  # not read by drafters
    "block outline": OUTLINE,
    "outline": OUTLINE,
    "bust point": APEX,
    "apex": APEX,
    "target seam": TARGET,
    "target": TARGET,
    "seam": SEAM,
    "hold": HOLD,
    "dart": DART,
    "grainline": GRAIN,
    "grain": GRAIN,
    "known length": KNOWN_LENGTH,
    "known rectangle": KNOWN_RECTANGLE,
    "known grid": KNOWN_GRID,
    "known squares": KNOWN_GRID,
    "notch": NOTCH,
    "inner line": INNER_LINE,
    "style line": STYLE_LINE,
    "style-line": STYLE_LINE,
}
#: What a copied object's label or id may end in: "apex 2", "apex-3", "apex (2)", "apex copy".
#: What may follow a role's word, beside a digit.
_BEHIND_A_WORD = " .,(#_-"
_COPY = r"\s*(?:\bcopy\b\s*\d*|\(\d+\)|[#_-]\s*\d+|\d+)\s*$"
_SHARE = r"(0?[.,]\d+|[01][.,]0*|0)(?=\s|$)"
# Patterns that most drawings do not need are left as text, for `re` to compile at first use.
_CONDITIONS = r"""(?xi)(?P<amount>0?[.,]\d+|1[.,]0*|(?:\d+\s+)?\d+\s*/\s*\d+\s*(?:mm|cm|in|")
        |\d*[.,]?\d+\s*(?:mm|cm|in|"))?
        (?:\s*\bas\s+[^\W\d]+)?(?:\s*\bfrom\s+\S.*)?$"""  # not read by drafters
_LENGTH = (
    r"((?:\d+\s+)?\d+\s*/\s*\d+\s*(?:mm|cm|inch(?:es)?|in|\")"
    r"|\d*[.,]?\d+\s*(?:mm|cm|inch(?:es)?|in|\"))\s*$"
)
_LENGTH_AT_END = rf"(?i)\s{_LENGTH}"
_EASE_AT_END = rf"(?i)\sease\s+{_LENGTH}"
_MATE_AT_END = r"(?i)\smate\s+(\S+)\s*$"
_TURNED_AT_END = r"(?i)\sturned\s*$"
#: Words in a seam's label that are not its name.
_SAYING = frozenset({"fold", "turned", "mate", "ease", "copy"})


class Role(NamedTuple):
    """What an object is and what it carries.

    Attributes:
        word: the role, one of this module's constants.
        label: what is said of the seam, for a seam.
        share: the share of a target or a dart, or None.
        length: the known length or the side of a known grid's squares in mm, or how long a
            result's fullness is sewn, or None.
        sides: the sides of a known rectangle in mm, or None.
        intake: the width in mm that is asked of a target, or None.
        made: what becomes of a target's opening, or of a result's fullness, or an empty string.
        source: the darts that a target takes from, or an empty string.
        name: the name of a style line's seam, or an empty string.
    """

    word: str
    label: SeamLabel | None = None
    share: float | None = None
    length: float | None = None
    intake: float | None = None
    made: str = ""
    source: str = ""
    name: str = ""
    sides: tuple[float, float] | None = None


def is_layer(element: etree._Element) -> bool:
    """Tell whether an element is a layer of the editor."""
    return bool(element.get(GROUP_MODE) == "layer")


def our_attributes(element: etree._Element) -> dict[str, str]:
    """Return Dartswing's attributes of an element, with the prefix declared or not."""
    found = {}
    for name, value in element.attrib.items():
        key = str(name)
        if key.startswith(f"{{{DARTSWING}}}"):
            found[key[len(DARTSWING) + 2 :]] = str(value)
        elif key.startswith("dartswing:"):
            found[key[len("dartswing:") :]] = str(value)
    return found


def drawn_by_us(element: etree._Element) -> bool:
    """Tell whether Dartswing drew an object, and it is no copy of one that it drew.

    What Dartswing draws keeps its own id in ``dartswing:self``; a copy gets another id.
    """
    own = our_attributes(element).get("self")
    return own is not None and own == element.get("id")


def said_attributes(element: etree._Element) -> dict[str, str]:
    """Return Dartswing's attributes of an element as they hold beside its label and text.

    A mark that Dartswing wrote says its role twice, by label and by attributes, and keeps both
    texts as it wrote them: a label that the drafter typed anew since then speaks alone, and so
    does the name of a seam that she typed anew in the drawing.
    """
    attributes = our_attributes(element)
    label = (element.get(LABEL) or "").strip()
    if label and label != attributes.get("said", label) and parse_label(label) is not None:
        return {name: text for name, text in attributes.items() if name not in SAID_ATTRIBUTES}
    if "shown" in attributes:
        shown = " ".join("".join(element.itertext()).split())
        if shown and shown != attributes["shown"]:
            attributes["name"] = shown
    return attributes


def is_result(element: etree._Element) -> bool:
    """Tell whether an element is the layer of an earlier result."""
    return bool(element.tag == svg("g")) and "result" in our_attributes(element)


def is_shown_only(element: etree._Element) -> bool:
    """Tell whether an element is a teaching sheet, which is looked at and never drafted from."""
    return bool(element.tag == svg("g")) and "sheet" in our_attributes(element)


def name_of(element: etree._Element) -> str:
    """Return what the drafter calls an object: its label, else its id, else its kind.

    A label that only says a role is shared by many objects: the id tells them apart.
    """
    label = (element.get(LABEL) or "").strip()
    identity = (element.get("id") or "").strip()
    if label:
        is_bare = identity and label.casefold() in _WORDS and label.casefold() != identity
        if is_bare:
            return _('"{label}" (id {id})').format(label=label, id=identity)
        return f'"{label}"'
    kind = etree.QName(element).localname
    return f'"{identity}"' if identity else _("a {kind} without a name").format(kind=kind)


def said_words(element: etree._Element) -> Iterator[str]:
    """Yield the words that may say an object's role: its label or, failing that, its id."""
    label = (element.get(LABEL) or "").strip()
    if label:
        yield label
    elif element.get("id"):
        yield re.sub(r"[_\-]+", " ", str(element.get("id")))


def role_of(element: etree._Element, *, attributes_only: bool = False) -> Role | None:
    """Return the role of an object, or None.

    Args:
        element: the object.
        attributes_only: whether labels and ids do not count, as inside a result.

    Raises:
        DraftingError: if a role carries something that cannot be read.
    """
    role = _of_label(element) if not attributes_only and not is_layer(element) else None
    attributes = our_attributes(element) if attributes_only else said_attributes(element)
    word = " ".join(attributes.get("role", "").casefold().replace("-", " ").split())
    if word:
        known = FULLNESS if word == FULLNESS else _WORDS.get(word)
        if known is None:
            return role
        role = role if role is not None and role.word == known else Role(known)
    if role is None:
        return None
    try:
        return _with_attributes(role, attributes)
    except DraftingError as error:
        raise error.about(name_of(element)) from None


def _of_label(element: etree._Element) -> Role | None:
    for words in said_words(element):
        try:
            return parse_label(words)
        except DraftingError as error:
            raise error.about(name_of(element)) from None
    return None


def parse_label(text: str) -> Role | None:
    """Read a role from a label.

    Raises:
        SettingError: if a known length has no length.
    """
    words = " ".join(text.split())
    folded = words.casefold()
    for start, word in _WORDS.items():
        if not folded.startswith(start):
            continue
        behind = folded[len(start) : len(start) + 1]
        if behind and behind not in _BEHIND_A_WORD and not behind.isdecimal():
            continue
        rest = words[len(start) :].strip()
        if rest and word in (TARGET, DART):
            rest = re.sub(r"^[_-]\s*(?=0?[.,]\d)", "", rest)
        if word == SEAM:
            return Role(SEAM, label=seam_label(rest))
        if word == STYLE_LINE:
            return Role(STYLE_LINE, name=re.sub(_COPY, "", f" {rest}", flags=re.IGNORECASE).strip())
        if word in (KNOWN_LENGTH, KNOWN_GRID):
            # "known length 100mm copy 2": the copy's number is taken off, the length stays.
            text_length = re.sub(r"\s*\bcopy\b\s*\d*$|\s+\d+$", "", rest, flags=re.I) or rest
            return Role(word, length=parse_length(text_length))
        if word == KNOWN_RECTANGLE:
            text_sides = re.sub(r"\s*\bcopy\b\s*\d*$|(?<=[\w\"])\s+\d+$", "", rest, flags=re.I)
            return Role(KNOWN_RECTANGLE, sides=parse_sides(text_sides or rest))
        if word == TARGET:
            return _target_role(rest)
        share = None
        if word == DART and (found := re.match(_SHARE, rest)):
            share, rest = float(found[1].replace(",", ".")), rest[found.end() :]
        if rest and re.sub(_COPY, "", f" {rest}", flags=re.IGNORECASE).strip():
            # Some other word follows: the label speaks of something else.
            return None
        return Role(word, share=share)
    return None


def _target_role(rest: str) -> Role | None:
    """Read what follows ``target``: an amount, ``as`` what, ``from`` which dart."""
    for text in (rest, re.sub(_COPY, "", f" {rest}", flags=re.IGNORECASE).strip()):
        if not text or re.match(_CONDITIONS, text):
            return Role(TARGET, **conditions(text)._asdict())
    return None


def near_misses(root: etree._Element, word: str) -> list[str]:
    """Return up to three objects whose label starts like a role but is not read as one.

    Args:
        root: where to look.
        word: the role that is missed.
    """
    names = [
        name_of(element)
        for element in root.iter()
        if isinstance(element.tag, str)
        and not is_layer(element)
        and (element.get(LABEL) or "").strip().casefold().startswith(word)
        and role_of(element) is None
    ]
    return names[:3]


def misread_labels(parent: etree._Element) -> Iterator[etree._Element]:
    """Yield the drafter's objects whose label begins with a role's word and is not read as one."""
    for element in parent.iterchildren(etree.Element):
        is_drawn = not (is_result(element) or is_shown_only(element) or drawn_by_us(element))
        if not is_drawn or element.tag == svg("defs"):
            continue
        label = (element.get(LABEL) or "").strip().casefold()
        if label.startswith(tuple(_WORDS)) and not is_layer(element):
            said = re.match(rf"(?:{'|'.join(_WORDS)})\b", label)
            if said and role_of(element) is None:
                yield element
        yield from misread_labels(element)


def seam_label(text: str) -> SeamLabel:
    """Read what follows ``seam``: a name, then in any order a width and what else it says.

    That is ``fold``, ``turned``, ``mate NAME``, ``ease 10mm`` and a copy's number.

    Raises:
        SettingError: if a width, a mate or an ease is said but not given.
    """
    words = text.casefold().split()
    if words and all(word.isalpha() for word in words) and _SAYING.isdisjoint(words):
        return SeamLabel(text.strip())
    rest, fold, width = f" {text.strip()}", False, None
    turned, mate, ease = False, "", None
    while True:
        found = re.search(_EASE_AT_END, rest)
        if found and ease is None:
            ease, rest = parse_measure(found[1], _("The ease")), rest[: found.start()]
            continue
        found = re.search(_MATE_AT_END, rest)
        if found and not mate:
            mate, rest = found[1], rest[: found.start()]
            continue
        found = re.search(_TURNED_AT_END, rest)
        if found and not turned:
            turned, rest = True, rest[: found.start()]
            continue
        found = re.search(_LENGTH_AT_END, rest)
        if found and width is None:
            width, rest = parse_measure(found[1], _("The seam allowance")), rest[: found.start()]
            continue
        if re.search(r"\sfold\s*$", rest, re.IGNORECASE) and not fold:
            fold, rest = True, re.sub(r"\s+fold\s*$", "", rest, flags=re.IGNORECASE)
            continue
        stripped = re.sub(_COPY, "", rest, flags=re.IGNORECASE)
        if stripped != rest and stripped.strip():
            rest = stripped
            continue
        break
    name = rest.strip()
    if width is None and re.search(r"(?:^|\s)[-+]?[\d.,/]*\d[.,]?\s*[^\W\d]+\.?$", name):
        raise SettingError(
            _('"{name}" ends in what looks like a width but is none.').format(name=name),
            remedy=_("Write the allowance like 12mm, 2.5cm, 1/2in or 1 1/4in."),
        )
    if unsaid := re.search(r"(?:^|\s)(ease|mate)$", name, re.IGNORECASE):
        raise SettingError(
            _('"{text}" says {word}, but not which.').format(text=text.strip(), word=unsaid[1]),
            remedy=_('Write it like "seam side seam mate A ease 10mm".'),
        )
    if name.isdigit():
        name = f"seam {name}"  # not read by drafters
    return SeamLabel(name, width, fold, turned, mate, ease)


def _with_attributes(role: Role, attributes: dict[str, str]) -> Role:
    if role.word == SEAM:
        role = role._replace(label=attributed_label(role.label or SeamLabel(""), attributes))
    if "share" in attributes and role.word in (TARGET, DART):
        role = role._replace(share=stored_share(attributes))
    if "intake" in attributes and role.word == TARGET:
        role = role._replace(
            intake=stored("intake", attributes, lambda text: parse_measure(text, ""))
        )
    if "as" in attributes and role.word in (TARGET, FULLNESS):
        role = role._replace(made=stored("as", attributes, _made))
    if "over" in attributes and role.word == FULLNESS:
        role = role._replace(
            length=stored("over", attributes, lambda text: parse_measure(text, ""))
        )
    if "from" in attributes and role.word == TARGET:
        role = role._replace(source=attributes["from"].strip())
    if "name" in attributes and role.word == STYLE_LINE:
        role = role._replace(name=attributes["name"].strip())
    if "length" in attributes and role.word in (KNOWN_LENGTH, KNOWN_GRID):
        role = role._replace(length=stored("length", attributes, parse_length))
    if "length" in attributes and role.word == KNOWN_RECTANGLE:
        role = role._replace(sides=stored("length", attributes, parse_sides))
    return role


def _made(text: str) -> str:
    try:
        return conditions(f"as {text}").made  # not read by drafters
    except DraftingError as error:
        remedy = _("Use one of {choices}.").format(choices=", ".join(MADE_AS))
        raise SettingError(error.what, remedy=remedy) from None


def attributed_label(label: SeamLabel, attributes: dict[str, str]) -> SeamLabel:
    """Return a seam's label with Dartswing's attributes winning over it.

    Raises:
        UnusableAttributeError: if one of them says a length that cannot be read.
    """

    def said(name: str, otherwise: bool) -> bool:
        if name not in attributes:
            return otherwise
        return attributes[name].strip().casefold() in ("yes", "true", "1")

    def length(name: str, otherwise: float | None) -> float | None:
        if name not in attributes:
            return otherwise
        return stored(name, attributes, lambda text: parse_measure(text, ""))

    return SeamLabel(
        attributes.get("name", label.name).strip(),
        length("allowance", label.allowance),
        said("fold", label.fold),
        said("turned", label.turned),
        attributes.get("mate", label.mate).strip(),
        length("ease", label.ease),
    )


#: The attributes that say something of a seam.
SEAM_ATTRIBUTES = frozenset({"name", "allowance", "fold", "turned", "mate", "ease"})
#: The attributes that say what an object is, and the texts that were written with them.
SAID_ATTRIBUTES = SEAM_ATTRIBUTES | {
    *("role", "share", "intake", "as", "from", "length", "over", "said", "shown"),
}
