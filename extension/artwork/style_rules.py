"""The style rules of a document, and what they and an object's own style say.

A rule that goes by what lies around an object, or by its id, holds no longer for a copy elsewhere:
so what the rules say of an object is written into its copy's own style.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from lxml import etree

from extension.document.namespaces import svg
from extension.document.svg_document import MM_PER_UNIT

if TYPE_CHECKING:
    from extension.artwork.selectors import Selector

_COMMENT = re.compile(r"/\*.*?\*/|<!--|-->", re.DOTALL)
#: An at-rule: with a block of its own, which may hold rules, or up to its semicolon.
_AT_RULE = re.compile(r"@[^{};]*(?:;|\{(?:[^{}]|\{[^{}]*\})*\})")
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
#: One declaration: semicolons within quotes and brackets end none.
_DECLARATION = re.compile(r"(?:[^;\"'(]|\"[^\"]*\"|'[^']*'|\([^)]*\))+")
_IMPORTANT = re.compile(r"!\s*important\s*$", re.IGNORECASE)
_LENGTH = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([a-zA-Z]*)\s*$")
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


def length_of(text: str, otherwise: float = 0.0) -> float:
    """Return a length in units of the drawing, or another value where it cannot be read."""
    found = _LENGTH.match(text)
    unit = found[2].lower() if found else None
    if found is None or unit not in MM_PER_UNIT:
        return otherwise
    return float(found[1]) * MM_PER_UNIT[unit] / MM_PER_UNIT["px"]


class _Rule(NamedTuple):
    selector: Selector
    weight: tuple[int, int, int, int]
    said: dict[str, Said]


class StyleRules:
    """The rules of all style elements of a document."""

    def __init__(self, root: etree._Element) -> None:
        """Read the rules of a document; one that cannot be read holds for nothing, as in CSS."""
        self._rules: defaultdict[str, list[_Rule]] = defaultdict(list)
        self._styles: dict[etree._Element, dict[str, Said]] = {}
        self._alike: dict[tuple[str, str], dict[str, Said]] = {}
        self._count = 0
        for element in root.iter(svg("style")):
            self._read("".join(element.itertext()))
        self._go_by_class = all(
            rule.selector.goes_by_class for rules in self._rules.values() for rule in rules
        )

    def _read(self, text: str) -> None:
        # Few drawings have rules: its import is left to those.
        from extension.artwork.selectors import selectors_of

        for selectors, body in _RULE.findall(_AT_RULE.sub(" ", _COMMENT.sub(" ", text))):
            if said := declarations(body):
                for selector in selectors_of(selectors):
                    self._count += 1
                    rule = _Rule(selector, (*selector.weight, self._count), said)
                    self._rules[selector.key].append(rule)

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
            rule
            for key in keys
            for rule in self._rules.get(key, ())
            if rule.selector.picks(element)
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
