"""Whether an object is shown: the drafter may have hidden it, or a layer around it."""

from __future__ import annotations

import re

from lxml import etree

_HIDDEN = re.compile(r"(display\s*:\s*none|visibility\s*:\s*hidden)")


def is_hidden(element: etree._Element) -> bool:
    """Tell whether an element, or a layer around it, was hidden by the drafter."""
    return any(
        is_hidden_itself(e) for e in (element, *element.iterancestors()) if isinstance(e.tag, str)
    )


def is_hidden_itself(element: etree._Element) -> bool:
    """Tell whether an element was hidden, whatever is around it."""
    style = element.attrib.get("style")
    return bool(
        (style and _HIDDEN.search(str(style)))
        or element.attrib.get("display") == "none"
        or element.attrib.get("visibility") == "hidden"
    )
