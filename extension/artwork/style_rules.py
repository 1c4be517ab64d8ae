"""The style rules of a document (CSS 2.1's selectors, and some of level 3), and what they say.

A rule that goes by what lies around an object, or by its id, holds no longer for a copy elsewhere:
so what the rules say of an object is written into its copy's own style.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from lxml import etree

from extension.document.namespaces import svg

_COMMENT = re.compile(r"/\*.*?\*/|<!--|-->", re.DOTALL)
#: An at-rule: with a block of its own, which may hold rules, or up to its semicolon.
_AT_RULE = re.compile(r"@[^{};]*(?:;|\{(?:[^{}]|\{[^{}]*\})*\})")
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
#: One declaration: semicolons within quotes and brackets end none.
_DECLARATION = re.compile(r"(?:[^;\"'(]|\"[^\"]*\"|'[^']*'|\([^)]*\))+")
_IMPORTANT = re.compile(r"!\s*important\s*$", re.IGNORECASE)
_STEP = re.compile(
    r"\s*([>+~])\s*|(\s+)|(?:[\w*-]*\|)?(\*|[\w-]+)?"
    r"((?:#[\w-]+|\.[\w-]+|\[[^\]]*\]|:{1,2}[\w-]+(?:\((?:[^()]|\([^)]*\))*\))?)*)"
)
_PART = re.compile(
    r"#([\w-]+)|\.([\w-]+)|\[([^\]]*)\]|:{1,2}([\w-]+)(?:\(((?:[^()]|\([^)]*\))*)\))?"
)
_ATTRIBUTE = re.compile(r"\s*([\w:-]+)\s*(?:([~|^$*]?=)\s*[\"']?([^\"']*)[\"']?\s*)?$")
_NTH = re.compile(r"\s*(?:(odd|even)|([+-]?\d*)n\s*([+-]\s*\d+)?|([+-]?\d+))\s*$")
#: Properties that a child does not take from what is around it, and what they are by themselves.
NOT_INHERITED = {
    "opacity": "1",
    "filter": "none",
    "clip-path": "none",
    "mask": "none",
    "display": "inline",
    "mix-blend-mode": "normal",
    "isolation": "auto",
    "overflow": "visible",
    "stop-color": "#000",
    "stop-opacity": "1",
    "text-decoration": "none",
    "vector-effect": "none",
    "transform": "none",
    "unicode-bidi": "normal",
    "baseline-shift": "baseline",
    "dominant-baseline": "auto",
    "alignment-baseline": "auto",
}


class Said(NamedTuple):
    """What a style says of one property.

    Attributes:
        value: its value.
        is_important: whether it was said with ``!important``.
    """

    value: str
    is_important: bool


def declarations(text: str) -> dict[str, Said]:
    """Return the declarations of a style, the last one of each property."""
    found = {}
    is_quoted = '"' in text or "'" in text or "(" in text
    for part in _DECLARATION.findall(text) if is_quoted else text.split(";"):
        name, colon, value = part.partition(":")
        name, value = name.strip(), value.strip()
        if not colon or not name:
            continue
        if "!" in value and (important := _IMPORTANT.search(value)):
            found[name.lower()] = Said(value[: important.start()].rstrip(), True)
        else:
            found[name.lower()] = Said(value, False)
    return found


def style_text(said: Mapping[str, Said]) -> str:
    """Return declarations as the text of a style."""
    return ";".join(
        f"{name}:{item.value}{' !important' if item.is_important else ''}"
        for name, item in said.items()
    )


class _Compound(NamedTuple):
    """What a selector wants of one element, and how that stands to the one before."""

    combinator: str
    tag: str
    identity: str
    classes: tuple[str, ...]
    attributes: tuple[tuple[str, str, str], ...]
    states: tuple[tuple[str, str], ...]


class _Rule(NamedTuple):
    compounds: tuple[_Compound, ...]
    weight: tuple[int, int, int, int]
    said: dict[str, Said]


class StyleRules:
    """The rules of all style elements of a document."""

    def __init__(self, root: etree._Element) -> None:
        """Read the rules of a document; one that cannot be read holds for nothing, as in CSS."""
        self._rules: defaultdict[str, list[_Rule]] = defaultdict(list)
        self._styles: dict[etree._Element, dict[str, Said]] = {}
        self._alike: dict[tuple[str, str], dict[str, Said]] = {}
        count = 0
        for element in root.iter(svg("style")):
            text = _COMMENT.sub(" ", "".join(element.itertext()))
            for selectors, body in _RULE.findall(_AT_RULE.sub(" ", text)):
                said = declarations(body)
                for selector in _split(selectors):
                    compounds = _compounds(selector.strip())
                    if compounds and said:
                        count += 1
                        rule = _Rule(compounds, (*_weight(compounds), count), said)
                        self._rules[_key(compounds[-1])].append(rule)
        self._go_by_class = all(
            len(rule.compounds) == 1 and _goes_by_class(rule.compounds[0])
            for rules in self._rules.values()
            for rule in rules
        )

    def __bool__(self) -> bool:
        """Tell whether there are any rules."""
        return bool(self._rules)

    def said_of(self, element: etree._Element) -> dict[str, Said]:
        """Return what the rules say of an element, without its own style; not to be changed."""
        if not self._rules:
            return {}
        if not self._go_by_class:
            return self._said_by_all(element)
        # Thousands of objects have few classes between them.
        alike = (str(element.tag), str(element.attrib.get("class") or ""))
        if alike not in self._alike:
            self._alike[alike] = self._said_by_all(element)
        return self._alike[alike]

    def _said_by_all(self, element: etree._Element) -> dict[str, Said]:
        keys = ["*", str(element.tag).rpartition("}")[2], f"#{element.attrib.get('id')}"]
        keys += [f".{name}" for name in str(element.attrib.get("class") or "").split()]
        holding = [
            rule for key in keys for rule in self._rules.get(key, ()) if _holds(rule, element)
        ]
        found: dict[str, Said] = {}
        for rule in sorted(holding, key=lambda rule: rule.weight):
            for name, said in rule.said.items():
                if said.is_important or name not in found or not found[name].is_important:
                    found[name] = said
        return found

    def style_of(self, element: etree._Element) -> dict[str, Said]:
        """Return what the rules and its own style say of an element; it is not to be changed."""
        known = self._styles.get(element)
        if known is not None:
            return known
        found = self._styles[element] = dict(self.said_of(element))
        for name, said in declarations(str(element.attrib.get("style") or "")).items():
            if said.is_important or name not in found or not found[name].is_important:
                found[name] = said
        return found

    def value(self, element: etree._Element, name: str, otherwise: str) -> str:
        """Return the value that a property has on an element.

        Args:
            element: the element.
            name: the property.
            otherwise: its value where nothing says one.
        """
        current: etree._Element | None = element
        while current is not None and isinstance(current.tag, str):
            said = self.style_of(current).get(name)
            value = said.value if said else str(current.attrib.get(name) or "").strip()
            if value and value != "inherit":
                return value
            if not value and name in NOT_INHERITED:
                return otherwise
            current = current.getparent()
        return otherwise


def _split(selectors: str) -> list[str]:
    return re.findall(r"(?:[^,(\[]|\([^)]*\)|\[[^\]]*\])+", selectors)


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


def _weight(compounds: Sequence[_Compound]) -> tuple[int, int, int]:
    return (
        sum(bool(each.identity) for each in compounds),
        sum(len(each.classes) + len(each.attributes) + len(each.states) for each in compounds),
        sum(each.tag != "*" for each in compounds),
    )


def _key(compound: _Compound) -> str:
    """Return under what a rule is looked for, which every element that it holds for has."""
    if compound.identity:
        return f"#{compound.identity}"
    return f".{compound.classes[0]}" if compound.classes else compound.tag


def _goes_by_class(compound: _Compound) -> bool:
    """Tell whether it is all the same to a selector which of the elements of a class it meets."""
    return not (compound.identity or compound.attributes or compound.states)


def _holds(rule: _Rule, element: etree._Element) -> bool:
    """Tell whether a rule's selector picks an element."""
    return _picks(rule.compounds, len(rule.compounds) - 1, element)


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
