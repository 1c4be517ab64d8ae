"""How the drafter drew a line: its colour, width and dashes, for the same line in a result."""

from __future__ import annotations

import math

from lxml import etree

from drafting_core.text.errors import DraftingError
from extension.artwork.style_rules import StyleRules, length_of
from extension.document.shapes import transform_of

#: Properties of a stroke that are no lengths, with what they are where nothing is said.
_PLAIN = {
    "stroke-linecap": "butt",
    "stroke-linejoin": "miter",
    "stroke-miterlimit": "4",
    "stroke-opacity": "1",
}


def own_strokes(lines: list[etree._Element]) -> list[str]:
    """Return the styles of lines as they are drawn, for lines in units of the root.

    A line that has no stroke, or one that cannot be read, has an empty style: it is drawn like
    any other.
    """
    rules = StyleRules(lines[0].getroottree().getroot()) if lines else None
    return [_own_stroke(line, rules) for line in lines] if rules is not None else []


def _own_stroke(line: etree._Element, rules: StyleRules) -> str:
    colour = rules.value(line, "stroke", "none")
    try:
        (a, c, _e), (b, d, _f) = transform_of(line).matrix
    except DraftingError:
        return ""
    width = length_of(rules.value(line, "stroke-width", "1"), -1.0)
    if colour == "none" or "url(" in colour or width <= 0.0:
        return ""
    is_fixed = rules.value(line, "vector-effect", "none") == "non-scaling-stroke"
    size = 1.0 if is_fixed else math.sqrt(abs(a * d - b * c))
    if colour.casefold() in ("currentcolor", "context-stroke"):
        colour = rules.value(line, "color", "black")
    parts = [f"fill:none;stroke:{colour};stroke-width:{width * size:.6g}"]
    root = line.getroottree().getroot()
    for name, usual in _PLAIN.items():
        # What the whole document has, the line in the result has too.
        if (value := rules.value(line, name, usual)) != rules.value(root, name, usual):
            parts.append(f"{name}:{value}")
    dashes = rules.value(line, "stroke-dasharray", "none").replace(",", " ").split()
    lengths = [length_of(dash, -1.0) * size for dash in dashes]
    if lengths and min(lengths) >= 0.0 and max(lengths) > 0.0:
        offset = length_of(rules.value(line, "stroke-dashoffset", "0")) * size
        parts.append(f"stroke-dasharray:{','.join(f'{length:.6g}' for length in lengths)}")
        parts += [f"stroke-dashoffset:{offset:.6g}"] if offset else []
    seen = _seen(line, rules)
    return ";".join([*parts, f"opacity:{seen:.6g}"] if seen < 1.0 else parts)


def _seen(line: etree._Element, rules: StyleRules) -> float:
    """Return how much of a line is seen through its own opacity and that of its groups."""
    seen = 1.0
    for element in (line, *line.iterancestors()):
        text = rules.value(element, "opacity", "1")
        try:
            seen *= float(text.rstrip("%")) / (100.0 if text.endswith("%") else 1.0)
        except ValueError:
            continue
    return min(max(seen, 0.0), 1.0)
