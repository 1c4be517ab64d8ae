"""Whether an object is shown: the drafter may have hidden it, or a layer around it."""

from __future__ import annotations

import re

from lxml import etree

_HIDDEN = re.compile(r"(display\s*:\s*none|visibility\s*:\s*hidden)")


def is_hidden(element: etree._Element) -> bool:
    """Tell whether an element, or a layer around it, was hidden by the drafter."""
    return any(
        _HIDDEN.search(str(e.get("style") or ""))
        or e.get("display") == "none"
        or e.get("visibility") == "hidden"
        for e in (element, *element.iterancestors())
        if isinstance(e.tag, str)
    )
