"""Selectors of style rules (those of CSS 2.1, and some of level 3), and the elements they pick."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from lxml import etree

_STEP = re.compile(
    r"\s*([>+~])\s*|(\s+)|(?:[\w*-]*\|)?(\*|[\w-]+)?"
    r"((?:#[\w-]+|\.[\w-]+|\[[^\]]*\]|:{1,2}[\w-]+(?:\((?:[^()]|\([^)]*\))*\))?)*)"
)
_PART = re.compile(
    r"#([\w-]+)|\.([\w-]+)|\[([^\]]*)\]|:{1,2}([\w-]+)(?:\(((?:[^()]|\([^)]*\))*)\))?"
)
_ATTRIBUTE = re.compile(r"\s*([\w:-]+)\s*(?:([~|^$*]?=)\s*[\"']?([^\"']*)[\"']?\s*)?$")
_NTH = re.compile(r"\s*(?:(odd|even)|([+-]?\d*)n\s*([+-]\s*\d+)?|([+-]?\d+))\s*$")


class _Compound(NamedTuple):
    """What a selector wants of one element, and how that stands to the one before."""

    combinator: str
    tag: str
    identity: str
    classes: tuple[str, ...]
    attributes: tuple[tuple[str, str, str], ...]
    states: tuple[tuple[str, str], ...]


class Selector:
    """A selector as it stands before a rule's declarations.

    Attributes:
        key: under what it is looked for: an id with "#", a class with ".", a tag, or "*". Every
            element that it picks has it.
        weight: how much its rule weighs against others.
        goes_by_class: whether it is all the same which of the elements of a tag and a class it
            meets.
    """

    def __init__(self, compounds: Sequence[_Compound]) -> None:
        """Keep its compounds, from left to right; there is one at least."""
        self._compounds = compounds
        last = compounds[-1]
        self.key = last.tag
        if last.identity or last.classes:
            self.key = f"#{last.identity}" if last.identity else f".{last.classes[0]}"
        self.weight = (
            sum(bool(each.identity) for each in compounds),
            sum(len(each.classes) + len(each.attributes) + len(each.states) for each in compounds),
            sum(each.tag != "*" for each in compounds),
        )
        self.goes_by_class = len(compounds) == 1 and not (
            last.identity or last.attributes or last.states
        )

    def picks(self, element: etree._Element) -> bool:
        """Tell whether it picks an element."""
        return _picks(self._compounds, len(self._compounds) - 1, element)


def selectors_of(text: str) -> list[Selector]:
    """Return the selectors of a rule, without those that cannot be read."""
    parts = re.findall(r"(?:[^,(\[]|\([^)]*\)|\[[^\]]*\])+", text)
    return [Selector(compounds) for part in parts if (compounds := _compounds(part.strip()))]


def _compounds(selector: str) -> tuple[_Compound, ...]:
    """Return a selector's compounds from left to right; none where it cannot be read."""
    found: list[_Compound] = []
    combinator, position = "", 0
    while position < len(selector):
        step = _STEP.match(selector, position)
        if step is None or step.end() == position:
            return ()
        position = step.end()
        if step[1]:
            combinator = step[1]
        elif step[2]:
            combinator = combinator or " "
        else:
            parts = _parts(step[4])
            if parts is None or (found and not combinator):
                return ()
            found.append(parts._replace(combinator=combinator, tag=step[3] or "*"))
            combinator = ""
    return () if combinator else tuple(found)


def _parts(text: str) -> _Compound | None:
    identity, classes, attributes, states = "", [], [], []
    for an_id, a_class, attribute, state, argument in _PART.findall(text):
        if an_id:
            identity = an_id
        elif a_class:
            classes.append(a_class)
        elif state:
            states.append((state, argument))
        else:
            found = _ATTRIBUTE.match(attribute)
            if found is None:
                return None
            attributes.append((found[1], found[2] or "", found[3] or ""))
    return _Compound("", "*", identity, tuple(classes), tuple(attributes), tuple(states))


def _picks(compounds: Sequence[_Compound], last: int, element: etree._Element) -> bool:
    if not _is_like(compounds[last], element):
        return False
    if last == 0:
        return True
    near: Iterator[etree._Element]
    combinator = compounds[last].combinator
    is_around = combinator in " >"
    near = element.iterancestors() if is_around else element.itersiblings(preceding=True)
    for other in near:
        if not isinstance(other.tag, str):
            continue
        if _picks(compounds, last - 1, other):
            return True
        if combinator in ">+":
            return False
    return False


def _is_like(compound: _Compound, element: etree._Element) -> bool:
    if compound.tag not in ("*", str(element.tag).rpartition("}")[2]):
        return False
    if compound.identity and compound.identity != element.attrib.get("id"):
        return False
    if compound.classes:
        held = str(element.attrib.get("class") or "").split()
        if not all(name in held for name in compound.classes):
            return False
    return all(_has(element, *wanted) for wanted in compound.attributes) and all(
        _is_in_state(element, *state) for state in compound.states
    )


def _has(element: etree._Element, name: str, how: str, wanted: str) -> bool:
    for key, value in element.attrib.items():
        if str(key).rpartition("}")[2] != name.rpartition(":")[2]:
            continue
        held = str(value)
        return {
            "": True,
            "=": held == wanted,
            "~=": wanted in held.split(),
            "|=": held == wanted or held.startswith(f"{wanted}-"),
            "^=": bool(wanted) and held.startswith(wanted),
            "$=": bool(wanted) and held.endswith(wanted),
            "*=": bool(wanted) and wanted in held,
        }[how]
    return False


def _is_in_state(element: etree._Element, state: str, argument: str) -> bool:
    """Tell whether a pseudo-class holds; one that goes by a pointer or is unknown never does."""
    parent = element.getparent()
    if state == "root":
        return parent is None
    if state == "not":
        inner = _compounds(argument.strip())
        return len(inner) == 1 and not _is_like(inner[0], element)
    if parent is None:
        return False
    rows = [child for child in parent if isinstance(child.tag, str)]
    if state.endswith("-of-type"):
        rows = [child for child in rows if child.tag == element.tag]
    place, behind = rows.index(element) + 1, len(rows) - rows.index(element)
    kind = state.removesuffix("-of-type").removesuffix("-child")
    if kind in ("nth", "nth-last"):
        return _is_nth(place if kind == "nth" else behind, argument)
    return {
        "first": place == 1,
        "last": behind == 1,
        "only": len(rows) == 1,
        "empty": not len(element),
    }.get(kind, False)


def _is_nth(place: int, argument: str) -> bool:
    found = _NTH.match(argument)
    if found is None:
        return False
    word, factor, more, alone = found.groups()
    if alone:
        return place == int(alone)
    if word:
        return place % 2 == (word == "odd")
    step = int(factor + "1" if factor in ("", "+", "-") else factor)
    off = place - int((more or "0").replace(" ", ""))
    return off == 0 if step == 0 else off % step == 0 and off // step >= 0
