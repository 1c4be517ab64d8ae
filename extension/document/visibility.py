"""Whether an object is shown or locked: the drafter may have done so, or with a layer around it."""

from __future__ import annotations

import re

from lxml import etree

from extension.document.namespaces import SODIPODI

_HIDDEN = r"(display\s*:\s*none|visibility\s*:\s*hidden)"
#: The attribute by which an editor locks an object or a layer.
LOCK = f"{{{SODIPODI}}}insensitive"


def is_hidden(element: etree._Element) -> bool:
    """Tell whether an element, or a layer around it, was hidden by the drafter."""
    return any(
        is_hidden_itself(e) for e in (element, *element.iterancestors()) if isinstance(e.tag, str)
    )


def is_locked(element: etree._Element) -> bool:
    """Tell whether an element, or a layer around it, was locked by the drafter."""
    return any(is_locked_itself(e) for e in (element, *element.iterancestors()))


def is_hidden_itself(element: etree._Element) -> bool:
    """Tell whether an element was hidden, whatever is around it."""
    style = element.attrib.get("style")
    return bool(
        (style and re.search(_HIDDEN, str(style)))
        or element.attrib.get("display") == "none"
        or element.attrib.get("visibility") == "hidden"
    )


def is_locked_itself(element: etree._Element) -> bool:
    """Tell whether an element was locked, whatever is around it."""
    return (element.attrib.get(LOCK) or "false") not in ("false", "0")
